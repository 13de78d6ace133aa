"""One pipe at one flow: the water at its lower end, along it, and in the joint at its upper end.

The joint takes the highest of three levels: what comes from below (backwater; with a free outfall from critical
depth up), what the pipe itself needs at its upper end by its critical depth, and, where the pipe starts in still
water, what its entrance needs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from roofwell.physics.pipe.entrance import EntranceEdge, entrance_head_m
from roofwell.physics.pipe.flow import GRAVITY_M_S2, critical_depth_m, friction_slope, normal_depth_m

# Depth steps of the traced surface: twice as many move a level by less than half a millimeter.
_STEPS = 12
# A drop in a month, m³/s: less than that is still water, and its depth would not be a number.
_STILL = 1e-12


@dataclass(frozen=True, slots=True)
class Pipe:
    """A pipe as the trace takes it; ``loss_k``: velocity head, entrance and bends at its upper end together."""

    downstream_invert_m: float
    upstream_invert_m: float
    length_m: float
    inside_diameter_m: float
    manning_n: float
    loss_k: float
    slope: float
    edge: EntranceEdge | None = None


@dataclass(frozen=True, slots=True)
class Passed:
    """What one flow does in one pipe.

    Levels at the lower end and in the upper joint, m; ``surcharged``: at or over the crown at the upper end;
    ``full_length_m`` from the lower end; velocity at the upper end, m/s; ``entrance_m`` and ``backwater_m``: the
    joint's level by the pipe's own entrance and depth alone, and by the water below alone.
    """

    lower_m: float
    level_m: float
    surcharged: bool
    full_length_m: float
    velocity_m_s: float
    entrance_m: float
    backwater_m: float


@lru_cache(maxsize=16384)
def _depths(flow: float, diameter: float, slope: float, manning_n: float) -> tuple[float, float | None]:
    """Critical and normal depth; kept, because nested storms bring the same flows again and again."""
    critical = critical_depth_m(flow_m3_s=flow, inside_diameter_m=diameter)
    if slope <= 0:
        return critical, None
    return critical, normal_depth_m(
        flow_m3_s=flow, inside_diameter_m=diameter, slope=slope, manning_n=manning_n
    )


@lru_cache(maxsize=16384)
def _entrance(flow: float, diameter: float, slope: float, edge: EntranceEdge) -> float:
    return entrance_head_m(flow_m3_s=flow, inside_diameter_m=diameter, slope=slope, edge=edge)


@lru_cache(
    maxsize=32768
)  # trees and searches for a flow ask for the same pipe at the same flow again and again
def pass_pipe(pipe: Pipe, flow: float, tailwater_m: float, turn_k: float = 0.0) -> Passed:
    """Follow one flow through one pipe; ``turn_k``: velocity heads lost on top by turning into it from a wye."""
    diameter = pipe.inside_diameter_m
    bottom, top = pipe.downstream_invert_m, pipe.upstream_invert_m
    if flow <= _STILL:
        lower = max(tailwater_m, bottom)
        upper = max(lower, top)
        full = _still_full_length(pipe, lower)
        return Passed(lower, upper, upper >= top + diameter, full, 0.0, top, upper)
    critical, normal = _depths(flow, diameter, pipe.slope, pipe.manning_n)
    outlet = critical if normal is None else min(critical, normal)
    lower = max(tailwater_m, bottom + outlet)
    depth, full = surface_rise(pipe, flow, lower - bottom, critical, normal)
    backwater = _joint_level(pipe, flow, depth, turn_k)
    own = _joint_level(pipe, flow, critical, turn_k)
    if pipe.edge is not None:
        own = max(own, top + _entrance(flow, diameter, pipe.slope, pipe.edge))
    depth = max(depth, critical)
    velocity = flow / _area(diameter, depth)
    return Passed(lower, max(backwater, own), depth >= diameter, full, velocity, own, backwater)


def _still_full_length(pipe: Pipe, level_m: float) -> float:
    """Length that stands full under still water, from the lower end."""
    over = level_m - pipe.downstream_invert_m - pipe.inside_diameter_m
    if over < 0:
        return 0.0
    return pipe.length_m if over >= pipe.slope * pipe.length_m else over / pipe.slope


def _joint_level(pipe: Pipe, flow: float, depth: float, turn_k: float) -> float:
    velocity = flow / _area(pipe.inside_diameter_m, depth)
    return pipe.upstream_invert_m + depth + (pipe.loss_k + turn_k) * velocity**2 / (2.0 * GRAVITY_M_S2)


def _area(diameter: float, depth: float) -> float:
    if depth >= diameter:
        return math.pi * diameter**2 / 4.0
    angle = 2.0 * math.acos(1.0 - 2.0 * depth / diameter)
    return diameter**2 * (angle - math.sin(angle)) / 8.0


def surface_rise(
    pipe: Pipe, flow: float, depth: float, critical: float, normal: float | None
) -> tuple[float, float]:
    """Return the depth at the upper end that the water below causes, and the length full from the lower end, m.

    ``depth`` may pass the crown: then it is pressure head over the invert.
    """
    diameter, length = pipe.inside_diameter_m, pipe.length_m
    full_slope = friction_slope(flow_m3_s=flow, inside_diameter_m=diameter, manning_n=pipe.manning_n)
    full_length = 0.0
    if depth >= diameter:
        falls_to_crown = (
            (depth - diameter) / (pipe.slope - full_slope) if pipe.slope > full_slope else math.inf
        )
        if falls_to_crown >= length:
            return depth + (full_slope - pipe.slope) * length, length
        depth, full_length = diameter, falls_to_crown
    if normal is not None:
        resting = max(normal, critical)
        if depth <= resting:
            if normal <= critical:
                return critical, 0.0
            # Mild, with less water below: the surface rises upstream towards the normal depth, M2.
            return _step_along(pipe, flow, max(depth, critical), normal, length), 0.0
        if full_slope <= pipe.slope or _run_per_depth(pipe, flow, depth) > 0:
            # Upstream the surface sinks towards the resting depth: M1 and S1 curves.
            return _step_along(pipe, flow, depth, resting, length - full_length), full_length
    # Level or adverse, or more flow than fits: upstream the water deepens until it fills the pipe.
    reached, left = _step_up(pipe, flow, max(depth, critical), length)
    return (reached, 0.0) if left <= 0 else (diameter + (full_slope - pipe.slope) * left, left)


def _run_per_depth(pipe: Pipe, flow: float, depth: float) -> float:
    """Length of pipe per depth gained going downstream: (1 − Fr²) / (S₀ − S_f)."""
    diameter = pipe.inside_diameter_m
    angle = 2.0 * math.acos(1.0 - 2.0 * depth / diameter)
    area = diameter**2 * (angle - math.sin(angle)) / 8.0
    froude2 = flow**2 * diameter * math.sin(angle / 2.0) / (GRAVITY_M_S2 * area**3)
    friction = (pipe.manning_n * flow / area) ** 2 / (2.0 * area / (diameter * angle)) ** (4 / 3)
    return (1.0 - froude2) / (pipe.slope - friction) if pipe.slope != friction else math.inf


def _step_along(pipe: Pipe, flow: float, depth: float, resting: float, length: float) -> float:
    """Depth at ``length`` upstream of ``depth``, on a surface that sinks or rises towards ``resting``."""
    gap = depth - resting
    walked = 0.0
    now = depth
    for step in range(1, _STEPS + 1):
        # Steps shorten towards the resting depth, which a mild surface only nears.
        then = resting + gap * (1.0 - step / _STEPS) ** 2
        run = (now - then) * _run_per_depth(pipe, flow, 0.5 * (now + then))
        if walked + run >= length:
            return now - (now - then) * (length - walked) / run
        walked += run
        now = then
    return resting


def _step_up(pipe: Pipe, flow: float, depth: float, length: float) -> tuple[float, float]:
    """Depth at ``length`` upstream where the surface rises upstream; or the crown, and the length left."""
    diameter = pipe.inside_diameter_m
    rise = diameter - depth
    walked = 0.0
    lower = depth
    for step in range(1, _STEPS + 1):
        above = depth + rise * step / _STEPS
        run = -(above - lower) * _run_per_depth(pipe, flow, 0.5 * (lower + above))
        if walked + run >= length:
            return lower + (above - lower) * (length - walked) / run, 0.0
        walked += run
        lower = above
    return diameter, length - walked
