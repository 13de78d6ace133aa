"""A level of water held against the lowest opening of the house: one margin, one scale, one source for every check."""

from __future__ import annotations

import math

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, setting_source


def spare_m(context: Context, level_m: float) -> float:
    """Return how far a level lies under the lowest opening of the house, m, negative above it; NaN where none is known."""
    opening = context.survey.lowest_opening_m
    return opening - level_m if opening is not None else math.nan


def below_words(context: Context, level_m: float) -> str:
    """Return ``6 in below`` or ``6 in above``; only where the opening is known."""
    spare = spare_m(context, level_m)
    return f"{units.show_depth(abs(spare), context.survey.style)} {'below' if spare >= 0 else 'above'}"


def under_opening(context: Context, *, subject: str, level_m: float, sentence: str) -> Measured:
    """Return a level against the freeboard under the lowest opening."""
    style = context.survey.style
    return Measured(
        subject=subject,
        value=spare_m(context, level_m),
        op="at least",
        limit=context.survey.settings["freeboard"],
        scale=tables.limit("freeboard-scale", style).value_si,
        show=lambda v: units.show_depth(v, style),
        sentence=sentence,
        source=setting_source(context, "freeboard"),
    )
