"""The constraints of a network of runs as rows over its end inverts, and their rounding to the grid."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from roofwell.errors import InputError
from roofwell.physics.trench.profile import Floats, NodeRule, OwnCrossing, RunLine, stations

SHORTFALL_WEIGHTS = {
    "least-slope": 1.0,
    "greatest-slope": 1.0,
    "depth": 1.5,
    "cover": 2.0,
    "node-least-invert": 4.0,
    "node-greatest-invert": 4.0,
    "crossing": 10.0,
    "backfall": 20.0,
    "node-drop": 50.0,
    "given-slope": 100.0,
}
"""Cost of one metre of shortfall where nothing fits: a flat pipe gives way first, then the depth of the trench,
then cover, then the heights of basins and wells, then clearances; water running backward and given values come
last. Given inverts never give way."""

TOLERANCE_M = 1e-6
"""Ten times the solver's own feasibility tolerance."""


@dataclass(frozen=True, slots=True)
class Row:
    """sum(coefficient x variable) >= bound, or == bound."""

    key: str
    run_id: str
    station_m: float
    terms: dict[int, float]
    bound: float
    equal: bool = False
    name: str = ""

    @property
    def weight(self) -> float:
        return SHORTFALL_WEIGHTS[self.key.partition(":")[0]]

    def slack(self, x: Floats) -> float:
        slack = sum(a * float(x[i]) for i, a in self.terms.items()) - self.bound
        return -abs(slack) if self.equal else slack


@dataclass(frozen=True, slots=True)
class Choices:
    """What the branching has settled: crossing (run, index) to side, node to its lowest inlet's run.

    A crossing of two runs of the network stands under (``OWN``, its index).
    """

    side: dict[tuple[int, int], str] = field(default_factory=dict)
    lowest: dict[str, int] = field(default_factory=dict)


OWN = -1


class Programme:
    """The rows of one network; variable 2i is the upstream and 2i+1 the downstream invert of run i."""

    def __init__(
        self,
        runs: Sequence[RunLine],
        rules: dict[str, NodeRule],
        grid_m: float,
        to_grid: Callable[[float], float],
        meetings: Sequence[OwnCrossing] = (),
    ) -> None:
        self.runs, self.rules, self.grid_m, self.to_grid = runs, rules, grid_m, to_grid
        self.meetings = meetings
        self.index = {run.id: i for i, run in enumerate(runs)}
        self.crossings = [(i, k) for i, run in enumerate(runs) for k in range(len(run.crossings))]
        self.crossings += [(OWN, m) for m in range(len(meetings))]
        self.count = 2 * len(runs)
        self.inlets: dict[str, list[int]] = {}
        self.outlet: dict[str, int] = {}
        for i, run in enumerate(runs):
            self.inlets.setdefault(run.to_node, []).append(i)
            if self.rules[run.from_node].kind != "start":
                self.outlet[run.from_node] = i
        self.joints = [name for name in self.inlets if name in self.outlet]
        self.fixed = self._fixed()
        nodes = self._node_rows()
        self.base = [row for i in range(len(runs)) for row in self._run_rows(i, whole=False)] + nodes
        self._whole = [row for i in range(len(runs)) for row in self._run_rows(i, whole=True)] + nodes
        costs = np.array([run.trench_width_m * run.length_m / 2 for run in runs for _ in (0, 1)])
        self.digging = -costs / costs.sum()

    def _fixed(self) -> dict[int, float]:
        fixed: dict[int, float] = {}

        def give(variable: int, value: float | None, where: str) -> None:
            if value is None:
                return
            if not math.isfinite(value):
                raise InputError(f"{where}: the given invert {value} is not a number", code="given-invert")
            if abs(fixed.setdefault(variable, value) - value) > TOLERANCE_M:
                raise InputError(
                    f"{where}: two inverts are given, {fixed[variable]} and {value} m; give one",
                    code="given-inverts-disagree",
                )

        for i, run in enumerate(self.runs):
            start, end = self.rules[run.from_node], self.rules[run.to_node]
            give(2 * i, run.fixed_upstream_invert_m, f"run {run.id}")
            give(2 * i + 1, run.fixed_downstream_invert_m, f"run {run.id}")
            give(2 * i, start.fixed_invert_m, f"node {start.id}")
            give(2 * i + 1, end.fixed_inlet_invert_m, f"node {end.id}")
            if end.kind == "end":
                give(2 * i + 1, end.fixed_invert_m, f"node {end.id}")
        return fixed

    def at(self, i: int, station_m: float) -> dict[int, float]:
        """Weights of the two end inverts in the invert at a station."""
        share = min(max(station_m / self.runs[i].length_m, 0.0), 1.0)
        return {2 * i: 1 - share, 2 * i + 1: share}

    def _run_rows(self, i: int, *, whole: bool) -> list[Row]:
        """Rows of a run; unless ``whole``, without the stations that others always hold for.

        A straight pipe keeps its cover everywhere if it does so where the wanted top of the pipe has the
        corners of its hull; half steps of the grid, being linear along the run, change nothing in that.
        """
        run = self.runs[i]
        fall = {2 * i: 1.0, 2 * i + 1: -1.0}
        rows = [
            Row("least-slope", run.id, 0.0, fall, run.least_slope * run.length_m),
            Row("greatest-slope", run.id, 0.0, negative(fall), -run.greatest_slope * run.length_m),
        ]
        if run.fixed_slope is not None:
            rows.append(Row("given-slope", run.id, 0.0, fall, self.grid_fall(run), equal=True))
        x, ground, cover = stations(run)
        top = ground - cover - run.inside_diameter_m - run.wall_m
        names = np.asarray(run.cover_names or [""] * x.size)
        for name in dict.fromkeys(names.tolist()):
            at = np.flatnonzero(names == name)
            for k in at if whole else at[_hull(x[at], top[at])]:
                terms = negative(self.at(i, float(x[k])))
                rows.append(Row("cover", run.id, float(x[k]), terms, -float(top[k]), name=name))
        if math.isfinite(run.greatest_depth_m):
            floor = ground - run.greatest_depth_m + run.wall_m
            for k in range(x.size) if whole else _hull(x, -floor):
                rows.append(Row("depth", run.id, float(x[k]), self.at(i, float(x[k])), float(floor[k])))
        return rows

    def grid_fall(self, run: RunLine) -> float:
        """A given slope as a fall on the grid, never flatter than given."""
        wanted = (run.fixed_slope or 0.0) * run.length_m
        return math.ceil(wanted / self.grid_m - 1e-6) * self.grid_m

    def grid_drop(self, node: str) -> float:
        return round(self.rules[node].drop_m / self.grid_m) * self.grid_m

    def _node_rows(self) -> list[Row]:
        rows = []
        for name, rule in self.rules.items():
            ends = [(i, 2 * i) for i, run in enumerate(self.runs) if run.from_node == name]
            if rule.kind == "end":
                ends = [(i, 2 * i + 1) for i in self.inlets.get(name, [])]
            for i, variable in ends:
                run = self.runs[i]
                where = run.length_m if variable % 2 else 0.0
                if rule.least_invert_m is not None:
                    key = f"node-least-invert:{name}"
                    rows.append(Row(key, run.id, where, {variable: 1.0}, rule.least_invert_m, name=name))
                if rule.greatest_invert_m is not None:
                    key = f"node-greatest-invert:{name}"
                    bound = -rule.greatest_invert_m
                    rows.append(Row(key, run.id, where, {variable: -1.0}, bound, name=name))
        return rows

    def crossing_row(self, i: int, k: int, side: str) -> Row:
        if i == OWN:
            return self._own_row(k, side)
        run, crossing = self.runs[i], self.runs[i].crossings[k]
        terms, key = self.at(i, crossing.station_m), f"crossing:{crossing.label}"
        if side == "over":
            bound = crossing.top_m + crossing.clearance_m + run.wall_m
            return Row(key, run.id, crossing.station_m, terms, bound, name=crossing.label)
        bound = crossing.bottom_m - crossing.clearance_m - run.inside_diameter_m - run.wall_m
        return Row(key, run.id, crossing.station_m, negative(terms), -bound, name=crossing.label)

    def _own_row(self, m: int, side: str) -> Row:
        """One run over another: both are sought, so the row stands in four inverts."""
        item = self.meetings[m]
        i, j = self.index[item.first], self.index[item.second]
        over, under = (i, j) if side == "over" else (j, i)
        station = {i: item.first_station_m, j: item.second_station_m}
        terms = self.at(over, station[over]) | negative(self.at(under, station[under]))
        below = self.runs[under]
        bound = self.runs[over].wall_m + item.clearance_m + below.inside_diameter_m + below.wall_m
        return Row(
            f"crossing:{item.second}", item.first, item.first_station_m, terms, bound, name=item.second
        )

    def joint_rows(self, node: str, choices: Choices) -> list[Row]:
        """Every inlet of a wye exactly at outlet + drop; of a basin none below, and the lowest one there."""
        out, drop = self.outlet[node], self.grid_drop(node)
        lowest = self.inlets[node] if self.all_level(node) else [choices.lowest.get(node)]
        rows = []
        for i in self.inlets[node]:
            terms = {2 * i + 1: 1.0, 2 * out: -1.0}
            run = self.runs[i]
            key = f"node-drop:{node}"
            rows.append(Row(key, run.id, run.length_m, terms, drop, equal=i in lowest, name=node))
        return rows

    def all_level(self, node: str) -> bool:
        return len(self.inlets[node]) == 1 or self.rules[node].kind == "wye"

    def settled(self, node: str, choices: Choices) -> bool:
        return self.all_level(node) or node in choices.lowest

    def rows(self, choices: Choices, *, whole: bool = False) -> list[Row]:
        """The rows under some choices; ``whole``: with every station, also those that others hold for."""
        rows = list(self._whole if whole else self.base)
        for (i, k), side in choices.side.items():
            rows.append(self.crossing_row(i, k, side))
        for node in self.joints:
            rows.extend(self.joint_rows(node, choices))
        return rows

    def clusters(self, rows: Sequence[Row]) -> list[int]:
        """For each variable the root of those that equalities move together; a given one is the root."""
        root = list(range(self.count))

        def find(v: int) -> int:
            while root[v] != v:
                v = root[v]
            return v

        for row in rows:
            if row.equal:
                a, b = (find(v) for v in row.terms)
                keep, drop = (b, a) if b in self.fixed and a not in self.fixed else (a, b)
                root[drop] = keep
        return [find(v) for v in range(self.count)]

    def margin(self, row: Row, root: Sequence[int]) -> float:
        """Most that rounding to the grid can take from a row: half a step for each group that moves.

        Nothing where one invert stands whole steps above another: rounding keeps their order.
        """
        if row.equal:
            return 0.0
        if row.key.startswith("node-drop") and not any(
            v in self.fixed or root[v] in self.fixed for v in row.terms
        ):
            return 0.0
        moved: dict[int, float] = {}
        for variable, a in row.terms.items():
            if root[variable] not in self.fixed and variable not in self.fixed:
                moved[root[variable]] = moved.get(root[variable], 0.0) + a
        return self.grid_m / 2 * sum(abs(a) for a in moved.values())

    def rounded(self, x: Floats, root: Sequence[int]) -> Floats:
        """Move every group to the grid as one (a group with a given invert stays with it)."""
        out = np.empty(self.count)
        for v in range(self.count):
            if v in self.fixed:
                out[v] = self.fixed[v]
                continue
            steps = round((x[v] - x[root[v]]) / self.grid_m)
            if root[v] in self.fixed:
                out[v] = self.fixed[root[v]] + steps * self.grid_m
            else:
                # a hair up, so that inverts that the solver has equal but for noise round to one value
                level = self.to_grid(float(x[root[v]]) + 0.5 * TOLERANCE_M)
                out[v] = self.to_grid(level + steps * self.grid_m)
        return out


def negative(terms: dict[int, float]) -> dict[int, float]:
    return {i: -a for i, a in terms.items()}


def _hull(x: Floats, y: Floats) -> list[int]:
    """Indices of the corners of the lower convex hull of points whose x do not decrease."""
    out: list[int] = []
    for k in range(x.size):
        if out and x[k] == x[out[-1]]:
            if y[k] >= y[out[-1]]:
                continue
            out.pop()
        while len(out) > 1:
            a, b = out[-2], out[-1]
            if (y[b] - y[a]) * (x[k] - x[a]) < (y[k] - y[a]) * (x[b] - x[a]):
                break
            out.pop()
        out.append(k)
    return out
