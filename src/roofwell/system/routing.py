"""The trench tree of least cost, with levels: route, slopes, route again with the depths found, until it stays.

What a trench costs depends on its depth, and its depth on where it goes. So the tree is searched with expected
depths, its inverts are solved, the solved depths replace the expected ones, and the tree is searched again, until
one comes out that was tried before, or one within a fiftieth of what was first expected, or four rounds are done.
The cheapest one at its solved depths is kept. Depths are first expected as shallow as cover and least slope allow
on the shortest way of the water that a leg carries, so hardly any tree on the graph can cost less than the first
round expects: the gap to it is about as much as a better route could still save.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from roofwell import units
from roofwell.errors import InputError
from roofwell.physics.ground.surface import Surface
from roofwell.physics.trench import inverts, route
from roofwell.physics.trench.profile import NodeRule, RunLine
from roofwell.physics.trench.route_graph import RouteGraph, build_graph
from roofwell.physics.trench.route_passage import widest_passage
from roofwell.physics.trench.route_tree import Branch, RouteTree, TreeSearch, crossing_places
from roofwell.system.facts import BuildingFact, FeatureFact
from roofwell.system.place import XY
from roofwell.system.route_ground import Grounds, Trench, grounds, outline
from roofwell.system.route_weights import RouteWeights, price

Floats = NDArray[np.float64]

MOST_ROUNDS = 4
STATION_STEP_M = 2.0
AT_THE_WALL_M = 0.3  # a downspout measured this far inside the wall stands at it
STRAIGHT_RAD = 1e-3
NEVER_M = 1e4
CLOSE_SHARE = 0.02  # a tree this near to what was expected is not searched for again


@dataclass(frozen=True, slots=True)
class Task:
    """What one tree is asked for: sources, goal, and all that lies in the ground; hashable, so answers are kept."""

    sources: tuple[XY, ...]
    goal: XY
    goal_invert_m: float | None
    buildings: tuple[BuildingFact, ...]
    features: tuple[FeatureFact, ...]
    pits: tuple[tuple[str, tuple[XY, ...]], ...]
    trench: Trench
    style: units.Style
    weights: RouteWeights
    given_runs: tuple[tuple[str, tuple[XY, ...]], ...] = ()
    joins_at_goal: bool = False  # the goal is a given wye


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch without a joint. ``start`` is the number of a source, or -1 - the number of a wye; ``end`` is
    -1 - the number of a wye, or None for the goal."""

    start: int
    end: int | None
    path: tuple[XY, ...]


@dataclass(frozen=True, slots=True)
class NoWay:
    """A source that no trench reaches, with the widest way that there is, m, and what it lies between."""

    source: int
    width_m: float
    between: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Routed:
    """A tree in pieces, and how it was found. Costs are in m³ of trench; see ``route_prices.csv``."""

    pieces: tuple[Piece, ...]
    wyes: tuple[XY, ...]
    exact: bool
    expected_m3: float
    solved_m3: float
    rounds: int
    no_way: tuple[NoWay, ...]


@lru_cache(maxsize=256)
def routed(task: Task, ground: Surface) -> Routed:
    """Return the tree of least cost for a task; a search asks for the same one again and again.

    A well's pit is kept out of the search until a tree would pass through it.
    """
    straight = _straight(task)
    if straight is not None:
        return straight
    found = _without_pits(replace(task, pits=()), ground)
    pits = [outline(ring) for _, ring in task.pits]
    lines = [shapely.LineString(piece.path) for piece in found.pieces]
    if any(line.intersection(pit).length > 0.01 for pit in pits for line in lines):
        return _routed(task, task.pits, ground)
    return found


@lru_cache(maxsize=256)
def _without_pits(task: Task, ground: Surface) -> Routed:
    """The tree as if no pit were in the way, kept by itself: another pit's size does not change it."""
    return _routed(task, (), ground)


def forget() -> None:
    """Forget every tree that was found."""
    routed.cache_clear()
    _without_pits.cache_clear()
    _searched_on.cache_clear()


def _straight(task: Task) -> Routed | None:
    """The straight line of a single source, where nothing stands in its way and nothing on it costs more."""
    if len(task.sources) > 1:
        return None
    offset = task.trench.wall_offset_m
    ends = (task.sources[0], task.goal)
    here = _grounds(task, ends, task.pits, offset)
    leg = shapely.LineString(ends)
    clear = here.lot is None or here.lot.buffer(0.01).contains(leg)
    clear = clear and not any(zone.shape.intersects(leg) for zone in here.zones)
    for obstacle in here.obstacles if clear else ():
        clear = clear and leg.intersection(obstacle.body).length < 0.01
        clear = clear and leg.intersection(obstacle.keep).length <= 2 * offset
    return Routed((Piece(0, None, ends),), (), True, 0.0, 0.0, 0, ()) if clear else None


def _grounds(
    task: Task, places: tuple[XY, ...], pits: tuple[tuple[str, tuple[XY, ...]], ...], offset_m: float
) -> Grounds:
    return grounds(
        task.buildings, task.features, places, pits, task.trench, task.weights, task.given_runs, offset_m
    )


def _routed(task: Task, pits: tuple[tuple[str, tuple[XY, ...]], ...], ground: Surface) -> Routed:
    trench = task.trench
    sources = tuple(_at_the_wall(place, task.buildings) for place in task.sources)
    left = list(range(len(sources)))
    pieces: list[Piece] = []
    no_way: list[NoWay] = []
    found: _Found | None = None
    here = None
    for offset in (trench.wall_offset_m, trench.width_m / 2):
        here = _grounds(task, (*sources, task.goal), pits, offset)
        found = _search([sources[i] for i in left], task, here, offset, ground)
        if found is not None:
            break
    if found is None and here is not None:
        reached = [i for i in left if _search([sources[i]], task, here, trench.width_m / 2, ground)]
        for i in left:
            if i not in reached:
                way = widest_passage(
                    source=sources[i], goal=task.goal, obstacles=here.obstacles, within=here.lot,
                    most_m=trench.width_m,
                )  # fmt: skip
                no_way.append(NoWay(i, way.width_m, way.between))
                pieces.append(Piece(i, None, (task.sources[i], task.goal)))
        left = reached
        if left:
            found = _search([sources[i] for i in left], task, here, trench.width_m / 2, ground)
    if found is None:
        return Routed(tuple(pieces), (), True, 0.0, 0.0, 0, tuple(no_way))
    wyes = found.tree.wyes
    for branch in found.tree.branches:
        path = [tuple(map(float, xy)) for xy in _straightened(found, branch.corners)]
        first, last = branch.corners[0], branch.corners[-1]
        start = left[first] if first < len(left) else -1 - wyes.index(first)
        if first < len(left):
            path[0] = task.sources[start]
        end = None if last == found.graph.goal else -1 - wyes.index(last)
        pieces.append(Piece(start, end, tuple((x, y) for x, y in path)))
    places = tuple((float(x), float(y)) for x, y in found.graph.nodes[list(wyes)].reshape(-1, 2))
    return Routed(
        pieces=tuple(pieces),
        wyes=places,
        exact=found.tree.exact,
        expected_m3=found.expected,
        solved_m3=found.solved,
        rounds=found.rounds,
        no_way=tuple(no_way),
    )


def _at_the_wall(place: XY, buildings: Sequence[BuildingFact]) -> XY:
    """The place itself, or the nearest place on the wall for one that was measured a little inside of it."""
    point = shapely.Point(place)
    for building in buildings:
        body = outline(building.outline)
        if not body.is_empty and body.contains(point) and body.exterior.distance(point) <= AT_THE_WALL_M:
            on = body.exterior.interpolate(body.exterior.project(point))
            return (float(on.x), float(on.y))
    return place


def _straightened(found: _Found, corners: Sequence[int]) -> Floats:
    """The corners of a branch without those that need no fitting, where the straight leg stays clear as well."""
    path = [found.graph.nodes[c] for c in corners]
    free = found.free_rad
    at = 1
    while at < len(path) - 1:
        turn = abs(float(route.deflections_rad(path[at - 1 : at + 2])[0]))
        leg = shapely.LineString([path[at - 1], path[at + 1]])
        most = found.near_m if at in (1, len(path) - 2) else 0.01
        if turn <= STRAIGHT_RAD or (turn <= free and leg.intersection(found.kept_out).length <= most):
            del path[at]
        else:
            at += 1
    return np.array(path)


@dataclass(frozen=True, slots=True)
class _Found:
    graph: RouteGraph
    tree: RouteTree
    expected: float
    solved: float
    rounds: int
    kept_out: shapely.Geometry
    near_m: float
    free_rad: float


def _search(
    sources: Sequence[XY], task: Task, here: Grounds, offset_m: float, ground: Surface
) -> _Found | None:
    """The tree of least cost in one set of grounds; None where a source has no way.

    Where two of its branches cross, they get the chance to join there.
    """
    round_paving = np.array(here.corners).reshape(-1, 2)
    found = _search_once(sources, task, here, offset_m, ground, round_paving)
    places = crossing_places(found.graph, found.tree) if found is not None else np.empty((0, 2))
    if len(places) == 0:
        return found
    places = np.concatenate([round_paving, places])
    return _search_once(sources, task, here, offset_m, ground, places) or found


def _search_once(
    sources: Sequence[XY], task: Task, here: Grounds, offset_m: float, ground: Surface, places: Floats
) -> _Found | None:
    trench = task.trench
    flat = _Flat(
        sources=tuple(sources),
        goal=task.goal,
        places=tuple((float(x), float(y)) for x, y in places),
        offset_m=offset_m,
        width_m=trench.width_m,
        joins_at_goal=task.joins_at_goal,
        weights=task.weights,
        here=here,
    )
    graph, search, kept_out = _searched_on(flat)
    if search is None:
        return None
    free_rad = search.prices.free_rad
    levels = _Levels(task, graph, search.sets, ground)
    kept: dict[tuple[Branch, ...], _Found] = {}
    first = 0.0
    for number in range(1, MOST_ROUNDS + 1):
        try:
            tree = search.tree(levels.dug_share() * graph.dug_m + graph.extra)
        except InputError:  # a way there is, but not with turns that pipe can make
            return None
        if tree.branches in kept:
            break
        first = first or tree.cost
        solved = tree.cost + levels.solve(tree, ground)
        usual = trench.usual_m3_m
        kept[tree.branches] = _Found(
            graph, tree, first * usual, solved * usual, number, kept_out, 2 * offset_m, free_rad
        )
        if solved <= (1 + CLOSE_SHARE) * first:
            break
    best = min(kept.values(), key=lambda found: (found.solved, found.rounds))
    return replace(best, rounds=number)


@dataclass(frozen=True, slots=True)
class _Flat:
    """All that the graph of a task rests on: the plan, not the levels. ``here``: kept by what it was made of."""

    sources: tuple[XY, ...]
    goal: XY
    places: tuple[XY, ...]
    offset_m: float
    width_m: float
    joins_at_goal: bool
    weights: RouteWeights
    here: Grounds


@lru_cache(maxsize=16)
def _searched_on(flat: _Flat) -> tuple[RouteGraph, TreeSearch | None, shapely.Geometry]:
    """Return the graph of candidate corners and legs, the search on it, and what is kept clear: another elevation of the
    ground, or another cover, changes none of them. No search where no way leads to the goal."""
    prices, here = flat.weights.turns, flat.here
    if flat.joins_at_goal:
        alone = len(flat.sources) <= 2  # the two that a given wye joins meet there and not before
        prices = replace(prices, inlet=0.0, wye=NEVER_M if alone else prices.wye)
    graph = build_graph(
        sources=flat.sources,
        goal=flat.goal,
        obstacles=here.obstacles,
        zones=here.zones,
        within=here.lot,
        places=np.array(flat.places).reshape(-1, 2),
        near_m=2 * flat.offset_m,
        half_m=flat.width_m / 2,
        apart_m=price("corners-apart"),
        angles_rad=prices.elbows_rad,
    )
    kept_out = shapely.union_all([obstacle.keep for obstacle in here.obstacles]).buffer(-0.01)
    return graph, TreeSearch(graph, prices) if graph.reached else None, kept_out


class _Levels:
    """Depth of the trench along every leg: expected at first, solved where a tree has passed."""

    def __init__(
        self, task: Task, graph: RouteGraph, sets: Sequence[frozenset[int]], ground: Surface
    ) -> None:
        self.task, self.trench, self.graph = task, task.trench, graph
        self.row = {carries: i for i, carries in enumerate(sets)}
        self.wall_m = (task.trench.outside_m - task.trench.inside_m) / 2
        first, second = graph.legs[:, 0], graph.legs[:, 1]
        middle = (graph.nodes[first] + graph.nodes[second]) / 2
        level = np.asarray(ground.elevation_m(np.concatenate([graph.nodes, middle])))
        ends, between = level[: len(graph.nodes)], level[len(graph.nodes) :]
        over = (ends[first] + 4 * between + ends[second]) / 6
        pipe = self._expected_m(sets, ends)
        self.depth_m = over - (pipe[:, first] + pipe[:, second]) / 2 + self.wall_m
        self.numbers = {(int(a), int(b)): k for k, (a, b) in enumerate(graph.legs.tolist())}

    def _expected_m(self, sets: Sequence[frozenset[int]], ground_m: Floats) -> Floats:
        """Invert at each corner (sets, nodes), as shallow as cover and the shortest way from each source allow."""
        trench, graph = self.trench, self.graph
        ways = np.minimum(graph.ways_m, 1e3)
        highest = ground_m - trench.cover_lawn_m - self.wall_m - trench.inside_m
        if self.task.goal_invert_m is not None:  # a level given there needs no cover
            highest[graph.goal] = max(highest[graph.goal], self.task.goal_invert_m)
        start = highest[: graph.sources, None] - trench.least_slope * ways[:-1]
        out = np.array([start[list(carries)].min(axis=0) for carries in sets])
        out = np.minimum(highest, out)
        if self.task.goal_invert_m is not None:
            out = np.minimum(out, self.task.goal_invert_m + trench.greatest_slope * ways[-1])
        return np.asarray(out)

    def dug_share(self) -> Floats:
        """Cost of each leg over that of the shallowest trench, by its depth, (sets, legs)."""
        deep = np.maximum(self.depth_m, self.trench.outside_m) / self.trench.shallowest_m
        share = self.task.weights.deep_share
        return np.asarray(1.0 - share + share * deep)

    def solve(self, tree: RouteTree, ground: Surface) -> float:
        """Solve the inverts of a tree and keep the depths found; return what they dig more than expected.

        In lengths of ordinary trench, m.
        """
        trench, graph, share = self.trench, self.graph, self.task.weights.deep_share
        lines = [
            self._line(k, graph.nodes[list(branch.corners)], branch.corners, ground)
            for k, branch in enumerate(tree.branches)
        ]
        rules = [NodeRule(str(graph.goal), "end", fixed_inlet_invert_m=self.task.goal_invert_m)]
        solution = inverts.solve_inverts(
            runs=lines,
            nodes=rules,
            grid_m=float(units.GRID_ELEVATION[self.task.style]),
            to_grid=lambda value: units.on_elevation_grid(value, self.task.style),
        )
        more = 0.0
        for k, branch in enumerate(tree.branches):
            up, down = solution.upstream_invert_m[str(k)], solution.downstream_invert_m[str(k)]
            stations, row = np.asarray(lines[k].stations_m), self.row[branch.carries]
            depth = np.asarray(lines[k].ground_m) - (up + (down - up) * stations / lines[k].length_m)
            depth = depth + self.wall_m
            at = 0.0
            for a, b in pairwise(branch.corners):
                leg = self.numbers[min(a, b), max(a, b)]
                inside = np.linspace(at, at + float(graph.length_m[leg]), 5)
                mean = float(np.trapezoid(np.interp(inside, stations, depth), dx=0.25))
                before = max(float(self.depth_m[row, leg]), trench.outside_m)
                self.depth_m[row, leg] = mean
                deeper = max(mean, trench.outside_m) - before
                more += share * deeper / trench.shallowest_m * float(graph.dug_m[leg])
                at += float(graph.length_m[leg])
        return more

    def _line(self, number: int, path: Floats, corners: Sequence[int], ground: Surface) -> RunLine:
        trench = self.trench
        length = route.path_length_m(path)
        stations, points = route.station_points(path, STATION_STEP_M)
        cover = np.full(len(stations), trench.cover_lawn_m)
        for feature in self.task.features:
            if feature.kind in ("walk", "drive"):
                wanted = trench.cover_walk_m if feature.kind == "walk" else trench.cover_drive_m
                inside = shapely.contains_xy(outline(feature.points), points[:, 0], points[:, 1])
                cover = np.where(inside, np.maximum(cover, wanted), cover)
        if self.task.goal_invert_m is not None and corners[-1] == self.graph.goal:
            cover[-1] = -trench.outside_m  # a given level counts there, not the cover
        return RunLine(
            id=str(number), from_node=str(corners[0]), to_node=str(corners[-1]), length_m=length,
            stations_m=tuple(map(float, stations)), ground_m=tuple(map(float, ground.elevation_m(points))),
            cover_m=tuple(map(float, cover)), outside_diameter_m=trench.outside_m,
            inside_diameter_m=trench.inside_m, wall_m=self.wall_m, least_slope=trench.least_slope,
            greatest_slope=trench.greatest_slope, trench_width_m=trench.width_m,
        )  # fmt: skip
