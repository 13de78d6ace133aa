"""What is asked of a system beyond its design storm, as frozen values; the steps stand in ``beyond``.

Nothing here is judged: stresses, chances and other rules are shown beside the answers.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from roofwell.physics.rain.held import Reach
from roofwell.physics.soil.predictive import TestWorth


@dataclass(frozen=True, slots=True)
class StressAtWell:
    """One well in one stress: the duration that asks most of it, how high the water stands in it (elevation, with the
    head over its lip), what spills and what never gets in, and where the spill goes (None: nobody has said)."""

    well: str
    duration_s: float
    level_m: float
    full_share: float
    spilled_m3: float
    refused_m3: float
    goes_to: str | None


@dataclass(frozen=True, slots=True)
class Stress:
    """One stress. ``part``: where in the pipes the water stands highest, at ``part_level_m``; ``comes_out``: parts at
    which it comes out. ``over_opening_m``: highest water over the lowest opening of the house, negative below it;
    None where the opening is not known. ``missing``: the leaf without which this stress cannot be worked out."""

    key: str
    what: str
    wells: tuple[StressAtWell, ...]
    part: str | None
    part_level_m: float | None
    comes_out: tuple[str, ...]
    over_opening_m: float | None
    note: str = ""
    missing: str | None = None

    @property
    def reaches_opening(self) -> bool:
        """Whether water stands at or above the lowest known opening of the house."""
        return self.over_opening_m is not None and self.over_opening_m >= 0


@dataclass(frozen=True, slots=True)
class HeldStorm:
    """The longest return period that a well just holds in one storm shape, with the design rate of the soil.

    ``greater_in_life``: chance that a greater storm comes within the life that is counted (trials.csv); None beyond the
    table. ``slow_years`` and ``fast_years``: with the slowest and fastest soil of its range, None where there is none.
    """

    well: str
    shape: str
    years: float
    reach: Reach
    greater_in_life: float | None = None
    slow_years: float | None = None
    slow_reach: Reach | None = None
    fast_years: float | None = None
    fast_reach: Reach | None = None


@dataclass(frozen=True, slots=True)
class SoilChance:
    """One quantile of the soil: with this chance the soil is at least ``rate_m_s``, and the system spills no more."""

    chance: float
    rate_m_s: float
    spills_year: float
    spilled_m3_year: float


@dataclass(frozen=True, slots=True)
class Swing:
    """Spills a year with one unknown at either end of its range and all others in the middle."""

    what: str
    low: float
    high: float
    spills_low: float
    spills_high: float

    @property
    def width(self) -> float:
        """How far the unknown moves the spills a year."""
        return abs(self.spills_high - self.spills_low)


@dataclass(frozen=True, slots=True)
class Share:
    """How much of the variance of the samples' ranks by spills one unknown makes by itself, and what would settle it."""

    what: str
    share: float
    measure: str


@dataclass(frozen=True, slots=True)
class Joint:
    """All unknowns at once: Latin hypercube through the record. ``quantiles``: chance and spills a year not exceeded.

    ``shares``: the greatest first. ``together``: what is left of the variance, made by unknowns only together, and noise.
    ``how``: as in ``SampledYears``. ``water_spread_m``: deviation of the groundwater's level, None where it is not known
    and left out. ``year``: age of the well, years.
    """

    samples: int
    seed: int
    quantiles: tuple[tuple[float, float], ...]
    chance_held: float
    shares: tuple[Share, ...] = ()
    together: float = 0.0
    how: str = "alone"
    water_spread_m: float | None = None
    year: float = 0.0


@dataclass(frozen=True, slots=True)
class Chance:
    """How sure the spills a year are. Rates are as measured, without the safety factor.

    ``log_spread``: deviation of ln(rate) at the pit about the mean of ``tests`` tests; None where nobody tested,
    ``quantiles`` are then empty. ``limit_year``: the target of spills a year, else 1; ``chance_limit``: chance that
    the system keeps it, never said closer to 0 or 1 than ``edge``. ``swings``: widest first. ``one_more_test``:
    spills a year kept with nine chances in ten, if one more test agrees; ``saved_share`` what it takes off the spread.
    ``worth``: what one more test is likely to do to ``chance_limit``, before it is made; None at either edge.
    """

    record: str
    years: float
    steps_kept: int
    median_m_s: float
    log_spread: float | None
    tests: int
    quantiles: tuple[SoilChance, ...]
    limit_year: float
    chance_limit: float | None
    edge: float
    swings: tuple[Swing, ...]
    one_more_test: float | None
    saved_share: float | None
    joint: Joint | None = None
    worth: TestWorth | None = None

    def spills_at(self, chance: float) -> float | None:
        """Return the spills a year that are kept with a chance; None where it was not worked out."""
        return next((q.spills_year for q in self.quantiles if abs(q.chance - chance) < 1e-9), None)


@dataclass(frozen=True, slots=True)
class StandardAtWell:
    """One published rule on one well.

    ``wanted`` and ``had`` are volumes (m³) or times (s), by ``kind``; ``share`` is wanted over had, or the time taken
    over the rule's. None where it cannot be worked out, ``note`` says why. ``depth_m``: rain that a rule of depth
    names, to be written where ``what`` reads {depth}.
    """

    key: str
    id: str
    what: str
    kind: str
    well: str
    wanted: float | None
    had: float | None
    share: float | None
    source: str
    seen: str
    note: str = ""
    depth_m: float | None = None


@dataclass(frozen=True, slots=True)
class SoakageTry:
    """One well under one model of soakage, all wells counted by it; ``own``: the one that the design counts with;
    ``office``: the one that the permit office prescribes beside it.

    ``held_share``: what the design storm that loses most brings in less what is lost of it; ``full_share``: how full the
    storm that asks most leaves it; ``drain_s``: from full to empty. ``soakage_m3_s``: of the full well.
    ``spills_year``: through the record, None without one. Figures are None where the model does not hold, ``why_not``.
    The mound on the groundwater holds none of it back.
    """

    well: str
    model: str
    own: bool
    soakage_m3_s: float | None
    held_share: float | None
    full_share: float | None
    drain_s: float | None
    spills_year: float | None
    why_not: str = ""
    office: bool = False


@dataclass(frozen=True, slots=True)
class EarlyGain:
    """What the floor of a well's pit would take in more, in its governing storm, were the soil dry when it came, m³.

    Green-Ampt over the storm's ``duration_s``, by the conductivity that is counted with; ``wet_share`` of the effective
    porosity is full before. Never counted: a well's soil is wet from the rain before.
    """

    well: str
    duration_s: float
    wet_share: float
    gain_m3: float


@dataclass(frozen=True, slots=True)
class SoakageInTime:
    """One well as the temperature of the water changes what it soaks, month by month, in the design's own model.

    ``cold_month``: 1 to 12, that of the coldest water, ``cold_c``, with ``cold_share`` of the soakage counted and
    ``cold_drain_s`` from full to empty; None where the temperatures are not known. ``spills_year``: through the record, its
    first year with a new well, each next one a year older; None without a record.
    """

    well: str
    cold_month: int | None
    cold_c: float | None
    cold_share: float | None
    cold_drain_s: float | None
    spills_year: float | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Flood:
    """What fell on a day on which it flooded; depths None where the record does not tell, ``note`` says what to do.

    ``*_years`` and ``*_reach``: return period by the job's table. ``spilled_m3``: what the present Scheme would have
    let out that day and the next, with the design rate of the soil.
    """

    day: date
    record: str | None
    of_this_place: bool
    depth_m: float | None
    missing_share: float | None
    peak_hour_m: float | None
    peak_start: datetime | None
    hour_years: float | None
    hour_reach: Reach | None
    wettest_day_m: float | None
    day_years: float | None
    day_reach: Reach | None
    spilled_m3: float | None
    note: str = ""
    snow: bool | None = None


@dataclass(frozen=True, slots=True)
class RecordDepth:
    """One depth of the gauge record's own partial-duration series beside that of the rain table, m.

    ``low_m`` and ``high_m``: sampling range of the record's figure. ``table_m`` of the table as published, ``table_low_m``
    and ``table_high_m`` its bounds, None where it gives none or does not hold the figure.
    """

    duration_s: float
    years: float
    record_m: float
    low_m: float
    high_m: float
    table_m: float | None
    table_low_m: float | None = None
    table_high_m: float | None = None


@dataclass(frozen=True, slots=True)
class RecordStatistics:
    """What a gauge record says by itself about rare rain. ``known_years``: its length without what is missing;
    ``apart_s``: least time between two of its rains; ``within``, ``samples``, ``seed``: of the sampling range.
    ``why_not``: where there is none, else empty. ``scaled``: of another place, scaled to this one."""

    record: str
    of_this_place: bool
    known_years: float
    apart_s: float
    within: float
    samples: int
    seed: int
    depths: tuple[RecordDepth, ...]
    why_not: str = ""
    scaled: bool = False


@dataclass(frozen=True, slots=True)
class Overrun:
    """How often one part is overrun, in rates of 5 minutes. ``kind``: "downspout" (with its gutter) or "run".

    ``rate_m_s``: rain that the part just carries; ``table_years`` and ``reach``: its return period by the rain table as it
    is counted with, None where that does not hold 5 minutes. ``events_year``: rain events of the record in which more
    comes, per year; None where the hours cannot be split.
    """

    id: str
    kind: str
    carries_m3_s: float
    rate_m_s: float
    table_years: float | None
    reach: Reach | None
    events_year: float | None


@dataclass(frozen=True, slots=True)
class Rates:
    """Rates of the long record in short steps; for rates alone, volumes never rest on it.

    ``split``: its hours were split by fragments measured at ``place``, drawn with ``seed``. ``ratio``: yearly wettest 5
    minutes over the yearly wettest hour in the split record, ``table_ratio`` that of the rain table's 2-year depths;
    ``allowed``: how far apart they may be. ``note``: why there are no figures, or what they are worth.
    """

    step_s: float
    split: bool
    place: str
    seed: int
    ratio: float | None
    table_ratio: float | None
    allowed: float
    parts: tuple[Overrun, ...]
    note: str = ""

    @property
    def ratio_holds(self) -> bool | None:
        """Whether the two ratios agree; None where one is not known."""
        if self.ratio is None or self.table_ratio is None:
            return None
        return abs(self.ratio / self.table_ratio - 1.0) <= self.allowed


@dataclass(frozen=True, slots=True)
class Beyond:
    """All of it, for one Scheme. ``without_mound``: a mound on the groundwater holds soakage back in the judged run, and is
    left out here but for its own stress."""

    stress: tuple[Stress, ...]
    held: tuple[HeldStorm, ...]
    chance: Chance | None
    standards: tuple[StandardAtWell, ...]
    governing: tuple[tuple[str, str], ...]
    floods: tuple[Flood, ...]
    soakage: tuple[SoakageTry, ...] = ()
    soakage_notes: tuple[str, ...] = ()
    soakage_in_time: tuple[SoakageInTime, ...] = ()
    early_gain: tuple[EarlyGain, ...] = ()
    without_mound: bool = False
    statistics: RecordStatistics | None = None
    rates: Rates | None = None
