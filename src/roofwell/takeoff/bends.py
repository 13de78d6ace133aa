"""Bends in plan: where a run turns, and which standard elbows make the turn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from itertools import pairwise

import numpy as np

from roofwell import tables
from roofwell.physics.trench import route
from roofwell.system.scheme import XY, Run, Scheme
from roofwell.takeoff.ends import fitting_kinds

SAME_PLACE_M = 0.3  # a fitting of the Scheme this near a corner of the path is that corner's elbow
WYE_ANGLE_RAD = math.pi / 4


def heading(start: XY, end: XY) -> float:
    """Direction from one point to another, radians counterclockwise from east."""
    return math.atan2(end[1] - start[1], end[0] - start[0])


def turn(before: float, after: float) -> float:
    """Angle by which the direction changes, 0 to pi."""
    return abs((after - before + math.pi) % (2 * math.pi) - math.pi)


@cache
def _elbows() -> dict[float, str]:
    """Standard elbows of the table by their angle in radians."""
    kinds = [k for k in fitting_kinds().values() if k.key.startswith("elbow-")]
    return {math.radians(k.angle_deg): k.key for k in kinds if k.angle_deg is not None}


def standard_elbows(angle_rad: float) -> tuple[str, ...]:
    """Return the elbows that make a turn, largest first; a small turn is taken up in the line."""
    angles = _elbows()
    return tuple(angles[a] for a in route.elbows(angle_rad, tuple(angles)).angles_rad)


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
