"""3. Does it carry?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.openings import below_words, under_opening
from roofwell.checks.register import Context, Measured, check
from roofwell.system.behaviour import RunFlow, StandingWater, WaterLevel

SIZES = ("downspouts.size", "roofs", "rain.storm")
LEVELS = (
    "survey.ground",
    "wells.at",
    "site.outlet",
    "roofs",
    "downspouts",
    "runs.size",
    "runs.invert",
    "basins.levels",
)


def _flow_check(context: Context, subject: str, what: str, capacity: float, peak: float) -> Measured:
    style = context.survey.style
    return Measured(
        subject=subject,
        value=capacity,
        op="at least",
        limit=peak,
        scale=peak,
        show=lambda v: units.show_flow(v, style),
        sentence=f"{what} carries {units.show_flow(capacity, style)}; {units.show_flow(peak, style)} come.",
        source="manning",
    )


@check(
    "pipe-capacity",
    question=3,
    needs=(
        "survey.ground",
        "wells.at",
        "site.outlet",
        "roofs",
        "downspouts",
        "rain.storm",
        "runs.size",
        "runs.invert",
    ),
    value="what {} carries",
    about="What each run carries running full at its own slope, by Manning's formula, against the cloudburst.",
)
def pipe_capacity(context: Context) -> Iterator[Measured]:
    """Full-pipe capacity; the gain of a part-full pipe near its crown is not counted."""
    for flow in context.behaviour.runs:
        if flow.peak_m3_s > 0:
            run = next(run for run in context.scheme.runs if run.id == flow.id)
            what = f"{run.id} ({units.show_size(run.nominal_m, context.survey.style)})"
            yield _flow_check(context, flow.id, what, flow.full_m3_s, flow.peak_m3_s)


@check(
    "pipe-velocity",
    question=3,
    needs=("survey.ground", "wells.at", "site.outlet", "runs.size", "runs.invert"),
    value="speed of the water in {}",
    about="Velocity of the full pipe, which keeps silt moving.",
    digging=False,
)
def pipe_velocity(context: Context) -> Iterator[Measured]:
    """Self-cleansing velocity at full bore."""
    style = context.survey.style
    limit = tables.limit("self-cleansing-velocity", style)
    for flow in context.behaviour.runs:
        yield Measured(
            subject=flow.id,
            value=flow.full_velocity_m_s,
            op="at least",
            limit=limit.value_si,
            scale=limit.value_si,
            show=lambda v: units.show_speed(v, style),
            sentence=(
                f"Full, the water in {flow.id} runs {units.show_speed(flow.full_velocity_m_s, style)}"
                f"{_in_the_cloudburst(flow, style)}."
            ),
            detail=_in_textbook_words(flow, style),
            source=limit.source,
        )


_SURFACES = {
    "S1": "backed up from below",
    "M1": "backed up from below",
    "C1": "backed up from below",
    "M2": "falling to the outlet",
    "H2": "in a level pipe",
    "A2": "in a pipe that rises",
    "full": "full from end to end",
}
_BACKED_UP = ("S1", "M1", "C1", "full")


def _in_the_cloudburst(flow: RunFlow, style: units.Style) -> str:
    """Say how a run runs in the cloudburst: speed at its upper end, depth, and what holds the water."""
    if flow.curve == "still":
        return ""
    words = f"; in the cloudburst {units.show_speed(flow.velocity_m_s, style)}"
    if flow.depth_ratio is not None and not flow.surcharged and flow.curve not in _BACKED_UP:
        words += f", {units.show_percent(flow.depth_ratio)} of its depth"
    held = _SURFACES.get(flow.curve)
    return f"{words}, {held}" if held else words


def _in_textbook_words(flow: RunFlow, style: units.Style) -> str:
    """Name the slope, the surface curve and the jump, for the calculation book."""
    if flow.curve == "still":
        return ""
    words = f"A {flow.slope_class} slope; water surface {flow.curve}"
    if flow.jump_m is not None:
        words += f", a hydraulic jump {units.show_distance(flow.jump_m, style)} above the lower end"
    return f"{words}."


def _place(level: WaterLevel) -> str:
    return f"the grate of {level.id}" if level.what == "basin grate" else f"the joint of {level.id}"


@check(
    "water-below-grate",
    question=3,
    needs=(*LEVELS, "overflow.lip"),
    value="water at {} in the cloudburst",
    about="With the well full and the cloudburst on top, water stays under each basin grate and downspout joint.",
)
def water_below_grate(context: Context) -> Iterator[Measured]:
    """Level at every basin and downspout foot: full well, head over the overflow grate, design flow."""
    style = context.survey.style
    for level in context.behaviour.levels:
        yield Measured(
            subject=level.id,
            value=level.limit_m - level.peak_m,
            op="at least",
            limit=0.0,
            scale=tables.limit("level-order-scale", style).value_si * 5,
            show=lambda v: units.show_depth(v, style),
            value_text=_against(level.limit_m - level.peak_m, style),
            limit_text=f"under the {level.what}",
            sentence=_full_well_words(level, style),
            source="derived",
        )


def _against(spare_m: float, style: units.Style) -> str | None:
    """How far the water stands under a grate or joint or would stand over it; None where it is not known."""
    if not math.isfinite(spare_m):
        return None
    return f"{units.show_depth(abs(spare_m), style)} {'under' if spare_m >= 0 else 'over'}"


def _full_well_words(level: WaterLevel, style: units.Style) -> str:
    stands, peak = units.show_elevation(level.limit_m, style), units.show_elevation(level.peak_m, style)
    spare = level.limit_m - level.peak_m
    if spare < 0:
        over = units.show_depth(-spare, style)
        words = f"With the well full, the water of the cloudburst would have to stand {over} over {_place(level)} ({stands})"
        if level.comes_out_m3_s > 0:
            return f"{words}. It comes out here: {units.show_flow(level.comes_out_m3_s, style)}."
        return f"{words}."
    raised = f"With the well full, the cloudburst raises the water at {level.id} to {peak}"
    return f"{raised}; the {level.what} stands at {stands}."


@check(
    "water-in-storm",
    question=3,
    needs=(*LEVELS, "overflow.lip"),
    value="water at {} in the storm",
    about=(
        "In every routed storm, at its worst instant, the water stays under each basin grate and downspout joint: "
        "the level in the well of that instant and the rain of that instant together."
    ),
)
def water_in_storm(context: Context) -> Iterator[Measured]:
    """The worst of all storms by part, in the slowest soil that is left open; where it comes out, which storm first."""
    style = context.survey.style
    behaviour = context.low or context.behaviour
    first = {found.part: found for found in reversed(behaviour.surfacing)}
    for level in behaviour.levels:
        if level.storm_m is None or level.storm_duration_s is None or level.storm_instant_s is None:
            continue
        spare = level.limit_m - level.storm_m
        found = first.get(level.id)
        years = f"{behaviour.return_period_years:g}-year"
        if spare < 0 and found is not None:
            words = (
                f"In the {years} {_short_time(found.duration_s)} storm, after {units.show_time(found.instant_s)}, water "
                f"comes out first at {_place(level)}"
            )
            flow = units.show_flow(found.out_m3_s, style)
            words += f": {flow}" if flow != units.show_flow(0.0, style) else ", a trickle yet"
        else:
            stands = "stands" if spare >= 0 else "would have to stand"
            side = "below" if spare >= 0 else "above"
            words = (
                f"In the {years} {_short_time(level.storm_duration_s)} storm, after "
                f"{units.show_time(level.storm_instant_s)}, the water {stands} "
                f"{units.show_depth(abs(spare), style)} {side} {_place(level)}"
            )
        yield Measured(
            subject=level.id,
            value=spare,
            op="at least",
            limit=0.0,
            scale=tables.limit("level-order-scale", style).value_si * 5,
            show=lambda v: units.show_depth(v, style),
            value_text=_against(spare, style),
            limit_text=f"under the {level.what}",
            sentence=f"{words}.",
            source="derived",
        )


def _short_time(duration_s: float) -> str:
    """A storm's duration as its name has it: 30-min, 24-h."""
    return f"{duration_s / 60:.0f}-min" if duration_s < 3600 else f"{duration_s / 3600:g}-h"


@check(
    "water-below-opening",
    question=3,
    needs=(*LEVELS, "buildings.lowest_opening", "overflow.lip"),
    value="from the water up to the lowest opening of the house",
    about="With the well full and the cloudburst on top, water stays below the lowest opening of the house.",
)
def water_below_opening(context: Context) -> Iterator[Measured]:
    """Never to be overruled."""
    if not context.behaviour.levels:
        return
    style = context.survey.style
    opening = context.survey.lowest_opening_m
    highest = max(context.behaviour.levels, key=lambda level: min(level.peak_m, level.limit_m))
    reach = min(highest.peak_m, highest.limit_m)
    words = (
        f"The water comes up to {units.show_elevation(reach, style)} at {highest.id}, "
        f"{below_words(context, reach)} the lowest opening of the house."
        if opening is not None
        else f"The water comes up to {units.show_elevation(reach, style)} at {highest.id}; the lowest opening is not known."
    )
    yield under_opening(
        context, subject="house", level_m=reach, sentence=words + _floor_words(context, reach)
    )


def _floor_words(context: Context, reach_m: float) -> str:
    """Say how the water stands to the lowest floor; it is in closed pipe there, so this is no verdict."""
    floors = [(b.lowest_floor_m, b.id) for b in context.survey.buildings if b.lowest_floor_m is not None]
    if not floors:
        return ""
    floor, building = min(floors)
    apart = units.show_depth(abs(reach_m - floor), context.survey.style)
    if reach_m <= floor:
        return f" The lowest floor of {building} lies {apart} above that water."
    return f" That is {apart} above the lowest floor of {building}: every pipe joint near that wall must be tight."


@check(
    "no-standing-water",
    question=3,
    needs=("survey.ground", "basins.levels", "runs.invert"),
    value="length of {} that stays wet",
    about=(
        "Length of pipe that water never leaves, because a basin's outlet is higher than its inlet or a run rises "
        "toward its lower end. A basin with weep holes drains; how long that takes is judged by weep-drain."
    ),
    digging=False,
)
def no_standing_water(context: Context) -> Iterator[Measured]:
    """A low inlet and a high outlet drown the pipe upstream; so does a pipe that rises, and the runs above with it."""
    style = context.survey.style
    for water in context.behaviour.standing:
        if water.weep_holes:
            yield _drained(context, water, style)
            continue
        yield Measured(
            subject=water.run,
            value=water.wet_length_m,
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: units.show_distance(v, style),
            limit_text="no pipe that stays wet",
            sentence=(
                f"{_what_keeps_it(water)} {_how_much_stands(water, style)} standing in "
                f"{units.show_distance(water.wet_length_m, style)} of {water.run}. {_what_to_change(water, style)}"
            ),
            source="derived",
            detail=_standing_detail(water, style),
        )


def _drained(context: Context, water: StandingWater, style: units.Style) -> Measured:
    weeps = next((one for one in context.behaviour.weeps if one.basin == water.basin), None)
    takes = weeps.empty_s.best if weeps is not None else math.inf
    when = units.show_time(takes) if math.isfinite(takes) else "never"
    return Measured(
        subject=water.run,
        value=0.0,
        op="at most",
        limit=0.0,
        scale=0.0,
        show=lambda v: units.show_distance(v, style),
        limit_text="no pipe that stays wet",
        sentence=(
            f"After the rain {_how_much_stands(water, style)} stands in {units.show_distance(water.wet_length_m, style)} of "
            f"{water.run} until the weep holes of {water.basin} have drained it: {when}."
        ),
        source="derived",
    )


def _what_keeps_it(water: StandingWater) -> str:
    if water.rising_run:
        return f"{water.rising_run} rises toward its lower end, and leaves"
    return "The basin's high outlet keeps floating leaves back, and leaves"


def _how_much_stands(water: StandingWater, style: units.Style) -> str:
    volume = units.show_volume(water.pipe_volume_m3, style)
    return volume if volume != units.show_volume(0.0, style) else "some water"


def _standing_detail(water: StandingWater, style: units.Style) -> str:
    """Say how much of the pipe is full, what raising it costs in fall, and what would drain it."""
    parts = []
    if water.brimful_length_m > 0:
        parts.append(f"Brimful over {units.show_distance(water.brimful_length_m, style)}.")
    if water.design_full_length_m > 0:
        parts.append(f"In the cloudburst full over {units.show_distance(water.design_full_length_m, style)}.")
    if water.rising_run:
        return " ".join(parts)
    if water.slope_if_raised_m_m > 0:
        left = units.show_slope(water.slope_if_raised_m_m, style)
        parts.append(f"With its lower end alone raised the pipe keeps {left} of slope.")
    else:
        parts.append("Its lower end alone raised would take all of the pipe's fall.")
    if not water.hood:
        parts.append("An outlet elbow that points up may only need turning.")
    parts.append("Weep holes in the basin's floor would drain both after the rain.")
    return " ".join(parts)


def _what_to_change(water: StandingWater, style: units.Style) -> str:
    """Say how to end it: raise the pipe or set the outlet lower, with the number."""
    height = units.show_depth(water.fall_lost_m, style)
    if water.rising_run == water.run:
        return f"Only to be level, its lower end must come down or its upper end up by {height}."
    if water.rising_run:
        return f"Lay {water.rising_run} to fall first."
    raised = "the pipe's lower end" if water.slope_if_raised_m_m > 0 else "the whole pipe"
    turning = (
        f"lower the hood and the outlet by {height}"
        if water.hood
        else f"set the outlet {height} lower behind a hood turned down"
    )
    return f"Raise {raised} by {height}, or {turning}."
