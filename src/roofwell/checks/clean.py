"""4. Does it stay clean?"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from roofwell import tables, units
from roofwell.checks import debris_words
from roofwell.checks.register import Context, Measured, check
from roofwell.system import cleanouts
from roofwell.system.behaviour import BasinBehaviour
from roofwell.system.debris_facts import InRain

JETTED = {"granules": "granules of the shingles", "sand": "sand"}
"""What of the mineral debris a basin is asked to keep: silt goes on in any case."""


@check(
    "basin-before-well",
    question=4,
    needs=("downspouts",),
    value="share of the water to {} that passes a basin first",
    about="Share of each well's roof whose water passes a basin before it reaches the well.",
)
def basin_before_well(context: Context) -> Iterator[Measured]:
    """What no basin keeps back ends in the stone for good."""
    for well in context.scheme.wells:
        spouts = context.scheme.upstream_downspouts(well.id)
        total = sum(spout.roof_area_m2 for spout in spouts)
        if total <= 0:
            continue
        basins = {basin.id for basin in context.scheme.basins}
        kept = sum(
            spout.roof_area_m2
            for spout in spouts
            if any(run.to_id in basins for run in context.scheme.way(spout.id))
        )
        yield Measured(
            subject=well.id,
            value=kept / total,
            op="at least",
            limit=1.0,
            scale=0.0,
            show=units.show_percent,
            limit_text="all of it",
            sentence=(
                f"{units.show_percent(kept / total)} of the water to {well.id} passes a basin first"
                + ("." if kept == total else "; the rest carries its leaves and grit into the stone.")
            ),
            source="common-practice",
        )


@check(
    "basin-capture",
    question=4,
    needs=("roofs", "downspouts", "basins.size"),
    value="finest grain that settles in {}",
    about="Smallest grain that the basin settles in heavy rain, by Ferguson and Church's formula for still water; "
    "close where the jet of its inlet is reckoned to lift that grain again.",
    digging=False,
)
def basin_capture(context: Context) -> Iterator[Measured]:
    """Overflow rate over the basin's plan area."""
    style = context.survey.style
    limit, rain = tables.limit("captured-grain", style), tables.limit("capture-rain", style)
    for basin in context.behaviour.basins:
        grain = basin.grain_m[1]
        flows = grain > 0
        if not flows and not context.missing & {"roofs", "downspouts"}:
            continue
        yield Measured(
            subject=basin.id,
            value=grain if flows else math.nan,
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            uncertainty=_left_to_the_jet_m(context, basin.id, rain.value_si, limit.value_si),
            show=lambda v: debris_words.grain(v, style),
            sentence=(
                f"In heavy rain ({rain.text}) grains down to {debris_words.grain(grain, style)} would settle in still "
                f"water in {basin.id}.{_under_its_jet(context, basin.id, rain.value_si)}"
                if flows
                else f"No roof leads to {basin.id} yet."
            ),
            source="ferguson-church-2004",
        )


def _in_rain(context: Context, basin: str, rain_m_s: float) -> InRain | None:
    """What a basin does in the steady rain nearest to one; None where nobody knows."""
    debris = context.behaviour.debris
    found = debris.basin(basin) if debris is not None else None
    if found is None or not found.rains:
        return None
    return min(found.rains, key=lambda rain: abs(rain.intensity_m_s - rain_m_s))


def _left_to_the_jet_m(context: Context, basin: str, rain_m_s: float, limit_m: float) -> float | None:
    """Doubt in the rule of still water, m: all of it where the jet of the inlet lifts grains of the limit's size again.

    The jet is told by a rough model (one round jet, no walls, no air): it makes the answer close and never fails it.
    """
    one = _in_rain(context, basin, rain_m_s)
    if one is None:
        return None
    return limit_m if one.rests_m is None or one.rests_m > limit_m else None


def _under_its_jet(context: Context, basin: str, rain_m_s: float) -> str:
    """Say what the jet of the inlet leaves lying in that rain, and what the basin so keeps; empty where nobody knows."""
    one = _in_rain(context, basin, rain_m_s)
    if one is None:
        return ""
    kept = dict(one.kept)
    shares = " and ".join(
        f"{units.show_percent(kept[kind]) if kept[kind] >= 0.005 else 'none'} of the {JETTED[kind]}"
        for kind in JETTED
        if kind in kept
    )
    if one.rests_m is None:
        return f" What pours in stirs them all up again: the basin keeps {shares}."
    if one.rests_m <= one.grain_m:
        return f" What pours in leaves them lying: the basin keeps {shares}."
    style = context.survey.style
    return (
        f" What pours in stirs up all that is finer than {debris_words.grain(one.rests_m, style)}: the basin keeps "
        f"{shares}."
    )


@check(
    "basin-sump",
    question=4,
    needs=("survey.ground", "basins.levels", "runs.invert"),
    value="room for debris in {}",
    about="Depth of the basin below its outlet, where debris rests: at least four outlet diameters.",
    digging=False,
)
def basin_sump(context: Context) -> Iterator[Measured]:
    """A shallow sump is scoured out again."""
    style = context.survey.style
    factor = tables.limit("sump-diameters")
    for basin in context.behaviour.basins:
        yield Measured(
            subject=basin.id,
            value=round(basin.sump_m, 9),
            op="at least",
            limit=round(factor.value_si * basin.outlet_nominal_m, 9),
            scale=0.0,  # a rule in whole diameters: a sump built to it meets it
            show=lambda v: units.show_length(v, style),
            sentence=_sump_words(basin, factor.value_si, style),
            source=factor.source,
        )


def _sump_words(basin: BasinBehaviour, diameters: float, style: units.Style) -> str:
    deep = units.show_length(basin.sump_m, style)
    if not (math.isfinite(basin.sump_m) and basin.outlet_nominal_m > 0):
        return f"{basin.id} holds {deep} of debris below its outlet."
    asked = f"{diameters:g} times its {units.show_size(basin.outlet_nominal_m, style)} outlet"
    if basin.sump_m >= diameters * basin.outlet_nominal_m - 1e-9:
        return f"{basin.id} holds {deep} of debris below its outlet; the rule asks {asked}."
    return f"{basin.id} holds only {deep} of debris below its outlet, where the rule asks {asked}: hard rain scours it."


@check(
    "snake-reach",
    question=4,
    value="way of a drain snake to clear {}",
    about="Longest way of a snake between two ways in: foot of a downspout, basin, cleanout.",
)
def snake_reach(context: Context) -> Iterator[Measured]:
    """The one run where it is longest."""
    style = context.survey.style
    most = tables.limit("cleanout-spacing", style)
    worst = _worst_reach(context, lambda reach: reach.length_m)
    if worst is None:
        return
    yield Measured(
        subject=worst.run,
        value=round(worst.length_m, 9),
        op="at most",
        limit=most.value_si,
        scale=0.0,
        show=lambda v: units.show_distance(v, style),
        sentence=(
            f"A drain snake goes {units.show_distance(worst.length_m, style)} from the nearest opening to clear {worst.run}."
        ),
        source=most.source,
    )


@check(
    "snake-bends",
    question=4,
    value="bends that a drain snake takes to clear {}",
    about="Greatest sum of bends in plan between two ways in for a snake: foot of a downspout, basin, cleanout.",
)
def snake_bends(context: Context) -> Iterator[Measured]:
    """The one run where it is greatest; the turn at a wye counts."""
    most = tables.limit("cleanout-bends", context.survey.style)
    worst = _worst_reach(context, lambda reach: reach.bends_rad)
    if worst is None:
        return
    degrees = f"{math.degrees(worst.bends_rad):.0f}°"
    yield Measured(
        subject=worst.run,
        value=round(worst.bends_rad, 9),
        op="at most",
        limit=most.value_si,
        scale=0.0,
        show=lambda v: f"{math.degrees(v):.0f}°",
        sentence=f"A drain snake turns by {degrees} in all from the nearest opening to clear {worst.run}.",
        source=most.source,
    )


def _worst_reach(context: Context, size: Callable[[cleanouts.Reach], float]) -> cleanouts.Reach | None:
    scheme = context.scheme
    ways_in = frozenset([spout.id for spout in scheme.downspouts] + [basin.id for basin in scheme.basins])
    return max(cleanouts.reaches(cleanouts.piped(scheme), ways_in=ways_in), key=size, default=None)
