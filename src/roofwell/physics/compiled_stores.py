"""The inner loops of stores that soak, fill and spill: compiled by ``compiled``, and otherwise run as they stand.

Compiled functions that call each other live in one file: numba's cache looks only at the file of the function that it
compiles, so a change in another file would go unnoticed. See docs/method/kernel.md for the mathematics.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
Six = tuple[float, float, float, float, float, float]

# Rows of the curve of a store (volume of each node, soakage just above it, then as ``step_factors``) and of the terms of
# its mound. Few arrays with many rows: each that is handed over costs time in every call.
VOLUME, ABOVE, SLOPE, ONCE, TWICE = range(5)
DECAY, GAIN, MOUND, FRESH = range(4)


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


def _prepare(
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    curve: FloatArray,
    amount: FloatArray,
    tau: FloatArray,
    terms: FloatArray,
    footprint: float,
) -> tuple[float, float]:
    """Fill ``curve`` and the first two rows of ``terms``; return the greatest soakage, and the sum of the gains."""
    last = nodes.shape[0] - 1
    most = 0.0
    for k in range(last + 1):
        curve[VOLUME, k] = nodes[k]
        curve[ABOVE, k] = above[k]
        most = max(most, max(above[k], below[k]))
    for k in range(last):
        curve[SLOPE, k] = (below[k + 1] - above[k]) / (nodes[k + 1] - nodes[k])
        exponent = min(-curve[SLOPE, k] * step, 700.0)
        curve[ONCE, k] = step * _growth(exponent)
        curve[TWICE, k] = step * step * _growth_of_growth(exponent)
    whole = 0.0
    for k in range(terms.shape[1]):
        terms[DECAY, k] = math.exp(-step / tau[k])
        terms[GAIN, k] = (
            amount[k] * (1.0 - terms[DECAY, k]) / (step * footprint)
        )  # of one m³ soaked in a step
        whole += terms[GAIN, k]
    return most, whole


def _six(terms: FloatArray, row: int) -> Six:
    """Return a row of up to six numbers as a tuple, which the compiler keeps in registers; nought where there are fewer."""
    n = terms.shape[1]
    return (
        terms[row, 0] if n > 0 else 0.0,
        terms[row, 1] if n > 1 else 0.0,
        terms[row, 2] if n > 2 else 0.0,
        terms[row, 3] if n > 3 else 0.0,
        terms[row, 4] if n > 4 else 0.0,
        terms[row, 5] if n > 5 else 0.0,
    )


def _keep_six(six: Six, terms: FloatArray, row: int) -> None:
    """Write as many of six numbers as a row has room for."""
    for k in range(terms.shape[1]):
        terms[row, k] = six[k]


def _after(z: Six, decay: Six, gain: Six, soaked: float) -> Six:
    """Return the terms of a mound after a step in which so much soaks."""
    return (
        z[0] * decay[0] + gain[0] * soaked,
        z[1] * decay[1] + gain[1] * soaked,
        z[2] * decay[2] + gain[2] * soaked,
        z[3] * decay[3] + gain[3] * soaked,
        z[4] * decay[4] + gain[4] * soaked,
        z[5] * decay[5] + gain[5] * soaked,
    )


def _sum_six(z: Six) -> float:
    return (z[0] + z[1]) + (z[2] + z[3]) + (z[4] + z[5])


def _powers(terms: FloatArray, powers: FloatArray) -> None:
    """Fill ``powers`` (2, terms, 64) with d^m and with d^(64 m) of each term's d."""
    for k in range(terms.shape[1]):
        factor = terms[DECAY, k]
        for p in range(2):
            product = 1.0
            for m in range(64):
                powers[p, k, m] = product
                product *= factor
            factor = product


def _smooth_step(
    volume: float,
    rate: float,
    cap: float,
    step: float,
    curve: FloatArray,
) -> tuple[float, float, float]:
    """Follow a store through a step in which no more than ``cap`` soaks and its inlet brings all: as ``_piece``.

    For a soakage that rises with the volume, without jumps. What soaks on the way is what came less what stayed. Returns
    the volume at the end, the volume soaked and that spilled.
    """
    last = curve.shape[1] - 1
    i = 0
    while i < last - 1 and curve[VOLUME, i + 1] <= volume:
        i += 1
    # from the volume ``kink`` on the cap holds
    kink = math.inf
    k = last - 1
    if cap < curve[ABOVE, last]:
        kink = 0.0
        if cap > curve[ABOVE, 0]:
            k = 0
            while curve[ABOVE, k + 1] <= cap:
                k += 1
            kink = min(curve[VOLUME, k] + (cap - curve[ABOVE, k]) / curve[SLOPE, k], curve[VOLUME, k + 1])
    soaked = 0.0
    left = step
    while left > 0.0:
        capped = volume >= kink
        net = rate - cap if capped else rate - curve[ABOVE, i] - curve[SLOPE, i] * (volume - curve[VOLUME, i])
        if net > 0.0:
            if volume == curve[VOLUME, last]:
                return volume, soaked + (rate - net) * left, net * left
            target = curve[VOLUME, last] if capped else min(curve[VOLUME, i + 1], kink)
        elif net == 0.0 or volume == 0.0:
            return volume, soaked + rate * left, 0.0
        else:
            if volume == kink:
                capped = False
                i = k
            if not capped and volume == curve[VOLUME, i]:
                i -= 1
            target = kink if capped else curve[VOLUME, i]
        bend = 0.0 if capped else -curve[SLOPE, i]
        way = target - volume
        y = bend * way / net
        needed = way / net * _log_ratio(y) if y > -1.0 else math.inf
        if needed > left:
            moved = net * left * _growth(bend * left)
            if abs(moved) > abs(way):
                moved = way
            return volume + moved, soaked + (rate * left - moved), 0.0
        soaked += rate * needed - way
        left -= needed
        volume = target
        if net > 0.0 and not capped and i < last - 1 and volume == curve[VOLUME, i + 1]:
            i += 1
    return volume, soaked, 0.0


def _mounded_step(
    volume: float,
    rate: float,
    cap: float,
    most: float,
    bound: bool,
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    always: float,
    held: FloatArray,
    wide: FloatArray,
) -> tuple[float, float, float, bool]:
    """Follow a store of any kind through a step over its mound: freely, unless the mound is ``bound``, then held to the cap.

    Returns the volume at the end, the volume soaked, that spilled or refused, and whether the mound is bound.
    """
    if not bound:
        end, soaked, spilled, refused, _at, _rate = _one_step(
            volume, rate, step, nodes, above, below, capacity, always, wide[0], wide[1], wide[2], wide[3]
        )
        if soaked <= cap * step:
            return end, soaked, spilled + refused, False
    m = _held_nodes(cap, nodes, above, below, capacity, held[0], held[1], held[2], held[3])
    end, soaked, spilled, refused, _at, _rate = _one_step(
        volume, rate, step, held[0, :m], held[1, :m], held[2, :m], held[3, :m], always,
        wide[0], wide[1], wide[2], wide[3],
    )  # fmt: skip
    return end, soaked, spilled + refused, soaked >= cap * step * (1.0 - 1e-9) and cap < most


def _prepare_ahead(step: float, curve: FloatArray, tau: FloatArray, ahead: FloatArray) -> None:
    """Fill ``ahead``, by rows of 4, 8, 16... dry steps K: for each segment and term Σ ρ^j d^(K−1−j), then ρ^K of each
    segment and d^K of each term. Soakage falls by ρ from step to step, the term by d."""
    terms = tau.shape[0]
    segments = curve.shape[1] - 1
    for p in range(ahead.shape[0]):
        many = float(4 << p)
        for i in range(segments):
            for k in range(terms):
                apart = step / tau[k] - curve[SLOPE, i] * step
                slower = min(step / tau[k], curve[SLOPE, i] * step)
                ahead[p, i * terms + k] = (
                    math.exp(-slower * (many - 1.0))
                    * many
                    * _growth(-abs(apart) * many)
                    / _growth(-abs(apart))
                )
            ahead[p, segments * terms + i] = math.exp(-curve[SLOPE, i] * step * many)
        for k in range(terms):
            ahead[p, segments * (terms + 1) + k] = math.exp(-step / tau[k] * many)


def _go_ahead(
    volume: float,
    left: int,
    step: float,
    curve: FloatArray,
    ahead: FloatArray,
    terms: FloatArray,
    room: float,
) -> tuple[float, int]:
    """Pass as many dry steps at once as stay within a segment and surely under the store; return its volume and how many.

    Soakage only falls meanwhile, so no term rises over what the first step's soakage, kept up, would raise it to.
    """
    many_terms = terms.shape[1]
    segments = curve.shape[1] - 1
    i = 0
    while i < segments - 1 and curve[VOLUME, i + 1] <= volume:
        i += 1
    x = volume - curve[VOLUME, i]
    if x <= 0.0 or curve[SLOPE, i] < 0.0:
        return volume, 0
    soaking = curve[ABOVE, i] + curve[SLOPE, i] * x
    soaked = soaking * (step - curve[SLOPE, i] * curve[TWICE, i])
    # mostly it is four steps or none: what four steps do not allow, more do not
    for p in range(-1, ahead.shape[0]):
        q = 0 if p < 0 else ahead.shape[0] - 1 - p
        many = 4 << q
        if many > left:
            continue
        if curve[SLOPE, i] > 0.0:
            rho = ahead[q, segments * many_terms + i]
            end = x * rho - curve[ABOVE, i] / curve[SLOPE, i] * (1.0 - rho)
        else:
            end = x - curve[ABOVE, i] * step * many
        if end <= 0.0:
            if p < 0:
                break
            continue
        stands = 0.0
        for k in range(many_terms):
            kept = ahead[q, segments * (many_terms + 1) + k]
            stands += max(
                terms[MOUND, k],
                terms[MOUND, k] * kept + terms[GAIN, k] * soaked * (1.0 - kept) / (1.0 - terms[DECAY, k]),
            )
            terms[FRESH, k] = terms[MOUND, k] * kept + terms[GAIN, k] * soaked * ahead[q, i * many_terms + k]
        if p < 0:
            if stands > room:
                break
            continue
        if stands > room:
            continue
        for k in range(many_terms):
            terms[MOUND, k] = terms[FRESH, k]
        return curve[VOLUME, i] + end, many
    return volume, 0


def _prepare_held(terms: FloatArray, room: float, held_ahead: FloatArray) -> None:
    """Fill ``held_ahead``, by rows of 1, 2, 4... steps K in all of which the mound is held at ``room``.

    Each step soaks (room − Σ d z) / G and each term goes from z to d z + g times that, G the sum of g: both are linear in
    the terms z. A row holds the matrix of K steps, what they add to each term, what each term takes from all that soaks
    in them, and what soaks in them where no term stands.
    """
    many = terms.shape[1]
    whole = 0.0
    for k in range(many):
        whole += terms[GAIN, k]
    adds = many * many
    takes = adds + many
    last = takes + many
    for i in range(many):
        for k in range(many):
            stays = terms[DECAY, k] if i == k else 0.0
            held_ahead[0, i * many + k] = stays - terms[GAIN, i] * terms[DECAY, k] / whole
        held_ahead[0, adds + i] = terms[GAIN, i] * room / whole
        held_ahead[0, takes + i] = -terms[DECAY, i] / whole
    held_ahead[0, last] = room / whole
    for p in range(held_ahead.shape[0] - 1):
        held_ahead[p + 1, last] = 2.0 * held_ahead[p, last]
        for i in range(many):
            held_ahead[p + 1, adds + i] = held_ahead[p, adds + i]
            held_ahead[p + 1, takes + i] = held_ahead[p, takes + i]
            held_ahead[p + 1, last] += held_ahead[p, takes + i] * held_ahead[p, adds + i]
            for k in range(many):
                total = 0.0
                for j in range(many):
                    total += held_ahead[p, i * many + j] * held_ahead[p, j * many + k]
                held_ahead[p + 1, i * many + k] = total
                held_ahead[p + 1, adds + i] += held_ahead[p, i * many + k] * held_ahead[p, adds + k]
        for i in range(many):
            for k in range(many):
                held_ahead[p + 1, takes + k] += held_ahead[p, takes + i] * held_ahead[p, i * many + k]


def _go_held(
    volume: float,
    left: int,
    step: float,
    curve: FloatArray,
    held_ahead: FloatArray,
    held_rates: FloatArray,
    terms: FloatArray,
) -> tuple[float, int]:
    """Pass as many dry steps at once as the mound surely holds back; return the store's volume after them and how many.

    For a soakage that rises with the volume throughout. What each step soaks is a sum of powers (``held_rates``, see
    ``mounded``), each greatest at one end of the stretch: so no step soaks more than the soil could at the last and
    lowest volume, and none less than nothing.
    """
    many_terms = terms.shape[1]
    square = many_terms * many_terms
    last = square + 2 * many_terms
    count = curve.shape[1]
    lasting = held_rates[many_terms, 0]
    if volume >= curve[VOLUME, count - 1] or lasting == math.inf:
        return volume, 0
    for j in range(many_terms):
        terms[FRESH, j] = held_rates[j, many_terms]
        for k in range(many_terms):
            terms[FRESH, j] += held_rates[j, k] * terms[MOUND, k]
    for p in range(-1, held_ahead.shape[0] - 2):
        q = 0 if p < 0 else held_ahead.shape[0] - 3 - p
        many = 4 << q
        if many > left:
            continue
        soaked = held_ahead[q + 2, last]
        for k in range(many_terms):
            soaked += held_ahead[q + 2, square + many_terms + k] * terms[MOUND, k]
        end = volume - soaked
        if end <= 0.0:
            if p < 0:
                break
            continue
        most = lasting
        least = lasting
        for j in range(many_terms):
            then = terms[FRESH, j] * held_rates[many_terms + 1 + q, j]
            most += max(terms[FRESH, j], then)
            least += min(terms[FRESH, j], then)
        i = 0
        while i < count - 2 and curve[VOLUME, i + 1] <= end:
            i += 1
        surely = least >= 0.0 and (
            curve[ABOVE, i] + curve[SLOPE, i] * (end - curve[VOLUME, i])
        ) * step >= most * (1.0 + 1e-9)
        if p < 0:
            if not surely:
                break
            continue
        if not surely:
            continue
        for i in range(many_terms):
            terms[FRESH, i] = held_ahead[q + 2, square + i]
            for k in range(many_terms):
                terms[FRESH, i] += held_ahead[q + 2, i * many_terms + k] * terms[MOUND, k]
        for k in range(many_terms):
            terms[MOUND, k] = max(terms[FRESH, k], 0.0)
        return end, many
    return volume, 0


def _over_mound(
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
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    always: float,
    held: FloatArray,
    wide: FloatArray,
    curve: FloatArray,
    amount: FloatArray,
    tau: FloatArray,
    terms: FloatArray,
    ahead: FloatArray,
    held_ahead: FloatArray,
    held_rates: FloatArray,
    powers: FloatArray,
    footprint: float,
    room: float,
    volume: float,
    least: float,
    spilled_events: FloatArray,
    volumes: FloatArray,
) -> None:
    """Follow one store over the mound that it heaps up, through wet spells as in ``_leaving``.

    ``held`` (4, 2 nodes), ``wide`` (4, 4 nodes), ``curve`` (5, nodes), ``terms`` (4, terms, six at most), ``ahead`` and
    ``held_ahead`` (rows, as in ``_prepare_ahead`` and ``_prepare_held``) and ``powers`` are room, ``terms`` with the mound
    at the start. ``held_rates`` is that of ``mounded``. Dry steps far from the cap, and such as are held throughout, are
    passed many at a time. ``spilled_events`` receives 1 for each event with a step in which more than ``least`` leaves,
    ``volumes`` what leaves by years.
    """
    many_terms = terms.shape[1]
    last = nodes.shape[0] - 1
    most, whole_gain = _prepare(step, nodes, above, below, curve, amount, tau, terms, footprint)
    rising = True
    smooth = True
    for k in range(1, last + 1):
        rising = rising and above[k] >= below[k] >= above[k - 1]
        smooth = smooth and above[k] == below[k]
    smooth = smooth and rising
    _powers(terms, powers)
    _prepare_ahead(step, curve, tau, ahead)
    if room < math.inf:
        _prepare_held(terms, room, held_ahead)
    area = 0.0
    free = math.inf
    for k in range(spout_area.shape[0]):
        area += spout_area[k]
        if spout_area[k] > 0.0:
            free = min(free, spout_limit[k] / spout_area[k])
    to_rain = runoff / step
    to_cap = 1.0 / (whole_gain * step) if whole_gain > 0.0 else math.inf
    full = nodes[last]
    decay = _six(terms, DECAY)
    gain = _six(terms, GAIN)
    z = _six(terms, MOUND)
    # the segment of the curve that the volume lies in
    base = 0.0
    top = -1.0
    soaks = 0.0
    slope = 0.0
    once = 0.0
    twice = 0.0
    left = loss
    now = -1
    bound = False
    for c in range(gaps.shape[0]):
        wet = first[c + 1] - first[c]
        steps = wet + int(gaps[c] / step + 0.5)
        wait = 0
        s = -1
        while s < steps - 1:
            s += 1
            rate = 0.0
            out = 0.0
            if s < wet:
                n = first[c] + s
                if event[n] != now:
                    now = event[n]
                    left = loss
                wets = min(left, depth[n])
                left -= wets
                rain = (depth[n] - wets) * to_rain
                rate = rain * area
                if rain > free:
                    rate = 0.0
                    for k in range(spout_area.shape[0]):
                        wanted = rain * spout_area[k]
                        rate += min(wanted, spout_limit[k])
                        out += max(wanted - spout_limit[k], 0.0) * step
            elif volume == 0.0:
                # nothing comes and nothing soaks: the mound runs down by itself until the next spell
                many = steps - s
                _keep_six(z, terms, MOUND)
                for k in range(many_terms):
                    if many < 4096:
                        terms[MOUND, k] *= powers[0, k, many & 63] * powers[1, k, many >> 6]
                    else:
                        terms[MOUND, k] *= math.exp(-many * step / tau[k])
                z = _six(terms, MOUND)
                break
            else:
                wait -= 1
                # where some steps could not be passed just now, the next ones hardly can
                if wait <= 0 and steps - s >= 4 and (rising or not bound):
                    _keep_six(z, terms, MOUND)
                    if bound:
                        volume, passed = _go_held(
                            volume, steps - s, step, curve, held_ahead, held_rates, terms
                        )
                    else:
                        volume, passed = _go_ahead(volume, steps - s, step, curve, ahead, terms, room)
                    if passed > 0:
                        z = _six(terms, MOUND)
                        s += passed - 1
                        continue
                    wait = 3
            if not base <= volume < top:
                i = 0
                while i < last - 1 and nodes[i + 1] <= volume:
                    i += 1
                base = nodes[i]
                top = nodes[i + 1]
                soaks = curve[ABOVE, i]
                slope = curve[SLOPE, i]
                once = curve[ONCE, i]
                twice = curve[TWICE, i]
            end = volume
            soaked = 0.0
            spilled = 0.0
            then = z
            done = False
            # where no cap was in force it is tried without one first
            if not bound and rate <= always:
                net = rate - soaks - slope * (volume - base)
                end = volume + net * once
                done = True
                if (base < volume or volume == 0.0) and base < end < top:
                    soaked = (rate - net) * step + slope * net * twice
                elif base == 0.0 and end <= 0.0 and rate <= soaks and slope >= 0.0:
                    end = 0.0  # it runs empty, and what still comes soaks in
                    soaked = volume + rate * step
                elif smooth:
                    end, soaked, spilled = _smooth_step(volume, rate, math.inf, step, curve)
                else:
                    done = False
                if done:
                    then = _after(z, decay, gain, soaked)
                    bound = _sum_six(then) > room
                    done = not bound
            if not done:
                stands = _sum_six(_after(z, decay, gain, 0.0))
                cap = max(0.0, (room - stands) * to_cap)
                spilled = 0.0
                if bound and rising and rate <= always:
                    end = volume + (rate - cap) * step
                    lowest = min(volume, end)
                    if cap < most and lowest > 0.0 and max(volume, end) < full:
                        if base <= lowest < top:
                            done = soaks + slope * (lowest - base) >= cap
                        else:
                            i = 0
                            while i < last - 1 and nodes[i + 1] <= lowest:
                                i += 1
                            done = curve[ABOVE, i] + curve[SLOPE, i] * (lowest - nodes[i]) >= cap
                if done:  # held throughout
                    soaked = cap * step
                elif bound and smooth and rate <= always:
                    end, soaked, spilled = _smooth_step(volume, rate, cap, step, curve)
                    bound = soaked >= cap * step * (1.0 - 1e-9) and cap < most
                else:
                    end, soaked, spilled, bound = _mounded_step(
                        volume,
                        rate,
                        cap,
                        most,
                        bound,
                        step,
                        nodes,
                        above,
                        below,
                        capacity,
                        always,
                        held,
                        wide,
                    )
                then = _after(z, decay, gain, soaked)
            volume = end
            z = then
            out += spilled
            if out > 0.0 and now >= 0:
                volumes[year[now]] += out
                if out > least:
                    spilled_events[now] = 1.0


def _stretches(
    volume: float,
    own: float,
    from_piece: int,
    to_piece: int,
    durations: FloatArray | None,
    rates: FloatArray | None,
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    always: float,
    wide: FloatArray,
    out: int,
    out_durations: FloatArray | None,
    out_rates: FloatArray | None,
) -> tuple[float, float, float, float, float, int]:
    """Follow one store through the stretches of one step; without any, ``to_piece`` is −1.

    Returns the volume at the end, the volume soaked, that spilled, that refused, the largest volume, and where the next
    stretch of spill is to be written.
    """
    begun = out
    soaked = 0.0
    spilled = 0.0
    refused = 0.0
    highest = volume
    quiet = 0.0
    for p in range(from_piece, max(to_piece, from_piece + 1)):
        rate = own
        duration = step
        if to_piece >= 0 and durations is not None and rates is not None:
            rate += rates[p]
            duration = durations[p]
        volume, soak, spill, refuse, full_at, spill_rate = _one_step(
            volume, rate, duration, nodes, above, below, capacity, always, wide[0], wide[1], wide[2], wide[3]
        )
        soaked += soak
        spilled += spill
        refused += refuse
        highest = max(highest, volume)
        if out_durations is not None and out_rates is not None:
            if spill > 0.0:
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
    if out > begun and quiet > 0.0 and out_durations is not None and out_rates is not None:
        out_durations[out] = quiet
        out_rates[out] = 0.0
        out += 1
    return volume, soaked, spilled, refused, highest, out


def _run_over_mound(
    own: FloatArray,
    fed: IntArray | None,
    first: IntArray | None,
    durations: FloatArray | None,
    rates: FloatArray | None,
    step: float,
    nodes: FloatArray,
    above: FloatArray,
    below: FloatArray,
    capacity: FloatArray,
    always: float,
    held: FloatArray,
    wide: FloatArray,
    curve: FloatArray,
    amount: FloatArray,
    tau: FloatArray,
    terms: FloatArray,
    footprint: float,
    room: float,
    standing: FloatArray,
    results: FloatArray,
    out_fed: IntArray | None,
    out_first: IntArray | None,
    out_durations: FloatArray | None,
    out_rates: FloatArray | None,
    out_counts: IntArray | None,
) -> None:
    """Run one store over the mound that it heaps up over all steps; ``results`` (6, steps) arrives as zeros.

    ``own`` to ``rates`` and the ``out`` arrays as in ``_run``; ``held`` to ``curve`` are room as in ``_over_mound``.
    ``terms`` holds the mound, ``standing`` the volume, 1 where the mound was held at the bottom, and the number of steps
    since the mound was brought up to date: they arrive as the steps before have left them. ``results`` receives of each
    step the volume at its end, soaked, spilled, refused, largest volume, and 1 where it was held back.
    """
    many_terms = terms.shape[1]
    last = nodes.shape[0] - 1
    most, whole_gain = _prepare(step, nodes, above, below, curve, amount, tau, terms, footprint)
    volume = standing[0]
    bound = standing[1] > 0.0
    idle = standing[2]
    following = 0
    out = 0
    out_steps = 0
    i = 0
    for n in range(own.shape[0]):
        from_piece = 0
        to_piece = -1
        if fed is not None and first is not None and following < fed.shape[0] and fed[following] == n:
            from_piece = first[following]
            to_piece = first[following + 1]
            following += 1
        elif volume == 0.0 and own[n] == 0.0:
            idle += 1.0
            continue
        if idle > 0.0:
            for k in range(many_terms):
                terms[MOUND, k] *= math.exp(-idle * step / tau[k])
            idle = 0.0
        begun = out
        end = volume
        soaked = 0.0
        spilled = 0.0
        refused = 0.0
        highest = volume
        stands = 0.0
        for k in range(many_terms):
            stands += terms[MOUND, k] * terms[DECAY, k]
        cap = max(0.0, (room - stands) / (whole_gain * step))
        if not bound:
            done = False
            if to_piece < 0 and own[n] <= always:
                if volume == 0.0 and own[n] <= above[0]:
                    soaked = own[n] * step
                    done = True
                else:
                    while i < last - 1 and nodes[i + 1] <= volume:
                        i += 1
                    while i > 0 and nodes[i] > volume:
                        i -= 1
                    net = own[n] - above[i] - curve[SLOPE, i] * (volume - nodes[i])
                    end = volume + net * curve[ONCE, i]
                    if (nodes[i] < volume or volume == 0.0) and nodes[i] < end < nodes[i + 1]:
                        soaked = (own[n] - net) * step + curve[SLOPE, i] * net * curve[TWICE, i]
                        highest = max(volume, end)
                        done = True
            if not done:
                end, soaked, spilled, refused, highest, out = _stretches(
                    volume, own[n], from_piece, to_piece, durations, rates, step, nodes, above, below, capacity,
                    always, wide, out, out_durations, out_rates,
                )  # fmt: skip
            bound = soaked > cap * step
        if bound:
            m = _held_nodes(cap, nodes, above, below, capacity, held[0], held[1], held[2], held[3])
            end, soaked, spilled, refused, highest, out = _stretches(
                volume, own[n], from_piece, to_piece, durations, rates, step,
                held[0, :m], held[1, :m], held[2, :m], held[3, :m],
                always, wide, begun, out_durations, out_rates,
            )  # fmt: skip
            bound = soaked >= cap * step * (1.0 - 1e-9) and cap < most
        if out > begun and out_fed is not None and out_first is not None:
            out_fed[out_steps] = n
            out_steps += 1
            out_first[out_steps] = out
        for k in range(many_terms):
            terms[MOUND, k] = terms[MOUND, k] * terms[DECAY, k] + terms[GAIN, k] * soaked
        volume = end
        results[0, n] = volume
        results[1, n] = soaked
        results[2, n] = spilled
        results[3, n] = refused
        results[4, n] = nodes[last] if spilled > 0.0 else highest
        results[5, n] = 1.0 if bound else 0.0
    standing[0] = volume
    standing[1] = 1.0 if bound else 0.0
    standing[2] = idle
    if out_counts is not None:
        out_counts[0] = out_steps
        out_counts[1] = out


INNER: tuple[Callable[..., Any], ...] = (
    _growth,
    _growth_of_growth,
    _log_ratio,
    _piece,
    _limited_nodes,
    _one_step,
    _drained_at_most,
    _held_nodes,
    _prepare,
    _powers,
    _prepare_ahead,
    _prepare_held,
    _mounded_step,
    _stretches,
)
# What is called in most steps over a mound is put into its caller: it would be handed its arrays one by one.
OFTEN: tuple[Callable[..., Any], ...] = (
    _six,
    _keep_six,
    _after,
    _sum_six,
    _smooth_step,
    _go_ahead,
    _go_held,
)
