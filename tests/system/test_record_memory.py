"""The record runs in a memory that does not grow with its years, and the cuts change nothing that is reported."""

from __future__ import annotations

import dataclasses
import gc
import tracemalloc
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from roofwell.physics import mounded, network
from roofwell.physics.rain.events import find_events
from roofwell.physics.rain.record import Record
from roofwell.physics.well.exponentials import Exponentials
from roofwell.system import well_record

HOUR_S = 3600
ROOFS_M2 = np.array([90.0, 60.0, 40.0])
GROWS_AT_MOST = (
    200_000  # bytes from 10 to 50 years: what is told of each rain event that spills (made-up rain)
)
A_STEP = 8  # bytes of one number for each step


@pytest.fixture(autouse=True)
def run_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is found again here: each record runs."""
    monkeypatch.setattr(well_record, "_freely", well_record._freely.__wrapped__)  # type: ignore[attr-defined]


def survey_of(years: int) -> tuple[Any, well_record.RecordBasis]:
    """Made-up rain, wet 6 % of the hours, about a meter a year."""
    rng = np.random.default_rng(20130607)
    steps = years * 8766
    depth = np.where(rng.random(steps) < 0.06, rng.exponential(2.1e-3, steps), 0.0)
    record = Record(np.datetime64("1950-01-01", "s"), HOUR_S, depth, np.zeros(steps, dtype=bool))
    found = find_events(depth_m=depth, step_s=HOUR_S, gap_s=6 * HOUR_S)
    rain = SimpleNamespace(record=record, record_name="made up", snow_months=None)
    return SimpleNamespace(rain=rain, settings={"runoff_coefficient": 0.95}), (depth, found)


def inflow(rate_m_s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    wanted = rate_m_s[:, None] * ROOFS_M2
    taken = np.minimum(wanted, 4e-4)
    return taken, wanted - taken


def wells(kind: str) -> list[network.Store]:
    volume = np.array([0.0, 0.3, 1.0])
    one = network.Store(volume, np.array([1e-6, 3e-6, 6e-6]), empty_m3=0.003)
    if kind == "each by itself":
        return [one, one, one]
    if kind == "in series":
        return [dataclasses.replace(one, overflow_to=to) for to in (1, 2, None)]
    levelled = [
        dataclasses.replace(one, stage=network.Stage(volume, low + (1.0 - low) * volume))
        for low in (0.0, 0.1, 0.2)
    ]
    return [levelled[0], *(dataclasses.replace(s, link=network.Link(0, 0.4)) for s in levelled[1:])]


def peak_bytes(stores: list[network.Store], years: int) -> int:
    survey, basis = survey_of(years)
    well_record.records(survey, stores, inflow, basis)  # compiled, and all that is loaded late
    gc.collect()
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    well_record.records(survey, stores, inflow, basis)
    peak = tracemalloc.get_traced_memory()[1] - before
    tracemalloc.stop()
    return peak


@pytest.mark.parametrize("kind", ["each by itself", "in series", "linked"])
def test_memory_is_flat_in_the_length_of_the_record(kind: str) -> None:
    """Forty more years: not even one number for every second step of them is kept."""
    stores = wells(kind)
    short, long = peak_bytes(stores, 10), peak_bytes(stores, 50)
    assert long - short < GROWS_AT_MOST < 40 * 8766 * A_STEP / 2


@pytest.mark.parametrize("kind", ["each by itself", "in series", "linked"])
def test_cuts_change_nothing_of_a_record(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """In one piece, in a few and in many: counts, largest spills and times to the last digit, sums to their rounding."""
    survey, basis = survey_of(5)
    found = []
    for steps in (10**9, 1 << 15, 701):
        monkeypatch.setattr(well_record, "STEPS_AT_ONCE", steps)
        run = well_record.records(survey, wells(kind), inflow, basis, keep_soaked=True)
        assert run is not None and run.system.spill_events > 10
        found.append(run)
    sums = {"captured_share", "spilled_m3_year", "refused_m3_year"}
    for other in found[1:]:
        for a, b in zip((*found[0].wells, found[0].system), (*other.wells, other.system), strict=True):
            for name, value in dataclasses.asdict(a).items():
                if name in sums:
                    assert getattr(b, name) == pytest.approx(value, rel=1e-13)
                else:
                    assert np.array_equal(getattr(b, name), value), name
        assert all(map(np.array_equal, found[0].soaked_m3, other.soaked_m3))


def held(
    stores: list[network.Store], survey: Any, basis: well_record.RecordBasis
) -> tuple[well_record.Records, mounded.MoundedRun]:
    """The record with the soakage held back by the mounds."""
    net, _ = basis
    assert net is not None
    steps = len(net)
    terms = Exponentials(np.array([2e4, 5e4, 9e4, 9e4]), np.array([4e3, 6e4, 1.2e6, 1.2e7]), 0.0)
    grounds, runs = [mounded.Ground(2.5, 0.2, terms) for _ in stores], []

    def run(through: Callable[[well_record.Follow], None]) -> None:
        runs.append(
            mounded.in_pieces(stores, grounds, lambda on: through(on.on), step_s=float(HOUR_S), steps=steps)
        )

    found = well_record.records(survey, stores, inflow, basis, run)
    assert found is not None
    return found, runs[-1]


@pytest.mark.parametrize("kind", ["each by itself", "in series", "linked"])
def test_memory_is_flat_where_a_mound_holds_the_wells_back(kind: str) -> None:
    """Held back in thousands of hours, and halved until the step is fine enough: still nothing is kept of the steps."""
    stores, peaks = wells(kind), []
    held(stores, *survey_of(1))
    for years in (10, 50):
        survey, basis = survey_of(years)
        gc.collect()
        tracemalloc.start()
        _, run = held(stores, survey, basis)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert run.capped_steps * run.step_s / HOUR_S > 100 * years
    assert peaks[1] - peaks[0] < 3 * GROWS_AT_MOST < 40 * 8766 * A_STEP / 2  # held back they spill more often


@pytest.mark.parametrize("kind", ["each by itself", "in series", "linked"])
def test_cuts_change_nothing_of_a_held_record(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    found = []
    for steps in (10**9, 1 << 15, 701):
        monkeypatch.setattr(well_record, "STEPS_AT_ONCE", steps)
        records, run = held(wells(kind), *survey_of(3))
        assert run.capped_steps > 300
        found.append(dataclasses.asdict(records.system))
    for other in found[1:]:
        for name, value in found[0].items():
            if isinstance(value, str) or value is None:
                assert other[name] == value
            else:
                assert other[name] == pytest.approx(value, rel=1e-9), name
