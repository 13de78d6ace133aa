"""Write a value so that reading it gives the same float again."""

from __future__ import annotations

import math
from decimal import Context, Decimal
from fractions import Fraction
from typing import TypeAlias

from roofwell.errors import InputError
from roofwell.units import factors
from roofwell.units.dimension import Dimension
from roofwell.units.factors import FOOT_M, GALLON_M3, HOUR_S, INCH_M, LITER_M3, MINUTE_S, POUND_KG, YARD_M
from roofwell.units.grid import Style
from roofwell.units.rounding import mixed_number

_ONE = Fraction(1)
_MM = Fraction(1, 1000)
_Choices: TypeAlias = tuple[tuple[str, Fraction], ...]

_US: dict[Dimension, _Choices] = {
    Dimension.LENGTH: ((" ft", FOOT_M), (" in", INCH_M)),
    Dimension.AREA: ((" sq ft", FOOT_M**2),),
    Dimension.VOLUME: ((" gal", GALLON_M3), (" cu ft", FOOT_M**3), (" cu yd", YARD_M**3)),
    Dimension.SLOPE: ((" %", Fraction(1, 100)), (" in/ft", Fraction(1, 12))),
    Dimension.RATE: ((" in/h", INCH_M / HOUR_S),),
    Dimension.FLOW: ((" gpm", GALLON_M3 / MINUTE_S), (" cfs", FOOT_M**3)),
    Dimension.DENSITY: ((" lb/cu ft", POUND_KG / FOOT_M**3), (" ton/cu yd", 2000 * POUND_KG / YARD_M**3)),
    Dimension.MASS: ((" lb", POUND_KG), (" tons", 2000 * POUND_KG)),
    Dimension.SPEED: ((" ft/s", FOOT_M),),
    Dimension.PRESSURE: ((" psi", factors.POUND_FORCE_N / factors.INCH_M**2),),
    Dimension.PRODUCTIVITY: ((" cu yd/h", YARD_M**3 / HOUR_S),),
}
_METRIC: dict[Dimension, _Choices] = {
    Dimension.LENGTH: ((" m", _ONE),),
    Dimension.AREA: ((" m2", _ONE),),
    Dimension.VOLUME: ((" m3", _ONE), (" L", LITER_M3)),
    Dimension.SLOPE: ((" %", Fraction(1, 100)),),
    Dimension.RATE: ((" mm/h", _MM / HOUR_S), (" m/s", _ONE)),
    Dimension.FLOW: ((" L/s", LITER_M3), (" m3/h", 1 / HOUR_S)),
    Dimension.DENSITY: ((" kg/m3", _ONE),),
    Dimension.MASS: ((" kg", _ONE), (" t", Fraction(1000))),
    Dimension.SPEED: ((" m/s", _ONE),),
    Dimension.PRESSURE: ((" kPa", Fraction(1000)),),
    Dimension.PRODUCTIVITY: ((" m3/h", 1 / HOUR_S),),
}
_BOTH: dict[Dimension, _Choices] = {
    Dimension.TIME: ((" h", HOUR_S), (" min", MINUTE_S), (" d", factors.DAY_S), (" s", _ONE)),
    Dimension.RETURN_PERIOD: ((" years", _ONE),),
    Dimension.RATIO: ((" %", Fraction(1, 100)),),
    Dimension.ANGLE: ((" deg", factors.PI / 180), (" rad", _ONE)),
    Dimension.FREQUENCY: ((" per year", _ONE),),
    Dimension.MONEY: (("", _ONE),),
    Dimension.PERMITTIVITY: ((" per s", _ONE),),
}
_SI: dict[Dimension, str] = {
    Dimension.LENGTH: " m",
    Dimension.AREA: " m2",
    Dimension.VOLUME: " m3",
    Dimension.SLOPE: " m/m",
    Dimension.RATE: " m/s",
    Dimension.FLOW: " m3/s",
    Dimension.TIME: " s",
    Dimension.RETURN_PERIOD: " years",
    Dimension.RATIO: "",
    Dimension.DENSITY: " kg/m3",
    Dimension.MASS: " kg",
    Dimension.ANGLE: " rad",
    Dimension.TEMPERATURE: " °C",
    Dimension.FREQUENCY: " per year",
    Dimension.MONEY: "",
    Dimension.SPEED: " m/s",
    Dimension.PRODUCTIVITY: " m3/s",
    Dimension.PERMITTIVITY: " per s",
    Dimension.PRESSURE: " Pa",
}
_FEW_DIGITS = 9
_MOST_FEET = 9999


def write(value_si: float, dimension: Dimension, style: Style, *, elevation: bool = False) -> str:
    """Return a text that ``parse`` reads back to the same float, bit for bit (a negative zero as 0).

    A length on the 1/16 in grid is written in inches or in feet and inches, one below 1 m on the 1 mm grid in
    mm, a slope on the 1/16 in/ft grid as such where its percentage is long; anything else as the shortest
    decimal in a unit of ``style`` that gives the float again, or, where that would be long, as the full float
    in SI units. With ``elevation`` a length stays in decimal feet or meters, as elevations are written.

    Raises
    ------
    InputError
        ``number-not-finite``.

    >>> write(1.3843, Dimension.LENGTH, "us")
    '4\\' 6 1/2"'
    >>> write(0.02, Dimension.SLOPE, "us")
    '2 %'
    """
    if not math.isfinite(value_si):
        raise InputError(f"{value_si} cannot be written as a quantity", code="number-not-finite")
    if dimension is Dimension.LENGTH and not elevation:
        text = _feet_inches(value_si) if style == "us" else _millimeters(value_si)
        if text is not None:
            return text
    best: tuple[int, str] | None = None
    for suffix, factor, offset in _choices(dimension, style):
        number = _shortest(value_si, factor, offset, 17 if best is None else best[0] - 1)
        if number is not None:
            digits = _digits(number)
            best = (digits, (_sixteenths(number) if suffix == " in/ft" else number) + suffix)
    if best is not None and best[0] <= _FEW_DIGITS:
        return best[1]
    exact = repr(value_si)
    if best is not None and best[0] <= _digits(exact):
        return best[1]
    return exact.removesuffix(".0") + _SI[dimension]


def _choices(dimension: Dimension, style: Style) -> list[tuple[str, Fraction, Fraction]]:
    if dimension is Dimension.TEMPERATURE:
        fahrenheit = factors.UNITS["F"]
        if style == "us":
            return [(" °F", fahrenheit.factor, fahrenheit.offset)]
        return [(" °C", _ONE, Fraction(0))]
    own = _US if style == "us" else _METRIC
    return [(suffix, factor, Fraction(0)) for suffix, factor in own.get(dimension) or _BOTH[dimension]]


def _feet_inches(value_m: float) -> str | None:
    count = round(Fraction(value_m) / INCH_M * 16)
    if abs(count) > _MOST_FEET * 12 * 16 or float(count * INCH_M / 16) != value_m:
        return None
    sign = "-" if count < 0 else ""
    if abs(count) < 24 * 16:
        return f"{sign}{mixed_number(abs(count), 16)} in"
    feet, rest = divmod(abs(count), 12 * 16)
    return f"{sign}{feet}' {mixed_number(rest, 16)}\""


def _millimeters(value_m: float) -> str | None:
    count = round(Fraction(value_m) * 1000)
    return f"{count} mm" if abs(count) < 1000 and float(count * _MM) == value_m else None


def _sixteenths(number: str) -> str:
    """Return a decimal as a mixed number where it is one of sixteenths."""
    count = Fraction(number) * 16
    if count.denominator != 1 or abs(count) > 16 * 12:
        return number
    return ("-" if count < 0 else "") + mixed_number(abs(count.numerator), 16)


def _shortest(value: float, factor: Fraction, offset: Fraction, most_digits: int) -> str | None:
    """Return the decimal of fewest digits (at most ``most_digits``) that reads back to ``value``."""
    exact = (Fraction(value) - offset) / factor
    for digits in range(1, most_digits + 1):
        number = Context(prec=digits).divide(Decimal(exact.numerator), Decimal(exact.denominator))
        if _reads_back(Fraction(number) * factor + offset, value):
            return _plain(number)
    return None


def _reads_back(exact: Fraction, value: float) -> bool:
    try:
        return float(exact) == value and (exact == 0) == (value == 0)
    except OverflowError:
        return False


def _plain(number: Decimal) -> str:
    """Without an exponent where that is short enough to read."""
    adjusted = number.adjusted() if number else 0
    return f"{number.normalize():f}" if -6 <= adjusted <= 12 else f"{number.normalize():e}"


def _digits(number: str) -> int:
    mantissa = number.lower().partition("e")[0]
    return len(mantissa.replace(".", "").lstrip("-0")) or 1
