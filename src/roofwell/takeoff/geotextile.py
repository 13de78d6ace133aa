"""Geotextile: net and gross area of lining a pit. Sides lap once, a sheet over or under is cut square."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.system.scheme import Well


@dataclass(frozen=True, slots=True)
class Lining:
    """Area covered and area to buy, m²."""

    net_m2: float
    gross_m2: float


def lining(well: Well, lap_m: float) -> Lining:
    """Return the geotextile of a well's faces (``well.geotextile``: sides, top, bottom).

    Sides: perimeter and one lap, times the height of the stone. Top and bottom, and a sheet under the loose stone
    at the lawn: a sheet that is turned up or down the wall by one lap all round. Source: the house's reference sheet of
    materials, 2.6 (derived).
    """
    height = max(0.0, well.stone_top_m - well.bottom_m)
    length, width = well.pit_length_m, well.pit_width_m
    if well.pit_shape == "round":
        around, flat, width = math.pi * length, math.pi * length**2 / 4, length
    else:
        around, flat = 2 * (length + width), length * width
    sides = "sides" in well.geotextile
    sheets = ("top" in well.geotextile) + ("bottom" in well.geotextile) + (well.top_stone_m > 0)
    return Lining(
        net_m2=around * height * sides + flat * sheets,
        gross_m2=(around + lap_m) * height * sides + (length + 2 * lap_m) * (width + 2 * lap_m) * sheets,
    )
