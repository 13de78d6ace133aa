"""The graph of candidate corners on which a trench tree is searched, with the price of every straight leg.

Corners: the sources and the goal; the corners of what is kept clear; where a trench leaves a wall straight or
at 45 degrees; where a leg meets a wall's line or another trench at an angle that a fitting makes; and places
passed in. Legs: every straight stretch that stays clear. Source: own construction (derived).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from roofwell.errors import InputError
from roofwell.physics.trench.route_zones import (
    Obstacle,
    PricedZone,
    crossing_cost,
    length_within,
    triangles,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SAME_M = 0.01
MOST_DETOUR = 1.5
SLANT = 2.0  # a leg leaves a wall at 30 degrees or more: this many half trenches long until it is clear of it
_TOUCH_M = 1e-5


@dataclass(frozen=True, slots=True)
class RouteGraph:
    """Nodes (n, 2) in m and undirected legs (m, 2) between them.

    Node i below ``sources`` is source i; node ``sources`` is the goal. ``dug_m`` (m,) is the length that the
    digging of a leg counts as (longer where it is dug by hand), ``extra`` (m,) the cost of what it crosses.
    ``ways_m`` (sources + 1, n) is the least length in plan from each source and from the goal to each node,
    infinite where none leads.
    """

    nodes: Floats
    sources: int
    legs: Ints
    length_m: Floats
    dug_m: Floats
    extra: Floats
    ways_m: Floats

    @property
    def goal(self) -> int:
        """Number of the goal's node."""
        return self.sources

    def way_to_goal_m(self) -> Floats:
        """Return the least length in plan from each node to the goal (n,), m; infinite where none leads."""
        return np.asarray(self.ways_m[-1])

    def on_the_way(self, tail: Ints, head: Ints) -> NDArray[np.bool_]:
        """Whether going from tail to head leads some source to the goal without too long a detour.

        Too long is above ``MOST_DETOUR`` times the source's shortest way.
        """
        ways = self.ways_m
        gap = np.hypot(*(self.nodes[head] - self.nodes[tail]).T)
        whole = ways[:-1, tail] + gap + ways[-1, head]
        return np.asarray((whole <= MOST_DETOUR * ways[-1, : self.sources, None] + SAME_M).any(axis=0))

    @property
    def reached(self) -> bool:
        """Whether every source has a way to the goal."""
        return bool(np.isfinite(self.way_to_goal_m()[: self.sources]).all())


def _points(points: ArrayLike, what: str) -> Floats:
    array = np.asarray(points, dtype=float).reshape(-1, 2) if np.size(points) else np.empty((0, 2))
    if not np.isfinite(array).all():
        raise InputError(f"{what} {array.tolist()}; every point is two finite numbers", code="route-point")
    return array


def _by_part(zone: shapely.Geometry) -> list[Floats]:
    """The triangles of each separate polygon of a zone."""
    return [triangles(part) for part in shapely.get_parts(zone) if not part.is_empty]


def _length_in(start: Floats, end: Floats, parts: Sequence[Floats]) -> Floats:
    """Length of each leg in a zone of separate parts, each part only for the legs near it."""
    out = np.zeros(len(start))
    for part in parts:
        out += length_within(start, end, part)
    return out


class _Ground:
    """What may be entered and what not, as triangles."""

    def __init__(
        self, obstacles: Sequence[Obstacle], within: shapely.Polygon | None, near_m: float, half_m: float
    ) -> None:
        body = shapely.union_all([o.body for o in obstacles]) if obstacles else shapely.Polygon()
        keep = shapely.union_all([o.keep for o in obstacles]) if obstacles else shapely.Polygon()
        if within is not None and not within.equals(within.convex_hull):
            out = within.buffer(1000.0, join_style="bevel").difference(within)
            body, keep = shapely.union_all([body, out]), shapely.union_all([keep, out])
        self.rings = [
            np.asarray(ring.coords)[:-1]
            for part in shapely.get_parts(shapely.orient_polygons(keep))
            if not part.is_empty
            for ring in (part.exterior, *part.interiors)
            if len(ring.coords) > 3
        ]
        self.body_edge = body.boundary
        shrunk = keep.buffer(-_TOUCH_M, join_style="mitre", mitre_limit=2.0)
        self.keep_shape = shrunk
        self.body = _by_part(body.buffer(-_TOUCH_M, join_style="mitre", mitre_limit=2.0))
        tight = body.buffer(half_m - _TOUCH_M, join_style="mitre", mitre_limit=2.0)
        self.tight, self.tight_m = _by_part(tight), SLANT * half_m
        self.keep = _by_part(shrunk)
        self.near_m = near_m
        self.within = within.buffer(_TOUCH_M) if within is not None else None

    def clear(self, start: Floats, end: Floats, slack: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Whether each leg stays clear; ``slack`` legs may spend the near length in what is kept clear."""
        inside = _length_in(start, end, self.keep)
        ok = inside <= np.where(slack, self.near_m + _TOUCH_M, 10 * _TOUCH_M)
        maybe = np.flatnonzero(ok & slack & (inside > 0))
        if maybe.size:
            ok[maybe] = _length_in(start[maybe], end[maybe], self.body) <= 10 * _TOUCH_M
            beside = _length_in(start[maybe], end[maybe], self.tight)
            ok[maybe] &= (beside <= self.tight_m + 10 * _TOUCH_M) | (self.tight_m == 0)
        return np.asarray(ok)

    def outside(self, points: Floats) -> NDArray[np.bool_]:
        """Whether each point stands outside of what is kept clear."""
        inside = shapely.contains_xy(self.keep_shape, points[:, 0], points[:, 1])
        if self.within is not None:  # of a convex lot no leg between two places in it can leave
            inside |= ~shapely.contains_xy(self.within, points[:, 0], points[:, 1])
        return np.asarray(~inside)


def _ring_corners(rings: Sequence[Floats]) -> Floats:
    """Corners around which a trench may turn: those where the obstacle sticks out."""
    out = []
    for ring in rings:
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        out.append(ring[before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] > 0])
    return np.concatenate(out) if out else np.empty((0, 2))


def _ring_sides(rings: Sequence[Floats]) -> Floats:
    """The sides of the rings as (k, 2, 2)."""
    out = [np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in rings]
    return np.concatenate(out) if out else np.empty((0, 2, 2))


def _outs(place: Floats, ground: _Ground, sides: Floats) -> Floats:
    """Where a trench that starts by a wall comes out of what is kept clear: straight, and 45 degrees each way."""
    if ground.outside(place[None])[0] or len(sides) == 0:
        return np.empty((0, 2))
    step = sides[:, 1] - sides[:, 0]
    length = np.maximum(np.hypot(*step.T), 1e-12)
    along = step / length[:, None]
    out = np.stack([along[:, 1], -along[:, 0]], axis=1)  # rings run counterclockwise round what is kept clear
    distance = ((sides[:, 0] - place) * out).sum(axis=1)
    at = ((place - sides[:, 0]) * along).sum(axis=1)
    near = np.flatnonzero((distance > 0) & (distance <= ground.near_m) & (at > -1e-9) & (at < length + 1e-9))
    found: list[Floats] = []
    for k in near[np.argsort(distance[near])][:2]:
        straight = place + distance[k] * out[k]
        found += [straight, straight + distance[k] * along[k], straight - distance[k] * along[k]]
    # from the inner corner of two walls the way out is by the inner corner of what is kept clear
    gap = np.hypot(*(sides[:, 0] - place).T)
    inner = np.flatnonzero(gap <= ground.near_m)
    return np.array([*found, *sides[inner[np.argsort(gap[inner])], 0]]).reshape(-1, 2)


def _at_angles(
    lines: Floats, places: Floats, angles_rad: Sequence[float]
) -> tuple[Floats, Floats, Floats, Ints]:
    """Points on each line (first to second end) that a leg from each place meets at an angle, going onward.

    Returns the points, the place and the line's second end behind each, all (k, 2), and the line's number (k,).
    """
    step = lines[:, 1] - lines[:, 0]
    length = np.maximum(np.hypot(*step.T), 1e-12)
    along = step / length[:, None]
    to = places[None, :, :] - lines[:, None, 0, :]
    foot = (to * along[:, None, :]).sum(axis=2)
    height = np.abs(to[..., 0] * along[:, None, 1] - to[..., 1] * along[:, None, 0])
    shift = np.array([0.0 if a >= math.pi / 2 - 1e-9 else 1.0 / math.tan(a) for a in angles_rad])
    at = foot[..., None] + height[..., None] * shift
    good = (at > SAME_M) & (at < length[:, None, None] - SAME_M) & (height[..., None] > SAME_M)
    line, place, angle = np.nonzero(good)
    points = lines[line, 0] + at[line, place, angle][:, None] * along[line]
    return points, places[place], lines[line, 1], line


def _thinned(first: Floats, more: Floats, apart_m: float) -> Floats:
    """Add places to others, each only if it stands apart from all before it."""
    keep = np.empty((len(first) + len(more), 2))
    keep[: len(first)] = first
    count = len(first)
    for place in more:
        gap = keep[:count] - place
        if not count or (gap[:, 0] ** 2 + gap[:, 1] ** 2).min() > apart_m**2:
            keep[count] = place
            count += 1
    return keep[:count]


def _thinned_with_lines(first: Floats, more: Floats, lines: Ints, apart_m: float) -> tuple[Floats, Ints]:
    """As ``_thinned``; with the number of the line that each place lies on, -1 for those before."""
    nodes = _thinned(first, more, apart_m)
    line = np.full(len(nodes), -1, dtype=np.int64)
    at = 0
    for k in range(len(first), len(nodes)):
        while not (more[at] == nodes[k]).all():
            at += 1
        line[k] = lines[at]
    return nodes, line


def _angle_points(
    ground: _Ground, sides: Floats, sources: Floats, outs: Floats, corners: Floats, goal: Floats,
    angles_rad: Sequence[float],
) -> tuple[Floats, Ints]:  # fmt: skip
    """Places where a branch meets a wall's line or a straight trunk at 45 degrees, or a line is left by a fitting.

    With the number of the line that each lies on; both directions of a wall's side are one line.
    """
    both = np.concatenate([sides, sides[:, ::-1]])
    many = len(sources) > 6
    branches = sources if many else np.concatenate([sources, outs[::3]])
    found = [_at_angles(both, branches, [math.pi / 4])]
    leaving = _at_angles(both, goal[None], angles_rad)
    found.append(leaving)
    heads = np.concatenate([sources, outs[::3], corners])
    trunks = np.stack([heads, np.broadcast_to(goal, heads.shape)], axis=1)
    if len(trunks):
        slack = np.arange(len(heads)) < len(sources)
        trunks = trunks[ground.clear(trunks[:, 0], trunks[:, 1], slack)]
        found.append(_at_angles(trunks, branches, [math.pi / 4]))
    points = np.concatenate([f[0] for f in found])
    line = np.concatenate(
        [f[3] % max(1, len(sides)) for f in found[:2]] + [len(sides) + f[3] for f in found[2:]]
    )
    if len(points) == 0:
        return points, line
    seen_from = np.concatenate([f[1] for f in found])
    onward = np.concatenate([f[2] for f in found])
    slack = (seen_from[:, None] == sources[None]).all(axis=2).any(axis=1)
    slack |= (seen_from == goal).all(axis=1)
    good = ground.outside(points)
    good[good] = ground.clear(points[good], seen_from[good], slack[good])
    ends = (onward == goal).all(axis=1)
    good[good] = ground.clear(points[good], onward[good], ends[good])
    return points[good], line[good]


def build_graph(
    *,
    sources: ArrayLike,
    goal: ArrayLike,
    obstacles: Sequence[Obstacle] = (),
    zones: Sequence[PricedZone] = (),
    within: shapely.Polygon | None = None,
    places: ArrayLike = (),
    near_m: float,
    half_m: float = 0.0,
    apart_m: float = 0.15,
    angles_rad: Sequence[float] = (math.pi / 8, math.pi / 4, math.pi / 2),
) -> RouteGraph:
    """Return the graph of candidate corners and clear straight legs.

    Parameters
    ----------
    sources, goal
        Where the water enters the ground, (k, 2), k at least 1, and where it goes, (2,), m.
    obstacles, zones
        What is not entered, and what costs more.
    within
        The lot: no leg leaves it.
    places
        More places where a trench may turn or be joined, (j, 2), m.
    near_m
        Length that the leg at a source or at the goal may lie in what is kept clear, m; at least 0.
    half_m
        Half the trench's width, m, at least 0: such a leg soon comes this far from every wall, so that it leaves
        at a good angle and slips through no gap.
    apart_m
        Two candidate corners never stand nearer than this, m, those of obstacles excepted.
    angles_rad
        Turns that one fitting makes.

    Raises
    ------
    InputError
        ``route-point``; ``route-zone``; ``route-near`` if ``near_m`` or ``half_m`` is below 0; ``route-sources`` without
        a source.
    """
    if not (math.isfinite(near_m) and near_m >= 0 and math.isfinite(half_m) and half_m >= 0):
        raise InputError(
            f"near length {near_m} m, half a trench {half_m} m; both must be at least 0", code="route-near"
        )
    starts, end, given = _points(sources, "sources"), _points(goal, "goal"), _points(places, "places")
    if len(starts) == 0 or len(end) != 1:
        raise InputError("a tree has at least one source and one goal", code="route-sources")
    ground = _Ground(obstacles, within, near_m, half_m)
    sides = _ring_sides(ground.rings)
    corners = _ring_corners(ground.rings)
    corners = corners[ground.outside(corners)]
    outs = [_outs(place, ground, sides) for place in (*starts, end[0])]
    own = np.concatenate(outs)
    own = own[ground.outside(own)]
    straight = np.concatenate([*(o[:1] for o in outs[:-1]), np.empty((0, 2))])
    straight = np.repeat(straight[ground.outside(straight)], 3, axis=0)
    angled, line = _angle_points(ground, sides, starts, straight, corners, end[0], sorted(angles_rad))
    nodes = np.concatenate([starts, end])
    nodes = _thinned(nodes, np.concatenate([corners, given[ground.outside(given)]]), SAME_M)
    nodes = _thinned(nodes, own, apart_m)
    nodes, line = _thinned_with_lines(nodes, angled, line, apart_m)
    return _with_legs(nodes, line, len(starts), ground, zones)


def _with_legs(
    nodes: Floats, line: Ints, sources: int, ground: _Ground, zones: Sequence[PricedZone]
) -> RouteGraph:
    """Join the corners; two places made for an angle are joined only along the line that they lie on."""
    first, second = np.triu_indices(len(nodes), 1)
    length = np.hypot(*(nodes[second] - nodes[first]).T)
    other = (line[first] >= 0) & (line[second] >= 0) & (line[first] != line[second])
    good = (length > SAME_M) & ~(second < sources) & ~other
    first, second, length = first[good], second[good], length[good]
    slack = first <= sources
    good = ground.clear(nodes[first], nodes[second], slack)
    first, second, length = first[good], second[good], length[good]
    good = _not_passing(nodes, first, second, length, sources)
    first, second, length = first[good], second[good], length[good]
    a, b = nodes[first], nodes[second]
    dug, extra = length.copy(), np.zeros(len(length))
    for zone in zones:
        inside = length_within(a, b, triangles(zone.shape))
        dug += (zone.factor - 1.0) * inside
        if zone.ways:
            # a leg that begins or ends in the zone has no room for the other ways: it takes the last one
            within = shapely.contains_xy(zone.shape.buffer(-SAME_M), nodes[:, 0], nodes[:, 1])
            ends = within[first] | within[second]
            cost = np.where(ends, crossing_cost(inside, zone.ways[-1:]), crossing_cost(inside, zone.ways))
            extra += cost
    legs = np.stack([first, second], axis=1)
    matrix = csr_matrix((length, (first, second)), shape=(len(nodes), len(nodes)))
    ways = np.asarray(dijkstra(matrix, directed=False, indices=np.arange(sources + 1)))
    return RouteGraph(nodes, sources, legs, length, dug, extra, ways)


def _not_passing(nodes: Floats, first: Ints, second: Ints, length: Floats, sources: int) -> NDArray[np.bool_]:
    """Whether a leg passes no other corner; one that does is the sum of its two parts, which stand too."""
    if len(first) == 0:
        return np.empty(0, dtype=bool)
    have = np.zeros((len(nodes), len(nodes)), dtype=bool)
    have[first, second] = have[second, first] = True
    good = np.ones(len(first), dtype=bool)
    block = max(1, 2_000_000 // len(nodes))
    for low in range(0, len(first), block):
        f, s, size = first[low : low + block], second[low : low + block], length[low : low + block]
        step = (nodes[s] - nodes[f]) / size[:, None]
        to = nodes[None, :, :] - nodes[f][:, None, :]
        along = (to * step[:, None, :]).sum(axis=2)
        aside = np.abs(to[..., 0] * step[:, None, 1] - to[..., 1] * step[:, None, 0])
        on = (aside < 1e-4) & (along > 1e-4) & (along < size[:, None] - 1e-4)
        on[:, :sources] = False
        on[:, sources] = False
        both = have[f] & have[s]
        good[low : low + block] = ~(on & both).any(axis=1)
    return good
