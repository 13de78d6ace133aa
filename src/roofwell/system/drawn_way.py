"""The way over the ground as somebody drew it in the job, held against the one that the shots show."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
import shapely.ops

from roofwell import tables
from roofwell.system.facts import Survey
from roofwell.system.lawn import Line, is_outline
from roofwell.system.overland_facts import DrawnWay, SpillWay
from roofwell.system.scheme import XY

_STEP_M = 0.05


def drawn_way(path: Sequence[XY], way: SpillWay, lines: Sequence[Line], survey: Survey) -> DrawnWay | None:
    """Return a drawn way against the found one, as far as the lot goes; None where none is drawn.

    It follows the found one where it keeps within half the width of that water, or as near as places are taped.
    """
    if len(path) < 2:
        return None
    whole = shapely.LineString(path)
    taped = tables.limit("taped-place", survey.style).value_si
    houses = tuple(
        b.id
        for b in survey.buildings
        if is_outline(b.outline) and whole.intersects(shapely.Polygon(b.outline).buffer(-taped))
    )
    found = shapely.LineString([(x, y) for x, y, _ in way.points]) if len(way.points) > 1 else None
    places = shapely.get_coordinates(_on_the_lot(whole, lines).segmentize(_STEP_M))
    if (
        found is not None and way.leaves_at is None
    ):  # what is drawn beyond the end of the shots is neither right nor wrong
        places = places[shapely.line_locate_point(found, shapely.points(places)) < found.length - _STEP_M]
    if found is None or not len(places):
        return DrawnWay(tuple(path), houses, None, None, False)
    away = shapely.distance(shapely.points(places), found)
    worst = int(np.argmax(away))
    off = float(away[worst])
    near = taped if way.widest is None else max(taped, way.widest.width_m / 2)
    return DrawnWay(
        points=tuple(path),
        houses=houses,
        off_m=off,
        off_at=(float(places[worst, 0]), float(places[worst, 1])),
        follows=off <= near,
    )


def _on_the_lot(way: shapely.LineString, lines: Sequence[Line]) -> shapely.LineString:
    """A line up to where it first meets the end of the lot; the whole of one that begins there."""
    if not lines:
        return way
    met = shapely.get_coordinates(
        shapely.intersection(way, shapely.union_all([line for _, _, line in lines]))
    )
    first = min((way.project(shapely.Point(at)) for at in met), default=way.length)
    return shapely.ops.substring(way, 0.0, first) if first > 0 else way
