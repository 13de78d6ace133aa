"""Stiffness of plastic pipe and how much soil and wheels flatten it.

Range: flexible plastic pipe, deflection to about 7.5 %. A screening check: the live pressure at 1 to 1.5 ft
of cover is an interpolation. Source: parallel-plate stiffness and the modified Iowa formula as used with ASTM
D2321 and D3034 (from memory).
"""

from __future__ import annotations

import math

from roofwell.errors import InputError


def pipe_stiffness_pa(*, outside_diameter_m: float, wall_m: float, modulus_pa: float) -> float:
    """Return the stiffness of a plain-walled pipe, Pa: force per length and per deflection.

    4.47 E / (OD / t - 1)^3. Raises ``InputError`` (``pipe-wall``) unless all are above 0 and the wall below
    half the diameter.
    """
    if not (outside_diameter_m > 0 and modulus_pa > 0 and 0 < wall_m < outside_diameter_m / 2):
        raise InputError(
            f"diameter {outside_diameter_m}, wall {wall_m} m, modulus {modulus_pa} Pa; all must be above "
            "0 and the wall below half the diameter",
            code="pipe-wall",
        )
    return 4.47 * modulus_pa / (outside_diameter_m / wall_m - 1) ** 3


def stiffness_of_ring_pa(ring_stiffness_pa: float) -> float:
    """Return the parallel-plate stiffness F/(L dy) of a pipe whose ring stiffness E I / D^3 is given, Pa.

    For a thin ring between two plates dy = 0.149 F r^3 / (E I) with r = D / 2, so the two differ by 8/0.149.
    EN 1401 and ISO 9969 name pipes by the second (SN 4: 4 kPa), ASTM by the first. Raises ``InputError``
    (``pipe-wall``) unless it is above 0. Source: thin-ring theory (derived).
    """
    if not (math.isfinite(ring_stiffness_pa) and ring_stiffness_pa > 0):
        raise InputError(f"ring stiffness {ring_stiffness_pa} Pa; it must be above 0", code="pipe-wall")
    return 8 / 0.149 * ring_stiffness_pa


def deflection(
    *,
    soil_pressure_pa: float,
    live_pressure_pa: float,
    stiffness_pa: float,
    soil_modulus_pa: float,
    bedding: float = 0.1,
    lag: float = 1.5,
) -> float:
    """Return the share of its diameter by which a pipe flattens.

    bedding (lag x soil + live pressure) / (0.149 PS + 0.061 E'). The usual limit is 5 %. Raises
    ``InputError`` (``pipe-load``) if a pressure is below 0 or a stiffness not above 0.
    """
    given = (soil_pressure_pa, live_pressure_pa, stiffness_pa, soil_modulus_pa, bedding, lag)
    if not all(math.isfinite(value) and value >= 0 for value in given) or stiffness_pa + soil_modulus_pa <= 0:
        raise InputError(f"pressures and stiffnesses {given}; none may be below 0", code="pipe-load")
    return (
        bedding
        * (lag * soil_pressure_pa + live_pressure_pa)
        / (0.149 * stiffness_pa + 0.061 * soil_modulus_pa)
    )
