"""2. Does it fall?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

import shapely

from roofwell import tables, units
from roofwell.checks import level_words
from roofwell.checks.register import Context, Measured, check, setting_source
from roofwell.system.pipe_slopes import least_slope
from roofwell.system.routing import AT_THE_WALL_M
from roofwell.system.scheme import XY, CrossedThing, Run
from roofwell.system.shapes_of import basin_outline

IN_TOUCH_M = 0.01
GROUND = ("survey.ground", "wells.at", "site.outlet", "runs.invert")


@check(
    "pipe-slope",
    question=2,
    needs=GROUND,
    value="slope of {}",
    about="Each run falls at least as much as its size wants, so that it clears itself.",
)
def pipe_slope(context: Context) -> Iterator[Measured]:
    """Least slope, run by run."""
    style = context.survey.style
    for run in context.scheme.runs:
        limit, source = least_slope(run.nominal_m, context.survey)
        yield Measured(
            subject=run.id,
            value=round(run.slope_m_m, 12),
            op="at least",
            limit=limit,
            scale=tables.limit("slope-scale").value_si,
            show=lambda v: units.show_slope(v, style),
            sentence=(
                f"{run.id} falls {units.show_depth(run.fall_m, style)} over "
                f"{units.show_distance(run.length_m, style)}, from {run.from_id} to {run.to_id}."
            ),
            source=source,
        )


@check(
    "pipe-cover",
    question=2,
    needs=GROUND,
    value="soil over {}",
    about="Soil over the outside top of each pipe, where it is thinnest for what wants it: lawn, walk, drive, frost.",
)
def pipe_cover(context: Context) -> Iterator[Measured]:
    """Least cover, run by run, at its worst station."""
    style = context.survey.style
    for run in context.scheme.buried:
        spare = [run.cover_at(i) - want for i, want in enumerate(run.cover_least_m)]
        worst = min(range(len(spare)), key=lambda i: spare[i])
        limit = run.cover_least_m[worst]
        if limit <= 0:
            continue
        kind, _, feature = (run.cover_by[worst] if run.cover_by else "lawn").partition(":")
        station = units.show_distance(run.stations_m[worst], style)
        yield Measured(
            subject=run.id,
            value=round(run.cover_at(worst), 9),
            op="at least",
            limit=limit,
            scale=tables.limit("cover-scale", style).value_si,
            show=lambda v: units.show_depth(v, style),
            sentence=(
                f"The soil over {context.scheme.called(run)} is thinnest {station} from {run.from_id}"
                + (f", under the {kind} {feature}." if feature else ".")
                + (" The job asks for pipes below the frost." if kind == "frost" else "")
            ),
            source="own-choice" if kind == "frost" else setting_source(context, f"cover_{kind}"),
        )


@check(
    "crossing-clearance",
    question=2,
    needs=GROUND,
    value="clear space, {}",
    about="Clear space between each pipe and each buried thing that it crosses.",
)
def crossing_clearance(context: Context) -> Iterator[Measured]:
    """A crossing whose depth is not known reads unknown: it must be dug out by hand first."""
    style = context.survey.style
    limit = context.survey.settings["crossing_clearance"]
    for run in context.scheme.buried:
        for thing in run.crossings:
            own = any(thing.id == other.id for other in context.scheme.buried)
            if own and not thing.over:
                continue  # told by the run that passes over
            known = thing.clearance_m is not None
            pipe, what = _pipe(context, run), _named(thing, own=own)
            side = "over" if thing.over else "under"
            yield Measured(
                subject=f"{run.id} at {thing.id}",
                value=thing.clearance_m if thing.clearance_m is not None else math.nan,
                op="at least",
                limit=limit,
                scale=tables.limit("clearance-scale", style).value_si,
                show=lambda v: units.show_depth(v, style),
                sentence=(
                    f"{pipe} passes {side} {what}, {units.show_depth(thing.clearance_m, style)} clear."
                    if thing.clearance_m is not None
                    else f"{pipe} crosses {what}, whose depth is not known."
                    if thing.top_m is None
                    else f"{_pipe(context, run)} passes under {_named(thing, own=own)}, whose diameter nobody has measured."
                ),
                source=setting_source(context, "crossing_clearance"),
                also_missing=() if known else ("features.utility_depth",),
            )


def _pipe(context: Context, run: Run) -> str:
    """Return a buried pipe at the start of a sentence."""
    words = context.scheme.called(run)
    return words[0].upper() + words[1:]


def _named(thing: CrossedThing, *, own: bool) -> str:
    """Return what a run crosses as one speaks of it: the gas line, the existing drain, the run P4."""
    if own or thing.label.split()[-1] in ("sewer", "drain", "line", "pipe"):
        return f"the {thing.label}"
    return "a buried line of unknown kind" if thing.label == "unknown" else f"the {thing.label} line"


@check(
    "path-clear",
    question=2,
    needs=("wells.at", "site.outlet"),
    value="length of runs inside buildings or pits",
    about="Each run keeps out of buildings, and out of pits and basins that it does not lead to.",
)
def path_clear(context: Context) -> Iterator[Measured]:
    """Length of run inside what it must go around; one finding where all is clear."""
    scheme, style = context.scheme, context.survey.style
    inside = [
        (run, name, length)
        for run in scheme.buried
        for name, length in _within(context, run)
        if length > IN_TOUCH_M
    ]
    if not scheme.buried:
        return
    for subject, length, words in [
        (
            f"{run.id} in {name}",
            length,
            f"{_pipe(context, run)} passes through {name} for {units.show_distance(length, style)}.",
        )
        for run, name, length in inside
    ] or [("runs", 0.0, "Every run keeps out of buildings, and of pits that it does not lead to.")]:
        yield Measured(
            subject=subject,
            value=round(length, 9),
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: units.show_distance(v, style),
            sentence=words,
            source="own-choice",
        )


def _within(context: Context, run: Run) -> list[tuple[str, float]]:
    """How far a run lies within each thing that it must go around, m."""
    closed = list(_closed_to(context, run))
    cut = shapely.intersection(shapely.LineString(run.path), [ground for _, ground in closed])
    return [(name, float(length)) for (name, _), length in zip(closed, shapely.length(cut), strict=True)]


@lru_cache(maxsize=64)
def _off_the_wall(outline: tuple[XY, ...]) -> shapely.Geometry:
    return shapely.Polygon(outline).buffer(-AT_THE_WALL_M)


def _closed_to(context: Context, run: Run) -> Iterator[tuple[str, shapely.Geometry]]:
    """What a run must go around; a building without the strip along its wall, where downspouts stand."""
    for building in context.survey.buildings:
        if len(building.outline) >= 3:
            yield building.id, _off_the_wall(building.outline)
    ends = (run.from_id, run.to_id)
    overflows = {overflow.id: overflow.of for overflow in context.scheme.overflows}
    for well in context.scheme.wells:
        if well.id not in ends and well.id not in {overflows.get(end) for end in ends}:
            yield f"the pit of {well.id}", shapely.Polygon(well.pit_corners)
    for basin in context.scheme.basins:
        if basin.id not in ends:
            yield basin.id, shapely.Polygon(basin_outline(basin))


@check(
    "level-closure",
    question=2,
    value="what the level book is off by",
    about="What the level book is off by when it comes back to a benchmark. Nothing is spread unless the job asks.",
)
def level_closure(context: Context) -> Iterator[Measured]:
    """Only where the book comes back to a known point."""
    book = context.survey.level_book
    if book is None or book.closure_m is None:
        return
    style = context.survey.style
    limit = tables.limit("level-closure", style)
    off = abs(book.closure_m)
    spread = ", spread over the set-ups" if book.adjusted else ""
    yield Measured(
        subject="level book",
        value=round(off, 9),
        op="at most",
        limit=limit.value_si,
        scale=limit.value_si,
        show=lambda v: units.show_elevation(v, style),
        sentence=f"Back at the benchmark the level book is {units.show_elevation(off, style)} off{spread}.",
        source=limit.source,
    )


@check(
    "levels-fit",
    question=2,
    needs=GROUND,
    value="pipe levels",
    about="All wishes of level can be kept at once: cover, slope, clearances, inlets and outlets.",
)
def levels_fit(context: Context) -> Iterator[Measured]:
    """Every set of wishes that cannot be kept together, none of which can be left out, with what is missing."""
    scheme = context.scheme
    if not scheme.runs:
        return
    style = context.survey.style
    seen: list[str] = []
    for conflict in scheme.level_conflicts:
        seen.append(" ".join(conflict.runs) or "levels")
        times = seen.count(seen[-1])
        yield _unfit(
            seen[-1] if times == 1 else f"{seen[-1]} ({times})",
            conflict.missing_m,
            level_words.sentence(conflict, scheme, style),
            style,
        )
    told = {run for conflict in scheme.level_conflicts for run in conflict.runs}
    rest = [item for item in scheme.broken if item.run not in told]
    worst = max(rest, key=lambda item: item.short_m, default=None)
    if worst is not None and (not scheme.level_conflicts or worst.kind.startswith("agreement")):
        words = (
            f"The levels do not fit: {worst.kind.replace('-', ' ')} of {worst.run} is "
            f"{units.show_depth(worst.short_m, style)} short."
        )
        yield _unfit(f"levels of {worst.run}", worst.short_m, words, style)
    elif not scheme.level_conflicts:
        yield _unfit("levels", 0.0, "The levels fit: every pipe keeps its slope and its cover.", style)


def _unfit(subject: str, short_m: float, words: str, style: units.Style) -> Measured:
    return Measured(
        subject=subject,
        value=short_m,
        op="at most",
        limit=0.0,
        scale=0.0,
        show=lambda v: units.show_depth(v, style),
        value_text="all levels fit" if short_m == 0.0 else f"{units.show_elevation(short_m, style)} missing",
        limit_text="nothing missing",
        sentence=words,
        source="derived",
    )
