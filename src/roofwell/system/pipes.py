"""Water levels in the buried pipes, and what they can bring to a well that stands at a given level."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from roofwell import tables
from roofwell.physics.basin.standing import standing_water
from roofwell.physics.pipe import flow as pipe_flow
from roofwell.physics.pipe import profile
from roofwell.system.behaviour import FloatArray, RunFlow, StandingWater, WaterLevel
from roofwell.system.scheme import Run, Scheme

NEAR_ZERO = 1e-9


def _bend_k(run: Run) -> float:
    """Loss of the elbows on a run, in velocity heads."""
    known = {
        row["angle_deg"]: float(row["high"])
        for row in tables.rows("bend_loss")
        if row["fitting"] == "short elbow"
    }
    total = 0.0
    for fitting in run.fittings:
        if fitting.kind != "elbow":
            continue
        angle = abs(math.degrees(fitting.angle_rad))
        total += known[min(known, key=lambda key: abs(float(key) - angle))]
    return total


def chain(scheme: Scheme, way: Sequence[Run]) -> dict[str, list[float]]:
    """Return the arrays of a way, from its lower end upward, as ``physics.pipe.profile`` takes them."""
    entrance = tables.assumption("entrance-loss-k").value_si
    wyes = {wye.id for wye in scheme.wyes}
    runs = list(reversed(way))
    return {
        "downstream_invert_m": [run.downstream_invert_m for run in runs],
        "upstream_invert_m": [run.upstream_invert_m for run in runs],
        "length_m": [run.length_m for run in runs],
        "inside_diameter_m": [run.inside_diameter_m for run in runs],
        "manning_n": [run.manning_n for run in runs],
        "entrance_loss_k": [entrance for _ in runs],
        "bend_loss_k": [_bend_k(run) for run in runs],
        "velocity_head_k": [0.0 if run.from_id in wyes else 1.0 for run in runs],
    }


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


def levels(
    scheme: Scheme, peaks: Mapping[str, float], tailwater: Mapping[str, float], still: Mapping[str, float]
) -> tuple[tuple[RunFlow, ...], tuple[WaterLevel, ...]]:
    """Return flow and levels of every run, and the level at every part, for one flow in every run.

    ``tailwater`` is the level at each end (well, outlet) in the cloudburst, ``still`` that of a full well.
    """
    up: dict[str, float] = {}
    down: dict[str, float] = {}
    drowned: dict[str, bool] = {}
    speed: dict[str, float] = {}
    still_at: dict[str, float] = {}
    for start in _sources(scheme):
        way = scheme.way(start)
        if not way:
            continue
        end = way[-1].to_id
        line = profile.grade_line(
            **chain(scheme, way),
            flow_m3_s=[peaks[run.id] for run in reversed(way)],
            tailwater_m=tailwater.get(end, -math.inf),
        )
        for i, run in enumerate(reversed(way)):
            up[run.id] = max(up.get(run.id, -math.inf), float(line.upstream_level_m[i]))
            down[run.id] = max(down.get(run.id, -math.inf), float(line.downstream_level_m[i]))
            drowned[run.id] = drowned.get(run.id, False) or bool(line.surcharged[i])
            speed[run.id] = float(line.velocity_m_s[i])
            still_at[run.from_id] = max(still.get(end, -math.inf), run.upstream_invert_m)
    flows = tuple(
        _run_flow(run, peaks[run.id], up, down, drowned, speed) for run in scheme.runs if run.id in up
    )
    out = []
    for part, (what, limit) in limits(scheme).items():
        leaving = scheme.run_from(part)
        if leaving is not None and leaving.id in up:
            out.append(WaterLevel(part, what, still_at[part], up[leaving.id], limit))
    return flows, tuple(out)


def _sources(scheme: Scheme) -> list[str]:
    fed = {run.to_id for run in scheme.runs}
    return [run.from_id for run in scheme.runs if run.from_id not in fed]


def _run_flow(
    run: Run,
    peak: float,
    up: Mapping[str, float],
    down: Mapping[str, float],
    drowned: Mapping[str, bool],
    speed: Mapping[str, float],
) -> RunFlow:
    slope = run.slope_m_m
    full = full_speed = 0.0
    ratio = None
    if slope > 0:
        size = {"inside_diameter_m": run.inside_diameter_m, "slope": slope, "manning_n": run.manning_n}
        full = pipe_flow.full_flow_m3_s(**size)
        full_speed = pipe_flow.full_velocity_m_s(**size)
        depth = pipe_flow.normal_depth_m(flow_m3_s=peak, **size) if peak > 0 else 0.0
        ratio = None if depth is None else depth / run.inside_diameter_m
    return RunFlow(
        id=run.id,
        peak_m3_s=peak,
        full_m3_s=full,
        velocity_m_s=speed[run.id],
        full_velocity_m_s=full_speed,
        depth_ratio=ratio,
        level_up_m=up[run.id],
        level_down_m=down[run.id],
        surcharged=drowned[run.id],
    )


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
    spouts = [s for s in scheme.upstream_downspouts(well) if s.roof_area_m2 > 0]
    total = sum(spout.roof_area_m2 for spout in spouts)
    if not spouts:
        return None
    share = {
        run.id: sum(s.roof_area_m2 for s in spouts if run in scheme.way(s.id)) / total for run in scheme.runs
    }
    where = limits(scheme)
    out = np.full(len(stage_m), math.inf)
    seen: set[tuple[str, ...]] = set()
    for spout in spouts:
        way = scheme.way(spout.id)
        key = tuple(run.id for run in way)
        if not way or way[-1].to_id != well or key in seen:
            continue
        seen.add(key)
        found = profile.capacity_at_stage_m3_s(
            tailwater_m=stage_m,
            **chain(scheme, way),
            flow_share=[share[run.id] for run in reversed(way)],
            limit_level_m=[where.get(run.from_id, ("", math.inf))[1] for run in reversed(way)],
        )
        out = np.minimum(out, found)
    return out if bool(np.all(np.isfinite(out))) else None


def standing(scheme: Scheme) -> tuple[StandingWater, ...]:
    """Return the water that stands for good above each basin whose outlet is higher than its inlet."""
    out = []
    for basin in scheme.basins:
        if basin.outlet_invert_m <= basin.inlet_invert_m + NEAR_ZERO:
            continue
        for run in scheme.runs_to(basin.id):
            if run.slope_m_m <= 0 or run.downstream_invert_m >= basin.outlet_invert_m:
                continue
            water = standing_water(
                inlet_invert_m=run.downstream_invert_m,
                outlet_invert_m=basin.outlet_invert_m,
                pipe_slope=run.slope_m_m,
                pipe_diameter_m=run.inside_diameter_m,
                pipe_length_m=run.length_m,
                basin_area_m2=basin.plan_area_m2,
                floor_m=min(basin.floor_m, run.downstream_invert_m),
            )
            out.append(
                StandingWater(
                    basin.id,
                    run.id,
                    water.wet_length_m,
                    water.brim_full_length_m,
                    water.volume_m3,
                    water.fall_lost_m,
                )
            )
    return tuple(out)
