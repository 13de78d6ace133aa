"""Every spill of the long record: a line for each year, a tick for each spill, taller for more water."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime

from roofwell.papers.drawing.chart import Chart
from roofwell.papers.drawing.lettering import LEADING, SIZES_PT
from roofwell.papers.drawing.model import Drawing, Item, KeyMark, Label, Polygon, Polyline, rectangle
from roofwell.papers.texts import Say, day
from roofwell.system.traces import Spill, SpillTrace

_ROW_PT = LEADING * SIZES_PT["small"]  # as words lead, so that a column of figures is one block
_MOST_ROWS = 36  # with a figure each; of more, every second year has one
_LEAST_TICK, _MOST_TICK = 0.3, 0.86  # of a row
_EACH_TOLD = 16  # so few spills have their water written beside them
_LATE = 320.0  # from this day on they are written before the tick
_DAYS = 366.0
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_LENGTHS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def spill_chart(trace: SpillTrace, say: Say, *, limit_year: float | None = None) -> Drawing:
    """Return the chart: x the day of the year, 0 to 366, y the years downwards, the first from 0 to −1."""
    title = spill_title(trace, say, limit_year=limit_year)
    notes = (spill_about(trace, say),)
    if not trace.spills:
        return Drawing("spills", title, (), (0.0, -1.0, _DAYS, 0.0), says=title, notes=notes)
    first = trace.first.year
    last = max(trace.spills[-1].at.year, first + round(trace.years) - 1)
    count = last - first + 1
    row = _ROW_PT if count <= _MOST_ROWS else _ROW_PT / 2
    chart = Chart((0.0, _DAYS), (-float(count), 0.0), row * count, left_pt=34.0, right_pt=40.0)
    items: list[Item] = [*_snow(trace, -float(count)), *_rows(chart, trace, first, count)]
    items += _ticks(trace, first, say, rows_high=_ROW_PT / row)
    items += _months(chart, -float(count))
    return chart.drawing(
        name="spills",
        title=title,
        items=items,
        says=f"A line for each year, a tick for each spill. {title}",
        notes=notes,
        over_pt=16.0,
        key=(KeyMark("months that may bring snow: counted as rain", "year", "paved"),)
        if trace.snow_months
        else (),
    )


def spill_title(trace: SpillTrace, say: Say, *, limit_year: float | None = None) -> str:
    """Say in one sentence how often and how much it spills."""
    years, count = round(trace.years), len(trace.spills)
    if not count:
        return f"No spill in {years} years of rain"
    total = sum(spill.volume_m3 for spill in trace.spills)
    often = (
        f"{count / trace.years:.1f} a year"
        if count > trace.years
        else f"one in {trace.years / count:.1f} years"
    )
    spills = "1 spill" if count == 1 else f"{count:,} spills"
    words = f"{spills} in {years} years of rain, {often}: {say.volume(total / count)} each on average"
    if limit_year is not None:
        words += f"; at most {limit_year:g} a year wanted"
    return words


def tick_heights(spills: tuple[Spill, ...]) -> tuple[float, ...]:
    """Return the height of each tick in rows of a figure's height: the largest nearly one, none too low to be seen."""
    most = max((spill.volume_m3 for spill in spills), default=0.0)
    if most <= 0:
        return tuple(_LEAST_TICK for _ in spills)
    return tuple(_LEAST_TICK + (_MOST_TICK - _LEAST_TICK) * spill.volume_m3 / most for spill in spills)


def day_of_year(at: datetime) -> float:
    """Return how far into its year an instant lies, in days of a year in which 29 February always has its place."""
    month = sum(_LENGTHS[: at.month - 1])
    return month + at.day - 1 + (at.hour + at.minute / 60.0) / 24.0


def _rows(chart: Chart, trace: SpillTrace, first: int, count: int) -> Iterator[Item]:
    told = Counter(spill.at.year for spill in trace.spills)
    each = 1 if count <= _MOST_ROWS else 2
    years = [first + n for n in range(count)]
    for n in range(count):
        yield Polyline(((0.0, -float(n + 1)), (_DAYS, -float(n + 1))), "year")
    shown = years[::each]
    middle = -0.5 * (each * (len(shown) - 1) + 1)
    names = "\n".join(str(year) for year in shown)
    yield Label(names, (0.0, middle), "small", side="left", fixed=True, leader=False)
    sums = [sum(told[year + n] for n in range(each)) for year in shown]
    right = _DAYS + chart.along(6.0)
    yield Label(
        "\n".join(str(one) if one else " " for one in sums),
        (right, middle),
        "small",
        strong=True,
        side="right",
        fixed=True,
        leader=False,
    )
    words = "each year" if each == 1 else "each 2 years"
    at = (_DAYS + chart.along(chart.right_pt - 1.0), chart.upward(3.0))
    yield Label(words, at, "small", side="over left", fixed=True, leader=False)


def _ticks(trace: SpillTrace, first: int, say: Say, *, rows_high: float) -> Iterator[Item]:
    for spill, height in zip(trace.spills, tick_heights(trace.spills), strict=True):
        x, y = day_of_year(spill.at), -float(spill.at.year - first + 1)
        yield Polyline(((x, y), (x, y + height * rows_high)), "tick", part=spill.at.date().isoformat())
        if len(trace.spills) <= _EACH_TOLD:
            yield Label(
                say.volume(spill.volume_m3),
                (x, y + 0.45 * rows_high),
                "small",
                side="right" if x < _LATE else "left",
                fixed=True,
                leader=False,
                needed=False,
            )


def _snow(trace: SpillTrace, y: float) -> Iterator[Item]:
    """Months that may bring snow, behind the lines."""
    for month in trace.snow_months or ():
        at = float(sum(_LENGTHS[:month]))
        yield Polygon(rectangle(at, y, at + _LENGTHS[month], 0.0), "fine", "paved", edge=False, part="snow")


def _months(chart: Chart, y: float) -> Iterator[Item]:
    yield Polyline(((0.0, y), (_DAYS, y)), "house")
    at = 0.0
    for name, length in zip(_MONTHS, _LENGTHS, strict=True):
        yield Polyline(((at, y), (at, y - chart.upward(4.0))), "axis")
        yield Label(
            name, (at + length / 2, y - chart.upward(1.5)), "small", side="under", fixed=True, leader=False
        )
        at += length
    yield Polyline(((at, y), (at, y - chart.upward(4.0))), "axis")


def spill_about(trace: SpillTrace, say: Say) -> str:
    """Say which record it is, and which spill was the largest."""
    words = f"Rain as measured: {trace.record}."
    if not trace.spills:
        return words
    largest = max(trace.spills, key=lambda spill: spill.volume_m3)
    words += (
        f" A tick is one rain that spills, taller for more water. The largest, {say.volume(largest.volume_m3)}, began "
        f"on {day(largest.at.date())}."
    )
    return words
