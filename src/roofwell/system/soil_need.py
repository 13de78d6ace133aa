"""How fast a well's soil must be for the well as it is designed, and how much deeper its pit may go."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from roofwell import tables, units
from roofwell.physics import network
from roofwell.physics.soil.permeameter import filled_pit_time_s
from roofwell.physics.well import storage
from roofwell.system.behaviour import WellBehaviour
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme, Well
from roofwell.system.soakage_models import by_the_soil, soakage_curve
from roofwell.system.well_store import well_store

STEPS_OF_FALL = 65  # the fall is smooth: a thousandth of its time
_TRIAL_M_S = 1e-6  # any rate: the time to drain goes with its inverse


def rate_enough_m_s(scheme: Scheme, survey: Survey, well: WellBehaviour) -> float:
    """Return a measured rate (before the safety factor) that is enough for a well as it is designed, m/s.

    The larger of two: that at which it empties in the time allowed (exact), and that at which every design storm that
    it holds now is still held. The second stands on the safe side: with a share q of the soakage, the water at any
    instant stands higher by no more than (1 - q) of what has soaked away by then, which is no more than what came and
    no more than the full well's soakage over the storm. A storm that is not held now asks for more than the soil has.
    It is a rate as the soil tests of the job tell it: what a filled pit shows of it is another (`shown_by_fill_m_s`). Where
    the permit office counts the soakage in another way, enough is what is enough by both.
    """
    part = next(one for one in scheme.wells if one.id == well.id)
    own = _enough_m_s(scheme, survey, part, well)
    if part.office_soakage is None or well.by_office is None:
        return own
    office = replace(part, soakage=part.office_soakage)
    counted = replace(well, storms=well.by_office.storms, soakage_full_m3_s=well.by_office.soakage_full_m3_s)
    return max(own, _enough_m_s(scheme, survey, office, counted))


def _enough_m_s(scheme: Scheme, survey: Survey, part: Well, well: WellBehaviour) -> float:
    """The rate that is enough by one way of counting the soakage."""
    soil = survey.soil
    no_inflow = {run.id: 0.0 for run in scheme.runs}
    store = well_store(scheme, survey, part, _TRIAL_M_S / soil.safety_factor, no_inflow)
    drain = network.drain_time_s(store, float(store.volume_m3[-1]))
    enough = _TRIAL_M_S * drain / survey.targets.empty_s
    for storm in well.storms:
        soaked = min(storm.inflow_m3, well.soakage_full_m3_s * storm.duration_s)
        spare = well.storage_m3 - storm.peak_m3 - storm.spilled_m3
        if soaked > 0:
            enough = max(enough, soil.best_m_s * (1 - spare / soaked))
    return enough


def shown_by_fill_m_s(
    survey: Survey, well: Well, tested_m_s: float, *, start_m: float, end_m: float
) -> float:
    """Return the rate over floor and walls that a fill of a well's open pit shows in a soil whose tests tell another, m/s.

    A slender test hole takes in more over its faces than a wide pit does, for its water spreads to all sides: a soil that
    just does must not fail in the pit for that. So the fall from ``start_m`` to ``end_m`` is timed by the conductivity that
    goes with the tested rate, where one is known; where none is, the rate itself is all that can be asked for.
    """
    model = by_the_soil(survey.soil, well)
    if model is None:
        return tested_m_s
    volume, flow, _ = soakage_curve(survey.soil, replace(well, soakage=model), tested_m_s)
    depths = np.linspace(end_m, start_m, STEPS_OF_FALL)
    flows = np.interp(depths, storage.depth_of_volume_m(well.layers, volume), flow)
    pit = well.layers[0]
    falls_in = float(np.trapezoid(pit.pit_area_m2 / flows, depths))
    one_meter_a_second = filled_pit_time_s(
        floor_m2=pit.pit_area_m2,
        perimeter_m=pit.pit_perimeter_m,
        water_start_m=start_m,
        water_end_m=end_m,
        rate_m_s=1.0,
    )
    return one_meter_a_second / falls_in


@dataclass(frozen=True, slots=True)
class FillTarget:
    """A fill of the open pit that shows on the spot whether the soil is fast enough: depths, m; volume, m³; time, s."""

    start_m: float
    end_m: float
    volume_m3: float
    within_s: float


def fill_target(scheme: Scheme, survey: Survey, well: WellBehaviour) -> FillTarget | None:
    """Return the fill to be tried in a well's open pit; None where the well as designed does not hold its storm.

    The water must be down to half in the time that the rate that is enough needs for it.
    """
    part = next(one for one in scheme.wells if one.id == well.id)
    if well.critical is None or well.critical.spilled_m3 > 0 or not math.isfinite(part.bottom_m):
        return None
    start = tables.assumption("fill-test-depth", survey.style).value_si
    bottom = part.layers[0]
    tested = rate_enough_m_s(scheme, survey, well)
    if not 0 < tested < math.inf:
        return None
    enough = shown_by_fill_m_s(survey, part, tested, start_m=start, end_m=start / 2)
    within = filled_pit_time_s(
        floor_m2=bottom.pit_area_m2,
        perimeter_m=bottom.pit_perimeter_m,
        water_start_m=start,
        water_end_m=start / 2,
        rate_m_s=enough,
    )
    return FillTarget(start, start / 2, bottom.pit_area_m2 * start, within)


def room_below_m(survey: Survey, well: Well) -> float | None:
    """Return how much deeper a pit may go: to the high water and its separation, to refusal, to the office's depth.

    None while the ground water is not known; never below 0.
    """
    soil, rules = survey.soil, survey.rules
    if soil.high_water_m is None or not math.isfinite(well.bottom_m):
        return None
    kept = rules.well.separation if rules is not None else None
    separation = kept.value_si if isinstance(kept, units.Quantity) else 0.0
    rooms = [well.bottom_m - soil.high_water_m - separation]
    depth = well.ground_m - well.bottom_m
    if soil.refusal_depth_m is not None:
        rooms.append(soil.refusal_depth_m - depth)
    deepest = rules.well.deepest_pit if rules is not None else None
    if isinstance(deepest, units.Quantity):
        rooms.append(deepest.value_si - depth)
    return max(min(rooms), 0.0)
