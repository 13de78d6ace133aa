"""Stores linked by pipes: the tables that the kernel follows them by, from each store's own curves and levels.

Below a link's invert each store is by itself; over it both stand at one level and are one store. The link loses no
head: docs/method/kernel.md says how large that error is. Ponds: see ``compiled_linked``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import compiled
from roofwell.physics.stretches import Stretches

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SAME_LEVEL_M = 1e-9
LIPS_AGREE_M = 1e-6
NO_LIMIT_M3_S = 1e30


@dataclass(frozen=True, slots=True)
class Stage:
    """Level of the water (elevation, m) at volumes of a store (m³), linear between; both shape (k,), strictly rising.

    The first volume is 0, the last that of the full store.
    """

    volume_m3: FloatArray
    level_m: FloatArray


@dataclass(frozen=True, slots=True)
class Link:
    """A pipe to another store: the other one's position, and the elevation of its invert, m."""

    to: int
    invert_m: float


@dataclass(frozen=True, slots=True)
class Curves:
    """A store's arrays as the kernel takes them, with a node at the volume that counts as empty."""

    nodes: FloatArray
    above: FloatArray
    below: FloatArray
    capacity: FloatArray


@dataclass(frozen=True, slots=True)
class Ponds:
    """The tables of a group of linked stores; see ``compiled_linked``. ``rim_w``: volume of each store at each rim."""

    first: IntArray
    children: IntArray
    across: IntArray
    member: IntArray
    volume: FloatArray
    above: FloatArray
    below: FloatArray
    volume_w: FloatArray
    above_w: FloatArray
    capacity_w: FloatArray
    slope_w: FloatArray
    share_w: FloatArray

    def nodes_of(self, pond: int) -> slice:
        """Return where the nodes of a pond stand."""
        return slice(int(self.first[pond]), int(self.first[pond + 1]))


def groups(links: Sequence[Link | None]) -> list[list[int]]:
    """Return the groups of linked stores, each of two or more, its members in order.

    Raises
    ------
    InputError
        ``link-missing`` for a link to a store that is not there; ``link-circle`` for links that lead to their own
        store or close a circle.
    """
    count = len(links)
    group = list(range(count))
    for number, link in enumerate(links):
        if link is None:
            continue
        if not 0 <= link.to < count:
            raise InputError(
                f"store {number} is linked to store {link.to}; there are stores 0 to {count - 1}",
                code="link-missing",
            )
        if group[link.to] == group[number]:
            raise InputError(
                f"the link of store {number} to store {link.to} closes a circle; one way between two stores is enough",
                code="link-circle",
            )
        old, new = group[number], group[link.to]
        group = [new if g == old else g for g in group]
    found = [[k for k in range(count) if group[k] == g] for g in dict.fromkeys(group)]
    return [members for members in found if len(members) > 1]


def ponds(
    curves: Sequence[Curves],
    stages: Sequence[Stage | None],
    links: Sequence[tuple[int, int, float]],
    empty_m3: Sequence[float],
) -> Ponds:
    """Build the tables of one group.

    Parameters
    ----------
    curves, stages, empty_m3
        Of each store of the group; all are full at the same level.
    links
        The two stores that each link joins, by their places in the group, and its invert, m.

    Raises
    ------
    InputError
        ``link-stage`` for a store whose levels are not given or make no sense; ``link-lips`` for stores that are full
        at different levels; ``link-invert`` for an invert not below the lip.
        Under a pit's bottom, water passes over the bottom.
    """
    levels = [_levels(curve, stage, k) for k, (curve, stage) in enumerate(zip(curves, stages, strict=True))]
    checked = [stage for stage in stages if stage is not None]
    lips = [float(level[-1]) for level in levels]
    if max(lips) - min(lips) > LIPS_AGREE_M:
        raise InputError(
            f"linked stores are full at {lips} m; over a link all are full at one level, the lowest lip",
            code="link-lips",
        )
    lip = min(lips)
    bottoms = [float(level[0]) for level in levels]
    for _, _, invert in links:
        if not invert < lip - SAME_LEVEL_M:
            raise InputError(
                f"a link at {invert} m; its invert must lie under {lip} m, the lip", code="link-invert"
            )
    count = len(curves)
    # Water passes over an invert, or over the bottom of a pit that lies higher than it.
    order = sorted((max(z, bottoms[a], bottoms[b]), k) for k, (a, b, z) in enumerate(links))
    total = count + len(order)
    children = np.full((total, 2), -1, dtype=np.int64)
    across = np.full(total, -1, dtype=np.int64)
    member = np.zeros((total, count), dtype=np.int64)
    member[:count] = np.eye(count, dtype=np.int64)
    low, high = [*bottoms, *(z for z, _ in order)], [lip] * total
    top = list(range(count))  # the uppermost pond so far of each store
    for place, (z, k) in enumerate(order):
        a, b, _ = links[k]
        pond = count + place
        for side, (own, other) in enumerate(((a, b), (b, a))):
            child = top[own]
            children[pond, side], across[child], high[child] = child, other, z
        member[pond] = member[top[a]] | member[top[b]]
        top = [pond if member[pond, w] else top[w] for w in range(count)]
    tables = [
        _table(curves, checked, levels, np.flatnonzero(member[p]).tolist(), low[p], high[p])
        for p in range(total)
    ]
    first = np.concatenate([[0], np.cumsum([t[0].shape[0] for t in tables])]).astype(np.int64)
    volume_w, above_w, below_w, capacity_w = (np.concatenate([t[k] for t in tables]) for k in range(4))
    volume = volume_w.sum(axis=1)
    above, below = above_w.sum(axis=1), below_w.sum(axis=1)
    slope_w, share_w = np.zeros_like(volume_w), np.zeros_like(volume_w)
    for p in range(total):
        rows = slice(int(first[p]), int(first[p + 1]) - 1)
        after = slice(rows.start + 1, rows.stop + 1)
        width = (volume[after] - volume[rows])[:, None]
        slope_w[rows] = (below_w[after] - above_w[rows]) / width
        share_w[rows] = (volume_w[after] - volume_w[rows]) / width
    return Ponds(
        first, children, across, member, volume, above, below, volume_w, above_w, capacity_w, slope_w, share_w
    )


def start(tables: Ponds, start_m3: Sequence[float]) -> tuple[IntArray, FloatArray]:
    """Return which ponds are active and what they hold, from what each store holds; water finds its level at once."""
    count, total = len(start_m3), tables.children.shape[0]
    active = np.zeros(total, dtype=np.int64)
    active[:count] = 1
    held = np.zeros(total)
    held[:count] = start_m3
    rims = tables.volume[tables.first[1:] - 1]
    parent = {int(child): p for p in range(count, total) for child in tables.children[p]}
    while True:
        over = [a for a in range(total) if active[a] and held[a] > rims[a]]
        if not over:
            return active, held
        a = over[0]
        if a == total - 1:
            held[a] = rims[a]  # rounding only: no store holds more than full
            continue
        one, two = (int(child) for child in tables.children[parent[a]])
        if active[one] and active[two] and min(held[one] - rims[one], held[two] - rims[two]) >= 0.0:
            active[[one, two]] = 0
            active[parent[a]] = 1
            held[parent[a]] = held[one] + held[two]
            continue
        to = next(b for b in range(total) if active[b] and tables.member[b, tables.across[a]])
        held[to] += held[a] - rims[a]
        held[a] = rims[a]


@dataclass(frozen=True, slots=True)
class Going:
    """A group as the compiled code takes it: its tables, and how it stands; ``follow`` writes the latter.

    See ``compiled_linked`` for ``flags``, ``moving``, ``store`` and ``times``, shape (stores, 7).
    """

    pond: IntArray
    member: IntArray
    node: FloatArray
    each: FloatArray
    lip_m3_s: float
    step_s: float
    flags: IntArray
    moving: FloatArray
    store: FloatArray
    times: FloatArray


def begin(tables: Ponds, *, step_s: float, start_m3: Sequence[float], empty_m3: Sequence[float]) -> Going:
    """Return a group before its first step."""
    stores = len(start_m3)
    slopes, once, twice = (np.zeros_like(tables.volume) for _ in range(3))
    for p in range(tables.children.shape[0]):
        rows = tables.nodes_of(p)
        if rows.stop - rows.start > 1:
            factors = compiled.step_factors(
                tables.volume[rows], tables.above[rows], tables.below[rows], step_s
            )
            for kept, found in zip((slopes, once, twice), factors, strict=True):
                kept[rows.start : rows.stop - 1] = found
    held = tables.member.repeat(np.diff(tables.first), axis=0) > 0
    active, volume = start(tables, start_m3)
    flags = np.zeros((active.size, 4), dtype=np.int64)
    moving = np.zeros((active.size, 6))
    store = np.zeros((stores, 10))
    flags[:, 0], moving[:, 0] = active, volume
    store[:, -2], store[:, -1] = empty_m3, np.where(held, tables.capacity_w, np.inf).min(axis=0)
    return Going(
        np.column_stack([tables.first[:-1], tables.first[1:] - 1, tables.children, tables.across]),
        tables.member,
        np.column_stack([tables.volume, tables.above, tables.below, slopes, once, twice]),
        np.stack(
            [tables.volume_w, tables.above_w, tables.capacity_w, tables.slope_w, tables.share_w], axis=2
        ),
        float(tables.above[-1]),
        step_s,
        flags,
        moving,
        store,
        np.zeros((stores, 7)),
    )


def follow(
    going: Going,
    rates: FloatArray,
    given: Stretches | None,
    fed: FloatArray | None,
    *,
    spiller: int,
    hands_on: bool,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, Stretches | None]:
    """Follow a group in time, on from how it stands.

    ``rates``: inflow of each step, shape (steps, stores), m³/s; ``given`` and ``fed``: the stretches of what other stores
    hand on, and its rates, shape (stretches, stores). Returns volume at the end, soaked, spilled, refused and peak
    volume, shape (stores, steps), m³, and the spill where it ``hands_on``.
    """
    results = np.zeros((5, rates.shape[1], rates.shape[0]))
    takes: tuple[IntArray | FloatArray | None, ...] = (None,) * 4
    if given is not None and fed is not None:
        takes = given.step, given.first, given.duration_s, fed
    room, counts = None, np.zeros(2, dtype=np.int64)
    if hands_on:
        before = given if given is not None else Stretches.room(0, 0)
        lip = going.lip_m3_s * (1.0 - 1e-9)
        room = before.room_for_spill(int(np.count_nonzero(rates.sum(axis=1) >= lip)))
    gives = (None,) * 5 if room is None else (room.step, room.first, room.duration_s, room.rate_m3_s, counts)
    compiled.kernel().linked(given is not None, hands_on)(
        rates,
        *takes,
        going.step_s,
        going.pond,
        going.member,
        going.node,
        going.each,
        going.flags,
        going.moving,
        going.store,
        spiller,
        *results,
        going.times,
        *gives,
    )
    ended, soaked, spilled, refused, peak = results
    return ended, soaked, spilled, refused, peak, None if room is None else room.used(counts)


def _levels(curves: Curves, stage: Stage | None, number: int) -> FloatArray:
    """Level at each node of a store."""
    if stage is None:
        raise InputError(f"linked store {number} has no levels; give its stage", code="link-stage")
    volume, level = np.asarray(stage.volume_m3, float), np.asarray(stage.level_m, float)
    full = float(curves.nodes[-1])
    sound = (
        volume.ndim == 1
        and volume.shape == level.shape
        and volume.size >= 2
        and bool(np.isfinite(volume).all() and np.isfinite(level).all())
    )
    if (
        not sound
        or volume[0] != 0.0
        or abs(float(volume[-1]) - full) > 1e-9 * full
        or not bool((np.diff(volume) > 0.0).all() and (np.diff(level) > 0.0).all())
    ):
        raise InputError(
            f"linked store {number}: stage {stage.volume_m3}, {stage.level_m}; give two or more volumes from 0 to full "
            "with their levels, both strictly rising",
            code="link-stage",
        )
    return np.asarray(np.interp(curves.nodes, volume, level), dtype=np.float64)


def _table(
    curves: Sequence[Curves],
    stages: Sequence[Stage],
    levels: Sequence[FloatArray],
    members: Sequence[int],
    low_m: float,
    high_m: float,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Volume, soakage above and below and inlet capacity of each store at every node of a pond, shape (nodes, stores)."""
    inner = np.concatenate(
        [levels[w] for w in members] + [np.asarray(stages[w].level_m, float) for w in members]
    )
    inner = np.sort(inner[(inner > low_m + SAME_LEVEL_M) & (inner < high_m - SAME_LEVEL_M)])
    kept = [low_m]
    for level in inner.tolist():
        if level - kept[-1] > SAME_LEVEL_M:
            kept.append(level)
    if high_m - low_m > SAME_LEVEL_M:
        kept.append(high_m)
    count = len(curves)
    volume, above, below = (np.zeros((len(kept), count)) for _ in range(3))
    capacity = np.full((len(kept), count), NO_LIMIT_M3_S)
    for w in members:
        for row, level in enumerate(kept):
            volume[row, w], above[row, w], below[row, w], capacity[row, w] = _at(
                curves[w], stages[w], levels[w], level
            )
    return volume, above, below, capacity


def _at(
    curves: Curves, stage: Stage, node_levels: FloatArray, level_m: float
) -> tuple[float, float, float, float]:
    """Volume, soakage just above and below, and capacity of one store at a level: exact at its own nodes."""
    k = int(np.argmin(np.abs(node_levels - level_m)))
    if abs(float(node_levels[k]) - level_m) <= SAME_LEVEL_M:
        brings = float(curves.capacity[k]) if curves.capacity.size else NO_LIMIT_M3_S
        return float(curves.nodes[k]), float(curves.above[k]), float(curves.below[k]), brings
    volume = float(np.interp(level_m, stage.level_m, stage.volume_m3))
    i = min(max(int(np.searchsorted(curves.nodes, volume, side="right")) - 1, 0), curves.nodes.size - 2)
    share = (volume - curves.nodes[i]) / (curves.nodes[i + 1] - curves.nodes[i])
    soaks = float(curves.above[i] + share * (curves.below[i + 1] - curves.above[i]))
    brings = NO_LIMIT_M3_S
    if curves.capacity.size:
        brings = float(curves.capacity[i] + share * (curves.capacity[i + 1] - curves.capacity[i]))
    return volume, soaks, soaks, brings
