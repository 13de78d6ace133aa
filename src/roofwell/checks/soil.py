"""5. Does it hold and soak away? What the hole itself says while it is dug."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.holds import NEEDS
from roofwell.checks.register import Context, Measured, check
from roofwell.job.model import FillTest
from roofwell.system.facts import SoilTest
from roofwell.system.scheme import Well
from roofwell.system.soil_need import rate_enough_m_s, room_below_m, shown_by_fill_m_s


@check(
    "fill-test",
    question=5,
    needs=tuple(leaf for leaf in NEEDS if leaf != "soil.rate"),
    value="last fill of the open hole, {}",
    about=(
        "The dug hole itself, filled and timed: its last fill against the rate that is enough for the well as it is "
        "designed. Go, go deeper, or stop."
    ),
)
def fill_test(context: Context) -> Iterator[Measured]:
    """Only where a hole was filled."""
    survey, style = context.survey, context.survey.style
    given = {test.id: test for test in context.job.soil.fill_tests}
    for test in survey.soil.tests:
        if test.kind != "fill":
            continue
        for well in context.scheme.wells:
            if test.well not in (None, well.id) or (test.well is None and len(context.scheme.wells) > 1):
                continue
            behaviour = context.behaviour.well(well.id)
            fill = given[test.id].fills[-1]
            enough = shown_by_fill_m_s(
                survey,
                well,
                rate_enough_m_s(context.scheme, survey, behaviour),
                start_m=fill.water_start.value_si,
                end_m=fill.water_end.value_si if fill.water_end is not None else 0.0,
            )
            yield Measured(
                subject=f"{well.id} {test.id}",
                value=test.rate_m_s,
                op="at least",
                limit=enough,
                scale=enough,
                show=lambda v: units.show_rate(v, style),
                sentence=_words(context, test, given[test.id], well, enough),
                source="kernel",
            )


def _words(context: Context, test: SoilTest, given: FillTest, well: Well, enough: float) -> str:
    style = context.survey.style
    fill = given.fills[-1]
    left = fill.water_end
    end = "empty" if left is None or left.exact == 0 else f"{left.text} deep"
    read = (
        f"The hole of {well.id}, filled {fill.water_start.text} deep, was {end} after {fill.time.text}: it takes in "
        f"{units.show_rate(test.rate_m_s, style)}. {_asked(context, well, enough)}"
    )
    other = ""
    depth = well.ground_m - well.bottom_m
    if test.depth_m is not None and abs(test.depth_m - depth) > tables.limit("fill-depth", style).value_si:
        other = (
            f" The hole is {units.show_distance(test.depth_m, style)} deep, the pit is designed "
            f"{units.show_distance(depth, style)} deep."
        )
    return f"{read}{other} {_verdict(context, test, well, enough)}"


def _asked(context: Context, well: Well, enough: float) -> str:
    critical = context.behaviour.well(well.id).critical
    rate = units.show_rate(enough, context.survey.style)
    if critical is not None and critical.spilled_m3 > 0:
        return f"The well as designed does not hold its storm; it would take more than {rate}."
    return f"For the well as designed {rate} is enough."


def _verdict(context: Context, test: SoilTest, well: Well, enough: float) -> str:
    style = context.survey.style
    if test.rate_m_s >= enough:
        return "Go: set the stone."
    room = room_below_m(context.survey, well)
    if room is None:
        return "Stop: whether it may go deeper is not known, because the ground water is not."
    if room >= tables.limit("deeper-worth", style).value_si:
        more = units.show_distance(room, style)
        return f"Go deeper, where there is room for {more} more, and fill again; else a larger pit."
    return "Stop: there is no room to go deeper; design a larger pit with this reading alone."


@check(
    "pit-above-refusal",
    question=5,
    needs=("wells.at", "site.outlet", "wells.size"),
    value="depth of the pit of {}",
    about="Depth of the pit against the depth at which auger or shovel went no further in the test hole.",
)
def pit_above_refusal(context: Context) -> Iterator[Measured]:
    """Only where the log of the hole names a refusal."""
    soil, style = context.survey.soil, context.survey.style
    if soil.refusal_depth_m is None:
        return
    on = "" if soil.refusal_on in (None, "not known") else f" on {soil.refusal_on}"
    for well in context.scheme.wells:
        depth = well.ground_m - well.bottom_m
        yield Measured(
            subject=well.id,
            value=round(depth, 9),
            op="at most",
            limit=soil.refusal_depth_m,
            scale=tables.limit("refusal-scale", style).value_si,
            show=lambda v: units.show_distance(v, style) if math.isfinite(v) else "not known",
            sentence=(
                f"The pit of {well.id} is {units.show_distance(depth, style)} deep; the test hole ended"
                f"{on} at {units.show_distance(soil.refusal_depth_m, style)}."
            ),
            source="own-choice",
            also_missing=tuple(leaf for leaf in ("survey.ground", "runs.invert") if leaf in context.missing),
        )
