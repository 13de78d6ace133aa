"""Where a snake gets in, and how far it has to go: cleanouts by spacing and by the sum of bends.

A snake enters at the foot of a downspout (its joint comes apart), at a basin and at a cleanout, and goes with
the water. Past a wye it may come down either branch; the easier one counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from roofwell import tables
from roofwell.physics.trench import route
from roofwell.system.scheme import XY, PipeFitting, Scheme
from roofwell.units import Style

BEFORE_BEND_M = 0.5  # a cleanout stands this far before the bend that asks for it
NEARLY = 1 + 1e-9


@dataclass(frozen=True, slots=True)
class Limits:
    """Farthest that a snake goes between two ways in: length, m, and sum of bends in plan, rad."""

    length_m: float
    bends_rad: float


@dataclass(frozen=True, slots=True)
class Piped:
    """What counts of a run: its ends, its path and the stations of its cleanouts.

    ``free``: whether cleanouts may be added.
    """

    id: str
    from_id: str
    to_id: str
    path: tuple[XY, ...]
    cleanouts_m: tuple[float, ...]
    free: bool


@dataclass(frozen=True, slots=True)
class Reach:
    """The hardest way of a snake that ends in a run: length, m, and sum of bends, rad."""

    run: str
    length_m: float
    bends_rad: float


def limits(style: Style) -> Limits:
    """Return the limits of the tables."""
    return Limits(
        tables.limit("cleanout-spacing", style).value_si, tables.limit("cleanout-bends", style).value_si
    )


def piped(scheme: Scheme) -> tuple[Piped, ...]:
    """Return what counts of the runs of a Scheme."""
    return tuple(
        Piped(
            run.id,
            run.from_id,
            run.to_id,
            run.path,
            tuple(f.station_m for f in run.fittings if f.kind == "cleanout"),
            False,
        )
        for run in scheme.runs
    )


def laid(runs: Sequence[Piped], *, ways_in: frozenset[str], most: Limits) -> Mapping[str, tuple[float, ...]]:
    """Return the stations of the cleanouts to be added, run by run.

    ``runs`` stand in the order of the water; ``ways_in`` names the parts where a snake gets in.
    """
    out: dict[str, tuple[float, ...]] = {}
    _walk(runs, ways_in, most, out)
    return out


def reaches(runs: Sequence[Piped], *, ways_in: frozenset[str]) -> tuple[Reach, ...]:
    """Return how far a snake has to go in each run, in their order."""
    return _walk(runs, ways_in, None, {})


def fittings(
    stations: Mapping[str, tuple[float, ...]], taken: Iterable[str]
) -> dict[str, tuple[PipeFitting, ...]]:
    """Return cleanouts as fittings, labeled C1, C2, ... in the order of the water, past labels that are taken."""
    used, number = set(taken), 0
    out: dict[str, tuple[PipeFitting, ...]] = {}
    for run, places in stations.items():
        made = []
        for station in places:
            number += 1
            while f"C{number}" in used:
                number += 1
            made.append(PipeFitting("cleanout", station, 0.0, f"cleanout C{number}"))
        out[run] = tuple(made)
    return out


def _walk(
    runs: Sequence[Piped], ways_in: frozenset[str], most: Limits | None, out: dict[str, tuple[float, ...]]
) -> tuple[Reach, ...]:
    """Go down every run with the length and the bends since the last way in; add cleanouts where they run out."""
    found = []
    at_end: dict[str, tuple[float, float, Piped]] = {}
    for run in runs:
        length, bends, turn, above = _start(run, runs, at_end, ways_in)
        spent = most is not None and bends > 0 and bends + turn > most.bends_rad * NEARLY
        if spent and above is not None and above.free:  # the turn at the wye wants a way in before it
            whole = route.path_length_m(above.path)
            station = max(whole - BEFORE_BEND_M, 0.5 * (out.get(above.id, (0.0,))[-1] + whole))
            out[above.id] = (*out.get(above.id, ()), station)
            length, bends = whole - station, 0.0
        walker = _Walker(length, bends + turn, most if run.free else None)
        events = [(station, 0, 0.0) for station in run.cleanouts_m]
        events += [(station, 1, angle) for station, angle in _corners(run.path)]
        for station, kind, angle in sorted(events):
            walker.go_to(station)
            if kind == 0:
                walker.enter()
            else:
                walker.turn(station, angle)
        walker.go_to(route.path_length_m(run.path))
        if walker.added:
            out[run.id] = tuple(walker.added)
        at_end[run.id] = (walker.length, walker.bends, run)
        found.append(Reach(run.id, walker.longest, walker.most_bent))
    return tuple(found)


class _Walker:
    """A snake on its way down one run."""

    def __init__(self, length_m: float, bends_rad: float, most: Limits | None) -> None:
        self.length, self.bends, self.most = length_m, bends_rad, most
        self.station = 0.0
        self.longest, self.most_bent = length_m, bends_rad
        self.added: list[float] = []

    def go_to(self, station_m: float) -> None:
        if self.most is not None:
            while self.length + station_m - self.station > self.most.length_m * NEARLY:
                self.open_at(self.station + max(0.0, self.most.length_m - self.length))
        self.length += station_m - self.station
        self.station = station_m
        self.longest = max(self.longest, self.length)

    def turn(self, station_m: float, angle_rad: float) -> None:
        if self.most is not None and self.bends + angle_rad > self.most.bends_rad * NEARLY and self.bends > 0:
            last = self.added[-1] if self.added else 0.0
            self.open_at(max(station_m - BEFORE_BEND_M, 0.5 * (last + station_m)))
            self.length += station_m - self.station
            self.station = station_m
        self.bends += angle_rad
        self.most_bent = max(self.most_bent, self.bends)

    def open_at(self, station_m: float) -> None:
        self.added.append(station_m)
        self.station = station_m
        self.enter()

    def enter(self) -> None:
        self.length = self.bends = 0.0


def _start(
    run: Piped,
    runs: Sequence[Piped],
    at_end: Mapping[str, tuple[float, float, Piped]],
    ways_in: frozenset[str],
) -> tuple[float, float, float, Piped | None]:
    """Length and bends that a snake has behind it where a run begins, its turn there, the branch it came down."""
    above = [at_end[other.id] for other in runs if other.to_id == run.from_id and other.id in at_end]
    if run.from_id in ways_in or not above:
        return 0.0, 0.0, 0.0, None
    leaving = _heading(run.path[0], run.path[1])
    choices = []
    for length, bends, other in above:
        turn = abs((leaving - _heading(other.path[-2], other.path[-1]) + math.pi) % math.tau - math.pi)
        choices.append((length, bends, turn if turn > _small() else 0.0, other))
    return min(choices, key=lambda item: (item[1] + item[2], item[0], item[3].id))


def _corners(path: Sequence[XY]) -> list[tuple[float, float]]:
    stations, at = [], 0.0
    for a, b in pairwise(path):
        at += math.dist(a, b)
        stations.append(at)
    turns = route.deflections_rad(path)
    return [(s, abs(float(a))) for s, a in zip(stations, turns, strict=False) if abs(float(a)) > _small()]


def _small() -> float:
    return tables.assumption("bend-without-fitting").value_si


def _heading(start: XY, end: XY) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])
