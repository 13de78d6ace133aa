"""2. Does it fall? What lies on the pipe: wheels."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.falls import GROUND
from roofwell.checks.register import Context, Measured, check
from roofwell.system.dug_by import least_width_m, trench_width_m


@check(
    "pipe-under-wheels",
    question=2,
    needs=GROUND,
    value="flattening of {}",
    about="How far soil and wheels flatten a pipe under a drive. Bedding matters more than the kind of pipe.",
)
def pipe_under_wheels(context: Context) -> Iterator[Measured]:
    """Share of the diameter, run by run, under each drive."""
    style = context.survey.style
    limit = tables.limit("pipe-deflection")
    for wheel in context.scheme.wheel_loads:
        place = units.show_distance(wheel.station_m, style)
        known = wheel.flattening == wheel.flattening
        stone = units.show_percent(wheel.flattening_in_stone, 1) if known else ""
        mend = "" if wheel.in_stone or not known else f" Bedded in compacted stone to its middle: {stone}."
        yield Measured(
            subject=f"{wheel.run} under {wheel.drive}",
            value=round(wheel.flattening, 9),
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            show=lambda v: units.show_percent(v, 1),
            sentence=(
                f"A loaded wheel over {wheel.run}, {place} from its upper end under "
                f"{units.show_depth(wheel.cover_m, style)} of cover, flattens it.{mend}"
            ),
            source=limit.source,
            also_missing=() if known else ("runs.pipe",),
        )


@check(
    "cover-under-wheels",
    question=2,
    needs=GROUND,
    value="soil over {}",
    about="Thin-walled and corrugated pipe wants to lie deep where wheels pass.",
)
def cover_under_wheels(context: Context) -> Iterator[Measured]:
    """Cover of the kinds of pipe whose standard asks for it."""
    style = context.survey.style
    limit = tables.limit("wheel-cover", style)
    for wheel in context.scheme.wheel_loads:
        if not wheel.wants_depth:
            continue
        yield Measured(
            subject=f"{wheel.run} under {wheel.drive}",
            value=round(wheel.cover_m, 9),
            op="at least",
            limit=limit.value_si,
            scale=tables.limit("cover-scale", style).value_si,
            show=lambda v: units.show_depth(v, style),
            sentence=(
                f"{wheel.run} is a thin-walled or corrugated pipe; under wheels take SDR 35 or Schedule 40 in "
                "stone, or go deeper."
            ),
            source=limit.source,
        )


@check(
    "width-under-wheels",
    question=2,
    needs=GROUND,
    value="width of the trench of {}",
    about="A trench under wheels is wide enough to haunch the pipe. In lawn a narrower one is common.",
)
def width_under_wheels(context: Context) -> Iterator[Measured]:
    """Width of the trench against the published least one, where a run passes under a drive."""
    style = context.survey.style
    runs = {run.id: run for run in context.scheme.buried}
    for wheel in context.scheme.wheel_loads:
        outside = runs[wheel.run].outside_diameter_m
        width = trench_width_m(outside, context.survey.settings)
        least = least_width_m(outside, context.survey.settings)
        yield Measured(
            subject=f"{wheel.run} under {wheel.drive}",
            value=round(width, 9),
            op="at least",
            limit=round(least, 9),
            scale=tables.limit("width-scale", style).value_si,
            show=lambda v: units.show_depth(v, style),
            sentence=(
                f"Under {wheel.drive} the trench of {wheel.run} is {units.show_depth(width, style)} wide; the bedding "
                "beside the pipe must be packed by hand."
            ),
            source=tables.assumption("trench-width-beside-pipe", style).source,
        )
