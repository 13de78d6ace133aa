"""The trench tree of least cost on a graph of candidate corners: from several sources into one goal.

Dynamic programme over sets of sources (the method of Dreyfus and Wagner for Steiner trees), carried out on
directed legs instead of corners, so that every turn and every branch into a wye is priced by the fittings that
make it. For a set S and a leg e leading away from corner v, the least cost of bringing S into e is the least of:
coming straight on by a leg into v and turning; or joining two parts of S at v by a wye, one part going through,
the other entering at the wye's angle. Up to ``EXACT_SOURCES`` all sets are taken, and no tree on the graph costs
less; above, only sets of sources that are neighbors in the order around their middle, which is a heuristic.

Source: own formulation (derived) of a published method (Dreyfus and Wagner 1971; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics.trench.route_graph import RouteGraph
from roofwell.physics.trench.route_turns import TurnPrices, branch_cost, turn_cost

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

EXACT_SOURCES = 6
STEEPEST_TURN_RAD = math.radians(135)
_CLOSE = 1e-9
_SAME_M = 0.01


@dataclass(frozen=True, slots=True)
class Branch:
    """A stretch of trench without a joint: corners by number, from a source or wye to a wye or the goal.

    ``carries`` are the sources whose water flows in it.
    """

    corners: tuple[int, ...]
    carries: frozenset[int]


@dataclass(frozen=True, slots=True)
class RouteTree:
    """The tree: its branches with the water, what it costs, and whether no tree on the graph costs less."""

    branches: tuple[Branch, ...]
    cost: float
    exact: bool

    @property
    def wyes(self) -> tuple[int, ...]:
        """Corners where branches meet before the goal, by number."""
        inner = dict.fromkeys(b.corners[0] for b in self.branches)
        ends = {b.corners[-1] for b in self.branches}
        return tuple(corner for corner in inner if corner in ends)


@dataclass(slots=True)
class _Legs:
    """Directed legs, and every way from one into the next."""

    tail: Ints
    head: Ints
    number: Ints  # of the undirected leg
    leg_in: Ints
    straight: Floats
    branch: Floats  # the wye included
    first: Ints  # where in the pairs each leg of ``onto`` begins
    onto: Ints


def _directed(graph: RouteGraph, prices: TurnPrices) -> _Legs:
    a, b = graph.legs[:, 0], graph.legs[:, 1]
    tail, head = np.concatenate([a, b]), np.concatenate([b, a])
    number = np.tile(np.arange(len(a)), 2)
    # no pipe runs into a source, none out of the goal
    good = (head >= graph.sources) & (tail != graph.goal) & graph.on_the_way(tail, head)
    tail, head, number = tail[good], head[good], number[good]
    step = graph.nodes[head] - graph.nodes[tail]
    heading = np.arctan2(step[:, 1], step[:, 0])
    by_head = np.argsort(head, kind="stable")
    starts = np.searchsorted(head[by_head], np.arange(len(graph.nodes) + 1))
    count = (starts[1:] - starts[:-1])[tail]
    leg_out = np.repeat(np.arange(len(tail)), count)
    within = np.arange(len(leg_out)) - np.repeat(np.cumsum(count) - count, count)
    leg_in = by_head[np.repeat(starts[tail], count) + within]
    turn = np.abs((heading[leg_out] - heading[leg_in] + math.pi) % (2 * math.pi) - math.pi)
    good = turn <= STEEPEST_TURN_RAD
    leg_in, leg_out, turn = leg_in[good], leg_out[good], turn[good]
    onto, first = np.unique(leg_out, return_index=True)
    return _Legs(
        tail,
        head,
        number,
        leg_in,
        turn_cost(turn, prices),
        prices.wye + branch_cost(turn, prices),
        first,
        onto,
    )


def _onward(legs: _Legs, arriving: Floats, priced: Floats) -> Floats:
    """Least cost of coming into each leg from the legs before it; ``arriving`` is (k, legs)."""
    out = np.full(arriving.shape, np.inf)
    if len(legs.onto):
        reached = np.take(arriving, legs.leg_in, axis=1) + priced
        out[:, legs.onto] = np.minimum.reduceat(reached, legs.first, axis=1)
    return out


def _all_sets(count: int) -> list[int]:
    return sorted(range(1, 1 << count), key=int.bit_count)


def _neighbor_sets(graph: RouteGraph) -> list[int]:
    """Sets of sources that follow each other in the order around their middle."""
    places = graph.nodes[: graph.sources]
    to = places - places.mean(axis=0)
    order = [int(i) for i in np.argsort(np.arctan2(to[:, 1], to[:, 0]), kind="stable")]
    sets = {
        sum(1 << order[(first + k) % len(order)] for k in range(size))
        for size in range(1, len(order) + 1)
        for first in range(len(order))
    }
    return sorted(sets, key=lambda s: (s.bit_count(), s))


def _splits(whole: int, known: dict[int, int]) -> list[tuple[int, int]]:
    """Ordered pairs of known sets that make up a set."""
    return [
        (part, whole ^ part)
        for part in known
        if part != whole and part & whole == part and (whole ^ part) in known
    ]


class _Programme:
    """The tables of the dynamic programme, filled by size of set."""

    def __init__(self, graph: RouteGraph, legs: _Legs, cost: Floats, sets: Sequence[int]) -> None:
        self.graph, self.legs, self.cost = graph, legs, cost  # (sets, legs)
        self.row = {s: i for i, s in enumerate(sets)}
        shape = (len(sets), len(legs.tail))
        self.arrive = np.full(shape, np.inf)  # through the leg
        self.leave = np.full(shape, np.inf)  # at the leg's tail, about to enter it
        self.side = np.full(shape, np.inf)  # at the leg's tail, entering it by a wye's branch
        for size in range(1, graph.sources + 1):
            self._fill([s for s in sets if s.bit_count() == size])

    def _fill(self, sets: Sequence[int]) -> None:
        legs, rows = self.legs, np.array([self.row[s] for s in sets])
        leave = np.full((len(sets), len(legs.tail)), np.inf)
        for i, whole in enumerate(sets):
            if whole.bit_count() == 1:
                leave[i, legs.tail == whole.bit_length() - 1] = 0.0
            for through, branch in _splits(whole, self.row):
                joined = self.leave[self.row[through]] + self.side[self.row[branch]]
                np.minimum(leave[i], joined, out=leave[i])
        cost = self.cost[rows]
        arrive = leave + cost
        while True:
            better = np.minimum(leave, _onward(legs, arrive, legs.straight))
            if not (better < leave - _CLOSE).any():
                break
            leave = better
            arrive = leave + cost
        self.leave[rows], self.arrive[rows] = leave, arrive
        self.side[rows] = _onward(legs, arrive, legs.branch)


class TreeSearch:
    """Looks for the trench tree of least cost on one graph, for one leg cost after another.

    Raises
    ------
    InputError
        ``route-price`` and ``elbow-angle`` of the prices.
    """

    def __init__(self, graph: RouteGraph, prices: TurnPrices) -> None:
        self.graph, self.prices = graph, prices
        self.exact = graph.sources <= EXACT_SOURCES
        self._legs = _directed(graph, prices)
        self._sets = _all_sets(graph.sources) if self.exact else _neighbor_sets(graph)

    @property
    def sets(self) -> tuple[frozenset[int], ...]:
        """The sets of sources that may share a pipe, in the order of the rows of a leg cost."""
        return tuple(_members(s) for s in self._sets)

    def tree(self, leg_cost: Floats) -> RouteTree:
        """Return the trench tree of least cost from every source to the goal.

        Parameters
        ----------
        leg_cost
            Cost of digging each leg of ``graph.legs`` and of what it crosses, above 0, in one unit with the
            prices of turns: (m,), or (k, m) where it depends on whose water flows in it, for the k ``sets``.

        Returns
        -------
        RouteTree
            ``exact`` up to six sources: no tree on this graph costs less, where a tree joins only at corners
            of the graph, two pipes at a time, no turn is sharper than 135 degrees, and no leg leads every
            source on more than 1.5 times its shortest way. Above six, the best tree that joins only neighbors
            in the order around the sources' middle.

        Raises
        ------
        InputError
            ``route-cost`` if a cost is not above 0; ``route-no-way`` if a source has no way to the goal.
        """
        shape = (len(self._sets), len(self.graph.legs))
        if leg_cost.shape not in (shape, shape[1:]) or not (np.isfinite(leg_cost) & (leg_cost > 0)).all():
            raise InputError("every leg has one cost, finite and above 0", code="route-cost")
        costs = np.broadcast_to(leg_cost, shape)[:, self._legs.number]
        programme = _Programme(self.graph, self._legs, costs, self._sets)
        alone = self._alone(programme)
        best: dict[int, tuple[float, tuple[int, ...]]] = {}
        for s in self._sets:
            if s in alone:
                best[s] = (alone[s][0], (s,))
            for part, rest in _splits(s, programme.row):
                if part in best and rest in best:
                    both = best[part][0] + best[rest][0]
                    if s not in best or both < best[s][0] - _CLOSE:
                        best[s] = (both, (*best[part][1], *best[rest][1]))
        whole = (1 << self.graph.sources) - 1
        if whole not in best:
            raise InputError("a source has no way to the goal on this graph", code="route-no-way")
        cost, parts = best[whole]
        branches: list[Branch] = []
        for part in parts:
            _trace(programme, part, alone[part][1], branches)
        return RouteTree(tuple(branches), cost, self.exact)

    def _alone(self, programme: _Programme) -> dict[int, tuple[float, int]]:
        """For each set of sources, cost and last leg of one pipe that brings them all into the goal."""
        into = np.flatnonzero(self._legs.head == self.graph.goal)
        out = {}
        for s in self._sets:
            costs = programme.arrive[programme.row[s], into]
            if costs.size and np.isfinite(costs.min()):
                out[s] = (float(costs.min()) + self.prices.inlet, int(into[int(costs.argmin())]))
        return out


def _members(whole: int) -> frozenset[int]:
    return frozenset(i for i in range(whole.bit_length()) if whole >> i & 1)


def _trace(p: _Programme, whole: int, last: int, out: list[Branch]) -> None:
    """Walk back from a leg that a set of sources arrives by, and write down the branches, upstream first."""
    todo: list[tuple[int, int, list[int]]] = [(whole, last, [int(p.legs.head[last])])]
    found: list[Branch] = []
    while todo:
        s, leg, path = todo.pop()
        path.append(int(p.legs.tail[leg]))
        before = _before(p, s, leg, p.leave[p.row[s], leg])
        if isinstance(before, int) and before < 0:
            found.append(Branch(tuple(reversed(path)), _members(s)))
        elif isinstance(before, int):
            todo.append((s, before, path))
        else:
            found.append(Branch(tuple(reversed(path)), _members(s)))
            corner = int(p.legs.tail[leg])
            todo += [(part, into, [corner]) for part, into in before]
    out.extend(reversed(found))


def _source_at(p: _Programme, s: int, leg: int) -> bool:
    return s.bit_count() == 1 and int(p.legs.tail[leg]) == s.bit_length() - 1


def _before(p: _Programme, s: int, leg: int, cost: float) -> int | list[tuple[int, int]]:
    """What comes before a leg: -1 for the source itself, the leg before, or the sets and legs that join."""
    if _source_at(p, s, leg):
        return -1
    straight = _leg_before(p, s, leg, p.legs.straight)
    if straight is not None and straight[0] <= cost + 10 * _CLOSE:
        return straight[1]
    return _joined(p, s, leg)


def _leg_before(p: _Programme, s: int, leg: int, priced: Floats) -> tuple[float, int] | None:
    k = int(np.searchsorted(p.legs.onto, leg))
    if k >= len(p.legs.onto) or p.legs.onto[k] != leg:
        return None
    low = int(p.legs.first[k])
    high = int(p.legs.first[k + 1]) if k + 1 < len(p.legs.first) else len(p.legs.leg_in)
    costs = p.arrive[p.row[s], p.legs.leg_in[low:high]] + priced[low:high]
    at = int(costs.argmin())
    return float(costs[at]), int(p.legs.leg_in[low + at])


def _joined(p: _Programme, s: int, leg: int) -> list[tuple[int, int]]:
    """The sets that join at a leg's tail, each with the leg that it arrives by; several wyes may stand there."""
    splits = _splits(s, p.row)
    costs = [p.leave[p.row[a], leg] + p.side[p.row[b], leg] for a, b in splits]
    through, branch = splits[int(np.argmin(costs))]
    side = _leg_before(p, branch, leg, p.legs.branch)
    if side is None:
        raise InputError("the tree cannot be traced back", code="route-no-way")
    here = _before(p, through, leg, p.leave[p.row[through], leg])
    if isinstance(here, int):
        here = [(through, here)] if here >= 0 else []
    return [*here, (branch, side[1])]


def crossing_places(graph: RouteGraph, tree: RouteTree) -> Floats:
    """Return the places (k, 2) where two branches cross without a joint, m; as further corners they may join there."""
    lines = [shapely.LineString(graph.nodes[list(branch.corners)]) for branch in tree.branches]
    found = [
        shapely.get_coordinates(one.intersection(other))
        for one, other in combinations(lines, 2)
        if one.crosses(other)
    ]
    places = np.concatenate([*found, np.empty((0, 2))])
    ends = graph.nodes[[corner for b in tree.branches for corner in (b.corners[0], b.corners[-1])]]
    apart = (np.abs(places[:, None] - ends[None]).max(axis=2) > _SAME_M).all(axis=1)
    return np.asarray(places[apart])
