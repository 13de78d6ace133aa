"""4. Does it stay clean? What stays wet: how long weep holes take, and whether mosquitoes get at it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.groundwater import HIGH_WATER
from roofwell.checks.register import Context, Measured, check
from roofwell.system.behaviour import WeepTime
from roofwell.units import Style

ALL_SUMMER = "all summer"


def _time(seconds: float) -> str:
    return units.show_time(seconds) if math.isfinite(seconds) else "never"


@check(
    "weep-drain",
    question=4,
    needs=("basins.levels", "basins.pea_stone", "soil.rate", HIGH_WATER, "survey.ground"),
    value="time to drain {}",
    about=(
        "Time in which the weep holes of a basin drain it and the pipes behind it, all holes open: the holes by the orifice "
        "formula, the stone under them by what the soil takes through its floor. Half plugged and plugged are told beside."
    ),
    digging=False,
)
def weep_drain(context: Context) -> Iterator[Measured]:
    """Against the time that mosquitoes need; the well's own time to empty stands beside it elsewhere."""
    style = context.survey.style
    limit = tables.limit("mosquito-standing")
    stone_known = "basins.pea_stone" not in context.missing
    for weeps in context.behaviour.weeps:
        yield Measured(
            subject=weeps.basin,
            value=weeps.empty_s.best,
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            show=_time,
            low=weeps.empty_s.low if stone_known else None,
            high=weeps.empty_s.high if stone_known else None,
            sentence=weep_words(weeps, style, limit.value_si),
            source=limit.source,
            detail=_weep_detail(weeps, style),
        )


def weep_words(weeps: WeepTime, style: Style, limit_s: float) -> str:
    """Say what the weep holes do, what they leave, what mends it."""
    what = f"{weeps.basin} ({units.show_volume(weeps.basin_m3, style)})"
    if weeps.runs:
        behind = " and ".join(weeps.runs)
        what += f" and the {units.show_volume(weeps.pipe_m3, style)} that stand in {behind}"
    if weeps.stands_m > 0:
        return (
            f"At its seasonal high the groundwater stands {units.show_depth(weeps.stands_m, style)} deep in "
            f"{weeps.basin} through its weep holes: they drain nothing then. Close them and keep mosquitoes out by mesh."
        )
    if not math.isfinite(weeps.empty_s.best):
        return (
            f"The weep holes drain nothing: the soil under {weeps.basin} takes no water. Close them; keep mosquitoes out by "
            "mesh."
        )
    words = f"Open, the weep holes drain {what} in {_time(weeps.empty_s.best)}; plugged, never."
    if weeps.empty_s.best > limit_s:
        words += (
            " Pea stone that reaches farther round the basin shortens it: twice its floor, half the time."
        )
    return words + " Weep holes clog soon: rod them whenever the basin is emptied."


def _weep_detail(weeps: WeepTime, style: Style) -> str:
    if not math.isfinite(weeps.empty_s.best):
        return ""
    held = "the soil" if weeps.soil_s > 0.5 * weeps.empty_s.best else "the holes"
    spread = (
        f"By the soil's range {_time(weeps.empty_s.low)} to {_time(weeps.empty_s.high)}. "
        if weeps.empty_s.low != weeps.empty_s.high
        else ""
    )
    return (
        f"{spread}With half of them plugged {_time(weeps.half_s.best)}. Held back by {held}: the holes pass "
        f"{units.show_flow(weeps.holes_m3_s, style)} at first, the soil takes {units.show_flow(weeps.soil_m3_s, style)} "
        f"through {units.show_area(weeps.soil_area_m2, style)}. The stone is empty {_time(weeps.bed_s)} later. The "
        "source advises against weep holes because they clog."
    )


@check(
    "mosquito-water",
    question=4,
    value="how long mosquitoes get at water in {}",
    about=(
        "How long water stands in warm months where mosquitoes can get at it: sumps, pipes that hold water, wells; none "
        "where fine mesh or a tight lid closes it."
    ),
    digging=False,
)
def mosquito_water(context: Context) -> Iterator[Measured]:
    """Deny access, or drain in time."""
    limit = tables.limit("mosquito-standing")

    def found(subject: str, stands_s: float, closed: bool | None, words: str, leaf: str = "") -> Measured:
        value = 0.0 if closed else stands_s
        unsaid = closed is None and stands_s > limit.value_si
        lacking: tuple[str, ...] = (leaf,) if unsaid and leaf else ()
        if not closed and leaf and "basins.levels" in context.missing:
            lacking += ("basins.levels",)
        return Measured(
            subject=subject,
            value=value,
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            show=_time,
            low=0.0 if unsaid else None,
            high=stands_s if unsaid else None,
            value_text="closed to them" if closed else ALL_SUMMER if math.isinf(stands_s) else None,
            sentence=words,
            source=limit.source,
            detail=(
                "In a trial a closed cover kept all mosquitoes out where nothing else was open, and fewer came where a pipe "
                "stood open (Harbison and others, 2009): some may still come by the gutter."
                if closed
                else ""
            ),
            also_missing=lacking,
        )

    style = context.survey.style
    weeps = {one.basin: one for one in context.behaviour.weeps}
    for basin in context.scheme.basins:
        if not basin.sump_m > 0:
            continue
        drains = weeps.get(basin.id)
        stands = drains.empty_s.best if drains is not None else math.inf
        holds = f"{basin.id} keeps {units.show_depth(basin.sump_m, style)} of water"
        if basin.mosquito_screen:
            words = f"{holds}; mesh or a tight lid keeps mosquitoes from it."
        elif drains is not None and stands <= limit.value_si:
            words = f"{holds} for {_time(stands)} while its weep holes are open; plugged, all summer."
        else:
            said = "nobody said whether" if basin.mosquito_screen is None else "and"
            words = (
                f"{holds} all summer, {said} mosquitoes can get at it. Fine mesh under the grate, or a tight lid, mends "
                "that."
            )
        yield found(basin.id, stands, basin.mosquito_screen, words, "basins.mosquito_screen")
    for water in context.behaviour.standing:
        if water.rising_run == water.run:
            yield found(
                water.run,
                math.inf,
                False,
                f"{water.run} falls the wrong way and keeps {units.show_volume(water.pipe_volume_m3, style)} all summer; "
                "mosquitoes reach it from its ends. Lay it to fall.",
            )
    if context.survey.soil.known and "wells.size" not in context.missing:
        for well in context.behaviour.stores:
            words = (
                f"Full, {well.label} is empty again after {_time(well.drain_time_s)}."
                if math.isfinite(well.drain_time_s)
                else f"{well.label} never empties."
            )
            yield found(well.label, well.drain_time_s, False, words)
