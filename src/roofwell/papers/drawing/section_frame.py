"""What every long section has: its axes, the ground, how far it is stretched up."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.papers.drawing.model import XY, Hatch, Item, Label, Polyline, known
from roofwell.papers.drawing.way import Way
from roofwell.papers.texts import Say
from roofwell.units import Style

Bounds = tuple[float, float, float, float]

STRETCHES = (10.0, 8.0, 5.0, 4.0, 3.0, 2.0, 1.0)
_SHAPE = 0.48  # a section is stretched up until it is this high for its length


def stretch(bounds: Bounds) -> float:
    """Return how many times taller than along a section is drawn at most."""
    width, height = bounds[2] - bounds[0], bounds[3] - bounds[1]
    return next((up for up in STRETCHES if height * up <= _SHAPE * width), 1.0)


def axes(way: Way, say: Say, bounds: Bounds, style: Style, *, top_m: float | None = None) -> Iterator[Item]:
    """Yield the foot of a section with a mark at each part, and its elevations, up to ``top_m`` where they end lower."""
    step = 0.3048 if style == "us" else 0.25
    left, bottom, right, top = bounds
    tall = 0.012 * (right - left) / stretch(bounds)
    top = top if top_m is None else min(top, top_m)
    yield Polyline(((left, bottom), (right, bottom)), "axis")
    parts = {run.from_id: start for run, start in zip(way.runs, way.starts_m, strict=True)}
    if way.runs:
        parts[way.runs[-1].to_id] = way.length_m
    for station in dict.fromkeys(parts.values()):
        yield Polyline(((station, bottom), (station, bottom + tall)), "axis")
    whole = math.ceil((bottom + 0.03 * (top - bottom)) / step)
    while whole * step <= top:
        z = whole * step
        yield Polyline(((left, z), (left + 0.006 * (right - left), z)), "axis")
        yield Label(
            _short(say.level(z)),
            (left, z),
            "small",
            side="left",
            fixed=True,
            needed=False,
        )
        whole += max(1, math.ceil((top - bottom) / (9 * step)))
    yield Polyline(((left, bottom), (left, top)), "axis")


def _short(level: str) -> str:
    """Return a level without the zeros that the axis does not need: ``99``, ``30.25``, ``100``."""
    return level.rstrip("0").rstrip(".") if "." in level else level


def ground_items(way: Way, measured: bool, bounds: Bounds) -> Iterator[Item]:
    """Yield the ground from side to side: solid where it was shot, dashed where nobody knows it."""
    left, right = bounds[0], bounds[2]
    points = way.ground
    if not points:
        guess = [z for run in way.runs for z in (run.upstream_invert_m, run.downstream_invert_m) if known(z)]
        level = max(guess) + 0.45 if guess else 0.5
        line: tuple[XY, ...] = ((left, level), (right, level))
        yield Polyline(line, "ground guessed", "missing")
        yield Label("ground: not measured", (0.5 * right, level), "small", rank=3, leader=False)
        return
    line = ((left, points[0][1]), *points, (right, points[-1][1]))
    yield Polyline(line, "ground" if measured else "ground guessed")
    if measured:
        yield Hatch(line, "earth")
    else:
        yield Label("ground: not measured", points[len(points) // 2], "small", rank=3, leader=False)
