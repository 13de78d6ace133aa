"""The Behaviour step: rain on the Scheme, from the cloudburst to the long record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from roofwell import tables
from roofwell.physics import network
from roofwell.physics.basin import settling
from roofwell.physics.kept import kept
from roofwell.physics.rain import events
from roofwell.system import levels as water_levels
from roofwell.system import pipes, roof_parts
from roofwell.system.behaviour import (
    BasinBehaviour,
    Behaviour,
    DownspoutFlow,
    FloatArray,
)
from roofwell.system.facts import Survey
from roofwell.system.groundwater import lifts
from roofwell.system.gutters import spout_flow
from roofwell.system.linked_wells import link_flows
from roofwell.system.scheme import Basin, Scheme
from roofwell.system.weeps import weep_times
from roofwell.system.well_rain import well_behaviours
from roofwell.system.well_record import RecordBasis, inflow_of, linked_stores, records
from roofwell.system.well_store import well_store
from roofwell.system.winter import held_water
from roofwell.units import Dimension, parse

LIGHT_RAIN, VERY_HEAVY_RAIN = "0.1 in/h", "5 in/h"


def record_basis(survey: Survey) -> RecordBasis:
    """Return the record's rain less the roof's loss, and its rain events; missing steps count as dry."""
    record = survey.rain.record
    if record is None:
        return None, None
    return _net_rain(
        record.depth_m, record.step_s, survey.settings["event_gap"], survey.settings["initial_loss"]
    )


@kept(4)
def _net_rain(
    depth_m: FloatArray, step_s: float, gap_s: float, loss_m: float
) -> tuple[FloatArray, events.Events]:
    found = events.find_events(depth_m=depth_m, step_s=step_s, gap_s=gap_s)
    return events.net_of_initial_loss(depth_m=depth_m, events=found, loss_m=loss_m), found


def behave(
    scheme: Scheme,
    survey: Survey,
    *,
    rate_m_s: float,
    record: RecordBasis,
    with_record: bool = True,
    with_mound: bool = False,
    hold_by_mound: bool = False,
) -> Behaviour:
    """Let it rain on a Scheme.

    Parameters
    ----------
    rate_m_s
        Infiltration rate to count with, m/s: the soil's, over the safety factor.
    record
        From ``record_basis``: the same for every Scheme of a job.
    with_record
        Whether the long record is simulated too.
    with_mound
        Whether the mound on the groundwater and what floats on it are worked out too.
    hold_by_mound
        Whether a mound that reaches its well holds its soakage back.
    """
    intensity = roof_parts.cloudburst_m_s(survey)
    runoff = survey.settings["runoff_coefficient"]
    spouts = tuple(spout_flow(spout, intensity * runoff * spout.roof_area_m2) for spout in scheme.downspouts)
    delivered = {flow.id: min(flow.peak_m3_s, flow.limit_m3_s) for flow in spouts}
    peaks = pipes.run_peaks(scheme, delivered)
    stores = stores_of(scheme, survey, spouts, rate_m_s, record[0] if with_record else None)
    office = by_office(scheme)
    leaving = leaving_m3_s(scheme, peaks, stores)
    heads = {
        well.id: water_levels.head_over_lip_m(scheme, well, leaving[scheme.spills_at(well.id)])
        for well in scheme.wells
    }
    tail = {well.id: well.lip_m + heads[well.id] for well in scheme.wells}
    still = {well.id: well.lip_m for well in scheme.wells}
    flows, levels = water_levels.cloudburst(scheme, peaks, tail, still, leaving)
    wells, system, storms = well_behaviours(
        scheme,
        survey,
        stores,
        heads,
        leaving,
        spouts,
        record if with_record else (None, None),
        rate_m_s * survey.soil.safety_factor if with_mound else None,
        hold_by_mound,
        stores_of(office, survey, spouts, rate_m_s, record[0] if with_record else None)
        if office is not scheme
        else None,
    )
    levels, surfacing = water_levels.every_storm(scheme, spouts, storms, levels)
    standing = pipes.standing(scheme, flows)
    return Behaviour(
        return_period_years=survey.targets.storm_years,
        intensity_m_s=intensity,
        cloudburst_duration_s=roof_parts.cloudburst_duration_s(survey),
        peak_m3_s=sum(flow.peak_m3_s for flow in spouts),
        downspouts=spouts,
        runs=flows,
        levels=levels,
        standing=standing,
        wells=wells,
        basins=tuple(_basin(scheme, survey, basin) for basin in scheme.basins),
        record=system,
        held_water=held_water(scheme, survey, standing),
        weeps=weep_times(scheme, survey, standing),
        surfacing=surfacing,
        lifts=lifts(scheme, survey, wells) if with_mound else (),
        links=link_flows(scheme, peaks, stores),
    )


def with_record_range(
    behaviour: Behaviour,
    scheme: Scheme,
    survey: Survey,
    *,
    low_rate_m_s: float,
    high_rate_m_s: float,
    record: RecordBasis,
) -> Behaviour:
    """Return a Behaviour with the long record at both ends of the soil's rate; the same one without a record.

    Parameters
    ----------
    low_rate_m_s, high_rate_m_s
        Slowest and fastest infiltration rate, m/s, over the safety factor.
    record
        From ``record_basis``.
    """
    ends = []
    for rate in (low_rate_m_s, high_rate_m_s):
        stores = stores_of(scheme, survey, behaviour.downspouts, rate, record[0])
        inflow = inflow_of(scheme, behaviour.downspouts)
        ends.append(records(survey, linked_stores(scheme, stores), inflow, record))
    low, high = ends
    if low is None or high is None:
        return behaviour
    return replace(
        behaviour,
        wells=tuple(
            replace(well, record_low=slow, record_high=fast)
            for well, slow, fast in zip(behaviour.wells, low.wells, high.wells, strict=True)
        ),
        record_low=low.system,
        record_high=high.system,
    )


def stores_of(
    scheme: Scheme,
    survey: Survey,
    spouts: Sequence[DownspoutFlow],
    rate_m_s: float,
    net_record_m: FloatArray | None,
) -> dict[str, network.Store]:
    """The wells as the kernel takes them, their pipes tried with the heaviest rain of storm and record."""
    peaks = pipes.run_peaks(scheme, {flow.id: min(flow.peak_m3_s, flow.limit_m3_s) for flow in spouts})
    heaviest = max(1.0, _heaviest(net_record_m, survey) / roof_parts.cloudburst_m_s(survey))
    most = {id: flow * heaviest for id, flow in peaks.items()}
    return {well.id: well_store(scheme, survey, well, rate_m_s, most) for well in scheme.wells}


def _heaviest(net_m: FloatArray | None, survey: Survey) -> float:
    record = survey.rain.record
    return 0.0 if net_m is None or record is None else float(np.max(net_m)) / record.step_s


def by_office(scheme: Scheme) -> Scheme:
    """Return a Scheme whose soakage is counted as the permit office prescribes, where it does."""
    if all(well.office_soakage is None for well in scheme.wells):
        return scheme
    return replace(
        scheme,
        wells=tuple(replace(well, soakage=well.office_soakage or well.soakage) for well in scheme.wells),
    )


def leaving_m3_s(
    scheme: Scheme, peaks: Mapping[str, float], stores: Mapping[str, network.Store]
) -> dict[str, float]:
    """What each full well lets go in the cloudburst: what its pipes and other full wells bring, less soakage, m³/s."""
    out: dict[str, float] = {}

    def leaves(id: str) -> float:
        if id not in out:
            group = scheme.linked_with(id)
            brought = sum(peaks[run.id] for one in group for run in scheme.runs_to(one))
            brought += sum(leaves(o.of) for o in scheme.overflows if o.to in group and o.of in stores)
            soaked = sum(float(stores[one].soakage_m3_s[-1]) for one in group)
            out.update(dict.fromkeys(group, 0.0))  # linked wells let all go at one lip
            out[scheme.spills_at(id)] = max(0.0, brought - soaked)
        return out[id]

    for id in stores:
        leaves(id)
    return out


def _basin(scheme: Scheme, survey: Survey, basin: Basin) -> BasinBehaviour:
    """Return the smallest grain that a basin settles in light, heavy and very heavy rain."""
    area = sum(spout.roof_area_m2 for spout in scheme.upstream_downspouts(basin.id))
    rains = (
        parse(LIGHT_RAIN, Dimension.RATE).value_si,
        tables.limit("capture-rain", survey.style).value_si,
        parse(VERY_HEAVY_RAIN, Dimension.RATE).value_si,
    )
    flows = tuple(rain * area * survey.settings["runoff_coefficient"] for rain in rains)
    viscosity = settling.water_viscosity_m2_s(temperature_c=tables.assumption("water-temperature").value_si)
    grains = tuple(
        settling.captured_grain_m(flow_m3_s=flow, plan_area_m2=basin.plan_area_m2, viscosity_m2_s=viscosity)
        if flow > 0
        else 0.0
        for flow in flows
    )
    leaving = scheme.run_from(basin.id)
    return BasinBehaviour(
        id=basin.id,
        intensity_m_s=rains,
        flow_m3_s=flows,
        grain_m=grains,
        outlet_nominal_m=leaving.nominal_m if leaving is not None else 0.0,
        sump_m=basin.outlet_invert_m - basin.floor_m,
    )
