"""Every spill with its rain: sums taken from the gauge record itself, and the well followed by an integrator of its own."""

from __future__ import annotations

from datetime import timedelta
from functools import cache

import numpy as np
import pytest

from roofwell import examples
from roofwell.design import Design, design
from roofwell.job import read_file
from roofwell.system.spill_events import SpillEvents, spill_events
from roofwell.system.traces import rerun

GAP_H = (
    6  # dry hours that separate two rains, the convention of storm-event studies (reference sheet, rain 3.1)
)


@cache
def _told(name: str) -> tuple[Design, SpillEvents]:
    reading = read_file(examples.path(name))
    assert reading.job is not None
    found = design(reading.job, folder=reading.folder, document=reading.document, beyond=False)
    told = spill_events(found.scheme, found.survey, found.behaviour)
    assert told is not None
    return found, told


@pytest.mark.parametrize("name", ["bungalow", "terrace", "side-yard"])
def test_the_rain_of_a_spill_is_that_of_the_gauge_between_two_dry_spells(name: str) -> None:
    made, told = _told(name)
    record = made.survey.rain.record
    assert record is not None and record.step_s == 3600
    depth = np.where(record.missing, 0.0, record.depth_m)
    start = record.start.astype("datetime64[s]").item()
    assert len(told.events) == made.behaviour.record.spill_events  # type: ignore[union-attr]
    for event in told.events:
        hour = round((event.at - start) / timedelta(hours=1))
        first = hour
        while first > 0 and depth[max(0, first - GAP_H) : first].any():
            first -= 1
        while depth[first] == 0.0:  # the spill may come after the rain
            first += 1
        last = first
        while depth[last + 1 : last + 1 + GAP_H].any():
            last += 1
        assert event.rain_m == pytest.approx(float(depth[first : last + 1].sum()), rel=1e-9)
        assert event.rain_from == start + timedelta(hours=first)
        assert event.rain_s == 3600.0 * (last - first + 1)


def test_the_well_stands_wet_and_spills_for_as_long_as_an_integrator_of_its_own_says() -> None:
    """The largest spill of the bungalow, from the last dry hour on: dV/dt = inflow - q(V) in steps of 5 s."""
    made, told = _told("bungalow")
    event = max(told.events, key=lambda one: one.volume_m3)
    _, run = rerun(made.scheme, made.survey, made.behaviour)
    (store,) = run.stores
    net, record = run.basis[0], made.survey.rain.record
    assert net is not None and record is not None and event.stood_s is not None
    runoff, roof = made.survey.settings["runoff_coefficient"], made.behaviour.wells[0].roof_area_m2
    start = record.start.astype("datetime64[s]").item()
    hour = round((event.rain_from - start) / timedelta(hours=1)) - 1
    full, volume, wet_s, spilled, spills_h = float(store.volume_m3[-1]), 0.0, 0.0, 0.0, set()
    step = 5.0
    for n in range(round(12 * 86400 / step)):
        hours = hour + int(n * step // 3600)
        inflow = net[hours] * runoff / 3600.0 * roof
        soaks = np.interp(volume, store.volume_m3, store.soakage_m3_s) if volume > 0 else 0.0
        volume = max(0.0, volume + step * (inflow - float(soaks)))
        if volume > full:
            spilled, volume = spilled + volume - full, full
            spills_h.add(hours)
        wet_s += step if volume > store.empty_m3 else 0.0
        if n * step > 86400 and volume <= store.empty_m3 and hours > hour + event.rain_s / 3600.0 + 2:
            break
    assert event.volume_m3 == pytest.approx(spilled, rel=0.01)
    assert event.spilled_s == pytest.approx(3600.0 * len(spills_h), abs=3600.0)
    assert event.stood_s == pytest.approx(wet_s, abs=2 * 3600.0)


def test_dates_and_water_are_those_that_were_judged() -> None:
    made, told = _told("terrace")
    record = made.behaviour.record
    assert record is not None and record.spill_m3 is not None
    assert [one.volume_m3 for one in told.events] == record.spill_m3.tolist()
    assert [one.at for one in told.events] == [one.at for one in told.trace.spills]
    assert all(one.rain_from <= one.at for one in told.events)


def test_without_a_well_or_without_a_record_there_is_nothing_to_tell() -> None:
    reading = read_file(examples.path("sloping-lot"))
    assert reading.job is not None
    found = design(reading.job, folder=reading.folder, document=reading.document, beyond=False)
    assert not found.scheme.wells
    assert spill_events(found.scheme, found.survey, found.behaviour) is None
