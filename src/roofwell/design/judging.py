"""Judging one choice of free sizes: assemble, rain on, take off, check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from roofwell import checks, units
from roofwell.checks.finding import Answer, Finding
from roofwell.job import model
from roofwell.physics.rain import events
from roofwell.system import assembly, rainfall
from roofwell.system.ageing import ageing
from roofwell.system.behaviour import Behaviour, FloatArray
from roofwell.system.choice import Choice
from roofwell.system.debris import debris
from roofwell.system.donor_range import donor_range
from roofwell.system.facts import Survey
from roofwell.system.groundwater import holds_back
from roofwell.system.overland import overland
from roofwell.system.route_weights import RouteWeights
from roofwell.system.scheme import Scheme
from roofwell.system.what_if import what_ifs
from roofwell.takeoff import take_off
from roofwell.takeoff.price_book import Prices
from roofwell.takeoff.quantities import Takeoff


@dataclass(frozen=True, slots=True)
class Judged:
    """One Scheme with everything that was found about it."""

    choice: Choice
    scheme: Scheme
    behaviour: Behaviour
    low: Behaviour | None
    high: Behaviour | None
    takeoff: Takeoff
    answers: tuple[Answer, ...]
    style: units.Style

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, in the order of the questions."""
        return tuple(finding for answer in self.answers for finding in answer.findings)


@dataclass(frozen=True, slots=True)
class Inputs:
    """What stays the same through a search."""

    job: model.Job
    survey: Survey
    prices: Prices | None
    record: tuple[FloatArray | None, events.Events | None]
    existing: tuple[str, ...]
    route: RouteWeights | None = None


def design_rate_m_s(survey: Survey, measured_m_s: float) -> float:
    """Return the rate that a design counts with: the measured one over the safety factor."""
    return measured_m_s / survey.soil.safety_factor


def judge(
    inputs: Inputs,
    choice: Choice,
    *,
    rate_m_s: float,
    whole: bool,
    under_mound: bool = False,
    takeoff_large: Takeoff | None = None,
    pause: Callable[[], None] = lambda: None,
) -> Judged:
    """Assemble, rain on, take off and check one choice.

    ``whole`` adds the long record and the soil's range, and lets what is missing read ``unknown``; without
    it, as in a search, the stand-in of a missing place counts as the place. What lies beyond the design storm is
    ``further``'s. ``under_mound`` adds the mounds on the groundwater, of storms and record,
    to what is not judged whole; they hold no soakage back there. ``takeoff_large``: of the largest of a range whose
    smallest this is. ``pause`` is called between the steps; it may raise to stop.
    """
    survey = inputs.survey
    pause()
    scheme = assembly.assemble(inputs.job, survey, choice, why_not=whole)
    wants_record = whole or under_mound or survey.targets.spills_year is not None

    def rain(measured: float, *, hold: bool = False) -> Behaviour:
        pause()
        return rainfall.behave(
            scheme,
            survey,
            rate_m_s=measured,
            record=inputs.record,
            with_record=wants_record,
            with_mound=whole or under_mound,
            hold_by_mound=hold,
        )

    behaviour = rain(rate_m_s, hold=whole)
    low = high = None
    soil = survey.soil
    if whole and (soil.low_m_s < soil.high_m_s or not soil.known):
        slow, fast = design_rate_m_s(survey, soil.low_m_s), design_rate_m_s(survey, soil.high_m_s)
        if not soil.known:
            low, high = rain(slow), rain(fast)
        behaviour = rainfall.with_record_range(
            behaviour, scheme, survey, low_rate_m_s=slow, high_rate_m_s=fast, record=inputs.record
        )
    if whole:
        pause()
        off = donor_range(scheme, survey, behaviour, rate_m_s=rate_m_s, record=inputs.record)
        behaviour = replace(behaviour, donor_range=off)
    if whole:
        pause()
        found = debris(scheme, survey, behaviour.downspouts, inputs.record)
        behaviour = replace(behaviour, debris=found)
    if whole:
        pause()
        behaviour = replace(behaviour, overland=overland(scheme, survey, behaviour))
    if whole and survey.targets.years is not None:
        pause()
        old = ageing(scheme, survey, behaviour, rate_m_s=rate_m_s, record=inputs.record)
        behaviour = replace(behaviour, ageing=old)
    if whole:
        pause()
        cases = what_ifs(scheme, survey, behaviour, rate_m_s=rate_m_s, record=inputs.record)
        behaviour = replace(behaviour, what_if=cases)
    judged = scheme if whole else replace(scheme, missing=frozenset())
    return _checked(inputs, choice, scheme, judged, behaviour, (low, high), takeoff_large)


def judge_at_once(
    inputs: Inputs, choice: Choice, before: Judged, *, rate_m_s: float, takeoff_large: Takeoff | None = None
) -> Judged | None:
    """Judge sizes that were designed a moment ago, after an edit: what takes long is lent from ``before``.

    Lent are the parts of ``checks.slow.LOOKED_AT``; all else is worked out from the job as it is now, storms and long
    record too, but where a mound holds a well back: then they are lent. None where a part came or went: nothing lent
    would fit.
    """
    survey, soil = inputs.survey, inputs.survey.soil
    scheme = assembly.assemble(inputs.job, survey, choice, why_not=False)
    if _parts(scheme) != _parts(before.scheme) or soil.known == (before.low is not None):
        return None
    reasons, runs = before.scheme.level_conflicts, {run.id for run in scheme.runs}
    if scheme.broken and all(runs.issuperset(reason.runs) for reason in reasons):
        scheme = replace(scheme, level_conflicts=reasons)

    def rain(measured: float, lender: Behaviour | None) -> Behaviour:
        found = rainfall.behave(scheme, survey, rate_m_s=measured, record=inputs.record)
        return _lent(found, lender) if lender is not None else found

    behaviour = rain(rate_m_s, before.behaviour)
    if holds_back(scheme, survey, behaviour.wells):
        behaviour = _storms_lent(behaviour, before.behaviour)
    low = high = None
    if soil.low_m_s < soil.high_m_s or not soil.known:
        slow, fast = design_rate_m_s(survey, soil.low_m_s), design_rate_m_s(survey, soil.high_m_s)
        if not soil.known:
            low, high = rain(slow, before.low), rain(fast, before.high)
        behaviour = rainfall.with_record_range(
            behaviour, scheme, survey, low_rate_m_s=slow, high_rate_m_s=fast, record=inputs.record
        )
    return _checked(inputs, choice, scheme, scheme, behaviour, (low, high), takeoff_large)


def _lent(now: Behaviour, before: Behaviour) -> Behaviour:
    """Return a Behaviour with what was not worked out for it as it was before."""
    return replace(
        now,
        wells=tuple(replace(well, mound=before.well(well.id).mound) for well in now.wells),
        lifts=before.lifts,
        debris=before.debris,
        overland=before.overland,
        donor_range=before.donor_range,
        what_if=before.what_if,
        ageing=before.ageing,
    )


def _storms_lent(now: Behaviour, before: Behaviour) -> Behaviour:
    """Return a Behaviour with storms and record as they were before: those of a held well are routed with its mound."""
    wells = [(well, before.well(well.id)) for well in now.wells]
    levels = {level.id: level for level in before.levels}
    return replace(
        now,
        wells=tuple(
            replace(
                well,
                storms=was.storms,
                critical=was.critical,
                record=was.record if well.record is not None and was.record is not None else well.record,
                trace_time_s=was.trace_time_s,
                trace_rain_m=was.trace_rain_m,
                trace_volume_m3=was.trace_volume_m3,
            )
            for well, was in wells
        ),
        levels=tuple(
            replace(
                level,
                storm_m=levels[level.id].storm_m,
                storm_duration_s=levels[level.id].storm_duration_s,
                storm_instant_s=levels[level.id].storm_instant_s,
            )
            if level.id in levels
            else level
            for level in now.levels
        ),
        record=before.record if now.record is not None and before.record is not None else now.record,
        surfacing=before.surfacing,
    )


def _parts(scheme: Scheme) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Return the parts that what is lent speaks of, to tell whether two Schemes have the same."""
    return (
        tuple((basin.id, "") for basin in scheme.basins),
        tuple((well.id, "") for well in scheme.wells),
        tuple((outlet.id, "") for outlet in scheme.outlets),
        tuple((one.id, one.of) for one in scheme.overflows),
        tuple((link.of, link.to) for link in scheme.links),
    )


def _checked(
    inputs: Inputs,
    choice: Choice,
    scheme: Scheme,
    judged: Scheme,
    behaviour: Behaviour,
    ends: tuple[Behaviour | None, Behaviour | None],
    takeoff_large: Takeoff | None,
) -> Judged:
    """Take off and check; ``judged``: the Scheme as the checks are to see it."""
    survey, (low, high) = inputs.survey, ends
    takeoff = take_off(scheme, survey, inputs.prices, existing=inputs.existing)
    context = checks.Context(inputs.job, survey, judged, behaviour, low, high, takeoff, takeoff_large)
    return Judged(choice, scheme, behaviour, low, high, takeoff, checks.answer_all(context), survey.style)
