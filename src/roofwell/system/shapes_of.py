"""What lies on a lot as geometry: one reading of a feature's points for every distance and crossing."""

from __future__ import annotations

import shapely

from roofwell.system.facts import FeatureFact

_LINES = ("lot line", "break line")
_WIDE = ("walk", "drive")


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
