"""The grid to which things are built, so that what is printed is what was judged."""

from __future__ import annotations

import math
from collections.abc import Mapping
from fractions import Fraction
from typing import Literal, TypeAlias

from roofwell.errors import InputError
from roofwell.units.factors import FOOT_M, INCH_M

Style: TypeAlias = Literal["us", "metric"]
Toward: TypeAlias = Literal["nearest", "up", "down"]

GRID_ELEVATION: Mapping[str, Fraction] = {"us": FOOT_M / 100, "metric": Fraction(1, 1000)}
"""Elevations and inverts are staked to 0.01 ft or 1 mm; m, exact."""

GRID_SIZE: Mapping[str, Fraction] = {"us": INCH_M / 8, "metric": Fraction(1, 1000)}
"""Sizes are cut and dug to 1/8 in or 1 mm; m, exact."""

_ON_THE_GRID_M = Fraction(1, 10**9)


def on_elevation_grid(value_m: float, style: Style, *, toward: Toward = "nearest") -> float:
    """Return the elevation on the 0.01 ft or 1 mm grid nearest to, or next above or below, ``value_m``.

    A value within 1e-9 m of a grid point goes to that point whichever way ``toward`` says, so that a figure
    that is only noise away from the grid is not moved by a whole step. The result is the float nearest to the
    exact grid point: written and read again it is the same float.

    Raises
    ------
    InputError
        ``number-not-finite``.
    """
    return _on_grid(value_m, GRID_ELEVATION[style], toward)


def on_size_grid(value_m: float, style: Style, *, toward: Toward = "nearest") -> float:
    """Return the size on the 1/8 in or 1 mm grid; else as ``on_elevation_grid``."""
    return _on_grid(value_m, GRID_SIZE[style], toward)


def _on_grid(value_m: float, step: Fraction, toward: Toward) -> float:
    if not math.isfinite(value_m):
        raise InputError(f"{value_m} is no length that a grid could hold", code="number-not-finite")
    steps = Fraction(value_m) / step
    count = math.floor(steps + Fraction(1, 2))
    if toward != "nearest" and abs(count - steps) * step > _ON_THE_GRID_M:
        count = math.ceil(steps) if toward == "up" else math.floor(steps)
    return float(count * step)
