"""Bends in plan: where a run turns, which standard elbows make the turn, and the angle that they leave over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from roofwell import tables
from roofwell.physics.trench import route
from roofwell.system.route_weights import elbow_kinds
from roofwell.system.scheme import XY, Run, Scheme

SAME_PLACE_M = 0.3  # a fitting of the Scheme this near a corner of the path is that corner's elbow
WYE_ANGLE_RAD = math.pi / 4
_STRAIGHT_RAD = math.radians(0.5)


def heading(start: XY, end: XY) -> float:
    """Direction from one point to another, radians counterclockwise from east."""
    return math.atan2(end[1] - start[1], end[0] - start[0])


def turn(before: float, after: float) -> float:
    """Angle by which the direction changes, 0 to pi."""
    return abs((after - before + math.pi) % (2 * math.pi) - math.pi)


@dataclass(frozen=True, slots=True)
class Turn:
    """A place where the line of a run turns in plan: the elbows that make it, and what they leave over.

    ``where`` is ``corner`` or the label of the wye that a branch enters. ``left_over_rad`` is taken up in the
    joints: above 0 where the elbows turn less than is wanted.
    """

    run: str
    station_m: float
    where: str
    turn_rad: float
    elbows: tuple[str, ...]
    left_over_rad: float


def standard_elbows(angle_rad: float) -> tuple[str, ...]:
    """Return the elbows that make a turn, largest first; a small turn is taken up in the line."""
    kinds = elbow_kinds()
    return tuple(kinds[a] for a in route.elbows(angle_rad, tuple(kinds)).angles_rad)


def turns(scheme: Scheme) -> tuple[Turn, ...]:
    """Return every turn of the Scheme's runs, in the order of the runs and along them."""
    out = []
    for run in scheme.runs:
        given = [f for f in run.fittings if f.kind == "elbow"]
        for station, angle in corners(run.path):
            here = [f.angle_rad for f in given if abs(f.station_m - station) < SAME_PLACE_M]
            kinds = tuple(kind for a in here for kind in standard_elbows(a)) or _made(angle)
            out.append(_turn(run.id, station, "corner", angle, kinds))
        bend = wye_bend(scheme, run)
        if bend > 0:
            out.append(_turn(run.id, run.length_m, run.to_id, bend, _made(bend)))
    return tuple(turn for turn in out if turn.turn_rad > _STRAIGHT_RAD)


def _made(angle_rad: float) -> tuple[str, ...]:
    least = tables.assumption("bend-without-fitting").value_si
    return standard_elbows(angle_rad) if angle_rad > least else ()


def _turn(run: str, station_m: float, where: str, angle_rad: float, kinds: tuple[str, ...]) -> Turn:
    angles = {kind: angle for angle, kind in elbow_kinds().items()}
    return Turn(run, station_m, where, angle_rad, kinds, angle_rad - sum(angles[kind] for kind in kinds))


def corners(path: Sequence[XY]) -> list[tuple[float, float]]:
    """Return (station in m, turn in radians) of each inner corner of a path."""
    stations = np.cumsum([math.dist(a, b) for a, b in pairwise(path)])
    return [(float(s), abs(float(a))) for s, a in zip(stations, route.deflections_rad(path), strict=False)]


def bends(run: Run) -> list[tuple[float, float]]:
    """Return (station, angle) of every bend: the Scheme's elbows, and corners of the path without one."""
    given = [(f.station_m, f.angle_rad) for f in run.fittings if f.kind == "elbow"]
    least = tables.assumption("bend-without-fitting").value_si
    missed = [
        (station, angle)
        for station, angle in corners(run.path)
        if angle > least and not any(abs(station - at) < SAME_PLACE_M for at, _ in given)
    ]
    return sorted(given + missed)


def wye_bend(scheme: Scheme, run: Run) -> float:
    """Return the turn that a run needs beside the wye it ends in, radians.

    The inlet that turns least goes straight through; a branch enters at 45 degrees and needs elbows for the
    rest. 0 where the run does not end in a wye, or where the Scheme has an elbow there already.
    """
    below = scheme.run_from(run.to_id)
    if below is None or not any(wye.id == run.to_id for wye in scheme.wyes):
        return 0.0
    if any(f.kind == "elbow" and run.length_m - f.station_m < SAME_PLACE_M for f in run.fittings):
        return 0.0
    leaving = heading(below.path[0], below.path[1])
    turns = {r.id: turn(heading(r.path[-2], r.path[-1]), leaving) for r in scheme.runs_to(run.to_id)}
    straight = min(turns, key=lambda id: (turns[id], id))
    own = turns[run.id]
    return own if run.id == straight else abs(own - WYE_ANGLE_RAD)
