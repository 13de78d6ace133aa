"""The checks room: the nine questions, a module each; one function per check; it holds no limits."""

from __future__ import annotations

from roofwell.checks import (
    access,
    allowed,
    basins,
    carries,
    clean,
    fabrics,
    falls,
    filters,
    groundwater,
    gutters,
    heights,
    holds,
    how_much,
    ice,
    lasts,
    leave,
    links,
    loads,
    overflows,
    overland,
    paths,
    soil,
    takes,
    upkeep,
    uplift,
    voids,
    ways_out,
    well_inlets,
    wet,
    what_ifs,
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
    well_inlets,
    ice,
    clean,
    filters,
    fabrics,
    basins,
    wet,
    upkeep,
    holds,
    lasts,
    links,
    voids,
    soil,
    groundwater,
    overflows,
    heights,
    ways_out,
    overland,
    what_ifs,
    allowed,
    leave,
    access,
    uplift,
    takes,
)

__all__ = ["MODULES", "QUESTIONS", "REGISTER", "Answer", "Context", "Finding", "answer_all", "judge"]
