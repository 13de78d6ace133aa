"""6. Where does it go when full?"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import shapely

from roofwell import tables, units
from roofwell.checks.openings import below_words, under_opening
from roofwell.checks.register import Context, Measured, check, office_limit
from roofwell.checks.ways_out import air_words
from roofwell.system import outlet_parts, overflow_parts
from roofwell.system.scheme import Overflow
from roofwell.system.shapes_of import shape_of

ON_ITS_WAY_M = 0.005  # less than is printed
LEVELS = ("survey.ground", "wells.at", "site.outlet", "overflow.lip")


@check(
    "overflow-destination",
    question=6,
    needs=("site.outlet", "overflow.outlet"),
    value="where the water of {} goes",
    about="The job says where the water of a full well, or of a daylight outlet, goes. Roofwell never assumes it.",
)
def overflow_destination(context: Context) -> Iterator[Measured]:
    """A number of wells and outlets whose water has no stated way on."""
    parts = [(o.id, o.of, o.destination or o.to) for o in context.scheme.overflows]
    parts += [(o.id, "", o.destination) for o in context.scheme.outlets]
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
            sentence=(_way_on(id, of, destination)),
            source="own-choice",
            also_missing=() if destination else ("overflow.destination",),
        )


def _way_on(id: str, of: str, destination: str | None) -> str:
    water = f"What {of} cannot take leaves at {id}" if of else f"The water leaves at {id}"
    return (
        f"{water}: {destination}." if destination else f"{water}; nobody has said where it goes from there."
    )


@check(
    "overflow-capacity",
    question=6,
    needs=("roofs", "downspouts", "overflow.size"),
    value="what {} lets out, half blocked",
    about=(
        "What the overflow passes half blocked under a small head, or its pipe running full, against the cloudburst less "
        "soakage."
    ),
)
def overflow_capacity(context: Context) -> Iterator[Measured]:
    """Half of edge and openings blocked; what it passes clean stands beside it."""
    style = context.survey.style
    for well in context.behaviour.wells:
        overflow = context.scheme.overflow_of(well.id)
        if overflow is None:
            continue
        head = overflow_parts.stated_head_m(overflow, style)
        tail = outlet_parts.tail_of(context.scheme, overflow.to)
        clean = overflow_parts.capacity_m3_s(overflow, head, 0.0, tail)
        piped = overflow_parts.mouth_of(overflow) is None
        state = "With" if piped else "Half blocked, with"
        depth = tables.limit("overflow-head", style).text if not piped else units.show_depth(head, style)
        yield Measured(
            subject=overflow.id,
            value=well.overflow_half_blocked_m3_s,
            op="at least",
            limit=well.overflow_peak_m3_s,
            scale=well.overflow_peak_m3_s,
            show=lambda v: units.show_flow(v, style),
            sentence=(
                f"{state} {depth} of water over its lip the {_what(overflow, style)} {overflow.id} lets "
                f"{units.show_flow(well.overflow_half_blocked_m3_s, style)} out"
                f"{'' if piped else f' (clean {units.show_flow(clean, style)})'}; "
                f"in the cloudburst {units.show_flow(well.overflow_peak_m3_s, style)} must leave."
            ),
            source=_SOURCES.get(overflow.kind, "txdot-grates") if not piped else "derived",
            detail=_detail(overflow, style),
        )


_SOURCES = {"level spreader": "hec-22-broad-crest"}


def _what(overflow: Overflow, style: units.Style) -> str:
    """Name an overflow by its size and kind."""
    size = units.show_size(overflow.diameter_m, style)
    if overflow_parts.mouth_of(overflow) is None:
        return f"{size} overflow pipe"
    if overflow.kind == "level spreader":
        return f"{units.show_distance(overflow.length_m, style)} level spreader"
    return f"{size} {'grate' if overflow.kind in ('grate', 'splash block') else overflow.kind}"


def _detail(overflow: Overflow, style: units.Style) -> str:
    words = []
    if overflow.kind == "pop-up emitter":
        lift, gap = (units.show_depth(one, style) for one in (overflow.lid_head_m, overflow.lid_travel_m))
        words.append(f"{lift} of water lift its lid, which rises {gap}")
    if overflow.pipe is not None:
        words.append(
            f"its pipe, {units.show_distance(overflow.pipe.length_m, style)} long, takes its own part of that head"
        )
    return "; ".join([*words, air_words(overflow)])


@check(
    "overflow-over-inlet",
    question=6,
    needs=(*LEVELS, "runs.invert", "runs.size"),
    value="from the pipe that comes in up to the lip of {}",
    about="The overflow lip is not lower than the top of the pipe that comes in: below it the well could not fill.",
)
def overflow_over_inlet(context: Context) -> Iterator[Measured]:
    """A lip under the inlet throws the storage over it away."""
    style = context.survey.style
    for overflow in context.scheme.overflows:
        runs = context.scheme.runs_to(overflow.of)
        if not runs:
            continue
        crown = max(run.downstream_invert_m + run.inside_diameter_m for run in runs)
        over = overflow.lip_m - crown
        words = f"{units.show_depth(abs(over), style)} {'over' if over >= 0 else 'under'} the top of the pipe into"
        yield Measured(
            subject=overflow.id,
            value=round(over, 9),
            op="at least",
            limit=0.0,
            scale=tables.limit("level-order-scale", style).value_si,
            show=lambda v: units.show_depth(v, style),
            limit_text="over the pipe that comes in",
            sentence=f"The lip of {overflow.id} stands {words} {overflow.of}.",
            source="derived",
        )


@check(
    "overflow-below-opening",
    question=6,
    needs=(*LEVELS, "buildings.lowest_opening"),
    value="from the lip of {} up to the lowest opening of the house",
    about="The overflow lip is below the lowest opening of the house. Never to be overruled.",
)
def overflow_below_opening(context: Context) -> Iterator[Measured]:
    """Freeboard from the lip to the lowest opening."""
    opening = context.survey.lowest_opening_m
    for overflow in context.scheme.overflows:
        yield under_opening(
            context,
            subject=overflow.id,
            level_m=overflow.lip_m,
            sentence=(
                f"The well lets go {below_words(context, overflow.lip_m)} the lowest opening of the house."
                if opening is not None
                else "The lowest opening of the house is not known."
            ),
        )


@check(
    "full-well-drain",
    question=6,
    needs=("survey.ground", "wells.at", "overflow.lip"),
    value="from the full well up to the drain, {}",
    about=(
        "The level of the full well lies below the inside bottom of every existing drain near it: a drain that lies "
        "lower takes the well's water away through the ground."
    ),
    digging=False,
)
def full_well_drain(context: Context) -> Iterator[Measured]:
    """Only drains near the pit; how near is a row of the limits."""
    style = context.survey.style
    near = tables.limit("drain-near", style)
    for well in context.scheme.wells:
        pit = shapely.Polygon(well.pit_corners)
        for drain in context.survey.of_kind("existing drain"):
            if not drain.points:
                continue
            away = float(shape_of(drain).distance(pit))
            if away > near.value_si:
                continue
            known = drain.invert_m is not None
            over = drain.invert_m - well.lip_m if drain.invert_m is not None else math.nan
            where = (
                f"The drain {drain.id}, {units.show_distance(away, style)} from the pit of {well.id}, lies"
            )
            yield Measured(
                subject=f"{well.id} {drain.id}",
                value=round(over, 9),
                op="at least",
                limit=0.0,
                scale=tables.limit("level-order-scale", style).value_si,
                show=lambda v: units.show_depth(v, style),
                limit_text="above the full well",
                sentence=(
                    f"{where} at a level that nobody has measured."
                    if not known
                    else f"{where} {units.show_depth(over, style)} above the full well."
                    if over >= 0
                    else f"{where} {units.show_depth(-over, style)} below the full well: a full well drains into it."
                ),
                source=near.source,
                also_missing=() if known else ("features.drain_invert",),
            )


@check(
    "overflow-to-lot-line",
    question=6,
    needs=("wells.at", "site.outlet"),
    value="from {} to the lot line",
    about="Distance from each place where water comes out to the lot line, where the office's rule file names one.",
    digging=False,
)
def overflow_to_lot_line(context: Context) -> Iterator[Measured]:
    """Only where the rule file names a distance."""
    rules = context.survey.rules
    lines = [shape_of(f) for f in context.survey.of_kind("lot line")]
    rule = rules.discharge.to_lot_line if rules is not None else None
    yield from _come_out(context, rule, lines, "lot line", "features.lot_line", {})


@check(
    "overflow-to-building",
    question=6,
    needs=("wells.at", "site.outlet"),
    value="from the water of {} to the house",
    about=(
        "Distance to the house of the water that comes out, all along its way over the ground where that is known, where "
        "the office's rule file names one."
    ),
    digging=False,
)
def overflow_to_building(context: Context) -> Iterator[Measured]:
    """Only where the rule file names a distance."""
    rules = context.survey.rules
    houses: list[shapely.Geometry] = [
        shapely.Polygon(b.outline) for b in context.survey.buildings if len(b.outline) >= 3
    ]
    rule = rules.discharge.to_building if rules is not None else None
    over = context.behaviour.overland
    ways = over.ways if over is not None else ()
    kept = {
        way.part: min(near.distance_m for near in way.houses) for way in ways if way.points and way.houses
    }
    yield from _come_out(context, rule, houses, "house", "buildings.outline", kept)


def _come_out(
    context: Context,
    rule: units.Quantity | str | None,
    things: Sequence[shapely.Geometry],
    what: str,
    leaf: str,
    kept: Mapping[str, float],
) -> Iterator[Measured]:
    """Straight distances; ``kept``: how near the water comes on its way, by the part that it leaves."""
    if rule is None:
        return
    style = context.survey.style
    limit = office_limit(rule)
    places = [(o.id, o.at) for o in context.scheme.overflows if o.to is None]
    places += [(o.id, o.at) for o in context.scheme.outlets if o.in_the_open]
    for id, at in places:
        distance = min((float(thing.distance(shapely.Point(at))) for thing in things), default=math.nan)
        nearer = kept.get(id, math.inf) < distance - ON_ITS_WAY_M
        distance = min(distance, kept.get(id, math.inf))
        yield Measured(
            subject=id,
            value=round(distance, 6),
            op="at least",
            limit=limit.value,
            scale=limit.scale,
            show=lambda v: units.show_distance(v, style),
            limit_text=limit.text,
            sentence=(
                f"{id} lies {units.show_distance(distance, style)} from the {what}."
                if math.isfinite(distance) and not nearer
                else f"The water of {id} comes within {units.show_distance(distance, style)} of the {what} on its way."
                if math.isfinite(distance)
                else f"Nobody has measured where the {what} is."
            ),
            source="rule-file",
            also_missing=limit.missing + (() if things else (leaf,)),
        )
