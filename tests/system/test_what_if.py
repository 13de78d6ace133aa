"""What if a part does not work: levels against hydraulics by hand, balances, and that nothing that fails helps."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from roofwell.checks import what_if_words as words
from roofwell.design import Design
from roofwell.design.judging import Judged
from roofwell.design.steps import waits
from roofwell.system import what_if
from roofwell.system.behaviour import Behaviour
from roofwell.system.facts import Survey
from roofwell.system.rainfall import behave, record_basis
from roofwell.system.scheme import Scheme
from roofwell.system.survey import survey as make_survey
from roofwell.system.what_if_facts import WhatIf, WhatIfs

Document = dict[str, Any]
FOOT, GALLON = 0.3048, 3.785411784e-3
CUBIC_FOOT = FOOT**3


@pytest.fixture
def of(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> Callable[..., tuple[Scheme, Survey, Behaviour, WhatIfs]]:
    """Scheme, survey, behaviour and what-ifs of the small house, with a change of document or of Scheme."""

    def run(
        change: Callable[[Document], None] | None = None, scheme: Callable[[Scheme], Scheme] | None = None
    ) -> tuple[Scheme, Survey, Behaviour, WhatIfs]:
        if change is not None:
            change(house)
        judged = judged_of(house)
        survey = make_survey(read_job(house))
        if scheme is None:
            assert judged.behaviour.what_if is not None
            return judged.scheme, survey, judged.behaviour, judged.behaviour.what_if
        changed = scheme(judged.scheme)
        rate, record = survey.soil.best_m_s / survey.soil.safety_factor, record_basis(survey)
        behaviour = behave(changed, survey, rate_m_s=rate, record=record, with_record=False)
        found = what_if.what_ifs(changed, survey, behaviour, rate_m_s=rate, record=record)
        return changed, survey, behaviour, found

    return run


def _case(found: WhatIfs, kind: str) -> WhatIf:
    return next(case for case in found.cases if case.kind == kind)


def _weir_head_ft(flow_cfs: float, edge_ft: float) -> float:
    """TxDOT Hydraulic Design Manual, chapter 10, equation 10-30: Q = 3.0 P h^1.5 in feet; half of the edge is clogged."""
    return (flow_cfs / (3.0 * edge_ft / 2)) ** (2 / 3)


def _orifice_head_ft(flow_cfs: float, area_sq_ft: float) -> float:
    """The same, equation 10-31: Q = 0.67 A (2 g h)^(1/2), with half of the openings clogged."""
    return (flow_cfs / (0.67 * area_sq_ft / 2)) ** 2 / (2 * 32.2)


def test_plugged_inlet_stands_at_the_grate_by_the_weir(of: Any) -> None:
    """All that comes leaves over the grate: 1 cfs = 1 in/h on 1.008 acre (rational formula), then the weir of the source."""
    scheme, survey, behaviour, found = of()
    basin = scheme.basins[0]
    case = _case(found, "inlet plugged")
    area_acre = sum(spout.roof_area_m2 for spout in scheme.downspouts) / FOOT**2 / 43560
    intensity = behaviour.intensity_m_s / 0.0254 * 3600
    flow = 1.008333 * survey.settings["runoff_coefficient"] * intensity * area_acre
    across = basin.width_m / FOOT
    edge, openings = math.pi * across, math.pi * across**2 / 4 * 0.5
    if basin.shape == "square":
        edge, openings = 4 * across, across**2 * 0.5
    head = max(_weir_head_ft(flow, edge), _orifice_head_ft(flow, openings))
    (out,) = case.out
    assert (out.part, out.what) == (basin.id, "basin grate")
    assert out.flow_m3_s / CUBIC_FOOT == pytest.approx(flow, rel=2e-3)
    assert out.head_m / FOOT == pytest.approx(head, rel=5e-3)
    assert dict(case.grates)[basin.id] / FOOT == pytest.approx(basin.grate_m / FOOT + head, abs=1e-3)
    assert out.volume_m3 / GALLON == pytest.approx(flow * behaviour.cloudburst_duration_s * 7.4805, rel=3e-3)


def test_blocked_overflow_lets_out_what_the_soil_does_not_take(of: Any) -> None:
    """In: the roofs' cloudburst. Out: over the grate, and what the full well soaks at the design rate."""
    _, survey, behaviour, found = of()
    case, inlet = _case(found, "overflow blocked"), _case(found, "inlet plugged")
    soaks = behaviour.wells[0].soakage_full_m3_s
    assert case.out[0].flow_m3_s == pytest.approx(inlet.out[0].flow_m3_s - soaks, rel=1e-6)
    assert not case.way_out_works
    assert inlet.way_out_works
    assert found.storm_years == survey.targets.storm_years


def test_storm_leaves_over_the_grate_what_the_roofs_shed(of: Any) -> None:
    """With the inlet plugged the 24-h storm comes out whole: depth of the table less the roof's loss, times the roofs."""
    scheme, survey, _, found = of()
    case = _case(found, "inlet plugged")
    rain = survey.rain.table
    years = list(rain.return_period_years).index(survey.targets.storm_years)
    depth = rain.depth_m[list(rain.duration_s).index(case.storm_s), years]
    area = sum(spout.roof_area_m2 for spout in scheme.downspouts)
    net = (depth - survey.settings["initial_loss"]) * survey.settings["runoff_coefficient"] * area
    assert case.storm_out_m3 == pytest.approx(net, rel=1e-6)
    assert case.out_after_s is not None


def test_water_that_runs_back_to_the_lowest_joint_loses_its_friction(of: Any) -> None:
    """No grate within reach: all runs back to the lowest joint. Manning's full pipe by hand, entrance 0.5 and exit 1.0."""

    def high(scheme: Scheme) -> Scheme:
        low = min(scheme.downspouts, key=lambda spout: spout.joint_m)
        spouts = tuple(
            spout if spout is low else replace(spout, joint_m=spout.joint_m + 5)
            for spout in scheme.downspouts
        )
        basins = tuple(replace(basin, grate_m=basin.grate_m + 5) for basin in scheme.basins)
        return replace(scheme, downspouts=spouts, basins=basins)

    scheme, _, behaviour, found = of(scheme=high)
    low = min(scheme.downspouts, key=lambda spout: spout.joint_m)
    case = _case(found, "inlet plugged")
    (out,) = case.out
    total = sum(min(spout.peak_m3_s, spout.limit_m3_s) for spout in behaviour.downspouts)
    assert out.part == low.id
    assert out.flow_m3_s == pytest.approx(total, rel=1e-6)
    shut = scheme.runs_to(scheme.wells[0].id)[0]
    way = [run for run in scheme.way(low.id) if run is not shut]
    lost = 0.0
    for run in way:
        back = total - behaviour.run(run.id).peak_m3_s
        bore = math.pi * run.inside_diameter_m**2 / 4
        friction = (
            back * run.manning_n / (bore * (run.inside_diameter_m / 4) ** (2 / 3))
        ) ** 2 * run.length_m
        lost += friction + 1.5 * (back / bore) ** 2 / (2 * 9.80665)
    basin = dict(case.grates)[scheme.basins[0].id]
    assert basin == pytest.approx(low.joint_m + out.head_m + lost, abs=0.002)


def test_nothing_that_fails_lowers_the_water(of: Any) -> None:
    """Every joint and grate in every case, and the highest of them, against everything working."""
    _, _, behaviour, found = of()
    usual = {level.id: min(level.peak_m, level.limit_m) for level in behaviour.levels}
    assert {case.kind for case in found.cases} == {"never emptied", "inlet plugged", "overflow blocked"}
    for case in found.cases:
        for part, level in case.joints + case.grates:
            assert level >= usual[part] - 1e-12
        assert case.house_m >= found.normal_m
        assert case.storm_m >= max(
            min(level.storm_m, level.limit_m) for level in behaviour.levels if level.storm_m is not None
        )


def test_more_roof_stands_higher_in_every_case(of: Any) -> None:
    _, _, _, small = of()

    def more(document: Document) -> None:
        for roof in document["roofs"].values():
            roof["plan_area"] = "900 sq ft"

    _, _, _, large = of(more)
    for one, other in zip(small.cases, large.cases, strict=True):
        assert one.kind == other.kind
        assert other.house_m >= one.house_m - 1e-9


def test_a_blocked_screen_sends_all_of_it_over_its_own_grate(of: Any) -> None:
    """The same water as with the inlet plugged, where one pipe leads from the basin to the well."""

    def screen(document: Document) -> None:
        document["basins"] = {
            "B1": {"at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in", "screen": True}
        }

    _, _, _, found = of(screen)
    shut, plugged = _case(found, "screen blocked"), _case(found, "inlet plugged")
    assert shut.letter == "A"
    # by hand: 0.52 in in 5 min on 780 sq ft is 0.1127 cfs; over half of an 18 in rim, 3.0 x 2.356 h^1.5, 0.0633 ft
    (out,) = shut.out
    assert out.flow_m3_s / CUBIC_FOOT == pytest.approx(0.1127, rel=1e-3)
    assert out.head_m / FOOT == pytest.approx(0.0633, rel=5e-3)
    assert shut.out == plugged.out
    assert shut.joints == plugged.joints


def test_plugged_weep_holes_leave_the_sump_full(of: Any) -> None:
    """A round 18 in basin, 12 in deep under its outlet: π/4 · 1.5² · 1 cu ft = 13.2 gal, and the pipes fall to it."""

    def weeps(document: Document) -> None:
        document["basins"] = {
            "B1": {
                "at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in", "weep_holes": 4,
                "inlet_height": "14 in", "outlet_height": "12 in",
            }
        }  # fmt: skip

    _, _, _, found = of(weeps)
    case = _case(found, "weeps plugged")
    assert case.stays_m3 / GALLON == pytest.approx(13.2, abs=0.1)
    assert case.house_m == pytest.approx(found.normal_m, abs=1e-9)


# ------------------------------------------------------------------------------------------ pump


def _pumped(document: Document) -> None:
    """The well's overflow runs on to a pump."""
    document["outlets"] = {
        "X1": {
            "kind": "pump",
            "at": ["38 ft", "112 ft"],
            "invert": "95.5 ft",
            "destination": "the street gutter",
        }
    }
    document["overflows"]["O1"] |= {"to": "X1"}


def test_a_pump_is_not_issued_until_three_things_are_answered(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    _pumped(house)
    judged = judged_of(house)
    (found,) = [f for f in judged.findings if f.code == "pump-answered"]
    wanted = {"outlets.power", "outlets.freeze_protection", "outlets.allowed_by"}
    assert found.verdict == "unknown"
    assert {m.leaf for m in found.missing} == wanted
    assert any("power of the pump" in line for line in waits(judged.answers))
    house["outlets"]["X1"] |= {
        "power": "own circuit, battery for 6 h", "freeze_protection": "pit below frost", "allowed_by": "street office",
    }  # fmt: skip
    answered = judged_of(house)
    assert [f.verdict for f in answered.findings if f.code == "pump-answered"] == ["good"]
    assert not any("pump" in line for line in waits(answered.answers))


def test_a_pump_without_power_leaves_the_full_well_no_way_out(
    house: Document, judged_of: Callable[..., Judged], of: Any
) -> None:
    scheme, _, behaviour, found = of(_pumped)
    case = _case(found, "pump without power")
    assert not case.way_out_works
    assert case.out[0].part in {part.id for part in (*scheme.basins, *scheme.downspouts)}
    assert (
        case.out[0].edge_m + case.out[0].head_m > behaviour.wells[0].head_over_lip_m + scheme.wells[0].lip_m
    )
    assert "no way out" in words.what(case, scheme)


# ------------------------------------------------------------------------------------------ what a user sees


def test_cases_are_judged_only_where_the_way_out_works(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """An opening just over the plugged inlet's water is close or good; under it the check fails and is never set aside."""
    judged = judged_of(house)
    found = judged.behaviour.what_if
    assert found is not None
    worst = max(max(case.house_m, case.storm_m) for case in found.judged) / FOOT
    for over_ft, verdict in ((0.02, "close"), (0.5, "good"), (-0.02, "fails")):
        house["buildings"]["H1"]["lowest_opening"] = f"{worst + over_ft:.9f} ft"
        house["overrules"] = [
            {"check": "blocked-below-opening", "reason": "no", "who": "test", "date": "2026-05-04"}
        ]
        (finding,) = [f for f in judged_of(house).findings if f.code == "blocked-below-opening"]
        assert (finding.verdict, finding.overruled) == (verdict, None)
    warned = judged_of(house)
    assert warned.behaviour.what_if is not None
    assert words.warnings(warned.behaviour.what_if, warned.scheme, (), "us")


def test_a_design_says_what_if(small_house: Design) -> None:
    found = small_house.behaviour.what_if
    assert found is not None
    rows = words.rows(found, small_house.scheme, "us")
    assert [row.letter for row in rows] == list("ABC")
    assert all("below the lowest opening" in row.below for row in rows)
    assert any("gal" in row.comes_out for row in rows)
    answer = small_house.answer(6)
    assert "blocked-below-opening" in {finding.code for finding in answer.findings}


def test_water_over_an_opening_on_a_guessed_ground_says_so(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Nobody shot the ground: a stand-in lies under the levels, and each warning names what to measure."""
    house.pop("survey")
    judged = judged_of(house)
    found = judged.behaviour.what_if
    assert found is not None
    missing = {"survey.ground"}
    low = replace(found, cases=tuple(replace(case, over_opening_m=0.1) for case in found.cases))
    lines = words.warnings(low, judged.scheme, missing, "us")
    assert len(lines) == len(found.cases)
    assert all("on stand-ins until these are measured" in line for line in lines)
    assert "stand-ins" in words.basis(found, missing, "us")
    assert "stand-ins" not in words.basis(found, (), "us")
