"""The long record of a job: its own, a shipped one of the place, a scaled one of another place, or the nearest as it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from roofwell import tables, units
from roofwell.errors import InputError
from roofwell.job import files, model
from roofwell.physics.rain import donor, extremes, frequency, screening
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.system.facts import DonorFacts, DonorTried
from roofwell.system.ledger import Ledger
from roofwell.tables import rain_library, rain_records
from roofwell.tables.rain_library import Entry
from roofwell.tables.trials import trial
from roofwell.units import Style

HOUR_S, DAY_S = 3600, 86400.0
COMPARED_YEARS = 2.0
SHOWN_DOUBTFUL = 5
SHOWN_REFUSED = 3


@dataclass(frozen=True, slots=True)
class OwnRecord:
    """A record that the job names: of this place, or of another one."""

    record: Record
    name: str
    here: bool


def own_record(
    job: model.Job, folder: Path | None, table: FrequencyTable, ledger: Ledger, notes: list[str]
) -> OwnRecord | None:
    """Read the job's own record and tell what is odd in it; None where it names none.

    A record with more missing than the limit, or whose rain of a day is far from that of the table, is used and judges
    nothing (``rain.record`` is lacking).

    Raises
    ------
    InputError
        ``rain-record-text`` and others of the reader; ``rain-record-year`` if a year has more rain than falls anywhere.
    """
    rain, style = job.rain, ledger.style
    if rain.record is None:
        return None
    steps = rain_records.parse_record(
        files.read_text(folder, rain.record),
        unit=rain.record_depth_unit,
        label=rain.record_stamps or "start",
        most_m=tables.limit("rain-step-impossible", style).value_si,
    )
    notes.extend(f"{rain.record}: {remark.text}" for remark in steps.remarks)
    record, here = record_from_series(steps), not rain.record_elsewhere
    most = tables.limit("rain-year-most", style)
    if record.years >= 1 and record.yearly_mean_m > most.value_si:
        raise InputError(
            f"{units.show_depth(record.yearly_mean_m, style)} of rain a year on average; no place has more than"
            f" {most.text}: is the unit right?",
            code="rain-record-year",
        )
    notes.extend(f"{rain.record}: {words}" for words in doubts(record, style))
    for words in (_gaps(record), _unlike_table(record, table) if here else ""):
        if words:
            notes.append(f"{rain.record}: {words}; no target rests on it")
            ledger.lack("rain.record")
    return OwnRecord(record, rain.record, here)


def doubts(record: Record, style: Style) -> list[str]:
    """Return hours that are hard to believe, in words; they are kept."""
    if record.step_s > HOUR_S:
        return []
    found = screening.doubtful_steps(
        record,
        most_m=tables.limit("rain-hour-doubtful", style).value_si,
        month_end_m=tables.limit("rain-month-end", style).value_si,
    )
    said = [
        f"{one.time}: {units.show_depth(one.depth_m, style)} is hard to believe ({one.reason}); kept"
        for one in found
    ]
    more = len(said) - SHOWN_DOUBTFUL
    return said[:SHOWN_DOUBTFUL] + ([f"and {more} more that are hard to believe"] if more > 0 else [])


def _gaps(record: Record) -> str:
    limit = tables.limit("rain-record-missing")
    if record.share_missing <= limit.value_si:
        return ""
    share = units.show_percent(record.share_missing, 1)
    return f"{share} of its time is missing, more than {limit.text}, and counts as dry"


def _unlike_table(record: Record, table: FrequencyTable) -> str:
    """Say where the record's own 2-year rain of a day and the table's cannot both be of this place."""
    partial = frequency.as_series(table, series="partial duration")
    held = partial.return_period_years
    if DAY_S % record.step_s or not (table.duration_s[0] <= DAY_S <= table.duration_s[-1]):
        return ""
    if not held[0] <= COMPARED_YEARS <= held[-1]:
        return ""
    least = 1.0 - tables.limit("rain-record-missing").value_si
    years = extremes.annual_maxima(record, window_s=DAY_S, least_coverage=least)
    known = sorted(year.depth_m for year in years if year.depth_m is not None)
    if len(known) < 4:
        return ""
    # the middle of the yearly largest is exceeded every second year: the 2-year depth of annual maxima
    middle = known[len(known) // 2]
    ratio = middle / frequency.depth_m(partial, duration_s=DAY_S, return_period_years=COMPARED_YEARS)
    most = tables.limit("rain-record-to-table").value_si
    if 1 / most <= ratio <= most:
        return ""
    return (
        f"its wettest day of a middling year has {ratio:.2g} times the 2-year rain of the rain table; one of the two is in"
        " another unit or of another place"
    )


def donor_limits() -> donor.DonorLimits:
    """Return what a scaled record must keep to."""

    return donor.DonorLimits(
        least_years=tables.limit("donor-years").value_si,
        least_factor=tables.limit("donor-factor-least").value_si,
        most_factor=tables.limit("donor-factor-most").value_si,
        day_low=tables.limit("donor-day-low").value_si,
        day_high=tables.limit("donor-day-high").value_si,
        hour_low=tables.limit("donor-hour-low").value_si,
        hour_high=tables.limit("donor-hour-high").value_si,
        clock_hour=trial("clock-hour"),
    )


def try_donors(
    normals_m: Sequence[float], table: FrequencyTable, *, own: OwnRecord | None, only: Entry | None
) -> DonorFacts:
    """Scale records of other places to this one and test them, the likest climate first, ties by name.

    Parameters
    ----------
    normals_m
        Mean rain of each month of this place, m.
    table
        Rain table of this place as published.
    own
        A record of another place that the job names: tried alone.
    only
        A shipped record that the job names: tried alone.
    """
    candidates: list[tuple[str, str, Record]]
    if own is not None:
        candidates = [(own.name, "job", own.record)]
    else:
        entries = rain_library.entries("record") if only is None else (only,)
        candidates = [
            (entry_name(entry), entry.source, record_from_series(rain_library.load_record(entry.id)))
            for entry in entries
        ]
    limits = donor_limits()
    least = 1.0 - tables.limit("rain-record-missing").value_si
    tried = []
    for name, source, record in candidates:
        if HOUR_S % record.step_s:
            empty = donor.DonorTest((), math.inf, (), "its steps do not make up an hour")
            tried.append(DonorTried(name, source, empty, None))
            continue
        test = donor.try_donor(record, normals_m=normals_m, table=table, least_coverage=least, limits=limits)
        kept = donor.scaled(record, factors=test.factors) if test.accepted else None
        tried.append(DonorTried(name, source, test, kept))
    tried.sort(key=lambda one: (one.test.unlike, one.name))
    accepted = [one for one in tried if one.test.accepted][: round(trial("donor-most"))]
    rest = [one for one in tried if not one.test.accepted]
    return DonorFacts((*accepted, *rest))


def entry_name(entry: Entry) -> str:
    """Return a shipped table or record as it is named: place, state, years."""
    years = f", {entry.first_year} to {entry.last_year}" if entry.first_year else ""
    return f"{entry.place}, {entry.state}{years}"


def donor_words(donors: DonorFacts) -> list[str]:
    """Return what was scaled, how it stood its tests and how far off it may be; or why nothing could be scaled."""
    if not donors.accepted:
        tried = [f"{one.name}: {one.test.why_not}" for one in donors.tried[:SHOWN_REFUSED]]
        more = len(donors.tried) - SHOWN_REFUSED
        rest = f"; and {more} more" if more > 0 else ""
        return [
            "no record of another place can be scaled to this one, so spills a year are not known here. Tried, the likest"
            f" climate first: {'; '.join(tried)}{rest}. A record of this region may pass: name it as rain.record, with"
            " record_elsewhere = true"
        ]
    used = donors.accepted[0]
    factors = used.test.factors
    depths = ", ".join(
        f"{ratio.return_period_years:g}-year {ratio.duration_s / HOUR_S:g} h {ratio.ratio:.2f}"
        + (f" ({ratio.low:g} to {ratio.high:g} accepted)" if ratio.low is not None else "")
        for ratio in used.test.ratios
    )
    captured = tables.limit("donor-captured").text
    others = [one.name for one in donors.accepted[1:]]
    chosen = "the likest in its monthly rain" if len(donors.tried) > 1 else "which the job names"
    also = (
        f"; also accepted, and shown as the spread: {', '.join(others)}"
        if others
        else "; no other one was accepted"
    )
    return [
        f"there is no record of this place: that of {used.name}, {chosen}, is multiplied month by"
        f" month by {min(factors):.2f} to {max(factors):.2f} to this place's monthly rain{also}",
        f"the scaled record against the rain table, as a share of it: {depths}",
        f"figures from a scaled record have a range: the share of the water taken in {captured} either way, as tried on"
        " eleven gauges, where few pairs passed; dates in it are not this place's",
    ]
