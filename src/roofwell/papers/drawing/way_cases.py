"""What if a part fails, on a long section: a dashed water level for each case, with its letter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from roofwell.design.result import Design
from roofwell.papers.drawing.model import XY, Item, Label, Polyline, known
from roofwell.papers.drawing.way import Way

SEEN_M = 0.01
"""A level nearer than this to the usual water is not drawn."""
APART_M = 0.025
"""Levels nearer to each other than this (two points on paper) are one line, the highest of them; the table has the rest."""

LABEL_M = 0.12
"""Room that the letters of one line take up and down at the scale of most sections."""


@dataclass(frozen=True, slots=True)
class CaseGroup:
    """Cases whose water stands alike along a way: letters, and points (station, level) from the house on."""

    letters: tuple[str, ...]
    points: tuple[XY, ...]


def case_groups(design: Design, way: Way) -> tuple[CaseGroup, ...]:
    """Return the cases whose water stands higher along a way than with everything working, alike ones together."""
    found = design.behaviour.what_if
    usual = {flow.id: flow for flow in design.behaviour.runs}
    single: list[tuple[str, tuple[XY, ...]]] = []
    for case in found.cases if found is not None else ():
        lines = {line.run: line for line in case.lines}
        points: list[XY] = []
        rise = 0.0
        for run, start in zip(way.runs, way.starts_m, strict=True):
            line = lines.get(run.id)
            if line is None or run.id not in usual or not known(line.upper_m, line.lower_m):
                break
            points += [(start, line.upper_m), (start + run.length_m, line.lower_m)]
            flow = usual[run.id]
            rise = max(rise, line.upper_m - flow.level_up_m, line.lower_m - flow.level_down_m)
        if len(points) >= 2 and rise >= SEEN_M:
            single.append((case.letter, tuple(points)))
    out: list[CaseGroup] = []
    for letter, line_of in sorted(
        single, key=lambda one: -len(one[1])
    ):  # those whose way is cut short join the nearest
        near = [(_apart(group.points, line_of), n) for n, group in enumerate(out)]
        apart, n = min(near, default=(APART_M, -1))
        if apart >= APART_M:
            out.append(CaseGroup((letter,), line_of))
            continue
        longer = out[n].points
        both = tuple((x, max(a, b)) for (x, a), (_, b) in zip(longer, line_of, strict=False))
        out[n] = CaseGroup(tuple(sorted((*out[n].letters, letter))), (*both, *longer[len(both) :]))
    return tuple(sorted(out, key=lambda group: -group.points[0][1]))


def _apart(one: tuple[XY, ...], other: tuple[XY, ...]) -> float:
    """How far two lines stand apart where both are, m."""
    return max(abs(a[1] - b[1]) for a, b in zip(one, other, strict=False))


def case_lines(design: Design, way: Way) -> Iterator[Item]:
    """Yield the dashed level of each group of cases and its letters at the house; near lines share a label."""
    shared: list[tuple[XY, list[str]]] = []
    for group in case_groups(design, way):
        yield Polyline(group.points, "what if")
        at, letters = group.points[0], ", ".join(group.letters)
        if shared and shared[-1][0][1] - at[1] < LABEL_M * len(shared[-1][1]):
            shared[-1][1].append(letters)
        else:
            shared.append((at, [letters]))
    for at, words in shared:
        yield Label("\n".join(words), at, "small", strong=True, side="left", rank=1)
