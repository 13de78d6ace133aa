"""The inner loop of stores linked by pipes: compiled by ``compiled``, and otherwise run as it stands.

Its functions and those of ``compiled`` do not call each other: numba's cache looks only at the file of the
function that it compiles. So the three closed forms stand here once more; a test holds them equal.

A *pond* is a set of stores whose water stands at one level: each store by itself up to the first link that
leads out of it, then, over that link's invert, all that it joins, and so on up to the lip. Ponds form a tree:
the first ones are the stores, each further one has two children that meet at its bottom, the last one is full
at the lip. At any time some ponds are active, and every store belongs to just one of these.

The functions are cut small, and their arrays bundled, because the time to compile grows faster than a function.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def _growth(z: float) -> float:
    """(exp(z) − 1) / z, with its limit 1 at z = 0."""
    if abs(z) < 1e-5:
        return 1.0 + z * (0.5 + z / 6.0)
    return math.expm1(z) / z


def _growth_of_growth(z: float) -> float:
    """(exp(z) − 1 − z) / z², with its limit 1/2 at z = 0."""
    if abs(z) < 0.05:
        # Below this the subtraction would lose more digits than the series, whose rest is under 1e-16.
        return 1 / 2 + z * (1 / 6 + z * (1 / 24 + z * (1 / 120 + z * (1 / 720 + z * (1 / 5040 + z / 40320)))))
    return (math.expm1(z) - z) / (z * z)


def _log_ratio(y: float) -> float:
    """log(1 + y) / y, with its limit 1 at y = 0; y above −1."""
    if abs(y) < 1e-5:
        return 1.0 - y * (0.5 - y / 3.0)
    return math.log1p(y) / y


# Columns of the tables (built by ``linked``) and of the state. Few arrays with many columns, and functions cut small:
# the time to compile grows fast with the number of arrays and with the length of a function.
#
# pond: of each pond its first node, its rim's node, its two children, and the store across the link at its rim
FIRST, RIM, LEFT, RIGHT, ACROSS = range(5)
# node: of each pond's nodes volume, soakage just above and just below, and the factors of ``step_factors``
VOLUME, ABOVE, BELOW, SLOPE, ONCE, TWICE = range(6)
# each: the same of each store at each node: volume, soakage just above, what its inlet can bring, and the slopes of its
# soakage and of its volume against the pond's volume. (First columns as in node.)
CAPACITY, SOAK_SLOPE, SHARE = range(2, 5)
# flags: of each pond whether it is active, its segment, whether it was joined at this instant, and how it moves: 0 held
# at a node (net then is what soaks), 1 on its way to a target, 2 at rest
ACTIVE, SEGMENT, MERGED, MOVES = range(4)
# moving: of each pond its volume, what runs into it over links, its net inflow, how that bends, the time it needs, and
# its target
PASSED, NET, BEND, NEEDED, TARGET = range(1, 6)
# store: of each store its rate, its volume now and the highest of the step, what it soaked and refused in the step,
# since when it is wet (−1: it is not), until when, the longest time, the volume that counts as empty, and what its inlet
# brings at any level
RATE, NOW, HIGHEST, SOAKED, REFUSED, WET_SINCE, WET_UNTIL, LONGEST, EMPTY, ALWAYS = range(10)


def _brought(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    a: int,
    at: int,
) -> float:
    """What the inlets of a pond's stores bring at a node, and what runs into it over links."""
    total: float = moving[a, PASSED]
    for w in range(store.shape[0]):
        if member[a, w]:
            total += min(store[w, RATE], each[at, w, CAPACITY])
    return total


def _rim_net(
    pond: Ints, member: Ints, node: Floats, each: Floats, flags: Ints, moving: Floats, store: Floats, a: int
) -> float:
    """Net inflow just above the rim of an active pond that is full to it; −∞ for any other."""
    rim = pond[a, RIM]
    if flags[a, ACTIVE] == 0 or moving[a, VOLUME] != node[rim, VOLUME]:
        return -math.inf
    net: float = _brought(pond, member, node, each, flags, moving, store, a, rim) - node[rim, ABOVE]
    return net


def _parted(
    pond: Ints, member: Ints, node: Floats, each: Floats, flags: Ints, moving: Floats, store: Floats, a: int
) -> bool:
    """Part a pond that has fallen to its bottom into the two that meet there, both at their rims."""
    bottom = pond[a, FIRST]
    if a < store.shape[0] or flags[a, ACTIVE] == 0 or flags[a, MERGED] == 1:
        return False
    if (
        moving[a, VOLUME] != node[bottom, VOLUME]
        or _brought(pond, member, node, each, flags, moving, store, a, bottom) > node[bottom, ABOVE]
    ):
        return False
    flags[a, ACTIVE] = 0
    for k in range(2):
        child = pond[a, LEFT + k]
        flags[child, ACTIVE] = 1
        flags[child, SEGMENT] = pond[child, RIM]
        moving[child, VOLUME] = node[pond[child, RIM], VOLUME]
    return True


def _hand_over(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    a: int,
    net: float,
) -> None:
    """Let a pond's excess run over the link at its rim, into the pond on the other side."""
    for b in range(flags.shape[0]):
        if flags[b, ACTIVE] == 1 and member[b, pond[a, ACROSS]] == 1:
            moving[b, PASSED] += net


def _meet(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    parent: int,
) -> bool:
    """Look at the two ponds under one link: hand over what is too much, or join them; whether they were joined."""
    p = pond[parent, LEFT]
    s = pond[parent, RIGHT]
    p_net = _rim_net(pond, member, node, each, flags, moving, store, p)
    s_net = _rim_net(pond, member, node, each, flags, moving, store, s)
    if p_net + s_net > 0.0:
        flags[p, ACTIVE] = 0
        flags[s, ACTIVE] = 0
        flags[parent, ACTIVE] = 1
        flags[parent, MERGED] = 1
        flags[parent, SEGMENT] = pond[parent, FIRST]
        moving[parent, VOLUME] = node[pond[parent, FIRST], VOLUME]
        return True
    if p_net > 0.0:
        _hand_over(pond, member, node, each, flags, moving, store, p, p_net)
    elif s_net > 0.0:
        _hand_over(pond, member, node, each, flags, moving, store, s, s_net)
    return False


def _resolve(
    pond: Ints, member: Ints, node: Floats, each: Floats, flags: Ints, moving: Floats, store: Floats
) -> None:
    """Join and part ponds as the inflow of this instant wants it; write what runs over links into each pond.

    Water runs over a link's invert to the other side; a pond's rim is its lowest link out, so water only ever
    passes on over links of the same or a lower invert, and one pass from the highest link to the lowest is enough.
    """
    stores = store.shape[0]
    root = flags.shape[0] - 1
    flags[:, MERGED] = 0
    for _ in range(4 * root + 4):
        changed = False
        moving[:, PASSED] = 0.0
        if flags[root, ACTIVE] == 1:
            changed = _parted(pond, member, node, each, flags, moving, store, root)
        else:
            for parent in range(root, stores - 1, -1):
                changed = _meet(pond, member, node, each, flags, moving, store, parent)
                for k in range(2):
                    if not changed:
                        changed = _parted(
                            pond, member, node, each, flags, moving, store, pond[parent, LEFT + k]
                        )
                if changed:
                    break
        if not changed:
            return


def _may_meet(
    pond: Ints, member: Ints, node: Floats, each: Floats, flags: Ints, moving: Floats, store: Floats
) -> bool:
    """Whether some pond is at its rim, or has fallen to where it parts; if none, nothing runs over any link."""
    found = False
    for a in range(flags.shape[0]):
        moving[a, PASSED] = 0.0
        if flags[a, ACTIVE] == 1:
            volume = moving[a, VOLUME]
            if volume == node[pond[a, RIM], VOLUME] or (
                a >= store.shape[0] and volume == node[pond[a, FIRST], VOLUME]
            ):
                found = True
    return found


def _limits(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    a: int,
    i: int,
) -> None:
    """Bend a pond's inflow by its inlets that bring less than comes, and stop it where one begins or ceases to."""
    volume = moving[a, VOLUME]
    width = node[i + 1, VOLUME] - node[i, VOLUME]
    for w in range(store.shape[0]):
        low = each[i, w, CAPACITY]
        high = each[i + 1, w, CAPACITY]
        rate = store[w, RATE]
        if member[a, w] == 1 and (low - rate) * (high - rate) < 0.0:
            kink = node[i, VOLUME] + (rate - low) / (high - low) * width
            if min(volume, moving[a, TARGET]) < kink < max(volume, moving[a, TARGET]):
                moving[a, TARGET] = kink
    middle = 0.5 * (volume + moving[a, TARGET]) - node[i, VOLUME]
    for w in range(store.shape[0]):
        if member[a, w] == 1:
            gain = (each[i + 1, w, CAPACITY] - each[i, w, CAPACITY]) / width
            if each[i, w, CAPACITY] + gain * middle < store[w, RATE]:
                moving[a, BEND] += gain


def _within_net(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    a: int,
    i: int,
) -> float:
    """Net inflow of a pond inside a segment."""
    x = moving[a, VOLUME] - node[i, VOLUME]
    share = x / (node[i + 1, VOLUME] - node[i, VOLUME])
    net: float = moving[a, PASSED] - node[i, ABOVE] - node[i, SLOPE] * x
    for w in range(store.shape[0]):
        if member[a, w] == 1:
            low = each[i, w, CAPACITY]
            net += min(store[w, RATE], low + (each[i + 1, w, CAPACITY] - low) * share)
    return net


def _motion(
    pond: Ints, member: Ints, node: Floats, each: Floats, flags: Ints, moving: Floats, store: Floats, a: int
) -> float:
    """Decide how a pond moves from here, as ``compiled._piece`` does; return what it has too much at its rim."""
    j = flags[a, SEGMENT]
    i = j
    rim = pond[a, RIM]
    net = 0.0
    if moving[a, VOLUME] == node[j, VOLUME]:
        brings = _brought(pond, member, node, each, flags, moving, store, a, j)
        up = brings - node[j, ABOVE]
        down = brings - node[j, BELOW]
        if j < rim and up > 0.0:
            net = up
        elif j == pond[a, FIRST] or up >= 0.0 or down >= 0.0:
            flags[a, MOVES] = 0
            moving[a, NET] = min(brings, node[j, ABOVE])
            moving[a, NEEDED] = math.inf
            return max(up, 0.0) if j == rim else 0.0
        else:
            i = j - 1
            net = down
    else:
        net = _within_net(pond, member, node, each, flags, moving, store, a, i)
    moving[a, NET] = net
    flags[a, SEGMENT] = i
    if net == 0.0:
        flags[a, MOVES] = 2
        moving[a, NEEDED] = math.inf
        return 0.0
    flags[a, MOVES] = 1
    moving[a, TARGET] = node[i + 1, VOLUME] if net > 0.0 else node[i, VOLUME]
    moving[a, BEND] = -node[i, SLOPE]
    _limits(pond, member, node, each, flags, moving, store, a, i)
    way = moving[a, TARGET] - moving[a, VOLUME]
    y = moving[a, BEND] * way / net
    moving[a, NEEDED] = way / net * _log_ratio(y) if y > -1.0 else math.inf
    return 0.0


def _soak(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    a: int,
    passes: float,
    moved: float,
    area: float,
) -> None:
    """Add up what each store of a pond soaks and refuses while the pond moves; ``area``: the integral of the change."""
    i = flags[a, SEGMENT]
    if flags[a, MOVES] == 0:
        for w in range(store.shape[0]):
            if member[a, w] == 1:
                if node[i, ABOVE] > 0.0:
                    store[w, SOAKED] += moving[a, NET] * each[i, w, ABOVE] / node[i, ABOVE] * passes
                store[w, REFUSED] += max(store[w, RATE] - each[i, w, CAPACITY], 0.0) * passes
        return
    x = moving[a, VOLUME] - node[i, VOLUME]
    width = node[i + 1, VOLUME] - node[i, VOLUME]
    for w in range(store.shape[0]):
        if member[a, w] == 1:
            slope = each[i, w, SOAK_SLOPE]
            store[w, SOAKED] += (each[i, w, ABOVE] + slope * x) * passes + slope * area
            low = each[i, w, CAPACITY]
            gain = (each[i + 1, w, CAPACITY] - low) / width
            if low + gain * (x + 0.5 * moved) < store[w, RATE]:
                store[w, REFUSED] += max((store[w, RATE] - low - gain * x) * passes - gain * area, 0.0)


def _arrive(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    a: int,
    volume: float,
    passes: float,
    end: float,
) -> None:
    """Write a pond's new volume, and of its stores the volumes and whether they are wet; ``end``: the time it is."""
    i = flags[a, SEGMENT]
    rises = volume > moving[a, VOLUME]
    volume = min(max(volume, node[i, VOLUME]), node[i + 1, VOLUME])
    j = i + 1 if volume == node[i + 1, VOLUME] else i
    moving[a, VOLUME] = volume
    flags[a, SEGMENT] = j
    on_node = volume == node[j, VOLUME]
    for w in range(store.shape[0]):
        if member[a, w] == 0:
            continue
        now = each[j, w, VOLUME]
        # between two nodes a store is wet throughout or not at all: the volume that counts as empty is a node
        wet = now > store[w, EMPTY] if on_node else now >= store[w, EMPTY]
        if not on_node:
            now += each[j, w, SHARE] * (volume - node[j, VOLUME])
        store[w, NOW] = now
        store[w, HIGHEST] = max(store[w, HIGHEST], now)
        if wet and store[w, WET_SINCE] < 0.0:
            store[w, WET_SINCE] = end - passes if rises else end
        elif not wet and store[w, WET_SINCE] >= 0.0:
            store[w, WET_UNTIL] = end
            store[w, LONGEST] = max(store[w, LONGEST], end - store[w, WET_SINCE])
            store[w, WET_SINCE] = -1.0


def _pass(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    left: float,
    begin: float,
) -> tuple[float, float]:
    """Follow a group from one instant to its next event, ``left`` seconds at most; return how long, and its spill rate."""
    ponds = flags.shape[0]
    if _may_meet(pond, member, node, each, flags, moving, store):
        _resolve(pond, member, node, each, flags, moving, store)
    passes = left
    spill = 0.0
    for a in range(ponds):
        if flags[a, ACTIVE] == 1:
            spill = _motion(
                pond, member, node, each, flags, moving, store, a
            )  # the last pond is the only one whose excess leaves the group
            passes = min(passes, moving[a, NEEDED])
    if flags[ponds - 1, ACTIVE] == 0:
        spill = 0.0
    for a in range(ponds):
        if flags[a, ACTIVE] == 0:
            continue
        if flags[a, MOVES] != 1:
            _soak(pond, member, node, each, flags, moving, store, a, passes, 0.0, 0.0)
            continue
        net = moving[a, NET]
        z = moving[a, BEND] * passes
        way = moving[a, TARGET] - moving[a, VOLUME]
        moved = way if moving[a, NEEDED] <= passes else net * passes * _growth(z)
        arrives = moving[a, NEEDED] <= passes or abs(moved) >= abs(way)
        if arrives:
            moved = way
        _soak(
            pond,
            member,
            node,
            each,
            flags,
            moving,
            store,
            a,
            passes,
            moved,
            net * passes * passes * _growth_of_growth(z),
        )
        to = moving[a, TARGET] if arrives else moving[a, VOLUME] + moved
        _arrive(pond, member, node, each, flags, moving, store, a, to, passes, begin + passes)
    return passes, spill


def _whole_step(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    step: float,
) -> bool:
    """Follow a group through a whole step in which every pond stays dry or within its segment; else do nothing."""
    stores = store.shape[0]
    for w in range(stores):
        if store[w, RATE] > store[w, ALWAYS]:
            return False
    for a in range(flags.shape[0]):
        if flags[a, ACTIVE] == 0:
            continue
        total = 0.0
        for w in range(stores):
            if member[a, w] == 1:
                total += store[w, RATE]
        i = flags[a, SEGMENT]
        x = moving[a, VOLUME] - node[i, VOLUME]
        if a < stores and moving[a, VOLUME] == 0.0 and total <= node[i, ABOVE]:
            flags[a, MOVES] = 0
        elif x > 0.0 and i < pond[a, RIM]:
            flags[a, MOVES] = 1
            moving[a, NET] = total - node[i, ABOVE] - node[i, SLOPE] * x
            moving[a, TARGET] = moving[a, VOLUME] + moving[a, NET] * node[i, ONCE]
            if not node[i, VOLUME] < moving[a, TARGET] < node[i + 1, VOLUME]:
                return False
        else:
            return False
    for a in range(flags.shape[0]):
        if flags[a, ACTIVE] == 0:
            continue
        i = flags[a, SEGMENT]
        x = moving[a, VOLUME] - node[i, VOLUME]
        for w in range(stores):
            if member[a, w] == 1 and flags[a, MOVES] == 0:
                store[w, SOAKED] += store[w, RATE] * step
            elif member[a, w] == 1:
                slope = each[i, w, SOAK_SLOPE]
                store[w, SOAKED] += (each[i, w, ABOVE] + slope * x) * step + slope * moving[a, NET] * node[
                    i, TWICE
                ]
                now = each[i, w, VOLUME] + each[i, w, SHARE] * (moving[a, TARGET] - node[i, VOLUME])
                store[w, NOW] = now
                store[w, HIGHEST] = max(store[w, HIGHEST], now)
        if flags[a, MOVES] == 1:
            moving[a, VOLUME] = moving[a, TARGET]
    return True


def _begin(
    pond: Ints, member: Ints, node: Floats, each: Floats, flags: Ints, moving: Floats, store: Floats
) -> bool:
    """Find the segments, and the volumes of the stores, that the ponds begin with; whether all is full."""
    ponds = flags.shape[0]
    for a in range(ponds):
        j = pond[a, FIRST]
        while j < pond[a, RIM] and node[j + 1, VOLUME] <= moving[a, VOLUME]:
            j += 1
        flags[a, SEGMENT] = j
        if flags[a, ACTIVE] == 0:
            continue
        for w in range(store.shape[0]):
            if member[a, w] == 1:
                now = each[j, w, VOLUME]
                if moving[a, VOLUME] > node[j, VOLUME]:
                    now += each[j, w, SHARE] * (moving[a, VOLUME] - node[j, VOLUME])
                store[w, NOW] = now
                store[w, WET_SINCE] = 0.0 if now > store[w, EMPTY] else -1.0
    root = ponds - 1
    full: bool = flags[root, ACTIVE] == 1 and moving[root, VOLUME] == node[pond[root, RIM], VOLUME]
    return full


def _dry(store: Floats) -> bool:
    """Whether no store holds any water."""
    wettest = 0.0
    for w in range(store.shape[0]):
        wettest = max(wettest, store[w, NOW])
    return wettest == 0.0


def _linked(
    own: Floats,
    fed: Ints | None,
    first: Ints | None,
    durations: Floats | None,
    rates: Floats | None,
    step: float,
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    spiller: int,
    volume_end: Floats,
    soaked: Floats,
    spilled: Floats,
    refused: Floats,
    peak: Floats,
    times: Floats,
    out_fed: Ints | None,
    out_first: Ints | None,
    out_durations: Floats | None,
    out_rates: Floats | None,
    out_counts: Ints | None,
) -> None:
    """Follow linked stores over all steps; result arrays, shape (stores, steps), arrive as zeros.

    ``own`` has one row of rates for each step, ``rates`` one for each stretch. These, ``times``, shape (stores, 7), and
    the ``out`` arrays, which receive the spill of ``spiller``, as in ``compiled._run``. ``flags``, ``moving``, ``store``
    and ``times`` go on from what the steps before have left in them; before the first step ``times`` is all zero.
    """
    stores = own.shape[1]
    steps = volume_end.shape[1]
    root = flags.shape[0] - 1
    lip = node[pond[root, RIM], VOLUME]
    before = times[0, 6]
    full_first = times[0, 3]
    flow_until = times[0, 4]
    if before == 0.0:
        full_first = 0.0 if _begin(pond, member, node, each, flags, moving, store) else -1.0
    dry = _dry(store)
    out = 0
    out_steps = 0
    begun = 0
    following = 0
    for n in range(steps):
        by_stretches = False
        from_piece = 0
        to_piece = 1
        if fed is not None and first is not None and following < fed.shape[0] and fed[following] == n:
            by_stretches = True
            from_piece = first[following]
            to_piece = first[following + 1]
            following += 1
        elif dry:
            comes = 0.0
            for w in range(stores):
                comes += own[n, w]
            if comes == 0.0:
                continue
        for w in range(stores):
            store[w, SOAKED] = 0.0
            store[w, REFUSED] = 0.0
            store[w, HIGHEST] = store[w, NOW]
        at = (before + n) * step
        still = 0.0
        for piece in range(from_piece, to_piece):
            duration = step
            comes = 0.0
            for w in range(stores):
                store[w, RATE] = own[n, w]
                if by_stretches and rates is not None and durations is not None:
                    store[w, RATE] += rates[piece, w]
                    duration = durations[piece]
                comes += store[w, RATE]
            spill_rate = 0.0
            quiet = duration
            if duration != step or not _whole_step(pond, member, node, each, flags, moving, store, step):
                left = duration
                while left > 0.0:
                    passes, spill = _pass(
                        pond, member, node, each, flags, moving, store, left, at + duration - left
                    )
                    if spill > 0.0 and spill_rate == 0.0:
                        # once it spills, it spills at this rate to the stretch's end
                        spill_rate = spill
                        quiet = duration - left
                    left -= passes
                    if full_first < 0.0 and flags[root, ACTIVE] == 1 and moving[root, VOLUME] == lip:
                        full_first = at + duration - left
                spilled[spiller, n] += spill_rate * (duration - quiet)
            at += duration
            if comes > 0.0:
                flow_until = at
            if out_durations is not None and out_rates is not None:
                still += quiet
                if duration > quiet:
                    if still > 0.0:
                        out_durations[out] = still
                        out_rates[out] = 0.0
                        out += 1
                    out_durations[out] = duration - quiet
                    out_rates[out] = spill_rate
                    out += 1
                    still = 0.0
        if (
            out > begun
            and out_fed is not None
            and out_first is not None
            and out_durations is not None
            and out_rates is not None
        ):
            if still > 0.0:
                out_durations[out] = still
                out_rates[out] = 0.0
                out += 1
            out_fed[out_steps] = n
            out_steps += 1
            out_first[out_steps] = out
            begun = out
        dry = _dry(store)
        for w in range(stores):
            volume_end[w, n] = store[w, NOW]
            soaked[w, n] = store[w, SOAKED]
            refused[w, n] = store[w, REFUSED]
            peak[w, n] = store[w, HIGHEST]
    if out_counts is not None:
        out_counts[0] = out_steps
        out_counts[1] = out
    for w in range(stores):
        if store[w, WET_SINCE] >= 0.0:
            store[w, WET_UNTIL] = (before + steps) * step
            store[w, LONGEST] = max(store[w, LONGEST], store[w, WET_UNTIL] - store[w, WET_SINCE])
        times[w, 0] = store[w, LONGEST]
        times[w, 1] = store[w, WET_UNTIL]
        times[w, 2] = 1.0 if store[w, WET_SINCE] >= 0.0 else 0.0
        times[w, 3] = full_first
        times[w, 4] = flow_until
        times[w, 5] = store[w, WET_SINCE]
        times[w, 6] = before + steps


def _in_segments(pond: Ints, node: Floats, flags: Ints, moving: Floats) -> None:
    """Find the segment of every active pond from its volume."""
    for a in range(flags.shape[0]):
        if flags[a, ACTIVE] == 1:
            j = pond[a, FIRST]
            while j < pond[a, RIM] and node[j + 1, VOLUME] <= moving[a, VOLUME]:
                j += 1
            flags[a, SEGMENT] = j


def _copy(
    flags: Ints, moving: Floats, store: Floats, to_flags: Ints, to_moving: Floats, to_store: Floats
) -> None:
    """Copy how a group stands; number by number, since a copy of arrays would have them counted (see ``compiled``)."""
    for a in range(flags.shape[0]):
        for k in range(flags.shape[1]):
            to_flags[a, k] = flags[a, k]
        for k in range(moving.shape[1]):
            to_moving[a, k] = moving[a, k]
    for w in range(store.shape[0]):
        for k in range(store.shape[1]):
            to_store[w, k] = store[w, k]


def _held_row(
    each: Floats, r: int, share: float, width: float, caps: Floats, to_node: Floats, to_each: Floats, m: int
) -> None:
    """Write a row of the held tables: so far on from row ``r`` to the next, no store soaking more than its cap."""
    to_node[m, ABOVE] = 0.0
    for w in range(caps.shape[0]):
        to_each[m, w, VOLUME] = each[r, w, VOLUME] + each[r, w, SHARE] * share * width
        to_each[m, w, ABOVE] = min(each[r, w, ABOVE] + each[r, w, SOAK_SLOPE] * share * width, caps[w])
        to_each[m, w, SHARE] = each[r, w, SHARE]
        to_each[m, w, CAPACITY] = each[r, w, CAPACITY]
        if share > 0.0:
            to_each[m, w, CAPACITY] += share * (each[r + 1, w, CAPACITY] - each[r, w, CAPACITY])
        to_node[m, ABOVE] += to_each[m, w, ABOVE]


def _held_tables(
    pond: Ints, node: Floats, each: Floats, caps: Floats, to_pond: Ints, to_node: Floats, to_each: Floats
) -> None:
    """Write the tables of ponds whose stores soak no more than their caps, with a node wherever a curve passes its cap."""
    m = 0
    for a in range(pond.shape[0]):
        for k in range(pond.shape[1]):
            to_pond[a, k] = pond[a, k]
        to_pond[a, FIRST] = m
        below = 0.0
        for r in range(pond[a, FIRST], pond[a, RIM] + 1):
            share = 0.0
            width = 0.0
            if r < pond[a, RIM]:
                width = node[r + 1, VOLUME] - node[r, VOLUME]
            while share < 1.0:
                _held_row(each, r, share, width, caps, to_node, to_each, m)
                to_node[m, VOLUME] = node[r, VOLUME] + share * width
                to_node[m, BELOW] = below if share == 0.0 and r > pond[a, FIRST] else to_node[m, ABOVE]
                to_node[m, SLOPE] = 0.0
                m += 1
                following = 1.0
                if width == 0.0:
                    break
                for w in range(caps.shape[0]):
                    change = each[r, w, SOAK_SLOPE] * width
                    if change != 0.0:
                        passes = (caps[w] - each[r, w, ABOVE]) / change
                        # nearer to a node than that it is the node
                        if share + 1e-12 < passes < min(following, 1.0 - 1e-12):
                            following = passes
                below = 0.0
                for w in range(caps.shape[0]):
                    ends = min(each[r, w, ABOVE] + each[r, w, SOAK_SLOPE] * following * width, caps[w])
                    slope = (ends - to_each[m - 1, w, ABOVE]) / ((following - share) * width)
                    to_each[m - 1, w, SOAK_SLOPE] = slope
                    to_node[m - 1, SLOPE] += slope
                    below += ends
                share = following
        to_pond[a, RIM] = m - 1


def _through(
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    duration: float,
    begin: float,
) -> tuple[float, float]:
    """Follow a group through a stretch of even inflow; return its spill rate, and after how long that begins."""
    left = duration
    spill_rate = 0.0
    quiet = duration
    while left > 0.0:
        passes, spill = _pass(pond, member, node, each, flags, moving, store, left, begin + duration - left)
        if spill > 0.0 and spill_rate == 0.0:
            # once it spills, it spills at this rate to the stretch's end
            spill_rate = spill
            quiet = duration - left
        left -= passes
    return spill_rate, quiet


def _linked_over_mounds(
    own: Floats,
    fed: Ints | None,
    first: Ints | None,
    durations: Floats | None,
    rates: Floats | None,
    step: float,
    pond: Ints,
    member: Ints,
    node: Floats,
    each: Floats,
    held_pond: Ints,
    held_node: Floats,
    held_each: Floats,
    flags: Ints,
    moving: Floats,
    store: Floats,
    was_flags: Ints,
    was_moving: Floats,
    was_store: Floats,
    spiller: int,
    tau: Floats,
    decay: Floats,
    gain: Floats,
    mound: Floats,
    room: Floats,
    caps: Floats,
    standing: Floats,
    results: Floats,
    out_fed: Ints | None,
    out_first: Ints | None,
    out_durations: Floats | None,
    out_rates: Floats | None,
    out_counts: Ints | None,
) -> None:
    """Follow linked stores, each over its mound; ``results``, shape (6, stores, steps), arrives as zeros.

    As ``_linked``, with the soakage of a step held to ``caps`` where some mound would end it over the store's bottom, and
    all stores held together, as ``compiled_stores._run_over_mound`` does for one. ``held`` and ``was`` tables are room;
    ``tau`` to ``mound``, shape (stores, terms), and ``gain`` is of one m³ soaked in a step. ``standing`` holds the steps
    so far, 1 where a mound was held at the bottom, and the number of steps since the mounds were brought up to date.
    """
    stores = own.shape[1]
    terms = tau.shape[1]
    most = 0.0
    for w in range(stores):
        for r in range(each.shape[0]):
            if each[r, w, ABOVE] > most:
                most = each[r, w, ABOVE]
    before = standing[0]
    bound = standing[1] > 0.0
    idle = standing[2]
    if before == 0.0:
        _begin(pond, member, node, each, flags, moving, store)
    dry = _dry(store)
    out = 0
    out_steps = 0
    following = 0
    for n in range(own.shape[0]):
        by_stretches = False
        from_piece = 0
        to_piece = 1
        if fed is not None and first is not None and following < fed.shape[0] and fed[following] == n:
            by_stretches = True
            from_piece = first[following]
            to_piece = first[following + 1]
            following += 1
        elif dry:
            comes = 0.0
            for w in range(stores):
                comes += own[n, w]
            if comes == 0.0:
                idle += 1.0
                continue
        begun = out
        for w in range(stores):
            stands = 0.0
            whole = 0.0
            for k in range(terms):
                mound[w, k] *= math.exp(-idle * step / tau[w, k]) if idle > 0.0 else 1.0
                stands += mound[w, k] * decay[w, k]
                whole += gain[w, k]
            caps[w] = max(0.0, (room[w] - stands) / (whole * step))
            store[w, SOAKED] = 0.0
            store[w, REFUSED] = 0.0
            store[w, HIGHEST] = store[w, NOW]
        idle = 0.0
        _copy(flags, moving, store, was_flags, was_moving, was_store)
        # freely where no mound was held, and if one would then end over its bottom, held
        for again in range(2):
            if bound:
                if again == 1:
                    _copy(was_flags, was_moving, was_store, flags, moving, store)
                _held_tables(pond, node, each, caps, held_pond, held_node, held_each)
                _in_segments(held_pond, held_node, flags, moving)
            out = begun
            spills = 0.0
            still = 0.0
            at = (before + n) * step
            for piece in range(from_piece, to_piece):
                duration = step
                for w in range(stores):
                    store[w, RATE] = own[n, w]
                    if by_stretches and rates is not None and durations is not None:
                        store[w, RATE] += rates[piece, w]
                        duration = durations[piece]
                if bound:
                    spill_rate, quiet = _through(
                        held_pond, member, held_node, held_each, flags, moving, store, duration, at
                    )
                else:
                    spill_rate, quiet = _through(pond, member, node, each, flags, moving, store, duration, at)
                spills += spill_rate * (duration - quiet)
                at += duration
                if out_durations is not None and out_rates is not None:
                    still += quiet
                    if duration > quiet:
                        if still > 0.0:
                            out_durations[out] = still
                            out_rates[out] = 0.0
                            out += 1
                        out_durations[out] = duration - quiet
                        out_rates[out] = spill_rate
                        out += 1
                        still = 0.0
            if out > begun and still > 0.0 and out_durations is not None and out_rates is not None:
                out_durations[out] = still
                out_rates[out] = 0.0
                out += 1
            if bound:
                _in_segments(pond, node, flags, moving)
                break
            for w in range(stores):
                if store[w, SOAKED] > caps[w] * step:
                    bound = True
            if not bound:
                break
        held = bound
        bound = False
        for w in range(stores):
            if held and store[w, SOAKED] >= caps[w] * step * (1.0 - 1e-9) and caps[w] < most:
                bound = True
                results[5, w, n] = 1.0
            for k in range(terms):
                mound[w, k] = mound[w, k] * decay[w, k] + gain[w, k] * store[w, SOAKED]
            results[0, w, n] = store[w, NOW]
            results[1, w, n] = store[w, SOAKED]
            results[3, w, n] = store[w, REFUSED]
            results[4, w, n] = store[w, HIGHEST]
        results[2, spiller, n] = spills
        if out > begun and out_fed is not None and out_first is not None:
            out_fed[out_steps] = n
            out_steps += 1
            out_first[out_steps] = out
        dry = _dry(store)
    if out_counts is not None:
        out_counts[0] = out_steps
        out_counts[1] = out
    standing[0] = before + own.shape[0]
    standing[1] = 1.0 if bound else 0.0
    standing[2] = idle


# What is called in every wet step is put into its caller, which takes a third off the time: their many arrays would
# be handed over one by one. The rest is not, for the sake of the time to compile.
OFTEN: tuple[Callable[..., Any], ...] = (
    _growth,
    _growth_of_growth,
    _log_ratio,
    _brought,
    _may_meet,
    _limits,
    _within_net,
    _motion,
    _soak,
    _arrive,
    _pass,
    _whole_step,
    _dry,
)
SELDOM: tuple[Callable[..., Any], ...] = (
    _rim_net,
    _parted,
    _hand_over,
    _meet,
    _resolve,
    _begin,
    _in_segments,
    _copy,
    _held_row,
    _held_tables,
    _through,
)
