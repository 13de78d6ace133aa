"""Which answers are not good, and the part that causes each: their numbers stand in rings on the drawings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from roofwell.design.result import Design
from roofwell.papers.drawing.model import XY, Ring

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
