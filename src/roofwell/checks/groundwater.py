"""5. Does it hold and soak away? What the groundwater does to it, and it to the groundwater."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.holds import NEEDS
from roofwell.checks.register import Context, Measured, check
from roofwell.system.behaviour import Behaviour, Mound, MoundAtWall

HIGH_WATER = "soil.seasonal_high_water"
OF_THE_GROUND = ("soil.saturated_thickness", "soil.specific_yield", "soil.horizontal_conductivity")


def _assumed_ground(context: Context) -> tuple[str, ...]:
    """Figures of the ground that are assumed: while they are, what the mound fails is not known to fail."""
    return tuple(leaf for leaf in OF_THE_GROUND if leaf in context.assumed)


def _uncertainty(context: Context, rise_m: float) -> float | None:
    """How much a rise may be off while figures of the ground are assumed; else a tenth of the scale counts."""
    if not _assumed_ground(context):
        return None
    least = 0.1 * tables.limit("mound-scale", context.survey.style).value_si
    return max(least, tables.limit("mound-uncertain").value_si * rise_m)


def _mound(behaviour: Behaviour | None, id: str) -> Mound | None:
    return behaviour.well(id).mound if behaviour is not None else None


def _when(context: Context, mound: Mound) -> str:
    """The rises in words: under the storm, in the wettest 30 days, through the record."""
    style = context.survey.style
    text = f"{units.show_distance(mound.storm_m, style)} in the design storm"
    if mound.month_m is not None and mound.record_m is not None:
        text += (
            f", {units.show_distance(mound.month_m, style)} in the wettest 30 days of the record and "
            f"{units.show_distance(mound.record_m, style)} at most"
        )
    return text


def _held(mound: Mound, room_m: float) -> str:
    if room_m <= 0.0:
        return "The pit stands in the groundwater, and what is reckoned here does not hold for it."
    if mound.held is None:
        return "In the storms its soakage is held back so that it does not."
    return (
        "The soakage is held back so that it does not, in the storms and for "
        f"{units.show_time(mound.held.held_s)} of the record; without that it would spill "
        f"{mound.held.spills_year_without:.1f} times a year (steps of {units.show_time(mound.held.step_s)}; halving "
        f"them changed the spill by {units.show_percent(mound.held.spill_change, 2)})."
    )


def _how(context: Context, mound: Mound) -> str:
    terms = mound.three_dimensional if mound.solution == "three-dimensional" else mound.level_flow
    other = (
        f" Level flow alone would give {units.show_distance(mound.storm_level_flow_m, context.survey.style)} in the storm."
        if mound.solution == "three-dimensional"
        else ""
    )
    error = units.show_percent(terms.fit_error, 1)
    return f"Reckoned by {mound.solution} flow, its rise in time as {len(terms.amount_s)} exponentials to {error}.{other}"


@check(
    "mound-below-well",
    question=5,
    needs=(*NEEDS, HIGH_WATER, "survey.ground"),
    value="room over the groundwater under {}",
    about=(
        "Room between the pit's bottom and the seasonal high water with the highest mound on it, of the design storms "
        "and the whole record. Above 0 the mound leaves the soakage as it is. Where it would not be and figures of the "
        "ground are assumed, it is unknown."
    ),
)
def mound_below_well(context: Context) -> Iterator[Measured]:
    """The mound is linear in what soaks away; see the method."""
    style, high = context.survey.style, context.survey.soil.high_water_m
    for well in context.scheme.wells:
        mound = context.behaviour.well(well.id).mound
        if mound is None:
            continue
        ends = [_mound(side, well.id) for side in (context.low, context.high)]
        rises = [end.rise_m for end in ends if end is not None]
        room = well.bottom_m - high if high is not None else math.nan
        value = room - mound.rise_m
        short = any(room - rise < 0 for rise in (mound.rise_m, *rises))
        grown = f"The water soaked away raises the groundwater under {well.id} by {_when(context, mound)}"
        if high is None:
            rest = "; how near that comes to its bottom is not known, because the seasonal high water is not."
        elif value >= 0:
            rest = f"; at its highest it stands {units.show_distance(value, style)} under the bottom."
        else:
            over = units.show_distance(-value, style)
            rest = f"; free to rise it would stand {over} over its bottom. {_held(mound, room)}"
        far = (
            ""
            if mound.in_range
            else " That is more than half of the depth of ground that is full of water there, and the figure is too high."
        )
        yield Measured(
            subject=well.id,
            value=value,
            op="at least",
            limit=0.0,
            scale=tables.limit("mound-scale", style).value_si,
            uncertainty=_uncertainty(context, mound.rise_m),
            low=room - max(rises) if len(rises) == 2 else None,
            high=room - min(rises) if len(rises) == 2 else None,
            show=lambda v: units.show_distance(v, style),
            limit_text="the mound stays under the bottom",
            sentence=f"{grown}{rest}{far}",
            detail=_how(context, mound),
            source="hantush-1967" if mound.solution == "level flow" else "dagan-1967",
            also_missing=_assumed_ground(context) if short else (),
        )


@check(
    "mound-at-wall",
    question=5,
    needs=("wells.at", "site.outlet", "wells.size", "soil.rate"),
    value="groundwater at the wall of {}",
    about=(
        "The mound at the nearest wall of every building of the lot and of every neighbor's: a rise that is felt must "
        "leave the lowest floor above the seasonal high water with the mound on it. A building without a basement is "
        "left out."
    ),
)
def mound_at_wall(context: Context) -> Iterator[Measured]:
    """Each building once, with what all wells together do to it."""
    seen: set[str] = set()
    for well in context.behaviour.wells:
        for wall in well.mound.walls if well.mound is not None else ():
            if wall.id in seen or wall.basement is False:
                continue
            seen.add(wall.id)
            yield _wall(context, wall)


def _wall(context: Context, wall: MoundAtWall) -> Measured:
    style, high = context.survey.style, context.survey.soil.high_water_m
    felt = tables.limit("mound-felt", style)
    of = "the neighbor's building" if wall.neighbor else "the house"
    raised = (
        f"At the wall of {of} {wall.id}, {units.show_distance(wall.distance_m, style)} from the middle of the pit, "
        f"the groundwater rises by {units.show_depth(wall.rise_m, style)} at most."
    )
    if wall.floor_m is None or high is None:
        unfelt = wall.rise_m <= felt.value_si
        lacking = (() if high is not None else (HIGH_WATER,)) + (
            () if wall.floor_m is not None else ("buildings.lowest_floor",)
        )
        return Measured(
            subject=wall.id,
            value=wall.rise_m if unfelt else math.nan,
            op="at most",
            limit=felt.value_si,
            scale=felt.value_si,
            show=lambda v: units.show_depth(v, style),
            value_text=f"{units.show_depth(wall.rise_m, style)} of rise",
            sentence=raised if unfelt else f"{raised} Whether that reaches a basement floor is not known.",
            source=felt.source,
            also_missing=() if unfelt else lacking,
        )
    value = wall.floor_m - high - wall.rise_m
    return Measured(
        subject=wall.id,
        value=value,
        op="at least",
        limit=0.0,
        scale=tables.limit("mound-scale", style).value_si,
        uncertainty=_uncertainty(context, wall.rise_m),
        show=lambda v: units.show_distance(v, style),
        limit_text="the mound stays under the lowest floor",
        sentence=f"{raised} It then stands {units.show_distance(abs(value), style)} "
        f"{'under' if value >= 0 else 'over'} the lowest floor.",
        source="derived",
        also_missing=_assumed_ground(context) if value < 0 <= wall.floor_m - high else (),
    )
