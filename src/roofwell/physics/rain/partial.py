"""Partial-duration statistics of a record: independent exceedances, generalized Pareto by L-moments, sampling range.

For comparing a record with the agency's table; for design the table is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError
from roofwell.physics.rain.extremes import (
    Position,
    WindowDepth,
    partial_duration_maxima,
    plotting_positions,
)
from roofwell.physics.rain.record import Record

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

# Weiss 1964: the truly wettest span of n clock steps is n / (n - 1/8) of the wettest n whole steps.
_WEISS = 0.125
_LEAST_VALUES = 4
_SAME_DEPTH_M = 1e-9


@dataclass(frozen=True, slots=True)
class GeneralizedPareto:
    """Generalized Pareto distribution of exceedances, in Hosking's sign: ``shape`` below 0 has the heavy tail.

    x(T) = threshold + scale · (1 − (per_year · T)^−shape) / shape.
    """

    threshold: float
    scale: float
    shape: float
    per_year: float

    def quantile(self, *, return_period_years: float) -> float:
        """Return the value that is exceeded once in ``return_period_years`` on average.

        The threshold itself is exceeded ``per_year`` times a year; a return period below 1/per_year raises
        ``InputError`` (``rain-return-period``).
        """
        times = self.per_year * return_period_years
        if not times >= 1:
            raise InputError(
                f"a return period of {return_period_years:g} years where the threshold is exceeded"
                f" {self.per_year:g} times a year: give at least {1 / self.per_year:g} years",
                code="rain-return-period",
            )
        return float(_quantiles(self.threshold, np.array(self.scale), np.array(self.shape), times))


@dataclass(frozen=True, slots=True)
class PartialQuantile:
    """Depth of one return period, m: best estimate and the ends of its sampling range."""

    return_period_years: float
    depth_m: float
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class PartialDuration:
    """The partial-duration series of one window length.

    ``largest``: the chosen windows, largest first; ``position_years``: their plotting positions, years;
    ``clock_factor``: by which every depth of fit and quantiles was raised, because windows begin at whole steps.
    """

    window_s: float
    years: float
    largest: tuple[WindowDepth, ...]
    position_years: tuple[float, ...]
    clock_factor: float
    fit: GeneralizedPareto
    quantiles: tuple[PartialQuantile, ...]

    def depth_m(self, return_period_years: float) -> float | None:
        """Return the depth of a return period that was asked for, m; None of another."""
        for quantile in self.quantiles:
            if abs(quantile.return_period_years - return_period_years) < 1e-9:
                return quantile.depth_m
        return None


def clock_factor(*, steps: int) -> float:
    """Return by how much the wettest span of a duration exceeds the wettest window of ``steps`` whole steps.

    n / (n − 1/8): 1.143 for one step, 1.005 for 24. ``steps`` is at least 1 (``rain-window``). Source: Weiss 1964, from
    memory (reference sheet, rain 3.2, which measured a median of 1.14 for one step).
    """
    if steps < 1:
        raise InputError(f"a window of {steps} steps: at least one", code="rain-window")
    return steps / (steps - _WEISS)


def reading_unit_m(record: Record) -> float:
    """Return the unit to which a record was read, m: its least depth, if all others are whole multiples of it, else 0.

    A few wet steps that are not (1 in 1,000) do not matter.
    """
    wet = record.depth_m[record.depth_m > 0]
    if wet.size == 0:
        return 0.0
    unit = float(wet.min())
    parts = wet / unit
    whole = np.abs(parts - np.round(parts)) < 1e-3
    return unit if np.count_nonzero(~whole) <= wet.size / 1000 else 0.0


def fit_pareto(values: npt.ArrayLike, *, threshold: float, per_year: float) -> GeneralizedPareto:
    """Fit a generalized Pareto distribution with a known threshold by L-moments.

    Parameters
    ----------
    values
        Exceedances, at least four, none below the threshold, not all equal.
    threshold
        The value above which all of them lie, in their unit.
    per_year
        How many exceedances there are a year, above 0.

    Raises
    ------
    InputError
        ``rain-moments`` for values that cannot be fitted.

    Notes
    -----
    shape = (l1 − u) / l2 − 2, scale = (1 + shape)(l1 − u). Source: Hosking and Wallis's form (reference sheet, rain 3.2).
    """
    x = np.sort(np.asarray(values, dtype=np.float64))
    if x.size < _LEAST_VALUES or not (x[0] >= threshold and x[-1] > x[0] and per_year > 0):
        raise InputError(
            f"{x.size} exceedances of {threshold:g}, {per_year:g} a year: at least four, none below the threshold, not"
            " all equal",
            code="rain-moments",
        )
    scale, shape = _pareto_of(x[None, :], threshold)
    return GeneralizedPareto(threshold, float(scale[0]), float(shape[0]), per_year)


def sampling_range(
    fit: GeneralizedPareto,
    *,
    years: float,
    return_period_years: Sequence[float],
    within: float,
    samples: int,
    seed: int,
) -> FloatArray:
    """Return between which values a record of this length would put a quantile, were the fit the truth.

    Parameters
    ----------
    years
        Length of the record, years, above 0.
    return_period_years
        Return periods, each at least 1/per_year.
    within
        Share of the records that the range holds, above 0 and below 1; as many lie below as above it.
    samples, seed
        How many records are drawn (at least 100), and the seed.

    Returns
    -------
    ndarray
        Low and high value of each return period, shape (m, 2).

    Raises
    ------
    InputError
        ``rain-plotting`` for numbers out of range.

    Notes
    -----
    Parametric bootstrap: the number of exceedances of each record is Poisson, their sizes generalized Pareto; each
    drawn record is fitted again. What it leaves out: that the form may be wrong, that the gauge may be.
    """
    if not (years > 0 and 0 < within < 1 and samples >= 100):
        raise InputError(
            f"{samples} records of {years:g} years, {within:g} of them within: give at least 100, above 0, and a share"
            " between 0 and 1",
            code="rain-plotting",
        )
    random = np.random.default_rng(seed)
    counts = np.maximum(random.poisson(years * fit.per_year, samples), _LEAST_VALUES)
    out = np.empty((samples, len(return_period_years)))
    at = 0
    for count in np.unique(counts):
        many = int(np.count_nonzero(counts == count))
        chance = random.random((many, int(count)))  # of being exceeded, as 1 over the times that it is
        drawn = _quantiles(fit.threshold, np.array(fit.scale), np.array(fit.shape), 1.0 / (1.0 - chance))
        scale, shape = _pareto_of(np.sort(drawn, axis=1), fit.threshold)
        for j, period in enumerate(return_period_years):
            times = max(period * count / years, 1.0)
            out[at : at + many, j] = _quantiles(fit.threshold, scale, shape, times)
        at += many
    tail = (1.0 - within) / 2
    return np.asarray(np.quantile(out, [tail, 1.0 - tail], axis=0).T, dtype=np.float64)


def partial_duration(
    record: Record,
    *,
    window_s: float,
    return_period_years: Sequence[float],
    apart_s: float,
    within: float,
    samples: int,
    seed: int,
    position: Position = "cunnane",
) -> PartialDuration:
    """Return the partial-duration series of a window length with its fit and quantiles.

    Parameters
    ----------
    record
        At least four years; missing steps shorten it.
    window_s
        Length of the window, s, a whole number of steps (``rain-window``).
    return_period_years
        Which return periods, years; those below one exceedance (about 1 year) are left out. Do not read far beyond
        twice the record's length (common practice).
    apart_s
        Least time between two windows, s: the gap that parts rain events, at least 24 h in the reference sheet.
    within, samples, seed
        Of the sampling range; see `sampling_range`.

    Raises
    ------
    InputError
        ``rain-moments`` if the record holds too little rain or too few years; ``rain-window``.

    Notes
    -----
    As many windows as there are years, the usual series. The threshold lies half a reading below the least of them.
    Source: reference sheet, rain 3.2 to 3.4.
    """
    years = record.years * (1.0 - record.share_missing)
    count = round(years)
    if count < _LEAST_VALUES:
        raise InputError(
            f"partial-duration statistics of {years:.1f} known years: at least {_LEAST_VALUES}",
            code="rain-moments",
        )
    largest = partial_duration_maxima(record, window_s=window_s, count=count, apart_s=apart_s)
    factor = clock_factor(steps=round(window_s / record.step_s))
    depths = np.array([window.depth_m for window in largest]) * factor
    if depths.size < _LEAST_VALUES:
        raise InputError(f"only {depths.size} rains in {years:.1f} years", code="rain-moments")
    half = 0.5 * reading_unit_m(record) * factor
    fit = fit_pareto(depths, threshold=float(depths[-1]) - half, per_year=depths.size / years)
    asked = [period for period in return_period_years if fit.per_year * period >= 1]
    ends = sampling_range(
        fit, years=years, return_period_years=asked, within=within, samples=samples, seed=seed
    )
    places = plotting_positions(count=depths.size, position=position) * (years / depths.size)
    return PartialDuration(
        window_s=window_s,
        years=years,
        largest=largest,
        position_years=tuple(float(place) for place in places),
        clock_factor=factor,
        fit=fit,
        quantiles=tuple(
            PartialQuantile(period, fit.quantile(return_period_years=period), float(low), float(high))
            for period, (low, high) in zip(asked, ends, strict=True)
        ),
    )


def _pareto_of(rising: FloatArray, threshold: float) -> tuple[FloatArray, FloatArray]:
    """Return scale and shape of each row of rising values, shape (s,)."""
    n = rising.shape[1]
    mean = rising.mean(axis=1)
    l2 = 2 * (rising * np.arange(n)).mean(axis=1) / (n - 1) - mean
    above = mean - threshold
    shape = above / np.maximum(l2, _SAME_DEPTH_M**2) - 2.0
    return (1.0 + shape) * above, shape


def _quantiles(
    threshold: float, scale: FloatArray, shape: FloatArray, times: FloatArray | float
) -> FloatArray:
    """Return the value exceeded once in ``times`` exceedances."""
    flat = np.abs(shape) < 1e-9
    safe = np.where(flat, 1.0, shape)
    log = np.log(times)
    return np.asarray(
        threshold + scale * np.where(flat, log, -np.expm1(-safe * log) / safe), dtype=np.float64
    )
