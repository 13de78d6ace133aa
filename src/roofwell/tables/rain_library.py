"""The rain that comes with the package: public frequency tables and hourly records, the nearest first."""

from __future__ import annotations

import csv
import hashlib
import io
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Literal

import numpy as np

from roofwell import tables, units
from roofwell.errors import InputError, InternalError
from roofwell.tables.rain_formats import RainTable, parse_point_table
from roofwell.tables.rain_records import RainSteps, Remark

Kind = Literal["table", "record"]

_EARTH_RADIUS_M = 6_371_008.8
_HUNDREDTH_INCH_M = 0.000254


@dataclass(frozen=True, slots=True)
class Entry:
    """A table or a record of the library.

    ``climate`` says in a few words how it rains there; years and yearly mean (m) are None for a table.
    ``source`` is a key into the sources; ``sha256`` the checksum of the stored file.
    """

    id: str
    kind: Kind
    place: str
    state: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    climate: str
    first_year: int | None
    last_year: int | None
    yearly_mean_m: float | None
    file: str
    publisher: str
    license: str
    source: str
    sha256: str
    note: str

    @property
    def years(self) -> int | None:
        """Number of calendar years of a record."""
        if self.first_year is None or self.last_year is None:
            return None
        return self.last_year - self.first_year + 1


@dataclass(frozen=True, slots=True)
class Ranked:
    """A library entry seen from a place.

    ``distance_m`` is the great-circle distance; ``of_this_place`` whether it is within the limit
    ``rain-table-of-this-place``; ``note`` says so in words where it is not, else is empty.
    """

    entry: Entry
    distance_m: float
    of_this_place: bool
    note: str

    @property
    def distance_km(self) -> float:
        """Great-circle distance, km."""
        return self.distance_m / 1000


@cache
def entries(kind: Kind | None = None) -> tuple[Entry, ...]:
    """Return the library's entries of a kind, or all of them, in the order of its list."""
    lines = _file("library.csv").read_text(encoding="utf-8").splitlines()
    found = tuple(_entry(row) for row in csv.DictReader(lines))
    return tuple(entry for entry in found if kind is None or entry.kind == kind)


def nearest(
    *, latitude_deg: float, longitude_deg: float, kind: Kind, style: units.Style
) -> tuple[Ranked, ...]:
    """Return the entries of a kind, the nearest first.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The house, degrees north and east (west of Greenwich below 0); −90 to 90 and −180 to 180.
    kind
        ``"table"`` or ``"record"``.
    style
        Whose figure says how far rain is still of this place.

    Raises
    ------
    InputError
        ``rain-place`` if the coordinates are none.
    """
    if not (-90 <= latitude_deg <= 90 and -180 <= longitude_deg <= 180):
        raise InputError(
            f"latitude {latitude_deg:g} and longitude {longitude_deg:g}: −90 to 90 and −180 to 180 degrees,"
            " west of Greenwich below 0",
            code="rain-place",
        )
    limit_m = tables.limit("rain-table-of-this-place", style).value_si
    ranked = []
    for entry in entries(kind):
        distance = distance_m(latitude_deg, longitude_deg, entry.latitude_deg, entry.longitude_deg)
        near = distance <= limit_m
        note = ""
        if not near:
            note = (
                f"not of this place: {entry.place}, {entry.state} is {distance / 1000:.0f} km"
                f" ({distance / 1609.344:.0f} mi) away; {entry.climate}"
            )
        ranked.append(Ranked(entry, distance, near, note))
    return tuple(sorted(ranked, key=lambda r: (r.distance_m, r.entry.id)))


def entry(entry_id: str) -> Entry:
    """Return an entry by its id; raises ``InputError`` (``rain-library-id``) naming the ids there are."""
    for found in entries():
        if found.id == entry_id:
            return found
    known = ", ".join(found.id for found in entries())
    raise InputError(f"no rain named {entry_id!r} in the library; there are {known}", code="rain-library-id")


def load_table(entry_id: str) -> RainTable:
    """Return a shipped frequency table; raises ``InputError`` (``rain-library-id``) if it is not one."""
    found = _of_kind(entry_id, "table")
    return parse_point_table(_bytes(found).decode("utf-8"))


def load_record(entry_id: str, *, keep_doubtful: bool = False) -> RainSteps:
    """Return a shipped hourly record of whole calendar years, local standard time.

    Parameters
    ----------
    entry_id
        Id of a record.
    keep_doubtful
        Hours that are hard to believe (a month's sum booked in its last hour, say) are missing and remarked
        on; True keeps them as the agency's file has them, to reproduce published figures.

    Raises
    ------
    InputError
        ``rain-library-id`` if there is no such record.
    """
    found = _of_kind(entry_id, "record")
    if found.first_year is None or found.last_year is None:
        raise InternalError(f"library record {entry_id} has no years", code="rain-library-row")
    start = np.datetime64(f"{found.first_year}-01-01T00:00:00", "s")
    end = np.datetime64(f"{found.last_year + 1}-01-01T00:00:00", "s")
    with np.load(io.BytesIO(_bytes(found))) as stored:
        wet, hundredths = stored["wet_step"], stored["wet_hundredths"]
        missing_step, doubtful = stored["missing_step"], stored["doubtful_step"]
        step_s = int(stored["step_s"])
    steps = int((end - start) / np.timedelta64(step_s, "s"))
    depth = np.zeros(steps)
    depth[wet] = hundredths * _HUNDREDTH_INCH_M
    missing = np.zeros(steps, dtype=np.bool_)
    missing[missing_step] = True
    remarks: list[Remark] = []
    if missing_step.size:
        share = missing_step.size / steps
        remarks.append(Remark("rain-missing", None, f"{missing_step.size} hours ({share:.2%}) are missing"))
    for at in doubtful:
        when = start + int(at) * np.timedelta64(step_s, "s")
        words = f"{when}: {depth[at] / 0.0254:.2f} in in one hour is hard to believe"
        remarks.append(
            Remark("rain-doubtful", None, words + ("; kept" if keep_doubtful else "; left missing"))
        )
    if not keep_doubtful:
        depth[doubtful] = 0.0
        missing[doubtful] = True
    return RainSteps(start, step_s, depth, missing, tuple(remarks), found.id)


def verify() -> tuple[str, ...]:
    """Return the ids of entries whose stored file does not have its checksum; empty if all is well."""
    return tuple(e.id for e in entries() if hashlib.sha256(_bytes(e)).hexdigest() != e.sha256)


def _of_kind(entry_id: str, kind: Kind) -> Entry:
    found = entry(entry_id)
    if found.kind != kind:
        known = ", ".join(e.id for e in entries(kind))
        raise InputError(
            f"{entry_id} is a {found.kind}, not a {kind}; there are {known}", code="rain-library-id"
        )
    return found


def _entry(row: dict[str, str]) -> Entry:
    kind: Kind = "table" if row["kind"] == "table" else "record"
    mean = row["in_per_year"]
    return Entry(
        id=row["id"],
        kind=kind,
        place=row["place"],
        state=row["state"],
        latitude_deg=float(row["latitude_deg"]),
        longitude_deg=float(row["longitude_deg"]),
        elevation_m=float(row["elevation_m"]) if row["elevation_m"] else None,
        climate=row["climate"],
        first_year=int(row["first_year"]) if row["first_year"] else None,
        last_year=int(row["last_year"]) if row["last_year"] else None,
        yearly_mean_m=float(mean) * 0.0254 if mean else None,
        file=row["file"],
        publisher=row["publisher"],
        license=row["license"],
        source=row["source"],
        sha256=row["sha256"],
        note=row["note"],
    )


def distance_m(latitude_a: float, longitude_a: float, latitude_b: float, longitude_b: float) -> float:
    """Return the great-circle distance on a sphere, m."""
    a, b = math.radians(latitude_a), math.radians(latitude_b)
    across = math.radians(longitude_b - longitude_a)
    half = math.sin((b - a) / 2) ** 2 + math.cos(a) * math.cos(b) * math.sin(across / 2) ** 2
    return 2 * _EARTH_RADIUS_M * math.asin(min(1.0, math.sqrt(half)))


def _file(name: str) -> Traversable:
    return resources.files(__package__) / "rain" / name


def _bytes(found: Entry) -> bytes:
    return _file(found.file).read_bytes()
