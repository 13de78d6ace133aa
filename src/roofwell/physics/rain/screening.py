"""Which years of a record can be used, and which of its steps are hard to believe.

Limits come as arguments: what is too coarse or too heavy is a choice, kept with its source in the tables.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError
from roofwell.physics.rain.record import BoolArray, Record

IntArray = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class YearQuality:
    """One calendar year of a record.

    ``coverage`` is the share of the year's steps that are known; ``coarse_share`` the share of wet steps
    that are whole multiples of the coarse unit (1 in a year read to that unit; None without a wet step).
    """

    year: int
    coverage: float
    wet_steps: int
    coarse_share: float | None
    depth_m: float


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A step that is hard to believe: its place in the record and the reason in words."""

    step: int
    time: str
    depth_m: float
    reason: str


def yearly_quality(record: Record, *, coarse_m: float) -> tuple[YearQuality, ...]:
    """Return the quality of every calendar year that the record touches.

    Parameters
    ----------
    coarse_m
        The coarse unit, m, to which a gauge may have been read for some years (0.1 in at many stations of
        the national hourly set); above 0.

    Raises
    ------
    InputError
        ``rain-screening-number`` if ``coarse_m`` is not above 0.
    """
    if not coarse_m > 0:
        raise InputError(f"a coarse unit of {coarse_m:g} m: it must be above 0", code="rain-screening-number")
    year = record.step_years()
    first = int(year[0])
    index = year - first
    count = int(year[-1]) - first + 1
    known = np.bincount(index, weights=~record.missing, minlength=count)
    depth = np.bincount(index, weights=record.depth_m, minlength=count)
    wet = record.depth_m > 0
    wet_steps = np.bincount(index[wet], minlength=count)
    parts = record.depth_m[wet] / coarse_m
    coarse = np.bincount(index[wet], weights=np.abs(parts - np.round(parts)) < 1e-6, minlength=count)
    out = []
    for k in range(count):
        begins = np.datetime64(f"{first + k:04d}-01-01", "s")
        ends = np.datetime64(f"{first + k + 1:04d}-01-01", "s")
        steps = float((ends - begins) / np.timedelta64(record.step_s, "s"))
        out.append(
            YearQuality(
                year=first + k,
                coverage=float(known[k]) / steps,
                wet_steps=int(wet_steps[k]),
                coarse_share=float(coarse[k]) / int(wet_steps[k]) if wet_steps[k] else None,
                depth_m=float(depth[k]),
            )
        )
    return tuple(out)


def clean_window(
    qualities: tuple[YearQuality, ...], *, least_coverage: float, most_coarse_share: float
) -> tuple[int, int] | None:
    """Return the first and last year of the longest run of good years, the later of two; None if no year is.

    A year is good if its coverage is at least ``least_coverage`` and the share of coarse readings below
    ``most_coarse_share`` (a year without any wet step tells nothing about it and is good).
    """
    best: tuple[int, int] | None = None
    begins: int | None = None
    for quality in qualities:
        fine = quality.coarse_share is None or quality.coarse_share < most_coarse_share
        if not (fine and quality.coverage >= least_coverage):
            begins = None
            continue
        begins = quality.year if begins is None else begins
        if best is None or quality.year - begins >= best[1] - best[0]:
            best = (begins, quality.year)
    return best


def doubtful_steps(
    record: Record,
    *,
    most_m: float,
    month_end_m: float | None = None,
    gap_s: float = 86400.0,
) -> tuple[Doubtful, ...]:
    """Return steps that are hard to believe.

    Parameters
    ----------
    most_m
        Depth in one step, m, above which it is doubted; above 0. For an hour of the continental United
        States the reference sheet chooses 3.5 in outside the Gulf coast and Florida, or 60 % of the 100-year
        24-h depth of the place.
    month_end_m
        Depth, m, from which the last step of a month is doubted if it follows missing steps: a gauge that
        was read once a month booked the whole month there. None leaves this out.
    gap_s
        How far back a missing step counts as before the month's last step, s.

    Raises
    ------
    InputError
        ``rain-screening-number`` if a limit is not above 0.
    """
    if not (most_m > 0 and gap_s > 0 and (month_end_m is None or month_end_m > 0)):
        raise InputError("limits for doubtful rain must be above 0", code="rain-screening-number")
    found: dict[int, str] = {}
    for step in np.flatnonzero(record.depth_m > most_m):
        found[int(step)] = f"more than {most_m * 1000:.4g} mm ({most_m / 0.0254:.4g} in) in one step"
    if month_end_m is not None:
        for step in np.flatnonzero(_month_end(record) & (record.depth_m >= month_end_m)):
            back = max(int(step - gap_s // record.step_s), 0)
            if record.missing[back:step].any():
                found.setdefault(int(step), "last step of a month after missing steps: may be a month's sum")
    times = record.start + np.array(sorted(found), dtype=np.int64) * np.timedelta64(record.step_s, "s")
    return tuple(
        Doubtful(step=step, time=str(time), depth_m=float(record.depth_m[step]), reason=found[step])
        for step, time in zip(sorted(found), times, strict=True)
    )


def _month_end(record: Record) -> BoolArray:
    """Return True for the last step of each month."""
    month = record.times().astype("datetime64[M]")
    ends = np.zeros(record.steps, dtype=np.bool_)
    ends[:-1] = month[1:] != month[:-1]
    ends[-1] = record.end.astype("datetime64[M]") != month[-1]
    return ends
