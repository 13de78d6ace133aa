"""Water levels along a chain of pipes, from its lower end up, and the flow that a chain can bring.

The pipes are listed from downstream to upstream; a joint is the still water (basin, cleanout, foot of a
downspout) at the upstream end of a pipe. For each pipe the level in its upstream joint is the highest of three:

* what comes from below (backwater): the level downstream, or the pipe's own outlet depth if that is higher,
  plus the friction over the pipe, plus the velocity head and the losses at its upper end;
* what the pipe itself needs at its upper end: critical depth, plus the same;
* what its entrance needs where it starts in still water and its edge is given (``entrance``).

Where the pipe runs full the friction is Manning's for the full bore; where the water below reaches up into a
pipe that is not full, the surface is traced step by step (gradually varied flow).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from roofwell.errors import InputError
from roofwell.physics.kept import kept
from roofwell.physics.pipe.entrance import EntranceEdge
from roofwell.physics.pipe.trace import Pipe, pass_pipe

_OF_ITSELF, _LEAST_FLOW = 2e-7, 1e-12  # how near a largest flow is found


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
    edges: Sequence[EntranceEdge | None] = (),
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
    edges
        Edge of each pipe's entrance where it starts in still water, None elsewhere; left out: entrance control
        is reckoned from the loss coefficient alone.

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
    taken unless the water below fills the pipe. A mild pipe with a free outfall falls to critical depth there and
    is traced up from it towards its normal depth; so are pipes that are level, adverse or too small for their
    flow. Criteria that forbid a start below
    the crown of the outlet (Austin 5.5) are met by a tailwater at the crown. Where a pipe runs straight on
    into another size, the change of velocity head between them is not counted. No air is drawn along.
    """
    pipes = chain(
        downstream_invert_m=downstream_invert_m,
        upstream_invert_m=upstream_invert_m,
        length_m=length_m,
        inside_diameter_m=inside_diameter_m,
        manning_n=manning_n,
        entrance_loss_k=entrance_loss_k,
        bend_loss_k=bend_loss_k,
        velocity_head_k=velocity_head_k,
        edges=edges,
    )
    flows = _column("flow_m3_s", flow_m3_s, len(pipes))
    if math.isnan(tailwater_m):
        raise InputError(
            "tailwater is not a number; give a level, or -inf for a free outfall", code="pipe-number"
        )
    level_m = tailwater_m
    rows = []
    for pipe, flow in zip(pipes, flows, strict=True):
        row = pass_pipe(pipe, flow, level_m)
        rows.append(row)
        level_m = row.level_m
    return GradeLine(
        np.array([row.lower_m for row in rows]),
        np.array([row.level_m for row in rows]),
        np.array([row.surcharged for row in rows], dtype=np.bool_),
        np.array([row.full_length_m for row in rows]),
        np.array([row.velocity_m_s for row in rows]),
    )


@kept(1024)
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
    edges: Sequence[EntranceEdge | None] = (),
    at_most_m3_s: ArrayLike = math.inf,
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
    at_most_m3_s
        More than this is not asked for, one number or one per stage: what other chains bring at the most.
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
    limited = _limited(
        flow_share=flow_share,
        limit_level_m=limit_level_m,
        edges=edges,
        downstream_invert_m=downstream_invert_m,
        upstream_invert_m=upstream_invert_m,
        length_m=length_m,
        inside_diameter_m=inside_diameter_m,
        manning_n=manning_n,
        entrance_loss_k=entrance_loss_k,
        bend_loss_k=bend_loss_k,
        velocity_head_k=velocity_head_k,
    )
    stages = np.asarray(tailwater_m, dtype=np.float64)
    if np.isnan(stages).any():
        raise InputError("a tailwater level is not a number", code="pipe-number")
    ascending = np.argsort(stages, axis=None)
    capacity = np.empty(stages.size)
    most = np.broadcast_to(np.asarray(at_most_m3_s, dtype=np.float64), stages.shape)
    ceiling = math.inf
    for index in ascending:
        ceiling = min(ceiling, float(most.flat[index]))
        ceiling = _largest_flow(limited, float(stages.flat[index]), ceiling)
        capacity[index] = ceiling
    return capacity.reshape(stages.shape)


def passes(
    *,
    flow_m3_s: float,
    tailwater_m: float,
    flow_share: ArrayLike,
    limit_level_m: ArrayLike,
    velocity_head_k: ArrayLike = 1.0,
    edges: Sequence[EntranceEdge | None] = (),
    **columns: ArrayLike,
) -> bool:
    """Say whether a chain of pipes brings a flow, m³/s, at one level below it; all else as ``capacity_at_stage_m3_s``."""
    limited = _limited(
        flow_share=flow_share,
        limit_level_m=limit_level_m,
        velocity_head_k=velocity_head_k,
        edges=edges,
        **columns,
    )
    return bool(_over_limit_m(limited, flow_m3_s, tailwater_m) <= 0)


_Limited = tuple[list[Pipe], list[float], list[float]]


def _limited(
    *,
    flow_share: ArrayLike,
    limit_level_m: ArrayLike,
    edges: Sequence[EntranceEdge | None],
    **columns: ArrayLike,
) -> _Limited:
    """Return the pipes of a chain, the share of the flow that each carries, the level that it may reach at its upper end."""
    pipes = chain(edges=edges, **columns)
    shares = _column("flow_share", flow_share, len(pipes))
    limits = _column("limit_level_m", limit_level_m, len(pipes))
    if max(shares) > 1:
        raise InputError(f"flow share {max(shares):g} is above 1", code="pipe-number")
    if not any(math.isfinite(limit) and share > 0 for limit, share in zip(limits, shares, strict=True)):
        raise InputError(
            "no pipe that carries water has a limit level; give one for at least one pipe",
            code="pipe-no-limit",
        )
    return pipes, shares, limits


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


def chain(*, edges: Sequence[EntranceEdge | None] = (), **columns: ArrayLike) -> list[Pipe]:
    """Return pipes from their columns, as ``grade_line`` takes them; errors as there."""
    count = int(np.size(columns["downstream_invert_m"]))
    if count == 0:
        raise InputError("a chain of pipes needs at least one pipe", code="pipe-chain")
    if edges and len(edges) != count:
        raise InputError(
            f"edges has {len(edges)} values for {count} pipes; give one for each, or none", code="pipe-chain"
        )
    column = {name: _column(name, values, count) for name, values in columns.items()}
    return [
        Pipe(
            downstream_invert_m=lower,
            upstream_invert_m=upper,
            length_m=length,
            inside_diameter_m=column["inside_diameter_m"][i],
            manning_n=column["manning_n"][i],
            loss_k=column["velocity_head_k"][i] + column["entrance_loss_k"][i] + column["bend_loss_k"][i],
            slope=(upper - lower) / length,
            edge=edges[i] if edges else None,
        )
        for i, (lower, upper, length) in enumerate(
            zip(column["downstream_invert_m"], column["upstream_invert_m"], column["length_m"], strict=True)
        )
    ]


def _over_limit_m(limited: _Limited, flow: float, tailwater_m: float) -> float:
    """How far the water stands over the limit that it passes most, m; below zero: it passes none."""
    level_m, over_m = tailwater_m, -math.inf
    for pipe, share, limit in zip(*limited, strict=True):
        level_m = pass_pipe(pipe, flow * share, level_m).level_m
        over_m = max(over_m, level_m - limit)
    return over_m


def _largest_flow(limited: _Limited, tailwater_m: float, ceiling: float) -> float:
    """Largest flow that passes no limit; ``ceiling`` is the answer of a lower stage, or more than is asked for."""

    def over_m(flow: float) -> float:
        return _over_limit_m(limited, flow, tailwater_m)

    if ceiling == 0:
        return 0.0
    low, high = 0.0, ceiling
    if math.isfinite(ceiling) and over_m(ceiling) <= 0:
        return ceiling
    if over_m(0.0) > 0:
        return 0.0
    if math.isinf(ceiling):
        high = max(math.pi * pipe.inside_diameter_m**2 / 4.0 for pipe in limited[0])  # a velocity of 1 m/s
        while over_m(high) <= 0:
            low, high = high, 2.0 * high
    if over_m(low) == 0:  # still water stands at the limit: any flow lifts it over
        return low
    found = float(brentq(over_m, low, high, xtol=_LEAST_FLOW, rtol=_OF_ITSELF))
    if found < 1e-9:
        return 0.0
    return found if over_m(found) <= 0 else max(0.0, found - 2.0 * (_LEAST_FLOW + _OF_ITSELF * found))
