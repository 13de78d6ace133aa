"""The jet of a pipe that comes into a basin, and how fast it still is where the debris lies.

A round jet in still water keeps its momentum and slows down with distance: u(x) = 6.2 u₀ d / x, with the bell-shaped
profile exp(−r² / 2 (0.081 x)²) across (Albertson, Dai, Jensen and Rouse, Transactions ASCE 115, 1950; both constants
from memory). Water that falls into the basin gains speed on the way down; a level jet is turned down by the wall
opposite, and is counted as a free jet as long as its way, which is on the fast side. Air that a falling jet drags
along, and the basin's walls, slow it more: nothing is taken off for them.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

FloatArray = NDArray[np.float64]
GRAVITY_M_S2 = 9.80665
CENTER = 6.2
SPREAD = 0.081


def round_jet_m_s(*, velocity_m_s: float, diameter_m: float, distance_m: float) -> float:
    """Return the greatest velocity of a round jet in still water at a distance from its mouth, m/s.

    ``velocity_m_s`` zero or more, ``diameter_m`` and ``distance_m`` above 0, else ``InputError``
    (``basin-number``). Within 6.2 diameters the core still has the mouth's velocity.

    >>> round_jet_m_s(velocity_m_s=1.0, diameter_m=0.1, distance_m=1.24)
    0.5
    """
    if not (velocity_m_s >= 0 and diameter_m > 0 and distance_m > 0):
        raise InputError(
            f"a jet of {velocity_m_s:g} m/s from {diameter_m:g} m at {distance_m:g} m: velocity must be zero or more, "
            "diameter and distance above 0",
            code="basin-number",
        )
    return velocity_m_s * min(1.0, CENTER * diameter_m / distance_m)


def at_deposit_m_s(
    *,
    flow_m3_s: FloatArray,
    velocity_m_s: FloatArray,
    pipe_diameter_m: float,
    fall_m: float,
    depth_m: float,
    across_m: float,
) -> FloatArray:
    """Return the greatest velocity over the deposit of a basin, m/s, one for each flow.

    Parameters
    ----------
    flow_m3_s
        Flow in the inlet pipe, m³/s, shape (n,); zero or more.
    velocity_m_s
        Velocity of the water in the pipe, m/s, shape (n,); zero or more.
    pipe_diameter_m
        Inside diameter of the inlet pipe, m; above 0.
    fall_m
        Height of the inlet's invert over the standing water, m; negative where the inlet lies under it.
    depth_m
        Depth of water over the deposit, m; 0 where the deposit reaches the surface.
    across_m
        Width of the basin along the jet, m; above 0.

    Raises
    ------
    InputError
        ``basin-number``.

    Notes
    -----
    Under water (``fall_m`` negative) the pipe runs full at its mouth where the water covers it, the jet leaves level
    and reaches the deposit by its lower side, or by the wall opposite. Over water it dives at the angle of its fall.
    """
    for name, value in (("pipe diameter", pipe_diameter_m), ("width", across_m)):
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} is {value:g}; it must be above 0", code="basin-number")
    if not (math.isfinite(fall_m) and math.isfinite(depth_m) and depth_m >= 0):
        raise InputError(
            f"fall {fall_m:g} m and depth {depth_m:g} m: numbers are needed, the depth zero or more",
            code="basin-number",
        )
    flow = np.asarray(flow_m3_s, dtype=np.float64)
    drop = max(0.0, fall_m)
    full = flow / (0.25 * math.pi * pipe_diameter_m**2)
    level = full if fall_m <= -pipe_diameter_m else np.maximum(velocity_m_s, full)
    down = math.sqrt(2.0 * GRAVITY_M_S2 * drop)
    entry = np.hypot(level, down)
    diameter = np.sqrt(4.0 * flow / (math.pi * np.maximum(entry, 1e-12)))
    # depth of the jet's axis over the deposit: under water the middle of the mouth, else the surface
    axis = max(0.0, depth_m + min(0.0, fall_m + 0.5 * pipe_diameter_m))
    round_the_wall = across_m + axis
    with np.errstate(divide="ignore"):
        dive = np.where(down > 0.0, depth_m * entry / max(down, 1e-12), np.inf)
    way = np.maximum(np.minimum(dive, round_the_wall), 1e-9)
    found = entry * np.minimum(1.0, CENTER * diameter / way)
    if fall_m < 0.0:
        # the lower side of the level jet sweeps the deposit: greatest of exp(−s² / 2 (c x)²) / x, at x = s / c
        sweep = min(max(axis / SPREAD, 1e-9), across_m)
        side = math.exp(-0.5 * (axis / (SPREAD * sweep)) ** 2)
        swept = side * entry * np.minimum(1.0, CENTER * diameter / sweep)
        found = np.maximum(found, np.where(axis <= 0.5 * diameter, entry, swept))
    return np.where(flow > 0.0, found, 0.0)
