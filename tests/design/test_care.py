"""Weep holes, ice, lids and the sheet for the homeowner, from the document's leaves to findings and papers."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell.checks.care_words import care
from roofwell.checks.finding import Finding
from roofwell.design import Design
from roofwell.design.judging import Judged
from roofwell.papers.results import results
from roofwell.papers.set import set_data

Document = dict[str, Any]
DATA = Path(__file__).parents[1] / "data"
HOUR = 3600.0
CUBIC_FOOT = 0.3048**3


def _basin(house: Document, **more: Any) -> Document:
    house["basins"] = {
        "B1": {
            "at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in", "inlet_height": "17 in",
            "outlet_height": "16 in", **more,
        }
    }  # fmt: skip
    return house


def _found(judged: Judged | Design, code: str) -> dict[str, Finding]:
    findings = (
        judged.findings
        if isinstance(judged, Judged)
        else [f for answer in judged.answers for f in answer.findings]
    )
    return {finding.subject: finding for finding in findings if finding.code == code}


def test_weep_holes_empty_at_the_pace_of_the_soil(house: Document, judged_of: Callable[..., Judged]) -> None:
    """By hand: 1.767 sq ft x 16 in = 2.356 cu ft through a 30 in circle of pea stone, 4.909 sq ft, at 4 in/h over the
    factor 2: 0.818 cu ft/h, 2.88 h."""
    judged = judged_of(_basin(house, weep_holes=4))
    (weeps,) = judged.behaviour.weeps
    assert weeps.basin_m3 / CUBIC_FOOT == pytest.approx(2.356, rel=1e-3)
    assert weeps.empty_s.best / HOUR == pytest.approx(2.88, rel=5e-3)
    found = _found(judged, "weep-drain")["B1"]
    assert found.verdict == "good"
    assert "plugged, never" in found.sentence
    # told with all of it assumed
    assert {"B1.pea_stone_depth_m", "B1.pea_stone_around_m", "B1.weep_hole_diameter_m"} <= set(found.assumed)
    # half the floor's reach: 1.767 sq ft alone at 2 in/h takes 8.0 h
    bare = judged_of(_basin(house, weep_holes=4, pea_stone_depth="0 in"))
    assert bare.behaviour.weeps[0].empty_s.best / HOUR == pytest.approx(8.0, rel=5e-3)


def test_the_pipe_that_stands_behind_drains_with_it(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The pipe's water is that which `no-standing-water` tells; all of it goes the same way."""
    judged = judged_of(_basin(house, weep_holes=4, inlet_height="16 in", outlet_height="20 in"))
    (weeps,) = judged.behaviour.weeps
    standing = judged.behaviour.standing
    assert weeps.runs == tuple(water.run for water in standing)
    assert weeps.pipe_m3 == pytest.approx(sum(water.pipe_volume_m3 for water in standing), rel=1e-9)
    whole = (weeps.basin_m3 + weeps.pipe_m3) / weeps.soil_m3_s
    assert weeps.empty_s.best == pytest.approx(whole, rel=5e-3)
    words = next(iter(_found(judged, "no-standing-water").values())).sentence
    assert "not judged" not in words


def test_groundwater_in_the_basin_and_what_nobody_measured(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    floor = judged_of(_basin(house, weep_holes=4)).scheme.basins[0].floor_m / 0.3048
    house["soil"]["seasonal_high_water"] = f"{floor + 0.5:.3f} ft"
    found = _found(judged_of(house), "weep-drain")["B1"]
    assert (found.verdict, math.isinf(found.value)) == ("fails", True)
    assert "groundwater" in found.sentence
    house["soil"].pop("seasonal_high_water")
    assert _found(judged_of(house), "weep-drain")["B1"].verdict == "unknown"
    house["soil"]["seasonal_high_water"] = "84 ft"
    house["basins"]["B1"]["state"] = "existing"
    found = _found(judged_of(house), "weep-drain")["B1"]
    assert found.verdict == "unknown"
    assert "basins.pea_stone" in {item.leaf for item in found.missing}


def test_a_basin_with_weep_holes_keeps_the_distances_of_a_well(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The basin's middle lies 16 ft from the wall (82 less 66), its stone's edge 16 ft less 15 in: 14.75 ft."""
    assert not any(s.startswith("B1") for s in _found(judged_of(_basin(house)), "setback"))
    judged = judged_of(_basin(house, weep_holes=4))
    setback = _found(judged, "setback")["B1 to building"]
    assert setback.value / 0.3048 == pytest.approx(14.75, abs=0.01)
    assert setback.verdict == "good"
    over = _found(judged, "separation")["B1"]
    floor = judged.scheme.basins[0].floor_m
    assert over.value == pytest.approx(floor - 0.5 * 0.3048 - 84 * 0.3048, abs=1e-6)
    house["basins"]["B1"]["at"] = ["38 ft", "75 ft"]
    near = _found(judged_of(house), "setback")["B1 to building"]
    assert near.verdict == "fails"  # 9 ft less 1.25 ft, where the rule file asks 10


def test_a_perforated_run_keeps_them_too(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["runs"] = {"P1": {"from": "D1", "to": "W1", "perforated": True}}
    judged = judged_of(house)
    assert _found(judged, "setback")["P1 to building"].verdict == "fails"  # it starts at the wall
    assert "P1" in _found(judged, "separation")


@pytest.mark.parametrize(
    ("frost", "verdict"), [("0 in", "good"), ("6 in", "good"), ("8 ft", "fails"), (None, "unknown")]
)
def test_ice_in_the_hood(
    frost: str | None, verdict: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The mouth lies outlet depth and hood depth under the ground; frost closes it or does not reach it."""
    house["soil"].pop("frost_depth")
    if frost is not None:
        house["soil"]["frost_depth"] = frost
    judged = judged_of(house)
    found = _found(judged, "ice-in-water")
    assert {one.verdict for one in found.values()} == {verdict}
    basin = judged.scheme.basins[0]
    (held,) = [item for item in judged.behaviour.held_water if item.id == basin.id]
    assert held.way_under_m == pytest.approx(basin.ground_m - basin.outlet_invert_m + basin.hood_depth_m)
    if verdict == "fails":
        assert "Lift the hood out" in found[basin.id].sentence


def test_how_deep_the_mouth_of_a_hood_lies(house: Document, judged_of: Callable[..., Judged]) -> None:
    """By hand: the lawn falls from 98.8 ft at y = 67 to 97.0 at 120, so 98.2906 over a basin at 82. Its floor at 94, the
    outlet 24 in up at 96, the hood's mouth 6 in lower: 98.2906 - 96 + 0.5 = 2.7906 ft of ground over it. Frost of 2 ft
    does not reach it; frost of 4 ft goes past the outlet's whole opening."""
    _basin(house, floor="94 ft", inlet_height="26 in", outlet_height="24 in", hood=True, hood_depth="6 in")
    verdicts = {}
    for frost in ("2 ft", "4 ft"):
        house["soil"]["frost_depth"] = frost
        judged = judged_of(house)
        (held,) = [item for item in judged.behaviour.held_water if item.id == "B1"]
        assert held.way_under_m / 0.3048 == pytest.approx(2.7906, abs=1e-3)
        verdicts[frost] = _found(judged, "ice-in-water")["B1"].verdict
    assert verdicts == {"2 ft": "good", "4 ft": "fails"}


def test_a_plain_outlet_stays_open_and_a_warm_place_asks_nothing(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"].pop("frost_depth")
    _basin(house, hood=False)
    assert {f.verdict for f in _found(judged_of(house), "ice-in-water").values()} == {"good"}
    _basin(house, hood=True)
    assert {f.verdict for f in _found(judged_of(house), "ice-in-water").values()} == {"unknown"}
    # by a published rule a month under 38 F may bring snow (usgs-monthly-snow); 60 F the year round does not
    house["rain"]["air_temperatures"] = ["60 F"] * 12
    assert {f.verdict for f in _found(judged_of(house), "ice-in-water").values()} == {"good"}


def test_ice_fills_a_drowned_pipe_from_its_top(house: Document, judged_of: Callable[..., Judged]) -> None:
    """By hand: a pipe with 4 in of water and more is full in its lowest part; frost far down closes its whole bore."""
    _basin(house, inlet_height="14 in", outlet_height="20 in")
    house["soil"]["frost_depth"] = "10 ft"
    pipes = {id: f for id, f in _found(judged_of(house), "ice-in-water").items() if id.startswith("P")}
    assert max(f.value for f in pipes.values()) == pytest.approx(1.0)
    house["soil"]["frost_depth"] = "1 in"
    assert {f.verdict for f in _found(judged_of(house), "ice-in-water").values()} == {"good"}


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        ({}, "good"),  # a new basin gets its mesh
        ({"mosquito_screen": False}, "fails"),  # 72 h, University of California 2004
        ({"mosquito_screen": False, "weep_holes": 4}, "good"),
        ({"state": "existing"}, "unknown"),
        ({"state": "existing", "mosquito_screen": True}, "good"),
    ],
)
def test_mosquitoes(
    change: Document, verdict: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    found = _found(judged_of(_basin(house, **change)), "mosquito-water")["B1"]
    assert found.verdict == verdict
    if verdict == "unknown":
        assert "basins.mosquito_screen" in {item.leaf for item in found.missing}


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        ({}, "good"),
        ({"lid_held": False}, "fails"),
        ({"lid_weight": "57 lb"}, "fails"),  # New Mexico's septic rule: 58 lb or more
        ({"lid_weight": "58 lb"}, "good"),
        ({"lid_held": True, "lid_weight": "5 lb"}, "good"),
        ({"state": "existing"}, "unknown"),
    ],
)
def test_a_lid_against_children(
    change: Document, verdict: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    found = _found(judged_of(_basin(house, **change)), "lid-held")["B1"]
    assert found.verdict == verdict
    assert "net or grid" in found.sentence  # 18 in wide, over 12 in: common practice, no source


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        ({"grate_opening": "1/2 in"}, "good"),
        ({"grate_opening": "5/8 in"}, "fails"),
        ({"state": "existing"}, "unknown"),
    ],
)
def test_a_grate_where_people_walk(
    change: Document, verdict: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    """A sphere of 1/2 in at most, accessibility standard 302.3; in the lawn nothing is judged."""
    assert "B1" not in _found(judged_of(_basin(house, **change)), "grate-opening")
    house["features"]["K1"] = {
        "kind": "walk", "unit": "ft", "outline": [[36, 80], [40, 80], [40, 84], [36, 84]],
    }  # fmt: skip
    assert _found(judged_of(house), "grate-opening")["B1"].verdict == verdict


@pytest.mark.parametrize(
    ("trees", "kind", "guard", "times"),
    [
        ("none", None, False, 2),
        ("few", "broadleaf", True, 1),
        ("many", "broadleaf", False, 3),
        ("many", "needle", False, 4),
    ],
)
def test_how_often_a_gutter_is_cleaned(
    trees: str, kind: str | None, guard: bool, times: int, house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Spring and fall at least: EPA Moisture Control Guidance 2013; by trees: common practice, no source."""
    house["roofs"]["R1"] |= {"trees": trees}
    house["roofs"]["R1"].pop("tree_kind")
    if kind:
        house["roofs"]["R1"]["tree_kind"] = kind
    house["gutters"]["G1"]["guard"] = guard
    for cleaned, verdict in ((times, "good"), (times - 1, "fails")):
        if cleaned < 1:
            continue
        house["gutters"]["G1"]["cleaned"] = f"{cleaned} a year"
        found = _found(judged_of(house), "gutter-cleaning")["G1"]
        assert (found.value, found.verdict) == (pytest.approx(times / 1.0), verdict)
    house["gutters"]["G1"]["cleaned"] = "1 a year"
    house["roofs"]["R1"].pop("trees")
    assert _found(judged_of(house), "gutter-cleaning")["G1"].verdict == ("unknown" if guard else "fails")


def test_an_observation_pipe_is_bought_unless_the_job_says_there_is_none(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    def caps(judged: Judged) -> int:
        return sum(chain.id == "W1" for chain in judged.takeoff.chains)

    judged = judged_of(house)
    assert (_found(judged, "observation-pipe")["W1"].verdict, caps(judged)) == ("good", 1)
    house["wells"]["W1"]["observation_pipe"] = False
    judged = judged_of(house)
    assert (_found(judged, "observation-pipe")["W1"].verdict, caps(judged)) == ("fails", 0)
    house["wells"]["W1"] |= {"observation_pipe": True, "observation_cap_locked": False}
    assert _found(judged_of(house), "observation-pipe")["W1"].verdict == "fails"


@pytest.fixture(scope="module")
def weeping(design_of: Callable[..., Design]) -> Design:
    house = tomllib.loads((DATA / "small-house.toml").read_text(encoding="utf-8"))
    return design_of(_basin(house, weep_holes=4))


def test_the_sheet_for_the_homeowner(weeping: Design) -> None:
    """Its figures are those of the findings: half the sump (16 in) is 8 in; the well's own time to empty; the gutters."""
    sheet = set_data(weeping)["care"]
    rows = {(row["part"], row["what"]): row for row in sheet["rows"]}
    parts = [part for part, _ in rows]
    assert {"G1, G2", "B1", "W1", "O1", "lids", "ground"} <= set(parts)
    dip = next(what for part, what in rows if part == "B1" and "dip out" in what)
    assert "half full is 8 in on a stick" in dip
    look = next(what for part, what in rows if part == "W1")
    drain = _found(weeping, "well-drain-down")["W1"].value_text
    assert f"empty after {drain}" in look
    weeps = next(what for part, what in rows if "rod through each of the 4 weep holes" in what)
    assert _found(weeping, "weep-drain")["B1"].value_text in weeps
    assert any("Nobody climbs" in caution for caution in sheet["cautions"])
    assert sheet["call"]
    assert all(row["source"] for row in sheet["rows"])


def test_the_results_hold_the_times(weeping: Design) -> None:
    (weeps,) = results(weeping)["behaviour"]["weeps"]
    assert weeps["basin"] == "B1"
    assert weeps["empty_s"]["best"] == pytest.approx(2.88 * HOUR, rel=5e-3)


def test_nothing_to_look_after_is_no_sheet(weeping: Design) -> None:
    from dataclasses import replace

    bare = replace(weeping.scheme, wells=(), basins=(), runs=())
    assert care(weeping.job, weeping.survey, bare, weeping.behaviour) is None
