"""Independent rain events of a record, and the rain left after each event has wetted the roof."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofwell.errors import InputError

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Events:
    """The rain events of a series of equal steps.

    Parameters
    ----------
    first_step, last_step
        First and last wet step of each event, shape (e,).
    event_of_step
        For every step the event to which whatever happens then is counted, shape (n,): an event owns all
        steps from its first wet step until the next event begins, dry ones too, so that a spill that comes
        after the rain belongs to its rain. −1 before the first event.
    depth_m
        Rain of each event, m, shape (e,).
    step_s
        Length of a step, s.
    gap_s
        Dry time that separates two events, s.
    """

    first_step: IntArray
    last_step: IntArray
    event_of_step: IntArray
    depth_m: FloatArray
    step_s: float
    gap_s: float

    @property
    def count(self) -> int:
        """Number of events."""
        return int(self.first_step.size)

    @property
    def duration_s(self) -> FloatArray:
        """From the start of the first to the end of the last wet step of each event, s, shape (e,)."""
        return np.asarray((self.last_step - self.first_step + 1) * self.step_s, dtype=np.float64)

    @property
    def dry_gap_s(self) -> FloatArray:
        """Dry time between each event and the next, s, shape (e − 1,)."""
        gaps = self.first_step[1:] - self.last_step[:-1] - 1
        return np.asarray(gaps * self.step_s, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class EventStatistics:
    """Means and coefficients of variation of events, as storm-event studies print them.

    ``per_year`` is the number of events per year; ``depth_m``, ``duration_s``, ``intensity_m_s`` (depth
    over duration) and ``spacing_s`` (midpoint of an event to the midpoint of the next) are means, the
    fields ending in ``_cv`` the sample standard deviation over the mean (NaN with fewer than two values).
    """

    per_year: float
    depth_m: float
    depth_cv: float
    duration_s: float
    duration_cv: float
    intensity_m_s: float
    intensity_cv: float
    spacing_s: float
    spacing_cv: float


def find_events(*, depth_m: FloatArray, step_s: float, gap_s: float) -> Events:
    """Separate a series of rain depths into independent events.

    Parameters
    ----------
    depth_m
        Rain in each step, m, 0 or more, shape (n,); missing steps count as dry.
    step_s
        Length of a step, s, above 0.
    gap_s
        Least dry time between two events, s, above 0. Exactly this separates; one step less does not.

    Raises
    ------
    InputError
        ``rain-event-number`` if ``step_s`` or ``gap_s`` is not above 0 or a depth not 0 or more.

    Notes
    -----
    A new event starts at a wet step that at least ``gap_s`` of dry steps precede. 6 h is the
    convention of storm-event studies; it makes events independent in the humid East, not in dry climates.
    Source: reference sheet, rain 3.1.
    """
    if not (step_s > 0 and gap_s > 0 and math.isfinite(gap_s)):
        raise InputError(
            f"a step of {step_s:g} s and a dry gap of {gap_s:g} s: both must be above 0",
            code="rain-event-number",
        )
    depth = np.asarray(depth_m, dtype=np.float64)
    if depth.size and not (depth.min() >= 0 and np.isfinite(depth.max())):
        raise InputError("every depth must be a number of 0 or more", code="rain-event-number")
    wet = np.flatnonzero(depth > 0)
    # Whole dry steps that make up the gap; the small number keeps 6 h in steps of 1/3 h at 18 steps.
    dry_steps = math.ceil(gap_s / step_s - 1e-9)
    begins = np.ones(wet.size, dtype=np.bool_)
    begins[1:] = np.diff(wet) - 1 >= dry_steps
    first = wet[begins]
    last = wet[np.append(np.flatnonzero(begins)[1:] - 1, wet.size - 1)] if wet.size else wet
    starts = np.zeros(depth.size, dtype=np.int64)
    starts[first] = 1
    sums = np.add.reduceat(depth[wet], np.flatnonzero(begins)) if wet.size else np.zeros(0)
    return Events(
        first_step=first.astype(np.int64),
        last_step=last.astype(np.int64),
        event_of_step=np.cumsum(starts) - 1,
        depth_m=sums,
        step_s=step_s,
        gap_s=gap_s,
    )


def net_of_initial_loss(*, depth_m: FloatArray, events: Events, loss_m: float) -> FloatArray:
    """Return the rain left when the first ``loss_m`` of each event wets the roof and runs nowhere.

    Parameters
    ----------
    depth_m
        The series from which ``events`` were found, m, shape (n,).
    loss_m
        Loss of each event, m, 0 or more; taken from the event's earliest wet steps, never more than it holds.

    Returns
    -------
    ndarray
        Net depth of each step, m, shape (n,); exactly 0 where the loss takes all.

    Raises
    ------
    InputError
        ``rain-loss`` if the loss is below 0; ``rain-event-number`` if the series is not the events' own.
    """
    if not loss_m >= 0:
        raise InputError(f"an initial loss of {loss_m:g} m: it must be 0 or more", code="rain-loss")
    net = np.array(depth_m, dtype=np.float64)
    if net.shape != events.event_of_step.shape:
        raise InputError(
            f"{net.size} depths for events of {events.event_of_step.size} steps", code="rain-event-number"
        )
    wet = np.flatnonzero(net > 0)
    at = np.searchsorted(wet, events.first_step)
    ends = np.searchsorted(wet, events.last_step)
    left = np.full(events.count, float(loss_m))
    # Wet step by wet step of all events at once: a loss is used up within a few, and no sum is rounded.
    while True:
        live = (left > 0) & (at <= ends)
        if not live.any():
            return net
        step = wet[at[live]]
        taken = np.minimum(net[step], left[live])
        net[step] -= taken
        left[live] -= taken
        at[live] += 1


def event_statistics(events: Events, *, years: float, least_depth_m: float = 0.0) -> EventStatistics:
    """Return means and coefficients of variation of the events of at least ``least_depth_m``.

    Parameters
    ----------
    years
        Length of the record, years, above 0.
    least_depth_m
        Smaller events are left out after the separation (storm-event studies leave out those below 0.10 in).

    Raises
    ------
    InputError
        ``rain-event-number`` if ``years`` is not above 0 or no event is left.

    Source: reference sheet, rain 3.1.
    """
    # 0.10 in as a sum of hundredths is a hair below 0.10 in as one float.
    keep = events.depth_m >= least_depth_m * (1 - 1e-9)
    if not (years > 0 and keep.any()):
        raise InputError(
            f"no statistics of {int(keep.sum())} events in {years:g} years: both must be above 0",
            code="rain-event-number",
        )
    depth, duration = events.depth_m[keep], events.duration_s[keep]
    middle = (events.first_step[keep] + events.last_step[keep] + 1) * (events.step_s / 2)
    columns = (depth, duration, depth / duration, np.diff(middle))
    means = [float(values.mean()) if values.size else math.nan for values in columns]
    cvs = [_variation(values) for values in columns]
    return EventStatistics(
        per_year=float(keep.sum()) / years,
        depth_m=means[0],
        depth_cv=cvs[0],
        duration_s=means[1],
        duration_cv=cvs[1],
        intensity_m_s=means[2],
        intensity_cv=cvs[2],
        spacing_s=means[3],
        spacing_cv=cvs[3],
    )


def gap_variation(events: Events) -> float:
    """Return the coefficient of variation of the dry gaps; near 1 where events arrive like a Poisson process.

    Source: Restrepo-Posada and Eagleson 1982, as told in the reference sheet, rain 3.1.
    """
    return _variation(events.dry_gap_s)


def _variation(values: FloatArray) -> float:
    return float(values.std(ddof=1) / values.mean()) if values.size > 1 else math.nan
