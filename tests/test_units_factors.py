"""Every factor against print and against a general-purpose library of units."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from roofwell.units import Dimension, parse
from roofwell.units.factors import UNITS

REGISTRY = pint.UnitRegistry()

# Our unit word to an expression of the library's own; typed here, never from a user's text.
IN_THE_LIBRARY = {
    "in": "inch", '"': "inch", "inch": "inch", "inches": "inch",
    "ft": "foot", "foot": "foot", "feet": "foot",
    "yd": "yard", "yds": "yard", "yard": "yard", "yards": "yard",
    "mm": "millimeter", "millimeter": "millimeter", "millimeters": "millimeter",
    "millimetre": "millimeter", "millimetres": "millimeter",
    "cm": "centimeter", "centimeter": "centimeter", "centimeters": "centimeter",
    "centimetre": "centimeter", "centimetres": "centimeter",
    "m": "meter", "meter": "meter", "meters": "meter", "metre": "meter", "metres": "meter",
    "sqin": "inch**2", "sqft": "foot**2", "sf": "foot**2", "sqyd": "yard**2", "sy": "yard**2",
    "sqm": "meter**2",
    "cuin": "inch**3", "cuft": "foot**3", "cf": "foot**3", "cuyd": "yard**3", "cy": "yard**3",
    "cum": "meter**3",
    "gal": "gallon", "gals": "gallon", "gallon": "gallon", "gallons": "gallon",
    "L": "liter", "l": "liter", "liter": "liter", "liters": "liter", "litre": "liter", "litres": "liter",
    "gpm": "gallon/minute", "gph": "gallon/hour", "gpd": "gallon/day",
    "cfs": "foot**3/second", "cfm": "foot**3/minute",
    "s": "second", "sec": "second", "secs": "second", "second": "second", "seconds": "second",
    "min": "minute", "mins": "minute", "minute": "minute", "minutes": "minute",
    "h": "hour", "hr": "hour", "hrs": "hour", "hour": "hour", "hours": "hour",
    "d": "day", "day": "day", "days": "day", "wk": "week", "week": "week", "weeks": "week",
    "mo": "month", "month": "month", "months": "month",
    "yr": "year", "yrs": "year", "year": "year", "years": "year",
    "lb": "pound", "lbs": "pound", "pound": "pound", "pounds": "pound",
    "ton": "short_ton", "tons": "short_ton",
    "t": "metric_ton", "tonne": "metric_ton", "tonnes": "metric_ton",
    "kg": "kilogram", "kilogram": "kilogram", "kilograms": "kilogram",
    "psi": "psi", "psf": "pound_force/foot**2", "pa": "pascal", "kpa": "kilopascal", "mpa": "megapascal",
    "pcf": "pound/foot**3", "fps": "foot/second", "mpi": "minute/inch",
    "%": "percent", "percent": "percent", "pct": "percent",
    "°": "degree", "deg": "degree", "degree": "degree", "degrees": "degree",
    "rad": "radian", "radian": "radian", "radians": "radian",
    "C": "degC", "c": "degC", "celsius": "degC",
    "F": "degF", "f": "degF", "fahrenheit": "degF",
}  # fmt: skip


def test_every_unit_is_compared() -> None:
    """No unit word is left out of the comparison below."""
    assert set(IN_THE_LIBRARY) == set(UNITS)


@pytest.mark.parametrize("word", sorted(set(IN_THE_LIBRARY) - {"C", "c", "celsius", "F", "f", "fahrenheit"}))
def test_factor_agrees_with_the_library(word: str) -> None:
    """The factor to SI is the library's, to the last bits of a float."""
    unit = UNITS[word]
    theirs = REGISTRY.Quantity(1.0, IN_THE_LIBRARY[word])
    si = {"length": "meter", "mass": "kilogram", "time": "second"}
    target = "*".join(f"{si[name]}**{power}" for name, power in zip(si, unit.powers, strict=True))
    if unit.special == "angle":
        target = "radian"
    elif unit.special == "percent":
        target = "dimensionless"
    assert theirs.to(target).magnitude == pytest.approx(float(unit.factor), rel=1e-14)


@pytest.mark.parametrize("word", ["C", "c", "celsius", "F", "f", "fahrenheit"])
@pytest.mark.parametrize("degrees", [-40.0, -5.0, 0.0, 32.0, 41.0, 212.0])
def test_temperature_agrees_with_the_library(word: str, degrees: float) -> None:
    """Both scales, above and below their zero."""
    theirs = REGISTRY.Quantity(degrees, IN_THE_LIBRARY[word]).to("degC").magnitude
    assert parse(f"{degrees} {word}", Dimension.TEMPERATURE).value_si == pytest.approx(theirs, abs=1e-10)


COMPOUND = [
    # (text, kind, library's expression, its SI unit)
    ("1 in/h", Dimension.RATE, "inch/hour", "meter/second"),
    ("1 gal/d/sq ft", Dimension.RATE, "gallon/day/foot**2", "meter/second"),
    ("1 cu yd/h", Dimension.PRODUCTIVITY, "yard**3/hour", "meter**3/second"),
    ("1 gal/min", Dimension.FLOW, "gallon/minute", "meter**3/second"),
    ("1 ton/cu yd", Dimension.DENSITY, "short_ton/yard**3", "kilogram/meter**3"),
    ("1 lb/ft3", Dimension.DENSITY, "pound/foot**3", "kilogram/meter**3"),
    ("1 in/ft", Dimension.SLOPE, "inch/foot", "dimensionless"),
    ("1 per min", Dimension.PERMITTIVITY, "1/minute", "1/second"),
    ("1 a month", Dimension.FREQUENCY, "1/month", "1/year"),
    ("1 kPa", Dimension.PRESSURE, "kilopascal", "pascal"),
    ("1 psi", Dimension.PRESSURE, "psi", "pascal"),
    ("1 week", Dimension.RETURN_PERIOD, "week", "year"),
]


@pytest.mark.parametrize(("text", "dimension", "expression", "target"), COMPOUND)
def test_composed_units_agree_with_the_library(
    text: str, dimension: Dimension, expression: str, target: str
) -> None:
    """Units put together from words."""
    theirs = REGISTRY.Quantity(1.0, expression).to(target).magnitude
    assert parse(text, dimension).value_si == pytest.approx(theirs, rel=1e-14)


PRINTED = [
    # From memory: international yard and pound agreement 1959; NIST Handbook 44, appendix C. All exact.
    ("1 in", Dimension.LENGTH, "0.0254"),
    ("1 ft", Dimension.LENGTH, "0.3048"),
    ("1 yd", Dimension.LENGTH, "0.9144"),
    ("1 sq ft", Dimension.AREA, "0.09290304"),
    ("1 sq yd", Dimension.AREA, "0.83612736"),
    ("1 cu in", Dimension.VOLUME, "0.000016387064"),
    ("1 cu ft", Dimension.VOLUME, "0.028316846592"),
    ("1 cu yd", Dimension.VOLUME, "0.764554857984"),
    ("1 gal", Dimension.VOLUME, "0.003785411784"),
    ("1 lb", Dimension.MASS, "0.45359237"),
    ("1 ton", Dimension.MASS, "907.18474"),
]


@pytest.mark.parametrize(("text", "dimension", "printed"), PRINTED)
def test_printed_exact_factors(text: str, dimension: Dimension, printed: str) -> None:
    """The factors that are exact by definition, digit for digit."""
    assert parse(text, dimension).exact == Fraction(printed)


def test_ninety_six_and_a_quarter_square_feet() -> None:
    """1 in/h on 96.25 sq ft is 1 gpm exactly (derived: 144 sq in / 231 cu in / 60 min = 1/96.25)."""
    rain = parse("1 in/h", Dimension.RATE).exact
    roof = parse("96.25 sq ft", Dimension.AREA).exact
    assert rain * roof == parse("1 gpm", Dimension.FLOW).exact


def test_one_cubic_foot_a_second_in_gallons() -> None:
    """1 cfs is 448.8312 gpm (derived: 1728/231*60; printed in many handbooks, from memory)."""
    ratio = parse("1 cfs", Dimension.FLOW).exact / parse("1 gpm", Dimension.FLOW).exact
    assert float(ratio) == pytest.approx(448.8312, abs=5e-5)
