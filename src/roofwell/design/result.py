"""The Design: everything that Roofwell says about one job."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from roofwell.checks.finding import Answer
from roofwell.checks.overrules import Notice
from roofwell.job.model import Job
from roofwell.system.behaviour import Behaviour
from roofwell.system.facts import AssumedValue, Survey
from roofwell.system.scheme import Scheme
from roofwell.takeoff.quantities import Takeoff


@dataclass(frozen=True, slots=True)
class Candidate:
    """One Scheme that was tried, for the record: what it was and what bound it."""

    what: str
    excavation_m3: float
    meets: bool
    binding: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Design:
    """A complete design and its judgement.

    Where a missing measurement leaves sizes open, ``scheme`` is the smallest of the range and
    ``scheme_large`` the largest; ``open_sizes`` says so in words ("one to four wells; the soil decides").
    ``notices`` are overrules of the job that set nothing aside.
    ``waits`` says what a paper that digging depends on waits for; empty: it may be dug from.
    """

    job: Job
    survey: Survey
    scheme: Scheme
    behaviour: Behaviour
    takeoff: Takeoff
    answers: tuple[Answer, ...]
    scheme_large: Scheme | None
    behaviour_large: Behaviour | None
    takeoff_large: Takeoff | None
    open_sizes: str | None
    candidates: tuple[Candidate, ...]
    assumed: tuple[AssumedValue, ...]
    waits: tuple[str, ...]
    fingerprint: str
    notices: tuple[Notice, ...] = ()

    def answer(self, question: int) -> Answer:
        """Return the answer to one question, 1 to 9."""
        return self.answers[question - 1]

    @property
    def rests_on(self) -> dict[str, int]:
        """How many of its figures are given, designed, assumed, and how many measurements are missing."""
        origins = Counter(self.scheme.origin.values())
        leaves = (m.leaf for answer in self.answers for finding in answer.findings for m in finding.missing)
        return {
            "given": origins["given"],
            "designed": origins["designed"],
            "assumed": len(self.assumed),
            "missing": max(origins["missing"], len(set(leaves))),
        }
