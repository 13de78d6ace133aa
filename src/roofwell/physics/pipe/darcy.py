"""Friction by Darcy and Colebrook, beside Manning: what a clean wall of known roughness would lose."""

from __future__ import annotations

import math

from roofwell.errors import InputError
from roofwell.physics.pipe.flow import GRAVITY_M_S2


def colebrook_friction_factor(*, reynolds: float, relative_roughness: float) -> float:
    """Return the Darcy friction factor of a full pipe by the Colebrook equation.

    Parameters
    ----------
    reynolds
        V D / ν; above 4000 (below, the flow is not turbulent and the equation does not hold).
    relative_roughness
        Roughness over inside diameter; 0 to 0.05.

    Raises
    ------
    InputError
        ``pipe-reynolds``, ``pipe-roughness``.
    """
    if not (math.isfinite(reynolds) and reynolds > 4000):
        raise InputError(f"Reynolds number is {reynolds:g}; Colebrook holds above 4000", code="pipe-reynolds")
    if not 0 <= relative_roughness <= 0.05:
        raise InputError(
            f"relative roughness is {relative_roughness:g}; Colebrook holds from 0 to 0.05",
            code="pipe-roughness",
        )
    # x = 1/sqrt(f); the iteration contracts by a factor of about ten, so thirty rounds exhaust a float.
    x = 7.0
    for _ in range(30):
        new = -2.0 * math.log10(relative_roughness / 3.7 + 2.51 * x / reynolds)
        if abs(new - x) < 1e-14 * x:
            break
        x = new
    return 1.0 / x**2


def darcy_friction_slope(
    *, flow_m3_s: float, inside_diameter_m: float, roughness_m: float, viscosity_m2_s: float
) -> float:
    """Return the slope of the grade line of a full pipe by Darcy and Colebrook, m/m.

    ``flow_m3_s``, ``inside_diameter_m``, ``viscosity_m2_s`` above 0; ``roughness_m`` zero or more.

    Raises
    ------
    InputError
        ``pipe-number``, ``pipe-reynolds`` (flow too small to be turbulent), ``pipe-roughness``.
    """
    if not (flow_m3_s > 0 and inside_diameter_m > 0 and viscosity_m2_s > 0):
        raise InputError(
            f"flow {flow_m3_s:g} m³/s, inside diameter {inside_diameter_m:g} m and viscosity "
            f"{viscosity_m2_s:g} m²/s must be above 0",
            code="pipe-number",
        )
    velocity_m_s = 4.0 * flow_m3_s / (math.pi * inside_diameter_m**2)
    factor = colebrook_friction_factor(
        reynolds=velocity_m_s * inside_diameter_m / viscosity_m2_s,
        relative_roughness=roughness_m / inside_diameter_m,
    )
    return factor * velocity_m_s**2 / (2.0 * GRAVITY_M_S2 * inside_diameter_m)


def friction_factor_of_manning_n(*, manning_n: float, inside_diameter_m: float) -> float:
    """Return the Darcy factor of a full pipe with this Manning n: f = 8 g n² / R^(1/3)."""
    if not (manning_n > 0 and inside_diameter_m > 0):
        raise InputError("Manning n and inside diameter must be above 0", code="pipe-number")
    return float(8.0 * GRAVITY_M_S2 * manning_n**2 / (inside_diameter_m / 4.0) ** (1 / 3))


def manning_n_of_friction_factor(*, friction_factor: float, inside_diameter_m: float) -> float:
    """Return the Manning n of a full pipe with this Darcy factor: n = R^(1/6) sqrt(f / 8 g)."""
    if not (friction_factor > 0 and inside_diameter_m > 0):
        raise InputError("friction factor and inside diameter must be above 0", code="pipe-number")
    return float((inside_diameter_m / 4.0) ** (1 / 6) * math.sqrt(friction_factor / (8.0 * GRAVITY_M_S2)))
