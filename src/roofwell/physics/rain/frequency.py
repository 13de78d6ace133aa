"""Depth-duration-frequency tables: reading a depth or an intensity out of a table, never beyond it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal, Protocol

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError

FloatArray = npt.NDArray[np.float64]
Series = Literal["partial duration", "annual maximum"]

SERIES: tuple[Series, ...] = ("partial duration", "annual maximum")

# 4.999999999 min is meant as 5 min: floats converted from another unit land beside the edge.
_EDGE = 1e-9


class DepthGrid(Protocol):
    """Anything with the figures of a frequency table, such as what a file reader returns."""

    @property
    def duration_s(self) -> FloatArray: ...
    @property
    def return_period_years(self) -> FloatArray: ...
    @property
    def depth_m(self) -> FloatArray: ...
    @property
    def series(self) -> Series: ...
    @property
    def lower_m(self) -> FloatArray | None: ...
    @property
    def upper_m(self) -> FloatArray | None: ...


@dataclass(frozen=True, slots=True, eq=False)
class FrequencyTable:
    """A table of rain depths for durations and return periods.

    Parameters
    ----------
    duration_s
        Durations, s, rising, shape (n,).
    return_period_years
        Return periods, years, rising, shape (m,). For a partial-duration series the average time between
        exceedances, above 0; for annual maxima the reciprocal of the chance in a year, above 1.
    depth_m
        Depths, m, above 0, shape (n, m).
    series
        ``"partial duration"`` or ``"annual maximum"``.
    lower_m, upper_m
        Confidence bounds where the publisher gives them, shape (n, m).

    Raises
    ------
    InputError
        ``rain-table-shape`` if shapes do not agree or nothing is in the table;
        ``rain-table-number`` if a value is not above zero (return periods of annual maxima: above 1);
        ``rain-table-order`` if an axis does not rise;
        ``rain-table-series`` if the series is neither of the two.
    """

    duration_s: FloatArray
    return_period_years: FloatArray
    depth_m: FloatArray
    series: Series
    lower_m: FloatArray | None = None
    upper_m: FloatArray | None = None

    def __post_init__(self) -> None:
        if self.series not in SERIES:
            raise InputError(
                f"series {self.series!r}: a rain table is 'partial duration' or 'annual maximum'",
                code="rain-table-series",
            )
        for name in ("duration_s", "return_period_years", "depth_m", "lower_m", "upper_m"):
            value = getattr(self, name)
            if value is not None:
                frozen = np.array(value, dtype=np.float64)
                frozen.setflags(write=False)
                object.__setattr__(self, name, frozen)
        shape = (self.duration_s.size, self.return_period_years.size)
        if self.duration_s.ndim != 1 or self.return_period_years.ndim != 1 or 0 in shape:
            raise InputError(
                "a rain table needs at least one duration and one return period", code="rain-table-shape"
            )
        for name in ("depth_m", "lower_m", "upper_m"):
            value = getattr(self, name)
            if value is None:
                continue
            if value.shape != shape:
                raise InputError(
                    f"{name} has the shape {value.shape}; {shape[0]} durations and {shape[1]} return periods"
                    f" need {shape}",
                    code="rain-table-shape",
                )
            if not (np.isfinite(value).all() and (value > 0).all()):
                raise InputError(f"{name}: every depth must be a number above 0", code="rain-table-number")
        least = 1.0 if self.series == "annual maximum" else 0.0
        for name, axis, bound in (
            ("duration_s", self.duration_s, 0.0),
            ("return_period_years", self.return_period_years, least),
        ):
            if not (np.isfinite(axis).all() and (axis > bound).all()):
                raise InputError(f"{name}: every value must be above {bound:g}", code="rain-table-number")
            if not (np.diff(axis) > 0).all():
                raise InputError(f"{name} must rise from entry to entry", code="rain-table-order")


def table_from_grid(grid: DepthGrid) -> FrequencyTable:
    """Return the frequency table of anything that carries its figures (what a file reader returns)."""
    return FrequencyTable(
        duration_s=grid.duration_s,
        return_period_years=grid.return_period_years,
        depth_m=grid.depth_m,
        series=grid.series,
        lower_m=grid.lower_m,
        upper_m=grid.upper_m,
    )


def table_from_figures(*, figures: Iterable[tuple[float, float, float]], series: Series) -> FrequencyTable:
    """Return the table that a few typed figures span, filling what lies between them.

    Parameters
    ----------
    figures
        (duration s, return period years, depth m), in any order; not every pair need be given.
    series
        Which series the figures belong to.

    Returns
    -------
    FrequencyTable
        All durations times all return periods named. A pair that was not given is interpolated between
        two return periods of its duration, else between two durations of its return period, as `depth_m`
        does; never extrapolated.

    Raises
    ------
    InputError
        ``rain-figures-none`` for no figure; ``rain-figure-twice`` if one pair has two depths;
        ``rain-figures-missing`` naming the pairs that no given figures enclose;
        and those of `FrequencyTable`.
    """
    given: dict[tuple[float, float], float] = {}
    for duration_s, years, depth in figures:
        if given.setdefault((duration_s, years), depth) != depth:
            raise InputError(
                f"{_pair(duration_s, years)} has two depths, {_depth(given[duration_s, years])} and"
                f" {_depth(depth)}; keep one",
                code="rain-figure-twice",
            )
    if not given:
        raise InputError("no rain figure was given; at least one is needed", code="rain-figures-none")
    if not all(math.isfinite(v) and v > 0 for key, depth in given.items() for v in (*key, depth)):
        raise InputError(
            "durations, return periods and depths must be numbers above 0", code="rain-table-number"
        )
    duration = np.array(sorted({key[0] for key in given}))
    period = np.array(sorted({key[1] for key in given}))
    grid = np.full((duration.size, period.size), np.nan)
    for (duration_s, years), depth in given.items():
        grid[np.searchsorted(duration, duration_s), np.searchsorted(period, years)] = depth
    while np.isnan(grid).any():
        before = np.isnan(grid).sum()
        _fill_rows(grid, np.log(period), logarithmic=False)
        _fill_rows(grid.T, np.log(duration), logarithmic=True)
        if np.isnan(grid).sum() == before:
            missing = [_pair(duration[i], period[j]) for i, j in np.argwhere(np.isnan(grid))]
            raise InputError(
                "these rain figures cannot be interpolated from the ones given: " + "; ".join(missing),
                code="rain-figures-missing",
            )
    return FrequencyTable(duration_s=duration, return_period_years=period, depth_m=grid, series=series)


def _fill_rows(grid: FloatArray, log_axis: FloatArray, *, logarithmic: bool) -> None:
    """Fill, in place, the gaps of each row that two known values enclose."""
    for row in grid:
        known = ~np.isnan(row)
        if known.sum() < 2:
            continue
        values = np.log(row[known]) if logarithmic else row[known]
        filled = np.interp(log_axis, log_axis[known], values, left=np.nan, right=np.nan)
        row[~known] = (np.exp(filled) if logarithmic else filled)[~known]


def depths_m(table: FrequencyTable, *, duration_s: npt.ArrayLike, return_period_years: float) -> FloatArray:
    """Return depths for several durations at one return period.

    Parameters
    ----------
    duration_s
        Durations, s, any shape; each within the durations of the table.
    return_period_years
        Return period, years, of the table's own series; within those of the table.

    Returns
    -------
    ndarray
        Depths, m, in the shape of ``duration_s``.

    Raises
    ------
    InputError
        ``rain-beyond-table`` if a duration or the return period lies outside the table; the message says
        the table's range.

    Notes
    -----
    Between return periods the depth is linear in the logarithm of the return period; between durations
    the logarithm of the depth is linear in the logarithm of the duration. Values of the table come back
    unchanged. Source: reference sheet, conveyance 1.1 (R3), R3 being 1.4102 in.
    """
    asked = np.asarray(duration_s, dtype=np.float64)
    period = table.return_period_years
    _within(return_period_years, period, f"a return period of {return_period_years:g} years", _years)
    if asked.size:
        for duration in (float(asked.min()), float(asked.max())):
            _within(duration, table.duration_s, f"a duration of {duration_words(duration)}", duration_words)
    years = min(max(return_period_years, period[0]), period[-1])
    column = int(np.clip(np.searchsorted(period, years, side="right") - 1, 0, max(period.size - 2, 0)))
    if period.size == 1 or years == period[column]:
        curve = table.depth_m[:, column]
    else:
        share = math.log(years / period[column]) / math.log(period[column + 1] / period[column])
        curve = table.depth_m[:, column] * (1 - share) + table.depth_m[:, column + 1] * share
    logs = np.interp(np.log(asked), np.log(table.duration_s), np.log(curve))
    result = np.exp(logs)
    # exp(log(x)) is not x: a printed figure must come back as printed.
    at = np.searchsorted(table.duration_s, asked).clip(0, table.duration_s.size - 1)
    exact = table.duration_s[at] == asked
    return np.asarray(np.where(exact, curve[at], result), dtype=np.float64)


def depth_m(table: FrequencyTable, *, duration_s: float, return_period_years: float) -> float:
    """Return the depth, m, of one duration and one return period; see `depths_m`."""
    return float(depths_m(table, duration_s=duration_s, return_period_years=return_period_years))


def intensity_m_s(table: FrequencyTable, *, duration_s: float, return_period_years: float) -> float:
    """Return the mean intensity over the duration, m/s: the depth divided by the duration; see `depths_m`."""
    return depth_m(table, duration_s=duration_s, return_period_years=return_period_years) / duration_s


def annual_from_partial_years(*, return_period_years: float) -> float:
    """Return the annual-maximum return period of a partial-duration one: 1 / (1 − exp(−1/T)).

    ``return_period_years`` is above 0; raises ``InputError`` (``rain-return-period``). Source: Langbein 1949
    as reproduced in an agency's tutorial (reference sheet, conveyance 1.3, R8).
    """
    if not return_period_years > 0:
        raise InputError(
            f"a partial-duration return period of {return_period_years:g} years: it must be above 0",
            code="rain-return-period",
        )
    return -1.0 / math.expm1(-1.0 / return_period_years)


def partial_from_annual_years(*, return_period_years: float) -> float:
    """Return the partial-duration return period of an annual-maximum one: −1 / ln(1 − 1/T).

    ``return_period_years`` is above 1, the chance in a year being below 1; raises ``InputError``
    (``rain-return-period``). Source: as `annual_from_partial_years` (R9).
    """
    if not return_period_years > 1:
        raise InputError(
            f"an annual-maximum return period of {return_period_years:g} years: it must be above 1",
            code="rain-return-period",
        )
    return -1.0 / math.log1p(-1.0 / return_period_years)


def as_series(table: FrequencyTable, *, series: Series) -> FrequencyTable:
    """Return the same depths with their return periods in the other series (Langbein)."""
    if series == table.series:
        return table
    convert = annual_from_partial_years if series == "annual maximum" else partial_from_annual_years
    periods = np.array([convert(return_period_years=float(t)) for t in table.return_period_years])
    return replace(table, return_period_years=periods, series=series)


def problems(table: FrequencyTable) -> tuple[str, ...]:
    """Return what cannot be true in a table, in words; empty for a sane table.

    Depth must not fall with return period or with duration (and rises in a good table), intensity must
    not rise with duration, and bounds must enclose the estimate.
    """
    found: list[str] = []
    durations, periods = table.duration_s, table.return_period_years
    for i, j in np.argwhere(np.diff(table.depth_m, axis=1) <= 0):
        found.append(
            f"{duration_words(durations[i])}: the depth does not rise from {periods[j]:g} to"
            f" {periods[j + 1]:g} years ({_depth(table.depth_m[i, j])}, then"
            f" {_depth(table.depth_m[i, j + 1])})"
        )
    for i, j in np.argwhere(np.diff(table.depth_m, axis=0) <= 0):
        found.append(
            f"{periods[j]:g} years: the depth does not rise from {duration_words(durations[i])} to"
            f" {duration_words(durations[i + 1])} ({_depth(table.depth_m[i, j])}, then"
            f" {_depth(table.depth_m[i + 1, j])})"
        )
    intensity = table.depth_m / durations[:, None]
    # Equal intensities differ in the last digit of a float.
    for i, j in np.argwhere(np.diff(intensity, axis=0) > 1e-12 * intensity[:-1]):
        found.append(
            f"{periods[j]:g} years: the intensity rises from {duration_words(durations[i])} to"
            f" {duration_words(durations[i + 1])}"
        )
    for word, bound, sign in (("lower", table.lower_m, 1.0), ("upper", table.upper_m, -1.0)):
        if bound is not None:
            for i, j in np.argwhere(sign * (bound - table.depth_m) > 0):
                found.append(
                    f"{_pair(durations[i], periods[j])}: the {word} bound, {_depth(bound[i, j])}, is on the"
                    f" wrong side of the estimate, {_depth(table.depth_m[i, j])}"
                )
    return tuple(found)


def duration_words(duration_s: float) -> str:
    """Return a duration as rain tables write it: minutes to an hour, hours to a day, days beyond."""
    if duration_s <= 3600:
        return f"{duration_s / 60:g} min"
    if duration_s <= 86400:
        return f"{duration_s / 3600:g} h"
    return f"{duration_s / 86400:g} days"


def _within(value: float, axis: FloatArray, what: str, words: Callable[[float], str]) -> None:
    low, high = float(axis[0]), float(axis[-1])
    if not low * (1 - _EDGE) <= value <= high * (1 + _EDGE):
        held = f"only {words(low)}" if low == high else f"from {words(low)} to {words(high)}"
        raise InputError(
            f"{what} is not in this rain table, which holds {held}; use a table that holds it,"
            " figures are never stretched beyond a table",
            code="rain-beyond-table",
        )


def _years(value: float) -> str:
    return f"{value:g} years"


def _pair(duration_s: float, years: float) -> str:
    return f"{duration_words(float(duration_s))} for {years:g} years"


def _depth(depth: float) -> str:
    return f"{depth * 1000:.4g} mm ({depth / 0.0254:.4g} in)"
