"""The holes in a well body or pipe: whether the stone stays out of them, and what they pass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from roofwell.errors import InputError

GRAVITY_M_S2 = 9.80665


def size_passing_m(
    *, opening_m: Sequence[float], passing_fraction: Sequence[float], wanted_fraction: float
) -> float:
    """Return the size that a share of the stone is smaller than, m: D85 for 0.85.

    Parameters
    ----------
    opening_m
        Sieve openings, m, above 0, falling.
    passing_fraction
        Share of the weight that passes each sieve, 0 to 1, not rising.
    wanted_fraction
        The share asked for; within what the sieves show.

    Raises
    ------
    InputError
        ``gradation-sieves`` if the sieves do not fall or their shares rise; ``gradation-range`` if the sieves
        do not show the share.

    Notes
    -----
    Linear in the logarithm of size between two sieves, as gradation curves are drawn.
    """
    pairs = list(zip(opening_m, passing_fraction, strict=True))
    falling = all(a[0] > b[0] and a[1] >= b[1] for a, b in pairwise(pairs))
    if len(pairs) < 2 or not falling or pairs[-1][0] <= 0.0 or not 0.0 <= pairs[-1][1] <= pairs[0][1] <= 1.0:
        raise InputError(
            f"sieves {list(opening_m)} m passing {list(passing_fraction)}; give openings that fall, with"
            " shares from 0 to 1 that do not rise",
            code="gradation-sieves",
        )
    for (coarse, more), (fine, less) in pairwise(pairs):
        if less <= wanted_fraction <= more and less < more:
            share = (wanted_fraction - less) / (more - less)
            return float(fine * (coarse / fine) ** share)
    raise InputError(
        f"the size that {wanted_fraction:.0%} passes; these sieves show {pairs[-1][1]:.0%} to"
        f" {pairs[0][1]:.0%}",
        code="gradation-range",
    )


def retention_ratio(*, stone_d85_m: float, opening_m: float) -> float:
    """Return D85 of the stone over the width of the hole or slot that it must not fall through.

    Raises
    ------
    InputError
        ``perforation-number`` if a size is not above 0.

    Notes
    -----
    Above 1 the stone bridges a round hole (an airport drainage text, second-hand), above 1.2 a slot (military
    manuals, from memory): the limits are in the tables.
    """
    for what, value in (("D85 of the stone", stone_d85_m), ("hole or slot", opening_m)):
        if not 0.0 < value < math.inf:
            raise InputError(f"{what} of {value} m; it must be above 0", code="perforation-number")
    return stone_d85_m / opening_m


def hole_flow_m3_s(*, holes: int, diameter_m: float, head_m: float, orifice_coefficient: float) -> float:
    """Return the flow through round holes with ``head_m`` of water over their middles, m³/s.

    Raises
    ------
    InputError
        ``perforation-number`` if a number is below 0, or the diameter or coefficient is 0.

    Notes
    -----
    Q = n Co (π d² / 4) (2 g h)^(1/2); holes under water on both sides pass the same with h the difference of
    the two levels. Stone against the holes blocks part of them: take a lower coefficient.
    """
    fine = holes >= 0 and 0.0 <= head_m < math.inf
    if not fine or not 0.0 < diameter_m < math.inf or not 0.0 < orifice_coefficient <= 1.0:
        raise InputError(
            f"{holes} holes of {diameter_m} m under {head_m} m of water, coefficient {orifice_coefficient};"
            " none may be below 0, diameter and coefficient must be above 0, the coefficient at most 1",
            code="perforation-number",
        )
    area = holes * math.pi / 4.0 * diameter_m**2
    return orifice_coefficient * area * math.sqrt(2.0 * GRAVITY_M_S2 * head_m)


def wall_flow_m3_s(
    *, hole_area_m2: float, height_m: float, outside_share: float, orifice_coefficient: float
) -> float:
    """Return what leaves a body, full to its top, through holes spread evenly over its height, m³/s.

    Parameters
    ----------
    hole_area_m2
        Open area of all holes, m², 0 or more.
    height_m
        Height of the body, m, above 0.
    outside_share
        How high the water stands outside, as a share of the height, 0 to 1.
    orifice_coefficient
        Above 0, at most 1.

    Raises
    ------
    InputError
        ``perforation-number`` outside those ranges.

    Notes
    -----
    Q = Co A (2 g H)^(1/2) [s (1 − s)^(1/2) + 2/3 (1 − s)^(3/2)]: below the outside level every hole has the head
    (1 − s) H, above it the depth under the top. Source: the orifice formula of `hole_flow_m3_s`, summed (derived).
    """
    fine = 0.0 <= hole_area_m2 < math.inf and 0.0 < height_m < math.inf and 0.0 <= outside_share <= 1.0
    if not fine or not 0.0 < orifice_coefficient <= 1.0:
        raise InputError(
            f"holes of {hole_area_m2} m² over {height_m} m, outside full to {outside_share}, coefficient"
            f" {orifice_coefficient}; the area must be 0 or more, the share from 0 to 1, the others above 0",
            code="perforation-number",
        )
    head = 1.0 - outside_share
    shares = outside_share * math.sqrt(head) + 2.0 / 3.0 * head**1.5
    return float(orifice_coefficient * hole_area_m2 * math.sqrt(2.0 * GRAVITY_M_S2 * height_m) * shares)
