"""The trade's measures: stations, order units, and rounding up to what a yard sells."""

from __future__ import annotations

import math

from roofwell.units import Style
from roofwell.units.factors import FOOT_M, INCH_M, SHORT_TON_KG, YARD_M

CUBIC_YARD_M3 = float(YARD_M**3)
SQUARE_YARD_M2 = float(YARD_M**2)
TON_KG = float(SHORT_TON_KG)
TONNE_KG = 1000.0
_NOISE = 1e-9  # a sum that is only noise above a whole step is not bought a step more


def up(value: float, step: float) -> float:
    """Return ``value`` rounded up to a whole number of ``step``; noise above a step is left out."""
    return math.ceil(value / step - _NOISE) * step


def station(distance_m: float, style: Style) -> str:
    """Return a station: ``0+12`` (whole feet) or ``3.66 m``.

    >>> station(3.6576, "us")
    '0+12'
    """
    if style == "metric":
        return f"{distance_m:.2f} m"
    feet = math.floor(distance_m / float(FOOT_M) + 0.5)
    return f"{feet // 100}+{feet % 100:02d}"


def size_key(nominal_m: float) -> str:
    """Return a nominal size as item keys write it: ``4in`` where it is a whole half inch, else ``110mm``."""
    halves = nominal_m / float(INCH_M) * 2
    if abs(halves - round(halves)) < 1e-3:
        return f"{round(halves) / 2:g}in"
    return f"{nominal_m * 1000:g}mm"


def size_text(nominal_m: float) -> str:
    """Return a nominal size as people say it: ``4 in`` or ``110 mm``."""
    key = size_key(nominal_m)
    return f"{key[:-2]} {key[-2:]}"


def bulk(volume_m3: float, style: Style) -> tuple[float, str]:
    """Return a bulk volume in the unit of the order: cu yd or m³."""
    return (volume_m3 / CUBIC_YARD_M3, "cu yd") if style == "us" else (volume_m3, "m³")


def mass(mass_kg: float, style: Style) -> tuple[float, str]:
    """Return a mass in the unit of the order: short tons or metric tons."""
    return (mass_kg / TON_KG, "ton") if style == "us" else (mass_kg / TONNE_KG, "t")


def cloth(area_m2: float, style: Style) -> tuple[float, str]:
    """Return an area of geotextile in the unit of the order: sq yd or m²."""
    return (area_m2 / SQUARE_YARD_M2, "sq yd") if style == "us" else (area_m2, "m²")
