"""What the trench keeps out of and what it pays for, from the Survey and the table of route prices."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import shapely

from roofwell.physics.trench.route_zones import Obstacle, PricedZone, Way
from roofwell.system.facts import BuildingFact, FeatureFact
from roofwell.system.place import XY
from roofwell.system.route_weights import RouteWeights, price

BESIDE_M = 0.1  # between a walk's edge and the trench that goes round it
APART_M = 1.0  # nearer to the trench's own ends a given run meets it rather than crosses it
CIRCLE_QUARTER = 3  # sides in a quarter of a circle round a tree


@dataclass(frozen=True, slots=True)
class Trench:
    """A trench before its levels are known. Lengths in m; slopes m/m."""

    inside_m: float
    outside_m: float
    width_m: float
    least_slope: float
    greatest_slope: float
    cover_lawn_m: float
    cover_walk_m: float
    cover_drive_m: float
    wall_offset_m: float

    @property
    def shallowest_m(self) -> float:
        """Depth of the pipe's underside where it has its least cover under lawn."""
        return self.cover_lawn_m + self.outside_m

    @property
    def usual_m3_m(self) -> float:
        """Volume of one length of the shallowest trench: the unit in which everything else is counted."""
        return self.width_m * self.shallowest_m


@dataclass(frozen=True, slots=True)
class Grounds:
    """Obstacles and priced zones of one survey, for one offset from walls.

    ``corners`` are where a trench may turn to go round a walk or drive.
    """

    obstacles: tuple[Obstacle, ...]
    zones: tuple[PricedZone, ...]
    lot: shapely.Polygon | None
    corners: tuple[XY, ...] = ()


@lru_cache(maxsize=256)
def outline(points: tuple[XY, ...]) -> shapely.Polygon:
    """Return the polygon of an outline; empty where it is none."""
    polygon = shapely.Polygon(points) if len(points) >= 3 else shapely.Polygon()
    return polygon if polygon.is_valid else shapely.Polygon()


def _line_or_point(feature: FeatureFact) -> shapely.Geometry:
    points = feature.points
    return shapely.Point(points[0]) if len(points) == 1 else shapely.LineString(points)


def _kept_out(feature: FeatureFact) -> shapely.Geometry | None:
    """The ground that no trench enters for a feature's sake; None for a feature that does not matter."""
    beside = {
        "septic tank": "septic-tank-beside",
        "leach field": "leach-field-beside",
        "drinking-water well": "water-well-beside",
    }
    if not feature.points:
        return None
    area = outline(feature.points) if feature.shape == "outline" else shapely.Polygon()
    thing = _line_or_point(feature) if area.is_empty else area
    if feature.kind in beside:
        return thing.buffer(price(beside[feature.kind]), join_style="mitre", quad_segs=CIRCLE_QUARTER)
    if feature.kind == "tree":
        trunk = feature.diameter_m
        radius = price("tree-radius-ratio") * trunk if trunk else price("tree-radius-unknown")
        # sides of the many-sided figure stand outside of the circle
        return thing.buffer(radius / math.cos(math.pi / 4 / CIRCLE_QUARTER), quad_segs=CIRCLE_QUARTER)
    if feature.kind == "neighbor's building":
        return area if not area.is_empty else None
    return None


def _dug_by_hand(feature: FeatureFact) -> shapely.Geometry | None:
    if feature.kind not in ("utility", "existing drain") or not feature.points:
        return None
    thing = _line_or_point(feature)
    return thing.buffer(price("hand-dig-beside"), cap_style="flat", join_style="mitre", quad_segs=1)


def _round(paving: shapely.Polygon, half_m: float) -> list[XY]:
    """Corners of the way round some paving, half a trench and a little more away; curves by few corners."""
    wide = paving.buffer(half_m + BESIDE_M, join_style="mitre", mitre_limit=2.0).simplify(BESIDE_M)
    return [(float(x), float(y)) for x, y in shapely.get_coordinates(wide.convex_hull)[:-1]]


@lru_cache(maxsize=32)
def grounds(
    buildings: tuple[BuildingFact, ...],
    features: tuple[FeatureFact, ...],
    places: tuple[XY, ...],
    pits: tuple[tuple[str, tuple[XY, ...]], ...],
    trench: Trench,
    weights: RouteWeights,
    given_runs: tuple[tuple[str, tuple[XY, ...]], ...],
    wall_offset_m: float,
) -> Grounds:
    """Return obstacles and zones for a trench between some places.

    Where one of the places itself lies in a root zone, or too near to a tank, that zone is dug by hand
    instead of kept out of. A given run of the system costs something to cross, but not where the trench's own ends
    are. The lot bounds the trench where it holds all the places.
    """
    half = trench.width_m / 2
    points = [shapely.Point(place) for place in places]
    obstacles, zones, corners = [], [], list[XY]()
    for building in buildings:
        body = outline(building.outline)
        if not body.is_empty:
            obstacles.append(
                Obstacle(building.id, body, body.buffer(wall_offset_m, join_style="mitre", mitre_limit=2.0))
            )
    for id, ring in pits:
        body = outline(ring)
        if not any(body.buffer(half).contains(point) for point in points):
            obstacles.append(Obstacle(f"pit of {id}", body, body.buffer(half, join_style="mitre")))
    for feature in features:
        shape = _kept_out(feature)
        if shape is not None:
            keep = shape.buffer(half, join_style="mitre", mitre_limit=2.0)
            if any(keep.contains(point) for point in points):
                zones.append(PricedZone(feature.id, shape, weights.by_hand))
            else:
                obstacles.append(Obstacle(feature.id, shape, keep))
        by_hand = _dug_by_hand(feature)
        if by_hand is not None:
            zones.append(PricedZone(feature.id, by_hand, weights.by_hand))
        if feature.kind in ("walk", "drive") and not outline(feature.points).is_empty:
            shape = outline(feature.points)
            zones.append(PricedZone(feature.id, shape, ways=weights.ways(feature.kind)))
            corners += _round(shape, half)
    for id, path in given_runs:
        beside = shapely.LineString(path).buffer(half, cap_style="flat")
        shape = beside.difference(shapely.union_all([point.buffer(APART_M) for point in points]))
        if not shape.is_empty:
            zones.append(PricedZone(id, shape, ways=(Way("crossed", weights.own_run, 0.0, math.inf),)))
    lot = next((outline(f.points) for f in features if f.kind == "lot line" and f.shape == "outline"), None)
    if lot is None or lot.is_empty or not all(lot.buffer(0.01).contains(point) for point in points):
        lot = None
    return Grounds(tuple(obstacles), tuple(zones), lot, tuple(corners))
