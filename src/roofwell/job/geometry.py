"""Outlines and paths of a job: whether they can be what they say they are."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from shapely import LineString, Polygon
from shapely.validation import explain_validity

from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault
from roofwell.units import Quantity

FOOT_M = 0.3048
# How far the path of a run may end from the middle of a part: joint and basin are no wider. A well may be.
FROM_MIDDLE_M = 1.5

Points = tuple[tuple[Quantity, Quantity], ...]


def geometry_faults(job: Job) -> Iterator[Fault]:
    """Find outlines that are none, paths that stand still, and runs that cross themselves or miss their ends."""
    for label, building in job.buildings.items():
        yield from _outline(building.outline, ("buildings", label, "outline"))
    for label, roof in job.roofs.items():
        yield from _outline(roof.outline, ("roofs", label, "outline"))
    for label, basin in job.basins.items():
        yield from _outline(basin.outline, ("basins", label, "outline"))
    for label, feature in job.features.items():
        yield from _outline(feature.outline, ("features", label, "outline"))
        yield from _path(feature.path, ("features", label, "path"))
    yield from _outline(job.complaint.puddle, ("complaint", "puddle"))
    for label, run in job.runs.items():
        path: KeyPath = ("runs", label, "path")
        faults = (
            [*_path(run.path, path)]
            or [*_crosses_itself(run.path, path)]
            or [*_misses_ends(job, run.path, (run.from_, run.to), path)]
        )
        yield from faults
    for label, overflow in job.overflows.items():
        path = ("overflows", label, "path")
        faults = [*_path(overflow.path, path)]
        if overflow.to in job.outlets:  # the course of its pipe, not a way over the ground
            faults = (
                faults
                or [*_crosses_itself(overflow.path, path)]
                or [*_misses_ends(job, overflow.path, (overflow.of, overflow.to), path)]
            )
        yield from faults


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
        message = f"the sides of the outline cross or touch{_where(reason, points)}; give the corners in order round it"
        yield Fault(path, message, "crossed", (path,))


def _on_a_line(corners: list[tuple[float, float]]) -> bool:
    (x0, y0), (x1, y1) = corners[0], corners[1]
    return all((x1 - x0) * (y - y0) == (y1 - y0) * (x - x0) for x, y in corners[2:])


def _where(reason: str, points: Points) -> str:
    """Say the place that shapely names, in the unit in which the first point is written."""
    _, bracket, rest = reason.partition("[")
    try:
        east, north = (float(number) for number in rest.rstrip("]").split())
    except ValueError:
        return ""
    return f" near {_said(east, points)} east, {_said(north, points)} north" if bracket else ""


def _said(metres: float, points: Points) -> str:
    metric = points[0][0].text.rstrip().endswith("m")
    return f"{metres:.2f} m" if metric else f"{metres / FOOT_M:.2f} ft"


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


def _crosses_itself(points: Points, path: KeyPath) -> Iterator[Fault]:
    line = LineString(_metres(points)) if points else None
    if line is None or line.is_simple:
        return
    message = (
        f"the path crosses or touches itself{_crossing(points)}; give its points in order, upstream first"
    )
    yield Fault(path, message, "crossed", (path,))


def _crossing(points: Points) -> str:
    """Say where the first two pieces of a path meet that are not neighbors."""
    pieces = [LineString(pair) for pair in pairwise(_metres(points))]
    for index, piece in enumerate(pieces):
        for later in pieces[index + 2 :]:
            if piece.intersects(later):
                place = piece.intersection(later).representative_point()
                return f" near {_said(place.x, points)} east, {_said(place.y, points)} north"
    return ""


def _misses_ends(
    job: Job, points: Points, parts: tuple[str | None, str | None], path: KeyPath
) -> Iterator[Fault]:
    """Find a path that begins or ends away from the parts that it joins, or that is written backwards."""
    if not points:
        return
    ends = _metres((points[0], points[-1]))
    places = [_place(job, part) for part in parts]
    away = [math.dist(end, at) if at is not None else 0.0 for end, at in zip(ends, places, strict=True)]
    turned = [
        math.dist(end, at) if at is not None else 0.0 for end, at in zip(ends, places[::-1], strict=True)
    ]
    if None not in places and max(turned) <= FROM_MIDDLE_M < min(away):
        message = f"the path begins at {parts[1]} and ends at {parts[0]}; write its points upstream first"
        yield Fault(path, message, "contradiction", (path,))
        return
    for index, part in ((0, parts[0]), (-1, parts[1])):
        if away[index] > FROM_MIDDLE_M and part not in job.wells:
            verb = "begins" if index == 0 else "ends"
            message = (
                f"the path {verb} {_said(away[index], points)} away from {part}; let it {verb[:-1]} there"
            )
            yield Fault(path, message, "contradiction", (path,))
            return


def _place(job: Job, part: str | None) -> tuple[float, float] | None:
    for table in (job.downspouts, job.wyes, job.basins, job.wells, job.outlets):
        found = table.get(part or "")
        if found is not None and found.at is not None:
            return found.at[0].value_si, found.at[1].value_si
    return None
