"""The gutter at the head of a long section: where it hangs, what is cut short, the water in it."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from roofwell.design import Design
from roofwell.papers.drawing.full_well import full_well
from roofwell.papers.drawing.gutter_head import Head, depth_words, outline, surface
from roofwell.papers.drawing.model import XY, Drawing, Label, Polyline
from roofwell.papers.drawing.profile import head_over, profile, section_ways
from roofwell.papers.texts import Say
from roofwell.system.scheme import Gutter

from . import house

FT, IN = 0.3048, 0.0254


def _measured(height_ft: float = 8.5) -> Design:
    """The house of the papers with the brim of G1 so high over the lawn at D1, which lies at 98.80 ft."""
    base = house.design()
    spouts = tuple(
        replace(spout, brim_m=spout.ground_m + height_ft * FT) if spout.id == "D1" else spout
        for spout in base.scheme.downspouts
    )
    return replace(base, scheme=replace(base.scheme, downspouts=spouts))


def _words(drawing: Drawing) -> str:
    return " ".join(item.text for item in drawing.items if isinstance(item, Label))


def _cuts(drawing: Drawing) -> list[Polyline]:
    return [item for item in drawing.items if isinstance(item, Polyline) and item.role == "cut short"]


def _area(points: tuple[XY, ...]) -> float:
    pairs = zip(points, (*points[1:], points[0]), strict=True)
    return abs(0.5 * sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs))


def test_a_measured_gutter_hangs_at_its_height_and_nothing_is_cut() -> None:
    """98.80 + 8.50 = 107.30 ft; the axis of elevations goes up with it."""
    drawing = profile(_measured(), "D1", whole=True)
    assert drawing.bounds[3] / FT == pytest.approx(107.30, abs=0.3)
    assert not _cuts(drawing)
    assert "brim 107.30, 8′ 6″ over the lawn" in _words(drawing)
    assert "106" in _words(drawing) or "107" in _words(drawing)
    sides = [
        i.points for i in drawing.items if isinstance(i, Polyline) and i.part == "D1" and i.role == "wall"
    ]
    assert max(z for points in sides for _, z in points) / FT == pytest.approx(107.30)


def test_a_wall_is_cut_short_where_that_is_asked_or_nobody_measured_it() -> None:
    cut = profile(_measured(), "D1", whole=False)
    assert len(_cuts(cut)) == 2
    assert cut.height_m < 0.6 * profile(_measured(), "D1", whole=True).height_m
    assert "brim 107.30, 8′ 6″ over the lawn" in _words(cut)
    assert any("cut short" in mark.words for mark in cut.key)
    guessed = profile(house.design(), "D1", whole=True)
    assert len(_cuts(guessed)) == 2
    assert "how high it hangs was not measured" in _words(guessed)
    # what is under the break lines stands to scale: they lie over everything else
    low = min(z for line in _cuts(guessed) for _, z in line.points)
    assert low > 98.46 * FT  # the cloudburst at D1


def test_a_gutter_that_hangs_low_needs_no_break() -> None:
    assert not _cuts(profile(_measured(1.5), "D1", whole=False))


def test_the_true_scale_section_draws_a_measured_gutter_as_large_as_it_is() -> None:
    drawing = full_well(_measured())
    assert drawing is not None
    assert not any("larger" in mark.words for mark in drawing.key)
    assert drawing.bounds[3] > 107.30 * FT


@pytest.mark.parametrize("times", [1, 4])
def test_water_fills_the_gutter_that_is_drawn(times: int) -> None:
    """By hand: half-round 5 in wide, brimful pi r^2 / 2; half as deep a segment r^2 (pi/3 - sqrt(3)/4); an ogee 5 in over
    3 1/4 in and 3 1/2 in deep (5 + 3.25) / 2 x 3.5 sq in."""
    spout = house.scheme().downspouts[0]
    radius = 2.5 * IN
    half = Head(spout, _gutter("half-round", 2 * radius, radius), 0.0, 30.0, None, None, times)
    assert _area(outline(half, radius)) == pytest.approx(times**2 * math.pi * radius**2 / 2, rel=0.01)
    segment = radius**2 * (math.pi / 3 - math.sqrt(3) / 4)
    assert _area(outline(half, radius / 2)) == pytest.approx(times**2 * segment, rel=0.02)
    ogee = Head(spout, _gutter("ogee", 5 * IN, 3.5 * IN), 0.0, 30.0, None, None, times)
    full = 0.5 * (5 + 3.25) * 3.5 * IN**2
    assert _area(outline(ogee, 3.5 * IN)) == pytest.approx(times**2 * full, rel=1e-6)
    (left, level), (right, _) = surface(ogee, 1.75 * IN)
    assert right - left == pytest.approx(times * (3.25 + 5) / 2 * IN)
    assert level == pytest.approx(30.0 + times * 1.75 * IN)


def _gutter(shape: str, top_m: float, depth_m: float) -> Gutter:
    sizes = {"top_width_m": top_m, "bottom_width_m": 3.25 * IN, "depth_m": depth_m}
    return replace(house.gutter("G1"), shape=shape, **sizes)  # type: ignore[arg-type]


def test_the_words_say_how_much_room_is_left() -> None:
    gutter = house.gutter("G1")
    assert depth_words(gutter, 1.5 * IN, Say("us")) == "water 1.5 in deep, 2.0 in under its brim"
    assert depth_words(gutter, gutter.depth_m, Say("us")) == "water to its brim"


def test_every_downspout_with_a_gutter_has_one_at_the_head_of_its_way() -> None:
    design = house.design()
    heads = [head_over(design, way) for way in section_ways(design.scheme)]
    assert [head.gutter.id if head else None for head in heads] == ["G1", "G2"]
    none = tuple(replace(spout, gutter=None) for spout in design.scheme.downspouts)
    bare = replace(design, scheme=replace(design.scheme, downspouts=none))
    assert all(head_over(bare, way) is None for way in section_ways(bare.scheme))
    assert not re.search(r"\bG1\b", profile(bare, "D1").says)


def test_where_no_level_is_known_nothing_breaks() -> None:
    for way in section_ways(house.broken_levels().scheme):
        assert profile(house.broken_levels(), way.part).items
