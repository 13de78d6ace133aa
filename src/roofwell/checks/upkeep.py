"""4. Does it stay clean? What the owner has to do and see: gutters cleaned, a pipe to look into the well."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables
from roofwell.checks.debris_words import two
from roofwell.checks.register import Context, Measured, check
from roofwell.system.gutter_care import GutterCare, gutter_care
from roofwell.system.lids import observation_pipes


@check(
    "gutter-cleaning",
    question=4,
    needs=("downspouts",),
    value="how often gutter {} wants cleaning",
    about=(
        "How often a year a gutter wants cleaning, by the trees over its roof, what falls from them and its guard, against "
        "how often the owner has it done."
    ),
    digging=False,
)
def gutter_cleaning(context: Context) -> Iterator[Measured]:
    """A guard spares some of it, never all."""
    most = tables.limit("gutter-cleaned-most")
    for care in gutter_care(context.job, context.survey, context.scheme):
        limit = care.cleaned_year if care.cleaned_year is not None else most.value_si
        unsaid = care.trees is None and care.high_year > limit
        yield Measured(
            subject=care.gutter,
            value=care.times_year,
            op="at most",
            limit=limit,
            scale=0.0,
            low=care.low_year if unsaid else None,
            high=care.high_year if unsaid else None,
            show=lambda v: f"{two(v)} a year",
            sentence=care_words(care),
            source=care.source if care.cleaned_year is not None else most.source,
            limit_text=None
            if care.cleaned_year is not None
            else f"at most {two(limit)} a year (nobody said how often it is done)",
            also_missing=("roofs.trees",) if unsaid else (),
        )


def care_words(care: GutterCare) -> str:
    """Say how often, and why."""
    over = {
        "none": "no tree over its roof",
        "few": "a few branches over its roof",
        "many": "trees over its roof",
    }
    why = over[care.trees] if care.trees is not None else "trees that nobody spoke of"
    if care.needles and care.trees != "none":
        why += ", needles among what falls"
    guard = "under its guard, which is brushed off," if care.guard else "without a guard"
    times = two(care.times_year)
    words = f"Gutter {care.gutter} {guard} wants cleaning {times} time{'s' if times != '1' else ''} a year: {why}."
    late = care.cleaned_year is not None and care.times_year > care.cleaned_year
    return words + (" Cleaned less, it runs over first where the leaves lie." if late else "")


@check(
    "observation-pipe",
    question=4,
    value="observation pipe of {}",
    about="Every well has a pipe from its bottom to the ground, with a locked cap, in which its water is seen and timed.",
    digging=False,
)
def observation_pipe(context: Context) -> Iterator[Measured]:
    """Without one nobody sees the well age."""
    for pipe in observation_pipes(context.job, context.scheme):
        said = (pipe.there, pipe.locked if pipe.there else True)
        unsaid = None in said and False not in said
        if pipe.there is False:
            words = f"{pipe.well} has no observation pipe: nobody can see its water or time it. Set one while it is open."
        elif unsaid:
            words = f"Whether {pipe.well} has an observation pipe with a locked cap is not known."
        elif pipe.locked is False:
            words = f"{pipe.well} has an observation pipe, but its cap is not locked. A cap with a screw mends that."
        else:
            words = f"{pipe.well} has an observation pipe with a locked cap: its water can be seen and timed."
        yield Measured(
            subject=pipe.well,
            value=math.nan if unsaid else float(all(said)),
            op="at least",
            limit=1.0,
            scale=0.0,
            show=lambda v: "there, locked" if v else "not so",
            value_text=None
            if unsaid
            else "none"
            if not pipe.there
            else None
            if pipe.locked
            else "its cap not locked",
            limit_text="there, its cap locked",
            sentence=words,
            source="common-practice",
            also_missing=("wells.observation_pipe",) if unsaid else (),
        )
