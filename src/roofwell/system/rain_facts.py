"""Rain of the place: the job's table and record, else the nearest shipped ones, marked as such."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job import files, model
from roofwell.physics.rain import frequency
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.system.facts import DonorFacts, RainFacts
from roofwell.system.ledger import Ledger
from roofwell.system.rain_record import donor_words, entry_name, own_record, try_donors
from roofwell.system.stand_in_rain import stand_in
from roofwell.tables import rain_formats, rain_library
from roofwell.tables.rain_formats import RainTable
from roofwell.units import Style

_KM = 1000.0
_MILE = 1609.344


def rain_facts(job: model.Job, folder: Path | None, ledger: Ledger) -> RainFacts:
    """Find the frequency table and the long record that the job's rain stands on.

    Raises
    ------
    InputError
        If a file that the job names cannot be read as rain.
    """
    notes: list[str] = []
    own = _own_table(job, folder)
    where = _where(job, own)
    table, name, source, here, distance = _table(job, own, where, ledger, notes)
    if not here:
        ledger.lack("rain.place")
    found = _record(job, folder, table, here, where, ledger, notes)
    uplift = 0.0 if job.rain.uplift is None else job.rain.uplift.value_si
    raised = found.record is not None and uplift > 0 and bool(job.rain.uplift_record)
    if uplift > 0:
        notes.append(uplift_words(uplift, record=raised))
    return RainFacts(
        table=_raised(table, uplift),
        table_name=name,
        table_source=source,
        table_of_this_place=here,
        table_distance_m=distance,
        record=_raised_record(found.record, uplift) if raised else found.record,
        record_name=found.name,
        record_source=found.source,
        record_of_this_place=found.here,
        record_distance_m=found.distance_m,
        notes=tuple(notes),
        uplift=uplift,
        table_today=table if uplift > 0 else None,
        record_today=found.record if raised else None,
        donor=found.donor,
        snow_months=_snow_months(job, ledger.style),
    )


def uplift_words(uplift: float, *, record: bool) -> str:
    """Return the line that always stands beside a raised table: the share, and what is published."""
    rows = tables.rows("climate_uplift")
    least, most = rows[0], rows[-1]
    what = (
        "every depth of the rain table and of the gauge record is"
        if record
        else "every depth of the rain table is"
    )
    rest = "" if record else "; the gauge record is as measured"
    return (
        f"{what} raised by {share_words(uplift)} for a wetter climate, as the job asks{rest}. One published"
        f" guide asks {least['share']} ({least['what']}) to {most['share']} ({most['what']}); no US national figure was seen"
    )


def share_words(share: float) -> str:
    """Return a share as a person writes it: 20 %, 12.5 %."""
    return f"{100 * share:.4g} %"


def _raised(table: FrequencyTable, uplift: float) -> FrequencyTable:
    if uplift <= 0:
        return table
    by = 1.0 + uplift
    lower, upper = (None if bound is None else bound * by for bound in (table.lower_m, table.upper_m))
    return replace(table, depth_m=table.depth_m * by, lower_m=lower, upper_m=upper)


def _raised_record(record: Record | None, uplift: float) -> Record | None:
    return None if record is None else replace(record, depth_m=record.depth_m * (1.0 + uplift))


def _snow_months(job: model.Job, style: Style) -> tuple[int, ...] | None:
    """Months whose mean temperature may bring snow, 0 for January; None where nobody gave the temperatures."""
    if not job.rain.air_temperatures:
        return None
    limit = tables.limit("snow-month", style).value_si
    return tuple(
        month for month, temperature in enumerate(job.rain.air_temperatures) if temperature.value_si < limit
    )


@dataclass(frozen=True, slots=True)
class _Where:
    """Where the house stands, as far as the job or its own rain table tells."""

    place: str | None
    latitude_deg: float | None
    longitude_deg: float | None


def _own_table(job: model.Job, folder: Path | None) -> RainTable | None:
    if job.rain.table is None:
        return None
    with _named("rain.table", job.rain.table):
        return rain_formats.parse_table(files.read_text(folder, job.rain.table))


def _where(job: model.Job, own: RainTable | None) -> _Where:
    """Return the place of the job; where it gives none, that of the table that was fetched for it."""
    place = job.place
    if place.latitude is not None and place.longitude is not None:
        return _Where(place.name, place.latitude, place.longitude)
    if own is not None and (own.latitude_deg is not None or own.place is not None):
        return _Where(own.place, own.latitude_deg, own.longitude_deg)
    return _Where(place.name, None, None)


def _of_this_place(job: model.Job, own: RainTable, style: Style) -> tuple[bool, float | None]:
    """Compare the table's coordinates with those of the house, where both are known: is it of this place?"""
    place = job.place
    if None in (place.latitude, place.longitude, own.latitude_deg, own.longitude_deg):
        return True, None
    house = place.latitude or 0.0, place.longitude or 0.0
    distance = rain_library.distance_m(*house, own.latitude_deg or 0.0, own.longitude_deg or 0.0)
    return distance <= tables.limit("rain-table-of-this-place", style).value_si, distance


def _table(
    job: model.Job, own: RainTable | None, where: _Where, ledger: Ledger, notes: list[str]
) -> tuple[FrequencyTable, str, str, bool, float | None]:
    rain = job.rain
    if rain.table is not None and own is not None:
        name = f"{rain.table} ({own.place})" if own.place and own.place != rain.table else rain.table
        here, distance = _of_this_place(job, own, ledger.style)
        if not here:
            notes.append(
                f"the rain table is that of {name}, not of this place: {_far(distance, ledger.style)}"
            )
        notes.extend(f"{rain.table}: {note}" for note in own.notes)
        with _named("rain.table", rain.table):
            return frequency.table_from_grid(own), name, own.publisher or "job", here, distance
    if rain.depths:
        with _named("rain.depths", f"{len(rain.depths)} typed figures"):
            notes.append(
                "the typed rain figures are taken as a partial-duration series, as most tables are printed"
            )
            figures = [(d.duration.value_si, d.return_period.value_si, d.depth.value_si) for d in rain.depths]
            return (
                frequency.table_from_figures(figures=figures, series="partial duration"),
                f"{len(figures)} typed figures",
                "job",
                True,
                None,
            )
    entry, distance, here, why = _nearest(where, "table", rain.shipped_table, None, ledger.style)
    if not here:
        far = why or _far(distance, ledger.style)
        notes.append(f"the rain table is that of {entry_name(entry)}, not of this place: {far}")
    return _shipped_table(entry.id), entry_name(entry), entry.source, here, distance


@lru_cache(maxsize=4)
def _shipped_table(id: str) -> FrequencyTable:
    return frequency.table_from_grid(rain_library.load_table(id))


@lru_cache(maxsize=4)
def _shipped_record(id: str) -> Record:
    """A shipped record, the very same for every design, so that what rests on its rain is found again."""
    return record_from_series(rain_library.load_record(id))


@dataclass(frozen=True, slots=True)
class _Found:
    """The record that is used, and what is known of it."""

    record: Record | None
    name: str | None
    source: str | None
    here: bool
    distance_m: float | None
    donor: DonorFacts | None = None


def _record(
    job: model.Job,
    folder: Path | None,
    table: FrequencyTable,
    table_here: bool,
    where: _Where,
    ledger: Ledger,
    notes: list[str],
) -> _Found:
    """The job's own record of this place; else the shipped one of it; else, with monthly rain, a scaled one; else the
    nearest as it is, on which no target rests."""
    rain = job.rain
    with _named("rain.record", rain.record or ""):
        own = own_record(job, folder, table, ledger, notes)
    if own is not None and own.here:
        return _Found(own.record, own.name, "job", True, None)
    entry, distance, here, why = _nearest(where, "record", rain.shipped_record, table, ledger.style)
    if own is None and here:
        return _Found(
            _shipped_record(entry.id),
            entry_name(entry),
            entry.source,
            True,
            distance,
        )
    donors = None
    if rain.monthly_rain and table_here:
        normals = [depth.value_si for depth in rain.monthly_rain]
        named = entry if rain.shipped_record is not None else None
        donors = try_donors(normals, table, own=own, only=named)
        notes.extend(donor_words(donors))
        if donors.accepted:
            used = donors.accepted[0]
            return _Found(used.record, f"{used.name}, scaled to this place", used.source, False, None, donors)
    elif rain.monthly_rain:
        notes.append(
            "no record can be scaled to this place's monthly rain: that is tested against its own rain table"
        )
    ledger.lack("rain.record")
    if own is not None:
        notes.append(f"the long record, {own.name}, is not of this place, as the job says")
        return _Found(own.record, own.name, "job", False, None, donors)
    far = why or _far(distance, ledger.style)
    notes.append(
        f"the long record is that of {entry_name(entry)} ({entry.climate}), not of this place: {far}"
    )
    record = _shipped_record(entry.id)
    return _Found(record, entry_name(entry), entry.source, False, distance, donors)


def _nearest(
    where: _Where, kind: rain_library.Kind, wanted: str | None, table: FrequencyTable | None, style: Style
) -> tuple[rain_library.Entry, float | None, bool, str]:
    """Return the shipped entry that is named, else the nearest; its distance; whether it is of this place; and,
    where nobody named it and no distance is known, why it stands in."""
    chosen = rain_library.entry(wanted) if wanted is not None else None
    if where.latitude_deg is None or where.longitude_deg is None:
        if chosen is not None:
            return chosen, None, False, "named by the job, distance unknown"
        entry, why = stand_in(kind, place=where.place, table=table)
        return entry, None, False, why
    ranked = rain_library.nearest(
        latitude_deg=where.latitude_deg, longitude_deg=where.longitude_deg, kind=kind, style=style
    )
    found = next((item for item in ranked if item.entry == chosen), ranked[0])
    return found.entry, found.distance_m, found.of_this_place, ""


def _far(distance_m: float | None, style: Style) -> str:
    if distance_m is None:
        return "distance unknown"
    return f"{distance_m / _MILE:,.0f} miles away" if style == "us" else f"{distance_m / _KM:,.0f} km away"


class _named:
    """Turns a refusal of a rain file into one that names the key of the job."""

    def __init__(self, path: str, read: str) -> None:
        self.path, self.read = path, read

    def __enter__(self) -> None: ...

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: object) -> None:
        if isinstance(error, InputError):
            raise InputError(f"{self.path}: {self.read}: {error.message}", code=error.code) from None
