"""A record of another place scaled month by month to a place's monthly rain, and tested against its rain table.

Limits come as arguments: how far a factor or a depth may be off is a choice, kept with its source in the tables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError
from roofwell.physics.rain import extremes, frequency
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import Record

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

MONTHS = 12
HOUR_S, DAY_S = 3600.0, 86400.0
JUDGED_YEARS, SHOWN_YEARS = 2.0, 10.0
# Days of the months in the mean of the Gregorian calendar's 400 years.
_MONTH_DAYS = np.array([31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@dataclass(frozen=True, slots=True)
class DonorLimits:
    """What a scaled record must keep to: its years; each month's factor; the ratio of its 2-year depth to the table's
    for 24 h and for 1 h. ``clock_hour``: by which the wettest clock hour is raised before the comparison."""

    least_years: float
    least_factor: float
    most_factor: float
    day_low: float
    day_high: float
    hour_low: float
    hour_high: float
    clock_hour: float


@dataclass(frozen=True, slots=True)
class DepthRatio:
    """One depth of the scaled record beside the table's, both m; ``low`` and ``high`` of the ratio where it is judged."""

    duration_s: float
    return_period_years: float
    record_m: float
    table_m: float
    low: float | None = None
    high: float | None = None

    @property
    def ratio(self) -> float:
        """Depth of the record over that of the table."""
        return self.record_m / self.table_m

    @property
    def holds(self) -> bool:
        """Whether the ratio is within its limits; True where it is not judged."""
        return self.low is None or self.high is None or self.low <= self.ratio <= self.high


@dataclass(frozen=True, slots=True)
class DonorTest:
    """How a scaled record stood its tests. ``unlike``: root mean square of the logarithms of the factors, 0 for a
    climate with the same rain in every month. ``why_not``: empty where it is accepted, else what it breaks."""

    factors: tuple[float, ...]
    unlike: float
    ratios: tuple[DepthRatio, ...]
    why_not: str

    @property
    def accepted(self) -> bool:
        """Whether it passed."""
        return not self.why_not


def month_of_step(record: Record) -> IntArray:
    """Return the month in which each step starts, 0 for January, shape (n,)."""
    return np.asarray(record.times().astype("datetime64[M]").astype(np.int64) % MONTHS, dtype=np.int64)


def monthly_rain_m(record: Record) -> FloatArray:
    """Return the mean rain of each calendar month, January first, m, shape (12,); NaN for a month never known.

    Missing steps are left out: the rain of the known ones stands for the whole month.
    """
    month = month_of_step(record)
    rain = np.bincount(month, weights=record.depth_m, minlength=MONTHS)
    known_s = np.bincount(month, weights=~record.missing, minlength=MONTHS) * float(record.step_s)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(rain / known_s * _MONTH_DAYS * DAY_S, dtype=np.float64)


def monthly_factors(*, normals_m: npt.ArrayLike, record: Record) -> FloatArray:
    """Return the rain of each month of a place over that of the record, shape (12,).

    Parameters
    ----------
    normals_m
        Mean rain of each month of the place, January first, m, 0 or more.

    Raises
    ------
    InputError
        ``rain-normals`` if there are not twelve of 0 or more.
    """
    normals = np.asarray(normals_m, dtype=np.float64)
    if normals.shape != (MONTHS,) or not (np.isfinite(normals).all() and (normals >= 0).all()):
        raise InputError("monthly rain is twelve depths of 0 or more, January first", code="rain-normals")
    own = monthly_rain_m(record)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(own > 0, normals / own, np.nan), dtype=np.float64)


def scaled(record: Record, *, factors: npt.ArrayLike) -> Record:
    """Return the record with every step multiplied by its month's factor; missing steps stay missing."""
    by_month = np.asarray(factors, dtype=np.float64)
    return Record(
        start=record.start,
        step_s=record.step_s,
        depth_m=record.depth_m * by_month[month_of_step(record)],
        missing=record.missing,
    )


def try_donor(
    record: Record,
    *,
    normals_m: npt.ArrayLike,
    table: FrequencyTable,
    least_coverage: float,
    limits: DonorLimits,
) -> DonorTest:
    """Scale a record to a place and test it.

    Parameters
    ----------
    record
        Steps of an hour (or that make up an hour).
    normals_m
        Mean rain of each month of the place, m.
    table
        Rain table of the place, not raised for a wetter climate.
    least_coverage
        Share of a year that must be known for its maxima to count.
    limits
        What it must keep to.

    Notes
    -----
    Tests in their order: length; factors; the 2-year depths of 24 h (sliding) and of 1 h (clock hour, raised). The
    10-year depths are shown and not judged. The record's depths are extreme values of annual maxima fitted by
    L-moments, read at the annual return period of the table's. Source: reference sheet, rain 3.7.
    """
    factors = monthly_factors(normals_m=normals_m, record=record)
    unlike = math.inf
    if (factors > 0).all():
        unlike = float(np.sqrt(np.mean(np.log(factors) ** 2)))
    kept = tuple(float(factor) for factor in factors)

    def refused(why: str, ratios: tuple[DepthRatio, ...] = ()) -> DonorTest:
        return DonorTest(kept, unlike, ratios, why)

    if record.years < limits.least_years - 1e-6:
        return refused(f"{record.years:.0f} years, at least {limits.least_years:g} are asked for")
    off = [m for m in range(MONTHS) if not limits.least_factor <= kept[m] <= limits.most_factor]
    if off:
        worst = max(off, key=lambda m: abs(math.log(kept[m])) if kept[m] > 0 else math.inf)
        return refused(
            f"its {_MONTH_NAMES[worst]} would have to be multiplied by {kept[worst]:.2f}, {limits.least_factor:g} to"
            f" {limits.most_factor:g} are allowed"
        )
    ratios = depth_ratios(
        scaled(record, factors=factors), table=table, least_coverage=least_coverage, limits=limits
    )
    if len([ratio for ratio in ratios if ratio.low is not None]) < 2:
        return refused("the rain table does not hold the 2-year rain of 1 h and of 24 h", ratios)
    broken = [ratio for ratio in ratios if not ratio.holds]
    if broken:
        worst_ratio = broken[0]
        return refused(
            f"its {worst_ratio.return_period_years:g}-year rain in {worst_ratio.duration_s / HOUR_S:g} h would be"
            f" {worst_ratio.ratio:.2f} of the table's, {worst_ratio.low:g} to {worst_ratio.high:g} are allowed",
            ratios,
        )
    return DonorTest(kept, unlike, ratios, "")


def depth_ratios(
    record: Record, *, table: FrequencyTable, least_coverage: float, limits: DonorLimits
) -> tuple[DepthRatio, ...]:
    """Return the 2- and 10-year depths of 24 h and 1 h of a record beside a table's, where the table holds them."""
    partial = frequency.as_series(table, series="partial duration")
    out = []
    for duration_s, raised, low, high in (
        (DAY_S, 1.0, limits.day_low, limits.day_high),
        (HOUR_S, limits.clock_hour, limits.hour_low, limits.hour_high),
    ):
        years = extremes.annual_maxima(record, window_s=duration_s, least_coverage=least_coverage)
        known = [year.depth_m for year in years if year.depth_m is not None]
        fit = extremes.fit_gev(known)
        for period in (JUDGED_YEARS, SHOWN_YEARS):
            try:
                held = frequency.depth_m(partial, duration_s=duration_s, return_period_years=period)
            except InputError:  # beyond the table
                continue
            annual = frequency.annual_from_partial_years(return_period_years=period)
            depth = raised * fit.quantile(return_period_years=annual)
            judged = (low, high) if period == JUDGED_YEARS else (None, None)
            out.append(DepthRatio(duration_s, period, depth, held, *judged))
    return tuple(out)


_MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
