"""Cutting pipe from whole sticks: which piece comes from which stick, and the couplings that cut ends need.

A bell-ended stick has one bell: one piece cut from it keeps it, the other pieces are plain at both ends.
Rests are packed longest first into the first stick that still has room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from roofwell import tables
from roofwell.takeoff.catalog import Stick, stick_of
from roofwell.takeoff.chains import Chain
from roofwell.takeoff.ends import End, Link, PipeSize, between
from roofwell.units import Style

_NOISE_M = 1e-6


@dataclass(frozen=True, slots=True)
class Cut:
    """One piece of pipe: ``length_m`` from stick ``stick`` of its size, for ``run`` at ``station_m``."""

    pipe: str
    nominal_m: float
    stick: int
    length_m: float
    bell: bool
    run: str
    station_m: float


@dataclass(frozen=True, slots=True)
class Plan:
    """All cuts of one pipe size. ``needed_m`` is the length of the pipe before it is divided."""

    stick: Stick
    needed_m: float
    sticks: int
    cuts: tuple[Cut, ...]


@dataclass(frozen=True, slots=True)
class _Rest:
    """What is left of a piece of the chain when its whole sticks are counted off."""

    chain: int
    link: int
    length_m: float
    wants_bell: bool


def cut(chains: Sequence[Chain], style: Style) -> tuple[tuple[Plan, ...], tuple[Chain, ...]]:
    """Divide the pipe of all chains into sticks.

    Returns
    -------
    plans, chains
        One plan per pipe size, and the chains again with every stick and coupling in its place.
    """
    sizes: dict[PipeSize, list[tuple[int, int, Link]]] = {}
    for c, chain in enumerate(chains):
        for k, link in enumerate(chain.links):
            if link.kind == "pipe":
                sizes.setdefault(link.upper.size, []).append((c, k, link))
    divided: dict[tuple[int, int], tuple[Link, ...]] = {}
    plans = []
    for size, places in sizes.items():
        plan, pieces = _plan(stick_of(size, style), places, style)
        plans.append(plan)
        divided |= pieces
    out = []
    for c, chain in enumerate(chains):
        links: list[Link] = []
        for k, link in enumerate(chain.links):
            links += divided.get((c, k), (link,))
        out.append(replace(chain, links=tuple(links)))
    return tuple(plans), tuple(out)


def _plan(
    stick: Stick, places: Sequence[tuple[int, int, Link]], style: Style
) -> tuple[Plan, dict[tuple[int, int], tuple[Link, ...]]]:
    fulls: dict[tuple[int, int], int] = {}
    rests: list[_Rest] = []
    stub_m = tables.assumption("pipe-stub", style).value_si
    for c, k, link in places:
        count = 0
        left = link.length_m
        while left > stick.length_m + _NOISE_M:
            left -= stick.laid_m
            count += 1
        if count:
            left = max(left, stub_m)
        fulls[c, k] = count
        rests.append(_Rest(c, k, left, link.upper.kind == "hub"))
    rooms, put = _pack(stick, rests)
    sticks = len(rooms)
    cuts: list[Cut] = []
    pieces: dict[tuple[int, int], tuple[Link, ...]] = {}
    for (c, k, link), rest in zip(places, rests, strict=True):
        number, has_bell = put[c, k]
        whole = fulls[c, k]
        first = (rest.wants_bell and whole == 0) or not rest.wants_bell
        where = link.station_m if first else link.station_m + whole * stick.laid_m
        cuts.append(_cut(stick, number, rest.length_m, has_bell, link.run, where))
        start = link.station_m + (rest.length_m if first else 0.0)
        for i in range(whole):
            sticks += 1
            cuts.append(_cut(stick, sticks, stick.length_m, stick.bell, link.run, start + i * stick.laid_m))
        pieces[c, k] = _pieces(stick, link, rest, has_bell, whole, style)
    needed = sum(link.length_m for _, _, link in places)
    return Plan(stick, needed, sticks, tuple(sorted(cuts, key=lambda cut: cut.stick))), pieces


def _cut(stick: Stick, number: int, length_m: float, bell: bool, run: str, station_m: float) -> Cut:
    size = stick.size
    return Cut(size.pipe, size.nominal_m, number, length_m, bell, run, station_m)


def _pack(
    stick: Stick, rests: Sequence[_Rest]
) -> tuple[list[float], dict[tuple[int, int], tuple[int, bool]]]:
    """Length left in each stick, and for every rest its stick (from 1) and whether it has the bell."""
    rooms: list[float] = []
    inside: list[list[_Rest]] = []
    for rest in sorted(rests, key=lambda r: (-r.length_m, r.chain, r.link)):
        slot = next((i for i, room in enumerate(rooms) if room >= rest.length_m - _NOISE_M), None)
        if slot is None:
            rooms.append(stick.length_m)
            inside.append([])
            slot = len(rooms) - 1
        rooms[slot] -= rest.length_m
        inside[slot].append(rest)
    put: dict[tuple[int, int], tuple[int, bool]] = {}
    for number, held in enumerate(inside, start=1):
        with_bell = next((r for r in held if r.wants_bell), held[0]) if stick.bell else None
        for rest in held:
            put[rest.chain, rest.link] = (number, rest is with_bell)
    return rooms, put


def _pieces(
    stick: Stick, link: Link, rest: _Rest, has_bell: bool, whole: int, style: Style
) -> tuple[Link, ...]:
    """The links of one piece of chain: the rest first, or last where the string must begin with a bell."""
    size, at, run = stick.size, link.station_m, link.run

    def piece(length_m: float, bell: bool, station_m: float) -> Link:
        upper = End("hub" if bell else "spigot", size)
        return replace(link, upper=upper, lower=End("spigot", size), length_m=length_m, station_m=station_m)

    row: list[Link] = []
    if rest.wants_bell:
        row += [piece(stick.length_m, True, at + i * stick.laid_m) for i in range(whole)]
        row.append(piece(rest.length_m, has_bell, at + whole * stick.laid_m))
        mate = End("spigot", size)
        out = (
            []
            if row[0].upper.kind == "hub"
            else list(between(mate, row[0].upper, run=run, station_m=at, style=style))
        )
    else:
        # the string begins with a plain end: a bell on its first piece is cut off
        row.append(piece(rest.length_m, False, at))
        start = at + rest.length_m
        row += [piece(stick.length_m, stick.bell, start + i * stick.laid_m) for i in range(whole)]
        out = []
    for i, one in enumerate(row):
        if i:
            out += between(row[i - 1].lower, one.upper, run=run, station_m=one.station_m, style=style)
        out.append(one)
    return tuple(out)
