"""Where water runs on a ground of triangles: down the steepest way, along channels, through bowls that fill.

In a triangle along its steepest fall; where two triangles fall towards their common edge, along that edge (a
channel); along a wall to its lower end; from a point by the steepest of all ways down. A bowl fills to its lowest rim
and runs over. Method: flow paths on triangulated terrain (Jones, Wright and Maidment 1990, J. Hydraulic Eng. 116(10);
Yu, van Kreveld and Snoeyink 1996; titles from memory). Momentum, soaking in on the way and the spreading of the water
are left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics.ground import ponding
from roofwell.physics.ground.ponding import LEVEL_M, Pond
from roofwell.physics.ground.triangulation import Mesh

Floats = NDArray[np.float64]
XY = tuple[float, float]
Stretch = Literal["face", "channel", "wall", "pond"]
End = Literal["shots end", "stands", "line", "too long"]

_AT_CORNER = 1e-9
_MOST_STEPS = 5000


@dataclass(frozen=True, slots=True, eq=False)
class WaterWay:
    """A way of water: ``points`` (n, 2) and ground ``elevations`` (n,), m; what each stretch between them is.

    ``ponds``: the bowls on the way, in order; under water the way leads straight from where it comes in to the rim, so
    elevations there are not those of the ground. ``end``: "shots end" (the ground beyond is not known), "stands" (the
    last bowl takes all of it), "line" (cut at a line), "too long" (given up).
    """

    points: Floats
    elevations: Floats
    stretches: tuple[Stretch, ...]
    ponds: tuple[Pond, ...]
    end: End

    @property
    def stations(self) -> Floats:
        """Distance along the way to each point, m, shape (n,)."""
        return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.points, axis=0).T))])

    @property
    def length_m(self) -> float:
        """Length of the way, m."""
        return float(self.stations[-1])


class Ground:
    """A mesh with elevations (n,), m, made ready for many ways of water."""

    def __init__(self, mesh: Mesh, elevations: Floats) -> None:
        self.mesh = mesh
        self.z = np.asarray(elevations, dtype=float)
        self.nearby = ponding.neighbors_of(mesh)
        self.rim = ponding.rim_points(mesh)
        self.corners: list[list[int]] = mesh.triangles.tolist()
        self.beside: list[list[int]] = mesh.neighbors.tolist()
        self.of_point: list[list[int]] = [[] for _ in self.nearby]
        for t, three in enumerate(self.corners):
            for corner in three:
                self.of_point[corner].append(t)
        self.shares = [mesh.changes(t) for t in range(len(self.corners))]
        self.grade = np.array([self.z[mesh.triangles[t]] @ self.shares[t] for t in range(len(self.corners))])
        self._level: list[bool] = (np.ptp(self.z[mesh.triangles], axis=1) <= LEVEL_M).tolist()
        self.edge_triangles: dict[tuple[int, int], list[int]] = {}
        for t, (a, b, c) in enumerate(self.corners):
            for one, two in ((a, b), (b, c), (a, c)):
                self.edge_triangles.setdefault((min(one, two), max(one, two)), []).append(t)

    def steep(self, triangle: int) -> float:
        """Slope of a triangle, m/m."""
        return float(np.hypot(*self.grade[triangle]))

    def level(self, triangle: int) -> bool:
        """Whether the corners of a triangle stand at one elevation."""
        return self._level[triangle]

    def is_wall(self, a: int, b: int) -> bool:
        """Whether an edge is a wall."""
        return (min(a, b), max(a, b)) in self.mesh.walls

    def elevation_m(self, at: XY) -> float | None:
        """Elevation at a place, m; None beyond the triangles."""
        place = np.array([at], dtype=float)
        triangle = self.mesh.find(place)
        if triangle[0] < 0:
            return None
        return float(self.mesh.weights(triangle, place)[0] @ self.z[self.corners[triangle[0]]])

    def pond_from(self, seeds: list[int], full: frozenset[int] = frozenset()) -> Pond:
        """The bowl over some lowest points, filled to its rim."""
        members, level, spill, at_rim = ponding.fill(
            self.z, seeds, nearby=self.nearby, rim=self.rim, full=full
        )
        return ponding.make_pond(self.mesh, self.z, members, level, spill, at_rim)


def way_down(ground: Ground, at: XY, *, volume_m3: float = math.inf) -> WaterWay:
    """Follow water from a place down to where the shots end or a bowl takes all of it.

    Parameters
    ----------
    volume_m3
        How much water comes; a bowl that holds more than is left keeps it. Above 0.

    Raises
    ------
    InputError
        ``descent-outside`` if the place lies beyond the triangles (or within an obstacle);
        ``descent-volume`` if the volume is not above 0.
    """
    if not volume_m3 > 0:
        raise InputError(f"volume {volume_m3} m3 is not above 0", code="descent-volume")
    start = np.array(at, dtype=float)
    triangle = int(ground.mesh.find(start[None])[0])
    if triangle < 0:
        raise InputError(f"place {tuple(at)} lies beyond the ground that is known", code="descent-outside")
    return _Walk(ground, start, triangle, volume_m3).go()


class _Walk:
    def __init__(self, ground: Ground, start: Floats, triangle: int, volume_m3: float) -> None:
        self.ground = ground
        self.volume_m3 = volume_m3
        weight = ground.mesh.weights(np.array([triangle]), start[None])[0]
        self.points: list[Floats] = [start]
        self.heights: list[float] = [float(weight @ ground.z[ground.corners[triangle]])]
        self.stretches: list[Stretch] = []
        self.ponds: list[Pond] = []
        self.entries: list[int] = []  # how many points the way had where it came to each pond
        self.end: End | None = None
        self.here: tuple[str, int, int] = ("face", triangle, -1)

    def go(self) -> WaterWay:
        for _ in range(_MOST_STEPS):
            kind, one, two = self.here
            if kind == "face":
                self._face(one)
            elif kind == "edge":
                self._edge(one, two)
            else:
                self._point(one)
            if self.end is not None:
                break
        return WaterWay(
            np.array(self.points),
            np.array(self.heights),
            tuple(self.stretches),
            tuple(self.ponds),
            self.end or "too long",
        )

    def _move(self, place: Floats, height: float, what: Stretch) -> None:
        if np.hypot(*(place - self.points[-1])) > 1e-9:
            self.points.append(place)
            self.heights.append(height)
            self.stretches.append(what)

    def _to_point(self, point: int, what: Stretch) -> None:
        self._move(self.ground.mesh.points[point], float(self.ground.z[point]), what)
        self.here = ("point", point, -1)

    def _face(self, triangle: int) -> None:
        ground = self.ground
        corners = ground.corners[triangle]
        if ground.level(triangle):
            self._pond(list(corners))
            return
        place = self.points[-1]
        share = ground.mesh.weights(np.array([triangle]), place[None])[0]
        rate = ground.shares[triangle] @ -ground.grade[triangle]
        step, side = math.inf, -1
        for i in range(3):
            if rate[i] < -1e-15 * abs(rate).max():
                to = max(0.0, float(share[i])) / -float(rate[i])
                if to < step:
                    step, side = to, i
        there = share + step * rate
        there[side] = 0.0
        a, b = (side + 1) % 3, (side + 2) % 3
        for corner, other in ((a, b), (b, a)):
            if there[other] <= _AT_CORNER:
                self._to_point(corners[corner], "face")
                return
        there = np.maximum(there, 0.0) / np.maximum(there, 0.0).sum()
        self._move(there @ ground.mesh.points[corners], float(there @ ground.z[corners]), "face")
        self.here = ("edge", corners[a], corners[b])

    def _edge(self, a: int, b: int) -> None:
        """On an edge: into the steeper triangle that falls away from it, else along it."""
        ground = self.ground
        sides = ground.edge_triangles[(min(a, b), max(a, b))]
        away = [t for t in sides if self._falls_away(t, a, b)]
        if away:
            self.here = ("face", max(away, key=ground.steep), -1)
            return
        if len(sides) == 1 and not ground.is_wall(a, b):
            self.end = "shots end"
            return
        if abs(ground.z[a] - ground.z[b]) <= LEVEL_M:
            self._pond([a, b])
            return
        self._to_point(a if ground.z[a] < ground.z[b] else b, "wall" if len(sides) == 1 else "channel")

    def _falls_away(self, triangle: int, a: int, b: int) -> bool:
        ground = self.ground
        if ground.level(triangle):
            return False
        third = next(i for i, corner in enumerate(ground.corners[triangle]) if corner not in (a, b))
        change = ground.shares[triangle][third]
        inward = float(change @ -ground.grade[triangle])
        return inward > 1e-12 * float(np.hypot(*change)) * ground.steep(triangle)

    def _point(self, point: int, closed: frozenset[int] = frozenset()) -> None:
        """At a point: the steepest of all triangles and edges that fall from it; ``closed`` points are no way."""
        ground = self.ground
        best, way = 0.0, None
        for t in ground.of_point[point]:
            others = [c for c in ground.corners[t] if c != point]
            if closed & set(others) or ground.level(t):
                continue
            corners = ground.corners[t]
            rate = ground.shares[t] @ -ground.grade[t]
            limit = 1e-12 * float(np.abs(rate).max())
            if all(rate[i] > limit for i, c in enumerate(corners) if c != point) and ground.steep(t) > best:
                best, way = ground.steep(t), ("face", t, -1)
        for other in ground.nearby[point]:
            if other in closed:
                continue
            drop = float(ground.z[point] - ground.z[other])
            length = float(np.hypot(*(ground.mesh.points[point] - ground.mesh.points[other])))
            if drop > LEVEL_M and drop / length > best:
                best, way = drop / length, ("along", other, -1)
        if way is None:
            if point in ground.rim:
                self.end = "shots end"
            else:
                self._pond([point])
            return
        if way[0] == "face":
            self.here = ("face", way[1], -1)
            return
        sides = ground.edge_triangles[(min(point, way[1]), max(point, way[1]))]
        wall = ground.is_wall(point, way[1])
        if len(sides) == 1 and not wall:
            self.end = "shots end"  # along the rim: nobody knows whether it falls more steeply beyond
            return
        self._to_point(way[1], "wall" if wall and len(sides) == 1 else "channel")

    def _pond(self, seeds: list[int]) -> None:
        """A bowl: fill it to the rim and go on from there, or stay in it."""
        ground = self.ground
        full: frozenset[int] = frozenset().union(*(pond.members for pond in self.ponds))
        pond = ground.pond_from(seeds, full)
        entry = len(self.points)
        while self.ponds and self.ponds[-1].members <= pond.members:
            self.ponds.pop()
            entry = self.entries.pop()
        self._back_to_shore(entry, pond)
        self.ponds.append(pond)
        self.entries.append(len(self.points))
        left = self.volume_m3 - sum(p.volume_m3 for p in self.ponds[:-1])
        if pond.volume_m3 >= left > 0 and math.isfinite(left):
            if pond.volume_m3 > left:
                self.ponds[-1] = ponding.part_filled(ground.mesh, ground.z, pond, left)
            self.end = "stands"
            return
        if pond.spill is None:
            self.end = "stands"
            return
        self._move(ground.mesh.points[pond.spill], pond.level_m, "pond")
        if pond.at_rim:
            self.end = "shots end"
            return
        closed: frozenset[int] = frozenset().union(*(one.members for one in self.ponds))
        self._point(pond.spill, closed - {pond.spill})

    def _back_to_shore(self, entry: int, pond: Pond) -> None:
        """Take back what of the way lies under the pond; it comes in where the way first meets its level."""
        while (
            entry > 1
            and self.heights[entry - 1] <= pond.level_m + LEVEL_M
            and (self.heights[entry - 2] <= pond.level_m + LEVEL_M)
        ):
            entry -= 1
        del self.points[entry:], self.heights[entry:], self.stretches[entry - 1 :]
        if len(self.points) < 2:
            self.heights[0] = max(self.heights[0], pond.level_m)
            return
        if self.heights[-1] >= pond.level_m:
            return
        high, low = self.heights[-2], self.heights[-1]
        share = (high - pond.level_m) / (high - low)
        self.points[-1] = self.points[-2] + share * (self.points[-1] - self.points[-2])
        self.heights[-1] = pond.level_m


def cut_at(way: WaterWay, lines: shapely.Geometry, *, near_m: float = 0.0) -> WaterWay:
    """Return a way only as far as it first meets some lines; the same one if it meets none.

    A way whose last point lies within ``near_m`` of them ends there too: shots on a line lie on it only so far as they
    were taped. Ponds beyond are left away.
    """
    for i in range(len(way.points) - 1):
        step = shapely.LineString(way.points[i : i + 2])
        met = shapely.intersection(step, lines)
        if met.is_empty:
            continue
        places = shapely.get_coordinates(met)
        away = np.hypot(*(places - way.points[i]).T)
        place, share = places[int(np.argmin(away))], float(away.min()) / step.length
        height = way.elevations[i] + share * (way.elevations[i + 1] - way.elevations[i])
        ponds = sum(what == "pond" for what in way.stretches[: i + 1])
        return WaterWay(
            np.vstack([way.points[: i + 1], place]),
            np.append(way.elevations[: i + 1], height),
            way.stretches[: i + 1],
            way.ponds[:ponds],
            "line",
        )
    if float(shapely.distance(shapely.Point(way.points[-1]), lines)) <= near_m:
        return WaterWay(way.points, way.elevations, way.stretches, way.ponds, "line")
    return way
