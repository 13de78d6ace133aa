"""What a basin keeps of a mixture of grains, in one rain and over all the rain of a record.

The rain of a record is sorted into classes of rate, each with the time and the depth that fell in it; a basin is then
judged once for every class instead of once for every hour.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

FloatArray = NDArray[np.float64]
CLASSES_PER_DECADE = 32
Comes = Literal["with the first water", "with the water", "with the heaviest water"]


@dataclass(frozen=True, slots=True)
class RainClasses:
    """Rain by its rate. ``rate_m_s``: mean rate of each class; ``time_s`` and ``depth_m`` that fell in it, all of the
    shape (n,), rising in rate. ``yearly_m_s``: rate that is passed in about one step a year."""

    rate_m_s: FloatArray
    time_s: FloatArray
    depth_m: FloatArray
    years: float
    yearly_m_s: float

    @property
    def depth_m_year(self) -> float:
        """Rain that runs off, m a year."""
        return float(np.sum(self.depth_m)) / self.years


def rain_classes(depth_m: FloatArray, *, step_s: float, years: float) -> RainClasses:
    """Sort the steps of a record into classes of rate.

    Parameters
    ----------
    depth_m
        Rain less losses in each step, m, shape (n,); zero or more.
    step_s, years
        Length of a step, s, and years that the record holds; above 0.

    Raises
    ------
    InputError
        ``basin-number`` for a step or years not above 0, or a record without rain.

    Notes
    -----
    32 classes a decade: within a class rates differ by 7.5 %, and the class stands by its mean rate, so depth is kept
    exactly and what is kept of any grain to better than 1e-3 (tests/physics).
    """
    if not (step_s > 0 and years > 0):
        raise InputError(f"step {step_s:g} s and {years:g} years: both must be above 0", code="basin-number")
    depth = np.asarray(depth_m, dtype=np.float64)
    wet = depth[depth > 0.0]
    if wet.size == 0:
        raise InputError("no rain in the record, so nothing can be said of a basin", code="basin-number")
    least = float(wet.min())
    index = (np.log10(wet / least) * CLASSES_PER_DECADE).astype(np.int64)
    count = np.bincount(index).astype(np.float64)
    total = np.bincount(index, weights=wet).astype(np.float64)
    some = count > 0
    nth = min(wet.size, max(1, round(years)))
    yearly = float(np.partition(wet, wet.size - nth)[wet.size - nth]) / step_s
    return RainClasses(total[some] / count[some] / step_s, count[some] * step_s, total[some], years, yearly)


def shares_of_load(rain: RainClasses, comes: Comes) -> FloatArray:
    """Return the share of a year's debris that comes in each class of rain; they sum to 1.

    ``with the first water``: as time passes, so mostly in light rain (all that lies ready leaves with the first of it);
    ``with the water``: as the water comes; ``with the heaviest water``: as its square, so mostly in cloudbursts.
    """
    power = {"with the first water": 0.0, "with the water": 1.0, "with the heaviest water": 2.0}[comes]
    weight = rain.time_s * rain.rate_m_s**power
    return np.asarray(weight / np.sum(weight), dtype=np.float64)


def kept_share(
    *,
    velocity_m_s: FloatArray,
    flow_m3_s: FloatArray,
    plan_area_m2: float,
    tanks: float,
    jet_m_s: FloatArray | None = None,
    lifts_m_s: FloatArray | None = None,
) -> FloatArray:
    """Return the share that a basin keeps of each grain at each flow, shape (grains, flows).

    Parameters
    ----------
    velocity_m_s
        Fall (or rise) velocity of each grain, m/s, shape (grains,); zero or more.
    flow_m3_s
        Flow through the basin, m³/s, shape (flows,); zero or more. At no flow all is kept.
    plan_area_m2
        Plan area of the water, m²; above 0.
    tanks
        ``n`` of ``settling.tank_removal``; at least 1, ``math.inf`` allowed.
    jet_m_s, lifts_m_s
        Velocity over the deposit at each flow, and the one that lifts each grain (``settling.scour_velocity_m_s``),
        m/s; where the jet is the faster nothing of that grain comes to rest. Left out: no jet.

    Raises
    ------
    InputError
        ``basin-number``.
    """
    if not (math.isfinite(plan_area_m2) and plan_area_m2 > 0 and tanks >= 1):
        raise InputError(
            f"plan area {plan_area_m2:g} m² and {tanks:g} tanks: the area must be above 0, the tanks 1 or more",
            code="basin-number",
        )
    flow = np.asarray(flow_m3_s, dtype=np.float64)
    velocity = np.asarray(velocity_m_s, dtype=np.float64)
    if np.any(flow < 0) or np.any(velocity < 0):
        raise InputError("flows and velocities must be zero or more", code="basin-number")
    with np.errstate(divide="ignore", invalid="ignore"):
        x = velocity[:, None] * plan_area_m2 / flow[None, :]
    x = np.where(flow[None, :] > 0.0, x, np.inf)
    if tanks == 1:
        kept = 1.0 - 1.0 / (1.0 + x)
    elif math.isinf(tanks):
        kept = -np.expm1(-x)
    else:
        kept = -np.expm1(-tanks * np.log1p(x / tanks))
    if jet_m_s is not None and lifts_m_s is not None:
        kept = np.where(np.asarray(jet_m_s)[None, :] > np.asarray(lifts_m_s)[:, None], 0.0, kept)
    return np.asarray(kept, dtype=np.float64)


def sizes_between(low_m: float, high_m: float, count: int) -> FloatArray:
    """Return ``count`` sizes that stand for equal shares of a mixture spread evenly over the logarithm of size.

    ``0 < low_m <= high_m`` and ``count`` at least 1, else ``InputError`` (``basin-number``).
    """
    if not (0 < low_m <= high_m and math.isfinite(high_m) and count >= 1):
        raise InputError(
            f"sizes from {low_m:g} to {high_m:g} m in {count} classes: they must rise from above 0",
            code="basin-number",
        )
    middle = (np.arange(count) + 0.5) / count
    return np.asarray(low_m * (high_m / low_m) ** middle, dtype=np.float64)


def washed_off_kg_year(*, roof_area_m2: float, runoff_m_year: float, concentration_kg_m3: float) -> float:
    """Return what the runoff of a roof carries in a year, kg: area × depth × concentration; all zero or more."""
    if min(roof_area_m2, runoff_m_year, concentration_kg_m3) < 0:
        raise InputError("area, runoff and concentration must be zero or more", code="basin-number")
    return roof_area_m2 * runoff_m_year * concentration_kg_m3


def litter_kg_year(*, canopy_m2: float, fall_kg_m2_year: float, reaches: float) -> float:
    """Return the dry litter that reaches the pipe in a year, kg: canopy over the roof × litterfall × share."""
    if min(canopy_m2, fall_kg_m2_year, reaches) < 0 or reaches > 1:
        raise InputError(
            "canopy and litterfall must be zero or more, the share that reaches the pipe 0 to 1",
            code="basin-number",
        )
    return canopy_m2 * fall_kg_m2_year * reaches


def months_to_fill(*, volume_m3: float, rate_m3_year: float) -> float:
    """Return the months in which a volume fills, ``math.inf`` at no rate; both zero or more."""
    if min(volume_m3, rate_m3_year) < 0:
        raise InputError("volume and rate must be zero or more", code="basin-number")
    return 12.0 * volume_m3 / rate_m3_year if rate_m3_year > 0 else math.inf
