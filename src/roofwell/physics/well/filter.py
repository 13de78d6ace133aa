"""Stone and fabric as filters: whether the soil stays where it is, and what water passes; voids of stone."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.errors import InputError
from roofwell.physics.well.perforation import size_passing_m

CLAY_M, SILT_M, SAND_M = 2e-6, 50e-6, 2e-3
"""Where clay, silt and sand end (USDA)."""


@dataclass(frozen=True, slots=True)
class Against:
    """Stone against soil: D15 over D85, D50 over D50 (both hold the soil back where small), D15 over D15 (passes water)."""

    d15_over_d85: float
    d50_over_d50: float
    d15_over_d15: float


def stone_against_soil(
    *,
    stone_d15_m: float,
    stone_d50_m: float,
    soil_d15_m: float,
    soil_d50_m: float,
    soil_d85_m: float,
) -> Against:
    """Return the three ratios of the filter rules.

    Raises
    ------
    InputError
        ``filter-size`` unless all sizes are above 0 and the soil's do not fall.

    Notes
    -----
    Limits are in the tables: 5, 25 (airport drainage text, second-hand; the same in military manuals) and at least
    5. The rules are for water that flows out of the soil into the stone; they hold soil of one size range, not gap-graded.
    """
    sizes = (stone_d15_m, stone_d50_m, soil_d15_m, soil_d50_m, soil_d85_m)
    fine = all(0.0 < size < math.inf for size in sizes)
    if not fine or not soil_d15_m <= soil_d50_m <= soil_d85_m or stone_d15_m > stone_d50_m:
        raise InputError(
            f"stone D15 {stone_d15_m}, D50 {stone_d50_m} m; soil D15 {soil_d15_m}, D50 {soil_d50_m}, D85"
            f" {soil_d85_m} m; all must be above 0, and D85 the greatest, D15 the least",
            code="filter-size",
        )
    return Against(stone_d15_m / soil_d85_m, stone_d50_m / soil_d50_m, stone_d15_m / soil_d15_m)


def grain_size_m(*, clay: float, silt_clay: float, wanted_fraction: float) -> float:
    """Return the size that a share of a soil is finer than, m, from its clay, silt and sand alone.

    Parameters
    ----------
    clay, silt_clay
        Shares of the weight finer than 0.002 mm and 0.05 mm, 0 to 1.
    wanted_fraction
        The share asked for, above 0, at most 1.

    Raises
    ------
    InputError
        ``filter-share`` outside those ranges or with more clay than silt and clay.

    Notes
    -----
    Linear in the logarithm of size between 0.002, 0.05 and 2 mm (USDA limits), as gradation curves are drawn: an
    estimate where nobody sieved. A share that is all clay gives 0.002 mm, which is then the most that it can be.
    """
    if not 0.0 <= clay <= silt_clay <= 1.0 or not 0.0 < wanted_fraction <= 1.0:
        raise InputError(
            f"{clay} clay, {silt_clay} silt and clay, {wanted_fraction} wanted; shares lie from 0 to 1, and silt and clay"
            " is not less than clay",
            code="filter-share",
        )
    if wanted_fraction <= clay:
        return CLAY_M
    return size_passing_m(
        opening_m=(SAND_M, SILT_M, CLAY_M),
        passing_fraction=(1.0, silt_clay, clay),
        wanted_fraction=wanted_fraction,
    )


def fabric_flow_m_s(*, permittivity_per_s: float, head_m: float) -> float:
    """Return what a square meter of clean fabric passes under a head across it, m³/s per m² = m/s.

    Raises ``InputError`` (``fabric-number``) unless both are finite, the permittivity above 0, the head 0 or more.
    By the definition of permittivity (ASTM D4491): q = permittivity × head, while the flow is laminar.
    """
    if not 0.0 < permittivity_per_s < math.inf or not 0.0 <= head_m < math.inf:
        raise InputError(
            f"permittivity {permittivity_per_s} 1/s under {head_m} m; the first must be above 0, the second 0 or more",
            code="fabric-number",
        )
    return permittivity_per_s * head_m


def porosity_of_void_ratio(void_ratio: float) -> float:
    """Return n = e / (1 + e). Raises ``InputError`` (``void-ratio``) below 0."""
    if not (math.isfinite(void_ratio) and void_ratio >= 0):
        raise InputError(f"void ratio {void_ratio}; it must be 0 or more", code="void-ratio")
    return void_ratio / (1 + void_ratio)


def void_ratio_of_porosity(porosity: float) -> float:
    """Return e = n / (1 - n). Raises ``InputError`` (``porosity``) unless 0 <= n < 1."""
    if not 0 <= porosity < 1:
        raise InputError(f"porosity {porosity}; it must be at least 0 and below 1", code="porosity")
    return porosity / (1 - porosity)
