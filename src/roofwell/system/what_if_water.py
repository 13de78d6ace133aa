"""Where the water of a what-if stands: shut ways, the lowest edge upstream of them, the way back to it.

Where a way is shut, the water rises until it finds the lowest grate or joint upstream of it; what stands over that edge is
the head that it needs there, its other half left to leaves and to the downspout that stands in it. The way back to that edge
costs the friction of a full pipe.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from roofwell import tables
from roofwell.physics.pipe import losses, tree
from roofwell.physics.well import mouths
from roofwell.system import levels, overflow_parts, pipes
from roofwell.system.behaviour import DownspoutFlow, WaterLevel
from roofwell.system.levels import EndTree, StormPath
from roofwell.system.scheme import Overflow, Scheme
from roofwell.system.storm_run import Routed
from roofwell.system.what_if_facts import Case, CaseLine

SEEN_M3_S = 1e-9
_HALVINGS = 12


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge over which water can come out: a grate, a joint, or the overflow of a linked well."""

    part: str
    what: str
    level_m: float
    mouth: mouths.Grate | None
    overflow: Overflow | None = None

    def head_m(self, flow_m3_s: float) -> float:
        blocked = tables.assumption("overflow-clogged").value_si
        if self.overflow is not None:
            return overflow_parts.head_m(self.overflow, flow_m3_s, blocked)
        assert self.mouth is not None
        by = overflow_parts.coefficients()
        return mouths.head_m(self.mouth, flow_m3_s=max(flow_m3_s, 0.0), by=by, clogged_fraction=blocked)


@dataclass(frozen=True, slots=True)
class Rain:
    """What every case starts from: flows of the cloudburst, the wells full, and the design storms once routed."""

    peaks: Mapping[str, float]
    tail_m: Mapping[str, float]
    still_m: Mapping[str, float]
    leaving_m3_s: Mapping[str, float]
    runs: tuple[Routed, ...]
    paths: tuple[StormPath, ...]
    spouts: tuple[DownspoutFlow, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """Levels and flows of one case at one rain."""

    level_m: Mapping[str, float]
    lines: tuple[CaseLine, ...]
    out_m3_s: Mapping[str, float]


def reach_m(level: WaterLevel) -> float:
    """Return how high water stands at a part in the cloudburst, no higher than where it comes out, m."""
    return min(level.peak_m, level.limit_m)


def settled(
    scheme: Scheme,
    peaks: Mapping[str, float],
    tail_m: Mapping[str, float],
    still_m: Mapping[str, float],
    leaving: Mapping[str, float] | None,
) -> Found:
    flows, found = levels.cloudburst(scheme, peaks, tail_m, still_m, leaving)
    return Found(
        {level.id: reach_m(level) for level in found},
        tuple(CaseLine(flow.id, flow.level_up_m, flow.level_down_m) for flow in flows),
        {level.id: level.comes_out_m3_s for level in found if level.comes_out_m3_s > SEEN_M3_S},
    )


def lowest_edge(scheme: Scheme, ends: Sequence[str], case: Case) -> Edge | None:
    """Return the lowest edge that still water in these ends can reach; None where none is known."""
    where = pipes.limits(scheme)
    parts = [run.from_id for end in _trees(scheme, ends) for run in end.runs] + list(ends)
    edges = [
        Edge(id, where[id][0], where[id][1], _mouth(scheme, id))
        for id in dict.fromkeys(parts)
        if id in where and math.isfinite(where[id][1])
    ]
    edges += [
        Edge(o.id, "overflow", o.lip_m, None, o)
        for o in scheme.overflows
        if o.of in ends and o.id != case.part and o.to is None and case.kind == "overflow blocked"
    ]
    return min(edges, key=lambda edge: (edge.level_m, edge.part), default=None)


def _trees(scheme: Scheme, ends: Iterable[str]) -> list[EndTree]:
    return [end for end in levels.trees(scheme) if end.end in set(ends)]


def _mouth(scheme: Scheme, id: str) -> mouths.Grate:
    """The edge of a basin's grate, or of the pipe in which a downspout stands."""
    for basin in scheme.basins:
        if basin.id == id:
            match basin.shape:
                case "round":
                    edge = math.pi * basin.width_m
                case "square":
                    edge = 4 * basin.width_m
                case "rectangular":
                    edge = 2 * (basin.width_m + basin.along_m)
                case "outline":
                    corners = basin.outline
                    edge = sum(
                        math.dist(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)
                    )
            share = tables.assumption("overflow-open-share").value_si
            return mouths.Grate(edge, basin.plan_area_m2 * share)
    run = scheme.run_from(id)
    spout = next(spout for spout in scheme.downspouts if spout.id == id)
    across = run.inside_diameter_m if run is not None else spout.width_m
    return mouths.Grate(math.pi * across, math.pi * across**2 / 4)


def let_rise(
    scheme: Scheme, ends: tuple[str, ...], over_m3_s: float, edge: Edge, rain: Rain, scale: float = 1.0
) -> Found:
    """Let water rise in the shut ends until all of it leaves: over the lowest edge, and over others that it reaches.

    ``scale``: of all flows, for the heaviest rain of the design storms.
    """
    peaks = {id: flow * scale for id, flow in rain.peaks.items()}
    ending = _trees(scheme, ends)
    through, tail, others = _balance(scheme, ending, peaks, over_m3_s, edge)
    heads = {edge.part: edge.head_m(through)} | heads_of(scheme, others)
    lifted = raised(scheme, heads)
    leaving = {id: flow for id, flow in rain.leaving_m3_s.items() if id not in ends}
    tails = {**rain.tail_m, **dict.fromkeys(ends, tail)}
    still = {**rain.still_m, **dict.fromkeys(ends, edge.level_m)}
    found = settled(lifted, peaks, tails, still, leaving)
    upstream = {run.from_id for end in ending for run in end.runs}
    level = {id: z for id, z in found.level_m.items() if id in upstream} | dict.fromkeys(ends, tail)
    level[edge.part] = edge.level_m + heads[edge.part]
    out = {id: flow for id, flow in others.items() if id in upstream} | {edge.part: through}
    mine = {run.id for end in ending for run in end.runs}
    return Found(level, tuple(line for line in found.lines if line.run in mine), out)


def _balance(
    scheme: Scheme, ending: Sequence[EndTree], peaks: Mapping[str, float], over_m3_s: float, edge: Edge
) -> tuple[float, float, dict[str, float]]:
    """Return what leaves over the lowest edge, m³/s, the level in the ends, m, and what comes out of other joints."""

    def tried(flow: float) -> tuple[float, float, dict[str, float]]:
        head = edge.head_m(flow)
        tail = edge.level_m + head + _way_back_m(scheme, edge.part, flow, peaks)
        out: dict[str, float] = {}
        for end in ending:
            limits = tuple(
                limit + (head if run.from_id == edge.part else 0.0)
                for run, limit in zip(end.runs, end.pipes.limit_m, strict=True)
            )
            settled = tree.settle(
                replace(end.pipes, limit_m=limits),
                flow_m3_s=[peaks[run.id] for run in end.runs],
                tailwater_m=[tail] * len(end.runs),
            )
            out |= {
                run.from_id: gone
                for run, gone in zip(end.runs, settled.out_m3_s, strict=True)
                if gone > SEEN_M3_S and run.from_id != edge.part
            }
        return over_m3_s - sum(out.values()), tail, out

    left, tail, out = tried(over_m3_s)
    if not out:
        return over_m3_s, tail, out
    low, high = 0.0, over_m3_s
    for _ in range(_HALVINGS):
        flow = 0.5 * (low + high)
        left, tail, out = tried(flow)
        if left > flow:
            low = flow
        else:
            high = flow
    left, tail, out = tried(high)
    return high, tail, out


def _way_back_m(scheme: Scheme, part: str, flow_m3_s: float, peaks: Mapping[str, float]) -> float:
    """What water loses that runs back, through full pipes, from a shut end to the edge over which it leaves, m."""
    lost = 0.0
    for run in scheme.way(part):
        back = flow_m3_s - peaks[run.id]
        if back <= 0:
            continue
        lost += losses.full_pipe_loss_m(
            flow_m3_s=back,
            length_m=run.length_m,
            inside_diameter_m=run.inside_diameter_m,
            manning_n=run.manning_n,
            ends_k=1.0 + tables.assumption("entrance-loss-k").value_si,
        )
    return lost


def heads_of(scheme: Scheme, out_m3_s: Mapping[str, float]) -> dict[str, float]:
    """The head that each joint and grate needs to let out what comes out of it."""
    return {
        id: Edge(id, "", 0.0, _mouth(scheme, id)).head_m(flow)
        for id, flow in out_m3_s.items()
        if flow > SEEN_M3_S
    }


def raised(scheme: Scheme, heads: Mapping[str, float]) -> Scheme:
    """The same Scheme with water standing so much higher at its joints and grates before it gets out."""
    if not heads:
        return scheme
    return replace(
        scheme,
        downspouts=tuple(replace(s, joint_m=s.joint_m + heads.get(s.id, 0.0)) for s in scheme.downspouts),
        basins=tuple(replace(b, grate_m=b.grate_m + heads.get(b.id, 0.0)) for b in scheme.basins),
    )
