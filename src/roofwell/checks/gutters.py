"""3. Does it carry? The gutter, the outlet in its floor, the guard over it and the downspout."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check
from roofwell.system.behaviour import DownspoutFlow, GutterFlow
from roofwell.units import Style

SIZES = ("downspouts.size", "roofs", "rain.storm")
ELEMENTS = {
    "gutter": "the gutter itself",
    "outlet": "the outlet in its floor",
    "guard": "the guard",
    "elbows": "the elbows under it",
    "downspout": "the downspout",
}


def _show(style: Style, flow_m3_s: float) -> str:
    return units.show_flow(flow_m3_s, style)


def _flow(
    context: Context, flow: DownspoutFlow, capacity: float, sentence: str, source: str, detail: str
) -> Measured:
    style = context.survey.style
    return Measured(
        subject=flow.id,
        value=capacity,
        op="at least",
        limit=flow.peak_m3_s,
        scale=flow.peak_m3_s,
        show=lambda v: units.show_flow(v, style),
        sentence=sentence,
        source=source,
        detail=detail,
    )


def _codes(flow: DownspoutFlow, element: str, style: Style) -> str:
    """The code figures beside the theory, in one sentence; empty where none covers it."""
    said = [f"{code.rule}: {_show(style, code.flow_m3_s)}" for code in flow.codes if code.element == element]
    return f"{'; '.join(said)}." if said else ""


@check(
    "gutter-capacity",
    question=3,
    needs=SIZES,
    value="what the gutter to {} carries",
    about=(
        "What the gutter's reach carries brimful to an outlet at which the water falls freely, against the "
        "cloudburst; the codes beside it."
    ),
)
def gutter_capacity(context: Context) -> Iterator[Measured]:
    """Momentum along the gutter with inflow, friction and slope; a slope counts where it was measured."""
    style = context.survey.style
    for flow in context.behaviour.downspouts:
        if flow.gutter_m3_s is not None and flow.peak_m3_s > 0:
            words = (
                f"The gutter to {flow.id} carries {_show(style, flow.gutter_m3_s)}; "
                f"{_show(style, flow.peak_m3_s)} come."
            )
            yield _flow(context, flow, flow.gutter_m3_s, words, "derived", _codes(flow, "gutter", style))


@check(
    "outlet-capacity",
    question=3,
    needs=SIZES,
    value="what the gutter's outlet to {} passes",
    about="What the hole in the gutter's floor passes with the gutter brimful: weir, then orifice.",
)
def outlet_capacity(context: Context) -> Iterator[Measured]:
    """The outlet usually governs before the downspout does."""
    style = context.survey.style
    for flow in context.behaviour.downspouts:
        if flow.outlet_m3_s is not None and flow.peak_m3_s > 0:
            acts = (
                f"It acts as {'an' if flow.gutter.hole_acts_as == 'orifice' else 'a'} {flow.gutter.hole_acts_as}."
                if flow.gutter is not None
                else ""
            )
            words = (
                f"The outlet to {flow.id} carries {_show(style, flow.outlet_m3_s)}; "
                f"{_show(style, flow.peak_m3_s)} come."
            )
            yield _flow(context, flow, flow.outlet_m3_s, words, "derived", acts)


@check(
    "gutter-brim",
    question=3,
    needs=SIZES,
    value="room under the brim, gutter to {}",
    about=(
        "Least room between the water and the brim anywhere along the gutter in the cloudburst, gutter and outlet "
        "working together; says what governs and where it would run over first."
    ),
)
def gutter_brim(context: Context) -> Iterator[Measured]:
    """Spatially varied flow from the far ends to the outlet, shared by both arms."""
    style = context.survey.style
    spouts = {spout.id: spout for spout in context.scheme.downspouts}
    for flow in context.behaviour.downspouts:
        spout = spouts.get(flow.id)
        if spout is not None and spout.gutter is None and "downspouts.gutter" in context.missing:
            yield Measured(
                subject=flow.id,
                value=math.nan,
                op="at least",
                limit=0.0,
                scale=0.0,
                show=lambda v: units.show_depth(v, style),
                limit_text="under the brim",
                sentence=f"Which gutter {flow.id} drains is not known.",
                source="derived",
                also_missing=("downspouts.gutter",),
            )
        if flow.gutter is None or spout is None or spout.gutter is None or flow.peak_m3_s <= 0:
            continue
        yield Measured(
            subject=flow.id,
            value=flow.gutter.brim_margin_m,
            op="at least",
            limit=0.0,
            scale=spout.gutter.depth_m,
            show=lambda v: units.show_depth(v, style),
            limit_text="under the brim"
            if spout.gutter.freeboard_m == 0
            else "under the brim, its freeboard kept",
            sentence=_brim_words(flow, flow.gutter, style),
            detail=_brim_detail(flow, flow.gutter, style),
            source="derived",
        )


def _place(at_m: float, arms: int, style: Style) -> str:
    if at_m < 0.05:
        return "at the outlet"
    side = " on one side" if arms > 1 else ""
    return f"{units.show_distance(at_m, style)} from the outlet{side}"


def _brim_words(flow: DownspoutFlow, gutter: GutterFlow, style: Style) -> str:
    room = units.show_depth(abs(gutter.brim_margin_m), style)
    first = _place(gutter.full_at_m, len(gutter.arms), style)
    if gutter.brim_margin_m >= 0:
        deepest = _place(gutter.brim_at_m, len(gutter.arms), style)
        return f"In the cloudburst the water in the gutter to {flow.id} keeps {room} to the brim, least {deepest}."
    return f"The gutter to {flow.id} runs over in the cloudburst, first {first}."


def _brim_detail(flow: DownspoutFlow, gutter: GutterFlow, style: Style) -> str:
    brimful, enters = gutter.together_m3_s, flow.peak_m3_s - gutter.overshoot_m3_s
    first = _place(gutter.full_at_m, len(gutter.arms), style)
    named = ELEMENTS["outlet" if gutter.control == "hole" else "gutter"]
    words = (
        f"With its outlet it is brimful at {_show(style, brimful)}, {first}, held by {named}; "
        f"{_show(style, enters)} come in."
    )
    return words + _governs_words(flow, style)


def _governs_words(flow: DownspoutFlow, style: Style) -> str:
    """Name what carries least on the way down and how far it is from what comes."""
    if flow.governs in (None, "gutter", "outlet") or not math.isfinite(flow.limit_m3_s):
        return ""  # both together have been told already
    spare = flow.limit_m3_s - flow.peak_m3_s
    verb = "carry" if flow.governs == "elbows" else "carries"
    least = f"{ELEMENTS[flow.governs or 'downspout']} {verb} least: {_show(style, flow.limit_m3_s)}"
    return f" Of all down to the ground {least}, {_show(style, abs(spare))} {'to spare' if spare >= 0 else 'short'}."


@check(
    "guard-in-cloudburst",
    question=3,
    needs=SIZES,
    value="rain that shoots over the guard, gutter to {}",
    about="Share of the cloudburst that a gutter guard does not let in; it shoots over the edge at the house.",
    digging=False,
)
def guard_in_cloudburst(context: Context) -> Iterator[Measured]:
    """A guard keeps leaves out and, in a cloudburst, water."""
    style = context.survey.style
    limit = tables.limit("guard-overshoot", style)
    seconds = context.behaviour.cloudburst_duration_s
    for spout, flow in zip(context.scheme.downspouts, context.behaviour.downspouts, strict=True):
        if spout.gutter is None or not spout.gutter.guard or flow.gutter is None or flow.peak_m3_s <= 0:
            continue
        over = flow.gutter.overshoot_m3_s
        words = (
            f"The guard over the gutter to {flow.id} keeps leaves out and lets in all of the cloudburst."
            if over <= 0
            else f"The guard over the gutter to {flow.id} keeps leaves out and lets in "
            f"{_show(style, flow.peak_m3_s - over)} of the cloudburst; {_show(style, over)} shoot over the edge, "
            f"{units.show_volume(over * seconds, style)} in {units.show_time(seconds)} at the foot of the wall."
        )
        yield Measured(
            subject=flow.id,
            value=round(over / flow.peak_m3_s, 9),  # 100 % less 95 % is 5 % only to the last digit
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            show=units.show_percent,
            sentence=words,
            source=limit.source,
        )


@check(
    "valley-overshoot",
    question=3,
    needs=SIZES,
    value="how far the water of {} shoots out",
    about=(
        "How far the water of a roof valley has shot out when it passes the gutter's brim, against the gutter's "
        "front or its splash guard."
    ),
    digging=False,
)
def valley_overshoot(context: Context) -> Iterator[Measured]:
    """Normal flow down the valley, then free flight from the roof's edge."""
    style = context.survey.style
    for flow in context.behaviour.downspouts:
        for valley in flow.gutter.valleys if flow.gutter is not None else ():
            reach = valley.reach_m
            brings = f"The valley over the gutter to {flow.id} brings {_show(style, valley.flow_m3_s)}"
            if reach is None or valley.velocity_m_s is None:
                words = f"{brings}; how steep it is is not known."
            else:
                words = (
                    f"{brings} at {units.show_speed(valley.velocity_m_s, style)}; when it passes the brim it is "
                    f"{units.show_depth(reach, style)} out from the roof's edge, the front "
                    f"{units.show_depth(valley.front_m, style)}."
                )
                if reach > valley.front_m:
                    words += " A splash guard on the front would turn it in."
            yield Measured(
                subject=flow.id,
                value=math.nan if reach is None else reach,
                op="at most",
                limit=valley.front_m,
                scale=valley.front_m,
                show=lambda v: units.show_depth(v, style),
                sentence=words,
                source="derived",
                also_missing=("roofs.pitch",) if reach is None else (),
            )


@check(
    "downspout-capacity",
    question=3,
    needs=SIZES,
    value="what downspout {} carries",
    about="What the downspout carries as a ring of water on its wall, 7/24 full, and its elbows where counted.",
)
def downspout_capacity(context: Context) -> Iterator[Measured]:
    """Wyly and Eaton's law by area and perimeter; elbows and offset running full under a brimful gutter."""
    style = context.survey.style
    for flow in context.behaviour.downspouts:
        if flow.leader_m3_s is None or flow.peak_m3_s <= 0:
            continue
        carries = flow.leader_m3_s
        words = f"Downspout {flow.id} carries {_show(style, flow.leader_m3_s)}"
        if flow.elbows_m3_s is not None:
            carries = min(carries, flow.elbows_m3_s)
            words += f", its elbows let through {_show(style, flow.elbows_m3_s)}"
        words += f"; {_show(style, flow.peak_m3_s)} come."
        yield _flow(context, flow, carries, words, "wyly-eaton", _codes(flow, "downspout", style))
