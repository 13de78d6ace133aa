"""Reading rain tables from text: the public agency's point table and a plain table.

Text comes in as ``str``; opening files is the caller's. Records in steps are read by ``rain_records``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError

FloatArray = npt.NDArray[np.float64]
Series = Literal["partial duration", "annual maximum"]

_INCH_M = 0.0254
_FOOT_M = 0.3048

# What stands in parentheses of a title, or in a header cell: metres, and whether per hour.
_UNITS: dict[str, tuple[float, bool]] = {
    "in": (_INCH_M, False),
    "inch": (_INCH_M, False),
    "inches": (_INCH_M, False),
    "mm": (0.001, False),
    "millimeters": (0.001, False),
    "millimetres": (0.001, False),
}
_PER_HOUR = ("/h", "/hr", "/hour")
_UNITS.update({word + end: (size, True) for word, (size, _) in tuple(_UNITS.items()) for end in _PER_HOUR})
_UNIT_HELP = "in, inches, mm, millimeters, or one of them per hour (in/h)"

_TIME_UNITS = {
    "min": 60.0,
    "minute": 60.0,
    "h": 3600.0,
    "hr": 3600.0,
    "hour": 3600.0,
    "day": 86400.0,
    "d": 86400.0,
}
_DURATION = re.compile(r"^(\d+(?:\.\d+)?)\s*-?\s*([a-z]+?)s?\.?$")
_YEARS = re.compile(r"^(\d+(?:\.\d+)?)\s*-?\s*(?:yr|year|y)s?\.?$")
_QUANTITY = re.compile(r"\b(depth|intensity)\b[\s,:(]*([a-z]+(?:/[a-z]+)?)")


@dataclass(frozen=True, slots=True, eq=False)
class RainTable:
    """A depth-duration-frequency table as read, with where it comes from.

    The first six fields are a frequency table's (s, years, m); ``units`` are the words of the file; place,
    station, coordinates and elevation are None where the file does not tell them; ``publisher`` is the
    file's own line about its edition; ``notes`` say in words what was taken for granted in reading.
    """

    duration_s: FloatArray
    return_period_years: FloatArray
    depth_m: FloatArray
    series: Series
    lower_m: FloatArray | None
    upper_m: FloatArray | None
    units: str
    place: str | None = None
    station: str | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None
    publisher: str | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Block:
    """One block of durations: which figures they are, its return periods, its rows."""

    kind: str
    periods: tuple[float, ...]
    durations: tuple[float, ...]
    rows: tuple[tuple[float, ...], ...]


def parse_point_table(text: str) -> RainTable:
    """Read the point-precipitation table that the national agency's server gives out as text.

    Depth or intensity, inches or millimeters, partial-duration or annual-maximum series, with or without
    the blocks of upper and lower bounds. The header is found by its text ("by duration for ..."), not by its
    line. Annual-maximum headers guard their fractions with apostrophes: ``'1/2`` is the 2-year column.

    Raises
    ------
    InputError
        ``rain-table-text``, naming the line and what would be right.
    """
    lines = _lines(text)
    head = [line for _, line in lines[: _first_header(lines)]]
    title = next((line for line in head if "(" in line and "estimates" in line.lower()), "")
    named = re.search(r"\(([^)]*)\)", title)
    if named is None:
        raise _bad(
            1, head[0] if head else "", "a title such as 'Point precipitation frequency estimates (inches)'"
        )
    unit_words = named.group(1).strip().lower()
    if unit_words not in _UNITS:
        raise _bad(_line_of(lines, title), title, f"a unit in parentheses: {_UNIT_HELP}")
    size_m, per_hour = _UNITS[unit_words]
    data_type = _value_after(head, "Data type")
    if data_type is not None and ("intensity" in data_type.lower()) != per_hour:
        raise _bad(
            _line_of(lines, title), title, f"a unit that goes with 'Data type: {data_type}' (per hour or not)"
        )
    blocks = _point_blocks(lines)
    estimate = [block for block in blocks if block.kind == "estimate"]
    if len(estimate) != 1:
        raise _bad(
            _line_of(lines, title),
            title,
            f"one block of estimates in a table of one place; found {len(estimate)}",
        )
    series = _series_of(_value_after(head, "Time series type"), lines)
    bounds = {block.kind: _depths(block, size_m, per_hour) for block in blocks if block.kind != "estimate"}
    for block in blocks:
        if (block.periods, block.durations) != (estimate[0].periods, estimate[0].durations):
            raise _bad(
                _line_of(lines, title),
                title,
                f"the same durations and years in the {block.kind} block as above",
            )
    if len(blocks) != len(bounds) + 1:
        raise _bad(_line_of(lines, title), title, "each block of bounds once")
    elevation = _value_after(head, "Elevation")
    return RainTable(
        duration_s=np.array(estimate[0].durations),
        return_period_years=np.array(estimate[0].periods),
        depth_m=_depths(estimate[0], size_m, per_hour),
        series=series,
        lower_m=bounds.get("lower bound"),
        upper_m=bounds.get("upper bound"),
        units=unit_words,
        place=_known(_value_after(head, "Location name")),
        station=_known(_value_after(head, "Station Name")),
        latitude_deg=_degrees(_value_after(head, "Latitude")),
        longitude_deg=_degrees(_value_after(head, "Longitude")),
        elevation_m=_elevation(elevation),
        publisher=next(
            (line for line in head if "volume" in line.lower() and "version" in line.lower()), None
        ),
    )


def parse_plain_table(text: str, *, series: Series | None = None) -> RainTable:
    """Read a plain table: durations down, return periods across, cells parted by commas, tabs or semicolons.

    The header is the first line with cells such as ``2 yr``; the unit stands in one of its cells or above
    it, as ``depth in``, ``depth mm``, ``intensity in/h`` or ``intensity mm/h``. Lines beginning with ``#``
    are comments, in which unit and series may also be told. A series told in the text goes before the
    argument; told nowhere, partial duration is taken and the notes say so.

    Raises
    ------
    InputError
        ``rain-table-text``, naming the line and what would be right.
    """
    lines = [(number, line) for number, line in _lines(text) if line]
    header_at = next(
        (at for at, (_, line) in enumerate(lines) if any(_YEARS.match(c.lower()) for c in _cells(line))), None
    )
    if header_at is None:
        raise _bad(
            1, lines[0][1] if lines else "", "a header such as 'duration (depth in),2 yr,10 yr,100 yr'"
        )
    number, header = lines[header_at]
    # Only above and in the header: a word in a later comment must not change the unit.
    told = " ".join(line for _, line in lines[: header_at + 1]).lower()
    quantity = _QUANTITY.search(told)
    if quantity is None or quantity.group(2) not in _UNITS:
        raise _bad(
            number,
            header,
            f"the unit in a header cell, such as 'depth in' or 'intensity mm/h' ({_UNIT_HELP})",
        )
    size_m, per_hour = _UNITS[quantity.group(2)]
    if per_hour != (quantity.group(1) == "intensity"):
        raise _bad(number, header, "a depth in in or mm, or an intensity in in/h or mm/h")
    cells = _cells(header)
    first = next(at for at, cell in enumerate(cells) if _YEARS.match(cell.lower()))
    if first != 1:
        raise _bad(number, header, "one column of durations, then the return periods")
    periods = []
    for cell in cells[1:]:
        match = _YEARS.match(cell.lower())
        if match is None:
            raise _bad(number, header, f"a return period such as '10 yr' where '{cell}' stands")
        periods.append(float(match.group(1)))
    _rising(periods, number, header, "return periods that rise from left to right")
    rows = [(n, _cells(line)) for n, line in lines[header_at + 1 :] if not line.startswith("#")]
    if not rows:
        raise _bad(number, header, "at least one row, such as '5 min,0.45,0.57,0.74'")
    block = _block("estimate", tuple(periods), rows)
    notes: tuple[str, ...] = ()
    if "annual max" in told:
        series = "annual maximum"
    elif "partial dur" in told:
        series = "partial duration"
    elif series is None:
        series = "partial duration"
        notes = ("the table does not tell its series; taken as partial duration",)
    return RainTable(
        duration_s=np.array(block.durations),
        return_period_years=np.array(periods),
        depth_m=_depths(block, size_m, per_hour),
        series=series,
        lower_m=None,
        upper_m=None,
        units=quantity.group(2),
        notes=notes,
    )


def parse_table(text: str) -> RainTable:
    """Read a rain table of either layout, told apart by the header's text; errors as the two readers."""
    if any(_is_point_header(line) for _, line in _lines(text)):
        return parse_point_table(text)
    return parse_plain_table(text)


def _lines(text: str) -> list[tuple[int, str]]:
    """Return (line number, line) without the byte-order mark and the commas a spreadsheet appends."""
    return [(n, line.strip().rstrip(",;\t ")) for n, line in enumerate(text.lstrip("\ufeff").splitlines(), 1)]


def _is_point_header(line: str) -> bool:
    return line.strip('"').lower().startswith("by duration for")


def _first_header(lines: list[tuple[int, str]]) -> int:
    for at, (_, line) in enumerate(lines):
        if _is_point_header(line):
            return at
    raise _bad(
        1, lines[0][1] if lines else "", "a header line that begins with 'by duration for ARI (years):'"
    )


def _point_blocks(lines: list[tuple[int, str]]) -> tuple[_Block, ...]:
    blocks = []
    heading = ""
    at = 0
    while at < len(lines):
        number, line = lines[at]
        at += 1
        if "frequency estimates" in line.lower() and not _is_point_header(line):
            heading = line.lower()
        if not _is_point_header(line):
            continue
        cells = _cells(line)
        of_chance = "aep" in cells[0].lower()
        periods = tuple(_period(cell, of_chance, number, line) for cell in cells[1:])
        if not periods:
            raise _bad(number, line, "return periods after 'by duration for ARI (years):'")
        _rising(list(periods), number, line, "return periods that rise from left to right")
        rows = []
        while at < len(lines) and lines[at][1] and not re.match(r"(date/time|pyruntime)", lines[at][1], re.I):
            rows.append((lines[at][0], _cells(lines[at][1])))
            at += 1
        if not rows:
            raise _bad(number, line, "rows such as '5-min:, 0.409,0.485' below this header")
        kind = next((k for k in ("upper bound", "lower bound") if k in heading), "estimate")
        blocks.append(_block(kind, periods, rows))
    return tuple(blocks)


def _period(cell: str, of_chance: bool, number: int, line: str) -> float:
    """Return the return period of a header cell: years, or the reciprocal of a guarded fraction 1/n."""
    bare = cell.strip("'’‘` ")
    match = re.fullmatch(r"1/(\d+(?:\.\d+)?)" if of_chance else r"(\d+(?:\.\d+)?)", bare)
    value = float(match.group(1)) if match else 0.0
    if not value > 0:
        right = "a chance such as '1/2 (the 2-year column)" if of_chance else "a number of years"
        raise _bad(number, line, f"{right} where {cell!r} stands")
    return value


def _block(kind: str, periods: tuple[float, ...], rows: list[tuple[int, list[str]]]) -> _Block:
    durations: list[float] = []
    values: list[tuple[float, ...]] = []
    for number, cells in rows:
        line = ",".join(cells)
        durations.append(_duration(cells[0], number, line))
        _rising(durations[-2:], number, line, "durations that rise from row to row")
        if len(cells) != len(periods) + 1:
            raise _bad(number, line, f"{len(periods)} figures after the duration; found {len(cells) - 1}")
        row = []
        for cell in cells[1:]:
            try:
                figure = float(cell)
            except ValueError:
                figure = -1.0
            if not 0 < figure < 1e6:
                raise _bad(number, line, f"a figure above 0 where {cell!r} stands")
            row.append(figure)
        values.append(tuple(row))
    return _Block(kind, periods, tuple(durations), tuple(values))


def _duration(cell: str, number: int, line: str) -> float:
    match = _DURATION.match(cell.lower().rstrip(": "))
    if match is None or match.group(2) not in _TIME_UNITS or not float(match.group(1)) > 0:
        raise _bad(number, line, f"a duration such as '5-min', '2 hr' or '2-day' where {cell!r} stands")
    return float(match.group(1)) * _TIME_UNITS[match.group(2)]


def _depths(block: _Block, size_m: float, per_hour: bool) -> FloatArray:
    depth = np.array(block.rows) * size_m
    if per_hour:
        depth = depth * (np.array(block.durations)[:, None] / 3600.0)
    return np.asarray(depth, dtype=np.float64)


def _cells(line: str) -> list[str]:
    parted = next((mark for mark in (";", "\t") if mark in line), ",")
    return [cell.strip().strip('"').strip() for cell in line.split(parted)]


def _series_of(words: str | None, lines: list[tuple[int, str]]) -> Series:
    number, header = lines[_first_header(lines)]
    of_chance = "aep" in _cells(header)[0].lower()
    told = (words or "").lower()
    if told.startswith("annual") if of_chance else told.startswith("partial"):
        return "annual maximum" if of_chance else "partial duration"
    if not told:
        return "annual maximum" if of_chance else "partial duration"
    right = "ARI (years) with 'Partial duration', AEP with 'Annual maximum'"
    raise _bad(number, header, f"a header that goes with 'Time series type: {words}': {right}")


def _value_after(head: list[str], label: str) -> str | None:
    """Return what follows the colon of the line that begins with the label, whatever stands between."""
    for line in head:
        bare = line.strip('"')
        if bare.lower().startswith(label.lower()) and ":" in bare:
            return bare.split(":", 1)[1].strip()
    return None


def _known(words: str | None) -> str | None:
    return None if words is None or words.lower() in ("", "none", "-", "none none") else words


def _degrees(words: str | None) -> float | None:
    match = re.match(r"\s*(-?\d+(?:\.\d+)?)", words or "")
    return float(match.group(1)) if match else None


def _elevation(words: str | None) -> float | None:
    match = re.match(r"(-?\d+(?:\.\d+)?)\s*(ft|feet|m|meters)\b", (words or "").lower())
    if match is None:
        return None
    return float(match.group(1)) * (_FOOT_M if match.group(2).startswith("f") else 1.0)


def _line_of(lines: list[tuple[int, str]], wanted: str) -> int:
    return next((number for number, line in lines if line == wanted), 1)


def _rising(values: list[float], number: int, line: str, right: str) -> None:
    if any(b <= a for a, b in pairwise(values)):
        raise _bad(number, line, right)


def _bad(number: int, line: str, right: str) -> InputError:
    shown = line if len(line) <= 80 else line[:77] + "..."
    return InputError(f"rain table, line {number}: read {shown!r}; wanted {right}", code="rain-table-text")
