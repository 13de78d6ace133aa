"""The checks room: the nine questions, a module each; one function per check; it holds no limits."""

from __future__ import annotations

from roofwell.checks import (
    allowed,
    carries,
    clean,
    falls,
    groundwater,
    gutters,
    holds,
    how_much,
    loads,
    overflows,
    paths,
    soil,
    takes,
    uplift,
)
from roofwell.checks.answers import answer_all
from roofwell.checks.finding import QUESTIONS, Answer, Finding, judge
from roofwell.checks.register import REGISTER, Context

MODULES = (
    how_much,
    falls,
    paths,
    loads,
    gutters,
    carries,
    clean,
    holds,
    soil,
    groundwater,
    overflows,
    allowed,
    uplift,
    takes,
)

__all__ = ["MODULES", "QUESTIONS", "REGISTER", "Answer", "Context", "Finding", "answer_all", "judge"]
