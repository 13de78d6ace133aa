"""The inner loops of the kernel in time, compiled when numba can be had, and otherwise run as they stand.

This is the one importer of numba. Compiled functions that call each other live in one file, this one or (for linked
stores) ``compiled_linked``: numba's cache looks only at the file of the function that it compiles, so a change in
another file would go unnoticed.

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

from roofwell.physics import compiled_linked

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
    own: FloatArray,
    fed: IntArray | None,
    first: IntArray | None,
    durations: FloatArray | None,
    rates: FloatArray | None,
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
    out_fed: IntArray | None,
    out_first: IntArray | None,
    out_durations: FloatArray | None,
    out_rates: FloatArray | None,
    out_counts: IntArray | None,
) -> None:
    """Run one store over all steps; result arrays arrive as zeros.

    ``own`` is the inflow of each step. In the steps ``fed`` more comes, by stretches: in the k-th of them those from
    ``first[k]`` to ``first[k + 1]``.

    ``slopes``, ``once`` and ``twice`` serve whole steps within one segment (see `step_factors`); ``always`` is what the
    inlet brings at any volume; the ``wide`` arrays are room for twice the nodes. ``times`` receives the longest wet time,
    the end of the last wet time, whether it ends wet, the time of becoming full (−1: never) and the end of the last
    inflow; then since when it is wet (−1: it is not) and the number of steps so far. It arrives with what the steps
    before have made of it (``times_at_start`` before the first one), so that a long run may be cut anywhere. The ``out``
    arrays, where given, receive the spill in the same form, of those steps alone that spill, and ``out_counts`` how many
    steps and stretches these are. That arrays are not given is known when this is compiled:
    what needs them then costs nothing.
    """
    last = nodes.shape[0] - 1
    volume = start
    i = 0
    while i < last - 1 and nodes[i + 1] <= volume:
        i += 1
    longest = times[0]
    wet_until = times[1]
    full_first = times[3]
    flow_until = times[4]
    wet_since = times[5]
    before = times[6]
    steps = volume_end.shape[0]
    out = 0
    out_steps = 0
    begun = 0
    following = 0
    from_piece = 0
    to_piece = 1
    for n in range(steps):
        by_stretches = False
        if fed is not None and first is not None and following < fed.shape[0] and fed[following] == n:
            by_stretches = True
            from_piece = first[following]
            to_piece = first[following + 1]
            following += 1
        elif volume == 0.0 and own[n] == 0.0:
            continue
        else:
            from_piece = 0
            to_piece = 1
        sum_soaked = 0.0
        sum_spilled = 0.0
        sum_refused = 0.0
        highest = volume
        at = 0.0
        quiet = 0.0
        for p in range(from_piece, to_piece):
            rate = own[n]
            duration = step
            if by_stretches and durations is not None and rates is not None:
                rate += rates[p]
                duration = durations[p]
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
                        full_first = (before + n) * step + at + full_at
                if was_wet and volume <= empty:
                    wet_until = (before + n) * step + at + crossed_at
                    longest = max(longest, wet_until - wet_since)
                    wet_since = -1.0
                elif not was_wet and volume > empty:
                    wet_since = (before + n) * step + at + max(crossed_at, 0.0)
            highest = max(highest, volume)
            at += duration
            if rate > 0.0:
                flow_until = (before + n) * step + at
            if out_durations is not None and out_rates is not None:
                if spill_rate > 0.0 and duration > full_at:
                    quiet += full_at
                    if quiet > 0.0:
                        out_durations[out] = quiet
                        out_rates[out] = 0.0
                        out += 1
                    out_durations[out] = duration - full_at
                    out_rates[out] = spill_rate
                    out += 1
                    quiet = 0.0
                else:
                    quiet += duration
        if (
            out > begun
            and out_fed is not None
            and out_first is not None
            and out_durations is not None
            and out_rates is not None
        ):
            if quiet > 0.0:
                out_durations[out] = quiet
                out_rates[out] = 0.0
                out += 1
            out_fed[out_steps] = n
            out_steps += 1
            out_first[out_steps] = out
            begun = out
        volume_end[n] = volume
        soaked[n] = sum_soaked
        peak[n] = highest
        if sum_spilled > 0.0:
            spilled[n] = sum_spilled
        if sum_refused > 0.0:
            refused[n] = sum_refused
    if out_counts is not None:
        out_counts[0] = out_steps
        out_counts[1] = out
    ends_wet = 0.0
    if wet_since >= 0.0:
        ends_wet = 1.0
        wet_until = (before + steps) * step
        longest = max(longest, wet_until - wet_since)
    times[0] = longest
    times[1] = wet_until
    times[2] = ends_wet
    times[3] = full_first
    times[4] = flow_until
    times[5] = wet_since
    times[6] = before + steps


def _merge(
    a_fed: IntArray,
    a_first: IntArray,
    a_durations: FloatArray,
    a_rates: FloatArray,
    b_fed: IntArray,
    b_first: IntArray,
    b_durations: FloatArray,
    b_rates: FloatArray,
    out_fed: IntArray,
    out_first: IntArray,
    out_durations: FloatArray,
    out_rates: FloatArray,
    out_counts: IntArray,
) -> None:
    """Add two flows that are given as stretches of some steps, step by step."""
    out = 0
    steps = 0
    i = 0
    j = 0
    while i < a_fed.shape[0] or j < b_fed.shape[0]:
        from_a = j == b_fed.shape[0] or (i < a_fed.shape[0] and a_fed[i] <= b_fed[j])
        from_b = i == a_fed.shape[0] or (j < b_fed.shape[0] and b_fed[j] <= a_fed[i])
        out_fed[steps] = a_fed[i] if from_a else b_fed[j]
        if not from_b:
            for p in range(a_first[i], a_first[i + 1]):
                out_durations[out] = a_durations[p]
                out_rates[out] = a_rates[p]
                out += 1
        elif not from_a:
            for p in range(b_first[j], b_first[j + 1]):
                out_durations[out] = b_durations[p]
                out_rates[out] = b_rates[p]
                out += 1
        else:
            a = a_first[i]
            b = b_first[j]
            a_end = a_first[i + 1]
            b_end = b_first[j + 1]
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
        if from_a:
            i += 1
        if from_b:
            j += 1
        steps += 1
        out_first[steps] = out
    out_counts[0] = steps
    out_counts[1] = out


def _one_step(
    volume: float,
    rate: float,
    duration: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    always: float,
    wide_nodes: FloatArray,
    wide_above: FloatArray,
    wide_below: FloatArray,
    wide_inlet: FloatArray,
) -> tuple[float, float, float, float, float, float]:
    """Follow one store through one stretch: volume at its end, soaked, spilled, refused, full at, and spill rate then."""
    limited = rate > always
    count = nodes.shape[0]
    if limited:
        count = _limited_nodes(
            rate, nodes, above, below, capacity, wide_nodes, wide_above, wide_below, wide_inlet
        )
    volume, soaked, refused, full_at, spill_rate, _ = _piece(
        volume,
        rate,
        duration,
        wide_nodes if limited else nodes,
        wide_above if limited else above,
        wide_below if limited else below,
        wide_inlet,
        limited,
        count,
        -1.0,
    )
    spilled = spill_rate * (duration - full_at) if full_at >= 0.0 else 0.0
    return volume, soaked, spilled, refused, full_at, spill_rate


def _drained_at_most(bound: float, dry: float, nodes: FloatArray, slowest: FloatArray) -> float:
    """Return what a store holds at most after a dry time, from what it holds at most before it.

    Each segment is taken to drain at its slowest: above 0 the answer is a bound, and 0 is exact.
    """
    i = 0
    while i < nodes.shape[0] - 2 and nodes[i + 1] < bound:
        i += 1
    while bound > 0.0 and i >= 0 and slowest[i] > 0.0:
        needed = (bound - nodes[i]) / slowest[i]
        if needed > dry:
            return float(bound - slowest[i] * dry)
        dry -= needed
        bound = nodes[i]
        i -= 1
    return bound


def _leaving(
    depth: FloatArray,
    event: IntArray,
    first: IntArray,
    gaps: FloatArray,
    year: IntArray,
    step: float,
    loss: float,
    runoff: float,
    spout_area: FloatArray,
    spout_limit: FloatArray,
    spout_first: IntArray,
    to: IntArray,
    order: IntArray,
    node_first: IntArray,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    always: FloatArray,
    slopes: FloatArray,
    once: FloatArray,
    slowest: FloatArray,
    wide_nodes: FloatArray,
    wide_above: FloatArray,
    wide_below: FloatArray,
    wide_inlet: FloatArray,
    area: FloatArray,
    volume: FloatArray,
    bound: FloatArray,
    safe: FloatArray,
    pieces: IntArray,
    ends: FloatArray,
    spills: FloatArray,
    least: float,
    counts: FloatArray,
    volumes: FloatArray,
) -> None:
    """Count by years the events in which water leaves stores for good, and that water.

    The rain comes as wet spells, ``first[c]`` to ``first[c + 1]`` of ``depth``, each with the dry time after it.
    Spells in which no store can become full, no inlet and no spout be too small, are not followed: ``bound`` is what each
    store holds at most. Where one can, all stores are followed exactly from the last time at which all were empty.
    Store w has the nodes from ``node_first[w]`` on, its inlet brings ``always[w]`` at any volume, and it spills into
    store ``to[w]`` (−1: to the ground); ``order`` has each store after those that spill into it. While none becomes full,
    none hands anything on. ``slopes`` to ``slowest`` are room for one number a node, the ``wide`` arrays for two,
    ``area`` to ``pieces`` for one a store.

    ``ends`` and ``spills`` (stores, stores + 2) are room for a step's spills: until when, and at what rate. The inflow of a
    step is even, so a store that has become full in it stays so and what it spills only grows: each store adds one cut
    at most, where it becomes full, to those of the stores that reach it.
    """
    room = ends.shape[1]
    wells = node_first.shape[0] - 1
    free = math.inf
    for w in range(wells):
        area[w] = 0.0
        volume[w] = 0.0
        bound[w] = 0.0
        for k in range(spout_first[w], spout_first[w + 1]):
            area[w] += spout_area[k]
            if spout_area[k] > 0.0:
                free = min(free, spout_limit[k] / spout_area[k])
        last = node_first[w + 1] - 1
        safe[w] = nodes[last] * (1.0 - 1e-9)
        for i in range(node_first[w], last):
            slopes[i] = (below[i + 1] - above[i]) / (nodes[i + 1] - nodes[i])
            once[i] = step * _growth(min(-slopes[i] * step, 700.0))
            slowest[i] = min(above[i], below[i + 1])
    known = 0
    known_left = loss
    known_event = -1
    left = loss
    now = -1
    counted = -1
    for c in range(gaps.shape[0]):
        total = 0.0
        peak = 0.0
        for n in range(first[c], first[c + 1]):
            if event[n] != now:
                now = event[n]
                left = loss
            wets = min(left, depth[n])
            left -= wets
            total += depth[n] - wets
            peak = max(peak, depth[n] - wets)
        total *= runoff
        peak *= runoff / step
        risky = peak > free
        for w in range(wells):
            if bound[w] + total * area[w] > safe[w] or peak * area[w] > always[w]:
                risky = True
        if not risky:
            empty = True
            for w in range(wells):
                a = node_first[w]
                b = node_first[w + 1]
                bound[w] = _drained_at_most(bound[w] + total * area[w], gaps[c], nodes[a:b], slowest[a:b])
                if bound[w] > 0.0:
                    empty = False
            if empty:
                known = c + 1
                known_left = left
                known_event = now
                volume[:] = 0.0
            continue
        left = known_left
        now = known_event
        for d in range(known, c + 1):
            for n in range(first[d], first[d + 1] + 1):
                dry = n == first[d + 1]
                duration = gaps[d] if dry else step
                rain = 0.0
                if not dry:
                    if event[n] != now:
                        now = event[n]
                        left = loss
                    wets = min(left, depth[n])
                    left -= wets
                    rain = (depth[n] - wets) * runoff / step
                out = 0.0
                pieces[:] = 0
                for o in range(wells):
                    w = order[o]
                    a = node_first[w]
                    b = node_first[w + 1]
                    here = volume[w]
                    rate = rain * area[w]
                    if rain > free:
                        rate = 0.0
                        for k in range(spout_first[w], spout_first[w + 1]):
                            wanted = rain * spout_area[k]
                            rate += min(wanted, spout_limit[k])
                            out += max(wanted - spout_limit[k], 0.0) * step
                    fed = False
                    for v in range(wells):
                        if to[v] == w and pieces[v] > 0:
                            fed = True
                    if not fed:
                        if here == 0.0 and rate <= min(above[a], always[w]):
                            bound[w] = 0.0
                            continue
                        if dry:
                            bound[w] = _drained_at_most(here, duration, nodes[a:b], slowest[a:b])
                            if bound[w] == 0.0:
                                volume[w] = 0.0
                                continue
                        elif rate <= always[w]:
                            i = a
                            while i < b - 2 and nodes[i + 1] <= here:
                                i += 1
                            # from a node on as well, where the volume rises off it
                            end = here + (rate - above[i] - slopes[i] * (here - nodes[i])) * once[i]
                            if (nodes[i] < here < nodes[i + 1] or here == 0.0) and nodes[i] < end < nodes[
                                i + 1
                            ]:
                                volume[w] = end
                                continue
                    at = 0.0
                    while at < duration:
                        until = duration
                        comes = rate
                        if fed:
                            for v in range(wells):
                                if to[v] == w and pieces[v] > 0:
                                    k = 0
                                    while k < pieces[v] - 1 and ends[v, k] <= at:
                                        k += 1
                                    comes += spills[v, k]
                                    if k < pieces[v] - 1:
                                        until = min(until, ends[v, k])
                        volume[w], _, spilled, refused, full_at, spill_rate = _one_step(
                            volume[w],
                            comes,
                            until - at,
                            nodes[a:b],
                            above[a:b],
                            below[a:b],
                            capacity[a:b],
                            always[w],
                            wide_nodes,
                            wide_above,
                            wide_below,
                            wide_inlet,
                        )
                        out += refused
                        if to[w] < 0:
                            out += spilled
                        elif spilled > 0.0:
                            k = pieces[w]
                            if full_at > 0.0 or (k == 0 and at > 0.0):
                                ends[w, k] = at + full_at
                                spills[w, k] = 0.0
                                k += 1
                            ends[w, k] = until
                            spills[w, k] = spill_rate
                            pieces[w] = min(k + 1, room - 2)
                        elif pieces[w] > 0:
                            # rounding only: the excess that made it spill is gone
                            k = pieces[w]
                            ends[w, k] = until
                            spills[w, k] = 0.0
                            pieces[w] = min(k + 1, room - 2)
                        at = until
                    bound[w] = volume[w]
                if out > 0.0:
                    volumes[year[now]] += out
                    if out > least and now != counted:
                        counts[year[now]] += 1.0
                        counted = now
        known = c + 1
        known_left = left
        known_event = now


def _held_nodes(
    cap: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    out_nodes: FloatArray,
    out_above: FloatArray,
    out_below: FloatArray,
    out_capacity: FloatArray,
) -> int:
    """Write a store's nodes with its soakage held to ``cap``, exactly: a node where the curve passes it. Return how many."""
    m = 0
    last = nodes.shape[0] - 1
    for i in range(last + 1):
        out_nodes[m] = nodes[i]
        out_above[m] = min(above[i], cap)
        out_below[m] = min(below[i], cap)
        out_capacity[m] = capacity[i]
        m += 1
        if i < last and (above[i] - cap) * (below[i + 1] - cap) < 0.0:
            share = (cap - above[i]) / (below[i + 1] - above[i])
            at = nodes[i] + share * (nodes[i + 1] - nodes[i])
            if nodes[i] < at < nodes[i + 1]:
                out_nodes[m] = at
                out_above[m] = cap
                out_below[m] = cap
                out_capacity[m] = capacity[i]
                if capacity[i] != capacity[i + 1]:
                    out_capacity[m] += share * (capacity[i + 1] - capacity[i])
                m += 1
    return m


def _held_throughout(
    volume: float,
    rate: float,
    cap: float,
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    slopes: FloatArray,
) -> float:
    """Volume after a step in which all that soaks is the cap; 0 where the store empties, fills or soaks less in it.

    For a soakage that rises with the volume throughout.
    """
    end = volume + (rate - cap) * step
    lowest = min(volume, end)
    if lowest <= 0.0 or max(volume, end) >= nodes[nodes.shape[0] - 1]:
        return 0.0
    i = 0
    while i < nodes.shape[0] - 2 and nodes[i + 1] <= lowest:
        i += 1
    return end if above[i] + slopes[i] * (lowest - nodes[i]) >= cap else 0.0


def _prepare_ahead(step: float, slopes: FloatArray, tau: FloatArray, ahead: FloatArray) -> None:
    """Fill ``ahead``, by rows of 4, 8, 16... dry steps K: for each segment and term Σ ρ^j d^(K−1−j), then ρ^K of each
    segment and d^K of each term. Soakage falls by ρ from step to step, the term by d."""
    terms = tau.shape[0]
    segments = slopes.shape[0] - 1
    for p in range(ahead.shape[0]):
        many = float(4 << p)
        for i in range(segments):
            for k in range(terms):
                apart = step / tau[k] - slopes[i] * step
                slower = min(step / tau[k], slopes[i] * step)
                ahead[p, i * terms + k] = (
                    math.exp(-slower * (many - 1.0))
                    * many
                    * _growth(-abs(apart) * many)
                    / _growth(-abs(apart))
                )
            ahead[p, segments * terms + i] = math.exp(-slopes[i] * step * many)
        for k in range(terms):
            ahead[p, segments * (terms + 1) + k] = math.exp(-step / tau[k] * many)


def _go_ahead(
    volume: float,
    left: int,
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    slopes: FloatArray,
    twice: FloatArray,
    ahead: FloatArray,
    decay: FloatArray,
    gain: FloatArray,
    room: float,
    mound: FloatArray,
    fresh: FloatArray,
) -> tuple[float, int]:
    """Pass as many dry steps at once as stay within a segment and surely under the store; return its volume and how many.

    Soakage only falls meanwhile, so no term rises over what the first step's soakage, kept up, would raise it to.
    """
    terms = mound.shape[0]
    segments = nodes.shape[0] - 1
    i = 0
    while i < segments - 1 and nodes[i + 1] <= volume:
        i += 1
    x = volume - nodes[i]
    if x <= 0.0 or slopes[i] < 0.0:
        return volume, 0
    soaking = above[i] + slopes[i] * x
    soaked = soaking * (step - slopes[i] * twice[i])
    # mostly it is four steps or none: what four steps do not allow, more do not
    for p in range(-1, ahead.shape[0]):
        q = 0 if p < 0 else ahead.shape[0] - 1 - p
        many = 4 << q
        if many > left:
            continue
        if slopes[i] > 0.0:
            rho = ahead[q, segments * terms + i]
            end = x * rho - above[i] / slopes[i] * (1.0 - rho)
        else:
            end = x - above[i] * step * many
        if end <= 0.0:
            if p < 0:
                break
            continue
        stands = 0.0
        for k in range(terms):
            kept = ahead[q, segments * (terms + 1) + k]
            stands += max(mound[k], mound[k] * kept + gain[k] * soaked * (1.0 - kept) / (1.0 - decay[k]))
            fresh[k] = mound[k] * kept + gain[k] * soaked * ahead[q, i * terms + k]
        if p < 0:
            if stands > room:
                break
            continue
        if stands > room:
            continue
        for k in range(terms):
            mound[k] = fresh[k]
        return nodes[i] + end, many
    return volume, 0


def _prepare_held(decay: FloatArray, gain: FloatArray, room: float, held_ahead: FloatArray) -> None:
    """Fill ``held_ahead``, by rows of 4, 8, 16... steps K in all of which the mound is held at ``room``.

    Each step soaks (room − Σ d z) / G and each term goes from z to d z + g times that, G the sum of g: both are linear in
    the terms z. A row holds the matrix of K steps, what they add to each term, what each term takes from all that soaks
    in them, and what soaks in them where no term stands.
    """
    terms = decay.shape[0]
    whole = 0.0
    for k in range(terms):
        whole += gain[k]
    square = terms * terms
    last = square + 2 * terms
    one = np.empty(last + 1)
    two = np.empty(last + 1)
    for i in range(terms):
        for k in range(terms):
            one[i * terms + k] = (decay[k] if i == k else 0.0) - gain[i] * decay[k] / whole
        one[square + i] = gain[i] * room / whole
        one[square + terms + i] = -decay[i] / whole
    one[last] = room / whole
    for p in range(-2, held_ahead.shape[0]):
        if p >= 0:
            held_ahead[p] = one
        two[last] = 2.0 * one[last]
        for i in range(terms):
            two[square + i] = one[square + i]
            two[square + terms + i] = one[square + terms + i]
            two[last] += one[square + terms + i] * one[square + i]
            for k in range(terms):
                total = 0.0
                for j in range(terms):
                    total += one[i * terms + j] * one[j * terms + k]
                two[i * terms + k] = total
                two[square + i] += one[i * terms + k] * one[square + k]
        for i in range(terms):
            for k in range(terms):
                two[square + terms + k] += one[square + terms + i] * one[i * terms + k]
        one[:] = two


def _go_held(
    volume: float,
    left: int,
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    slopes: FloatArray,
    held_ahead: FloatArray,
    held_rates: FloatArray,
    mound: FloatArray,
    fresh: FloatArray,
) -> tuple[float, int]:
    """Pass as many dry steps at once as the mound surely holds back; return the store's volume after them and how many.

    For a soakage that rises with the volume throughout. What each step soaks is a sum of powers (``held_rates``, see
    ``mounded``), each greatest at one end of the stretch: so no step soaks more than the soil could at the last and
    lowest volume, and none less than nothing.
    """
    terms = mound.shape[0]
    square = terms * terms
    last = square + 2 * terms
    count = nodes.shape[0]
    lasting = held_rates[terms, 0]
    if volume >= nodes[count - 1] or lasting == math.inf:
        return volume, 0
    for j in range(terms):
        fresh[j] = held_rates[j, terms]
        for k in range(terms):
            fresh[j] += held_rates[j, k] * mound[k]
    for p in range(-1, held_ahead.shape[0]):
        q = 0 if p < 0 else held_ahead.shape[0] - 1 - p
        many = 4 << q
        if many > left:
            continue
        row = held_ahead[q]
        soaked = row[last]
        for k in range(terms):
            soaked += row[square + terms + k] * mound[k]
        end = volume - soaked
        if end <= 0.0:
            if p < 0:
                break
            continue
        most = lasting
        least = lasting
        for j in range(terms):
            then = fresh[j] * held_rates[terms + 1 + q, j]
            most += max(fresh[j], then)
            least += min(fresh[j], then)
        i = 0
        while i < count - 2 and nodes[i + 1] <= end:
            i += 1
        surely = least >= 0.0 and (above[i] + slopes[i] * (end - nodes[i])) * step >= most * (1.0 + 1e-9)
        if p < 0:
            if not surely:
                break
            continue
        if not surely:
            continue
        for i in range(terms):
            fresh[i] = row[square + i]
            for k in range(terms):
                fresh[i] += row[i * terms + k] * mound[k]
        for k in range(terms):
            mound[k] = max(fresh[k], 0.0)
        return end, many
    return volume, 0


def _over_mound(
    depth: FloatArray,
    event: IntArray,
    first: IntArray,
    gaps: FloatArray,
    year: IntArray,
    at: IntArray | None,
    whole: float,
    parts: int,
    loss: float,
    runoff: float,
    spout_area: FloatArray,
    spout_limit: FloatArray,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    always: float,
    held: FloatArray,
    wide: FloatArray,
    segments: FloatArray,
    amount: FloatArray,
    tau: FloatArray,
    mound: FloatArray,
    decay: FloatArray,
    gain: FloatArray,
    fresh: FloatArray,
    ahead: FloatArray,
    held_ahead: FloatArray,
    held_rates: FloatArray,
    footprint: float,
    room: float,
    volume: float,
    least: float,
    spilled_events: FloatArray,
    volumes: FloatArray,
    traces: FloatArray | None,
    totals: FloatArray,
) -> None:
    """Follow one store over the mound that it heaps up, through wet spells as in ``_leaving``, ``parts`` to a whole step.

    ``held`` (4, 2 nodes), ``wide`` (4, 4 nodes), ``segments`` (3, nodes), ``ahead`` and ``held_ahead`` (rows, as in
    ``_prepare_ahead`` and ``_prepare_held``) are room; ``mound`` to ``fresh`` (terms) as well, ``mound`` with the state at
    the start. ``held_rates`` is that of ``mounded``. ``traces`` receives, by whole step, volume at its end, soaked,
    spilled, refused, largest volume, parts held back; then ``at`` says where each spell begins. ``totals`` receives the
    parts held back in all. Without traces, dry steps far from the cap, and such as are held throughout, are passed many
    at a time.
    """
    step = whole / parts
    terms = mound.shape[0]
    count = nodes.shape[0]
    slopes = segments[0]
    once = segments[1]
    twice = segments[2]
    for i in range(count - 1):
        slopes[i] = (below[i + 1] - above[i]) / (nodes[i + 1] - nodes[i])
        z = min(-slopes[i] * step, 700.0)
        once[i] = step * _growth(z)
        twice[i] = step * step * _growth_of_growth(z)
    most = 0.0
    rising = True
    for i in range(count):
        most = max(most, max(above[i], below[i]))
        rising = rising and (i == 0 or above[i] >= below[i]) and (i == 0 or below[i] >= above[i - 1])
    whole_gain = 0.0
    for k in range(terms):
        decay[k] = math.exp(-step / tau[k])
        gain[k] = amount[k] * (1.0 - decay[k]) / (step * footprint)  # of one m³ soaked in a step
        whole_gain += gain[k]
    if traces is None:
        _prepare_ahead(step, slopes, tau, ahead)
        if parts == 1 and room < math.inf:
            _prepare_held(decay, gain, room, held_ahead)
    area = 0.0
    free = math.inf
    for k in range(spout_area.shape[0]):
        area += spout_area[k]
        if spout_area[k] > 0.0:
            free = min(free, spout_limit[k] / spout_area[k])
    left = loss
    now = -1
    bound = False
    for c in range(gaps.shape[0]):
        wet = first[c + 1] - first[c]
        steps = wet + round(gaps[c] / whole)
        wait = 0
        s = -1
        while s < steps - 1:
            s += 1
            rate = 0.0
            lost = 0.0
            if s < wet:
                n = first[c] + s
                if event[n] != now:
                    now = event[n]
                    left = loss
                wets = min(left, depth[n])
                left -= wets
                rain = (depth[n] - wets) * runoff / whole
                rate = rain * area
                if rain > free:
                    rate = 0.0
                    for k in range(spout_area.shape[0]):
                        wanted = rain * spout_area[k]
                        rate += min(wanted, spout_limit[k])
                        lost += max(wanted - spout_limit[k], 0.0) * whole
            elif volume == 0.0:
                # nothing comes and nothing soaks: the mound runs down by itself until the next spell
                for k in range(terms):
                    mound[k] *= math.exp(-(steps - s) * whole / tau[k])
                break
            elif traces is None:
                wait -= 1
                if wait > 0:  # where four steps could not be passed just now, the next ones hardly can
                    pass
                elif parts == 1 and not bound and steps - s >= 4:
                    volume, passed = _go_ahead(
                        volume, steps - s, step, nodes, above, slopes, twice, ahead, decay, gain, room, mound, fresh
                    )  # fmt: skip
                    if passed > 0:
                        s += passed - 1
                        continue
                    wait = 3
                elif parts == 1 and bound and rising and steps - s >= 4:
                    volume, passed = _go_held(
                        volume, steps - s, step, nodes, above, slopes, held_ahead, held_rates, mound, fresh
                    )  # fmt: skip
                    if passed > 0:
                        totals[0] += passed
                        s += passed - 1
                        continue
                    wait = 3
            sum_soaked = 0.0
            sum_spilled = 0.0
            sum_refused = 0.0
            sum_held = 0.0
            highest = volume
            for _ in range(parts):
                end = volume
                soaked = 0.0
                spilled = 0.0
                refused = 0.0
                done = False
                # where no cap was in force it is tried without one first
                if not bound:
                    if rate <= always:
                        if volume == 0.0 and rate <= above[0]:
                            soaked = rate * step
                            done = True
                        else:
                            i = 0
                            while i < count - 2 and nodes[i + 1] <= volume:
                                i += 1
                            soaking = above[i] + slopes[i] * (volume - nodes[i])
                            end = volume + (rate - soaking) * once[i]
                            if (nodes[i] < volume < nodes[i + 1] or volume == 0.0) and nodes[i] < end < nodes[
                                i + 1
                            ]:
                                soaked = soaking * step + slopes[i] * (rate - soaking) * twice[i]
                                done = True
                    if done:
                        stands = 0.0
                        for k in range(terms):
                            fresh[k] = mound[k] * decay[k] + gain[k] * soaked
                            stands += fresh[k]
                        bound = stands > room
                        done = not bound
                capped = not done
                cap = 0.0
                if capped:
                    stands = 0.0
                    for k in range(terms):
                        stands += mound[k] * decay[k]
                    cap = max(0.0, (room - stands) / (whole_gain * step))
                    if traces is None:  # noqa: SIM102 (by itself it is known when this is compiled)
                        if bound and rising and cap < most and rate <= always:
                            end = _held_throughout(volume, rate, cap, step, nodes, above, slopes)
                            if end > 0.0:
                                soaked = cap * step
                                done = True
                if not done:
                    # twice at most: freely, then held to the cap
                    for _again in range(2):
                        if bound:
                            m = _held_nodes(
                                cap, nodes, above, below, capacity, held[0], held[1], held[2], held[3]
                            )
                            end, soaked, spilled, refused, _at, _rate = _one_step(
                                volume, rate, step, held[0, :m], held[1, :m], held[2, :m], held[3, :m], always,
                                wide[0], wide[1], wide[2], wide[3],
                            )  # fmt: skip
                        else:
                            end, soaked, spilled, refused, _at, _rate = _one_step(
                                volume, rate, step, nodes, above, below, capacity, always,
                                wide[0], wide[1], wide[2], wide[3],
                            )  # fmt: skip
                        if bound or soaked <= cap * step:
                            break
                        bound = True
                    if bound:
                        bound = soaked >= cap * step * (1.0 - 1e-9) and cap < most
                if bound:
                    sum_held += 1.0
                if capped:
                    for k in range(terms):
                        fresh[k] = mound[k] * decay[k] + gain[k] * soaked
                volume = end
                for k in range(terms):
                    mound[k] = fresh[k]
                sum_soaked += soaked
                sum_spilled += spilled
                sum_refused += refused
                highest = max(highest, volume)
                if spilled > 0.0:
                    highest = nodes[count - 1]
            totals[0] += sum_held
            out = lost + sum_spilled + sum_refused
            if out > 0.0 and now >= 0:
                volumes[year[now]] += out
                if out > least:
                    spilled_events[now] = 1.0
            if traces is not None and at is not None:
                n = at[c] + s
                traces[0, n] = volume
                traces[1, n] = sum_soaked
                traces[2, n] = sum_spilled
                traces[3, n] = sum_refused
                traces[4, n] = highest
                traces[5, n] = sum_held


def times_at_start(*, wet: bool, full: bool) -> FloatArray:
    """Return the times of a store before its first step, as the kernel takes them."""
    return np.array([0.0, 0.0, 0.0, 0.0 if full else -1.0, 0.0, 0.0 if wet else -1.0, 0.0])


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
    need ``chain``, which takes and gives stretches, and ``merge``, which adds them; these, ``leaving``,
    ``over_mound`` and ``over_mound_traced`` are functions that return the function, so that only those who need it
    wait for it to be compiled. So is ``linked``, for linked stores: by whether it takes stretches, and whether it
    gives them.
    """

    run: Callable[..., None]
    chain: Callable[[], Callable[..., None]]
    merge: Callable[[], Callable[..., None]]
    leaving: Callable[[], Callable[..., None]]
    over_mound: Callable[[], Callable[..., None]]
    over_mound_traced: Callable[[], Callable[..., None]]
    linked: Callable[[bool, bool], Callable[..., None]]
    how: Literal["compiled and cached", "compiled", "plain Python"]


_INNER: tuple[Callable[..., Any], ...] = (
    _growth,
    _growth_of_growth,
    _log_ratio,
    _piece,
    _limited_nodes,
    _one_step,
    _drained_at_most,
    _held_nodes,
    _held_throughout,
    _prepare_ahead,
    _go_ahead,
    _prepare_held,
    _go_held,
)


def plain_kernel() -> Kernel:
    """Return the kernel in plain Python: the same answers, slower."""
    return Kernel(
        _run,
        lambda: _run,
        lambda: _merge,
        lambda: _leaving,
        lambda: _over_mound,
        lambda: _over_mound,
        lambda takes, gives: compiled_linked._linked,
        "plain Python",
    )


def _compiled_kernel(*, cached: bool) -> Kernel:
    import numba
    from numba.extending import register_jitable

    if getattr(numba.config, "DISABLE_JIT", False):
        return plain_kernel()

    for function in (*_INNER, *compiled_linked.SELDOM):
        register_jitable(function)
    for function in compiled_linked.OFTEN:
        register_jitable(forceinline=True)(function)
    number, nothing = numba.types.float64, numba.types.none
    given = numba.types.Array(number, 1, "C", readonly=True)
    given_index = numba.types.Array(numba.types.int64, 1, "C", readonly=True)
    filled = numba.types.Array(number, 1, "C")
    filled_index = numba.types.Array(numba.types.int64, 1, "C")
    record = (given, given_index, given_index, given, given_index)
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

    stretches = (given_index, given_index, given, given)
    written = (filled_index, filled_index, filled, filled, filled_index)
    rows = numba.types.Array(number, 2, "C")
    store_over = (
        number,
        numba.types.int64,
        number,
        number,
        given,
        given,
        *(filled,) * 4,
        number,
        *(rows,) * 3,
    )
    ground = (given, given, *(filled,) * 4, *(rows,) * 3, *(number,) * 4, filled, filled)

    def linked(takes: bool, gives: bool) -> Callable[..., None]:
        flows = numba.types.Array(number, 2, "C")
        given_rows = numba.types.Array(number, 2, "C", readonly=True)
        indexes = numba.types.Array(numba.types.int64, 2, "C")
        each = numba.types.Array(number, 3, "C")
        return compiled(
            compiled_linked._linked,
            given_rows,
            *((given_index, given_index, given, given_rows) if takes else (nothing,) * 4),
            number,
            *(indexes, indexes, flows, each, indexes, flows, flows),
            numba.types.int64,
            *(flows,) * 6,
            *(written if gives else (nothing,) * 5),
        )

    return Kernel(
        compiled(_run, given, *(nothing,) * 4, number, *store, *state, *(nothing,) * 5),
        cache(lambda: compiled(_run, given, *stretches, number, *store, *state, *written)),
        cache(lambda: compiled(_merge, *stretches, *stretches, *written)),
        cache(
            lambda: compiled(
                _leaving,
                *record,
                *(number,) * 3,
                given,
                given,
                *(given_index,) * 4,
                *(filled,) * 16,
                filled_index,
                rows,
                rows,
                number,
                filled,
                filled,
            )
        ),
        cache(lambda: compiled(_over_mound, *record, nothing, *store_over, *ground, nothing, filled)),
        cache(lambda: compiled(_over_mound, *record, given_index, *store_over, *ground, rows, filled)),
        cache(linked),
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
