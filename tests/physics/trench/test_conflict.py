"""Conflicts of levels: hand figures, and every set proved again by another programme that tries all ways."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from roofwell.physics.trench.conflict import Conflict, Constraint, find_conflicts
from roofwell.physics.trench.inverts import Crossing, NodeRule, OwnCrossing, RunLine, solve_inverts

FT = 0.3048
INSIDE, WALL = 0.100, 0.005
Term = tuple[dict[int, float], float]


def line(
    id: str,
    a: str,
    b: str,
    length: float,
    stations: tuple[float, ...],
    ground: tuple[float, ...],
    cover: tuple[float, ...],
    names: tuple[str, ...],
    **more: Any,
) -> RunLine:
    """A run of 1 % to 20 % with what wants its cover, station by station."""
    values: dict[str, Any] = {"least_slope": 0.01, "greatest_slope": 0.20} | more
    return RunLine(
        id, a, b, length, stations, ground, cover, INSIDE + 2 * WALL, INSIDE, WALL, trench_width_m=0.3,
        cover_names=names, **values,
    )  # fmt: skip


def kinds(conflict: Conflict) -> set[str]:
    return {constraint.kind for constraint in conflict.constraints}


def test_a_walk_and_a_drain_leave_what_is_measured_between_them():
    """By hand: pipe at most 0.11 ft over the drain's clearance, 42 ft on at 1 % want 0.42 ft; under it is no way.

    The walk's cover holds the invert at 4 ft at 100 - 1 - 0.105 m; the drain's top with clearance and wall at
    46 ft is 0.11 ft lower. The well takes no pipe so low that it could pass under.
    """
    held = 100 * FT - 0.30 - INSIDE - WALL
    drain = Crossing(46 * FT, held - 0.11 * FT - 0.15 - WALL, held - 0.30, 0.15, "drain E1")
    run = line(
        "P1", "D1", "W1", 60 * FT, (0.0, 4 * FT, 50 * FT, 60 * FT), (100 * FT,) * 4, (0.1, 0.30, 0.1, 0.1),
        ("lawn", "walk", "lawn", "lawn"), crossings=(drain,),
    )  # fmt: skip
    nodes = [NodeRule("W1", "end", fixed_invert_m=held - 0.62 * FT)]
    assert not solve_inverts(runs=[run], nodes=nodes, grid_m=0.001).feasible
    (found,) = find_conflicts(runs=[run], nodes=nodes, grid_m=0.001)
    assert found.available_m / FT == pytest.approx(0.11, abs=1e-6)
    assert found.wanted_m / FT == pytest.approx(0.42, abs=1e-6)
    assert found.length_m / FT == pytest.approx(42.0, abs=1e-6)
    assert found.missing_m / FT == pytest.approx(0.31, abs=1e-6)
    assert found.side == {("P1", "drain E1"): "over"}
    where = dict(zip(found.constraints, found.stations_m, strict=True))
    assert where[Constraint("cover", "P1", "walk")] == pytest.approx(4 * FT)
    assert where[Constraint("crossing", "P1", "drain E1")] == pytest.approx(46 * FT)
    assert Constraint("cover", "P1", "lawn") not in where


def test_a_basin_counts_its_drop_among_what_is_wanted():
    """By hand: 10 m and 10 m at 1 % and 0.05 m of drop want 0.25 m; the fixed end leaves 0.22 m."""
    flat = ((0.0, 10.0), (10.0, 10.0), (0.3, -5.0), ("lawn", "none"))
    runs = [
        line("P1", "D1", "B1", 10, *flat),
        line("P2", "B1", "E", 10, *flat[:2], (-5.0, -5.0), ("none",) * 2),
    ]
    end = 10 - 0.30 - INSIDE - WALL - 0.22
    nodes = [NodeRule("B1", "basin", drop_m=0.05), NodeRule("E", "end", fixed_invert_m=end)]
    (found,) = find_conflicts(runs=runs, nodes=nodes, grid_m=0.001)
    assert (found.available_m, found.wanted_m, found.length_m) == pytest.approx((0.22, 0.25, 20.0), abs=1e-6)
    assert kinds(found) == {"cover", "least-slope", "node-drop", "node-invert"}


def test_a_crossing_without_room_misses_a_height_and_no_fall():
    """By hand: the lawn holds the invert at 9.595; over the pipe at 9.50 with 0.15 and the wall wants 9.655."""
    pipe = Crossing(5.0, 9.50, 9.40, 0.15, "water U1")
    run = line(
        "P1", "D1", "E", 10, (0.0, 5.0, 10.0), (10.0,) * 3, (0.3,) * 3, ("lawn",) * 3, crossings=(pipe,),
        greatest_depth_m=0.70,
    )  # fmt: skip
    found = find_conflicts(runs=[run], nodes=[], grid_m=0.001)
    over = 9.50 + 0.15 + WALL - (10 - 0.30 - INSIDE - WALL)
    assert len(found) == 1
    assert found[0].missing_m == pytest.approx(over, abs=1e-6)
    assert (found[0].length_m, found[0].wanted_m) == (0.0, 0.0)
    assert Constraint("depth", "P1", "") in found[0].constraints


def test_ground_too_steep_says_how_much_there_is_and_how_much_may_be():
    """By hand: 20 % over 10 m allows 2.0 m; given inverts fall 2.5 m."""
    run = line(
        "P1", "D1", "E", 10, (0.0, 10.0), (10.0, 8.0), (-9.0, -9.0), ("lawn",) * 2,
        fixed_upstream_invert_m=9.5, fixed_downstream_invert_m=7.0,
    )  # fmt: skip
    (found,) = find_conflicts(runs=[run], nodes=[], grid_m=0.001)
    assert (found.available_m, found.wanted_m, found.length_m) == pytest.approx((2.5, 2.0, 10.0))
    assert kinds(found) == {"greatest-slope", "given-upstream-invert", "given-downstream-invert"}


def test_two_troubles_of_one_house_are_both_told():
    """Two lines that have nothing to do with each other, each without fall."""
    flat = ((0.0, 10.0), (10.0, 10.0), (0.3, -5.0), ("lawn", "none"))
    runs = [line("P1", "D1", "E", 10, *flat), line("P2", "D2", "F", 10, *flat)]
    nodes = [NodeRule(n, "end", fixed_invert_m=9.59 - i / 100) for i, n in enumerate("EF")]
    found = find_conflicts(runs=runs, nodes=nodes, grid_m=0.001)
    assert [{c.run_id for c in one.constraints} - {""} for one in found] == [{"P1"}, {"P2"}]


def test_nothing_is_told_where_all_fits():
    flat = ((0.0, 10.0), (10.0, 10.0), (0.3, 0.3), ("lawn", "lawn"))
    assert find_conflicts(runs=[line("P1", "D1", "E", 10, *flat)], nodes=[], grid_m=0.001) == ()
    assert find_conflicts(runs=[], nodes=[], grid_m=0.001) == ()


# ---- another programme, written from the words of the constraints, that tries every way ----


class Every:
    """All constraints of a network as groups of alternatives; each alternative a list of rows >= bound."""

    def __init__(self, runs: list[RunLine], nodes: list[NodeRule], meetings: list[OwnCrossing]) -> None:
        self.n = 2 * len(runs)
        self.named: dict[Constraint, list[list[Term]]] = {}
        self.always: list[list[list[Term]]] = []
        number = {r.id: i for i, r in enumerate(runs)}
        rules = {node.id: node for node in nodes}

        def at(i: int, x: float) -> dict[int, float]:
            share = x / runs[i].length_m
            return {2 * i: 1 - share, 2 * i + 1: share}

        def less(terms: dict[int, float]) -> dict[int, float]:
            return {v: -a for v, a in terms.items()}

        def same(terms: dict[int, float], value: float) -> list[Term]:
            return [(terms, value), (less(terms), -value)]

        for i, r in enumerate(runs):
            fall = {2 * i: 1.0, 2 * i + 1: -1.0}
            self._add("least-slope", r.id, "", [(fall, r.least_slope * r.length_m)])
            self._add("greatest-slope", r.id, "", [(less(fall), -r.greatest_slope * r.length_m)])
            for x, g, c, name in zip(r.stations_m, r.ground_m, r.cover_m, r.cover_names, strict=True):  # type: ignore[arg-type]
                self._also("cover", r.id, name, [(less(at(i, x)), -(g - c - INSIDE - WALL))])
            for c in r.crossings:
                over = [(at(i, c.station_m), c.top_m + c.clearance_m + WALL)]
                under = [(less(at(i, c.station_m)), -(c.bottom_m - c.clearance_m - INSIDE - WALL))]
                self.named[Constraint("crossing", r.id, c.label)] = [over, under]
        for m in meetings:
            i, j = number[m.first], number[m.second]
            room = m.clearance_m + INSIDE + 2 * WALL
            one, two = at(i, m.first_station_m), at(j, m.second_station_m)
            ways: list[list[Term]] = [[(one | less(two), room)], [(two | less(one), room)]]
            self.named[Constraint("own-crossing", m.first, m.second)] = ways
        for name in {r.to_node for r in runs}:
            into = [i for i, r in enumerate(runs) if r.to_node == name]
            out = [i for i, r in enumerate(runs) if r.from_node == name]
            rule = rules.get(name, NodeRule(name, "wye" if out else "end"))
            if rule.fixed_invert_m is not None and not out:
                rows = [row for i in into for row in same({2 * i + 1: 1.0}, rule.fixed_invert_m)]
                self._add("node-invert", "", name, rows)
            if rule.greatest_invert_m is not None and not out:
                for i in into:
                    row = ({2 * i + 1: -1.0}, -rule.greatest_invert_m)
                    self._add("node-greatest-invert", runs[i].id, name, [row])
            if out:
                self._joint(name, rule, into, out[0])

    def _joint(self, name: str, rule: NodeRule, into: list[int], out: int) -> None:
        def ways(drop: float) -> list[list[Term]]:
            step = [({2 * i + 1: 1.0, 2 * out: -1.0}, drop) for i in into]
            down = [({2 * i + 1: -1.0, 2 * out: 1.0}, -drop) for i in into]
            return [[*step, *down]] if rule.kind == "wye" else [[*step, one] for one in down]

        if rule.drop_m > 0:
            self.named[Constraint("node-drop", "", name)] = ways(rule.drop_m)
            self.flat = {**getattr(self, "flat", {}), Constraint("node-drop", "", name): ways(0.0)}
        else:
            self.always.append(ways(rule.drop_m))

    def _add(self, kind: str, run: str, name: str, rows: list[Term]) -> None:
        self.named[Constraint(kind, run, name)] = [rows]

    def _also(self, kind: str, run: str, name: str, rows: list[Term]) -> None:
        self.named.setdefault(Constraint(kind, run, name), [[]])[0].extend(rows)

    def fits(self, on: set[Constraint], slack: float = 0.0) -> bool:
        """Whether some way meets all of a set, each row by ``slack`` more (or less, if negative)."""
        groups = [*self.always, *(self.named[c] for c in on)]
        groups += [ways for c, ways in getattr(self, "flat", {}).items() if c not in on]
        for way in itertools.product(*groups):
            rows = [row for part in way for row in part]
            matrix = np.zeros((len(rows), self.n))
            for k, (terms, _) in enumerate(rows):
                for v, a in terms.items():
                    matrix[k, v] += a
            bound = np.array([b for _, b in rows]) + slack
            result = linprog(np.zeros(self.n), A_ub=-matrix, b_ub=-bound, bounds=(None, None), method="highs")
            if result.status == 0:
                return True
        return False


@st.composite
def networks(draw: st.DrawFn) -> tuple[list[RunLine], list[NodeRule], list[OwnCrossing]]:
    """Trees of up to four runs on uneven ground whose end is fixed, often too high; lines and runs in the way."""
    count = draw(st.integers(1, 4))
    third = st.integers(900, 1100).map(lambda h: h / 100)
    runs, nodes, meetings = [], [], []
    for i in range(count):
        onward = draw(st.integers(0, i - 1)) if i else None
        target = "E" if onward is None else f"N{onward}"
        length = draw(st.integers(2, 20)) * 1.0
        ground = tuple(draw(st.lists(third, min_size=3, max_size=3)))
        names = tuple(draw(st.lists(st.sampled_from(["lawn", "walk"]), min_size=3, max_size=3)))
        cover = tuple(0.30 if name == "lawn" else 0.45 for name in names)
        crossings = ()
        if draw(st.booleans()):
            top = draw(third) - 0.4
            crossings = (Crossing(length * draw(st.integers(0, 4)) / 4, top, top - 0.1, 0.1, "gas"),)
        stations = (0.0, length / 2, length)
        runs.append(
            line(f"P{i}", f"N{i}", target, length, stations, ground, cover, names, crossings=crossings)
        )
    for name in {r.to_node for r in runs} - {"E"}:
        drop = draw(st.sampled_from([0.0, 0.05, -0.05]))
        nodes.append(NodeRule(name, draw(st.sampled_from(["wye", "basin"])), drop_m=drop))
    nodes.append(NodeRule("E", "end", fixed_invert_m=draw(st.integers(850, 1100)) / 100))
    if count > 1 and draw(st.booleans()):
        one, two = runs[0], runs[-1]
        meetings.append(OwnCrossing(one.id, one.length_m / 4, two.id, two.length_m / 4, 0.05))
    return runs, nodes, meetings


def test_a_given_rise_is_told_beside_the_cover_that_it_lacks():
    """Both inverts given, rising 0.1 m over 10 m under 0.2 m of soil: two conflicts with one given value in both.

    By hand: 1 % of 10 m and the rise of 0.1 m leave 0.2 m missing; ground 10.0 less cover 0.3, bore and wall leaves
    the invert at 9.59 at most, and 9.7 is given.
    """
    run = replace(
        line("P0", "N0", "E", 10.0, (0.0, 10.0), (10.5, 10.0), (0.3, 0.3), ("lawn", "lawn")),
        least_slope=0.01, inside_diameter_m=0.1, outside_diameter_m=0.12, wall_m=0.01,
        fixed_upstream_invert_m=9.6, fixed_downstream_invert_m=9.7,
    )  # fmt: skip
    found = find_conflicts(runs=[run], nodes=[NodeRule("E", "end")], grid_m=0.001)
    kinds = {frozenset(one.kind for one in conflict.constraints): conflict for conflict in found}
    assert set(kinds) == {
        frozenset({"cover", "given-downstream-invert"}),
        frozenset({"least-slope", "given-upstream-invert", "given-downstream-invert"}),
    }
    fall = kinds[frozenset({"least-slope", "given-upstream-invert", "given-downstream-invert"})]
    assert abs(fall.missing_m - 0.2) < 1e-6 and abs(fall.available_m + 0.1) < 1e-6
    assert abs(kinds[frozenset({"cover", "given-downstream-invert"})].missing_m - 0.11) < 1e-6


@settings(max_examples=80, deadline=None)
@given(networks())
def test_random_conflicts_are_conflicts_and_irreducible(network):
    """Together they fit in no way; without any one of them they fit in one. What fits has none."""
    runs, nodes, meetings = network
    every = Every(runs, nodes, meetings)
    found = find_conflicts(runs=runs, nodes=nodes, grid_m=0.001, meetings=meetings)
    whole = set(every.named)
    assume(every.fits(whole, 1e-4) or not every.fits(whole, -1e-4))  # not on the edge
    assert bool(found) == (not every.fits(whole))
    seen: set[Constraint] = set()
    for conflict in found:
        kept = set(conflict.constraints)
        assert kept <= whole
        assert all(one.kind == "node-invert" for one in kept & seen)  # given values may stand in several
        seen |= kept
        assert not every.fits(kept, -1e-7)
        for one in kept:
            assert every.fits(kept - {one}, -2e-6), one
        assert conflict.missing_m > 0
        assert abs(abs(conflict.wanted_m - conflict.available_m) - conflict.missing_m) < 1e-9


@settings(max_examples=40, deadline=None)
@given(networks())
def test_a_network_that_cannot_be_laid_has_a_conflict_and_only_such_a_one(network):
    """The choice of inverts and the search for a conflict agree, away from the last millimetres."""
    runs, nodes, meetings = network
    solution = solve_inverts(runs=runs, nodes=nodes, grid_m=0.001, meetings=meetings)
    found = find_conflicts(runs=runs, nodes=nodes, grid_m=0.001, meetings=meetings)
    if solution.feasible:
        assert found == ()
    elif not found:
        assert max(b.shortfall_m for b in solution.broken) < 0.01
    else:
        loose = [replace(r, cover_m=tuple(c - 50 for c in r.cover_m)) for r in runs]  # type: ignore[union-attr]
        free = [node for node in nodes if node.id != "E"]
        assert solve_inverts(runs=loose, nodes=free, grid_m=0.001, meetings=meetings).feasible
