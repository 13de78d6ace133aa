"""From ladders to sides of paper: how much fits on each, and what goes overleaf.

A way to where its water ends has a side of its own; branches that meet it share sides, as many as fit. A
ladder that is longer than its side goes on overleaf. Heights are in points and match ``crew_sheet.typ``; they are
reckoned first and then measured by the typesetter, and what is over goes overleaf: no figure is set smaller.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from roofwell.design.result import Design
from roofwell.papers.crew_sheet.ladder import Bar, Ladder, Rung
from roofwell.papers.crew_sheet.levels import marks
from roofwell.papers.crew_sheet.work import Work
from roofwell.papers.drawing.lettering import width_pt
from roofwell.papers.set.sheets import PAPERS

ROW_PT = 24.0
"""Height of a row of the ladder: numerals of 24 pt and a rule."""

_MARGINS_PT = 56.0
_HEAD_PT = 88.0  # title, sum and its words
PICTURE_PT = 94.0
BRANCH_PICTURE_PT = 80.0
_LADDER_HEAD_PT = 32.0
_FOOT_PT = 80.0  # stop rules and cautions
_WORK_LINE_PT = 14.0
_WORK_HEAD_PT = 18.0
_MARK_PT = 30.0
_BAND_LINE_PT = 11.0
WORDS_PT = 42.0  # labels over and stations under a picture
_TITLE_PT = 20.0
_SHORT = 3  # a branch of no more rows needs no picture
_LEAST_ROWS = 4


@dataclass(frozen=True, slots=True)
class Block:
    """A ladder, or a part of one; ``first`` with its picture and levels, ``words`` with its order of work.

    ``last``: nothing of it goes on overleaf. A block without ``steps`` is an order of work that found no room.
    """

    ladder: Ladder
    steps: tuple[Rung | Bar, ...]
    first: bool
    last: bool
    words: bool


@dataclass(frozen=True, slots=True)
class Overleaf:
    """What goes overleaf because a side took more room than was reckoned; ladders by their key.

    ``rungs`` fewer on the first side and ``rest`` fewer on the others; ``words`` whose order of work has a side of its
    own; ``apart`` that begin a side.
    """

    rungs: Mapping[str, int] = field(default_factory=dict)
    rest: Mapping[str, int] = field(default_factory=dict)
    words: frozenset[str] = frozenset()
    apart: frozenset[str] = frozenset()

    def after(
        self, design: Design, sides: list[list[Block]], works: Mapping[str, Work], over_pt: Sequence[float]
    ) -> Overleaf:
        """Return what goes overleaf once each side was measured to be ``over_pt`` too high; the same if none is.

        A branch leaves the side that it shares; a ladder that goes on anyway leaves rungs; one that stands whole stays
        so, and its order of work goes.
        """
        rungs, rest, words, apart = dict(self.rungs), dict(self.rest), set(self.words), set(self.apart)
        for side, over in zip(sides, over_pt, strict=True):
            block, rows = side[-1], math.ceil(over / ROW_PT)
            start = block.ladder.key
            if over <= 0:
                continue
            if len(side) > 1:
                apart.add(start)
            elif not block.first:
                if len(block.steps) - rows >= _LEAST_ROWS:
                    rest[start] = rest.get(start, 0) + rows
            elif not (block.words and block.last) and _rows_help(design, block, works[start], rows):
                rungs[start] = rungs.get(start, 0) + rows
            elif block.words:
                words.add(start)
        return Overleaf(rungs, rest, frozenset(words), frozenset(apart))


def band_pt(band: dict[str, Any] | None) -> float:
    """How much of every side the stamp takes."""
    if band is None:
        return 0.0
    words = band["title"] + " waits for: " + "; ".join(band["waits"])
    return 16.0 + _BAND_LINE_PT * math.ceil(1.1 * width_pt(words, size_pt=9.0, strong=True) / 500.0)


def sides_of(
    design: Design, found: tuple[Ladder, ...], works: Mapping[str, Work], band_pt: float, overleaf: Overleaf
) -> list[list[Block]]:
    """Return the sides, each with its blocks; ``band_pt`` is what the stamp takes of every side."""
    room = PAPERS[design.survey.style].height_pt - _MARGINS_PT - _HEAD_PT - _FOOT_PT - band_pt
    whole = int((room - _LADDER_HEAD_PT) / ROW_PT)
    sides: list[list[Block]] = []
    left = 0.0
    for one in found:
        words = one.key not in overleaf.words
        high = _block_pt(design, one, works[one.key], words=words)
        if one.until is not None and high <= left and words and one.key not in overleaf.apart:
            sides[-1].append(Block(one, one.steps, True, True, True))
            left -= high
            continue
        over = high - room
        rows = len(one.steps) - max(0, math.ceil(over / ROW_PT)) - overleaf.rungs.get(one.key, 0)
        first, rest = _split(list(one.steps), max(rows, _LEAST_ROWS))
        sides.append([Block(one, tuple(first), True, words and not rest, words)])
        left = room - high if one.until is not None else 0.0
        while rest:
            here, rest = _split(rest, max(whole - overleaf.rest.get(one.key, 0), _LEAST_ROWS))
            sides.append([Block(one, tuple(here), False, words and not rest, False)])
            left = room - _TITLE_PT - _LADDER_HEAD_PT - ROW_PT * len(here)
        if not words:
            sides.append([Block(one, (), False, True, True)])
            left = 0.0
    return sides


def _split(steps: list[Rung | Bar], rows: int) -> tuple[list[Rung | Bar], list[Rung | Bar]]:
    """Fill a side; what is left over never stands alone, and no bar is parted from the rung after it."""
    if len(steps) <= rows:
        return steps, []
    at = min(rows, len(steps) - 2) if rows > 3 else rows
    while at > 1 and isinstance(steps[at - 1], Bar):
        at -= 1
    return steps[:at], steps[at:]


def _rows_help(design: Design, block: Block, own: Work, rows: int) -> bool:
    """Say whether a side grows lower by so many rungs: its levels beside them must not stand as high."""
    left = len(block.steps) - rows
    high = _LADDER_HEAD_PT + ROW_PT * left
    return left >= _LEAST_ROWS and high >= _beside_pt(design, block.ladder, own, words=block.words)


def _beside_pt(design: Design, one: Ladder, own: Work, *, words: bool) -> float:
    """How high the levels beside a ladder stand; for a branch, with the order of work under them."""
    beside = _LADDER_HEAD_PT + _MARK_PT * len(marks(design, one))
    if one.until is not None and words:
        beside += _WORK_HEAD_PT + 1.15 * _WORK_LINE_PT * len(own.lines)
    return beside


def _block_pt(design: Design, one: Ladder, own: Work, *, words: bool) -> float:
    """How high a ladder stands with its picture, its levels beside it and, with ``words``, its work."""
    rows = _LADDER_HEAD_PT + ROW_PT * len(one.steps)
    high = max(rows, _beside_pt(design, one, own, words=words))
    if one.until is None:
        work_pt = _WORK_HEAD_PT + _WORK_LINE_PT * math.ceil(0.5 * len(own.lines))
        return PICTURE_PT + high + (work_pt if words else 0.0)
    return _TITLE_PT + (BRANCH_PICTURE_PT if pictured(one) else 0.0) + high


def pictured(one: Ladder) -> bool:
    """Say whether a ladder has a picture: a short branch needs none."""
    return one.until is None or len(one.steps) > _SHORT
