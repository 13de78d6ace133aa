"""A storm for the screen, moment by moment: the water in every long section as it stands then, in words and as lines.

Lines are in the true metres of their section (``View.x0`` and its kin say where those stand on the screen).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from roofwell.design.result import Design
from roofwell.papers.drawing.chart import thinned
from roofwell.papers.drawing.full_well import full_well_head
from roofwell.papers.drawing.gutter_head import Head, depth_words, outline, surface
from roofwell.papers.drawing.model import XY, known
from roofwell.papers.drawing.profile import head_over, section_ways
from roofwell.papers.drawing.storm_chart import clock
from roofwell.papers.drawing.way import Pit, Way, pit_along
from roofwell.papers.drawing.way_water import surface_points
from roofwell.papers.drawing.well_body import has_riser
from roofwell.papers.texts import Say
from roofwell.system.moments import Moment, StormMoments, storm_moments
from roofwell.system.scheme import Basin, Run, Scheme, Well

_HOUR_S = 3600.0
_SEEN_M3_S = 1e-5
_WET_M = 0.5e-3


@dataclass(frozen=True, slots=True)
class Water:
    """Water in one long section: SVG path data, m, y up. ``body``: what is full of water; ``surface``: its level.

    ``says``: what stands in the gutter at its head, in words; empty without one.
    """

    body: str
    surface: str
    says: str = ""


@dataclass(frozen=True, slots=True)
class Instant:
    """One moment: its time, what it is like in a sentence, and the water in each long section, in the order of the views.

    ``full_well``: in the full-well section; None where there is none.
    """

    hours: float
    clock: str
    says: str
    ways: tuple[Water, ...]
    full_well: Water | None = None


@dataclass(frozen=True, slots=True)
class StormCurve:
    """What a chart shows: hours since the rain began, rain and depth of water in the job's units; ``full``: at the lip."""

    hours: tuple[float, ...]
    rain: tuple[float, ...]
    depth: tuple[float, ...]
    rain_unit: str
    depth_unit: str
    full: float | None
    well: str


@dataclass(frozen=True, slots=True)
class StormOnScreen:
    """The storm that asks most, whole. ``hardest``: place of the moment with the most rain."""

    title: str
    instants: tuple[Instant, ...]
    hardest: int
    curve: StormCurve


def screen_storm(design: Design, *, whole: bool = True) -> StormOnScreen | None:
    """Return the storm that asks most of the system; None where nothing leads anywhere or sizes are missing.

    ``whole``: as the sections were drawn.
    """
    found = storm_moments(design.scheme, design.survey, design.behaviour)
    if found is None:
        return None
    say = Say(design.survey.style)
    ways = [(way, head_over(design, way, whole=whole)) for way in section_ways(design.scheme)]
    full = full_well_head(design)
    rain = say.depth(float(np.sum(found.rain_m)))
    of = f", of all durations the one that asks most of {found.well}" if found.well else ""
    return StormOnScreen(
        title=f"The {found.return_period_years:g}-year storm of {say.time(found.duration_s)}: {rain} of rain{of}",
        instants=tuple(
            Instant(
                moment.time_s / _HOUR_S,
                clock(moment.time_s),
                _says(moment, found, design.scheme, say),
                tuple(_water(way, head, moment, design.scheme, say) for way, head in ways),
                _water(*full, moment, design.scheme, say) if full is not None else None,
            )
            for moment in found.moments
        ),
        hardest=max(range(len(found.moments)), key=lambda n: found.moments[n].rain_m_s),
        curve=_curve(found, say),
    )


def _says(moment: Moment, found: StormMoments, scheme: Scheme, say: Say) -> str:
    rain = f"rain {say.rate(moment.rain_m_s)}" if moment.rain_m_s > 0 else "the rain is over"
    parts = [f"{clock(moment.time_s)} after the first rain: {rain}"]
    for well in scheme.wells:
        level, spills = moment.well_m[well.id], moment.spills_m3_s[well.id]
        if spills > _SEEN_M3_S:
            parts.append(f"{well.id} is full and lets {say.flow(spills)} out")
        elif level - well.bottom_m < _WET_M:
            parts.append(f"{well.id} is empty")
        else:
            room = say.depth(max(0.0, well.lip_m - level))
            parts.append(f"water in {well.id} {say.depth(level - well.bottom_m)} deep, {room} under the lip")
    parts += [
        f"{say.flow(now.over_m3_s)} go over the brim of the gutter at {spout}"
        for spout, now in moment.gutters.items()
        if now.over_m3_s > _SEEN_M3_S
    ]
    parts += [
        f"{say.flow(out)} come out at {part}" for part, out in moment.out_m3_s.items() if out > _SEEN_M3_S
    ]
    return "; ".join(parts) + "."


def _curve(found: StormMoments, say: Say) -> StormCurve:
    """The depth with few points where it is straight; the rain of the steps between them, as its mean rate."""
    hours = [0.0, *(found.time_s / _HOUR_S).tolist()]
    us = say.style == "us"
    length, rate = (0.3048, 0.0254) if us else (1.0, 0.001)
    depths = [float(found.depth_m[0]), *found.depth_m.tolist()]
    top = max(found.lip_depth_m, float(np.max(found.depth_m)), 1e-3)
    points = thinned(list(zip(hours, depths, strict=True)), along=hours[-1] / 800, upward=top / 800)
    total = np.concatenate([[0.0], np.cumsum(found.rain_m)])
    steps = sorted({x for x, _ in points} | _changes(found, hours))
    fallen = np.interp(steps, hours, total)
    rain = [0.0, *(np.diff(fallen) / np.diff(steps) / rate).tolist()]
    return StormCurve(
        hours=tuple(round(x, 5) for x in steps),
        rain=tuple(round(x, 4) for x in rain),
        depth=tuple(round(float(np.interp(x, hours, depths)) / length, 4) for x in steps),
        rain_unit="in/h" if us else "mm/h",
        depth_unit="ft" if us else "m",
        full=round(found.lip_depth_m / length, 4) if found.well else None,
        well=found.well,
    )


def _changes(found: StormMoments, hours: list[float]) -> set[float]:
    """Hours at which the rain grows or slackens: between them it is one block of a chart."""
    rain = np.concatenate([found.rain_m, [0.0]])
    return {hours[0], *(hours[n + 1] for n in np.flatnonzero(np.diff(rain) != 0).tolist())}


def _water(way: Way, head: Head | None, moment: Moment, scheme: Scheme, say: Say) -> Water:
    bodies: list[str] = []
    lines: list[str] = []
    says = ""
    gutter = moment.gutters.get(way.part) if head is not None else None
    if head is not None and gutter is not None:
        says = f"{head.gutter.id} over {way.part}: empty"
        if gutter.depth_m >= _WET_M:
            bodies.append(_path(list(outline(head, gutter.depth_m)), closed=True))
            lines.append(_path(list(surface(head, gutter.depth_m))))
            says = f"{head.gutter.id} over {way.part}: {depth_words(head.gutter, gutter.depth_m, say)}"
    for run, start in zip(way.runs, way.starts_m, strict=True):
        flow = moment.runs.get(run.id) or moment.side_pipes.get(run.id)
        points = surface_points(run, flow) if flow is not None else ()
        wet = _wet(run, points)
        if not wet:
            continue
        low = [(start + s, run.invert_at(s)) for s, _ in wet]
        high = [(start + s, min(z, run.invert_at(s) + run.inside_diameter_m)) for s, z in wet]
        bodies.append(_path([*low, *reversed(high)], closed=True))
        lines.append(_path([(start + s, z) for s, z in wet]))
    for left, right, floor, level in _vessels(way, moment, scheme):
        bodies.append(_path([(left, floor), (right, floor), (right, level), (left, level)], closed=True))
        lines.append(_path([(left, level), (right, level)]))
    return Water("".join(bodies), "".join(lines), says)


def _wet(run: Run, points: tuple[XY, ...]) -> list[XY]:
    """The surface where it stands over the invert; nothing where the pipe carries nothing and is dry."""
    if len(points) < 2 or all(z - run.invert_at(s) < _WET_M for s, z in points):
        return []
    return [(s, max(z, run.invert_at(s))) for s, z in points]


def _vessels(way: Way, moment: Moment, scheme: Scheme) -> Iterator[tuple[float, float, float, float]]:
    """Basins along the way and the wells at its ends: from, to, floor, level."""
    for basin in scheme.basins:
        at, level = way.station_of(basin.id), moment.part_m.get(basin.id)
        if at is not None and level is not None and _stands(basin, level):
            yield at - 0.5 * basin.width_m, at + 0.5 * basin.width_m, basin.floor_m, level
    if way.runs:
        first, last = way.runs[0], way.runs[-1]
        for well in scheme.wells:
            level = moment.well_m[well.id]
            if well.id == last.to_id and _holds(well, level):
                yield from _filled(well, scheme, way.length_m, pit_along(last, well), level)
            elif well.id == first.from_id and _holds(well, level):
                yield from _filled(well, scheme, 0.0, pit_along(first, well, upstream=True), level)


def _filled(
    well: Well, scheme: Scheme, at: float, pit: Pit, level: float
) -> Iterator[tuple[float, float, float, float]]:
    """A well's pit up to its stone's top, and the riser of its overflow over that: from, to, floor, level."""
    first, left, right, _ = pit
    overflow = scheme.overflow_of(well.id)
    top = well.stone_top_m if known(well.stone_top_m) else level
    riser = overflow is not None and overflow.pipe is None and has_riser(well, overflow)
    yield at + left, at + right, well.bottom_m, min(level, top) if riser else level
    if riser and overflow is not None and level > top and known(overflow.diameter_m):
        half = max(0.5 * overflow.diameter_m, 0.06)
        yield at + first - half, at + first + half, top, level


def _stands(basin: Basin, level: float) -> bool:
    return known(basin.floor_m, basin.width_m, level) and level > basin.floor_m


def _holds(well: Well, level: float) -> bool:
    return known(well.bottom_m, level) and level > well.bottom_m + _WET_M


def _path(points: list[XY], *, closed: bool = False) -> str:
    return "M" + "L".join(f"{x:.3f} {y:.4f}" for x, y in points) + ("Z" if closed else "")
