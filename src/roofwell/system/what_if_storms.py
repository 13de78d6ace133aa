"""The design storms of a what-if: routed once with everything working, and what a shut way makes of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from roofwell.physics import network
from roofwell.system import levels, pipes
from roofwell.system.behaviour import Behaviour, DownspoutFlow, FloatArray
from roofwell.system.facts import Survey
from roofwell.system.levels import StormPath
from roofwell.system.rainfall import leaving_m3_s, stores_of
from roofwell.system.scheme import Run, Scheme
from roofwell.system.storm_run import Routed, net_rate_m_s, route, storm_durations_s, storm_of
from roofwell.system.well_record import RecordBasis, inflow_of, linked_stores
from roofwell.system.what_if_facts import Case
from roofwell.system.what_if_water import Edge, Rain, let_rise


def rain_of(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, rate_m_s: float, record: RecordBasis
) -> Rain:
    """Route the design storms once: what fails above the wells brings them no more water, what fails below no less."""
    spouts = behaviour.downspouts
    peaks = pipes.run_peaks(scheme, {flow.id: min(flow.peak_m3_s, flow.limit_m3_s) for flow in spouts})
    by_well = stores_of(scheme, survey, spouts, rate_m_s, record[0])
    leaving = leaving_m3_s(scheme, peaks, by_well)
    tail = {
        well.id: well.lip_m + levels.head_over_lip_m(scheme, well, leaving[scheme.spills_at(well.id)])
        for well in scheme.wells
    }
    runs, paths = _storms(scheme, survey, spouts, linked_stores(scheme, by_well))
    return Rain(
        peaks=peaks,
        tail_m=tail,
        still_m={well.id: well.lip_m for well in scheme.wells},
        leaving_m3_s=leaving,
        runs=runs,
        paths=paths,
        spouts=spouts,
    )


def _storms(
    scheme: Scheme, survey: Survey, spouts: Sequence[DownspoutFlow], stores: Sequence[network.Store]
) -> tuple[tuple[Routed, ...], tuple[StormPath, ...]]:
    start = [survey.settings["starting_level"] * float(store.volume_m3[-1]) for store in stores]
    inflow = inflow_of(scheme, spouts)
    runs, paths = [], []
    for duration in storm_durations_s(survey):
        storm = storm_of(survey, duration)
        rate = net_rate_m_s(survey, storm.depth_m, storm.step_s)
        if not scheme.wells:
            runs.append(Routed(duration, storm.step_s, rate, (), np.zeros(0), ()))
            paths.append(StormPath(duration, storm.step_s, rate, {}, {}, {}))
            continue
        run = route(stores, inflow, rate, duration_s=duration, step_s=storm.step_s, start_m3=start)
        runs.append(run)
        path = levels.storm_path(
            scheme,
            stores,
            run.traces,
            duration_s=duration,
            step_s=storm.step_s,
            rate_m_s=rate,
            start_m3=start,
        )
        paths.append(path)
    return tuple(runs), tuple(paths)


def critical(behaviour: Behaviour, scheme: Scheme, rain: Rain, part: str | None) -> Routed:
    """Return the storm that asks most of the well at the end of a part's way; else the longest."""
    way = scheme.way(part) if part is not None else ()
    end = way[-1].to_id if way else part
    well = next((w for w in behaviour.wells if w.id == end), behaviour.wells[0] if behaviour.wells else None)
    if well is not None and well.critical is not None:
        critical = well.critical.duration_s
        return min(rain.runs, key=lambda run: abs(run.duration_s - critical))
    return rain.runs[-1]


def storm_of_shut(
    case: Case, shut: Scheme, ends: tuple[str, ...], edge: Edge, scheme: Scheme, rain: Rain
) -> tuple[Routed, float, float | None, dict[str, float]]:
    """The design storm that brings most out, what comes out of it, when first, and the worst levels of all of them."""
    wells = [j for j, well in enumerate(scheme.wells) if well.id in ends]
    if wells and case.kind not in ("screen blocked", "inlet plugged"):
        return _storm_of_full_well(shut, ends, edge, scheme, rain, wells)
    feeding = {spout.id for end in ends for spout in shut.upstream_downspouts(end)}
    limit = {flow.id: flow.limit_m3_s for flow in rain.spouts}
    areas = [(flow.area_m2, limit[flow.id]) for flow in rain.spouts if flow.id in feeding]

    def brought(run: Routed) -> FloatArray:
        return np.asarray(
            np.sum([np.minimum(run.rate_m_s * area, most) for area, most in areas], axis=0), dtype=np.float64
        )

    volumes = [float(np.sum(brought(run)) * run.step_s) if areas else 0.0 for run in rain.runs]
    place = int(np.argmax(volumes))
    run = rain.runs[place]
    wet = np.flatnonzero(run.rate_m_s > 0)
    after = float(wet[0]) * run.step_s if wet.size else None
    heaviest = max(float(one.rate_m_s.max()) for one in rain.runs)
    most = sum(min(heaviest * area, limit) for area, limit in areas)
    now = sum(rain.peaks[one.id] for end in ends for one in _out_of(scheme, shut, end))
    scale = min(1.0, most / now) if now > 0 else 1.0
    found = let_rise(shut, ends, now * scale, edge, rain, scale)
    return run, volumes[place], after, dict(found.level_m)


def _out_of(scheme: Scheme, shut: Scheme, end: str) -> tuple[Run, ...]:
    """The runs that carried an end's water away; of an outlet those that reach it."""
    gone = tuple(run for run in scheme.runs if run.from_id == end and shut.run_from(end) is None)
    return gone or scheme.runs_to(end)


def _storm_of_full_well(
    shut: Scheme, ends: tuple[str, ...], edge: Edge, scheme: Scheme, rain: Rain, wells: Sequence[int]
) -> tuple[Routed, float, float | None, dict[str, float]]:
    """A well that fills and cannot let go: what would have spilled comes out at the lowest edge."""

    def spilled(run: Routed) -> float:
        return float(sum(np.sum(run.traces[j].spilled_m3 + run.traces[j].refused_m3) for j in wells))

    run = max(rain.runs, key=lambda one: (spilled(one), one.duration_s))
    first = [int(step[0]) for j in wells if (step := np.flatnonzero(run.traces[j].spilled_m3 > 1e-9)).size]
    after = min(first) * run.step_s if first else None
    id = scheme.spills_at(ends[0])
    most = max((float(path.over_lip_m3_s[id].max()) for path in rain.paths), default=0.0)
    if most <= 0:
        return run, spilled(run), after, {}
    heaviest = max(float(one.rate_m_s.max()) for one in rain.runs)
    limit = {flow.id: flow.limit_m3_s for flow in rain.spouts}
    taken = sum(min(heaviest * flow.area_m2, limit[flow.id]) for flow in rain.spouts)
    peak = sum(min(flow.peak_m3_s, flow.limit_m3_s) for flow in rain.spouts)
    scale = min(1.0, taken / peak) if peak > 0 else 1.0
    return run, spilled(run), after, dict(let_rise(shut, ends, most, edge, rain, scale).level_m)
