"""The long section of one downspout's way: gutter, ground, pipe, basin, well and the water in them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.drawing.gutter_head import Head, head_items, head_key, head_of
from roofwell.papers.drawing.model import Drawing, Item, Label, Polyline, known
from roofwell.papers.drawing.over_way import hand_dig_items, paved_items
from roofwell.papers.drawing.profile_parts import (
    basin_items,
    cleanout_items,
    crossing_items,
    end_items,
    outlet_items,
    run_items,
    spout_items,
)
from roofwell.papers.drawing.profile_strip import strip_of
from roofwell.papers.drawing.profile_water import full_level, key_of, peak_line, water_in_pipes
from roofwell.papers.drawing.section_frame import Bounds, axes, ground_items, stretch
from roofwell.papers.drawing.side_profile import beside, side_profile
from roofwell.papers.drawing.troubles import way_rings
from roofwell.papers.drawing.way import Way, joins, pit_along, unroll
from roofwell.papers.drawing.way_cases import case_groups, case_lines
from roofwell.papers.drawing.way_water import way_water
from roofwell.papers.texts import Say
from roofwell.system.pipe_ends import ENDS, pipe_end
from roofwell.system.scheme import Scheme

_BEFORE_M = 1.5
_AFTER_M = 1.2
_WALL_M = -0.55  # of the house, before the downspout
_OVER_HEAD_M = 0.06


def section_ways(scheme: Scheme) -> tuple[Way, ...]:
    """Return every way that has a long section of its own: from each downspout, the longest first, then the pipes beside."""
    return (*(unroll(scheme, spout) for spout in joins(scheme)), *beside(scheme))


def section(design: Design, way: Way, *, whole: bool = False) -> Drawing:
    """Return the long section of one of ``section_ways``.

    ``whole``: the wall up to the gutter is not cut short where its height was measured.
    """
    spouts = {spout.id for spout in design.scheme.downspouts}
    return profile(design, way.part, whole=whole) if way.part in spouts else side_profile(design, way)


def head_over(design: Design, way: Way, *, whole: bool = False) -> Head | None:
    """Return the gutter at the head of a way as its long section draws it; None where there is none to draw."""
    return head_of(design.scheme, way.part, span_m=_height(design, way), whole=whole)


def profile(design: Design, downspout: str, *, whole: bool = False) -> Drawing:
    """Return the long section from a downspout to where its water ends; ``whole`` as for ``section``."""
    survey, scheme = design.survey, design.scheme
    say = Say(survey.style)
    way = unroll(scheme, downspout)
    water = way_water(design, way)
    right = _right_end(scheme, way)
    bottom, top = _height(design, way)
    head = head_of(scheme, downspout, span_m=(bottom, top), whole=whole)
    lawn = (-_BEFORE_M, bottom, right, top)
    bounds = (*lawn[:3], top if head is None else max(top, head.brim_m + _OVER_HEAD_M))
    cut = head.break_m[0] if head is not None and head.break_m is not None else None
    items: list[Item] = [*axes(way, say, bounds, survey.style, top_m=cut)]
    items += _house(design, lawn, say, roof_m=bounds[3] if head is None else head.brim_m)
    well = next((w for w in scheme.wells if way.runs and w.id == way.runs[-1].to_id), None)
    if well is not None:
        items += end_items(well, scheme, way, say)
    items += water_in_pipes(way, water.still, "water")
    items += water_in_pipes(way, water.left, "water left")
    items += full_level(way, water)
    for index in range(len(way.runs)):
        items += run_items(way, index, scheme, say, covered=survey.ground_known)
    for basin in scheme.basins:
        items += basin_items(basin, way, water, say)
    items += spout_items(scheme, way, water)
    if head is not None:
        flow = next((one for one in design.behaviour.downspouts if one.id == downspout), None)
        items += head_items(head, scheme, say, wall_m=_WALL_M, flow=flow)
    items += outlet_items(scheme, way, say)
    for run, start in zip(way.runs, way.starts_m, strict=True):
        items += crossing_items(run, start, lawn, say)
        items += cleanout_items(run, start, way, say)
    items += paved_items(survey, way, scheme.paved)
    items += ground_items(way, survey.ground_known, bounds)
    items += hand_dig_items(survey, way, say)
    items += peak_line(way, water)
    items += case_lines(design, way)
    items += way_rings(design, way)
    notes = []
    if not survey.ground_known or not way.ground:
        notes.append("The ground was not measured: it is dashed, and cover is not known.")
    notes += _at_walls(scheme, way)
    notes += _comes_out(design, way, say)
    end = way.runs[-1].to_id if way.runs else downspout
    return Drawing(
        name=f"profile-{downspout}",
        title=f"From {downspout} to {end}",
        items=tuple(items),
        bounds=bounds,
        up=stretch(bounds),
        says=(
            f"Long section from {head.gutter.id + ' and ' if head is not None else ''}downspout {downspout} to {end}: "
            "ground, pipe, cover and water levels."
        ),
        notes=tuple(notes),
        strip=strip_of(scheme, way, water, say, covered=survey.ground_known and bool(way.ground)),
        key=(*key_of(items, water), *(head_key(head) if head is not None else ())),
    )


def _comes_out(design: Design, way: Way, say: Say) -> list[str]:
    """Say where the cloudburst comes out along the way, and which routed storm does so first."""
    parts = {run.from_id for run in way.runs}
    years = f"{design.behaviour.return_period_years:g}"
    out = [
        f"In the {years}-year cloudburst, well full, {say.flow(level.comes_out_m3_s)} come out at {level.id}"
        f" ({level.what}): to pass it would have to stand {say.depth(level.peak_m - level.limit_m)} higher."
        for level in design.behaviour.levels
        if level.id in parts and level.comes_out_m3_s > 0
    ]
    first = next((found for found in design.behaviour.surfacing if found.part in parts), None)
    if first is not None:
        out.append(
            f"Of the routed storms, that of {say.time(first.duration_s)} comes out at {first.part},"
            f" first after {say.time(first.instant_s)}."
        )
    return out


def _at_walls(scheme: Scheme, way: Way) -> list[str]:
    """Say which figures of the strip are not at the middle of their part."""
    ends = [pipe_end(scheme, run, end) for run in way.runs for end in ENDS]
    parts = list(dict.fromkeys(end.part for end in ends if end.wall is not None))
    where = [
        words
        for wall, words in (("basin", "a basin's inside wall"), ("well", "the wall of a well's body"))
        if any(end.wall == wall for end in ends)
    ]
    if not parts:
        return []
    return [f"Figures at {several(parts)} are at {' or '.join(where)}, where the pipe ends."]


def _right_end(scheme: Scheme, way: Way) -> float:
    right = way.length_m + _AFTER_M
    for well in scheme.wells:
        if way.runs and well.id == way.runs[-1].to_id:
            right = max(right, way.length_m + pit_along(way.runs[-1], well)[2] + _AFTER_M)
    return max(right, 3.0)


def _height(design: Design, way: Way) -> tuple[float, float]:
    zs = [z for _, z in way.ground]
    for run in way.runs:
        zs += [run.upstream_invert_m, run.downstream_invert_m]
    ids = {run.from_id for run in way.runs} | {run.to_id for run in way.runs}
    for basin in design.scheme.basins:
        if basin.id in ids:
            zs += [basin.floor_m, basin.grate_m]
    for well in design.scheme.wells:
        if well.id in ids:
            zs += [well.bottom_m, well.lip_m, well.ground_m]
    for flow in design.behaviour.runs:
        if flow.id in {run.id for run in way.runs}:
            zs += [flow.level_up_m, flow.level_down_m]
    opening = design.survey.lowest_opening_m
    zs.append(opening if opening is not None else math.nan)
    zs += [z for group in case_groups(design, way) for _, z in group.points]
    good = [z for z in zs if known(z)]
    if not good:
        return -1.0, 1.0
    return min(good) - 0.22, max(good) + 0.12


def _house(design: Design, bounds: Bounds, say: Say, *, roof_m: float) -> Iterator[Item]:
    left, bottom, right, top = bounds
    wall = _WALL_M
    yield Polyline(((wall, bottom + 0.35 * (top - bottom)), (wall, roof_m)), "house")
    yield Label("house", (wall, roof_m), "small", side="over left", rank=6, needed=False, leader=False)
    opening = design.survey.lowest_opening_m
    if opening is not None and known(opening):
        reach = left + 0.30 * (right - left)
        yield Polyline(((left, opening), (reach, opening)), "opening")
        what = next((b.opening_is for b in design.survey.buildings if b.lowest_opening_m == opening), None)
        words = f"lowest opening {say.level(opening)}" + (f", {what}" if what else "")
        yield Label(words, (left + 0.5 * (reach - left), opening), "small", side="over", rank=4, leader=False)
