"""Where runs of one network cross each other in plan. Source: own construction (derived); geometry by ``shapely``."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import shapely
import shapely.ops
from numpy.typing import ArrayLike
from shapely.geometry import LineString, Point

from roofwell.errors import InputError
from roofwell.physics.trench.profile import OwnCrossing

NEAR_M = 0.15  # nearer than this to an end of either run they meet at a part, and do not cross


def own_crossings(
    *, ids: Sequence[str], paths: Sequence[ArrayLike], clearance_m: float
) -> tuple[OwnCrossing, ...]:
    """Return every place where two paths cross away from their ends, in the order of the paths.

    Paths that lie along each other do not cross: two pipes may share a trench.

    Parameters
    ----------
    ids, paths
        A label and points (k, 2) for each run, m.
    clearance_m
        Clear space wanted between the two pipes, m; at least 0.

    Raises
    ------
    InputError
        ``own-crossing`` where labels and paths do not match or the clearance is below 0.
    """
    if len(ids) != len(paths) or not clearance_m >= 0:
        raise InputError(
            f"{len(ids)} labels, {len(paths)} paths, clearance {clearance_m} m; "
            "give one label for each path and a clearance of at least 0",
            code="own-crossing",
        )
    lines = [LineString(path) for path in paths]
    out = []
    for (a, one), (b, two) in itertools.combinations(zip(ids, lines, strict=True), 2):
        if not one.intersects(two):
            continue
        for part in shapely.get_parts(one.intersection(two)):
            if not isinstance(part, Point):
                continue
            first, second = float(one.project(part)), float(two.project(part))
            if _inside(first, one) and _inside(second, two) and _passes(one, first, two, second):
                out.append(OwnCrossing(a, first, b, second, clearance_m))
    return tuple(out)


def _inside(station_m: float, line: LineString) -> bool:
    return bool(NEAR_M < station_m < line.length - NEAR_M)


def _passes(one: LineString, first_m: float, two: LineString, second_m: float) -> bool:
    """Whether one path goes from side to side of the other, not only up to it and away again."""
    here = two.interpolate(second_m)
    step = NEAR_M / 2
    near = here.buffer(step)
    split = shapely.get_parts(shapely.ops.split(near, _through(two, second_m, step)))
    if len(split) != 2:
        return True
    before, after = one.interpolate(first_m - step / 2), one.interpolate(first_m + step / 2)
    return bool(split[0].distance(before) > 0) != bool(split[0].distance(after) > 0)


def _through(line: LineString, station_m: float, step_m: float) -> LineString:
    """The stretch about a station, with its ends drawn out a little, so that it cuts a disk of that radius."""
    piece = shapely.ops.substring(line, station_m - step_m, station_m + step_m)
    points = [tuple(xy) for xy in piece.coords]
    (x0, y0), (x1, y1) = points[0], points[1]
    (u1, v1), (u0, v0) = points[-2], points[-1]
    return LineString([(2 * x0 - x1, 2 * y0 - y1), *points, (2 * u0 - u1, 2 * v0 - v1)])
