"""Wells in series and linked wells over 50 years of hours, per well, against the bare loop of ``kernel``.

python benchmarks/series.py
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import kernel
import numpy as np

from roofwell.physics import network

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


def measure(what: str, stores: Sequence[network.Store], bare_compiled: Any) -> None:
    """Print the time per well over that of the bare loop for one."""
    inflow = kernel.rain_m3_s()
    arriving = np.ascontiguousarray(np.tile(inflow[:, None], (1, len(stores))))
    store = stores[0]

    def bare() -> None:
        results = [np.empty(kernel.STEPS) for _ in range(3)]
        bare_compiled(inflow, kernel.HOUR_S, store.volume_m3, store.soakage_m3_s, *results)

    def run() -> tuple[network.Trace, ...]:
        return network.simulate(stores, arriving, step_s=kernel.HOUR_S)

    traces = run()
    bare()
    a, b = [], []
    for _ in range(5):
        a.append(kernel.seconds(bare, 3))
        b.append(kernel.seconds(run, 3) / len(stores))
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
