"""What the long record says, in words: each well's own spills, and those of all wells as one system."""

from __future__ import annotations

from roofwell import units
from roofwell.checks.rain_words import donor_range_words, snow_words
from roofwell.checks.register import Context
from roofwell.system.behaviour import RecordResult


def spills(record: RecordResult, low: RecordResult | None, high: RecordResult | None, *, known: bool) -> str:
    """Return spills a year with the range that the soil's rate leaves: "2.1 (0.4 to 6.0)".

    ``low`` and ``high`` are of the slowest and the fastest soil. Where the soil is not known the range stands alone.
    """
    if low is None or high is None:
        return f"{record.spills_year:.1f}"
    ends = sorted((low.spills_year, high.spills_year))
    both = f"{ends[0]:.1f} to {ends[1]:.1f}"
    if f"{ends[0]:.1f}" == f"{ends[1]:.1f}":
        return f"{record.spills_year:.1f}" if known else f"{ends[0]:.1f}"
    return f"{record.spills_year:.1f} ({both})" if known else both


def _captured(
    record: RecordResult, low: RecordResult | None, high: RecordResult | None, *, known: bool
) -> str:
    """Return the share of the water that is taken in, or its range while the soil is not known."""
    if known or low is None or high is None:
        return units.show_percent(record.captured_share, 1)
    ends = [units.show_percent(share, 1) for share in sorted((low.captured_share, high.captured_share))]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def record_sentence(context: Context) -> str:
    """Return what the record did to the wells; empty without one, or while a place or size of a well is missing."""
    behaviour, known = context.behaviour, context.survey.soil.known
    system = behaviour.record
    if system is None or context.missing & {"wells.size", "roofs", "downspouts"}:
        return ""
    if not known and behaviour.record_low is None:
        return ""
    wells = [well for well in behaviour.stores if well.record is not None]
    own = [
        (well.label, spills(well.record, well.record_low, well.record_high, known=known))
        for well in wells
        if well.record is not None
    ]
    ends = behaviour.record_low, behaviour.record_high
    captured = _captured(system, *ends, known=known)
    over = f"In {system.years:.0f} years of rain at {system.name}"
    ranged = any(" to " in text for _, text in own)
    soil = (
        ", from the fastest to the slowest soil,"
        if not known
        else ", the range that of the soil,"
        if ranged
        else ""
    )
    range_words = (
        f" {donor_range_words(behaviour.donor_range)}" if known and behaviour.donor_range is not None else ""
    )
    if len(own) == 1:
        spilled = f"{over} it would have spilled {own[0][1]} times a year{soil}"
        return f"{spilled} and taken in {captured} of the water.{range_words}"
    listed = " and ".join([", ".join(f"{id} {text}" for id, text in own[:-1]), f"{own[-1][0]} {own[-1][1]}"])
    together = spills(system, *ends, known=known)
    return (
        f"{over} spills a year would have been: {listed}{soil.rstrip(',')}. All together water would have come out "
        f"{together} times a year, and {captured} of it been taken in.{range_words}"
    )


def record_detail(context: Context) -> str:
    """Return for how long the wells stood wet in the record; empty while the soil is not known."""
    system = context.behaviour.record
    if not record_sentence(context) or system is None or not context.survey.soil.known:
        return ""
    wet = f"At the longest it stood wet for {units.show_time(system.longest_wet_s)}."
    return " ".join(filter(None, [wet, snow_words(system, context.survey.rain)]))
