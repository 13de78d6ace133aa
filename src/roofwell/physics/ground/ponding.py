"""Bowls in a ground of triangles: filled to the lowest rim, with level, volume and outline.

On a surface that is linear over triangles the lowest way out of a bowl leads over a point of the mesh, so a search
along its edges, lowest first, finds the rim exactly. Source: own derivation from the sublevel sets of such a surface;
the search is the priority flood that raster work uses.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.optimize import brentq

from roofwell.physics.ground.triangulation import Mesh

Floats = NDArray[np.float64]
XY = tuple[float, float]

LEVEL_M = 1e-9  # elevations nearer than this are the same


@dataclass(frozen=True, slots=True, eq=False)
class Pond:
    """Standing water. ``level_m``: of its surface; ``bottom_m``: of its lowest ground; elevations, m.

    ``spill``: point of the mesh over which it runs when full, at ``spill_at``; None where it is not full.
    ``at_rim``: the water reached the rim of the shots, so it may run off lower than is known.
    ``area_m2``, ``volume_m3`` and ``outline`` (one polygon or several that touch) are exact for the surface.
    """

    level_m: float
    bottom_m: float
    area_m2: float
    volume_m3: float
    outline: shapely.Geometry
    members: frozenset[int]
    spill: int | None
    spill_at: XY | None
    at_rim: bool

    @property
    def depth_m(self) -> float:
        """Greatest depth, m."""
        return self.level_m - self.bottom_m


def neighbors_of(mesh: Mesh) -> list[list[int]]:
    """Return the points that share an edge with each point."""
    out: list[set[int]] = [set() for _ in range(len(mesh.points))]
    for a, b, c in mesh.triangles.tolist():
        out[a] |= {b, c}
        out[b] |= {a, c}
        out[c] |= {a, b}
    return [sorted(one) for one in out]


def rim_points(mesh: Mesh) -> frozenset[int]:
    """Return the points on the rim of the shots: outer edges that are no walls."""
    pairs = ((min(a, b), max(a, b)) for a, b in mesh.outer_edges.tolist())
    return frozenset(point for pair in pairs if pair not in mesh.walls for point in pair)


def fill(
    elevations: Floats,
    seeds: Iterable[int],
    *,
    nearby: list[list[int]],
    rim: Collection[int],
    full: Collection[int] = (),
) -> tuple[frozenset[int], float, int | None, bool]:
    """Fill a bowl from its lowest points until it runs over.

    Parameters
    ----------
    elevations
        Of the mesh's points, shape (n,), m.
    seeds
        Points at the bottom of the bowl, of one elevation.
    nearby, rim
        From ``neighbors_of`` and ``rim_points``.
    full
        Points under water that is full already: they are no way out.

    Returns
    -------
    tuple
        The points under water or at its edge, the level, the point over which it runs (None where the whole mesh
        is under water), and whether that point lies on the rim of the shots.
    """
    heap = [(float(elevations[seed]), seed) for seed in seeds]
    heapq.heapify(heap)
    seen = {seed for _, seed in heap}
    members: set[int] = set()
    level = -np.inf
    while heap:
        height, point = heapq.heappop(heap)
        level = max(level, height)
        members.add(point)
        if point in rim:
            return frozenset(members), level, point, True
        fresh = [other for other in nearby[point] if other not in seen]
        if any(elevations[other] < level - LEVEL_M and other not in full for other in fresh):
            return frozenset(members), level, point, False
        for other in fresh:
            seen.add(other)
            heapq.heappush(heap, (float(elevations[other]), other))
    return frozenset(members), level, None, False


def make_pond(
    mesh: Mesh,
    elevations: Floats,
    members: frozenset[int],
    level_m: float,
    spill: int | None,
    at_rim: bool,
) -> Pond:
    """Return the pond over its members at a level, m."""
    area, volume, pieces = _under(mesh, elevations, members, level_m)
    place = None if spill is None else (float(mesh.points[spill, 0]), float(mesh.points[spill, 1]))
    bottom = min((float(elevations[m]) for m in members), default=level_m)
    return Pond(
        level_m=level_m,
        bottom_m=min(bottom, level_m),
        area_m2=area,
        volume_m3=volume,
        outline=shapely.union_all(pieces) if pieces else shapely.Polygon(),
        members=members,
        spill=spill,
        spill_at=place,
        at_rim=at_rim,
    )


def part_filled(mesh: Mesh, elevations: Floats, pond: Pond, volume_m3: float) -> Pond:
    """Return the same bowl with less water in it: ``volume_m3``, above 0 and at most what the pond holds.

    Where the bowl parts into several as it empties, they are taken to stand at one level.
    """
    if volume_m3 >= pond.volume_m3:
        return pond

    def excess(level_m: float) -> float:
        return _under(mesh, elevations, pond.members, level_m, outlines=False)[1] - volume_m3

    level = float(brentq(excess, pond.bottom_m, pond.level_m, xtol=1e-9))
    return make_pond(mesh, elevations, pond.members, level, None, False)


def _under(
    mesh: Mesh, elevations: Floats, members: frozenset[int], level_m: float, *, outlines: bool = True
) -> tuple[float, float, list[shapely.Polygon]]:
    """Area, volume and pieces of what lies under a level around the members."""
    inside = np.zeros(len(elevations), dtype=bool)
    inside[[m for m in members if elevations[m] <= level_m + LEVEL_M]] = True
    area = volume = 0.0
    pieces = []
    for t in np.flatnonzero(inside[mesh.triangles].any(axis=1)):
        corners = mesh.triangles[t]
        # A member at the very level touches triangles beyond its rim: water stands in none of those.
        if not any(inside[c] and elevations[c] < level_m - LEVEL_M for c in corners) and not np.all(
            inside[corners]
        ):
            continue
        wet = _clipped(mesh.points[corners], elevations[corners], level_m)
        if len(wet) < 3:
            continue
        xy, depth = wet[:, :2], wet[:, 2]
        for i in range(1, len(wet) - 1):
            one, two = xy[i] - xy[0], xy[i + 1] - xy[0]
            part = 0.5 * abs(float(one[0] * two[1] - one[1] * two[0]))
            area += part
            volume += part * float(depth[0] + depth[i] + depth[i + 1]) / 3
        if outlines:
            pieces.append(shapely.Polygon(xy))
    return area, volume, pieces


def _clipped(corners: Floats, heights: Floats, level_m: float) -> Floats:
    """The part of a triangle at or under a level as rows x, y, depth."""
    depth = level_m - heights
    depth[np.abs(depth) <= LEVEL_M] = 0.0
    out = []
    for i in range(3):
        j = (i + 1) % 3
        if depth[i] >= 0:
            out.append((corners[i, 0], corners[i, 1], depth[i]))
        if depth[i] * depth[j] < 0:
            share = depth[i] / (depth[i] - depth[j])
            place = corners[i] + share * (corners[j] - corners[i])
            out.append((place[0], place[1], 0.0))
    return np.array(out).reshape(-1, 3)
