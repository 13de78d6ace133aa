"""Placing labels looks nearby first and sums areas again only where something changed: nothing comes out otherwise."""

from __future__ import annotations

import math

import numpy as np
import pytest

from roofwell.papers.drawing import placing
from roofwell.papers.drawing.placing import CELL_PT, Box, place
from roofwell.papers.set.sheets import placed_drawings

from . import house


@pytest.mark.parametrize(
    "design", [house.design, house.many_spouts, house.daylight], ids=["wet", "many", "daylight"]
)
def test_nearby_first_finds_what_a_search_of_the_whole_sheet_finds(
    design: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = placed_drawings(design())  # type: ignore[operator]
    for near in (found.plan, *found.profiles, *found.details):
        with monkeypatch.context() as patch:
            patch.setattr(placing, "_NEAR_PT", math.inf)
            whole = place(near.drawing, scale=near.scale, width_pt=near.width_pt, height_pt=near.height_pt)
        assert whole.labels == near.labels
        assert whole.unplaced == near.unplaced


def test_summed_areas_are_those_of_all_cells_whatever_was_drawn_last() -> None:
    """Against numpy's own cumulative sums of the whole sheet."""
    rng = np.random.default_rng(5)
    sheet = placing._Raster(301.0, 203.0)
    for number in range(60):
        a, b = (tuple(rng.uniform(-20.0, 320.0, 2).tolist()) for _ in range(2))
        if number % 3 == 0:
            sheet.forbid(Box(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])))
        elif number % 7 == 1:
            left, right = sorted((a[0], b[0]))
            top, bottom = sorted((a[1], b[1]))
            sheet.clear(Box(left, top, right, bottom), ((0, 0), (1, 0), (1, 1), (0, 1)))
        else:
            sheet.strokes([(a, b, float(rng.choice([0.7, 1.0, 8.0, 16.0])))])
        expected = np.zeros((sheet.cost.shape[0] + 1, sheet.cost.shape[1] + 1))
        expected[1:, 1:] = np.cumsum(np.cumsum(sheet.cost, axis=0), axis=1)
        assert np.array_equal(sheet.sums, expected)


def test_strokes_mark_the_cells_that_a_line_of_points_falls_in() -> None:
    """Against numpy's linspace, stroke by stroke."""
    rng = np.random.default_rng(6)
    drawn = [
        (
            tuple(rng.uniform(-50.0, 350.0, 2).tolist()),
            tuple(rng.uniform(-50.0, 350.0, 2).tolist()),
            float(rng.choice([1.0, 8.0])),
        )
        for _ in range(80)
    ]
    drawn.append(((30.0, 30.0), (30.0, 30.0), 8.0))
    sheet = placing._Raster(300.0, 200.0)
    sheet.strokes(drawn)
    expected = np.zeros(sheet.cost.shape)
    for a, b, cost in drawn:
        count = max(2, int(math.dist(a, b) / CELL_PT) + 2)
        xs, ys = ((np.linspace(a[i], b[i], count) / CELL_PT).astype(int) for i in (0, 1))
        for x, y in zip(xs.tolist(), ys.tolist(), strict=True):
            if 0 <= y < expected.shape[0] and 0 <= x < expected.shape[1]:
                expected[y, x] = max(expected[y, x], cost)
    assert np.array_equal(sheet.cost, expected)


def test_one_box_costs_what_it_costs_among_many() -> None:
    """Few boxes are looked at one by one: the same sums as for a field of them, outside the sheet too."""
    raster = placing._Raster(60.0, 40.0)
    raster.strokes([((3.0, 3.0), (50.0, 31.0), 4.0), ((10.0, 38.0), (58.0, 2.0), 1.0)])
    raster.forbid(placing.Box(20.0, 10.0, 28.0, 16.0))
    left, top = (axis.ravel() for axis in np.meshgrid(np.arange(-4.0, 62.0, 3.3), np.arange(-3.0, 41.0, 2.9)))
    many = raster.lies_on(left, top, 9.1, 5.3)
    one = [
        float(raster.lies_on(np.array([x]), np.array([y]), 9.1, 5.3)[0])
        for x, y in zip(left, top, strict=True)
    ]
    assert many.size > placing._FEW
    assert np.array_equal(many, one)
