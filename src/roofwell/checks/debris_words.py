"""What comes off the roof and what the basin keeps, in words: for findings, papers and terminal. Nothing is judged here."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell import tables, units
from roofwell.system.debris import STEADY
from roofwell.system.debris_facts import (
    BasinDebris,
    BasinVariant,
    Debris,
    Span,
    WellDebris,
    total_kg_year,
    total_m3_year,
)
from roofwell.system.scheme import Basin, Scheme
from roofwell.tables.debris import kinds
from roofwell.units import Style

MENDS = {
    "as it is": "as it is",
    "elbow": "with an elbow turned down before the outlet, air hole at its top",
    "air hole": "with an air hole at the top of its hood",
    "screen": "with a screen before the outlet that lifts out",
    "higher inlet": "with the inlet raised to the standing water, so that its pipe drains dry",
    "lower inlet": "with the inlet lowered to the standing water",
    "deeper sump": "with a sump {sump} deep",
    "elbow and screen": "with elbow and screen",
}


@dataclass(frozen=True, slots=True)
class VariantRow:
    """A basin as it is or with one part more, side by side."""

    basin: str
    what: str
    grit: str
    floating: str
    past: str
    months: str
    own: bool


@dataclass(frozen=True, slots=True)
class RainRow:
    """A basin in one steady rain."""

    basin: str
    rain: str
    flow: str
    ideal: str
    rests: str
    kept: str


@dataclass(frozen=True, slots=True)
class KindRow:
    """One kind of debris on its way to one well."""

    well: str
    what: str
    comes: str
    reaches: str
    room: str


def two(value: float) -> str:
    """Return a number to two figures, without an exponent."""
    if value <= 0 or not math.isfinite(value):
        return "0"
    if value < 0.005:
        return "under 0.01"
    digits = min(2, max(0, 1 - math.floor(math.log10(value))))
    return f"{value:,.{digits}f}" if digits else f"{float(f'{value:.2g}'):,.0f}"


def mass(span: Span, style: Style) -> str:
    """Return a yearly mass with its range."""
    factor, unit = (1 / 0.45359237, "lb") if style == "us" else (1.0, "kg")
    return _span(span.times(factor), unit)


def room(span: Span, style: Style) -> str:
    """Return a yearly volume with its range."""
    factor, unit = (1 / 0.003785411784, "gal") if style == "us" else (1000.0, "L")
    return _span(span.times(factor), unit)


def best_room(span: Span, style: Style) -> str:
    """Return a yearly volume as it is best known."""
    factor, unit = (1 / 0.003785411784, "gal") if style == "us" else (1000.0, "L")
    return f"{two(span.best * factor)} {unit}"


def _span(span: Span, unit: str) -> str:
    low, best, high = two(span.low), two(span.best), two(span.high)
    return f"{best} {unit}" if low == high else f"{best} ({low} to {high}) {unit}"


def share(span: Span) -> str:
    """Return a share with its range, in percent."""
    low, best, high = (f"{100 * value:.0f}" for value in (span.low, span.best, span.high))
    return f"{best} %" if low == high else f"{best} % ({low} to {high})"


def months(span: Span) -> str:
    """Return months with their range."""
    best = _months(span.best)
    low, high = _months(span.low), _months(span.high)
    return best if low == high else f"{best} ({low} to {high})"


def _months(value: float) -> str:
    longest = tables.limit("months-told").value_si
    if value > 12.0 * longest:
        return f"over {longest:g} years"
    if value >= 24:
        return f"{value / 12:.0f} years"
    said = two(value) if value >= 1 else ("under 1" if value > 0 else "0")
    return f"{said} month{'s' if said not in ('1', 'under 1') else ''}"


def grain(size_m: float, style: Style) -> str:
    """Return the size of a grain, too small for any rule: to 0.001 in or 0.01 mm."""
    if style == "us":
        return f"{size_m / 0.0254:.3f} in" if size_m >= 0.0005 * 0.0254 else "under 0.001 in"
    return f"{size_m * 1000:.2f} mm" if size_m >= 0.005e-3 else "under 0.01 mm"


def mended(variant: BasinVariant, style: Style) -> str:
    """Return a basin with one part more, in words."""
    return MENDS[variant.key].format(sump=units.show_length(variant.sump_m, style))


def variant_rows(debris: Debris, style: Style) -> list[VariantRow]:
    """Return every basin as it is and with each cheap part, side by side."""
    return [
        VariantRow(
            basin.basin,
            mended(variant, style),
            share(variant.mineral_kept),
            share(variant.floating_kept),
            room(total_m3_year(variant.past), style),
            months(variant.months_to_half),
            variant is basin.as_is,
        )
        for basin in debris.basins
        for variant in (basin.as_is, *basin.others)
    ]


def rain_rows(debris: Debris, style: Style) -> list[RainRow]:
    """Return every basin in steady rain, light to very heavy."""
    out = []
    for basin in debris.basins:
        for rain in basin.rains:
            kept = ", ".join(f"{kind} {100 * value:.0f} %" for kind, value in rain.kept)
            out.append(
                RainRow(
                    basin.basin,
                    units.show_rate(rain.intensity_m_s, style),
                    units.show_flow(rain.flow_m3_s, style),
                    grain(rain.grain_m, style),
                    grain(rain.rests_m, style) if rain.rests_m is not None else "none of it",
                    kept,
                )
            )
    return out


def kind_rows(debris: Debris, style: Style) -> list[KindRow]:
    """Return what comes off the roof of each well and what reaches its stone, by kind."""
    what = {kind.key: kind.what for kind in kinds()}
    return [
        KindRow(
            well.well,
            what[roof.kind],
            mass(roof.mass_kg_year, style),
            mass(past.mass_kg_year, style),
            room(past.volume_m3_year, style),
        )
        for well in debris.wells
        for roof, past in zip(well.from_roof, well.on_time, strict=True)
        if roof.mass_kg_year.high > 0
    ]


def well_sentence(well: WellDebris, style: Style) -> str:
    """Return what a well is spared and what it gets, with basins emptied and not."""
    comes, past = total_m3_year(well.from_roof), total_m3_year(well.on_time)
    if comes.best <= 0:
        return ""
    held = 1.0 - past.best / comes.best
    words = (
        f"{well.well}: of some {best_room(comes, style)} a year that come off the roof, {100 * held:.0f} % "
        f"never reach its stone while the basin is emptied on time; {room(past, style)} do, of which "
        f"{best_room(well.mineral_m3_year(), style)} is grit and silt that never rots."
    )
    if well.full_after_years is not None:
        full = months(well.full_after_years.times(12.0))
        words += f" A basin that nobody empties is full in {full}, and from then on all of it goes on."
    if well.beside_m2 > 0:
        words += f" The water of {units.show_area(well.beside_m2, style)} of roof passes no basin."
    return words


def basis(debris: Debris, style: Style) -> list[str]:
    """Return what the figures rest on, and where they end."""
    out = []
    if not debris.trees_known:
        out.append(
            "Nobody said how much of the roof lies under branches (roofs.ID.trees): the ranges go from no tree at all to "
            "trees over the whole roof."
        )
    if debris.record is None:
        rains = [tables.assumption(key, style).text for key in reversed(STEADY)]
        out.append(f"No gauge record: steady rain of {', '.join(rains)} stands in for the ends of the range.")
    else:
        out.append(
            f"Over the record of {debris.record}, in steps of {units.show_time(debris.step_s)}. In a step the rain falls "
            f"faster than its mean, by the rain table up to {debris.burst:.1f} times, and carries more past: the low end of "
            "what is kept counts with that, the high end with the mean."
        )
    out.append(
        "What comes off roofs is known only in ranges. Grit is granules, sand and silt together; shares are by room. "
        "Settling as one stirred tank (common practice), grains by Ferguson and Church, lifted again by Camp's formula "
        "where the inlet's jet is faster."
    )
    return out


@dataclass(frozen=True, slots=True)
class SumpRule:
    """One published rule for a basin on one basin."""

    basin: str
    what: str
    wants: str
    has: str
    source: str


def sump_rules(scheme: Scheme, style: Style) -> list[SumpRule]:
    """Return the published rules for sump and ports beside what each basin has; shown, not judged."""
    out = []
    for basin in scheme.basins:
        leaving = scheme.run_from(basin.id)
        if leaving is None or not math.isfinite(basin.sump_m):
            continue
        out += _sump_rules(basin, leaving.nominal_m, style)
    return out


def _sump_rules(basin: Basin, outlet_m: float, style: Style) -> list[SumpRule]:
    say = units.show_length

    def rule(key: str, what: str, wants: float, has: float) -> SumpRule:
        return SumpRule(basin.id, what, say(wants, style), say(has, style), tables.limit(key, style).source)

    four, wide = tables.limit("sump-diameters").value_si, tables.limit("basin-diameters").value_si
    over = tables.limit("inlet-over-outlet-top").value_si
    over_top = basin.inlet_invert_m - (basin.outlet_invert_m + outlet_m)
    return [
        rule("basin-diameters", "width, 4 outlet diameters", wide * outlet_m, basin.width_m),
        rule("sump-diameters", "sump, 4 outlet diameters", four * outlet_m, basin.sump_m),
        rule(
            "inlet-over-outlet-top",
            "inlet over the top of the outlet, 1.5 of its diameters",
            over * outlet_m,
            over_top,
        ),
        rule(
            "street-sump",
            f"sump of a street basin (not of a yard), {tables.limit('street-sump', style).text} or 4 outlet diameters",
            max(tables.limit("street-sump", style).value_si, four * outlet_m),
            basin.sump_m,
        ),
    ]


def best_mend(basin: BasinDebris) -> BasinVariant | None:
    """Return the one cheap part that keeps most of what floats; None where none keeps a tenth of it more."""
    single = [v for v in basin.others if v.key in ("elbow", "air hole", "screen")]
    best = max(single, key=lambda v: v.floating_kept.best, default=None)
    if (
        best is None
        or best.floating_kept.best < basin.as_is.floating_kept.best + tables.limit("mend-worth").value_si
    ):
        return None
    return best


def comes_words(basin: BasinDebris, style: Style) -> str:
    """Return what comes to a basin in a year: its weight and the room that it takes."""
    return f"{mass(total_kg_year(basin.comes), style)} a year, {room(total_m3_year(basin.comes), style)} as it lies"
