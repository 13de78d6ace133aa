"""7. Is it allowed, is it safe? What groundwater lifts."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.groundwater import HIGH_WATER
from roofwell.checks.register import Context, Measured, check


@check(
    "uplift",
    question=7,
    needs=(HIGH_WATER, "survey.ground"),
    digging=False,  # what holds a basin down can be laid round it later
    value="uplift of {}",
    about=(
        "Uplift of a closed basin that stands empty under the seasonal high water with the mound on it, times the "
        "usual safety, as a share of the weight that holds it down. Friction of the ground on its walls is not counted. "
        "Well bodies are open below and perforated: they fill, and nothing lifts them."
    ),
)
def uplift(context: Context) -> Iterator[Measured]:
    """A basin with weep holes fills too."""
    style = context.survey.style
    limit = tables.limit("uplift-safety", style)
    lifted = {lift.id: lift for lift in context.behaviour.lifts}
    for basin in context.scheme.basins:
        lift = lifted.get(basin.id)
        if lift is None:
            value, words = math.nan, "how high the groundwater rises round it is not known."
        else:
            value = limit.value_si * lift.uplift_kg / lift.resisting_kg
            over = units.show_distance(abs(lift.water_m - lift.base_m), style)
            if lift.fills:
                words = "it has weep holes, so that it fills as the groundwater rises, and nothing lifts it."
            elif value <= 0:
                words = f"the groundwater stays {over} under its base: nothing lifts it."
            else:
                words = (
                    f"the groundwater stands {over} over its base and lifts it, empty, with "
                    f"{units.show_mass(lift.uplift_kg, style)}; {units.show_mass(lift.resisting_kg, style)} hold it down. "
                    "Weep holes, or concrete round its base, mend that."
                )
        yield Measured(
            subject=basin.id,
            value=value,
            op="at most",
            limit=1.0,
            scale=1.0,
            show=units.show_percent,
            value_text="not known"
            if lift is None
            else f"{units.show_percent(value)} of the weight that holds it",
            limit_text=f"at most 100 %, safety {limit.text} counted in",
            sentence=f"{basin.id}: {words}",
            source=limit.source,
            also_missing=() if lift is not None else (HIGH_WATER,),
        )
