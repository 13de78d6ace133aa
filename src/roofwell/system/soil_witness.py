"""How an older well behaves ("empties in two days") as the rate that it implies: the kernel's drain time inverted."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roofwell import tables, units
from roofwell.job import model
from roofwell.job.rules import RuleFile
from roofwell.physics import network
from roofwell.physics.well import soakage, storage
from roofwell.physics.well.soakage import CREDITS, Credit
from roofwell.system.facts import SoilTest
from roofwell.system.soil_tests import floor_and_perimeter
from roofwell.system.stone_and_fabric import given_voids

_TRIAL_M_S = 1e-6  # any rate: the time to drain goes with its inverse
BRACKET: tuple[Credit, ...] = ("bottom", "bottom and sides")


def drain_time_of_layers_s(layers: Sequence[storage.Layer], credit: Credit, rate_m_s: float) -> float:
    """Return the kernel's own time from full to empty of a pit in one soil, s."""
    full_depth = layers[-1].top_m
    volume, above, below = soakage.soakage_curve(layers, rate_m_s, credit, full_depth_m=full_depth)
    store = network.Store(
        volume_m3=volume,
        soakage_m3_s=above,
        soakage_below_m3_s=below,
        empty_m3=storage.empty_volume_m3(
            layers,
            full_depth_m=full_depth,
            depth_m=tables.assumption("empty-depth").value_si,
            share=tables.assumption("empty-share").value_si,
        ),
    )
    return network.drain_time_s(store, float(volume[-1]))


def rate_that_empties_m_s(layers: Sequence[storage.Layer], credit: Credit, time_s: float) -> float:
    """Return the rate at which a full pit empties in a time, m/s."""
    return _TRIAL_M_S * drain_time_of_layers_s(layers, credit, _TRIAL_M_S) / time_s


def witnesses(job: model.Job, rules: RuleFile | None) -> tuple[tuple[SoilTest, ...], tuple[str, ...]]:
    """Return what every witness implies, watched or told, and what is missing of those that cannot be reckoned."""
    found, notes = [], []
    for witness in job.soil.witnesses:
        layers = _layers(job, witness)
        if layers is None:
            notes.append(
                f"{witness.id}: the size of that well is missing; write its diameter, or its length and width, and its "
                "water_depth"
            )
            continue
        found.append(_implied(job, rules, witness, layers))
    return tuple(found), tuple(notes)


def _implied(
    job: model.Job, rules: RuleFile | None, witness: model.Witness, layers: Sequence[storage.Layer]
) -> SoilTest:
    time = witness.empties_in.value_si
    credit = _credit(job, rules, witness)
    rates = {each: rate_that_empties_m_s(layers, each, time) for each in (*BRACKET, credit)}
    told = witness.watched is not True
    within = tables.assumption("witness-time-within")
    off = within.value_si if told else 0.0
    remarks = [
        f"counted as soaking through: {credit}; through its bottom alone the soil would be the fastest"
    ]
    remarks.append("an older well has silted up: its clean soil takes no less than this")
    if told:
        remarks.append(
            f"told and not watched: it counts where nothing was tested, {within.text} either way, and leaves the answer open"
        )
    return SoilTest(
        witness.id,
        f"an older well that empties in {units.show_time(time)}",
        rates[credit],
        None,
        "",
        tuple(remarks),
        witness.depth.value_si if witness.depth is not None else None,
        kind="witness",
        measures="what a whole well takes in after years, silt included",
        low_m_s=min(rates.values()) / (1 + off),
        high_m_s=max(rates.values()) / (1 - off),
        counts=not told,
    )


def _credit(job: model.Job, rules: RuleFile | None, witness: model.Witness) -> Credit:
    """The faces that the design counts as soaking: the well's own, the office's, the usual ones."""
    own = job.wells.get(witness.well or "")
    office = rules.well.soakage if rules is not None else None
    style = job.job.units or "us"
    usual = next(row[style] for row in tables.rows("default_parts") if row["part"] == "soakage")
    named = (own.soakage if own is not None else None) or office or usual
    return next((credit for credit in CREDITS if credit == named), "bottom and sides")


def _layers(job: model.Job, witness: model.Witness) -> tuple[storage.Layer, ...] | None:
    well = job.wells.get(witness.well or "", model.Well())
    plan = floor_and_perimeter(witness.diameter, witness.length, witness.width) or floor_and_perimeter(
        well.pit_diameter, well.pit_length, well.pit_width
    )
    body, height = well.body_diameter, well.body_height
    depth = witness.water_depth.value_si if witness.water_depth is not None else None
    if plan is None:
        return None
    floor, perimeter = plan
    if witness.voids is not None or body is None or height is None:
        if depth is None:
            return None
        voids = witness.voids.value_si if witness.voids is not None else 1.0
        return (storage.Layer(0.0, depth, floor, perimeter, 0.0, voids),)
    told = given_voids(well)
    stone = told if told is not None else tables.assumption("voids").value_si
    style = job.job.units or "us"
    below = (
        well.stone_below.value_si
        if well.stone_below is not None
        else tables.assumption("stone-below", style).value_si
    )
    inside = math.pi * (body.value_si - 2 * (well.body_wall.value_si if well.body_wall else 0.0)) ** 2 / 4
    bodies = min((well.bodies or 1) * max(inside, 0.0), floor)
    top = depth if depth is not None else below + height.value_si
    if top <= below + 1e-6 or below < 1e-6:
        share = 0.0 if top <= below + 1e-6 else bodies
        return (storage.Layer(0.0, top, floor, perimeter, share, stone),)
    return (
        storage.Layer(0.0, below, floor, perimeter, 0.0, stone),
        storage.Layer(below, top, floor, perimeter, bodies, stone),
    )
