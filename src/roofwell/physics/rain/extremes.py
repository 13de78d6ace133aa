"""The heaviest rain of a record: largest windows, yearly and partial-duration maxima, and what follows.

A record's own estimate is a plausibility check beside the agency's table, never a substitute for it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError
from roofwell.physics.rain.record import Record

FloatArray = npt.NDArray[np.float64]
Position = Literal["weibull", "cunnane", "gringorten", "hazen"]

# T = (n + 1 - 2a) / (i - a): the four positions differ in a only.
_POSITION_OFFSET: dict[Position, float] = {"weibull": 0.0, "cunnane": 0.4, "gringorten": 0.44, "hazen": 0.5}
# Sums of a sliding window carry rounding of about 1e-14 m; equal windows are told apart by time, not by it.
_SAME_DEPTH_M = 1e-9


@dataclass(frozen=True, slots=True)
class WindowDepth:
    """Rain in a sliding window: depth, m; its first step; start of that step."""

    depth_m: float
    first_step: int
    start: np.datetime64


@dataclass(frozen=True, slots=True)
class AnnualMaximum:
    """Largest window that ends in a year; ``depth_m`` is None where too much of the year is missing."""

    year: int
    depth_m: float | None
    start: np.datetime64 | None


@dataclass(frozen=True, slots=True)
class GeneralizedExtremeValue:
    """Generalized extreme-value distribution in Hosking's sign: ``shape`` below 0 has the heavy tail.

    x = location + scale · (1 − (−ln F)^shape) / shape.
    """

    location: float
    scale: float
    shape: float

    def quantile(self, *, return_period_years: float) -> float:
        """Return the value of an annual-maximum return period above 1 year (``rain-return-period``)."""
        if not return_period_years > 1:
            raise InputError(
                f"an annual-maximum return period of {return_period_years:g} years: it must be above 1",
                code="rain-return-period",
            )
        reduced = -math.log1p(-1.0 / return_period_years)
        if abs(self.shape) < 1e-9:
            return self.location - self.scale * math.log(reduced)
        return self.location + self.scale * (1.0 - math.pow(reduced, self.shape)) / self.shape


def largest(record: Record, *, window_s: float) -> WindowDepth:
    """Return the wettest sliding window, the earliest of equals.

    ``window_s`` is a whole number of the record's steps, at most the record; raises ``InputError``
    (``rain-window``).
    """
    sums = _window_sums(record, window_s)
    step = int(np.argmax(sums >= sums.max() - _SAME_DEPTH_M))
    return _window(record, sums, step)


def annual_maxima(record: Record, *, window_s: float, least_coverage: float) -> tuple[AnnualMaximum, ...]:
    """Return the wettest sliding window of every calendar year, by the year of the window's last step.

    Parameters
    ----------
    window_s
        Length of the window, a whole number of steps (``rain-window``).
    least_coverage
        Share of a year that must be known; a year below it has no maximum. 0.97 to 0.98 in the reference
        sheet, rain 3.2.
    """
    sums = _window_sums(record, window_s)
    length = record.steps - sums.size + 1
    year_of_step = record.step_years()
    year = year_of_step[length - 1 :]
    first_year = int(year_of_step[0])
    known = np.bincount(year_of_step - first_year, weights=~record.missing)
    out = []
    for this in range(first_year, int(year_of_step[-1]) + 1):
        low, high = np.searchsorted(year, [this, this + 1])
        days = 366 if _leap(this) else 365
        if high == low or known[this - first_year] * record.step_s < least_coverage * days * 86400:
            out.append(AnnualMaximum(year=this, depth_m=None, start=None))
            continue
        part = sums[low:high]
        step = int(low) + int(np.argmax(part >= part.max() - _SAME_DEPTH_M))
        window = _window(record, sums, step)
        out.append(AnnualMaximum(year=this, depth_m=window.depth_m, start=window.start))
    return tuple(out)


def partial_duration_maxima(
    record: Record, *, window_s: float, count: int, apart_s: float = 86400.0
) -> tuple[WindowDepth, ...]:
    """Return the ``count`` wettest windows, largest first, each apart from the others.

    Parameters
    ----------
    window_s
        Length of the window, a whole number of steps (``rain-window``).
    count
        How many; fewer come back if no more windows hold rain. The number of years gives the usual series.
    apart_s
        Windows that begin less than this before or after a chosen one, or exactly this, are left out;
        0 or more. Windows that share a step with a chosen one are always left out.

    Source: reference sheet, rain 3.2 (24 h to each side).
    """
    if not (count >= 1 and apart_s >= 0):
        raise InputError(
            f"{count} maxima {apart_s:g} s apart: at least one, and 0 s or more", code="rain-window"
        )
    sums = _window_sums(record, window_s)
    length = record.steps - sums.size + 1
    blank = max(int(apart_s // record.step_s), length - 1)
    # Only windows that hold rain can be maxima; the order is by depth, then by time.
    wet = np.flatnonzero(sums > _SAME_DEPTH_M)
    tried = count * (2 * blank + 1)  # so many windows hold the wanted ones, however they crowd
    if tried < wet.size:
        least = np.partition(sums[wet], wet.size - tried)[wet.size - tried]
        wet = wet[sums[wet] >= least - _SAME_DEPTH_M]
    order = wet[np.lexsort((wet, -np.round(sums[wet] / _SAME_DEPTH_M)))]
    blocked = np.zeros(sums.size, dtype=np.bool_)
    chosen: list[int] = []
    for step in order.tolist():
        if blocked[step]:
            continue
        chosen.append(step)
        if len(chosen) == count:
            break
        blocked[max(step - blank, 0) : step + blank + 1] = True
    return tuple(_window(record, sums, step) for step in chosen)


def plotting_positions(*, count: int, position: Position = "cunnane") -> FloatArray:
    """Return the return periods of ``count`` ranked values, largest first.

    ``"weibull"`` (n+1)/i is unbiased in the chance of exceedance, ``"gringorten"`` goes with Gumbel,
    ``"cunnane"`` is a compromise, ``"hazen"`` n/(i−½). In years if the values are yearly.
    Raises ``InputError`` (``rain-plotting``). Source: formulas from memory, figures in the reference sheet,
    rain 3.4.
    """
    if count < 1 or position not in _POSITION_OFFSET:
        raise InputError(
            f"plotting position {position!r} of {count} values: one of {', '.join(_POSITION_OFFSET)} and at"
            " least one value",
            code="rain-plotting",
        )
    offset = _POSITION_OFFSET[position]
    rank = np.arange(1, count + 1)
    return np.asarray((count + 1 - 2 * offset) / (rank - offset), dtype=np.float64)


def l_moments(values: npt.ArrayLike) -> tuple[float, float, float, float]:
    """Return the sample L-moments l1, l2 and the ratios t3, t4, unbiased; at least four values.

    Raises ``InputError`` (``rain-moments``) for fewer, or values that are all equal. Source: formulas in the
    reference sheet, rain 3.3.
    """
    x = np.sort(np.asarray(values, dtype=np.float64))
    n = x.size
    if n < 4 or x[0] == x[-1]:
        raise InputError(
            f"L-moments of {n} values: at least four, not all equal, are needed", code="rain-moments"
        )
    j = np.arange(n)
    b0 = float(x.mean())
    b1 = float((x * j / (n - 1)).mean())
    b2 = float((x * j * (j - 1) / ((n - 1) * (n - 2))).mean())
    b3 = float((x * j * (j - 1) * (j - 2) / ((n - 1) * (n - 2) * (n - 3))).mean())
    l2 = 2 * b1 - b0
    return b0, l2, (6 * b2 - 6 * b1 + b0) / l2, (20 * b3 - 30 * b2 + 12 * b1 - b0) / l2


def fit_gev(values: npt.ArrayLike) -> GeneralizedExtremeValue:
    """Fit a generalized extreme-value distribution by L-moments; at least four values (``rain-moments``).

    The shape solves t3 = 2 (1 − 3^−k) / (1 − 2^−k) − 3 by Newton steps from the approximation of Hosking,
    Wallis and Wood 1985. Do not read it far beyond twice the record's length (common practice).
    """
    l1, l2, t3, _ = l_moments(values)
    c = 2.0 / (3.0 + t3) - math.log(2.0) / math.log(3.0)
    k = 7.8590 * c + 2.9554 * c * c
    for _ in range(20):
        k = k if abs(k) > 1e-6 else 1e-6
        step = (_gev_skewness(k) - t3) / ((_gev_skewness(k + 1e-6) - _gev_skewness(k - 1e-6)) / 2e-6)
        k -= step
        if abs(step) < 1e-10:
            break
    gamma = math.gamma(1.0 + k)
    scale = l2 * k / ((1.0 - 2.0**-k) * gamma)
    return GeneralizedExtremeValue(location=l1 - scale * (1.0 - gamma) / k, scale=scale, shape=k)


def _gev_skewness(k: float) -> float:
    return 2.0 * math.expm1(-k * math.log(3.0)) / math.expm1(-k * math.log(2.0)) - 3.0


def _window_sums(record: Record, window_s: float) -> FloatArray:
    """Return the rain of every sliding window, by its first step, shape (n − window + 1,)."""
    length = round(window_s / record.step_s)
    if not (1 <= length <= record.steps and abs(window_s / record.step_s - length) < 1e-6):
        raise InputError(
            f"a window of {window_s:g} s in a record of {record.steps} steps of {record.step_s} s: it must be"
            " a whole number of steps and no longer than the record",
            code="rain-window",
        )
    total = np.concatenate(([0.0], np.cumsum(record.depth_m)))
    return np.asarray(total[length:] - total[:-length])


def _window(record: Record, sums: FloatArray, step: int) -> WindowDepth:
    length = record.steps - sums.size + 1
    # Summed afresh: a difference of long sums carries their rounding.
    depth = float(record.depth_m[step : step + length].sum())
    start = record.start + step * np.timedelta64(record.step_s, "s")
    return WindowDepth(depth_m=depth, first_step=step, start=start)


def _leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
