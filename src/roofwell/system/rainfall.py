"""The Behaviour step: rain on the Scheme, from the cloudburst to the long record."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from roofwell import tables
from roofwell.physics import network
from roofwell.physics.basin import settling
from roofwell.physics.rain import events, storms
from roofwell.physics.well import overflow as grate
from roofwell.physics.well import soakage, storage
from roofwell.system import pipes, roof_parts
from roofwell.system.behaviour import (
    BasinBehaviour,
    Behaviour,
    DownspoutFlow,
    FloatArray,
    RecordResult,
    StormResult,
    WellBehaviour,
)
from roofwell.system.facts import Survey
from roofwell.system.scheme import Basin, Downspout, Gutter, Scheme, Well
from roofwell.system.well_parts import grate_flow_m3_s
from roofwell.units import Dimension, parse

STORM_MINUTES = (5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880)
LIGHT_RAIN, VERY_HEAVY_RAIN = "0.1 in/h", "5 in/h"
DRY_TAIL_S = 30 * 86400.0
STORM_STEP_S = 300.0
LEVELS_OF_CAPACITY = 4


@dataclass(frozen=True, slots=True)
class Basis:
    """What does not depend on the soil: peak flows, levels and the curves of what gets in."""

    intensity_m_s: float
    spouts: tuple[DownspoutFlow, ...]
    delivered_m3_s: Mapping[str, float]
    net_record_m: FloatArray | None
    record_events: events.Events | None


def record_basis(survey: Survey) -> tuple[FloatArray | None, events.Events | None]:
    """Return the record's rain less the roof's loss, and its rain events; missing steps count as dry."""
    record = survey.rain.record
    if record is None:
        return None, None
    depth = np.where(record.missing, 0.0, record.depth_m)
    found = events.find_events(depth_m=depth, step_s=record.step_s, gap_s=survey.settings["event_gap"])
    return events.net_of_initial_loss(
        depth_m=depth, events=found, loss_m=survey.settings["initial_loss"]
    ), found


def behave(
    scheme: Scheme,
    survey: Survey,
    *,
    rate_m_s: float,
    record: tuple[FloatArray | None, events.Events | None],
    with_record: bool = True,
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
    """
    intensity = roof_parts.cloudburst_m_s(survey)
    runoff = survey.settings["runoff_coefficient"]
    spouts = tuple(_spout_flow(spout, intensity * runoff * spout.roof_area_m2) for spout in scheme.downspouts)
    delivered = {flow.id: min(flow.peak_m3_s, flow.limit_m3_s) for flow in spouts}
    peaks = pipes.run_peaks(scheme, delivered)
    heaviest = max(1.0, _heaviest(record[0] if with_record else None, survey) / intensity)
    most = {id: flow * heaviest for id, flow in peaks.items()}
    stores = {well.id: _store(scheme, well, rate_m_s, most) for well in scheme.wells}
    leaving = _leaving(scheme, peaks, stores)
    heads = {well.id: _head(scheme, well, leaving[well.id]) for well in scheme.wells}
    tail = {well.id: well.lip_m + heads[well.id] for well in scheme.wells}
    still = {well.id: well.lip_m for well in scheme.wells}
    flows, levels = pipes.levels(scheme, peaks, tail, still)
    return Behaviour(
        return_period_years=survey.targets.storm_years,
        intensity_m_s=intensity,
        cloudburst_duration_s=roof_parts.cloudburst_duration_s(survey),
        peak_m3_s=sum(flow.peak_m3_s for flow in spouts),
        downspouts=spouts,
        runs=flows,
        levels=levels,
        standing=pipes.standing(scheme),
        wells=_wells(scheme, survey, stores, heads, leaving, spouts, record if with_record else (None, None)),
        basins=tuple(_basin(scheme, survey, basin) for basin in scheme.basins),
    )


def _spout_flow(spout: Downspout, peak: float) -> DownspoutFlow:
    leader = roof_parts.leader_capacity_m3_s(spout.shape, spout.width_m, spout.breadth_m)
    gutter = outlet = None
    if spout.gutter is not None:
        gutter = _gutter_capacity(spout.gutter)
        outlet = roof_parts.outlet_capacity_m3_s(spout.gutter, spout.shape, spout.width_m, spout.breadth_m)
    known = {"downspout": leader}
    if gutter is not None:
        known["gutter"] = gutter
    if outlet is not None:
        known["outlet"] = outlet
    governs = min(known, key=lambda name: known[name])
    return DownspoutFlow(spout.id, spout.roof_area_m2, peak, gutter, outlet, leader, governs, known[governs])


_gutters: dict[Gutter, float] = {}


def _gutter_capacity(gutter: Gutter) -> float:
    """A gutter's capacity takes longer than a whole storm, and does not change within a search: kept."""
    if gutter not in _gutters:
        _gutters[gutter] = roof_parts.gutter_capacity_m3_s(gutter) * gutter.guard_passes
    return _gutters[gutter]


def _heaviest(net_m: FloatArray | None, survey: Survey) -> float:
    record = survey.rain.record
    return 0.0 if net_m is None or record is None else float(np.max(net_m)) / record.step_s


def _store(scheme: Scheme, well: Well, rate_m_s: float, most: Mapping[str, float]) -> network.Store:
    """A well as the kernel takes it. What its pipes bring is left out where the heaviest rain of the whole
    study passes them even with the well brimful: it can then never be less."""
    full_depth = well.layers[-1].top_m
    stone_depth = well.stone_top_m - well.bottom_m
    rates = [rate_m_s if layer.bottom_m < stone_depth - 1e-9 else 0.0 for layer in well.layers]
    nodes, above, below = soakage.soakage_curve(
        well.layers,
        rates,
        well.soakage,
        full_depth_m=full_depth,
    )
    cap = None
    if scheme.runs_to(well.id) and not pipes.passes(scheme, well.id, most, well.lip_m):
        nodes, above, below = _with_levels(well, nodes, above, below)
        stage = well.bottom_m + storage.depth_of_volume_m(well.layers, nodes)
        cap = pipes.capacity(scheme, well.id, stage)
    return network.Store(
        volume_m3=nodes,
        soakage_m3_s=above,
        soakage_below_m3_s=below,
        capacity_m3_s=cap,
        empty_m3=_empty(well),
    )


def _with_levels(
    well: Well, nodes: FloatArray, above: FloatArray, below: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Add nodes between the pipe's invert and the lip, where what gets in begins to shrink."""
    low = min(max(well.inlet_invert_m - well.bottom_m, 0.0), well.layers[-1].top_m)
    depths = np.linspace(low, well.layers[-1].top_m, LEVELS_OF_CAPACITY)
    extra = storage.storage_volume_m3(well.layers, depths)
    least = 1e-6 * float(nodes[-1])
    fresh = [v for v in extra if float(np.min(np.abs(nodes - v))) > least]
    if not fresh:
        return nodes, above, below
    added = np.interp(fresh, nodes, above)
    for i, volume in enumerate(fresh):
        k = int(np.searchsorted(nodes, volume)) - 1
        share = (volume - nodes[k]) / (nodes[k + 1] - nodes[k])
        added[i] = above[k] + share * (below[k + 1] - above[k])
    order = np.argsort(np.concatenate([nodes, fresh]), kind="stable")
    return (
        np.concatenate([nodes, fresh])[order],
        np.concatenate([above, added])[order],
        np.concatenate([below, added])[order],
    )


def _empty(well: Well) -> float:
    depth, share = tables.assumption("empty-depth").value_si, tables.assumption("empty-share").value_si
    film = float(storage.storage_volume_m3(well.layers, np.array([depth]))[0])
    return max(film, share * storage.full_volume_m3(well.layers))


def _leaving(
    scheme: Scheme, peaks: Mapping[str, float], stores: Mapping[str, network.Store]
) -> dict[str, float]:
    """What each full well lets go in the cloudburst: what its pipes and other full wells bring, less soakage, m³/s."""
    out: dict[str, float] = {}

    def leaves(id: str) -> float:
        if id not in out:
            brought = sum(peaks[run.id] for run in scheme.runs_to(id))
            brought += sum(leaves(o.of) for o in scheme.overflows if o.to == id and o.of in stores)
            out[id] = max(0.0, brought - float(stores[id].soakage_m3_s[-1]))
        return out[id]

    for id in stores:
        leaves(id)
    return out


def _head(scheme: Scheme, well: Well, flow: float) -> float:
    """Head over the half-blocked overflow grate while the cloudburst passes the full well, m."""
    overflow = scheme.overflow_of(well.id)
    if overflow is None or flow <= 0:
        return 0.0
    return grate.head_over_grate_m(
        flow_m3_s=flow,
        perimeter_m=math.pi * overflow.diameter_m,
        open_area_m2=math.pi * overflow.diameter_m**2 / 4 * overflow.open_share,
        weir_coefficient_si=tables.assumption("overflow-weir-coefficient").value_si,
        orifice_coefficient=tables.assumption("overflow-orifice-coefficient").value_si,
        clogged_fraction=tables.assumption("overflow-clogged").value_si,
    )


def _wells(
    scheme: Scheme,
    survey: Survey,
    stores: Mapping[str, network.Store],
    heads: Mapping[str, float],
    leaving: Mapping[str, float],
    spouts: Sequence[DownspoutFlow],
    record: tuple[FloatArray | None, events.Events | None],
) -> tuple[WellBehaviour, ...]:
    if not scheme.wells:
        return ()
    ids = [well.id for well in scheme.wells]
    linked = []
    for well in scheme.wells:
        overflow = scheme.overflow_of(well.id)
        to = ids.index(overflow.to) if overflow is not None and overflow.to in ids else None
        store = stores[well.id]
        linked.append(
            network.Store(
                store.volume_m3,
                store.soakage_m3_s,
                store.soakage_below_m3_s,
                store.capacity_m3_s,
                to,
                store.empty_m3,
            )
        )
    feeders = {id: list(scheme.upstream_downspouts(id)) for id in ids}
    limit = {flow.id: flow.limit_m3_s for flow in spouts}

    def inflow(rate_m_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Flow that reaches each well, and flow that its gutters and downspouts do not take, m³/s."""
        arriving = np.zeros((len(rate_m_s), len(ids)))
        refused = np.zeros((len(rate_m_s), len(ids)))
        for j, id in enumerate(ids):
            for spout in feeders[id]:
                wanted = rate_m_s * spout.roof_area_m2
                taken = np.minimum(wanted, limit[spout.id])
                arriving[:, j] += taken
                refused[:, j] += wanted - taken
        return arriving, refused

    all_storms = _storms(scheme, survey, linked, inflow)
    records = _record(survey, linked, inflow, record)
    out = []
    for j, well in enumerate(scheme.wells):
        area = sum(spout.roof_area_m2 for spout in feeders[well.id])
        store = linked[j]
        full = float(store.volume_m3[-1])
        overflow = scheme.overflow_of(well.id)
        peak = sum(limit_flow(spouts, feeders[well.id]))
        results, traces = all_storms[j]
        critical = max(results, key=lambda storm: (storm.spilled_m3 + storm.refused_m3, storm.peak_m3), default=None)
        trace = traces[results.index(critical)] if critical is not None else (np.zeros(0),) * 3
        out.append(
            WellBehaviour(
                id=well.id,
                roof_area_m2=area,
                storage_m3=full,
                holds_rain_m=full / area if area > 0 else math.inf,
                soakage_full_m3_s=float(store.soakage_m3_s[-1]),
                drain_time_s=network.drain_time_s(store, full),
                storms=tuple(results),
                critical=critical,
                record=records[j] if records is not None else None,
                record_low=None,
                record_high=None,
                cloudburst_fill_s=_fill_time(stores[well.id], peak),
                trace_time_s=trace[0],
                trace_rain_m=trace[1],
                trace_volume_m3=trace[2],
                head_over_lip_m=heads[well.id],
                overflow_peak_m3_s=leaving[well.id],
                overflow_half_blocked_m3_s=(
                    grate_flow_m3_s(
                        overflow.diameter_m,
                        overflow.open_share,
                        tables.limit("overflow-head").value_si,
                        tables.assumption("overflow-clogged").value_si,
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


def _fill_time(store: network.Store, flow: float) -> float | None:
    """Time in which the cloudburst's flow fills the empty well, s; None if it never does."""
    if flow <= 0:
        return None
    hours = 240
    trace = network.simulate([store], np.full((hours * 60, 1), flow), step_s=60.0)[0]
    return trace.first_full_s


_Traces = list[tuple[FloatArray, FloatArray, FloatArray]]


def _storms(
    scheme: Scheme, survey: Survey, stores: list[network.Store], inflow: object
) -> list[tuple[list[StormResult], _Traces]]:
    """Run the storm of every duration up to the design one; the critical one spills or stands most."""
    table, years = survey.rain.table, survey.targets.storm_years
    runoff, loss = survey.settings["runoff_coefficient"], survey.settings["initial_loss"]
    longest = max(float(table.duration_s[0]), min(survey.settings["storm_duration"], float(table.duration_s[-1])))
    shortest = float(table.duration_s[0])
    durations = sorted({longest, *(60.0 * m for m in STORM_MINUTES if shortest <= 60.0 * m < longest)})
    out: list[tuple[list[StormResult], _Traces]] = [([], []) for _ in stores]
    start = [survey.settings["starting_level"] * float(store.volume_m3[-1]) for store in stores]
    dry = min(DRY_TAIL_S, 86400.0 + sum(network.drain_time_s(store, float(store.volume_m3[-1])) for store in stores))
    make = storms.uniform_block if survey.storm_shape == "uniform" else storms.alternating_block
    for duration in durations:
        if shortest <= STORM_STEP_S and duration % STORM_STEP_S == 0:
            step = STORM_STEP_S
        else:  # as short as the table reaches, and a whole number of them
            step = duration / (duration // shortest)
        storm = make(table, return_period_years=years, duration_s=duration, step_s=step)
        net = _less_first(storm.depth_m, loss) * runoff
        tail = np.zeros(int(dry // step) + 1)
        arriving, refused = inflow(np.concatenate([net, tail]) / step)  # type: ignore[operator]
        traces = network.simulate(stores, arriving, step_s=step, start_m3=start)
        for j, trace in enumerate(traces):
            well = scheme.wells[j]
            peak = float(np.max(trace.volume_peak_m3))
            depth = float(storage.depth_of_volume_m(well.layers, np.array([peak]))[0])
            out[j][0].append(
                StormResult(
                    return_period_years=years,
                    duration_s=duration,
                    shape=storm.shape,
                    rain_m=float(np.sum(storm.depth_m)),
                    inflow_m3=float(np.sum(trace.inflow_m3)),
                    peak_m3=peak,
                    spilled_m3=float(np.sum(trace.spilled_m3)),
                    refused_m3=float(np.sum(trace.refused_m3) + np.sum(refused[:, j]) * step),
                    full_after_s=trace.first_full_s,
                    empty_after_s=trace.emptied_after_s,
                    peak_depth_m=depth,
                    peak_intensity_m_s=float(np.max(storm.depth_m)) / step,
                )
            )
            keep = min(len(storm.depth_m) + int(2 * 86400 // step), len(trace.volume_end_m3))
            times = step * np.arange(1, keep + 1)
            rain = np.concatenate([storm.depth_m, tail])[:keep].astype(np.float64)
            out[j][1].append((times.astype(np.float64), rain, trace.volume_end_m3[:keep]))
    return out


def _less_first(depth_m: FloatArray, loss_m: float) -> FloatArray:
    """Take the roof's loss from the first rain."""
    total = np.cumsum(depth_m)
    return np.diff(np.maximum(total - loss_m, 0.0), prepend=0.0)


def _record(
    survey: Survey,
    stores: list[network.Store],
    inflow: object,
    basis: tuple[FloatArray | None, events.Events | None],
) -> list[RecordResult] | None:
    net, found = basis
    record = survey.rain.record
    if net is None or found is None or record is None:
        return None
    step = float(record.step_s)
    rate = net * survey.settings["runoff_coefficient"] / step
    arriving, refused = inflow(rate)  # type: ignore[operator]
    traces = network.simulate(stores, arriving, step_s=step)
    years = record.years
    out = []
    for j, trace in enumerate(traces):
        came = float(np.sum(trace.inflow_m3) + np.sum(refused[:, j]) * step)
        spilled = float(np.sum(trace.spilled_m3))
        lost = float(np.sum(trace.refused_m3) + np.sum(refused[:, j]) * step)
        out_m3 = trace.spilled_m3 + trace.refused_m3 + refused[:, j] * step
        steps = np.flatnonzero(out_m3 > 1e-9 * float(stores[j].volume_m3[-1]))
        spills = len(np.unique(found.event_of_step[steps]))
        out.append(
            RecordResult(
                name=survey.rain.record_name or "",
                years=years,
                step_s=step,
                rain_m_year=record.yearly_mean_m,
                missing_share=record.share_missing,
                rain_events=found.count,
                spill_events=spills,
                spills_year=spills / years,
                captured_share=1 - (spilled + lost) / came if came > 0 else 1.0,
                spilled_m3_year=spilled / years,
                refused_m3_year=lost / years,
                longest_wet_s=trace.longest_wet_s,
            )
        )
    return out


def _basin(scheme: Scheme, survey: Survey, basin: Basin) -> BasinBehaviour:
    """Return the smallest grain that a basin settles in light, heavy and very heavy rain."""
    area = sum(spout.roof_area_m2 for spout in scheme.upstream_downspouts(basin.id))
    rains = (
        parse(LIGHT_RAIN, Dimension.RATE).value_si,
        tables.limit("capture-rain").value_si,
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
