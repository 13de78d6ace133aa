"""A finding, an answer, and the one function that gives a verdict."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from roofwell import tables

Verdict = Literal["good", "close", "fails", "unknown"]
Op = Literal["at least", "at most"]

QUESTIONS: dict[int, str] = {
    1: "How much comes?",
    2: "Does it fall?",
    3: "Does it carry?",
    4: "Does it stay clean?",
    5: "Does it hold and soak away?",
    6: "Where does it go when full?",
    7: "Is it allowed, is it safe?",
    8: "What does it take?",
    9: "Was it built so, does it still work?",
}

WORST_FIRST: tuple[Verdict, ...] = ("fails", "unknown", "close", "good")


@dataclass(frozen=True, slots=True)
class Measurement:
    """A measurement that is missing: which one, and how to take it."""

    leaf: str
    what: str
    how: str


@dataclass(frozen=True, slots=True)
class Overruled:
    """A typed reason that sets a finding aside: the verdict stays, the stamp lifts."""

    reason: str
    who: str
    date: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One check of one part.

    ``value`` and ``limit`` are SI numbers of one dimension; the texts are what papers print. ``low`` and
    ``high`` are the range that the value would have while a measurement is missing, else None.
    ``spare`` is the margin towards good (negative: short), in the unit of value; NaN while unknown.
    """

    code: str
    question: int
    subject: str
    verdict: Verdict
    value: float
    low: float | None
    high: float | None
    op: Op
    limit: float
    spare: float
    value_text: str
    limit_text: str
    spare_text: str
    sentence: str
    source: str
    missing: tuple[Measurement, ...] = ()
    assumed: tuple[str, ...] = ()
    overruled: Overruled | None = None
    digging: bool = True  # whether a paper that digging depends on waits for it
    detail: str = ""  # what a specialist asks next to the sentence: codes beside the theory, how it was found
    fixed: bool = (
        False  # no typed reason sets it aside, as for all findings of law and of water at an opening
    )
    value_of: str = ""  # what the number is: "soil over P3"


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one of the nine questions; ``verdict`` None where there is nothing to judge.

    ``assumed``: paths of the assumed values that its checks rest on, judged or not. ``detail``: what a specialist
    asks next to the sentence; lists of every check and results.json have it, the nine answers do not.
    """

    question: int
    title: str
    verdict: Verdict | None
    governing: Finding | None
    sentence: str
    findings: tuple[Finding, ...]
    assumed: tuple[str, ...] = ()
    detail: str = ""

    @property
    def missing(self) -> tuple[Measurement, ...]:
        """Return the measurements that the answer waits for, each once, in the order of the trade."""
        return in_order(item.leaf for finding in self.findings for item in finding.missing)


def in_order(leaves: Iterable[str]) -> tuple[Measurement, ...]:
    """Return measurements, each once, in the order in which the trade takes them: that of their table."""
    rows = tables.rows("measurements")
    rank = {row["leaf"]: i for i, row in enumerate(rows)}
    return tuple(
        Measurement(leaf, rows[rank[leaf]]["what"], rows[rank[leaf]]["how"])
        if leaf in rank
        else Measurement(leaf, leaf, "")
        for leaf in sorted(set(leaves), key=lambda leaf: (rank.get(leaf, len(rows)), leaf))
    )


def judge(
    *,
    value: float,
    op: Op,
    limit: float,
    scale: float,
    uncertainty: float | None = None,
    low: float | None = None,
    high: float | None = None,
    missing: bool = False,
) -> Verdict:
    """Give the verdict of one comparison.

    ``good`` met with room; ``close`` met by less than the stated uncertainty of the number or, where none
    is stated, by less than a tenth of ``scale``; ``fails`` not met; ``unknown`` a needed measurement is
    missing and part of the range ``low`` to ``high`` would meet the limit. If the whole range fails, it
    fails. A value equal to its limit is met. NaN counts as unknown.
    """
    if missing or math.isnan(value):
        ends = [end for end in (low, high) if end is not None and not math.isnan(end)]
        if len(ends) == 2 and all(_spare(end, op, limit) < 0 for end in ends):
            return "fails"
        return "unknown"
    spare = _spare(value, op, limit)
    if spare < 0:
        return "fails"
    room = uncertainty if uncertainty is not None else 0.1 * abs(scale)
    return "close" if spare < room else "good"


def _spare(value: float, op: Op, limit: float) -> float:
    return value - limit if op == "at least" else limit - value


def spare_of(value: float, op: Op, limit: float) -> float:
    """Return the margin towards good, in the unit of ``value``; negative where it is short."""
    return _spare(value, op, limit)


def worst(verdicts: Iterable[Verdict]) -> Verdict | None:
    """Return the worst verdict in the order fails, unknown, close, good; None of none."""
    given = set(verdicts)
    return next((verdict for verdict in WORST_FIRST if verdict in given), None)
