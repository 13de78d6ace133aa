"""Rain in words: the gauge record beside the table, rates over the years, what a scaled record is worth, snow.

Nothing here is a verdict. Finished strings, for the terminal and for papers alike.
"""

from __future__ import annotations

from dataclasses import dataclass

from roofwell import tables, units
from roofwell.physics.rain.frequency import duration_words
from roofwell.system.behaviour import DonorRange, RecordResult
from roofwell.system.beyond_facts import Overrun, Rates, RecordDepth, RecordStatistics
from roofwell.system.facts import RainFacts, Survey
from roofwell.system.rain_facts import share_words
from roofwell.units import Style

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "June", "July", "Aug", "Sept", "Oct", "Nov", "Dec")
SHOWN_YEARS = (2.0, 10.0, 50.0, 100.0)
SHOWN_S = (3600.0, 6 * 3600.0, 86400.0)


@dataclass(frozen=True, slots=True)
class StatisticsRow:
    """One depth of the record beside the table's, as it is read; ``said`` compares the two, or is empty."""

    what: str
    record: str
    within: str
    table: str
    said: str


# ------------------------------------------------------------------ the record beside the table


def statistics_sentence(statistics: RecordStatistics, style: Style) -> str:
    """Return the one line that compares record and table: "the record says 10-year 24 h = x, the table y"."""
    if not statistics.depths:
        return f"The record of {statistics.record} has no statistics of its own: {statistics.why_not}."
    told = next(
        (d for d in statistics.depths if d.duration_s == 86400.0 and d.years == 10.0), statistics.depths[-1]
    )
    storm = f"{told.years:g}-year {duration_words(told.duration_s)}"
    other = "" if statistics.scaled else ", not of this place"
    where = "" if statistics.of_this_place else f" (of {statistics.record}{other})"
    text = f"The record{where} says {storm} = {units.show_rain(told.record_m, style)}"
    if told.table_m is None:
        return f"{text}; the rain table does not hold it."
    return f"{text}, the table {units.show_rain(told.table_m, style)}."


def statistics_basis(statistics: RecordStatistics) -> str:
    """Return how the record's figures were found."""
    if not statistics.depths:
        return ""
    hours = f"{statistics.apart_s / 3600:g} h"
    return (
        f"Partial-duration series of {statistics.known_years:.0f} known years, rains at least {hours} apart, generalized"
        " Pareto by L-moments, raised for windows that begin on the clock (Weiss). The range holds"
        f" {units.show_percent(statistics.within)} of records of that length ({statistics.samples} drawn, seed"
        f" {statistics.seed}). The design counts with the table."
    )


def statistics_rows(
    statistics: RecordStatistics, style: Style, *, every: bool = False
) -> list[StatisticsRow]:
    """Return the depths as rows; ``every``: all of them, else 1, 6 and 24 h for 2, 10, 50 and 100
    years."""
    return [
        StatisticsRow(
            f"{d.years:g}-year, {duration_words(d.duration_s)}",
            units.show_rain(d.record_m, style),
            f"{units.show_rain(d.low_m, style)} to {units.show_rain(d.high_m, style)}",
            units.show_rain(d.table_m, style) if d.table_m is not None else "",
            _compared(d),
        )
        for d in statistics.depths
        if every or (d.years in SHOWN_YEARS and d.duration_s in SHOWN_S)
    ]


def _compared(d: RecordDepth) -> str:
    if d.table_m is None:
        return ""
    if d.low_m <= d.table_m <= d.high_m:
        return "agree"
    above = d.record_m > d.table_m
    if d.table_low_m is not None and d.table_high_m is not None:
        if d.low_m <= d.table_high_m and d.table_low_m <= d.high_m:
            return "ranges meet"
        return "record higher, beyond both ranges" if above else "record lower, beyond both ranges"
    return "record higher" if above else "record lower"


# ------------------------------------------------------------------ rates over the years


def rates_basis(rates: Rates) -> str:
    """Return what the counts rest on and what they are worth."""
    if not rates.split:
        return f"For rates alone: steps of {rates.step_s / 60:g} min as measured. {rates.note}".strip()
    source = tables.source("singapore-rain").publisher
    said = (
        f"For rates alone, never for volumes: hours split to 5 min by fragments measured at {rates.place} ({source}; seed"
        f" {rates.seed})."
    )
    if rates.ratio is None or rates.table_ratio is None:
        return f"{said} Whether they fit this rain is not known: the rain table does not hold 5 min and 1 h."
    both = f"wettest 5 min over wettest hour {rates.ratio:.2f}, the table's {rates.table_ratio:.2f}"
    if rates.ratio_holds:
        return f"{said} They fit this rain: {both}."
    few = "few" if rates.ratio < rates.table_ratio else "many"
    return f"{said} They do not fit this rain ({both}): counts are unknown, those given in brackets likely too {few}."


def rates_lines(rates: Rates, style: Style) -> list[str]:
    """Return how often each part is overrun, a line each."""
    return [_overrun(part, rates, style) for part in rates.parts]


def _overrun(part: Overrun, rates: Rates, style: Style) -> str:
    rain = units.show_rate(part.rate_m_s, style)
    does = f"{part.id} runs full" if part.kind == "run" else f"{part.id} with its gutter is overrun"
    words = f"{does} in rain harder than {rain} ({units.show_flow(part.carries_m3_s, style)})"
    if part.table_years is not None:
        rare = {
            "below": f"less than a {part.table_years:g}-year rain of 5 min by the table",
            "beyond": f"more than the {part.table_years:g}-year rain of 5 min by the table",
        }.get(part.reach or "", f"a {part.table_years:.2g}-year rain of 5 min by the table")
        words += f", {rare}"
    if part.events_year is None:
        return f"{words}; how often over the years is unknown: {rates.note}."
    times = f"{part.events_year:.2g} times a year" if part.events_year > 0 else "never"
    if rates.split and not rates.ratio_holds:
        return f"{words}; over the record unknown ({times})."
    return f"{words}; over the record {times}."


# ------------------------------------------------------------------ scaled records, snow, the basis


def donor_range_words(found: DonorRange) -> str:
    """Return the range of the figures of a scaled record."""
    low, high = found.system_spills_year
    share = f"{units.show_percent(found.captured_low)} to {units.show_percent(found.captured_high)}"
    others = "; ".join(f"{name} {spills:.1f}" for name, spills, _ in found.donors[1:])
    also = f" Other accepted records spill: {others}." if others else ""
    spills = f"{low:.1f} to {high:.1f} spills a year"
    return f"The record is a scaled one: {spills} and {share} taken in are within its range.{also}"


def snow_words(record: RecordResult | None, rain: RainFacts) -> str:
    """Return how many spills fell in months that may bring snow; empty where those are not known or bring none."""
    if record is None or record.snow_spill_events is None or not rain.snow_months:
        return ""
    months = ", ".join(MONTHS[month] for month in rain.snow_months)
    return (
        f"{record.snow_spill_events} of its {record.spill_events} spills fell in months that may bring snow ({months}); what"
        " fell as snow is counted as rain in its hour, nothing is melted."
    )


def basis_words(survey: Survey) -> str:
    """Return what the long record is, for the papers' line on rain; empty without one."""
    rain = survey.rain
    if rain.record is None:
        return ""
    years = (
        f"{rain.record.years:.0f} years"
        if rain.record.years >= 1.5
        else f"{rain.record.years * 12:.0f} months"
    )
    if rain.scaled_from is not None:
        words = (
            f"Long record: {rain.record_name} month by month, {years}, as no record of this place is known; its figures have"
            " a range"
        )
    else:
        other = "" if rain.record_of_this_place else ", not of this place"
        words = f"Long record: {rain.record_name}, {years}{other}"
    if rain.uplift > 0:
        raised = "table and record" if rain.record_today is not None else "table, not the record"
        words += f". Raised by {share_words(rain.uplift)} for a wetter climate: {raised}"
    return f"{words}."
