"""What lies on a lot as geometry: one reading of a feature's points, and of a basin's walls, for every distance."""

from __future__ import annotations

import math

import shapely

from roofwell.system.facts import FeatureFact
from roofwell.system.scheme import XY, Basin

_LINES = ("lot line", "break line")
_WIDE = ("walk", "drive")
_CIRCLE = 24  # corners that stand for a circle, as for a round pit


def is_area(feature: FeatureFact) -> bool:
    """Return whether a feature covers ground: an outline of three corners or more, but of no lot line or break line."""
    return feature.shape == "outline" and len(feature.points) >= 3 and feature.kind not in _LINES


def shape_of(feature: FeatureFact) -> shapely.Geometry:
    """Return a feature as a geometry: an area, a line, a point; empty where it has no points.

    An outline is an area, mended where it crosses itself; that of a lot line or break line is its line, closed, not what it
    encloses. A walk or drive that is given as a path is as wide as its ``diameter_m`` says.
    """
    points = feature.points
    if len(points) < 2:
        return shapely.Point(points[0]) if points else shapely.Point()
    if is_area(feature):
        return shapely.make_valid(shapely.Polygon(points))
    line = shapely.LineString((*points, points[0]) if feature.shape == "outline" else points)
    if feature.kind in _WIDE and feature.diameter_m:
        return line.buffer(feature.diameter_m / 2)
    return line


def basin_outline(basin: Basin, *, around_m: float = 0.0) -> tuple[XY, ...]:
    """Return the corners of a basin on plan, inside its walls, or of what reaches ``around_m`` beyond them.

    Which way a rectangular one turns is not known: it counts as wide as it is long.
    """
    if basin.outline:
        grown = shapely.Polygon(basin.outline).buffer(around_m, join_style="mitre")
        return tuple((float(x), float(y)) for x, y in grown.exterior.coords[:-1])
    x, y = basin.at
    if basin.shape == "round":
        radius = basin.width_m / 2 + around_m
        turns = (math.tau * i / _CIRCLE for i in range(_CIRCLE))
        return tuple((x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns)
    half = max(basin.width_m, basin.length_m) / 2 + around_m
    return ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
