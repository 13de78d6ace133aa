"""7. Is it allowed, is it safe? Lids over openings: against children, for feet."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check
from roofwell.system.lids import lids


@check(
    "lid-held",
    question=7,
    value="lid of {}",
    about=(
        "A lid or grate over an opening that a child's body goes through is locked, screwed, bolted, or so heavy that no "
        "child lifts it."
    ),
    digging=False,
)
def lid_held(context: Context) -> Iterator[Measured]:
    """Weight only where nothing holds it."""
    style = context.survey.style
    body = tables.limit("child-opening", style).value_si
    least, strict = tables.limit("lid-weight", style), tables.limit("lid-weight-strict", style)
    wide = tables.limit("wide-opening", style)
    for lid in lids(context.job, context.survey, context.scheme):
        if lid.opening_m <= body:
            continue
        across = (
            f"{units.show_length(lid.opening_m, style)} wide"
            if math.isfinite(lid.opening_m)
            else "of unknown width"
        )
        weight = math.nan if lid.weight_kg is None else lid.weight_kg
        unsaid = lid.held is None and lid.weight_kg is None
        name = f"{lid.what[:1].upper()}{lid.what[1:]}"
        over = f"{name} covers an opening {across}"
        if lid.held:
            words = f"{over} and is locked or screwed down: no child lifts it."
        elif unsaid:
            words = f"{over}; how it is held is not known."
        elif lid.weight_kg is None:
            words = f"{over} and nothing holds it down. Two screws, or a lock, mend that."
        else:
            words = f"{over} and weighs {units.show_mass(weight, style)}" + (
                f", too much for a child; a stricter authority asks {strict.text}."
                if weight >= least.value_si
                else "; a child can lift it. Two screws, or a lock, mend that."
            )
        if lid.opening_m > wide.value_si:
            words += " Hang a net or grid under it as well."
        yield Measured(
            subject=lid.id,
            value=math.inf
            if lid.held
            else weight
            if not (lid.held is False and lid.weight_kg is None)
            else 0.0,
            op="at least",
            limit=least.value_si,
            scale=0.0,
            show=lambda v: units.show_mass(v, style),
            value_text="held down"
            if lid.held
            else None
            if lid.weight_kg is not None
            else "not held"
            if not unsaid
            else None,
            limit_text=f"held down, or at least {least.text}",
            sentence=words,
            source=least.source,
            also_missing=(lid.leaf_lid,) if unsaid else (),
        )


@check(
    "grate-opening",
    question=7,
    value="widest opening in the grate of {}",
    about="Widest opening of a grate that lies in a walk or drive: no heel, cane or small foot goes in.",
    digging=False,
)
def grate_opening(context: Context) -> Iterator[Measured]:
    """Only where people walk; in the lawn a grate may be coarser."""
    style = context.survey.style
    limit = tables.limit("walk-opening", style)
    for lid in lids(context.job, context.survey, context.scheme):
        if not lid.walked:
            continue
        unsaid = lid.grate_opening_m is None
        wide = math.nan if lid.grate_opening_m is None else lid.grate_opening_m
        name = f"{lid.what[:1].upper()}{lid.what[1:]}"
        words = f"{name} lies in {lid.walked}"
        if unsaid:
            words += "; how wide its openings are is not known."
        else:
            words += f"; its openings are {units.show_length(wide, style)} wide." + (
                " Lay a finer grate, long slots across the way." if wide > limit.value_si + 1e-9 else ""
            )
        yield Measured(
            subject=lid.id,
            value=round(wide, 9),
            op="at most",
            limit=round(limit.value_si, 9),
            scale=0.0,
            show=lambda v: units.show_length(v, style),
            sentence=words,
            source=limit.source,
            also_missing=(lid.leaf_opening,) if unsaid else (),
        )
