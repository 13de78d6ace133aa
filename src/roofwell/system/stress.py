"""Stress: the same Scheme with something worse than its design: how high the water stands, what spills, and where.

Shown beside the normal run and never judged; water above an opening of the house is always said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from roofwell.physics import network
from roofwell.physics.rain.frequency import intensity_m_s
from roofwell.physics.well import storage
from roofwell.system import levels as water_levels
from roofwell.system import pipes, roof_parts
from roofwell.system.behaviour import Behaviour, FloatArray, WaterLevel
from roofwell.system.beyond_facts import Stress, StressAtWell
from roofwell.system.facts import Survey
from roofwell.system.flooding import flooded_store
from roofwell.system.gutters import spout_flow
from roofwell.system.rainfall import leaving_m3_s
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow, Routed, net_rate_m_s, route, storm_durations_s, storm_of
from roofwell.tables.trials import trial

Stores = Sequence[network.Store]


def stresses(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, inflow: Inflow, stores: Stores, slow: Stores
) -> tuple[Stress, ...]:
    """Return the normal run and every stress, in the order in which they are read.

    ``stores`` are the wells with the design rate, ``slow`` with its share of the slow-soil stress; both in the order of
    the Scheme's wells and joined.
    """
    out = []
    if scheme.wells:
        start = [survey.settings["starting_level"] * float(store.volume_m3[-1]) for store in stores]
        wet = [trial("wet-start") * float(store.volume_m3[-1]) for store in stores]
        share = f"{100 * trial('half-soil'):g} %"
        normal = "the design storm" + (", groundwater left out" if mound_holds(behaviour) else "")
        out = [
            _storms(scheme, survey, behaviour, inflow, stores, start, "design", normal),
            _storms(
                scheme,
                survey,
                behaviour,
                inflow,
                slow,
                start,
                "slow-soil",
                f"soil at {share} of its design rate",
            ),
            _high_water(scheme, survey, behaviour, inflow, stores),
            _storms(
                scheme,
                survey,
                behaviour,
                inflow,
                stores,
                start,
                "back-to-back",
                f"the design storm twice, {trial('storm-gap') / 3600:g} h dry between",
                twice=True,
            ),
        ]
    out.append(_cloudburst(scheme, survey, stores))
    if scheme.wells:
        out.append(
            _storms(
                scheme,
                survey,
                behaviour,
                inflow,
                stores,
                wet,
                "wet-start",
                "the well full when the storm begins",
            )
        )
    return tuple(out)


def _rates(survey: Survey, duration_s: float, *, twice: bool) -> tuple[FloatArray, float]:
    """Net rain of the design storm in steps; twice: again after the dry gap, the roof dried out meanwhile."""
    storm = storm_of(survey, duration_s)
    rate = net_rate_m_s(survey, storm.depth_m, storm.step_s)
    if twice:
        gap = np.zeros(math.ceil(trial("storm-gap") / storm.step_s - 1e-9))
        rate = np.concatenate([rate, gap, rate])
    return rate, storm.step_s


def _storms(
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    inflow: Inflow,
    stores: Stores,
    start_m3: Sequence[float],
    key: str,
    what: str,
    *,
    twice: bool = False,
    flooded_m3: Sequence[float] | None = None,
    note: str = "",
) -> Stress:
    """Run the storm of every duration; the one that asks most, by what stands, spills and never gets in, is shown."""
    runs = []
    for duration in storm_durations_s(survey):
        rate, step = _rates(survey, duration, twice=twice)
        run = route(stores, inflow, rate, duration_s=duration, step_s=step, start_m3=start_m3)
        runs.append(_over_the_water(run, flooded_m3) if flooded_m3 is not None else run)
    paths = [
        water_levels.storm_path(
            scheme,
            stores,
            run.traces,
            duration_s=run.duration_s,
            step_s=run.step_s,
            rate_m_s=run.rate_m_s,
            start_m3=run.start_m3,
        )
        for run in runs
    ]
    wells = []
    for j, well in enumerate(scheme.wells):
        worst = max(
            runs,
            key=lambda run: float(
                run.traces[j].volume_peak_m3.max() + run.traces[j].spilled_m3.sum() + run.refused_m3[j]
            ),
        )
        trace = worst.traces[j]
        wells.append(
            StressAtWell(
                well=well.id,
                duration_s=worst.duration_s,
                level_m=max(float(path.tail_m[well.id].max()) for path in paths),
                full_share=float(trace.volume_peak_m3.max()) / storage.full_volume_m3(well.layers),
                spilled_m3=float(trace.spilled_m3.sum()),
                refused_m3=float(worst.refused_m3[j]),
                goes_to=_goes_to(scheme, well.id),
            )
        )
    levels, _ = water_levels.every_storm(
        scheme, behaviour.downspouts, paths, behaviour.levels, with_surfacing=False
    )
    return _stress(survey, key, what, tuple(wells), levels, note)


def _over_the_water(run: Routed, flooded_m3: Sequence[float]) -> Routed:
    """Count the volumes of a run from the pit's bottom again."""
    traces = tuple(
        replace(trace, volume_peak_m3=trace.volume_peak_m3 + low, volume_end_m3=trace.volume_end_m3 + low)
        for trace, low in zip(run.traces, flooded_m3, strict=True)
    )
    start = tuple(start + low for start, low in zip(run.start_m3, flooded_m3, strict=True))
    return replace(run, traces=traces, start_m3=start)


def _high_water(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, inflow: Inflow, stores: Stores
) -> Stress:
    """The groundwater at its seasonal high: what stands in it holds nothing, and its bottom soaks nothing. Where the mound
    on it reaches a well, the run is the judged one, which the mound holds back."""
    what = "groundwater at its seasonal high"
    high = survey.soil.high_water_m
    if high is None or "soil.seasonal_high_water" in survey.missing:
        return Stress("high-water", what, (), None, None, (), None, missing="soil.seasonal_high_water")
    if mound_holds(behaviour):
        return _held_by_mound(scheme, survey, behaviour, what)
    pairs = zip(scheme.wells, stores, strict=True)
    left, flooded = zip(*(flooded_store(store, well, high) for well, store in pairs), strict=True)
    drowned = [well.bottom_m + well.layers[-1].top_m <= high for well in scheme.wells]
    start = [
        float(store.volume_m3[-1])
        if under
        else max(survey.settings["starting_level"] * float(whole.volume_m3[-1]) - low, 0.0)
        for store, whole, low, under in zip(left, stores, flooded, drowned, strict=True)
    ]
    note = ""
    if not any(flooded) and not any(drowned):
        note = "it stays under the pit, so storage and soakage are those of the design storm"
    return _storms(
        scheme, survey, behaviour, inflow, left, start, "high-water", what, flooded_m3=flooded, note=note
    )


def mound_holds(behaviour: Behaviour) -> bool:
    """Whether a mound on the groundwater holds the soakage of a well back in the judged run."""
    return any(well.mound is not None and well.mound.held is not None for well in behaviour.wells)


def _held_by_mound(scheme: Scheme, survey: Survey, behaviour: Behaviour, what: str) -> Stress:
    wells = []
    for well, judged in zip(scheme.wells, behaviour.wells, strict=True):
        storm = judged.critical
        if storm is None:
            continue
        wells.append(
            StressAtWell(
                well=well.id,
                duration_s=storm.duration_s,
                level_m=well.bottom_m + storm.peak_depth_m,
                full_share=storm.peak_m3 / judged.storage_m3,
                spilled_m3=storm.spilled_m3,
                refused_m3=storm.refused_m3,
                goes_to=_goes_to(scheme, well.id),
            )
        )
    note = (
        "the mound on it reaches the well and holds its soakage back: this is the run that the answers judge"
    )
    return _stress(survey, "high-water", what, tuple(wells), behaviour.levels, note)


def _cloudburst(scheme: Scheme, survey: Survey, stores: Stores) -> Stress:
    """A cloudburst well above the design one on full wells: levels as in the design cloudburst, with its own flows."""
    table, duration = survey.rain.table, roof_parts.cloudburst_duration_s(survey)
    design = roof_parts.cloudburst_m_s(survey)
    years = trial("cloudburst-years")
    rate, what = (
        trial("cloudburst-times") * design,
        f"a cloudburst of {100 * trial('cloudburst-times'):g} % of the",
    )
    what += " design one, the well full"
    if table.return_period_years[0] <= years <= table.return_period_years[-1]:
        rare = intensity_m_s(table, duration_s=duration, return_period_years=years)
        if rare > design:
            rate = rare
            what = f"the {years:g}-year cloudburst of {duration / 60:g} min, the well full"
    runoff = survey.settings["runoff_coefficient"]
    spouts = tuple(spout_flow(spout, rate * runoff * spout.roof_area_m2) for spout in scheme.downspouts)
    delivered = {flow.id: min(flow.peak_m3_s, flow.limit_m3_s) for flow in spouts}
    peaks = pipes.run_peaks(scheme, delivered)
    by_well = {well.id: store for well, store in zip(scheme.wells, stores, strict=True)}
    leaving = leaving_m3_s(scheme, peaks, by_well)
    tail = {
        well.id: well.lip_m + water_levels.head_over_lip_m(scheme, well, leaving[scheme.spills_at(well.id)])
        for well in scheme.wells
    }
    still = {well.id: well.lip_m for well in scheme.wells}
    _, levels = water_levels.cloudburst(scheme, peaks, tail, still, leaving)
    out = {level.id: level.comes_out_m3_s for level in levels}
    wells = []
    for well in scheme.wells:
        parts = [id for id in out if (way := scheme.way(id)) and way[-1].to_id == well.id]
        lost = sum(out[id] for id in parts)
        feeders = {spout.id for spout in scheme.upstream_downspouts(well.id)}
        over = sum(flow.peak_m3_s - delivered[flow.id] for flow in spouts if flow.id in feeders)
        spill = max(leaving[well.id] - lost, 0.0)
        wells.append(
            StressAtWell(
                well=well.id,
                duration_s=duration,
                level_m=well.lip_m + water_levels.head_over_lip_m(scheme, well, spill),
                full_share=1.0,
                spilled_m3=spill * duration,
                refused_m3=(lost + over) * duration,
                goes_to=_goes_to(scheme, well.id),
            )
        )
    return _stress(survey, "cloudburst", what, tuple(wells), levels, "")


def _goes_to(scheme: Scheme, well: str) -> str | None:
    overflow = scheme.overflow_of(well)
    return (overflow.to or overflow.destination) if overflow is not None else None


def _stress(
    survey: Survey,
    key: str,
    what: str,
    wells: tuple[StressAtWell, ...],
    levels: Sequence[WaterLevel],
    note: str,
) -> Stress:
    """Add where the water stands highest: in the pipes no higher than where it comes out, and in the wells."""

    def wanted(level: WaterLevel) -> float:
        return level.storm_m if level.storm_m is not None else level.peak_m

    def stands(level: WaterLevel) -> float:
        return min(wanted(level), level.limit_m)

    top = max(levels, key=stands, default=None)
    reach = max([well.level_m for well in wells] + ([stands(top)] if top is not None else []), default=None)
    opening = survey.lowest_opening_m
    return Stress(
        key=key,
        what=what,
        wells=wells,
        part=top.id if top is not None else None,
        part_level_m=stands(top) if top is not None else None,
        comes_out=tuple(level.id for level in levels if wanted(level) > level.limit_m + 1e-9),
        over_opening_m=reach - opening if reach is not None and opening is not None else None,
        note=note,
    )
