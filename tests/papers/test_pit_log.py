"""The pit log and the table of soil tests on the papers: drawn in true depth, labels clear of each other, in words too."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import pytest

from roofwell.papers.drawing.model import Circle, LevelMarks, Polygon, Polyline, WaterSurface
from roofwell.papers.drawing.pit_log import pit_log
from roofwell.papers.drawing.well_section import well_section
from roofwell.papers.set import set_data
from roofwell.papers.set.sheets import placed_drawings
from roofwell.system.soil_need import fill_target

Document = dict[str, Any]
FOOT = 0.3048
LOG = {
    "rate": "4 in/h",
    "high_water_known_by": "mottling",
    "refusal_depth": "10 ft",
    "refusal_on": "rock",
    "auger_tests": [
        {"id": "A1", "hole_depth": "66 in", "hole_diameter": "4 in",
         "readings": [{"water_start": "36 in", "water_end": "43 in", "time": "6 min"}]},
    ],
    "layers": [
        {"top": "0 in", "bottom": "10 in", "texture": "loam", "roots": "many"},
        {"top": "10 in", "bottom": "9 ft", "texture": "sandy loam", "roots": "few"},
        {"top": "9 ft", "bottom": "10 ft", "texture": "clay", "mottled": True},
    ],
}  # fmt: skip


@pytest.fixture
def logged(house: Document, design_of: Callable[..., Any]) -> Any:
    house["soil"] = LOG
    return design_of(house)


def _marks(drawing: Any) -> dict[str, float]:
    (column,) = (item for item in drawing.items if isinstance(item, LevelMarks))
    return dict(column.marks)


def test_nobody_s_log_is_not_drawn(small_house: Any) -> None:
    assert pit_log(small_house) is None
    assert not [one for one in placed_drawings(small_house).details if one.drawing.name == "pit-log"]


def test_everything_lies_at_its_depth(logged: Any) -> None:
    drawing = pit_log(logged)
    assert drawing is not None
    boxes = [item for item in drawing.items if isinstance(item, Polygon)]
    assert [(-max(y for _, y in box.points), -min(y for _, y in box.points)) for box in boxes] == [
        pytest.approx((a * FOOT, b * FOOT)) for a, b in ((0, 10 / 12), (10 / 12, 9), (9, 10))
    ]
    rings = [item for item in drawing.items if isinstance(item, Circle)]
    assert rings and all(9 * FOOT < -ring.at[1] < 10 * FOOT for ring in rings)
    (hole,) = (item for item in drawing.items if isinstance(item, Polyline) and item.part == "A1")
    assert min(y for _, y in hole.points) == pytest.approx(-5.5 * FOOT)
    (water,) = (item for item in drawing.items if isinstance(item, WaterSurface))
    assert water.start[1] == pytest.approx(-9 * FOOT)
    marks = _marks(drawing)
    well = logged.scheme.wells[0]
    pit = next(depth for words, depth in marks.items() if words.startswith("bottom of W1"))
    assert -pit == pytest.approx(well.ground_m - well.bottom_m)
    assert any(words.startswith("seasonal high water") and "mottling" in words for words in marks)


def test_its_labels_keep_clear(logged: Any) -> None:
    (placed,) = (one for one in placed_drawings(logged).details if one.drawing.name == "pit-log")
    assert placed.unplaced == ()
    for a, b in itertools.combinations(placed.labels, 2):
        assert not a.box.overlaps(b.box), (a.label.text, b.label.text)
    assert any("refusal on rock" in one.label.text for one in placed.labels)


def test_every_test_stands_in_the_table(logged: Any) -> None:
    data = set_data(logged)["soil_tests"]
    assert [row["id"] for row in data["rows"]] == ["A1", "rate"]
    first = data["rows"][0]
    assert first["other"].endswith("mean-head form of county handbooks")
    assert " (" in first["conductivity"] and first["conductivity"].endswith("in/h")
    assert "presoaked" in first["remarks"]
    assert "geometric mean of 2 tests" in data["together"]


def test_high_water_far_below_is_told_in_words(house: Document, design_of: Callable[..., Any]) -> None:
    house["soil"] = {**LOG, "seasonal_high_water_depth": "25 ft", "layers": LOG["layers"][:2]}
    drawing = pit_log(design_of(house))
    assert drawing is not None
    assert not [item for item in drawing.items if isinstance(item, WaterSurface)]
    assert any("25.0 ft down" in note for note in drawing.notes)


def test_the_section_says_what_the_open_pit_must_do(small_house: Any) -> None:
    """Six inches over the pit, half of them left; the volume by hand."""
    well = small_house.scheme.wells[0]
    target = fill_target(small_house.scheme, small_house.survey, small_house.behaviour.wells[0])
    assert target is not None
    assert (target.start_m, target.end_m) == pytest.approx((6 * 0.0254, 3 * 0.0254))
    assert target.volume_m3 == pytest.approx(well.pit_length_m * well.pit_width_m * 6 * 0.0254)
    notes = " ".join(well_section(small_house, well, small_house.scheme).notes)
    assert "fill the pit 6 in deep" in notes and "is down to 3 in within" in notes


def test_an_existing_well_is_not_filled_before_its_stone(
    house: Document, design_of: Callable[..., Any]
) -> None:
    house["wells"]["W1"]["state"] = "existing"
    made = design_of(house)
    notes = " ".join(well_section(made, made.scheme.wells[0], made.scheme).notes)
    assert "Before the stone" not in notes
