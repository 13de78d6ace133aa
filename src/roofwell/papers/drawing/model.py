"""The drawing model: frozen primitives in true metres, each with a role instead of a color.

x runs along and y up, both in metres; a long section keeps true metres too and says by ``Drawing.up`` how
many times taller than along it is to be drawn. What a role looks like is the renderer's: black weights on
paper, inks on the page. Only labels, rings and signs have a size on paper; everything else is as large as
it is.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from roofwell.system.origin import Origin

XY = tuple[float, float]

Role = Literal[
    "ink",  # something built that is not ours: steps, walks, tanks
    "fine",
    "wall",  # ours: basin, well body, riser
    "pipe",
    "house",
    "roof",
    "ground",
    "ground guessed",
    "lot line",
    "utility",
    "opening",  # lowest opening of the house
    "geotextile",
    "water",  # edge of a body of water
    "water level",  # in the cloudburst
    "water full",  # well full and still
    "water left",  # edge of water that stands for good
    "what if",  # water level with one thing failing
    "hand dig",  # where only hands may dig
    "largest",  # the other end of a range that is still open
    "pit",
    "axis",
    "neighbor",
    "crest",
    "spill",
    "drawn way",  # of spilled water, as the job draws it
    "cut short",  # a break line
    "soil",  # the ground itself, where a screen fills it
    "lawn",
    "trench bottom",
    "curve",  # what a chart shows
    "limit",  # what it must keep to
    "tick",  # one event of many
    "year",  # that they stand on
]
Fill = Literal["none", "sheet", "water", "water left", "black", "paved", "haze"]
Side = Literal["over", "under", "left", "right", "on", "over right", "over left", "under right", "under left"]
LabelSize = Literal["small", "normal", "large", "huge"]
HatchKind = Literal["stone", "earth", "grate"]
SignKind = Literal["flow", "spill", "shot", "tree", "water mark", "unknown", "cleanout", "buried"]


@dataclass(frozen=True, slots=True)
class Polyline:
    """A line through two or more points; ``state`` says where its place comes from."""

    points: tuple[XY, ...]
    role: Role
    state: Origin = "designed"
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline with what fills it."""

    points: tuple[XY, ...]
    role: Role
    fill: Fill = "none"
    state: Origin = "designed"
    part: str | None = None
    edge: bool = True


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle of true size; an ellipse where the drawing is stretched up."""

    at: XY
    radius_m: float
    role: Role
    fill: Fill = "none"
    state: Origin = "designed"
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, counterclockwise from ``start_rad`` to ``end_rad``."""

    at: XY
    radius_m: float
    start_rad: float
    end_rad: float
    role: Role
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Pipe:
    """A pipe seen from above: two walls, never thinner than can be seen."""

    points: tuple[XY, ...]
    outside_diameter_m: float
    state: Origin
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Utility:
    """Somebody else's buried line, dotted, with its letter."""

    points: tuple[XY, ...]
    letter: str
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Hatch:
    """Stone or grate bars inside an outline; earth strokes under a line."""

    points: tuple[XY, ...]
    kind: HatchKind
    part: str | None = None


@dataclass(frozen=True, slots=True)
class WaterSurface:
    """A still water surface with the surveyor's mark on it."""

    start: XY
    end: XY
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Label:
    """Words at a place. The placer may move them and then draws a leader, unless they are ``fixed``.

    ``side`` is where the words would best stand seen from ``at``; ``rank`` says who is placed first (0
    first). One that is not ``needed`` is left away in silence where there is no room.
    """

    text: str
    at: XY
    size: LabelSize = "normal"
    strong: bool = False
    side: Side = "over"
    fixed: bool = False
    leader: bool = True
    boxed: bool = False
    rank: int = 5
    part: str | None = None
    needed: bool = True


@dataclass(frozen=True, slots=True)
class LevelMarks:
    """Elevations written in a column right of ``x_m``, from the top down, each tied to its level."""

    x_m: float
    marks: tuple[tuple[str, float], ...]
    part: str | None = None


@dataclass(frozen=True, slots=True)
class Dimension:
    """A distance between two points, with slanted ticks and its text in the trade's writing; ``large`` where the drawing is
    about it."""

    start: XY
    end: XY
    text: str
    part: str | None = None
    large: bool = False


@dataclass(frozen=True, slots=True)
class Ring:
    """The number of an answer at the place that causes it; ``failing`` fills it; ``others``: more answers of this place."""

    at: XY
    number: int
    failing: bool = False
    others: tuple[int, ...] = ()

    @property
    def words(self) -> str:
        """The numbers in the ring."""
        return ", ".join(str(number) for number in (self.number, *self.others))


@dataclass(frozen=True, slots=True)
class Sign:
    """A small mark of fixed size on paper, turned by ``direction_rad`` (counterclockwise from east)."""

    at: XY
    kind: SignKind
    direction_rad: float = 0.0
    part: str | None = None


Item = (
    Polyline
    | Polygon
    | Circle
    | Arc
    | Pipe
    | Utility
    | Hatch
    | WaterSurface
    | Label
    | LevelMarks
    | Dimension
    | Ring
    | Sign
)


@dataclass(frozen=True, slots=True)
class StripColumn:
    """Figures at one station of a long section, one for each row of its strip.

    One that is not ``needed`` is left away where there is no room. ``strong`` is where a part stands.
    """

    x_m: float
    cells: tuple[str, ...]
    strong: bool = False
    needed: bool = True


@dataclass(frozen=True, slots=True)
class Strip:
    """A table under a long section, each column tied to its station; ``rows`` are its names from the top."""

    rows: tuple[str, ...]
    columns: tuple[StripColumn, ...]


@dataclass(frozen=True, slots=True)
class KeyMark:
    """What a line or a filled area of a drawing means, in words."""

    words: str
    role: Role
    fill: Fill = "none"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing: what it shows, in the order of painting, the rectangle it fills, and how far it is
    stretched up.

    ``bounds`` is (left, bottom, right, top) in metres. ``says`` is what a person who cannot see it is told;
    ``notes`` are printed under it.
    """

    name: str
    title: str
    items: tuple[Item, ...]
    bounds: tuple[float, float, float, float]
    up: float = 1.0
    says: str = ""
    notes: tuple[str, ...] = ()
    strip: Strip | None = None
    key: tuple[KeyMark, ...] = ()

    @property
    def width_m(self) -> float:
        """Extent along, m."""
        return self.bounds[2] - self.bounds[0]

    @property
    def height_m(self) -> float:
        """Extent upwards, m, before stretching."""
        return self.bounds[3] - self.bounds[1]


def known(*values: float | None) -> bool:
    """Return whether every value is a number that can be drawn."""
    return all(value is not None and math.isfinite(value) for value in values)


def bounds_of(points: Iterable[XY]) -> tuple[float, float, float, float]:
    """Return (left, bottom, right, top) of the points that can be drawn; a metre square around 0 of none."""
    good = [point for point in points if known(*point)]
    if not good:
        return (-0.5, -0.5, 0.5, 0.5)
    xs = [x for x, _ in good]
    ys = [y for _, y in good]
    return (min(xs), min(ys), max(xs), max(ys))


def rectangle(left: float, bottom: float, right: float, top: float) -> tuple[XY, ...]:
    """Return the four corners of an upright rectangle."""
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def along(points: tuple[XY, ...], share: float) -> tuple[XY, float]:
    """Return the point at a share (0 to 1) of a path's length, and the path's direction there in radians."""
    lengths = [math.dist(a, b) for a, b in itertools.pairwise(points)]
    left = share * sum(lengths)
    for (a, b), length in zip(itertools.pairwise(points), lengths, strict=True):
        if left <= length and length > 0:
            t = left / length
            return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])), math.atan2(b[1] - a[1], b[0] - a[0])
        left -= length
    return (points[-1] if points else (0.0, 0.0)), 0.0
