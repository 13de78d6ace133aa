"""All standards at once: the present wells beside every published rule of sizing, and the one that asks most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from roofwell.physics import network
from roofwell.system.behaviour import Behaviour, WellBehaviour
from roofwell.system.beyond_facts import StandardAtWell
from roofwell.system.facts import Survey
from roofwell.system.storm_run import Inflow, net_rate_m_s, route, storm_durations_s, storm_of
from roofwell.tables.trials import Standard, standards

VOLUMES = ("depth", "storm")


def at_wells(
    survey: Survey, behaviour: Behaviour, inflow: Inflow, stores: Sequence[network.Store]
) -> tuple[StandardAtWell, ...]:
    """Return every rule on every well, rule by rule.

    A rule of depth wants that rain from the well's whole roof in store, with no soakage credited. A rule of a storm
    wants what the worst duration asks of the store at the design rate, as `storm-held` counts it. Rules of time
    are compared with the time that the well takes.
    """
    out = []
    for rule in standards():
        needs = _of_storm(rule, survey, inflow, stores) if rule.kind == "storm" else None
        for j, well in enumerate(behaviour.wells):
            wanted, had, note = _wanted(
                rule, survey, well, stores[j], needs[j] if needs is not None else None
            )
            share = None
            if wanted is not None and had is not None and had > 0:
                share = wanted / had if rule.kind in VOLUMES else had / wanted
            if share is not None and not math.isfinite(share):
                share = None
            out.append(
                StandardAtWell(
                    rule.key,
                    rule.id,
                    rule.what,
                    rule.kind,
                    well.id,
                    wanted,
                    had,
                    share,
                    rule.source,
                    rule.seen,
                    note,
                    rule.depth_m,
                )
            )
    return tuple(out)


def governing(rows: Sequence[StandardAtWell]) -> tuple[tuple[str, str], ...]:
    """Return for each well the key of the rule that wants most storage; wells that no rule reaches are left out."""
    best: dict[str, StandardAtWell] = {}
    for row in rows:
        if row.kind in VOLUMES and row.share is not None:
            now = best.get(row.well)
            if now is None or now.share is None or row.share > now.share:
                best[row.well] = row
    return tuple((well, row.key) for well, row in best.items())


def _wanted(
    rule: Standard, survey: Survey, well: WellBehaviour, store: network.Store, storm_m3: float | None
) -> tuple[float | None, float | None, str]:
    full = float(store.volume_m3[-1])
    if rule.depth_m is not None:
        runoff = survey.settings["runoff_coefficient"]
        return rule.depth_m * well.roof_area_m2 * runoff, well.storage_m3, ""
    if rule.kind == "storm":
        held = survey.rain.table.return_period_years
        if storm_m3 is None:
            ends = f"{held[0]:g} to {held[-1]:g} years" if len(held) > 1 else f"{held[0]:g} years only"
            return None, well.storage_m3, f"the rain table holds {ends}"
        return storm_m3, well.storage_m3, ""
    if rule.kind == "half-empty":
        half = network.drain_time_s(replace(store, empty_m3=0.5 * full), full)
        return rule.time_s, half if math.isfinite(half) else None, "" if math.isfinite(half) else "never"
    finite = math.isfinite(well.drain_time_s)
    return rule.time_s, well.drain_time_s if finite else None, "" if finite else "never"


def _of_storm(
    rule: Standard, survey: Survey, inflow: Inflow, stores: Sequence[network.Store]
) -> list[float] | None:
    """What the worst duration of a rule's storm asks of each store, m³; None where the table does not hold it."""
    periods = survey.rain.table.return_period_years
    years, longest = rule.years or 0.0, rule.duration_s or math.inf
    if not periods[0] <= years <= periods[-1]:
        return None
    start = [survey.settings["starting_level"] * float(store.volume_m3[-1]) for store in stores]
    worst = [0.0] * len(stores)
    for duration in storm_durations_s(survey):
        if duration > longest:
            continue
        storm = storm_of(survey, duration, years=years)
        rate = net_rate_m_s(survey, storm.depth_m, storm.step_s)
        run = route(stores, inflow, rate, duration_s=duration, step_s=storm.step_s, start_m3=start)
        for j, (store, trace) in enumerate(zip(stores, run.traces, strict=True)):
            spilled = float(trace.spilled_m3.sum()) if store.overflow_to is None else 0.0
            need = float(trace.volume_peak_m3.max()) + spilled + float(run.refused_m3[j])
            worst[j] = max(worst[j], need)
    return worst
