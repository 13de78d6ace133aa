"""6. Where does it go when full? The order of heights: lip, basin grate, downspout joint, opening of the house."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check
from roofwell.system.heights import HeightRow, height_rows
from roofwell.system.scheme import Scheme
from roofwell.units import Style


@check(
    "order-of-heights",
    question=6,
    needs=("survey.ground", "wells.at", "site.outlet", "overflow.lip", "basins.levels"),
    value="least step up from the lip of {} to grate, joint and opening",
    about=(
        "From the lowest up: overflow lip, basin grate, downspout joint, lowest opening of the house, each a step over the "
        "one before, so that a full well lets go where it should. Another order wants a typed reason, which is printed; "
        "where the opening is lower than one of the others, no reason sets it aside."
    ),
)
def order_of_heights(context: Context) -> Iterator[Measured]:
    """The smallest step of each row."""
    style = context.survey.style
    step = tables.limit("level-order-step", style)
    for row in height_rows(context.scheme, context.survey.lowest_opening_m):
        least = row.least
        short = least is not None and least.step_m < step.value_si
        known = row.opening_known or short
        assumed = _assumed_joints(row, context.scheme)
        yield Measured(
            subject=row.overflow,
            value=round(least.step_m, 9) if least is not None else math.nan,
            op="at least",
            limit=step.value_si,
            scale=tables.limit("level-order-scale", style).value_si,
            uncertainty=tables.limit("joint-assumed", style).value_si if assumed else None,
            show=lambda v: units.show_depth(v, style),
            sentence=_words(row, style) + (_rests_on(assumed) if assumed else ""),
            source=step.source,
            also_missing=() if known else ("buildings.lowest_opening",),
            fixed=row.opening_lowest,
            detail=in_a_row(row, style),
        )


def _words(row: HeightRow, style: Style) -> str:
    least = row.least
    if least is None:
        return f"The lip of {row.overflow} has nothing over it but an opening that nobody has measured."
    low, high = least.lower.what, least.upper.what
    gap = units.show_depth(abs(least.step_m), style)
    if least.step_m <= 0:
        end = (
            "water comes into the house first" if least.upper.id == "house" else "water comes out there first"
        )
        level = f"{gap} over" if least.step_m < 0 else "level with"
        return f"{low[:1].upper()}{low[1:]} stands {level} {high}: {end}."
    first = "a full well lets go here first" if least.lower.id == row.overflow else "the order holds"
    return f"{low[:1].upper()}{low[1:]} stands {gap} under {high}: {first}."


def _assumed_joints(row: HeightRow, scheme: Scheme) -> tuple[str, ...]:
    """The downspouts of the smallest step whose joint nobody shot."""
    if row.least is None:
        return ()
    ends = (row.least.lower.id, row.least.upper.id)
    return tuple(id for id in ends if scheme.origin.get(f"{id}.joint_m") == "assumed")


def _rests_on(joints: tuple[str, ...]) -> str:
    return f" The joint of {joints[0]} is assumed, not shot: shoot it."


def in_a_row(row: HeightRow, style: Style) -> str:
    """Return the heights as one line, from the lowest that there should be."""
    words = [f"{one.what} {units.show_elevation(one.level_m, style)}" for one in row.heights]
    lacks = "" if row.opening_known else ", the lowest opening of the house not measured"
    return f"the order of heights: {', '.join(words)}{lacks}"
