"""The ground between spot elevations: linear over a Delaunay triangulation in which break lines are edges.

Source: own choice of interpolation; triangulation: ``triangulation``.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import QhullError, cKDTree

from roofwell.errors import InputError
from roofwell.physics.ground.triangulation import Mesh, triangulate

Floats = NDArray[np.float64]

_SAME_PLACE_M = 0.001
_SAME_ELEVATION_M = 0.0005
_THIN = 1e-6  # width over length under which shots count as lying on one line


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Ground through ``points`` (n, 2) at ``elevations`` (n,), m, n at least 1.

    Three or more points that do not lie on one line make triangles; points on a line make a ground that is
    the same square to that line; one point makes level ground. Shots within 1 mm of each other are merged if
    they agree within 0.5 mm. ``break_lines``: each (k, 3) with k at least 2, places and elevations along a line that the
    ground does not bridge: a ditch, a crest, a curb. Their points join the shots; where two cross, the ground takes
    the middle of both. ``mesh`` is None where the points make no triangles.

    Raises
    ------
    InputError
        ``surface-shape`` if there is no point, shapes disagree or a number is not finite;
        ``surface-duplicate`` if two shots at one place disagree: says which and by how much.
    """

    points: Floats
    elevations: Floats
    break_lines: tuple[Floats, ...] = ()
    mesh: Mesh | None = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        points, elevations = np.asarray(self.points, dtype=float), np.asarray(self.elevations, dtype=float)
        lines = _noded([np.asarray(line, dtype=float) for line in self.break_lines])
        if lines:
            points = np.concatenate([np.atleast_2d(points), *(line[:, :2] for line in lines)])
            elevations = np.concatenate([np.atleast_1d(elevations), *(line[:, 2] for line in lines)])
        xy, z = _merged(points, elevations)
        object.__setattr__(self, "points", xy)
        object.__setattr__(self, "elevations", z)
        if z.size < 3 or _is_thin(xy):
            return
        with contextlib.suppress(QhullError):  # too thin even for Qhull: a line
            object.__setattr__(self, "mesh", triangulate(xy, _as_edges(xy, lines)))

    def elevation_m(self, xy: ArrayLike) -> Floats:
        """As the function ``elevation_m``."""
        return elevation_m(self, xy)

    def inside(self, xy: ArrayLike) -> NDArray[np.bool_]:
        """As the function ``inside``."""
        return inside(self, xy)


def make_surface(
    *, points: ArrayLike, elevations: ArrayLike, break_lines: Sequence[ArrayLike] = ()
) -> Surface:
    """Return ``Surface`` of anything array-like; the same errors."""
    lines = tuple(np.asarray(line, dtype=float) for line in break_lines)
    return Surface(np.asarray(points, dtype=float), np.asarray(elevations, dtype=float), lines)


def _merged(points: ArrayLike, elevations: ArrayLike) -> tuple[Floats, Floats]:
    xy, z = np.atleast_2d(np.asarray(points, dtype=float)), np.atleast_1d(np.asarray(elevations, dtype=float))
    if xy.ndim != 2 or xy.shape[1] != 2 or z.shape != (xy.shape[0],) or z.size == 0:
        raise InputError(
            f"points have shape {xy.shape} and elevations {z.shape}; right are (n, 2) and (n,), n at least 1",
            code="surface-shape",
        )
    if not (np.isfinite(xy).all() and np.isfinite(z).all()):
        raise InputError("a point or an elevation is not a finite number", code="surface-shape")
    earlier: dict[int, list[int]] = {}
    for first, second in sorted(cKDTree(xy).query_pairs(_SAME_PLACE_M)):
        earlier.setdefault(second, []).append(first)
    dropped: set[int] = set()
    for i in sorted(earlier):
        near = [j for j in earlier[i] if j not in dropped]
        if near and abs(z[i] - z[near[0]]) > _SAME_ELEVATION_M:
            raise InputError(
                f"points {near[0]} and {i} stand at one place {xy[i].tolist()} with elevations "
                f"{z[near[0]]} and {z[i]} m; keep the right one",
                code="surface-duplicate",
            )
        if near:
            dropped.add(i)
    keep = [i for i in range(z.size) if i not in dropped]
    return xy[keep], z[keep]


def _noded(lines: list[Floats]) -> list[Floats]:
    """Break lines with a point in each wherever two of them cross."""
    for line in lines:
        if line.ndim != 2 or line.shape[1] != 3 or line.shape[0] < 2 or not np.isfinite(line).all():
            raise InputError(
                f"a break line has shape {line.shape}; right is (k, 3), k at least 2, of finite numbers",
                code="surface-shape",
            )
    met: dict[tuple[int, int], list[tuple[float, Floats]]] = {}
    pieces = [(n, i) for n, line in enumerate(lines) for i in range(len(line) - 1)]
    for one, two in combinations(pieces, 2):
        if one[0] == two[0] and abs(one[1] - two[1]) == 1:
            continue
        a, b = lines[one[0]][one[1] : one[1] + 2], lines[two[0]][two[1] : two[1] + 2]
        way, other = b[1] - b[0], a[1] - a[0]
        cross = float(other[0] * way[1] - other[1] * way[0])
        if abs(cross) < 1e-12:
            continue
        gap = b[0] - a[0]
        s = float(gap[0] * way[1] - gap[1] * way[0]) / cross
        t = float(gap[0] * other[1] - gap[1] * other[0]) / cross
        if 0 < s < 1 and 0 < t < 1:
            place = a[0] + s * other
            place[2] = 0.5 * (place[2] + float(b[0, 2] + t * way[2]))
            met.setdefault(one, []).append((s, place))
            met.setdefault(two, []).append((t, place))
    out = []
    for n, line in enumerate(lines):
        rows = []
        for i in range(len(line) - 1):
            between = sorted(met.get((n, i), []), key=lambda item: item[0])
            rows += [line[i], *(place for _, place in between)]
        out.append(np.array([*rows, line[-1]]))
    return out


def _as_edges(xy: Floats, lines: list[Floats]) -> list[tuple[int, int]]:
    """Break lines as pairs of the points that they run between, parted where a point lies on them."""
    out: list[tuple[int, int]] = []
    for line in lines:
        for start, end in zip(line[:-1, :2], line[1:, :2], strict=True):
            way = end - start
            length = float(np.hypot(*way))
            if length <= _SAME_PLACE_M:
                continue
            along = (xy - start) @ way / length
            off = np.abs((xy - start) @ np.array([-way[1], way[0]])) / length
            on = np.flatnonzero(
                (off <= _SAME_PLACE_M) & (along >= -_SAME_PLACE_M) & (along <= length + _SAME_PLACE_M)
            )
            numbers = on[np.argsort(along[on])].tolist()
            out += [(a, b) for a, b in pairwise(numbers)]
    return list(dict.fromkeys((min(pair), max(pair)) for pair in out))


def _is_thin(xy: Floats) -> bool:
    spread = np.linalg.svd(xy - xy.mean(axis=0), compute_uv=False)
    return bool(spread[1] <= _THIN * spread[0])


def _query(xy: ArrayLike) -> Floats:
    at = np.atleast_2d(np.asarray(xy, dtype=float))
    if at.ndim != 2 or at.shape[1] != 2:
        raise InputError(f"places have shape {at.shape}; (m, 2) is right", code="surface-shape")
    return at


def _along(surface: Surface, at: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """For shots on a line: their stations and elevations in order, the queries' stations and offsets."""
    origin = surface.points[0]
    if surface.elevations.size == 1:
        away = np.hypot(*(at - origin).T)
        return np.zeros(1), surface.elevations, np.zeros(at.shape[0]), np.asarray(away)
    far = surface.points[int(np.argmax(np.hypot(*(surface.points - origin).T)))]
    unit = (far - origin) / np.hypot(*(far - origin))
    stations = (surface.points - origin) @ unit
    order = np.argsort(stations)
    offset = np.abs((at - origin) @ np.array([-unit[1], unit[0]]))
    return stations[order], surface.elevations[order], (at - origin) @ unit, offset


def inside(surface: Surface, xy: ArrayLike) -> NDArray[np.bool_]:
    """Return whether places (m, 2) lie within the shots, shape (m,): elevations elsewhere are extended.

    On shots that make a line: within its ends and no more than 1 mm off it. Raises ``surface-shape``.
    """
    at = _query(xy)
    if surface.mesh is not None:
        return np.asarray(surface.mesh.find(at) >= 0)
    stations, _, where, offset = _along(surface, at)
    close = _SAME_PLACE_M
    return np.asarray((where >= stations[0] - close) & (where <= stations[-1] + close) & (offset <= close))


def elevation_m(surface: Surface, xy: ArrayLike) -> Floats:
    """Return the ground elevation at places (m, 2), shape (m,), m.

    Beyond the shots the ground keeps the elevation of the nearest point on the edge of the surface;
    ``inside`` tells where that is so. Raises ``surface-shape``.
    """
    at = _query(xy)
    mesh = surface.mesh
    if mesh is None:
        stations, heights, where, _ = _along(surface, at)
        return np.asarray(np.interp(where, stations, heights))
    triangle = mesh.find(at)
    out = np.empty(at.shape[0])
    hit = triangle >= 0
    weights = mesh.weights(triangle[hit], at[hit])
    out[hit] = (weights * surface.elevations[mesh.triangles[triangle[hit]]]).sum(axis=1)
    if not hit.all():
        out[~hit] = _on_edge(surface, mesh, at[~hit])
    return out


def _on_edge(surface: Surface, mesh: Mesh, places: Floats) -> Floats:
    """Elevation of the nearest point of the hull for each place; edge after edge, for edges are few."""
    least = np.full(places.shape[0], np.inf)
    out = np.empty(places.shape[0])
    for edge in mesh.outer_edges:
        a, b = mesh.points[edge]
        step = b - a
        share = np.clip(((places - a) * step).sum(axis=1) / (step * step).sum(), 0.0, 1.0)
        gap = np.hypot(*(a + share[:, None] * step - places).T)
        nearer = gap < least
        low, high = surface.elevations[edge]
        out[nearer] = low + share[nearer] * (high - low)
        least[nearer] = gap[nearer]
    return out


def slope(surface: Surface, xy: ArrayLike) -> Floats:
    """Return the gradient (rise per metre toward +x and +y) at places (m, 2), shape (m, 2).

    On a crease between triangles that of one of them; beyond the shots not a number; level on a single shot;
    along the line only where the shots make a line. Raises ``surface-shape``.
    """
    at = _query(xy)
    out = np.full(at.shape, np.nan)
    mesh = surface.mesh
    if mesh is not None:
        triangle = mesh.find(at)
        for n in np.flatnonzero(triangle >= 0):
            out[n] = surface.elevations[mesh.triangles[triangle[n]]] @ mesh.changes(triangle[n])
        return out
    stations, heights, where, _ = _along(surface, at)
    within = inside(surface, at)
    if stations.size == 1:
        out[within] = 0.0
        return out
    piece = np.clip(np.searchsorted(stations, where, side="right") - 1, 0, stations.size - 2)
    grade = (np.diff(heights) / np.diff(stations))[piece]
    far = surface.points[int(np.argmax(np.hypot(*(surface.points - surface.points[0]).T)))]
    unit = (far - surface.points[0]) / np.hypot(*(far - surface.points[0]))
    out[within] = (grade[:, None] * unit)[within]
    return out
