"""Water levels along a chain of pipes, from its lower end up, and the flow that a chain can bring.

The pipes are listed from downstream to upstream; a joint is the still water (basin, cleanout, foot of a
downspout) at the upstream end of a pipe. For each pipe the level in its upstream joint is the higher of two:

* what comes from below (backwater): the level downstream, or the pipe's own outlet depth if that is higher,
  plus the friction over the pipe, plus the velocity head and the losses at its upper end;
* what the pipe itself needs at its upper end: the larger of normal and critical depth, plus the same.

Where the pipe runs full the friction is Manning's for the full bore; where the water below reaches up into a
pipe that is not full, the surface is traced step by step (gradually varied flow).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from roofwell.errors import InputError
from roofwell.physics.pipe.flow import GRAVITY_M_S2, critical_depth_m, friction_slope, normal_depth_m

# Depth steps of the traced surface: twice as many move a level by less than half a millimeter.
_STEPS = 12


@dataclass(frozen=True, slots=True)
class GradeLine:
    """Levels along a chain of pipes, arrays of one value per pipe, from downstream to upstream.

    ``downstream_level_m``: water in the pipe at its lower end. ``upstream_level_m``: water in the joint at
    its upper end, losses included: what may not rise over a grate or a sill. ``surcharged``: the water in the
    pipe at its upper end stands at or above the crown. ``full_length_m``: length that runs full.
    ``velocity_m_s``: mean velocity at the upper end of the pipe.
    """

    downstream_level_m: NDArray[np.float64]
    upstream_level_m: NDArray[np.float64]
    surcharged: NDArray[np.bool_]
    full_length_m: NDArray[np.float64]
    velocity_m_s: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Pipe:
    downstream_invert_m: float
    upstream_invert_m: float
    length_m: float
    inside_diameter_m: float
    manning_n: float
    loss_k: float  # velocity head, entrance and bends together
    slope: float


def grade_line(
    *,
    downstream_invert_m: ArrayLike,
    upstream_invert_m: ArrayLike,
    length_m: ArrayLike,
    inside_diameter_m: ArrayLike,
    manning_n: ArrayLike,
    flow_m3_s: ArrayLike,
    entrance_loss_k: ArrayLike,
    bend_loss_k: ArrayLike,
    tailwater_m: float,
    velocity_head_k: ArrayLike = 1.0,
) -> GradeLine:
    """Return the water levels along a chain of pipes for one flow in each pipe.

    Parameters
    ----------
    downstream_invert_m, upstream_invert_m
        Elevations of each pipe's inverts, m, pipes in order from downstream to upstream. A level or adverse
        pipe is allowed.
    length_m, inside_diameter_m, manning_n
        Of each pipe; above 0.
    flow_m3_s
        Flow in each pipe; zero or more.
    entrance_loss_k, bend_loss_k
        Loss coefficients of each pipe's upper end and of the bends in it; zero or more. Both act at the upper
        end.
    tailwater_m
        Water level that the lowest pipe spills into, m; ``-inf`` for a free outfall.
    velocity_head_k
        Share of a pipe's velocity head that its upper joint must provide: 1 where the pipe starts in still
        water (so what reaches a joint is lost there: an exit loss of 1), 0 where the upstream pipe runs
        straight on into it. One value, or one per pipe.

    Returns
    -------
    GradeLine

    Raises
    ------
    InputError
        ``pipe-number`` for a value out of range; ``pipe-chain`` for lists of different lengths or none.

    Notes
    -----
    Steady flow, each joint at its own peak. Of the two depths between 1 and 1.0757 of full flow the lower is
    taken unless the water below fills the pipe. A mild pipe with a free outfall is given its normal depth
    throughout: its drawdown to the outlet is not credited. A pipe that is level, adverse or too small for its
    flow is traced upstream from critical depth, or from the water below. Criteria that forbid a start below
    the crown of the outlet (Austin 5.5) are met by a tailwater at the crown. Where a pipe runs straight on
    into another size, the change of velocity head between them is not counted. No air is drawn along.
    """
    pipes = _chain(
        downstream_invert_m=downstream_invert_m,
        upstream_invert_m=upstream_invert_m,
        length_m=length_m,
        inside_diameter_m=inside_diameter_m,
        manning_n=manning_n,
        entrance_loss_k=entrance_loss_k,
        bend_loss_k=bend_loss_k,
        velocity_head_k=velocity_head_k,
    )
    flows = _column("flow_m3_s", flow_m3_s, len(pipes))
    if math.isnan(tailwater_m):
        raise InputError(
            "tailwater is not a number; give a level, or -inf for a free outfall", code="pipe-number"
        )
    level_m = tailwater_m
    rows = []
    for pipe, flow in zip(pipes, flows, strict=True):
        row = _pass_pipe(pipe, flow, level_m)
        rows.append(row)
        level_m = row[1]
    lower, upper, surcharged, full, velocity = zip(*rows, strict=True)
    return GradeLine(
        np.array(lower),
        np.array(upper),
        np.array(surcharged, dtype=np.bool_),
        np.array(full),
        np.array(velocity),
    )


def capacity_at_stage_m3_s(
    *,
    tailwater_m: ArrayLike,
    downstream_invert_m: ArrayLike,
    upstream_invert_m: ArrayLike,
    length_m: ArrayLike,
    inside_diameter_m: ArrayLike,
    manning_n: ArrayLike,
    flow_share: ArrayLike,
    entrance_loss_k: ArrayLike,
    bend_loss_k: ArrayLike,
    limit_level_m: ArrayLike,
    velocity_head_k: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Return the largest flow that one chain of pipes brings without passing a limit level, m³/s per stage.

    Parameters
    ----------
    tailwater_m
        Levels at the lower end, m, any number in any order.
    flow_share
        Share of the flow at the lower end that each pipe carries; 0 to 1, the lowest pipe's normally 1.
    limit_level_m
        Level that the water in the joint at each pipe's upper end may reach, m (``inf`` for none); at least
        one must be a number.
    (the others)
        As ``grade_line``.

    Returns
    -------
    array
        One flow per stage, to 1e-6 of itself; it never rises with the stage, and is 0 where the stage itself,
        or an invert, is above a limit.

    Raises
    ------
    InputError
        ``pipe-number``, ``pipe-chain``; ``pipe-no-limit`` if no pipe has a limit and a flow.
    """
    pipes = _chain(
        downstream_invert_m=downstream_invert_m,
        upstream_invert_m=upstream_invert_m,
        length_m=length_m,
        inside_diameter_m=inside_diameter_m,
        manning_n=manning_n,
        entrance_loss_k=entrance_loss_k,
        bend_loss_k=bend_loss_k,
        velocity_head_k=velocity_head_k,
    )
    shares = _column("flow_share", flow_share, len(pipes))
    limits = _column("limit_level_m", limit_level_m, len(pipes))
    if max(shares) > 1:
        raise InputError(f"flow share {max(shares):g} is above 1", code="pipe-number")
    if not any(math.isfinite(limit) and share > 0 for limit, share in zip(limits, shares, strict=True)):
        raise InputError(
            "no pipe that carries water has a limit level; give one for at least one pipe",
            code="pipe-no-limit",
        )
    stages = np.asarray(tailwater_m, dtype=np.float64)
    if np.isnan(stages).any():
        raise InputError("a tailwater level is not a number", code="pipe-number")
    ascending = np.argsort(stages, axis=None)
    capacity = np.empty(stages.size)
    ceiling = math.inf
    for index in ascending:
        ceiling = _largest_flow(pipes, shares, limits, float(stages.flat[index]), ceiling)
        capacity[index] = ceiling
    return capacity.reshape(stages.shape)


def _column(name: str, values: ArrayLike, count: int) -> list[float]:
    column = np.asarray(values, dtype=np.float64)
    if column.ndim == 0:
        column = np.full(count, column)
    if column.shape != (count,):
        raise InputError(
            f"{name} has {column.size} values for {count} pipes; give one for each", code="pipe-chain"
        )
    numbers: list[float] = column.tolist()
    if name.endswith("invert_m"):
        fine = all(map(math.isfinite, numbers))
    elif name == "limit_level_m":
        fine = not any(map(math.isnan, numbers))
    elif name in ("length_m", "inside_diameter_m", "manning_n"):
        fine = all(0 < number < math.inf for number in numbers)
    else:
        fine = all(0 <= number < math.inf for number in numbers)
    if not fine:
        raise InputError(f"{name} is {numbers}; a value is out of range", code="pipe-number")
    return numbers


def _chain(**columns: ArrayLike) -> list[_Pipe]:
    count = int(np.size(columns["downstream_invert_m"]))
    if count == 0:
        raise InputError("a chain of pipes needs at least one pipe", code="pipe-chain")
    column = {name: _column(name, values, count) for name, values in columns.items()}
    return [
        _Pipe(
            downstream_invert_m=lower,
            upstream_invert_m=upper,
            length_m=length,
            inside_diameter_m=column["inside_diameter_m"][i],
            manning_n=column["manning_n"][i],
            loss_k=column["velocity_head_k"][i] + column["entrance_loss_k"][i] + column["bend_loss_k"][i],
            slope=(upper - lower) / length,
        )
        for i, (lower, upper, length) in enumerate(
            zip(column["downstream_invert_m"], column["upstream_invert_m"], column["length_m"], strict=True)
        )
    ]


def _pass_pipe(pipe: _Pipe, flow: float, tailwater_m: float) -> tuple[float, float, bool, float, float]:
    """Levels at the lower end and in the upper joint, surcharged, length full, velocity at the upper end."""
    diameter = pipe.inside_diameter_m
    bottom, top = pipe.downstream_invert_m, pipe.upstream_invert_m
    if flow == 0:
        lower = max(tailwater_m, bottom)
        upper = max(lower, top)
        full = _still_full_length(pipe, lower)
        return lower, upper, upper >= top + diameter, full, 0.0
    critical = critical_depth_m(flow_m3_s=flow, inside_diameter_m=diameter)
    normal = (
        normal_depth_m(flow_m3_s=flow, inside_diameter_m=diameter, slope=pipe.slope, manning_n=pipe.manning_n)
        if pipe.slope > 0
        else None
    )
    outlet = critical if normal is None else min(critical, normal)
    need = critical if normal is None else max(critical, normal)
    lower = max(tailwater_m, bottom + outlet)
    depth, full = _trace(pipe, flow, lower - bottom, critical, normal)
    level = max(_joint_level(pipe, flow, depth), _joint_level(pipe, flow, need))
    depth = max(depth, need)
    return lower, level, depth >= diameter, full, flow / _area(diameter, depth)


def _still_full_length(pipe: _Pipe, level_m: float) -> float:
    """Length that stands full under still water, from the lower end."""
    over = level_m - pipe.downstream_invert_m - pipe.inside_diameter_m
    if over < 0:
        return 0.0
    return pipe.length_m if over >= pipe.slope * pipe.length_m else over / pipe.slope


def _joint_level(pipe: _Pipe, flow: float, depth: float) -> float:
    velocity = flow / _area(pipe.inside_diameter_m, depth)
    return pipe.upstream_invert_m + depth + pipe.loss_k * velocity**2 / (2.0 * GRAVITY_M_S2)


def _area(diameter: float, depth: float) -> float:
    if depth >= diameter:
        return math.pi * diameter**2 / 4.0
    angle = 2.0 * math.acos(1.0 - 2.0 * depth / diameter)
    return diameter**2 * (angle - math.sin(angle)) / 8.0


def _trace(
    pipe: _Pipe, flow: float, depth: float, critical: float, normal: float | None
) -> tuple[float, float]:
    """Depth at the upper end that the water below causes, and the length that runs full, from the lower end.

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
            return resting, 0.0
        if full_slope <= pipe.slope or _run_per_depth(pipe, flow, depth) > 0:
            # Upstream the surface sinks towards the resting depth: M1 and S1 curves.
            return _step_along(pipe, flow, depth, resting, length - full_length), full_length
    # Level or adverse, or more flow than fits: upstream the water deepens until it fills the pipe.
    reached, left = _step_up(pipe, flow, max(depth, critical), length)
    return (reached, 0.0) if left <= 0 else (diameter + (full_slope - pipe.slope) * left, left)


def _run_per_depth(pipe: _Pipe, flow: float, depth: float) -> float:
    """Length of pipe per depth gained going downstream: (1 − Fr²) / (S₀ − S_f)."""
    diameter = pipe.inside_diameter_m
    angle = 2.0 * math.acos(1.0 - 2.0 * depth / diameter)
    area = diameter**2 * (angle - math.sin(angle)) / 8.0
    froude2 = flow**2 * diameter * math.sin(angle / 2.0) / (GRAVITY_M_S2 * area**3)
    friction = (pipe.manning_n * flow / area) ** 2 / (2.0 * area / (diameter * angle)) ** (4 / 3)
    return (1.0 - froude2) / (pipe.slope - friction) if pipe.slope != friction else math.inf


def _step_along(pipe: _Pipe, flow: float, depth: float, resting: float, length: float) -> float:
    """Depth at ``length`` upstream of ``depth``, on a surface that sinks towards ``resting``."""
    drop = depth - resting
    walked = 0.0
    upper = depth
    for step in range(1, _STEPS + 1):
        # Steps shorten towards the resting depth, which a mild surface only nears.
        below = resting + drop * (1.0 - step / _STEPS) ** 2
        run = (upper - below) * _run_per_depth(pipe, flow, 0.5 * (upper + below))
        if walked + run >= length:
            return upper - (upper - below) * (length - walked) / run
        walked += run
        upper = below
    return resting


def _step_up(pipe: _Pipe, flow: float, depth: float, length: float) -> tuple[float, float]:
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


def _passes(
    pipes: Sequence[_Pipe], shares: Sequence[float], limits: Sequence[float], flow: float, tailwater_m: float
) -> bool:
    level_m = tailwater_m
    for pipe, share, limit in zip(pipes, shares, limits, strict=True):
        level_m = _pass_pipe(pipe, flow * share, level_m)[1]
        if level_m > limit:
            return False
    return True


def _largest_flow(
    pipes: Sequence[_Pipe],
    shares: Sequence[float],
    limits: Sequence[float],
    tailwater_m: float,
    ceiling: float,
) -> float:
    """Largest flow that passes no limit, by bisection; ``ceiling`` is the answer of a lower stage."""
    if ceiling == 0 or not _passes(pipes, shares, limits, 0.0, tailwater_m):
        return 0.0
    low = 0.0
    if math.isinf(ceiling):
        high = max(math.pi * pipe.inside_diameter_m**2 / 4.0 for pipe in pipes)  # a velocity of 1 m/s
        while _passes(pipes, shares, limits, high, tailwater_m):
            low, high = high, 2.0 * high
    elif _passes(pipes, shares, limits, ceiling, tailwater_m):
        return ceiling
    else:
        high = ceiling
    while high - low > 1e-6 * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _passes(pipes, shares, limits, middle, tailwater_m) else (low, middle)
        if high < 1e-9:
            return 0.0
    return low
