"""The step that asks the final Scheme what lies beyond its design storm; nothing in it is judged."""

from __future__ import annotations

from roofwell.physics import network
from roofwell.system.behaviour import Behaviour
from roofwell.system.beyond_facts import Beyond
from roofwell.system.chance import chance
from roofwell.system.facts import Survey
from roofwell.system.floods import floods
from roofwell.system.held import held_storms
from roofwell.system.rainfall import stores_of
from roofwell.system.scheme import Scheme
from roofwell.system.soakage_in_time import soakage_in_time
from roofwell.system.soakage_tries import early_gains, glover_notes, soakage_tries
from roofwell.system.standards import at_wells, governing
from roofwell.system.stress import mound_holds, stresses
from roofwell.system.well_record import RecordBasis, inflow_of, linked_stores
from roofwell.tables.trials import trial


def beyond(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, *, rate_m_s: float, record: RecordBasis
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
    rules = at_wells(scheme, survey, behaviour, inflow, own)
    return Beyond(
        stress=stresses(scheme, survey, behaviour, inflow, own, stores(trial("half-soil") * rate_m_s)),
        held=held_storms(scheme, survey, inflow, own, slow=slow, fast=fast) if scheme.wells else (),
        chance=chance(scheme, survey, behaviour, inflow) if scheme.wells else None,
        standards=rules,
        governing=governing(rules),
        floods=floods(survey, inflow, own, record),
        soakage=soakage_tries(scheme, survey, behaviour, inflow, rate_m_s=rate_m_s, record=record),
        soakage_notes=glover_notes(scheme, survey),
        early_gain=early_gains(scheme, survey, behaviour),
        soakage_in_time=soakage_in_time(scheme, survey, inflow, own, record),
        without_mound=mound_holds(behaviour),
    )
