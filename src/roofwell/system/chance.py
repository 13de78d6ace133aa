"""How sure the spills a year are: quantiles of the soil's rate through the long record, and what matters most.

Spills fall as the rate rises, so a quantile of the rate gives that quantile of the spills directly, without sampling.
Method: docs/method/years.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from roofwell import tables
from roofwell.physics import network
from roofwell.physics.rain import events
from roofwell.physics.rain.thinned import kept_steps
from roofwell.physics.soil import predictive, spread
from roofwell.physics.well.storage import Layer
from roofwell.system.behaviour import Behaviour, FloatArray
from roofwell.system.beyond_facts import Chance, SoilChance, Swing
from roofwell.system.facts import Survey
from roofwell.system.pausing import Pause, go_on
from roofwell.system.rainfall import stores_of
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow
from roofwell.system.well_record import SPILL_SHARE, linked_stores
from roofwell.tables.trials import trial

CHANCES = (0.5, 0.75, 0.9, 0.95)
SURE = 0.9
LONGEST_DRY_S = 30 * 86400.0
_STEPS_OF_SEARCH = 6


@dataclass(frozen=True, slots=True)
class Years:
    """The long record made ready for many runs of one Scheme, its long dry times cut short.

    ``run(factor, voids, loss)`` gives spills a year and m³ spilled a year with so many times the soil's middle rate, so
    much voids in the stone (None: the Scheme's own) and so much loss on the roof, m (None: the job's own).
    """

    run: Callable[[float, float | None, float | None], tuple[float, float]]
    steps: int
    years: float
    name: str


def years_of(
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    inflow: Inflow,
    *,
    slowest: float,
    pause: Pause = go_on,
) -> Years | None:
    """Return the record ready to be run; None without a record or a well. ``slowest``: least factor that will be
    asked for, which says how long a well may take to run empty. ``pause`` is called before every run."""
    record = survey.rain.record
    middle = survey.soil.best_m_s
    if record is None or not scheme.wells or not middle > 0 or not slowest > 0:
        return None
    depth = np.where(record.missing, 0.0, record.depth_m)
    gap, step = survey.settings["event_gap"], float(record.step_s)
    runoff = survey.settings["runoff_coefficient"]

    @lru_cache(maxsize=8)
    def stores(voids: float | None) -> list[network.Store]:
        changed = scheme if voids is None else with_voids(scheme, voids)
        return linked_stores(changed, stores_of(changed, survey, behaviour.downspouts, middle, depth))

    drains = [
        network.drain_time_s(store, float(store.volume_m3[-1])) for store in scaled(stores(None), slowest)
    ]
    dry = max(gap, min(sum(drains), LONGEST_DRY_S))
    short = depth[kept_steps(depth_m=depth, step_s=step, dry_s=dry)]
    found = events.find_events(depth_m=short, step_s=step, gap_s=gap)

    @lru_cache(maxsize=2)
    def water(loss: float) -> tuple[FloatArray, FloatArray]:
        net = events.net_of_initial_loss(depth_m=short, events=found, loss_m=loss)
        return inflow(net * runoff / step)

    def run(factor: float, voids: float | None, loss: float | None) -> tuple[float, float]:
        pause()
        arriving, turned_away = water(survey.settings["initial_loss"] if loss is None else loss)
        these = scaled(stores(voids), factor)
        traces = network.simulate(these, arriving, step_s=step)
        out = turned_away.sum(axis=1) * step
        for store, trace in zip(these, traces, strict=True):
            out += trace.refused_m3
            if store.overflow_to is None:
                out += trace.spilled_m3
        least = SPILL_SHARE * min(float(store.volume_m3[-1]) for store in these)
        spills = np.unique(found.event_of_step[out > least]).size
        return spills / record.years, float(out.sum()) / record.years

    return Years(run, int(short.size), record.years, survey.rain.record_name or "")


def scaled(stores: Sequence[network.Store], factor: float) -> list[network.Store]:
    """Return stores that soak so many times what they did."""
    return [
        replace(
            store,
            soakage_m3_s=store.soakage_m3_s * factor,
            soakage_below_m3_s=None
            if store.soakage_below_m3_s is None
            else store.soakage_below_m3_s * factor,
        )
        for store in stores
    ]


def with_voids(scheme: Scheme, voids: float) -> Scheme:
    """Return the Scheme with other voids in the stone of every well; bodies and sizes stay."""

    def layer(old: Layer, was: float) -> Layer:
        riser = old.body_area_m2 >= old.pit_area_m2
        return old if riser else replace(old, voids=min(1.0, old.voids * voids / was))

    wells = tuple(
        replace(well, voids=voids, layers=tuple(layer(one, well.voids) for one in well.layers))
        if well.voids > 0
        else well
        for well in scheme.wells
    )
    return replace(scheme, wells=wells)


def soil_spread(survey: Survey) -> tuple[float, int] | None:
    """Return the deviation of ln(rate) of the soil from place to place and the number of its tests.

    The tests' own deviation, pooled with the published one; None where nobody tested.
    """
    soil = survey.soil
    if not soil.known:
        return None
    count = max(sum(test.counts for test in soil.tests), 1)  # a layer with a rate of its own was measured too
    published = spread.log_spread_of(tables.assumption("soil-variation", survey.style).value_si)
    own = soil.log_spread if soil.log_spread_measured and soil.log_spread is not None else 0.0
    return (
        predictive.pooled_log_spread(
            measured=own, count=count, prior=published, prior_weight=trial("soil-prior-weight")
        ),
        count,
    )


def chance(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, inflow: Inflow, *, pause: Pause = go_on
) -> Chance | None:
    """Return how sure the spills a year of the whole system are; None without a record or a well. ``pause`` is called
    before every run of the record."""
    found = soil_spread(survey)
    normal, edge = NormalDist(), trial("chance-edge")
    soil = survey.soil
    if found is None:
        slowest = soil.low_m_s / soil.best_m_s if soil.best_m_s > 0 else 0.0
        total = math.nan
    else:
        total = predictive.predictive_log_spread(log_spread=found[0], count=found[1])
        slowest = math.exp(normal.inv_cdf(edge) * total)
    years = years_of(scheme, survey, behaviour, inflow, slowest=slowest, pause=pause)
    if years is None:
        return None
    limit = survey.targets.spills_year if survey.targets.spills_year is not None else 1.0
    if found is None:
        ends = [soil.low_m_s / soil.best_m_s, soil.high_m_s / soil.best_m_s]
        return Chance(
            years.name,
            years.years,
            years.steps,
            soil.best_m_s,
            None,
            0,
            (),
            limit,
            None,
            edge,
            _swings(scheme, survey, years, ends),
            None,
            None,
        )
    quantiles = []
    for share in CHANCES:  # with this chance the rate is at least that of the lower tail
        factor = math.exp(normal.inv_cdf(1.0 - share) * total)
        spills, volume = years.run(factor, None, None)
        quantiles.append(SoilChance(share, soil.best_m_s * factor, spills, volume))
    more = predictive.one_more_test(log_spread=found[0], count=found[1])
    then, _ = years.run(math.exp(normal.inv_cdf(0.1) * more.spread_then), None, None)
    ends = [math.exp(normal.inv_cdf(share) * total) for share in (0.1, 0.9)]
    kept = _chance_of(limit, years, total, quantiles, edge)
    worth = None
    if edge < kept < 1.0 - edge and found[0] > 0:
        worth = predictive.worth_of_one_more_test(
            log_spread=found[0],
            count=found[1],
            slowest=math.exp(normal.inv_cdf(1.0 - kept) * total),
            wanted=SURE,
        )
    return Chance(
        record=years.name,
        years=years.years,
        steps_kept=years.steps,
        median_m_s=soil.best_m_s,
        log_spread=total,
        tests=found[1],
        quantiles=tuple(quantiles),
        limit_year=limit,
        chance_limit=kept,
        edge=edge,
        swings=_swings(scheme, survey, years, ends),
        one_more_test=then,
        saved_share=more.saved_share,
        worth=worth,
    )


def _chance_of(
    limit: float, years: Years, total: float, quantiles: Sequence[SoilChance], edge: float
) -> float:
    """Return the chance that the spills a year keep to a limit: that of the slowest soil that still does.

    Found between the quantiles that enclose it, by halving the quantile; the chance returned was seen to be kept.
    """
    normal = NormalDist()

    def keeps(kept: float) -> bool:
        known = next((q.spills_year for q in quantiles if q.chance == kept), None)
        if known is None:
            known, _ = years.run(math.exp(normal.inv_cdf(1.0 - kept) * total), None, None)
        return known <= limit

    sure = 1.0 - edge
    if total <= 0:
        return sure if keeps(0.5) else edge
    good = max((q.chance for q in quantiles if q.spills_year <= limit), default=edge)
    bad = min((q.chance for q in quantiles if q.spills_year > limit), default=sure)
    if bad == sure and keeps(sure):
        return sure
    if good == edge and not keeps(edge):
        return edge
    for _ in range(_STEPS_OF_SEARCH):
        middle = 0.5 * (good + bad)
        if keeps(middle):
            good = middle
        else:
            bad = middle
    return good


def _swings(scheme: Scheme, survey: Survey, years: Years, soil_factors: Sequence[float]) -> tuple[Swing, ...]:
    """Move one unknown at a time to the ends of its range; what the job gives as measured does not move."""
    middle = survey.soil.best_m_s
    low, high = soil_factors
    out = [
        Swing(
            "soil",
            middle * low,
            middle * high,
            years.run(low, None, None)[0],
            years.run(high, None, None)[0],
        )
    ]
    assumed = {item.path for item in (*survey.assumed, *scheme.assumed)}
    if any(f"{well.id}.voids" in assumed for well in scheme.wells):
        ends = trial("voids-low"), trial("voids-high")
        out.append(Swing("voids", *ends, *(years.run(1.0, end, None)[0] for end in ends)))
    if "settings.initial_loss" in assumed:
        ends = trial("roof-loss-low"), trial("roof-loss-high")
        out.append(Swing("roof loss", *ends, *(years.run(1.0, None, end)[0] for end in ends)))
    return tuple(sorted(out, key=lambda swing: -swing.width))
