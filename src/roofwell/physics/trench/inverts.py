"""The inverts of a tree of buried runs: least digging that keeps cover, slope and clearances.

A linear programme (every run is straight between its ends, so cover, slope and clearance are linear in the
two end inverts). Two kinds of either-or are settled by branching: whether a run passes over or under what it
crosses, and which inlet of a node is the lowest one.

Half a step of the building grid is kept in hand, so that rounding never breaks a constraint; where that half
step does not exist the grid values themselves are searched (integers); where nothing fits, the answer is the
nearest set of inverts, by least weighted shortfall, and says what it breaks. Every answer is verified again
from its rounded numbers.

Source: own formulation (derived); HiGHS through ``scipy.optimize``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from roofwell.errors import InputError, InternalError
from roofwell.physics.trench.profile import (
    Broken,
    Crossing,
    Floats,
    InvertSolution,
    NodeRule,
    OwnCrossing,
    RunLine,
    check_meetings,
    check_run,
    complete_rules,
    stations,
)
from roofwell.physics.trench.programme import (
    OWN,
    SHORTFALL_WEIGHTS,
    TOLERANCE_M,
    Choices,
    Programme,
    Row,
    negative,
)

__all__ = [
    "SHORTFALL_WEIGHTS",
    "Broken",
    "Crossing",
    "InvertSolution",
    "NodeRule",
    "OwnCrossing",
    "RunLine",
    "fit_inverts",
    "solve_inverts",
]

_SPREAD = 0.05  # small extra cost of the worst slope, so that runs in a row share what is missing
_EACH_STATION = 0.01  # small extra cost of every station short of cover, so that one bad place frees no other
_BIG = 1e3  # a shortfall always outweighs digging (whose costs are scaled to sum to 1)
_MOST_PROGRAMMES = 800


def _matrix(rows: Sequence[Row], columns: int) -> Floats:
    matrix = np.zeros((len(rows), columns))
    for i, row in enumerate(rows):
        for variable, a in row.terms.items():
            matrix[i, variable] = a
    return matrix


def _limits(p: Programme) -> list[tuple[float, float]]:
    return [(p.fixed[v], p.fixed[v]) if v in p.fixed else (-np.inf, np.inf) for v in range(p.count)]


def _solve_hard(p: Programme, rows: Sequence[Row], root: Sequence[int]) -> tuple[float, Floats] | None:
    """Least digging with half a grid step in hand; None if nothing fits."""
    loose = [row for row in rows if not row.equal]
    tight = [row for row in rows if row.equal]
    bounds = [row.bound + p.margin(row, root) for row in loose]
    return _least(p.digging, loose, bounds, tight, _limits(p))


def _least(
    costs: Floats,
    loose: Sequence[Row],
    bounds: Sequence[float],
    tight: Sequence[Row],
    limits: Sequence[tuple[float, float]],
) -> tuple[float, Floats] | None:
    """Return the least cost, and where, with ``loose`` rows at least at their bounds and ``tight`` ones at their own.

    ``milp`` takes the same solver to a programme without whole numbers as ``linprog`` does, with a quarter less around it.
    """
    matrix = np.vstack([-_matrix(loose, costs.size), _matrix(tight, costs.size)])
    low = np.concatenate([np.full(len(loose), -np.inf), [row.bound for row in tight]])
    high = np.concatenate([-np.array(bounds, dtype=float), [row.bound for row in tight]])
    result = milp(
        costs, bounds=Bounds(*zip(*limits, strict=True)), constraints=LinearConstraint(matrix, low, high)
    )
    return (float(result.fun), np.asarray(result.x)) if result.status == 0 else None


def _solve_grid(p: Programme, rows: Sequence[Row], root: Sequence[int]) -> tuple[float, Floats] | None:
    """Least digging among the values of the grid themselves; None if nothing fits."""
    whole = np.array([not (root[v] in p.fixed or v in p.fixed) for v in range(p.count)])
    step = np.where(whole, p.grid_m, 1.0)
    matrix = _matrix(rows, p.count) * step
    low = np.array([row.bound for row in rows])
    high = np.array([row.bound if row.equal else np.inf for row in rows])
    # costs and rows in grid steps, so that the solver's tolerance is a small part of a step
    result = milp(
        p.digging * step / p.grid_m,
        integrality=whole.astype(int),
        bounds=Bounds(*zip(*_limits(p), strict=True)),
        constraints=LinearConstraint(matrix / p.grid_m, low / p.grid_m, high / p.grid_m),
        options={"node_limit": 2000},
    )
    if result.x is None or result.status not in (0, 1):
        return None
    return float(result.fun) * p.grid_m, np.asarray(result.x) * step


def _solve_elastic(p: Programme, rows: Sequence[Row], root: Sequence[int]) -> tuple[float, Floats]:
    """Least weighted shortfall, then least digging; always has an answer."""
    backfall = [
        Row("backfall", run.id, 0.0, {2 * i: 1.0, 2 * i + 1: -1.0}, 0.0) for i, run in enumerate(p.runs)
    ]
    one_sided: list[Row] = []
    for row in [*rows, *backfall]:
        one_sided.append(row)
        if row.equal:
            one_sided.append(Row(row.key, row.run_id, row.station_m, negative(row.terms), -row.bound))
    n, m = p.count, len(one_sided)
    worst_cover = {run.id: n + m + i for i, run in enumerate(p.runs)}
    worst_slope = n + m + len(p.runs)
    columns = worst_slope + 1
    costs = np.zeros(columns)
    costs[:n] = p.digging
    costs[worst_slope] = _BIG * _SPREAD
    mean_length = sum(run.length_m for run in p.runs) / len(p.runs)
    lengths = {run.id: run.length_m for run in p.runs}
    all_rows: list[Row] = []
    bounds: list[float] = []
    for j, row in enumerate(one_sided):
        all_rows.append(Row(row.key, row.run_id, row.station_m, {**row.terms, n + j: 1.0}, 0.0))
        bounds.append(row.bound + p.margin(row, root))
        costs[n + j] = _BIG * row.weight
        if row.key == "cover":
            costs[n + j] *= _EACH_STATION
            costs[worst_cover[row.run_id]] = _BIG * row.weight
            all_rows.append(Row("", "", 0.0, {worst_cover[row.run_id]: 1.0, n + j: -1.0}, 0.0))
            bounds.append(0.0)
        elif row.key == "least-slope":
            share = mean_length / lengths[row.run_id]
            all_rows.append(Row("", "", 0.0, {worst_slope: 1.0, n + j: -share}, 0.0))
            bounds.append(0.0)
    limits = _limits(p) + [(0.0, np.inf)] * (columns - n)
    found = _least(costs, all_rows, bounds, [], limits)
    if found is None:
        raise InternalError("the nearest inverts were not found", code="inverts-unsolved")
    return found[0], found[1][:n]


_Solver = Callable[[Programme, Sequence[Row], Sequence[int]], "tuple[float, Floats] | None"]


def _open_question(p: Programme, x: Floats, choices: Choices) -> list[Choices]:
    """The branches of the first either-or that the relaxed answer leaves open; empty if none."""
    for i, k in p.crossings:
        if (i, k) in choices.side:
            continue
        slacks = {side: p.crossing_row(i, k, side).slack(x) for side in ("over", "under")}
        if max(slacks.values()) < (2 if i == OWN else 1) * p.grid_m:
            order = sorted(slacks, key=lambda side: -slacks[side])
            return [Choices({**choices.side, (i, k): side}, choices.lowest) for side in order]
    for node in p.joints:
        if p.settled(node, choices):
            continue
        out = x[2 * p.outlet[node]] + p.grid_drop(node)
        order_i = sorted(p.inlets[node], key=lambda i: float(x[2 * i + 1]))
        # exactly met is still a choice: the two must then be rounded as one
        if abs(x[2 * order_i[0] + 1] - out) > TOLERANCE_M or len(order_i) > 1:
            return [Choices(choices.side, {**choices.lowest, node: i}) for i in order_i]
    return []


def _search(p: Programme, solver: _Solver) -> tuple[Floats, Choices, bool] | None:
    """Depth first over the either-ors, pruned by the relaxed objective: no branch costs less than what it branches from."""
    stack, solved = [(-math.inf, Choices())], 0
    best: tuple[float, Floats, Choices] | None = None
    while stack and solved < _MOST_PROGRAMMES:
        least, choices = stack.pop()
        if best is not None and least > best[0] - 1e-9:
            continue
        rows = p.rows(choices)
        answer = solver(p, rows, p.clusters(rows))
        solved += 1
        if answer is None or (best is not None and answer[0] > best[0] - 1e-9):
            continue
        branches = _open_question(p, answer[1], choices)
        if branches:
            stack.extend((answer[0], branch) for branch in reversed(branches))
        else:
            best = (*answer, choices)
    return None if best is None else (best[1], best[2], not stack)


def _settled(p: Programme, x: Floats, choices: Choices) -> Choices:
    """The choices with every either-or that was left open settled as the inverts have it."""
    side = dict(choices.side)
    for i, k in p.crossings:
        if (i, k) not in side:
            slack = {name: p.crossing_row(i, k, name).slack(x) for name in ("over", "under")}
            side[(i, k)] = max(slack, key=lambda name: slack[name])
    lowest = dict(choices.lowest)
    for node in p.joints:
        lowest.setdefault(node, min(p.inlets[node], key=lambda i: float(x[2 * i + 1])))
    return Choices(side, lowest)


def _toward_best(p: Programme, x: Floats, choices: Choices, worth: float) -> Floats:
    """Least fall missing to the best slopes, for at most a share ``worth`` more digging; else as it was."""
    wishes = [
        i for i, run in enumerate(p.runs) if run.best_slope > run.least_slope and run.fixed_slope is None
    ]
    if not wishes or worth <= 0:
        return x
    rows = p.rows(_settled(p, x, choices))
    root = p.clusters(rows)
    n = p.count
    costs = np.concatenate([p.digging * _EACH_STATION, np.ones(len(wishes))])
    more = worth * _digging_m3(p, x) / sum(run.trench_width_m * run.length_m for run in p.runs)
    loose = [row for row in rows if not row.equal]
    bounds = [row.bound + p.margin(row, root) for row in loose]
    for j, i in enumerate(wishes):
        run = p.runs[i]
        loose.append(Row("", run.id, 0.0, {2 * i: 1.0, 2 * i + 1: -1.0, n + j: 1.0}, 0.0))
        bounds.append(run.best_slope * run.length_m)
    loose.append(Row("", "", 0.0, {v: -float(p.digging[v]) for v in range(n)}, 0.0))
    bounds.append(-float(p.digging @ x) - more)
    tight = [row for row in rows if row.equal]
    found = _least(costs, loose, bounds, tight, _limits(p) + [(0.0, np.inf)] * len(wishes))
    return found[1][:n] if found is not None else x


def _digging_m3(p: Programme, x: Floats) -> float:
    """Volume of the trenches to the outside bottom of the pipe."""
    volume = 0.0
    for i, run in enumerate(p.runs):
        station, ground, _ = stations(run)
        invert = x[2 * i] + (x[2 * i + 1] - x[2 * i]) * station / run.length_m
        depth = np.maximum(ground - invert + run.wall_m, 0.0)
        volume += run.trench_width_m * float(np.trapezoid(depth, station))
    return volume


def _verified(p: Programme, x: Floats, choices: Choices) -> tuple[Broken, ...]:
    """Every constraint again, on the rounded inverts; per run the worst place for each wanted cover."""
    worst: dict[tuple[str, str, float], Broken] = {}
    covers = {run.id: dict(zip(*_cover_by_station(run), strict=True)) for run in p.runs}
    for row in p.rows(_settled(p, x, choices), whole=True):
        short = -row.slack(x)
        if short <= TOLERANCE_M:
            continue
        wanted = covers[row.run_id].get(row.station_m, 0.0) if row.key == "cover" else 0.0
        key = (row.key, row.run_id, wanted)
        if key not in worst or short > worst[key].shortfall_m:
            worst[key] = Broken(row.key, row.run_id, row.station_m, float(short))
    return tuple(worst.values())


def _cover_by_station(run: RunLine) -> tuple[list[float], list[float]]:
    x, _, cover = stations(run)
    order = np.argsort(cover, kind="stable")
    return x[order].tolist(), cover[order].tolist()


def solve_inverts(
    *,
    runs: Sequence[RunLine],
    nodes: Sequence[NodeRule],
    grid_m: float,
    to_grid: Callable[[float], float] | None = None,
    meetings: Sequence[OwnCrossing] = (),
    best_slope_worth: float = 0.0,
) -> InvertSolution:
    """Choose the inverts of all runs for the least excavation.

    Parameters
    ----------
    runs
        Runs that lead to each other at nodes, each node with one outlet at most; no circle.
    nodes
        Rules of the nodes; one that is not listed is a start, an end, or a joint without drop.
    grid_m
        Step of the building grid, m (0.01 ft or 1 mm); above 0.
    to_grid
        Exact rounding to that grid; without it the nearest whole number of steps.
    meetings
        Where runs of the network cross each other in plan.
    best_slope_worth
        Share of the least excavation that may be dug more, to come nearer to the best slopes.

    Returns
    -------
    InvertSolution
        ``feasible`` with nothing broken, or the nearest inverts by ``SHORTFALL_WEIGHTS``.

    Raises
    ------
    InputError
        ``grid``; ``run-*``, ``node-*``, ``runs-in-a-circle``, ``own-crossing``, ``given-invert``,
        ``given-inverts-disagree``.

    Notes
    -----
    Drops and given slopes are taken to whole steps of the grid (a given slope never flatter), so that inverts
    that move together are rounded as one.
    """
    found = _found(runs, nodes, grid_m, to_grid, meetings, best_slope_worth, nearest=True)
    if found is None:
        raise InternalError("the elastic programme found no inverts", code="inverts-unsolved")
    return found


def fit_inverts(
    *,
    runs: Sequence[RunLine],
    nodes: Sequence[NodeRule],
    grid_m: float,
    to_grid: Callable[[float], float] | None = None,
    meetings: Sequence[OwnCrossing] = (),
    best_slope_worth: float = 0.0,
) -> InvertSolution | None:
    """Return the same where everything fits, else None. Raises as ``solve_inverts``."""
    found = _found(runs, nodes, grid_m, to_grid, meetings, best_slope_worth, nearest=False)
    return found if found is not None and found.feasible else None


def _found(
    runs: Sequence[RunLine],
    nodes: Sequence[NodeRule],
    grid_m: float,
    to_grid: Callable[[float], float] | None,
    meetings: Sequence[OwnCrossing],
    best_slope_worth: float,
    *,
    nearest: bool,
) -> InvertSolution | None:
    if not (math.isfinite(grid_m) and grid_m > 0):
        raise InputError(f"grid step {grid_m} m; it must be above 0", code="grid")
    for run in runs:
        check_run(run)
    rules = complete_rules(runs, nodes)
    check_meetings(runs, meetings)
    if not runs:
        return InvertSolution(True, {}, {}, 0.0, {}, (), {})

    def rounded(value_m: float) -> float:
        return round(value_m / grid_m) * grid_m

    p = Programme(runs, rules, grid_m, to_grid or rounded, meetings)
    found = _search(p, _solve_hard)
    if found is not None:
        found = (_toward_best(p, found[0], found[1], best_slope_worth), *found[1:])
    found = found or _search(p, _solve_grid) or (_search(p, _solve_elastic) if nearest else None)
    if found is None:
        return None
    x, choices, exact = found
    choices = _settled(p, x, choices)
    rows = p.rows(choices)
    x = p.rounded(x, p.clusters(rows))
    return _solution(p, x, choices, exact)


def _solution(p: Programme, x: Floats, choices: Choices, exact: bool) -> InvertSolution:
    broken = _verified(p, x, choices)
    binding: dict[str, list[str]] = {run.id: [] for run in p.runs}
    for row in p.rows(choices):
        if not row.equal and abs(row.slack(x)) <= 1.5 * p.grid_m and row.key not in binding[row.run_id]:
            binding[row.run_id].append(row.key)
    sides, least, where = {}, {}, {}
    for i, run in enumerate(p.runs):
        if 2 * i in p.fixed or 2 * i + 1 in p.fixed:
            binding[run.id].append("given-invert")
        if run.fixed_slope is not None:
            binding[run.id].append("given-slope")
        for k, crossing in enumerate(run.crossings):
            sides[(run.id, crossing.label)] = choices.side[(i, k)]
        station, ground, _ = stations(run)
        invert = x[2 * i] + (x[2 * i + 1] - x[2 * i]) * station / run.length_m
        cover = ground - invert - run.inside_diameter_m - run.wall_m
        least[run.id] = float(cover.min())
        where[run.id] = float(station[int(cover.argmin())])
    for m, item in enumerate(p.meetings):
        over = choices.side[(OWN, m)] == "over"
        sides[(item.first, item.second)] = "over" if over else "under"
        sides[(item.second, item.first)] = "under" if over else "over"
    return InvertSolution(
        feasible=not broken,
        upstream_invert_m={run.id: float(x[2 * i]) for i, run in enumerate(p.runs)},
        downstream_invert_m={run.id: float(x[2 * i + 1]) for i, run in enumerate(p.runs)},
        excavation_m3=_digging_m3(p, x),
        binding={run_id: tuple(keys) for run_id, keys in binding.items()},
        broken=broken,
        over_or_under=sides,
        lowest_inlet={
            node: p.runs[min(p.inlets[node], key=lambda i: float(x[2 * i + 1]))].id for node in p.joints
        },
        least_cover_m=least,
        least_cover_station_m=where,
        exact=exact,
    )
