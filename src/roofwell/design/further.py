"""What lies beyond the design storm, part by part, so that who waits at a page sees each when it is done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from roofwell import checks
from roofwell.design.complete import Progress
from roofwell.design.judging import Inputs, Judged
from roofwell.design.result import Design
from roofwell.system.ageing import ageing
from roofwell.system.beyond import beyond

Part = Literal["years", "beyond"]
WORDS: dict[Part, str] = {
    "years": "the well in years",
    "beyond": "larger storms, chances and other rules",
}

FOLLOWS = (5,)
"""Questions whose words grow by what lies beyond; a test holds that there are no others."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A Design without what lies beyond, and what it takes to look there."""

    design: Design
    inputs: Inputs
    judged: Judged
    rate_m_s: float


@dataclass(frozen=True, slots=True)
class AtOnce:
    """Answers to an edit with the sizes of before it. ``of_before``: checks whose findings rest on what was lent."""

    standing: Standing
    of_before: tuple[str, ...]


def look_further(standing: Standing, progress: Progress | None = None) -> Iterator[tuple[Part, Design]]:
    """Yield the Design with each part that lies beyond, as it is done; the last one has all of them.

    Verdicts stay as they are: only words and what is told beside the answers change. ``progress`` is called before each
    part with its name in words, and within it without any; it may raise to stop.
    """

    def pause() -> None:
        if progress is not None:
            progress("")

    inputs, survey, now = standing.inputs, standing.inputs.survey, standing.judged
    scheme, rate = now.scheme, standing.rate_m_s
    if progress is not None:
        progress(WORDS["years"])
    behaviour = now.behaviour
    if behaviour.ageing is None:
        old = ageing(scheme, survey, behaviour, rate_m_s=rate, record=inputs.record, pause=pause)
        behaviour = replace(behaviour, ageing=old)
    yield "years", replace(standing.design, behaviour=behaviour)
    if progress is not None:
        progress(WORDS["beyond"])
    more = beyond(scheme, survey, behaviour, rate_m_s=rate, record=inputs.record, pause=pause)
    behaviour = replace(behaviour, beyond=more)
    context = checks.Context(
        inputs.job, survey, scheme, behaviour, now.low, now.high, now.takeoff, standing.design.takeoff_large
    )
    yield (
        "beyond",
        replace(
            standing.design,
            behaviour=behaviour,
            answers=checks.answer_all(context),
        ),
    )
