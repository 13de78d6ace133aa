"""What lies over and beside a way that the digger meets: walks and drives, and where only hands may dig."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from roofwell import tables
from roofwell.papers.drawing.model import Item, Label, Polygon, Polyline, known
from roofwell.papers.drawing.way import Way
from roofwell.papers.texts import Say
from roofwell.system.facts import Survey
from roofwell.system.scheme import PavedCrossing
from roofwell.system.shapes_of import shape_of

_SLAB_M = 0.09
Span = tuple[float, float]


def paved_items(survey: Survey, way: Way, passed: Sequence[PavedCrossing] = ()) -> Iterator[Item]:
    """Yield walks and drives over the way, as slabs in the ground; ``passed`` says which are bored or cut."""
    runs = {run.id for run in way.runs}
    how = {crossing.id: crossing.way for crossing in passed if crossing.run in runs}
    for feature in survey.of_kind("walk", "drive"):
        if len(feature.points) < 3:
            continue
        shape = shapely.Polygon(feature.points)
        if not shape.is_valid:
            continue
        for first, last in _spans(way, shape):
            tops = (way.ground_at(first), way.ground_at(last))
            if not known(*tops):
                continue
            slab = (
                (first, tops[0] - _SLAB_M),
                (last, tops[1] - _SLAB_M),
                (last, tops[1]),
                (first, tops[0]),
            )
            yield Polygon(slab, "ink", "paved", part=feature.id)
            middle = (0.5 * (first + last), 0.5 * (tops[0] + tops[1]))
            words = f"{feature.kind}, {how[feature.id]}" if feature.id in how else feature.kind
            yield Label(words, middle, "small", side="over", rank=3, part=feature.id)


def hand_dig_items(survey: Survey, way: Way, say: Say) -> Iterator[Item]:
    """Yield the stretches within the tolerance zone of a buried line, where only hands may dig."""
    for first, last in hand_dig_spans(survey, way):
        tops = (way.ground_at(first), way.ground_at(last))
        if not known(*tops):
            continue
        yield Polyline(((first, tops[0]), (last, tops[1])), "hand dig")
        words = f"by hand {say.station(first)} to {say.station(last)}"
        yield Label(words, (0.5 * (first + last), 0.5 * (tops[0] + tops[1])), "small", side="over", rank=3)


def hand_dig_spans(survey: Survey, way: Way) -> tuple[Span, ...]:
    """Return from where to where along the way only hands may dig: near marked lines, one stretch each."""
    zone = tables.limit("tolerance-zone", survey.style).value_si
    found = [
        span
        for feature in survey.of_kind("utility", "existing drain")
        for span in _spans(way, shape_of(feature).buffer(zone + 0.5 * (feature.diameter_m or 0.0)))
    ]
    drawn = {feature.id for feature in survey.of_kind("utility", "existing drain") if feature.points}
    for run, start in zip(way.runs, way.starts_m, strict=True):
        found += [
            (max(0.0, start + c.station_m - zone), min(way.length_m, start + c.station_m + zone))
            for c in run.crossings
            if c.id not in drawn
        ]
    out: list[Span] = []
    for first, last in sorted(found):
        if out and first <= out[-1][1] + 0.05:
            out[-1] = (out[-1][0], max(last, out[-1][1]))
        else:
            out.append((first, last))
    return tuple(out)


def _spans(way: Way, shape: shapely.Geometry) -> Iterator[Span]:
    """Yield where the way lies inside a shape, as stations."""
    for run, start in zip(way.runs, way.starts_m, strict=True):
        if len(run.path) < 2 or shape.is_empty:
            continue
        path = shapely.LineString(run.path)
        if path.length <= 0:
            continue
        stretch = run.length_m / path.length
        for piece in getattr(path.intersection(shape), "geoms", [path.intersection(shape)]):
            if piece.is_empty or piece.length <= 0:
                continue
            ends = [path.project(shapely.Point(piece.coords[n])) for n in (0, -1)]
            yield start + stretch * min(ends), start + stretch * max(ends)
