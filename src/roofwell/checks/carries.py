"""3. Does it carry?"""

from __future__ import annotations

from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check, setting_source

SIZES = ("downspouts.size", "roofs", "rain.storm")
LEVELS = ("survey.ground", "wells.at", "site.outlet", "downspouts", "runs.size", "runs.invert", "basins.levels")


def _flow_check(
    context: Context, subject: str, what: str, capacity: float, peak: float, source: str
) -> Measured:
    style = context.survey.style
    return Measured(
        subject=subject,
        value=capacity,
        op="at least",
        limit=peak,
        scale=peak,
        show=lambda v: units.show_flow(v, style),
        sentence=f"{what} carries {units.show_flow(capacity, style)}; {units.show_flow(peak, style)} come.",
        source=source,
    )


@check(
    "gutter-capacity",
    question=3,
    needs=SIZES,
    about="What the gutter's reach carries brimful and level, guard counted, against the cloudburst.",
)
def gutter_capacity(context: Context) -> Iterator[Measured]:
    """Momentum in a level gutter with friction; a fall in the gutter is not credited."""
    for flow in context.behaviour.downspouts:
        if flow.gutter_m3_s is not None and flow.peak_m3_s > 0:
            yield _flow_check(
                context, flow.id, f"The gutter to {flow.id}", flow.gutter_m3_s, flow.peak_m3_s, "derived"
            )


@check(
    "outlet-capacity",
    question=3,
    needs=SIZES,
    about="What the hole in the gutter's bottom passes with the gutter brimful: weir, then orifice.",
)
def outlet_capacity(context: Context) -> Iterator[Measured]:
    """The outlet usually governs before the downspout does."""
    for flow in context.behaviour.downspouts:
        if flow.outlet_m3_s is not None and flow.peak_m3_s > 0:
            yield _flow_check(
                context, flow.id, f"The outlet to {flow.id}", flow.outlet_m3_s, flow.peak_m3_s, "derived"
            )


@check(
    "downspout-capacity",
    question=3,
    needs=SIZES,
    about="What the downspout carries as an annulus 7/24 full.",
)
def downspout_capacity(context: Context) -> Iterator[Measured]:
    """Wyly-Eaton at 7/24 full."""
    for flow in context.behaviour.downspouts:
        if flow.leader_m3_s is not None and flow.peak_m3_s > 0:
            yield _flow_check(
                context, flow.id, f"Downspout {flow.id}", flow.leader_m3_s, flow.peak_m3_s, "wyly-eaton"
            )


@check(
    "pipe-capacity",
    question=3,
    needs=("survey.ground", "wells.at", "site.outlet", "roofs", "downspouts", "rain.storm", "runs.size", "runs.invert"),
    about="What each run carries running full at its own slope, by Manning's formula, against the cloudburst.",
)
def pipe_capacity(context: Context) -> Iterator[Measured]:
    """Full-pipe capacity; the gain of a part-full pipe near its crown is not counted."""
    for flow in context.behaviour.runs:
        if flow.peak_m3_s > 0:
            run = next(run for run in context.scheme.runs if run.id == flow.id)
            what = f"{run.id} ({units.show_size(run.nominal_m, context.survey.style)})"
            yield _flow_check(context, flow.id, what, flow.full_m3_s, flow.peak_m3_s, "manning")


@check(
    "pipe-velocity",
    question=3,
    needs=("survey.ground", "wells.at", "site.outlet", "runs.size", "runs.invert"),
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
            sentence=f"Full, the water in {flow.id} runs {units.show_speed(flow.full_velocity_m_s, style)}.",
            source=limit.source,
        )


@check(
    "water-below-grate",
    question=3,
    needs=(*LEVELS, "overflow.lip"),
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
            scale=tables.limit("level-order-scale").value_si * 5,
            show=lambda v: units.show_depth(v, style),
            limit_text=f"under the {level.what}",
            sentence=(
                f"With the well full, the cloudburst raises the water at {level.id} to "
                f"{units.show_elevation(level.peak_m, style)}; the {level.what} stands at "
                f"{units.show_elevation(level.limit_m, style)}."
            ),
            source="derived",
        )


@check(
    "water-below-opening",
    question=3,
    needs=(*LEVELS, "buildings.lowest_opening", "overflow.lip"),
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
    spare = opening - reach if opening is not None else float("nan")
    words = (
        f"The water comes up to {units.show_elevation(reach, style)} at {highest.id}, "
        f"{units.show_depth(abs(spare), style)} {'below' if spare >= 0 else 'above'} the lowest opening of the house."
        if opening is not None
        else f"The water comes up to {units.show_elevation(reach, style)} at {highest.id}; the lowest opening is not known."
    )
    yield Measured(
        subject="house",
        value=spare,
        op="at least",
        limit=context.survey.settings["freeboard"],
        scale=tables.limit("freeboard-scale").value_si,
        show=lambda v: units.show_depth(v, style),
        sentence=words,
        source=setting_source(context, "freeboard"),
    )


@check(
    "no-standing-water",
    question=3,
    needs=("survey.ground", "basins.levels", "runs.invert"),
    about="Length of pipe that water never leaves, because the basin's outlet is higher than its inlet.",
    digging=False,
)
def no_standing_water(context: Context) -> Iterator[Measured]:
    """A low inlet and a high outlet drown the pipe upstream."""
    style = context.survey.style
    for water in context.behaviour.standing:
        yield Measured(
            subject=water.run,
            value=water.wet_length_m,
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: units.show_distance(v, style),
            limit_text="no pipe that stays wet",
            sentence=(
                "The basin's high outlet keeps floating leaves back, and leaves "
                f"{units.show_volume(water.volume_m3, style)} standing in {water.run} over "
                f"{units.show_distance(water.wet_length_m, style)}; raise the pipe or lower the outlet by "
                f"{units.show_depth(water.fall_lost_m, style)}."
            ),
            source="derived",
        )
