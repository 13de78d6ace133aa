"""Water along a gutter: the surface from the far ends to the outlet, and the flow that reaches the brim.

A gutter takes water along its whole length, so flow grows towards the outlet. Along an arm (from a closed end or
a divide to the outlet) momentum changes by the weight of the water on its slope and by friction:

    d(Q²/gA + M)/dx = A (S₀ − S_f),   M the first moment of the water area, S_f by Manning

which holds through jumps and points where a valley pours in (water that falls in brings no momentum along the
gutter). Three things can govern: the free fall at the outlet (critical depth), the hole there (the head that it
needs for the water of both arms), or, where the gutter is steep, a critical section inside the arm with shooting
flow below it. All are found in one pass up the slow branch, held at critical depth where it cannot exist, and
one down the fast branch; where both could be, the one with the greater force is there, and a jump between.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from roofwell.errors import InputError, InternalError
from roofwell.physics.roof.gutter_march import (
    GRAVITY_M_S2,
    STEEPEST,
    ArmWater,
    Control,
    GutterArm,
    arm_water,
    geometry,
    with_critical_section,
)
from roofwell.physics.roof.gutter_section import GutterSection
from roofwell.physics.roof.outlet import GutterOutlet, head_on_outlet_m, outlet_flow_m3_s

__all__ = [
    "STEEPEST",
    "ArmWater",
    "GutterArm",
    "GutterCapacity",
    "GutterWater",
    "gutter_capacity",
    "gutter_water",
]


@dataclass(frozen=True, slots=True)
class GutterWater:
    """Both arms of one outlet. ``brim_margin_m``: the least room between water and brim, negative where the
    water would stand over it (as if the walls went on upright); at ``brim_station_m`` of arm ``brim_arm``.
    ``hole_head_m``: depth that the hole needs, 0 for a free fall."""

    arms: tuple[ArmWater, ...]
    hole_head_m: float
    brim_margin_m: float
    brim_arm: int
    brim_station_m: float


@dataclass(frozen=True, slots=True)
class GutterCapacity:
    """Flow at which the water first reaches the brim less the freeboard, m³/s, and where."""

    flow_m3_s: float
    brim_arm: int
    brim_station_m: float
    control: Control


def gutter_water(
    section: GutterSection,
    arms: Sequence[GutterArm],
    *,
    manning_n: float,
    outlet: GutterOutlet | None = None,
) -> GutterWater:
    """Return the water surface along the arms that share one outlet.

    Parameters
    ----------
    section
        Inside of the gutter; above its brim the walls are taken to go on upright.
    arms
        One arm, or two that meet at the outlet.
    manning_n
        Roughness of the wall, s/m^(1/3); zero or more.
    outlet
        The hole in the floor; None for an outlet at which water falls freely.

    Raises
    ------
    InputError
        ``gutter-number`` for no arm, more than two, or a roughness below zero.

    Notes
    -----
    Steady flow, one direction, hydrostatic pressure, slopes up to 5 %. Each arm starts at its outlet with the
    greater of its critical depth and the head that the hole needs for the water of both. Implicit trapezoids in
    momentum on 49 stations that crowd at both ends. A gutter's closed end is where flow is zero.
    """
    _check(arms, manning_n)
    total = sum(arm.flow_m3_s for arm in arms)
    head = head_on_outlet_m(outlet, flow_m3_s=total) if outlet is not None else 0.0
    at = geometry(section)
    waters = tuple(arm_water(at, section, arm, head, manning_n) for arm in arms)
    waters = tuple(
        with_critical_section(at, arm, water, manning_n) for arm, water in zip(arms, waters, strict=True)
    )
    margins = [section.depth_m - float(np.max(water.depth_m)) for water in waters]
    worst = int(np.argmin(margins))
    where = int(np.argmax(waters[worst].depth_m))
    return GutterWater(waters, head, margins[worst], worst, float(waters[worst].station_m[where]))


def gutter_capacity(
    section: GutterSection,
    arms: Sequence[GutterArm],
    *,
    manning_n: float,
    outlet: GutterOutlet | None = None,
    freeboard_m: float = 0.0,
) -> GutterCapacity:
    """Return the flow of all arms together at which the water first reaches the brim anywhere.

    The arms give the proportions of the water: all flows grow together until the deepest place stands
    ``freeboard_m`` under the brim. To 1e-7 of the flow.

    Raises
    ------
    InputError
        ``gutter-number`` as ``gutter_water``, for arms without water, or a freeboard that is not at least 0
        and less than the depth.
    InternalError
        ``gutter-not-solved`` if the search does not settle (none known).
    """
    _check(arms, manning_n)
    shares = sum(arm.flow_m3_s for arm in arms)
    if not (shares > 0 and 0 <= freeboard_m < section.depth_m):
        raise InputError(
            f"arms bring {shares:g} m³/s and the freeboard is {freeboard_m:g} m in a gutter {section.depth_m:g} m "
            "deep: some water must come, and the freeboard must be at least 0 and less than the depth",
            code="gutter-number",
        )
    target = section.depth_m - freeboard_m
    unit = [arm.times(1.0 / shares) for arm in arms]
    different = list(dict.fromkeys(unit))
    at = geometry(section)

    def excess(log_flow: float) -> float:
        flow = math.exp(log_flow)
        head = head_on_outlet_m(outlet, flow_m3_s=flow) if outlet is not None else 0.0
        deepest = max(
            float(np.max(arm_water(at, section, arm.times(flow), head, manning_n).depth_m))
            for arm in different
        )
        return math.log(deepest / target)

    area, width, _, _ = at(0.6 * target)
    guess = math.sqrt(GRAVITY_M_S2 * area**3 / width)
    if outlet is not None:
        guess = min(guess, outlet_flow_m3_s(outlet, head_m=target))
    flow = math.exp(_root(excess, math.log(guess)))
    water = gutter_water(section, [arm.times(flow) for arm in unit], manning_n=manning_n, outlet=outlet)
    control = water.arms[water.brim_arm].control
    if water.hole_head_m >= target * (1 - 1e-6):
        control = "hole"  # the brim is reached at the hole itself, whatever the arm does above it
    return GutterCapacity(flow, water.brim_arm, water.brim_station_m, control)


def _check(arms: Sequence[GutterArm], manning_n: float) -> None:
    if not (1 <= len(arms) <= 2 and 0 <= manning_n < math.inf):
        raise InputError(
            f"an outlet has one or two arms and a roughness of zero or more; got {len(arms)} and {manning_n:g}",
            code="gutter-number",
        )


def _root(excess: Callable[[float], float], guess: float) -> float:
    """Root of a growing function of the logarithm of flow: secant held in a bracket."""
    low, high = -math.inf, math.inf
    x, slope = guess, 0.6  # depth grows about as flow to the 0.6
    before: tuple[float, float] | None = None
    for _ in range(80):
        y = excess(x)
        if y < 0:
            low = max(low, x)
        else:
            high = min(high, x)
        if abs(y) <= 5e-8 or high - low <= 1e-8:
            return x
        if before is not None and x != before[0] and (y - before[1]) / (x - before[0]) > 0:
            slope = min(max((y - before[1]) / (x - before[0]), 0.1), 20.0)
        before = (x, y)
        step = max(-3.0, min(3.0, -y / slope))
        x += step
        if not low < x < high:
            x = 0.5 * (low + high)
    raise InternalError("the capacity of a gutter did not settle", code="gutter-not-solved")
