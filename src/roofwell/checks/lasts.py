"""5. Does it hold and soak away? For how many years."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell.checks import age_words
from roofwell.checks.holds import NEEDS
from roofwell.checks.register import Context, Measured, check


@check(
    "well-in-years",
    question=5,
    needs=NEEDS,
    value="years that {} keeps what it must",
    about=(
        "Years for which the well still holds its storm, empties in its time and spills no more often than asked, sediment "
        "on its floor and in its room counted, catch basins emptied on time. Judged where a target is set "
        "(targets.years). Counted with the soil as measured: the safety factor stands for silting and luck. Close where "
        "the hardest of what is known of debris would not keep it."
    ),
)
def well_in_years(context: Context) -> Iterator[Measured]:
    """The best figures judge; the hardest ones are the uncertainty."""
    target, ageing = context.survey.targets.years, context.behaviour.ageing
    if target is None or ageing is None:
        return
    most = ageing.most_years
    sentences = dict(
        zip(
            ((one.well, one.care) for one in ageing.wells),
            age_words.well_sentences(ageing, context.survey),
            strict=True,
        )
    )
    spoken = {well.id for well in context.behaviour.stores}
    for one in ageing.wells:
        if one.care == "never" or one.well not in spoken:
            continue
        best, hard = min(one.lost.best, most), min(one.lost.hard, most)
        never = sentences.get((one.well, "never"), "")
        yield Measured(
            subject=context.behaviour.well(one.well).label,
            value=best,
            op="at least",
            limit=target,
            scale=target,
            low=hard,
            high=min(one.lost.mild, most),
            uncertainty=best - hard,
            show=lambda years: f"{years:.0f} years" if years < most else f"{most:g} years or more",
            sentence=sentences[(one.well, one.care)],
            detail=never,
            source="own-choice",
            also_missing=() if ageing.trees_known else ("roofs.trees",),
        )
