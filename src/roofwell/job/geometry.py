"""Outlines and paths of a job: whether they can be what they say they are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from shapely import Polygon
from shapely.validation import explain_validity

from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault
from roofwell.units import Quantity

Points = tuple[tuple[Quantity, Quantity], ...]


def geometry_faults(job: Job) -> Iterator[Fault]:
    """Find outlines with too few, repeated or crossed corners or no area, and paths that stand still."""
    for label, building in job.buildings.items():
        yield from _outline(building.outline, ("buildings", label, "outline"))
    for label, roof in job.roofs.items():
        yield from _outline(roof.outline, ("roofs", label, "outline"))
    for label, feature in job.features.items():
        yield from _outline(feature.outline, ("features", label, "outline"))
        yield from _path(feature.path, ("features", label, "path"))
    yield from _outline(job.complaint.puddle, ("complaint", "puddle"))
    for label, run in job.runs.items():
        yield from _path(run.path, ("runs", label, "path"))
    for label, overflow in job.overflows.items():
        yield from _path(overflow.path, ("overflows", label, "path"))


def _metres(points: Points) -> list[tuple[float, float]]:
    return [(east.value_si, north.value_si) for east, north in points]


def path_length_m(points: Points) -> float:
    """Return the length in plan of a path, m."""
    metres = _metres(points)
    return math.fsum(math.dist(a, b) for a, b in pairwise(metres))


def _outline(points: Points, path: KeyPath) -> Iterator[Fault]:
    if not points:
        return
    corners = _metres(points)
    if len(corners) > 1 and corners[0] == corners[-1]:
        yield Fault(
            path, "the last corner repeats the first; leave it out, an outline closes by itself",
            "repeated-corner", (path,),
        )  # fmt: skip
        return
    if len(corners) < 3:
        message = f"an outline has at least 3 corners; {len(corners)} given"
        yield Fault(path, message, "too-few-corners", (path,))
        return
    seen: dict[tuple[float, float], int] = {}
    for index, corner in enumerate(corners):
        if corner in seen:
            message = (
                f"corner {index + 1} repeats corner {seen[corner] + 1}; an outline passes each corner once"
            )
            yield Fault((*path, index), message, "repeated-corner", (path,))
            return
        seen[corner] = index
    with np.errstate(all="ignore"):
        polygon = Polygon(corners)
        valid, area = polygon.is_valid, polygon.area
        reason = "" if valid else explain_validity(polygon)
    if area == 0 and _on_a_line(corners):
        yield Fault(path, "the corners lie on one line, so the outline has no area", "no-area", (path,))
    elif not valid:
        message = (
            f"the sides of the outline cross or touch{_where(reason)}; give the corners in order round it"
        )
        yield Fault(path, message, "crossed", (path,))


def _on_a_line(corners: list[tuple[float, float]]) -> bool:
    (x0, y0), (x1, y1) = corners[0], corners[1]
    return all((x1 - x0) * (y - y0) == (y1 - y0) * (x - x0) for x, y in corners[2:])


def _where(reason: str) -> str:
    """Say the place that shapely names, in metres."""
    _, bracket, rest = reason.partition("[")
    numbers = rest.rstrip("]").split()
    try:
        east, north = (float(number) for number in numbers)
    except ValueError:
        return ""
    return f" near {east:.2f} m east, {north:.2f} m north" if bracket else ""


def _path(points: Points, path: KeyPath) -> Iterator[Fault]:
    if not points:
        return
    places = _metres(points)
    if len(places) < 2:
        yield Fault(path, "a path has at least 2 points; 1 given", "too-few-points", (path,))
        return
    for index in range(1, len(places)):
        if places[index] == places[index - 1]:
            message = f"point {index + 1} repeats point {index}; leave one of them out"
            yield Fault((*path, index), message, "repeated-point", (path,))
            return
