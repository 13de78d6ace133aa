"""``[soil]``: tests of the soil, what a pit or hole showed, groundwater, frost. See ``model``."""

from __future__ import annotations

from datetime import date as Day
from typing import Annotated, Literal

from pydantic import Field

from roofwell.job.fields import (
    Elevation,
    Flow,
    Height,
    Id,
    Length,
    Point,
    PositiveShare,
    Rate,
    Share,
    Table,
    Temperature,
    Time,
    Volume,
)

SoilClass = Literal["coarse", "most", "fine", "compacted"]


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
    walls_scratched: bool | None = None
    soil_class: SoilClass | None = None
    water_temperature: Temperature | None = None
    date: Day | None = None
    who: str | None = None


class PitTest(Table):
    """``[[soil.pit_tests]]``: water falling from 75 % to 25 % of the effective depth of a test pit."""

    id: Id
    at: Point | None = None
    depth: Length | None = None
    length: Length
    width: Length
    effective_depth: Length
    times: tuple[Time, ...] = ()
    voids: Share | None = None
    soil_class: SoilClass | None = None
    water_temperature: Temperature | None = None
    date: Day | None = None
    who: str | None = None


class PercolationTest(Table):
    """``[[soil.percolation_tests]]``: minutes per inch in a small hole."""

    id: Id
    at: Point | None = None
    rate: Rate
    hole_depth: Length | None = None
    hole_diameter: Length | None = None
    water_start: Length | None = None
    water_end: Height | None = None
    presoaked: bool | None = None
    walls_scratched: bool | None = None
    soil_class: SoilClass | None = None
    water_temperature: Temperature | None = None
    date: Day | None = None
    who: str | None = None


class ConstantHeadReading(Table):
    """One reading of a hole kept filled to one depth: what ran in, and in what time, or the flow itself."""

    water_depth: Length
    volume: Volume | None = None
    time: Time | None = None
    flow: Flow | None = None


class ConstantHeadTest(Table):
    """``[[soil.constant_head_tests]]``: a hole kept filled to one depth, or to two one after the other."""

    id: Id
    at: Point | None = None
    hole_depth: Length
    hole_diameter: Length
    readings: tuple[ConstantHeadReading, ...] = ()
    water_table_depth: Length | None = None
    presoaked: bool | None = None
    walls_scratched: bool | None = None
    soil_class: SoilClass | None = None
    water_temperature: Temperature | None = None
    date: Day | None = None
    who: str | None = None


class RingReading(Table):
    """One reading of the inner ring: the volume that ran in or the fall of the water, and the time."""

    volume: Volume | None = None
    fall: Height | None = None
    time: Time


class RingTest(Table):
    """``[[soil.ring_tests]]``: two rings driven into the floor of a pit; the inner one is read."""

    id: Id
    at: Point | None = None
    depth: Height | None = None
    inner_diameter: Length
    outer_diameter: Length | None = None
    readings: tuple[RingReading, ...] = ()
    presoaked: bool | None = None
    water_temperature: Temperature | None = None
    date: Day | None = None
    who: str | None = None


class Fill(Table):
    """One filling of a whole pit or hole: depths of the water over its floor; left out at the end, it was empty."""

    water_start: Length
    water_end: Height | None = None
    time: Time


class FillTest(Table):
    """``[[soil.fill_tests]]``: the hole that is dug for the well anyway, filled three times and timed."""

    id: Id
    at: Point | None = None
    well: Id | None = None
    depth: Length | None = None
    diameter: Length | None = None
    length: Length | None = None
    width: Length | None = None
    voids: Share | None = None
    fills: tuple[Fill, ...] = ()
    walls_scratched: bool | None = None
    soil_class: SoilClass | None = None
    water_temperature: Temperature | None = None
    date: Day | None = None
    who: str | None = None


class Witness(Table):
    """``[[soil.witnesses]]``: how an older well nearby behaves: "full it empties in two days"."""

    id: Id
    at: Point | None = None
    empties_in: Time
    watched: bool | None = None
    well: Id | None = None
    depth: Length | None = None
    diameter: Length | None = None
    length: Length | None = None
    width: Length | None = None
    water_depth: Length | None = None
    voids: Share | None = None
    date: Day | None = None
    who: str | None = None


class SoilLayer(Table):
    """``[[soil.layers]]``: what a pit or hole showed, from the ground down."""

    top: Height
    bottom: Length
    texture: str | None = None
    rate: Rate | None = None
    mottled: bool | None = None
    roots: Literal["none", "few", "many"] | None = None
    water: bool | None = None


class Soil(Table):
    """``[soil]``."""

    texture: str | None = None
    passing_no_200: Share | None = None
    grain_d15: Length | None = None
    grain_d50: Length | None = None
    grain_d85: Length | None = None
    plasticity_index: Annotated[float, Field(ge=0, le=200, allow_inf_nan=False)] | None = None
    rate: Rate | None = None
    rate_from: str | None = None
    safety_factor: Annotated[float, Field(ge=1, le=20, allow_inf_nan=False)] | None = None
    safety_factor_reason: str | None = None
    consequence: Literal["none", "minor", "building damage"] | None = None
    water_temperature: Temperature | None = None
    water_temperatures: tuple[Temperature, ...] = ()
    silting_a_year: Share | None = None
    seasonal_high_water: Elevation | None = None
    seasonal_high_water_depth: Height | None = None
    high_water_known_by: Literal["observed", "mottling", "well record", "map", "neighbor"] | None = None
    high_water_date: Day | None = None
    water_seen_depth: Height | None = None
    water_seen_date: Day | None = None
    refusal_depth: Length | None = None
    refusal_on: Literal["rock", "boulders", "hardpan", "not known"] | None = None
    frost_depth: Height | None = None
    saturated_thickness: Length | None = None
    specific_yield: PositiveShare | None = None
    horizontal_conductivity: Rate | None = None
    auger_tests: tuple[AugerTest, ...] = ()
    pit_tests: tuple[PitTest, ...] = ()
    percolation_tests: tuple[PercolationTest, ...] = ()
    constant_head_tests: tuple[ConstantHeadTest, ...] = ()
    ring_tests: tuple[RingTest, ...] = ()
    fill_tests: tuple[FillTest, ...] = ()
    witnesses: tuple[Witness, ...] = ()
    layers: tuple[SoilLayer, ...] = ()
