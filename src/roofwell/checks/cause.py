"""1. How much comes? The cause before the cure: water that roof drains do not take away."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import units
from roofwell.checks.register import Context, Measured, check

OTHER_CAUSES = {
    "in spring": (
        "Water that stands in spring, weeks after the snow and long rains, is groundwater that has come up. Roof water led "
        "into the ground does not lower it, and a dry well in it stands full."
    ),
    "in dry weather": (
        "Water that stands in dry weather does not come off a roof: a leaking water or sewer pipe, a septic field, "
        "irrigation or a spring does that. A dry well does not mend it, and may make it worse."
    ),
}

WHOM_TO_CALL = {
    "in spring": (
        "Bore a hole where it stands, leave it open overnight and see where the water comes up to. Where it comes up to the "
        "lawn, call someone who lowers groundwater (drain tile with a pump and a lawful way out) or a geotechnical engineer."
    ),
    "in dry weather": (
        "Shut every tap and read the water meter twice, an hour apart: if it moves, call a plumber or the water company. "
        "Smell and soft ground downhill of a septic field: call the health office. Otherwise leave the irrigation off for "
        "some days and look again; a spring is for a geotechnical engineer."
    ),
}


@check(
    "cause-of-water",
    question=1,
    value="water on the lawn",
    about=(
        "Water that stands in spring is groundwater, and its seasonal high water must be known before a well is sized; "
        "water that stands in dry weather comes from a pipe, a field or a spring, which must be found first. Unknown until "
        "then. A typed reason says what was found; other times of standing say nothing."
    ),
)
def cause_of_water(context: Context) -> Iterator[Measured]:
    """When water stands is the cheapest instrument there is."""
    when = context.job.complaint.water_stands
    why = OTHER_CAUSES.get(when or "")
    if why is None:
        return
    depth = context.survey.soil.high_water_m
    if when == "in spring" and depth is not None:
        where = units.show_elevation(depth, context.survey.style)
        yield Measured(
            subject="cause",
            value=1.0,
            op="at least",
            limit=1.0,
            scale=0.0,
            show=lambda v: "known" if v else "not known",
            value_text=f"groundwater, up to {where}",
            limit_text="cause known",
            sentence=f"{why} It is known to come up to {where}; questions 5 and 7 hold the well to it.",
            source="common-practice",
        )
        return
    yield Measured(
        subject="cause",
        value=math.nan,
        op="at least",
        limit=1.0,
        scale=0.0,
        show=lambda v: "known" if v else "not known",
        value_text=f"stands {when}",
        limit_text="cause known",
        sentence=why,
        source="common-practice",
        also_missing=("soil.seasonal_high_water",) if when == "in spring" else ("complaint.dry_weather",),
    )
