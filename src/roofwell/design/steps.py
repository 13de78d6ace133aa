"""The steps in their order: job to survey, search for a Scheme, judge it whole."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from roofwell import __version__, tables
from roofwell.checks.finding import Answer
from roofwell.checks.overrules import without_effect
from roofwell.checks.slow import lent
from roofwell.design.complete import Progress, mound_stands_in_a_well, pause_of, search
from roofwell.design.further import AtOnce, Standing, look_further
from roofwell.design.judging import Inputs, Judged, design_rate_m_s, judge, judge_at_once
from roofwell.design.ladder import well_options
from roofwell.design.result import Candidate, Design
from roofwell.job import model
from roofwell.job.prices import load_prices, shipped_prices
from roofwell.physics.kept import digest_of
from roofwell.system import assembly
from roofwell.system.facts import AssumedValue, Survey
from roofwell.system.groundwater import holds_back
from roofwell.system.rainfall import record_basis
from roofwell.system.survey import survey as make_survey
from roofwell.takeoff.price_book import Prices
from roofwell.takeoff.route_prices import route_weights


def design(
    job: model.Job,
    *,
    folder: Path | None = None,
    document: Mapping[str, Any] | None = None,
    progress: Progress | None = None,
    joint: Callable[[Design], Design] | None = None,
    beyond: bool = True,
) -> Design:
    """Complete what a job leaves out, then judge all of it with the same eyes.

    Parameters
    ----------
    job
        The job as read.
    folder
        Where the files that it names stand.
    document
        The document as entered, for the fingerprint; the job itself where left out.
    progress
        Called with a few words while the search goes on, and without any between its steps; it may raise to stop.
    joint
        ``drawn_together``, where all unknowns are to be drawn together too; slow to load.
    beyond
        Whether to tell what lies beyond the design storm too: stresses, chances, the well in years. No verdict rests on
        it, but for the years where a target of years is set; without it an edit is answered in half the time.

    Raises
    ------
    InputError
        If a file that the job names cannot be used.
    """
    standing = stand(job, folder=folder, document=document, progress=progress)
    result = standing.design
    if beyond:
        *_, (_, result) = look_further(standing)
    return joint(result) if joint is not None else result


def stand(
    job: model.Job,
    *,
    folder: Path | None = None,
    document: Mapping[str, Any] | None = None,
    progress: Progress | None = None,
) -> Standing:
    """Complete and judge a job, without what lies beyond; arguments and errors as for ``design``."""
    inputs = _inputs(job, folder)
    survey = inputs.survey
    soil = survey.soil
    if soil.known:
        found, tried = search(inputs, rate_m_s=design_rate_m_s(survey, soil.best_m_s), progress=progress)
        large = None
        rate = design_rate_m_s(survey, soil.best_m_s)
    else:
        found, tried = search(inputs, rate_m_s=design_rate_m_s(survey, soil.high_m_s), progress=progress)
        large, more = search(inputs, rate_m_s=design_rate_m_s(survey, soil.low_m_s), progress=progress)
        tried += more
        rate = design_rate_m_s(survey, soil.best_m_s)
    ends = large.takeoff if large is not None else None
    pause = pause_of(progress)
    final = judge(inputs, found.choice, rate_m_s=rate, whole=True, takeoff_large=ends, pause=pause)
    if soil.known and mound_stands_in_a_well(final):
        other, more = search(inputs, rate_m_s=rate, progress=progress, under_mound=found)
        tried += more
        if other.choice != found.choice:
            final = judge(inputs, other.choice, rate_m_s=rate, whole=True, pause=pause)
    made = _made(inputs, final, tried, document)
    if large is not None:
        made = replace(
            made,
            scheme_large=large.scheme,
            behaviour_large=large.behaviour,
            takeoff_large=ends,
            open_sizes=_open_sizes(found, large),
        )
    return Standing(made, inputs, final, rate)


def at_once(
    job: model.Job,
    before: Standing,
    *,
    folder: Path | None = None,
    document: Mapping[str, Any] | None = None,
) -> AtOnce | None:
    """Answer an edit at once with the sizes that were designed before it; arguments and errors as for ``stand``.

    No size is searched for, and what takes long is lent from ``before``; ``stand`` follows with all of it. None
    where nothing fits: a part came or went, a size was given or taken back, the soil became known.
    """
    choice = before.judged.choice
    inputs = _inputs(job, folder)
    survey, was = inputs.survey, before.design
    wells = assembly.wells_of(job, survey)
    if set(wells) != set(choice.wells) or any(
        choice.wells[well] not in well_options(job, survey, well) for well in wells
    ):
        return None
    rate = design_rate_m_s(survey, survey.soil.best_m_s)
    same = replace(choice, route=inputs.route, ways=before.judged.scheme.trees)
    judged = judge_at_once(inputs, same, before.judged, rate_m_s=rate, takeoff_large=was.takeoff_large)
    if judged is None:
        return None
    made = replace(
        _made(inputs, judged, was.candidates, document),
        scheme_large=was.scheme_large,
        behaviour_large=was.behaviour_large,
        takeoff_large=was.takeoff_large,
        open_sizes=was.open_sizes,
    )
    held = holds_back(judged.scheme, survey, judged.behaviour.wells)
    codes = lent(judged.findings, reasons=bool(judged.scheme.broken), held=held)
    return AtOnce(Standing(made, inputs, judged, rate), codes)


def _inputs(job: model.Job, folder: Path | None) -> Inputs:
    survey = make_survey(job, folder=folder)
    prices = _prices(job, folder)
    route = route_weights(prices, job, survey)
    return Inputs(job, survey, prices, record_basis(survey), _existing(job), route)


def _made(
    inputs: Inputs, judged: Judged, tried: tuple[Candidate, ...], document: Mapping[str, Any] | None
) -> Design:
    job, survey = inputs.job, inputs.survey
    return Design(
        job=job,
        survey=survey,
        scheme=judged.scheme,
        behaviour=judged.behaviour,
        takeoff=judged.takeoff,
        answers=judged.answers,
        scheme_large=None,
        behaviour_large=None,
        takeoff_large=None,
        open_sizes=None,
        candidates=tried,
        assumed=_assumed(survey.assumed, judged.scheme.assumed),
        waits=waits(judged.answers),
        fingerprint=_fingerprint(
            document if document is not None else job.model_dump(mode="json", by_alias=True), survey
        ),
        notices=without_effect(job, judged.findings),
    )


def _prices(job: model.Job, folder: Path | None) -> Prices:
    if job.prices.file is not None:
        book, _ = load_prices(job.prices.file, folder)
        if book is not None:
            return book
    return shipped_prices()


def _existing(job: model.Job) -> tuple[str, ...]:
    named = (
        job.downspouts,
        job.gutters,
        job.wyes,
        job.runs,
        job.basins,
        job.wells,
        job.overflows,
        job.outlets,
    )
    return tuple(id for table in named for id, part in table.items() if part.state == "existing")


def _assumed(*groups: tuple[AssumedValue, ...]) -> tuple[AssumedValue, ...]:
    out: dict[str, AssumedValue] = {}
    for group in groups:
        for item in group:
            out.setdefault(item.path, item)
    return tuple(out.values())


_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def _open_sizes(small: Judged, large: Judged | None) -> str | None:
    """Say in words how far the sizes are open: "one to four wells; the soil decides"."""
    if large is None or not small.scheme.wells:
        return None
    least, most = sorted(sum(well.bodies for well in judged.scheme.wells) for judged in (small, large))
    short, still = (
        any(answer.verdict == "fails" and answer.question == 5 for answer in judged.answers)
        for judged in (small, large)
    )
    words = "one well" if most == 1 else f"{_WORDS[min(most, 10)]} wells"
    if small.choice.wells == large.choice.wells:
        # Both ends took the same size, so the soil decides nothing but whether it is enough.
        enough = "even in the fastest soil" if short else "in the slowest soil" if still else ""
        return f"{words}; {enough} that falls short" if enough else f"{words}, whatever the soil"
    if least != most:
        words = f"{_WORDS[min(least, 10)]} to {words}"
    decides = "how large, the soil decides" if least == most else "the soil decides"
    rest = "; in the slowest soil even the largest is too little" if still else ""
    return f"{words}; {decides}{rest}"


def waits(answers: tuple[Answer, ...]) -> tuple[str, ...]:
    """Return what a paper that digging depends on waits for; empty: it may be dug from.

    Law and safety, buried utilities and water above an opening of the house are never set aside.
    """
    out = []
    for answer in answers:
        if answer.question not in range(1, 8):
            continue
        for finding in answer.findings:
            if finding.verdict not in ("fails", "unknown") or finding.overruled:
                continue
            if finding.verdict == "unknown" and not finding.digging:
                continue
            if finding.verdict == "unknown":
                what = ", ".join(dict.fromkeys(item.what for item in finding.missing)) or finding.code
            else:
                what = finding.sentence
            out.append(f"{answer.question} {answer.title} {what}")
    return tuple(dict.fromkeys(out))


@cache
def _every_table() -> bytes:
    return b"".join(tables.data_file(name).read_bytes() for name in sorted(tables.table_names()))


def _fingerprint(document: Mapping[str, Any], survey: Survey) -> str:
    """Return a short checksum of document, package version, every table, and the files that the job names."""
    total = hashlib.sha256(json.dumps(document, sort_keys=True, default=str).encode())
    total.update(__version__.encode())
    total.update(_every_table())
    if survey.rules is not None:
        total.update(survey.rules.model_dump_json().encode())
    rain = survey.rain
    arrays = [rain.table.duration_s, rain.table.return_period_years, rain.table.depth_m]
    if rain.record is not None:
        arrays.append(rain.record.depth_m)
    for array in arrays:
        total.update(digest_of(array))
    return total.hexdigest()[:12]
