"""A long record through stores many times over, when only what leaves them is asked for.

The record is kept as wet spells with the dry time after each. Dry times are passed in closed form, and a spell in which
no store can become full is not followed at all: both are exact. Memory does not grow with the dry part of the record,
and one run needs none that grows with the record. Method: docs/method/years.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import compiled
from roofwell.physics.network import Store, upstream_first
from roofwell.physics.rain.events import Events

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class WetYears:
    """The wet steps of a record.

    Attributes
    ----------
    depth_m, event
        Rain of each wet step, m, and the rain event that it belongs to, shape (n,).
    first
        Where each spell of steps without a dry one between begins, and the end of the last, shape (c + 1,).
    gap_s
        Dry time after each spell, s, shape (c,).
    year_of_event
        Place of the year in which each event begins, shape (e,).
    span_years
        How much of each year the record covers, years, shape (y,).
    step_s
        Length of a step, s.
    """

    depth_m: FloatArray
    event: IntArray
    first: IntArray
    gap_s: FloatArray
    year_of_event: IntArray
    span_years: FloatArray
    step_s: float

    @property
    def years(self) -> float:
        """Length of the record, years."""
        return float(self.span_years.sum())


@dataclass(frozen=True, slots=True, eq=False)
class Roofs:
    """The spouts that feed each store: rows of area, m², and of what each takes at most, m³/s; shape (2, k).

    ``first``: where those of each store begin, and the end, shape (stores + 1,).
    """

    spouts: FloatArray
    first: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """Stores as one block: rows of volume, m³, soakage just above and just below, m³/s, and what the inlet brings, m³/s.

    ``first``: where each store's nodes begin, and the end; ``always_m3_s``: what its inlet brings at any volume;
    ``to``: the store that takes its spill, −1 for none; ``order``: the stores, each after those that spill into it.
    """

    rows: FloatArray
    first: IntArray
    always_m3_s: FloatArray
    to: IntArray
    order: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Leaving:
    """What leaves over the lips, at inlets and at spouts, by years: events in which any does, and m³; shape (y,)."""

    events: FloatArray
    volume_m3: FloatArray


def wet_years(
    *, depth_m: FloatArray, events: Events, year_of_step: IntArray, span_years: FloatArray
) -> WetYears:
    """Return the wet steps of a record.

    Parameters
    ----------
    depth_m
        Rain in each step, m, 0 or more, shape (n,).
    events
        The rain events of those steps.
    year_of_step
        Place of its year in ``span_years`` of each step, 0 or more, rising, shape (n,).
    span_years
        Length of each year as far as the record covers it, above 0, shape (y,).

    Raises
    ------
    InputError
        ``rain-record-shape`` where the shapes do not agree.
    """
    depth, year = np.asarray(depth_m, dtype=np.float64), np.asarray(year_of_step, dtype=np.int64)
    spans = np.asarray(span_years, dtype=np.float64)
    if not (depth.ndim == 1 and depth.shape == year.shape == events.event_of_step.shape) or (
        depth.size and not 0 <= int(year.min()) <= int(year.max()) < spans.size
    ):
        raise InputError(
            f"depths of shape {depth.shape}, years of {year.shape} and {spans.size} lengths of years do not agree",
            code="rain-record-shape",
        )
    wet = np.flatnonzero(depth > 0.0)
    starts = np.flatnonzero(np.diff(wet, prepend=-2) > 1)
    first = np.append(starts, wet.size).astype(np.int64)
    ends = wet[first[1:] - 1] if starts.size else wet
    following = np.append(wet[starts[1:]], depth.size) if starts.size else wet
    return WetYears(
        np.ascontiguousarray(depth[wet]),
        np.ascontiguousarray(events.event_of_step[wet]),
        first,
        np.asarray((following - ends - 1) * float(events.step_s), dtype=np.float64),
        np.ascontiguousarray(year[events.first_step]),
        spans,
        float(events.step_s),
    )


def roofs(spouts: Sequence[Sequence[tuple[float, float]]]) -> Roofs:
    """Return the spouts of each store, each as area, m², and limit, m³/s (infinite: none), as one block."""
    flat = [spout for one in spouts for spout in one]
    return Roofs(
        np.array(flat, dtype=np.float64).reshape(-1, 2).T.copy(),
        np.cumsum([0, *(len(one) for one in spouts)]).astype(np.int64),
    )


def curves(stores: Sequence[Store]) -> Curves:
    """Return stores as one block; those that a run of ``network.simulate`` would take.

    Raises ``InputError``: ``link-stage`` for linked stores, which need ``network.simulate``; ``overflow-missing`` or
    ``overflow-circle`` as that does.
    """
    if any(store.link is not None for store in stores):
        raise InputError("linked stores are followed together: use network.simulate", code="link-stage")
    blocks = [
        np.array(
            [
                store.volume_m3,
                store.soakage_m3_s,
                store.soakage_m3_s if store.soakage_below_m3_s is None else store.soakage_below_m3_s,
                np.full(len(store.volume_m3), math.inf)
                if store.capacity_m3_s is None
                else store.capacity_m3_s,
            ],
            dtype=np.float64,
        )
        for store in stores
    ]
    return Curves(
        np.ascontiguousarray(np.concatenate(blocks, axis=1)),
        np.cumsum([0, *(block.shape[1] for block in blocks)]).astype(np.int64),
        np.array([float(block[3].min()) for block in blocks]),
        np.array(
            [-1 if store.overflow_to is None else store.overflow_to for store in stores], dtype=np.int64
        ),
        np.array([one for group in upstream_first(stores) for one in group], dtype=np.int64),
    )


def leaving(
    record: WetYears,
    roofs: Roofs,
    curves: Curves,
    *,
    factor: float,
    loss_m: float,
    runoff: float,
    least_m3: float,
) -> Leaving:
    """Let a record run through stores that begin empty, and return what leaves them.

    Parameters
    ----------
    factor
        How many times their soakage they soak, above 0.
    loss_m
        Rain that wets the roof at the beginning of every event, m, 0 or more.
    runoff
        Share of the rest that runs off.
    least_m3
        An event counts from this volume in one step on, m³.

    Notes
    -----
    The same as ``network.simulate`` through every step: a store that holds B before a spell that brings W holds no more
    than B + W in it, so where that is less than full, nothing spills; each segment of its soakage drained at its slowest
    bounds what is left after the dry time, and where that is nothing, it is empty. Safe to call from several threads.
    """
    counts, volumes = np.zeros((2, record.span_years.size))
    nodes, above, below, capacity = curves.rows
    count = curves.always_m3_s.size
    compiled.kernel().leaving()(
        record.depth_m,
        record.event,
        record.first,
        record.gap_s,
        record.year_of_event,
        record.step_s,
        loss_m,
        runoff,
        *roofs.spouts,
        roofs.first,
        curves.to,
        curves.order,
        curves.first,
        nodes,
        above * factor,
        below * factor,
        capacity,
        curves.always_m3_s.copy(),
        *np.empty((3, nodes.size)),
        *np.empty((4, 2 * nodes.size)),
        *np.empty((4, count)),
        np.zeros(count, dtype=np.int64),
        *np.empty((2, count, count + 2)),
        least_m3,
        counts,
        volumes,
    )
    return Leaving(counts, volumes)


def over_mound(
    record: WetYears,
    spouts: FloatArray,
    store: tuple[FloatArray | float, ...],
    *,
    loss_m: float,
    runoff: float,
    least_m3: float,
    flags: FloatArray,
) -> FloatArray:
    """Let a record run through one store over the mound that it heaps up, in steps of the record.

    ``store`` comes from ``mounded.mound_arguments``; ``spouts`` are rows of area, m², and limit, m³/s, of each spout;
    ``flags``, shape (events,), is set to 1 where any of ``least_m3`` leaves it in one step. Returns what leaves by
    years, m³, shape (y,). Safe to call from threads.
    """
    volumes = np.zeros(record.span_years.size)
    compiled.kernel().over_mound()(
        record.depth_m,
        record.event,
        record.first,
        record.gap_s,
        record.year_of_event,
        record.step_s,
        loss_m,
        runoff,
        np.ascontiguousarray(spouts[:, 0]),
        np.ascontiguousarray(spouts[:, 1]),
        *store,
        least_m3,
        flags,
        volumes,
    )
    return volumes
