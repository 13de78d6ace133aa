"""Wells in series and linked wells over 50 years of hours, per well, against the bare loop of ``kernel``.

    python benchmarks/series.py

The wells are followed as the long record is: some thousand steps at a time, nothing kept of them but the last. The bare
loop keeps three numbers for every step. Processor time.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import kernel
import numpy as np

from roofwell.physics import network
from roofwell.system.well_record import STEPS_AT_ONCE

SEGMENTS = 4
DRAIN_H = 36.0


def in_series(count: int) -> list[network.Store]:
    """Wells of which each spills into the next; rain falls into all."""
    return [
        replace(kernel.well(SEGMENTS, DRAIN_H), overflow_to=k + 1 if k + 1 < count else None)
        for k in range(count)
    ]


def linked(count: int) -> list[network.Store]:
    """Pairs of linked wells, each pair by itself."""
    out = []
    for k in range(count):
        store = kernel.well(SEGMENTS, DRAIN_H)
        stage = network.Stage(store.volume_m3, store.volume_m3 / 3.0 + 0.1 * (k % 2))
        stage = replace(stage, level_m=stage.level_m * (1.1 / stage.level_m[-1]))
        out.append(replace(store, stage=stage, link=network.Link(k - 1, 0.4) if k % 2 else None))
    return out


def processor_seconds(work: Callable[[], object], repeats: int) -> float:
    """Best of many runs."""
    taken = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def measure(what: str, stores: Sequence[network.Store], bare_compiled: Any) -> None:
    """Print the time per well over that of the bare loop for one."""
    inflow = kernel.rain_m3_s()
    arriving = np.ascontiguousarray(np.tile(inflow[:, None], (1, len(stores))))
    store = stores[0]

    def bare() -> None:
        results = [np.empty(kernel.STEPS) for _ in range(3)]
        bare_compiled(inflow, kernel.HOUR_S, store.volume_m3, store.soakage_m3_s, *results)

    def run() -> None:
        standing = network.Standing()
        for first in range(0, kernel.STEPS, STEPS_AT_ONCE):
            piece = arriving[first : first + STEPS_AT_ONCE]
            network.simulate(stores, piece, step_s=kernel.HOUR_S, standing=standing)

    traces = network.simulate(stores, arriving, step_s=kernel.HOUR_S)
    run()
    bare()
    a, b = [], []
    for _ in range(5):
        a.append(processor_seconds(bare, 3))
        b.append(processor_seconds(run, 3) / len(stores))
    ratio = statistics.median(y / x for x, y in zip(a, b, strict=True))
    balance = max(network.balance_error(trace) for trace in traces)
    print(f"{what:14s} {min(a) * 1e3:6.2f} ms {min(b) * 1e3:6.2f} ms per well  {ratio:5.2f}   {balance:.0e}")


if __name__ == "__main__":
    import numba

    loop: Any = numba.njit(error_model="numpy")(kernel.bare)
    for count in (1, 2, 4):
        measure(f"{count} in series", in_series(count), loop)
    for count in (2, 4):
        measure(f"{count} linked", linked(count), loop)
