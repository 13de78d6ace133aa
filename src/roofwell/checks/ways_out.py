"""6. Where does it go when full? What stands at each way out: speed on the lawn, mower, water in the elbow, openings."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check
from roofwell.physics.pipe.outfall import trapped_m3
from roofwell.physics.well import mouths
from roofwell.system import outlet_parts, overflow_parts
from roofwell.system.leaving import comes_m3_s, leaves_m3_s
from roofwell.system.scheme import Overflow

LETS_GO = ("wells.at", "site.outlet", "roofs", "downspouts")


def air_words(overflow: Overflow) -> str:
    """Say where the air goes that the water pushes out of a filling pit (common practice)."""
    if overflow.to is not None:
        return "the air that a filling pit pushes out leaves by its overflow pipe, which stays open"
    if overflow.kind == "pop-up emitter":
        return (
            "its lid lies shut until water lifts it, so the air of a filling pit leaves up the pipes to the downspout "
            "joints: bore a few small holes into the cap of the observation pipe"
        )
    return "the air that a filling pit pushes out leaves here"


@check(
    "exit-speed",
    question=6,
    needs=(*LETS_GO, "overflow.size"),
    value="speed of the water at {}",
    about=(
        "How fast the cloudburst's water reaches the lawn, half blocked, against what grass stands, or a pad of stone where "
        "one lies there. Over a splash block it leaves over the whole width of the block."
    ),
    digging=False,
)
def exit_speed(context: Context) -> Iterator[Measured]:
    """Overflows over the ground, and outlets at daylight."""
    style = context.survey.style
    lawn, pad = tables.limit("lawn-speed", style), tables.limit("pad-speed", style)
    loose = tables.limit("loose-stone-speed", style)
    stones = tables.assumption("pad-stone", style).text
    blocked = tables.assumption("overflow-clogged").value_si
    for overflow in context.scheme.overflows:
        mouth, flow = (
            overflow_parts.mouth_of(overflow),
            leaves_m3_s(context.scheme, context.behaviour, overflow),
        )
        if overflow.to is not None or mouth is None:
            continue
        by = overflow_parts.coefficients()
        limit, on, mend = lawn, "the lawn", "a splash block or a pad of stone takes the force"
        if overflow.kind == "splash block":
            width = tables.assumption("splash-block-width", style)
            speed = mouths.spread_speed_m_s(flow_m3_s=flow, width_m=width.value_si)
            on, mend = (
                f"the lawn below its {width.text} splash block",
                "a wider block or a level spreader slows it",
            )
        else:
            if overflow.kind == "stone surface":
                limit, on = loose, "the stone"
            speed = mouths.leaving_speed_m_s(
                head_m=mouths.head_m(mouth, flow_m3_s=flow, by=by, clogged_fraction=blocked),
                drop_m=max(0.0, overflow.lip_m - overflow.ground_m),
                sheet=mouths.is_sheet(mouth, flow_m3_s=flow, by=by, clogged_fraction=blocked),
            )
        yield _speed(context, overflow.id, speed, flow, limit, f"reaches {on}", mend)
    for outlet in context.scheme.outlets:
        if not outlet.in_the_open:
            continue
        flow = comes_m3_s(context.scheme, context.behaviour, outlet)
        speed = outlet_parts.end_speed_m_s(context.scheme, outlet, flow)
        limit, on = (
            (pad, f"lands on its pad of {stones} stones") if outlet.pad else (lawn, "lands on bare lawn")
        )
        mend = "larger stones, or a flatter last length of pipe, hold it"
        if not outlet.pad:
            mend = "a pad of stone takes the force"
        yield _speed(context, outlet.id, speed, flow, limit, on, mend)


def _speed(
    context: Context, id: str, speed: float, flow: float, limit: tables.Limit, on: str, mend: str
) -> Measured:
    style = context.survey.style
    far = f"; {mend}" if speed > limit.value_si else ""
    return Measured(
        subject=id,
        value=speed,
        op="at most",
        limit=limit.value_si,
        scale=limit.value_si,
        show=lambda v: units.show_speed(v, style),
        sentence=(
            f"In the cloudburst the water of {id}, {units.show_flow(flow, style)}, {on} at {units.show_speed(speed, style)}"
            f"{far}."
        ),
        source=limit.source,
    )


@check(
    "lip-under-mower",
    question=6,
    needs=("survey.ground", "overflow.lip"),
    value="lip of {}",
    about="How far the lip stands over the lawn, against the height at which a mower passes. Lower, grass grows over it.",
    digging=False,
)
def lip_under_mower(context: Context) -> Iterator[Measured]:
    """Lips that stand in a lawn."""
    style = context.survey.style
    limit = tables.limit("lip-over-lawn", style)
    for overflow in context.scheme.overflows:
        if overflow.to is not None or overflow.kind == "stone surface":
            continue
        over = overflow.lip_m - overflow.ground_m
        words = f"{units.show_depth(abs(over), style)} {'over' if over >= 0 else 'under'} the lawn"
        if over > limit.value_si:
            words += ": a mower hits it; raise the sod round it, or lay a ring of stone"
        elif over < 0:
            words += ": a mower passes, and grass and soil close it unless they are cut back"
        else:
            words += ": a mower passes"
        yield Measured(
            subject=overflow.id,
            value=round(over, 6),
            op="at most",
            limit=limit.value_si,
            scale=tables.limit("lip-over-lawn-scale", style).value_si,
            show=lambda v: units.show_depth(v, style),
            value_text=f"{units.show_depth(abs(over), style)} {'over' if over >= 0 else 'under'} the lawn",
            sentence=f"The lip of {overflow.id} stands {words}.{_graded_down(over, style)}",
            source=limit.source,
        )


def _graded_down(over_m: float, style: units.Style) -> str:
    """Say what the levels count on where a lip lies deeper under the lawn than shots can tell."""
    if over_m >= -tables.limit("bowl-depth", style).value_si:
        return ""
    return (
        " Every water level here counts on the lawn being graded down to it all the way; where it is not, water stands "
        "higher by so much."
    )


@check(
    "elbow-drains",
    question=6,
    needs=("overflow.lip",),
    value="water left in the elbow of {}",
    about=(
        "Water that stays in the elbow under an overflow beside its pit when the well is empty: it freezes first, and "
        "mosquitoes breed in it. None where the pipe falls back to the well, or a weep hole lets it out."
    ),
    digging=False,
)
def elbow_drains(context: Context) -> Iterator[Measured]:
    """Only overflows with a pipe of their own over the ground."""
    style = context.survey.style
    for overflow in context.scheme.overflows:
        pipe = overflow.pipe
        if pipe is None or overflow.to is not None:
            continue
        depth = overflow_parts.trapped_depth_m(overflow)
        stands = 0.0 if pipe.weep_hole else depth
        water = trapped_m3(depth_m=depth, length_m=pipe.length_m, inside_diameter_m=pipe.inside_diameter_m)
        yield Measured(
            subject=overflow.id,
            value=round(stands, 6),
            op="at most",
            limit=0.0,
            scale=0.0,
            show=lambda v: units.show_depth(v, style),
            limit_text="no water left standing",
            sentence=_elbow_words(context, overflow, depth, water, weeps=pipe.weep_hole),
            source="common-practice",
        )


def _elbow_words(context: Context, overflow: Overflow, depth: float, water: float, *, weeps: bool) -> str:
    style, pipe = context.survey.style, overflow.pipe
    if depth <= 0 or pipe is None:
        return f"The pipe to {overflow.id} falls back to {overflow.of}: nothing stays in its elbow."
    held = f"{units.show_depth(depth, style)} of water, {units.show_volume(water, style)}"
    if weeps:
        return f"{held} stand in the elbow of {overflow.id} after a spill and leave by its weep hole."
    frost = context.survey.soil.frost_depth_m
    under = overflow.ground_m - pipe.upstream_invert_m
    ice = "where the ground freezes they close it"
    if frost is not None and frost > 0:
        where = "in" if under < frost else "below"
        ice = f"they lie {where} the frost ({units.show_depth(under, style)} down, frost {units.show_depth(frost, style)})"
    return (
        f"{held} stay in the elbow of {overflow.id} when {overflow.of} is empty; {ice}. Bore a weep hole over a handful of "
        "stone, or let the pipe fall back to the well."
    )


@check(
    "spreader-length",
    question=6,
    needs=LETS_GO,
    value="length of the spreader {}",
    about="Length of a level spreader against the cloudburst's flow; its lip must be even to a quarter of an inch (6 mm).",
    digging=False,
)
def spreader_length(context: Context) -> Iterator[Measured]:
    """Only level spreaders."""
    style = context.survey.style
    rule = tables.limit("spreader-for-flow", style)
    for overflow in context.scheme.overflows:
        mouth, flow = (
            overflow_parts.mouth_of(overflow),
            leaves_m3_s(context.scheme, context.behaviour, overflow),
        )
        if not isinstance(mouth, mouths.Spreader):
            continue
        deep = mouths.head_m(mouth, flow_m3_s=flow, by=overflow_parts.coefficients())
        yield Measured(
            subject=overflow.id,
            value=overflow.length_m,
            op="at least",
            limit=overflow_parts.spreader_m(flow),
            scale=overflow_parts.spreader_m(flow),
            show=lambda v: units.show_distance(v, style),
            sentence=(
                f"The level lip of {overflow.id} spreads {units.show_flow(flow, style)} over "
                f"{units.show_distance(overflow.length_m, style)}: the water runs {units.show_depth(deep, style)} deep over "
                f"it, if it is level to {'1/4 in' if style == 'us' else '6 mm'}."
            ),
            source=rule.source,
        )


@check(
    "curb-opening",
    question=6,
    needs=("site.outlet", "roofs", "downspouts"),
    value="depth of water in the opening {}",
    about="How deep the cloudburst stands in an opening through a curb, half blocked, against the height of the opening.",
    digging=False,
)
def curb_opening(context: Context) -> Iterator[Measured]:
    """Only curbs."""
    style = context.survey.style
    for outlet in context.scheme.outlets:
        if outlet.kind != "curb":
            continue
        given = (outlet.opening_width_m > 0 and outlet.opening_height_m > 0) or outlet.opening_diameter_m > 0
        flow = comes_m3_s(context.scheme, context.behaviour, outlet)
        pipe = outlet_parts.pipe_diameter_m(context.scheme, outlet)
        half, clean = (
            outlet_parts.opening_head_m(outlet, flow, pipe, blocked)
            for blocked in (outlet_parts.blocked_share(outlet), 0.0)
        )
        high = outlet.opening_height_m or outlet.opening_diameter_m
        yield Measured(
            subject=outlet.id,
            value=half if given else float("nan"),
            op="at most",
            limit=high,
            scale=high,
            show=lambda v: units.show_depth(v, style),
            limit_text=None if given else "the height of the opening",
            sentence=(
                f"The opening {outlet.id} through the curb passes {units.show_flow(flow, style)} with "
                f"{units.show_depth(clean, style)} of water in it clean and {units.show_depth(half, style)} half blocked."
                if given
                else f"Nobody has measured the opening {outlet.id} through the curb."
            ),
            source="hec-22-curb",
            also_missing=() if given else ("outlets.opening",),
        )
