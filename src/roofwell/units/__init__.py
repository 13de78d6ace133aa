"""Quantities at the border: our own parser and formatter, exact on fractions.

Inside Roofwell everything is an SI float; what a person types and reads passes through here.

``parse``            a typed text to a ``Quantity`` (``"4' 6 1/2\\""``, ``"1/4 in/ft"``, ``"25 min/in"``)
``write``            a value to a text that ``parse`` reads back to the same float
``show_...``         a value rounded for its reader, in US customary or metric units
``on_..._grid``      a value put on the grid to which things are built
"""

from roofwell.units.dimension import Dimension, Quantity
from roofwell.units.grid import (
    GRID_ELEVATION,
    GRID_SIZE,
    Style,
    Toward,
    on_elevation_grid,
    on_size_grid,
)
from roofwell.units.parsing import parse
from roofwell.units.showing import (
    feet_inches,
    show_area,
    show_bulk_volume,
    show_depth,
    show_distance,
    show_elevation,
    show_flow,
    show_length,
    show_mass,
    show_money,
    show_percent,
    show_rain,
    show_rate,
    show_size,
    show_slope,
    show_slope_per_foot,
    show_small_area,
    show_speed,
    show_time,
    show_volume,
)
from roofwell.units.writing import write

__all__ = [
    "GRID_ELEVATION",
    "GRID_SIZE",
    "Dimension",
    "Quantity",
    "Style",
    "Toward",
    "feet_inches",
    "on_elevation_grid",
    "on_size_grid",
    "parse",
    "show_area",
    "show_bulk_volume",
    "show_depth",
    "show_distance",
    "show_elevation",
    "show_flow",
    "show_length",
    "show_mass",
    "show_money",
    "show_percent",
    "show_rain",
    "show_rate",
    "show_size",
    "show_slope",
    "show_slope_per_foot",
    "show_small_area",
    "show_speed",
    "show_time",
    "show_volume",
    "write",
]
