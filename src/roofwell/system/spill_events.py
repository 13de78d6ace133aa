"""Every spill of the long record with its rain: how much fell, how much left, for how long, and how long water stood."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from roofwell.system.behaviour import Behaviour
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme
from roofwell.system.traces import Rerun, SpillTrace, rerun, spill_trace
from roofwell.system.well_record import SPILL_SHARE, BoolArray, Follow, followed, freely, inflow_of


@dataclass(frozen=True, slots=True)
class SpillEvent:
    """One rain that spills.

    ``at``: when water first left, or did not get in; ``rain_from``: when the rain began. ``rain_m``: all that fell in it,
    ``rain_s``: from its first to its last. ``volume_m3``: what left, in ``spilled_s``. ``stood_s``: the unbroken time around
    that in which some well held water, None where it still did when the record ended. Times are whole steps of the record.
    """

    at: datetime
    rain_from: datetime
    rain_m: float
    rain_s: float
    volume_m3: float
    spilled_s: float
    stood_s: float | None


@dataclass(frozen=True, slots=True)
class SpillEvents:
    """All of them, with what a picture of the years says; ``step_s``: of the record, as fine as its times are."""

    trace: SpillTrace
    step_s: float
    events: tuple[SpillEvent, ...]


def spill_events(scheme: Scheme, survey: Survey, behaviour: Behaviour) -> SpillEvents | None:
    """Return the spills of the judged record, which is followed once more for its times; None without a record.

    Notes
    -----
    Dates and volumes are those that were judged. Where a mound holds the soakage back the wells are followed with it, as
    they were judged.
    """
    record, told = survey.rain.record, behaviour.record
    trace = spill_trace(survey, behaviour)
    if record is None or told is None or told.spill_at_s is None or trace is None or not scheme.wells:
        return None
    step = float(record.step_s)
    if not trace.spills:
        return SpillEvents(trace, step, ())
    _, run = rerun(scheme, survey, behaviour)
    rains = run.basis[1]
    assert rains is not None  # there is a record
    wet, leaves = _followed(run)
    first = np.round(told.spill_at_s / step).astype(np.int64)
    which = rains.event_of_step[first]
    ends = np.append(rains.first_step[1:], wet.size)[which]
    dry = np.flatnonzero(~wet)
    place = np.searchsorted(dry, first)
    out = []
    for n, (spill, event) in enumerate(zip(trace.spills, which.tolist(), strict=True)):
        before = int(dry[place[n] - 1]) if place[n] > 0 else -1
        after = int(dry[place[n]]) if place[n] < dry.size else None
        began = record.start + np.timedelta64(round(step * int(rains.first_step[event])), "s")
        out.append(
            SpillEvent(
                at=spill.at,
                rain_from=began.astype("datetime64[s]").item(),
                rain_m=float(rains.depth_m[event]),
                rain_s=float(rains.duration_s[event]),
                volume_m3=spill.volume_m3,
                spilled_s=step * max(1, int(np.count_nonzero(leaves[first[n] : ends[n]]))),
                stood_s=None if after is None else step * (after - before - 1),
            )
        )
    return SpillEvents(trace, step, tuple(out))


def _followed(run: Rerun) -> tuple[BoolArray, BoolArray]:
    """Follow the record: in which steps some well holds water, and in which some leaves; shape (n,) each."""
    net, record = run.basis[0], run.survey.rain.record
    assert net is not None and record is not None
    step, runoff = float(record.step_s), run.survey.settings["runoff_coefficient"]
    inflow = inflow_of(run.scheme, run.behaviour.downspouts)
    least = SPILL_SHARE * min(float(store.volume_m3[-1]) for store in run.stores)
    wet, leaves = np.zeros(net.size, dtype=np.bool_), np.zeros(net.size, dtype=np.bool_)

    def through(follow: Follow) -> None:
        for first, _, turned_away, traces in followed(follow, inflow, net, runoff=runoff, step_s=step):
            count = turned_away.shape[0]
            holds, gone = np.zeros(count, dtype=np.bool_), turned_away.sum(axis=1) * step
            for store, trace in zip(run.stores, traces, strict=True):
                holds |= np.maximum(trace.volume_peak_m3, trace.volume_end_m3) > store.empty_m3
                gone = gone + trace.refused_m3
                if store.overflow_to is None:
                    gone = gone + trace.spilled_m3
            wet[first : first + count], leaves[first : first + count] = holds, gone > least

    held = run.held(run.record()) if run.reached() else None
    if held is None:
        through(freely(run.stores, step))
    else:
        held.record(run.stores, through, step, net.size)
    return wet, leaves
