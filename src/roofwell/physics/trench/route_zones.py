"""Zones in plan that a trench keeps out of or pays for: which length of many straight legs lies in a zone.

Coordinates are metres in one local plan frame. A zone is cut into triangles once; a leg is clipped by each
triangle's three sides, all legs at a time. Source: own construction (derived), parametric line clipping.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from roofwell.errors import InputError

Floats = NDArray[np.float64]

_MOST_AT_ONCE = 400_000  # legs times triangles held in memory at a time


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A thing that no trench goes through.

    ``body`` is never entered. ``keep`` (holding the body) is the distance to be kept: only a leg that begins
    or ends in it may lie in it, for at most the ``near_m`` of the graph. Both are polygons.
    """

    id: str
    body: BaseGeometry
    keep: BaseGeometry


@dataclass(frozen=True, slots=True)
class Way:
    """One way to get a trench across a zone: ``start + per_m`` × length, for lengths up to ``longest_m``."""

    name: str
    start: float
    per_m: float
    longest_m: float


@dataclass(frozen=True, slots=True)
class PricedZone:
    """A polygon where a trench costs more.

    ``factor`` multiplies the trench's own cost inside (digging by hand: above 1). ``ways`` are ways to cross
    it, each priced by leg; the cheapest one that is long enough is taken, and its cost added. A leg with an end
    in the zone takes the last one, which has no longest length.
    """

    id: str
    shape: BaseGeometry
    factor: float = 1.0
    ways: tuple[Way, ...] = ()


def triangles(zone: BaseGeometry) -> Floats:
    """Return the triangles (t, 3, 2), counterclockwise, that make up a polygon or several.

    Raises
    ------
    InputError
        ``route-zone`` if the zone is not made of valid polygons.
    """
    if zone.is_empty:
        return np.empty((0, 3, 2))
    if zone.geom_type not in ("Polygon", "MultiPolygon") or not zone.is_valid:
        raise InputError(
            f"a zone is a {zone.geom_type}, valid: {zone.is_valid}; it must be a polygon whose sides do not cross",
            code="route-zone",
        )
    pieces = shapely.get_parts(shapely.constrained_delaunay_triangles(zone))
    if len(pieces) == 0:
        return np.empty((0, 3, 2))
    corners = shapely.get_coordinates(pieces).reshape(len(pieces), 4, 2)[:, :3]
    (ax, ay), (bx, by) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    turned = ax * by - ay * bx < 0
    corners[turned] = corners[turned, ::-1]
    return np.asarray(corners)


def length_within(start: Floats, end: Floats, within: Floats) -> Floats:
    """Return the length (n,) of each leg that lies in a zone, m.

    Parameters
    ----------
    start, end
        Ends of the legs, (n, 2) each, m.
    within
        Triangles of the zone as of ``triangles``, (t, 3, 2).
    """
    step = end - start
    length = np.hypot(step[:, 0], step[:, 1])
    out = np.zeros(len(start))
    if len(within) == 0 or len(start) == 0:
        return out
    low, high = within.min(axis=(0, 1)), within.max(axis=(0, 1))
    may = ((np.minimum(start, end) <= high) & (np.maximum(start, end) >= low)).all(axis=1)
    rows = np.flatnonzero(may)
    side = np.roll(within, -1, axis=1) - within
    inward = np.stack([-side[..., 1], side[..., 0]], axis=-1)
    level = (inward * within).sum(axis=-1)
    owned = (inward[..., 0] > 0) | ((inward[..., 0] == 0) & (inward[..., 1] > 0))
    block = max(1, _MOST_AT_ONCE // len(within))
    for first in range(0, len(rows), block):
        part = rows[first : first + block]
        gap = level - np.einsum("nk,tsk->nts", start[part], inward)
        along = np.einsum("nk,tsk->nts", step[part], inward)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            at = gap / along
        # a leg along the side that two triangles share counts in one of them
        missed = (along == 0) & ((gap > 0) | ((gap == 0) & ~owned))
        enter = np.where(along > 0, at, np.where(missed, np.inf, -np.inf)).max(axis=2)
        leave = np.where(along < 0, at, np.inf).min(axis=2)
        share = np.clip(np.minimum(leave, 1.0) - np.maximum(enter, 0.0), 0.0, 1.0).sum(axis=1)
        out[part] = np.minimum(share, 1.0) * length[part]
    return out


def crossing_cost(length_m: Floats, ways: Sequence[Way]) -> Floats:
    """Return the cost (n,) of the cheapest way across for each length (n,); 0 where nothing is crossed.

    A length beyond every way's longest takes the last way all the same.
    """
    cost = np.full(len(length_m), np.inf)
    for way in ways:
        cost = np.minimum(cost, np.where(length_m <= way.longest_m, way.start + way.per_m * length_m, np.inf))
    if ways:
        last = ways[-1]
        cost = np.where(np.isfinite(cost), cost, last.start + last.per_m * length_m)
    return np.where(length_m > 1e-4, np.where(np.isfinite(cost), cost, 0.0), 0.0)
