"""Wells of every shape through ``design``: published trench and bed sizes as jobs, and what follows from a shape.

Ids are those of the reference sheets (infiltration section 0, materials section 0); the publication stands beside each.
Figures are typed from there or worked by hand.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import astuple
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from roofwell import job as job_room
from roofwell.design import Design, adopt
from roofwell.physics.well.storage import storage_volume_m3

FOOT, INCH = 0.3048, 0.0254
FT3, YARD3 = FOOT**3, (3 * FOOT) ** 3
Document = dict[str, Any]
LYING = {
    "perforated pipe": {"body_diameter": "6 in", "body_length": "20 ft", "bodies": 2},
    "arch chamber": {"body_width": "36 in", "body_height": "18 in", "body_length": "18 ft", "bodies": 1},
    "box chamber": {
        "body_width": "24 in", "body_height": "18 in", "body_length": "12 ft", "bodies": 2, "body_voids": "95 %",
    },
    "none": {"stone_depth": "3 ft", "pit_length": "20 ft", "pit_width": "6 ft"},
}  # fmt: skip


def bed(house: Document, lip: str = "97.6 ft", **sizes: Any) -> Document:
    """The small house with another well, whose stone ends at the lip: no riser adds to what it holds."""
    house["wells"]["W1"].update(stone_top="surface", **sizes)
    house["overflows"]["O1"]["lip"] = lip
    return house


def held_m3(made: Design) -> float:
    return made.behaviour.well("W1").storage_m3


def test_trench_of_a_township_ordinance(house: Document, design_of: Callable[..., Design]) -> None:
    """D1, G15, Pennsylvania township ordinance: 824 sq ft, 2.04 in, voids 40 %, 3 ft deep, 6 ft wide.

    140 cu ft of water, 350 cu ft of stone, 20 ft of trench; 20 ft hold 144 cu ft in 360 cu ft of stone.
    """
    house["roofs"] = {"R1": {"plan_area": "824 sq ft", "gutter": "G1"}}
    for part in (house["gutters"], house["downspouts"]):
        part.pop("G2", None), part.pop("D3", None)
    house["settings"] = {"runoff_coefficient": 1.0}
    made = design_of(
        bed(
            house,
            body="none",
            stone_depth="3 ft",
            pit_length="20 ft",
            pit_width="6 ft",
            voids="40 %",
            bottom="94.6 ft",
        )
    )
    assert held_m3(made) / FT3 == pytest.approx(144, abs=0.01)
    assert held_m3(made) / FT3 >= 140  # what the ordinance asks for
    assert made.behaviour.well("W1").holds_rain_m / INCH == pytest.approx(144 / 824 * 12, abs=1e-3)
    assert made.behaviour.well("W1").holds_rain_m >= 2.04 * INCH
    assert made.takeoff.stone_m3 / FT3 == pytest.approx(360, abs=120)  # with the bedding of the pipes
    stone = next(item for item in made.takeoff.items if item.key == "stone:57")
    assert stone.where == "W1"
    assert stone.quantity == pytest.approx(
        360 / 27 * 1.35 * 1.05, abs=0.5
    )  # 13.3 cu yd, 1.35 ton each, 5 % waste


def test_rubble_of_a_building_control_note(house: Document, design_of: Callable[..., Design]) -> None:
    """D4, CNC (Norfolk): 50 m² x 50 mm/h rule A/60 gives 0.833 m³ of water and 2.78 m³ of rubble at 30 %."""
    made = design_of(
        bed(
            house,
            body="none",
            stone_depth="1 m",
            pit_length="2 m",
            pit_width="1.39 m",
            voids="30 %",
            bottom="94.3192 ft",
        )
    )
    assert held_m3(made) == pytest.approx(0.833, abs=0.01)


def test_rubble_of_the_small_roof_rule(house: Document, design_of: Callable[..., Design]) -> None:
    """D6, Approved Document H by way of a building-control note: 25 m² x 10 mm = 0.25 m³ in 0.83 m³ at 30 %."""
    made = design_of(
        bed(
            house,
            body="none",
            stone_depth="1 m",
            pit_length="1 m",
            pit_width="0.83 m",
            voids="30 %",
            bottom="94.3192 ft",
        )
    )
    assert held_m3(made) == pytest.approx(25 * 0.010, abs=0.005)


def test_round_stone_pit_of_the_materials_sheet(house: Document, design_of: Callable[..., Design]) -> None:
    """G14: stone alone, 4 ft across and 5 ft deep, 40 %: 62.83 cu ft of stone, 25.13 cu ft of water (188.0 gal)."""
    made = design_of(
        bed(house, body="none", stone_depth="5 ft", pit_diameter="4 ft", voids="40 %", bottom="92.6 ft")
    )
    assert held_m3(made) / FT3 == pytest.approx(25.13, rel=0.005)
    assert made.scheme.wells[0].pit_shape == "round"


def test_ring_of_a_building_control_note(house: Document, design_of: Callable[..., Design]) -> None:
    """D3, UK building-control notice of 1999: a 1.2 m ring holds 1.13 m³ for each meter of its height."""
    made = design_of(
        bed(house, body_diameter="1.2 m", body_height="1 m", pit_diameter="1.2001 m", stone_below="0 m",
            stone_above="0 m", bottom="94.3192 ft")
    )  # fmt: skip
    assert held_m3(made) == pytest.approx(1.13, abs=0.01)


def test_trench_of_a_planning_calculation(house: Document, design_of: Callable[..., Design]) -> None:
    """D7, UK planning calculation of 2017 by BRE Digest 365: 23 x 5 x 0.8 m, f 8.5e-6 m/s, As50 22.4 m².

    Outflow 22.4 m² x f; of 30 % voids it holds 27.6 m³, so the 22.79 m³ of the hardest storm stay in it.
    """
    house["soil"] = {"rate": "30.6 mm/h", "rate_from": "given", "seasonal_high_water": "84 ft"}
    made = design_of(
        bed(house, body="none", stone_depth="0.8 m", pit_length="23 m", pit_width="5 m", voids="30 %",
            soakage="sides half, no bottom", bottom="94.9753 ft")
    )  # fmt: skip
    soaked = made.behaviour.well("W1").soakage_full_m3_s
    factor = made.survey.soil.safety_factor
    assert soaked * factor == pytest.approx(22.4 * 8.5e-6, rel=1e-3)
    assert held_m3(made) == pytest.approx(27.6, rel=1e-3)
    assert held_m3(made) >= 22.79


def test_chambers_and_pipes_by_hand(house: Document, design_of: Callable[..., Design]) -> None:
    """18 ft of 36 by 18 in parabola: 54 cu ft hollow (2/3 of the box) in a 20 by 5 ft pit, 6 in over and under."""
    made = design_of(
        bed(house, body="arch chamber", **LYING["arch chamber"], arch="parabola", pit_length="20 ft", pit_width="5 ft",
            stone_below="6 in", stone_above="6 in", voids="40 %", bottom="95.1 ft")
    )  # fmt: skip
    hollow = 2 / 3 * 3 * 1.5 * 18
    assert hollow == pytest.approx(54)
    assert held_m3(made) / FT3 == pytest.approx(54 + 0.4 * (20 * 5 * 2.5 - 54), rel=1e-9)
    well = made.scheme.wells[0]
    half_way = float(storage_volume_m3(well.layers, 1.25 * FOOT)) / FT3  # 0.75 ft up the arch
    upper = 54 * 0.5**1.5  # of a parabola the part over half its rise is 0.5^1.5 of the whole
    assert half_way == pytest.approx((54 - upper) + 0.4 * (20 * 5 * 1.25 - (54 - upper)), rel=2e-3)
    keys = {item.key: item.quantity for item in made.takeoff.items}
    assert keys["chamber:arch-36x18"] == 3  # 18 ft in pieces of 6 ft
    assert keys["chamber-cap:arch-36x18"] == 2


@pytest.mark.parametrize("kind", [*LYING])
def test_given_shape_is_taken_off_and_adopted(
    kind: str, house: Document, design_of: Callable[..., Design]
) -> None:
    """Soil dug is soil put back and hauled; the stone and what lies in it fill the pit; adopting changes nothing."""
    house["wells"]["W1"].update(body=kind, **LYING[kind])
    made = design_of(house)
    well, takeoff = made.scheme.wells[0], made.takeoff
    assert well.body == kind
    assert takeoff.excavation_m3 == pytest.approx(takeoff.backfill_m3 + takeoff.haul_m3, rel=1e-9)
    pieces = {
        "perforated pipe": 4,
        "arch chamber": 3,
        "box chamber": 6,
        "none": 0,
    }  # 20/10 x 2, 18/6, 12/4 x 2
    assert well.pieces == pieces[kind]
    ring = well.pit_corners
    sides = sorted(math.dist(a, b) for a, b in pairwise(ring))
    assert sides[0] == pytest.approx(min(well.pit_width_m, well.pit_length_m))
    # the pipe comes in half the pit's width from its near end
    assert math.dist(well.at, well.pit_center) == pytest.approx(
        (well.pit_length_m - well.pit_width_m) / 2, abs=1e-9
    )
    adopted = job_room.read(adopt(house, made), folder=_folder())
    assert adopted.problems == ()
    again = design_of(adopt(house, made))
    assert _said(again) == _said(made)
    assert adopt(adopt(house, made), again) == adopt(house, made)


@pytest.mark.parametrize("kind", [*LYING])
def test_left_out_sizes_are_designed_until_nothing_fails(
    kind: str, house: Document, design_of: Callable[..., Design]
) -> None:
    house["wells"]["W1"]["body"] = kind
    made = design_of(house)
    assert {answer.verdict for answer in made.answers} <= {"good", "close", None}
    assert made.candidates[-1].meets or any(item.meets for item in made.candidates)
    well = made.scheme.wells[0]
    origin = "W1.pit_length_m" if kind == "none" else "W1.body_length_m"
    assert made.scheme.origin[origin] == "designed"
    again = design_of(adopt(house, made))
    assert _said(again) == _said(made)
    for one, other in zip(again.scheme.wells[0].layers, well.layers, strict=True):
        assert astuple(one) == pytest.approx(astuple(other), rel=1e-12)  # a last digit may fall otherwise


def test_lawn_inlet_is_unknown_and_says_why(house: Document, design_of: Callable[..., Design]) -> None:
    house["wells"]["W1"].update(body="none", stone_top="lawn inlet")
    made = design_of(house)
    found = next(f for f in made.answer(1).findings if f.code == "lawn-inlet")
    assert found.verdict == "unknown"
    assert "Lawn catchments do not exist in Roofwell yet" in found.sentence
    assert made.answer(1).verdict == "unknown"


def test_stone_at_the_lawn_lets_the_full_well_out(house: Document, design_of: Callable[..., Design]) -> None:
    house["overflows"]["O1"].pop("lip")
    house["wells"]["W1"].update(body="none", stone_top="surface")
    made = design_of(house)
    well, overflow = made.scheme.wells[0], made.scheme.overflows[0]
    assert overflow.kind == "stone surface"
    assert well.stone_top_m == pytest.approx(overflow.lip_m)
    assert well.layers[-1].top_m == pytest.approx(well.stone_top_m - well.bottom_m)
    assert "top" not in well.geotextile
    lawn = next(item for item in made.takeoff.items if item.key == "lawn")
    assert "W1 0.0" in lawn.note  # nothing grows on the stone
    assert not any("grate" in item.what and item.where == "O1" for item in made.takeoff.items)


@pytest.mark.parametrize(
    ("changes", "leaf"),
    [
        ({"body": "none", "body_diameter": "24 in"}, "body_diameter"),
        ({"body": "perforated pipe", "body_height": "6 in"}, "body_height"),
        ({"body": "arch chamber", "body_diameter": "6 in"}, "body_diameter"),
        ({"stone_depth": "3 ft"}, "stone_depth"),
        ({"body": "box chamber", "pit_diameter": "6 ft"}, "pit_diameter"),
        ({"body": "box chamber", "body_width": "3 ft", "bodies": 2, "pit_width": "5 ft"}, "pit_width"),
        ({"body": "perforated pipe", "body_diameter": "4 in", "body_wall": "2 in"}, "body_wall"),
        ({"body": "perforated pipe", "body_length": "30 ft", "pit_length": "20 ft"}, "pit_length"),
        ({"stone_top": "surface", "geotextile": ["sides", "top"]}, "geotextile"),
    ],
)
def test_sizes_of_another_shape_are_refused(house: Document, changes: Document, leaf: str) -> None:
    house["wells"]["W1"].update(changes)
    reading = job_room.read(house, folder=_folder())
    assert [problem.path for problem in reading.problems] == [("wells", "W1", leaf)] or any(
        leaf in str(problem) for problem in reading.problems
    )
    assert reading.problems != ()


def _folder() -> Path:
    return Path(__file__).parent.parent / "data"


def _said(made: Design) -> list[tuple[str, str, str, str]]:
    """What is found of the well and its overflow."""
    found = [f for answer in made.answers for f in answer.findings]
    return [(f.code, f.subject, f.verdict, f.value_text) for f in found if f.subject.startswith(("W1", "O1"))]
