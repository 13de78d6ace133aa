"""Reading rain records from text: a column of stamps and a column of depths, or the agency's daily rows.

What is wrong in a file is reported in words and left out; nothing is filled. Text comes in as ``str``.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
Label = Literal["start", "end"]
DateOrder = Literal["year first", "month first", "day first"]

_UNITS_M = {"in": 0.0254, "inches": 0.0254, "mm": 0.001, "0.01 in": 0.000254, "0.1 mm": 0.0001}
_HEADER_UNITS = (
    (re.compile(r"hundredths.{0,4}in|0\.01 ?in"), 0.000254),
    (re.compile(r"tenths.{0,4}mm|0\.1 ?mm"), 0.0001),
    (re.compile(r"(?<![a-z])mm(?![a-z])|millimet"), 0.001),
    (re.compile(r"(?<![a-z])in(?![a-z])|inch"), 0.0254),
)
_SURELY_INCHES = re.compile(r"inch|(?:^|[\s(\[])in[)\]]?$")
_MISSING = {"", "m", "na", "nan", "null", "none", "-", "-9999", "-999", "-99.99", "9999", "999.99"}
_STAMPS = {
    "year first": (
        "%Y-%m-%d %H:%M",
        "%Y-%m-%d %H:%M:%S",
        "%Y/%m/%d %H:%M",
        "%Y%m%d %H:%M",
        "%Y%m%d%H%M",
        "%Y-%m-%d",
    ),
    "month first": (
        "%m/%d/%Y %H:%M",
        "%m/%d/%Y %H:%M:%S",
        "%m/%d/%Y %I:%M %p",
        "%m/%d/%Y %I:%M:%S %p",
        "%m/%d/%Y",
    ),
    "day first": ("%d/%m/%Y %H:%M", "%d/%m/%Y %H:%M:%S", "%d.%m.%Y %H:%M", "%d.%m.%Y %H:%M:%S", "%d/%m/%Y"),
}
_SHOWN = 20  # remarks of one kind that are printed one by one; the rest is counted
_LONGEST_STEPS = 40_000_000  # 76 years of minutes: more steps than that come from a wrong date


@dataclass(frozen=True, slots=True)
class Remark:
    """Something found wrong in a record: a stable code, the line (None: the whole file), and words."""

    code: str
    line: int | None
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class RainSteps:
    """A record as read: the four fields of a record, and what was found.

    ``start`` is the start of the first step whatever the file's labels; ``missing`` steps have depth 0.
    """

    start: np.datetime64
    step_s: int
    depth_m: FloatArray
    missing: BoolArray
    remarks: tuple[Remark, ...]
    station: str | None = None


def parse_record(
    text: str,
    *,
    unit: str | None = None,
    label: Label = "start",
    time_column: str | None = None,
    depth_column: str | None = None,
    date_order: DateOrder = "year first",
    most_m: float,
) -> RainSteps:
    """Read a record of (time stamp, depth) rows.

    Parameters
    ----------
    text
        Rows parted by commas, semicolons or tabs, with or without a header line.
    unit
        ``"in"``, ``"mm"``, ``"0.01 in"`` or ``"0.1 mm"``; None takes it from the depth column's header.
    label
        Whether a stamp is the start or the end of its step.
    time_column, depth_column
        Header names; None takes the first and the last column.
    date_order
        How dates are written; ``2013-06-07 05:00`` (also with T or Z) is ``"year first"``.
    most_m
        Depth in one step, m, above which a value is impossible; above 0.

    Returns
    -------
    RainSteps
        The step is the commonest distance of stamps. Rows not there, unreadable, negative, impossible or
        given twice with different depths are missing and remarked on; rows out of order are sorted and
        remarked on; a trace ("T") counts as 0.

    Raises
    ------
    InputError
        ``rain-record-text``, naming the line and what would be right: no two readable rows, no unit, no such
        column, an unreadable stamp, a stamp off the steps.
    """
    if not most_m > 0:
        raise InputError(f"the most rain of a step, {most_m:g} m, must be above 0", code="rain-record-number")
    rows = _rows(text)
    header = rows[0] if rows and _stamp(rows[0][1][0], date_order) is None else None
    if header is not None:
        rows = rows[1:]
    time_at = _column(header, time_column, 0)
    depth_at = _column(header, depth_column, -1)
    size_m = _unit(unit, header, depth_at)
    if len(rows) < 2:
        raise _bad(1, "", "at least two rows such as '2013-06-07 05:00,0.12'")
    width = max(time_at, depth_at) + 1
    numbers, stamps, cells, remarks = [], [], [], _Remarks()
    for number, row in rows:
        stamp = _stamp(row[time_at], date_order) if len(row) > time_at else None
        if stamp is None:
            raise _bad(number, ",".join(row), _STAMP_HELP[date_order])
        if len(row) < width:
            raise _bad(number, ",".join(row), f"{width} columns")
        numbers.append(number)
        stamps.append(stamp)
        cells.append(row[depth_at])
    moment = np.array(stamps, dtype="datetime64[s]").astype(np.int64)
    line = np.array(numbers)
    depth, bad = _values(cells, line, size_m, most_m, remarks)
    for at in np.flatnonzero(np.diff(moment) < 0):
        remarks.add(
            "rain-time-backwards", int(line[at + 1]), f"time goes back to {stamps[at + 1]}; rows were sorted"
        )
    order = np.argsort(moment, kind="stable")
    moment, line, depth, bad = moment[order], line[order], depth[order], bad[order]
    step_s = _step(moment)
    place = (moment - moment[0]) // step_s
    off = np.flatnonzero((moment - moment[0]) % step_s)
    if off.size:
        first_off = int(off[0])
        raise _bad(
            int(line[first_off]),
            str(_moment(moment[first_off])),
            f"a stamp a whole number of {step_s} s steps after the first",
        )
    count = int(place[-1]) + 1
    if count > _LONGEST_STEPS:
        raise _bad(int(line[-1]), str(_moment(moment[-1])), "dates less far apart; one of them is wrong")
    for at in np.flatnonzero(np.diff(place) == 0):
        same = depth[at] == depth[at + 1] and bad[at] == bad[at + 1]
        what = "with the same depth; kept once" if same else "with another depth; left missing"
        remarks.add("rain-time-repeated", int(line[at + 1]), f"{_moment(moment[at])} is given again {what}")
        if not same:
            bad[moment == moment[at]] = True
    for at in np.flatnonzero(np.diff(place) > 1):
        lost = int(place[at + 1] - place[at]) - 1
        begins = _moment(moment[at] + step_s)
        remarks.add(
            "rain-gap", int(line[at + 1]), f"{lost} steps from {begins} on are not there; left missing"
        )
    full = np.zeros(count)
    missing = np.ones(count, dtype=np.bool_)
    full[place] = np.where(bad, 0.0, depth)
    missing[place] = bad
    first = _moment(moment[0] - (step_s if label == "end" else 0))
    return RainSteps(first, step_s, full, missing, remarks.all())


def parse_daily_rows(text: str, *, most_m: float) -> RainSteps:
    """Read the agency's hourly set: a row a day, 24 hourly totals in hundredths of an inch, −9999 missing.

    ``HR00Val`` is 00:00 to 01:00 local standard time. Days that are not there are missing. ``most_m`` as in
    `parse_record`. Raises ``InputError`` (``rain-record-text``), naming the line and what would be right.
    """
    rows = _rows(text)
    wanted = [f"HR{hour:02d}Val" for hour in range(24)]
    if not rows or not {"DATE", *wanted} <= set(rows[0][1]):
        raise _bad(1, ",".join(rows[0][1])[:60] if rows else "", "a header with DATE and HR00Val to HR23Val")
    header, rows = rows[0][1], rows[1:]
    if not rows:
        raise _bad(2, "", "a row for each day")
    day_at = header.index("DATE")
    hours_at = [header.index(name) for name in wanted]
    remarks = _Remarks()
    days, values = [], []
    for number, row in rows:
        try:
            days.append(np.datetime64(datetime.strptime(row[day_at], "%Y-%m-%d").date(), "D"))
            values.append([int(row[at]) for at in hours_at])
        except (ValueError, IndexError):
            raise _bad(number, ",".join(row)[:60], "a date such as 1950-01-31 and 24 whole numbers") from None
    day = np.array(days)
    line = np.array([number for number, _ in rows])
    depth = np.array(values, dtype=np.float64) * 0.000254
    bad = np.array(values) == -9999
    for code, wrong, words in (
        ("rain-negative", (depth < 0) & ~bad, "is negative"),
        ("rain-impossible", depth > most_m, f"is more than {most_m * 1000:g} mm in an hour"),
    ):
        for at, hour in np.argwhere(wrong):
            remarks.add(
                code, int(line[at]), f"{day[at]} {hour:02d}:00: {values[at][hour]} {words}; left missing"
            )
        bad |= wrong
    order = np.argsort(day, kind="stable")
    for at in np.flatnonzero(np.diff(day) < np.timedelta64(0, "D")):
        remarks.add(
            "rain-time-backwards", int(line[at + 1]), f"time goes back to {day[at + 1]}; rows were sorted"
        )
    day, line, depth, bad = day[order], line[order], depth[order], bad[order]
    apart = np.diff(day).astype(np.int64)
    for at in np.flatnonzero(apart == 0):
        remarks.add("rain-time-repeated", int(line[at + 1]), f"{day[at]} is given again; left missing")
        bad[day == day[at]] = True
    for at in np.flatnonzero(apart > 1):
        remarks.add(
            "rain-gap",
            int(line[at + 1]),
            f"{apart[at] - 1} days from {day[at] + 1} on are not there; left missing",
        )
    place = (day - day[0]).astype(np.int64)
    full = np.zeros((int(place[-1]) + 1, 24))
    missing = np.ones(full.shape, dtype=np.bool_)
    full[place] = np.where(bad, 0.0, depth)
    missing[place] = bad
    station = rows[0][1][header.index("STATION")] if "STATION" in header else None
    return RainSteps(
        day[0].astype("datetime64[s]"), 3600, full.ravel(), missing.ravel(), remarks.all(), station
    )


class _Remarks:
    """Remarks in the order found; of each kind the first few one by one, the rest counted."""

    def __init__(self) -> None:
        self._list: list[Remark] = []
        self._count: Counter[str] = Counter()

    def add(self, code: str, line: int | None, text: str) -> None:
        self._count[code] += 1
        if self._count[code] <= _SHOWN:
            self._list.append(Remark(code, line, text if line is None else f"line {line}: {text}"))

    def all(self) -> tuple[Remark, ...]:
        more = [
            Remark(code, None, f"and {count - _SHOWN} more like this")
            for code, count in self._count.items()
            if count > _SHOWN
        ]
        return (*self._list, *more)


_STAMP_HELP = {
    "year first": "a time such as 2013-06-07 05:00 (say so if the month or the day comes first)",
    "month first": "a time such as 06/07/2013 05:00",
    "day first": "a time such as 07.06.2013 05:00",
}


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """Return (line number, cells) of the lines that are neither empty nor comments."""
    lines = text.lstrip("\ufeff").splitlines()
    first = next((line for line in lines if line.strip() and not line.startswith("#")), "")
    parted = next((mark for mark in (";", "\t") if mark in first), ",")
    return [
        (number, [cell.strip() for cell in cells])
        for number, cells in enumerate(csv.reader(lines, delimiter=parted), 1)
        if cells and any(cells) and not cells[0].startswith("#")
    ]


def _stamp(cell: str, order: DateOrder) -> datetime | None:
    bare = cell.strip().replace("T", " ").removesuffix("Z").strip()
    if order == "year first":
        try:
            moment = datetime.fromisoformat(bare)
        except ValueError:
            moment = None
        if moment is not None:
            return moment if moment.tzinfo is None else moment.replace(tzinfo=None)
    for pattern in _STAMPS[order]:
        try:
            return datetime.strptime(bare, pattern)
        except ValueError:
            continue
    return None


def _column(header: tuple[int, list[str]] | None, name: str | None, default: int) -> int:
    if name is None:
        return default if default >= 0 else (len(header[1]) - 1 if header else 1)
    if header is None or name not in header[1]:
        found = ", ".join(header[1]) if header else "no header"
        raise _bad(header[0] if header else 1, found, f"a column named {name}")
    return header[1].index(name)


def _unit(unit: str | None, header: tuple[int, list[str]] | None, depth_at: int) -> float:
    if unit is not None and unit not in _UNITS_M:
        raise InputError(f"unit {unit!r}: one of {', '.join(_UNITS_M)}", code="rain-record-text")
    words = header[1][depth_at].lower() if header and depth_at < len(header[1]) else ""
    # An underscore is a letter to a word boundary, not to a reader: precip_in.
    bare = words.replace("_", " ")
    told = next((size for pattern, size in _HEADER_UNITS if pattern.search(bare)), None)
    if unit is not None:
        size = _UNITS_M[unit]
        sure = told != _UNITS_M["in"] or _SURELY_INCHES.search(bare) is not None  # not of "rain in gauge"
        if told is not None and sure and told != size and header is not None:
            raise InputError(
                f"rain record, line {header[0]}: two units: the column is headed {words!r}, and the depths were said to"
                f" be in {unit}; wanted one of them (leave the said unit out, or put the header right)",
                code="rain-record-two-units",
            )
        return size
    if told is not None:
        return told
    raise _bad(
        header[0] if header else 1, words, "the unit of depth in the header, such as 'depth mm', or stated"
    )


def _values(
    cells: list[str], line: npt.NDArray[np.int64], size_m: float, most_m: float, remarks: _Remarks
) -> tuple[FloatArray, BoolArray]:
    """Return depths, m, and which of them cannot be used."""
    depth = np.zeros(len(cells))
    bad = np.zeros(len(cells), dtype=np.bool_)
    for at, cell in enumerate(cells):
        number = int(line[at])
        word = cell.lower()
        if word in _MISSING:
            bad[at] = True
            remarks.add("rain-missing", number, f"marked missing ({cell!r})")
        elif word in ("t", "trace"):
            remarks.add("rain-trace", number, "a trace; counted as 0")
        else:
            try:
                depth[at] = float(cell) * size_m
            except ValueError:
                bad[at] = True
                remarks.add("rain-unreadable", number, f"{cell!r} is not a number; left missing")
                continue
            if depth[at] < 0:
                bad[at] = True
                remarks.add("rain-negative", number, f"{cell} is negative; left missing")
            elif not depth[at] <= most_m:
                bad[at] = True
                limit = f"{most_m * 1000:.4g} mm ({most_m / 0.0254:.4g} in)"
                remarks.add(
                    "rain-impossible", number, f"{cell} is more than {limit} in one step; left missing"
                )
    return depth, bad


def _step(moment: npt.NDArray[np.int64]) -> int:
    """Return the commonest distance between stamps, s; the shorter of two equally common."""
    apart = np.diff(moment)
    lengths, counts = np.unique(apart[apart > 0], return_counts=True)
    if lengths.size == 0:
        raise _bad(1, str(_moment(moment[0])), "at least two different times")
    return int(lengths[np.argmax(counts)])


def _moment(seconds: int | np.int64) -> np.datetime64:
    return np.datetime64(int(seconds), "s")


def _bad(number: int, read: str, right: str) -> InputError:
    return InputError(f"rain record, line {number}: read {read!r}; wanted {right}", code="rain-record-text")
