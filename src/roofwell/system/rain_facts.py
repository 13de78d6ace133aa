"""Rain of the place: the job's table and record, else the nearest shipped ones, marked as such."""

from __future__ import annotations

from pathlib import Path

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job import files, model
from roofwell.physics.rain import frequency
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.system.facts import RainFacts
from roofwell.system.ledger import Ledger
from roofwell.tables import rain_formats, rain_library, rain_records
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
    table, name, source, here, distance = _table(job, folder, ledger, notes)
    record, record_name, record_source, record_here, record_distance = _record(job, folder, ledger, notes)
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


def _table(
    job: model.Job, folder: Path | None, ledger: Ledger, notes: list[str]
) -> tuple[FrequencyTable, str, str, bool, float | None]:
    rain = job.rain
    if rain.table is not None:
        with _named("rain.table", rain.table):
            grid = rain_formats.parse_table(files.read_text(folder, rain.table))
            place = grid.place or rain.table
            return (
                frequency.table_from_grid(grid),
                f"{rain.table} ({place})",
                grid.publisher or "job",
                True,
                None,
            )
    if rain.depths:
        with _named("rain.depths", f"{len(rain.depths)} typed figures"):
            figures = [(d.duration.value_si, d.return_period.value_si, d.depth.value_si) for d in rain.depths]
            return (
                frequency.table_from_figures(figures=figures, series="partial duration"),
                f"{len(figures)} typed figures",
                "job",
                True,
                None,
            )
    entry, distance, here = _nearest(job, "table", rain.shipped_table)
    if not here:
        notes.append(
            f"the rain table is that of {_name(entry)}: {_far(distance, ledger.style)}, not of this place"
        )
    table = frequency.table_from_grid(rain_library.load_table(entry.id))
    return table, _name(entry), entry.source, here, distance


def _record(
    job: model.Job, folder: Path | None, ledger: Ledger, notes: list[str]
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
    entry, distance, here = _nearest(job, "record", rain.shipped_record)
    if not here:
        notes.append(
            f"the long record is that of {_name(entry)}: {_far(distance, ledger.style)}, not of this place"
        )
    return (
        record_from_series(rain_library.load_record(entry.id)),
        _name(entry),
        entry.source,
        here,
        distance,
    )


def _nearest(
    job: model.Job, kind: rain_library.Kind, wanted: str | None
) -> tuple[rain_library.Entry, float | None, bool]:
    """Return the shipped entry that is named, else the nearest; its distance; whether it is of this place."""
    place = job.place
    chosen = rain_library.entry(wanted) if wanted is not None else None
    if place.latitude is None or place.longitude is None:
        return chosen or rain_library.entries(kind)[0], None, False
    ranked = rain_library.nearest(latitude_deg=place.latitude, longitude_deg=place.longitude, kind=kind)
    found = next((item for item in ranked if item.entry == chosen), ranked[0])
    return found.entry, found.distance_m, found.of_this_place


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
