"""6. Where does it go when full? The water's way over the ground, to where it leaves the lot."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.openings import below_words, under_opening
from roofwell.checks.register import Context, Measured, check
from roofwell.system.behaviour import Behaviour
from roofwell.system.overland_facts import Near, SpillWay
from roofwell.units import Style

PLACES = ("wells.at", "site.outlet", "survey.ground")
UNKNOWN_WAY = ("survey.overflow_path",)


def place_words(at: tuple[float, float], style: Style) -> str:
    """Return a place as the document writes it."""
    return f"[{units.show_distance(at[0], style)}, {units.show_distance(at[1], style)}]"


def ways_of(context: Context) -> tuple[SpillWay, ...]:
    """Return the ways of water over the ground; none while a search goes on."""
    over = context.behaviour.overland
    return over.ways if over is not None else ()


@check(
    "overflow-path",
    question=6,
    needs=PLACES,
    value="way of the water of {}",
    about=(
        "The way over the ground of what leaves an overflow or a daylight outlet, down to the lot line, a street or open "
        "water, with its depth and width in the cloudburst. Where the shots end before: the shot that would settle it. "
        "A way drawn in the job is held against it; one that is drawn through the house is close at best."
    ),
    digging=False,
)
def overflow_path(context: Context) -> Iterator[Measured]:
    """Whether the shots show the whole way."""
    for way in ways_of(context):
        known = way.leaves_at is not None
        lacks = () if known else UNKNOWN_WAY
        if not known and not context.survey.of_kind("lot line"):
            lacks = (*lacks, "features.lot_line")
        yield Measured(
            subject=way.part,
            value=0.0 if known else 1.0,
            op="at most",
            limit=0.0,
            scale=0.0,
            uncertainty=1.0 if way.drawn is not None and way.drawn.houses else None,
            show=lambda v: f"{v:.0f}",
            value_text=f"to {way.leaves_by}" if known else "not known to its end",
            limit_text="a way that the shots show",
            sentence=_way_words(way, context.survey.style)
            + _drawn_words(way, context.survey.style)
            + (_line_words(context) if known else ""),
            source="jones-1990",
            also_missing=lacks,
            detail=_way_detail(way, context),
        )


def _way_words(way: SpillWay, style: Style) -> str:
    if way.leaves_at is None:
        shot = f" Shoot the ground at {place_words(way.next_shot, style)}." if way.next_shot else ""
        part = f" Known are its first {units.show_distance(way.length_m, style)}." if way.points else ""
        return f"Where the water of {way.part} leaves the lot is not known: {way.why_not}.{part}{shot}"
    words = (
        f"The water of {way.part} runs {units.show_distance(way.length_m, style)} over the ground to {way.leaves_by}, "
        f"at {place_words(way.leaves_at, style)}"
    )
    deepest, widest = way.deepest, way.widest
    if deepest is not None and widest is not None:
        words += (
            f"; {units.show_flow(way.flow_m3_s, style)} in the cloudburst run at most "
            f"{units.show_depth(deepest.depth_m, style)} deep and {units.show_distance(widest.width_m, style)} wide"
        )
    elif way.flow_m3_s <= 0:
        words += "; in the cloudburst nothing leaves"
    for pond in way.ponds:
        words += (
            f"; it first fills a bowl {units.show_depth(pond.depth_m, style)} deep, of "
            f"{units.show_area(pond.area_m2, style)}, up to {units.show_elevation(pond.level_m, style)}"
        )
    return f"{words}."


def _drawn_words(way: SpillWay, style: Style) -> str:
    """What the job draws against what the shots show; nothing where the two agree."""
    drawn = way.drawn
    if drawn is None:
        return ""
    words = ""
    if drawn.off_m is None or drawn.off_at is None:
        words = f" The path drawn for {way.part} is borne out by no shot."
    elif not drawn.follows:
        words = (
            f" The drawn path leaves the found one by {units.show_distance(drawn.off_m, style)}, at "
            f"{place_words(drawn.off_at, style)}: the plan shows both."
        )
    if drawn.houses:
        words += (
            f" It is drawn through {', '.join(drawn.houses)}, where no water runs: draw it round the house."
        )
    return words


def _line_words(context: Context) -> str:
    """Flow over the lot line with and without the system; nothing where a way to it is not known."""
    over, style = context.behaviour.overland, context.survey.style
    if over is None or over.line.unknown_before or over.line.unknown_after or not over.line.after:
        return ""
    after, before = over.line.after_m3_s, over.line.before_m3_s
    return (
        f" With the wells full {units.show_flow(after, style)} leave the lot over the ground; from bare downspouts, "
        f"each at its lower end and nothing soaking in, it would be {units.show_flow(before, style)}."
    )


def _way_detail(way: SpillWay, context: Context) -> str:
    style = context.survey.style
    out = []
    if any(not one.in_hollow for one in way.water):
        slope = tables.assumption("overland-side-slope", style).text
        out.append(
            f"where the shots show no hollow the water is taken to stand in a V that rises {slope} to either side"
        )
    if way.water:
        n = tables.assumption("overland-manning-n", style).text
        out.append(f"grass at n = {n}; nothing soaks in on the way, and bowls are full already")
    if way.record_flow_m3_s:
        depth = f", {units.show_depth(way.record_depth_m, style)} deep at most" if way.record_depth_m else ""
        volume = units.show_volume(way.record_volume_m3 or 0.0, style)
        stays = "; all of it stays in the bowls on the way" if way.record_stays else ""
        out.append(
            f"the worst spill of the record: {units.show_flow(way.record_flow_m3_s, style)}{depth}, {volume} in all{stays}"
        )
    loose = context.survey.loose_break_lines
    if loose:
        out.append(f"break line {', '.join(loose)}: fewer than two shots lie on it, so it is not used")
    return "; ".join(out)


@check(
    "spill-below-opening",
    question=6,
    needs=(*PLACES, "buildings.lowest_opening"),
    value="from the spilled water to the house, {}",
    about=(
        "Water on its way over the ground keeps away from the walls of the house, or stays below its lowest opening, "
        "window wells included. Never to be overruled."
    ),
)
def spill_below_opening(context: Context) -> Iterator[Measured]:
    """Freeboard of the highest water near the house; its distance where none comes near."""
    style = context.survey.style
    near = tables.limit("spill-near-house", style)
    opening = context.survey.lowest_opening_m
    for way in ways_of(context):
        for house in way.houses if way.points else ():
            if house.level_m is None:
                yield Measured(
                    subject=f"{way.part} {house.id}",
                    value=house.distance_m,
                    op="at least",
                    limit=near.value_si,
                    scale=0.0,
                    show=lambda v: units.show_distance(v, style),
                    sentence=(
                        f"The water of {way.part} keeps {units.show_distance(house.distance_m, style)} from the walls of "
                        f"{house.id} on its way."
                    ),
                    source=near.source,
                )
                continue
            yield under_opening(
                context,
                subject=f"{way.part} {house.id}",
                level_m=house.level_m,
                sentence=(
                    f"The water of {way.part} passes {house.id} at {units.show_distance(house.distance_m, style)}, "
                    + (
                        f"{below_words(context, house.level_m)} its lowest opening."
                        if opening is not None
                        else "and its lowest opening is not known."
                    )
                ),
            )


@check(
    "spill-to-septic",
    question=6,
    needs=PLACES,
    value="from the spilled water to the septic system, {}",
    about="Water on its way over the ground keeps off septic tank and leach field.",
    digging=False,
)
def spill_to_septic(context: Context) -> Iterator[Measured]:
    """Distance from the water's edge."""
    for way in ways_of(context):
        yield from _keeps_off(context, way, way.septic, "spill-to-septic")


@check(
    "spill-to-neighbor",
    question=6,
    needs=PLACES,
    value="from the spilled water to the neighbor's building, {}",
    about="Water on its way over the ground, as far as the lot line, keeps off a neighbor's building.",
    digging=False,
)
def spill_to_neighbor(context: Context) -> Iterator[Measured]:
    """Distance from the water's edge."""
    for way in ways_of(context):
        yield from _keeps_off(context, way, way.neighbors, "spill-to-neighbor")


def _keeps_off(context: Context, way: SpillWay, things: tuple[Near, ...], key: str) -> Iterator[Measured]:
    style = context.survey.style
    limit = tables.limit(key, style)
    for thing in things:
        kept = units.show_distance(thing.distance_m, style)
        yield Measured(
            subject=f"{way.part} {thing.id}",
            value=round(thing.distance_m, 6),
            op="at least",
            limit=limit.value_si,
            scale=limit.value_si,
            show=lambda v: units.show_distance(v, style),
            sentence=(
                f"The water of {way.part} runs over the {thing.kind} {thing.id}."
                if thing.distance_m <= 0
                else f"The water of {way.part} keeps {kept} from the {thing.kind} {thing.id} on its way."
            ),
            source=limit.source,
        )


@check(
    "spill-on-walk",
    question=6,
    needs=PLACES,
    value="spills of {} over a walk or drive in winter",
    about=(
        "How often water of the overflow runs over a walk or drive where the ground freezes: it turns to ice. Spills in "
        "months that may bring snow, where these are known; else all of them."
    ),
    digging=False,
)
def spill_on_walk(context: Context) -> Iterator[Measured]:
    """Spills a year on a walk; none where no walk is crossed or the ground does not freeze."""
    limit = tables.limit("spill-over-walk", context.survey.style)
    frost = context.survey.soil.frost_depth_m
    for way in ways_of(context):
        if not way.points:
            continue
        crossed = ", ".join(way.walks)
        often, words = _how_often(way, context.behaviour)
        missing: tuple[str, ...] = ()
        if not way.walks:
            often, sentence = 0.0, f"The water of {way.part} crosses no walk or drive."
        elif frost == 0:
            often, sentence = (
                0.0,
                f"The water of {way.part} crosses {crossed}; the ground does not freeze here.",
            )
        else:
            sentence = f"The water of {way.part} crosses {crossed} {words}: in frost it turns to ice there."
            missing = () if frost is not None else ("soil.frost_depth",)
            if math.isnan(often):
                missing = (*missing, "rain.record")
        yield Measured(
            subject=way.part,
            value=often,
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            show=lambda v: f"{v:.2g} a year",
            value_text=words if math.isinf(often) else None,
            sentence=sentence,
            source=limit.source,
            also_missing=missing,
        )


def _how_often(way: SpillWay, behaviour: Behaviour) -> tuple[float, str]:
    """Spills a year, and in words."""
    if not way.of:
        return math.inf, "in every rain"
    record = behaviour.well(way.of).record
    if record is None:
        return math.nan, "nobody knows how often"
    if record.snow_spill_events is not None:
        often = record.snow_spill_events / record.years
        return often, f"about {often:.2g} times a year in months that may bring snow"
    return record.spills_year, f"about {record.spills_year:.2g} times a year"


@check(
    "bowl-runs-in",
    question=6,
    needs=("wells.at", "survey.ground", "overflow.lip"),
    value="level of the puddle or bowl at {}",
    about=(
        "Where a well or basin lies in the puddle that stood before, or in a bowl of the ground: its lip or grate lies "
        "lower than the bowl fills, so that the bowl's water runs in too."
    ),
    digging=False,
)
def bowl_runs_in(context: Context) -> Iterator[Measured]:
    """The level of the bowl against the lip."""
    over, style = context.behaviour.overland, context.survey.style
    for bowl in over.bowls if over is not None else ():
        spare = bowl.level_m - bowl.lip_m
        what = "puddle that stood" if bowl.seen else "bowl of the ground"
        at = "lip" if bowl.lip_of != bowl.part else "grate"
        words = (
            f"The {what} at {bowl.part} reaches {units.show_elevation(bowl.level_m, style)}; the {at} of {bowl.lip_of} "
            f"stands {units.show_depth(abs(spare), style)} "
        )
        yield Measured(
            subject=bowl.part,
            value=round(spare, 9),
            op="at least",
            limit=0.0,
            scale=tables.limit("level-order-scale", style).value_si,
            show=lambda v: units.show_depth(v, style),
            limit_text=f"the {at} below the bowl's level",
            sentence=words
            + (
                "lower: its water runs in. That of the lawn is not counted in the storage."
                if spare >= 0
                else "higher: the puddle stays, and its water does not get in."
            ),
            source="derived",
        )
