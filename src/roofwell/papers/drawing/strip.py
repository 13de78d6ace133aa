"""Places the strip of figures under a long section: every column tied to its station, none over another."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from roofwell.papers.drawing.lettering import SIZES_PT, block_pt
from roofwell.papers.drawing.model import Strip, StripColumn

ROW_PT = 11.2
TIE_PT = 12.0  # room for the lines that tie columns to stations that are close together
AIR_PT = 5.0
_SIZE_PT = SIZES_PT["small"]


@dataclass(frozen=True, slots=True)
class PlacedColumn:
    """A column with the middle of its figures and its station's own place, points."""

    column: StripColumn
    x_pt: float
    station_pt: float


@dataclass(frozen=True, slots=True)
class PlacedStrip:
    """A strip on the sheet: its top edge, the right edge of its row names, its columns from left to right."""

    strip: Strip
    top_pt: float
    names_pt: float
    columns: tuple[PlacedColumn, ...]


def strip_height_pt(strip: Strip) -> float:
    """Return how much height a strip takes, points."""
    return TIE_PT + ROW_PT * len(strip.rows) + 2.0


def names_width_pt(strip: Strip) -> float:
    """Return the width of the row names, points."""
    return max((_width(name, strong=False) for name in strip.rows), default=0.0) + AIR_PT


def place_strip(
    strip: Strip, *, x_of: Callable[[float], float], left_pt: float, right_pt: float, top_pt: float
) -> PlacedStrip:
    """Put every needed column as near to its station as its neighbors let it, then those that find room."""
    kept = [column for column in strip.columns if column.needed]
    for column in strip.columns:
        if not column.needed and all(
            abs(x_of(column.x_m) - x_of(other.x_m)) >= _apart(column, other) for other in kept
        ):
            kept.append(column)
    kept.sort(key=lambda column: column.x_m)
    places = _spread(kept, [x_of(column.x_m) for column in kept], left_pt, right_pt)
    placed = tuple(PlacedColumn(c, x, x_of(c.x_m)) for c, x in zip(kept, places, strict=True))
    return PlacedStrip(strip, top_pt, left_pt, placed)


def _spread(
    columns: Sequence[StripColumn], wanted: Sequence[float], left: float, right: float
) -> list[float]:
    """Push columns apart from both ends and stand each halfway, so that a crowd spreads round its middle."""
    if not columns:
        return []
    first = 0.5 * _column_pt(columns[0])
    forward: list[float] = []
    for n, x in enumerate(wanted):
        least = left + first if n == 0 else forward[-1] + _apart(columns[n - 1], columns[n])
        forward.append(max(x, least))
    backward = list(wanted)
    for n in range(len(wanted) - 1, -1, -1):
        most = (
            right - 0.5 * _column_pt(columns[n])
            if n + 1 == len(wanted)
            else backward[n + 1] - _apart(columns[n], columns[n + 1])
        )
        backward[n] = min(backward[n], most)
    middle = [0.5 * (a + b) for a, b in zip(forward, backward, strict=True)]
    for n in range(1, len(middle)):
        middle[n] = max(middle[n], middle[n - 1] + _apart(columns[n - 1], columns[n]))
    over = middle[-1] + 0.5 * _column_pt(columns[-1]) - right
    if over > 0:
        middle[-1] -= over
        for n in range(len(middle) - 2, -1, -1):
            middle[n] = min(middle[n], middle[n + 1] - _apart(columns[n], columns[n + 1]))
    return middle


def _apart(a: StripColumn, b: StripColumn) -> float:
    return 0.5 * (_column_pt(a) + _column_pt(b))


def _column_pt(column: StripColumn) -> float:
    return max((_width(cell, strong=True) for cell in column.cells), default=0.0) + AIR_PT


def _width(text: str, *, strong: bool) -> float:
    return 1.02 * block_pt(text, size_pt=_SIZE_PT, strong=strong)[0]
