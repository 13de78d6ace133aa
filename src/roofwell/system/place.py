"""Points of the document as plain coordinates."""

from __future__ import annotations

from collections.abc import Iterable

from roofwell.units import Quantity

XY = tuple[float, float]


def xy(point: tuple[Quantity, Quantity]) -> XY:
    """Return a point of the document in metres."""
    return point[0].value_si, point[1].value_si


def xys(points: Iterable[tuple[Quantity, Quantity]]) -> tuple[XY, ...]:
    """Return points of the document in metres."""
    return tuple(xy(point) for point in points)
