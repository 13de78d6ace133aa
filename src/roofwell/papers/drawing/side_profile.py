"""The long section of a pipe beside the runs: from a full well to its overflow or outlet, or between two linked wells."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.design.result import Design
from roofwell.papers.drawing.model import (
    Drawing,
    Item,
    Label,
    Polygon,
    Polyline,
    WaterSurface,
    known,
    rectangle,
)
from roofwell.papers.drawing.over_way import hand_dig_items, paved_items
from roofwell.papers.drawing.profile_parts import crossing_items, end_items, outlet_items, run_items
from roofwell.papers.drawing.profile_strip import strip_of
from roofwell.papers.drawing.profile_water import full_level, key_of, peak_line, water_in_pipes
from roofwell.papers.drawing.section_frame import axes, ground_items, stretch
from roofwell.papers.drawing.troubles import way_rings
from roofwell.papers.drawing.way import Way, pit_along
from roofwell.papers.drawing.way_water import way_water
from roofwell.papers.texts import Say
from roofwell.system.scheme import Overflow, Scheme, Well

_ROOM_M = 1.0  # before and after what stands at the ends


def side_profile(design: Design, way: Way) -> Drawing:
    """Return the long section of the pipe of an overflow or link."""
    survey, scheme = design.survey, design.scheme
    say, pipe = Say(survey.style), way.runs[0]
    water = way_water(design, way)
    overflow = next((one for one in scheme.overflows if one.id == pipe.id), None)
    head = next((well for well in scheme.wells if well.id == pipe.from_id), None)
    foot = next((well for well in scheme.wells if well.id == pipe.to_id), None)
    bottom, top = _height(way, (head, foot), overflow, water.levels)
    bounds = (_left(way, head), bottom, _right(way, foot, overflow), top)
    items: list[Item] = [*axes(way, say, bounds, survey.style)]
    for well, upstream in ((head, True), (foot, False)):
        if well is not None:
            items += end_items(well, scheme, way, say, upstream=upstream)
    items += water_in_pipes(way, water.still, "water")
    items += water_in_pipes(way, water.left, "water left")
    items += full_level(way, water)
    items += run_items(way, 0, scheme, say, covered=survey.ground_known)
    if overflow is not None and overflow.to is None:
        items += _rises(overflow, way, say)
    items += outlet_items(scheme, way, say)
    items += crossing_items(pipe, 0.0, bounds, say)
    items += paved_items(survey, way)
    items += ground_items(way, survey.ground_known, bounds)
    items += hand_dig_items(survey, way, say)
    items += peak_line(way, water)
    items += way_rings(design, way)
    notes = []
    if not survey.ground_known or not way.ground:
        notes.append("The ground was not measured: it is dashed, and cover is not known.")
    if overflow is None:
        notes.append("Over the pipe's invert both wells stand at one level.")
    called = scheme.called(pipe)
    where = (
        f"from {pipe.from_id} to {pipe.to_id}" if overflow is None or overflow.to else f"from {pipe.from_id}"
    )
    return Drawing(
        name=f"profile-{pipe.id}",
        title=f"{called[:1].upper()}{called[1:]}, {where}",
        items=tuple(items),
        bounds=bounds,
        up=stretch(bounds),
        says=f"Long section of {called}, {where}: ground, pipe, cover and water levels.",
        notes=tuple(notes),
        strip=strip_of(scheme, way, water, say, covered=survey.ground_known and bool(way.ground)),
        key=tuple(key_of(items, water)),
    )


def _rises(overflow: Overflow, way: Way, say: Say) -> Iterator[Item]:
    """The elbow and riser at the pipe's end, up to the grate or lid from which the water leaves."""
    low, x = way.runs[0].downstream_invert_m, way.length_m
    if not known(low, overflow.lip_m, overflow.diameter_m):
        return
    half = max(0.5 * overflow.diameter_m, 0.06)
    yield Polygon(
        rectangle(x - half, low, x + half, overflow.lip_m), "wall", "water", part=overflow.id, edge=False
    )
    for side in (-half, half):
        yield Polyline(((x + side, low), (x + side, overflow.lip_m)), "wall", part=overflow.id)
    yield Polyline(((x - half, low), (x + half, low)), "wall", part=overflow.id)
    yield WaterSurface((x - half, overflow.lip_m), (x + half, overflow.lip_m), overflow.id)
    yield Label(
        overflow.id, (x, overflow.lip_m), strong=True, boxed=True, side="over", rank=0, part=overflow.id
    )
    yield Label(
        f"{overflow.called}, lip {say.level(overflow.lip_m)}",
        (x + half, overflow.lip_m),
        "small",
        side="right",
        rank=3,
        part=overflow.id,
    )


def _left(way: Way, well: Well | None) -> float:
    near = pit_along(way.runs[0], well, upstream=True)[1] if well is not None else 0.0
    return min(near, 0.0) - _ROOM_M


def _right(way: Way, well: Well | None, overflow: Overflow | None) -> float:
    far = pit_along(way.runs[-1], well)[2] if well is not None else 0.0
    beside = 0.5 * overflow.diameter_m if overflow is not None and known(overflow.diameter_m) else 0.0
    return max(way.length_m + max(far, beside, 0.0) + _ROOM_M, 2.0)


def _height(
    way: Way, wells: tuple[Well | None, ...], overflow: Overflow | None, levels: tuple[float, ...]
) -> tuple[float, float]:
    pipe = way.runs[0]
    zs = [z for _, z in way.ground] + [pipe.upstream_invert_m, pipe.downstream_invert_m, *levels]
    for well in wells:
        if well is not None:
            zs += [well.bottom_m, well.lip_m, well.ground_m]
    zs.append(overflow.lip_m if overflow is not None else math.nan)
    good = [z for z in zs if known(z)]
    return (min(good) - 0.22, max(good) + 0.12) if good else (-1.0, 1.0)


def beside(scheme: Scheme) -> tuple[Way, ...]:
    """Return the way of every pipe beside the runs that has a length."""
    return tuple(Way(pipe.id, (pipe,), (0.0,)) for pipe in scheme.side_pipes if pipe.length_m > 0)
