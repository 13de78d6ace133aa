"""Make the rain library of the package from a folder of the agency's files.

    python tools/make_rain_library.py FOLDER [OUT]

FOLDER holds ``hpd_hourly_us/<station>_*.csv.gz`` with ``station_inventory_subset.csv`` and
``idf/atlas14_*.csv``. OUT is src/roofwell/tables/rain if left out. Prints what was found; running it again on
the same files gives the same bytes.
"""

from __future__ import annotations

import csv
import gzip
import hashlib
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from roofwell import tables
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.physics.rain.screening import clean_window, doubtful_steps, yearly_quality
from roofwell.tables.rain_formats import parse_point_table
from roofwell.tables.rain_records import parse_daily_rows

LICENSE = "US Government work, public domain"
HOURLY = "NOAA NCEI, Hourly Precipitation Data v2"


@dataclass(frozen=True)
class Station:
    """A record to ship; ``window`` is set only where the rule for clean years was loosened by hand."""

    id: str
    station: str
    place: str
    climate: str
    window: tuple[int, int] | None = None
    note: str = ""


STATIONS = (
    Station("amarillo-tx", "USW00023047", "Amarillo", "dry plains, most rain May to August"),
    Station(
        "denver-co",
        "USW00023062",
        "Denver",
        "dry, foot of high mountains, most rain April to August; winter snow",
    ),
    Station("cairo-il", "USW00093809", "Cairo", "humid, rain in all months"),
    Station(
        "mount-shasta-ca",
        "USC00045983",
        "Mount Shasta",
        "mountain, wet winters and dry summers; much of it snow",
        note="much snow: melted depth at the hour of the fall",
    ),
    Station("moore-haven-fl", "USC00085895", "Moore Haven", "subtropical, most rain June to September"),
    Station(
        "chicago-midway-il",
        "USC00111577",
        "Chicago Midway",
        "humid, most rain April to September; winter snow",
    ),
    Station(
        "north-little-rock-ar",
        "USW00003952",
        "North Little Rock",
        "humid, rain in all months, wettest in late fall",
    ),
    Station(
        "landisville-pa",
        "USC00364778",
        "Landisville",
        "humid East, rain in all months",
        window=(1959, 1976),
        note="window looser than the rule: 2.1 % of the hours are missing",
    ),
)

TABLES = (
    # id, file, place, state, climate, source key, note
    (
        "nashville-tn-table",
        "atlas14_nashville_tn_all_depth_pds.csv",
        "Nashville",
        "TN",
        "humid, rain in all months",
        "noaa-atlas-14-v2",
        "with 90 % bounds",
    ),
    (
        "fort-myers-fl-table",
        "atlas14_fort_myers_fl_depth_pds.csv",
        "Fort Myers",
        "FL",
        "subtropical coast",
        "noaa-atlas-14-v9",
        "point 26.6 N 81.9 W; the file names no place",
    ),
)

COLUMNS = (
    *("id", "kind", "place", "state", "latitude_deg", "longitude_deg", "elevation_m", "climate"),
    *("first_year", "last_year", "in_per_year", "file", "publisher", "license", "source", "sha256", "note"),
)


def main(folder: Path, out: Path) -> None:
    """Write the stored files and ``library.csv``."""
    out.mkdir(parents=True, exist_ok=True)
    rows = [*_tables(folder / "idf", out), *_records(folder / "hpd_hourly_us", out)]
    with (out / "library.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    print(f"{sum(f.stat().st_size for f in out.iterdir()) / 1e6:.2f} MB in {out}")


def _tables(folder: Path, out: Path) -> list[dict[str, str]]:
    rows = []
    for key, name, place, state, climate, source, note in TABLES:
        data = (folder / name).read_bytes()
        table = parse_point_table(data.decode("utf-8"))
        file = f"{key}.csv"
        (out / file).write_bytes(data)
        rows.append(
            dict.fromkeys(COLUMNS, "")
            | {
                "id": key,
                "kind": "table",
                "place": place,
                "state": state,
                "latitude_deg": f"{table.latitude_deg:g}",
                "longitude_deg": f"{table.longitude_deg:g}",
                "elevation_m": "" if table.elevation_m is None else f"{table.elevation_m:.1f}",
                "climate": climate,
                "file": file,
                "publisher": table.publisher or "",
                "license": LICENSE,
                "source": source,
                "sha256": hashlib.sha256(data).hexdigest(),
                "note": note,
            }
        )
    return rows


def _records(folder: Path, out: Path) -> list[dict[str, str]]:
    with (folder / "station_inventory_subset.csv").open(encoding="utf-8", newline="") as stream:
        inventory = {row["StnID"]: row for row in csv.DictReader(stream)}
    rows = []
    for station in STATIONS:
        (path,) = folder.glob(f"{station.station}_*.csv.gz")
        with gzip.open(path, "rt", encoding="utf-8") as stream:
            most_m = tables.limit("rain-step-impossible").value_si
            whole = record_from_series(parse_daily_rows(stream.read(), most_m=most_m))
        first, last = station.window or _clean_years(whole)
        record = whole.window(first_year=first, last_year=last)
        doubtful = doubtful_steps(
            record,
            most_m=tables.limit("rain-hour-doubtful").value_si,
            month_end_m=tables.limit("rain-month-end").value_si,
        )
        file = f"{station.id}.npz"
        _store(out / file, record, [d.step for d in doubtful])
        print(station.id, first, last, f"{record.yearly_mean_m / 0.0254:.2f} in/y", *doubtful)
        facts = inventory[station.station]
        rows.append(
            {
                "id": station.id,
                "kind": "record",
                "place": station.place,
                "state": facts["State/Province"],
                "latitude_deg": facts["Lat"],
                "longitude_deg": facts["Lon"],
                "elevation_m": facts["Elev"],
                "climate": station.climate,
                "first_year": str(first),
                "last_year": str(last),
                "in_per_year": f"{record.yearly_mean_m / 0.0254:.2f}",
                "file": file,
                "publisher": f"{HOURLY}, station {station.station}",
                "license": LICENSE,
                "source": "noaa-hpd-v2",
                "sha256": hashlib.sha256((out / file).read_bytes()).hexdigest(),
                "note": station.note,
            }
        )
    return rows


def _clean_years(record: Record) -> tuple[int, int]:
    window = clean_window(
        yearly_quality(record, coarse_m=tables.limit("rain-coarse-reading").value_si),
        least_coverage=tables.limit("rain-year-coverage").value_si,
        most_coarse_share=tables.limit("rain-coarse-share").value_si,
    )
    if window is None:
        raise SystemExit("no clean year in a record that should have some")
    return window


def _store(path: Path, record: Record, doubtful: list[int]) -> None:
    """Write the wet and the missing steps; depths are whole hundredths of an inch."""
    wet = np.flatnonzero(record.depth_m > 0)
    hundredths = np.round(record.depth_m[wet] / 0.000254)
    if not np.allclose(hundredths * 0.000254, record.depth_m[wet], rtol=1e-9):
        raise SystemExit(f"{path.name}: depths are not whole hundredths of an inch")
    np.savez_compressed(
        path,
        step_s=np.int64(record.step_s),
        wet_step=wet.astype(np.uint32),
        wet_hundredths=hundredths.astype(np.uint16),
        missing_step=np.flatnonzero(record.missing).astype(np.uint32),
        doubtful_step=np.array(doubtful, dtype=np.uint32),
    )


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        raise SystemExit(__doc__)
    default = Path(__file__).parent.parent / "src" / "roofwell" / "tables" / "rain"
    main(Path(sys.argv[1]), Path(sys.argv[2]) if len(sys.argv) == 3 else default)
