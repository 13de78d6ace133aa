"""What fell on a day of the past, and how rare that is by a frequency table."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from roofwell.errors import InputError
from roofwell.physics.rain.frequency import FrequencyTable, depths_m
from roofwell.physics.rain.held import Reach
from roofwell.physics.rain.record import Record

DAY_S = 86400
HOUR_S = 3600


@dataclass(frozen=True, slots=True)
class DayOfRain:
    """Rain of one calendar day of a record, in the record's own (local standard) time.

    ``depth_m`` from midnight to midnight; ``missing_share`` of its steps; ``peak_hour_m`` the wettest hour that
    begins on it, at ``peak_start``; ``wettest_day_m`` the wettest 24 h that share a step with it, beginning at
    ``wettest_start``. ``peak_hour_m`` is None where the record's steps do not make an hour.
    """

    day: np.datetime64
    depth_m: float
    missing_share: float
    peak_hour_m: float | None
    peak_start: np.datetime64 | None
    wettest_day_m: float
    wettest_start: np.datetime64


@dataclass(frozen=True, slots=True)
class Rarity:
    """Return period of a depth; ``"below"`` and ``"beyond"`` give the table's own end."""

    years: float
    reach: Reach


def rain_of_day(record: Record, *, day: np.datetime64) -> DayOfRain | None:
    """Return what fell on a day (``datetime64[D]``); None where the record does not hold the whole day."""
    begin = day.astype("datetime64[D]").astype("datetime64[s]")
    step = np.timedelta64(record.step_s, "s")
    low = -int((record.start - begin) // step)  # the first step that begins on the day
    steps = DAY_S // record.step_s
    if steps < 1 or low < 0 or low + steps > record.steps:
        return None
    depth = record.depth_m
    part = slice(low, low + steps)
    hour = HOUR_S // record.step_s if HOUR_S % record.step_s == 0 else 0
    peak = peak_start = None
    if hour:
        sums = _sums(depth, low, min(low + steps + hour - 1, record.steps), hour)
        at = int(np.argmax(sums))
        peak, peak_start = float(sums[at]), record.start + (low + at) * step
    first = max(low - steps + 1, 0)
    days = _sums(depth, first, min(low + 2 * steps - 1, record.steps), steps)
    at = int(np.argmax(days > days.max() - 1e-9))
    return DayOfRain(
        day=day.astype("datetime64[D]"),
        depth_m=float(depth[part].sum()),
        missing_share=float(np.count_nonzero(record.missing[part])) / steps,
        peak_hour_m=peak,
        peak_start=peak_start,
        wettest_day_m=float(depth[first + at : first + at + steps].sum()),
        wettest_start=record.start + (first + at) * step,
    )


def rarity(table: FrequencyTable, *, duration_s: float, depth_m: float) -> Rarity:
    """Return the return period of a depth in the table's own series, never beyond the table.

    Parameters
    ----------
    duration_s
        Duration in which it fell, s, within the table.
    depth_m
        Depth, m, 0 or more.

    Raises
    ------
    InputError
        ``rain-beyond-table`` if the duration is not in the table; ``rain-depth`` for a depth below 0.

    Notes
    -----
    The inverse of `depths_m`, by halving the logarithm of the return period.
    """
    if not (math.isfinite(depth_m) and depth_m >= 0):
        raise InputError(f"a depth of {depth_m} m of rain; it must be 0 or more", code="rain-depth")
    periods = table.return_period_years
    least, most = float(periods[0]), float(periods[-1])

    def falls(years: float) -> float:
        return float(depths_m(table, duration_s=duration_s, return_period_years=years))

    if depth_m < falls(least):
        return Rarity(least, "below")
    if depth_m > falls(most):
        return Rarity(most, "beyond")
    low, high = math.log(least), math.log(most)
    while high - low > 1e-12:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if falls(math.exp(middle)) <= depth_m else (low, middle)
    return Rarity(math.exp(low), "within")


def _sums(depth_m: np.ndarray, low: int, high: int, length: int) -> np.ndarray:
    """Sums of every window of ``length`` steps that lies within steps ``low`` to ``high``."""
    total = np.concatenate([[0.0], np.cumsum(depth_m[low:high])])
    return np.asarray(total[length:] - total[:-length])
