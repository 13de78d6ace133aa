"""A measured rain record in equal steps; what is missing stays missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError
from roofwell.physics.kept import kept

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


class StepSeries(Protocol):
    """Anything with the steps of a record, such as what a file reader returns."""

    @property
    def start(self) -> np.datetime64: ...
    @property
    def step_s(self) -> int: ...
    @property
    def depth_m(self) -> FloatArray: ...
    @property
    def missing(self) -> BoolArray: ...


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """Rain in equal steps.

    Parameters
    ----------
    start
        Start of the first step, ``datetime64[s]``, local standard time (no daylight saving).
    step_s
        Length of a step, whole seconds.
    depth_m
        Rain in each step, m, 0 or more, shape (n,); 0 where missing.
    missing
        True where nothing is known, shape (n,). A simulation takes such steps as dry and says which share
        they are (`share_missing`).

    Raises
    ------
    InputError
        ``rain-record-shape`` if the arrays do not agree or are empty; ``rain-record-number`` for a depth
        that is not a number of 0 or more, or a step below 1 s.
    """

    start: np.datetime64
    step_s: int
    depth_m: FloatArray
    missing: BoolArray

    def __post_init__(self) -> None:
        depth = np.array(self.depth_m, dtype=np.float64)
        missing = np.array(self.missing, dtype=np.bool_)
        if depth.ndim != 1 or depth.size == 0 or missing.shape != depth.shape:
            raise InputError(
                f"a rain record needs one depth and one missing mark for each step; got shapes {depth.shape}"
                f" and {missing.shape}",
                code="rain-record-shape",
            )
        if self.step_s < 1:
            raise InputError(
                f"a step of {self.step_s} s: a record's step is at least 1 s", code="rain-record-number"
            )
        depth[missing] = 0.0
        if not (depth.min() >= 0 and np.isfinite(depth.max())):
            raise InputError(
                "every depth of a rain record must be a number of 0 or more", code="rain-record-number"
            )
        depth.setflags(write=False)
        missing.setflags(write=False)
        object.__setattr__(self, "start", self.start.astype("datetime64[s]"))
        object.__setattr__(self, "depth_m", depth)
        object.__setattr__(self, "missing", missing)

    @property
    def steps(self) -> int:
        """Number of steps."""
        return int(self.depth_m.size)

    @property
    def end(self) -> np.datetime64:
        """End of the last step."""
        return self.start + np.timedelta64(self.steps * self.step_s, "s")

    @property
    def years(self) -> float:
        """Length in calendar years: whole for a record of whole calendar years."""
        return _calendar_years(self.end) - _calendar_years(self.start)

    @property
    def total_depth_m(self) -> float:
        """Rain of the whole record, m."""
        return _total(self.depth_m)

    @property
    def yearly_mean_m(self) -> float:
        """Rain per year, m, missing steps counting as dry."""
        return self.total_depth_m / self.years

    @property
    def share_missing(self) -> float:
        """Share of the steps that are missing, 0 to 1."""
        return _count(self.missing) / self.steps

    def times(self) -> npt.NDArray[np.datetime64]:
        """Return the start of every step, ``datetime64[s]``, shape (n,)."""
        return self.start + np.arange(self.steps) * np.timedelta64(self.step_s, "s")

    def step_years(self) -> npt.NDArray[np.int64]:
        """Return the calendar year in which every step starts, shape (n,)."""
        years = self.times().astype("datetime64[Y]").astype(np.int64) + 1970
        return np.asarray(years, dtype=np.int64)

    def window(self, *, first_year: int, last_year: int) -> Record:
        """Return the steps that start in whole calendar years; steps beyond the record are missing.

        Raises ``InputError`` (``rain-record-window``) if no step lies in those years.
        """
        first = np.datetime64(f"{first_year:04d}-01-01", "s")
        after = np.datetime64(f"{last_year + 1:04d}-01-01", "s")
        if last_year < first_year or after <= self.start or first >= self.end:
            raise InputError(
                f"years {first_year} to {last_year}: this record runs from {self.start} to {self.end}",
                code="rain-record-window",
            )
        step = np.timedelta64(self.step_s, "s")
        # A grid that does not start at midnight keeps its own minutes.
        skip = -int((self.start - first) // step)
        count = int((after - self.start + step - np.timedelta64(1, "s")) // step) - skip
        depth = np.zeros(count)
        missing = np.ones(count, dtype=np.bool_)
        low, high = max(skip, 0), min(skip + count, self.steps)
        depth[low - skip : high - skip] = self.depth_m[low:high]
        missing[low - skip : high - skip] = self.missing[low:high]
        return Record(start=self.start + skip * step, step_s=self.step_s, depth_m=depth, missing=missing)

    def without(self, *, steps: npt.NDArray[np.intp]) -> Record:
        """Return the record with some steps marked missing."""
        missing = self.missing.copy()
        missing[steps] = True
        return Record(start=self.start, step_s=self.step_s, depth_m=self.depth_m, missing=missing)


@kept(16)
def _total(depth_m: npt.NDArray[np.float64]) -> float:
    return float(depth_m.sum())


@kept(16)
def _count(marked: npt.NDArray[np.bool_]) -> int:
    return int(np.count_nonzero(marked))


def record_from_series(series: StepSeries) -> Record:
    """Return the record of anything that carries its steps (what a file reader returns)."""
    return Record(start=series.start, step_s=series.step_s, depth_m=series.depth_m, missing=series.missing)


def _calendar_years(moment: np.datetime64) -> float:
    year = moment.astype("datetime64[Y]")
    begins = year.astype("datetime64[s]")
    ends = (year + np.timedelta64(1, "Y")).astype("datetime64[s]")
    return float(year.astype(np.int64)) + 1970 + float((moment - begins) / (ends - begins))
