"""A downspout's way to where its water ends, unrolled along its runs: stations, ground and levels."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from roofwell.papers.drawing.model import XY, known
from roofwell.system.scheme import Run, Scheme, Well

Pit = tuple[float, float, float, tuple[tuple[float, float], ...]]


@dataclass(frozen=True, slots=True)
class Way:
    """The runs from one part on, with the station at which each begins, m.

    ``ground`` are (station, elevation) pairs, unknown ones left out.
    """

    part: str
    runs: tuple[Run, ...]
    starts_m: tuple[float, ...]

    @property
    def length_m(self) -> float:
        """Length of the whole way, m."""
        return self.starts_m[-1] + self.runs[-1].length_m if self.runs else 0.0

    @property
    def ground(self) -> tuple[XY, ...]:
        """Known ground points over the way."""
        out: list[XY] = []
        for run, start in zip(self.runs, self.starts_m, strict=True):
            for station, level in zip(run.stations_m, run.ground_m, strict=True):
                if known(station, level) and (not out or start + station > out[-1][0] + 1e-6):
                    out.append((start + station, level))
        return tuple(out)

    def ground_at(self, station_m: float) -> float:
        """Ground elevation at a station, straight between known points, level beyond; NaN if unknown."""
        points = self.ground
        if not points:
            return math.nan
        if station_m <= points[0][0]:
            return points[0][1]
        for a, b in itertools.pairwise(points):
            if station_m <= b[0]:
                return a[1] + (b[1] - a[1]) * (station_m - a[0]) / (b[0] - a[0])
        return points[-1][1]

    def station_of(self, part: str) -> float | None:
        """Station of a part on the way, m, or None."""
        for run, start in zip(self.runs, self.starts_m, strict=True):
            if run.from_id == part:
                return start
            if run.to_id == part:
                return start + run.length_m
        return None


def unroll(scheme: Scheme, part: str, *, until: str | None = None) -> Way:
    """Return the way from a part to its end, or to the part ``until`` if it lies on it."""
    runs: list[Run] = []
    for run in scheme.way(part):
        runs.append(run)
        if run.to_id == until:
            break
    starts, at = [], 0.0
    for run in runs:
        starts.append(at)
        at += run.length_m
    return Way(part, tuple(runs), tuple(starts))


def joins(scheme: Scheme) -> dict[str, tuple[str, str] | None]:
    """Say for each downspout where its way meets one that is drawn before it: (part, that downspout), or
    None.

    The longest way to each end is drawn whole; the others end where they meet it, for from there on they
    are the same.
    """
    order = sorted(
        scheme.downspouts, key=lambda spout: (-sum(run.length_m for run in scheme.way(spout.id)), spout.id)
    )
    seen: dict[str, str] = {}
    out: dict[str, tuple[str, str] | None] = {}
    for spout in order:
        out[spout.id] = None
        way = scheme.way(spout.id)
        for run in way:
            if run.to_id in seen and scheme.run_from(run.to_id) is not None:
                out[spout.id] = (run.to_id, seen[run.to_id])
                break
        for run in way:
            seen.setdefault(run.to_id, spout.id)
    return {spout.id: out[spout.id] for spout in order}


def pit_along(run: Run, well: Well, *, upstream: bool = False) -> Pit:
    """Return where a well's pit lies along a pipe: (its first body or inlet, from, to, from and to of each body).

    Distances from the end of the run, m, along the direction in which the pipe arrives; with ``upstream`` from its
    beginning, along the direction in which it leaves.
    """
    ux, uy = 1.0, 0.0
    if len(run.path) > 1:
        (ax, ay), (bx, by) = run.path[:2] if upstream else run.path[-2:]
        length = math.hypot(bx - ax, by - ay)
        if length > 0:
            ux, uy = (bx - ax) / length, (by - ay) / length
    end = run.path[0 if upstream else -1] if run.path else well.at

    def project(point: XY) -> float:
        return (point[0] - end[0]) * ux + (point[1] - end[1]) * uy

    corners = [project(corner) for corner in well.pit_corners]
    lying = [[project(corner) for corner in outline] for outline in well.body_outlines]
    half = 0.5 * well.body_diameter_m
    spans = [(min(row), max(row)) for row in lying] or [
        (project(center) - half, project(center) + half) for center in well.body_centers
    ]
    return project(well.at), min(corners), max(corners), tuple(spans)


def slope_of(run: Run) -> float:
    """Return a run's slope, m/m; NaN where it has no length or its inverts are not known."""
    return run.slope_m_m if run.length_m > 0 else math.nan
