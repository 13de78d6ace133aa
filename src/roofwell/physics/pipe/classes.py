"""What kind of flow a run has: its slope against critical, and the name of its water surface."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from roofwell.errors import InputError
from roofwell.physics.pipe.flow import GRAVITY_M_S2, critical_depth_m, normal_depth_m
from roofwell.physics.pipe.trace import Pipe, surface_rise

SlopeClass = Literal["mild", "steep", "critical", "horizontal", "adverse"]
Curve = Literal["still", "uniform", "full", "M1", "M2", "S1", "S2", "C1", "H2", "A2"]

_SAME = 1e-6  # two depths that differ by less, relative, are one


@dataclass(frozen=True, slots=True)
class RunClass:
    """Kind of flow in one run.

    ``slope``: normal against critical depth. ``curve``: the surface as textbooks name it, seen at the lower end;
    "full": the pipe runs full from end to end; "still": no flow. ``normal_depth_m`` None: it cannot run part
    full. ``jump_m``: distance of a hydraulic jump from the lower end, None where there is none in the pipe.
    ``supercritical``: rapid flow over at least a part of the length.
    """

    slope: SlopeClass
    curve: Curve
    critical_depth_m: float
    normal_depth_m: float | None
    jump_m: float | None
    supercritical: bool


def classify(
    *,
    flow_m3_s: float,
    inside_diameter_m: float,
    slope: float,
    manning_n: float,
    length_m: float,
    downstream_depth_m: float,
) -> RunClass:
    """Class a run by its normal, critical and tailwater depth.

    Parameters
    ----------
    flow_m3_s
        Zero or more.
    inside_diameter_m, manning_n, length_m
        Above 0.
    slope
        Fall per length, m/m; 0 or less for a level or adverse pipe.
    downstream_depth_m
        Water that stands over the invert of the lower end, from outside, m; ``-inf`` or any depth under the
        pipe's own for a free outfall.

    Raises
    ------
    InputError
        ``pipe-number``.

    Notes
    -----
    A steep pipe with deep tailwater has a jump where the specific force A z + Q²/gA of the S1 surface equals that
    of the normal depth; tailwater that has less of it is swept out of the pipe. The jump's own length is not
    counted, and the rapid flow above it is taken at its normal depth.
    """
    if math.isnan(downstream_depth_m) or not math.isfinite(slope) or not (0 < length_m < math.inf):
        raise InputError(
            f"slope {slope:g}, length {length_m:g} m or downstream depth {downstream_depth_m:g} m is out of range",
            code="pipe-number",
        )
    critical = critical_depth_m(flow_m3_s=flow_m3_s, inside_diameter_m=inside_diameter_m)
    normal = None
    if slope > 0:
        normal = normal_depth_m(
            flow_m3_s=flow_m3_s, inside_diameter_m=inside_diameter_m, slope=slope, manning_n=manning_n
        )
    kind = _slope_class(slope, normal, critical)
    if flow_m3_s == 0:
        # The last trickle of any slope is mild: its depth vanishes more slowly than the critical one.
        dry: SlopeClass = "mild" if slope > 0 else kind
        return RunClass(dry, "still", 0.0, 0.0 if slope > 0 else None, None, False)
    pipe = Pipe(0.0, slope * length_m, length_m, inside_diameter_m, manning_n, 0.0, slope)
    if kind in ("steep", "critical") and normal is not None:
        return _steep(pipe, kind, flow_m3_s, downstream_depth_m, critical, normal)
    start = max(downstream_depth_m, critical)
    upper, full = surface_rise(pipe, flow_m3_s, start, critical, normal)
    curve: Curve
    if full >= length_m * (1 - 1e-9) and upper >= inside_diameter_m:
        curve = "full"
    elif kind == "horizontal":
        curve = "H2"
    elif kind == "adverse":
        curve = "A2"
    elif normal is not None and abs(downstream_depth_m - normal) <= _SAME * normal:
        curve = "uniform"
    else:
        curve = "M1" if normal is not None and downstream_depth_m > normal else "M2"
    return RunClass(kind, curve, critical, normal, None, False)


def _slope_class(slope: float, normal: float | None, critical: float) -> SlopeClass:
    if slope < 0:
        return "adverse"
    if slope == 0:
        return "horizontal"
    if normal is None or normal > critical * (1 + _SAME):
        return "mild"
    return "steep" if normal < critical * (1 - _SAME) else "critical"


def _steep(
    pipe: Pipe, kind: SlopeClass, flow: float, depth: float, critical: float, normal: float
) -> RunClass:
    diameter = pipe.inside_diameter_m
    if kind == "critical":
        return RunClass(kind, "C1" if depth > critical else "uniform", critical, normal, None, False)
    rapid = specific_force_m3(flow_m3_s=flow, inside_diameter_m=diameter, depth_m=normal)
    if (
        depth <= critical
        or specific_force_m3(flow_m3_s=flow, inside_diameter_m=diameter, depth_m=depth) <= rapid
    ):
        return RunClass(kind, "S2", critical, normal, None, True)
    # The jump stands where the S1 surface has sunk, going up, to the depth whose force is that of the rapid flow.
    low, high = critical, depth
    for _ in range(60):
        middle = 0.5 * (low + high)
        force = specific_force_m3(flow_m3_s=flow, inside_diameter_m=diameter, depth_m=middle)
        low, high = (low, middle) if force > rapid else (middle, high)
    at = _reach(pipe, flow, depth, high, critical, normal)
    if at < pipe.length_m:
        return RunClass(kind, "S1", critical, normal, at, True)
    _, full = surface_rise(pipe, flow, depth, critical, normal)
    return RunClass(kind, "full" if full >= pipe.length_m else "S1", critical, normal, None, False)


def _reach(pipe: Pipe, flow: float, depth: float, goal: float, critical: float, normal: float) -> float:
    """Distance up the pipe at which the surface that stands at ``depth`` below has sunk to ``goal``."""
    low, high = 0.0, pipe.length_m
    if surface_rise(pipe, flow, depth, critical, normal)[0] > goal:
        return math.inf
    for _ in range(40):
        middle = 0.5 * (low + high)
        part = Pipe(0.0, pipe.slope * middle, middle, pipe.inside_diameter_m, pipe.manning_n, 0.0, pipe.slope)
        if surface_rise(part, flow, depth, critical, normal)[0] > goal:
            low = middle
        else:
            high = middle
    return high


def specific_force_m3(*, flow_m3_s: float, inside_diameter_m: float, depth_m: float) -> float:
    """Return the specific force of flow in a round pipe, m³: A z + Q²/gA, z the depth of the centroid.

    ``depth_m`` above 0; over the crown it is the pressure head over the invert.
    """
    within = min(depth_m, inside_diameter_m)
    angle = 2.0 * math.acos(max(-1.0, 1.0 - 2.0 * within / inside_diameter_m))
    area = inside_diameter_m**2 * (angle - math.sin(angle)) / 8.0
    chord = 2.0 * math.sqrt(max(0.0, within * (inside_diameter_m - within)))
    moment = chord**3 / 12.0 - area * (inside_diameter_m / 2.0 - within) + area * (depth_m - within)
    return moment + flow_m3_s**2 / (GRAVITY_M_S2 * area)
