"""Why nothing fits: a set of constraints of which none can be left out, with what they leave and what is wanted.

A linear programme that cannot be met proves it by weights on its rows that add up to a contradiction. The
constraints with a weight are few; each of them is then left out in turn, and stays out if the rest still cannot
be met. What remains is irreducible: without any one of it everything else fits. Over or under, and which inlet
of a basin is the lowest, are each tried both ways, and every way must fail.

Source: deletion filter and infeasible subsystems of a linear programme by its dual weights (from memory,
operations research); own formulation of the numbers (derived).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from scipy.optimize import linprog

from roofwell.physics.trench.profile import (
    Floats,
    NodeRule,
    OwnCrossing,
    RunLine,
    complete_rules,
)
from roofwell.physics.trench.programme import OWN, TOLERANCE_M, Choices, Programme, Row, negative

MOST_CONFLICTS = 4
_PLAINEST_LAST = (
    "greatest-slope",
    "depth",
    "node-invert",
    "node-inlet-invert",
    "given-upstream-invert",
    "given-downstream-invert",
    "given-slope",
    "node-least-invert",
    "node-greatest-invert",
    "node-drop",
    "cover",
    "own-crossing",
    "crossing",
    "least-slope",
)
_GIVEN = frozenset(
    (
        "node-invert",
        "node-inlet-invert",
        "given-upstream-invert",
        "given-downstream-invert",
        "given-slope",
    )
)
_LEAST_WEIGHT = 1e-9  # dual weights below this are the solver's noise


class Constraint(NamedTuple):
    """One constraint that a person can change.

    ``kind``: ``cover``, ``depth``, ``least-slope``, ``greatest-slope``, ``crossing`` (``name`` its label),
    ``own-crossing`` (``name`` the other run), ``node-least-invert``, ``node-greatest-invert``, ``node-drop``,
    ``node-invert``, ``node-inlet-invert`` (``name`` the node), ``given-slope``, ``given-upstream-invert``,
    ``given-downstream-invert``. Of a cover ``name`` is what wants it.
    """

    kind: str
    run_id: str
    name: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Constraints that cannot be kept together, and none of which can be left out.

    ``stations_m`` is where on its run each one binds. ``available_m`` is the fall that the others leave over
    ``length_m`` of run, ``wanted_m`` what slopes, drops and runs that pass each other want there; ``missing_m``
    is the difference. Where no fall is wanted, the length is 0 and only ``missing_m`` speaks. Where
    there is too much fall, ``wanted_m`` is the most that the greatest slope allows and ``available_m`` more.
    Of several ways (over or under) the numbers are those of the way that misses least; ``side`` says which.
    """

    constraints: tuple[Constraint, ...]
    stations_m: tuple[float, ...]
    available_m: float
    wanted_m: float
    length_m: float
    missing_m: float
    side: dict[tuple[str, str], str]


class _Named(NamedTuple):
    constraint: Constraint | None
    row: Row


class _Proof(NamedTuple):
    """Weighted rows that contradict each other, under some choices."""

    weights: tuple[tuple[_Named, float], ...]
    choices: Choices


class _Rows:
    """The rows of a network, each with the constraint that it belongs to; None for what always holds."""

    def __init__(self, programme: Programme) -> None:
        self.p = programme
        self.fixed = self._given()
        self.base = [
            _Named(Constraint(row.key.partition(":")[0], row.run_id, row.name), row) for row in programme.base
        ]

    def _given(self) -> list[_Named]:
        out = []
        p = self.p
        for i, run in enumerate(p.runs):
            start, end = p.rules[run.from_node], p.rules[run.to_node]
            given = [
                (Constraint("given-upstream-invert", run.id, ""), 2 * i, run.fixed_upstream_invert_m),
                (Constraint("given-downstream-invert", run.id, ""), 2 * i + 1, run.fixed_downstream_invert_m),
                (Constraint("node-invert", "", start.id), 2 * i, start.fixed_invert_m),
                (Constraint("node-inlet-invert", "", end.id), 2 * i + 1, end.fixed_inlet_invert_m),
            ]
            if end.kind == "end":
                given.append((Constraint("node-invert", "", end.id), 2 * i + 1, end.fixed_invert_m))
            for constraint, variable, value in given:
                if value is not None:
                    station = run.length_m if variable % 2 else 0.0
                    row = Row(constraint.kind, run.id, station, {variable: 1.0}, value, equal=True)
                    out.append(_Named(constraint, row))
        return out

    def crossing(self, i: int, k: int) -> Constraint:
        if i == OWN:
            item = self.p.meetings[k]
            return Constraint("own-crossing", item.first, item.second)
        return Constraint("crossing", self.p.runs[i].id, self.p.runs[i].crossings[k].label)

    def names(self) -> frozenset[Constraint]:
        out = {named.constraint for named in (*self.base, *self.fixed) if named.constraint is not None}
        out |= {self.crossing(i, k) for i, k in self.p.crossings}
        out |= {Constraint("node-drop", "", node) for node in self.p.joints if self.p.grid_drop(node) > 0}
        return frozenset(out)

    def of(self, on: frozenset[Constraint], choices: Choices) -> list[_Named]:
        out = [named for named in (*self.base, *self.fixed) if named.constraint in on]
        for (i, k), side in choices.side.items():
            out.append(_Named(self.crossing(i, k), self.p.crossing_row(i, k, side)))
        for node in self.p.joints:
            drop = Constraint("node-drop", "", node)
            for row in self.p.joint_rows(node, choices):
                if row.bound <= 0:  # how pipes meet is not for choosing; a drop is
                    out.append(_Named(None, row))
                elif drop in on:
                    out.append(_Named(drop, row))
                else:
                    out.append(_Named(None, replace(row, bound=0.0)))
        return out


def _solve(
    p: Programme, named: Sequence[_Named], costs: Floats | None
) -> tuple[float, Floats, Floats, list[_Named]]:
    """Least shortfall shared by all constraints; with ``costs`` the best answer that has none.

    Returns the shortfall, the inverts, the weight of each one-sided row and those rows.
    """
    rows: list[_Named] = []
    for constraint, row in named:
        rows.append(_Named(constraint, row))
        if row.equal:
            rows.append(_Named(constraint, replace(row, terms=negative(row.terms), bound=-row.bound)))
    n = p.count
    matrix = np.zeros((len(rows), n + 1))
    for j, (constraint, row) in enumerate(rows):
        for variable, a in row.terms.items():
            matrix[j, variable] = a
        matrix[j, n] = 0.0 if constraint is None else 1.0
    objective = np.append(np.zeros(n), 1.0) if costs is None else np.append(costs, 0.0)
    bound = np.array([item.row.bound for item in rows])
    result = linprog(
        objective,
        A_ub=-matrix,
        b_ub=-bound,
        bounds=[(None, None)] * n + [(0.0, None if costs is None else TOLERANCE_M)],
        method="highs",
    )
    if result.status != 0 or result.x is None:
        return np.inf, np.zeros(n), np.zeros(len(rows)), rows
    return float(result.x[n]), np.asarray(result.x[:n]), -np.asarray(result.ineqlin.marginals), rows


def _proofs(rows: _Rows, on: frozenset[Constraint], choices: Choices) -> list[_Proof] | None:
    """A contradiction for every way that is open, or None where one way fits."""
    p = rows.p
    named = rows.of(on, choices)
    if not named:
        return None
    short, x, weights, one_sided = _solve(p, named, None)
    if short > TOLERANCE_M:
        kept = tuple(
            (item, float(w)) for item, w in zip(one_sided, weights, strict=True) if w > _LEAST_WEIGHT
        )
        return [_Proof(kept, choices)]
    for branches, constraint in _open(rows, on, choices, named, x):
        out: list[_Proof] = []
        for branch in branches:
            found = _proofs(rows, on, branch)
            if found is None:
                return None
            if constraint is not None and not any(constraint in _used(proof) for proof in found):
                return found  # it fails whichever way is taken here
            out += found
        return out
    return None


def _used(proof: _Proof) -> set[Constraint]:
    return {item.constraint for item, _ in proof.weights if item.constraint is not None}


def _open(
    rows: _Rows, on: frozenset[Constraint], choices: Choices, named: Sequence[_Named], x: Floats
) -> list[tuple[list[Choices], Constraint | None]]:
    """The first either-or that an answer leaves open, as its branches; empty if none."""
    p = rows.p
    for i, k in p.crossings:
        constraint = rows.crossing(i, k)
        if constraint not in on or (i, k) in choices.side:
            continue
        slack = {side: p.crossing_row(i, k, side).slack(x) for side in ("over", "under")}
        if max(slack.values()) < -TOLERANCE_M:
            order = sorted(slack, key=lambda side: -slack[side])
            return [([Choices({**choices.side, (i, k): s}, choices.lowest) for s in order], constraint)]
    loose = [node for node in p.joints if not p.settled(node, choices)]
    if not loose:
        return []
    costs = np.zeros(p.count)
    for node in loose:  # an answer that presses the inlets down on their outlet mostly needs no branch
        for i in p.inlets[node]:
            costs[2 * i + 1] += 1.0
            costs[2 * p.outlet[node]] -= 1.0
    pressed = x
    for again in (False, True):
        if again:
            pressed = _solve(p, named, costs)[1]
        crossed = all(_passes(rows, on, choices, pressed, i, k) for i, k in p.crossings)
        if crossed and max(_gap(rows, on, node, pressed) for node in loose) <= 2 * TOLERANCE_M:
            return []
    node = max(loose, key=lambda name: _gap(rows, on, name, pressed))
    lowest = sorted(p.inlets[node], key=lambda i: float(pressed[2 * i + 1]))
    return [([Choices(choices.side, {**choices.lowest, node: i}) for i in lowest], None)]


def _gap(rows: _Rows, on: frozenset[Constraint], node: str, x: Floats) -> float:
    p = rows.p
    drop = p.grid_drop(node)
    wanted = drop if drop <= 0 or Constraint("node-drop", "", node) in on else 0.0
    return min(float(x[2 * i + 1]) for i in p.inlets[node]) - float(x[2 * p.outlet[node]]) - wanted


def _passes(rows: _Rows, on: frozenset[Constraint], choices: Choices, x: Floats, i: int, k: int) -> bool:
    if rows.crossing(i, k) not in on or (i, k) in choices.side:
        return True
    return max(rows.p.crossing_row(i, k, side).slack(x) for side in ("over", "under")) >= -TOLERANCE_M


def _irreducible(rows: _Rows, on: frozenset[Constraint]) -> tuple[list[_Proof], frozenset[Constraint]] | None:
    """The deletion filter: proofs of a set of which nothing can be left out; None where all fits."""
    found = _proofs(rows, on, Choices())
    if found is None:
        return None
    kept = frozenset().union(*(_used(proof) for proof in found))
    found = _proofs(rows, kept, Choices()) or found
    for constraint in sorted(kept, key=_last_to_blame):
        if constraint not in kept:
            continue
        less = _proofs(rows, kept - {constraint}, Choices())
        if less is not None:
            found = less
            kept = frozenset().union(*(_used(proof) for proof in less)) & kept
    return found, kept


def _last_to_blame(constraint: Constraint) -> tuple[int, Constraint]:
    """What is left out first: of several sets that explain as much, the one of slopes and covers is plainest."""
    return _PLAINEST_LAST.index(constraint.kind), constraint


def _one_way(rows: _Rows, proof: _Proof, kept: frozenset[Constraint]) -> _Proof:
    """The same for one way alone: over, say, with nothing in it that only passing under needs."""
    on = kept
    for constraint in sorted(kept, key=_last_to_blame):
        named = rows.of(on - {constraint}, proof.choices)
        if constraint.kind in ("crossing", "own-crossing") or constraint not in on or not named:
            continue
        short, _, weights, one_sided = _solve(rows.p, named, None)
        if short > TOLERANCE_M:
            left = [(i, float(w)) for i, w in zip(one_sided, weights, strict=True) if w > _LEAST_WEIGHT]
            proof = _Proof(tuple(left), proof.choices)
            on = frozenset(_used(proof))
    return proof


def find_conflicts(
    *,
    runs: Sequence[RunLine],
    nodes: Sequence[NodeRule],
    grid_m: float,
    meetings: Sequence[OwnCrossing] = (),
    most: int = MOST_CONFLICTS,
) -> tuple[Conflict, ...]:
    """Return up to ``most`` conflicts that have no constraint in common but given values; none where all fits.

    Arguments as of ``solve_inverts``; the grid counts only for given drops and slopes. Joints of wyes and
    what goes without a drop are no constraint but how pipes are joined.

    Raises
    ------
    InputError
        As ``solve_inverts``.
    """
    if not runs:
        return ()
    p = Programme(runs, complete_rules(runs, nodes), grid_m, float, meetings)
    rows = _Rows(p)
    left = rows.names()
    out: list[Conflict] = []
    while len(out) < most:
        found = _irreducible(rows, left)
        if found is None or not found[1]:
            break
        proofs, kept = found
        out.append(_told(p, [_one_way(rows, proof, kept) for proof in proofs], kept))
        # A given value stands whatever it breaks: it may stand against other constraints as well.
        left -= frozenset(c for c in kept if c.kind not in _GIVEN) or kept
    return tuple(out)


def _told(p: Programme, proofs: Sequence[_Proof], kept: frozenset[Constraint]) -> Conflict:
    numbers = [(_numbers(p, proof), proof) for proof in proofs]
    (available, wanted, length, missing), best = min(numbers, key=lambda item: item[0][3])
    where: dict[Constraint, tuple[float, float]] = {}
    for proof in [best, *proofs]:
        before = set(where)
        for (constraint, row), weight in proof.weights:
            if constraint is None or constraint in before or constraint not in kept:
                continue
            if weight > where.get(constraint, (0.0, 0.0))[0]:
                where[constraint] = (weight, row.station_m)
    order = sorted(kept, key=lambda c: (_place(p, c), where.get(c, (0.0, 0.0))[1], c))
    sides = {}
    for (i, k), side in best.choices.side.items():
        if i == OWN:
            sides[(p.meetings[k].first, p.meetings[k].second)] = side
        else:
            sides[(p.runs[i].id, p.runs[i].crossings[k].label)] = side
    return Conflict(
        constraints=tuple(order),
        stations_m=tuple(where.get(c, (0.0, 0.0))[1] for c in order),
        available_m=available,
        wanted_m=wanted,
        length_m=length,
        missing_m=missing,
        side=sides,
    )


def _place(p: Programme, constraint: Constraint) -> float:
    """Runs in their own order, what belongs to a node after the runs that reach it."""
    if constraint.run_id:
        return float(p.index[constraint.run_id])
    return max((i + 0.5 for i in p.inlets.get(constraint.name, [])), default=-0.5)


def _numbers(p: Programme, proof: _Proof) -> tuple[float, float, float, float]:
    """Fall that is left, fall that is wanted, length, and what is missing, from the weights of a proof.

    A row that holds an invert down (or up) has coefficients that sum to -1 (or 1); scaled to one invert held,
    a slope counts with the share of its run that lies between the places that hold it.
    """
    held = sum(w for (_, row), w in proof.weights if sum(row.terms.values()) < -0.5)
    slopes = ("least-slope", "given-slope")
    by_fall = sum(w for (_, row), w in proof.weights if row.key in slopes and row.bound > 0)
    scale = 1.0 / (held or by_fall or max((w for _, w in proof.weights), default=1.0))
    missing = scale * sum(w * row.bound for (_, row), w in proof.weights)
    falls = [(row, w * scale) for (_, row), w in proof.weights]
    steep = [(row, w) for row, w in falls if row.key == "greatest-slope"]
    if steep:
        most = sum(-w * row.bound for row, w in steep)
        return most + missing, most, _length(p, steep), missing
    want = [(row, w) for row, w in falls if abs(sum(row.terms.values())) < 0.5 and row.bound > 0]
    wanted = sum(w * row.bound for row, w in want)
    return wanted - missing, wanted, _length(p, [item for item in want if item[0].key in slopes]), missing


def _length(p: Programme, rows: Sequence[tuple[Row, float]]) -> float:
    return sum(w * p.runs[p.index[row.run_id]].length_m for row, w in rows)
