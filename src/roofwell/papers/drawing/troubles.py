"""Which answers are not good, and the part that causes each: their numbers stand in rings on the drawings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from roofwell.design.result import Design
from roofwell.papers.drawing.model import XY, Ring, known
from roofwell.papers.drawing.way import Way

_NEAR_M = 1.5
"""Places nearer than this to each other have one ring."""


def rings_at(found: Iterable[tuple[XY, int, bool]]) -> Iterator[Ring]:
    """Yield a ring for each place, with the numbers of all its answers; those that fail have a ring of their own."""
    groups: list[tuple[XY, bool, list[int]]] = []
    for at, number, failing in found:
        near = (g for g in groups if g[1] == failing and math.dist(g[0], at) < _NEAR_M)
        group = next(near, None)
        if group is None:
            groups.append((at, failing, [number]))
        else:
            group[2].append(number)
    for at, failing, numbers in groups:
        yield Ring(at, numbers[0], failing, tuple(numbers[1:]))


def troubles(design: Design) -> tuple[tuple[str, int, bool], ...]:
    """Return (part, number of the answer, whether it fails) for each answer that is not good."""
    out = []
    for answer in design.answers:
        found = answer.governing
        if found is not None and answer.verdict in ("fails", "unknown", "close"):
            subject = found.subject.split(" ")[0]  # "W1 to lot line" stands at W1
            out.append((subject, answer.question, answer.verdict == "fails"))
    return tuple(out)


def way_rings(design: Design, way: Way) -> Iterator[Ring]:
    """Yield the rings of a long section, each where its part stands along the way."""
    found = []
    for subject, number, failing in troubles(design):
        run = next((r for r in way.runs if r.id == subject), None)
        at = way.station_of(subject)
        if run is not None:
            at = way.starts_m[way.runs.index(run)] + 0.5 * run.length_m
        if at is None:
            continue
        level = (
            run.invert_at(0.5 * run.length_m) if run is not None and run.length_m > 0 else way.ground_at(at)
        )
        if known(level):
            found.append(((at, level), number, failing))
    yield from rings_at(found)
