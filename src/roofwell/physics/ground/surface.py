"""The ground between spot elevations: linear over a Delaunay triangulation.

Source: own choice of interpolation; triangulation by ``scipy.spatial`` (Qhull).
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import Delaunay, QhullError

from roofwell.errors import InputError

Floats = NDArray[np.float64]

_SAME_PLACE_M = 0.001
_SAME_ELEVATION_M = 0.0005
_THIN = 1e-6  # width over length under which shots count as lying on one line


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Ground through ``points`` (n, 2) at ``elevations`` (n,), m, n at least 1.

    Three or more points that do not lie on one line make triangles; points on a line make a ground that is
    the same square to that line; one point makes level ground. Shots within 1 mm of each other are merged if
    they agree within 0.5 mm.

    Raises
    ------
    InputError
        ``surface-shape`` if there is no point, shapes disagree or a number is not finite;
        ``surface-duplicate`` if two shots at one place disagree: says which and by how much.
    """

    points: Floats
    elevations: Floats
    _triangles: Delaunay | None = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        xy, z = _merged(self.points, self.elevations)
        object.__setattr__(self, "points", xy)
        object.__setattr__(self, "elevations", z)
        if z.size < 3 or _is_thin(xy):
            return
        with contextlib.suppress(QhullError):  # too thin even for Qhull: a line
            object.__setattr__(self, "_triangles", Delaunay(xy - xy.mean(axis=0)))

    def elevation_m(self, xy: ArrayLike) -> Floats:
        """As the function ``elevation_m``."""
        return elevation_m(self, xy)

    def inside(self, xy: ArrayLike) -> NDArray[np.bool_]:
        """As the function ``inside``."""
        return inside(self, xy)


def make_surface(*, points: ArrayLike, elevations: ArrayLike) -> Surface:
    """Return ``Surface`` of anything array-like; the same errors."""
    return Surface(np.asarray(points, dtype=float), np.asarray(elevations, dtype=float))


def _merged(points: ArrayLike, elevations: ArrayLike) -> tuple[Floats, Floats]:
    xy, z = np.atleast_2d(np.asarray(points, dtype=float)), np.atleast_1d(np.asarray(elevations, dtype=float))
    if xy.ndim != 2 or xy.shape[1] != 2 or z.shape != (xy.shape[0],) or z.size == 0:
        raise InputError(
            f"points have shape {xy.shape} and elevations {z.shape}; right are (n, 2) and (n,), n at least 1",
            code="surface-shape",
        )
    if not (np.isfinite(xy).all() and np.isfinite(z).all()):
        raise InputError("a point or an elevation is not a finite number", code="surface-shape")
    keep: list[int] = []
    for i in range(z.size):
        near = [j for j in keep if np.hypot(*(xy[i] - xy[j])) <= _SAME_PLACE_M]
        if near and abs(z[i] - z[near[0]]) > _SAME_ELEVATION_M:
            raise InputError(
                f"points {near[0]} and {i} stand at one place {xy[i].tolist()} with elevations "
                f"{z[near[0]]} and {z[i]} m; keep the right one",
                code="surface-duplicate",
            )
        if not near:
            keep.append(i)
    return xy[keep], z[keep]


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
    if surface._triangles is not None:
        triangle = surface._triangles.find_simplex(at - surface.points.mean(axis=0), tol=1e-9)
        return np.asarray(triangle >= 0)
    stations, _, where, offset = _along(surface, at)
    close = _SAME_PLACE_M
    return np.asarray((where >= stations[0] - close) & (where <= stations[-1] + close) & (offset <= close))


def elevation_m(surface: Surface, xy: ArrayLike) -> Floats:
    """Return the ground elevation at places (m, 2), shape (m,), m.

    Beyond the shots the ground keeps the elevation of the nearest point on the edge of the surface;
    ``inside`` tells where that is so. Raises ``surface-shape``.
    """
    at = _query(xy)
    mesh = surface._triangles
    if mesh is None:
        stations, heights, where, _ = _along(surface, at)
        return np.asarray(np.interp(where, stations, heights))
    local = at - surface.points.mean(axis=0)
    triangle = mesh.find_simplex(local, tol=1e-9)
    out = np.empty(at.shape[0])
    hit = triangle >= 0
    weights = _weights(mesh, triangle[hit], local[hit])
    out[hit] = (weights * surface.elevations[mesh.simplices[triangle[hit]]]).sum(axis=1)
    if not hit.all():
        out[~hit] = _on_edge(surface, mesh, local[~hit])
    return out


def _weights(mesh: Delaunay, triangle: NDArray[np.intp], local: Floats) -> Floats:
    transform = mesh.transform[triangle]
    two = np.einsum("ijk,ik->ij", transform[:, :2], local - transform[:, 2])
    return np.column_stack([two, 1 - two.sum(axis=1)])


def _on_edge(surface: Surface, mesh: Delaunay, places: Floats) -> Floats:
    """Elevation of the nearest point of the hull for each place; edge after edge, for edges are few."""
    least = np.full(places.shape[0], np.inf)
    out = np.empty(places.shape[0])
    for edge in mesh.convex_hull:
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
    mesh = surface._triangles
    if mesh is not None:
        triangle = mesh.find_simplex(at - surface.points.mean(axis=0), tol=1e-9)
        hit = triangle >= 0
        corners = mesh.simplices[triangle[hit]]
        transform = mesh.transform[triangle[hit]][:, :2]
        z = surface.elevations[corners]
        out[hit] = np.einsum("ij,ijk->ik", z[:, :2] - z[:, 2:], transform)
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
