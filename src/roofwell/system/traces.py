"""Traces for drawings, worked out when a paper asks for them: depth through the worst storm, every spill of the record,
the well running empty. Storms and mounds are
run once more, spills are those that the judged run kept."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from statistics import NormalDist

import numpy as np

from roofwell.job import model
from roofwell.physics import network
from roofwell.physics.soil.predictive import predictive_log_spread
from roofwell.physics.well import storage
from roofwell.system import groundwater
from roofwell.system.behaviour import Behaviour, FloatArray, StormResult, WellBehaviour
from roofwell.system.chance import soil_spread
from roofwell.system.facts import Survey
from roofwell.system.mound_section import MoundSection, mound_section
from roofwell.system.rainfall import record_basis, stores_of
from roofwell.system.scheme import Scheme, Well
from roofwell.system.storm_run import net_rate_m_s, storm_of, storm_step_s
from roofwell.system.well_record import SPILL_SHARE, RecordBasis, inflow_of, linked_stores, soaked_m3
from roofwell.system.well_storms import DRY_TAIL_S

RARE = 0.1
"""Share of chances that the band of the soil leaves out on either side (own choice)."""
_POINTS_A_STRETCH = 12  # of the drawdown between two nodes of the store
_SAME_PIT = (
    0.02  # a filled hole is the well's own where floor and perimeter differ by no more than this share
)


@dataclass(frozen=True, slots=True)
class StormTrace:
    """One well through the design storm that asks most of it.

    Arrays have a value for each step, shape (n,), until the well is empty again. ``time_s``: end of the step, from the
    start of the rain. Depths are over the pit's bottom, m. ``spills_s``: from when to when it spills, None where it
    does not; of a storm that spills twice, from the first to the last.
    """

    well: str
    storm: StormResult
    step_s: float
    lip_depth_m: float
    inlet_depth_m: float | None
    start_depth_m: float
    time_s: FloatArray
    rain_m: FloatArray
    depth_m: FloatArray
    inflow_m3: FloatArray
    spilled_m3: FloatArray
    spills_s: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Spill:
    """One rain event of the record in which water leaves over the ground or never gets in: when it began to, how much."""

    at: datetime
    volume_m3: float


@dataclass(frozen=True, slots=True)
class SpillTrace:
    """Every spill of all wells as one system.

    ``snow_months``: months that may bring snow, 0 for January, None where not known.
    """

    record: str
    first: date
    years: float
    spills: tuple[Spill, ...]
    snow_months: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True)
class FillReading:
    """One timed filling of the well's own hole, as the well itself would take it.

    Depths over the bottom, m; ``time_s`` as timed; ``well_time_s``: the same with stone and bodies in the hole, which
    leave less room for water; ``start_s``: when the well as tested has fallen from full to ``start_m``.
    """

    test: str
    start_m: float
    end_m: float
    time_s: float
    well_time_s: float
    start_s: float


@dataclass(frozen=True, slots=True)
class DrawdownTrace:
    """A full well running empty, with no rain and no mound.

    ``time_s`` and ``depth_m``: with the design's rate, shape (n,), from full to empty. Times at another rate are these
    times design rate over rate: ``tested`` times as fast with the soil as tested, before its safety factor;
    ``slow``, ``fast``: at the rate that 9 chances in 10, and 1 in 10, do not fall short of; at the ends of the soil's
    range where nobody tested it, ``chance_known`` then being False. ``within_limit``: chance that it is empty within
    the limit by the soil's scatter, None where not known. ``beside``: fill tests that cannot be drawn, and why.
    """

    well: str
    lip_depth_m: float
    time_s: FloatArray
    depth_m: FloatArray
    drain_s: float
    limit_s: float
    limit_from: str
    tested: float
    slow: float
    fast: float
    chance_known: bool
    within_limit: float | None
    readings: tuple[FillReading, ...]
    beside: tuple[str, ...]

    def drain_at_s(self, speed: float) -> float:
        """Return the time from full to empty at so many times the design's rate, s."""
        return self.drain_s / speed if speed > 0 else math.inf


@dataclass(frozen=True, slots=True)
class Traces:
    """All of them; a list is empty where there is no well, ``spills`` None where there is no record."""

    storms: tuple[StormTrace, ...]
    spills: SpillTrace | None
    drawdowns: tuple[DrawdownTrace, ...]
    mounds: tuple[MoundSection, ...]


def traces(job: model.Job, scheme: Scheme, survey: Survey, behaviour: Behaviour) -> Traces:
    """Return the traces of a judged Scheme.

    Parameters
    ----------
    job
        For the fill tests as they were read.
    behaviour
        The judged run of the Scheme, with its record and mounds.
    """
    if not scheme.wells or not all(well.layers for well in scheme.wells) or not survey.settings:
        return Traces((), None, (), ())
    made, run = rerun(scheme, survey, behaviour)
    through = run.record()
    held = run.held(through)
    storms = tuple(
        _storm(run, j, well, held) for j, well in enumerate(behaviour.wells) if well.critical is not None
    )
    mounds = tuple(
        mound_section(scheme, survey, behaviour, j, run.storm(well.mound.storm_duration_s, None), through)
        for j, well in enumerate(behaviour.wells)
        if well.mound is not None and survey.soil.high_water_m is not None
    )
    return Traces(
        storms,
        spill_trace(survey, behaviour),
        tuple(
            _drawdown(job, survey, well, found, made[well.id])
            for well, found in zip(scheme.wells, behaviour.wells, strict=True)
        ),
        mounds,
    )


def rerun(scheme: Scheme, survey: Survey, behaviour: Behaviour) -> tuple[dict[str, network.Store], Rerun]:
    """Return the store of every well by itself, and the judged run to be taken up once more."""
    rate = survey.soil.best_m_s / survey.soil.safety_factor
    record = record_basis(survey)
    made = stores_of(scheme, survey, behaviour.downspouts, rate, record[0])
    return made, Rerun(scheme, survey, behaviour, linked_stores(scheme, made), record)


@dataclass(frozen=True, slots=True)
class Rerun:
    """The judged run once more, storm by storm."""

    scheme: Scheme
    survey: Survey
    behaviour: Behaviour
    stores: list[network.Store]
    basis: RecordBasis

    def storm(self, duration_s: float, held: groundwater.Held | None) -> groundwater.Run:
        """Let one design storm run through the wells until they are dry, as ``well_rain`` does."""
        survey, stores = self.survey, self.stores
        start = [survey.settings["starting_level"] * float(store.volume_m3[-1]) for store in stores]
        drains = [network.drain_time_s(store, float(store.volume_m3[-1])) for store in stores]
        dry = min(DRY_TAIL_S, 86400.0 + sum(drains))
        step, storm = storm_step_s(survey, duration_s), storm_of(survey, duration_s)
        rate = net_rate_m_s(survey, storm.depth_m, step)
        inflow = inflow_of(self.scheme, self.behaviour.downspouts)
        arriving, _ = inflow(np.concatenate([rate, np.zeros(int(dry // step) + 1)]))
        found = (
            network.simulate(stores, arriving, step_s=step, start_m3=start)
            if held is None
            else held.storm(stores, arriving, step, start)
        )
        return groundwater.Run(step, found, duration_s)

    def record(self) -> groundwater.Run | None:
        """Let the long record run through the wells, held back by nothing; None without one."""
        record, net = self.survey.rain.record, self.basis[0]
        if record is None or net is None or self.behaviour.record is None:
            return None
        step = float(record.step_s)
        inflow, runoff = (
            inflow_of(self.scheme, self.behaviour.downspouts),
            self.survey.settings["runoff_coefficient"],
        )
        soaked = soaked_m3(self.stores, inflow, net, runoff=runoff, step_s=step)
        return groundwater.Run(step, (), soaked=soaked)

    def reached(self) -> bool:
        """Say whether a mound reaches a well and holds its soakage back."""
        high = self.survey.soil.high_water_m
        return high is not None and any(
            found.mound is not None and found.mound.rise_m > well.bottom_m - high
            for well, found in zip(self.scheme.wells, self.behaviour.wells, strict=True)
        )

    def held(self, record: groundwater.Run | None) -> groundwater.Held | None:
        """Return what holds the soakage back; None where no mound reaches its well."""
        pairs = list(zip(self.scheme.wells, self.behaviour.wells, strict=True))
        if not self.reached():
            return None
        durations = sorted({storm.duration_s for _, found in pairs for storm in found.storms})
        return groundwater.mounds(
            self.scheme,
            self.survey,
            [found for _, found in pairs],
            measured_m_s=self.survey.soil.best_m_s,
            storms=[self.storm(duration, None) for duration in durations],
            record=record,
        )[1]


def _storm(run: Rerun, j: int, found: WellBehaviour, held: groundwater.Held | None) -> StormTrace:
    storm, well, store = found.critical, run.scheme.wells[j], run.stores[j]
    assert storm is not None
    through = run.storm(storm.duration_s, held)
    trace, step = through.traces[j], through.step_s
    rain = storm_of(run.survey, storm.duration_s).depth_m
    wet = np.flatnonzero(trace.volume_end_m3 > store.empty_m3)
    count = min(trace.volume_end_m3.size, max(rain.size, int(wet[-1]) + 2 if wet.size else 0))
    spilled = trace.spilled_m3[:count]
    spilling = np.flatnonzero(spilled > SPILL_SHARE * float(store.volume_m3[-1]))
    spills = None
    if spilling.size:
        first = trace.first_full_s if trace.first_full_s is not None else step * float(spilling[0])
        spills = (float(first), step * float(spilling[-1] + 1))
    start = run.survey.settings["starting_level"] * float(store.volume_m3[-1])
    volumes = np.clip(np.concatenate([[start], trace.volume_end_m3[:count]]), 0.0, float(store.volume_m3[-1]))
    depth = storage.depth_of_volume_m(well.layers, volumes)
    inlet = well.inlet_invert_m - well.bottom_m
    return StormTrace(
        well=well.id,
        storm=storm,
        step_s=step,
        lip_depth_m=well.layers[-1].top_m,
        inlet_depth_m=inlet if math.isfinite(inlet) and 0 < inlet < well.layers[-1].top_m else None,
        start_depth_m=float(depth[0]),
        time_s=np.asarray(step * np.arange(1, count + 1), dtype=np.float64),
        rain_m=np.concatenate([rain, np.zeros(max(0, count - rain.size))])[:count],
        depth_m=depth[1:],
        inflow_m3=trace.inflow_m3[:count],
        spilled_m3=spilled,
        spills_s=spills,
    )


def spill_trace(survey: Survey, behaviour: Behaviour) -> SpillTrace | None:
    """Return the spills of the judged record, with their dates; None without one."""
    record, told = survey.rain.record, behaviour.record
    if record is None or told is None or told.spill_at_s is None or told.spill_m3 is None:
        return None
    begins = (record.start + np.round(told.spill_at_s).astype("timedelta64[s]")).tolist()
    return SpillTrace(
        told.name,
        record.start.astype("datetime64[D]").item(),
        record.years,
        tuple(Spill(at, float(volume)) for at, volume in zip(begins, told.spill_m3, strict=True)),
        survey.rain.snow_months,
    )


def _drawdown(
    job: model.Job, survey: Survey, well: Well, found: WellBehaviour, store: network.Store
) -> DrawdownTrace:
    soil, full, drain = survey.soil, float(store.volume_m3[-1]), found.drain_time_s
    ends = np.unique(np.append(store.volume_m3, store.empty_m3))
    stretches = [
        np.linspace(low, high, _POINTS_A_STRETCH, endpoint=False) for low, high in itertools.pairwise(ends)
    ]
    volumes = np.append(np.concatenate(stretches), full)
    volumes = volumes[volumes >= store.empty_m3][::-1]
    if math.isfinite(drain):
        # what is left at a volume is exact, so the time down to it is too
        time = np.array([max(0.0, drain - network.drain_time_s(store, float(v))) for v in volumes])
    else:
        volumes, time = volumes[:1], np.zeros(1)
    depth = storage.depth_of_volume_m(well.layers, np.minimum(volumes, storage.full_volume_m3(well.layers)))
    tested, known = soil.safety_factor, soil_spread(survey)
    within = None
    limit = survey.targets.empty_s
    if known is not None:
        spread = predictive_log_spread(log_spread=known[0], count=known[1])
        swing = math.exp(NormalDist().inv_cdf(1.0 - RARE) * spread)
        slow, fast = tested / swing, tested * swing
        if math.isfinite(drain) and drain > 0 and spread > 0:
            within = NormalDist().cdf(math.log(limit * tested / drain) / spread)
    else:
        slow, fast = (tested * end / soil.best_m_s for end in (soil.low_m_s, soil.high_m_s))
    trace = DrawdownTrace(
        well=well.id,
        lip_depth_m=well.layers[-1].top_m,
        time_s=time,
        depth_m=depth,
        drain_s=drain,
        limit_s=limit,
        limit_from=survey.targets.empty_from,
        tested=tested,
        slow=slow,
        fast=fast,
        chance_known=known is not None,
        within_limit=within,
        readings=(),
        beside=(),
    )
    return _with_readings(trace, job, well)


def _with_readings(trace: DrawdownTrace, job: model.Job, well: Well) -> DrawdownTrace:
    """Add the fillings of the well's own hole."""
    readings: list[FillReading] = []
    beside: list[str] = []
    for test in job.soil.fill_tests:
        if test.well != well.id and not (test.well is None and len(job.wells) <= 1):
            continue
        sizes = [s.value_si for s in (test.diameter, test.length, test.width) if s is not None]
        own = [well.pit_width_m] if well.pit_shape == "round" else [well.pit_length_m, well.pit_width_m]
        if sizes and not _alike(sizes, own):
            beside.append(f"{test.id}: its hole is not of the pit's size")
            continue
        voids = test.voids.value_si if test.voids is not None else 1.0
        for fill in test.fills:
            start, end = fill.water_start.value_si, fill.water_end.value_si if fill.water_end else 0.0
            if not 0.0 <= end < start <= trace.lip_depth_m:
                beside.append(f"{test.id}: filled over the lip")
                continue
            low, high = storage.storage_volume_m3(well.layers, np.array([end, start]))
            share = float(high - low) / (well.layers[0].pit_area_m2 * voids * (start - end))
            begins = float(np.interp(-start, -trace.depth_m, trace.time_s)) / trace.tested
            time = fill.time.value_si
            readings.append(FillReading(test.id, start, end, time, time * share, begins))
    return replace(trace, readings=tuple(readings), beside=tuple(dict.fromkeys(beside)))


def _alike(sizes: Sequence[float], own: Sequence[float]) -> bool:
    return len(sizes) == len(own) and all(
        abs(a - b) <= _SAME_PIT * b for a, b in zip(sorted(sizes), sorted(own), strict=True)
    )
