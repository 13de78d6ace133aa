"""Long sections of the pipes beside the runs: an overflow's pipe to daylight, a low elbow, the link of two wells."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell.design import Design, design
from roofwell.papers.drawing.model import Drawing, Label, Polygon, WaterSurface
from roofwell.papers.drawing.profile import section, section_ways
from roofwell.papers.screen import screen_views
from roofwell.papers.screen_storm import screen_storm
from roofwell.papers.set.sheets import placed_drawings

FOOT = 0.3048


@pytest.fixture(scope="module")
def made(
    linked_house: Callable[[], dict[str, Any]], data_folder: Path, read_job: Callable[..., Any]
) -> Design:
    house = linked_house()
    house["features"]["G9"] = {
        "kind": "utility", "utility": "gas", "top": "94 ft", "diameter": "1 in",
        "path": [["30 ft", "104 ft"], ["46 ft", "104 ft"]],
    }  # fmt: skip
    return design(read_job(house), folder=data_folder, document=copy.deepcopy(house), beyond=False)


def _of(made: Design, part: str) -> Drawing:
    (way,) = [way for way in section_ways(made.scheme) if way.part == part]
    return section(made, way)


def _cells(drawing: Drawing, at: str) -> dict[str, str]:
    assert drawing.strip is not None
    column = next(column for column in drawing.strip.columns if column.cells[0] == at)
    return dict(zip(drawing.strip.rows, column.cells, strict=True))


def test_every_pipe_stands_in_a_section(made: Design) -> None:
    ways = section_ways(made.scheme)
    assert [way.part for way in ways] == ["D3", "D1", "D2", "O1", "W2-W1"]
    assert {run.id for way in ways for run in way.runs} == {run.id for run in made.scheme.buried}
    names = [placed.drawing.name for placed in placed_drawings(made).profiles]
    assert sorted(names) == sorted(f"profile-{way.part}" for way in ways)


def test_the_strip_of_an_overflows_pipe_by_hand(made: Design) -> None:
    """97.0 ft at W1, 95.4 ft 24 ft on: at the gas line, 12 ft on, 96.2 ft, and its crown 4 in over that, 96.53."""
    drawing = _of(made, "O1")
    assert drawing.title == "The pipe of O1, from W1 to E1"
    gas = _cells(drawing, "G9")
    assert (gas["station, ft"], gas["invert, ft"], gas["crown, ft"]) == ("0+12", "96.20", "96.53")
    assert _cells(drawing, "E1")["invert, ft"] == "95.40"
    words = [item.text for item in drawing.items if isinstance(item, Label)]
    assert "E1" in words and any(word.startswith("G9 gas, top 94.00") for word in words)
    # full and still, the well stands at the lip at which the pipe begins: it is dry
    assert "water, well full" not in (drawing.strip.rows if drawing.strip else ())


def test_a_link_shows_both_wells_full_to_one_level(made: Design) -> None:
    """It is level at 93 ft; the lower lip, 97.0 ft, is where both are full."""
    drawing = _of(made, "W2-W1")
    assert _cells(drawing, "W1 in")["invert, ft"] == _cells(drawing, "W2 out")["invert, ft"] == "93.00"
    assert _cells(drawing, "W1 in")["water, well full"] == "97.00"
    words = [item.text for item in drawing.items if isinstance(item, Label)]
    assert "W2-W1  4 in, level" in words
    assert {"W1", "W2"} <= {item.part for item in drawing.items if isinstance(item, Polygon)}


def test_the_moment_stands_at_one_level_in_both_wells_and_the_link(made: Design) -> None:
    views = screen_views(made, width=600, plan_height=200, section_height=150)[1:]
    storm = screen_storm(made)
    assert storm is not None
    place = [view.name for view in views].index("profile-W2-W1")
    for instant in storm.instants[5::9]:
        lines = [part for part in instant.ways[place].surface.split("M") if part]
        levels = {round(float(point.split()[1]), 3) for part in lines for point in part.split("L")}
        if len(lines) == 3:  # the link and both wells hold water
            assert len(levels) == 1


def test_a_low_elbow_is_drawn_with_its_riser_and_the_water_that_stays(
    _house_text: str, data_folder: Path, read_job: Callable[..., Any]
) -> None:
    house = tomllib.loads(_house_text)
    house["overflows"]["O1"] |= {
        "kind": "pop-up emitter", "at": ["38 ft", "104 ft"], "lip": "97.4 ft", "low_point": "95.9 ft",
    }  # fmt: skip
    beside = design(read_job(house), folder=data_folder, document=copy.deepcopy(house), beyond=False)
    drawing = _of(beside, "O1")
    assert any(isinstance(item, Polygon) and item.fill == "water left" for item in drawing.items)
    (surface,) = [item for item in drawing.items if isinstance(item, WaterSurface) and item.start[0] > 3]
    assert surface.start[1] == pytest.approx(97.4 * FOOT)
    assert surface.start[0] < 12 * FOOT < surface.end[0]
    words = " ".join(item.text for item in drawing.items if isinstance(item, Label))
    assert "pop-up emitter, lip 97.40" in words
