"""Where water stands in the pipes: in the cloudburst with the wells full, and in every routed storm."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roofwell import tables
from roofwell.physics import network
from roofwell.physics.pipe import classes, tree
from roofwell.physics.pipe import flow as pipe_flow
from roofwell.physics.well import storage
from roofwell.system import outlet_parts, overflow_parts, pipes
from roofwell.system.behaviour import DownspoutFlow, FloatArray, RunFlow, Surfacing, WaterLevel
from roofwell.system.linked_wells import places
from roofwell.system.scheme import Run, Scheme, Well


@dataclass(frozen=True, slots=True)
class EndTree:
    """All pipes that lead to one end (well or outlet), from there up. ``opens``: an outlet's level for a flow."""

    end: str
    runs: tuple[Run, ...]
    pipes: tree.PipeTree

    opens: Callable[[float], float] | None = None

    def tails(self, level_m: float, flow_m3_s: Sequence[float]) -> list[float]:
        """Return the tailwater of each run where the end stands at this level; an outlet's with what comes to it."""
        if self.opens is not None:
            comes = sum(flow for flow, below in zip(flow_m3_s, self.pipes.below, strict=True) if below < 0)
            level_m = max(level_m, self.opens(comes))
        return [level_m] * len(self.runs)


@dataclass(frozen=True, slots=True)
class StormPath:
    """One routed storm, step by step: what the levels need of it.

    ``rate_m_s``: net rain, shape (n,). ``tail_m``: the highest level in each well within each step, over its
    lip while it spills, one array of shape (n,) for each well; ``over_lip_m3_s`` what then goes over it;
    ``rising``: whether the level is reached at the step's end.
    """

    duration_s: float
    step_s: float
    rate_m_s: FloatArray
    tail_m: Mapping[str, FloatArray]
    over_lip_m3_s: Mapping[str, FloatArray]
    rising: Mapping[str, NDArray[np.bool_]]


def storm_path(
    scheme: Scheme,
    stores: Sequence[network.Store],
    traces: Sequence[network.Trace],
    *,
    duration_s: float,
    step_s: float,
    rate_m_s: FloatArray,
    start_m3: Sequence[float],
) -> StormPath:
    """Return what the levels need of one routed storm; steps after its last rain are left out.

    ``stores``, ``traces`` and ``start_m3`` are in the order of the Scheme's wells.
    """
    wet = np.flatnonzero(rate_m_s > 0)
    count = int(wet[-1]) + 1 if wet.size else 1
    tail: dict[str, FloatArray] = {}
    over: dict[str, FloatArray] = {}
    rising: dict[str, NDArray[np.bool_]] = {}
    joined = places(scheme)
    for place in _upstream_first(stores):
        well, store, trace, start = scheme.wells[place], stores[place], traces[place], start_m3[place]
        peak, ended = trace.volume_peak_m3[:count], trace.volume_end_m3[:count]
        level = well.bottom_m + storage.depth_of_volume_m(well.layers, peak)
        # At the end of the step, with all that came on its way over the lip: what is refused comes out further up.
        # A well that fills within the step hands on nothing before and its full share at the end.
        coming = trace.inflow_m3[:count] / step_s
        for other, above in enumerate(stores):
            if above.overflow_to == place:
                spilled, refused = traces[other].spilled_m3[:count], traces[other].refused_m3[:count]
                at_end = np.maximum(over[scheme.wells[other].id] - refused / step_s, 0.0)
                coming = coming - spilled / step_s + at_end
        group = joined[place]
        soaks = float(store.soakage_m3_s[-1])
        spilled = trace.spilled_m3[:count]
        for other in group:  # over a link they stand at one level, and all that comes leaves at one lip
            if other != place:
                coming = coming + traces[other].inflow_m3[:count] / step_s
                soaks += float(stores[other].soakage_m3_s[-1])
                spilled = spilled + traces[other].spilled_m3[:count]
        most = np.where(spilled > 0, np.maximum(coming - soaks, 0.0), 0.0)
        leaves_here = scheme.spills_at(well.id) == well.id
        over[well.id] = most if leaves_here else np.zeros_like(most)
        for step in np.flatnonzero(most).tolist():
            level[step] = well.lip_m + head_over_lip_m(scheme, well, float(most[step]))
        tail[well.id] = level
        rising[well.id] = ended >= np.concatenate([[start], ended[:-1]])
    return StormPath(duration_s, step_s, rate_m_s[:count], tail, over, rising)


def _upstream_first(stores: Sequence[network.Store]) -> list[int]:
    """Places of the stores, each after all that spill into it; the kernel has refused circles."""
    order: list[int] = []
    while len(order) < len(stores):
        order += [
            place
            for place in range(len(stores))
            if place not in order
            and all(other in order for other, store in enumerate(stores) if store.overflow_to == place)
        ]
    return order


def head_over_lip_m(scheme: Scheme, well: Well, flow_m3_s: float) -> float:
    """Return the head over the lip of the half-blocked overflow while this much leaves the full well, m."""
    overflow = scheme.overflow_of(scheme.spills_at(well.id))
    if overflow is None or flow_m3_s <= 0:
        return 0.0
    blocked = tables.assumption("overflow-clogged").value_si
    return overflow_parts.head_m(overflow, flow_m3_s, blocked, outlet_parts.tail_of(scheme, overflow.to))


def trees(scheme: Scheme) -> tuple[EndTree, ...]:
    """Return the pipes of a Scheme as one tree for each end that they lead to."""
    found = []
    ends = dict.fromkeys(run.to_id for run in scheme.runs if scheme.run_from(run.to_id) is None)
    where = pipes.limits(scheme)
    for end in ends:
        runs: list[Run] = []
        below: list[int] = []
        reached = [(end, -1)]
        for part, place in reached:
            for run in scheme.runs_to(part):
                if scheme.run_from(run.from_id) is run:
                    runs.append(run)
                    below.append(place)
                    reached.append((run.from_id, len(runs) - 1))
        if not runs:
            continue
        found.append(
            EndTree(
                end,
                tuple(runs),
                tree.PipeTree(
                    tuple(pipes.pipe_of(scheme, run) for run in runs),
                    tuple(below),
                    tuple(
                        pipes.turn_k(scheme, run, runs[place]) if place >= 0 else 0.0
                        for run, place in zip(runs, below, strict=True)
                    ),
                    tuple(where.get(run.from_id, ("", math.inf))[1] for run in runs),
                ),
                outlet_parts.tail_of(scheme, end),
            )
        )
    return tuple(found)


def cloudburst(
    scheme: Scheme,
    peaks: Mapping[str, float],
    tailwater: Mapping[str, float],
    still: Mapping[str, float],
    leaving: Mapping[str, float] | None = None,
) -> tuple[tuple[RunFlow, ...], tuple[WaterLevel, ...]]:
    """Return flow and levels of every run, and the level at every part, for one flow in every run.

    ``tailwater`` is the level at each end (well, outlet) in the cloudburst, ``still`` that of a full well.
    ``leaving``: flow over the lip of each full well that stands behind its tailwater, m³/s; where water comes out
    further up, less arrives and the head over the lip sinks with it.
    """
    flows: dict[str, RunFlow] = {}
    found: dict[str, WaterLevel] = {}
    where = pipes.limits(scheme)
    for end in trees(scheme):
        settled = _with_lip(
            scheme,
            end,
            [peaks[run.id] for run in end.runs],
            tailwater.get(end.end, -math.inf),
            leaving.get(end.end, 0.0) if leaving is not None else 0.0,
        )
        for i, run in enumerate(end.runs):
            flows[run.id] = run_flow(run, peaks[run.id], settled, i, end.pipes)
            if run.from_id not in where:
                continue
            what, limit = where[run.from_id]
            found[run.from_id] = WaterLevel(
                id=run.from_id,
                what=what,
                still_m=max(still.get(end.end, -math.inf), run.upstream_invert_m),
                peak_m=settled.wanted_m[i],
                limit_m=limit,
                reach_m=settled.stands_m[i],
                comes_out_m3_s=settled.out_m3_s[i],
            )
    return (
        tuple(flows[run.id] for run in scheme.runs if run.id in flows),
        tuple(found[part] for part in where if part in found),
    )


def _with_lip(
    scheme: Scheme, end: EndTree, flows: Sequence[float], tail_m: float, over_lip_m3_s: float
) -> tree.Settled:
    """Settle a tree; where water comes out of it, with the head over the lip that what still arrives needs.

    ``over_lip_m3_s``: what goes over the lip of the full well if nothing comes out, 0 where it is not full.
    """
    first = tree.settle(end.pipes, flow_m3_s=flows, tailwater_m=end.tails(tail_m, flows))
    well = next((well for well in scheme.wells if well.id == end.end), None)
    if well is None or over_lip_m3_s <= 0 or not any(first.out_m3_s):
        return first
    coming = sum(flow for flow, below in zip(flows, end.pipes.below, strict=True) if below < 0)
    low, high, found = 0.0, 1.0, first
    for _ in range(10):  # to a thousandth of what comes
        share = 0.5 * (low + high)
        over = max(0.0, over_lip_m3_s - (1.0 - share) * coming)
        tails = end.tails(well.lip_m + head_over_lip_m(scheme, well, over), flows)
        found = tree.settle(end.pipes, flow_m3_s=flows, tailwater_m=tails)
        if coming - sum(found.out_m3_s) > share * coming:
            low = share
        else:
            high = share
    return replace(found, wanted_m=first.wanted_m)


def at_step(
    scheme: Scheme,
    spouts: Sequence[DownspoutFlow],
    *,
    rate_m_s: float,
    tail_m: Mapping[str, float],
    over_lip_m3_s: Mapping[str, float],
) -> tuple[dict[str, RunFlow], dict[str, float], dict[str, float]]:
    """Return the flow of every run, the level at each part where one begins, m, and what comes out there, m³/s.

    For one step of a routed storm: ``rate_m_s`` is its net rain; ``tail_m`` the level in each well then and
    ``over_lip_m3_s`` what goes over the lip of each full one.
    """
    flows: dict[str, RunFlow] = {}
    level: dict[str, float] = {}
    out: dict[str, float] = {}
    for end in trees(scheme):
        coming = _flows_at(scheme, end, spouts)(rate_m_s)
        settled = _with_lip(
            scheme, end, coming, tail_m.get(end.end, -math.inf), over_lip_m3_s.get(end.end, 0.0)
        )
        for i, run in enumerate(end.runs):
            flows[run.id] = run_flow(run, settled.flow_m3_s[i], settled, i, end.pipes)
            level[run.from_id] = settled.stands_m[i]
            out[run.from_id] = settled.out_m3_s[i]
    return flows, level, out


def run_flow(run: Run, peak: float, settled: tree.Settled, place: int, whole: tree.PipeTree) -> RunFlow:
    """Return what one pipe of a settled tree does with its flow; ``peak``: what comes to it if nothing came out, m³/s."""
    slope, row = run.slope_m_m, settled.rows[place]
    full = full_speed = 0.0
    ratio = None
    if slope > 0:
        size = {"inside_diameter_m": run.inside_diameter_m, "slope": slope, "manning_n": run.manning_n}
        full = pipe_flow.full_flow_m3_s(**size)
        full_speed = pipe_flow.full_velocity_m_s(**size)
        depth = pipe_flow.normal_depth_m(flow_m3_s=peak, **size) if peak > 0 else 0.0
        ratio = None if depth is None else depth / run.inside_diameter_m
    kind = classes.classify(
        flow_m3_s=settled.flow_m3_s[place],
        inside_diameter_m=run.inside_diameter_m,
        slope=slope,
        manning_n=run.manning_n,
        length_m=run.length_m,
        downstream_depth_m=row.lower_m - run.downstream_invert_m,
    )
    return RunFlow(
        id=run.id,
        peak_m3_s=peak,
        full_m3_s=full,
        velocity_m_s=row.velocity_m_s,
        full_velocity_m_s=full_speed,
        depth_ratio=ratio,
        level_up_m=min(row.level_m, whole.limit_m[place]),
        level_down_m=row.lower_m,
        surcharged=row.surcharged,
        slope_class=kind.slope,
        curve=kind.curve,
        critical_depth_m=kind.critical_depth_m,
        jump_m=kind.jump_m,
        full_length_m=row.full_length_m,
        control="backwater" if row.backwater_m > row.entrance_m else "entrance",
    )


def every_storm(
    scheme: Scheme,
    spouts: Sequence[DownspoutFlow],
    paths: Sequence[StormPath],
    levels: Sequence[WaterLevel],
    *,
    with_surfacing: bool = True,
) -> tuple[tuple[WaterLevel, ...], tuple[Surfacing, ...]]:
    """Add to each level the worst that any routed storm brings, and tell where each storm first comes out (not
    where ``with_surfacing`` is False).

    Notes
    -----
    Within a step of the kernel the rain is constant and the volume in a well moves one way, so the worst of the step
    is at one of its ends. A level never falls as the tailwater rises or as the rain grows (see ``tree_levels``), so
    of all the steps of all the storms only those can be the worst that no other step beats in both: these alone
    count, and nothing is lost by it.
    """
    worst: dict[str, tuple[float, float, float]] = {}
    surfacing = []
    for end in trees(scheme):
        if not paths:
            continue
        flows_at = _flows_at(scheme, end, spouts)
        for part, (level, storm, step) in _worst(end, paths, flows_at).items():
            if part not in worst or level > worst[part][0]:
                path = paths[storm]
                worst[part] = (level, path.duration_s, _instant(path, end.end, step))
        limits = dict(zip((run.from_id for run in end.runs), end.pipes.limit_m, strict=True))
        if with_surfacing and any(worst[part][0] > limit + 1e-9 for part, limit in limits.items()):
            surfacing += [
                found for path in paths if (found := _first(scheme, end, path, flows_at)) is not None
            ]
    new = [
        replace(
            level,
            storm_m=worst[level.id][0],
            storm_duration_s=worst[level.id][1],
            storm_instant_s=worst[level.id][2],
        )
        if level.id in worst
        else level
        for level in levels
    ]
    return tuple(new), tuple(sorted(surfacing, key=lambda found: (found.duration_s, found.instant_s)))


def _worst(
    end: EndTree, paths: Sequence[StormPath], flows_at: Callable[[float], list[float]]
) -> dict[str, tuple[float, int, int]]:
    """Return, for each part where a run begins, the worst level, its storm and its step; of equal ones the first.

    Along the front the tailwater falls and the rain grows, so the highest tailwater of a stretch with its heaviest rain
    bounds every step between: a stretch whose bound beats nothing is passed over. Where water comes out on the way, a
    bound that counts less flow further down is none, and each step is worked out.
    """
    front = _front([_pair(path, end.end) for path in paths])
    rates = [float(paths[storm].rate_m_s[step]) for storm, step in front]
    tails = [_tail(paths[storm], end.end, step) for storm, step in front]
    worst: list[tuple[float, int]] = [(-math.inf, -1)] * len(end.runs)

    def at(tail: float, rate: float) -> tree.Settled:
        flows = flows_at(rate)
        return tree.settle(end.pipes, flow_m3_s=flows, tailwater_m=end.tails(tail, flows))

    def take(place: int) -> None:
        for i, level in enumerate(at(tails[place], rates[place]).wanted_m):
            best, first = worst[i]
            if first < 0 or level > best or (level == best and place < first):
                worst[i] = (level, place)

    take(0)
    if len(front) > 1:
        take(len(front) - 1)
    stretches = [(1, len(front) - 2)]
    while stretches:
        low, high = stretches.pop()
        if low > high:
            continue
        if low < high:
            bound = at(tails[low], rates[high])
            if not any(bound.out_m3_s) and all(
                level < best or (level == best and first < low)
                for level, (best, first) in zip(bound.wanted_m, worst, strict=True)
            ):
                continue
        middle = (low + high) // 2
        take(middle)
        stretches += [(middle + 1, high), (low, middle - 1)]
    return {run.from_id: (level, *front[place]) for run, (level, place) in zip(end.runs, worst, strict=True)}


def _flows_at(
    scheme: Scheme, end: EndTree, spouts: Sequence[DownspoutFlow]
) -> Callable[[float], list[float]]:
    """What a rate of net rain brings to each run of a tree, gutters and downspouts counted."""
    passing: dict[str, list[DownspoutFlow]] = {run.id: [] for run in end.runs}
    for spout in spouts:
        for run in scheme.way(spout.id):
            if run.id in passing:
                passing[run.id].append(spout)

    def flows(rate_m_s: float) -> list[float]:
        taken = {spout.id: min(rate_m_s * spout.area_m2, spout.limit_m3_s) for spout in spouts}
        return [sum(taken[spout.id] for spout in passing[run.id]) for run in end.runs]

    return flows


def _tail(path: StormPath, end: str, step: int) -> float:
    return float(path.tail_m[end][step]) if end in path.tail_m else -math.inf


def _pair(path: StormPath, end: str) -> tuple[FloatArray, FloatArray]:
    tail = path.tail_m[end] if end in path.tail_m else np.full(len(path.rate_m_s), -math.inf)
    return tail, path.rate_m_s


def _instant(path: StormPath, end: str, step: int) -> float:
    at_end = bool(path.rising[end][step]) if end in path.rising else True
    return path.step_s * (step + 1 if at_end else step)


def _front(pairs: Sequence[tuple[FloatArray, FloatArray]]) -> list[tuple[int, int]]:
    """Return (storm, step) of every step that no other beats in both tailwater and rain."""
    tail = np.concatenate([pair[0] for pair in pairs])
    rate = np.concatenate([pair[1] for pair in pairs])
    storm = np.concatenate([np.full(len(pair[0]), i) for i, pair in enumerate(pairs)])
    step = np.concatenate([np.arange(len(pair[0])) for pair in pairs])
    out = []
    highest = -math.inf
    for k in np.lexsort((step, storm, -rate, -tail)):
        if rate[k] > highest:
            highest = float(rate[k])
            out.append((int(storm[k]), int(step[k])))
    return out


def _first(
    scheme: Scheme, end: EndTree, path: StormPath, flows_at: Callable[[float], list[float]]
) -> Surfacing | None:
    """Return where and when a storm first comes out.

    A stretch of steps whose highest tailwater and heaviest rain, taken together, keep it dry is dry in every step.
    """
    tail, rate = _pair(path, end.end)

    def first_wet(start: int, stop: int) -> int | None:
        flows = flows_at(float(rate[start:stop].max()))
        rows = tree.tree_levels(
            end.pipes, flow_m3_s=flows, tailwater_m=end.tails(float(tail[start:stop].max()), flows)
        )
        if all(row.level_m <= limit + 1e-9 for row, limit in zip(rows, end.pipes.limit_m, strict=True)):
            return None
        if stop - start == 1:
            return start
        middle = (start + stop) // 2
        early = first_wet(start, middle)
        return early if early is not None else first_wet(middle, stop)

    step = first_wet(0, len(rate))
    if step is None:
        return None
    spilling = float(path.over_lip_m3_s[end.end][step]) if end.end in path.over_lip_m3_s else 0.0
    settled = _with_lip(scheme, end, flows_at(float(rate[step])), float(tail[step]), spilling)
    _, out, part = max(
        (wanted - limit, out, run.from_id)
        for wanted, limit, out, run in zip(
            settled.wanted_m, end.pipes.limit_m, settled.out_m3_s, end.runs, strict=True
        )
    )
    what = pipes.limits(scheme)[part][0]
    return Surfacing(path.duration_s, _instant(path, end.end, step), part, what, out)
