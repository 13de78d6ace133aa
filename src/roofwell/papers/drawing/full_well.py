"""The full-well section: one cut to true scale from the lowest opening, along the water's way, to the lot line.

Unrolled: along the pipes of one way, over the well, and on along the water's own way over the ground. Nothing is stretched
up. What was measured is solid, what is assumed is dashed; the full level is flat, the cloudburst's slopes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from roofwell.design.result import Design
from roofwell.papers.drawing.gutter_head import Head, head_items, head_key, head_of
from roofwell.papers.drawing.model import (
    XY,
    Dimension,
    Drawing,
    Hatch,
    Item,
    KeyMark,
    Label,
    Polygon,
    Polyline,
    Sign,
    known,
    rectangle,
)
from roofwell.papers.drawing.profile_parts import basin_items, end_items, spout_items
from roofwell.papers.drawing.profile_water import full_level, peak_line, water_in_pipes
from roofwell.papers.drawing.way import Way, pit_along, unroll
from roofwell.papers.drawing.way_water import WayWater, way_water
from roofwell.papers.texts import Say
from roofwell.system.facts import BuildingFact
from roofwell.system.origin import Origin
from roofwell.system.overland_facts import SpillWay
from roofwell.system.scheme import Outlet, Overflow, Run, Well

_INSIDE_M = 1.0  # of the house, before it is cut short
_AFTER_M = 1.0  # beyond the lot line
_ALIKE_M = 0.15  # a floor nearer to the opening than this has no words of its own: side 1 names it
_SILL = 0.06  # of the section's length, for the line that leads from the opening to its words
_OVER_M = 0.35  # over the highest of it
_OVER_HEAD_M = 0.1
_GAP_M = 0.3  # from the wall to a downspout where no outline tells


@dataclass(frozen=True, slots=True)
class _Cut:
    """Where things stand along the section, m: the wall, the end of the pipes, the overflow, the end of the ground."""

    way: Way
    wall_m: float
    leaves_m: float
    end_m: float
    over: SpillWay | None
    level_m: float
    level_at: str


def full_well(design: Design) -> Drawing | None:
    """Return the section; None where no part of a system has a level at the house."""
    cut = _found(design)
    return _drawing(design, cut) if cut is not None else None


def _found(design: Design) -> _Cut | None:
    """Where to cut: along the way on which the water stands highest at the house."""
    levels = [level for level in design.behaviour.levels if known(min(level.peak_m, level.limit_m))]
    spouts = {spout.id for spout in design.scheme.downspouts}
    at_house = [level for level in levels if level.id in spouts] or levels
    if not at_house:
        return None
    worst = max(at_house, key=lambda level: min(level.peak_m, level.limit_m))
    way = unroll(design.scheme, worst.id)
    if not way.runs or any(
        not known(run.upstream_invert_m, run.downstream_invert_m, run.length_m) for run in way.runs
    ):
        return None
    return _cut(design, way, min(worst.peak_m, worst.limit_m), worst.id)


def full_well_head(design: Design) -> tuple[Way, Head | None] | None:
    """Return the way that the section is cut along, and the gutter at its head as drawn; None where there is no section."""
    cut = _found(design)
    if cut is None:
        return None
    well = next((one for one in design.scheme.wells if one.id == cut.way.runs[-1].to_id), None)
    return cut.way, _head(design, cut, _height(design, cut, well, list(_ground_points(cut))))


def _head(design: Design, cut: _Cut, span_m: tuple[float, float]) -> Head | None:
    low, high = span_m
    return head_of(design.scheme, cut.level_at, span_m=(low, high - _OVER_M), whole=True, true_scale=True)


def _cut(design: Design, way: Way, level_m: float, at: str) -> _Cut:
    scheme, end = design.scheme, way.runs[-1].to_id
    overflow = scheme.overflow_of(end)
    part = overflow.id if overflow is not None else end
    over = design.behaviour.overland.way(part) if design.behaviour.overland is not None else None
    leaves = way.length_m
    well = next((one for one in scheme.wells if one.id == end), None)
    if overflow is not None and well is not None:
        leaves += math.dist(well.at, overflow.at)
    far = leaves
    if over is not None and len(over.points) > 1:
        far = leaves + _stations(over)[-1]
    elif over is not None and over.straight_m is not None:
        far = leaves + over.straight_m
    pit = way.length_m + (pit_along(way.runs[-1], well)[2] if well is not None else 0.0)
    return _Cut(way, -_from_wall(design, at), leaves, max(far, pit) + _AFTER_M, over, level_m, at)


def _from_wall(design: Design, spout: str) -> float:
    """How far a downspout stands from the nearest wall of a house, m."""
    here = next((s.at for s in design.scheme.downspouts if s.id == spout), None)
    walls = [shapely.Polygon(b.outline) for b in design.survey.buildings if len(b.outline) >= 3]
    if here is None or not walls:
        return _GAP_M
    return max(0.15, min(float(wall.exterior.distance(shapely.Point(here))) for wall in walls))


def _stations(over: SpillWay) -> list[float]:
    out = [0.0]
    for (ax, ay, _), (bx, by, _) in zip(over.points, over.points[1:], strict=False):
        out.append(out[-1] + math.dist((ax, ay), (bx, by)))
    return out


def _drawing(design: Design, cut: _Cut) -> Drawing:
    survey, scheme, say = design.survey, design.scheme, Say(design.survey.style)
    way, water = cut.way, way_water(design, cut.way)
    end = way.runs[-1].to_id
    well = next((one for one in scheme.wells if one.id == end), None)
    overflow = scheme.overflow_of(end)
    house = _house(design)
    ground = list(_ground_points(cut))
    bottom, top = _height(design, cut, well, ground)
    head = _head(design, cut, (bottom, top))
    if head is not None:
        top = max(top, head.brim_m + _OVER_HEAD_M)
    bounds = (cut.wall_m - _INSIDE_M, bottom, cut.end_m, top)
    items: list[Item] = []
    if well is not None:
        items += _plain(end_items(well, scheme, way, say))
    items += water_in_pipes(way, water.still, "water")
    items += water_in_pipes(way, water.left, "water left")
    for run, start in zip(way.runs, way.starts_m, strict=True):
        items += _pipe(run, start, scheme.origin.get(f"{run.id}.inside_diameter_m", "designed"))
    for basin in scheme.basins:
        items += _plain(basin_items(basin, way, water, say))
    items += _plain(spout_items(scheme, way, water))
    if overflow is not None and known(overflow.lip_m):
        items += _overflow(overflow, cut, well)
    items += _ground(cut, ground, survey.ground_known)
    items += _full(cut, water, say)
    items += peak_line(way, water)
    items += _walls(cut, house, bounds, say)
    if head is not None:  # after the walls, which its break lines cut short
        flow = next((one for one in design.behaviour.downspouts if one.id == cut.level_at), None)
        items += head_items(head, scheme, say, wall_m=cut.wall_m, flow=flow)
    items += _lot_line(cut, ground, bounds, survey.ground_known)
    outlet = next((one for one in scheme.outlets if one.id == end), None)
    items += _big(cut, house, say)
    where = _where(cut, overflow, outlet)
    name = "The full well" if well is not None else "The way out"
    return Drawing(
        name="full-well",
        title=f"{name}, from the lowest opening to {where}, to true scale",
        items=tuple(items),
        bounds=bounds,
        up=1.0,
        says=(
            f"Section to true scale from the lowest opening of the house along {cut.level_at}'s way to {where}: "
            f"water level at the house {say.elevation(cut.level_m)}."
        ),
        notes=tuple(_notes(design, cut, water, house, say)),
        key=(*_key(items, water), *(head_key(head) if head is not None else ())),
    )


def _house(design: Design) -> BuildingFact | None:
    """The building with the lowest known opening; else the first."""
    opening = design.survey.lowest_opening_m
    named = [b for b in design.survey.buildings if opening is not None and b.lowest_opening_m == opening]
    return next(iter(named or design.survey.buildings), None)


def _plain(items: Iterator[Item]) -> Iterator[Item]:
    """What stands there and its id; its levels are on the long sections."""
    for item in items:
        if not isinstance(item, Label) or item.boxed:
            yield item


def _pipe(run: Run, start: float, state: Origin) -> Iterator[Item]:
    end, high = start + run.length_m, run.inside_diameter_m
    for over in (0.0, high):
        points = ((start, run.upstream_invert_m + over), (end, run.downstream_invert_m + over))
        yield Polyline(points, "pipe", state, run.id)


def _overflow(overflow: Overflow, cut: _Cut, well: Well | None) -> Iterator[Item]:
    """The overflow where it stands beside its well; on the well it is drawn with it."""
    x = cut.leaves_m
    if well is not None and math.dist(well.at, overflow.at) > 0.5 * well.pit_width_m:
        half = max(0.05, 0.5 * overflow.diameter_m) if known(overflow.diameter_m) else 0.08
        low = overflow.pipe.downstream_invert_m if overflow.pipe is not None else overflow.lip_m - 0.3
        yield Polygon(rectangle(x - half, low, x + half, overflow.lip_m), "wall", "water", part=overflow.id)
        if overflow.pipe is not None:
            start = x - overflow.pipe.length_m
            for over in (0.0, overflow.pipe.inside_diameter_m):
                ends = (
                    (start, overflow.pipe.upstream_invert_m + over),
                    (x, overflow.pipe.downstream_invert_m + over),
                )
                yield Polyline(ends, "pipe", part=overflow.id)
    yield Label(overflow.id, (x, overflow.lip_m), strong=True, boxed=True, side="over right", rank=1)
    if overflow.to is None:
        yield Sign((x + 0.25, overflow.lip_m + 0.02), "spill", 0.0, overflow.id)


def _ground_points(cut: _Cut) -> Iterator[XY]:
    """Known ground from the wall to the end of the cut, by station."""
    way = cut.way.ground
    if way:
        yield cut.wall_m, way[0][1]
        yield from way
    if cut.over is not None and len(cut.over.points) > 1:
        for station, (_, _, z) in zip(_stations(cut.over), cut.over.points, strict=True):
            if known(z) and (not way or cut.leaves_m + station > way[-1][0]):
                yield cut.leaves_m + station, z


def _height(design: Design, cut: _Cut, well: Well | None, ground: list[XY]) -> tuple[float, float]:
    zs = [z for _, z in ground]
    for run in cut.way.runs:
        zs += [run.upstream_invert_m + run.inside_diameter_m, run.downstream_invert_m]
    zs += [basin.floor_m for basin in design.scheme.basins if cut.way.station_of(basin.id) is not None]
    if well is not None:
        zs += [well.bottom_m, well.lip_m, well.ground_m]
    opening = design.survey.lowest_opening_m
    zs += [cut.level_m, math.nan if opening is None else opening]
    good = [z for z in zs if known(z)]
    return min(good) - 0.15, max(good) + _OVER_M


def _ground(cut: _Cut, points: list[XY], measured: bool) -> Iterator[Item]:
    """Solid where it was shot; dashed where nobody knows it."""
    if len(points) > 1:
        line = tuple(points)
        yield Polyline(line, "ground" if measured else "ground guessed")
        if measured:
            yield Hatch(line, "earth")
    last = points[-1] if points else None
    if last is not None and last[0] < cut.end_m - 1e-6:
        known_line = cut.over is not None and cut.over.leaves_at is not None and len(cut.over.points) > 1
        if known_line or last[0] < cut.end_m - _AFTER_M - 1e-6 or not measured:
            yield Polyline((last, (cut.end_m, last[1])), "ground guessed")


def _full(cut: _Cut, water: WayWater, say: Say) -> Iterator[Item]:
    """The level of the full well, flat: as water from the well up the pipe, as a fine line on to the house."""
    if not known(water.lip_m):
        return
    yield from full_level(cut.way, water)
    yield Polyline(((cut.wall_m, water.lip_m), (cut.way.length_m, water.lip_m)), "fine")
    words = f"full {say.level(water.lip_m)}"
    at = (0.5 * cut.way.length_m, water.lip_m)
    yield Label(words, at, "small", side="under", rank=3)


def _walls(
    cut: _Cut, house: BuildingFact | None, bounds: tuple[float, float, float, float], say: Say
) -> Iterator[Item]:
    left, bottom, _, top = bounds
    yield Polyline(((cut.wall_m, bottom + 0.05 * (top - bottom)), (cut.wall_m, top)), "house")
    yield Polyline(((left, bottom + 0.05 * (top - bottom)), (left, top)), "cut short")
    if house is None:
        return
    if house.lowest_opening_m is not None and known(house.lowest_opening_m):
        sill = house.lowest_opening_m
        yield Polyline(((left, sill), (cut.wall_m + 0.25, sill)), "house")
        what = house.opening_is.split(",")[0] if house.opening_is else "lowest opening"
        words = f"{what} {say.level(sill)}"
        end = cut.wall_m + _SILL * (bounds[2] - bounds[0])
        yield Polyline(((cut.wall_m + 0.25, sill), (end, sill)), "opening")
        yield Label(words, (end, sill), "small", side="right", rank=1)
    if (
        house.lowest_floor_m is not None
        and known(house.lowest_floor_m)
        and bottom < house.lowest_floor_m < top
    ):
        floor = house.lowest_floor_m
        yield Polyline(((left, floor), (cut.wall_m, floor)), "ink")
        words = f"lowest floor {say.level(floor)}"
        if house.lowest_opening_m is None or abs(floor - house.lowest_opening_m) >= _ALIKE_M:
            yield Label(words, (cut.wall_m, floor), "small", side="under right", rank=5, needed=False)


def _lot_line(
    cut: _Cut, ground: list[XY], bounds: tuple[float, float, float, float], measured: bool
) -> Iterator[Item]:
    """Where the water leaves the lot; by its straight distance where its way is not known."""
    over = cut.over
    if over is None or (over.leaves_at is None and over.straight_m is None):
        return
    on_its_way = over.leaves_at is not None and len(over.points) > 1
    x = cut.leaves_m + (_stations(over)[-1] if on_its_way else over.straight_m or 0.0)
    level = ground[-1][1] if ground else 0.5 * (bounds[1] + bounds[3])
    low, high = level - 0.4, min(bounds[3], level + 0.7)
    sure = on_its_way and measured
    yield Polyline(((x, low), (x, high)), "lot line" if sure else "ground guessed")
    name = (over.leaves_by or "lot line").removeprefix("the ") if on_its_way else "lot line, straight on"
    yield Label(name, (x, high), "small", side="over left", rank=2)


def _big(cut: _Cut, house: BuildingFact | None, say: Say) -> Iterator[Item]:
    """The one large dimension: how far the cloudburst's water stands below the lowest opening."""
    x = cut.wall_m - 0.35 * _INSIDE_M
    yield Polyline(((x - 0.2, cut.level_m), (0.0, cut.level_m)), "fine")
    if house is None or house.lowest_opening_m is None or not known(house.lowest_opening_m):
        words = f"water {say.elevation(cut.level_m)}; lowest opening not measured"
        yield Label(words, (x, cut.level_m), "large", strong=True, side="right", rank=0)
        return
    yield Dimension(
        (x, cut.level_m),
        (x, house.lowest_opening_m),
        _margin(cut, house.lowest_opening_m, house, say),
        large=True,
    )


def _margin(cut: _Cut, opening: float, house: BuildingFact, say: Say) -> str:
    what = house.opening_is.split(",")[0] if house.opening_is else "lowest opening"
    spare = opening - cut.level_m
    return f"{say.depth(abs(spare))} {'below' if spare >= 0 else 'above'} the {what}"


def _where(cut: _Cut, overflow: Overflow | None, outlet: Outlet | None) -> str:
    over = cut.over
    if over is not None and over.leaves_by is not None:
        return over.leaves_by
    if over is not None and over.straight_m is not None:
        return "the lot line"
    if overflow is not None:
        return f"the overflow {overflow.id}"
    return f"the {outlet.kind} {outlet.id}" if outlet is not None else "its end"


def _notes(design: Design, cut: _Cut, water: WayWater, house: BuildingFact | None, say: Say) -> Iterator[str]:
    years = f"{water.years:g}-year"
    full = ", the well full" if known(water.lip_m) else ""
    yield (
        f"Unrolled along {cut.level_at}'s way, where the water stands highest at the house: {say.elevation(cut.level_m)} in "
        f"the {years} cloudburst{full}. Ground, pipe and walls are solid where measured, given or designed, dashed where "
        "assumed or not measured."
    )
    if known(water.lip_m) and house is not None and house.lowest_opening_m is not None:
        spare = house.lowest_opening_m - water.lip_m
        side = "below" if spare >= 0 else "above"
        yield f"Full and still, the water lies flat, {say.depth(abs(spare))} {side} the lowest opening."
    over = cut.over
    if over is not None and over.leaves_at is None:
        reason = over.why_not or "the shots end before"
        yield f"The water's way over the ground is not known to its end: {reason}."
    if not design.survey.ground_known:
        yield "The ground was not measured: it is dashed."


def _key(items: list[Item], water: WayWater) -> Iterator[KeyMark]:
    roles = {item.role for item in items if isinstance(item, Polyline | Polygon)}
    if "water full" in roles:
        yield KeyMark("water, well full and still", "water full", "water")
    if "water level" in roles:
        yield KeyMark(f"water level in the {water.years:g}-year cloudburst", "water level")
    if "water left" in roles:
        yield KeyMark("water left standing in dry weather", "water left", "water left")
    if "ground guessed" in roles:
        yield KeyMark("not measured", "ground guessed")
