"""The end of a pipe at daylight or in a curb: the water level that its opening, bars or flap ask for."""

from __future__ import annotations

import math

import numpy as np

from roofwell.errors import InputError
from roofwell.physics.pipe.flow import critical_depth_m, section

GRAVITY_M_S2 = 9.80665
_FOOT_M = 0.3048
_DROWNED_FROM = 1.2
NO_FLOW_M3_S = 1e-12  # a film, which has no depth


def rectangular_opening_head_m(
    *,
    flow_m3_s: float,
    width_m: float,
    height_m: float,
    weir_coefficient_si: float,
    orifice_coefficient: float,
    clogged_fraction: float = 0.0,
) -> float:
    """Return the water over the bottom of a rectangular opening that passes a flow, m.

    Parameters
    ----------
    flow_m3_s
        0 or more.
    width_m, height_m
        Clear, above 0.
    weir_coefficient_si
        m^(1/2)/s; 1.60 for a curb opening.
    orifice_coefficient
        0.67.
    clogged_fraction
        Share of the width that is closed, 0 to below 1.

    Raises
    ------
    InputError
        ``outfall-number``.

    Notes
    -----
    Q = Cw b h^1.5 while the opening is not full; once it is, the deeper of that and Q = Co b H (2 g (h − H/2))^(1/2).
    HEC-22, curb opening inlets in a sag (from memory; it takes the orifice from 1.4 heights on), used for water that
    comes out.
    """
    width = width_m * (1.0 - clogged_fraction)
    _check(flow_m3_s, width, height_m, weir_coefficient_si, orifice_coefficient)
    if not 0.0 <= clogged_fraction < 1.0:
        raise InputError(f"{clogged_fraction} of an opening clogged", code="outfall-number")
    weir = (flow_m3_s / (weir_coefficient_si * width)) ** (2.0 / 3.0)
    if weir <= height_m:
        return float(weir)
    over = (flow_m3_s / (orifice_coefficient * width * height_m)) ** 2 / (2.0 * GRAVITY_M_S2)
    return float(max(weir, over + height_m / 2.0))


def round_opening_head_m(*, flow_m3_s: float, diameter_m: float, orifice_coefficient: float) -> float:
    """Return the water over the bottom of a round opening that passes a flow, m.

    Raises
    ------
    InputError
        ``outfall-number``.

    Notes
    -----
    The specific energy at critical depth, y + A / (2 T), up to 1.2 diameters (the usual rule for a drowned culvert, common
    practice); from there the orifice under its center, (Q / Co A)² / 2 g + D/2, as soon as that asks for more.
    """
    _check(flow_m3_s, diameter_m, orifice_coefficient)
    if flow_m3_s < NO_FLOW_M3_S:
        return 0.0
    critical = critical_depth_m(flow_m3_s=flow_m3_s, inside_diameter_m=diameter_m)
    water = section(inside_diameter_m=diameter_m, depth_m=critical)
    energy = critical + water.area_m2 / (2.0 * water.top_width_m) if water.top_width_m > 0 else math.inf
    area = math.pi * diameter_m**2 / 4.0
    full = (flow_m3_s / (orifice_coefficient * area)) ** 2 / (2.0 * GRAVITY_M_S2) + diameter_m / 2.0
    drowned = _DROWNED_FROM * diameter_m
    return float(full if full >= drowned else min(energy, drowned))


def flap_loss_m(*, flow_m3_s: float, diameter_m: float) -> float:
    """Return what a light hinged flap on a pipe's end takes, m.

    Raises
    ------
    InputError
        ``outfall-number``.

    Notes
    -----
    h = (4 V² / g) e^(−1.15 V / D^½) in feet and seconds, V over the full section: the Iowa tests on light flaps with a free
    outfall (1936), as Replogle and Wahlin (2003) quote them; the formula itself is from memory. It is greatest at
    V = 2 D^½ / 1.15 and held there beyond, so that a level never falls as the flow grows.
    """
    _check(flow_m3_s, diameter_m)
    speed = flow_m3_s / (math.pi * diameter_m**2 / 4.0) / _FOOT_M
    root = math.sqrt(diameter_m / _FOOT_M)
    speed = min(speed, 2.0 * root / 1.15)
    gravity = GRAVITY_M_S2 / _FOOT_M
    return 4.0 * speed**2 / gravity * math.exp(-1.15 * speed / root) * _FOOT_M


def trapped_m3(*, depth_m: float, length_m: float, inside_diameter_m: float) -> float:
    """Return the water that stays in a pipe which falls ``depth_m`` towards a closed low end, m³.

    Parameters
    ----------
    depth_m
        Depth over the inside bottom at the low end, which is the fall of the pipe; 0 or more.
    length_m
        Of the pipe, 0 or more.
    inside_diameter_m
        Above 0. A riser of the same size on the low end is counted up to the water's level.

    Raises
    ------
    InputError
        ``outfall-number``.
    """
    _check(depth_m, length_m + inside_diameter_m, inside_diameter_m)
    depth = np.linspace(0.0, depth_m, 201)
    half = 0.5 * inside_diameter_m
    angle = np.arccos(np.clip(1.0 - depth / half, -1.0, 1.0))
    wet = half**2 * (angle - np.sin(angle) * np.cos(angle))
    riser = max(0.0, depth_m - inside_diameter_m) * math.pi * half**2
    return float(np.trapezoid(wet, dx=1.0 / 200.0)) * length_m + riser


def _check(first: float, *above_zero: float) -> None:
    if not 0.0 <= first < math.inf or any(not 0.0 < value < math.inf for value in above_zero):
        raise InputError(
            f"opening with {first} and {above_zero}: 0 or more, then above 0", code="outfall-number"
        )
