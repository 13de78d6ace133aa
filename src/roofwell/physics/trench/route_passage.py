"""Where no trench gets through: how wide the widest way is, and between what it is tightest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import ArrayLike

from roofwell.physics.trench.route_zones import Obstacle

_STEPS = 14
_AT_THE_WALL = 1.5  # a source by a wall reaches free ground within this many times the half width


@dataclass(frozen=True, slots=True)
class Passage:
    """The widest way from a source to the goal: its width, m, 0 if there is none, and what it lies between."""

    width_m: float
    between: tuple[str, ...]


def _joined(
    half_m: float, a: shapely.Point, b: shapely.Point, bodies: shapely.Geometry, area: shapely.Geometry
) -> bool:
    free = area.difference(bodies.buffer(half_m)) if half_m > 0 else area.difference(bodies)
    reach = _AT_THE_WALL * half_m + 0.01
    return any(part.distance(a) <= reach and part.distance(b) <= reach for part in shapely.get_parts(free))


def widest_passage(
    *,
    source: ArrayLike,
    goal: ArrayLike,
    obstacles: Sequence[Obstacle],
    within: shapely.Polygon | None,
    most_m: float,
) -> Passage:
    """Return the widest strip that leads from a source to the goal between the bodies of obstacles.

    Parameters
    ----------
    source, goal
        Points (2,), m.
    within
        The lot, which the strip does not leave either; None for open ground.
    most_m
        Widest strip worth knowing, m, above 0; the answer is at most this, to about its ten-thousandth part.

    Returns
    -------
    Passage
        ``between`` names the two obstacles (or one and ``lot line``) whose gap comes nearest to the width.
    """
    a, b = (shapely.Point(*np.asarray(p, dtype=float)) for p in (source, goal))
    bodies = shapely.union_all([o.body for o in obstacles])
    around = shapely.union_all([bodies, a, b]).envelope.buffer(10.0 + most_m, join_style="mitre")
    area = within if within is not None else around
    edge = within.exterior if within is not None else None

    def through(half_m: float) -> bool:
        inner = area.buffer(-half_m) if within is not None and half_m > 0 else area
        return _joined(half_m, a, b, bodies, inner)

    if not through(0.0):
        return Passage(0.0, ())
    low, high = 0.0, most_m / 2
    if through(high):
        return Passage(most_m, ())
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if through(middle) else (low, middle)
    things = [(o.id, o.body) for o in obstacles] + ([("lot line", edge)] if edge is not None else [])
    gaps = [(abs(float(p.distance(q)) - 2 * low), (n, m)) for (n, p), (m, q) in combinations(things, 2)]
    return Passage(2 * low, min(gaps)[1] if gaps else ())
