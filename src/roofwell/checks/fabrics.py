"""4. Does it stay clean? The geotextile against soil and stone, and the loose stone over it at the lawn."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks import fabric_words as words
from roofwell.checks.register import Context, Measured, check
from roofwell.physics.well.filter import fabric_flow_m_s
from roofwell.system.stone_and_fabric import asked_of_fabric, soil_beside_well, widest_opening_m
from roofwell.tables import fabrics
from roofwell.units import Style

HAIR_M = 1e-10  # a fabric that does in every soil of a range is good, not close
SOME_M = 1e-3  # asked is some loose stone, no depth: a tolerance, for a depth typed as 0 in other units


@check(
    "fabric-opening",
    question=4,
    value="openings of the geotextile of {}",
    about=(
        "Apparent opening size of the geotextile against the soil: at most what AASHTO M288 allows by the share of the "
        "soil that passes No. 200 (0.43, 0.25 or 0.22 mm; 0.30 mm where the soil is cohesive), and no finer than No. 100 "
        "(0.15 mm), which clogs. A texture stands for a range of soils: met in part of it is close."
    ),
    digging=False,
)
def fabric_opening(context: Context) -> Iterator[Measured]:
    """Too wide lets soil through, too fine clogs."""
    least, style = tables.limit("fabric-opening-least"), context.survey.style
    for well in context.scheme.wells:
        if well.fabric is None:
            continue
        soil = soil_beside_well(context.job, well)
        rows = asked_of_fabric(soil)
        ends = [round(widest_opening_m(row, soil), 9) for row in rows]
        size = round(well.fabric.opening_m, 9)
        fine = size < least.value_si
        known = soil.fines is not None or size <= min(ends)
        limit = min(ends) if soil.fines is None and known else max(ends)
        if soil.fines is not None:
            limit = round(widest_opening_m(fabrics.filter_row(soil.fines.best), soil), 9)
        if fine:
            sentence = (
                f"The fabric of {well.id} has openings of {words.opening(size, style)}: it holds every soil back, and "
                f"silt closes it. The widest that the soil allows, {words.opening(limit, style)}, stays open longest."
            )
        else:
            holds = "holds back" if size <= limit else "lets through part"
            sentence = (
                f"The fabric of {well.id}, openings {words.opening(size, style)}, {holds} "
                f"{_object(words.fines(soil), size <= limit)}. {words.lined(well)}"
            )
        yield Measured(
            subject=well.id,
            value=size,
            op="at least" if fine else "at most",
            limit=least.value_si if fine else limit,
            scale=0.0,
            uncertainty=0.0 if fine else max(0.0, limit - min(ends) - HAIR_M),
            show=lambda v: words.opening(v, style),
            sentence=sentence,
            source=least.source if fine else "m288-cohesive" if soil.cohesive else "m288-filter",
            low=None if known or fine else size,
            high=None if known or fine else size,
            also_missing=() if known or fine else ("soil.grains",),
        )


def _object(fines: str, holds: bool) -> str:
    """The soil as an object: of what passes No. 200, or of a texture."""
    if fines.startswith(("of which", "that")):
        return f"{'a soil' if holds else 'of a soil'} {fines}"
    return fines.removeprefix("of ") if holds else fines


@check(
    "fabric-permittivity",
    question=4,
    value="how well water passes the geotextile of {}",
    about=(
        "Permittivity of the geotextile against the soil: at least what AASHTO M288 asks by the share of the soil that "
        "passes No. 200 (0.5, 0.2 or 0.1 per s)."
    ),
    digging=False,
)
def fabric_permittivity(context: Context) -> Iterator[Measured]:
    """Water must pass the cloth more easily than the soil."""
    for well in context.scheme.wells:
        if well.fabric is None:
            continue
        soil = soil_beside_well(context.job, well)
        ends = [row.permittivity_per_s for row in asked_of_fabric(soil)]
        value = well.fabric.permittivity_per_s
        known = soil.fines is not None or value >= max(ends)
        limit = max(ends) if soil.fines is None and known else min(ends)
        if soil.fines is not None:
            limit = fabrics.filter_row(soil.fines.best).permittivity_per_s
        yield Measured(
            subject=well.id,
            value=value,
            op="at least",
            limit=limit,
            scale=0.0,
            uncertainty=max(0.0, max(ends) - limit - 1e-12),
            show=words.permittivity,
            sentence=(
                f"The fabric of {well.id} has a permittivity of {words.permittivity(value)} against soil "
                f"{words.fines(soil)}."
            ),
            source="m288-filter",
            low=None if known else value,
            high=None if known else value,
            also_missing=() if known else ("soil.grains",),
        )


@check(
    "fabric-flow",
    question=4,
    value="what the geotextile of {} passes, over what the soil takes",
    about=(
        "What the clean geotextile passes under the 50 mm head of its test, over what the soil takes at the fast end of its "
        "range: at least ten times, so that a cloth nine tenths blinded still does not hold the water back."
    ),
    digging=False,
)
def fabric_flow(context: Context) -> Iterator[Measured]:
    """Flow by the definition of permittivity against the measured rate, without its safety factor."""
    style = context.survey.style
    limit, head = tables.limit("fabric-flow-ratio"), tables.limit("fabric-head", style)
    tested = tables.limit("fabric-head", "metric").value_si  # the test's own head; in inches it is only said
    for well in context.scheme.wells:
        if well.fabric is None:
            continue
        passes = fabric_flow_m_s(permittivity_per_s=well.fabric.permittivity_per_s, head_m=tested)
        takes = max(context.survey.soil.high_m_s, context.survey.soil.best_m_s)
        if takes <= 0:
            continue  # soil that takes nothing is failed elsewhere; no cloth holds its water back
        ratio = passes / takes
        yield Measured(
            subject=well.id,
            value=ratio,
            op="at least",
            limit=limit.value_si,
            scale=limit.value_si,
            show=lambda v: f"{v:,.0f} times" if v >= 10 else f"{v:.1f} times",
            sentence=(
                f"The clean fabric of {well.id} passes {flow_index(passes, style)} under {head.text} of water, "
                f"{ratio:,.0f} times what the soil takes ({units.show_rate(takes, style)})."
            ),
            source=limit.source,
        )


def flow_index(passes_m_s: float, style: Style) -> str:
    """Write the flow of a fabric as its sheet does: gpm per sq ft, or L/s per m²."""
    if style == "metric":
        return f"{passes_m_s * 1000:.1f} L/s per m²"
    return f"{passes_m_s / (3.785411784e-3 / 60) * 0.3048**2:.1f} gpm/sq ft"


@check(
    "fabric-fine-soil",
    question=4,
    value="share of fines in the soil at {}",
    about=(
        "Share of the soil that passes No. 200 where a geotextile lies: from 85 % on no geotextile without a design of its "
        "own (UFC 3-270-04), since such soil can blind it. From a texture it is the middle of its class; where only part of "
        "the class is so fine, it is close."
    ),
    digging=False,
)
def fabric_fine_soil(context: Context) -> Iterator[Measured]:
    """Unknown where nobody described the soil."""
    limit = tables.limit("fabric-fines")
    for well in context.scheme.wells:
        if well.fabric is None:
            continue
        soil = soil_beside_well(context.job, well)
        value = math.nan if soil.fines is None else soil.fines.best
        fine = value >= limit.value_si
        sentence = (
            f"{well.id} has its geotextile against soil {words.fines(soil)}"
            + (": so fine that it can clog a geotextile." if fine else ".")
            + (
                " A layer of washed concrete sand against the walls does instead, or a fabric that an engineer chose from a "
                "sieving."
                if fine
                else ""
            )
        )
        yield Measured(
            subject=well.id,
            value=value,
            op="at most",
            # at 85 % itself there is none any more
            limit=math.nextafter(limit.value_si, 0.0),
            limit_text=f"below {limit.text}",
            scale=0.0,
            uncertainty=0.0 if soil.fines is None else max(0.0, soil.fines.high - soil.fines.best),
            show=units.show_percent,
            sentence=sentence,
            source=limit.source,
            also_missing=("soil.grains",) if soil.fines is None else (),
        )


@check(
    "fabric-class",
    question=4,
    value="strength of the geotextile of {}",
    about=(
        "Strength class of the geotextile (AASHTO M288): 2 or stronger against crushed stone, 3 against rounded stone."
    ),
    digging=False,
)
def fabric_class(context: Context) -> Iterator[Measured]:
    """1 is the strongest."""
    for well in context.scheme.wells:
        if well.fabric is None:
            continue
        limit = tables.limit("fabric-class" if well.stone_shape == "crushed" else "fabric-class-rounded")
        value = well.fabric.strength_class
        row = next(row for row in tables.rows("geotextile_classes") if row["class"] == str(value))
        torn = "" if value <= limit.value_si else ": sharp stone can tear it while it is set. Take class 2."
        yield Measured(
            subject=well.id,
            value=float(value),
            op="at most",
            limit=limit.value_si,
            scale=0.0,
            show=lambda v: f"class {v:.0f}",
            sentence=(
                f"The fabric of {well.id} is class {value} (grab strength {row['grab_n']} N) against "
                f"{well.stone_shape} stone{torn or '.'}"
            ),
            source=limit.source,
        )


@check(
    "top-stone",
    question=4,
    value="loose stone over the geotextile of {}",
    about=(
        "Where stone comes up to the lawn: loose stone over a sheet of geotextile, to be lifted and renewed when it silts "
        "up, so that the stone below stays clean. Without it what washes in stays for good."
    ),
    digging=False,
)
def top_stone(context: Context) -> Iterator[Measured]:
    """A sheet under the top stone, or none."""
    style = context.survey.style
    limit = tables.assumption("top-stone", style)
    for well in context.scheme.wells:
        if well.stone_reaches == "buried":
            continue
        depth = round(well.top_stone_m, 9)
        if depth > 0 and well.fabric is not None:
            plan = well.layers[0].pit_area_m2
            head = tables.limit("overflow-head", style)
            passes = plan * fabric_flow_m_s(
                permittivity_per_s=well.fabric.permittivity_per_s, head_m=head.value_si
            )
            sentence = (
                f"{units.show_depth(depth, style)} of loose stone over a sheet keep grit and leaves out of the stone of "
                f"{well.id} and are renewed when they silt up. The clean sheet lets {units.show_flow(passes, style)} "
                f"through under {head.text} of water."
            )
        else:
            sentence = (
                f"The stone of {well.id} lets water out at the lawn; whatever washes or blows in fills it for good. "
                f"{limit.text} of loose stone over a sheet of geotextile can be renewed by hand: top_stone."
            )
        yield Measured(
            subject=well.id,
            value=depth,
            op="at least",
            limit=SOME_M,
            scale=0.0,
            show=lambda v: units.show_depth(v, style),
            limit_text="some of it",
            sentence=sentence,
            source="minnesota-trench-care",
        )
