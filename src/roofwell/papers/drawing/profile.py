"""The long section of one downspout's way: ground, pipe, basin, well and the water in them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Literal

from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.drawing.model import (
    XY,
    Drawing,
    Hatch,
    Item,
    KeyMark,
    Label,
    Polygon,
    Polyline,
    known,
)
from roofwell.papers.drawing.over_way import hand_dig_items, paved_items
from roofwell.papers.drawing.profile_parts import (
    basin_items,
    cleanout_items,
    crossing_items,
    end_items,
    run_items,
    spout_items,
)
from roofwell.papers.drawing.profile_strip import strip_of
from roofwell.papers.drawing.troubles import rings_at, troubles
from roofwell.papers.drawing.way import Way, pit_along, unroll
from roofwell.papers.drawing.way_cases import case_groups, case_lines
from roofwell.papers.drawing.way_water import WayWater, way_water
from roofwell.papers.texts import Say
from roofwell.system.pipe_ends import ENDS, pipe_end
from roofwell.system.scheme import Scheme

STRETCHES = (10.0, 8.0, 5.0, 4.0, 3.0, 2.0, 1.0)
_SHAPE = 0.48  # a section is stretched up until it is this high for its length
_BEFORE_M = 1.5
_AFTER_M = 1.2


def profile(design: Design, downspout: str) -> Drawing:
    """Return the long section from a downspout to where its water ends."""
    survey, scheme = design.survey, design.scheme
    say = Say(survey.style)
    way = unroll(scheme, downspout)
    water = way_water(design, way)
    right = _right_end(scheme, way)
    bottom, top = _height(design, way)
    bounds = (-_BEFORE_M, bottom, right, top)
    step = 0.3048 if survey.style == "us" else 0.25
    items: list[Item] = [*_axes(way, say, bounds, step)]
    items += _house(design, bounds, say)
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
    for run, start in zip(way.runs, way.starts_m, strict=True):
        items += crossing_items(run, start, bounds, say)
        items += cleanout_items(run, start, way, say)
    items += paved_items(survey, way, scheme.paved)
    items += _ground(way, survey.ground_known, right)
    items += hand_dig_items(survey, way, say)
    items += peak_line(way, water)
    items += case_lines(design, way)
    items += _rings(design, way)
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
        up=_stretch(bounds),
        says=f"Long section from downspout {downspout} to {end}: ground, pipe, cover and water levels.",
        notes=tuple(notes),
        strip=strip_of(scheme, way, water, say, covered=survey.ground_known and bool(way.ground)),
        key=tuple(_key(items, water)),
    )


def _key(items: list[Item], water: WayWater) -> Iterator[KeyMark]:
    """Yield what the lines and fills mean that this section has."""
    roles = {item.role for item in items if isinstance(item, Polyline | Polygon)}
    full = any(isinstance(item, Polygon) and item.fill == "water" for item in items)
    if "water left" in roles:
        yield KeyMark("water left standing in dry weather", "water left", "water left")
    if full or "water full" in roles:
        yield KeyMark("water, well full and still", "water full", "water")
    if "water level" in roles:
        yield KeyMark(
            f"water level in the {water.years:g}-year cloudburst{', well full' if full else ''}",
            "water level",
        )
    if "what if" in roles:
        yield KeyMark("the same with one thing failing, by its letter under What if", "what if")
    if "hand dig" in roles:
        yield KeyMark("dig by hand only", "hand dig")
    if "ground guessed" in roles:
        yield KeyMark("ground, not measured", "ground guessed")


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


def _stretch(bounds: tuple[float, float, float, float]) -> float:
    width, height = bounds[2] - bounds[0], bounds[3] - bounds[1]
    return next((up for up in STRETCHES if height * up <= _SHAPE * width), 1.0)


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


def _axes(way: Way, say: Say, bounds: tuple[float, float, float, float], step: float) -> Iterator[Item]:
    left, bottom, right, top = bounds
    yield Polyline(((left, bottom), (right, bottom)), "axis")
    parts = {run.from_id: start for run, start in zip(way.runs, way.starts_m, strict=True)}
    if way.runs:
        parts[way.runs[-1].to_id] = way.length_m
    tall = 0.012 * (right - left) / _stretch(bounds)
    for station in dict.fromkeys(parts.values()):
        yield Polyline(((station, bottom), (station, bottom + tall)), "axis")
    whole = math.ceil((bottom + 0.03 * (top - bottom)) / step)
    while whole * step <= top:
        z = whole * step
        yield Polyline(((left, z), (left + 0.006 * (right - left), z)), "axis")
        yield Label(
            _short(say.level(z)),
            (left, z),
            "small",
            side="left",
            fixed=True,
            needed=False,
        )
        whole += max(1, math.ceil((top - bottom) / (9 * step)))
    yield Polyline(((left, bottom), (left, top)), "axis")


def _short(level: str) -> str:
    """Return a level without the zeros that the axis does not need: ``99``, ``30.25``, ``100``."""
    return level.rstrip("0").rstrip(".") if "." in level else level


def _house(design: Design, bounds: tuple[float, float, float, float], say: Say) -> Iterator[Item]:
    left, bottom, right, top = bounds
    wall = -0.55
    yield Polyline(((wall, bottom + 0.35 * (top - bottom)), (wall, top)), "house")
    yield Label("house", (wall, top), "small", side="over left", rank=6, needed=False, leader=False)
    opening = design.survey.lowest_opening_m
    if opening is not None and known(opening):
        reach = left + 0.30 * (right - left)
        yield Polyline(((left, opening), (reach, opening)), "opening")
        what = next((b.opening_is for b in design.survey.buildings if b.lowest_opening_m == opening), None)
        words = f"lowest opening {say.level(opening)}" + (f", {what}" if what else "")
        yield Label(words, (left + 0.5 * (reach - left), opening), "small", side="over", rank=4, leader=False)


def _ground(way: Way, measured: bool, right: float) -> Iterator[Item]:
    points = way.ground
    if not points:
        guess = [z for run in way.runs for z in (run.upstream_invert_m, run.downstream_invert_m) if known(z)]
        level = max(guess) + 0.45 if guess else 0.5
        line: tuple[XY, ...] = ((-_BEFORE_M, level), (right, level))
        yield Polyline(line, "ground guessed", "missing")
        yield Label("ground: not measured", (0.5 * right, level), "small", rank=3, leader=False)
        return
    line = ((-_BEFORE_M, points[0][1]), *points, (right, points[-1][1]))
    yield Polyline(line, "ground" if measured else "ground guessed")
    if measured:
        yield Hatch(line, "earth")
    else:
        yield Label("ground: not measured", points[len(points) // 2], "small", rank=3, leader=False)


def water_in_pipes(
    way: Way, levels: Mapping[str, float], kind: Literal["water", "water left"]
) -> Iterator[Item]:
    """Yield still water in each run up to its level, or up to the crown where it stands higher."""
    for run, start in zip(way.runs, way.starts_m, strict=True):
        level = levels.get(run.id, -math.inf)
        if not known(run.upstream_invert_m, run.downstream_invert_m, level):
            continue
        stations = [run.length_m * n / 40 for n in range(41)]
        low = [(start + s, run.invert_at(s)) for s in stations]
        high = [(x, min(level, z + run.inside_diameter_m)) for x, z in low]
        wet = [(a, b) for a, b in zip(low, high, strict=True) if b[1] > a[1]]
        if len(wet) > 1:
            outline = tuple(a for a, _ in wet) + tuple(b for _, b in reversed(wet))
            yield Polygon(outline, kind, kind, part=run.id, edge=False)


def full_level(way: Way, water: WayWater) -> Iterator[Item]:
    """The level of the full well, from the well up to where it meets the pipe or the downspout."""
    if not way.runs or not known(water.lip_m):
        return
    reach = way.length_m
    for run, start in reversed(list(zip(way.runs, way.starts_m, strict=True))):
        wet = [
            start + run.length_m * n / 40
            for n in range(41)
            if run.invert_at(run.length_m * n / 40) < water.lip_m
        ]
        if not wet:
            break
        reach = min(wet)
    if reach < way.length_m:
        yield Polyline(((reach, water.lip_m), (way.length_m, water.lip_m)), "water full")


def peak_line(way: Way, water: WayWater) -> Iterator[Item]:
    """The water level of the cloudburst, run by run, where it was reckoned."""
    line: list[XY] = []
    for run, start in zip(way.runs, way.starts_m, strict=True):
        line += [(start + station, level) for station, level in water.peak.get(run.id, ())]
    if len(line) > 1:
        yield Polyline(tuple(line), "water level")


def _rings(design: Design, way: Way) -> Iterator[Item]:
    found = []
    for subject, number, failing in troubles(design):
        run = next((r for r in way.runs if r.id == subject), None)
        at = way.station_of(subject)
        if run is not None:
            at = way.starts_m[way.runs.index(run)] + 0.5 * run.length_m
        if at is None:
            continue
        level = (
            run.invert_at(0.5 * run.length_m) if run is not None and run.length_m > 0 else way.ground_at(at)
        )
        if known(level):
            found.append(((at, level), number, failing))
    yield from rings_at(found)
