"""The long record through the wells: each well by itself, and all of them as one system."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from roofwell.physics import linked, network
from roofwell.physics.kept import kept
from roofwell.physics.rain import events
from roofwell.physics.rain.donor import month_of_step
from roofwell.physics.rain.record import Record
from roofwell.system.behaviour import DownspoutFlow, FloatArray, RecordResult
from roofwell.system.facts import Survey
from roofwell.system.linked_wells import with_links
from roofwell.system.record_tally import Tally
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow

BoolArray = npt.NDArray[np.bool_]
RecordBasis = tuple[FloatArray | None, events.Events | None]
Follow = Callable[[FloatArray], tuple[network.Trace, ...]]
SPILL_SHARE = 1e-9  # of a full well: less than that in a step is the rounding of the computation
STEPS_AT_ONCE = 1 << 15  # what is kept of the steps does not grow with the record


@dataclass(frozen=True, slots=True)
class Records:
    """One record: through each well in the order of the Scheme, and through all of them as one.

    ``soaked_m3``: what each well soaked away in each step; empty where nobody asked for it.
    """

    wells: tuple[RecordResult, ...]
    system: RecordResult
    soaked_m3: tuple[FloatArray, ...] = ()


def snow_events(survey: Survey, found: events.Events) -> BoolArray | None:
    """Return which rain events begin in a month that may bring snow, shape (e,); None where those are not known.

    Nothing is melted: what the gauge booked as water counts as rain on the roof in that hour.
    """
    record = survey.rain.record
    return None if record is None else _in_months(record, survey.rain.snow_months, found)


def _in_months(record: Record, months: Sequence[int] | None, found: events.Events) -> BoolArray | None:
    if months is None:
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
    """Return what rain brings to each well of a Scheme."""
    limit = {flow.id: flow.limit_m3_s for flow in flows}
    return Inflow(
        tuple(
            tuple((spout.roof_area_m2, limit[spout.id]) for spout in scheme.upstream_downspouts(well.id))
            for well in scheme.wells
        )
    )


def followed(
    follow: Follow, inflow: Inflow, net_m: FloatArray, *, runoff: float, step_s: float
) -> Iterator[tuple[int, FloatArray, FloatArray, tuple[network.Trace, ...]]]:
    """Go through a record's net rain some steps at a time; yields the first of them, what comes to each store and what
    is turned away before it, m³/s, and the traces of these steps. Nothing of them is kept; no step's numbers depend on
    the cuts.
    """
    for first in range(0, len(net_m), STEPS_AT_ONCE):
        arriving, turned_away = inflow(net_m[first : first + STEPS_AT_ONCE] * runoff / step_s)
        yield first, arriving, turned_away, follow(arriving)


def freely(stores: Sequence[network.Store], step_s: float) -> Follow:
    """Return how stores go on, piece by piece, with nothing that holds their soakage back."""
    standing, stores = network.Standing(), list(stores)
    return lambda arriving: network.simulate(stores, arriving, step_s=step_s, standing=standing)


def soaked_m3(
    stores: Sequence[network.Store], inflow: Inflow, net_m: FloatArray, *, runoff: float, step_s: float
) -> tuple[FloatArray, ...]:
    """Return what each store soaks away in each step of a record, m³."""
    out = np.empty((len(stores), len(net_m)))
    follow = freely(stores, step_s)
    for first, _, _, traces in followed(follow, inflow, net_m, runoff=runoff, step_s=step_s):
        for j, trace in enumerate(traces):
            out[j, first : first + trace.soaked_m3.size] = trace.soaked_m3
    return tuple(out)


def records(
    survey: Survey,
    stores: Sequence[network.Store],
    inflow: Inflow,
    basis: RecordBasis,
    run: Callable[[Callable[[Follow], None]], object] | None = None,
    *,
    keep_soaked: bool = False,
) -> Records | None:
    """Run the record, some steps at a time; None without one. ``run`` gets the function that goes through it once with a
    way to follow the stores, and may call it more than once: the last time counts. Freely if left out.

    Linked wells are one store, and each gets the result of all. A well's own captured share counts
    what another well hands on to it as come, and what it hands on as spilled.
    The system's counts the roof's water once: what leaves over the ground, or comes out at the house, is not
    captured. Its spills are rain events in which any water does.
    """
    net, found = basis
    rain = survey.rain
    if net is None or found is None or rain.record is None or not stores:
        return None
    course = _Course(
        tuple(stores),
        inflow,
        net,
        found,
        survey.settings["runoff_coefficient"],
        rain.record,
        rain.record_name or "",
        rain.snow_months,
    )
    if run is not None:
        return _through(course, run)
    made = _freely(course)
    if not keep_soaked:
        return made
    step = float(rain.record.step_s)
    return replace(made, soaked_m3=soaked_m3(stores, inflow, net, runoff=course.runoff, step_s=step))


@dataclass(frozen=True, slots=True)
class _Course:
    """All that a record's result rests on: the wells, what reaches them, the net rain and its events, the record."""

    stores: tuple[network.Store, ...]
    inflow: Inflow
    net_m: FloatArray
    found: events.Events
    runoff: float
    record: Record
    name: str
    snow_months: tuple[int, ...] | None


@kept(16)
def _freely(course: _Course) -> Records:
    """Run the record with nothing that holds the wells' soakage back; most edits of a job change nothing of it."""
    follow = freely(course.stores, float(course.record.step_s))
    return _through(course, lambda through: through(follow))


def _through(course: _Course, run: Callable[[Callable[[Follow], None]], object]) -> Records:
    stores, found, record = course.stores, course.found, course.record
    step = float(record.step_s)
    full = [float(store.volume_m3[-1]) for store in stores]
    joined = linked.groups([store.link for store in stores])
    groups = [next((g for g in joined if j in g), [j]) for j in range(len(stores))]
    tallies: list[Tally] = []
    whole = Tally(found.event_of_step, SPILL_SHARE * min(full))

    def add(
        first: int, arriving: FloatArray, turned_away: FloatArray, traces: tuple[network.Trace, ...]
    ) -> None:
        lost = [trace.refused_m3 + turned_away[:, j] * step for j, trace in enumerate(traces)]
        for tally, group in zip(tallies, groups, strict=True):
            trace = network.summed([traces[k] for k in group])
            tally.add(
                first,
                float(np.sum(trace.inflow_m3) + np.sum(turned_away[:, group]) * step),
                trace.spilled_m3,
                np.sum([lost[k] for k in group], axis=0),
                trace.longest_wet_s,
            )
        if len(stores) > 1:  # one well by itself is the system
            pairs = zip(stores, traces, strict=True)
            leaves = [trace.spilled_m3 for store, trace in pairs if store.overflow_to is None]
            whole.add(
                first,
                float(np.sum(arriving) + np.sum(turned_away)) * step,
                np.sum(leaves, axis=0),
                np.sum(lost, axis=0),
                max(trace.longest_wet_s for trace in traces),
            )

    def through(follow: Follow) -> None:
        nonlocal whole
        tallies[:] = [
            Tally(found.event_of_step, SPILL_SHARE * sum(full[k] for k in group)) for group in groups
        ]
        whole = Tally(found.event_of_step, SPILL_SHARE * min(full))
        for piece in followed(follow, course.inflow, course.net_m, runoff=course.runoff, step_s=step):
            add(*piece)

    run(through)
    snow = _in_months(record, course.snow_months, found)

    def result(tally: Tally) -> RecordResult:
        spills = len(tally.event)
        spilled, lost, came = tally.spilled_m3, tally.lost_m3, tally.came_m3
        return RecordResult(
            name=course.name,
            years=record.years,
            step_s=step,
            rain_m_year=record.yearly_mean_m,
            missing_share=record.share_missing,
            rain_events=found.count,
            spill_events=spills,
            spills_year=spills / record.years,
            captured_share=1 - (spilled + lost) / came if came > 0 else 1.0,
            spilled_m3_year=spilled / record.years,
            refused_m3_year=lost / record.years,
            longest_wet_s=tally.longest_wet_s,
            greatest_spill_m3_s=tally.greatest_m3 / step,
            greatest_spill_m3=max(tally.spilled_by_event_m3, default=0.0),
            snow_spill_events=None
            if snow is None
            else int(np.count_nonzero(snow[np.array(tally.event, dtype=np.int64)])),
            spill_at_s=step * np.array(tally.first_step, dtype=np.float64),
            spill_m3=np.array(tally.gone_by_event_m3, dtype=np.float64),
        )

    own = tuple(result(tally) for tally in tallies)
    system = result(whole) if len(stores) > 1 else own[0]
    return Records(own, system)
