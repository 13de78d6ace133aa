"""The Survey: what is true if nobody digs. Values in SI; the step that makes them stands in ``survey``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from roofwell.job.rules import RuleFile
from roofwell.physics.ground.levels import LevelBook
from roofwell.physics.ground.surface import Surface
from roofwell.physics.rain.donor import DonorTest
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import Record
from roofwell.units import Style

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class AssumedValue:
    """A value that stands in for one that the job leaves out, as papers print it."""

    path: str
    text: str
    what: str
    how_to_measure: str
    source: str


@dataclass(frozen=True, slots=True)
class SoilTest:
    """One soil test, reduced. ``rate_m_s`` is used; ``other_m_s`` is the other published reduction.

    ``depth_m`` is how deep the hole went below the ground, None where nobody said. ``low_m_s`` and ``high_m_s``: the
    rates of its last readings. ``conductivity``: field-saturated, in water of 20 C where the test's own temperature is
    known, with its range over the last readings and the neighboring classes of capillarity; None where the test
    has none. ``counts``: False for what was only told. ``well``: the well whose own hole it is.
    ``conductivity_used_m_s``: the conductivity in the same water as ``rate_m_s``.
    """

    id: str
    method: str
    rate_m_s: float
    other_m_s: float | None
    other_method: str
    remarks: tuple[str, ...]
    depth_m: float | None = None
    kind: str = ""
    measures: str = ""
    low_m_s: float | None = None
    high_m_s: float | None = None
    conductivity_m_s: float | None = None
    conductivity_low_m_s: float | None = None
    conductivity_high_m_s: float | None = None
    conductivity_method: str = ""
    counts: bool = True
    well: str | None = None
    conductivity_used_m_s: float | None = None


@dataclass(frozen=True, slots=True)
class SoilLayerFact:
    """A layer of soil with a rate of its own; depths are below the ground at the well, rates as measured.

    ``known`` is True for a rate that the job gives, False for the published range of the layer's texture.
    """

    top_m: float
    bottom_m: float
    low_m_s: float
    best_m_s: float
    high_m_s: float
    known: bool


@dataclass(frozen=True, slots=True)
class Soil:
    """Infiltration and groundwater. Rates are as measured, before the safety factor.

    ``low`` and ``high`` bound the rate: spread of the tests, or the published range of the texture, or of
    all textures. ``known`` is False where no test was made and not every layer has a rate. ``layers`` are those
    with a rate of their own, in the order of depth; elsewhere the rate at large counts, which is a measured one
    only where it is ``tested``. ``log_spread`` is the deviation of ln(rate) from place to place, measured by two tests
    or more (``log_spread_measured``), else the published one; None where nothing was tested. ``conductivity``:
    geometric mean and range over the tests that have one; ``conductivity_used_m_s`` the mean in the same water as the
    rates. ``capillarity_per_m``: alpha*, of the class of the tests or the texture. ``front_suction_m`` and
    ``effective_porosity``: published for its texture. ``water_c``: temperature of the water
    that the rates hold for, where all tests tell; ``month_c``: of what soaks away, January first, or none;
    ``silting_year``: share of the soakage lost each year. ``notes`` are remarks on the section as a whole.
    """

    low_m_s: float
    best_m_s: float
    high_m_s: float
    known: bool
    basis: str
    safety_factor: float
    tests: tuple[SoilTest, ...]
    high_water_m: float | None
    high_water_basis: str | None
    frost_depth_m: float | None
    layers: tuple[SoilLayerFact, ...] = ()
    tested: bool = True
    log_spread: float | None = None
    log_spread_measured: bool = False
    conductivity_low_m_s: float | None = None
    conductivity_m_s: float | None = None
    conductivity_high_m_s: float | None = None
    refusal_depth_m: float | None = None
    refusal_on: str | None = None
    notes: tuple[str, ...] = ()
    conductivity_used_m_s: float | None = None
    capillarity_per_m: float = 12.0
    front_suction_m: float | None = None
    effective_porosity: float | None = None
    water_c: float | None = None
    month_c: tuple[float, ...] = ()
    silting_year: float = 0.0


@dataclass(frozen=True, slots=True)
class AquiferFact:
    """The ground that carries soaked water away: saturated thickness under the seasonal high water, m; the share of
    it that fills as the water rises. Horizontal conductivity as given, m/s, else so many times the soil's own."""

    thickness_m: float
    specific_yield: float
    horizontal_m_s: float | None
    times_vertical: float


@dataclass(frozen=True, slots=True)
class DonorTried:
    """A record of another place that was scaled to this one: its name, how it stood its tests, and the record where it
    was accepted. ``source``: key into the sources, or "job"."""

    name: str
    source: str
    test: DonorTest
    record: Record | None


@dataclass(frozen=True, slots=True)
class DonorFacts:
    """The scaled record that stands in for one of this place: every one tried, the likest climate first.

    The first accepted one is the record that is used; the others show the spread. None accepted: none is used.
    """

    tried: tuple[DonorTried, ...]

    @property
    def accepted(self) -> tuple[DonorTried, ...]:
        """Those that passed, the likest climate first."""
        return tuple(donor for donor in self.tried if donor.test.accepted)


@dataclass(frozen=True, slots=True)
class RainFacts:
    """The rain of the place, or the nearest shipped one (``of_this_place`` False).

    ``table`` and ``record`` are those that the design counts with; ``table_today`` and ``record_today`` the same before
    they were raised for a wetter climate by ``uplift`` (share), None where they were not. ``donor``: where a record of
    another place was tried in place of a missing one; ``record`` is then the scaled one, if one was accepted.
    ``snow_months``: months that may bring snow, 0 for January; None where nobody gave the temperatures.
    """

    table: FrequencyTable
    table_name: str
    table_source: str
    table_of_this_place: bool
    table_distance_m: float | None
    record: Record | None
    record_name: str | None
    record_source: str | None
    record_of_this_place: bool
    record_distance_m: float | None
    notes: tuple[str, ...]
    uplift: float = 0.0
    table_today: FrequencyTable | None = None
    record_today: Record | None = None
    donor: DonorFacts | None = None
    snow_months: tuple[int, ...] | None = None

    @property
    def measured_table(self) -> FrequencyTable:
        """The rain table as published."""
        return self.table if self.table_today is None else self.table_today

    @property
    def measured_record(self) -> Record | None:
        """The record as measured (or scaled to the place), not raised for a wetter climate."""
        return self.record if self.record_today is None else self.record_today

    @property
    def scaled_from(self) -> DonorTried | None:
        """The donor of the record in use; None where the record is one as measured."""
        accepted = self.donor.accepted if self.donor is not None else ()
        return accepted[0] if accepted else None


@dataclass(frozen=True, slots=True)
class BuildingFact:
    """A house: corners, lowest opening and floor as elevations."""

    id: str
    outline: tuple[XY, ...]
    lowest_opening_m: float | None
    opening_is: str | None
    lowest_floor_m: float | None
    basement: bool | None


@dataclass(frozen=True, slots=True)
class FeatureFact:
    """What lies on or in the ground already; ``points`` is its outline, path or single point."""

    id: str
    kind: str
    utility: str | None
    shape: Literal["outline", "path", "point"]
    points: tuple[XY, ...]
    invert_m: float | None
    top_m: float | None
    bottom_m: float | None
    diameter_m: float | None
    condition: str | None
    marked_by: str | None


@dataclass(frozen=True, slots=True)
class RoofFact:
    """A roof section: plan area and the area that counts, m²; where its water goes; what lies on and over it."""

    id: str
    outline: tuple[XY, ...]
    plan_area_m2: float
    counted_area_m2: float
    gutter: str | None
    covering: str | None = None
    trees: str | None = None
    tree_kind: str | None = None


@dataclass(frozen=True, slots=True)
class ShotFact:
    """A point with its elevation."""

    id: str
    at: XY | None
    elevation_m: float
    ground: bool


@dataclass(frozen=True, slots=True)
class Targets:
    """What the system must do, with where each comes from ("job", "rule file", "assumed")."""

    storm_years: float
    storm_from: str
    empty_s: float
    empty_from: str
    spills_year: float | None
    lawn_clear_s: float | None
    budget: float | None
    years: float | None = None


@dataclass(frozen=True, slots=True)
class Survey:
    """Everything measured, reduced.

    ``missing`` holds the leaves (``"soil.rate"``) whose measurement is missing; a stand-in was used for
    them meanwhile, and every check that needs one reads ``unknown``. ``puddle``: outline of what stood before, its
    depth where somebody measured it. ``loose_break_lines``: break lines with too few shots on them to be used.
    """

    style: Style
    soil: Soil
    rain: RainFacts
    rules: RuleFile | None
    ground: Surface
    ground_known: bool
    shots: tuple[ShotFact, ...]
    level_book: LevelBook | None
    buildings: tuple[BuildingFact, ...]
    neighbors: tuple[FeatureFact, ...]
    features: tuple[FeatureFact, ...]
    roofs: tuple[RoofFact, ...]
    targets: Targets
    utilities_located: bool | None
    utilities_note: str
    missing: frozenset[str]
    assumed: tuple[AssumedValue, ...]
    settings: Mapping[str, float]
    storm_shape: str
    aquifer: AquiferFact | None = None
    flood_dates: tuple[date, ...] = ()
    puddle: tuple[XY, ...] = ()
    puddle_depth_m: float | None = None
    loose_break_lines: tuple[str, ...] = ()

    @property
    def lowest_opening_m(self) -> float | None:
        """Elevation of the lowest known opening of the house, m."""
        known = [b.lowest_opening_m for b in self.buildings if b.lowest_opening_m is not None]
        return min(known) if known else None

    def of_kind(self, *kinds: str) -> tuple[FeatureFact, ...]:
        """Return the features of the named kinds."""
        return tuple(feature for feature in self.features if feature.kind in kinds)
