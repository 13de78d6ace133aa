"""6. Where does it go when full? What if a part on the way does not work while the overflow does."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.carries import LEVELS
from roofwell.checks.register import Context, Measured, check
from roofwell.checks.what_if_words import sentence


@check(
    "blocked-below-opening",
    question=6,
    needs=(*LEVELS, "buildings.lowest_opening", "overflow.lip"),
    value="from the water up to the lowest opening, one part blocked",
    about=(
        "With any one part on the way blocked, plugged or never emptied while the overflow works, the water stays below the "
        "lowest opening of the house, in the cloudburst with the wells full and in every design storm. Where the last way "
        "out itself is shut the water is shown and warned of, not judged. Never to be overruled."
    ),
)
def blocked_below_opening(context: Context) -> Iterator[Measured]:
    """The worst of all cases; none while a search goes on."""
    found = context.behaviour.what_if
    if found is None or not found.judged:
        return
    style = context.survey.style
    worst = max(found.judged, key=lambda case: max(case.house_m, case.storm_m))
    opening = context.survey.lowest_opening_m
    yield Measured(
        subject="house",
        value=opening - max(worst.house_m, worst.storm_m) if opening is not None else math.nan,
        op="at least",
        limit=0.0,
        scale=tables.limit("freeboard-scale", style).value_si,
        show=lambda v: units.show_depth(v, style),
        limit_text="below the lowest opening",
        sentence=sentence(worst, context.scheme, style),
        source="derived",
    )
