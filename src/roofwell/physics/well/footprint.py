"""The ground that takes what a pit soaks away: never smaller than the pit, never faster than the ground conducts."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics.well.mound import Aquifer, disk_response_s, hantush_squares_m2

FloatArray = NDArray[np.float64]

_ONE_DISK = 2.1  # length over width up to which one disk stands nearer to the rectangle than three


@dataclass(frozen=True, slots=True)
class Footprint:
    """A rectangle, also as a row of equal disks of the same area along its length.

    ``offsets_m`` are the places of the disks' centers along the length from the middle, an odd number of them.
    """

    half_length_m: float
    half_width_m: float
    offsets_m: tuple[float, ...]
    radius_m: float

    @property
    def area_m2(self) -> float:
        """Area, m²."""
        return 4.0 * self.half_length_m * self.half_width_m


def footprint(*, length_m: float, width_m: float, round_pit: bool, least_area_m2: float) -> Footprint:
    """Return the ground that takes the greatest soakage of a pit.

    Parameters
    ----------
    length_m, width_m
        Sides of the pit in plan, m, the length at least the width; both the diameter of a round one.
    least_area_m2
        Area that takes it, m²; 0 or more: the greatest soakage over the vertical saturated conductivity under the pit.

    Raises
    ------
    InputError
        ``footprint-number`` outside those ranges.

    Notes
    -----
    The area is at least that: water that a pit soaks through its sides spreads before it
    sinks. A pit that is too small for it is widened by one margin all round. A round pit stands as the square of its
    area in the level-flow solution; a rectangle up to 2.1 times as long as wide as one disk, a longer one as the
    greatest odd number of them that is not above length over width, three at least. Disks that are wider apart
    across than along overlap and heap up too much: so chosen, the rise at the middle is 0 to 7 % above that of the
    rectangle (its waves summed; a square and the disk of its area differ by 0.5 %). Source: derived.
    """
    for name, value, least in (
        ("width", width_m, 1e-9),
        ("length", length_m, width_m),
        ("area", least_area_m2, 0.0),
    ):
        if not least <= value < math.inf:
            raise InputError(
                f"{name} of {value}; give a number of at least {least:g}", code="footprint-number"
            )
    if round_pit:
        length_m = width_m = math.sqrt(math.pi / 4.0) * width_m
    wanted = least_area_m2
    if wanted > length_m * width_m:
        half_sum = (length_m + width_m) / 2.0
        margin = -half_sum + math.sqrt(half_sum * half_sum + wanted - length_m * width_m)
        length_m, width_m = length_m + margin, width_m + margin
    count = 1
    if length_m > _ONE_DISK * width_m:
        count = max(3, math.floor(length_m / width_m))
        count -= 1 - count % 2
    each = length_m / count
    offsets = tuple(each * (i - (count - 1) / 2.0) for i in range(count))
    return Footprint(
        length_m / 2.0, width_m / 2.0, offsets, math.sqrt(length_m * width_m / (count * math.pi))
    )


def three_dimensional_s(
    ground: Footprint, aquifer: Aquifer, time_s: FloatArray, *, along_m: float = 0.0, across_m: float = 0.0
) -> FloatArray:
    """Return the rise for each m/s over the footprint at a point (from its middle, along and across its length)."""
    distances = [round(math.hypot(along_m - offset, across_m), 9) for offset in ground.offsets_m]
    total = np.zeros(np.shape(time_s))
    for distance in sorted(set(distances)):
        one = disk_response_s(radius_m=ground.radius_m, aquifer=aquifer, time_s=time_s, distance_m=distance)
        total += distances.count(distance) * one
    return total


def level_flow_s(
    ground: Footprint, aquifer: Aquifer, time_s: FloatArray, *, along_m: float = 0.0, across_m: float = 0.0
) -> FloatArray:
    """Return (h² − hᵢ²)/2hᵢ for each m/s over the footprint at a point (from its middle, along and across its length).

    Hantush with b = hᵢ. It adds up over recharges, as the rise itself does not: see ``rise_of_level_flow_m``.
    """
    squares = hantush_squares_m2(
        recharge_m_s=1.0,
        half_length_m=ground.half_length_m,
        half_width_m=ground.half_width_m,
        aquifer=aquifer,
        time_s=time_s,
        x_m=along_m,
        y_m=across_m,
    )
    return np.asarray(squares / (2.0 * aquifer.thickness_m), dtype=np.float64)


def rise_of_level_flow_m(level_flow_m: FloatArray, *, thickness_m: float) -> FloatArray:
    """Return the rise h − hᵢ, m, of what level flow adds up to, (h² − hᵢ²)/2hᵢ, m; ``thickness_m`` is hᵢ, above 0."""
    squares = thickness_m * thickness_m + 2.0 * thickness_m * level_flow_m
    return np.asarray(np.sqrt(squares) - thickness_m, dtype=np.float64)


def level_flow_of_rise_m(rise_m: float, *, thickness_m: float) -> float:
    """Return (h² − hᵢ²)/2hᵢ, m, of a rise h − hᵢ, m: the inverse of ``rise_of_level_flow_m``."""
    return rise_m + rise_m * rise_m / (2.0 * thickness_m)


def superposed(
    times_s: FloatArray, response_s: FloatArray, rate_m_s: FloatArray, *, step_s: float, longest_s: float
) -> FloatArray:
    """Return the rise at the end of every step at any point, from its step response at some times, shape (n,).

    For points aside from the well, where the rise comes late and no sum of positive exponentials follows it. The
    response between the times is read off a straight line over the logarithm of time; what was soaked in more than
    ``longest_s`` ago counts no more.
    """
    count = min(rate_m_s.size, max(1, round(longest_s / step_s)))
    return convolved(rate_m_s, by_step(times_s, response_s, count, step_s=step_s))


def by_step(times_s: FloatArray, response_s: FloatArray, count: int, *, step_s: float) -> FloatArray:
    """Return what the rise grows by in each of ``count`` steps of a recharge of one, shape (count,)."""
    at = step_s * np.arange(1, count + 1)
    return np.asarray(np.diff(np.interp(np.log(at), np.log(times_s), response_s), prepend=0.0))


def convolved(rate: FloatArray, kernel: FloatArray) -> FloatArray:
    """Return Σ rate[n − k] kernel[k] for each n, shape of ``rate``."""
    if not rate.size:
        return np.zeros(0)
    size = 1 << (rate.size + kernel.size - 2).bit_length()
    product = np.fft.rfft(rate, size) * np.fft.rfft(kernel, size)
    return np.asarray(np.fft.irfft(product, size)[: rate.size], dtype=np.float64)
