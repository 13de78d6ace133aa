"""Figures as people read them, in US customary or metric units.

Each function takes a value in SI units and rounds it for its reader; nothing is computed with the result.
Every text is one that ``parse`` reads (tested). All raise ``InputError`` (``number-not-finite``) for a value
that is not a finite number. How far a figure is rounded is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import ParamSpec, cast

from roofwell.units.factors import (
    DAY_S,
    FOOT_M,
    GALLON_M3,
    HOUR_S,
    INCH_M,
    LITER_M3,
    MINUTE_S,
    POUND_KG,
    SHORT_TON_KG,
    YARD_M,
)
from roofwell.units.grid import Style
from roofwell.units.rounding import MINUS, decimals, mixed_number, steps_of

P = ParamSpec("P")
_ONE = Fraction(1)
_MM = Fraction(1, 1000)
_GPM = GALLON_M3 / MINUTE_S
_LITER_S = LITER_M3


def _kept(show: Callable[P, str]) -> Callable[P, str]:
    """Keep what was written last: papers, page and checks write the same figures again and again."""
    return cast("Callable[P, str]", lru_cache(maxsize=8192)(show))


def _sign(count: int) -> str:
    return MINUS if count < 0 else ""


@_kept
def feet_inches(value_m: float, *, denominator: int = 8) -> str:
    """Return a length in feet and inches to 1/``denominator`` inch.

    >>> feet_inches(1.3843)
    '4\\' 6 1/2"'
    """
    count = steps_of(value_m, INCH_M / denominator)
    feet, rest = divmod(abs(count), 12 * denominator)
    return f"{_sign(count)}{feet}' {mixed_number(rest, denominator)}\""


def _inches(value_m: float, denominator: int, suffix: str = " in") -> str:
    count = steps_of(value_m, INCH_M / denominator)
    return f"{_sign(count)}{mixed_number(abs(count), denominator)}{suffix}"


@_kept
def show_length(value_m: float, style: Style) -> str:
    """Return a built length: inches below 2 ft, feet and inches above, to 1/8 in; mm below 1 m, m above."""
    if style == "us":
        if abs(steps_of(value_m, INCH_M / 8)) < 24 * 8:
            return _inches(value_m, 8)
        return feet_inches(value_m)
    if abs(steps_of(value_m, _MM)) < 1000:
        return f"{decimals(value_m, _MM, 0)} mm"
    return f"{decimals(value_m, _ONE, 3)} m"


@_kept
def show_elevation(value_m: float, style: Style) -> str:
    """Return an elevation to 0.01 ft or 1 mm."""
    return f"{decimals(value_m, FOOT_M, 2)} ft" if style == "us" else f"{decimals(value_m, _ONE, 3)} m"


@_kept
def show_distance(value_m: float, style: Style) -> str:
    """Return a length on plan to 0.1 ft or 0.01 m."""
    return f"{decimals(value_m, FOOT_M, 1)} ft" if style == "us" else f"{decimals(value_m, _ONE, 2)} m"


@_kept
def show_size(value_m: float, style: Style) -> str:
    """Return a trade size or an opening: inches to 1/16; mm, below 10 mm to 0.1."""
    if style == "us":
        return _inches(value_m, 16)
    tenths = steps_of(value_m, _MM / 10)
    digits = 1 if abs(tenths) < 100 and tenths % 10 else 0
    return f"{decimals(value_m, _MM, digits)} mm"


@_kept
def show_depth(value_m: float, style: Style) -> str:
    """Return a depth of water or rain to 0.1 in or 1 mm."""
    return f"{decimals(value_m, INCH_M, 1)} in" if style == "us" else f"{decimals(value_m, _MM, 0)} mm"


@_kept
def show_rain(value_m: float, style: Style) -> str:
    """Return a depth of rain to 0.01 in or 1 mm, below 10 mm to 0.1."""
    if style == "us":
        return f"{decimals(value_m, INCH_M, 2)} in"
    return f"{_less_than_ten(value_m, _MM)} mm"


@_kept
def show_slope(value: float, style: Style) -> str:
    """Return a slope (m/m) to 0.1 %; the same in both styles."""
    return f"{decimals(value, Fraction(1, 100), 1)} %"


@_kept
def show_slope_per_foot(value: float) -> str:
    """Return a slope (m/m) in inches per foot to 1/16."""
    count = steps_of(value, INCH_M / FOOT_M / 16)
    return f"{_sign(count)}{mixed_number(abs(count), 16)} in/ft"


@_kept
def show_area(value_m2: float, style: Style) -> str:
    """Return an area to 1 sq ft or 0.1 m²."""
    if style == "us":
        return f"{decimals(value_m2, FOOT_M**2, 0)} sq ft"
    return f"{decimals(value_m2, _ONE, 1)} m²"


@_kept
def show_small_area(value_m2: float, style: Style) -> str:
    """Write a small area, such as that of holes: ``12.5 sq in`` or ``81 cm2``."""
    return f"{value_m2 / 0.0254**2:.3g} sq in" if style == "us" else f"{value_m2 * 1e4:.3g} cm2"


@_kept
def show_volume(value_m3: float, style: Style) -> str:
    """Return a volume of water: gallons; liters, or m³ to 0.01 from 1 m³ up; below 10 gal or L to 0.1."""
    if style == "us":
        return f"{_less_than_ten(value_m3, GALLON_M3)} gal"
    if abs(steps_of(value_m3, LITER_M3)) >= 1000:
        return f"{decimals(value_m3, _ONE, 2)} m³"
    return f"{_less_than_ten(value_m3, LITER_M3)} L"


@_kept
def show_bulk_volume(value_m3: float, style: Style) -> str:
    """Return a volume of soil or stone to 0.1 cu yd or 0.1 m³."""
    return (
        f"{decimals(value_m3, YARD_M**3, 1)} cu yd" if style == "us" else f"{decimals(value_m3, _ONE, 1)} m³"
    )


@_kept
def show_rate(value_m_s: float, style: Style) -> str:
    """Return an infiltration rate or rain intensity: 0.01 in/h; 1 mm/h, below 10 mm/h to 0.1.

    A rate too small for that keeps two figures (``0.0014 in/h``): tight soil is slow, not zero.
    """
    if style == "us":
        return f"{_two_figures(value_m_s, INCH_M / HOUR_S, 2)} in/h"
    unit = _MM / HOUR_S
    digits = 0 if abs(steps_of(value_m_s, unit / 10)) >= 100 else 1
    return f"{_two_figures(value_m_s, unit, digits)} mm/h"


@_kept
def show_flow(value_m3_s: float, style: Style) -> str:
    """Return a flow: gpm, below 10 to 0.1; L/s to 0.1, below 1 to 0.01."""
    if style == "us":
        return f"{_less_than_ten(value_m3_s, _GPM)} gpm"
    digits = 1 if abs(steps_of(value_m3_s, _LITER_S / 100)) >= 100 else 2
    return f"{decimals(value_m3_s, _LITER_S, digits)} L/s"


@_kept
def show_time(value_s: float) -> str:
    """Return a time in the unit that suits it.

    Seconds below 90 s; half minutes below 10 min (``3½ minutes``); minutes below 2 h; hours up to 72 h, below
    10 h to 0.1; days to 0.1 above.
    """
    if abs(steps_of(value_s, _ONE)) < 90:
        return f"{decimals(value_s, _ONE, 0)} s"
    halves = steps_of(value_s, MINUTE_S / 2)
    if abs(halves) < 20 and halves % 2:
        return f"{_sign(halves)}{abs(halves) // 2}½ minutes"
    if abs(steps_of(value_s, MINUTE_S)) < 120:
        return f"{decimals(value_s, MINUTE_S, 0)} min"
    tenths = steps_of(value_s, HOUR_S / 10)
    if abs(tenths) <= 720:
        return f"{decimals(value_s, HOUR_S, 1 if abs(tenths) < 100 and tenths % 10 else 0)} h"
    tenths = steps_of(value_s, DAY_S / 10)
    return f"{decimals(value_s, DAY_S, 1 if tenths % 10 else 0)} days"


@_kept
def show_mass(value_kg: float, style: Style) -> str:
    """Return a mass: short tons to 0.5, below 0.5 ton pounds; metric tons to 0.1, below 0.1 t kilograms."""
    if style == "us":
        if abs(steps_of(value_kg, POUND_KG)) < 1000:
            return f"{decimals(value_kg, POUND_KG, 0)} lb"
        halves = steps_of(value_kg, SHORT_TON_KG / 2)
        whole = f"{abs(halves) // 2:,}" + (".5" if halves % 2 else "")
        return f"{_sign(halves)}{whole} {'ton' if abs(halves) == 2 else 'tons'}"
    if abs(steps_of(value_kg, _ONE)) < 100:
        return f"{decimals(value_kg, _ONE, 0)} kg"
    return f"{decimals(value_kg, Fraction(1000), 1)} t"


@_kept
def show_percent(ratio: float, digits: int = 0) -> str:
    """Return a ratio in percent with ``digits`` decimals."""
    return f"{decimals(ratio, Fraction(1, 100), digits)} %"


@_kept
def show_money(amount: float) -> str:
    """Return an amount of money in whole dollars."""
    text = decimals(amount, _ONE, 0)
    return f"{MINUS}${text[1:]}" if text.startswith(MINUS) else f"${text}"


@_kept
def show_speed(value_m_s: float, style: Style) -> str:
    """Return a speed to 0.1 ft/s or 0.01 m/s."""
    if style == "us":
        return f"{decimals(value_m_s, FOOT_M, 1)} ft/s"
    return f"{decimals(value_m_s, _ONE, 2)} m/s"


def _less_than_ten(value: float, unit: Fraction) -> str:
    """Whole numbers, but one decimal below ten."""
    tenths = steps_of(value, unit / 10)
    return decimals(value, unit, 1 if abs(tenths) < 100 and tenths else 0)


def _two_figures(value: float, unit: Fraction, digits: int) -> str:
    """As many decimals as asked, and more where fewer than two figures would be left (to six more)."""
    for more in range(7):
        if value == 0 or abs(steps_of(value, unit / 10 ** (digits + more))) >= 10:
            return decimals(value, unit, digits + more)
    return decimals(value, unit, digits + 6)
