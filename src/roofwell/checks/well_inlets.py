"""3. Does it carry? Out of the well body into the stone."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check
from roofwell.physics.well.perforation import hole_flow_m3_s, wall_flow_m3_s
from roofwell.system.scheme import Well
from roofwell.system.well_words import body_word


@check(
    "body-holes",
    question=3,
    needs=("roofs", "downspouts", "wells.size"),
    value="what gets out of {} through its holes",
    about=(
        "What leaves a well body, pipe or arched chamber through its holes into the stone, half of them closed, against the "
        "cloudburst that its pipes bring. The body is full to its top and the stone beside it half full. An arch is open "
        "below: its floor counts as the voids of the stone. A box chamber is a lattice, and is judged only where the job "
        "gives it holes; stone alone has none."
    ),
)
def body_holes(context: Context) -> Iterator[Measured]:
    """Below the flow that comes, the body and the pipe back up before the stone is used."""
    style = context.survey.style
    level = tables.limit("hole-stone-level")
    blocked = tables.assumption("holes-blocked", style)
    peaks = {flow.id: flow.peak_m3_s for flow in context.behaviour.runs}
    for well in context.scheme.wells:
        if well.hole_area_m2 <= 0 or well.body_height_m <= 0:
            continue
        coming = math.fsum(peaks.get(run.id, 0.0) for run in context.scheme.runs_to(well.id))
        passes = _passes_m3_s(well, level.value_si, 1 - blocked.value_si)
        unmeasured = context.scheme.origin.get(f"{well.id}.hole_diameter_m") == "missing"
        area = units.show_small_area(well.hole_area_m2 * well.bodies, style)
        floor = " and its open floor" if well.body == "arch chamber" else ""
        yield Measured(
            subject=well.id,
            value=passes,
            op="at least",
            limit=coming,
            scale=coming,
            show=lambda v: units.show_flow(v, style),
            sentence=(
                f"With {blocked.text} of the {area} of holes closed, the {body_word(well)} of {well.id}{floor} let "
                f"{units.show_flow(passes, style)} into stone that is {level.text} full; "
                f"{units.show_flow(coming, style)} come."
            ),
            source=level.source,
            also_missing=("wells.size",) if unmeasured else (),
        )


def _passes_m3_s(well: Well, stone_share: float, open_share: float) -> float:
    coefficient = tables.assumption("hole-orifice-coefficient").value_si
    walls = wall_flow_m3_s(
        hole_area_m2=open_share * well.hole_area_m2 * well.bodies,
        height_m=well.body_height_m,
        outside_share=stone_share,
        orifice_coefficient=coefficient,
    )
    if well.body != "arch chamber":
        return walls
    floor = well.bodies * well.body_length_m * (well.body_diameter_m - 2 * well.body_wall_m) * well.voids
    # one hole of the floor's open area, under the difference of the two levels
    through = hole_flow_m3_s(
        holes=1,
        diameter_m=math.sqrt(4 * open_share * floor / math.pi),
        head_m=(1 - stone_share) * well.body_height_m,
        orifice_coefficient=coefficient,
    )
    return walls + through
