"""The water that stays in a catch basin, and in the pipe that comes to it, after the rain.

A basin whose outlet is higher than its inlet holds water back in the inlet pipe: the pipe never dries, leaves
settle in it, and the fall from inlet to outlet is lost to the pipe downstream.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.errors import InputError

LEVEL = 1e-12  # a pipe that falls less than this, m, counts as level


@dataclass(frozen=True, slots=True)
class StandingWater:
    """What stands in and before a basin once flow has stopped.

    ``depth_over_inlet_m``: water over the inlet's invert, 0 where the outlet is lower. ``fall_lost_m``: the
    same height, missing in the line downstream. ``wet_length_m``: pipe, from the basin up, with any water
    in it; ``brim_full_length_m``: the part of it that is full to the crown.
    """

    level_m: float
    depth_over_inlet_m: float
    fall_lost_m: float
    wet_length_m: float
    brim_full_length_m: float
    pipe_volume_m3: float
    basin_volume_m3: float
    sump_depth_m: float

    @property
    def volume_m3(self) -> float:
        """Water standing in basin and pipe together, m³."""
        return self.pipe_volume_m3 + self.basin_volume_m3


def standing_water(
    *,
    inlet_invert_m: float,
    outlet_invert_m: float,
    pipe_slope: float,
    pipe_diameter_m: float,
    pipe_length_m: float,
    basin_area_m2: float,
    floor_m: float,
) -> StandingWater:
    """Return what stands in a basin and in its inlet pipe when the rain is over.

    Parameters
    ----------
    inlet_invert_m, outlet_invert_m
        Elevations of the inverts where the pipes meet the basin, m; neither below the floor.
    pipe_slope
        Fall per length of the inlet pipe; zero or more (a pipe that falls away from the basin never drains:
        enter it as level).
    pipe_diameter_m, pipe_length_m
        Inside diameter and length of the inlet pipe, m; above 0.
    basin_area_m2
        Plan area inside the basin, m²; above 0.
    floor_m
        Elevation of the basin's floor, m.

    Raises
    ------
    InputError
        ``basin-number``; ``basin-invert-under-floor``.

    Notes
    -----
    Still water: a level surface at the outlet's invert (no weep holes). The pipe's volume is exact for a
    straight round pipe: the area integrated over the depth.
    """
    for name, value in (
        ("pipe diameter", pipe_diameter_m),
        ("pipe length", pipe_length_m),
        ("basin area", basin_area_m2),
    ):
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} is {value:g}; it must be above 0", code="basin-number")
    if not (math.isfinite(pipe_slope) and pipe_slope >= 0):
        raise InputError(f"pipe slope is {pipe_slope:g}; it must be zero or more", code="basin-number")
    if not all(map(math.isfinite, (inlet_invert_m, outlet_invert_m, floor_m))):
        raise InputError(
            f"inverts {inlet_invert_m:g} m and {outlet_invert_m:g} m and floor {floor_m:g} m must be numbers",
            code="basin-number",
        )
    lowest = min(inlet_invert_m, outlet_invert_m)
    if lowest < floor_m:
        raise InputError(
            f"invert {lowest:.3f} m is below the basin's floor {floor_m:.3f} m; the floor must be lower",
            code="basin-invert-under-floor",
        )
    depth = max(0.0, outlet_invert_m - inlet_invert_m)
    if pipe_slope * pipe_length_m > LEVEL:
        wet = min(pipe_length_m, depth / pipe_slope)
        brim = min(pipe_length_m, max(0.0, depth - pipe_diameter_m) / pipe_slope)
    else:
        wet = pipe_length_m if depth > 0 else 0.0
        brim = pipe_length_m if depth >= pipe_diameter_m else 0.0
    volume = still_water_m3(
        depth_m=depth, slope=pipe_slope, diameter_m=pipe_diameter_m, length_m=pipe_length_m
    )
    sump = outlet_invert_m - floor_m
    return StandingWater(outlet_invert_m, depth, depth, wet, brim, volume, sump * basin_area_m2, sump)


def still_water_m3(*, depth_m: float, slope: float, diameter_m: float, length_m: float) -> float:
    """Return the still water in a straight round pipe, m³: a level surface ``depth_m`` over the invert of its lower end.

    ``slope``: fall per length, zero or more; diameter and length above 0, m; a depth of 0 or less gives 0. Exact: the
    area of water integrated over the depth. Derived. Raises ``InputError`` (``basin-number``).

    >>> round(still_water_m3(depth_m=1.0, slope=0.0, diameter_m=0.1, length_m=10.0), 6)  # full: pi / 4 x 0.1² x 10
    0.07854
    """
    if not (slope >= 0 and diameter_m > 0 and length_m > 0 and math.isfinite(depth_m)):
        raise InputError(
            f"depth {depth_m:g}, slope {slope:g}, diameter {diameter_m:g} and length {length_m:g}: diameter and length "
            "must be above 0, slope 0 or more",
            code="basin-number",
        )
    depth = max(0.0, depth_m)
    if slope * length_m <= LEVEL:
        return length_m * _area(diameter_m, depth)
    upper = max(0.0, depth - slope * length_m)
    return (_area_moment(diameter_m, depth) - _area_moment(diameter_m, upper)) / slope


def _area(diameter_m: float, depth_m: float) -> float:
    depth_m = min(depth_m, diameter_m)
    angle = 2.0 * math.acos(1.0 - 2.0 * depth_m / diameter_m)
    return diameter_m**2 * (angle - math.sin(angle)) / 8.0


def _area_moment(diameter_m: float, depth_m: float) -> float:
    """Area of water in a round pipe integrated over its depth (its first moment about the surface), m³."""
    within = min(depth_m, diameter_m)
    chord = 2.0 * math.sqrt(within * (diameter_m - within))
    moment = chord**3 / 12.0 - _area(diameter_m, within) * (diameter_m / 2.0 - within)
    return moment + (depth_m - within) * math.pi * diameter_m**2 / 4.0
