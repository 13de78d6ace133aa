"""Rain on the wells, put together: the storms stand in ``well_storms``, the long record in ``well_record``."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from roofwell import tables
from roofwell.physics import mounded, network
from roofwell.physics.kept import kept
from roofwell.system import groundwater
from roofwell.system.behaviour import (
    DownspoutFlow,
    OfficeCount,
    RecordResult,
    StormResult,
    WellBehaviour,
)
from roofwell.system.facts import Survey
from roofwell.system.levels import StormPath, storm_path
from roofwell.system.linked_wells import places
from roofwell.system.outlet_parts import tail_of
from roofwell.system.overflow_parts import capacity_m3_s, stated_head_m
from roofwell.system.scheme import Downspout, Scheme
from roofwell.system.storm_run import Inflow
from roofwell.system.well_record import (
    Follow,
    RecordBasis,
    Records,
    inflow_of,
    linked_stores,
    records,
)
from roofwell.system.well_storms import Passed, Rain, drawn, rains_of, results_of, start_of, storms_through


def well_behaviours(
    scheme: Scheme,
    survey: Survey,
    stores: Mapping[str, network.Store],
    heads: Mapping[str, float],
    leaving: Mapping[str, float],
    spouts: Sequence[DownspoutFlow],
    record: RecordBasis,
    measured_m_s: float | None = None,
    hold: bool = False,
    office: Mapping[str, network.Store] | None = None,
) -> tuple[tuple[WellBehaviour, ...], RecordResult | None, tuple[StormPath, ...]]:
    """Return every well in every storm and through the record; the record of all wells as one system; the storms
    step by step, for the levels in the pipes. ``measured_m_s``, the soil's rate before the safety factor, adds the
    mounds on the groundwater; with ``hold`` a mound that reaches its well holds the soakage back. ``office``: the stores
    as the permit office counts their soakage, where it prescribes another way."""
    if not scheme.wells:
        return (), None, ()
    linked, inflow, rains = linked_stores(scheme, stores), inflow_of(scheme, spouts), rains_of(survey)
    passed, soaked = storms_through(
        scheme, survey, linked, inflow, rains, with_soaked=measured_m_s is not None
    )
    long = records(survey, linked, inflow, record, keep_soaked=measured_m_s is not None)
    results = results_of(scheme, survey, rains, passed)
    wells = _wells(scheme, survey, stores, linked, heads, leaving, spouts, rains, passed, results, long)
    if measured_m_s is not None:
        step = float(survey.rain.record.step_s) if survey.rain.record is not None else 0.0
        soaks = groundwater.Run(step, (), soaked=long.soaked_m3) if long is not None else None
        wells, held = groundwater.mounds(
            scheme, survey, wells, measured_m_s=measured_m_s, storms=soaked, record=soaks
        )
        if held is not None and hold:
            runs: list[mounded.MoundedRun] = []
            grounds, steps = held, 0 if record[0] is None else len(record[0])

            def run(through: Callable[[Follow], None]) -> None:
                runs.append(grounds.record(linked, through, step, steps))

            passed, _ = storms_through(scheme, survey, linked, inflow, rains, held)
            results = results_of(scheme, survey, rains, passed)
            long = records(survey, linked, inflow, record, run)
            again = _wells(
                scheme, survey, stores, linked, heads, leaving, spouts, rains, passed, results, long
            )
            wells = groundwater.with_held(wells, again, runs[-1] if runs else None)
    if office:
        wells = _counted_by_office(scheme, survey, wells, linked_stores(scheme, office), inflow, rains)
    start = start_of(survey, linked)
    paths = tuple(
        storm_path(
            scheme,
            linked,
            through.while_raining,
            duration_s=rain.duration_s,
            step_s=rain.step_s,
            rate_m_s=rain.rate_m_s,
            start_m3=start,
        )
        for rain, through in zip(rains, passed, strict=True)
    )
    return wells, long.system if long is not None else None, paths


def _counted_by_office(
    scheme: Scheme,
    survey: Survey,
    wells: Sequence[WellBehaviour],
    stores: list[network.Store],
    inflow: Inflow,
    rains: tuple[Rain, ...],
) -> tuple[WellBehaviour, ...]:
    """Add what each well does in the design storms as the permit office counts its soakage."""
    storms = results_of(scheme, survey, rains, storms_through(scheme, survey, stores, inflow, rains)[0])
    drains = network.drain_times_s(stores)
    return tuple(
        replace(
            behaviour,
            by_office=OfficeCount(
                model=part.office_soakage,
                soakage_full_m3_s=float(store.soakage_m3_s[-1]),
                drain_time_s=max(drains[k] for k in group),
                storms=tuple(results),
                critical=_critical(results),
            ),
        )
        if part.office_soakage is not None
        else behaviour
        for part, behaviour, store, results, group in zip(
            scheme.wells, wells, stores, storms, places(scheme), strict=True
        )
    )


def _critical(results: Sequence[StormResult]) -> StormResult | None:
    """The storm that asks most of a well."""
    return max(results, key=lambda storm: storm.peak_m3 + storm.spilled_m3 + storm.refused_m3, default=None)


def _wells(
    scheme: Scheme,
    survey: Survey,
    stores: Mapping[str, network.Store],
    linked: Sequence[network.Store],
    heads: Mapping[str, float],
    leaving: Mapping[str, float],
    spouts: Sequence[DownspoutFlow],
    rains: Sequence[Rain],
    passed: Sequence[Passed],
    all_results: Sequence[Sequence[StormResult]],
    long: Records | None,
) -> tuple[WellBehaviour, ...]:
    """Put together what is known of each well."""
    out = []
    drains = network.drain_times_s(linked)
    for (j, well), group in zip(enumerate(scheme.wells), places(scheme), strict=True):
        feeders = [scheme.upstream_downspouts(scheme.wells[k].id) for k in group]
        area = sum(spout.roof_area_m2 for one in feeders for spout in one)
        store = linked[j]
        full = sum(float(linked[k].volume_m3[-1]) for k in group)
        overflow = scheme.overflow_of(well.id)
        peaks = [sum(limit_flow(spouts, one)) for one in feeders]
        results = all_results[j]
        critical = _critical(results)
        worst = None if critical is None else results.index(critical)
        trace = (np.zeros(0),) * 3 if worst is None else drawn(rains[worst], passed[worst].wells[j])
        out.append(
            WellBehaviour(
                id=well.id,
                roof_area_m2=area,
                storage_m3=full,
                holds_rain_m=full / area if area > 0 else math.inf,
                soakage_full_m3_s=float(store.soakage_m3_s[-1]),
                drain_time_s=max(drains[k] for k in group),
                storms=tuple(results),
                critical=critical,
                record=long.wells[j] if long is not None else None,
                record_low=None,
                record_high=None,
                cloudburst_fill_s=(
                    _fill_time([stores[well.id]], peaks)
                    if len(group) == 1
                    else _fill_time_of(linked, group, peaks)
                ),
                linked_with=tuple(scheme.wells[k].id for k in group if k != j),
                own_storage_m3=float(store.volume_m3[-1]),
                trace_time_s=trace[0],
                trace_rain_m=trace[1],
                trace_volume_m3=trace[2],
                head_over_lip_m=heads[well.id],
                overflow_peak_m3_s=leaving[well.id],
                overflow_half_blocked_m3_s=(
                    capacity_m3_s(
                        overflow,
                        stated_head_m(overflow, survey.style),
                        tables.assumption("overflow-clogged").value_si,
                        tail_of(scheme, overflow.to),
                    )
                    if overflow is not None
                    else 0.0
                ),
            )
        )
    return tuple(out)


def limit_flow(flows: Sequence[DownspoutFlow], spouts: Sequence[Downspout]) -> list[float]:
    """Return the cloudburst flow that each of some downspouts delivers, m³/s."""
    wanted = {spout.id for spout in spouts}
    return [min(flow.peak_m3_s, flow.limit_m3_s) for flow in flows if flow.id in wanted]


def _fill_time_of(
    stores: Sequence[network.Store], group: Sequence[int], flows: Sequence[float]
) -> float | None:
    """The same of linked wells."""
    arriving = np.zeros(len(stores))
    arriving[list(group)] = flows
    alone = [replace(store, overflow_to=None) for store in stores]
    return _fill_time(alone, arriving.tolist(), group[0])


@kept(64)
def _fill_time(stores: Sequence[network.Store], flows: Sequence[float], of: int = 0) -> float | None:
    """Time in which the cloudburst's flow fills the empty well, s; None if it never does."""
    if sum(flows) <= 0:
        return None
    for hours in (4, 24, 240):  # most fill soon, and what comes later changes nothing of it
        traces = network.simulate(stores, np.tile(flows, (hours * 60, 1)), step_s=60.0)
        if traces[of].first_full_s is not None:
            break
    return traces[of].first_full_s
