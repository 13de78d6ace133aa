"""What is there before anybody digs: place, rain, house, levels, features. See ``model``."""

from __future__ import annotations

from datetime import date as Day
from typing import Annotated, Literal

from pydantic import Field

from roofwell.job.fields import (
    Elevation,
    Height,
    Id,
    Length,
    Outline,
    Path,
    Point,
    Ratio,
    ReturnPeriod,
    State,
    Table,
    Temperature,
    Time,
)


class Complaint(Table):
    """``[complaint]``: what the family calls about."""

    water_stands: Literal["during rain", "hours", "days", "in spring", "in dry weather"] | None = None
    where: str | None = None
    flood_dates: tuple[Day, ...] = ()
    puddle: Outline = ()
    puddle_depth: Height | None = None
    puddle_lasts: Time | None = None


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
    record_elsewhere: bool | None = None
    monthly_rain: tuple[Height, ...] = ()
    air_temperatures: tuple[Temperature, ...] = ()
    uplift: Ratio | None = None
    uplift_record: bool | None = None


class Building(Table):
    """``[buildings.ID]``: a house; its walls guide the trench, its openings bound the water."""

    outline: Outline = ()
    lowest_floor: Elevation | None = None
    basement: bool | None = None
    lowest_opening: Elevation | None = None
    opening_is: str | None = None
    lot: str | None = None


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
    "street",
    "open water",
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
