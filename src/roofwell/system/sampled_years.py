"""The long record through one Scheme many times over, year by year, with its unknowns as they are drawn."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from roofwell.physics import compiled, mounded, network, wet_years
from roofwell.physics.rain import events
from roofwell.physics.rain.thinned import kept_steps
from roofwell.physics.well.exponentials import Exponentials
from roofwell.system import groundwater
from roofwell.system.behaviour import Behaviour, FloatArray
from roofwell.system.chance import LONGEST_DRY_S, scaled, with_voids
from roofwell.system.facts import Survey
from roofwell.system.flooding import flooded_store
from roofwell.system.rainfall import stores_of
from roofwell.system.scheme import Scheme
from roofwell.system.well_record import SPILL_SHARE, inflow_of, linked_stores
from roofwell.tables.trials import trial

IntArray = npt.NDArray[np.int64]
_SOIL_GROUPS = (0.1, 0.25, 0.5, 1.0)  # factors from which on dry times are cut shorter


@dataclass(frozen=True, slots=True)
class Sample:
    """One draw: how many times the soil's middle rate, voids of the stone and loss on the roof, m (None: the job's own),
    level of the groundwater (elevation, None: it is left out)."""

    factor: float
    voids: float | None = None
    loss_m: float | None = None
    water_m: float | None = None


@dataclass(frozen=True, slots=True)
class SampledYears:
    """``run`` gives for one sample the rain events with a spill of each year, shape (y,); from several threads at once
    where ``threads``. ``how``: "alone" (no well hands water to another), "with the mound tracked", or "coupled"."""

    run: Callable[[Sample], FloatArray]
    span_years: FloatArray
    how: str
    threads: bool


@dataclass(frozen=True, slots=True)
class _Ground:
    """The ground under one well, at any level of its water."""

    bottom_m: float
    thickness_m: float
    area_m2: float
    level_flow: bool
    terms: Exponentials
    given: bool  # its horizontal conductivity was measured: it does not go with the soil's

    def at(self, level_m: float, factor: float) -> mounded.Ground:
        """With so many times the conductivity the answer is as much smaller and comes as much sooner: flow is linear."""
        room = self.bottom_m - level_m
        if self.level_flow:  # linear in the square of the water's height
            room += room * room / (2.0 * self.thickness_m)
        times = 1.0 if self.given else factor
        terms = Exponentials(self.terms.amount / times, self.terms.tau_s / times, self.terms.fit_error)
        return mounded.Ground(self.area_m2, room, terms)


def sampled_years(
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    *,
    slowest: float,
    fastest: float,
    highest_water_m: float | None,
) -> SampledYears | None:
    """Return the record ready to be run for samples; None without a record or a well.

    Parameters
    ----------
    slowest, fastest
        Least and greatest factor that will be asked for.
    highest_water_m
        Highest groundwater that will be asked for; None: it is left out.
    """
    record, middle = survey.rain.record, survey.soil.best_m_s
    if record is None or not scheme.wells or not middle > 0:
        return None
    depth = np.where(record.missing, 0.0, record.depth_m)
    step = float(record.step_s)
    found = events.find_events(depth_m=depth, step_s=step, gap_s=survey.settings["event_gap"])
    year = record.step_years() - int(record.step_years()[0])
    spans = np.asarray(np.bincount(year) * (record.years / record.steps), dtype=np.float64)
    own_loss, runoff = survey.settings["initial_loss"], survey.settings["runoff_coefficient"]

    @lru_cache(maxsize=4)
    def built(voids: float | None) -> list[network.Store]:
        changed = scheme if voids is None else with_voids(scheme, voids)
        return linked_stores(changed, stores_of(changed, survey, behaviour.downspouts, middle, depth))

    blend = _blend(built)
    lowest = min(well.bottom_m for well in scheme.wells)

    def stores(sample: Sample) -> list[network.Store]:
        made = blend(sample.voids)
        if sample.water_m is None or sample.water_m <= lowest:
            return made
        changed = scheme if sample.voids is None else with_voids(scheme, sample.voids)
        return [
            flooded_store(store, well, sample.water_m)[0] if sample.water_m > well.bottom_m else store
            for store, well in zip(made, changed.wells, strict=True)
        ]

    def loss_of(sample: Sample) -> float:
        return own_loss if sample.loss_m is None else sample.loss_m

    handing_on = any(store.overflow_to is not None for store in built(None))
    if any(store.link is not None for store in built(None)):
        run = _coupled(scheme, behaviour, depth, found, year, spans, survey, stores, loss_of, slowest)
        return SampledYears(run, spans, "coupled", threads=True)
    wet = wet_years.wet_years(depth_m=depth, events=found, year_of_step=year, span_years=spans)
    limit = {flow.id: flow.limit_m3_s for flow in behaviour.downspouts}
    feeders = [scheme.upstream_downspouts(well.id) for well in scheme.wells]
    spouts = [[(spout.roof_area_m2, limit[spout.id]) for spout in one] for one in feeders]
    roofs = wet_years.roofs(spouts)
    grounds = None
    if highest_water_m is not None and not handing_on:
        grounds = _grounds(
            scheme, survey, behaviour, built(None), step, record.steps, fastest, highest_water_m
        )
    if grounds is None:
        compiled.kernel().leaving()

        def alone(sample: Sample) -> FloatArray:
            these = stores(sample)
            least = SPILL_SHARE * min(float(store.volume_m3[-1]) for store in these)
            return wet_years.leaving(
                wet,
                roofs,
                wet_years.curves(these),
                factor=sample.factor,
                loss_m=loss_of(sample),
                runoff=runoff,
                least_m3=least,
            ).events

        return SampledYears(alone, spans, "coupled" if handing_on else "alone", threads=True)
    compiled.kernel().over_mound()
    under = grounds

    def over_mound(sample: Sample) -> FloatArray:
        assert sample.water_m is not None
        these, flags = stores(sample), np.zeros(found.count)
        for j, ground in enumerate(under):
            high = min(sample.water_m, ground.bottom_m - 1e-3)
            # a well that stands in the groundwater is followed by what is left of it, without a mound
            below = ground.at(high, sample.factor)
            if sample.water_m >= ground.bottom_m:
                below = replace(below, room_m=np.inf)
            wet_years.over_mound(
                wet,
                np.array(spouts[j], dtype=np.float64).reshape(-1, 2),
                mounded.mound_arguments(these[j], sample.factor, below, step_s=step),
                loss_m=loss_of(sample),
                runoff=runoff,
                least_m3=SPILL_SHARE * min(float(store.volume_m3[-1]) for store in these),
                flags=flags,
            )
        spilled = np.bincount(wet.year_of_event, weights=flags, minlength=spans.size)
        return np.asarray(spilled, dtype=np.float64)

    return SampledYears(over_mound, spans, "with the mound tracked", threads=True)


def _blend(
    built: Callable[[float | None], list[network.Store]],
) -> Callable[[float | None], list[network.Store]]:
    """Return the function that gives the stores of any voids; between two that were built where that is the same.

    A level holds a volume that is linear in the voids, while what soaks and comes in goes by levels; so a store of
    other voids has other volumes at its nodes and nothing else. Tried at a third place, else each is built.
    """
    low, high = trial("voids-low"), trial("voids-high")
    ends, between = (built(low), built(high)), built(low + 0.3 * (high - low))

    def mixed(voids: float) -> list[network.Store]:
        share = (voids - low) / (high - low)
        return [
            replace(a, volume_m3=a.volume_m3 + share * (b.volume_m3 - a.volume_m3))
            for a, b in zip(*ends, strict=True)
        ]

    def same(a: network.Store, b: network.Store) -> bool:
        pairs = (
            (a.volume_m3, b.volume_m3),
            (a.soakage_m3_s, b.soakage_m3_s),
            (a.soakage_below_m3_s, b.soakage_below_m3_s),
            (a.capacity_m3_s, b.capacity_m3_s),
        )
        return all(
            (x is None) == (y is None)
            and (
                x is None
                or y is None
                or (x.shape == y.shape and bool(np.allclose(x, y, rtol=1e-10, atol=0.0)))
            )
            for x, y in pairs
        )

    alike = all(
        a.volume_m3.shape == b.volume_m3.shape
        and a.stage is None
        and same(replace(a, volume_m3=b.volume_m3), b)
        for a, b in zip(*ends, strict=True)
    )
    if alike and all(same(a, b) for a, b in zip(mixed(low + 0.3 * (high - low)), between, strict=True)):
        return lambda voids: built(None) if voids is None else mixed(voids)
    return built


def _grounds(
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    stores: Sequence[network.Store],
    step_s: float,
    steps: int,
    fastest: float,
    highest_water_m: float,
) -> list[_Ground] | None:
    """The ground under each well; None where no mound can reach a well at the highest water, however long it soaks."""
    made = groundwater.record_terms(
        scheme, survey, behaviour.wells, measured_m_s=survey.soil.best_m_s, step_s=step_s, steps=steps
    )
    if made is None or survey.aquifer is None:
        return None
    given = survey.aquifer.horizontal_m_s is not None
    out, reached = [], False
    for (well, aquifer, area, level_flow, terms), store in zip(made, stores, strict=True):
        ground = _Ground(well.bottom_m, aquifer.thickness_m, area, level_flow, terms, given)
        out.append(ground)
        full = float(store.soakage_m3_s.max()) * (fastest if given else 1.0)
        most = float(terms.amount.sum()) * full / area
        reached |= well.bottom_m <= highest_water_m or most > ground.at(highest_water_m, 1.0).room_m
    return out if reached else None


def _coupled(
    scheme: Scheme,
    behaviour: Behaviour,
    depth: FloatArray,
    found: events.Events,
    year: IntArray,
    spans: FloatArray,
    survey: Survey,
    stores: Callable[[Sample], list[network.Store]],
    loss_of: Callable[[Sample], float],
    slowest: float,
) -> Callable[[Sample], FloatArray]:
    """Linked wells, followed together through every step of the record with its long dry times cut short."""
    step, gap = found.step_s, found.gap_s
    inflow, runoff = inflow_of(scheme, behaviour.downspouts), survey.settings["runoff_coefficient"]
    edges = [slowest, *(edge for edge in _SOIL_GROUPS if edge > slowest)]

    @lru_cache(maxsize=len(edges))
    def prepared(edge: float) -> tuple[FloatArray, events.Events, IntArray]:
        """The record for wells that drain at least as fast as with this factor."""
        drains = network.drain_times_s(scaled(stores(Sample(1.0)), edge))
        kept = kept_steps(depth_m=depth, step_s=step, dry_s=max(gap, min(sum(drains), LONGEST_DRY_S)))
        inside = events.find_events(depth_m=depth[kept], step_s=step, gap_s=gap)
        return depth[kept], inside, year[kept][inside.first_step]

    def run(sample: Sample) -> FloatArray:
        short, inside, begins = prepared(max(edge for edge in edges if edge <= sample.factor))
        these = scaled(stores(sample), sample.factor)
        net = events.net_of_initial_loss(depth_m=short, events=inside, loss_m=loss_of(sample))
        arriving, turned_away = inflow(net * runoff / step)
        out = turned_away.sum(axis=1) * step
        for store, trace in zip(these, network.simulate(these, arriving, step_s=step), strict=True):
            out += trace.refused_m3
            if store.overflow_to is None:
                out += trace.spilled_m3
        least = SPILL_SHARE * min(float(store.volume_m3[-1]) for store in these)
        spilled = np.unique(inside.event_of_step[out > least])
        return np.bincount(begins[spilled], minlength=spans.size).astype(np.float64)

    return run
