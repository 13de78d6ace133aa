"""The buried pipes as physics takes them: losses, what they can bring to a well at a given level, standing water."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np

from roofwell import tables
from roofwell.physics.basin.standing import standing_water
from roofwell.physics.pipe import profile
from roofwell.physics.pipe.entrance import EntranceEdge
from roofwell.physics.pipe.trace import Pipe
from roofwell.system.behaviour import FloatArray, RunFlow, StandingWater
from roofwell.system.scheme import XY, Run, Scheme

NEAR_ZERO = 1e-9


def _bend_k(run: Run) -> float:
    """Loss of the elbows on a run, in velocity heads."""
    return sum(
        elbow_k(abs(math.degrees(fitting.angle_rad))) for fitting in run.fittings if fitting.kind == "elbow"
    )


def elbow_k(angle_deg: float) -> float:
    """Return the loss of a short elbow, in velocity heads: that of the nearest angle in the table."""
    known = {
        row["angle_deg"]: float(row["high"])
        for row in tables.rows("bend_loss")
        if row["fitting"] == "short elbow"
    }
    return known[min(known, key=lambda key: abs(float(key) - angle_deg))]


@cache
def square_edge() -> EntranceEdge:
    """Return the edge of a pipe that starts flush with a wall, as ``entrance-loss-k`` takes it too."""
    row = next(
        row for row in tables.rows("entrance_control") if row["entrance"] == "square edge with headwall"
    )
    return EntranceEdge(*(float(row[name]) for name in ("k", "m", "c", "y", "slope_term")))


def _from_still_water(scheme: Scheme, run: Run) -> bool:
    return all(wye.id != run.from_id for wye in scheme.wyes)


def _entrance_k(scheme: Scheme, run: Run) -> float:
    """What a run's own start loses: the edge, and the elbow of a basin's hood; nothing at a wye, see ``turn_k``."""
    if not _from_still_water(scheme, run):
        return 0.0
    hood = any(basin.id == run.from_id and basin.hood for basin in scheme.basins)
    return tables.assumption("entrance-loss-k").value_si + (elbow_k(90.0) if hood else 0.0)


def turn_k(scheme: Scheme, branch: Run, trunk: Run) -> float:
    """Return what water loses that turns from one run into the next at a wye, in velocity heads of the next.

    0 where nothing joins. The published values for straight on, 45 and 90 degrees, and straight between them.
    """
    if _from_still_water(scheme, trunk) or len(scheme.runs_to(trunk.from_id)) < 2:
        return 0.0
    known = [(float(row["angle_deg"]), float(row["k"])) for row in tables.rows("wye_loss")]
    angle = _angle_deg(branch.path, trunk.path)
    return float(np.interp(angle, [a for a, _ in known], [k for _, k in known]))


def _angle_deg(before: Sequence[XY], after: Sequence[XY]) -> float:
    """Angle by which the last leg of one path turns into the first leg of the next; 0 where either has none."""
    if len(before) < 2 or len(after) < 2:
        return 0.0
    first = math.atan2(before[-1][1] - before[-2][1], before[-1][0] - before[-2][0])
    second = math.atan2(after[1][1] - after[0][1], after[1][0] - after[0][0])
    return abs(math.degrees(math.remainder(second - first, math.tau)))


def chain(scheme: Scheme, way: Sequence[Run]) -> dict[str, list[Any]]:
    """Return the columns of a way, from its lower end upward, as ``physics.pipe.profile`` takes them."""
    runs = list(reversed(way))
    above: list[Run | None] = [*runs[1:], None]
    return {
        "downstream_invert_m": [run.downstream_invert_m for run in runs],
        "upstream_invert_m": [run.upstream_invert_m for run in runs],
        "length_m": [run.length_m for run in runs],
        "inside_diameter_m": [run.inside_diameter_m for run in runs],
        "manning_n": [run.manning_n for run in runs],
        "entrance_loss_k": [
            _entrance_k(scheme, run) + (turn_k(scheme, branch, run) if branch is not None else 0.0)
            for run, branch in zip(runs, above, strict=True)
        ],
        "bend_loss_k": [_bend_k(run) + run.obstruction_k for run in runs],
        "velocity_head_k": [float(_from_still_water(scheme, run)) for run in runs],
        "edges": [square_edge() if _from_still_water(scheme, run) else None for run in runs],
    }


def pipe_of(scheme: Scheme, run: Run) -> Pipe:
    """Return one run as the trace takes it; what turning into it loses is the branch's, see ``turn_k``."""
    (pipe,) = profile.chain(**chain(scheme, [run]))
    return pipe


def limits(scheme: Scheme) -> dict[str, tuple[str, float]]:
    """Return, for each part, where water would come out: what it is called and its level, m."""
    out = {spout.id: ("downspout joint", spout.joint_m) for spout in scheme.downspouts}
    out |= {basin.id: ("basin grate", basin.grate_m) for basin in scheme.basins}
    return out


def run_peaks(scheme: Scheme, spout_m3_s: Mapping[str, float]) -> dict[str, float]:
    """Return the flow in every run for a flow at every downspout, m³/s."""
    out = dict.fromkeys((run.id for run in scheme.runs), 0.0)
    for spout in scheme.downspouts:
        for run in scheme.way(spout.id):
            out[run.id] += spout_m3_s.get(spout.id, 0.0)
    return out


def _sources(scheme: Scheme) -> list[str]:
    fed = {run.to_id for run in scheme.runs}
    return [run.from_id for run in scheme.runs if run.from_id not in fed]


def passes(scheme: Scheme, well: str, peaks: Mapping[str, float], tailwater_m: float) -> bool:
    """Return whether a flow in every run reaches a well without coming out above."""
    where = limits(scheme)
    for start in _sources(scheme):
        way = scheme.way(start)
        if not way or way[-1].to_id != well:
            continue
        line = profile.grade_line(
            **chain(scheme, way),
            flow_m3_s=[peaks[run.id] for run in reversed(way)],
            tailwater_m=tailwater_m,
        )
        for i, run in enumerate(reversed(way)):
            if line.upstream_level_m[i] > where.get(run.from_id, ("", math.inf))[1]:
                return False
    return True


def capacity(scheme: Scheme, well: str, stage_m: FloatArray) -> FloatArray | None:
    """Return what the pipes bring to a well at each level in it, before water comes out upstream, m³/s.

    The flow of each downspout is taken in proportion to its roof. None where no pipe reaches the well.
    """
    ways = capacity_ways(scheme, well)
    return None if ways is None else capacity_of(ways, stage_m)


def capacity_ways(scheme: Scheme, well: str) -> list[dict[str, Any]] | None:
    """Return each way to a well as ``physics.pipe.profile`` takes it for what it brings; None where none leads to it."""
    spouts = [s for s in scheme.upstream_downspouts(well) if s.roof_area_m2 > 0]
    total = sum(spout.roof_area_m2 for spout in spouts)
    if not spouts:
        return None
    way_of = {s.id: scheme.way(s.id) for s in spouts}
    on_way = {s.id: {run.id for run in way_of[s.id]} for s in spouts}
    share = {
        run.id: sum(s.roof_area_m2 for s in spouts if run.id in on_way[s.id]) / total for run in scheme.runs
    }
    where = limits(scheme)
    ways: dict[tuple[str, ...], dict[str, Any]] = {}
    for spout in spouts:
        way = way_of[spout.id]
        key = tuple(run.id for run in way)
        if not way or way[-1].to_id != well or key in ways:
            continue
        ways[key] = {
            **chain(scheme, way),
            "flow_share": [share[run.id] for run in reversed(way)],
            "limit_level_m": [where.get(run.from_id, ("", math.inf))[1] for run in reversed(way)],
        }
    return list(ways.values())


def capacity_of(ways: Sequence[Mapping[str, Any]], stage_m: FloatArray) -> FloatArray | None:
    """Return what ways together bring at each level, as ``capacity``."""
    out = np.full(len(stage_m), math.inf)
    for way in ways:
        out = profile.capacity_at_stage_m3_s(tailwater_m=stage_m, at_most_m3_s=out, **way)
    return out.copy() if bool(np.all(np.isfinite(out))) else None


def bring(ways: Sequence[Mapping[str, Any]], stage_m: float, flow_m3_s: float) -> bool:
    """Say whether ways together bring a flow at a level: the question to ``capacity_of`` that no flow is searched for."""
    return flow_m3_s < 0 or all(
        profile.passes(flow_m3_s=flow_m3_s, tailwater_m=stage_m, **way) for way in ways
    )


def standing(scheme: Scheme, flows: Sequence[RunFlow] = ()) -> tuple[StandingWater, ...]:
    """Return the water that stands in each run after the rain: kept back by a basin whose outlet is higher than its
    inlet, or by a run that rises towards its lower end; and as far up the runs above as it reaches. A basin with weep
    holes keeps it back only until they have drained it, and is named only where nothing keeps any back for good.

    ``flows``: the runs in the cloudburst, for what stands then.
    """
    out = []
    peak = {flow.id: flow for flow in flows}
    basins = {basin.id: basin for basin in scheme.basins}
    for run in scheme.runs:
        fall = run.upstream_invert_m - run.downstream_invert_m
        lowest = min(run.upstream_invert_m, run.downstream_invert_m)
        level, keeper = _kept_back(scheme, run)
        if level <= lowest + NEAR_ZERO:
            level, keeper = _kept_back(scheme, run, weeping=True)
        if not math.isfinite(lowest) or level <= lowest + NEAR_ZERO:
            continue
        here = basins.get(run.to_id)
        water = standing_water(
            inlet_invert_m=lowest,
            outlet_invert_m=level,
            # water lies against the lower end of a pipe that falls, and against the upper end of one that rises
            pipe_slope=abs(fall) / run.length_m,
            pipe_diameter_m=run.inside_diameter_m,
            pipe_length_m=run.length_m,
            basin_area_m2=here.plan_area_m2 if here is not None else 1.0,
            floor_m=min(here.floor_m, lowest) if here is not None else lowest,
        )
        flow = peak.get(run.id)
        backed_up = 0.0
        if flow is not None:
            over = max(0.0, flow.level_down_m - run.downstream_invert_m)
            backed_up = min(run.length_m, over / run.slope_m_m) if fall > 0 else run.length_m
        basin = basins.get(keeper)
        out.append(
            StandingWater(
                basin=basin.id if basin is not None else "",
                run=run.id,
                wet_length_m=water.wet_length_m,
                brimful_length_m=water.brim_full_length_m,
                volume_m3=water.volume_m3 if basin is not None and basin is here else water.pipe_volume_m3,
                fall_lost_m=level - run.downstream_invert_m if fall >= 0 else level - run.upstream_invert_m,
                pipe_volume_m3=water.pipe_volume_m3,
                design_wet_length_m=backed_up,
                design_full_length_m=flow.full_length_m if flow is not None else 0.0,
                slope_if_raised_m_m=(run.upstream_invert_m - level) / run.length_m,
                hood=basin.hood if basin is not None else False,
                weep_holes=basin.weep_holes if basin is not None else 0,
                level_m=level,
                rising_run="" if basin is not None else keeper,
            )
        )
    return tuple(out)


def _kept_back(scheme: Scheme, run: Run, *, weeping: bool = False) -> tuple[float, str]:
    """Level of the still water at a run's lower end, and the basin or run that keeps it; minus infinity if dry.

    ``weeping``: as long as basins with weep holes still stand full.
    """
    level, keeper = -math.inf, ""
    for place in reversed((run, *scheme.way(run.to_id))):
        if place.slope_m_m < 0 and place.downstream_invert_m > level:
            level, keeper = place.downstream_invert_m, place.id
        if place is run:
            break
        if level <= place.upstream_invert_m + NEAR_ZERO:
            level, keeper = -math.inf, ""
        basin = next((basin for basin in scheme.basins if basin.id == place.from_id), None)
        if basin is not None and basin.outlet_invert_m > level and (weeping or not basin.weep_holes):
            level, keeper = basin.outlet_invert_m, basin.id
    return level, keeper
