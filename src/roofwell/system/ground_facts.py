"""Levels and ground: from rod readings and given elevations to points and a surface."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job import model
from roofwell.physics.ground import levels
from roofwell.physics.ground.surface import Surface
from roofwell.physics.kept import kept
from roofwell.system.facts import FeatureFact, ShotFact
from roofwell.system.ledger import Ledger
from roofwell.system.place import xy
from roofwell.units import Style, show_elevation


def level_book(job: model.Job, ledger: Ledger) -> levels.LevelBook | None:
    """Reduce the rod readings; None if there are none. Readings without a rod are left out."""
    survey = job.survey
    entries = [
        levels.Entry(reading.setup, reading.kind, reading.point, reading.rod.value_si)
        for reading in survey.readings
        if reading.rod is not None
    ]
    if not entries:
        return None
    known = {point.id: point.elevation.value_si for point in survey.points if point.elevation is not None}
    name = survey.benchmark or entries[0].point_id
    if name not in known:
        known[name] = ledger.value(
            survey.benchmark_elevation, "survey.benchmark_elevation", "benchmark-elevation"
        )
    return levels.reduce_levels(
        entries=entries, benchmark_elevations=known, spread_closure=bool(survey.spread_closure)
    )


def shots(job: model.Job, book: levels.LevelBook | None) -> tuple[ShotFact, ...]:
    """Return every point with an elevation, given ones first, each once."""
    out: dict[str, ShotFact] = {}
    for point in job.survey.points:
        if point.elevation is not None:
            place = xy(point.at) if point.at is not None else None
            out[point.id] = ShotFact(point.id, place, point.elevation.value_si, point.ground is not False)
    if book is not None:
        for reading in job.survey.readings:
            if reading.point in book.elevation_m:
                old = out.get(reading.point)
                place = xy(reading.at) if reading.at is not None else (old.at if old else None)
                on_ground = reading.ground is not False and (old is None or old.ground)
                out[reading.point] = ShotFact(
                    reading.point, place, book.elevation_m[reading.point], on_ground
                )
    return tuple(out.values())


def break_lines(
    features: tuple[FeatureFact, ...], points: tuple[ShotFact, ...], style: Style
) -> tuple[tuple[NDArray[np.float64], ...], tuple[str, ...]]:
    """Return the break lines with their elevations (k, 3), and the ids of those with too few shots on them.

    A line runs through the shots that lie on it, within what a taped place may be off; between them its elevation
    is linear. Before its first and after its last shot nobody knows it, and it ends there.
    """
    near = tables.limit("taped-place", style).value_si
    places = [(p.at, p.elevation_m) for p in points if p.ground and p.at is not None]
    found, loose = [], []
    for feature in features:
        if feature.kind != "break line" or len(feature.points) < 2:
            continue
        closed = feature.shape == "outline"
        path = shapely.LineString((*feature.points, feature.points[0]) if closed else feature.points)
        on = {
            float(path.project(shapely.Point(at))): (at, z)
            for at, z in places
            if path.distance(shapely.Point(at)) <= near
        }
        if len(on) < 2:
            loose.append(feature.id)
            continue
        known = sorted(on)
        corners = [float(path.project(shapely.Point(at))) for at in feature.points]
        rows = [(s, *on[s][0], on[s][1]) for s in known]
        for station, at in zip(corners, feature.points, strict=True):
            if known[0] < station < known[-1] and min(abs(station - s) for s in known) > near:
                rows.append((station, *at, float(np.interp(station, known, [on[s][1] for s in known]))))
        found.append(np.array(sorted(rows))[:, 1:])
    return tuple(found), tuple(loose)


def ground_surface(
    points: tuple[ShotFact, ...], ledger: Ledger, lines: tuple[NDArray[np.float64], ...] = ()
) -> tuple[Surface, bool]:
    """Return the ground through the shots and break lines, and whether it is known.

    Without a shot on the ground the stand-in is level ground at the benchmark's elevation.
    """
    on_ground = [point for point in points if point.ground and point.at is not None]
    if not on_ground:
        ledger.lack("survey.ground")
        level = ledger.assume("survey.ground", "benchmark-elevation")
        return _surface(np.zeros((1, 2)), np.array([level]), ()), False
    try:
        places, heights = np.array([p.at for p in on_ground]), np.array([p.elevation_m for p in on_ground])
        return _surface(places, heights, lines), True
    except InputError as error:
        if error.code != "surface-duplicate":
            raise
        raise _two_at_one_place(on_ground, ledger.style) from None


@kept(16)
def _surface(
    places: NDArray[np.float64], heights: NDArray[np.float64], lines: tuple[NDArray[np.float64], ...]
) -> Surface:
    """The very same ground for the same shots: what was worked out on it is found again by it."""
    return Surface(places, heights, lines)


def _two_at_one_place(points: list[ShotFact], style: Style) -> InputError:
    """Name two shots that disagree as the person knows them: by label and elevation, not by index."""
    first, second = min(
        (pair for pair in combinations(points, 2) if pair[0].elevation_m != pair[1].elevation_m),
        key=lambda pair: math.dist(pair[0].at or (0, 0), pair[1].at or (0, 0)),
    )
    low, high = (show_elevation(point.elevation_m, style) for point in (first, second))
    return InputError(
        f"survey: {first.id} and {second.id} stand at one place, at {low} and {high}; keep the right one, or "
        "write ground = false for the one that is not on the ground",
        code="surface-duplicate",
    )
