"""A record with the long dry times cut short: what a store that has run empty does not notice."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def kept_steps(*, depth_m: FloatArray, step_s: float, dry_s: float) -> IntArray:
    """Return the steps that are wet, or that follow on a wet one within ``dry_s``, in order.

    Parameters
    ----------
    depth_m
        Rain in each step, m, 0 or more, shape (n,).
    step_s
        Length of a step, s, above 0.
    dry_s
        Dry time that is kept after rain, s, 0 or more; rounded up to whole steps, infinite keeps all after the first
        rain. A store that drains within it is as empty after the shortened gap as after the whole one; rain events
        stay apart if it is at least their gap.

    Raises
    ------
    InputError
        ``rain-event-number`` if the step is not above 0 or the dry time below 0.
    """
    if not (step_s > 0 and dry_s >= 0):
        raise InputError(
            f"a step of {step_s:g} s and a dry time of {dry_s:g} s: above 0, and 0 or more",
            code="rain-event-number",
        )
    depth = np.asarray(depth_m, dtype=np.float64)
    place = np.arange(depth.size)
    last_wet = np.maximum.accumulate(np.where(depth > 0, place, -1)) if depth.size else place
    most = depth.size if math.isinf(dry_s) else math.ceil(dry_s / step_s - 1e-9)
    return np.flatnonzero((last_wet >= 0) & (place - last_wet <= most)).astype(np.int64)
