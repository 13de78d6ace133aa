"""1. How much comes?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check


@check(
    "all-roof-drained",
    question=1,
    needs=("roofs", "downspouts"),
    value="the roof in the cloudburst",
    about="Every roof section reaches a downspout. The value is the plan area that reaches none.",
)
def all_roof_drained(context: Context) -> Iterator[Measured]:
    """Roof that no downspout drains still sheds its water at the house."""
    area = round(context.scheme.undrained_area_m2, 6)  # shares of a gutter add up to 1 only to the last digit
    drained = sum(spout.roof_area_m2 for spout in context.scheme.downspouts)
    peak = context.behaviour.peak_m3_s
    style = context.survey.style
    show = units.show_flow(peak, style)
    rain = units.show_rate(context.behaviour.intensity_m_s, style)
    lasts = units.show_time(context.behaviour.cloudburst_duration_s)
    if not context.survey.roofs:
        yield Measured(
            subject="roof",
            value=math.nan,
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: units.show_area(v, style),
            limit_text="no roof left over",
            sentence=(
                f"In the {context.behaviour.return_period_years:g}-year cloudburst it rains {rain} for {lasts}; no roof "
                "has been measured."
            ),
            source="derived",
            also_missing=("roofs",),
        )
        return
    yield Measured(
        subject="roof",
        value=area,
        op="at most",
        limit=0.0,
        scale=0.0,
        show=lambda v: units.show_area(v, style),
        value_text=(
            f"{units.show_area(area, style)} left over"
            if area > 0
            else f"{show} from {units.show_area(drained, style)}"
        ),
        limit_text="no roof left over",
        sentence=(
            f"In the {context.behaviour.return_period_years:g}-year cloudburst ({rain} for {lasts}) {show} come off "
            f"{units.show_area(drained, style)} of roof"
            + (f"; {units.show_area(area, style)} of roof reaches no downspout." if area > 0 else ".")
        ),
        source="derived",
    )


@check(
    "rain-of-this-place",
    question=1,
    needs=("rain.storm",),
    value="where the rain figures are from",
    about="The rain table is of this place: a file of the job's own, or the shipped one within a few miles.",
    digging=False,
)
def rain_of_this_place(context: Context) -> Iterator[Measured]:
    """Rain of another place is a stand-in."""
    rain = context.survey.rain
    style = context.survey.style
    limit = tables.limit("rain-table-of-this-place", style).value_si
    distance = rain.table_distance_m if rain.table_distance_m is not None else 0.0
    yield Measured(
        subject="rain",
        value=distance,
        op="at most",
        limit=limit,
        scale=0.0,
        show=lambda v: f"{v / 1609.344:,.0f} miles" if style == "us" else f"{v / 1000:,.0f} km",
        value_text=rain.table_name,
        limit_text="rain of this place",
        sentence=(
            f"The rain is that of {rain.table_name}."
            if rain.table_of_this_place
            else f"The rain is that of {rain.table_name}, not of this place."
        ),
        source=rain.table_source if rain.table_source in tables.sources() else "own-choice",
        also_missing=() if rain.table_of_this_place else ("rain.place",),
    )


@check(
    "lawn-inlet",
    question=1,
    value="{}",
    about=(
        "A well whose stone comes up to the lawn and is meant to take lawn water in. Roofwell has no lawn catchments yet: "
        "what the lawn sends is not counted, so the answer stays unknown."
    ),
)
def lawn_inlet(context: Context) -> Iterator[Measured]:
    """As the way out of a full well the same stone is judged under 6."""
    style = context.survey.style
    for well in context.scheme.wells:
        if well.stone_reaches != "lawn inlet":
            continue
        yield Measured(
            subject=well.id,
            value=math.nan,
            op="at least",
            limit=0.0,
            scale=0.0,
            show=lambda v: units.show_flow(v, style),
            value_text="lawn water not counted",
            limit_text="room for roof and lawn",
            sentence=(
                f"The stone of {well.id} comes up to the lawn and is meant to take lawn water in. Lawn catchments do not "
                "exist in Roofwell yet: only roof water is counted, and how much the lawn sends is not known."
            ),
            source="own-choice",
            also_missing=("lawn.catchment",),
        )
