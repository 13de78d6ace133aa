"""A chart on the drawing model: lines in true units on both axes, with ticks at round values of the job's own units.

A chart is a ``Drawing`` whose x is hours or days and whose y is metres or years; ``Drawing.up`` holds how the two are
stretched against each other, so that the same lines serve paper and page. Only marks have a size on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from roofwell.papers.drawing.lettering import SIZES_PT, block_pt
from roofwell.papers.drawing.model import XY, Drawing, Item, KeyMark, Label, LevelMarks, Polyline
from roofwell.papers.drawing.scale import POINTS_PER_METER, Scale
from roofwell.units import Style

WIDE_PT = 518.0
"""Width of a whole chart with its words, points: what the narrower of the two papers leaves."""

FOOT_M = 0.3048
_LEFT_PT = 34.0  # figures of the upright axis
_COLUMN_PT = 20.0  # leader of the words right of the chart
_TICK_PT = 3.6
_ROUND = (1.0, 2.0, 5.0)
_ROUND_HOURS = (0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 48.0, 72.0, 120.0, 240.0, 480.0, 960.0)

Mark = tuple[str, float]


@dataclass(frozen=True, slots=True)
class Chart:
    """Where a chart's lines lie: ranges in true units, size on paper in points.

    ``marks`` are words right of the chart, each tied to a value of the upright axis.
    """

    x: tuple[float, float]
    y: tuple[float, float]
    high_pt: float
    marks: tuple[Mark, ...] = ()
    left_pt: float = _LEFT_PT
    right_pt: float = 8.0

    @property
    def wide_pt(self) -> float:
        """Width of what lies between the axes, points."""
        right = _column_pt([text for text, _ in self.marks]) if self.marks else self.right_pt
        return WIDE_PT - self.left_pt - right

    def along(self, points: float) -> float:
        """Return a length on paper, points, in units of x."""
        return points * (self.x[1] - self.x[0]) / self.wide_pt

    def upward(self, points: float) -> float:
        """Return a length on paper, points, in units of y."""
        return points * (self.y[1] - self.y[0]) / self.high_pt

    def axis_along(self, ticks: Sequence[Mark], *, at: float | None = None) -> Iterator[Item]:
        """Yield the lower axis with its ticks and their words."""
        y = self.y[0] if at is None else at
        yield Polyline(((self.x[0], y), (self.x[1], y)), "house")
        for text, x in ticks:
            yield Polyline(((x, y), (x, y - self.upward(_TICK_PT))), "axis")
            yield Label(text, (x, y - self.upward(_TICK_PT)), "small", side="under", fixed=True, leader=False)

    def axis_up(self, ticks: Sequence[Mark]) -> Iterator[Item]:
        """Yield the upright axis with its ticks and their words."""
        x = self.x[0]
        yield Polyline(((x, self.y[0]), (x, max((y for _, y in ticks), default=self.y[1]))), "axis")
        for text, y in ticks:
            end = (x - self.along(_TICK_PT), y)
            yield Polyline(((x, y), end), "axis")
            if y > self.y[0]:  # the corner has the words of the lower axis
                yield Label(text, end, "small", side="left", fixed=True, leader=False)

    def drawing(
        self,
        *,
        name: str,
        title: str,
        items: Sequence[Item],
        says: str,
        notes: tuple[str, ...] = (),
        over_pt: float = 14.0,
        key: tuple[KeyMark, ...] = (),
    ) -> Drawing:
        """Return the chart as a drawing, with room for what stands left of, over and under its axes."""
        column = (LevelMarks(self.x[1], tuple((text, y) for text, y in self.marks)),) if self.marks else ()
        right = self.x[1] + (0.0 if self.marks else self.along(self.right_pt))
        return Drawing(
            name=name,
            title=title,
            items=(*items, *column),
            bounds=(
                self.x[0] - self.along(self.left_pt),
                self.y[0] - self.upward(17.0),
                right,
                self.y[1] + self.upward(over_pt),
            ),
            up=self.upward_over_along,
            says=says,
            notes=notes,
            key=key,
        )

    @property
    def upward_over_along(self) -> float:
        """How much longer a unit of y is on paper than a unit of x."""
        return (self.high_pt / (self.y[1] - self.y[0])) / (self.wide_pt / (self.x[1] - self.x[0]))


def scale_of(drawing: Drawing) -> Scale:
    """Return the scale at which a chart with the words beside it is ``WIDE_PT`` wide; it has no other than its axes."""
    words = [text for item in drawing.items if isinstance(item, LevelMarks) for text, _ in item.marks]
    beside = _column_pt(words)
    return Scale("", POINTS_PER_METER * drawing.width_m / (WIDE_PT - beside))


def _column_pt(words: Sequence[str]) -> float:
    """Room that words tied to levels take right of a chart, points."""
    return (
        _COLUMN_PT + 1.02 * max(block_pt(text, size_pt=SIZES_PT["small"])[0] for text in words)
        if words
        else 0.0
    )


def hour_ticks(most_h: float, *, count: int = 9) -> tuple[Mark, ...]:
    """Return ticks from 0 to at most ``most_h``, no more than ``count`` steps, at hours that a clock has."""
    step = next((h for h in _ROUND_HOURS if most_h / h <= count), None)
    if step is None:
        step = 240.0 * math.ceil(most_h / count / 240.0)
    return tuple((f"{n * step:g} h", n * step) for n in range(int(most_h / step + 1e-9) + 1))


def length_ticks(
    low_m: float, high_m: float, style: Style, *, count: int = 5, unit_words: bool = False
) -> tuple[Mark, ...]:
    """Return ticks of a length at round feet or metres between two values in metres, about ``count`` steps."""
    unit = FOOT_M if style == "us" else 1.0
    low, high = low_m / unit, high_m / unit
    step, digits = round_step((high - low) / count)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    words = (" ft" if style == "us" else " m") if unit_words else ""
    return tuple(
        (f"{n * step:.{digits}f}{words}".replace("-", "−"), n * step * unit) for n in range(first, last + 1)
    )


def round_step(least: float) -> tuple[float, int]:
    """Return the smallest of 1, 2, 5 times a power of ten that is not below a step, and its decimals."""
    power = math.floor(math.log10(least))
    for exponent in (power, power + 1):
        for figure in _ROUND:
            step = figure * 10.0**exponent
            if step >= least * (1 - 1e-9):
                return step, max(0, -exponent)
    raise AssertionError("no power of ten is that small")


def thinned(points: Sequence[XY], *, along: float, upward: float) -> tuple[XY, ...]:
    """Return a line with fewer points, nowhere farther from the whole one than ``upward`` in y.

    ``along`` is how much of x counts as much as ``upward`` of y; the ends stay.
    """
    if len(points) < 3:
        return tuple(points)
    keep = {0, len(points) - 1}
    open_stretches = [(0, len(points) - 1)]
    while open_stretches:
        first, last = open_stretches.pop()
        (ax, ay), (bx, by) = points[first], points[last]
        ux, uy = (bx - ax) / along, (by - ay) / upward
        long = math.hypot(ux, uy)
        farthest, at = 0.0, -1
        for n in range(first + 1, last):
            vx, vy = (points[n][0] - ax) / along, (points[n][1] - ay) / upward
            off = abs(ux * vy - uy * vx) / long if long > 0 else math.hypot(vx, vy)
            if off > farthest:
                farthest, at = off, n
        if farthest > 1.0:
            keep.add(at)
            open_stretches += [(first, at), (at, last)]
    return tuple(points[n] for n in sorted(keep))
