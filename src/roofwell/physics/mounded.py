"""Stores over a mound of groundwater that their own soakage heaps up, and that checks it when it reaches them.

The mound under a store answers its soakage by positive exponentials, Σ amountᵢ (1 − exp(−t/τᵢ)). While it stays
under the store's bottom nothing changes. In a step in which it would end above, the soakage of the whole step is
held to one cap, the one with which it ends just at the bottom. Method: docs/method/groundwater.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import compiled, linked, network
from roofwell.physics.stretches import Stretches, aligned, total
from roofwell.physics.well.exponentials import MOST, Exponentials

FloatArray = NDArray[np.float64]

LONGEST_STEP_S = 3600.0
MOST_HALVINGS = 5
SPILL_CHANGE = 0.001
_AT_ONCE = 1 << 15  # inner steps, so that what is kept of them does not grow with the run
_AHEAD = 9  # dry steps are passed 4, 8... 1,024 at a time


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground under a store.

    ``terms``, six at most, are the rise for each m/s over ``area_m2`` of ground; ``room_m`` is the height of the store's
    bottom over the water table at rest, infinite for one that no mound reaches.
    """

    area_m2: float
    room_m: float
    terms: Exponentials


@dataclass(frozen=True, slots=True)
class MoundedRun:
    """Traces by the steps asked for; how many inner steps were capped; the step that was fine enough, s.

    ``spill_change`` is what the last halving of the step changed of all that is spilled, as a share of it. A run that was
    followed in pieces has no traces.
    """

    traces: tuple[network.Trace, ...]
    capped_steps: int
    step_s: float
    spill_change: float


class Following:
    """Stores and their mounds on their way through a run that may be too long to keep whole."""

    def __init__(
        self,
        stores: Sequence[network.Store],
        grounds: Sequence[Ground],
        *,
        step_s: float,
        parts: int,
        start_m3: Sequence[float] | None = None,
        progress: Callable[[int], None] | None = None,
    ) -> None:
        self._stores, self._grounds = list(stores), list(grounds)
        self._step_s, self._parts, self._progress = step_s, parts, progress
        self._free, self._start_m3 = network.Standing(), start_m3
        self._groups = network.upstream_first(stores)
        self._ways: list[_Alone | _Linked] = []
        self._watches = [_Watch() for _ in stores]
        self._touched = [False] * len(stores)
        self.capped_steps = 0
        self.gone_m3 = 0.0

    def on(self, inflow_m3_s: FloatArray) -> tuple[network.Trace, ...]:
        """Follow some more steps; their traces, of which the times are those of all steps so far.

        Arguments and errors as of ``network.simulate``. A store that no mound has held back so far, nor any that hands
        water on to it, has the trace that it has without mounds.
        """
        freely = network.simulate(
            self._stores, inflow_m3_s, step_s=self._step_s, start_m3=self._start_m3, standing=self._free
        )
        if not self._ways:
            self._ways = [self._way(group) for group in self._groups]
        inflow = np.asarray(inflow_m3_s, dtype=np.float64)
        rows = np.zeros((7, len(self._stores), inflow.shape[0]))
        at_once = max(1, _AT_ONCE // self._parts)
        for first in range(0, inflow.shape[0], at_once):
            some = inflow[first : first + at_once]
            self._inner(np.repeat(some, self._parts, axis=0), rows[:, :, first : first + at_once])
            if self._progress is not None:
                self._progress(len(some))
        self.capped_steps += round(float(rows[5].max(axis=0, initial=0.0).sum()))
        self.gone_m3 += float(rows[2].sum() + rows[3].sum())
        inner = self._step_s / self._parts
        return tuple(
            self._watches[j].trace(rows[:, j], inner) if self._touched[j] else freely[j]
            for j in range(len(self._stores))
        )

    def _way(self, group: Sequence[int]) -> _Alone | _Linked:
        step = self._step_s / self._parts
        stores, grounds = [self._stores[j] for j in group], [self._grounds[j] for j in group]
        start = [0.0 if self._start_m3 is None else float(self._start_m3[j]) for j in group]
        if len(group) == 1:
            return _Alone(stores[0], grounds[0], step, start[0])
        return _Linked(network.begin_group(self._stores, group, start_m3=start, step_s=step), stores, grounds)

    def _inner(self, inflow: FloatArray, rows: FloatArray) -> None:
        """Follow all stores through some inner steps; add them up in ``rows`` (7, stores, steps)."""
        step = self._step_s / self._parts
        spills: list[Stretches | None] = [None] * len(self._stores)
        for group, way in zip(self._groups, self._ways, strict=True):
            feeders = [
                (place, spill)
                for number, spill in enumerate(spills)
                for place, member in enumerate(group)
                if spill is not None and self._stores[number].overflow_to == member
            ]
            own = np.ascontiguousarray(inflow[:, group])
            results, fed, spill = way.follow(own, feeders)
            arrived = own.T * step
            for place, one in enumerate(fed):
                arrived[place] += one.by_step_m3(inflow.shape[0])
            spiller = next((j for j in group if self._stores[j].spills), group[0])
            if self._stores[spiller].overflow_to is not None:
                spills[spiller] = spill
            fed_by = [
                j for j, store in enumerate(self._stores) if store.overflow_to in group and self._touched[j]
            ]
            touched = bool(results[5].any() or fed_by)
            for place, j in enumerate(group):
                self._touched[j] |= touched
                self._watches[j].look(self._stores[j], results[0, place], results[4, place], arrived[place])
                shaped = results[:, place].reshape(6, -1, self._parts)
                rows[0, j] = shaped[0, :, -1]
                for k in (1, 2, 3, 5):
                    rows[k, j] = shaped[k].sum(axis=1)
                rows[4, j] = shaped[4].max(axis=1)
                rows[6, j] = arrived[place].reshape(-1, self._parts).sum(axis=1)


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
        Called with the share that is done of one run, 0 to 1, now and then.

    Raises
    ------
    InputError
        ``mounded-ground`` for a store whose bottom does not stand above the water table, for an answer of more than six
        terms, or where there is not one ground for each store; as ``network.simulate``.

    Notes
    -----
    Steps are those asked for, cut to an hour at most, then halved until all that is spilled changes by less than
    0.1 %, five times at most; ``spill_change`` tells. The trace of a store that no mound held back, nor any that hands water
    on to it, is that of ``network.simulate``; else times to full and to empty are those of the ends of the inner steps.
    """
    traces: tuple[network.Trace, ...] = ()

    def once(following: Following) -> None:
        nonlocal traces
        traces = following.on(inflow_m3_s)

    run = in_pieces(
        stores, grounds, once, step_s=step_s, steps=len(inflow_m3_s), start_m3=start_m3, progress=progress
    )
    return MoundedRun(traces, run.capped_steps, run.step_s, run.spill_change)


def in_pieces(
    stores: Sequence[network.Store],
    grounds: Sequence[Ground],
    once: Callable[[Following], None],
    *,
    step_s: float,
    steps: int,
    start_m3: Sequence[float] | None = None,
    progress: Callable[[float], None] | None = None,
) -> MoundedRun:
    """As ``simulate``, for a run of so many steps that is not kept whole: ``once`` goes through it with what it is given.

    It is called for each halving of the step, each time from the first step on; what it has made the last time counts.
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
        _checked(ground.terms)

    def run(parts: int) -> Following:
        done = 0

        def more(count: int) -> None:
            nonlocal done
            done += count
            if progress is not None:
                progress(min(1.0, done / max(1, steps)))

        following = Following(stores, grounds, step_s=step_s, parts=parts, start_m3=start_m3, progress=more)
        once(following)
        return following

    parts = max(1, math.ceil(step_s / LONGEST_STEP_S))
    before = run(parts)
    change = math.inf
    for _ in range(MOST_HALVINGS):
        if before.capped_steps == 0:
            return MoundedRun((), 0, step_s / parts, 0.0)
        parts *= 2
        after = run(parts)
        change = abs(after.gone_m3 - before.gone_m3) / after.gone_m3 if after.gone_m3 > 0.0 else 0.0
        before = after
        if change < SPILL_CHANGE:
            break
    return MoundedRun((), before.capped_steps, step_s / parts, change)


class _Alone:
    """A store and its mound, by inner steps."""

    def __init__(self, store: network.Store, ground: Ground, step_s: float, start_m3: float) -> None:
        self._step_s, self._hands_on = step_s, store.overflow_to is not None
        self._curve = _curve(store, 1.0)
        self._tables = (*_room(self._curve), *_terms(ground))
        self._ground = ground
        self._standing = np.array([start_m3, 0.0, 0.0])

    def follow(
        self, own: FloatArray, feeders: Sequence[tuple[int, Stretches]]
    ) -> tuple[FloatArray, list[Stretches], Stretches | None]:
        """Return by inner steps, shape (6, 1, n), what ``compiled`` writes; what was handed on to it; what it hands on."""
        steps = own.shape[0]
        results = np.zeros((6, steps))
        given = total([flow for _, flow in feeders])
        # held back by its mound it may spill whenever water comes
        room = given.room_for_spill(int(np.count_nonzero(own[:, 0] > 0.0)) if self._hands_on else 0)
        counts = np.zeros(2, dtype=np.int64)
        takes = (given.step, given.first, given.duration_s, given.rate_m3_s) if feeders else (None,) * 4
        gives = (
            (room.step, room.first, room.duration_s, room.rate_m3_s, counts)
            if self._hands_on
            else (None,) * 5
        )
        compiled.kernel().run_over_mound(bool(feeders), self._hands_on)(
            np.ascontiguousarray(own[:, 0]),
            *takes,
            self._step_s,
            *self._curve,
            *self._tables,
            self._ground.area_m2,
            self._ground.room_m,
            self._standing,
            results,
            *gives,
        )
        return results[:, None], [given] if feeders else [], room.used(counts) if self._hands_on else None


class _Linked:
    """Linked stores and their mounds, by inner steps."""

    def __init__(
        self, going: linked.Going, stores: Sequence[network.Store], grounds: Sequence[Ground]
    ) -> None:
        count, terms = len(stores), max(ground.terms.tau_s.size for ground in grounds)
        tau, amount = np.ones((count, terms)), np.zeros((count, terms))
        for w, ground in enumerate(grounds):
            tau[w, : ground.terms.tau_s.size] = ground.terms.tau_s
            amount[w, : ground.terms.tau_s.size] = ground.terms.amount
        decay = np.exp(-going.step_s / tau)
        areas = np.array([[ground.area_m2] for ground in grounds])
        rows = going.node.shape[0] * (count + 1)
        self._going = going
        self._spiller = next((place for place, store in enumerate(stores) if store.spills), 0)
        self._hands_on = stores[self._spiller].overflow_to is not None
        self._held = (
            np.zeros_like(going.pond),
            np.zeros((rows, going.node.shape[1])),
            np.zeros((rows, *going.each.shape[1:])),
        )
        self._was = np.zeros_like(going.flags), np.zeros_like(going.moving), np.zeros_like(going.store)
        self._mounds = (
            tau,
            decay,
            amount * (1.0 - decay) / (going.step_s * areas),
            np.zeros((count, terms)),
            np.array([ground.room_m for ground in grounds]),
            np.zeros(count),
            np.zeros(3),
        )

    def follow(
        self, own: FloatArray, feeders: Sequence[tuple[int, Stretches]]
    ) -> tuple[FloatArray, list[Stretches], Stretches | None]:
        """As ``_Alone.follow``; shape (6, stores, n)."""
        going, steps = self._going, own.shape[0]
        results = np.zeros((6, own.shape[1], steps))
        given, fed, sums = aligned(feeders, own.shape[1]) if feeders else (Stretches.room(0, 0), None, [])
        room = given.room_for_spill(int(np.count_nonzero(own.sum(axis=1) > 0.0)) if self._hands_on else 0)
        counts = np.zeros(2, dtype=np.int64)
        takes = (given.step, given.first, given.duration_s, fed) if feeders else (None,) * 4
        gives = (
            (room.step, room.first, room.duration_s, room.rate_m3_s, counts)
            if self._hands_on
            else (None,) * 5
        )
        compiled.kernel().linked_over_mounds(bool(feeders), self._hands_on)(
            own,
            *takes,
            *(going.step_s, going.pond, going.member, going.node, going.each),
            *self._held,
            *(going.flags, going.moving, going.store),
            *self._was,
            self._spiller,
            *self._mounds,
            results,
            *gives,
        )
        return results, sums, room.used(counts) if self._hands_on else None


@dataclass(slots=True)
class _Watch:
    """When a store is wet and full, step by step of a run that comes in pieces."""

    steps: int = 0
    wet_since: int = -1
    longest: int = 0
    last_wet: int = 0
    last_in: int = 0
    first_full: int = 0

    def look(
        self, store: network.Store, ended_m3: FloatArray, peak_m3: FloatArray, arrived_m3: FloatArray
    ) -> None:
        """Look at some more steps."""
        wet = ended_m3 > store.empty_m3
        for edge in (np.flatnonzero(np.diff(wet, prepend=self.wet_since >= 0)) + self.steps).tolist():
            if self.wet_since < 0:
                self.wet_since = edge
            else:
                self.longest = max(self.longest, edge - self.wet_since)
                self.wet_since = -1
        full = np.flatnonzero(peak_m3 >= float(store.volume_m3[-1]) * (1.0 - 1e-9))
        if full.size and not self.first_full:
            self.first_full = self.steps + int(full[0]) + 1
        for name, which in (("last_wet", wet), ("last_in", arrived_m3 > 0.0)):
            at = np.flatnonzero(which)
            if at.size:
                setattr(self, name, self.steps + int(at[-1]) + 1)
        self.steps += wet.size

    def trace(self, rows: FloatArray, step_s: float) -> network.Trace:
        """Return the trace of some whole steps (7, n), with the times of all steps so far by the ends of inner ones."""
        ended, soaked, spilled, refused, peak, _, arrived = rows
        still = self.wet_since >= 0
        return network.Trace(
            volume_end_m3=ended,
            soaked_m3=soaked,
            spilled_m3=spilled,
            refused_m3=refused,
            inflow_m3=arrived,
            volume_peak_m3=peak,
            longest_wet_s=step_s * max(self.longest, self.steps - self.wet_since if still else 0),
            emptied_after_s=None if still else step_s * max(0, self.last_wet - self.last_in),
            first_full_s=step_s * self.first_full if self.first_full else None,
        )


def mound_arguments(
    store: network.Store, factor: float, ground: Ground, *, step_s: float | None
) -> tuple[FloatArray | float, ...]:
    """Return a store that begins empty and the ground under it as the compiled code for samples takes them, from nodes to
    the volume at the start; ``factor`` times its soakage. ``step_s``: of the steps that may be passed many at a time
    while the mound holds them back; None: one by one."""
    _checked(ground.terms)
    curve = _curve(store, factor)
    amount, tau, terms = _terms(ground)
    count, many = curve[0].size, amount.size
    return (
        *curve,
        *_room(curve),
        amount,
        tau,
        terms,
        np.empty((_AHEAD, (count - 1) * (many + 1) + many)),
        np.empty((_AHEAD + 2, many * (many + 2) + 1)),
        _held_rates(amount, tau, ground, step_s),
        np.empty((2, many, 64)),
        ground.area_m2,
        ground.room_m,
        0.0,
    )


_Curve = tuple[FloatArray, FloatArray, FloatArray, FloatArray, float]


def _curve(store: network.Store, factor: float) -> _Curve:
    """Nodes, soakage above and below, capacity, and what the inlet brings at any volume."""
    nodes, above = np.array(store.volume_m3), np.array(store.soakage_m3_s * factor)
    below = above if store.soakage_below_m3_s is None else np.array(store.soakage_below_m3_s * factor)
    if store.capacity_m3_s is None:
        return nodes, above, below, np.full(above.size, math.inf), math.inf
    return nodes, above, below, np.array(store.capacity_m3_s), float(store.capacity_m3_s.min())


def _room(curve: _Curve) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Room for a store's nodes with those added at which a cap and the inlet begin, and for its factors."""
    count = curve[0].size
    return np.empty((4, 2 * count)), np.empty((4, 4 * count)), np.empty((5, count))


def _terms(ground: Ground) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Amounts and times of those terms that count, and room for how they stand."""
    counts = ground.terms.amount > 0.0
    amount, tau = ground.terms.amount[counts], ground.terms.tau_s[counts]
    return amount, tau, np.zeros((4, amount.size))


def _checked(terms: Exponentials) -> None:
    if terms.tau_s.size > MOST:
        raise InputError(
            f"a mound of {terms.tau_s.size} exponentials; give {MOST} at most", code="mounded-ground"
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
