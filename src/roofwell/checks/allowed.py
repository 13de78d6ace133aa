"""7. Is it allowed, is it safe?"""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check, office_limit
from roofwell.system.leaks import Leak, leaking_parts
from roofwell.system.shapes_of import shape_of

SETBACK_LEAF = {
    "building": None,
    "neighbor's building": "features.neighbor",
    "lot line": "features.lot_line",
    "septic tank": "features.septic",
    "leach field": "features.septic",
    "drinking-water well": "features.water_well",
    "slope crest": "features.slope_crest",
    "tree": None,
    "utility": None,
}
INCH = 0.0254


def _distance(context: Context, leak: Leak, kind: str) -> float | None:
    """Least distance in plan from the edge of a part that leaks to things of a kind, m; None where there is none."""
    pit = shapely.Polygon(leak.outline)
    if kind == "building":
        outlines = [b.outline for b in context.survey.buildings if len(b.outline) >= 3]
        things: list[shapely.Geometry] = [shapely.Polygon(outline) for outline in outlines]
    else:
        things = [shape_of(f) for f in context.survey.of_kind(kind)]
    lots = [
        f.points for f in context.survey.of_kind("lot line") if f.shape == "outline" and len(f.points) >= 3
    ]
    if kind == "lot line" and lots and not any(shapely.Polygon(lot).contains(pit) for lot in lots):
        return -min(float(pit.distance(thing)) for thing in things)  # over the line: on somebody else's land
    return min((float(pit.distance(thing)) for thing in things), default=None)


PUBLISHED_AS = {
    "building": "building",
    "neighbor's building": "building",
    "lot line": "boundary",
    "septic tank": "septic",
    "leach field": "septic",
    "drinking-water well": "water well",
    "slope crest": "steep slope",
}


def _range_of(table: str, subject: str) -> tuple[float, float] | None:
    """Mildest and strictest published least distance of a table, m."""
    found = [
        units.parse(row["value"], units.Dimension.LENGTH).value_si
        for row in tables.rows(table)
        if row["subject"] == subject and row["dimension"] == "length" and row["bound"] == "least"
    ]
    return (min(found), max(found)) if found else None


@check(
    "setback",
    question=7,
    needs=("wells.at", "site.outlet", "wells.size"),
    value="{}",
    about=(
        "Distance in plan from the edge of the well's pit to house, lot line, septic, wells, crest, tree, utility: at "
        "least what the office's rule file says. Without a rule file it is unknown, beside the strictest published "
        "figure. A basin with weep holes and a perforated run leak too, and keep the distances of a well."
    ),
)
def setback(context: Context) -> Iterator[Measured]:
    """One finding for each part that leaks and each kind of thing."""
    style = context.survey.style
    none = set(context.job.site.none)
    for leak in leaking_parts(context.scheme):
        for kind, leaf in SETBACK_LEAF.items():
            distance = _distance(context, leak, kind)
            if distance is None and kind in none:
                continue
            lacking: tuple[str, ...] = ()
            rule = context.survey.rules.setback(kind) if context.survey.rules is not None else None
            published = _range_of("setback_published", PUBLISHED_AS[kind]) if kind in PUBLISHED_AS else None
            limit_text = None
            if isinstance(rule, units.Quantity):
                limit, source = rule.value_si, "rule-file"
            elif rule is None and (context.survey.rules is not None or published is None):
                continue
            elif published is None:
                limit, source, lacking = math.nan, "rule-file", ("place.rules",)
                limit_text = "ask the office"
            else:
                limit, source, lacking = published[1], "setback-published", ("place.rules",)
                low, high = (units.show_distance(v, style) for v in published)
                limit_text = f"ask the office; published {low} to {high}"
            if distance is None:
                if leaf is None or leaf not in context.missing:
                    continue
                lacking = (*lacking, leaf)
            yield Measured(
                subject=f"{leak.id} to {kind}",
                value=round(distance, 6) if distance is not None else math.nan,
                op="at least",
                limit=limit,
                scale=limit,
                show=lambda v: units.show_distance(v, style),
                limit_text=limit_text,
                sentence=(
                    f"{leak.edge} is {units.show_distance(distance, style)} from the {kind}."
                    if distance is not None and distance >= 0
                    else f"{leak.id} lies outside the lot."
                    if distance is not None
                    else f"Nobody has said where the {kind} is, or that there is none."
                ),
                source=source,
                also_missing=tuple(lacking),
            )


@check(
    "separation",
    question=7,
    needs=(
        "soil.seasonal_high_water",
        "survey.ground",
        "wells.at",
        "site.outlet",
        "wells.size",
        "runs.invert",
    ),
    value="from the bottom of {} down to the seasonal high water",
    about=(
        "Height of the pit's bottom over the seasonal high water; of the stone under a basin with weep holes, and of a "
        "perforated run, too."
    ),
)
def separation(context: Context) -> Iterator[Measured]:
    """From the rule file, else the strictest published one as a range."""
    style = context.survey.style
    rules = context.survey.rules
    rule = rules.well.separation if rules is not None else None
    high = context.survey.soil.high_water_m
    limit_text = None
    lacking: tuple[str, ...] = ()
    if isinstance(rule, units.Quantity):
        limit, source = rule.value_si, "rule-file"
    else:
        found = _range_of("separation_published", "seasonal high water") or (math.nan, math.nan)
        limit, source, lacking = max(found), "separation-published", ("place.rules",)
        limit_text = (
            f"ask the office; published {units.show_distance(min(found), style)} to "
            f"{units.show_distance(max(found), style)}"
        )
    for leak in leaking_parts(context.scheme):
        value = leak.bottom_m - high if high is not None else math.nan
        # water seen in a dry season stands between there and the ground in the wet one
        open_range = high is not None and "soil.seasonal_high_water" in context.missing
        over = units.show_distance(value, style) if high is not None else ""
        yield Measured(
            subject=leak.id,
            value=value,
            op="at least",
            limit=limit,
            scale=limit,
            low=leak.bottom_m - max(leak.ground_m, high) if open_range and high is not None else None,
            high=value if open_range else None,
            show=lambda v: units.show_distance(v, style),
            value_text=f"at most {over}" if open_range else None,
            limit_text=limit_text,
            sentence=(
                "The seasonal high water is not known."
                if high is None
                else f"{leak.under} stands {over} over water seen outside the wet season, in which it rises."
                if open_range
                else f"{leak.under} stands {over} over the seasonal high water."
            ),
            source=source,
            also_missing=tuple(lacking),
        )


@check(
    "utilities-located",
    question=7,
    value="buried lines",
    about="Buried lines were located and marked before anybody digs.",
)
def utilities_located(context: Context) -> Iterator[Measured]:
    """Never assumed."""
    located = context.survey.utilities_located
    yield Measured(
        subject="utilities",
        value=1.0 if located else 0.0,
        op="at least",
        limit=1.0,
        scale=0.0,
        show=lambda v: "located" if v else "not located",
        value_text=context.survey.utilities_note,
        limit_text="located and marked",
        sentence=f"Buried lines: {context.survey.utilities_note}.",
        source="common-practice",
        also_missing=("utilities",) if located is None else (),
    )


@check(
    "deepest-pit",
    question=7,
    needs=("survey.ground", "wells.at", "site.outlet", "wells.size", "runs.invert"),
    value="depth of the pit of {}",
    about="Depth of the pit against the deepest that the office allows, where its rule file names one.",
)
def deepest_pit(context: Context) -> Iterator[Measured]:
    """Only where the rule file names a depth."""
    rules = context.survey.rules
    rule = rules.well.deepest_pit if rules is not None else None
    if rule is None:
        return
    limit = office_limit(rule)
    style = context.survey.style
    for well in context.scheme.wells:
        depth = well.ground_m - well.bottom_m
        yield Measured(
            subject=well.id,
            value=round(depth, 9),
            op="at most",
            limit=limit.value,
            scale=limit.scale,
            limit_text=limit.text,
            also_missing=limit.missing,
            show=lambda v: units.show_distance(v, style),
            sentence=f"The pit of {well.id} is {units.show_distance(depth, style)} deep.",
            source="rule-file",
        )


@check(
    "drain-sound",
    question=7,
    needs=("features.drain_condition",),
    value="existing drain {}",
    about="An existing drain that the system runs into is sound.",
)
def drain_sound(context: Context) -> Iterator[Measured]:
    """Only drains that an outlet names as its destination."""
    for feature in context.survey.of_kind("existing drain"):
        used = any(feature.id in (o.destination or "") for o in context.scheme.outlets)
        if not used:
            continue
        yield Measured(
            subject=feature.id,
            value=1.0 if feature.condition == "sound" else 0.0,
            op="at least",
            limit=1.0,
            scale=0.0,
            show=lambda v: "sound" if v else "not sound",
            value_text=feature.condition or "not inspected",
            limit_text="sound",
            sentence=f"The existing drain {feature.id} is {feature.condition or 'not inspected'}.",
            source="common-practice",
        )


def notes(context: Context) -> tuple[str, ...]:
    """Return the cautions of law and safety that this Scheme asks for; they are not verdicts."""
    out = []
    style = context.survey.style
    deep, ladder = tables.limit("deep-pit", style), tables.limit("ladder-pit", style)
    ratio = tables.limit("injection-depth-ratio").value_si
    for well in context.scheme.wells:
        depth = well.ground_m - well.bottom_m
        widest = max(well.pit_length_m, well.pit_width_m)
        if depth >= deep.value_si - INCH / 8:
            out.append(f"{well.id}: from {deep.text} of depth nobody enters the unprotected hole.")
        elif depth >= ladder.value_si:
            out.append(f"{well.id}: from {ladder.text} of depth a ladder stands in the hole.")
        if depth > ratio * widest:
            out.append(
                f"{well.id} is deeper than it is wide: in the US it may count as an injection well. Ask the office "
                "whether an inventory form is needed."
            )
    out += _deep_trenches(context)
    out += _winter(context)
    return tuple(out)


def _deep_trenches(context: Context) -> list[str]:
    """Say which trenches are too deep to be worked in unprotected; the bedding is dug out too."""
    style = context.survey.style
    deep = tables.limit("deep-pit", style)
    bedding = tables.assumption("pipe-bedding", style).value_si
    words = []
    for run in context.scheme.buried:
        depths = [
            ground - run.invert_at(station) + run.wall_m + bedding
            for station, ground in zip(run.stations_m, run.ground_m, strict=True)
        ]
        if depths and max(depths) >= deep.value_si - INCH / 8:
            words.append(f"{context.scheme.called(run)} ({units.show_distance(max(depths), style)})")
    if not words:
        return []
    return [
        f"Trench deeper than {deep.text}: {', '.join(words)}. Slope, shore or shield it before anybody steps in."
    ]


def _winter(context: Context) -> list[str]:
    """Say which parts hold water in winter; frozen, a part may split or keep the next thaw's water out."""
    held = context.behaviour.held_water
    if not held:
        return []
    style = context.survey.style
    frost = context.survey.soil.frost_depth_m
    words = []
    for item in held:
        place = f"its water {units.show_depth(item.under_ground_m, style)} under the ground"
        if item.above_frost:
            place += ", in the frost"
        words.append(f"{item.id} ({item.what}, {units.show_depth(item.depth_m, style)} deep, {place})")
    depth = "not given" if frost is None else units.show_depth(frost, style)
    return [f"Holds water in winter: {'; '.join(words)}. Frost depth here: {depth}."]
