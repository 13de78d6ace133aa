"""Infiltration rates from the tests that a contractor can do in a hole, and what a set of them says.

Every function returns the rate at which water enters a wetted face under no more than gravity, m/s; they
disagree because they credit the walls differently, which each docstring says. Water depths are over the
bottom of the hole. None corrects for capillarity except ``percolation_conductivity_m_s``.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

FloatArray = NDArray[np.float64]

ALPHA_STAR_PER_M = {"coarse": 36.0, "most": 12.0, "fine": 4.0, "compacted": 1.0}
"""Capillarity classes of the well permeameter, 1/m: coarse or strongly structured; most structured medium
soils; fine, massive; compacted clay. Seen on a field sheet (0.36, 0.12, 0.04, 0.01 per cm)."""

_SHAPE_FITS = ((12.0, 2.074, 0.093, 0.754), (4.0, 1.992, 0.091, 0.683), (0.0, 2.102, 0.118, 0.655))


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} is {value}; it must be above 0", code="soil-number")


def _falling(radius_m: float, water_start_m: float, water_end_m: float, time_s: float) -> None:
    _positive(radius_m=radius_m, water_start_m=water_start_m, time_s=time_s)
    if not 0 <= water_end_m <= water_start_m:
        raise InputError(
            f"the water went from {water_start_m} to {water_end_m} m over the bottom; it must fall, and no "
            "deeper than the bottom",
            code="soil-water",
        )


def falling_head_rate_m_s(
    *, radius_m: float, water_start_m: float, water_end_m: float, time_s: float
) -> float:
    """Return the rate of a falling-head hole by the exact water balance, wall and bottom at one rate.

    Parameters
    ----------
    radius_m
        Radius of the round hole, m; above 0.
    water_start_m, water_end_m
        Water depth over the bottom at the start (above 0) and at the end (0 to the start), m.
    time_s
        Time between them, s; above 0.

    Raises
    ------
    InputError
        ``soil-number``, ``soil-water``.

    Notes
    -----
    I = r / (2 t) ln[(H0 + r/2) / (H1 + r/2)], from pi r^2 (-dH/dt) = I (pi r^2 + 2 pi r H). Holds for a
    vertical, unlined, pre-soaked hole well above the water table. No fall gives 0. Source: derived; the slope
    form of the inverse auger hole in drainage texts.

    >>> rate = falling_head_rate_m_s(
    ...     radius_m=4 * 0.0254, water_start_m=47.75 * 0.0254, water_end_m=46.25 * 0.0254, time_s=600
    ... )
    >>> round(rate / 0.0254 * 3600, 5)  # in/h
    0.36738
    """
    _falling(radius_m, water_start_m, water_end_m, time_s)
    half = radius_m / 2
    return half / time_s * math.log1p((water_start_m - water_end_m) / (water_end_m + half))


def falling_head_rate_mean_head_m_s(
    *, radius_m: float, water_start_m: float, water_end_m: float, time_s: float
) -> float:
    """Return the rate of the same hole by the mean water depth, the form of county handbooks.

    I = fall r / [t (r + 2 mean depth)]. Arguments and errors as ``falling_head_rate_m_s``; low by 2.8 % where
    the depth halves (r 3 in, 12 to 6 in) and by 10 % for r 4 in, 24 to 6 in. Source: Riverside County (CA)
    LID handbook, appendix A, 2011 (from memory).
    """
    _falling(radius_m, water_start_m, water_end_m, time_s)
    mean = (water_start_m + water_end_m) / 2
    return (water_start_m - water_end_m) * radius_m / (time_s * (radius_m + 2 * mean))


def reduction_factor_rate_m_s(
    *, radius_m: float, water_start_m: float, water_end_m: float, time_s: float
) -> float:
    """Return the rate of the same hole by the reduction factor of another county's method.

    Raw fall rate over Rf = (2 d1 - fall) / diameter + 1, d1 the water depth at the start. It credits half of
    the wall, so that in a deep hole it gives nearly twice the rate of the water balance: say which was used
    and never mix them. Arguments and errors as ``falling_head_rate_m_s``. Source: method of Los Angeles
    County as applied in a permit report.
    """
    _falling(radius_m, water_start_m, water_end_m, time_s)
    fall = water_start_m - water_end_m
    factor = (2 * water_start_m - fall) / (2 * radius_m) + 1
    return fall / time_s / factor


def raw_fall_rate_m_s(*, fall_m: float, time_s: float) -> float:
    """Return the fall of the water surface per time, no wall correction at all.

    What a percolation time (min/in) and the soakage test of the New Zealand building code (E1/VM1) state; too
    high for a design rate. Raises ``soil-number`` unless the time is above 0 and the fall at least 0.
    """
    _positive(time_s=time_s)
    if not (math.isfinite(fall_m) and fall_m >= 0):
        raise InputError(f"fall_m is {fall_m}; it must be at least 0", code="soil-number")
    return fall_m / time_s


def percolation_rate_m_s(
    *, time_per_fall_s_m: float, radius_m: float, head_start_m: float, head_end_m: float
) -> float:
    """Return the rate behind a percolation time (min/in, here s/m), by the exact water balance.

    The time is taken to have been read while the water fell from ``head_start_m`` to ``head_end_m``; equal
    heads give the rate at that depth, raw fall / (1 + 2 H / r). Raises ``soil-number``, ``soil-water``.
    """
    _falling(radius_m, head_start_m, head_end_m, 1.0)
    _positive(time_per_fall_s_m=time_per_fall_s_m)
    fall = head_start_m - head_end_m
    if fall < 1e-9 * head_start_m:
        return radius_m / (time_per_fall_s_m * (radius_m + 2 * head_start_m))
    return falling_head_rate_m_s(
        radius_m=radius_m,
        water_start_m=head_start_m,
        water_end_m=head_end_m,
        time_s=time_per_fall_s_m * fall,
    )


def shape_factor(*, head_m: float, radius_m: float, alpha_star_per_m: float) -> float:
    """Return the shape factor C of a ponded hole, dimensionless.

    Three fits, for alpha* from 12, from 4 and below 4 per metre; between the classes the nearest lower class
    is used. Range: head over radius from 0.5 to 20 (enforced). Source: fits of 1998 as in Reynolds 2008 (from
    memory). Raises ``soil-number``, ``soil-range``.
    """
    _positive(head_m=head_m, radius_m=radius_m, alpha_star_per_m=alpha_star_per_m)
    x = head_m / radius_m
    if not 0.5 <= x <= 20:
        raise InputError(f"head over radius is {x:.3g}; the fits hold from 0.5 to 20", code="soil-range")
    _, a, b, power = next(fit for fit in _SHAPE_FITS if alpha_star_per_m >= fit[0])
    return float((x / (a + b * x)) ** power)


def shape_factors(*, heads_m: FloatArray, radius_m: float, alpha_star_per_m: float) -> FloatArray:
    """Return `shape_factor` of many heads at once, array of the shape of ``heads_m``; same range and errors."""
    _positive(radius_m=radius_m, alpha_star_per_m=alpha_star_per_m)
    x = heads_m / radius_m
    if x.size and not (x.min() >= 0.5 * (1 - 1e-12) and x.max() <= 20 * (1 + 1e-12)):
        raise InputError(
            f"head over radius is {x.min():.3g} to {x.max():.3g}; the fits hold from 0.5 to 20",
            code="soil-range",
        )
    _, a, b, power = next(fit for fit in _SHAPE_FITS if alpha_star_per_m >= fit[0])
    return np.asarray((x / (a + b * x)) ** power, dtype=np.float64)


def percolation_conductivity_m_s(
    *, time_per_fall_s_m: float, radius_m: float, head_m: float, alpha_star_per_m: float
) -> float:
    """Return the field-saturated conductivity behind a percolation time, corrected for capillarity.

    K = C a^2 / {t [2 H^2 + C a^2 + 2 H / alpha*]}, t the time per fall.
    Source: form seen in an Ontario LID design guide. Raises ``soil-number``, ``soil-range``.
    """
    _positive(time_per_fall_s_m=time_per_fall_s_m)
    c = shape_factor(head_m=head_m, radius_m=radius_m, alpha_star_per_m=alpha_star_per_m)
    area = c * radius_m**2
    return area / (time_per_fall_s_m * (2 * head_m**2 + area + 2 * head_m / alpha_star_per_m))


def test_pit_rate_m_s(
    *, length_m: float, width_m: float, effective_depth_m: float, time_75_to_25_s: float, voids: float = 1.0
) -> float:
    """Return the rate of a rectangular test pit from the time between three quarters and one quarter full.

    Volume between 75 and 25 % of the effective depth (times the voids of a filled pit), over the walls up to
    half depth plus the base, and the time. Fill three times and take the lowest. Source: form of BRE Digest
    365 (seen on secondary pages).

    Raises
    ------
    InputError
        ``soil-number`` unless all are above 0 and ``voids`` at most 1.
    """
    _positive(
        length_m=length_m,
        width_m=width_m,
        effective_depth_m=effective_depth_m,
        time_75_to_25_s=time_75_to_25_s,
        voids=voids,
    )
    if voids > 1:
        raise InputError(f"voids is {voids}; it must be at most 1", code="soil-number")
    volume = length_m * width_m * effective_depth_m / 2 * voids
    area = (length_m + width_m) * effective_depth_m + length_m * width_m
    return volume / (area * time_75_to_25_s)


def cube_test_rate_m_s(*, time_per_fall_s_m: float, with_base: bool = True) -> float:
    """Return the rate of a cubic hole read from 75 to 25 % of its depth (the 300 mm percolation hole).

    1 / (3 t) with the base and 1 / (2 t) with the walls alone, t the time per fall (Vp in s/mm is t/1000),
    whatever the side. Approved Document H (2002) prints the walls-only form (from memory). Raises
    ``soil-number``.
    """
    _positive(time_per_fall_s_m=time_per_fall_s_m)
    return 1 / ((3 if with_base else 2) * time_per_fall_s_m)


def viscosity_ratio(temperature_c: float) -> float:
    """Return the viscosity of water at a temperature over that at 20 C; 0 to 30 C (enforced).

    log10 mu(mPa s) = 1301 / [998.333 + 8.1855 (T - 20) + 0.00585 (T - 20)^2] - 1.30233 (from memory); agrees
    with the printed table (1.787, 1.519, 1.307, 1.002, 0.798 at 0, 5, 10, 20, 30 C) within 0.1 %. Raises
    ``soil-temperature``.
    """
    if not 0 <= temperature_c <= 30:
        raise InputError(f"water at {temperature_c} C; it must be 0 to 30", code="soil-temperature")

    def log10_viscosity(t: float) -> float:
        return 1301 / (998.333 + 8.1855 * (t - 20) + 0.00585 * (t - 20) ** 2) - 1.30233

    return float(10 ** (log10_viscosity(temperature_c) - log10_viscosity(20.0)))


def rate_at_temperature(*, rate_m_s: float, test_c: float, wanted_c: float = 20.0) -> float:
    """Return what a rate measured at ``test_c`` would be in water of ``wanted_c``, both 0 to 30 C.

    Raises ``soil-number`` if the rate is below 0, ``soil-temperature``.
    """
    if not (math.isfinite(rate_m_s) and rate_m_s >= 0):
        raise InputError(f"rate_m_s is {rate_m_s}; it must be at least 0", code="soil-number")
    return rate_m_s * viscosity_ratio(test_c) / viscosity_ratio(wanted_c)
