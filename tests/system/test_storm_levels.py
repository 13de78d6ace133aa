"""Levels in every routed storm: the few instants worked out against all of them; where water comes out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from roofwell import examples
from roofwell.design import Design, design
from roofwell.design.judging import Judged
from roofwell.job import read_file
from roofwell.physics import network
from roofwell.physics.pipe.tree import settle
from roofwell.system import levels as water_levels
from roofwell.system import pipes, rainfall
from roofwell.system.behaviour import DownspoutFlow, Surfacing, WaterLevel
from roofwell.system.levels import StormPath
from roofwell.system.scheme import Scheme

Document = dict[str, Any]
FT, INCH = 0.3048, 0.0254


@dataclass
class Call:
    scheme: Scheme
    spouts: tuple[DownspoutFlow, ...]
    paths: tuple[StormPath, ...]
    levels: tuple[WaterLevel, ...]
    surfacing: tuple[Surfacing, ...]


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> list[Call]:
    """Every time that a Behaviour asks for the levels of its storms."""
    seen: list[Call] = []
    real = water_levels.every_storm

    def listen(scheme, spouts, paths, levels, **options):
        found, surfacing = real(scheme, spouts, paths, levels, **options)
        if not options:  # what would be in other cases comes after, and asks for less
            seen.append(Call(scheme, spouts, paths, found, surfacing))
        return found, surfacing

    monkeypatch.setattr(rainfall.water_levels, "every_storm", listen)
    return seen


def _plain(document: Document) -> None:
    pass


def _much_roof(document: Document) -> None:
    document["roofs"]["R1"]["plan_area"] = "2400 sq ft"


def _high_lip(document: Document) -> None:
    document["overflows"]["O1"]["lip"] = "99.6 ft"
    document["roofs"]["R1"]["plan_area"] = "2400 sq ft"


def _two_wells(document: Document) -> None:
    document["wells"]["W2"] = {"at": ["56 ft", "100 ft"]}
    document["overflows"]["O1"] |= {"to": "W2"}
    document["overflows"]["O2"] = {"of": "W2", "destination": "over the back lawn", "lip": "97.4 ft"}
    document["roofs"]["R1"]["plan_area"] = "2400 sq ft"


def _half_full(document: Document) -> None:
    document["settings"] = document.get("settings", {}) | {"starting_level": "50 %"}


CHANGES = [_plain, _much_roof, _high_lip, _two_wells, _half_full]


@pytest.mark.parametrize("change", CHANGES)
def test_the_worst_instant_is_the_worst_of_all_instants(
    change: Callable[[Document], None], house: Document, judged_of: Callable[..., Judged], calls: list[Call]
) -> None:
    """By brute force: every step of every storm, no step left out."""
    change(house)
    judged_of(house, bodies=1)
    call = calls[-1]
    worst: dict[str, float] = {}
    for end in water_levels.trees(call.scheme):
        for path in call.paths:
            for step, rate in enumerate(path.rate_m_s):
                taken = {s.id: min(rate * s.area_m2, s.limit_m3_s) for s in call.spouts}
                flows = [sum(q for id, q in taken.items() if run in call.scheme.way(id)) for run in end.runs]
                tail = float(path.tail_m[end.end][step]) if end.end in path.tail_m else -math.inf
                settled = settle(end.pipes, flow_m3_s=flows, tailwater_m=end.tails(tail, flows))
                for run, level in zip(end.runs, settled.wanted_m, strict=True):
                    worst[run.from_id] = max(worst.get(run.from_id, -math.inf), level)
    assert call.levels
    for level in call.levels:
        assert level.storm_m == pytest.approx(worst[level.id], abs=2e-4)
        assert level.storm_instant_s is not None
        assert 0 <= level.storm_instant_s <= level.storm_duration_s


@pytest.mark.parametrize("change", CHANGES)
def test_no_routed_storm_is_worse_than_the_full_well(
    change: Callable[[Document], None], house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The full well with the head over its lip and the cloudburst bounds them all."""
    change(house)
    for level in judged_of(house, bodies=1).behaviour.levels:
        assert level.storm_m is not None
        assert level.storm_m <= level.peak_m + 2e-4


def test_a_storm_that_comes_out_is_named_with_its_place_and_instant(
    house: Document, judged_of: Callable[..., Judged], calls: list[Call]
) -> None:
    """The first step, in order, at which any joint is over its limit; and none before it is."""
    _high_lip(house)
    judged = judged_of(house, bodies=1)
    call = calls[-1]
    assert call.surfacing
    assert judged.behaviour.surfacing == call.surfacing
    by_duration = {found.duration_s: found for found in call.surfacing}
    (end,) = (tree for tree in water_levels.trees(call.scheme) if tree.end == "W1")
    for path in call.paths:
        over = None
        for step, rate in enumerate(path.rate_m_s):
            taken = {s.id: min(rate * s.area_m2, s.limit_m3_s) for s in call.spouts}
            flows = [sum(q for id, q in taken.items() if run in call.scheme.way(id)) for run in end.runs]
            settled = settle(
                end.pipes, flow_m3_s=flows, tailwater_m=end.tails(float(path.tail_m["W1"][step]), flows)
            )
            if any(a > b + 1e-9 for a, b in zip(settled.wanted_m, end.pipes.limit_m, strict=True)):
                over = path.step_s * (step + (1 if path.rising["W1"][step] else 0))
                break
        found = by_duration.get(path.duration_s)
        assert (found.instant_s if found else None) == over
    sentences = [f.sentence for f in judged.findings if f.code == "water-in-storm" and f.verdict == "fails"]
    assert any("comes out first at" in sentence for sentence in sentences)


def test_water_comes_out_where_it_must_and_stands_no_higher(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """What comes = what still arrives + what comes out; the lines that papers draw stay under every limit."""
    _high_lip(house)
    judged = judged_of(house, bodies=1)
    behaviour = judged.behaviour
    out = sum(level.comes_out_m3_s for level in behaviour.levels)
    assert 0 < out <= behaviour.peak_m3_s * (1 + 1e-9)
    for level in behaviour.levels:
        assert level.reach_m <= level.limit_m
        assert (level.comes_out_m3_s <= 0) or level.peak_m > level.limit_m
        leaving = judged.scheme.run_from(level.id)
        assert behaviour.run(leaving.id).level_up_m <= level.limit_m + 1e-9
    words = [
        f.sentence
        for f in judged.findings
        if f.code == "water-below-grate" and "comes out here" in f.sentence
    ]
    assert words


def test_a_branch_loses_more_at_a_wye_than_the_straight_way(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Wyes of the small house: published coefficients at 0, 45, 90 degrees; none where nothing joins."""
    scheme = judged_of(house).scheme
    pairs = [
        (run, scheme.run_from(run.to_id)) for run in scheme.runs if scheme.run_from(run.to_id) is not None
    ]
    wyes = {wye.id for wye in scheme.wyes}
    assert pairs
    for branch, trunk in pairs:
        k = pipes.turn_k(scheme, branch, trunk)
        if branch.to_id in wyes and len(scheme.runs_to(branch.to_id)) > 1:
            assert 0.6 <= k <= 1.8
        else:
            assert k == 0.0


def test_a_hood_costs_head_and_never_less_than_none(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The elbow of a hood loses half a velocity head (common practice): the basin stands higher by so much or not at all."""
    levels = {}
    for hood in (False, True):
        house.setdefault("basins", {})["B1"] = {"at": ["38 ft", "82 ft"], "hood": hood}
        judged = judged_of(house)
        run = judged.scheme.run_from("B1")
        k = pipes.chain(judged.scheme, [run])["entrance_loss_k"][0]
        levels[hood] = (k, next(level for level in judged.behaviour.levels if level.id == "B1"))
    assert levels[True][0] - levels[False][0] == pytest.approx(0.5)
    assert 0 <= levels[True][1].peak_m - levels[False][1].peak_m < 4 * INCH


def test_every_run_is_classed(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Smooth 4 in pipe at the slopes of a yard is steep; a backed-up run says so."""
    judged = judged_of(house)
    assert judged.behaviour.runs
    for flow in judged.behaviour.runs:
        run = next(run for run in judged.scheme.runs if run.id == flow.id)
        if run.slope_m_m > 0.01 and flow.depth_ratio is not None:
            assert flow.slope_class == "steep"
        assert flow.curve in ("still", "uniform", "full", "M1", "M2", "S1", "S2", "C1", "H2", "A2")
        assert flow.control in ("entrance", "backwater")
        assert 0 <= flow.full_length_m <= run.length_m + 1e-9
    found = [f for f in judged.findings if f.code == "pipe-velocity" and "in the cloudburst" in f.sentence]
    assert found
    assert all("steep slope" in finding.detail for finding in found)
    assert not any("steep" in finding.sentence for finding in found)  # the textbook's word is for the detail


def test_a_drowned_inlet_says_what_to_change(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Inlet 16 in and outlet 20 in over the floor: 4 in of fall lost; the wet length is that over the slope."""
    house.setdefault("basins", {})["B1"] = {
        "at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in",
        "inlet_height": "16 in", "outlet_height": "20 in",
    }  # fmt: skip
    judged = judged_of(house)
    waters = [water for water in judged.behaviour.standing if water.basin == "B1"]
    assert waters
    for water in waters:
        run = next(run for run in judged.scheme.runs if run.id == water.run)
        assert water.fall_lost_m <= 4 * INCH + 1e-9
        wet = (judged.scheme.basins[0].outlet_invert_m - run.downstream_invert_m) / run.slope_m_m
        assert water.wet_length_m == pytest.approx(min(run.length_m, wet), rel=1e-9)
        assert water.design_wet_length_m >= water.wet_length_m - 1e-9
        raised = (run.upstream_invert_m - judged.scheme.basins[0].outlet_invert_m) / run.length_m
        assert water.slope_if_raised_m_m == pytest.approx(raised)
    words = [f"{f.sentence} {f.detail}".lower() for f in judged.findings if f.code == "no-standing-water"]
    for part in ("raise", "lower behind a hood", "weep holes", "gal"):
        assert all(part in sentence for sentence in words)


def _drawn(house: Document, lower: str, outlet: str) -> None:
    """The basin's pipe from a wye on given levels: P1 and P2 come down to the wye, P3 goes on to the basin."""
    house.setdefault("basins", {})["B1"] = {
        "at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in", "floor": "95.0 ft",
        "inlet_height": "1.2 ft", "outlet_height": outlet, "grate": "98.4 ft",
    }  # fmt: skip
    house["wyes"] = {"Y1": {"at": ["22 ft", "74 ft"]}}
    house["runs"] = {
        "P1": {"from": "D2", "to": "Y1", "upstream_invert": "97.0 ft", "downstream_invert": "96.2 ft"},
        "P2": {"from": "D1", "to": "Y1", "upstream_invert": "96.6 ft", "downstream_invert": "96.2 ft"},
        "P3": {"from": "Y1", "to": "B1", "upstream_invert": "96.2 ft", "downstream_invert": lower},
        "P4": {"from": "B1", "to": "W1"},
    }
    house["runs"]["P1"]["path"] = [["55.5 ft", "66.5 ft"], ["55.5 ft", "70 ft"], ["22 ft", "74 ft"]]
    house["runs"]["P2"]["path"] = [["20.5 ft", "66.5 ft"], ["22 ft", "74 ft"]]
    house["runs"]["P3"]["path"] = [["22 ft", "74 ft"], ["38 ft", "82 ft"]]


@pytest.mark.parametrize("lower", ["96.2 ft", "96.3 ft"])
def test_a_level_or_rising_pipe_holds_water_and_so_does_the_run_above(
    house: Document, judged_of: Callable[..., Judged], lower: str
) -> None:
    """By hand: the outlet 1.5 ft over the floor at 95.0 ft keeps 0.3 ft on the level pipe's 96.2 ft; rising by 0.1 ft
    to 96.3 it stands as high. P2 falls 0.4 ft over its length, so 0.3 ft of water reach three quarters up it."""
    _drawn(house, lower, "1.5 ft")
    judged = judged_of(house)
    waters = {water.run: water for water in judged.behaviour.standing}
    assert set(waters) == {"P1", "P2", "P3"}
    runs = {run.id: run for run in judged.scheme.runs}
    assert waters["P3"].wet_length_m == pytest.approx(runs["P3"].length_m)
    assert waters["P2"].wet_length_m == pytest.approx(0.75 * runs["P2"].length_m)
    assert all(water.basin == "B1" and not water.rising_run for water in waters.values())
    assert all(water.level_m == pytest.approx(96.5 * FT) for water in waters.values())
    told = {f.subject for f in judged.findings if f.code == "no-standing-water" and f.verdict == "fails"}
    assert told == {"P1", "P2", "P3"}


def test_a_pipe_that_rises_holds_water_without_any_basin(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """By hand: P3 rises from 96.2 to 96.3 ft over an outlet at 96.0: 0.1 ft stands at its upper end, none at its lower,
    and a quarter of P2 (0.1 of its 0.4 ft of fall) is wet."""
    _drawn(house, "96.3 ft", "1 ft")
    judged = judged_of(house)
    waters = {water.run: water for water in judged.behaviour.standing}
    runs = {run.id: run for run in judged.scheme.runs}
    assert set(waters) == {"P1", "P2", "P3"}
    assert {water.rising_run for water in waters.values()} == {"P3"}
    assert waters["P3"].wet_length_m == pytest.approx(runs["P3"].length_m)
    assert waters["P2"].wet_length_m == pytest.approx(0.25 * runs["P2"].length_m)
    words = {f.subject: f.sentence for f in judged.findings if f.code == "no-standing-water"}
    assert "1.2 in" in words["P3"] and "Lay P3 to fall first" in words["P2"]
    held = {item.id: item.what for item in judged.behaviour.held_water}
    assert held["P3"] == "pipe that falls the wrong way" and held["P2"] == "pipe drowned by P3"


def test_a_well_that_is_fed_by_one_that_fills_within_a_step_stands_as_high_as_at_its_end(
    house: Document, judged_of: Callable[..., Judged], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Against the same wells in steps of two seconds: what goes over each lip in the last of them is the end's."""
    house["wells"] |= {
        "W1": {"at": ["28 ft", "100 ft"], "bodies": 1, "body_diameter": "24 in", "body_height": "36 in"},
        "W2": {"at": ["60 ft", "104 ft"], "bodies": 1, "body_diameter": "24 in", "body_height": "36 in"},
    }
    house["overflows"]["O1"] = {"of": "W1", "lip": "97.6 ft", "to": "W2"}
    house["overflows"]["O2"] = {"of": "W2", "destination": "over the back lawn", "lip": "97.2 ft"}
    seen: list[tuple[Any, ...]] = []
    real = water_levels.storm_path

    def listen(scheme, stores, traces, **rest):
        path = real(scheme, stores, traces, **rest)
        seen.append((scheme, stores, traces, rest, path))
        return path

    monkeypatch.setattr("roofwell.system.well_rain.storm_path", listen)
    judged_of(house)
    parted = 0
    for scheme, stores, traces, rest, path in seen[-8:]:
        step, fine = rest["step_s"], int(rest["step_s"] / 2)
        own = [trace.inflow_m3 / step for trace in traces]
        for place, store in enumerate(stores):
            if store.overflow_to is not None:
                own[store.overflow_to] = own[store.overflow_to] - traces[place].spilled_m3 / step
        count = len(path.rate_m_s)
        inflow = np.repeat(np.maximum(np.column_stack(own)[:count], 0.0), fine, axis=0)
        again = network.simulate(stores, inflow, step_s=step / fine, start_m3=rest["start_m3"])
        for place, well in enumerate(scheme.wells):
            last = again[place].spilled_m3[fine - 1 :: fine] / (step / fine)
            assert path.over_lip_m3_s[well.id] == pytest.approx(last, abs=1e-9)
            if any(store.overflow_to == place for store in stores):
                mean = traces[place].inflow_m3[:count] / step - stores[place].soakage_m3_s[-1]
                parted += int(np.sum((last > 0) & (np.abs(mean - last) > 1e-6)))
    assert parted  # the mean of the step would not have done


def test_weep_holes_drain_a_drowned_inlet_and_the_check_says_so(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The same water, no longer for good: told, not failed, and not counted in winter."""
    _drawn(house, "96.2 ft", "1.5 ft")
    for_good = {water.run: water for water in judged_of(house).behaviour.standing}
    house["basins"]["B1"] |= {"weep_holes": 4, "weep_hole_diameter": "3/8 in"}
    judged = judged_of(house)
    waters = {water.run: water for water in judged.behaviour.standing}
    assert {run: water.wet_length_m for run, water in waters.items()} == {
        run: water.wet_length_m for run, water in for_good.items()
    }
    found = [f for f in judged.findings if f.code == "no-standing-water"]
    assert {f.subject for f in found} == {"P1", "P2", "P3"}
    assert all(f.verdict == "good" and "weep holes of B1 have drained it" in f.sentence for f in found)
    assert [f.subject for f in judged.findings if f.code == "weep-drain"] == ["B1"]  # how long that takes
    assert not {"B1", "P1", "P2", "P3"} & {item.id for item in judged.behaviour.held_water}


def test_weep_holes_do_not_drain_what_a_rising_pipe_keeps_back(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """By hand: with the outlet at 96.5 ft P3, up to 96.3 ft, still keeps 0.1 ft back behind the drained basin."""
    _drawn(house, "96.3 ft", "1.5 ft")
    house["basins"]["B1"] |= {"weep_holes": 4, "weep_hole_diameter": "3/8 in"}
    waters = {water.run: water for water in judged_of(house).behaviour.standing}
    assert {water.rising_run for water in waters.values()} == {"P3"}
    assert all(water.level_m == pytest.approx(96.3 * FT) for water in waters.values())


@pytest.fixture(scope="module")
def old_system() -> Design:
    reading = read_file(examples.path("old-system"))
    assert reading.job is not None
    return design(reading.job, folder=reading.folder, document=reading.document)


def test_what_comes_out_above_a_full_well_is_refused_there(old_system: Design) -> None:
    """The levels settle tree and head for themselves: the kernel refuses the same flow, and holds none of it."""
    (well,) = old_system.behaviour.wells
    (end,) = water_levels.trees(old_system.scheme)
    lowest = end.runs[0]
    out = {found.duration_s: found for found in old_system.behaviour.surfacing}
    assert {found.part for found in out.values()} == {lowest.from_id}
    # five even minutes of rain: the well fills, and then the flow over the grate is one and the same to the end;
    # what the pipes bring to a rising well is followed by straight lines between four levels, hence the 3 %
    storm = next(one for one in well.storms if one.duration_s == 300.0)
    assert storm.full_after_s is not None
    assert storm.refused_m3 == pytest.approx(out[300.0].out_m3_s * (300.0 - storm.full_after_s), rel=0.03)
    assert all((one.refused_m3 > 0) == (one.duration_s in out) for one in well.storms)


def test_the_balance_closes_where_a_full_well_refuses(old_system: Design) -> None:
    scheme, survey, behaviour = old_system.scheme, old_system.survey, old_system.behaviour
    rate = survey.soil.best_m_s / survey.soil.safety_factor
    (store,) = rainfall.stores_of(scheme, survey, behaviour.downspouts, rate, None).values()
    assert store.capacity_m3_s is not None
    rain = np.concatenate([np.linspace(0, 4e-3, 40), np.linspace(4e-3, 0, 40), np.zeros(2000)])
    (trace,) = network.simulate([store], rain[:, None], step_s=300.0, start_m3=[0.0])
    assert trace.refused_m3.sum() > 0 and trace.spilled_m3.sum() > 0
    assert network.balance_error(trace, 0.0) <= 1e-9
