"""The long record through the wells: each well by itself, and all of them as one system."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofwell.physics import linked, network
from roofwell.physics.rain import events
from roofwell.physics.rain.donor import month_of_step
from roofwell.system.behaviour import DownspoutFlow, FloatArray, RecordResult
from roofwell.system.facts import Survey
from roofwell.system.linked_wells import with_links
from roofwell.system.scheme import Scheme

BoolArray = npt.NDArray[np.bool_]
RecordBasis = tuple[FloatArray | None, events.Events | None]
Inflow = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
SPILL_SHARE = 1e-9  # of a full well: less than that in a step is the rounding of the computation


@dataclass(frozen=True, slots=True)
class Records:
    """One record: through each well in the order of the Scheme, and through all of them as one."""

    wells: tuple[RecordResult, ...]
    system: RecordResult
    traces: tuple[network.Trace, ...] = ()


def snow_events(survey: Survey, found: events.Events) -> BoolArray | None:
    """Return which rain events begin in a month that may bring snow, shape (e,); None where those are not known.

    Nothing is melted: what the gauge booked as water counts as rain on the roof in that hour.
    """
    record, months = survey.rain.record, survey.rain.snow_months
    if record is None or months is None:
        return None
    month = month_of_step(record)[found.first_step]
    return np.isin(month, np.array(months, dtype=np.int64))


def linked_stores(scheme: Scheme, stores: Mapping[str, network.Store]) -> list[network.Store]:
    """Return the stores in the order of the wells, each knowing which other one takes its overflow."""
    ids = [well.id for well in scheme.wells]
    linked = []
    for id in ids:
        overflow = scheme.overflow_of(id)
        to = ids.index(overflow.to) if overflow is not None and overflow.to in ids else None
        store = stores[id]
        linked.append(
            network.Store(
                store.volume_m3,
                store.soakage_m3_s,
                store.soakage_below_m3_s,
                store.capacity_m3_s,
                to,
                store.empty_m3,
            )
        )
    return with_links(scheme, linked)


def inflow_of(scheme: Scheme, flows: Sequence[DownspoutFlow]) -> Inflow:
    """Return the function from rain (m/s) to the flow that reaches each well and the flow that its gutters and
    downspouts do not take, both m³/s."""
    feeders = [scheme.upstream_downspouts(well.id) for well in scheme.wells]
    limit = {flow.id: flow.limit_m3_s for flow in flows}

    def inflow(rate_m_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        arriving = np.zeros((len(rate_m_s), len(feeders)))
        refused = np.zeros((len(rate_m_s), len(feeders)))
        wet = np.flatnonzero(rate_m_s)
        falls = rate_m_s[wet]
        for j, spouts in enumerate(feeders):
            came, turned = np.zeros(len(wet)), np.zeros(len(wet))
            for spout in spouts:
                wanted = falls * spout.roof_area_m2
                taken = np.minimum(wanted, limit[spout.id])
                came += taken
                turned += wanted - taken
            arriving[wet, j] = came
            refused[wet, j] = turned
        return arriving, refused

    return inflow


def records(
    survey: Survey,
    stores: Sequence[network.Store],
    inflow: Inflow,
    basis: RecordBasis,
    run: Callable[[Sequence[network.Store], FloatArray, float], tuple[network.Trace, ...]] | None = None,
) -> Records | None:
    """Run the record; None without one. ``run``: how stores are followed; exactly and freely if left out.

    Linked wells are one store, and each gets the result of all. A well's own captured share counts
    what another well hands on to it as come, and what it hands on as spilled.
    The system's counts the roof's water once: what leaves over the ground, or comes out at the house, is not
    captured. Its spills are rain events in which any water does.
    """
    net, found = basis
    record = survey.rain.record
    if net is None or found is None or record is None or not stores:
        return None
    step = float(record.step_s)
    arriving, turned_away = inflow(net * survey.settings["runoff_coefficient"] / step)
    traces = (
        network.simulate(list(stores), arriving, step_s=step) if run is None else run(stores, arriving, step)
    )

    def result(
        came_m3: float, spilled_m3: FloatArray, lost_m3: FloatArray, least_m3: float, wet_s: float
    ) -> RecordResult:
        steps = np.flatnonzero(spilled_m3 + lost_m3 > least_m3)
        events_out = np.unique(found.event_of_step[steps])
        spills = len(events_out)
        spilled, lost = float(np.sum(spilled_m3)), float(np.sum(lost_m3))
        _, first, event = np.unique(found.event_of_step[steps], return_index=True, return_inverse=True)
        by_event = np.bincount(event, weights=spilled_m3[steps]) if len(steps) else np.zeros(1)
        gone = np.bincount(event, weights=(spilled_m3 + lost_m3)[steps]) if len(steps) else np.zeros(0)
        return RecordResult(
            name=survey.rain.record_name or "",
            years=record.years,
            step_s=step,
            rain_m_year=record.yearly_mean_m,
            missing_share=record.share_missing,
            rain_events=found.count,
            spill_events=spills,
            spills_year=spills / record.years,
            captured_share=1 - (spilled + lost) / came_m3 if came_m3 > 0 else 1.0,
            spilled_m3_year=spilled / record.years,
            refused_m3_year=lost / record.years,
            longest_wet_s=wet_s,
            greatest_spill_m3_s=float(np.max(spilled_m3, initial=0.0)) / step,
            greatest_spill_m3=float(np.max(by_event)),
            snow_spill_events=None if snow is None else int(np.count_nonzero(snow[events_out])),
            spill_at_s=step * steps[first].astype(np.float64),
            spill_m3=np.asarray(gone, dtype=np.float64),
        )

    snow = snow_events(survey, found)
    full = [float(store.volume_m3[-1]) for store in stores]
    joined = linked.groups([store.link for store in stores])
    groups = [next((g for g in joined if j in g), [j]) for j in range(len(stores))]
    lost = [trace.refused_m3 + turned_away[:, j] * step for j, trace in enumerate(traces)]
    own = tuple(
        result(
            float(np.sum(trace.inflow_m3) + np.sum(turned_away[:, group]) * step),
            trace.spilled_m3,
            np.sum([lost[k] for k in group], axis=0),
            SPILL_SHARE * sum(full[k] for k in group),
            trace.longest_wet_s,
        )
        for trace, group in ((network.summed([traces[k] for k in group]), group) for group in groups)
    )
    nothing = np.zeros(len(net))
    leaves = [
        trace.spilled_m3 if store.overflow_to is None else nothing
        for store, trace in zip(stores, traces, strict=True)
    ]
    system = result(
        float(np.sum(arriving) + np.sum(turned_away)) * step,
        np.sum(leaves, axis=0),
        np.sum(lost, axis=0),
        SPILL_SHARE * min(full),
        max(trace.longest_wet_s for trace in traces),
    )
    return Records(own, system, tuple(traces))
