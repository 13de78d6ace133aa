"""The picture over a ladder: ground, trench bottom, pipe, holes and what must not be hit. No water, no levels."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from roofwell.design.result import Design
from roofwell.papers.crew_sheet.ladder import Ladder, Rung, bottom_at
from roofwell.papers.drawing.model import (
    XY,
    Circle,
    Drawing,
    Hatch,
    Item,
    Label,
    Polygon,
    Polyline,
    Sign,
    known,
    rectangle,
)
from roofwell.papers.drawing.profile_parts import SMALLEST_SEEN_M
from roofwell.papers.drawing.way import pit_along
from roofwell.papers.drawing.well_body import foot_m, has_riser, head_m, side_boxes
from roofwell.papers.texts import Say
from roofwell.physics.trench import route
from roofwell.system.scheme import Well

_BEFORE_M = 1.0
_AFTER_M = 0.8


def section(design: Design, ladder: Ladder) -> Drawing:
    """Return the long section that is dug: the way from its upper end to its last hole."""
    say = Say(design.survey.style)
    way = ladder.way
    well = next((one for one in design.scheme.wells if one.id == ladder.end), None)
    right = way.length_m + _AFTER_M
    if well is not None:
        right = max(right, way.length_m + pit_along(way.runs[-1], well)[2] + _AFTER_M)
    levels = _levels(design, ladder, well)
    bottom, top = min(levels) - 0.2, max(levels) + 0.1
    items: list[Item] = [*_axis(ladder, say, -_BEFORE_M, right, bottom)]
    if well is not None:
        items += _well(design, well, ladder)
    items += _trench(design, ladder)
    items += _basins(design, ladder)
    items += _crossings(ladder)
    items += _ground(design, ladder, right)
    items += _heads(design, ladder, max(levels))
    return Drawing(
        name=f"crew-{ladder.key}",
        title=f"From {ladder.start} to {ladder.end}",
        items=tuple(items),
        bounds=(-_BEFORE_M, bottom, right, top),
        says=f"Section of the trench from {ladder.start} to {ladder.end}: ground, trench bottom and crossings.",
    )


def _levels(design: Design, ladder: Ladder, well: Well | None) -> list[float]:
    found = [z for _, z in ladder.way.ground] if design.survey.ground_known else []
    found += [rung.level_m for rung in ladder.rungs]
    found += [run.upstream_invert_m for run in ladder.way.runs]
    ids = {part for run in ladder.way.runs for part in (run.from_id, run.to_id)}
    for basin in design.scheme.basins:
        if basin.id in ids:
            found += [basin.floor_m, basin.grate_m]
    if well is not None:
        found += [well.bottom_m, well.lip_m, well.ground_m]
    found += [z for bar in ladder.bars for z in (bar.level_m,) if z is not None and bar.crosses_m is not None]
    good = [z for z in found if known(z)]
    return good if max(good) > min(good) else [*good, max(good) + 0.5]


def _axis(ladder: Ladder, say: Say, left: float, right: float, bottom: float) -> Iterator[Item]:
    yield Polyline(((left, bottom), (right, bottom)), "axis")
    ends = [ladder.rungs[0].station_m, ladder.rungs[-1].station_m]
    whole = [rung.station_m for rung in ladder.rungs if not rung.what]
    for rank, station in [(0, one) for one in ends] + [(1, one) for one in whole]:
        yield Polyline(((station, bottom), (station, bottom + 0.008 * (right - left))), "axis")
        yield Label(
            say.station(station),
            (station, bottom),
            "small",
            side="under",
            fixed=True,
            rank=rank,
            needed=False,
        )


def _trench(design: Design, ladder: Ladder) -> Iterator[Item]:
    for trench in ladder.trenches:
        run = trench.run
        ends = ((trench.first_m, bottom_at(design, trench, trench.first_m)),
                (trench.last_m, bottom_at(design, trench, trench.last_m)))  # fmt: skip
        yield Polyline(ends, "trench bottom", part=run.id)
        for over in (0.0, run.inside_diameter_m):
            walls = tuple((x, run.invert_at(x - trench.start_m) + over) for x, _ in ends)
            yield Polyline(walls, "pipe", part=run.id)
    longest = max(ladder.trenches, key=lambda one: one.last_m - one.first_m)
    middle = 0.5 * (longest.first_m + longest.last_m)
    at = (middle, bottom_at(design, longest, middle))
    yield Label("trench bottom", at, "small", side="under", rank=4, leader=False, needed=False)


def _basins(design: Design, ladder: Ladder) -> Iterator[Item]:
    for basin in design.scheme.basins:
        at = ladder.way.station_of(basin.id)
        if at is None or not known(basin.floor_m, basin.grate_m):
            continue
        half = 0.5 * basin.width_m
        box = rectangle(at - half, basin.floor_m, at + half, basin.grate_m)
        yield Polygon(box, "wall", "sheet", part=basin.id)
        yield Label(basin.id, (at, basin.grate_m), strong=True, boxed=True, rank=0, part=basin.id)


def _well(design: Design, well: Well, ladder: Ladder) -> Iterator[Item]:
    first, near, far, bodies = pit_along(ladder.way.runs[-1], well)
    end = ladder.way.length_m
    if not known(well.bottom_m, well.stone_top_m):
        return
    stone = rectangle(end + near, well.bottom_m, end + far, well.stone_top_m)
    yield Polygon(stone, "geotextile", "sheet", part=well.id)
    yield Hatch(stone, "stone", well.id)
    foot, head = foot_m(well), head_m(well)
    for left, right in side_boxes(well, end, bodies):
        box = rectangle(left, foot, right, head)
        yield Polygon(box, "wall", "sheet", part=well.id)
    overflow = design.scheme.overflow_of(well.id)
    x = end + first
    if overflow is not None and has_riser(well, overflow):
        reach = max(0.5 * overflow.diameter_m, 0.06)
        box = rectangle(x - reach, head, x + reach, overflow.lip_m)
        yield Polygon(box, "wall", "sheet", part=overflow.id)
    ground = well.ground_m if known(well.ground_m) else ladder.way.ground_at(end)
    if known(ground):
        middle = end + 0.5 * (near + far)
        yield Label(well.id, (middle, ground), strong=True, boxed=True, rank=0, part=well.id)


def _crossings(ladder: Ladder) -> Iterator[Item]:
    for bar in ladder.bars:
        x = bar.crosses_m
        if x is None:
            continue
        if bar.level_m is None:
            near = _nearest(ladder, x)
            yield Sign((x, near.level_m), "unknown")
            yield Label(
                f"{bar.label}: how deep?", (x, near.level_m), "normal", strong=True, side="under right"
            )
            continue
        yield Sign((x, bar.level_m), "buried")
        yield Label(bar.label, (x, bar.level_m), "normal", strong=True, side="under right", rank=2)


def _nearest(ladder: Ladder, station_m: float) -> Rung:
    return min(ladder.rungs, key=lambda rung: abs(rung.station_m - station_m))


def _ground(design: Design, ladder: Ladder, right: float) -> Iterator[Item]:
    way = ladder.way
    if not design.survey.ground_known or not way.ground:
        return
    line: tuple[XY, ...] = ((-_BEFORE_M, way.ground[0][1]), *way.ground, (right, way.ground[-1][1]))
    yield Polyline(line, "ground")
    yield Hatch(line, "earth")
    for kind in ("walk", "drive"):
        for feature in design.survey.of_kind(kind):
            if feature.shape != "outline" or len(feature.points) < 3:
                continue
            for run, start in zip(way.runs, way.starts_m, strict=True):
                if len(run.path) < 2:
                    continue
                for first, last in route.crossings(run.path, shapely.Polygon(feature.points)):
                    a, b = start + first, start + last
                    if b - a < SMALLEST_SEEN_M:
                        continue
                    z, w = way.ground_at(a), way.ground_at(b)
                    slab = ((a, z), (b, w), (b, w - 0.12), (a, z - 0.12))
                    yield Polygon(slab, "ink", "sheet", part=feature.id)
                    yield Label(kind, (0.5 * (a + b), max(z, w)), "small", rank=3, part=feature.id)


def _heads(design: Design, ladder: Ladder, top: float) -> Iterator[Item]:
    spouts = {spout.id for spout in design.scheme.downspouts}
    wyes = {wye.id for wye in design.scheme.wyes}
    for part in dict.fromkeys(part for run in ladder.way.runs for part in (run.from_id, run.to_id)):
        at = ladder.way.station_of(part)
        if at is None or part not in spouts | wyes:
            continue
        ground = ladder.way.ground_at(at) if design.survey.ground_known else top
        foot = _nearest(ladder, at).level_m
        yield Polyline(((at, foot), (at, ground)), "wall" if part in spouts else "fine", part=part)
        yield Label(part, (at, ground), strong=True, boxed=True, rank=0, part=part)
    last = ladder.end
    if last in {outlet.id for outlet in design.scheme.outlets}:
        at = ladder.way.length_m
        level = ladder.rungs[-1].level_m
        yield Circle((at, level), 0.03, "ink", "black", part=last)
        yield Label(last, (at, level), strong=True, boxed=True, side="over right", rank=1, part=last)
