"""What a soil that is not yet wet takes in at first, more than it will conduct: Green-Ampt and Philip, straight down."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.errors import InputError

_MOST_STEPS = 100


def _at_least_0(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value >= 0):
            raise InputError(f"{name} is {value}; it must be at least 0", code="soil-number")


def _above_0(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} is {value}; it must be above 0", code="soil-number")


@dataclass(frozen=True, slots=True)
class DrySoil:
    """A soil before the water comes: conductivity behind the wetting front (m/s, above 0), suction at the front (m, 0 or
    more), and how much of its volume the front fills (0 to 1). One layer, sharp front, water table well below."""

    conductivity_m_s: float
    suction_m: float
    deficit: float

    def __post_init__(self) -> None:
        _above_0(conductivity_m_s=self.conductivity_m_s)
        _at_least_0(suction_m=self.suction_m, deficit=self.deficit)
        if self.deficit > 1:
            raise InputError(f"deficit is {self.deficit}; it must be at most 1", code="soil-number")

    def scale_m(self, ponded_m: float = 0.0) -> float:
        """Return (suction + ponded depth) times deficit, m."""
        _at_least_0(ponded_m=ponded_m)
        return (self.suction_m + ponded_m) * self.deficit


def green_ampt_depth_m(
    soil: DrySoil, *, time_s: float, ponded_m: float = 0.0, from_depth_m: float = 0.0
) -> float:
    """Return what has gone in while water stands over the soil, m: F - S ln[(S + F) / (S + F0)] = F0 + K t.

    ``time_s`` counts from when ``from_depth_m`` (F0) had gone in; all 0 or more; ``ponded_m`` is the depth of the standing
    water. Source: Green and Ampt as in Chow, Maidment and Mays 1988 (from memory). Raises ``soil-number``.

    >>> silt_loam = DrySoil(conductivity_m_s=0.65e-2 / 3600, suction_m=0.167, deficit=0.34)
    >>> round(green_ampt_depth_m(silt_loam, time_s=3600) * 100, 3)  # cm
    3.166
    """
    _at_least_0(time_s=time_s, from_depth_m=from_depth_m)
    scale, target = soil.scale_m(ponded_m), soil.conductivity_m_s * time_s
    if scale == 0 or time_s == 0:
        return from_depth_m + target
    # F - F0 - S ln(1 + (F - F0)/(S + F0)) is convex and rises with F: Newton from above comes down without overshoot
    more = target + math.sqrt(2 * target * scale) + target
    base = scale + from_depth_m
    for _ in range(_MOST_STEPS):
        off = more - scale * math.log1p(more / base) - target
        step = off / (1 - scale / (base + more))
        more -= step
        if abs(step) <= 1e-14 * more:
            break
    return from_depth_m + more


def green_ampt_rate_m_s(soil: DrySoil, *, depth_m: float, ponded_m: float = 0.0) -> float:
    """Return the rate once ``depth_m`` (above 0) has gone in, m/s: K (1 + S / F). Raises ``soil-number``."""
    _above_0(depth_m=depth_m)
    return soil.conductivity_m_s * (1 + soil.scale_m(ponded_m) / depth_m)


def ponding(soil: DrySoil, *, rain_m_s: float) -> tuple[float, float]:
    """Return when water begins to stand under steady rain, s, and what has gone in by then, m; infinite where never.

    t = K psi dtheta / [i (i - K)] for rain i above K (Mein and Larson). ``rain_m_s`` above 0. Raises ``soil-number``.
    """
    _above_0(rain_m_s=rain_m_s)
    if rain_m_s <= soil.conductivity_m_s:
        return math.inf, math.inf
    depth = soil.conductivity_m_s * soil.scale_m() / (rain_m_s - soil.conductivity_m_s)
    return depth / rain_m_s, depth


def sorptivity_m_s05(soil: DrySoil, *, ponded_m: float = 0.0) -> float:
    """Return Philip's sorptivity of the same soil, sqrt(2 K S), m/s^0.5: the early Green-Ampt law is S sqrt(t)."""
    return math.sqrt(2 * soil.conductivity_m_s * soil.scale_m(ponded_m))


def philip_depth_m(*, sorptivity_m_s05: float, steady_m_s: float, time_s: float) -> float:
    """Return Philip's two terms, S sqrt(t) + A t, m; all 0 or more. Raises ``soil-number``."""
    _at_least_0(sorptivity_m_s05=sorptivity_m_s05, steady_m_s=steady_m_s, time_s=time_s)
    return sorptivity_m_s05 * math.sqrt(time_s) + steady_m_s * time_s


def early_gain_m(soil: DrySoil, *, time_s: float, ponded_m: float = 0.0) -> float:
    """Return what goes in more than K t within a time while water stands over the soil, m."""
    return green_ampt_depth_m(soil, time_s=time_s, ponded_m=ponded_m) - soil.conductivity_m_s * time_s
