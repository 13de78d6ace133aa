"""How long the levels of a whole tree take: 2 downspouts and 1 well, 12 downspouts and 3 wells, and why nothing fits."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np

from roofwell.physics.trench.conflict import find_conflicts
from roofwell.physics.trench.inverts import (
    Crossing,
    NodeRule,
    OwnCrossing,
    RunLine,
    fit_inverts,
    solve_inverts,
)

GRID_M = 0.003048
RUNS = 7


def network(wells: int, spouts: int) -> dict[str, Any]:
    """Return an invented network: a trunk with a wye for each downspout, a basin, a well; walks and lines in the way."""
    random = np.random.default_rng(1)
    runs: list[RunLine] = []

    def add(start: str, end: str, length: float) -> None:
        x = np.linspace(0, length, int(length) + 1)
        ground = 30 + 0.2 * random.random(x.size) - 0.02 * x
        walk = (x > 3) & (x < 5)
        lines: tuple[Crossing, ...] = ()
        if random.random() < 0.4:
            lines = (Crossing(length / 2, 29.2 - 0.5 * random.random(), 28.6, 0.15, "gas"),)
        runs.append(
            RunLine(
                f"P{len(runs) + 1}",
                start,
                end,
                length,
                tuple(x),
                tuple(ground),
                tuple(np.where(walk, 0.45, 0.30)),
                0.107,
                0.101,
                0.003,
                0.01,
                0.2,
                0.5,
                lines,
                best_slope=0.02,
                greatest_depth_m=2.4,
                cover_names=tuple(np.where(walk, "walk", "lawn")),
            )
        )

    for w in range(wells):
        joints = [f"Y{w}{k}" for k in range(1, spouts)]
        for k, joint in enumerate(joints):
            add(f"D{w}{k}", joint, 8 + 6 * random.random())
            if k:
                add(joints[k - 1], joint, 6 + 4 * random.random())
        add(f"D{w}{spouts - 1}", joints[-1], 7.0)
        add(joints[-1], f"B{w}", 6.0)
        add(f"B{w}", f"W{w}", 3.0)
    meetings = [OwnCrossing("P1", 4.0, runs[-3].id, 3.0, 0.15)] if wells > 1 else []
    nodes = [NodeRule(f"B{w}", "basin", drop_m=0.0254) for w in range(wells)]
    nodes += [NodeRule(f"W{w}", "end", greatest_invert_m=29.0) for w in range(wells)]
    return {"runs": runs, "nodes": nodes, "grid_m": GRID_M, "meetings": meetings}


def seconds(call: Callable[[], object]) -> float:
    """Return the median wall-clock time of a call, once warm, s."""
    call()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return sorted(times)[RUNS // 2]


def main() -> None:
    """Print the figures."""
    for wells, spouts in ((1, 2), (3, 4)):
        fits = network(wells, spouts)
        ends = [n if n.kind != "end" else replace(n, fixed_inlet_invert_m=29.35) for n in fits["nodes"]]
        not_so = fits | {"nodes": ends}
        name = f"{wells * spouts} downspouts, {wells} wells" if wells > 1 else f"{spouts} downspouts, 1 well"
        found = fit_inverts(**fits, best_slope_worth=0.05)
        print(f"{name}, {len(fits['runs'])} runs; fits: {found is not None}")
        rows = {
            "levels": partial(fit_inverts, **fits, best_slope_worth=0.05),
            "nearest, no fit": partial(solve_inverts, **not_so),
            "why not": partial(find_conflicts, **not_so),
        }
        for row, call in rows.items():
            print(f"  {row:18} {1e3 * seconds(call):7.1f} ms")


if __name__ == "__main__":
    main()
