"""The figures under a long section: station, ground, cover, crown, invert and the three water levels."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.papers.drawing.model import Strip, StripColumn, known
from roofwell.papers.drawing.way import Way
from roofwell.papers.drawing.way_water import WayWater
from roofwell.papers.texts import Say
from roofwell.system.pipe_ends import ENDS, pipe_end
from roofwell.system.scheme import Run, Scheme

_SAME_M = 0.0005
DRY = "dry"


def strip_of(scheme: Scheme, way: Way, water: WayWater, say: Say, *, covered: bool) -> Strip | None:
    """Return the strip of a way; rows of which nothing is known are left away. ``covered``: ground known."""
    unit = say.level_unit
    names = (
        "at",
        f"station, {unit}",
        f"ground, {unit}",
        f"cover, {'in' if say.style == 'us' else 'mm'}",
        f"crown, {unit}",
        f"invert, {unit}",
        "water left standing",
        "water, well full",
        f"water, {water.years:g}-year cloudburst",
    )
    columns = [
        column for n in range(len(way.runs)) for column in _columns(scheme, way, n, water, say, covered)
    ]
    shown = [n for n in range(len(names)) if any(column.cells[n] not in ("", "?", DRY) for column in columns)]
    if not columns:
        return None
    return Strip(
        tuple(names[n] for n in shown),
        tuple(StripColumn(c.x_m, tuple(c.cells[n] for n in shown), c.strong, c.needed) for c in columns),
    )


def _columns(
    scheme: Scheme, way: Way, index: int, water: WayWater, say: Say, covered: bool
) -> Iterator[StripColumn]:
    run, start = way.runs[index], way.starts_m[index]
    before = way.runs[index - 1] if index else None
    after = way.runs[index + 1] if index + 1 < len(way.runs) else None
    upper, lower = (pipe_end(scheme, run, end) for end in ENDS)
    first, last = upper.station_m, lower.station_m
    if upper.wall is not None or (before is not None and not _level_through(before, run)):
        yield _column(way, run, start, first, f"{run.from_id} out", water, say, covered, strong=True)
    elif before is None:
        yield _column(way, run, start, first, run.from_id, water, say, covered, strong=True)
    step = 10 * 0.3048 if say.style == "us" else 3.0
    whole = math.floor((start + first) / step + 1e-6) + 1
    while whole * step - start < last - 0.05 * step:
        yield _column(way, run, start, whole * step - start, "", water, say, covered, needed=False)
        whole += 1
    for crossing in run.crossings:
        if 0.0 < crossing.station_m < run.length_m:
            yield _column(way, run, start, crossing.station_m, crossing.id, water, say, covered)
    through = lower.wall is None and (after is None or _level_through(run, after))
    name = run.to_id if through else f"{run.to_id} in"
    yield _column(way, run, start, last, name, water, say, covered, strong=True)


def _level_through(a: Run, b: Run) -> bool:
    """Return whether the pipe goes on at a joint as it came: same invert, same bore, or nothing known."""
    if not known(a.downstream_invert_m, b.upstream_invert_m):
        return True
    return (
        abs(a.downstream_invert_m - b.upstream_invert_m) < _SAME_M
        and abs(a.inside_diameter_m - b.inside_diameter_m) < _SAME_M
    )


def _column(
    way: Way,
    run: Run,
    start: float,
    station: float,
    at: str,
    water: WayWater,
    say: Say,
    covered: bool,
    *,
    strong: bool = False,
    needed: bool = True,
) -> StripColumn:
    ground = way.ground_at(start + station) if covered else math.nan
    invert = run.invert_at(station) if run.length_m > 0 else math.nan
    crown = invert + run.inside_diameter_m
    over = ground - crown - run.wall_m
    cover = "none" if over <= 0 else say.depth(over).removesuffix(" in").removesuffix(" mm")
    cells = (
        at,
        say.station(start + station),
        say.level(ground),
        cover,
        say.level(crown),
        say.level(invert),
        _level(water.left_at(run, station), say),
        _level(water.still_at(run, station), say),
        say.level(water.peak_at(run, station)),
    )
    return StripColumn(start + station, cells, strong, needed)


def _level(level_m: float | None, say: Say) -> str:
    return DRY if level_m is None else say.level(level_m)
