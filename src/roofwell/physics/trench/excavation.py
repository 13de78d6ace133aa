"""What is dug: volumes of pits and trenches, loose volume, weight, the pile, hours, the least width.

Rates, swells and densities are rows of tables and are passed in. Volumes in the bank (as it lies) unless
"loose" is in the name. Source: geometry and definitions (derived); the width rule is that of ASTM D2321
(second-hand).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.errors import InputError


@dataclass(frozen=True, slots=True)
class SpoilCone:
    """A pile of loose spoil as a cone at its angle of repose, m."""

    radius_m: float
    height_m: float


@dataclass(frozen=True, slots=True)
class Haul:
    """Where the dug soil goes: bank volume dug, loose volume in the pile, loose volume that leaves."""

    bank_m3: float
    loose_m3: float
    leaves_m3: float


def _at_least(least: float, **values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value >= least):
            raise InputError(f"{name} is {value}; it must be at least {least:g}", code="dig-number")


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} is {value}; it must be above 0", code="dig-number")


def round_pit_volume_m3(*, diameter_m: float, depth_m: float) -> float:
    """Return the volume of a round, straight-sided hole. Raises ``dig-number`` below 0."""
    _at_least(0, diameter_m=diameter_m, depth_m=depth_m)
    return math.pi * diameter_m**2 / 4 * depth_m


def box_pit_volume_m3(*, length_m: float, width_m: float, depth_m: float) -> float:
    """Return the volume of a rectangular, straight-sided hole. Raises ``dig-number`` below 0."""
    _at_least(0, length_m=length_m, width_m=width_m, depth_m=depth_m)
    return length_m * width_m * depth_m


def trench_volume_m3(*, width_m: float, mean_depth_m: float, length_m: float) -> float:
    """Return the volume of a straight-sided trench. Raises ``dig-number`` below 0."""
    return box_pit_volume_m3(length_m=length_m, width_m=width_m, depth_m=mean_depth_m)


def sloped_top_width_m(*, bottom_m: float, depth_m: float, run_per_rise: float) -> float:
    """Return the width at the ground of a cut whose both sides lean back (1 for 45 degrees, 0 upright).

    Raises ``dig-number`` below 0.
    """
    _at_least(0, bottom_m=bottom_m, depth_m=depth_m, run_per_rise=run_per_rise)
    return bottom_m + 2 * run_per_rise * depth_m


def sloped_trench_volume_m3(
    *, bottom_m: float, depth_m: float, run_per_rise: float, length_m: float
) -> float:
    """Return the volume of a trench whose both sides lean back. Raises ``dig-number`` below 0."""
    top = sloped_top_width_m(bottom_m=bottom_m, depth_m=depth_m, run_per_rise=run_per_rise)
    return box_pit_volume_m3(length_m=length_m, width_m=(bottom_m + top) / 2, depth_m=depth_m)


def loose_volume_m3(*, bank_m3: float, swell: float) -> float:
    """Return the volume in the pile: bank x (1 + swell), swell a share. Raises ``dig-number`` below 0."""
    _at_least(0, bank_m3=bank_m3, swell=swell)
    return bank_m3 * (1 + swell)


def load_factor(swell: float) -> float:
    """Return bank volume over loose volume, 1 / (1 + swell). Raises ``dig-number`` below 0."""
    _at_least(0, swell=swell)
    return 1 / (1 + swell)


def haul(*, bank_m3: float, swell: float, backfilled_bank_m3: float) -> Haul:
    """Return what is dug, what lies in the pile and what leaves.

    ``backfilled_bank_m3`` is the hole that the same soil refills; packed as it lay, it takes that much bank
    volume. Raises ``dig-number`` below 0 or if more goes back than was dug.
    """
    _at_least(0, bank_m3=bank_m3, swell=swell, backfilled_bank_m3=backfilled_bank_m3)
    if backfilled_bank_m3 > bank_m3 * (1 + 1e-12):
        raise InputError(
            f"{backfilled_bank_m3} m3 is to be filled with {bank_m3} m3 dug; at most all of it goes back",
            code="dig-number",
        )
    loose = loose_volume_m3(bank_m3=bank_m3, swell=swell)
    return Haul(bank_m3, loose, max(0.0, bank_m3 - backfilled_bank_m3) * (1 + swell))


def weight_kg(*, volume_m3: float, density_kg_m3: float) -> float:
    """Return the mass of a volume at a density for the same state. Raises ``dig-number`` below 0."""
    _at_least(0, volume_m3=volume_m3, density_kg_m3=density_kg_m3)
    return volume_m3 * density_kg_m3


def spoil_cone(*, loose_m3: float, angle_rad: float) -> SpoilCone:
    """Return the cone that loose spoil piles up to at its angle of repose.

    r = [3 V / (pi tan angle)]^(1/3). Raises ``dig-number`` if the volume is below 0, ``dig-angle`` unless the
    angle is above 0 and below 90 degrees.
    """
    _at_least(0, loose_m3=loose_m3)
    if not 0 < angle_rad < math.pi / 2:
        raise InputError(
            f"angle {angle_rad} rad; it must be above 0 and below a right angle", code="dig-angle"
        )
    radius = (3 * loose_m3 / (math.pi * math.tan(angle_rad))) ** (1 / 3)
    return SpoilCone(radius, radius * math.tan(angle_rad))


def hours(*, bank_m3: float, rate_m3_h: float) -> float:
    """Return the hours of one person or machine at a digging rate in bank m3/h; ``dig-number``."""
    _at_least(0, bank_m3=bank_m3)
    _positive(rate_m3_h=rate_m3_h)
    return bank_m3 / rate_m3_h


def least_trench_width_m(
    *, outside_diameter_m: float, beside_m: float = 0.4064, ratio: float = 1.25, extra_m: float = 0.3048
) -> float:
    """Return the greater of diameter + ``beside_m`` and ``ratio`` x diameter + ``extra_m``.

    Left out, they are the published rule: 16 in, 1.25 and 12 in (ASTM D2321, second-hand). Yards are usually
    cut narrower, so this warns rather than fails outside wheel loads. Raises ``dig-number`` unless the
    diameter is above 0 and the rest at least 0.
    """
    _positive(outside_diameter_m=outside_diameter_m)
    _at_least(0, beside_m=beside_m, ratio=ratio, extra_m=extra_m)
    return max(outside_diameter_m + beside_m, ratio * outside_diameter_m + extra_m)
