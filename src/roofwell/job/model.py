"""The job document as a person writes it: every leaf as entered, units kept.

A leaf's default is always ``None`` or empty: left out. What Roofwell assumes for it is a row in
``tables/``; what it designs for it stands in the Scheme. Tables of parts are keyed by the label that the
crew sees (``D1``, ``P3``, ``B1``, ``W1``).
"""

from __future__ import annotations

from datetime import date as Day
from typing import Any, Literal

from pydantic import Field

from roofwell.job.fields import (
    Angle,
    Density,
    Frequency,
    Height,
    Id,
    Length,
    Money,
    Ratio,
    ReturnPeriod,
    Share,
    Table,
    Time,
)
from roofwell.job.site_model import (
    Building,
    Complaint,
    Feature,
    FeatureKind,
    GivenPoint,
    Place,
    Rain,
    RainDepth,
    Reading,
    Site,
    Survey,
    Utilities,
)
from roofwell.job.soil_model import (
    AugerReading,
    AugerTest,
    ConstantHeadReading,
    ConstantHeadTest,
    Fill,
    FillTest,
    PercolationTest,
    PitTest,
    RingReading,
    RingTest,
    Soil,
    SoilClass,
    SoilLayer,
    Witness,
)
from roofwell.job.system_model import (
    Basin,
    Downspout,
    Fitting,
    Gutter,
    Outlet,
    Overflow,
    Roof,
    Run,
    Well,
    Whole,
    Wye,
)

__all__ = [
    "About",
    "Attachment",
    "AugerReading",
    "AugerTest",
    "Basin",
    "Building",
    "Complaint",
    "ConstantHeadReading",
    "ConstantHeadTest",
    "Downspout",
    "Feature",
    "FeatureKind",
    "Fill",
    "FillTest",
    "Fitting",
    "Frame",
    "GivenPoint",
    "Gutter",
    "Job",
    "Outlet",
    "Overflow",
    "Overrule",
    "PercolationTest",
    "PitTest",
    "Place",
    "Prices",
    "Rain",
    "RainDepth",
    "Reading",
    "RingReading",
    "RingTest",
    "Roof",
    "Run",
    "Settings",
    "Site",
    "Soil",
    "SoilClass",
    "SoilLayer",
    "Survey",
    "Targets",
    "Utilities",
    "Well",
    "Witness",
    "Wye",
    "json_schema",
]


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


class Frame(Table):
    """``[frame]``: the one local frame: origin and north; all points lie in it."""

    origin: str | None = None
    north: Angle | None = None


class Targets(Table):
    """``[targets]``: what the system must do."""

    storm: ReturnPeriod | None = None
    hours_to_empty: Time | None = None
    spills: Frequency | None = None
    lawn_clear: Time | None = None
    years: ReturnPeriod | None = None
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
    below_frost: bool | None = None
    deepest_trench: Length | None = None
    trench_width: Length | None = None
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
    of: str | None = None


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


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the job document."""
    schema = Job.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Roofwell job", **schema}
