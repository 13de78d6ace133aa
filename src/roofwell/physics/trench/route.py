"""The line of a run in plan: stations, crossings, turns, elbows.

Coordinates are metres in one local plan frame. Source: own construction (derived); geometry by ``shapely``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from roofwell.errors import InputError

Floats = NDArray[np.float64]

COMMON_ELBOWS_RAD = (math.pi / 8, math.pi / 4, math.pi / 2)
"""22.5, 45 and 90 degrees (common practice, no source); what a trade size really offers is passed in."""

_TOUCH_M = 1e-6  # two places closer than this are one


@dataclass(frozen=True, slots=True)
class Elbows:
    """Standard elbows that make a turn, largest first; the signed rest is taken up in the line."""

    angles_rad: tuple[float, ...]
    left_over_rad: float


def _points(points: ArrayLike, *, least: int, what: str, code: str) -> Floats:
    array = np.asarray(points, dtype=float)
    if array.ndim != 2 or array.shape[1] != 2 or array.shape[0] < least or not np.isfinite(array).all():
        raise InputError(
            f"{what} has shape {array.shape}; it must be at least {least} points of two finite numbers",
            code=code,
        )
    return array


def path_length_m(path: ArrayLike) -> float:
    """Return the length of a path of shape (k, 2), m. Raises ``InputError`` (``path``)."""
    xy = _points(path, least=2, what="path", code="path")
    return float(np.hypot(*np.diff(xy, axis=0).T).sum())


def place_at(path: ArrayLike, stations_m: ArrayLike) -> Floats:
    """Return the points (m, 2) at stations (m,) along a path; stations beyond an end give that end."""
    xy = _points(path, least=2, what="path", code="path")
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    at = np.atleast_1d(np.asarray(stations_m, dtype=float))
    return np.column_stack([np.interp(at, along, xy[:, 0]), np.interp(at, along, xy[:, 1])])


def station_points(path: ArrayLike, spacing_m: float) -> tuple[Floats, Floats]:
    """Return stations (m,) and their points (m, 2): every ``spacing_m``, every vertex, and both ends.

    Raises
    ------
    InputError
        ``path``; ``station-spacing`` if the spacing is not above 0.
    """
    if not (math.isfinite(spacing_m) and spacing_m > 0):
        raise InputError(f"spacing {spacing_m} m; it must be above 0", code="station-spacing")
    xy = _points(path, least=2, what="path", code="path")
    vertices = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    regular = np.arange(0.0, vertices[-1], spacing_m)
    stations = np.unique(np.concatenate([regular, vertices]))
    keep = np.concatenate([[True], np.diff(stations) > _TOUCH_M])
    keep[-1] = True
    stations = stations[keep]
    if stations.size > 2 and stations[-1] - stations[-2] <= _TOUCH_M:
        stations = np.delete(stations, -2)
    return stations, place_at(xy, stations)


def deflections_rad(path: ArrayLike) -> Floats:
    """Return the turn at each inner vertex, shape (k - 2,), rad; left (counterclockwise) positive."""
    steps = np.diff(_points(path, least=2, what="path", code="path"), axis=0)
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    turns = np.diff(headings)
    return np.asarray((turns + math.pi) % (2 * math.pi) - math.pi)


def elbows(angle_rad: float, standard_rad: Sequence[float] = COMMON_ELBOWS_RAD) -> Elbows:
    """Return the fewest standard elbows that come nearest to a turn.

    A turn smaller than half the smallest elbow takes none: it is laid in the line.

    Raises
    ------
    InputError
        ``elbow-angle`` if the turn is not finite or beyond a half turn, or a standard is not above 0.
    """
    size = abs(angle_rad)
    if not size <= math.pi + 1e-9:
        raise InputError(f"turn {angle_rad} rad; it must lie within half a turn", code="elbow-angle")
    sizes = sorted(standard_rad, reverse=True)
    if not sizes or not all(math.isfinite(s) and s > 0 for s in sizes):
        raise InputError(f"standard elbows {standard_rad}; each must be above 0", code="elbow-angle")
    most = math.ceil(size / sizes[-1]) + 1
    best: tuple[float, int, tuple[float, ...]] = (size, 0, ())
    layers: list[tuple[float, ...]] = [()]
    for count in range(1, most + 1):
        layers = [(*have, s) for have in layers for s in sizes if not have or s <= have[-1]]
        for have in layers:
            left = abs(size - sum(have))
            if left < best[0] - 1e-9:
                best = (left, count, have)
        if best[0] <= sizes[-1] / 2 + 1e-9:
            break
    sign = math.copysign(1.0, angle_rad)
    return Elbows(best[2], sign * (size - sum(best[2])))


def crossings(path: ArrayLike, geometry: BaseGeometry) -> tuple[tuple[float, float], ...]:
    """Return the stretches of a path that touch a line or lie in a polygon, as (first, last) stations, m.

    A crossed line gives a stretch of no length. Raises ``InputError`` (``path``).
    """
    line = LineString(_points(path, least=2, what="path", code="path"))
    stretches = []
    for part in shapely.get_parts(line.intersection(geometry)):
        if part.is_empty:
            continue
        along = [float(line.project(Point(xy))) for xy in part.coords]
        stretches.append((min(along), max(along)))
    stretches.sort()
    joined: list[tuple[float, float]] = []
    for first, last in stretches:
        if joined and first <= joined[-1][1] + _TOUCH_M:
            joined[-1] = (joined[-1][0], max(last, joined[-1][1]))
        else:
            joined.append((first, last))
    return tuple(joined)
