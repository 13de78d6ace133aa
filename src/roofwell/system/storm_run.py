"""Rain from the table through the wells: which durations, in which steps, and one run of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roofwell.physics import network
from roofwell.physics.kept import kept
from roofwell.physics.rain import storms
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.system.behaviour import FloatArray
from roofwell.system.facts import Survey

STORM_MINUTES = (5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880)
STORM_STEP_S = 300.0


@dataclass(frozen=True, slots=True)
class Inflow:
    """What rain brings to each well. ``feeders``: of each well, the roof area, m², and the limit, m³/s, of every
    downspout that leads to it."""

    feeders: tuple[tuple[tuple[float, float], ...], ...]

    def __call__(self, rate_m_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return what a rain (m/s, shape (n,)) brings to each well and what its gutters and downspouts do not take, both
        m³/s, shape (n, wells)."""
        arriving = np.zeros((len(rate_m_s), len(self.feeders)))
        refused = np.zeros((len(rate_m_s), len(self.feeders)))
        wet = np.flatnonzero(rate_m_s)
        falls = rate_m_s[wet]
        for j, spouts in enumerate(self.feeders):
            came, turned = np.zeros(len(wet)), np.zeros(len(wet))
            for area, limit in spouts:
                wanted = falls * area
                taken = np.minimum(wanted, limit)
                came += taken
                turned += wanted - taken
            arriving[wet, j] = came
            refused[wet, j] = turned
        return arriving, refused


@dataclass(frozen=True, slots=True)
class Routed:
    """One rain through all wells. ``rate_m_s``: net rain, shape (n,); ``refused_m3``: what gutters, downspouts and
    inlets did not take, of each well, shape (wells,); ``start_m3``: what stood in each well before it."""

    duration_s: float
    step_s: float
    rate_m_s: FloatArray
    traces: tuple[network.Trace, ...]
    refused_m3: FloatArray
    start_m3: tuple[float, ...]


def storm_durations_s(survey: Survey) -> tuple[float, ...]:
    """Return the durations of the design storms that the table holds, the shortest first, s."""
    table = survey.rain.table
    shortest, most = float(table.duration_s[0]), float(table.duration_s[-1])
    longest = max(shortest, min(survey.settings["storm_duration"], most))
    return tuple(sorted({longest, *(60.0 * m for m in STORM_MINUTES if shortest <= 60.0 * m < longest)}))


def storm_step_s(survey: Survey, duration_s: float) -> float:
    """Return the step of a storm: five minutes where the table reaches down to it, else the table's shortest."""
    shortest = float(survey.rain.table.duration_s[0])
    if shortest <= STORM_STEP_S and duration_s % STORM_STEP_S == 0:
        return STORM_STEP_S
    return duration_s / (duration_s // shortest)  # as short as the table reaches, and a whole number of them


def storm_of(
    survey: Survey, duration_s: float, *, years: float | None = None, shape: str | None = None
) -> storms.DesignStorm:
    """Return the storm of a duration; the design storm's return period and the job's shape where left out."""
    return _storm(
        survey.rain.table,
        survey.targets.storm_years if years is None else years,
        duration_s,
        storm_step_s(survey, duration_s),
        (shape or survey.storm_shape) == "uniform",
    )


@kept(256)
def _storm(
    table: FrequencyTable, years: float, duration_s: float, step_s: float, uniform: bool
) -> storms.DesignStorm:
    make = storms.uniform_block if uniform else storms.alternating_block
    return make(table, return_period_years=years, duration_s=duration_s, step_s=step_s)


def less_first(depth_m: FloatArray, loss_m: float) -> FloatArray:
    """Take the roof's loss from the first rain."""
    total = np.cumsum(depth_m)
    return np.diff(np.maximum(total - loss_m, 0.0), prepend=0.0)


def net_rate_m_s(survey: Survey, depth_m: FloatArray, step_s: float) -> FloatArray:
    """Return the rain that runs off, m/s: less the roof's loss at its beginning, times the runoff coefficient."""
    net = less_first(depth_m, survey.settings["initial_loss"])
    return np.asarray(net * survey.settings["runoff_coefficient"] / step_s, dtype=np.float64)


def route(
    stores: Sequence[network.Store],
    inflow: Inflow,
    rate_m_s: FloatArray,
    *,
    duration_s: float,
    step_s: float,
    start_m3: Sequence[float],
) -> Routed:
    """Let one rain run through the wells."""
    arriving, turned_away = inflow(rate_m_s)
    traces = network.simulate(stores, arriving, step_s=step_s, start_m3=start_m3)
    refused = np.array([float(np.sum(trace.refused_m3)) for trace in traces])
    return Routed(
        duration_s,
        step_s,
        rate_m_s,
        traces,
        refused + np.sum(turned_away, axis=0) * step_s,
        tuple(float(start) for start in start_m3),
    )
