"""The ground of a lot as water finds it: houses in the way, where the lot ends, which shot would show more."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from roofwell import tables
from roofwell.errors import InputError
from roofwell.physics.ground.descent import Ground, WaterWay, cut_at, way_down
from roofwell.physics.ground.triangulation import around
from roofwell.system.facts import Survey
from roofwell.system.scheme import XY
from roofwell.system.shapes_of import shape_of

_ENDS = ("lot line", "street", "open water")
OVERLAP_M2 = 1e-6  # of outlines that only touch, by the rounding of their corners
Line = tuple[str, str, shapely.Geometry]
"""Id, kind and geometry of a line at which the lot's own ground ends, or water is let go."""


@dataclass(frozen=True, slots=True, eq=False)
class Lawn:
    """The ground with houses cut out of it, the lines where a way ends, and what the tables say of grass.

    ``taped_m``: how far off a taped place may be. ``reach_m``: how far to either side a hollow may reach.
    """

    ground: Ground
    lines: tuple[Line, ...]
    manning_n: float
    side_slope: float
    reach_m: float
    taped_m: float
    near_house_m: float


def lawn_of(survey: Survey) -> Lawn | str:
    """Return the ground of the lot, or words for why nothing is known of it."""
    style, mesh = survey.style, survey.ground.mesh
    if not survey.ground_known:
        return "the ground was not measured"
    if mesh is None:
        count = len(survey.ground.elevations)
        few = (
            f"only {count} shot{'s' * (count > 1)} on the ground"
            if count < 3
            else "all shots lie on one line"
        )
        return f"{few}, which show no way of the water"
    houses = [b.outline for b in survey.buildings if is_outline(b.outline)]
    houses += [f.points for f in survey.neighbors if f.shape == "outline" and is_outline(f.points)]
    return Lawn(
        ground=Ground(*around(mesh, survey.ground.elevations, _apart(houses))),
        lines=ends_of(survey),
        manning_n=survey.settings["overland_manning_n"],
        side_slope=survey.settings["overland_side_slope"],
        reach_m=tables.assumption("overland-reach", style).value_si,
        taped_m=tables.limit("taped-place", style).value_si,
        near_house_m=tables.limit("spill-near-house", style).value_si,
    )


def is_outline(points: Sequence[XY]) -> bool:
    """Return whether points make an area that does not cross itself."""
    return len(points) >= 3 and bool(shapely.Polygon(points).is_valid)


def ends_of(survey: Survey) -> tuple[Line, ...]:
    """Return where the lot's own ground ends, or water is let go."""
    out = []
    for feature in survey.of_kind(*_ENDS):
        shape = shape_of(feature)
        out.append(
            (feature.id, feature.kind, shape.boundary if shape.geom_type.endswith("Polygon") else shape)
        )
    return tuple(out)


def way_from(lawn: Lawn, at: XY, *, volume_m3: float = math.inf) -> WaterWay | str:
    """Return the way of water from a place, cut where it leaves the lot; words where there is none."""
    start = _off_wall(lawn, at)
    if start is None:
        return "it lies beyond the shots"
    try:
        way = way_down(lawn.ground, start, volume_m3=volume_m3)
    except InputError:
        return "it lies beyond the shots"
    if not lawn.lines:
        return way
    return cut_at(way, shapely.union_all([line for _, _, line in lawn.lines]), near_m=lawn.taped_m)


def _off_wall(lawn: Lawn, at: XY) -> XY | None:
    """A place on the ground: this one, or beside the wall or rim that it stands on or just behind."""
    ground = lawn.ground
    if ground.mesh.find([at])[0] >= 0:
        return at
    edges = ground.mesh.outer_edges
    a, b = ground.mesh.points[edges[:, 0]], ground.mesh.points[edges[:, 1]]
    step = b - a
    share = np.clip(((at - a) * step).sum(axis=1) / (step * step).sum(axis=1), 0.0, 1.0)
    places = a + share[:, None] * step
    gap = np.hypot(*(places - at).T)
    nearest = int(np.argmin(gap))
    if gap[nearest] > lawn.taped_m:
        return None
    middle = ground.mesh.points[ground.mesh.triangles].mean(axis=1)
    inward = (
        middle[ground.edge_triangles[(int(edges[nearest].min()), int(edges[nearest].max()))][0]]
        - places[nearest]
    )
    place = places[nearest] + 1e-6 * inward / np.hypot(*inward)
    return (float(place[0]), float(place[1]))


def straight_to_line(at: XY, lines: Sequence[Line]) -> tuple[float | None, XY | None]:
    """Return the straight distance to the lot line and the nearest place on it."""
    lot = [line for _, kind, line in lines if kind == "lot line"]
    if not lot:
        return None, None
    line = shapely.union_all(lot)
    here = shapely.Point(at)
    nearest = shapely.shortest_line(here, line).coords[-1]
    return float(here.distance(line)), (float(nearest[0]), float(nearest[1]))


def why_it_ends(way: WaterWay) -> str:
    """Say why a way is not known to its end."""
    if way.end == "shots end":
        bowl = bool(way.ponds) and way.ponds[-1].at_rim
        return (
            "the bowl that it runs into reaches the end of the shots" if bowl else "the shots end before it"
        )
    return "the shots show no way on"


def next_shot(way: WaterWay, lines: Sequence[Line]) -> XY:
    """Return where a shot would settle the way: straight on at the line ahead, else at the line nearest to the end."""
    end = way.points[-1]
    if len(way.points) > 1 and lines:
        ahead = (end - way.points[-2]) / max(float(np.hypot(*(end - way.points[-2]))), 1e-9)
        ray = shapely.LineString([end, end + 1000.0 * ahead])
        met = shapely.get_coordinates(shapely.intersection(ray, shapely.union_all([one[2] for one in lines])))
        if len(met):
            place = met[int(np.argmin(np.hypot(*(met - end).T)))]
            return (float(place[0]), float(place[1]))
    at = (float(end[0]), float(end[1]))
    return straight_to_line(at, lines)[1] or at


def _apart(outlines: Sequence[Sequence[XY]]) -> list[Sequence[XY]]:
    """Return outlines of which none reaches into another: houses that were measured into each other are one."""
    houses = [shapely.make_valid(shapely.Polygon(outline)) for outline in outlines]
    together = shapely.union_all(houses)
    if sum(house.area for house in houses) <= together.area + OVERLAP_M2:
        return list(outlines)
    parts = shapely.get_parts(together)
    return [
        [(x, y) for x, y in part.exterior.coords[:-1]] for part in parts if isinstance(part, shapely.Polygon)
    ]
