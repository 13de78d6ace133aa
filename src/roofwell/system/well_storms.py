"""The design storms through the wells: each kept by what it rests on, for most edits change nothing of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from roofwell.physics import network
from roofwell.physics.kept import kept
from roofwell.physics.well import storage
from roofwell.system import groundwater
from roofwell.system.behaviour import FloatArray, StormResult
from roofwell.system.facts import Survey
from roofwell.system.linked_wells import places
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow, net_rate_m_s, storm_durations_s, storm_of, storm_step_s

DRY_TAIL_S = 30 * 86400.0
DRAWN_AFTER_S = 2 * 86400.0


@dataclass(frozen=True, slots=True)
class Rain:
    """One design storm: its depths and its net rain (m/s) in each step, shape (n,)."""

    duration_s: float
    step_s: float
    shape: str
    depth_m: FloatArray
    rate_m_s: FloatArray


@dataclass(frozen=True, slots=True)
class Outcome:
    """One storm through one well, linked wells as one: what is told of it. ``own_peak_m3`` is the well's alone;
    ``volume_end_m3`` is drawn: the steps of the rain and of two days after it."""

    own_peak_m3: float
    inflow_m3: float
    peak_m3: float
    spilled_m3: float
    refused_m3: float
    full_after_s: float | None
    empty_after_s: float | None
    volume_end_m3: FloatArray


@dataclass(frozen=True, slots=True)
class Passed:
    """One storm through all wells. ``while_raining``: the trace of each well up to the last step with net rain."""

    while_raining: tuple[network.Trace, ...]
    wells: tuple[Outcome, ...]


def storms_through(
    scheme: Scheme,
    survey: Survey,
    stores: list[network.Store],
    inflow: Inflow,
    rains: tuple[Rain, ...],
    held: groundwater.Held | None = None,
    *,
    with_soaked: bool = False,
) -> tuple[tuple[Passed, ...], tuple[groundwater.Run, ...]]:
    """Let every design storm pass. ``with_soaked``: and return what each well soaks away, step by step."""
    start = start_of(survey, stores)
    dry = min(
        DRY_TAIL_S, 86400.0 + sum(network.drain_time_s(store, float(store.volume_m3[-1])) for store in stores)
    )
    joined = tuple(places(scheme))
    if held is None and not with_soaked:
        return _pass_freely(tuple(stores), inflow, rains, start, dry, joined), ()
    soaked: list[groundwater.Run] = []

    def route(arriving: FloatArray, rain: Rain) -> tuple[network.Trace, ...]:
        traces = (
            network.simulate(stores, arriving, step_s=rain.step_s, start_m3=start)
            if held is None
            else held.storm(stores, arriving, rain.step_s, list(start))
        )
        soaked.append(groundwater.Run(rain.step_s, traces, rain.duration_s))
        return traces

    return tuple(_pass(inflow, rain, dry, joined, route) for rain in rains), tuple(soaked)


def start_of(survey: Survey, stores: Sequence[network.Store]) -> tuple[float, ...]:
    """Return what stands in each well before a storm, m³."""
    return tuple(survey.settings["starting_level"] * float(store.volume_m3[-1]) for store in stores)


def rains_of(survey: Survey) -> tuple[Rain, ...]:
    """Return the storm of every duration up to the design one."""
    out = []
    for duration in storm_durations_s(survey):
        step, storm = storm_step_s(survey, duration), storm_of(survey, duration)
        rate = net_rate_m_s(survey, storm.depth_m, step)
        out.append(Rain(duration, step, storm.shape, storm.depth_m, rate))
    return tuple(out)


def results_of(
    scheme: Scheme, survey: Survey, rains: Sequence[Rain], passed: Sequence[Passed]
) -> tuple[tuple[StormResult, ...], ...]:
    """Return, for each well, what every storm does; the critical one asks most of it."""
    return tuple(
        tuple(
            StormResult(
                return_period_years=survey.targets.storm_years,
                duration_s=rain.duration_s,
                shape=rain.shape,
                rain_m=float(np.sum(rain.depth_m)),
                inflow_m3=one.inflow_m3,
                peak_m3=one.peak_m3,
                spilled_m3=one.spilled_m3,
                refused_m3=one.refused_m3,
                full_after_s=one.full_after_s,
                empty_after_s=one.empty_after_s,
                peak_depth_m=float(storage.depth_of_volume_m(well.layers, np.array([one.own_peak_m3]))[0]),
                peak_intensity_m_s=float(np.max(rain.depth_m)) / rain.step_s,
            )
            for rain, through in zip(rains, passed, strict=True)
            for one in (through.wells[j],)
        )
        for j, well in enumerate(scheme.wells)
    )


def drawn(rain: Rain, one: Outcome) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return a storm as it is drawn: the ends of its steps, s, the rain in each, m, and the water in the well, m³."""
    times = rain.step_s * np.arange(1, one.volume_end_m3.size + 1, dtype=np.float64)
    fell = np.zeros(times.size)
    fell[: rain.depth_m.size] = rain.depth_m[: times.size]
    return times, fell, one.volume_end_m3


@kept(24)
def _pass_freely(
    stores: tuple[network.Store, ...],
    inflow: Inflow,
    rains: tuple[Rain, ...],
    start_m3: tuple[float, ...],
    dry_s: float,
    joined: tuple[tuple[int, ...], ...],
) -> tuple[Passed, ...]:
    """Let each storm pass with nothing that holds the wells' soakage back; most edits of a job change nothing of it."""

    def route(arriving: FloatArray, rain: Rain) -> tuple[network.Trace, ...]:
        return network.simulate(stores, arriving, step_s=rain.step_s, start_m3=start_m3)

    return tuple(_pass(inflow, rain, dry_s, joined, route) for rain in rains)


def _pass(
    inflow: Inflow,
    rain: Rain,
    dry_s: float,
    joined: Sequence[Sequence[int]],
    route: Callable[[FloatArray, Rain], tuple[network.Trace, ...]],
) -> Passed:
    """Let one storm pass, with ``dry_s`` after it."""
    step = rain.step_s
    arriving, refused = inflow(np.concatenate([rain.rate_m_s, np.zeros(int(dry_s // step) + 1)]))
    traces = route(arriving, rain)
    wet = np.flatnonzero(rain.rate_m_s > 0)
    wells = []
    for j, group in enumerate(joined):
        trace = network.summed([traces[k] for k in group])  # linked wells are one store
        drawn = min(rain.depth_m.size + int(DRAWN_AFTER_S // step), len(trace.volume_end_m3))
        wells.append(
            Outcome(
                own_peak_m3=float(np.max(traces[j].volume_peak_m3)),
                inflow_m3=float(np.sum(trace.inflow_m3)),
                peak_m3=float(np.max(trace.volume_peak_m3)),
                spilled_m3=float(np.sum(trace.spilled_m3)),
                refused_m3=float(np.sum(trace.refused_m3) + np.sum(refused[:, list(group)]) * step),
                full_after_s=trace.first_full_s,
                empty_after_s=trace.emptied_after_s,
                volume_end_m3=trace.volume_end_m3[:drawn].copy(),
            )
        )
    raining = tuple(network.first_steps(trace, int(wet[-1]) + 1 if wet.size else 1) for trace in traces)
    return Passed(raining, tuple(wells))
