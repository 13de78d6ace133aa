"""How fast the kernel is: one well over 50 years of hours, against a bare compiled bucket.

    python benchmarks/kernel.py

The bare loop is the least that anyone could write: one forward step per hour, soakage looked up at the
start of the hour, no breakpoints, no capacity, no balance. It writes what a report needs (volume, soaked,
spilled). The rain is made up here (an alternating series of wet spells and dry gaps with a fixed seed), so
that the benchmark needs no file.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from roofwell.physics import compiled, network

FloatArray = NDArray[np.float64]

HOUR_S = 3600.0
STEPS = 50 * 8766
SEED = 20130607


def bare(
    inflow: FloatArray,
    step: float,
    nodes: FloatArray,
    soakage: FloatArray,
    volume_end: FloatArray,
    soaked: FloatArray,
    spilled: FloatArray,
) -> None:
    """One forward step per hour."""
    volume = 0.0
    last = nodes.shape[0] - 1
    for n in range(inflow.shape[0]):
        i = 0
        while i < last - 1 and volume > nodes[i + 1]:
            i += 1
        rate = soakage[i] + (soakage[i + 1] - soakage[i]) * (volume - nodes[i]) / (nodes[i + 1] - nodes[i])
        volume += inflow[n] * step
        out = min(volume, rate * step)
        volume -= out
        over = max(volume - nodes[last], 0.0)
        volume -= over
        volume_end[n] = volume
        soaked[n] = out
        spilled[n] = over


def rain_m3_s() -> FloatArray:
    """Made-up inflow of a roof of 90 m², m³/s: about 1.1 m of rain a year, wet 6 % of the hours."""
    rng = np.random.default_rng(SEED)
    inflow = np.zeros(STEPS)
    at = 0
    while at < STEPS:
        at += 1 + int(rng.exponential(75.0))
        wet = 1 + int(rng.exponential(5.0))
        inflow[at : at + wet] = rng.exponential(2.1e-3, size=wet)[: max(STEPS - at, 0)] * 90.0 / HOUR_S
        at += wet
    return inflow


def well(segments: int, drain_h: float) -> network.Store:
    """A well of 3 m³ that soaks through bottom and sides, with a bend at each of its segments."""
    depth = np.linspace(0.0, 1.0, segments + 1)
    shape = 0.25 + 0.75 * depth**1.3
    return network.Store(3.0 * depth, shape * 3.0 / (drain_h * HOUR_S), empty_m3=0.003)


def seconds(work: Callable[[], object], repeats: int = 15) -> float:
    """Best of many runs: what else the machine does only ever adds to it."""
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def loop_ratio() -> None:
    """Print the time of the kernel over that of the bare loop, by segments and by drain time."""
    import numba

    bare_compiled: Any = numba.njit(error_model="numpy")(bare)
    inflow = rain_m3_s()
    print(f"{STEPS} hours, {inflow.sum() * HOUR_S / 90 / 50 * 1000:.0f} mm a year")
    print("segments  drains in     bare   kernel   ratio   balance")
    for segments in (1, 2, 4, 6, 8):
        for drain_h in (12.0, 36.0, 96.0):
            store = well(segments, drain_h)

            def run_bare(store: network.Store = store) -> None:
                results = [np.empty(STEPS) for _ in range(3)]
                bare_compiled(inflow, HOUR_S, store.volume_m3, store.soakage_m3_s, *results)

            def run_kernel(store: network.Store = store) -> tuple[network.Trace, ...]:
                return network.simulate([store], inflow[:, None], step_s=HOUR_S)

            (trace,) = run_kernel()
            run_bare()
            a, b = [], []
            for _ in range(3):
                a.append(seconds(run_bare, 5))
                b.append(seconds(run_kernel, 5))
            ratio = statistics.median(y / x for x, y in zip(a, b, strict=True))
            times = f"{min(a) * 1e3:5.2f} ms {min(b) * 1e3:5.2f} ms"
            balance = network.balance_error(trace)
            print(f"{segments:8d}  {drain_h:6.0f} h  {times}  {ratio:5.2f}   {balance:.0e}")


def ready() -> None:
    """Print how long a fresh program waits for the compiled code, with an empty cache and with a full one.

    As the commands load it: without the collector of garbage, with numpy and scipy in place.
    """
    script = (
        "import gc, time; gc.disable(); import numpy, scipy.optimize; from roofwell.physics import compiled\n"
        "start = time.perf_counter(); import numba; loaded = time.perf_counter()\n"
        "how = compiled.kernel().how; end = time.perf_counter()\n"
        "print(f'numba {loaded - start:.2f} s + kernel {end - loaded:.2f} s, {how}')\n"
    )
    with tempfile.TemporaryDirectory() as folder:
        for what in ("first run", "next run", "next run"):
            done = subprocess.run(
                [sys.executable, "-c", script],
                env={**os.environ, "NUMBA_CACHE_DIR": folder},
                check=True,
                capture_output=True,
                text=True,
            )
            print(f"{what}: {done.stdout.strip()}")


def plain() -> None:
    """Print the time of the same functions in plain Python."""
    store = well(4, 36.0)
    inflow = rain_m3_s()
    compiled_kernel = compiled.kernel
    compiled.kernel = compiled.plain_kernel  # type: ignore[assignment]
    try:
        taken = seconds(lambda: network.simulate([store], inflow[:, None], step_s=HOUR_S), 1)
    finally:
        compiled.kernel = compiled_kernel
    print(f"plain Python, 4 segments: {taken:.2f} s")


if __name__ == "__main__":
    ready()
    loop_ratio()
    plain()
