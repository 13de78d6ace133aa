"""The long section of one downspout's way: ground, pipe, basin, well and the water in them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.design.result import Design
from roofwell.papers.drawing.model import (
    XY,
    Drawing,
    Hatch,
    Item,
    Label,
    Polygon,
    Polyline,
    Ring,
    known,
)
from roofwell.papers.drawing.profile_parts import (
    Levels,
    basin_items,
    crossing_items,
    end_items,
    run_items,
    spout_items,
)
from roofwell.papers.drawing.troubles import troubles
from roofwell.papers.drawing.way import Way, pit_along, unroll
from roofwell.papers.texts import Say
from roofwell.system.scheme import Scheme

STRETCHES = (10.0, 8.0, 5.0, 4.0, 3.0, 2.0, 1.0)
_SHAPE = 0.36  # a section is stretched up until it is this high for its length
_BEFORE_M = 1.5
_AFTER_M = 1.2


def profile(design: Design, downspout: str, *, until: str | None = None, see: str | None = None) -> Drawing:
    """Return the long section from a downspout to where its water ends.

    ``until`` ends it at a part of the way; ``see`` names the downspout whose section goes on from there.
    """
    survey, scheme = design.survey, design.scheme
    say = Say(survey.style)
    way = unroll(scheme, downspout, until=until)
    levels = _levels(design, way)
    right = _right_end(scheme, way)
    bottom, top = _height(design, way, levels)
    bounds = (-_BEFORE_M, bottom, right, top)
    step = 0.3048 if survey.style == "us" else 0.25
    items: list[Item] = [*_axes(way, say, bounds, step)]
    items += _house(design, bounds, levels, say)
    well = next((w for w in scheme.wells if way.runs and w.id == way.runs[-1].to_id), None)
    if well is not None:
        items += end_items(well, scheme, way, levels, say)
    items += _still_water(way, scheme, levels)
    for index in range(len(way.runs)):
        items += run_items(way, index, scheme, levels, say, covered=survey.ground_known)
    for basin in scheme.basins:
        items += basin_items(basin, way, levels, say)
    items += spout_items(scheme, way, levels, say)
    for run, start in zip(way.runs, way.starts_m, strict=True):
        items += crossing_items(run, start, bounds, say)
    items += _ground(way, survey.ground_known, right)
    items += _peak(design, way, say)
    items += _rings(design, way)
    notes = []
    if not survey.ground_known or not way.ground:
        notes.append("The ground was not measured: it is dashed, and cover is not known.")
    if see is not None and until is not None:
        notes.append(f"From {until} on as in the section from {see}.")
    end = until or (way.runs[-1].to_id if way.runs else downspout)
    return Drawing(
        name=f"profile-{downspout}",
        title=f"From {downspout} to {end}",
        items=tuple(items),
        bounds=bounds,
        up=_stretch(bounds),
        says=f"Long section from downspout {downspout} to {end}: ground, pipe, cover and water levels.",
        notes=tuple(notes),
    )


def _stretch(bounds: tuple[float, float, float, float]) -> float:
    width, height = bounds[2] - bounds[0], bounds[3] - bounds[1]
    return next((up for up in STRETCHES if height * up <= _SHAPE * width), 1.0)


def _levels(design: Design, way: Way) -> Levels:
    """Still water along the way: the lip of the full well, and what a basin's outlet keeps back."""
    last = way.runs[-1].to_id if way.runs else ""
    well = next((w for w in design.scheme.wells if w.id == last), None)
    if well is None:
        further = design.scheme.way(way.part)
        end = further[-1].to_id if further else ""
        well = next((w for w in design.scheme.wells if w.id == end), None)
    lip = well.lip_m if well is not None and known(well.lip_m) else -math.inf
    still: dict[str, float] = {}
    keep = lip
    for run in reversed(way.runs):
        basin = next((b for b in design.scheme.basins if b.id == run.to_id), None)
        if basin is not None and known(basin.outlet_invert_m):
            keep = max(keep, basin.outlet_invert_m)
        still[run.id] = keep
    return Levels(lip, still)


def _right_end(scheme: Scheme, way: Way) -> float:
    right = way.length_m + _AFTER_M
    for well in scheme.wells:
        if way.runs and well.id == way.runs[-1].to_id:
            right = max(right, way.length_m + pit_along(way.runs[-1], well)[2] + _AFTER_M)
    return max(right, 3.0)


def _height(design: Design, way: Way, levels: Levels) -> tuple[float, float]:
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
        yield Label(say.station(station), (station, bottom), "small", side="under", rank=1)
    whole = math.ceil(bottom / step)
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
        whole += 1 if top - bottom <= 9 * step else 2
    yield Polyline(((left, bottom), (left, top)), "axis")


def _short(level: str) -> str:
    """Return a level without the zeros that the axis does not need: ``99``, ``30.25``, ``100``."""
    return level.rstrip("0").rstrip(".") if "." in level else level


def _house(
    design: Design, bounds: tuple[float, float, float, float], levels: Levels, say: Say
) -> Iterator[Item]:
    left, bottom, right, top = bounds
    wall = -0.55
    yield Polyline(((wall, bottom + 0.35 * (top - bottom)), (wall, top)), "house")
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


def _still_water(way: Way, scheme: Scheme, levels: Levels) -> Iterator[Item]:
    for run, start in zip(way.runs, way.starts_m, strict=True):
        level = levels.still.get(run.id, -math.inf)
        if not known(run.upstream_invert_m, run.downstream_invert_m, level):
            continue
        stations = [run.length_m * n / 40 for n in range(41)]
        low = [(start + s, run.invert_at(s)) for s in stations]
        high = [(x, min(level, z + run.inside_diameter_m)) for x, z in low]
        wet = [(a, b) for a, b in zip(low, high, strict=True) if b[1] > a[1]]
        if len(wet) > 1:
            outline = tuple(a for a, _ in wet) + tuple(b for _, b in reversed(wet))
            yield Polygon(outline, "water", "water", part=run.id, edge=False)


def _peak(design: Design, way: Way, say: Say) -> Iterator[Item]:
    """The water level of the cloudburst, run by run, where it was reckoned."""
    flows = {flow.id: flow for flow in design.behaviour.runs}
    line: list[XY] = []
    for run, start in zip(way.runs, way.starts_m, strict=True):
        flow = flows.get(run.id)
        if flow is not None and known(flow.level_up_m, flow.level_down_m):
            line += [(start, flow.level_up_m), (start + run.length_m, flow.level_down_m)]
    if len(line) > 1:
        yield Polyline(tuple(line), "water level")
        years = f"{design.behaviour.return_period_years:g}"
        middle = line[min(1, len(line) - 1)]
        at = (0.45 * (line[0][0] + middle[0]), 0.5 * (line[0][1] + middle[1]))
        yield Label(f"water level in the {years}-year cloudburst", at, strong=True, side="over", rank=3)


def _rings(design: Design, way: Way) -> Iterator[Item]:
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
            yield Ring((at, level), number, failing)
