"""Elevations of a job against its own level book: a depth that was written where an elevation belongs.

``top = "30 in"`` on a gas line reads as an elevation of 2.5 ft. In a datum of 100 ft the line would lie 97 ft deep
and every pipe would pass it with room. Such a slip must not pass in silence.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault
from roofwell.units import Quantity

# Nothing that a house drains with, and no line to a house, lies this far under or over all its ground.
FARTHEST_M = 6.0

# What to write instead of a depth, where there is such a key.
INSTEAD = {
    "seasonal_high_water": "; a depth under the ground is written seasonal_high_water_depth",
}


def datum_faults(job: Job) -> Iterator[Fault]:
    """Find elevations that lie far under or over every elevation of the level book; silent without a level book."""
    book = _elevations_m(job)
    if not book:
        return
    least, most = min(book), max(book)
    for path, elevation in _elevations(job):
        value = elevation.value_si
        if least - FARTHEST_M <= value <= most + FARTHEST_M:
            continue
        ground = f"the points of the survey lie between {_said(least, job)} and {_said(most, job)}"
        instead = INSTEAD.get(
            str(path[-1]), "; take a depth off the ground's elevation, and write what is left"
        )
        message = f"an elevation is needed here, and {ground}{instead}"
        yield Fault(path, message, "not-an-elevation", (path,))


def _said(value_m: float, job: Job) -> str:
    return f"{value_m:.2f} m" if job.job.units == "metric" else f"{value_m / 0.3048:.2f} ft"


def _elevations_m(job: Job) -> list[float]:
    """Return every elevation that the level book gives, by height of instrument."""
    survey = job.survey
    known = {p.id: p.elevation.value_si for p in survey.points if p.elevation is not None}
    if survey.benchmark is not None and survey.benchmark_elevation is not None:
        known[survey.benchmark] = survey.benchmark_elevation.value_si
    instruments: dict[str, float] = {}
    for reading in survey.readings:
        if reading.rod is None:
            continue
        if reading.kind == "backsight" and reading.point in known:
            instruments[reading.setup] = known[reading.point] + reading.rod.value_si
        elif reading.setup in instruments:
            known.setdefault(reading.point, instruments[reading.setup] - reading.rod.value_si)
    return [value for value in known.values() if math.isfinite(value)]


def _elevations(job: Job) -> Iterator[tuple[KeyPath, Quantity]]:
    """Yield every elevation of a job outside its level book, with its key path."""
    leaves = {
        "buildings": ("lowest_floor", "lowest_opening"),
        "features": ("invert", "top", "bottom"),
        "downspouts": ("joint",),
        "runs": ("upstream_invert", "downstream_invert"),
        "basins": ("floor", "grate"),
        "wells": ("bottom", "inlet_invert"),
        "overflows": ("lip", "low_point"),
        "outlets": ("invert", "tailwater"),
    }
    for table, keys in leaves.items():
        for label, part in getattr(job, table).items():
            for key in keys:
                value = getattr(part, key)
                if value is not None:
                    yield (table, label, key), value
    if job.soil.seasonal_high_water is not None:
        yield ("soil", "seasonal_high_water"), job.soil.seasonal_high_water
