"""Stores that fill, soak away and spill into each other, followed exactly in time.

The state of a store is its volume V. Within a stretch of constant inflow Q

    dV/dt = min(Q, C(V)) − q(V)

with soakage q and inlet capacity C piecewise linear in V, solved in closed form from breakpoint to
breakpoint. Stores hand their spill on to others, and pipes link them. Method: docs/method/kernel.md.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import compiled, linked
from roofwell.physics.linked import Curves as _Curves
from roofwell.physics.linked import Link, Stage
from roofwell.physics.stretches import Stretches, aligned, total

__all__ = (
    "Link",
    "Stage",
    "Standing",
    "Store",
    "Trace",
    "balance_error",
    "begin_group",
    "drain_time_s",
    "drain_times_s",
    "first_steps",
    "simulate",
    "summed",
    "upstream_first",
)

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Store:
    """A store of water: what it holds, what soaks away, what can get in, where its spill goes.

    Attributes
    ----------
    volume_m3
        Nodes, shape (k,), m³, k at least 2; the first 0, the last full (lip of the overflow grate);
        strictly rising.
    soakage_m3_s
        Soakage just above each node, shape (k,), m³/s, 0 or more; the last one is that of the full
        store. Linear in volume between the nodes. The first is what an empty store can pass on.
    soakage_below_m3_s
        Soakage just below each node where it differs (a jump, as at the step of a stepped pit),
        shape (k,), m³/s; the first is not used. None: no jumps.
    capacity_m3_s
        What the inlet can bring at each node, shape (k,), m³/s, linear between; None: no limit.
    overflow_to
        Index of the store that receives the spill; None: it goes to the ground.
    empty_m3
        Volume that counts as empty, m³; 0 or more, below full.
    stage
        Level of the water at each volume; needed by linked stores only.
    link
        A pipe that links it to another store; None: none that is its own (others may be linked to it).
    spills
        False for a linked store whose own lip lies higher than the level at which those linked with it are full:
        the group's spill leaves at the first of its stores that spills.
    """

    volume_m3: FloatArray
    soakage_m3_s: FloatArray
    soakage_below_m3_s: FloatArray | None = None
    capacity_m3_s: FloatArray | None = None
    overflow_to: int | None = None
    empty_m3: float = 0.0
    stage: Stage | None = None
    link: Link | None = None
    spills: bool = True


@dataclass(frozen=True, slots=True)
class Trace:
    """What happened to one store; arrays of shape (n_steps,), volumes in m³ per step.

    Attributes
    ----------
    volume_end_m3
        Volume at the end of each step.
    soaked_m3
        Soaked into the ground, integrated by itself and not found by difference.
    spilled_m3
        Spilled over the lip of the full store.
    refused_m3
        What the inlet could not bring in: it comes out further up.
    inflow_m3
        All that arrived, with the spill of other stores and with what was refused.
    volume_peak_m3
        Largest volume within each step.
    longest_wet_s
        Longest unbroken time with more than ``empty_m3`` in the store.
    emptied_after_s
        Time from the end of the last inflow until the store holds no more than ``empty_m3`` for good;
        0 if it is empty by then; None if it is still wet at the end.
    first_full_s
        Time from the start until first full; None if never.
    handed_on_m3
        What went through links to other stores, less what came from them; None for a store without a link.
    """

    volume_end_m3: FloatArray
    soaked_m3: FloatArray
    spilled_m3: FloatArray
    refused_m3: FloatArray
    inflow_m3: FloatArray
    volume_peak_m3: FloatArray
    longest_wet_s: float
    emptied_after_s: float | None
    first_full_s: float | None
    handed_on_m3: FloatArray | None = None


@dataclass(slots=True)
class Standing:
    """How stores stand at the end of a run, so that the next one goes on from there: for runs too long to keep whole.

    A new one stands before the first step. ``volume_m3``: of each store; the rest is the kernel's own.
    """

    volume_m3: list[float] = field(default_factory=list)
    times: dict[int, FloatArray] = field(default_factory=dict)
    groups: dict[int, linked.Going] = field(default_factory=dict)


def simulate(
    stores: Sequence[Store],
    inflow_m3_s: FloatArray,
    *,
    step_s: float,
    start_m3: Sequence[float] | None = None,
    standing: Standing | None = None,
) -> tuple[Trace, ...]:
    """Follow stores in time, upstream ones first, each spill passed on exactly.

    Parameters
    ----------
    stores
        The stores; ``overflow_to`` refers to positions in this sequence.
    inflow_m3_s
        Inflow of each store in each step, shape (n_steps, n_stores), m³/s, 0 or more; constant within a
        step.
    step_s
        Length of a step, s; above 0.
    start_m3
        Volume in each store at the start, m³; None: all empty.
    standing
        How the same stores stood at the end of the run that this one goes on from, with the same step; then no
        ``start_m3`` counts. It is brought up to date. However a long run is cut, each step comes to the same numbers, to
        the last digit, and the last run's times are those of all of them together.

    Returns
    -------
    tuple of Trace
        One for each store, in the order given. For each, inflow = soaked + spilled + refused + handed on + change
        of volume, to 1e-9 relative; what linked stores hand on to each other sums up to 0.

    Raises
    ------
    InputError
        ``store-nodes``, ``store-soakage``, ``store-capacity``, ``store-empty`` for a store that makes no
        sense; ``overflow-missing`` or ``overflow-circle`` for an overflow that leads nowhere or back;
        ``link-missing``, ``link-circle``, ``link-stage``, ``link-lips``, ``link-invert`` for a link that does;
        ``inflow-shape``, ``inflow-number``, ``step-number``, ``start-volume``.
    """
    count = len(stores)
    inflow = np.asarray(inflow_m3_s, dtype=np.float64)
    if inflow.ndim != 2 or inflow.shape[1] != count:
        raise InputError(
            f"inflow has shape {inflow.shape}; give one column for each of the {count} stores",
            code="inflow-shape",
        )
    # The two comparisons are false for a value that is not a number, too.
    if inflow.size and not (inflow.min() >= 0.0 and inflow.max() < math.inf):
        raise InputError(
            "inflow holds a value that is negative or not a finite number; every one must be 0 or more",
            code="inflow-number",
        )
    if not 0.0 < step_s < math.inf:
        raise InputError(f"step of {step_s} s; it must be above 0", code="step-number")
    curves = [_curves(store, number) for number, store in enumerate(stores)]
    stand = standing if standing is not None else Standing()
    if not stand.volume_m3:
        stand.volume_m3 = _starts(start_m3, curves)
    spills: list[Stretches | None] = [None] * count
    traces: list[Trace | None] = [None] * count
    for members in upstream_first(stores):
        feeders = [
            (place, spill)
            for store, spill in zip(stores, spills, strict=True)
            for place, number in enumerate(members)
            if spill is not None and store.overflow_to == number
        ]
        own = [np.ascontiguousarray(inflow[:, number]) for number in members]
        start = [stand.volume_m3[number] for number in members]
        if len(members) == 1:
            (number,) = members
            times = stand.times.get(number)
            if times is None:
                wet, full = start[0] > stores[number].empty_m3, start[0] == curves[number].nodes[-1]
                times = stand.times[number] = compiled.times_at_start(wet=wet, full=bool(full))
            traces[number], spills[number] = _run(
                own[0], [flow for _, flow in feeders], curves[number], stores[number], times,
                start=start[0], step_s=step_s,
            )  # fmt: skip
        else:
            going = stand.groups.get(members[0])
            if going is None:
                going = begin_group(stores, members, start_m3=start, step_s=step_s)
                stand.groups[members[0]] = going
            group, at, spill = _run_linked(
                own, feeders, [stores[number] for number in members], going, start=start
            )
            for number, trace in zip(members, group, strict=True):
                traces[number] = trace
            spills[members[at]] = spill
    if inflow.shape[0]:
        stand.volume_m3 = [float(trace.volume_end_m3[-1]) for trace in traces if trace is not None]
    return tuple(trace for trace in traces if trace is not None)


def first_steps(trace: Trace, count: int) -> Trace:
    """Return a trace cut after ``count`` steps; its times stay those of the whole."""
    linked = trace.handed_on_m3
    return Trace(
        volume_end_m3=trace.volume_end_m3[:count].copy(),
        soaked_m3=trace.soaked_m3[:count].copy(),
        spilled_m3=trace.spilled_m3[:count].copy(),
        refused_m3=trace.refused_m3[:count].copy(),
        inflow_m3=trace.inflow_m3[:count].copy(),
        volume_peak_m3=trace.volume_peak_m3[:count].copy(),
        longest_wet_s=trace.longest_wet_s,
        emptied_after_s=trace.emptied_after_s,
        first_full_s=trace.first_full_s,
        handed_on_m3=None if linked is None else linked[:count].copy(),
    )


def summed(traces: Sequence[Trace]) -> Trace:
    """Return several stores' traces as those of one: volumes added, times of the last to empty and the first to fill.

    Peaks are added step by step: of stores that peak at different moments of one step it is an upper bound.
    """
    if len(traces) == 1:
        return traces[0]
    emptied = [trace.emptied_after_s for trace in traces]
    dried = [time for time in emptied if time is not None]
    full = [trace.first_full_s for trace in traces if trace.first_full_s is not None]

    def total(name: str) -> FloatArray:
        return np.asarray(np.sum([getattr(trace, name) for trace in traces], axis=0), dtype=np.float64)

    return Trace(
        volume_end_m3=total("volume_end_m3"),
        soaked_m3=total("soaked_m3"),
        spilled_m3=total("spilled_m3"),
        refused_m3=total("refused_m3"),
        inflow_m3=total("inflow_m3"),
        volume_peak_m3=total("volume_peak_m3"),
        longest_wet_s=max(trace.longest_wet_s for trace in traces),
        emptied_after_s=max(dried) if len(dried) == len(emptied) else None,
        first_full_s=min(full, default=None),
    )


def drain_times_s(stores: Sequence[Store]) -> tuple[float, ...]:
    """Return each store's time from full to its ``empty_m3`` with no inflow, s, with what the links do to it.

    Exact. Linked stores start full together; infinite for one that never gets there.

    Raises
    ------
    InputError
        As for ``simulate``.
    """
    out = [drain_time_s(store, float(store.volume_m3[-1])) for store in stores]
    for members in linked.groups([store.link for store in stores]):
        theirs = [stores[number] for number in members]
        curves = [_curves(store, number) for number, store in zip(members, theirs, strict=True)]
        tables = linked.ponds(
            curves, [s.stage for s in theirs], _links_within(stores, members), [s.empty_m3 for s in theirs]
        )
        for place, number in enumerate(members):
            out[number] = math.fsum(
                _pond_drain_s(tables, pond, place, theirs[place].empty_m3)
                for pond in np.flatnonzero(tables.member[:, place]).tolist()
            )
    return tuple(out)


def _pond_drain_s(tables: linked.Ponds, pond: int, place: int, empty_m3: float) -> float:
    """Time of a pond from its rim to its bottom, or to where one of its stores is empty."""
    rows = tables.nodes_of(pond)
    volume, own = tables.volume[rows], tables.volume_w[rows, place]
    if volume.size == 1 or own[-1] <= empty_m3:
        return 0.0
    stop = int(np.searchsorted(own, empty_m3)) if own[0] < empty_m3 else 0
    store = Store(
        volume - volume[0], tables.above[rows], tables.below[rows], empty_m3=float(volume[stop] - volume[0])
    )
    return drain_time_s(store, float(store.volume_m3[-1]))


def drain_time_s(store: Store, start_m3: float) -> float:
    """Return the time from ``start_m3`` (m³, within the store) to the store's ``empty_m3`` with no inflow, s.

    Exact. 0 if it holds no more than that; infinite if it never gets there.

    Raises
    ------
    InputError
        As for ``simulate``.

    >>> prism = Store(np.array([0.0, 2.0]), np.array([1.0, 3.0]))
    >>> round(drain_time_s(prism, 2.0), 6) == round(math.log(3.0), 6)
    True
    """
    curves = _curves(store, 0)
    volume = _starts([start_m3], [curves])[0]
    nodes, above, below = curves.nodes, curves.above, curves.below
    time = 0.0
    upper = int(np.searchsorted(nodes, volume, side="left"))
    while volume > store.empty_m3:
        lower = upper - 1
        width = nodes[upper] - nodes[lower]
        slope = (below[upper] - above[lower]) / width
        at_top = below[upper] if volume == nodes[upper] else above[lower] + slope * (volume - nodes[lower])
        at_bottom = above[lower]
        if at_top <= 0.0 or at_bottom <= 0.0:
            return math.inf
        fall = float(volume - nodes[lower])
        change = float((at_top - at_bottom) / at_bottom)
        ratio = math.log1p(change) / change if abs(change) > 1e-9 else 1.0 - change / 2
        time += fall / float(at_bottom) * ratio
        volume = float(nodes[lower])
        upper = lower
    return time


def balance_error(trace: Trace, start_m3: float = 0.0) -> float:
    """Return what is missing from inflow = soaked + spilled + refused + change, relative to all the water."""
    total = start_m3 + float(trace.inflow_m3.sum())
    end = float(trace.volume_end_m3[-1]) if trace.volume_end_m3.size else start_m3
    gone = float(trace.soaked_m3.sum() + trace.spilled_m3.sum() + trace.refused_m3.sum())
    if trace.handed_on_m3 is not None:
        gone += float(trace.handed_on_m3.sum())
    missing = abs(total - gone - end)
    return missing / total if total > 0.0 else missing


def _run(
    own: FloatArray,
    feeders: Sequence[Stretches],
    curves: _Curves,
    store: Store,
    times: FloatArray,
    *,
    start: float,
    step_s: float,
) -> tuple[Trace, Stretches | None]:
    """Follow one store, on from its ``times``, and bring these up to date."""
    kernel = compiled.kernel()
    steps = own.shape[0]
    # One block: the system then hands out large pages, which saves a third of the time of a long record.
    ended, soaked, spilled, refused, peak = np.zeros((5, steps))
    always = float(curves.capacity.min()) if curves.capacity.size else math.inf
    arguments = (
        step_s,
        curves.nodes,
        curves.above,
        curves.below,
        *compiled.step_factors(curves.nodes, curves.above, curves.below, step_s),
        curves.capacity,
        always,
        *(np.empty(2 * curves.nodes.size) for _ in range(4)),
        store.empty_m3,
        start,
        *(ended, soaked, spilled, refused, peak, times),
    )
    arrived = own * step_s
    if not feeders and store.overflow_to is None:
        kernel.run(own, *(None,) * 4, *arguments, *(None,) * 5)
        return _trace((ended, soaked, spilled, refused, peak), arrived, times), None
    given = total(feeders)
    if given.step.size:
        arrived += given.by_step_m3(steps)
    # it only spills where more comes than soaks away when it is full
    room = given.room_for_spill(int(np.count_nonzero(own >= curves.above[-1])))
    counts = np.zeros(2, dtype=np.int64)
    kernel.chain()(
        own, given.step, given.first, given.duration_s, given.rate_m3_s, *arguments,
        room.step, room.first, room.duration_s, room.rate_m3_s, counts,
    )  # fmt: skip
    spill = room.used(counts)
    return _trace((ended, soaked, spilled, refused, peak), arrived, times), spill


def _trace(results: Sequence[FloatArray], arrived: FloatArray, times: FloatArray) -> Trace:
    """Put together what the kernel wrote of one store."""
    ended, soaked, spilled, refused, peak = results
    longest, wet_until, ends_wet, full_first, flow_until = (float(value) for value in times[:5])
    return Trace(
        volume_end_m3=ended,
        soaked_m3=soaked,
        spilled_m3=spilled,
        refused_m3=refused,
        inflow_m3=arrived,
        volume_peak_m3=peak,
        longest_wet_s=longest,
        emptied_after_s=None if ends_wet else max(0.0, wet_until - flow_until),
        first_full_s=full_first if full_first >= 0.0 else None,
    )


def _links_within(stores: Sequence[Store], members: Sequence[int]) -> list[tuple[int, int, float]]:
    """The links of a group, by places in it."""
    return [
        (place, members.index(link.to), link.invert_m)
        for place, number in enumerate(members)
        if (link := stores[number].link) is not None
    ]


def begin_group(
    stores: Sequence[Store], members: Sequence[int], *, start_m3: Sequence[float], step_s: float
) -> linked.Going:
    """Return a group of linked stores before its first step: ``members`` as from ``upstream_first``, and what each of
    these holds, m³.

    Raises ``InputError`` as ``simulate`` does.
    """
    curves = [_curves(stores[number], number) for number in members]
    empty = [stores[number].empty_m3 for number in members]
    stages = [stores[number].stage for number in members]
    tables = linked.ponds(curves, stages, _links_within(stores, members), empty)
    return linked.begin(tables, step_s=step_s, start_m3=start_m3, empty_m3=empty)


def _run_linked(
    own: Sequence[FloatArray],
    feeders: Sequence[tuple[int, Stretches]],
    stores: Sequence[Store],
    going: linked.Going,
    *,
    start: Sequence[float],
) -> tuple[list[Trace], int, Stretches | None]:
    """Follow a group of linked stores; return their traces, which of them spills, and its spill where it is handed on."""
    at = next((place for place, store in enumerate(stores) if store.spills), 0)
    steps = own[0].shape[0]
    rates = np.ascontiguousarray(np.stack(own, axis=1))
    arrived = [flow * going.step_s for flow in own]
    given, fed = None, None
    if feeders:
        given, fed, sums = aligned(feeders, len(stores))
        arrived = [flow + one.by_step_m3(steps) for flow, one in zip(arrived, sums, strict=True)]
    hands_on = stores[at].overflow_to is not None
    *results, spill = linked.follow(going, rates, given, fed, spiller=at, hands_on=hands_on)
    traces = []
    for place in range(len(stores)):
        trace = _trace([values[place] for values in results], arrived[place], going.times[place])
        handed = trace.inflow_m3 - trace.soaked_m3
        for gone in (trace.spilled_m3, trace.refused_m3, trace.volume_end_m3):
            handed -= gone
        handed[1:] += trace.volume_end_m3[:-1]
        handed[:1] += start[place]
        traces.append(replace(trace, handed_on_m3=handed))
    return traces, at, spill


def upstream_first(stores: Sequence[Store]) -> list[list[int]]:
    """Order the stores, linked ones together, so that each comes after all that spill into it."""
    count = len(stores)
    group = {number: [number] for number in range(count)}
    for members in linked.groups([store.link for store in stores]):
        group |= dict.fromkeys(members, members)
    waiting = dict.fromkeys((members[0] for members in group.values()), 0)
    onward: dict[int, list[int]] = {first: [] for first in waiting}
    for number, store in enumerate(stores):
        if store.overflow_to is None:
            continue
        if not 0 <= store.overflow_to < count:
            raise InputError(
                f"store {number} overflows to store {store.overflow_to}; there are stores 0 to {count - 1}",
                code="overflow-missing",
            )
        waiting[group[store.overflow_to][0]] += 1
        onward[group[number][0]].append(group[store.overflow_to][0])
    ready = [first for first in waiting if not waiting[first]]
    for first in ready:
        for receiver in onward[first]:
            waiting[receiver] -= 1
            if not waiting[receiver]:
                ready.append(receiver)
    if len(ready) < len(waiting):
        circle = sorted(number for number in range(count) if group[number][0] not in ready)
        raise InputError(
            f"the overflow of stores {circle} leads back to themselves; let one of them spill to the ground",
            code="overflow-circle",
        )
    return [group[first] for first in ready]


def _starts(start_m3: Sequence[float] | None, curves: Sequence[_Curves]) -> list[float]:
    if start_m3 is None:
        return [0.0] * len(curves)
    if len(start_m3) != len(curves):
        raise InputError(
            f"{len(start_m3)} starting volumes for {len(curves)} stores; give one each", code="start-volume"
        )
    for number, (start, curve) in enumerate(zip(start_m3, curves, strict=True)):
        if not 0.0 <= start <= curve.nodes[-1]:
            raise InputError(
                f"store {number} starts with {start} m³; it holds from 0 to {curve.nodes[-1]} m³",
                code="start-volume",
            )
    return [float(start) for start in start_m3]


def _curves(store: Store, number: int) -> _Curves:
    """Check a store and put a node at the volume that counts as empty, so that its crossing is exact.

    The last few are kept: every storm of a study runs through the same stores.
    """
    known = _lately.get(id(store))
    if known is None or known[0] is not store:
        known = store, _checked_curves(store, number)
        with _one_writes:
            while len(_lately) >= _LATELY:
                del _lately[next(iter(_lately))]
            _lately[id(store)] = known
    return known[1]


_LATELY = 64
_lately: dict[int, tuple[Store, _Curves]] = {}
_one_writes = threading.Lock()


def _checked_curves(store: Store, number: int) -> _Curves:
    nodes = np.array(store.volume_m3, dtype=np.float64)
    finite = nodes.ndim == 1 and nodes.size >= 2 and bool(np.isfinite(nodes).all())
    if not finite or nodes[0] != 0.0 or not bool((np.diff(nodes) > 0.0).all()):
        raise InputError(
            f"store {number}: volumes {store.volume_m3}; give two or more, from 0, strictly rising",
            code="store-nodes",
        )
    above = _flows(store.soakage_m3_s, nodes.shape, number, "soakage", "store-soakage")
    below = above.copy()
    if store.soakage_below_m3_s is not None:
        below = _flows(store.soakage_below_m3_s, nodes.shape, number, "soakage below", "store-soakage")
    capacity = np.zeros(0)
    if store.capacity_m3_s is not None:
        capacity = _flows(store.capacity_m3_s, nodes.shape, number, "capacity", "store-capacity")
    if not 0.0 <= store.empty_m3 < nodes[-1]:
        raise InputError(
            f"store {number}: {store.empty_m3} m³ counts as empty; give 0 or more, below {nodes[-1]} m³",
            code="store-empty",
        )
    at = int(np.searchsorted(nodes, store.empty_m3))
    if nodes[at] == store.empty_m3:
        return _Curves(nodes, above, below, capacity)
    share = (store.empty_m3 - nodes[at - 1]) / (nodes[at] - nodes[at - 1])
    soaking = above[at - 1] + share * (below[at] - above[at - 1])
    if capacity.size:
        bringing = capacity[at - 1] + share * (capacity[at] - capacity[at - 1])
        capacity = np.insert(capacity, at, bringing)
    return _Curves(
        np.insert(nodes, at, store.empty_m3),
        np.insert(above, at, soaking),
        np.insert(below, at, soaking),
        capacity,
    )


def _flows(given: FloatArray, shape: tuple[int, ...], number: int, what: str, code: str) -> FloatArray:
    flows = np.array(given, dtype=np.float64)
    if flows.shape != shape or not bool(((flows >= 0.0) & (flows < math.inf)).all()):
        raise InputError(
            f"store {number}: {what} {given}; give one finite value of 0 or more for each of the"
            f" {shape[0]} volumes",
            code=code,
        )
    return flows
