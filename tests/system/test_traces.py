"""Traces for the pictures, against figures by hand, SciPy's distributions, published mounds and the judged run.

The drawdown of a straight pit is the textbook's integral of dh over its soakage, worked out by hand here. The mound's
runs are M1 of our reference sheet (Minnesota Stormwater Manual, method of USGS SIR 2010-5102), the same as in
tests/published/test_groundwater_mound.py.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import tomlkit
from scipy import stats
from tests.papers import house

from roofwell import examples
from roofwell.design.result import Design
from roofwell.design.steps import design as make_design
from roofwell.job import reading
from roofwell.physics import network
from roofwell.physics.well.mound import Aquifer, disk_response_s
from roofwell.physics.well.storage import Layer
from roofwell.system.behaviour import Mound, MoundTerms
from roofwell.system.groundwater import Run
from roofwell.system.mound_section import mound_section
from roofwell.system.rainfall import record_basis, stores_of
from roofwell.system.traces import Traces, _drawdown, traces
from roofwell.system.well_record import linked_stores
from roofwell.tables import assumption

FT, DAY = 0.3048, 86400.0
WITH_WELLS = ("bungalow", "terrace", "old-system", "nothing-below-ground")


@cache
def designed(name: str, added: str = "") -> Design:
    path = examples.path(name)
    document: dict[str, Any] = tomlkit.parse(path.read_text(encoding="utf-8") + added).unwrap()
    read = reading.read(document)
    assert not read.problems and read.job is not None
    return make_design(read.job, folder=Path(path).parent)


@cache
def traced(name: str, added: str = "") -> Traces:
    made = designed(name, added)
    return traces(made.job, made.scheme, made.survey, made.behaviour)


@pytest.mark.parametrize("name", WITH_WELLS)
def test_every_spill_of_the_record_once(name: str) -> None:
    """As many spills as the record counts, all of its water, each in a step of the record in which it rained or after."""
    made, found = designed(name), traced(name).spills
    record, told = made.survey.rain.record, made.behaviour.record
    assert found is not None and record is not None and told is not None
    assert len(found.spills) == told.spill_events
    water = sum(spill.volume_m3 for spill in found.spills)
    assert water == pytest.approx((told.spilled_m3_year + told.refused_m3_year) * record.years, rel=1e-6)
    begins = [spill.at for spill in found.spills]
    assert begins == sorted(begins)
    for at in begins:
        step = int((np.datetime64(at, "s") - record.start) / np.timedelta64(record.step_s, "s"))
        assert record.depth_m[max(0, step - 24) : step + 1].sum() > 0  # within a day of rain


def test_largest_spill_against_a_slow_run_of_its_days() -> None:
    """The largest spill of the old system, followed by itself in steps of two seconds by the store's curve."""
    made, found = designed("old-system"), traced("old-system").spills
    survey, behaviour = made.survey, made.behaviour
    assert found is not None and survey.rain.record is not None
    basis = record_basis(survey)
    assert basis[0] is not None and basis[1] is not None
    rate = survey.soil.best_m_s / survey.soil.safety_factor
    store = linked_stores(made.scheme, stores_of(made.scheme, survey, behaviour.downspouts, rate, basis[0]))[
        0
    ]
    largest = max(found.spills, key=lambda spill: spill.volume_m3)
    record = survey.rain.record
    at = int((np.datetime64(largest.at, "s") - record.start) / np.timedelta64(record.step_s, "s"))
    event = int(basis[1].event_of_step[at])
    first = int(basis[1].first_step[event])
    last = int(basis[1].first_step[event + 1])
    dry = first - 24 * 20  # from twenty days before: the well has forgotten what was in it
    limits = [flow.limit_m3_s for flow in behaviour.downspouts]
    areas = [spout.roof_area_m2 for spout in made.scheme.downspouts]
    volume, gone, full = 0.0, 0.0, float(store.volume_m3[-1])
    under = store.soakage_below_m3_s if store.soakage_below_m3_s is not None else store.soakage_m3_s
    for step in range(dry, last):
        rain = float(basis[0][step]) * survey.settings["runoff_coefficient"] / record.step_s
        wanted = [rain * area for area in areas]
        comes = sum(min(w, limit) for w, limit in zip(wanted, limits, strict=True))
        lost = (sum(wanted) - comes) * record.step_s
        seconds = 2.0
        for _ in range(int(record.step_s / seconds)):
            k = min(int(np.searchsorted(store.volume_m3, volume, side="right")) - 1, store.volume_m3.size - 2)
            share = (volume - store.volume_m3[k]) / (store.volume_m3[k + 1] - store.volume_m3[k])
            soaks = store.soakage_m3_s[k] + share * (under[k + 1] - store.soakage_m3_s[k])
            brings = comes
            if store.capacity_m3_s is not None:
                brings = min(comes, float(np.interp(volume, store.volume_m3, store.capacity_m3_s)))
            lost += (comes - brings) * seconds
            volume = max(0.0, volume + (brings - float(soaks)) * seconds)
            lost += max(0.0, volume - full)
            volume = min(volume, full)
        gone += lost if step >= first else 0.0
    assert largest.volume_m3 == pytest.approx(gone, rel=0.01)


@pytest.mark.parametrize("name", WITH_WELLS)
def test_the_storm_is_the_judged_one(name: str) -> None:
    """Depth, spill and time of the judged storm; what came in is spilled, refused, soaked and left."""
    made = designed(name)
    for trace in traced(name).storms:
        storm = made.behaviour.well(trace.well).critical
        assert storm is not None
        assert float(trace.spilled_m3.sum()) == pytest.approx(storm.spilled_m3, rel=1e-9, abs=1e-12)
        assert float(trace.inflow_m3.sum()) == pytest.approx(storm.inflow_m3, rel=1e-9)
        assert float(trace.rain_m.sum()) == pytest.approx(storm.rain_m, rel=1e-9)
        assert float(trace.depth_m.max()) <= trace.lip_depth_m + 1e-9
        if storm.spilled_m3 > 0:
            assert trace.spills_s is not None and trace.spills_s[0] == storm.full_after_s
            assert float(trace.depth_m.max()) == pytest.approx(trace.lip_depth_m)
        else:
            assert trace.spills_s is None
            # the top may lie within a step of five minutes
            assert float(trace.depth_m.max()) == pytest.approx(storm.peak_depth_m, rel=0.02)
        # the soakage at the drawn depths, summed by the trapezoid rule, is what did not stay or spill; an empty well
        # passes on no more than comes
        well = next(one for one in made.scheme.wells if one.id == trace.well)
        rate = made.survey.soil.best_m_s / made.survey.soil.safety_factor
        basis = record_basis(made.survey)[0]
        store = stores_of(made.scheme, made.survey, made.behaviour.downspouts, rate, basis)[well.id]
        depths = np.array([0.0, *(layer.top_m for layer in well.layers)])
        steps = [layer.water_area_m2 * (layer.top_m - layer.bottom_m) for layer in well.layers]
        held = np.interp(
            np.concatenate([[trace.start_depth_m], trace.depth_m]),
            depths,
            np.concatenate([[0.0], np.cumsum(steps)]),
        )
        each = np.interp(held, store.volume_m3, store.soakage_m3_s)
        soaked = 0.5 * (each[1:] + each[:-1]) * trace.step_s
        dry = (held[1:] < 1e-9) & (held[:-1] < 1e-9)
        soaked = float(np.where(dry, np.minimum(trace.inflow_m3, soaked), soaked).sum())
        left = float(trace.inflow_m3.sum()) - storm.spilled_m3 - (held[-1] - held[0])
        assert left - storm.refused_m3 <= 1.01 * soaked and soaked <= 1.01 * left


A, P, H, V, F = 4.0, 8.0, 1.5, 0.4, 1e-5  # floor m², perimeter m, depth m, voids, rate m/s


def straight_pit(*, walls: bool) -> tuple[Any, Any, Any, network.Store]:
    """A pit 2 by 2 m and 1.5 m deep full of stone, in the invented survey: safety factor 2, one test, limit 48 h."""
    well = replace(
        house.scheme().wells[0],
        layers=(Layer(0.0, H, A, P, 0.0, V),),
        pit_length_m=2.0,
        pit_width_m=2.0,
        voids=V,
    )
    full = V * A * H
    top = F * (A + P * H) if walls else F * A
    store = network.Store(np.array([0.0, full]), np.array([F * A, top]))
    found = SimpleNamespace(drain_time_s=network.drain_time_s(store, full))
    return well, house.survey(), found, store


def test_drawdown_through_the_floor_by_hand() -> None:
    """0.4 × 1.5 m at 1e-5 m/s: 60,000 s, straight down."""
    well, survey, found, store = straight_pit(walls=False)
    trace = _drawdown(house.design().job, survey, well, found, store)
    assert trace.drain_s == pytest.approx(60000.0)
    assert np.allclose(trace.depth_m, H * (1 - trace.time_s / 60000.0), atol=1e-9)
    assert trace.depth_m[0] == H and trace.depth_m[-1] == pytest.approx(0.0, abs=1e-12)


def test_drawdown_through_floor_and_walls_by_hand() -> None:
    """voids·A/(f·P) ln[(A + P H)/(A + P h)]: 20,000 ln 4 = 27,725.9 s to empty, 20,000 ln 2 = 13,862.9 s to 0.5 m."""
    well, survey, found, store = straight_pit(walls=True)
    trace = _drawdown(house.design().job, survey, well, found, store)
    assert trace.drain_s == pytest.approx(27725.887)
    assert float(np.interp(-0.5, -trace.depth_m, trace.time_s)) == pytest.approx(13862.944, rel=1e-6)
    expected = 20000.0 * np.log(16.0 / (4.0 + 8.0 * trace.depth_m))
    assert np.allclose(trace.time_s, expected, atol=1e-6)


def test_chances_are_those_of_a_lognormal_soil() -> None:
    """One test: deviation of ln(rate) of √(ln(1 + CV²)) √2 about it; SciPy's lognormal gives band and chance."""
    well, survey, found, store = straight_pit(walls=False)
    trace = _drawdown(house.design().job, survey, well, found, store)
    variation = assumption("soil-variation", "us").value_si
    spread = math.sqrt(math.log(1 + variation**2)) * math.sqrt(2.0)
    soil = stats.lognorm(s=spread, scale=2.0)  # rate as tested, in design rates: the safety factor is 2
    assert trace.slow == pytest.approx(float(soil.ppf(0.1)))
    assert trace.fast == pytest.approx(float(soil.ppf(0.9)))
    enough = 60000.0 / trace.limit_s  # a soil so many times the design's is empty just in time
    assert trace.within_limit == pytest.approx(float(soil.sf(enough)))
    assert trace.drain_at_s(trace.slow) > trace.drain_s / 2 > trace.drain_at_s(trace.fast)


def test_a_filled_hole_is_drawn_as_the_well_would_take_it() -> None:
    """An open hole holds more for each depth than one with stone and bodies: the same soil empties the well sooner."""
    plain = designed("bungalow")
    added = (
        '\n[[soil.fill_tests]]\nid = "F1"\nwell = "W1"\nfills = [{ water_start = "30 in", water_end = "18 in", '
        'time = "5 h" }]\n\n[[soil.fill_tests]]\nid = "F2"\nwell = "W1"\ndiameter = "3 ft"\n'
        'fills = [{ water_start = "30 in", time = "5 h" }]\n'
    )
    found = traced("bungalow", added).drawdowns[0]
    well = designed("bungalow", added).scheme.wells[0]
    (one,) = found.readings
    assert (one.test, one.start_m, one.end_m, one.time_s) == ("F1", 30 * 0.0254, 18 * 0.0254, 18000.0)
    room = sum(
        layer.water_area_m2 * max(0.0, min(layer.top_m, one.start_m) - max(layer.bottom_m, one.end_m))
        for layer in well.layers
    )
    hole = well.pit_length_m * well.pit_width_m * 12 * 0.0254
    assert one.well_time_s == pytest.approx(18000.0 * room / hole, rel=1e-6)
    assert found.beside == ("F2: its hole is not of the pit's size",)
    assert traced("bungalow").drawdowns[0].readings == ()
    assert plain.job.soil.fill_tests == ()


def ground(well_m: tuple[float, float], aquifer: Aquifer, solution: str) -> tuple[Any, Any, Any]:
    """The invented house with a pit of one's own on a known ground."""
    made = house.design()
    survey = replace(made.survey, buildings=(), neighbors=())
    scheme = replace(
        made.scheme,
        wells=(
            replace(made.scheme.wells[0], pit_length_m=well_m[0], pit_width_m=well_m[1], direction_rad=0.0),
        ),
    )
    none = MoundTerms((), (), 0.0)
    mound = Mound(
        solution=solution,
        thickness_m=aquifer.thickness_m,
        specific_yield=aquifer.specific_yield,
        horizontal_m_s=aquifer.horizontal_m_s,
        vertical_m_s=aquifer.vertical_m_s,
        footprint_m2=well_m[0] * well_m[1],
        storm_m=0.0,
        storm_duration_s=0.0,
        storm_level_flow_m=0.0,
        storm_three_dimensional_m=0.0,
        month_m=None,
        record_m=None,
        in_range=True,
        level_flow=none,
        three_dimensional=none,
    )
    well = replace(made.behaviour.wells[0], mound=mound)
    return scheme, survey, replace(made.behaviour, wells=(well,))


def steady(rate_m_s: float, area_m2: float, days: float) -> Run:
    step = 3600.0
    soaked = np.full(round(days * DAY / step), rate_m_s * area_m2 * step)
    return Run(step, (SimpleNamespace(soaked_m3=soaked),), days * DAY)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("recharge", "half", "thick", "rise"),
    [(1.0, 30.0, 10.0, 1.515), (1.0, 15.0, 10.0, 0.568), (1.5, 30.0, 10.0, 2.202)],
)
def test_published_runs_under_the_middle(recharge: float, half: float, thick: float, rise: float) -> None:
    """Square basins of the state manual after two days, with b = hi: K 55 ft/d, specific yield 0.26; feet."""
    sand = Aquifer(thick * FT, 0.26, 55 * FT / DAY, 55 * FT / DAY)
    side = 2 * half * FT
    scheme, survey, behaviour = ground((side, side), sand, "level flow")
    found = mound_section(scheme, survey, behaviour, 0, steady(recharge * FT / DAY, side * side, 2.0), None)
    middle = int(np.argmin(np.abs(found.distance_m)))
    assert found.distance_m[middle] == 0.0
    assert found.storm_m[middle] / FT == pytest.approx(rise, rel=0.01)
    assert found.month_m is None and found.wall is None
    assert found.half_pit_m == pytest.approx(half * FT)


def test_the_mound_at_each_distance_is_the_disks() -> None:
    """A square pit on deep ground: at every drawn distance the three-dimensional answer of its disk to ten days."""
    sand = Aquifer(8.0, 0.15, 5e-6, 5e-6)
    scheme, survey, behaviour = ground((2.0, 2.0), sand, "three-dimensional")
    found = mound_section(scheme, survey, behaviour, 0, steady(2e-6, 4.0, 10.0), None)
    time = np.array([10 * DAY])
    radius = math.sqrt(4.0 / math.pi)
    for x, rise in zip(found.distance_m[::3], found.storm_m[::3], strict=True):
        direct = (
            2e-6 * disk_response_s(radius_m=radius, aquifer=sand, time_s=time, distance_m=abs(float(x)))[0]
        )
        assert rise == pytest.approx(float(direct), rel=0.01, abs=1e-4)


@pytest.mark.parametrize("name", ["bungalow", "terrace", "old-system"])
def test_the_mound_drawn_is_the_mound_judged(name: str) -> None:
    """Its tops are those that the checks use, within the error of the exponentials; it falls away from the pit."""
    for section in traced(name).mounds:
        judged = designed(name).behaviour.well(section.well).mound
        assert judged is not None and judged.month_m is not None and section.month_m is not None
        assert float(section.storm_m.max()) == pytest.approx(judged.storm_m, rel=0.02)
        assert float(section.month_m.max()) == pytest.approx(judged.month_m, rel=0.02)
        right = section.storm_m[section.distance_m >= 0]
        assert (np.diff(right) <= 1e-9).all()


def test_nothing_to_trace_without_a_well() -> None:
    assert traced("sloping-lot") == Traces((), None, (), ())
