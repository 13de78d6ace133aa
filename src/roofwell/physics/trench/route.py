"""The line of a run in plan: along the wall, then straight to the goal; stations, crossings, elbows.

Coordinates are metres in one local plan frame. Source: own construction (derived); geometry by ``shapely``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import LineString, Point, Polygon
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


def _sees(a: Floats, b: Floats, zone: Polygon) -> bool:
    """Whether the straight line from a to b stays out of a zone (touching its edge is seen)."""
    if np.hypot(*(b - a)) <= _TOUCH_M:
        return True
    return bool(LineString([a, b]).intersection(zone).length <= 10 * _TOUCH_M)


def _ring_walk(ring: Floats, start: Floats, reverse: bool) -> Floats:
    """The vertices of a closed ring met when walking once around from a point on it."""
    line = LineString(ring)
    at = float(line.project(Point(start)))
    along = np.array([float(line.project(Point(xy))) for xy in ring[:-1]])
    order = np.argsort((along - at) % line.length)
    walk = ring[:-1][order]
    if reverse:
        walk = walk[::-1]
    return np.asarray(walk[np.hypot(*(walk - start).T) > _TOUCH_M])


def _simplified(path: list[Floats]) -> Floats:
    out: list[Floats] = []
    for point in path:
        if out and np.hypot(*(point - out[-1])) <= _TOUCH_M:
            continue
        if len(out) >= 2:
            a, b = out[-1] - out[-2], point - out[-1]
            if abs(a[0] * b[1] - a[1] * b[0]) <= 1e-9 * float(np.hypot(*a) * np.hypot(*b)) and a @ b > 0:
                out.pop()
        out.append(point)
    return np.array(out if len(out) > 1 else [path[0], path[-1]])


def _leave(a: Floats, b: Floats, goal: Floats, zone: Polygon) -> Floats | None:
    """The first place on the leg from a to b that sees the goal; None if none does."""
    shares = np.linspace(0.0, 1.0, 65)
    seen = next((float(t) for t in shares if _sees(a + t * (b - a), goal, zone)), None)
    if seen is None:
        return None
    low, high = max(0.0, seen - 1 / 64), seen
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (low, middle) if _sees(a + middle * (b - a), goal, zone) else (middle, high)
    return np.asarray(a + high * (b - a))


def route_along_wall(*, start: ArrayLike, goal: ArrayLike, outline: ArrayLike, offset_m: float) -> Floats:
    """Return the plan path from a downspout along the wall until the goal is in sight, then straight.

    Parameters
    ----------
    start, goal
        Points (2,), m. From a point nearer to the wall than the offset the path goes straight out first; it
        comes straight in to a goal that is nearer.
    outline
        Corners of the building (n, 2), n at least 3, m; either direction, closed or not.
    offset_m
        Distance kept from the walls all along, m; above 0.

    Returns
    -------
    numpy.ndarray
        Path (k, 2), k at least 2, by the shorter way around. One straight line where that spends no more
        than twice the offset near the walls.

    Raises
    ------
    InputError
        ``route-offset``; ``route-outline`` if the outline is not a polygon; ``route-start`` or ``route-goal``
        if that point lies in the building; ``route-blocked`` if a point stands in a court too narrow for the
        offset, or the wall never comes in sight of the goal.
    """
    if not (math.isfinite(offset_m) and offset_m > 0):
        raise InputError(f"offset {offset_m} m from the wall; it must be above 0", code="route-offset")
    building = Polygon(_points(outline, least=3, what="outline", code="route-outline"))
    if not building.is_valid or building.area <= 0:
        raise InputError("the outline of the building crosses itself or has no area", code="route-outline")
    begin, end = np.asarray(start, dtype=float), np.asarray(goal, dtype=float)
    inner = building.buffer(-10 * _TOUCH_M, join_style="mitre")
    for xy, code in ((begin, "route-start"), (end, "route-goal")):
        if xy.shape != (2,) or not np.isfinite(xy).all():
            raise InputError(f"{code[6:]} {xy} is not a point of two numbers", code=code)
        if inner.contains(Point(xy)):
            raise InputError(f"{code[6:]} {xy.tolist()} lies inside the building", code=code)
    near = building.buffer(offset_m, join_style="mitre")
    zone = near.buffer(-10 * _TOUCH_M, join_style="mitre")
    direct = LineString([begin, end]) if np.hypot(*(end - begin)) > _TOUCH_M else None
    if direct is None:
        return np.array([begin, end])
    if _sees(begin, end, inner) and direct.intersection(zone).length <= 2 * offset_m + _TOUCH_M:
        return np.array([begin, end])
    ring = np.asarray(near.exterior.coords)
    entry = _wall_entry(begin, building, ring, offset_m)
    last = _wall_entry(end, building, ring, offset_m) if building.distance(Point(end)) < offset_m else end
    best: Floats | None = None
    if _sees(begin, entry, inner) and _sees(last, end, inner):
        for reverse in (False, True):
            found = _one_way(begin, entry, last, end, ring, zone, reverse)
            if found is not None and (best is None or path_length_m(found) < path_length_m(best) - _TOUCH_M):
                best = found
    if best is None:
        raise InputError(
            "no place along the wall sees the goal; give the path by its points", code="route-blocked"
        )
    return best


def _wall_entry(begin: Floats, building: Polygon, ring: Floats, offset_m: float) -> Floats:
    """The place on the offset line that a point goes to: straight out from the wall, else the nearest."""
    line, here = LineString(ring), Point(begin)
    foot_point = building.exterior.interpolate(building.exterior.project(here))
    foot = np.array([foot_point.x, foot_point.y])
    out = begin - foot
    if _TOUCH_M < np.hypot(*out) < offset_m:
        candidate: Floats = foot + out / np.hypot(*out) * offset_m
        if line.distance(Point(candidate)) <= _TOUCH_M:
            return candidate
    nearest = line.interpolate(line.project(here))
    return np.array([nearest.x, nearest.y])


def _one_way(
    begin: Floats, entry: Floats, last: Floats, end: Floats, ring: Floats, zone: Polygon, reverse: bool
) -> Floats | None:
    path = [begin, entry]
    if _sees(entry, last, zone):
        return _simplified([*path, last, end])
    for corner in [*_ring_walk(ring, entry, reverse), entry]:
        leave = _leave(path[-1], corner, last, zone)
        if leave is not None:
            return _simplified([*path, leave, last, end])
        path.append(corner)
    return None
