"""The drawings of the screen, and the storm in them."""

from __future__ import annotations

import re
from functools import cache

import pytest

from roofwell import examples
from roofwell.design import Design, design
from roofwell.job import read_file
from roofwell.papers.screen import View, screen_views
from roofwell.papers.screen_storm import StormOnScreen, screen_storm

PLACE = re.compile(r"(-?\d+\.\d+) (-?\d+\.\d+)")


@cache
def _shown(name: str) -> tuple[Design, tuple[View, ...], StormOnScreen]:
    reading = read_file(examples.path(name))
    assert reading.job is not None
    found = design(reading.job, folder=reading.folder, document=reading.document, beyond=False)
    storm = screen_storm(found)
    assert storm is not None
    return found, screen_views(found, width=600, plan_height=200, section_height=150), storm


@pytest.mark.parametrize("name", ["bungalow", "terrace", "sloping-lot", "old-system"])
def test_water_of_every_moment_lies_in_its_section(name: str) -> None:
    _, views, storm = _shown(name)
    sections = views[1:]
    seen = 0
    for instant in storm.instants:
        assert len(instant.ways) == len(sections)
        for view, water in zip(sections, instant.ways, strict=True):
            for x, y in PLACE.findall(water.body + water.surface):
                left = view.left + (float(x) - view.x0) * view.along
                top = view.top + (view.y1 - float(y)) * view.up
                assert -1 <= left <= view.width + 1
                assert -1 <= top <= view.height + 1
                seen += 1
    assert seen > 100


@pytest.mark.parametrize(("name", "inch"), [("bungalow", 1.0), ("terrace", 25.4), ("sloping-lot", 1.0)])
def test_the_rain_of_the_chart_adds_up_to_the_storm_in_its_title(name: str, inch: float) -> None:
    _, _, storm = _shown(name)
    curve = storm.curve
    fallen = sum(
        rate * (b - a) for a, b, rate in zip(curve.hours[:-1], curve.hours[1:], curve.rain[1:], strict=True)
    )
    told = re.search(r": ([\d.]+) (in|mm) of rain", storm.title)
    assert told is not None
    assert fallen == pytest.approx(float(told[1]), abs=0.06 * inch)


def test_a_spilling_well_says_so_and_a_dry_one_too() -> None:
    _, _, old = _shown("old-system")
    said = [instant.says for instant in old.instants]
    assert "W1 is empty" in said[0]
    assert re.search(r"W1 is full and lets \d+ gpm out; \d+ gpm come out at B1", said[old.hardest])
    assert "the rain is over" in said[-1]
    assert old.curve.full is not None
    assert max(old.curve.depth) == pytest.approx(old.curve.full, rel=1e-3)


def test_the_figures_under_a_section_are_a_table_and_its_ground_is_filled() -> None:
    found, views, _ = _shown("bungalow")
    plan, section = views[0], views[1]
    assert plan.figures is None
    assert 'class="lawn"' in plan.svg
    assert 'class="soil"' in section.svg
    assert section.figures is not None
    assert all(len(column.cells) == len(section.figures.rows) for column in section.figures.columns)
    row = section.figures.rows.index("invert, ft")
    ends = [run for run in found.scheme.runs if run.from_id == "D2"]
    assert section.figures.columns[0].cells[row] == f"{ends[0].upstream_invert_m / 0.3048:.2f}"
