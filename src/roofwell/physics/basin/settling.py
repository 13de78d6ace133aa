"""What settles in a catch basin and what floats: fall velocities of grains and the share that a basin keeps.

Four published fall velocities for one grain differ by about a fifth. Use one throughout (Ferguson and Church
with the constants of natural sand is Roofwell's) and say which.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from roofwell.errors import InputError

GRAVITY_M_S2 = 9.80665


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} is {value:g}; it must be above 0", code="settling-number")


def water_viscosity_m2_s(*, temperature_c: float) -> float:
    """Return the kinematic viscosity of water, m²/s.

    ``temperature_c`` 0 to 40 °C; else ``InputError`` (``water-temperature``).

    μ = 2.414e-5 × 10^(247.8 / (T − 140)) Pa s with T in kelvin over the density of water; both from memory.
    0.5 % below the handbook at 10 °C.

    >>> round(water_viscosity_m2_s(temperature_c=20.0) * 1e6, 4)
    1.0035
    """
    if not 0 <= temperature_c <= 40:
        raise InputError(
            f"water temperature is {temperature_c:g} °C; it must be 0 to 40", code="water-temperature"
        )
    dynamic_pa_s = 2.414e-5 * 10.0 ** (247.8 / (temperature_c + 273.15 - 140.0))
    density_kg_m3 = 1000.0 * (
        1.0
        - (temperature_c + 288.9414) / (508929.2 * (temperature_c + 68.12963)) * (temperature_c - 3.9863) ** 2
    )
    return float(dynamic_pa_s / density_kg_m3)


def stokes_m_s(*, grain_m: float, submerged_specific_gravity: float = 1.65, viscosity_m2_s: float) -> float:
    """Return the fall velocity of a small sphere, m/s: R g d² / 18 ν.

    Parameters
    ----------
    grain_m
        Diameter, m; above 0.
    submerged_specific_gravity
        (density of grain − density of water) / density of water; quartz 1.65; above 0.
    viscosity_m2_s
        Kinematic viscosity of the water, m²/s; above 0.

    Raises
    ------
    InputError
        ``settling-number``; ``stokes-range`` where the Reynolds number w d/ν reaches 1 (quartz above about
        0.1 mm): there the law gives several times too much.
    """
    _above_zero(
        grain_m=grain_m,
        submerged_specific_gravity=submerged_specific_gravity,
        viscosity_m2_s=viscosity_m2_s,
    )
    velocity_m_s = submerged_specific_gravity * GRAVITY_M_S2 * grain_m**2 / (18.0 * viscosity_m2_s)
    reynolds = velocity_m_s * grain_m / viscosity_m2_s
    if reynolds >= 1.0:
        raise InputError(
            f"a grain of {1e3 * grain_m:.3g} mm would fall at a Reynolds number of {reynolds:.3g}; Stokes "
            "holds below 1, use ferguson_church_m_s",
            code="stokes-range",
        )
    return velocity_m_s


def ferguson_church_m_s(
    *,
    grain_m: float,
    submerged_specific_gravity: float = 1.65,
    viscosity_m2_s: float,
    c1: float = 18.0,
    c2: float = 1.0,
) -> float:
    """Return the fall velocity of a grain of any size, m/s: R g d² / (C₁ ν + sqrt(0.75 C₂ R g d³)).

    Parameters
    ----------
    grain_m, submerged_specific_gravity, viscosity_m2_s
        As ``stokes_m_s``, any size.
    c1, c2
        18 and 1.0 for natural sand by sieve (the default), 18 and 0.4 for spheres, 20 and 1.1 by nominal
        diameter, 24 and 1.2 for the most angular (the last from memory); above 0.

    Raises
    ------
    InputError
        ``settling-number``.

    Notes
    -----
    Ferguson and Church, Journal of Sedimentary Research 74 (2004) 933-937; form read in reproductions.

    >>> round(ferguson_church_m_s(grain_m=1e-4, viscosity_m2_s=1e-6) * 1e3, 2)
    7.53
    """
    _above_zero(
        grain_m=grain_m,
        submerged_specific_gravity=submerged_specific_gravity,
        viscosity_m2_s=viscosity_m2_s,
        c1=c1,
        c2=c2,
    )
    weight = submerged_specific_gravity * GRAVITY_M_S2
    return weight * grain_m**2 / (c1 * viscosity_m2_s + math.sqrt(0.75 * c2 * weight * grain_m**3))


def rise_velocity_m_s(
    *, size_m: float, specific_gravity: float, viscosity_m2_s: float, c1: float = 18.0, c2: float = 1.0
) -> float:
    """Return the velocity at which a floating bit rises, m/s, by ``ferguson_church_m_s`` turned upward.

    ``specific_gravity`` above 0 and below 1 (else ``InputError``, ``settling-float``); the rest above 0.
    Anything that rises faster than the overflow rate stays up: an intake below the surface keeps it back.
    """
    if not 0 < specific_gravity < 1:
        raise InputError(
            f"specific gravity is {specific_gravity:g}; what floats has one above 0 and below 1",
            code="settling-float",
        )
    return ferguson_church_m_s(
        grain_m=size_m,
        submerged_specific_gravity=1.0 - specific_gravity,
        viscosity_m2_s=viscosity_m2_s,
        c1=c1,
        c2=c2,
    )


def _dimensionless_grain(grain_m: float, submerged_specific_gravity: float, viscosity_m2_s: float) -> float:
    _above_zero(
        grain_m=grain_m,
        submerged_specific_gravity=submerged_specific_gravity,
        viscosity_m2_s=viscosity_m2_s,
    )
    return float(grain_m * (submerged_specific_gravity * GRAVITY_M_S2 / viscosity_m2_s**2) ** (1 / 3))


def cheng_m_s(*, grain_m: float, submerged_specific_gravity: float = 1.65, viscosity_m2_s: float) -> float:
    """Return the fall velocity of natural sand by Cheng (1997), m/s: (ν/d) (sqrt(25 + 1.2 D*²) − 5)^1.5.

    Arguments and errors as ``ferguson_church_m_s``. Form read in public research code.
    """
    grain = _dimensionless_grain(grain_m, submerged_specific_gravity, viscosity_m2_s)
    # sqrt(25 + x) − 5 as x / (sqrt(25 + x) + 5): the difference would lose a fine grain's digits.
    x = 1.2 * grain**2
    return float(viscosity_m2_s / grain_m * (x / (math.sqrt(25.0 + x) + 5.0)) ** 1.5)


def soulsby_m_s(*, grain_m: float, submerged_specific_gravity: float = 1.65, viscosity_m2_s: float) -> float:
    """Return the fall velocity of natural sand by Soulsby (1997), m/s.

    (ν/d) (sqrt(10.36² + 1.049 D*³) − 10.36). Arguments and errors as ``ferguson_church_m_s``.
    Constants read in public code.
    """
    x = 1.049 * _dimensionless_grain(grain_m, submerged_specific_gravity, viscosity_m2_s) ** 3
    return viscosity_m2_s / grain_m * x / (math.sqrt(10.36**2 + x) + 10.36)


def grain_of_velocity_m(
    *,
    velocity_m_s: float,
    submerged_specific_gravity: float = 1.65,
    viscosity_m2_s: float,
    c1: float = 18.0,
    c2: float = 1.0,
) -> float:
    """Return the grain that falls at this velocity, m: ``ferguson_church_m_s`` turned round, same errors."""
    _above_zero(
        velocity_m_s=velocity_m_s,
        submerged_specific_gravity=submerged_specific_gravity,
        viscosity_m2_s=viscosity_m2_s,
        c1=c1,
        c2=c2,
    )
    # With s = sqrt(d) the law is W s⁴ − b s³ − c = 0, which has one positive root; Newton from above it
    # comes down without fail.
    weight = submerged_specific_gravity * GRAVITY_M_S2
    b = velocity_m_s * math.sqrt(0.75 * c2 * weight)
    c = velocity_m_s * c1 * viscosity_m2_s
    s = b / weight + (c / weight) ** 0.25
    for _ in range(100):
        step = ((weight * s - b) * s**3 - c) / (s**2 * (4.0 * weight * s - 3.0 * b))
        s -= step
        if abs(step) <= 1e-15 * s:
            break
    return float(s**2)


def overflow_rate_m_s(*, flow_m3_s: float, plan_area_m2: float) -> float:
    """Return flow over plan area, m/s: what falls faster is kept, whatever the depth (ideal basin)."""
    _above_zero(flow_m3_s=flow_m3_s, plan_area_m2=plan_area_m2)
    return flow_m3_s / plan_area_m2


def captured_grain_m(
    *,
    flow_m3_s: float,
    plan_area_m2: float,
    submerged_specific_gravity: float = 1.65,
    viscosity_m2_s: float,
    c1: float = 18.0,
    c2: float = 1.0,
) -> float:
    """Return the smallest grain that an ideal basin keeps wholly, m.

    ``flow_m3_s``, ``plan_area_m2`` above 0; the rest and the errors as ``ferguson_church_m_s``. A small round
    basin with its inlet jet does far worse than an ideal one: see ``tank_removal``.
    """
    return grain_of_velocity_m(
        velocity_m_s=overflow_rate_m_s(flow_m3_s=flow_m3_s, plan_area_m2=plan_area_m2),
        submerged_specific_gravity=submerged_specific_gravity,
        viscosity_m2_s=viscosity_m2_s,
        c1=c1,
        c2=c2,
    )


def ideal_removal(x: float) -> float:
    """Return the share that an ideal basin keeps, min(1, x); ``x`` is fall velocity over overflow rate.

    Raises ``InputError`` (``settling-number``) below zero. Overflow-rate theory, any textbook.
    """
    if not x >= 0:
        raise InputError(
            f"velocity over overflow rate is {x:g}; it must be zero or more", code="settling-number"
        )
    return min(1.0, x)


def tank_removal(x: float, n: float) -> float:
    """Return the share that a basin as good as ``n`` stirred tanks keeps: 1 − (1 + x/n)^−n.

    Parameters
    ----------
    x
        Fall velocity over overflow rate; zero or more.
    n
        1 very poor, 3 good, over 5 very good; ``math.inf`` gives 1 − exp(−x), which is still below
        ``ideal_removal``. At least 1. A small round basin with a direct inlet: 1.

    Raises
    ------
    InputError
        ``settling-number``.

    Notes
    -----
    Form and ratings from memory of EPA 440/5-87-001 (1986), after Hazen 1904.
    """
    if not x >= 0:
        raise InputError(
            f"velocity over overflow rate is {x:g}; it must be zero or more", code="settling-number"
        )
    if not n >= 1:
        raise InputError(f"number of tanks is {n:g}; it must be 1 or more", code="settling-number")
    return -math.expm1(-x) if math.isinf(n) else -math.expm1(-n * math.log1p(x / n))


def mass_removal(
    *,
    velocity_m_s: Sequence[float],
    mass_share: Sequence[float],
    overflow_rate_m_s: float,
    tanks: float | None = None,
) -> float:
    """Return the share of a mixture that a basin keeps.

    Parameters
    ----------
    velocity_m_s, mass_share
        Fall velocity, m/s, and share of the mass of each fraction; same length, shares sum to 1.
    overflow_rate_m_s
        Flow over plan area, m/s; above 0.
    tanks
        ``n`` of ``tank_removal``; left out: an ideal basin.

    Raises
    ------
    InputError
        ``settling-fractions`` if the lists do not match or the shares do not sum to 1; ``settling-number``.
    """
    _above_zero(overflow_rate_m_s=overflow_rate_m_s)
    if len(velocity_m_s) != len(mass_share) or abs(math.fsum(mass_share) - 1.0) > 1e-6:
        raise InputError(
            f"{len(velocity_m_s)} velocities and {len(mass_share)} shares that sum to "
            f"{math.fsum(mass_share):g}: one share for each velocity is needed, summing to 1",
            code="settling-fractions",
        )
    ratios = [velocity / overflow_rate_m_s for velocity in velocity_m_s]
    kept = [ideal_removal(x) if tanks is None else tank_removal(x, tanks) for x in ratios]
    return math.fsum(share * part for share, part in zip(mass_share, kept, strict=True))


def scour_velocity_m_s(
    *, grain_m: float, submerged_specific_gravity: float, cohesion_k: float, friction_factor: float
) -> float:
    """Return the velocity that lifts settled grains again, m/s (Camp, from memory).

    sqrt(8 k (s − 1) g d / f). ``cohesion_k`` 0.04 (clean grains) to 0.06 (sticky),
    ``friction_factor`` 0.02 to 0.03; all above 0, else ``InputError`` (``settling-number``).
    """
    _above_zero(
        grain_m=grain_m,
        submerged_specific_gravity=submerged_specific_gravity,
        cohesion_k=cohesion_k,
        friction_factor=friction_factor,
    )
    return math.sqrt(8.0 * cohesion_k * submerged_specific_gravity * GRAVITY_M_S2 * grain_m / friction_factor)


def left_lying_m(
    *,
    velocity_m_s: float,
    submerged_specific_gravity: float = 1.65,
    cohesion_k: float,
    friction_factor: float,
) -> float:
    """Return the smallest grain that water of this speed leaves lying, m: the inverse of ``scour_velocity_m_s`` (Camp).

    ``velocity_m_s`` 0 or more, all else above 0, else ``InputError`` (``settling-number``). 1.65 is quartz in water.

    >>> round(left_lying_m(velocity_m_s=0.1, cohesion_k=0.04, friction_factor=0.025), 6)
    4.8e-05
    """
    _above_zero(
        submerged_specific_gravity=submerged_specific_gravity,
        cohesion_k=cohesion_k,
        friction_factor=friction_factor,
    )
    if not 0.0 <= velocity_m_s < math.inf:
        raise InputError(f"water of {velocity_m_s} m/s; give 0 or more", code="settling-number")
    return velocity_m_s**2 * friction_factor / (8.0 * cohesion_k * submerged_specific_gravity * GRAVITY_M_S2)


def detention_s(*, volume_m3: float, flow_m3_s: float) -> float:
    """Return volume over flow, s; both above 0, else ``InputError`` (``settling-number``)."""
    _above_zero(volume_m3=volume_m3, flow_m3_s=flow_m3_s)
    return volume_m3 / flow_m3_s
