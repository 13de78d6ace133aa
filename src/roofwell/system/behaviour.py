"""Behaviour: what the Scheme does when it rains. Values only; the steps that make them stand in ``rainfall``."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DownspoutFlow:
    """Peak flow at one downspout beside what each element of it carries, m³/s.

    ``governs`` names the smallest: "gutter", "outlet", "downspout". None where a size is missing.
    """

    id: str
    area_m2: float
    peak_m3_s: float
    gutter_m3_s: float | None
    outlet_m3_s: float | None
    leader_m3_s: float | None
    governs: str | None
    limit_m3_s: float  # least of the three known ones, inf if none is known


@dataclass(frozen=True, slots=True)
class RunFlow:
    """One run in the design cloudburst.

    Levels are water levels (elevations, m) with the wells full and the head over the overflow on top.
    ``full_m3_s`` is what the pipe carries running full at its own slope (0 where it does not fall).
    """

    id: str
    peak_m3_s: float
    full_m3_s: float
    velocity_m_s: float
    full_velocity_m_s: float
    depth_ratio: float | None  # normal depth over diameter; None when it runs full
    level_up_m: float
    level_down_m: float
    surcharged: bool


@dataclass(frozen=True, slots=True)
class WaterLevel:
    """Water level at a part: well full and still; and in the cloudburst. ``limit_m``: where it comes out."""

    id: str
    what: str  # "downspout joint", "basin grate", "wye cover"
    still_m: float
    peak_m: float
    limit_m: float


@dataclass(frozen=True, slots=True)
class StandingWater:
    """Water that stands for good in the pipe above a basin with a low inlet and a high outlet."""

    basin: str
    run: str
    wet_length_m: float
    brimful_length_m: float
    volume_m3: float
    fall_lost_m: float


@dataclass(frozen=True, slots=True)
class StormResult:
    """One design storm through one well."""

    return_period_years: float
    duration_s: float
    shape: str
    rain_m: float
    inflow_m3: float
    peak_m3: float
    spilled_m3: float
    refused_m3: float
    full_after_s: float | None
    empty_after_s: float | None
    peak_depth_m: float
    peak_intensity_m_s: float


@dataclass(frozen=True, slots=True)
class RecordResult:
    """A long gauge record through one well."""

    name: str
    years: float
    step_s: float
    rain_m_year: float
    missing_share: float
    rain_events: int
    spill_events: int
    spills_year: float
    captured_share: float
    spilled_m3_year: float
    refused_m3_year: float
    longest_wet_s: float


@dataclass(frozen=True, slots=True)
class WellBehaviour:
    """One well in every storm and through the record.

    ``holds_rain_m`` is its storage as a depth of rain on its roof. ``trace`` is the governing storm, for
    drawing: times (s), rain (m per step), volume (m³).
    """

    id: str
    roof_area_m2: float
    storage_m3: float
    holds_rain_m: float
    soakage_full_m3_s: float
    drain_time_s: float
    storms: tuple[StormResult, ...]
    critical: StormResult | None
    record: RecordResult | None
    record_low: RecordResult | None
    record_high: RecordResult | None
    cloudburst_fill_s: float | None
    trace_time_s: FloatArray
    trace_rain_m: FloatArray
    trace_volume_m3: FloatArray
    head_over_lip_m: float
    overflow_peak_m3_s: float
    overflow_half_blocked_m3_s: float


@dataclass(frozen=True, slots=True)
class BasinBehaviour:
    """What a basin keeps: the smallest grain it settles at three rain intensities."""

    id: str
    intensity_m_s: tuple[float, ...]
    flow_m3_s: tuple[float, ...]
    grain_m: tuple[float, ...]
    outlet_nominal_m: float
    sump_m: float


@dataclass(frozen=True, slots=True)
class Behaviour:
    """Everything that needs rain. ``intensity_m_s`` is that of the design cloudburst (5 minutes)."""

    return_period_years: float
    intensity_m_s: float
    cloudburst_duration_s: float
    peak_m3_s: float
    downspouts: tuple[DownspoutFlow, ...]
    runs: tuple[RunFlow, ...]
    levels: tuple[WaterLevel, ...]
    standing: tuple[StandingWater, ...]
    wells: tuple[WellBehaviour, ...]
    basins: tuple[BasinBehaviour, ...]

    def well(self, id: str) -> WellBehaviour:
        """Return the behaviour of one well."""
        return next(item for item in self.wells if item.id == id)

    def run(self, id: str) -> RunFlow:
        """Return the flow in one run."""
        return next(item for item in self.runs if item.id == id)
