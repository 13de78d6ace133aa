"""Steady flow out of a round well into one soil, to all sides, at every depth of water in it.

The faces of a well take in more than the soil conducts under a gradient of one, because water spreads from them
to all sides and dry soil pulls at it. With the conductivity instead of a rate, flow is that of Elrick and Reynolds.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from roofwell.errors import InputError
from roofwell.physics.soil.infiltration import shape_factors
from roofwell.physics.soil.permeameter import (
    GLOVER_LEAST_HEAD_OVER_RADIUS,
    LEAST_HEAD_OVER_RADIUS,
    MOST_HEAD_OVER_RADIUS,
    glover_bracket,
    well_flow_per_conductivity_m2,
)

FloatArray = NDArray[np.float64]


def equivalent_radius_m(*, floor_m2: float) -> float:
    """Return the radius of the circle with a floor's area, m; floor above 0. Raises ``soil-number``.

    Of all plates of one area the round one passes the least to its surroundings (Pólya and Szegő, from memory), and a
    longer floor has the longer wall: a rectangular pit that counts as this circle is counted on the low side.
    """
    if not (math.isfinite(floor_m2) and floor_m2 > 0):
        raise InputError(f"floor_m2 is {floor_m2}; it must be above 0", code="soil-number")
    return math.sqrt(floor_m2 / math.pi)


def flow_around_well_m2(*, depths_m: ArrayLike, radius_m: float, alpha_star_per_m: float) -> FloatArray:
    """Return flow over conductivity, Q / K, at each depth of water in a round well.

    Parameters
    ----------
    depths_m
        Water depths over the bottom, m, any shape; 0 to 20 radii (enforced).
    radius_m
        Radius of the well's pit, m; above 0. Of a rectangular pit `equivalent_radius_m`.
    alpha_star_per_m
        Capillarity class of the soil, 1/m; above 0.

    Returns
    -------
    array of the shape of ``depths_m``
        Q / K, m²: multiplied by the saturated conductivity (m/s), what soaks away (m³/s).

    Raises
    ------
    InputError
        ``soil-number``, ``soil-range``.

    Notes
    -----
    From half a radius on Elrick and Reynolds, Q / K = (2 pi H² + pi a² C + 2 pi H / alpha*) / C. The fits of C reach no
    lower, so below that a straight line from the floor alone under a gradient of one (pi a², at no depth) to the formula
    at half a radius. Wooding's shallow disc takes in 4 a / alpha* more than its floor (from memory): the line stands on
    the low side. Steady, uniform soil, water table well below; what silt closes is not in it.
    """
    depths = np.asarray(depths_m, dtype=np.float64)
    if not bool((depths >= 0).all()):
        raise InputError("a depth of water below 0; it must be at least 0", code="soil-range")
    least = LEAST_HEAD_OVER_RADIUS * radius_m
    head = np.maximum(depths, least)
    c = shape_factors(heads_m=head, radius_m=radius_m, alpha_star_per_m=alpha_star_per_m)
    floor = math.pi * radius_m**2
    formula = (2 * math.pi * head**2 + floor * c + 2 * math.pi * head / alpha_star_per_m) / c
    low = well_flow_per_conductivity_m2(head_m=least, radius_m=radius_m, alpha_star_per_m=alpha_star_per_m)
    return np.asarray(
        np.where(depths > least, formula, floor + (low - floor) * depths / least), dtype=np.float64
    )


def within_fits(*, depth_m: float, radius_m: float) -> bool:
    """Say whether the water of a full well is 0.5 to 20 radii deep, where the fits of Elrick and Reynolds hold."""
    return LEAST_HEAD_OVER_RADIUS <= depth_m / radius_m <= MOST_HEAD_OVER_RADIUS


def glover_flow_m2(*, depth_m: float, radius_m: float) -> float:
    """Return flow over conductivity by Glover, Q / K = 2 pi H² / [asinh(H/r) - sqrt(1 + r²/H²) + r/H], m².

    Deep water table, no capillarity; depth at least 10 radii (enforced), both above 0, m. Source: USBR 7300-89,
    condition I (from memory). Raises ``soil-number``, ``soil-range``.
    """
    if not (math.isfinite(radius_m) and radius_m > 0):
        raise InputError(f"radius_m is {radius_m}; it must be above 0", code="soil-number")
    x = depth_m / radius_m
    if not x >= GLOVER_LEAST_HEAD_OVER_RADIUS * (1 - 1e-9):
        raise InputError(f"depth over radius is {x:.3g}; Glover holds from 10 on", code="soil-range")
    return 2 * math.pi * depth_m**2 / glover_bracket(x)
