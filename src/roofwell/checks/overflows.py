"""6. Where does it go when full?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check

LEVELS = ("survey.ground", "wells.at", "site.outlet", "overflow.lip")


@check(
    "overflow-destination",
    question=6,
    needs=("overflow.destination", "site.outlet"),
    about="The job says where the water of a full well, or of a daylight outlet, goes. Roofwell never assumes it.",
)
def overflow_destination(context: Context) -> Iterator[Measured]:
    """A number of wells and outlets whose water has no stated way on."""
    parts = [(o.id, o.of, o.destination or o.to) for o in context.scheme.overflows]
    parts += [(o.id, o.id, o.destination) for o in context.scheme.outlets]
    for id, of, destination in parts:
        yield Measured(
            subject=id,
            value=0.0 if destination else 1.0,
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: f"{v:.0f}",
            value_text=destination or "not said",
            limit_text="a named way on",
            sentence=(
                f"What {of} cannot take leaves at {id}: {destination}."
                if destination
                else f"Nobody has said where the water goes that {of} cannot take."
            ),
            source="own-choice",
            also_missing=() if destination else ("overflow.destination",),
        )


@check(
    "overflow-capacity",
    question=6,
    needs=("roofs",),
    about="What the overflow grate passes half blocked under a small head, against the cloudburst less soakage.",
)
def overflow_capacity(context: Context) -> Iterator[Measured]:
    """Weir, then orifice; half of edge and openings blocked."""
    style = context.survey.style
    head = tables.limit("overflow-head")
    for well in context.behaviour.wells:
        overflow = context.scheme.overflow_of(well.id)
        if overflow is None:
            continue
        yield Measured(
            subject=overflow.id,
            value=well.overflow_half_blocked_m3_s,
            op="at least",
            limit=well.overflow_peak_m3_s,
            scale=well.overflow_peak_m3_s,
            show=lambda v: units.show_flow(v, style),
            sentence=(
                f"Half blocked, the {units.show_size(overflow.diameter_m, style)} grate {overflow.id} lets "
                f"{units.show_flow(well.overflow_half_blocked_m3_s, style)} out under {head.text} of water; "
                f"in the cloudburst {units.show_flow(well.overflow_peak_m3_s, style)} must leave."
            ),
            source="txdot-grates",
        )


@check(
    "overflow-below-grate",
    question=6,
    needs=LEVELS,
    about="The overflow lip is the lowest way out: below each basin grate and each downspout joint that leads to it.",
)
def overflow_below_grate(context: Context) -> Iterator[Measured]:
    """Order of heights: overflow lip, basin grate, downspout joint."""
    style = context.survey.style
    step = tables.limit("level-order-step")
    for overflow in context.scheme.overflows:
        ways = [b for b in context.scheme.basins if _ends_in(context, b.id, overflow.of)]
        spouts = [s for s in context.scheme.downspouts if _ends_in(context, s.id, overflow.of)]
        lips = [(b.grate_m, f"the grate of {b.id}") for b in ways]
        lips += [(s.joint_m, f"the joint of {s.id}") for s in spouts]
        if not lips:
            continue
        level, what = min(lips)
        yield Measured(
            subject=overflow.id,
            value=round(level - overflow.lip_m, 9),
            op="at least",
            limit=step.value_si,
            scale=tables.limit("level-order-scale").value_si,
            show=lambda v: units.show_depth(v, style),
            sentence=(
                f"The lip of {overflow.id} stands {units.show_depth(level - overflow.lip_m, style)} under {what}: "
                "a full well lets go here first."
                if level > overflow.lip_m
                else f"The lip of {overflow.id} stands higher than {what}: a full well comes out there first."
            ),
            source=step.source,
        )


def _ends_in(context: Context, part: str, well: str) -> bool:
    way = context.scheme.way(part)
    return bool(way) and way[-1].to_id == well


@check(
    "overflow-below-opening",
    question=6,
    needs=(*LEVELS, "buildings.lowest_opening"),
    about="The overflow lip is below the lowest opening of the house. Never to be overruled.",
)
def overflow_below_opening(context: Context) -> Iterator[Measured]:
    """Freeboard from the lip to the lowest opening."""
    style = context.survey.style
    opening = context.survey.lowest_opening_m
    for overflow in context.scheme.overflows:
        spare = opening - overflow.lip_m if opening is not None else math.nan
        yield Measured(
            subject=overflow.id,
            value=spare,
            op="at least",
            limit=context.survey.settings["freeboard"],
            scale=tables.limit("freeboard-scale").value_si,
            show=lambda v: units.show_depth(v, style),
            sentence=(
                f"The well lets go {units.show_depth(spare, style)} below the lowest opening of the house."
                if opening is not None
                else "The lowest opening of the house is not known."
            ),
            source="common-practice",
        )


@check(
    "overflow-to-lot-line",
    question=6,
    needs=("features.lot_line", "place.rules", "wells.at"),
    about="Distance from the overflow to the lot line, where the office's rule file names one.",
    digging=False,
)
def overflow_to_lot_line(context: Context) -> Iterator[Measured]:
    """Only where the rule file names a distance."""
    rules = context.survey.rules
    rule = rules.discharge.to_lot_line if rules is not None else None
    if not isinstance(rule, units.Quantity):
        return
    style = context.survey.style
    for overflow in context.scheme.overflows:
        distance = overflow.distance_to_lot_line_m
        yield Measured(
            subject=overflow.id,
            value=distance if distance is not None else math.nan,
            op="at least",
            limit=rule.value_si,
            scale=rule.value_si,
            show=lambda v: units.show_distance(v, style),
            sentence=f"{overflow.id} lies {units.show_distance(distance, style)} from the lot line."
            if distance is not None
            else "The lot line is not known.",
            source="rule-file",
        )
