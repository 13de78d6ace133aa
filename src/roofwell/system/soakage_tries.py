"""The final Scheme under each model of soakage, side by side: a handful of kernel runs each, judged by nobody."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from roofwell.physics import linked, network
from roofwell.physics.soil.around_well import flow_around_well_m2, glover_flow_m2
from roofwell.physics.soil.early import DrySoil, early_gain_m
from roofwell.physics.soil.permeameter import GLOVER_LEAST_HEAD_OVER_RADIUS, MOST_HEAD_OVER_RADIUS
from roofwell.system.behaviour import Behaviour, FloatArray
from roofwell.system.beyond_facts import EarlyGain, SoakageTry
from roofwell.system.facts import Survey
from roofwell.system.rainfall import stores_of
from roofwell.system.scheme import Scheme, SoakageModel
from roofwell.system.soakage_models import radius_m, wetted_depth_m, why_not
from roofwell.system.storm_run import Inflow, net_rate_m_s, storm_durations_s, storm_of
from roofwell.system.well_record import SPILL_SHARE, STEPS_AT_ONCE, RecordBasis, linked_stores
from roofwell.tables.trials import trial

MODELS: tuple[SoakageModel, ...] = (
    "bottom",
    "sides half, no bottom",
    "bottom and sides",
    "unit gradient",
    "three-dimensional",
)
"""Those that are always shown; the design's own and the office's stand first where they are others."""


def soakage_tries(
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    inflow: Inflow,
    *,
    rate_m_s: float,
    record: RecordBasis,
) -> tuple[SoakageTry, ...]:
    """Return every well under every model, the wells in the order of the Scheme.

    ``rate_m_s``: what the design counts with, over the safety factor; ``record`` from ``record_basis``. A model that does
    not hold for one of the wells is not run: with wells that overflow into each other it would say nothing.
    """
    own = dict.fromkeys(well.soakage for well in scheme.wells)
    office = dict.fromkeys(well.office_soakage for well in scheme.wells if well.office_soakage is not None)
    if not own:
        return ()
    rains, water = rains_at_wells(survey, inflow), record_at_wells(survey, inflow, record)
    models = (*(model for model in {**own, **office} if model not in MODELS), *MODELS)
    rows: dict[str, list[SoakageTry]] = {well.id: [] for well in scheme.wells}
    for model in models:
        tried = replace(scheme, wells=tuple(replace(well, soakage=model) for well in scheme.wells))
        reasons = {well.id: why_not(survey.soil, well, model) for well in scheme.wells}
        if any(reasons.values()):
            for well in scheme.wells:
                why = reasons[well.id] or next(
                    f"not for {id}: {reason}" for id, reason in reasons.items() if reason
                )
                rows[well.id].append(
                    SoakageTry(
                        well.id,
                        model,
                        well.soakage == model,
                        None,
                        None,
                        None,
                        None,
                        None,
                        why,
                        well.office_soakage == model,
                    )
                )
            continue
        stores = linked_stores(tried, stores_of(tried, survey, behaviour.downspouts, rate_m_s, record[0]))
        drains = network.drain_times_s(stores)
        storm = storms_kept(stores, rains, survey.settings["starting_level"])
        spills = spills_at_wells(stores, survey, record, water)
        for j, well in enumerate(scheme.wells):
            rows[well.id].append(
                SoakageTry(
                    well=well.id,
                    model=model,
                    own=well.soakage == model,
                    soakage_m3_s=float(stores[j].soakage_m3_s[-1]),
                    held_share=storm[j][0],
                    full_share=storm[j][1],
                    drain_s=max(drains[k] for k in store_groups(stores)[j]),
                    spills_year=spills[j] if spills is not None else None,
                    office=well.office_soakage == model,
                )
            )
    return tuple(row for well in scheme.wells for row in rows[well.id])


Water = tuple[
    FloatArray, FloatArray, float
]  # what reaches each well, what its gutters refuse (m³/s), the step (s)


def rains_at_wells(survey: Survey, inflow: Inflow) -> list[Water]:
    """The design storm of every duration as the wells get it: the same under every model."""
    out = []
    for duration in storm_durations_s(survey):
        storm = storm_of(survey, duration)
        out.append((*inflow(net_rate_m_s(survey, storm.depth_m, storm.step_s)), storm.step_s))
    return out


def storms_kept(
    stores: Sequence[network.Store], rains: Sequence[Water], starting_level: float
) -> list[tuple[float, float]]:
    """For each well: what of a design storm it keeps, and how full it gets, in the durations that ask most."""
    start = [starting_level * float(store.volume_m3[-1]) for store in stores]
    held, full = [1.0] * len(stores), [0.0] * len(stores)
    groups = store_groups(stores)
    for arriving, refused, step in rains:
        traces = network.simulate(stores, arriving, step_s=step, start_m3=start)
        for j, group in enumerate(groups):
            trace = network.summed([traces[k] for k in group])
            turned_away = float(refused[:, group].sum()) * step
            came = float(trace.inflow_m3.sum()) + turned_away
            lost = float(trace.spilled_m3.sum() + trace.refused_m3.sum()) + turned_away
            held[j] = min(held[j], 1.0 - lost / came if came > 0 else 1.0)
            whole = sum(float(stores[k].volume_m3[-1]) for k in group)
            full[j] = max(full[j], float(trace.volume_peak_m3.max()) / whole)
    return list(zip(held, full, strict=True))


def record_at_wells(survey: Survey, inflow: Inflow, record: RecordBasis) -> Water | None:
    """The record as the wells get it; None without one."""
    net, rain = record[0], survey.rain.record
    if net is None or rain is None:
        return None
    step = float(rain.step_s)
    return (*inflow(net * survey.settings["runoff_coefficient"] / step), step)


def store_groups(stores: Sequence[network.Store]) -> list[list[int]]:
    """For each store the places of all that are one store with it."""
    joined = linked.groups([store.link for store in stores])
    return [next((group for group in joined if j in group), [j]) for j in range(len(stores))]


def spills_at_wells(
    stores: Sequence[network.Store], survey: Survey, record: RecordBasis, water: Water | None
) -> list[float] | None:
    """Spills a year of each well through the record, as `records` counts them; None without one."""
    found, rain = record[1], survey.rain.record
    if water is None or found is None or rain is None:
        return None
    arriving, refused, step = water
    groups, standing = store_groups(stores), network.Standing()
    spilling: list[set[int]] = [set() for _ in groups]
    for first in range(0, len(arriving), STEPS_AT_ONCE):
        piece = slice(first, first + STEPS_AT_ONCE)
        traces = network.simulate(stores, arriving[piece], step_s=step, standing=standing)
        for events_out, group in zip(spilling, groups, strict=True):
            trace = network.summed([traces[k] for k in group])
            lost = trace.spilled_m3 + trace.refused_m3 + refused[piece, group].sum(axis=1) * step
            least = SPILL_SHARE * sum(float(stores[k].volume_m3[-1]) for k in group)
            events_out.update(found.event_of_step[piece][lost > least].tolist())
    return [len(events_out) / rain.years for events_out in spilling]


def early_gains(scheme: Scheme, survey: Survey, behaviour: Behaviour) -> tuple[EarlyGain, ...]:
    """Return what dry soil under each pit would add in its governing storm; nothing where texture or conductivity lacks."""
    soil, wet = survey.soil, trial("dry-soil-wet")
    suction, porosity, conductivity = (
        soil.front_suction_m,
        soil.effective_porosity,
        soil.conductivity_used_m_s,
    )
    if suction is None or porosity is None or conductivity is None or conductivity <= 0 or soil.layers:
        return ()
    dry = DrySoil(conductivity / soil.safety_factor, suction, porosity * (1.0 - wet))
    out = []
    for well in scheme.wells:
        storm = behaviour.well(well.id).critical
        if storm is not None:
            gain = early_gain_m(dry, time_s=storm.duration_s) * well.layers[0].pit_area_m2
            out.append(EarlyGain(well.id, storm.duration_s, wet, gain))
    return tuple(out)


def glover_notes(scheme: Scheme, survey: Survey) -> tuple[str, ...]:
    """Return, for each well deep enough for Glover's formula, what it makes of the full well beside Elrick-Reynolds."""
    notes = []
    for well in scheme.wells:
        depth, radius = wetted_depth_m(well), radius_m(well)
        if not GLOVER_LEAST_HEAD_OVER_RADIUS <= depth / radius <= MOST_HEAD_OVER_RADIUS:
            continue
        other = flow_around_well_m2(
            depths_m=depth, radius_m=radius, alpha_star_per_m=survey.soil.capillarity_per_m
        )
        times = glover_flow_m2(depth_m=depth, radius_m=radius) / float(other)
        notes.append(
            f"{well.id} is {depth / radius:.3g} radii deep: Glover, without capillarity, gives {times:.2f} times the "
            "three-dimensional flow of the full well"
        )
    return tuple(notes)
