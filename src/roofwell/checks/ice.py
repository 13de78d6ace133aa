"""3. Does it carry? What ice closes in water that stands all winter."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check
from roofwell.system.behaviour import HeldWater

FROST = "soil.frost_depth"


@check(
    "ice-in-water",
    question=3,
    needs=("basins.levels", "survey.ground", "runs.invert"),
    value="share of {} that ice closes in winter",
    about=(
        "Share of a pipe's bore, or of the mouth of a hood, that ice closes in water that stands all winter, ice taken to "
        "reach down to the frost depth. A plain outlet stays open over the ice."
    ),
    digging=False,
)
def ice_in_water(context: Context) -> Iterator[Measured]:
    """Unknown only where frost could close it and nobody said how deep it goes."""
    limit = tables.limit("ice-closes")
    for item in context.behaviour.held_water:
        closes = item.closes
        lacking: tuple[str, ...] = ()
        if closes is None:
            no_frost = context.survey.rain.snow_months == ()
            closes = 0.0 if no_frost else item.closes_most
            lacking = () if no_frost or closes <= limit.value_si else (FROST,)
        yield Measured(
            subject=item.id,
            value=round(closes, 9),
            op="at most",
            limit=limit.value_si,
            scale=0.0,
            low=0.0 if lacking else None,
            high=closes if lacking else None,
            show=units.show_percent,
            sentence=_words(context, item, closes, unknown=bool(lacking)),
            source=limit.source,
            also_missing=lacking,
        )


def _words(context: Context, item: HeldWater, closes: float, *, unknown: bool) -> str:
    style = context.survey.style
    holds = f"{item.id} keeps {units.show_depth(item.depth_m, style)} of water in winter"
    if not item.way:
        return (
            f"{holds}; frozen, its plain outlet stays open over the ice, but it keeps no grit until it thaws."
        )
    way = "the hood's mouth" if item.way == "mouth" else "the pipe"
    under = units.show_depth(item.way_under_m, style) if math.isfinite(item.way_under_m) else "some depth"
    lies = f"{way} lies {under} under the ground"
    mend = (
        "Lift the hood out before the frost, or let it reach deeper."
        if item.way == "mouth"
        else "Lay the pipe so that it drains."
    )
    if unknown:
        return f"{holds}; {lies}, and how deep frost goes here is not known."
    frost = context.survey.soil.frost_depth_m
    if closes <= 0:
        depth = "" if frost is None else f", frost goes {units.show_depth(frost, style)}"
        return f"{holds}; {lies}{depth}: it stays open."
    return f"{holds}; {lies}, and ice closes {units.show_percent(closes)} of it. {mend}"
