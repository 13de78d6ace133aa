"""The job document as a person writes it: every leaf as entered, units kept.

A leaf's default is always ``None`` or empty: left out. What Roofwell assumes for it is a row in
``tables/``; what it designs for it stands in the Scheme. Tables of parts are keyed by the label that the
crew sees (``D1``, ``P3``, ``B1``, ``W1``).
"""

from __future__ import annotations

from datetime import date as Day
from typing import Annotated, Any, Literal

from pydantic import Field

from roofwell.job.fields import (
    Angle,
    Area,
    Density,
    Elevation,
    Frequency,
    Height,
    Id,
    Length,
    Money,
    Outline,
    Path,
    Point,
    Rate,
    Ratio,
    ReturnPeriod,
    Share,
    Slope,
    State,
    Table,
    Time,
)

Whole = Annotated[int, Field(ge=1, le=40)]
Degrees = Annotated[float, Field(allow_inf_nan=False)]


class About(Table):
    """``[job]``: what the job is called, and its revision; papers print these, never today's date."""

    name: str | None = None
    customer: str | None = None
    address: str | None = None
    revision: str | None = None
    date: Day | None = None
    units: Literal["us", "metric"] | None = None
    invented: bool | None = None
    lot: str | None = None


class Complaint(Table):
    """``[complaint]``: what the family calls about."""

    water_stands: Literal["during rain", "hours", "days", "in spring", "in dry weather"] | None = None
    where: str | None = None
    flood_dates: tuple[Day, ...] = ()
    puddle: Outline = ()
    puddle_depth: Height | None = None
    puddle_lasts: Time | None = None


class Frame(Table):
    """``[frame]``: the one local frame: origin and north; all points lie in it."""

    origin: str | None = None
    north: Angle | None = None


class Place(Table):
    """``[place]``: where the house stands and whose rules hold there."""

    name: str | None = None
    latitude: Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180, allow_inf_nan=False)] | None = None
    rules: str | None = None
    rules_dated: Day | None = None


class RainDepth(Table):
    """One typed figure of ``[[rain.depths]]``."""

    duration: Time
    return_period: ReturnPeriod
    depth: Length


class Rain(Table):
    """``[rain]``: a frequency table and a gauge record, from a file beside the job or shipped ones."""

    table: str | None = None
    table_sha256: str | None = None
    shipped_table: str | None = None
    depths: tuple[RainDepth, ...] = ()
    record: str | None = None
    record_sha256: str | None = None
    record_depth_unit: Literal["in", "mm"] | None = None
    record_stamps: Literal["start", "end"] | None = None
    shipped_record: str | None = None
    uplift: Ratio | None = None


class Building(Table):
    """``[buildings.ID]``: a house; its walls guide the trench, its openings bound the water."""

    outline: Outline = ()
    lowest_floor: Elevation | None = None
    basement: bool | None = None
    lowest_opening: Elevation | None = None
    opening_is: str | None = None
    lot: str | None = None


class Roof(Table):
    """``[roofs.ID]``: a roof section. Its water goes to a gutter, or sheds on a lower roof."""

    outline: Outline = ()
    plan_area: Area | None = None
    pitch: Slope | None = None
    covering: str | None = None
    gutter: Id | None = None
    sheds_on: Id | None = None


class Gutter(Table):
    """``[gutters.ID]``."""

    shape: Literal["half-round", "box", "ogee"] | None = None
    top_width: Length | None = None
    bottom_width: Length | None = None
    depth: Length | None = None
    length: Length | None = None
    fall: Slope | None = None
    guard: bool | None = None
    guard_passes: Share | None = None
    state: State | None = None


class Downspout(Table):
    """``[downspouts.ID]``: takes its share of one gutter's water to the ground at ``at``."""

    gutter: Id | None = None
    at: Point | None = None
    shape: Literal["round", "rectangular"] | None = None
    diameter: Length | None = None
    width: Length | None = None
    breadth: Length | None = None
    share: Share | None = None
    joint: Elevation | None = None
    state: State | None = None


class Reading(Table):
    """One entry of ``[[survey.readings]]``, in the order in which it was taken."""

    setup: Id
    kind: Literal["backsight", "foresight", "turning point", "shot"]
    point: Id
    rod: Height | None = None
    at: Point | None = None
    ground: bool | None = None
    time: str | None = None
    who: str | None = None


class GivenPoint(Table):
    """One entry of ``[[survey.points]]``: a point whose elevation is given."""

    id: Id
    at: Point | None = None
    elevation: Elevation | None = None
    ground: bool | None = None


class Survey(Table):
    """``[survey]``: rod readings per instrument set-up, or given elevations."""

    benchmark: str | None = None
    benchmark_elevation: Elevation | None = None
    spread_closure: bool | None = None
    readings: tuple[Reading, ...] = ()
    points: tuple[GivenPoint, ...] = ()


FeatureKind = Literal[
    "lot line",
    "walk",
    "drive",
    "existing drain",
    "septic tank",
    "leach field",
    "drinking-water well",
    "tree",
    "utility",
    "slope crest",
    "neighbor's building",
    "break line",
]


class Feature(Table):
    """``[features.ID]``: what lies on or in the ground already."""

    kind: FeatureKind
    outline: Outline = ()
    path: Path = ()
    at: Point | None = None
    utility: Literal["electric", "gas", "communication", "water", "sewer", "reclaimed", "unknown"] | None = (
        None
    )
    invert: Elevation | None = None
    top: Elevation | None = None
    bottom: Elevation | None = None
    depth: Height | None = None
    diameter: Length | None = None
    condition: Literal["sound", "broken", "blocked", "not inspected"] | None = None
    marked_by: str | None = None
    state: State | None = None


class Site(Table):
    """``[site]``: what is known not to be there, so that its absence is a fact and not a gap."""

    none: tuple[FeatureKind, ...] = ()


class Utilities(Table):
    """``[utilities]``: whether buried lines were located and marked, by whom and when."""

    located: bool | None = None
    ticket: str | None = None
    date: Day | None = None
    marked_by: str | None = None


class AugerReading(Table):
    """One fall of the water in an auger hole: depths from the top of the hole to the water."""

    water_start: Height
    water_end: Height
    time: Time


class AugerTest(Table):
    """``[[soil.auger_tests]]``: a falling-head test in an auger hole."""

    id: Id
    at: Point | None = None
    hole_depth: Length
    hole_diameter: Length
    readings: tuple[AugerReading, ...] = ()
    presoaked: bool | None = None
    date: Day | None = None
    who: str | None = None


class PitTest(Table):
    """``[[soil.pit_tests]]``: water falling from 75 % to 25 % of the effective depth of a test pit."""

    id: Id
    at: Point | None = None
    length: Length
    width: Length
    effective_depth: Length
    times: tuple[Time, ...] = ()
    voids: Share | None = None
    date: Day | None = None
    who: str | None = None


class PercolationTest(Table):
    """``[[soil.percolation_tests]]``: minutes per inch in a small hole."""

    id: Id
    at: Point | None = None
    rate: Rate
    hole_diameter: Length | None = None
    water_start: Length | None = None
    water_end: Height | None = None
    date: Day | None = None
    who: str | None = None


class SoilLayer(Table):
    """``[[soil.layers]]``: what a pit or hole showed, from the ground down."""

    top: Height
    bottom: Length
    texture: str | None = None
    rate: Rate | None = None
    mottled: bool | None = None


class Soil(Table):
    """``[soil]``."""

    texture: str | None = None
    rate: Rate | None = None
    rate_from: str | None = None
    safety_factor: Annotated[float, Field(ge=1, le=20, allow_inf_nan=False)] | None = None
    seasonal_high_water: Elevation | None = None
    seasonal_high_water_depth: Height | None = None
    high_water_known_by: Literal["observed", "mottling", "well record", "map", "neighbor"] | None = None
    high_water_date: Day | None = None
    frost_depth: Height | None = None
    auger_tests: tuple[AugerTest, ...] = ()
    pit_tests: tuple[PitTest, ...] = ()
    percolation_tests: tuple[PercolationTest, ...] = ()
    layers: tuple[SoilLayer, ...] = ()


class Wye(Table):
    """``[wyes.ID]``: where two runs become one."""

    at: Point | None = None
    state: State | None = None


class Fitting(Table):
    """One fitting of a run, by its distance from the run's upstream end."""

    kind: Literal["elbow", "cleanout", "reducer", "coupling", "adapter"]
    station: Height
    angle: Angle | None = None


class Run(Table):
    """``[runs.ID]``: a stretch of buried pipe between two parts."""

    from_: Id | None = Field(default=None, alias="from")
    to: Id | None = None
    path: Path = ()
    pipe: str | None = None
    nominal: Length | None = None
    inside_diameter: Length | None = None
    outside_diameter: Length | None = None
    roughness: Annotated[float, Field(gt=0, lt=0.1, allow_inf_nan=False)] | None = None
    slope: Slope | None = None
    upstream_invert: Elevation | None = None
    downstream_invert: Elevation | None = None
    fittings: tuple[Fitting, ...] = ()
    bedding: str | None = None
    state: State | None = None
    condition: Literal["sound", "broken", "blocked", "not inspected"] | None = None


class Basin(Table):
    """``[basins.ID]``: keeps debris back. Heights are of inverts over the basin's floor."""

    at: Point | None = None
    shape: Literal["round", "square"] | None = None
    diameter: Length | None = None
    width: Length | None = None
    floor: Elevation | None = None
    grate: Elevation | None = None
    inlet_height: Height | None = None
    outlet_height: Height | None = None
    hood: bool | None = None
    screen: bool | None = None
    weep_holes: Annotated[int, Field(ge=0, le=200)] | None = None
    weep_hole_diameter: Length | None = None
    state: State | None = None


class Well(Table):
    """``[wells.ID]``: well bodies in a stone surround; joined at the bottom they are one store.

    ``direction`` is the way in which several bodies stand in a row, counterclockwise from east.
    """

    at: Point | None = None
    bodies: Whole | None = None
    body_diameter: Length | None = None
    body_height: Length | None = None
    body_wall: Height | None = None
    body_spacing: Length | None = None
    hole_diameter: Length | None = None
    direction: Angle | None = None
    pit_shape: Literal["round", "rectangular"] | None = None
    pit_diameter: Length | None = None
    pit_length: Length | None = None
    pit_width: Length | None = None
    stone_below: Height | None = None
    stone_above: Height | None = None
    bottom: Elevation | None = None
    inlet_invert: Elevation | None = None
    stone: str | None = None
    voids: Share | None = None
    geotextile: tuple[Literal["sides", "top", "bottom"], ...] | None = None
    soakage: (
        Literal["bottom", "bottom and half sides", "bottom and sides", "sides", "sides half, no bottom"]
        | None
    ) = None
    state: State | None = None


class Overflow(Table):
    """``[overflows.ID]``: where a full well lets its water out, as a point with a lip."""

    of: Id | None = None
    kind: Literal["grate", "pop-up emitter", "splash block"] | None = None
    at: Point | None = None
    lip: Elevation | None = None
    diameter: Length | None = None
    open_share: Share | None = None
    to: Id | None = None
    destination: str | None = None
    path: Path = ()
    state: State | None = None


class Outlet(Table):
    """``[outlets.ID]``: another way out for the water: daylight, a storm sewer, a swale."""

    kind: Literal["daylight", "storm sewer", "swale", "rain garden"] | None = None
    at: Point | None = None
    invert: Elevation | None = None
    destination: str | None = None
    allowed_by: str | None = None
    state: State | None = None


class Targets(Table):
    """``[targets]``: what the system must do."""

    storm: ReturnPeriod | None = None
    hours_to_empty: Time | None = None
    spills: Frequency | None = None
    lawn_clear: Time | None = None
    budget: Money | None = None


class Settings(Table):
    """``[settings]``: assumptions that the person replaces with a value of their own."""

    storm_shape: Literal["alternating blocks", "uniform"] | None = None
    storm_duration: Time | None = None
    starting_level: Share | None = None
    event_gap: Time | None = None
    initial_loss: Height | None = None
    runoff_coefficient: Share | None = None
    cover_lawn: Height | None = None
    cover_walk: Height | None = None
    cover_drive: Height | None = None
    crossing_clearance: Height | None = None
    pipe: str | None = None
    waste: Ratio | None = None
    swell: Ratio | None = None
    lap: Height | None = None
    stone_density: Density | None = None
    freeboard: Height | None = None
    most_bodies: Whole | None = None


class Prices(Table):
    """``[prices]``: the price book beside the job; margin never stands in a job."""

    file: str | None = None


class Overrule(Table):
    """One entry of ``[[overrules]]``: a finding that a person sets aside, with the reason."""

    check: str
    subject: str | None = None
    reason: str
    who: str
    date: Day


class Attachment(Table):
    """``[attachments.ID]``: an outside file by name and checksum."""

    file: str
    sha256: str | None = None
    taken: Day | None = None
    shows: str | None = None


class Job(Table):
    """A whole job document, version 1."""

    document: Literal[1]
    job: About = About()
    complaint: Complaint = Complaint()
    frame: Frame = Frame()
    place: Place = Place()
    rain: Rain = Rain()
    buildings: dict[Id, Building] = Field(default_factory=dict)
    roofs: dict[Id, Roof] = Field(default_factory=dict)
    gutters: dict[Id, Gutter] = Field(default_factory=dict)
    downspouts: dict[Id, Downspout] = Field(default_factory=dict)
    survey: Survey = Survey()
    features: dict[Id, Feature] = Field(default_factory=dict)
    site: Site = Site()
    utilities: Utilities = Utilities()
    soil: Soil = Soil()
    wyes: dict[Id, Wye] = Field(default_factory=dict)
    runs: dict[Id, Run] = Field(default_factory=dict)
    basins: dict[Id, Basin] = Field(default_factory=dict)
    wells: dict[Id, Well] = Field(default_factory=dict)
    overflows: dict[Id, Overflow] = Field(default_factory=dict)
    outlets: dict[Id, Outlet] = Field(default_factory=dict)
    targets: Targets = Targets()
    settings: Settings = Settings()
    prices: Prices = Prices()
    overrules: tuple[Overrule, ...] = ()
    attachments: dict[Id, Attachment] = Field(default_factory=dict)


PART_TABLES = ("downspouts", "wyes", "basins", "wells", "outlets")


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the job document."""
    schema = Job.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Roofwell job", **schema}
