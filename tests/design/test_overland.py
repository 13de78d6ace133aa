"""Water over the ground as a person meets it: through the whole design of the small house, with figures by hand.

The back lawn is a plane: 98.8 ft at y = 67 ft down to 97.0 ft at y = 120 ft. From the well at (38, 92) ft the water runs
straight north.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Any

import fluids
import numpy as np
import pytest

from roofwell import examples
from roofwell.checks.finding import Finding
from roofwell.design import Design, stand
from roofwell.job import read
from roofwell.papers.drawing.model import Label, Polyline, Sign
from roofwell.papers.drawing.plan import plan
from roofwell.papers.results import results
from roofwell.system.lawn import Lawn, lawn_of
from roofwell.system.overland_facts import SpillWay

FT = 0.3048
FALL = 1.8 / 53
Designed = Callable[..., Design]


def finding(done: Design, code: str) -> Finding:
    return next(f for f in done.answer(6).findings if f.code == code)


def way_of(done: Design) -> SpillWay:
    over = done.behaviour.overland
    assert over is not None
    way = over.way("O1")
    assert way is not None
    return way


def area(west: float, south: float, east: float, north: float) -> list[list[str]]:
    return [[f"{x} ft", f"{y} ft"] for x, y in ((west, south), (east, south), (east, north), (west, north))]


@pytest.fixture
def beside(house: dict[str, Any]) -> dict[str, Any]:
    """A walk across the way, a leach field 6 ft beside its middle, a neighbor 2 ft behind the line, a puddle at the well."""
    house["features"]["K1"] = {"kind": "walk", "outline": area(0, 105, 80, 108)}
    house["features"]["F1"] = {"kind": "leach field", "outline": area(44, 100, 60, 110)}
    house["features"]["N1"] = {"kind": "neighbor's building", "outline": area(30, 122, 46, 130)}
    house["site"]["none"] = ["septic tank", "drinking-water well", "slope crest"]
    house["soil"]["frost_depth"] = "18 in"
    house["complaint"] = {"puddle": area(34, 88, 42, 96), "puddle_depth": "1/2 in"}
    return house


def test_ice_septic_and_neighbor_on_the_way(beside: dict[str, Any], design_of: Designed) -> None:
    """Distances from the water's edge: its width from Manning's formula of ``fluids`` in a V of 1 in 20."""
    done = design_of(beside)
    way = way_of(done)
    (water,) = way.water
    depth = water.depth_m
    radius = 20 * depth**2 / (2 * depth * np.hypot(20, 1))
    carried = 20 * depth**2 * fluids.V_Manning(Rh=radius, S=FALL, n=0.24)
    assert carried == pytest.approx(way.flow_m3_s, rel=1e-6)
    assert way.flow_m3_s == done.behaviour.well("W1").overflow_peak_m3_s > 0
    septic, neighbor, walk = (finding(done, f"spill-{to}") for to in ("to-septic", "to-neighbor", "on-walk"))
    assert septic.value == pytest.approx(6 * FT - 20 * depth, abs=1e-6)
    assert septic.verdict == "fails"  # 5 ft
    assert neighbor.value == pytest.approx(2 * FT, abs=1e-6)
    assert neighbor.verdict == "fails"  # 10 ft
    record = done.behaviour.well("W1").record
    assert record is not None
    assert way.walks == ("K1",)
    assert "crosses K1 about" in walk.sentence and "it turns to ice there" in walk.sentence
    spills = (
        record.spills_year if record.snow_spill_events is None else record.snow_spill_events / record.years
    )
    assert walk.value == pytest.approx(spills)
    told = results(done)["behaviour"]["overland"]["ways"][0]
    assert told["walks"] == ["K1"]
    assert told["septic"][0]["id"] == "F1"


def test_the_puddle_that_stood_runs_in(beside: dict[str, Any], design_of: Designed) -> None:
    """Lowest ground in the puddle at y = 96 ft: 98.8 - 29 * 1.8/53 ft; half an inch over it stands 3.08 in above the lip."""
    found = finding(design_of(beside), "bowl-runs-in")
    assert found.subject == "W1"
    assert found.value == pytest.approx((98.8 - 29 * FALL + 0.5 / 12 - 97.6) * FT, abs=1e-6)
    assert found.verdict == "good"
    assert "The puddle that stood at W1 reaches" in found.sentence
    assert "3.1 in lower: its water runs in" in found.sentence


def test_a_way_ends_at_the_street_and_a_path_drawn_through_the_house_is_doubted(
    house: dict[str, Any], design_of: Designed
) -> None:
    """A street across the plane at y = 112 ft ends the way after 20 ft; the drawn path runs 62 ft the other way."""
    house["features"]["S1"] = {"kind": "street", "path": [["0 ft", "112 ft"], ["80 ft", "112 ft"]]}
    house["overflows"]["O1"]["path"] = [["38 ft", "92 ft"], ["38 ft", "30 ft"]]
    done = design_of(house)
    way, found = way_of(done), finding(done, "overflow-path")
    assert way.leaves_at == pytest.approx((38 * FT, 112 * FT), abs=1e-6)
    assert way.length_m == pytest.approx(20 * FT, abs=1e-6)
    assert found.value_text == "to the street S1"
    assert found.verdict == "close"
    assert "The drawn path leaves the found one by 62.0 ft, at [38.0 ft, 30.0 ft]" in found.sentence
    assert "drawn through H1" in found.sentence
    items = plan(done).items
    drawn = [item for item in items if isinstance(item, Polyline) and item.role == "drawn way"]
    shown = [item for item in items if isinstance(item, Polyline) and item.role == "spill"]
    assert drawn[0].points[-1] == pytest.approx((38 * FT, 30 * FT))
    assert shown[0].points[-1] == pytest.approx((38 * FT, 112 * FT), abs=1e-6)
    assert any(isinstance(item, Label) and item.text == "as drawn in the job" for item in items)
    assert any("as the job draws it" in note for note in plan(done).notes)


@pytest.mark.parametrize(("aside", "words"), [("39 ft", False), ("50 ft", True)])
def test_a_drawn_path_in_the_water_is_no_other_path(
    house: dict[str, Any], judged_of: Callable[..., Any], aside: str, words: bool
) -> None:
    """Drawn to 1 ft beside the found way it lies in the water; to 12 ft beside it does not, and runs through no house."""
    house["overflows"]["O1"]["path"] = [["38 ft", "92 ft"], [aside, "120 ft"]]
    judged = judged_of(house)
    found = next(f for f in judged.findings if f.code == "overflow-path")
    assert found.verdict == "good"
    assert ("leaves the found one by 12.0 ft" in found.sentence) == words
    assert ("drawn" in found.sentence) == words


def test_too_few_shots_name_the_one_that_settles_it(house: dict[str, Any], design_of: Designed) -> None:
    """With two shots no triangle is known: shoot where the straight way meets the line, at (38, 120) ft."""
    house["survey"]["points"] = house["survey"]["points"][:3]
    house["overflows"]["O1"]["path"] = [["38 ft", "92 ft"], ["38 ft", "120 ft"]]
    done = design_of(house)
    found = finding(done, "overflow-path")
    assert found.verdict == "unknown"
    assert "Shoot the ground at [38.0 ft, 120.0 ft]" in found.sentence
    assert "The path drawn for O1 is borne out by no shot" in found.sentence
    signs = [item for item in plan(done).items if isinstance(item, Sign) and item.kind == "unknown"]
    assert any(sign.at == pytest.approx((38 * FT, 120 * FT), abs=1e-6) for sign in signs)


def test_the_shot_that_was_asked_for_settles_it(house: dict[str, Any], judged_of: Callable[..., Any]) -> None:
    """Shots end at the back wall and at y = 100 ft: it ends there; the shot that it asks for leads it on to the line."""
    points = [p for p in house["survey"]["points"] if not p["id"].startswith("north-")]
    at_100 = {"elevation": f"{98.8 - 33 * FALL} ft", "ground": True}
    points += [{"id": f"lawn {x}", "at": [f"{x} ft", "100 ft"], **at_100} for x in (0, 80)]
    house["survey"]["points"] = points
    first = judged_of(house)
    way = first.behaviour.overland.way("O1")
    assert way.leaves_at is None
    assert way.length_m == pytest.approx(8 * FT, abs=1e-6)
    assert way.next_shot == pytest.approx((38 * FT, 120 * FT), abs=1e-6)
    x, y = (value / FT for value in way.next_shot)
    points.append({"id": "asked for", "at": [f"{x} ft", f"{y} ft"], "elevation": "97.0 ft", "ground": True})
    second = judged_of(house)
    assert second.behaviour.overland.way("O1").leaves_at == pytest.approx((38 * FT, 120 * FT), abs=0.01)
    assert next(f for f in second.findings if f.code == "overflow-path").verdict == "good"


def test_a_swale_carries_the_water_along_it(house: dict[str, Any], design_of: Designed) -> None:
    """A break line across the lawn at y = 110 ft, 0.8 ft lower at its east end: the water leaves there, at a fall of 1 %.

    Depth: the ground across, cut every millimetre, carries the flow by Manning's formula of ``fluids``.
    """
    for x, z in ((0, 96.6), (80, 95.8)):
        shot = {"id": f"swale {x}", "at": [f"{x} ft", "110 ft"], "elevation": f"{z} ft", "ground": True}
        house["survey"]["points"].append(shot)
    house["features"]["S1"] = {"kind": "break line", "path": [["0 ft", "110 ft"], ["80 ft", "110 ft"]]}
    done = design_of(house)
    way = way_of(done)
    assert way.leaves_at == pytest.approx((80 * FT, 110 * FT), abs=1e-6)
    assert finding(done, "overflow-path").verdict == "good"
    assert "to the lot line, at [80.0 ft, 110.0 ft]" in finding(done, "overflow-path").sentence
    last = way.water[-1]
    assert last.in_hollow
    assert last.at[1] == pytest.approx(110 * FT, abs=1e-6)
    assert last.fall_m_m == pytest.approx(0.01, abs=1e-6)
    off = np.arange(-3.0, 3.0, 0.001)
    ground = done.survey.ground.elevation_m(
        np.column_stack([np.full_like(off, last.at[0]), last.at[1] + off])
    )
    wet = np.maximum(0.0, last.level_m - ground)
    under = wet > 0
    assert np.ptp(off[under]) == pytest.approx(last.width_m, abs=0.003)
    section = float(wet.sum()) * 0.001
    perimeter = float(np.hypot(0.001, np.diff(ground))[under[1:]].sum())
    carried = section * fluids.V_Manning(Rh=section / perimeter, S=0.01, n=0.24)
    assert carried == pytest.approx(way.flow_m3_s, rel=0.005)
    shown = next(item for item in plan(done).items if isinstance(item, Polyline) and item.role == "spill")
    assert shown.points[-1] == pytest.approx((80 * FT, 110 * FT), abs=1e-6)


def test_a_neighbor_measured_into_the_house_stops_no_answer() -> None:
    """A corner dragged too far: both houses are one in the way of the water, and all nine questions are answered."""
    path = examples.path("terrace")
    document = tomllib.loads(path.read_text("utf-8"))
    del document["wells"], document["overflows"], document["outlets"]
    document["features"]["N2"]["outline"][0] = [5, 7]
    shots = document["survey"]["points"]
    shots[0]["at"], shots[4]["at"] = [-1, -1], [6.05, 15.25]  # so that the walls cross on measured ground
    del shots[3]
    reading = read(document, folder=path.parent)
    assert reading.job is not None and not reading.problems
    made = stand(reading.job, folder=path.parent, document=document).design
    assert len(made.answers) == 9
    lawn = lawn_of(made.survey)
    assert isinstance(lawn, Lawn)
