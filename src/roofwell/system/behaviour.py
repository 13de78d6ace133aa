"""Behaviour: what the Scheme does when it rains. Values only; the steps that make them stand in ``rainfall``."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from roofwell.system.ageing_facts import Ageing
from roofwell.system.beyond_facts import Beyond
from roofwell.system.debris_facts import Debris, Span
from roofwell.system.overland_facts import Overland
from roofwell.system.what_if_facts import WhatIfs

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CodeCapacity:
    """What a code or handbook lets an element carry, m³/s; ``rule`` names it and its edition."""

    element: str  # "gutter" or "downspout"
    rule: str
    flow_m3_s: float
    source: str


@dataclass(frozen=True, slots=True)
class ArmFlow:
    """Water along one arm of a gutter in the cloudburst, from its far end to the outlet.

    ``control``: "free fall", "hole" or "inside" (a critical section at ``critical_at_m``).
    """

    length_m: float
    flow_m3_s: float
    control: str
    critical_at_m: float | None
    jump_at_m: float | None
    station_m: FloatArray
    depth_m: FloatArray
    velocity_m_s: FloatArray


@dataclass(frozen=True, slots=True)
class ValleyFlow:
    """A valley in the cloudburst: how far its water has come out when it passes the brim, against the gutter's
    front, both from the roof's edge, m. ``reach_m`` is None where the pitch is not known."""

    at_m: float
    arm: int
    flow_m3_s: float
    velocity_m_s: float | None
    reach_m: float | None
    front_m: float


@dataclass(frozen=True, slots=True)
class GutterFlow:
    """A gutter with its outlet in the cloudburst.

    ``together_m3_s``: flow at which the water first reaches the brim less its freeboard, with the hole at work;
    that happens ``full_at_m`` from the outlet in arm ``full_arm``. ``brim_margin_m``: least room to the brim in
    the cloudburst, negative where the water would stand over it, ``brim_at_m`` from the outlet.
    ``hole_head_m``: depth that the hole needs; it acts as ``hole_acts_as`` ("weir" or "orifice").
    ``guard_m3_s``: what a guard lets in, None where it lets in all; ``overshoot_m3_s``: what it does not.
    """

    together_m3_s: float
    control: str
    full_arm: int
    full_at_m: float
    brim_margin_m: float
    brim_arm: int
    brim_at_m: float
    hole_head_m: float
    hole_acts_as: str
    guard_m3_s: float | None
    overshoot_m3_s: float
    arms: tuple[ArmFlow, ...]
    valleys: tuple[ValleyFlow, ...]


@dataclass(frozen=True, slots=True)
class DownspoutFlow:
    """Peak flow at one downspout beside what each element of it carries, m³/s.

    ``governs`` names the smallest: "gutter", "outlet", "guard", "elbows", "downspout". None where a size is missing.
    ``limit_m3_s`` is what passes all of them, gutter and outlet working together.
    """

    id: str
    area_m2: float
    peak_m3_s: float
    gutter_m3_s: float | None
    outlet_m3_s: float | None
    leader_m3_s: float | None
    governs: str | None
    limit_m3_s: float  # least of the known ones, inf if none is known
    elbows_m3_s: float | None = None
    gutter: GutterFlow | None = None
    codes: tuple[CodeCapacity, ...] = ()


@dataclass(frozen=True, slots=True)
class RunFlow:
    """One run in the design cloudburst.

    Levels are water levels (elevations, m) with the wells full and the head over the overflow on top; where
    water comes out of a joint it stands no higher there.
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
    slope_class: str = "mild"  # mild, steep, critical, horizontal, adverse
    curve: str = "uniform"  # name of the water surface at the lower end: M1, S2 ...; full; still
    critical_depth_m: float = 0.0
    jump_m: float | None = None  # hydraulic jump, distance from the lower end
    full_length_m: float = 0.0  # from the lower end
    control: str = "entrance"  # what sets the level at the upper end: entrance, backwater


@dataclass(frozen=True, slots=True)
class WaterLevel:
    """Water level at a part: well full and still; and in the cloudburst. ``limit_m``: where it comes out.

    ``peak_m`` is where the water would have to rise in the cloudburst to bring all that comes, with what comes out
    further down already gone; ``reach_m`` is where it stands, and ``comes_out_m3_s`` what comes out here. ``storm_m``:
    the worst of all routed storms, with the storm's duration and the instant in it; None where none was routed.
    """

    id: str
    what: str  # "downspout joint", "basin grate"
    still_m: float
    peak_m: float
    limit_m: float
    reach_m: float = math.nan
    comes_out_m3_s: float = 0.0
    storm_m: float | None = None
    storm_duration_s: float | None = None
    storm_instant_s: float | None = None


@dataclass(frozen=True, slots=True)
class Surfacing:
    """Where a routed storm first comes out of the pipes, and when; ``out_m3_s``: what comes out there then."""

    duration_s: float
    instant_s: float
    part: str
    what: str
    out_m3_s: float


@dataclass(frozen=True, slots=True)
class StandingWater:
    """Water that stands in a pipe above a basin with a low inlet and a high outlet, or above a run that rises.

    ``volume_m3`` is that of pipe and sump; ``pipe_volume_m3`` of the pipe alone. The ``design`` values are those
    of the cloudburst with the wells full: length of pipe that has backed-up water in it, and that is full.
    ``slope_if_raised_m_m``: slope of the pipe with its lower end raised to ``level_m``, where the water stands.
    ``rising_run``: the run that keeps it back; empty where a ``basin`` does. ``weep_holes``: of that basin; above 0, the
    water stands only until they have drained it, else for good.
    """

    basin: str
    run: str
    wet_length_m: float
    brimful_length_m: float
    volume_m3: float
    fall_lost_m: float
    pipe_volume_m3: float = 0.0
    design_wet_length_m: float = 0.0
    design_full_length_m: float = 0.0
    slope_if_raised_m_m: float = 0.0
    hood: bool = False
    weep_holes: int = 0
    level_m: float = math.nan
    rising_run: str = ""


@dataclass(frozen=True, slots=True)
class HeldWater:
    """Water that a part holds between rains: its depth, and how far its surface lies under the ground, m.

    ``above_frost`` is None where the frost depth of the place is not given. ``closes``: share of its ``way`` (bore of the
    pipe, mouth of the hood; "" where ice closes none) that ice down to the frost depth closes, None where that was not
    given; ``closes_most``: in any frost. ``way_under_m``: how far the way's closing depth lies under the ground.
    """

    id: str
    what: str
    depth_m: float
    under_ground_m: float
    above_frost: bool | None
    way: str = ""
    closes: float | None = None
    closes_most: float = 0.0
    way_under_m: float = math.nan


@dataclass(frozen=True, slots=True)
class WeepTime:
    """How long a basin takes to drain through its weep holes, with the pipes that stand behind it.

    ``basin_m3`` and ``pipe_m3``: water over the floor, ``depth_m`` deep; ``runs`` it stands in. ``empty_s`` with all holes
    open, ``half_s`` with half of them plugged, each with the fastest, the design and the slowest soil; with all
    plugged it never does. ``soil_s``: how much of it the soil held it
    back. ``stands_m``: depth of groundwater that stands in it for good at its seasonal high.
    """

    basin: str
    basin_m3: float
    pipe_m3: float
    depth_m: float
    runs: tuple[str, ...]
    soil_area_m2: float
    bed_m3: float
    holes_m3_s: float
    soil_m3_s: float
    empty_s: Span
    half_s: Span
    soil_s: float
    bed_s: float
    stands_m: float


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
    """A long gauge record through one well.

    ``greatest_spill_m3_s``: what leaves over the ground in the worst step of the record, evened out over that step;
    ``greatest_spill_m3``: in the worst rain event. ``spill_at_s``: of each spill the start of the first step in which
    water leaves or does not get in, from the start of the record; ``spill_m3``: all of that water.
    """

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
    greatest_spill_m3_s: float = 0.0
    greatest_spill_m3: float = 0.0
    snow_spill_events: int | None = (
        None  # of spill_events, in months that may bring snow; None where those are not known
    )
    spill_at_s: FloatArray | None = field(default=None, compare=False, repr=False)
    spill_m3: FloatArray | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class DonorRange:
    """How far the figures of a scaled record may be off: those of the same wells, in rain so much stronger and weaker that
    the share taken in moves by the stated range, and in the other accepted records. Low and high of each.

    ``spills_year``: of each well by its id. ``donors``: name, system's spills a year and share taken in of each accepted
    record, the one in use first.
    """

    captured_low: float
    captured_high: float
    system_spills_year: tuple[float, float]
    spills_year: tuple[tuple[str, float, float], ...]
    donors: tuple[tuple[str, float, float], ...]

    def of(self, well: str) -> tuple[float, float]:
        """Return the least and the most spills a year of a well."""
        return next((low, high) for id, low, high in self.spills_year if id == well)


@dataclass(frozen=True, slots=True)
class MoundTerms:
    """A mound's answer to steady recharge as positive exponentials: Σ amount (1 − exp(−t/τ)), m for each m/s.

    ``fit_error``: greatest error as a share of the answer at the end of the time fitted.
    """

    amount_s: tuple[float, ...]
    tau_s: tuple[float, ...]
    fit_error: float


@dataclass(frozen=True, slots=True)
class MoundAtWall:
    """Rise of the groundwater at the wall of a building, m, ``distance_m`` from the middle of the pit.

    ``floor_m``: elevation of its lowest floor, None where not known; ``basement`` None where nobody said.
    """

    id: str
    neighbor: bool
    distance_m: float
    rise_m: float
    floor_m: float | None
    basement: bool | None


@dataclass(frozen=True, slots=True)
class HeldByMound:
    """What the long record was like before the mound held the soakage back, and how finely it was followed.

    ``held_s``: time in which some mound held its well back; ``step_s``: the step that was fine enough;
    ``spill_change``: what the last halving of it changed of the spill, as a share.
    """

    spills_year_without: float
    held_s: float
    step_s: float
    spill_change: float


@dataclass(frozen=True, slots=True)
class Mound:
    """The mound on the groundwater under the middle of a well, as rises over the water table at rest, m.

    ``solution`` names the one that governs: "three-dimensional" where the well is narrower than the saturated
    ground is thick, else "level flow". ``footprint_m2`` takes the soaked water without passing the conductivity.
    ``storm_m``: under the worst of the design storms; ``month_m``: in the wettest 30 days of the record;
    ``record_m``: highest in the whole record; both None without one. ``storm_level_flow_m`` and
    ``storm_three_dimensional_m``: the storm by either solution. ``in_range``: the rise stays below half the
    saturated thickness. All rises are those of soakage that no mound holds back; ``held`` says what came of it where
    one did.
    """

    solution: str
    thickness_m: float
    specific_yield: float
    horizontal_m_s: float
    vertical_m_s: float
    footprint_m2: float
    storm_m: float
    storm_duration_s: float
    storm_level_flow_m: float
    storm_three_dimensional_m: float
    month_m: float | None
    record_m: float | None
    in_range: bool
    level_flow: MoundTerms
    three_dimensional: MoundTerms
    walls: tuple[MoundAtWall, ...] = ()
    held: HeldByMound | None = None

    @property
    def rise_m(self) -> float:
        """The highest of storm and record."""
        return max(self.storm_m, self.record_m or 0.0)


@dataclass(frozen=True, slots=True)
class Lift:
    """A closed body that stands empty under the seasonal high water and the mound: masses, kg; elevations, m."""

    id: str
    water_m: float
    base_m: float
    uplift_kg: float
    resisting_kg: float
    fills: bool


@dataclass(frozen=True, slots=True)
class OfficeCount:
    """One well in the design storms with its soakage counted as the permit office prescribes, without a mound."""

    model: str
    soakage_full_m3_s: float
    drain_time_s: float
    storms: tuple[StormResult, ...]
    critical: StormResult | None


@dataclass(frozen=True, slots=True)
class WellBehaviour:
    """One well in every storm and through the record.

    ``holds_rain_m`` is its storage as a depth of rain on its roof. ``trace`` is the governing storm, for
    drawing: times (s), rain (m per step), volume (m³). ``record_low`` and ``record_high`` are the record with
    the slowest and the fastest soil of its range, None where there is no range. ``by_office``: where the permit office
    prescribes another count of the soakage than the design's own. Where it is linked with others, storage, storms, record
    and times are those of all of them as one store, ``own_storage_m3`` its own.
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
    mound: Mound | None = None
    by_office: OfficeCount | None = None
    linked_with: tuple[str, ...] = ()
    own_storage_m3: float = 0.0

    @property
    def label(self) -> str:
        """What it is called where linked wells are judged as one."""
        return " + ".join((self.id, *self.linked_with))


@dataclass(frozen=True, slots=True)
class LinkFlow:
    """What must pass the pipe between two linked wells in the cloudburst, and the difference of level that drives it."""

    id: str
    flow_m3_s: float
    head_m: float


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
    """Everything that needs rain. ``intensity_m_s`` is that of the design cloudburst (5 minutes).

    ``record`` is the long record through all wells as one system: what one well hands on to another has not
    left it. ``record_low`` and ``record_high``: the same with the slowest and the fastest soil of its range.
    """

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
    record: RecordResult | None = None
    record_low: RecordResult | None = None
    record_high: RecordResult | None = None
    held_water: tuple[HeldWater, ...] = ()
    weeps: tuple[WeepTime, ...] = ()
    surfacing: tuple[Surfacing, ...] = ()
    lifts: tuple[Lift, ...] = ()
    beyond: Beyond | None = None
    links: tuple[LinkFlow, ...] = ()
    debris: Debris | None = None
    overland: Overland | None = None
    donor_range: DonorRange | None = None
    what_if: WhatIfs | None = None
    ageing: Ageing | None = None

    @property
    def stores(self) -> tuple[WellBehaviour, ...]:
        """The wells, of linked ones only the first: it speaks for all of them."""
        seen: set[str] = set()
        out = []
        for well in self.wells:
            if well.id not in seen:
                out.append(well)
            seen |= {well.id, *well.linked_with}
        return tuple(out)

    def well(self, id: str) -> WellBehaviour:
        """Return the behaviour of one well."""
        return next(item for item in self.wells if item.id == id)

    def run(self, id: str) -> RunFlow:
        """Return the flow in one run."""
        return next(item for item in self.runs if item.id == id)
