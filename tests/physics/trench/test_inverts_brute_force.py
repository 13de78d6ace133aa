"""The least digging against every value of the grid, on small random trees with lines and runs in the way."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.trench.inverts import (
    Crossing,
    InvertSolution,
    NodeRule,
    OwnCrossing,
    RunLine,
    fit_inverts,
    solve_inverts,
)

GRID = 0.05
INSIDE, WALL = 0.100, 0.005
VALUES = [round(8.6 + GRID * i, 2) for i in range(24)]
Pairs = np.ndarray[Any, Any]


def run(id: str, a: str, b: str, length: float, ground: tuple[float, ...], **more: Any) -> RunLine:
    values: dict[str, Any] = {
        "cover_m": (0.30,) * len(ground),
        "least_slope": 0.01,
        "greatest_slope": 0.5,
    } | more
    stations = tuple(np.linspace(0, length, len(ground)))
    return RunLine(
        id, a, b, length, stations, ground, values.pop("cover_m"), INSIDE + 2 * WALL, INSIDE, WALL,
        trench_width_m=0.3, **values,
    )  # fmt: skip


def pairs_that_fit(r: RunLine, spare: float) -> Pairs:
    """Every pair of ends that keeps the run's own constraints, each by ``spare`` half steps more."""
    out = []
    half = spare * GRID / 2
    for up, down in itertools.product(VALUES, VALUES):
        fall = up - down
        if fall < r.least_slope * r.length_m + 2 * half - 1e-9:
            continue
        if fall > r.greatest_slope * r.length_m - 2 * half + 1e-9:
            continue
        at = [up - fall * x / r.length_m for x in r.stations_m]  # type: ignore[union-attr]
        covers = zip(at, r.ground_m, r.cover_m, strict=True)  # type: ignore[arg-type]
        if any(g - z - INSIDE - WALL < c + half - 1e-9 for z, g, c in covers):
            continue
        depths = zip(at, r.ground_m, strict=True)  # type: ignore[arg-type]
        if any(g - z + WALL > r.greatest_depth_m - half + 1e-9 for z, g in depths):
            continue
        if all(_passes(up - fall * c.station_m / r.length_m, c, half) for c in r.crossings):
            out.append((up, down))
    return np.array(out).reshape(-1, 2)


def _passes(z: float, c: Crossing, half: float) -> bool:
    over = z - WALL >= c.top_m + c.clearance_m + half - 1e-9
    return over or z + INSIDE + WALL <= c.bottom_m - c.clearance_m - half + 1e-9


def least_digging(
    runs: list[RunLine], kind: str, drop: float, meetings: list[OwnCrossing], spare: float
) -> float:
    """Two branches into J and one run on from it: every combination that fits; infinity if none does."""
    one, two, last = (pairs_that_fit(r, spare) for r in runs)
    if not (len(one) and len(two) and len(last)):
        return np.inf
    weight = [-r.trench_width_m * r.length_m / 2 for r in runs]
    shape = (len(one), len(two))
    good = np.ones(shape, dtype=bool)
    for m in meetings:
        z1 = one[:, 0] - (one[:, 0] - one[:, 1]) * m.first_station_m / runs[0].length_m
        z2 = two[:, 0] - (two[:, 0] - two[:, 1]) * m.second_station_m / runs[1].length_m
        apart = np.abs(z1[:, None] - z2[None, :]) - INSIDE - 2 * WALL
        good &= apart >= m.clearance_m + spare * GRID - 1e-9
    low = np.minimum(one[:, 1][:, None], two[:, 1][None, :])
    if kind == "wye":
        good &= np.abs(one[:, 1][:, None] - two[:, 1][None, :]) < 1e-9
    digging = weight[0] * one.sum(axis=1)[:, None] + weight[1] * two.sum(axis=1)[None, :]
    onward = np.full(shape, np.inf)
    for value in VALUES:
        here = last[np.abs(last[:, 0] - value) < 1e-9]
        if len(here):
            onward[np.abs(low - drop - value) < 1e-9] = weight[2] * here.sum(axis=1).max()
    total = np.where(good, digging + onward, np.inf)
    return float(total.min())


def digging_of(runs: list[RunLine], solution: InvertSolution) -> float:
    ends = [(solution.upstream_invert_m[r.id], solution.downstream_invert_m[r.id]) for r in runs]
    return sum(-r.trench_width_m * r.length_m * sum(e) / 2 for r, e in zip(runs, ends, strict=True))


@st.composite
def trees(draw: st.DrawFn) -> tuple[list[RunLine], str, float, list[OwnCrossing]]:
    """Ground about 9.8; a line in the way of some runs; the two branches may cross before they meet."""
    height = st.integers(960, 1000).map(lambda h: h / 100)
    runs = []
    for id, a, b in (("P1", "D1", "J"), ("P2", "D2", "J"), ("P3", "J", "W1")):
        length = float(draw(st.integers(2, 6)))
        crossings = ()
        if draw(st.booleans()):
            top = draw(st.integers(900, 970)) / 100
            crossings = (Crossing(length * draw(st.integers(0, 4)) / 4, top, top - 0.05, 0.05, "cable"),)
        ground = tuple(draw(st.lists(height, min_size=2, max_size=4)))
        cover = tuple(draw(st.sampled_from([0.3, 0.4])) for _ in ground)
        deep = draw(st.sampled_from([np.inf, 1.0]))
        runs.append(run(id, a, b, length, ground, crossings=crossings, cover_m=cover, greatest_depth_m=deep))
    meetings = []
    if draw(st.booleans()):
        one, two = (draw(st.sampled_from([0.25, 0.5, 0.75])) for _ in range(2))
        meetings.append(OwnCrossing("P1", one * runs[0].length_m, "P2", two * runs[1].length_m, 0.05))
    return runs, draw(st.sampled_from(["wye", "basin"])), draw(st.sampled_from([0.0, 0.05, -0.05])), meetings


@settings(max_examples=60, deadline=None)
@given(trees())
def test_no_combination_of_the_grid_digs_less_and_none_with_room_digs_much_less(tree):
    """Never less than the best of all; at most the rounding more than the best of those with half a step spare."""
    runs, kind, drop, meetings = tree
    nodes = [NodeRule("J", kind, drop_m=drop)]
    best = least_digging(runs, kind, drop, meetings, spare=0.0)
    with_room = least_digging(runs, kind, drop, meetings, spare=1.0)
    found = fit_inverts(runs=runs, nodes=nodes, grid_m=GRID, meetings=meetings)
    if found is None:
        assert best == np.inf
        return
    lowest = min(min(found.downstream_invert_m.values()), min(found.upstream_invert_m.values()))
    if lowest < VALUES[0]:  # deeper than what was tried
        assert with_room == np.inf or digging_of(runs, found) <= with_room
        return
    assert found.exact
    ours = digging_of(runs, found)
    rounding = sum(r.trench_width_m * r.length_m for r in runs) * GRID / 2
    assert best - 1e-6 <= ours <= with_room + rounding + 1e-6


def test_two_runs_that_cross_pass_over_each_other_with_the_clearance():
    """By hand on level ground: the shallower passes over; outside diameter and clearance lie between the inverts."""
    runs = [run("P1", "D1", "E", 10, (10.0, 10.0)), run("P2", "D2", "F", 10, (10.0, 10.0))]
    meeting = OwnCrossing("P1", 2.0, "P2", 8.0, 0.15)
    solution = solve_inverts(runs=runs, nodes=[], grid_m=0.001, meetings=[meeting])
    assert solution.feasible
    z1 = solution.upstream_invert_m["P1"] - 0.2 * (
        solution.upstream_invert_m["P1"] - solution.downstream_invert_m["P1"]
    )
    z2 = solution.upstream_invert_m["P2"] - 0.8 * (
        solution.upstream_invert_m["P2"] - solution.downstream_invert_m["P2"]
    )
    assert z1 - z2 == pytest.approx(INSIDE + 2 * WALL + 0.15, abs=0.003)
    assert solution.over_or_under[("P1", "P2")] == "over"
    assert solution.over_or_under[("P2", "P1")] == "under"


def test_two_given_runs_that_touch_are_short_of_their_clearance():
    """By hand: inverts 9.50 and 9.55 where 0.11 and 0.15 must lie between: 0.21 short."""
    runs = [
        run("P1", "D1", "E", 10, (10.0, 10.0), fixed_upstream_invert_m=9.60, fixed_downstream_invert_m=9.40),
        run("P2", "D2", "F", 10, (10.0, 10.0), fixed_upstream_invert_m=9.60, fixed_downstream_invert_m=9.50),
    ]
    meeting = OwnCrossing("P1", 5.0, "P2", 5.0, 0.15)
    solution = solve_inverts(runs=runs, nodes=[], grid_m=0.001, meetings=[meeting])
    found = {b.constraint: b.shortfall_m for b in solution.broken if b.constraint.startswith("crossing")}
    assert found == pytest.approx({"crossing:P2": 0.21}, abs=1e-6)


def test_a_best_slope_is_taken_as_far_as_its_digging_is_worth():
    """By hand: 10 m of level ground; 1 % digs 0.30 x 10 x 0.461; 1 % more of slope digs 0.15 m3 more."""
    runs = [run("P1", "D1", "E", 10, (10.0, 10.0), best_slope=0.02)]
    falls = {}
    for worth in (0.0, 0.05, 0.5):
        solution = solve_inverts(runs=runs, nodes=[], grid_m=0.001, best_slope_worth=worth)
        falls[worth] = solution.upstream_invert_m["P1"] - solution.downstream_invert_m["P1"]
    assert falls[0.0] == pytest.approx(0.10, abs=0.003)
    assert falls[0.5] == pytest.approx(0.20, abs=0.003)
    least = 0.30 * 10 * 0.461
    assert falls[0.05] - falls[0.0] == pytest.approx(0.05 * least / (0.30 * 10 / 2), abs=0.004)


def test_a_trench_stays_above_its_greatest_depth_or_says_so():
    """By hand: a hollow of the ground wants cover in mid-run, so the ends lie deep; 0.80 is too little there."""
    ground, cover = (10.0, 9.7, 10.0), (0.3, 0.3, 0.3)
    deep = run("P1", "D1", "E", 10, ground, cover_m=cover, greatest_depth_m=1.0)
    assert fit_inverts(runs=[deep], nodes=[], grid_m=0.001) is not None
    shallow = run("P1", "D1", "E", 10, ground, cover_m=cover, greatest_depth_m=0.72)
    assert fit_inverts(runs=[shallow], nodes=[], grid_m=0.001) is None
    solution = solve_inverts(runs=[shallow], nodes=[], grid_m=0.001)
    # pipe bottom 0.30 + 0.11 under 9.7 at mid-run and 0.05 lower at the end: 0.76 deep there
    assert {b.constraint for b in solution.broken} <= {"depth", "least-slope"}
    assert sum(b.shortfall_m for b in solution.broken) == pytest.approx(0.04, abs=0.004)


@pytest.mark.parametrize(
    ("meeting", "code"),
    [
        (OwnCrossing("P1", 5.0, "P9", 5.0, 0.1), "own-crossing"),
        (OwnCrossing("P1", 5.0, "P1", 6.0, 0.1), "own-crossing"),
        (OwnCrossing("P1", 11.0, "P2", 5.0, 0.1), "own-crossing"),
    ],
)
def test_a_crossing_of_no_runs_is_refused(meeting, code):
    runs = [run("P1", "D1", "E", 10, (10.0, 10.0)), run("P2", "D2", "F", 10, (10.0, 10.0))]
    with pytest.raises(InputError) as caught:
        solve_inverts(runs=runs, nodes=[], grid_m=GRID, meetings=[meeting])
    assert caught.value.code == code
