"""Which way a well's soakage is counted: as the job says, else by the soil's own conductivity, else over faces.

A permit office that prescribes a way of its own is counted beside it: what it asks of a well must hold by both.
"""

from __future__ import annotations

from dataclasses import replace

from roofwell.job import model
from roofwell.job.rules import ASK
from roofwell.physics.well.soakage import CREDITS, Credit
from roofwell.system.facts import AssumedValue, Survey
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import SoakageModel, Well
from roofwell.system.soakage_models import by_conductivity, by_the_soil, why_not
from roofwell.system.soil_layers import stands_in_unmeasured
from roofwell.system.trench_parts import default_part


def with_soakage(given: model.Well, survey: Survey, well: Well, ledger: Ledger) -> Well:
    """Return a well with the way its soakage is counted, and the office's where that is another one.

    In this order: the job's own word; an office's that goes by conductivity; the soil's conductivity, to all sides
    where that holds for the well, else under a gradient of one; the office's faces; the usual faces, marked assumed
    with the reason. What the count lacks is written down.
    """
    office = _of_office(survey)
    path = f"{well.id}.soakage"
    own: SoakageModel | None = given.soakage
    if own is None and office is not None and by_conductivity(office):
        own = office
    ledger.origin[path] = "given"
    if own is None:
        own = by_the_soil(survey.soil, well)
        ledger.origin[path] = "designed" if own is not None else "given"
    if own is None and office is None:
        own = usual_credit(survey)
        ledger.assume_row(_assumed(survey, well, path, own), 0.0)
    own = own or office
    assert own is not None
    out = replace(well, soakage=own, office_soakage=office if office != own else None)
    counts: tuple[SoakageModel, ...] = (own,) if office is None else (own, office)
    for count in counts:
        if why_not(survey.soil, out, count):
            ledger.lack("wells.soakage")
        if stands_in_unmeasured(
            survey.soil,
            count,
            pit_depth_m=well.ground_m - well.bottom_m,
            stone_top_depth_m=well.ground_m - min(well.stone_top_m, well.lip_m),
        ):
            ledger.lack("soil.rate")
    return out


def usual_credit(survey: Survey) -> Credit:
    """Return the faces that count where nobody says which and the soil's conductivity is not known."""
    named = default_part("soakage", survey)
    return next(credit for credit in CREDITS if credit == named)


def _of_office(survey: Survey) -> SoakageModel | None:
    named = survey.rules.well.soakage if survey.rules is not None else None
    return None if named == ASK else named


def _assumed(survey: Survey, well: Well, path: str, credit: Credit) -> AssumedValue:
    why = why_not(survey.soil, well, "unit gradient")
    return AssumedValue(
        path,
        credit,
        f"how soakage is counted: the rate over these faces, as handbooks do, because {why}",
        "time the fall of water in an auger hole, which gives the conductivity: soil.auger_tests; or write wells.ID.soakage",
        "own-choice",
    )
