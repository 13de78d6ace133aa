"""Stone: which one, how fine, how heavy; how much of it goes where.

Porosity is open space over the whole volume, void ratio over the solids only: manuals mix the words up.
"""

from __future__ import annotations

import math
from dataclasses import replace

from roofwell.errors import InputError
from roofwell.physics.trench.excavation import box_pit_volume_m3, round_pit_volume_m3
from roofwell.physics.well.filter import porosity_of_void_ratio, void_ratio_of_porosity
from roofwell.physics.well.shapes import outside_volume_m3
from roofwell.system.scheme import Well
from roofwell.tables.stones import Stone, stone_named, stones

__all__ = [
    "Stone",
    "bodies_m3",
    "dry_density_kg_m3",
    "pit_part_m3",
    "porosity_of_void_ratio",
    "stone_named",
    "stones",
    "surround_m3",
    "void_ratio_of_porosity",
]

WATER_KG_M3 = 62.4 * 0.45359237 / 0.3048**3  # the 62.4 lb/cu ft of the trade's tables


def dry_density_kg_m3(*, porosity: float, specific_gravity: float) -> float:
    """Return the weight of a cubic meter of dry stone, kg: (1 - n) x specific gravity x water.

    Raises ``InputError``: ``porosity`` unless 0 <= n < 1, ``specific-gravity`` unless above 0.
    """
    _porosity(porosity)
    if not (math.isfinite(specific_gravity) and specific_gravity > 0):
        raise InputError(f"specific gravity {specific_gravity}; it must be above 0", code="specific-gravity")
    return (1 - porosity) * specific_gravity * WATER_KG_M3


def _porosity(porosity: float) -> None:
    if not 0 <= porosity < 1:
        raise InputError(f"porosity {porosity}; it must be at least 0 and below 1", code="porosity")


def pit_part_m3(well: Well, height_m: float) -> float:
    """Return the volume of a well's pit over a height, m³."""
    if well.pit_shape == "round":
        return round_pit_volume_m3(diameter_m=well.pit_length_m, depth_m=height_m)
    return box_pit_volume_m3(length_m=well.pit_length_m, width_m=well.pit_width_m, depth_m=height_m)


def bodies_m3(well: Well) -> float:
    """Return the volume that the well bodies take out of the stone, m³."""
    height = min(well.body_height_m, max(0.0, well.stone_top_m - well.bottom_m - well.stone_below_m))
    if well.bodies < 1 or height <= 0:
        return 0.0
    return outside_volume_m3(replace(well.in_stone, wall_m=0.0), height)


def surround_m3(well: Well) -> float:
    """Return the net volume of the stone surround: pit up to the top of the stone, less the bodies, m³.

    0 for a nearest Scheme whose bodies leave no room for stone.
    """
    return max(0.0, pit_part_m3(well, max(0.0, well.stone_top_m - well.bottom_m)) - bodies_m3(well))
