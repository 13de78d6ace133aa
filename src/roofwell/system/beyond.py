"""The step that asks the final Scheme what lies beyond its design storm; nothing in it is judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from roofwell.physics import network
from roofwell.system.aged_stores import BEST, aged_stores, sediments, typed_stores
from roofwell.system.behaviour import Behaviour
from roofwell.system.beyond_facts import Beyond, Flood, RecordStatistics
from roofwell.system.chance import chance
from roofwell.system.facts import Survey
from roofwell.system.floods import floods
from roofwell.system.held import held_storms
from roofwell.system.pausing import Pause, go_on
from roofwell.system.rainfall import record_basis, stores_of
from roofwell.system.rates import rates
from roofwell.system.record_statistics import record_statistics
from roofwell.system.scheme import Scheme
from roofwell.system.soakage_in_time import soakage_in_time
from roofwell.system.soakage_tries import early_gains, glover_notes, soakage_tries
from roofwell.system.standards import at_wells, governing
from roofwell.system.storm_run import Inflow
from roofwell.system.stress import mound_holds, stresses
from roofwell.system.well_record import RecordBasis, inflow_of, linked_stores
from roofwell.tables.trials import trial


def beyond(
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    *,
    rate_m_s: float,
    record: RecordBasis,
    pause: Pause = go_on,
) -> Beyond:
    """Return stresses, the storm just held, the chance of spills, other rules, and the days it flooded.

    Parameters
    ----------
    behaviour
        The normal run of the same Scheme.
    rate_m_s
        Infiltration rate that the design counts with, m/s.
    record
        From ``record_basis``.
    pause
        Called between its parts, and between the runs of the long record within them.
    """
    inflow = inflow_of(scheme, behaviour.downspouts)

    def stores(rate: float) -> list[network.Store]:
        made = stores_of(scheme, survey, behaviour.downspouts, rate, record[0])
        return linked_stores(scheme, made)

    own = stores(rate_m_s)
    soil, factor = survey.soil, survey.soil.safety_factor
    slow = fast = None
    if soil.low_m_s < soil.high_m_s:
        slow, fast = stores(soil.low_m_s / factor), stores(soil.high_m_s / factor)
    rules = at_wells(survey, behaviour, inflow, own)
    pause()
    larger = stresses(scheme, survey, behaviour, inflow, own, stores(trial("half-soil") * rate_m_s))
    pause()
    held = held_storms(scheme, survey, inflow, own, slow=slow, fast=fast) if scheme.wells else ()
    how_sure = chance(scheme, survey, behaviour, inflow, pause=pause) if scheme.wells else None
    pause()
    flooded = _look_back(survey, inflow, own, record)
    pause()
    tries = soakage_tries(scheme, survey, behaviour, inflow, rate_m_s=rate_m_s, record=record)
    pause()
    by_age = _by_age(scheme, survey, behaviour, own)
    in_time = soakage_in_time(scheme, survey, inflow, own, record, by_age)
    pause()
    known = _statistics(survey)
    pause()
    return Beyond(
        stress=larger,
        held=held,
        chance=how_sure,
        standards=rules,
        governing=governing(rules),
        floods=flooded,
        soakage=tries,
        soakage_notes=glover_notes(scheme, survey),
        early_gain=early_gains(scheme, survey, behaviour),
        soakage_in_time=in_time,
        without_mound=mound_holds(behaviour),
        statistics=known,
        rates=rates(scheme, survey, behaviour, record),
    )


def _by_age(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, stores: list[network.Store]
) -> Callable[[float], Sequence[network.Store]] | None:
    """The wells of an age, years: by the share a year that is typed, else by the debris, basins emptied on time."""
    if survey.soil.silting_year > 0.0:
        return typed_stores(stores, survey.soil.silting_year).stores
    if behaviour.debris is None:
        return None
    return aged_stores(scheme, stores, sediments(scheme, behaviour.debris, never=False, end=BEST)).stores


def _look_back(
    survey: Survey, inflow: Inflow, stores: list[network.Store], record: RecordBasis
) -> tuple[Flood, ...]:
    """Look back at what was measured: by today's table and record, not those raised for a wetter climate."""
    rain = survey.rain
    if rain.uplift > 0:
        survey = replace(survey, rain=replace(rain, table=rain.measured_table, record=rain.measured_record))
        record = record_basis(survey)
    return floods(survey, inflow, stores, record)


def _statistics(survey: Survey) -> RecordStatistics | None:
    rain = survey.rain
    if rain.measured_record is None:
        return None
    found = record_statistics(
        rain.measured_record,
        name=rain.record_name or "",
        here=rain.record_of_this_place,
        table=rain.measured_table,
        gap_s=survey.settings["event_gap"],
    )
    return replace(found, scaled=rain.scaled_from is not None)
