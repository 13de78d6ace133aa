"""The one placer: puts a drawing on paper at a scale, each label where it hides nothing and no other label.

Everything that must stay clear is marked on a raster of ``CELL_PT`` points: what is drawn costs a label
that lies on it, another label's box forbids it. A label takes the cheapest of its wished places beside its
point; if those are all taken, the cheapest place anywhere, with a leader. One that fits nowhere is not
drawn but listed in
``Placed.unplaced``.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roofwell.papers.drawing.lettering import SIZES_PT, block_pt
from roofwell.papers.drawing.model import (
    XY,
    Arc,
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Item,
    Label,
    LevelMarks,
    Pipe,
    Polygon,
    Polyline,
    Ring,
    Sign,
    Utility,
    WaterSurface,
)
from roofwell.papers.drawing.scale import Scale
from roofwell.papers.drawing.strip import PlacedStrip, names_width_pt, place_strip, strip_height_pt

_FEW = 12  # boxes that are looked at one by one
CELL_PT = 2.0
GAP_PT = 2.2
RING_PT = 6.6
SIGN_PT = 5.0
_LINE_COST = 8.0
_FORBID = 1e6
_NEAR_PT = 40.0
_COLUMN_LEADER_PT = 16.0

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet, points, y down from the top left corner."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box) -> bool:
        """Return whether two boxes share any area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """A label with its box, and the line from its point to it if it stands away."""

    label: Label
    box: Box
    leader: tuple[XY, XY] | None
    ring: Ring | None = None


@dataclass(frozen=True, slots=True)
class Placed:
    """A drawing on a sheet of ``width_pt`` by ``height_pt`` at a scale.

    ``unplaced`` are labels for which there was no room: the sheet lists them beside the drawing.
    """

    drawing: Drawing
    scale: Scale
    width_pt: float
    height_pt: float
    left_pt: float
    top_pt: float
    labels: tuple[PlacedLabel, ...]
    unplaced: tuple[Label, ...]
    strip: PlacedStrip | None = None

    def point(self, at: XY) -> XY:
        """Return where a point in metres stands on the sheet; here, and only here, y turns over."""
        k = self.scale.points_m
        x = self.left_pt + (at[0] - self.drawing.bounds[0]) * k
        y = self.top_pt + (self.drawing.bounds[3] - at[1]) * k * self.drawing.up
        return x, y


def place(drawing: Drawing, *, scale: Scale, width_pt: float, height_pt: float) -> Placed:
    """Put a drawing in the middle of a frame and find a place for every label.

    A strip of figures takes the foot of the frame; the drawing stands on it, not in the middle of what is left.
    """
    k = scale.points_m
    beside = max((_column_pt(item) for item in drawing.items if isinstance(item, LevelMarks)), default=0.0)
    left = min(0.5 * (width_pt - drawing.width_m * k), width_pt - drawing.width_m * k - beside)
    foot = 0.0
    if drawing.strip is not None:
        foot = strip_height_pt(drawing.strip)
        left = max(left, min(names_width_pt(drawing.strip), width_pt - drawing.width_m * k))
    spare = height_pt - foot - drawing.height_m * k * drawing.up
    top = 0.5 * spare if drawing.strip is None else spare
    bare = Placed(drawing, scale, width_pt, height_pt, left, top, (), ())
    if drawing.strip is not None:
        strip = place_strip(
            drawing.strip,
            x_of=lambda x: bare.point((x, 0.0))[0],
            left_pt=names_width_pt(drawing.strip),
            right_pt=width_pt,
            top_pt=height_pt - foot,
        )
        bare = replace(bare, strip=strip)
    raster = _Raster(width_pt, height_pt - foot)
    drawn: list[tuple[XY, XY, float]] = []
    for item in drawing.items:
        if isinstance(item, Polygon) and item.fill != "none":
            raster.strokes(drawn)
            drawn = []
            raster.clear(_around([bare.point(point) for point in item.points]), item.points)
        drawn.extend(_strokes(bare, item))
    raster.strokes(drawn)
    wanted: list[Label] = []
    rings: dict[Label, Ring] = {}
    for item in drawing.items:
        match item:
            case Label():
                wanted.append(item)
            case Dimension():
                mid = (0.5 * (item.start[0] + item.end[0]), 0.5 * (item.start[1] + item.end[1]))
                upright = abs(item.end[1] - item.start[1]) * drawing.up > abs(item.end[0] - item.start[0])
                wanted.append(
                    Label(
                        item.text,
                        mid,
                        "huge" if item.large else "small",
                        strong=item.large,
                        side="right" if upright else "over",
                        rank=0 if item.large else 2,
                        part=item.part,
                    )
                )
            case Ring():
                ring = Label(item.words, item.at, strong=True, side="over right", rank=2)
                rings[ring] = item
                wanted.append(ring)
            case Sign():
                x, y = bare.point(item.at)
                r = SIGN_PT if item.kind != "shot" else 2.0
                raster.forbid(Box(x - r, y - r, x + r, y + r))
            case _:
                pass
    placed: list[PlacedLabel] = []
    unplaced: list[Label] = []
    for item in drawing.items:
        if isinstance(item, LevelMarks):
            for one in _column(item, bare):
                placed.append(one)
                raster.forbid(one.box)
    for label in sorted(wanted, key=lambda item: (not item.fixed, item.rank)):
        found = _place_one(label, bare.point(label.at), raster, rings.get(label))
        if found is None:
            if label.needed:
                unplaced.append(label)
            continue
        placed.append(found)
        raster.forbid(found.box)
        if found.leader is not None:
            raster.strokes([(*found.leader, 4.0)])
    return replace(bare, labels=tuple(placed), unplaced=tuple(unplaced))


class _Raster:
    """What a label would lie on, as summed areas; summed again only right of and below what has changed."""

    def __init__(self, width_pt: float, height_pt: float) -> None:
        self.width_pt, self.height_pt = width_pt, height_pt
        shape = (max(1, math.ceil(height_pt / CELL_PT)), max(1, math.ceil(width_pt / CELL_PT)))
        self.cost: FloatArray = np.zeros(shape)
        self._down: FloatArray = np.zeros(shape)
        self._sums: FloatArray = np.zeros((shape[0] + 1, shape[1] + 1))
        self._changed: tuple[int, int] | None = None  # first row and first column that may have

    def clear(self, box: Box, points: tuple[XY, ...]) -> None:
        """Make an upright rectangle free again: what is filled hides what was drawn under it."""
        if len(points) != 4 or len({x for x, _ in points}) > 2 or len({y for _, y in points}) > 2:
            return
        rows = slice(max(0, math.ceil(box.top / CELL_PT)), max(0, int(box.bottom / CELL_PT)))
        columns = slice(max(0, math.ceil(box.left / CELL_PT)), max(0, int(box.right / CELL_PT)))
        cells = self.cost[rows, columns]
        self.cost[rows, columns] = np.where(cells < _FORBID, 0.0, cells)
        self._change(rows.start, columns.start)

    def strokes(self, drawn: Sequence[tuple[XY, XY, float]]) -> None:
        """Draw straight strokes, each a start, an end and a cost; where several cross, the dearest counts."""
        if not drawn:
            return
        counts = np.array([max(2, int(math.dist(a, b) / CELL_PT) + 2) for a, b, _ in drawn])
        ends = np.cumsum(counts)
        along = np.arange(ends[-1]) - np.repeat(ends - counts, counts)
        start = np.array([a for a, _, _ in drawn], dtype=np.float64)
        end = np.array([b for _, b, _ in drawn], dtype=np.float64)
        step = (end - start) / (counts - 1)[:, None]
        points = along[:, None] * np.repeat(step, counts, axis=0) + np.repeat(start, counts, axis=0)
        points[ends - 1] = end
        cells = (points / CELL_PT).astype(int)
        costs = np.repeat(np.array([cost for _, _, cost in drawn]), counts)
        columns, rows = cells[:, 0], cells[:, 1]
        inside = (rows >= 0) & (rows < self.cost.shape[0]) & (columns >= 0) & (columns < self.cost.shape[1])
        if not inside.any():
            return
        for cost in np.unique(costs[inside]):
            these = inside & (costs == cost)
            at = rows[these], columns[these]
            self.cost[at] = np.maximum(self.cost[at], cost)
        self._change(int(rows[inside].min()), int(columns[inside].min()))

    def forbid(self, box: Box) -> None:
        rows = slice(max(0, int(box.top / CELL_PT)), max(0, math.ceil(box.bottom / CELL_PT)))
        columns = slice(max(0, int(box.left / CELL_PT)), max(0, math.ceil(box.right / CELL_PT)))
        self.cost[rows, columns] = _FORBID
        self._change(rows.start, columns.start)

    def _change(self, row: int, column: int) -> None:
        before = self._changed or (row, column)
        self._changed = min(before[0], row), min(before[1], column)

    @property
    def sums(self) -> FloatArray:
        if self._changed is not None:
            row, column = self._changed
            self._changed = None
            if row < self.cost.shape[0] and column < self.cost.shape[1]:
                self._sum_again(row, column)
        return self._sums

    def _sum_again(self, row: int, column: int) -> None:
        down = self._down[row:, column:]
        down[:] = self.cost[row:, column:]
        if row > 0:
            down[0] += self._down[row - 1, column:]
        np.cumsum(down, axis=0, out=down)
        right = self._sums[row + 1 :, column + 1 :]
        right[:] = down
        right[:, 0] += self._sums[row + 1 :, column]
        np.cumsum(right, axis=1, out=right)

    def lies_on(self, left: FloatArray, top: FloatArray, width: float, height: float) -> FloatArray:
        """Return the cost of boxes with these corners; infinite where one leaves the sheet.

        One box for each pair of ``left`` and ``top``; where these are a row and a column, for each crossing of them.
        """
        if left.ndim == 1 and left.size <= _FEW:
            return np.array(
                [self._lies_on(x, y, width, height) for x, y in zip(left.tolist(), top.tolist(), strict=True)]
            )
        sums = self.sums
        x0 = np.floor(left / CELL_PT).astype(int)
        y0 = np.floor(top / CELL_PT).astype(int)
        x1 = np.ceil((left + width) / CELL_PT).astype(int)
        y1 = np.ceil((top + height) / CELL_PT).astype(int)
        out = (left < 0) | (top < 0) | (left + width > self.width_pt) | (top + height > self.height_pt)
        rows, columns = self.cost.shape
        x0, x1 = (np.maximum(np.minimum(x, columns), 0) for x in (x0, x1))
        y0, y1 = (np.maximum(np.minimum(y, rows), 0) for y in (y0, y1))
        cost = sums[y1, x1] - sums[y0, x1] - sums[y1, x0] + sums[y0, x0]
        return np.where(out, np.inf, cost)

    def _lies_on(self, left: float, top: float, width: float, height: float) -> float:
        """The same for one box: of few boxes each takes less than the arrays' own overhead."""
        if left < 0 or top < 0 or left + width > self.width_pt or top + height > self.height_pt:
            return math.inf
        rows, columns = self.cost.shape
        x0, y0 = min(int(left / CELL_PT), columns), min(int(top / CELL_PT), rows)
        x1 = min(math.ceil((left + width) / CELL_PT), columns)
        y1 = min(math.ceil((top + height) / CELL_PT), rows)
        sums = self.sums
        return float(sums[y1, x1] - sums[y0, x1] - sums[y1, x0] + sums[y0, x0])


def _place_one(label: Label, at: XY, raster: _Raster, ring: Ring | None) -> PlacedLabel | None:
    size = SIZES_PT[label.size]
    wide, high = block_pt(label.text, size_pt=size, strong=label.strong)
    pad = 2.4 if label.boxed else 0.6
    width, height = wide * 1.02 + 2 * pad, high + 2 * pad
    if ring is not None:
        width = height = 2 * RING_PT
        width += wide - block_pt(str(ring.number), size_pt=size, strong=True)[0]
    lefts, tops, wish = _wished(label, at, width, height)
    cost = raster.lies_on(lefts, tops, width, height)
    if label.fixed:
        best = 0
        if not cost[best] < _FORBID:
            return None
    else:
        total = cost + wish
        best = int(np.argmin(total))
        if total[best] > 30.0:
            found = _anywhere(label, at, width, height, raster, float(total[best]), lefts[best], tops[best])
            return replace(found, ring=ring) if found is not None else None
    box = Box(float(lefts[best]), float(tops[best]), float(lefts[best]) + width, float(tops[best]) + height)
    return PlacedLabel(label, box, _leader(label, at, box), ring)


def _wished(label: Label, at: XY, width: float, height: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    x, y = at
    own = [
        ("on", x - width / 2, y - height / 2),
        ("over", x - width / 2, y - height - GAP_PT),
        ("right", x + GAP_PT + 1, y - height / 2),
        ("left", x - width - GAP_PT - 1, y - height / 2),
        ("under", x - width / 2, y + GAP_PT),
        ("over right", x + GAP_PT, y - height - GAP_PT),
        ("over left", x - width - GAP_PT, y - height - GAP_PT),
        ("under right", x + GAP_PT, y + GAP_PT),
        ("under left", x - width - GAP_PT, y + GAP_PT),
    ]
    own.sort(key=lambda item: item[0] != label.side)
    if label.side != "on":
        own = [item for item in own if item[0] != "on"]
    lefts = np.array([item[1] for item in own])
    tops = np.array([item[2] for item in own])
    wish = np.array([0.0] + [6.0 + rank for rank in range(len(own) - 1)])
    return lefts, tops, wish


def _anywhere(
    label: Label, at: XY, width: float, height: float, raster: _Raster, close: float, left: float, top: float
) -> PlacedLabel | None:
    """Search the whole sheet; the place beside the point stays in the running at its own cost."""
    lefts = np.arange(0.0, max(raster.width_pt - width, 0.0) + 1e-9, 2 * CELL_PT)
    tops = np.arange(0.0, max(raster.height_pt - height, 0.0) + 1e-9, CELL_PT)
    aside = np.maximum(np.maximum(lefts - at[0], at[0] - lefts - width), 0.0)
    above = np.maximum(np.maximum(tops - at[1], at[1] - tops - height), 0.0)
    reach = _NEAR_PT
    while True:  # nearby first: what lies further off costs more by its leader alone
        near = np.flatnonzero(aside <= reach), np.flatnonzero(above <= reach)
        whole = near[0].size == lefts.size and near[1].size == tops.size
        if whole or (near[0].size and near[1].size):
            cost = raster.lies_on(lefts[None, near[0]], tops[near[1], None], width, height)
            away = np.hypot(aside[None, near[0]], above[near[1], None])
            total = cost + 12.0 + 1.4 * away + np.where(away > 14.0, 6.0, 0.0)
            best = np.unravel_index(int(np.argmin(total)), total.shape)
            if whole or min(float(total[best]), close) < 12.0 + 1.4 * reach - 1.0:
                break
        reach *= 3.0
    if total[best] < close:
        left, top = float(lefts[near[0][best[1]]]), float(tops[near[1][best[0]]])
        if not cost[best] < _FORBID:
            return None
    elif not close < _FORBID:
        return None
    box = Box(float(left), float(top), float(left) + width, float(top) + height)
    return PlacedLabel(label, box, _leader(label, at, box))


def _leader(label: Label, at: XY, box: Box) -> tuple[XY, XY] | None:
    if label.fixed or not label.leader or label.side == "on":
        return None
    end = (min(max(at[0], box.left), box.right), min(max(at[1], box.top), box.bottom))
    if math.dist(at, end) <= 7.0:
        return None
    if "\n" in label.text and not label.boxed and box.left < at[0] < box.right:
        end = _end_at_words(label, at, box)
    return at, end


def _end_at_words(label: Label, at: XY, box: Box) -> XY:
    """Where a leader from over or under a block of centered lines meets the words of the line that is nearest."""
    lines = label.text.split("\n")
    line = lines[0] if at[1] < box.top else lines[-1]
    half = 0.5 * block_pt(line, size_pt=SIZES_PT[label.size], strong=label.strong)[0]
    middle = 0.5 * (box.left + box.right)
    return min(max(at[0], middle - half), middle + half), box.top if at[1] < box.top else box.bottom


def _around(points: list[XY]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _column_pt(item: LevelMarks) -> float:
    """Return how much room a column of elevations takes right of its place, points."""
    widths = [block_pt(text, size_pt=SIZES_PT["small"])[0] for text, _ in item.marks]
    return _COLUMN_LEADER_PT + 1.02 * max(widths, default=0.0) + 2.0


def _column(item: LevelMarks, placed: Placed) -> Iterator[PlacedLabel]:
    """Write elevations in a column in the order of their levels, pushed apart only as far as they must be."""
    marks = sorted(item.marks, key=lambda mark: -mark[1])
    x = placed.point((item.x_m, 0.0))[0]
    levels = [placed.point((item.x_m, level))[1] for _, level in marks]
    high = block_pt("0", size_pt=SIZES_PT["small"])[1] + 1.2
    step = high + 0.1
    middles: list[float] = []
    for y in levels:
        middles.append(max(y, middles[-1] + step) if middles else max(y, 0.5 * high))
    limit = placed.height_pt - 0.5 * high
    for n in range(len(middles) - 1, -1, -1):
        crowded = 0.5 * (middles[n] - levels[n]) if n + 1 == len(middles) else 0.0
        middles[n] = min(middles[n] - crowded, limit)
        limit = middles[n] - step
    for (text, level), y, middle in zip(marks, levels, middles, strict=True):
        width = 1.02 * block_pt(text, size_pt=SIZES_PT["small"])[0] + 1.2
        start = x + _COLUMN_LEADER_PT
        box = Box(start, middle - 0.5 * high, start + width, middle + 0.5 * high)
        label = Label(text, (item.x_m, level), "small", side="right", part=item.part)
        yield PlacedLabel(label, box, ((x, y), (box.left, middle)))


def _strokes(placed: Placed, item: Item) -> Iterator[tuple[XY, XY, float]]:
    """Yield an item's lines as segments on the sheet, with what it costs to write over a cell of them."""
    points: tuple[XY, ...] = ()
    closed, cost = False, _LINE_COST
    match item:
        case Polyline():
            points = item.points
            cost = 1.0 if item.role in ("fine", "opening", "ground guessed", "axis") else _LINE_COST
        case Polygon():
            points, closed = item.points, True
            cost = _LINE_COST if item.edge else 0.0
        case Pipe():
            points, cost = item.points, 2 * _LINE_COST
        case Utility():
            points = item.points
        case Hatch():
            if item.kind == "stone":
                yield from _field(placed, item.points)
            if item.kind != "earth":
                return
            under = [placed.point(point) for point in item.points]
            for depth in (2.0, 4.0, 6.0):
                for (ax, ay), (bx, by) in itertools.pairwise(under):
                    yield (ax, ay + depth), (bx, by + depth), 1.5
            return
        case WaterSurface() | Dimension():
            points = (item.start, item.end)
        case Circle() | Arc():
            points = tuple(
                (item.at[0] + item.radius_m * math.cos(t), item.at[1] + item.radius_m * math.sin(t))
                for t in np.linspace(0.0, 2 * math.pi, 13)
            )
        case Label() | LevelMarks() | Ring() | Sign():
            return
    ends = [placed.point(point) for point in points]
    if closed and ends:
        ends.append(ends[0])
    for a, b in itertools.pairwise(ends):
        yield a, b, cost


def _field(placed: Placed, points: tuple[XY, ...]) -> Iterator[tuple[XY, XY, float]]:
    """A stone field is poor ground for words all over: rows of light cost across its rectangle."""
    on_sheet = [placed.point(point) for point in points]
    left, right = min(x for x, _ in on_sheet), max(x for x, _ in on_sheet)
    top, bottom = min(y for _, y in on_sheet), max(y for _, y in on_sheet)
    for row in np.arange(top, bottom, CELL_PT):
        yield (left, float(row)), (right, float(row)), 0.7
