"""Stores over a mound of groundwater that their own soakage heaps up, and that checks it when it reaches them.

The mound under a store answers its soakage by positive exponentials, Σ amountᵢ (1 − exp(−t/τᵢ)). While it stays
under the store's bottom nothing changes. In a step in which it would end above, the soakage of the whole step is
held to one cap, the one with which it ends just at the bottom. Method: docs/method/groundwater.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import compiled, network, wet_years
from roofwell.physics.well.exponentials import Exponentials, track

FloatArray = NDArray[np.float64]

LONGEST_STEP_S = 3600.0
MOST_HALVINGS = 5
SPILL_CHANGE = 0.001
MOST_HELD_STEPS = 12000
_LONGEST_STRETCH = 2048
_AHEAD = 9  # dry steps are passed 4, 8... 1,024 at a time


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground under a store.

    ``terms`` are the rise for each m/s over ``area_m2`` of ground; ``room_m`` is the height of the store's bottom
    over the water table at rest, infinite for one that no mound reaches.
    """

    area_m2: float
    room_m: float
    terms: Exponentials


@dataclass(frozen=True, slots=True)
class MoundedRun:
    """Traces by the steps asked for; how many inner steps were capped; the step that was fine enough, s.

    ``spill_change`` is what the last halving of the step changed of all that is spilled, as a share of it.
    """

    traces: tuple[network.Trace, ...]
    capped_steps: int
    step_s: float
    spill_change: float


def simulate(
    stores: Sequence[network.Store],
    inflow_m3_s: FloatArray,
    grounds: Sequence[Ground],
    *,
    step_s: float,
    start_m3: Sequence[float] | None = None,
    progress: Callable[[float], None] | None = None,
) -> MoundedRun:
    """Follow stores and their mounds in time; as ``network.simulate``, with the soakage held by the mound.

    Parameters
    ----------
    grounds
        The ground under each store, in their order. Each store's mound is its own: others do not add to it.
    progress
        Called with the share that is done, 0 to 1, now and then.

    Raises
    ------
    InputError
        ``mounded-too-often`` where the mound holds stores that hand water on to each other back through more than
        12,000 steps, so that following them would take minutes; ``mounded-ground`` for a store whose bottom does not
        stand above the water table, or where there is not one ground for each store; as ``network.simulate``.

    Notes
    -----
    Steps are those asked for, cut to an hour at most, then halved until all that is spilled changes by less than
    0.1 %, five times at most and not where that would take minutes; ``spill_change`` tells. Where no step was capped the
    traces are those of ``network.simulate``; else times to full and to empty are those of the ends of steps. Stores that
    hand nothing on are followed in compiled code, each by itself.
    """
    if len(grounds) != len(stores):
        raise InputError(
            f"{len(grounds)} grounds for {len(stores)} stores; give one each", code="mounded-ground"
        )
    for number, ground in enumerate(grounds):
        if not ground.room_m > 0.0:
            raise InputError(
                f"store {number}: its bottom stands {ground.room_m} m over the groundwater; it must be above it",
                code="mounded-ground",
            )
    joined = any(store.overflow_to is not None or store.link is not None for store in stores)
    run = _at if joined else _alone
    parts = max(1, math.ceil(step_s / LONGEST_STEP_S))
    before = run(stores, inflow_m3_s, grounds, step_s, parts, start_m3, progress)
    change = math.inf
    for _ in range(MOST_HALVINGS):
        if before[1] == 0:
            return MoundedRun(before[0], 0, step_s / parts, 0.0)
        parts *= 2
        after = run(stores, inflow_m3_s, grounds, step_s, parts, start_m3, progress)
        old, new = (
            sum(float(np.sum(t.spilled_m3 + t.refused_m3)) for t in which[0]) for which in (before, after)
        )
        change = abs(new - old) / new if new > 0.0 else 0.0
        before = after
        if change < SPILL_CHANGE or (joined and before[1] > 2 * MOST_HELD_STEPS):
            break
    return MoundedRun(before[0], before[1], step_s / parts, change)


def _alone(
    stores: Sequence[network.Store],
    inflow_m3_s: FloatArray,
    grounds: Sequence[Ground],
    step_s: float,
    parts: int,
    start_m3: Sequence[float] | None,
    progress: Callable[[float], None] | None,
) -> tuple[tuple[network.Trace, ...], int]:
    """As ``_at``, for stores that hand nothing on."""
    inflow = np.ascontiguousarray(np.asarray(inflow_m3_s, dtype=np.float64))
    freely = network.simulate(stores, inflow, step_s=step_s, start_m3=start_m3)  # checks what was given, too
    out, capped = [], np.zeros(inflow.shape[0])
    for j, (store, ground) in enumerate(zip(stores, grounds, strict=True)):
        start = 0.0 if start_m3 is None else float(start_m3[j])
        rows, held = _through(store, np.ascontiguousarray(inflow[:, j]), ground, step_s, parts, start)
        capped = np.maximum(capped, rows[5])
        out.append(_trace(rows, store, freely[j].inflow_m3, step_s) if held else freely[j])
        if progress is not None:
            progress((j + 1) / len(stores))
    return tuple(out), round(float(capped.sum()))


def _through(
    store: network.Store, rate_m3_s: FloatArray, ground: Ground, step_s: float, parts: int, start_m3: float
) -> tuple[FloatArray, float]:
    """Volume at the end, soaked, spilled, refused, largest volume and parts held back of every step; and how many in all."""
    wet = rate_m3_s > 0.0
    wet[:1] = True  # what stands in the store at the start soaks away from there on
    at = np.flatnonzero(wet)
    starts = np.flatnonzero(np.diff(at, prepend=-2) > 1)
    first = np.append(starts, at.size).astype(np.int64)
    gaps = (np.append(at[starts[1:]], wet.size) - at[first[1:] - 1] - 1) * step_s
    block = wet_years.curves([store])
    rows, totals = np.zeros((6, wet.size)), np.zeros(1)
    compiled.kernel().over_mound_traced()(
        rate_m3_s[at] * step_s,
        np.zeros(at.size, dtype=np.int64),
        first,
        gaps,
        np.zeros(1, dtype=np.int64),
        at[starts].astype(np.int64),
        step_s,
        parts,
        0.0,
        1.0,
        np.ones(1),
        np.full(1, math.inf),
        *mound_arguments(block, 0, 1.0, ground, start_m3),
        math.inf,
        np.zeros(1),
        np.zeros(1),
        rows,
        totals,
    )
    return rows, float(totals[0])


def mound_arguments(
    block: wet_years.Curves,
    number: int,
    factor: float,
    ground: Ground,
    start_m3: float,
    *,
    step_s: float | None = None,
) -> tuple[FloatArray | float, ...]:
    """Return a store of a block and the ground under it as the compiled code takes them, from nodes to the volume at the
    start; ``factor`` times its soakage. ``step_s``: of the steps that may be passed many at a time; None: one by one."""
    rows = block.rows[:, block.first[number] : block.first[number + 1]]
    nodes, above, below, capacity = np.ascontiguousarray(rows * np.array([[1.0], [factor], [factor], [1.0]]))
    terms = ground.terms
    counts = terms.amount > 0.0
    count, many = nodes.size, int(np.count_nonzero(counts))
    amount, tau = np.ascontiguousarray(terms.amount[counts]), np.ascontiguousarray(terms.tau_s[counts])
    return (
        nodes,
        above,
        below,
        capacity,
        float(capacity.min()),
        np.empty((4, 2 * count)),
        np.empty((4, 4 * count)),
        np.empty((3, count)),
        amount,
        tau,
        *np.zeros((4, many)),
        np.empty((_AHEAD, (count - 1) * (many + 1) + many)),
        np.empty((_AHEAD, many * (many + 2) + 1)),
        _held_rates(amount, tau, ground, step_s),
        ground.area_m2,
        ground.room_m,
        start_m3,
    )


def _held_rates(amount: FloatArray, tau: FloatArray, ground: Ground, step_s: float | None) -> FloatArray:
    """Return how what soaks under a mound that is held at the bottom goes on: a sum of powers, from step to step.

    In step n soaks s + Σ wⱼ μⱼⁿ, m³, w = W z + w₀ from the terms z at its beginning; every μ lies from 0 to below 1, for
    the matrix of one step is like a symmetric one. Rows: Wⱼ and w₀ⱼ for each j, then one that begins with s, then μⱼ to
    the power K − 1 for K = 4, 8, 16... steps. s is infinite where nothing is known.
    """
    many = amount.size
    rows = np.zeros((many + 1 + _AHEAD, many + 1))
    rows[many, 0] = math.inf
    if step_s is None or not many or not math.isfinite(ground.room_m):
        return rows
    decay = np.exp(-step_s / tau)
    gain = amount * (1.0 - decay) / (step_s * ground.area_m2)
    if decay.min() < 1e-30 or gain.min() <= 0.0:
        return rows
    whole = float(gain.sum())
    pull = np.sqrt(gain * decay / whole)
    powers, turned = np.linalg.eigh(np.diag(decay) - np.outer(pull, pull))
    powers = np.clip(powers, 0.0, None)
    scale = np.sqrt(gain / decay)
    to_own = turned.T / scale
    takes = (-decay / whole * scale) @ turned
    rests = to_own @ (gain * ground.room_m / whole) / (1.0 - powers)
    rows[:many, :many] = takes[:, None] * to_own
    rows[:many, many] = -takes * rests
    rows[many, 0] = ground.room_m / whole + float(takes @ rests)
    rows[many + 1 :, :many] = powers ** (4.0 * 2.0 ** np.arange(_AHEAD) - 1.0)[:, None]
    return rows


def _trace(rows: FloatArray, store: network.Store, arrived_m3: FloatArray, step_s: float) -> network.Trace:
    ended, soaked, spilled, refused, peak, _ = rows
    wet = ended > store.empty_m3
    full = np.flatnonzero(peak >= float(store.volume_m3[-1]) * (1.0 - 1e-9))
    last_wet, last_in = (
        int(at[-1]) if (at := np.flatnonzero(which)).size else -1 for which in (wet, arrived_m3 > 0)
    )
    return network.Trace(
        volume_end_m3=ended,
        soaked_m3=soaked,
        spilled_m3=spilled,
        refused_m3=refused,
        inflow_m3=arrived_m3,
        volume_peak_m3=peak,
        longest_wet_s=step_s * _longest(wet),
        emptied_after_s=None if wet.size and wet[-1] else step_s * max(0, last_wet - last_in),
        first_full_s=step_s * (int(full[0]) + 1) if full.size else None,
    )


def _at(
    stores: Sequence[network.Store],
    inflow_m3_s: FloatArray,
    grounds: Sequence[Ground],
    step_s: float,
    parts: int,
    start_m3: Sequence[float] | None,
    progress: Callable[[float], None] | None,
) -> tuple[tuple[network.Trace, ...], int]:
    """One run with every step cut in ``parts``; traces by whole steps, and the number of capped parts."""
    fine = np.repeat(np.asarray(inflow_m3_s, dtype=np.float64), parts, axis=0)
    step = step_s / parts
    state = list(start_m3) if start_m3 is not None else [0.0] * len(stores)
    mounds = [np.zeros(ground.terms.tau_s.shape) for ground in grounds]
    pieces: list[tuple[network.Trace, ...]] = []
    at, stretch, capped, alone, count = 0, _LONGEST_STRETCH, 0, 0, fine.shape[0]
    while at < count:
        ahead = fine[at : at + stretch]
        if stretch > 1:
            traces = network.simulate(stores, ahead, step_s=step, start_m3=state)
            over = np.zeros(ahead.shape[0], dtype=bool)
            for mound, trace, ground in zip(mounds, traces, grounds, strict=True):
                over |= _carried(ground, trace, step, mound)[0] > ground.room_m
            good = int(np.argmax(over)) if over.any() else ahead.shape[0]
            stretch = min(2 * stretch, _LONGEST_STRETCH) if good == ahead.shape[0] else 1
            if not good:
                continue
            traces = tuple(_cut(trace, good) for trace in traces)
        else:
            alone += 1
            if alone > MOST_HELD_STEPS * parts:
                raise InputError(
                    f"the mound holds the soakage back through {alone} steps and more: the store stands in it rather "
                    "than over it",
                    code="mounded-too-often",
                )
            caps = [_cap(mound, ground, step) for mound, ground in zip(mounds, grounds, strict=True)]
            held = [_held(store, cap) for store, cap in zip(stores, caps, strict=True)]
            traces = network.simulate(held, ahead, step_s=step, start_m3=state)
            bound = any(
                trace.soaked_m3[0] >= cap * step * (1.0 - 1e-9)
                for trace, cap in zip(traces, caps, strict=True)
            )
            capped, stretch = capped + bound, 1 if bound else 2
        mounds = [
            _carried(ground, trace, step, mound)[1]
            for mound, trace, ground in zip(mounds, traces, grounds, strict=True)
        ]
        pieces.append(traces)
        state = [
            min(float(trace.volume_end_m3[-1]), float(store.volume_m3[-1]))
            for trace, store in zip(traces, stores, strict=True)
        ]
        at += traces[0].soaked_m3.size
        if progress is not None:
            progress(at / count)
    return tuple(
        _joined([piece[j] for piece in pieces], store, step, parts) for j, store in enumerate(stores)
    ), capped


def _carried(
    ground: Ground, trace: network.Trace, step_s: float, mound: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Rise at the end of every step, shape (n,), and the terms after the last one, shape (k,)."""
    rate = trace.soaked_m3 / (step_s * ground.area_m2)
    if rate.size > 1:
        return track(ground.terms, rate=rate, step_s=step_s, start=mound)
    decay = np.exp(-step_s / ground.terms.tau_s)
    now = mound * decay + ground.terms.amount * (1.0 - decay) * rate[0]
    return np.array([now.sum()]), now


def _cap(mound: FloatArray, ground: Ground, step_s: float) -> float:
    """Soakage with which the mound ends the step just at the bottom, m³/s; 0 where it is over it by itself."""
    if math.isinf(ground.room_m):
        return math.inf
    decay = np.exp(-step_s / ground.terms.tau_s)
    left = ground.room_m - float(np.sum(mound * decay))
    return max(0.0, left * ground.area_m2 / float(np.sum(ground.terms.amount * (1.0 - decay))))


def _held(store: network.Store, cap_m3_s: float) -> network.Store:
    """The store with its soakage held to a cap, exactly: a node where the curve passes it."""
    under = store.soakage_below_m3_s if store.soakage_below_m3_s is not None else store.soakage_m3_s
    nodes, above, below = store.volume_m3.tolist(), store.soakage_m3_s.tolist(), under.tolist()
    if cap_m3_s >= max(*above, *below):
        return store
    volumes, uppers, lowers = [nodes[0]], [min(above[0], cap_m3_s)], [min(below[0], cap_m3_s)]
    for k in range(len(nodes) - 1):
        low, high = above[k], below[k + 1]
        if (low - cap_m3_s) * (high - cap_m3_s) < 0.0:
            volume = nodes[k] + (nodes[k + 1] - nodes[k]) * (cap_m3_s - low) / (high - low)
            if nodes[k] < volume < nodes[k + 1]:
                volumes.append(volume)
                uppers.append(cap_m3_s)
                lowers.append(cap_m3_s)
        volumes.append(nodes[k + 1])
        uppers.append(min(above[k + 1], cap_m3_s))
        lowers.append(min(below[k + 1], cap_m3_s))
    at = np.array(volumes)
    capacity = store.capacity_m3_s
    return replace(
        store,
        volume_m3=at,
        soakage_m3_s=np.array(uppers),
        soakage_below_m3_s=np.array(lowers),
        capacity_m3_s=None if capacity is None else np.interp(at, store.volume_m3, capacity),
    )


def _cut(trace: network.Trace, count: int) -> network.Trace:
    if count == trace.soaked_m3.size:
        return trace
    return replace(
        trace,
        volume_end_m3=trace.volume_end_m3[:count],
        soaked_m3=trace.soaked_m3[:count],
        spilled_m3=trace.spilled_m3[:count],
        refused_m3=trace.refused_m3[:count],
        inflow_m3=trace.inflow_m3[:count],
        volume_peak_m3=trace.volume_peak_m3[:count],
        handed_on_m3=None,  # nobody asks for it of a run cut in pieces
    )


def _joined(
    pieces: Sequence[network.Trace], store: network.Store, step_s: float, parts: int
) -> network.Trace:
    """Put the pieces together and add up the parts of each step."""

    def whole(values: Sequence[FloatArray]) -> FloatArray:
        return np.concatenate(values).reshape(-1, parts)

    ends = whole([p.volume_end_m3 for p in pieces])
    peaks = whole([p.volume_peak_m3 for p in pieces])
    flat, arrived = ends.ravel(), whole([p.inflow_m3 for p in pieces])
    wet = flat > store.empty_m3
    full = np.flatnonzero(peaks.ravel() >= float(store.volume_m3[-1]) * (1.0 - 1e-9))
    flowing = np.flatnonzero(arrived.ravel() > 0.0)
    wet_at = np.flatnonzero(wet)
    ends_wet = bool(wet.size and wet[-1])
    last_in = int(flowing[-1]) if flowing.size else -1
    last_wet = int(wet_at[-1]) + 1 if wet_at.size else 0
    return network.Trace(
        volume_end_m3=np.ascontiguousarray(ends[:, -1]),
        soaked_m3=whole([p.soaked_m3 for p in pieces]).sum(axis=1),
        spilled_m3=whole([p.spilled_m3 for p in pieces]).sum(axis=1),
        refused_m3=whole([p.refused_m3 for p in pieces]).sum(axis=1),
        inflow_m3=arrived.sum(axis=1),
        volume_peak_m3=peaks.max(axis=1),
        longest_wet_s=step_s * _longest(wet),
        emptied_after_s=None if ends_wet else step_s * max(0, last_wet - last_in),
        first_full_s=step_s * (int(full[0]) + 1) if full.size else None,
    )


def _longest(wet: NDArray[np.bool_]) -> int:
    """Length of the longest run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], wet.astype(np.int8), [0]])))
    return int(np.max(edges[1::2] - edges[::2])) if edges.size else 0
