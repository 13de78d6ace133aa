"""Design storms: rain depths in equal steps, arranged from a frequency table or an intensity curve."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError
from roofwell.physics.rain.frequency import FrequencyTable, depth_m, depths_m, duration_words

FloatArray = npt.NDArray[np.float64]
Side = Literal["left", "right"]


@dataclass(frozen=True, slots=True, eq=False)
class DesignStorm:
    """A storm in equal steps.

    ``step_s`` is the length of a step, s; ``depth_m`` the rain that falls in each, m, shape (n,), steady
    within the step; ``shape`` says in words how it was arranged; ``return_period_years`` is None where the
    storm was made from an intensity curve that does not tell it. ``nested`` is True if the worst k steps in
    a row hold the table's depth for k steps, for every k (the table's increments fall steadily).
    """

    step_s: float
    depth_m: FloatArray
    shape: str
    duration_s: float
    return_period_years: float | None
    nested: bool


def alternating_block(
    table: FrequencyTable,
    *,
    return_period_years: float,
    duration_s: float,
    step_s: float,
    peak_position: float = 0.5,
    first_side: Side = "right",
) -> DesignStorm:
    """Arrange a table's depths as alternating blocks around a peak.

    Parameters
    ----------
    table
        Frequency table that reaches down to ``step_s`` and up to ``duration_s``.
    return_period_years
        Return period of the table's own series.
    duration_s, step_s
        Length of the storm and of a block, s; the storm is a whole number of blocks.
    peak_position
        Share of the storm that has passed when the peak block ends, above 0 and at most 1; the block is
        the first that reaches it (12 blocks and 0.5: block 6).
    first_side
        Side of the second-largest block: ``"right"`` (after the peak) as in textbooks, or ``"left"`` as in
        one practice note. When one side is full, the rest goes to the other.

    Raises
    ------
    InputError
        ``rain-beyond-table`` if the table does not reach; ``storm-steps`` if the duration is not a whole
        number of steps; ``storm-peak`` if the peak position is outside its range; ``storm-increment`` if the
        table's depth falls with duration, so that a block would be negative.

    Notes
    -----
    P(k) is the table's depth for k steps; the n increments P(k) − P(k−1), largest first, go to the
    peak, then in turn to its sides. The total is always the table's depth for the whole duration.
    Source: reference sheet, conveyance 1.5 (R16, R19).
    """
    steps = _whole_steps(duration_s, step_s)
    if not 0 < peak_position <= 1:
        raise InputError(
            f"peak position {peak_position:g}: it must be above 0 and at most 1", code="storm-peak"
        )
    totals = depths_m(
        table,
        duration_s=np.arange(1, steps + 1) * (duration_s / steps),
        return_period_years=return_period_years,
    )
    increments = np.diff(totals, prepend=0.0)
    if (increments < 0).any():
        k = int(np.argmax(increments < 0))
        raise InputError(
            f"the rain table gives less rain for {duration_words((k + 1) * step_s)} than for"
            f" {duration_words(k * step_s)}; correct the table",
            code="storm-increment",
        )
    peak = max(math.ceil(peak_position * steps - 1e-9) - 1, 0)
    blocks = np.empty(steps)
    blocks[_places(steps, peak, first_side)] = np.sort(increments)[::-1]
    return DesignStorm(
        step_s=duration_s / steps,
        depth_m=blocks,
        shape="alternating blocks",
        duration_s=duration_s,
        return_period_years=return_period_years,
        # Interpolated increments that should be equal differ in the last digit of a float.
        nested=bool((np.diff(increments) <= 1e-12 * totals[-1]).all()),
    )


def nested_storm(
    table: FrequencyTable,
    *,
    return_period_years: float,
    duration_s: float,
    step_s: float | None = None,
    peak_position: float = 0.5,
    first_side: Side = "right",
) -> DesignStorm:
    """Return alternating blocks as fine as the table allows: one storm that holds every shorter storm.

    ``step_s`` is left out for the table's shortest duration (5 min in the public tables). Arguments and
    errors otherwise as `alternating_block`.
    """
    storm = alternating_block(
        table,
        return_period_years=return_period_years,
        duration_s=duration_s,
        step_s=float(table.duration_s[0]) if step_s is None else step_s,
        peak_position=peak_position,
        first_side=first_side,
    )
    return DesignStorm(
        step_s=storm.step_s,
        depth_m=storm.depth_m,
        shape="nested storm",
        duration_s=storm.duration_s,
        return_period_years=storm.return_period_years,
        nested=storm.nested,
    )


def uniform_block(
    table: FrequencyTable, *, return_period_years: float, duration_s: float, step_s: float
) -> DesignStorm:
    """Return the table's depth for the duration, falling steadily; errors as `alternating_block`."""
    steps = _whole_steps(duration_s, step_s)
    total = depth_m(table, duration_s=duration_s, return_period_years=return_period_years)
    return DesignStorm(
        step_s=duration_s / steps,
        depth_m=np.full(steps, total / steps),
        shape="uniform block",
        duration_s=duration_s,
        return_period_years=return_period_years,
        nested=steps == 1,
    )


@dataclass(frozen=True, slots=True)
class IntensityCurve:
    """Mean intensity over a duration t as ``coefficient / (t + offset_s) ** exponent``, m/s with t in s.

    ``coefficient`` is in m/s·s^exponent, above 0; ``offset_s`` above 0; ``exponent`` above 0, at most 1.
    Raises ``InputError`` (``storm-curve``) otherwise.
    """

    coefficient: float
    offset_s: float
    exponent: float

    def __post_init__(self) -> None:
        if not (self.coefficient > 0 and self.offset_s > 0 and 0 < self.exponent <= 1):
            raise InputError(
                "an intensity curve needs a coefficient and an offset above 0 and an exponent above 0 and at"
                f" most 1; got {self.coefficient:g}, {self.offset_s:g} s, {self.exponent:g}",
                code="storm-curve",
            )

    def depth_m(self, duration_s: FloatArray) -> FloatArray:
        """Return the depth, m, of durations of 0 s and more."""
        return np.asarray(self.coefficient * duration_s / (duration_s + self.offset_s) ** self.exponent)


def chicago_intensity_m_s(
    curve: IntensityCurve, *, time_s: npt.ArrayLike, duration_s: float, peak_position: float
) -> FloatArray:
    """Return the intensity, m/s, at times of a Chicago storm.

    Parameters
    ----------
    curve
        Mean intensity against duration.
    time_s
        Times from the start, s, 0 to ``duration_s``, any shape.
    duration_s
        Length of the storm, s.
    peak_position
        Share of the storm before the peak, above 0 and below 1 (0.3 to 0.5 is usual, from memory).

    Raises
    ------
    InputError
        ``storm-peak`` if the peak position, ``storm-time`` if a time is outside its range.

    Notes
    -----
    With u the time from the peak divided by the share of its side,
    i = coefficient · ((1 − exponent) u + offset) / (u + offset)^(1 + exponent).
    Source: reference sheet, conveyance 1.6 (R20, R21).
    """
    away = _away(time_s, duration_s, peak_position)
    top = curve.coefficient * ((1 - curve.exponent) * away + curve.offset_s)
    return np.asarray(top / (away + curve.offset_s) ** (1 + curve.exponent))


def chicago_storm(
    curve: IntensityCurve, *, duration_s: float, step_s: float, peak_position: float
) -> DesignStorm:
    """Return a Chicago storm in steps, each holding the exact rain of its time (not a sampled intensity).

    Arguments and errors as `chicago_intensity_m_s`; also ``storm-steps`` if the duration is not a whole
    number of steps. The total is the curve's depth for the duration.
    """
    steps = _whole_steps(duration_s, step_s)
    edge = np.linspace(0.0, duration_s, steps + 1)
    side = np.where(edge < peak_position * duration_s, -peak_position, 1 - peak_position)
    from_peak = side * curve.depth_m(_away(edge, duration_s, peak_position))
    return DesignStorm(
        step_s=duration_s / steps,
        depth_m=np.diff(from_peak),
        shape="Chicago storm",
        duration_s=duration_s,
        return_period_years=None,
        nested=False,
    )


def _away(time_s: npt.ArrayLike, duration_s: float, peak_position: float) -> FloatArray:
    """Return the time from the peak divided by the share of its side, s."""
    if not 0 < peak_position < 1:
        raise InputError(
            f"peak position {peak_position:g}: it must be above 0 and below 1", code="storm-peak"
        )
    time = np.asarray(time_s, dtype=np.float64)
    if time.size and not (time.min() >= 0 and time.max() <= duration_s):
        raise InputError(f"times must lie within the storm, 0 to {duration_s:g} s", code="storm-time")
    peak_s = peak_position * duration_s
    return np.asarray(
        np.where(time < peak_s, (peak_s - time) / peak_position, (time - peak_s) / (1 - peak_position))
    )


def _whole_steps(duration_s: float, step_s: float) -> int:
    if not (math.isfinite(duration_s) and step_s > 0 and duration_s >= step_s * (1 - 1e-9)):
        raise InputError(
            f"a storm of {duration_s:g} s in steps of {step_s:g} s: both must be above 0 and the storm at"
            " least one step long",
            code="storm-steps",
        )
    steps = round(duration_s / step_s)
    if abs(duration_s / step_s - steps) > 1e-6:
        raise InputError(
            f"a storm of {duration_words(duration_s)} is not a whole number of steps of"
            f" {duration_words(step_s)}; change one of them",
            code="storm-steps",
        )
    return steps


def _places(steps: int, peak: int, first_side: Side) -> npt.NDArray[np.intp]:
    """Return the block that the largest, second-largest, ... increment goes to."""
    if first_side not in ("left", "right"):
        raise InputError(f"first side {first_side!r}: it is 'left' or 'right'", code="storm-peak")
    left, right = peak - 1, peak + 1
    places = [peak]
    turn = first_side
    while len(places) < steps:
        if (turn == "right" and right < steps) or left < 0:
            places.append(right)
            right += 1
        else:
            places.append(left)
            left -= 1
        turn = "left" if turn == "right" else "right"
    return np.array(places)
