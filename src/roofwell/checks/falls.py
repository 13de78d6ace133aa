"""2. Does it fall?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check, setting_source
from roofwell.system.trench_parts import PipeSize, least_slope

COVERED_BY = ("lawn", "walk", "drive")
GROUND = ("survey.ground", "wells.at", "site.outlet", "runs.invert")


@check(
    "pipe-slope",
    question=2,
    needs=GROUND,
    about="Each run falls at least as much as its size wants, so that it clears itself.",
)
def pipe_slope(context: Context) -> Iterator[Measured]:
    """Least slope, run by run."""
    style = context.survey.style
    for run in context.scheme.runs:
        size = PipeSize(run.pipe, run.nominal_m, run.inside_diameter_m, run.outside_diameter_m, run.manning_n)
        rules = context.survey.rules
        named = rules is not None and isinstance(rules.pipe.least_slope, units.Quantity)
        limit = least_slope(size, context.survey)
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
            source="rule-file" if named else tables.limit("pipe-slope-least").source,
        )


@check(
    "pipe-cover",
    question=2,
    needs=GROUND,
    about="Soil over the outside top of each pipe, where it is thinnest: under lawn, walk or drive.",
)
def pipe_cover(context: Context) -> Iterator[Measured]:
    """Least cover, run by run, at its worst station."""
    style = context.survey.style
    for run in context.scheme.runs:
        spare = [run.cover_at(i) - want for i, want in enumerate(run.cover_least_m)]
        worst = min(range(len(spare)), key=lambda i: spare[i])
        limit = run.cover_least_m[worst]
        if limit <= 0:
            continue
        settings = context.survey.settings
        setting = next(
            (f"cover_{kind}" for kind in COVERED_BY if settings[f"cover_{kind}"] == limit), "cover_lawn"
        )
        station = units.show_distance(run.stations_m[worst], style)
        yield Measured(
            subject=run.id,
            value=round(run.cover_at(worst), 9),
            op="at least",
            limit=limit,
            scale=tables.limit("cover-scale").value_si,
            show=lambda v: units.show_depth(v, style),
            sentence=f"{run.id} lies shallowest {station} from {run.from_id}.",
            source=setting_source(context, setting),
        )


@check(
    "crossing-clearance",
    question=2,
    needs=GROUND,
    about="Clear space between a run and each buried thing that it crosses.",
)
def crossing_clearance(context: Context) -> Iterator[Measured]:
    """A crossing whose depth is not known reads unknown: it must be dug out by hand first."""
    style = context.survey.style
    limit = context.survey.settings["crossing_clearance"]
    for run in context.scheme.runs:
        for thing in run.crossings:
            known = thing.clearance_m is not None
            side = "over" if thing.over else "under"
            yield Measured(
                subject=f"{run.id} at {thing.id}",
                value=thing.clearance_m if thing.clearance_m is not None else math.nan,
                op="at least",
                limit=limit,
                scale=tables.limit("clearance-scale").value_si,
                show=lambda v: units.show_depth(v, style),
                sentence=(
                    f"{run.id} passes {side} the {thing.label}."
                    if known
                    else f"{run.id} crosses the {thing.label}, whose depth is not known."
                ),
                source=setting_source(context, "crossing_clearance"),
                also_missing=() if known else ("features.utility_depth",),
            )


@check(
    "level-closure",
    question=2,
    about="What the level book is off by when it comes back to a benchmark. Nothing is spread unless the job asks.",
)
def level_closure(context: Context) -> Iterator[Measured]:
    """Only where the book comes back to a known point."""
    book = context.survey.level_book
    if book is None or book.closure_m is None:
        return
    style = context.survey.style
    limit = tables.limit("level-closure")
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
    about="All wishes of level can be kept at once: cover, slope, clearances, inlets and outlets.",
)
def levels_fit(context: Context) -> Iterator[Measured]:
    """What the levels leave over: the largest shortfall of any constraint."""
    if not context.scheme.runs:
        return
    style = context.survey.style
    worst = max(context.scheme.broken, key=lambda item: item.short_m, default=None)
    if worst is None:
        words = "The levels fit: every pipe keeps its slope and its cover."
    else:
        words = (
            f"The levels do not fit: {worst.kind.replace('-', ' ')} of {worst.run} is "
            f"{units.show_depth(worst.short_m, style)} short."
        )
    yield Measured(
        subject="levels",
        value=worst.short_m if worst is not None else 0.0,
        op="at most",
        limit=0.0,
        scale=0.0,
        show=lambda v: units.show_depth(v, style),
        value_text="all levels fit" if worst is None else f"{units.show_depth(worst.short_m, style)} short",
        limit_text="nothing short",
        sentence=words,
        source="derived",
    )
