"""Rain of the place: the job's table and record, else the nearest shipped ones, marked as such."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job import files, model
from roofwell.physics.rain import frequency
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.system.facts import RainFacts
from roofwell.system.ledger import Ledger
from roofwell.system.stand_in_rain import stand_in
from roofwell.tables import rain_formats, rain_library, rain_records
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
    record, record_name, record_source, record_here, record_distance = _record(
        job, folder, table, where, ledger, notes
    )
    if not here:
        ledger.lack("rain.place")
    if record is not None and not record_here:
        ledger.lack("rain.record")
    return RainFacts(
        table=_uplifted(table, job),
        table_name=name,
        table_source=source,
        table_of_this_place=here,
        table_distance_m=distance,
        record=record,
        record_name=record_name,
        record_source=record_source,
        record_of_this_place=record_here,
        record_distance_m=record_distance,
        notes=tuple(notes),
    )


def _uplifted(table: FrequencyTable, job: model.Job) -> FrequencyTable:
    if job.rain.uplift is None:
        return table
    factor = 1 + job.rain.uplift.value_si
    return FrequencyTable(table.duration_s, table.return_period_years, table.depth_m * factor, table.series)


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


def _of_this_place(job: model.Job, own: RainTable) -> tuple[bool, float | None]:
    """Compare the table's coordinates with those of the house, where both are known: is it of this place?"""
    place = job.place
    if None in (place.latitude, place.longitude, own.latitude_deg, own.longitude_deg):
        return True, None
    house = place.latitude or 0.0, place.longitude or 0.0
    distance = rain_library.distance_m(*house, own.latitude_deg or 0.0, own.longitude_deg or 0.0)
    return distance <= tables.limit("rain-table-of-this-place").value_si, distance


def _table(
    job: model.Job, own: RainTable | None, where: _Where, ledger: Ledger, notes: list[str]
) -> tuple[FrequencyTable, str, str, bool, float | None]:
    rain = job.rain
    if rain.table is not None and own is not None:
        name = f"{rain.table} ({own.place or rain.table})"
        here, distance = _of_this_place(job, own)
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
    entry, distance, here, why = _nearest(where, "table", rain.shipped_table, None)
    if not here:
        far = why or _far(distance, ledger.style)
        notes.append(f"the rain table is that of {_name(entry)}, not of this place: {far}")
    table = frequency.table_from_grid(rain_library.load_table(entry.id))
    return table, _name(entry), entry.source, here, distance


def _record(
    job: model.Job,
    folder: Path | None,
    table: FrequencyTable,
    where: _Where,
    ledger: Ledger,
    notes: list[str],
) -> tuple[Record | None, str | None, str | None, bool, float | None]:
    rain = job.rain
    if rain.record is not None:
        with _named("rain.record", rain.record):
            steps = rain_records.parse_record(
                files.read_text(folder, rain.record),
                unit=rain.record_depth_unit,
                label=rain.record_stamps or "start",
                most_m=tables.limit("rain-step-impossible").value_si,
            )
            notes.extend(f"{rain.record}: {remark.text}" for remark in steps.remarks)
            return record_from_series(steps), rain.record, "job", True, None
    entry, distance, here, why = _nearest(where, "record", rain.shipped_record, table)
    if not here:
        far = why or _far(distance, ledger.style)
        notes.append(f"the long record is that of {_name(entry)} ({entry.climate}), not of this place: {far}")
    return (
        record_from_series(rain_library.load_record(entry.id)),
        _name(entry),
        entry.source,
        here,
        distance,
    )


def _nearest(
    where: _Where, kind: rain_library.Kind, wanted: str | None, table: FrequencyTable | None
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
        latitude_deg=where.latitude_deg, longitude_deg=where.longitude_deg, kind=kind
    )
    found = next((item for item in ranked if item.entry == chosen), ranked[0])
    return found.entry, found.distance_m, found.of_this_place, ""


def _name(entry: rain_library.Entry) -> str:
    years = f", {entry.first_year} to {entry.last_year}" if entry.first_year else ""
    return f"{entry.place}, {entry.state}{years}"


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
