"""The inner loops of the kernel in time, compiled when numba can be had, and otherwise run as they stand.

This is the one importer of numba. All compiled functions live in this one file: numba's cache looks only
at the file of the function that it compiles, so a change in another file would go unnoticed.

``kernel()`` loads them at first use, in this order: compiled and cached on disk; compiled without a cache
where no cache folder can be written; plain Python, the very same functions, where numba is missing or
fails. The answers are the same, only the time differs. See docs/method/kernel.md for the mathematics.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


def _growth(z: float) -> float:
    """(exp(z) − 1) / z, with its limit 1 at z = 0."""
    if abs(z) < 1e-5:
        return 1.0 + z * (0.5 + z / 6.0)
    return math.expm1(z) / z


def _growth_of_growth(z: float) -> float:
    """(exp(z) − 1 − z) / z², with its limit 1/2 at z = 0."""
    if abs(z) < 0.05:
        # Below this the subtraction would lose more digits than the series, whose rest is under 1e-16.
        return 1 / 2 + z * (1 / 6 + z * (1 / 24 + z * (1 / 120 + z * (1 / 720 + z * (1 / 5040 + z / 40320)))))
    return (math.expm1(z) - z) / (z * z)


def _log_ratio(y: float) -> float:
    """log(1 + y) / y, with its limit 1 at y = 0; y above −1."""
    if abs(y) < 1e-5:
        return 1.0 - y * (0.5 - y / 3.0)
    return math.log1p(y) / y


def _piece(
    volume: float,
    rate: float,
    duration: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    inlet: FloatArray,
    limited: bool,
    count: int,
    empty: float,
) -> tuple[float, float, float, float, float, float]:
    """Follow one store through a stretch of constant inflow, exactly, from breakpoint to breakpoint.

    ``above`` and ``below`` hold the soakage just above and just below each node; ``inlet`` what enters at
    each node (used if ``limited``). The volume moves one way only within a stretch, because dV/dt depends
    on V alone; so the well becomes full, and crosses ``empty``, at most once.

    Returns the volume at the end, the volume soaked, the volume refused, the time of becoming full
    (−1: never), the spill rate from then on, and the time of crossing ``empty`` (−1: never).
    """
    left = duration
    soaked = 0.0
    refused = 0.0
    full_at = -1.0
    spill_rate = 0.0
    crossed_at = -1.0
    last = count - 1
    j = 0
    while j < last and nodes[j + 1] <= volume:
        j += 1
    while left > 0.0:
        entering = rate
        if volume == nodes[j]:
            if limited:
                entering = inlet[j]
            net_above = entering - above[j]
            net_below = entering - below[j]
            if j == last:
                if net_below >= 0.0 or net_above >= 0.0:
                    full_at = duration - left
                    spill_rate = max(net_above, 0.0)
                    soaked += min(above[j], entering) * left
                    refused += (rate - entering) * left
                    break
                i = j - 1
            elif net_above > 0.0:
                i = j
                if volume == empty:
                    crossed_at = duration - left
            elif j == 0 or net_below >= 0.0 or net_above == 0.0:
                # Held at the node: rising below it and falling above it. All that enters soaks in.
                soaked += entering * left
                refused += (rate - entering) * left
                break
            else:
                i = j - 1
        else:
            i = j
        width = nodes[i + 1] - nodes[i]
        slope = (below[i + 1] - above[i]) / width
        # The node's own value, not the interpolated one: rounding must not turn the direction.
        soaking = above[i] + slope * (volume - nodes[i]) if i == j else below[j]
        gain = 0.0
        if limited:
            gain = (inlet[i + 1] - inlet[i]) / width
            entering = inlet[i] + gain * (volume - nodes[i]) if i == j else inlet[j]
        net = entering - soaking
        if net == 0.0:
            soaked += soaking * left
            refused += (rate - entering) * left
            break
        bend = gain - slope
        target = nodes[i + 1] if net > 0.0 else nodes[i]
        way = target - volume
        y = bend * way / net
        needed = way / net * _log_ratio(y) if y > -1.0 else math.inf
        if needed <= left:
            passed = needed
            moved = way
        else:
            passed = left
            moved = net * passed * _growth(bend * passed)
            if abs(moved) > abs(way):
                moved = way
        area = net * passed * passed * _growth_of_growth(bend * passed)
        soaked += soaking * passed + slope * area
        if limited:
            refused += (rate - entering) * passed - gain * area
        left -= passed
        if moved == way:
            volume = target
            j = i + 1 if net > 0.0 else i
            if volume == empty and net < 0.0:
                crossed_at = duration - left
        else:
            volume += moved
            j = i
            break
    if left <= 0.0 and volume == nodes[last] and full_at < 0.0:
        full_at = duration
    return volume, soaked, max(refused, 0.0), full_at, spill_rate, crossed_at


def _limited_nodes(
    rate: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    out_nodes: FloatArray,
    out_above: FloatArray,
    out_below: FloatArray,
    out_inlet: FloatArray,
) -> int:
    """Write the nodes with those volumes added at which the inlet carries just ``rate``; return how many."""
    m = 0
    last = nodes.shape[0] - 1
    for i in range(last + 1):
        out_nodes[m] = nodes[i]
        out_above[m] = above[i]
        out_below[m] = below[i]
        out_inlet[m] = min(rate, capacity[i])
        m += 1
        if i < last and (capacity[i] - rate) * (capacity[i + 1] - rate) < 0.0:
            share = (rate - capacity[i]) / (capacity[i + 1] - capacity[i])
            at = nodes[i] + share * (nodes[i + 1] - nodes[i])
            if nodes[i] < at < nodes[i + 1]:
                out_nodes[m] = at
                out_above[m] = above[i] + share * (below[i + 1] - above[i])
                out_below[m] = out_above[m]
                out_inlet[m] = rate
                m += 1
    return m


def _run(
    first: IntArray | None,
    durations: FloatArray | None,
    rates: FloatArray,
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    slopes: FloatArray,
    once: FloatArray,
    twice: FloatArray,
    capacity: FloatArray,
    always: float,
    wide_nodes: FloatArray,
    wide_above: FloatArray,
    wide_below: FloatArray,
    wide_inlet: FloatArray,
    empty: float,
    start: float,
    volume_end: FloatArray,
    soaked: FloatArray,
    spilled: FloatArray,
    refused: FloatArray,
    peak: FloatArray,
    times: FloatArray,
    out_first: IntArray | None,
    out_durations: FloatArray | None,
    out_rates: FloatArray | None,
) -> None:
    """Run one store over all steps; result arrays arrive as zeros.

    Step n has the stretches ``first[n]`` to ``first[n + 1]``; without these arrays, one stretch per step.
    ``slopes``, ``once`` and ``twice`` serve whole steps within one segment (see `step_factors`); ``always``
    is what the inlet brings at any volume; the ``wide`` arrays are room for twice the nodes. ``times``
    receives the longest wet time, the end of the last wet time, whether it ends wet, the time of becoming
    full (−1: never) and the end of the last inflow. The ``out`` arrays, where given, receive the spill as
    stretches. That arrays are not given is known when this is compiled: what needs them then costs nothing.
    """
    last = nodes.shape[0] - 1
    volume = start
    i = 0
    while i < last - 1 and nodes[i + 1] <= volume:
        i += 1
    wet_since = 0.0 if volume > empty else -1.0
    longest = 0.0
    wet_until = 0.0
    flow_until = 0.0
    full_first = 0.0 if volume == nodes[last] else -1.0
    steps = volume_end.shape[0]
    out = 0
    from_piece = 0
    to_piece = 1
    for n in range(steps):
        if first is None:
            from_piece = n
            to_piece = n + 1
            if volume == 0.0 and rates[n] == 0.0:
                continue
        else:
            from_piece = first[n]
            to_piece = first[n + 1]
        if out_first is not None:
            out_first[n] = out
        sum_soaked = 0.0
        sum_spilled = 0.0
        sum_refused = 0.0
        highest = volume
        at = 0.0
        for p in range(from_piece, to_piece):
            rate = rates[p]
            duration = step if durations is None else durations[p]
            full_at = -1.0
            spill_rate = 0.0
            done = False
            if rate <= always:
                if volume == 0.0 and rate <= above[0]:
                    sum_soaked += rate * duration
                    done = True
                elif duration == step and nodes[i] < volume < nodes[i + 1]:
                    soaking = above[i] + slopes[i] * (volume - nodes[i])
                    net = rate - soaking
                    end = volume + net * once[i]
                    if nodes[i] < end < nodes[i + 1]:
                        sum_soaked += soaking * step + slopes[i] * net * twice[i]
                        volume = end
                        done = True
            if not done:
                was_wet = volume > empty
                limited = rate > always
                count = last + 1
                if limited:
                    count = _limited_nodes(
                        rate, nodes, above, below, capacity, wide_nodes, wide_above, wide_below, wide_inlet
                    )
                volume, soak, refuse, full_at, spill_rate, crossed_at = _piece(
                    volume,
                    rate,
                    duration,
                    wide_nodes if limited else nodes,
                    wide_above if limited else above,
                    wide_below if limited else below,
                    wide_inlet,
                    limited,
                    count,
                    empty,
                )
                sum_soaked += soak
                sum_refused += refuse
                while i < last - 1 and nodes[i + 1] <= volume:
                    i += 1
                while i > 0 and nodes[i] >= volume:
                    i -= 1
                if full_at >= 0.0:
                    sum_spilled += spill_rate * (duration - full_at)
                    if full_first < 0.0:
                        full_first = n * step + at + full_at
                if was_wet and volume <= empty:
                    wet_until = n * step + at + crossed_at
                    longest = max(longest, wet_until - wet_since)
                    wet_since = -1.0
                elif not was_wet and volume > empty:
                    wet_since = n * step + at + max(crossed_at, 0.0)
            highest = max(highest, volume)
            at += duration
            if rate > 0.0:
                flow_until = n * step + at
            if out_first is not None and out_durations is not None and out_rates is not None:
                quiet = duration
                if spill_rate > 0.0:
                    quiet = full_at
                if quiet > 0.0:
                    if out > out_first[n] and out_rates[out - 1] == 0.0:
                        out_durations[out - 1] += quiet
                    else:
                        out_durations[out] = quiet
                        out_rates[out] = 0.0
                        out += 1
                if duration > quiet:
                    out_durations[out] = duration - quiet
                    out_rates[out] = spill_rate
                    out += 1
        volume_end[n] = volume
        soaked[n] = sum_soaked
        peak[n] = highest
        if sum_spilled > 0.0:
            spilled[n] = sum_spilled
        if sum_refused > 0.0:
            refused[n] = sum_refused
    if out_first is not None:
        out_first[steps] = out
    ends_wet = 0.0
    if wet_since >= 0.0:
        ends_wet = 1.0
        wet_until = steps * step
        longest = max(longest, wet_until - wet_since)
    times[0] = longest
    times[1] = wet_until
    times[2] = ends_wet
    times[3] = full_first
    times[4] = flow_until


def _merge(
    a_first: IntArray,
    a_durations: FloatArray,
    a_rates: FloatArray,
    b_first: IntArray,
    b_durations: FloatArray,
    b_rates: FloatArray,
    out_first: IntArray,
    out_durations: FloatArray,
    out_rates: FloatArray,
) -> None:
    """Add two inflows that are given as stretches, step by step."""
    out = 0
    steps = out_first.shape[0] - 1
    for n in range(steps):
        out_first[n] = out
        a = a_first[n]
        b = b_first[n]
        a_end = a_first[n + 1]
        b_end = b_first[n + 1]
        a_left = a_durations[a]
        b_left = b_durations[b]
        while True:
            # The last stretches of both lists end with the step, whatever rounding has left of them.
            last = a == a_end - 1 and b == b_end - 1
            passed = max(a_left, b_left) if last else min(a_left, b_left)
            if a == a_end - 1 and not last:
                passed = b_left
            elif b == b_end - 1 and not last:
                passed = a_left
            if passed > 0.0:
                out_durations[out] = passed
                out_rates[out] = a_rates[a] + b_rates[b]
                out += 1
            if last:
                break
            a_left -= passed
            b_left -= passed
            if a_left <= 0.0 and a < a_end - 1:
                a += 1
                a_left = a_durations[a]
            if b_left <= 0.0 and b < b_end - 1:
                b += 1
                b_left = b_durations[b]
    out_first[steps] = out


def step_factors(
    nodes: FloatArray, above: FloatArray, below: FloatArray, step: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return each segment's slope of soakage, and what a net inflow of 1 at the start of a step comes to.

    The second is the change of volume over the step, the third the integral of that change: with them a
    step that stays within one segment needs no exponential.
    """
    slopes = (below[1:] - above[:-1]) / np.diff(nodes)
    # A soakage that falls with depth can make these overflow; such steps then take the long way.
    exponents = [min(-float(slope) * step, 700.0) for slope in slopes]
    once = np.array([step * _growth(z) for z in exponents])
    twice = np.array([step * step * _growth_of_growth(z) for z in exponents])
    return slopes, once, twice


@dataclass(frozen=True, slots=True)
class Kernel:
    """The functions of the kernel, and how they run.

    ``run`` follows one store that has one stretch of inflow per step. Wells that overflow into each other
    need ``chain``, which takes and gives stretches, and ``merge``, which adds them; both are functions that
    return the function, so that only those who need it wait for it to be compiled.
    """

    run: Callable[..., None]
    chain: Callable[[], Callable[..., None]]
    merge: Callable[[], Callable[..., None]]
    how: Literal["compiled and cached", "compiled", "plain Python"]


_INNER: tuple[Callable[..., Any], ...] = (_growth, _growth_of_growth, _log_ratio, _piece, _limited_nodes)


def plain_kernel() -> Kernel:
    """Return the kernel in plain Python: the same answers, slower."""
    return Kernel(_run, lambda: _run, lambda: _merge, "plain Python")


def _compiled_kernel(*, cached: bool) -> Kernel:
    import numba
    from numba.extending import register_jitable

    if getattr(numba.config, "DISABLE_JIT", False):
        return plain_kernel()

    for function in _INNER:
        register_jitable(function)
    number, nothing = numba.types.float64, numba.types.none
    given = numba.types.Array(number, 1, "C", readonly=True)
    given_index = numba.types.Array(numba.types.int64, 1, "C", readonly=True)
    filled = numba.types.Array(number, 1, "C")
    filled_index = numba.types.Array(numba.types.int64, 1, "C")
    store = (filled, filled, filled, given, given, given, given, number, filled, filled, filled, filled)
    state = (number, number, *(filled,) * 6)
    options: dict[str, Any] = {
        "cache": cached,
        "nogil": True,
        "error_model": "numpy",
        "no_cfunc_wrapper": True,
    }

    def compiled(function: Callable[..., None], *arguments: Any) -> Callable[..., None]:
        ready: Callable[..., None] = numba.njit(numba.types.void(*arguments), **options)(function)
        return ready

    stretches = (given_index, given, given)
    return Kernel(
        compiled(_run, nothing, nothing, given, number, *store, *state, nothing, nothing, nothing),
        cache(lambda: compiled(_run, *stretches, number, *store, *state, filled_index, filled, filled)),
        cache(lambda: compiled(_merge, *stretches, *stretches, filled_index, filled, filled)),
        "compiled and cached" if cached else "compiled",
    )


@cache
def kernel() -> Kernel:
    """Return the kernel, compiled if that can be had; the first call of a program loads it."""
    for cached in (True, False):
        try:
            return _compiled_kernel(cached=cached)
        except Exception:
            # Whatever numba or the file system throws, the next way still answers.
            continue
    return plain_kernel()
