"""Inverts: the programme against hand figures, brute force over the grid, and its own constraints."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.trench.inverts import Crossing, InvertSolution, NodeRule, RunLine, solve_inverts

GRID = 0.01
INSIDE, WALL = 0.100, 0.005


def run(id: str, a: str, b: str, length: float, ground: tuple[float, ...], **given: Any) -> RunLine:
    """A run with ground at even spacing, 0.30 m of cover, 1 % to 20 %."""
    values: dict[str, Any] = {
        "cover_m": (0.30,) * len(ground),
        "outside_diameter_m": INSIDE + 2 * WALL,
        "inside_diameter_m": INSIDE,
        "wall_m": WALL,
        "least_slope": 0.01,
        "greatest_slope": 0.20,
        "trench_width_m": 0.30,
    }
    values.update(given)
    stations = tuple(np.linspace(0, length, len(ground)))
    return RunLine(id, a, b, length, stations, ground, **values)


def ends(solution: InvertSolution, id: str) -> tuple[float, float]:
    return solution.upstream_invert_m[id], solution.downstream_invert_m[id]


def assert_obeys(runs: list[RunLine], nodes: list[NodeRule], solution: InvertSolution, grid: float) -> None:
    """Check every constraint from the printed inverts, by other code than the solver's."""
    tolerance = 2e-6
    rules = {node.id: node for node in nodes}
    for r in runs:
        up, down = ends(solution, r.id)
        for value in (up, down):
            assert value / grid == pytest.approx(round(value / grid), abs=1e-6)
        fall = up - down
        assert r.least_slope * r.length_m - tolerance <= fall <= r.greatest_slope * r.length_m + tolerance
        for x, ground, cover in zip(r.stations_m, r.ground_m, r.cover_m, strict=True):  # type: ignore[arg-type]
            top = up + (down - up) * x / r.length_m + r.inside_diameter_m + r.wall_m
            assert ground - top >= cover - tolerance
        for crossing in r.crossings:
            invert = up + (down - up) * crossing.station_m / r.length_m
            over = invert - r.wall_m >= crossing.top_m + crossing.clearance_m - tolerance
            under = (
                invert + r.inside_diameter_m + r.wall_m
                <= crossing.bottom_m - crossing.clearance_m + tolerance
            )
            assert over or under
            assert solution.over_or_under[(r.id, crossing.label)] == ("over" if over else "under")
    for name in {r.from_node for r in runs}:
        into = [ends(solution, r.id)[1] for r in runs if r.to_node == name]
        if not into:
            continue
        rule = rules.get(name, NodeRule(name, "wye"))
        out = next(ends(solution, r.id)[0] for r in runs if r.from_node == name)
        assert min(into) - out == pytest.approx(round(rule.drop_m / grid) * grid, abs=tolerance)
        if rule.kind == "wye":
            assert max(into) - min(into) <= tolerance


def test_one_run_on_level_ground_takes_the_least_cover_and_the_least_slope():
    """Level ground at 10.00: crown 0.30 down at the start, 1 % to the end."""
    solution = solve_inverts(runs=[run("P1", "D1", "W1", 10, (10.0, 10.0))], nodes=[], grid_m=0.001)
    assert solution.feasible
    assert ends(solution, "P1") == pytest.approx((9.594, 9.493), abs=0.0021)
    assert set(solution.binding["P1"]) == {"cover", "least-slope"}
    assert solution.least_cover_station_m["P1"] == 0.0
    # 0.30 wide, mean depth to the outside bottom (0.411 + 0.512) / 2, 10 m long
    assert solution.excavation_m3 == pytest.approx(0.30 * 0.4615 * 10, rel=0.01)


def test_steep_ground_is_followed():
    """Ground that falls 5 % at an even grade: the pipe lies parallel under it."""
    solution = solve_inverts(runs=[run("P1", "D1", "W1", 10, (10.0, 9.5))], nodes=[], grid_m=0.001)
    up, down = ends(solution, "P1")
    assert up - down == pytest.approx(0.5, abs=0.0021)


def test_a_walk_that_wants_more_cover_holds_the_run():
    """0.45 m of cover at mid-run only: the run turns about that place."""
    solution = solve_inverts(
        runs=[run("P1", "D1", "W1", 10, (10.0, 10.0, 10.0), cover_m=(0.3, 0.45, 0.3))], nodes=[], grid_m=0.001
    )
    assert solution.least_cover_m["P1"] >= 0.3 - 1e-6
    up, down = ends(solution, "P1")
    assert (up + down) / 2 == pytest.approx(10 - 0.45 - 0.105, abs=0.002)


def test_a_basin_drops_or_lifts_the_outlet():
    """Drop 0.05 lowers the outlet; a negative drop sets it over the inlet, which then stands in water."""
    runs = [run("P1", "D1", "B1", 10, (10.0, 10.0)), run("P2", "B1", "W1", 5, (10.0, 10.0))]
    down = solve_inverts(runs=runs, nodes=[NodeRule("B1", "basin", drop_m=0.05)], grid_m=GRID)
    rise = solve_inverts(runs=runs, nodes=[NodeRule("B1", "basin", drop_m=-0.05)], grid_m=GRID)
    assert ends(down, "P1")[1] - ends(down, "P2")[0] == pytest.approx(0.05)
    assert ends(rise, "P2")[0] - ends(rise, "P1")[1] == pytest.approx(0.05)


def test_inlets_of_a_wye_meet_and_of_a_basin_may_stand_apart():
    """A long and a short branch: level at the wye, the short one higher at the basin."""
    runs = [
        run("P1", "D1", "J", 20, (10.0, 10.0)),
        run("P2", "D2", "J", 4, (10.0, 10.0)),
        run("P3", "J", "W1", 5, (10.0, 10.0)),
    ]
    wye = solve_inverts(runs=runs, nodes=[NodeRule("J", "wye")], grid_m=GRID)
    basin = solve_inverts(runs=runs, nodes=[NodeRule("J", "basin")], grid_m=GRID)
    assert ends(wye, "P1")[1] == pytest.approx(ends(wye, "P2")[1])
    assert ends(basin, "P2")[1] > ends(basin, "P1")[1] + 0.1
    assert basin.lowest_inlet["J"] == "P1"
    assert ends(basin, "P1")[1] == pytest.approx(ends(basin, "P3")[0])


@pytest.mark.parametrize(("top", "side"), [(9.40, "over"), (9.62, "under")])
def test_a_crossing_is_passed_on_the_cheaper_side(top, side):
    """Room above a deep line, none above a shallow one."""
    crossing = Crossing(station_m=5.0, top_m=top, bottom_m=top - 0.05, clearance_m=0.10, label="gas")
    runs = [run("P1", "D1", "W1", 10, (10.0, 10.0), crossings=(crossing,))]
    solution = solve_inverts(runs=runs, nodes=[], grid_m=GRID)
    assert solution.feasible
    assert solution.over_or_under[("P1", "gas")] == side
    assert_obeys(runs, [], solution, GRID)


def test_the_nearest_inverts_say_what_is_missing():
    """Outlet fixed so high that 10 m leave 0.03 m of fall where 0.10 is wanted: short by 0.07."""
    runs = [run("P1", "D1", "E", 10, (10.0, 10.0), cover_m=(0.30, 0.0))]
    top = 10 - 0.30 - INSIDE - WALL
    solution = solve_inverts(runs=runs, nodes=[NodeRule("E", "end", fixed_invert_m=top - 0.03)], grid_m=0.001)
    assert not solution.feasible
    (broken,) = solution.broken
    assert (broken.constraint, broken.run_id) == ("least-slope", "P1")
    assert broken.shortfall_m == pytest.approx(0.07, abs=0.0021)
    assert solution.downstream_invert_m["P1"] == top - 0.03


def test_runs_in_a_row_share_a_shortfall_of_fall():
    """Two equal runs between a start and an outlet that are too close in elevation."""
    runs = [
        run("P1", "D1", "J", 10, (10.0, 10.0), cover_m=(0.3, 0.0)),
        run("P2", "J", "E", 10, (10.0, 10.0), cover_m=(0.0, 0.0)),
    ]
    end = 10 - 0.30 - INSIDE - WALL - 0.10
    solution = solve_inverts(runs=runs, nodes=[NodeRule("E", "end", fixed_invert_m=end)], grid_m=0.001)
    short = {b.run_id: b.shortfall_m for b in solution.broken}
    assert set(short) == {"P1", "P2"}
    assert short["P1"] == pytest.approx(short["P2"], abs=0.003)
    assert sum(short.values()) == pytest.approx(0.10, abs=0.004)


def test_given_values_stay_and_what_they_break_is_named():
    """A sketched run that rises: kept as given, short of slope by its rise and the wanted fall."""
    runs = [
        run("P1", "D1", "W1", 10, (10.0, 10.0), fixed_upstream_invert_m=9.50, fixed_downstream_invert_m=9.55)
    ]
    solution = solve_inverts(runs=runs, nodes=[], grid_m=GRID)
    assert ends(solution, "P1") == (9.50, 9.55)
    assert [(b.constraint, round(b.shortfall_m, 6)) for b in solution.broken] == [("least-slope", 0.15)]


def test_given_slope_is_kept_on_the_grid():
    """A given 2 % over 10 m is 0.20 m of fall; equal to the least slope it still fits."""
    runs = [run("P1", "D1", "W1", 10, (10.0, 10.0), fixed_slope=0.02, least_slope=0.02)]
    solution = solve_inverts(runs=runs, nodes=[], grid_m=GRID)
    assert solution.feasible
    up, down = ends(solution, "P1")
    assert up - down == pytest.approx(0.20)
    assert "given-slope" in solution.binding["P1"]


def test_a_fit_of_exactly_one_grid_value_is_found():
    """End fixed, start must be at least and at most 9.60: no half step to spare."""
    runs = [run("P1", "D1", "E", 10, (10.005, 10.0), cover_m=(0.30, 0.0))]
    solution = solve_inverts(runs=runs, nodes=[NodeRule("E", "end", fixed_invert_m=9.50)], grid_m=0.10)
    assert solution.feasible
    assert solution.upstream_invert_m["P1"] == pytest.approx(9.60)


def test_node_limits_hold_and_are_named_when_broken():
    """A well that takes no pipe above 9.30; one that takes none below 9.70 is broken by cover."""
    runs = [run("P1", "D1", "W1", 10, (10.0, 10.0))]
    low = solve_inverts(runs=runs, nodes=[NodeRule("W1", "end", greatest_invert_m=9.30)], grid_m=GRID)
    assert low.feasible
    assert low.downstream_invert_m["P1"] <= 9.30 + 1e-9
    high = solve_inverts(runs=runs, nodes=[NodeRule("W1", "end", least_invert_m=9.70)], grid_m=GRID)
    assert not high.feasible
    assert {b.constraint for b in high.broken} <= {"cover", "least-slope", "node-least-invert:W1"}


def test_to_grid_is_used():
    """Hundredths of a foot: every invert a whole number of 0.003048 m."""
    step = 0.003048
    solution = solve_inverts(
        runs=[run("P1", "D1", "W1", 10, (10.0, 9.9))],
        nodes=[],
        grid_m=step,
        to_grid=lambda value: round(value / step) * 3048 / 1e6,
    )
    for value in ends(solution, "P1"):
        assert value in (round(value / step) * 3048 / 1e6,)


@pytest.mark.parametrize(
    ("runs", "nodes", "code"),
    [
        ([run("P1", "A", "B", 5, (10, 10)), run("P1", "B", "C", 5, (10, 10))], [], "run-twice"),
        ([run("P1", "A", "B", 5, (10, 10)), run("P2", "B", "A", 5, (10, 10))], [], "runs-in-a-circle"),
        ([run(id, *ends, 5, (10, 10)) for id, ends in (("P1", "AB"), ("P2", "BC"), ("P3", "BD"))],
         [], "node-two-outlets"),
        ([run("P1", "A", "B", 5, (10, 10))], [NodeRule("A", "end")], "node-ends"),
        ([run("P1", "A", "B", 5, (10, 10))], [NodeRule("B", "basin")], "node-ends"),
        ([run("P1", "A", "B", 5, (10, 10))], [NodeRule("A", "start"), NodeRule("A", "start")], "node-twice"),
        ([run("P1", "A", "B", 0, (10, 10))], [], "run-length"),
        ([run("P1", "A", "B", 5, (10, 10), cover_m=(0.3,))], [], "run-stations"),
        ([run("P1", "A", "B", 5, (10, float("nan")))], [], "run-stations"),
        ([run("P1", "A", "B", 5, (10, 10), inside_diameter_m=0)], [], "run-size"),
        ([run("P1", "A", "B", 5, (10, 10), least_slope=0.3)], [], "run-slopes"),
        ([run("P1", "A", "B", 5, (10, 10), crossings=(Crossing(9, 9, 8, 0, "x"),))], [], "run-crossing"),
        ([run("P1", "A", "B", 5, (10, 10), fixed_downstream_invert_m=9.0)],
         [NodeRule("B", "end", fixed_invert_m=9.1)], "given-inverts-disagree"),
        ([run("P1", "A", "B", 5, (10, 10), fixed_upstream_invert_m=float("inf"))], [], "given-invert"),
    ],
)  # fmt: skip
def test_nonsense_is_refused(runs, nodes, code):
    """Each with a code and a message that names the run or node."""
    with pytest.raises(InputError) as caught:
        solve_inverts(runs=runs, nodes=nodes, grid_m=GRID)
    assert caught.value.code == code


def test_a_bad_grid_is_refused_and_no_runs_need_no_answer():
    """Grid above 0; an empty network is solved."""
    with pytest.raises(InputError) as caught:
        solve_inverts(runs=[], nodes=[], grid_m=0)
    assert caught.value.code == "grid"
    assert solve_inverts(runs=[], nodes=[], grid_m=GRID).feasible


def _digging(runs: list[RunLine], inverts: dict[str, tuple[float, float]]) -> float:
    return sum(-r.trench_width_m * r.length_m * sum(inverts[r.id]) / 2 for r in runs)


@pytest.mark.parametrize("kind", ["wye", "basin"])
@pytest.mark.parametrize("crossed", [False, True])
def test_brute_force_over_the_grid_digs_no_less(kind, crossed):
    """Three runs, every grid value of every end within 0.5 m: within one step of the best."""
    grid = 0.05
    crossing = (Crossing(2.0, 9.52, 9.46, 0.05, "cable"),) if crossed else ()
    runs = [
        run("P1", "D1", "J", 4, (10.0, 9.9), crossings=crossing),
        run("P2", "D2", "J", 2, (9.8, 9.9)),
        run("P3", "J", "W1", 3, (9.9, 9.7)),
    ]
    nodes = [NodeRule("J", kind, drop_m=0.05)]
    values = [round(9.0 + grid * i, 2) for i in range(16)]

    def fits(r: RunLine, up: float, down: float) -> bool:
        if not r.least_slope * r.length_m <= up - down + 1e-9 <= r.greatest_slope * r.length_m + 2e-9:
            return False
        for x, ground, cover in zip(r.stations_m, r.ground_m, r.cover_m, strict=True):  # type: ignore[arg-type]
            if ground - (up + (down - up) * x / r.length_m) - INSIDE - WALL < cover - 1e-9:
                return False
        for c in r.crossings:
            at = up + (down - up) * c.station_m / r.length_m
            over = at - WALL >= c.top_m + c.clearance_m - 1e-9
            under = at + INSIDE + WALL <= c.bottom_m - c.clearance_m + 1e-9
            if not (over or under):
                return False
        return True

    pairs = {r.id: [p for p in itertools.product(values, values) if fits(r, *p)] for r in runs}
    best = np.inf
    for p1, p2 in itertools.product(pairs["P1"], pairs["P2"]):
        low = min(p1[1], p2[1])
        if kind == "wye" and p1[1] != p2[1]:
            continue
        for p3 in pairs["P3"]:
            if abs(low - 0.05 - p3[0]) < 1e-9:
                best = min(best, _digging(runs, {"P1": p1, "P2": p2, "P3": p3}))
    solution = solve_inverts(runs=runs, nodes=nodes, grid_m=grid)
    assert solution.feasible
    assert_obeys(runs, nodes, solution, grid)
    ours = _digging(runs, {r.id: ends(solution, r.id) for r in runs})
    one_step = sum(r.trench_width_m * r.length_m for r in runs) * grid
    assert best - 1e-9 <= ours <= best + one_step


@st.composite
def trees(draw: st.DrawFn) -> tuple[list[RunLine], list[NodeRule]]:
    """A random tree of up to five runs with ground, crossings, drops; feasible, for nothing is fixed."""
    count = draw(st.integers(1, 5))
    heights = st.floats(9.0, 11.0)
    runs, nodes = [], []
    for i in range(count):
        onward = draw(st.integers(0, i - 1)) if i else None
        target = "W1" if onward is None else f"N{onward}"
        length = draw(st.floats(1.0, 25.0))
        ground = tuple(draw(st.lists(heights, min_size=2, max_size=4)))
        crossings = tuple(
            Crossing(length * draw(st.floats(0, 1)), top, top - 0.1, 0.1, f"line {k}")
            for k, top in enumerate(draw(st.lists(st.floats(8.5, 10.5), max_size=2)))
        )
        runs.append(run(f"P{i}", f"N{i}", target, length, ground, crossings=crossings, greatest_slope=5.0))
    for name in {r.to_node for r in runs} - {"W1"}:
        nodes.append(
            NodeRule(name, draw(st.sampled_from(["wye", "basin"])), drop_m=draw(st.floats(-0.1, 0.2)))
        )
    return runs, nodes


@settings(max_examples=60, deadline=None)
@given(trees(), st.sampled_from([0.001, 0.003048, 0.01]))
def test_random_trees_obey_every_constraint(tree, grid):
    """Deep enough there is always room; the answer obeys all, on the grid."""
    runs, nodes = tree
    solution = solve_inverts(runs=runs, nodes=nodes, grid_m=grid)
    assert solution.feasible, solution.broken
    assert_obeys(runs, nodes, solution, grid)


@settings(max_examples=60, deadline=None)
@given(trees(), st.floats(8.0, 11.5), st.floats(0.0, 0.05))
def test_random_fixed_outlets_always_have_an_answer(tree, outlet, least_slope):
    """The outlet stays where it is given; what the inverts break is what is listed, no more and no less."""
    runs, nodes = tree
    runs = [replace(r, least_slope=least_slope) for r in runs]
    nodes = [*nodes, NodeRule("W1", "end", fixed_invert_m=round(outlet, 3))]
    solution = solve_inverts(runs=runs, nodes=nodes, grid_m=0.001)
    assert all(solution.downstream_invert_m[r.id] == round(outlet, 3) for r in runs if r.to_node == "W1")
    assert all(b.shortfall_m > 0 for b in solution.broken)
    if solution.feasible:
        assert_obeys(runs, nodes, solution, 0.001)
    else:
        with pytest.raises(AssertionError):
            assert_obeys(runs, nodes, solution, 0.001)
