"""Water levels in a whole tree of pipes at once, and where water comes out of it when more comes than it carries.

Pipes are listed from downstream to upstream: a pipe stands after the one that it runs into. Each has a joint at
its upper end; a joint may have a limit (a grate, a downspout joint), over which water comes out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from roofwell.errors import InputError
from roofwell.physics.pipe.trace import Passed, Pipe, pass_pipe

_NONE = -1
_MOST_ROUNDS, _NEAR_M = 40, 1e-4


@dataclass(frozen=True, slots=True)
class PipeTree:
    """A tree of pipes.

    Attributes
    ----------
    pipes
        From downstream to upstream.
    below
        For each pipe the place of the one that it runs into, −1 where it ends in a tailwater.
    turn_k
        Velocity heads of the pipe below that are lost by turning into it (a wye's branch), 0 elsewhere.
    limit_m
        Level at which water comes out of each pipe's upper joint, m; ``inf`` for none.

    Raises
    ------
    InputError
        ``pipe-chain`` for lists of different lengths or out of order.
    """

    pipes: tuple[Pipe, ...]
    below: tuple[int, ...]
    turn_k: tuple[float, ...]
    limit_m: tuple[float, ...]

    def __post_init__(self) -> None:
        count = len(self.pipes)
        if not len(self.below) == len(self.turn_k) == len(self.limit_m) == count:
            raise InputError(f"a tree of {count} pipes needs {count} values in each list", code="pipe-chain")
        if any(not _NONE <= below < place for place, below in enumerate(self.below)):
            raise InputError("a pipe stands before the one that it runs into", code="pipe-chain")


@dataclass(frozen=True, slots=True)
class Settled:
    """A tree after water has come out wherever it had to.

    ``rows``: what each pipe does with the flow that is left in it. ``flow_m3_s``: that flow. ``out_m3_s``: flow that
    comes out at each pipe's upper joint, 0 mostly. ``wanted_m``: level to which the water in each joint would have
    to rise to bring all that comes to it, with the joints below already relieved; ``stands_m``: where it stands, at
    most the limit.
    """

    rows: tuple[Passed, ...]
    flow_m3_s: tuple[float, ...]
    out_m3_s: tuple[float, ...]
    wanted_m: tuple[float, ...]
    stands_m: tuple[float, ...]


def tree_levels(
    tree: PipeTree, *, flow_m3_s: Sequence[float], tailwater_m: Sequence[float]
) -> tuple[Passed, ...]:
    """Return what each pipe of a tree does; no joint stands over its limit for the pipes above it.

    Parameters
    ----------
    flow_m3_s
        In each pipe, zero or more.
    tailwater_m
        For each pipe that ends in one, its level, m (``-inf`` free); not read for the others.

    Raises
    ------
    InputError
        ``pipe-chain`` for lists of another length.

    Notes
    -----
    Every level is a monotone function of the tailwater and of each flow: friction, losses, critical and normal
    depth and what an entrance needs all grow with the flow, and a surface that starts higher ends no lower.
    """
    if not len(flow_m3_s) == len(tailwater_m) == len(tree.pipes):
        raise InputError(
            f"give one flow and one tailwater for each of {len(tree.pipes)} pipes", code="pipe-chain"
        )
    rows: list[Passed] = []
    for place, (pipe, flow) in enumerate(zip(tree.pipes, flow_m3_s, strict=True)):
        rows.append(pass_pipe(pipe, flow, _tail(tree, place, rows, flow_m3_s, tailwater_m)))
    return tuple(rows)


def _tail(
    tree: PipeTree,
    place: int,
    rows: Sequence[Passed] | Mapping[int, Passed],
    flows: Sequence[float],
    tailwater: Sequence[float],
) -> float:
    """Level that a pipe runs into: a tailwater, or the joint below with what turning into its pipe loses."""
    below = tree.below[place]
    if below == _NONE:
        return tailwater[place]
    level = rows[below].level_m
    if tree.turn_k[place] > 0 and flows[below] > 0:
        under = _tail(tree, below, rows, flows, tailwater)
        level = pass_pipe(tree.pipes[below], flows[below], under, tree.turn_k[place]).level_m
    return min(level, tree.limit_m[below])


def settle(tree: PipeTree, *, flow_m3_s: Sequence[float], tailwater_m: Sequence[float]) -> Settled:
    """Let water out at every joint that it would pass the limit of, the lowest joints first.

    Parameters
    ----------
    flow_m3_s
        What comes: the flow in each pipe if nothing came out.
    tailwater_m
        As ``tree_levels``.

    Notes
    -----
    A joint that is over its limit lets out just so much that it stands at the limit: the flow that stays is found
    by false position, with all other inflows as they are, and the pipes below carry that much less. Joints above it
    then work against the limit, not against a level that the water cannot reach. A joint whose tailwater alone
    is over its limit passes nothing on. What comes out is never more than what comes.
    """
    return _settled(tree, tuple(flow_m3_s), tuple(tailwater_m))


@lru_cache(maxsize=4096)
def _settled(tree: PipeTree, flow_m3_s: tuple[float, ...], tailwater_m: tuple[float, ...]) -> Settled:
    count = len(tree.pipes)
    own = _own_inflow(tree, flow_m3_s)
    most = [math.inf] * count  # what may pass each joint on into its pipe
    wanted: dict[int, float] = {}
    while True:
        flows, out = _gathered(tree, own, most)
        rows = tree_levels(tree, flow_m3_s=flows, tailwater_m=tailwater_m)
        over = next(
            (i for i, row in enumerate(rows) if i not in wanted and row.level_m > tree.limit_m[i] + 1e-9),
            None,
        )
        if over is None:
            break
        wanted[over] = rows[over].level_m
        most[over] = _may_pass(tree, over, flows, tailwater_m)
    return Settled(
        rows,
        tuple(flows),
        tuple(out),
        tuple(wanted[i] if out[i] > 0 else row.level_m for i, row in enumerate(rows)),
        tuple(min(row.level_m, limit) for row, limit in zip(rows, tree.limit_m, strict=True)),
    )


def _own_inflow(tree: PipeTree, flows: Sequence[float]) -> list[float]:
    """What enters each pipe at its upper joint from outside the tree."""
    own = list(flows)
    for place, below in enumerate(tree.below):
        if below != _NONE:
            own[below] -= flows[place]
    return [max(0.0, flow) for flow in own]


def _gathered(tree: PipeTree, own: Sequence[float], most: Sequence[float]) -> tuple[list[float], list[float]]:
    """Flow in each pipe and out of each joint, if no joint passes more on than it may."""
    coming, out = list(own), [0.0] * len(own)
    for place in range(len(own) - 1, -1, -1):
        passed = min(coming[place], most[place])
        out[place] = coming[place] - passed
        coming[place] = passed
        if tree.below[place] != _NONE:
            coming[tree.below[place]] += passed
    return coming, out


def _may_pass(tree: PipeTree, place: int, flows: Sequence[float], tailwater_m: Sequence[float]) -> float:
    """Largest flow of one pipe at which its upper joint stays at its limit; the pipes below carry less with it."""
    down = [place]
    while tree.below[down[-1]] != _NONE:
        down.append(tree.below[down[-1]])
    down.reverse()  # from the end up

    def stands(share: float) -> float:
        less = flows[place] * (1.0 - share)
        now = list(flows)
        for pipe in down:
            now[pipe] = max(0.0, flows[pipe] - less)
        rows: dict[int, Passed] = {}
        for pipe in down:
            tail = _tail(tree, pipe, rows, now, tailwater_m)
            rows[pipe] = pass_pipe(tree.pipes[pipe], now[pipe], tail)
        return rows[place].level_m

    limit = tree.limit_m[place]
    low, high = 0.0, 1.0
    under, over = stands(low) - limit, stands(high) - limit
    if under > 0:
        return 0.0
    # False position, the standing end halved (Illinois): a handful of steps where bisection takes fourteen.
    for _ in range(_MOST_ROUNDS):
        share = (low * over - high * under) / (over - under)
        found = stands(share) - limit
        if found <= 0:
            low, under, over = share, found, over / 2
            if found > -_NEAR_M:
                break
        else:
            high, over, under = share, found, under / 2
        if high - low < 1e-4:
            break
    return low * flows[place]
