"""Completing what is left out: Schemes proposed smallest first, each judged by the same checks.

A Scheme is smaller when its wells take less digging. No target is tested here: whether a Scheme is good
enough is read from its findings. A cheap bound may skip a Scheme that cannot hold the storm; it never
accepts one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from roofwell import units
from roofwell.checks.finding import Finding
from roofwell.design.judging import Inputs, Judged, judge
from roofwell.design.ladder import (
    NEARLY,
    digging_m3,
    holds_m3,
    pit_area_m2,
    slowness,
    well_ladder,
    well_options,
    wetted_m2,
)
from roofwell.design.result import Candidate
from roofwell.system import assembly
from roofwell.system.choice import Choice, WellChoice
from roofwell.system.facts import Survey

MOST_TRIES = 120
OF_THE_PLACE = (
    "setback",
    "separation",
    "deepest-pit",
    "pit-above-refusal",
    "pipe-cover",
    "overflow-to-lot-line",
    "overflow-to-building",
)
IN_HAND = 1.1  # what an estimate of one choice beside another may be wrong by, when it rules one out
MOST_PIPE_STEPS = 3
Progress = Callable[[str], None]


def search(
    inputs: Inputs, *, rate_m_s: float, progress: Progress | None = None
) -> tuple[Judged, tuple[Candidate, ...]]:
    """Return the smallest Scheme that nothing fails, else the nearest, and what was tried.

    The soil counts as known at ``rate_m_s`` while the search runs, so that a range of soils is searched at
    each of its ends; so do the stand-ins of other missing measurements, else nothing could be sized by them.
    """
    known = replace(inputs, survey=_as_known(inputs.survey))
    ladders = {
        well: well_ladder(inputs.job, inputs.survey, well)
        for well in assembly.wells_of(inputs.job, inputs.survey)
    }
    place = dict.fromkeys(ladders, 0)
    pipes: dict[str, int] = {}
    tried: list[Candidate] = []
    best: tuple[tuple[float, int, float], Judged] | None = None
    for number in range(MOST_TRIES):
        sizes = {well: ladder[place[well]] for well, ladder in ladders.items()}
        choice = Choice(sizes, dict(pipes), inputs.route)
        judged = judge(known, choice, rate_m_s=rate_m_s, whole=False)
        fails = _failing(judged)
        score = _score(judged, fails)
        tried.append(_candidate(judged, fails))
        if progress is not None:
            progress(f"{number + 1} schemes tried")
        if best is None or score < best[0]:
            best = (score, judged)
        moved = _widen_pipes(judged, fails, pipes)
        moved = _climb(judged, fails, ladders, place) or moved
        if not moved:
            break
    if best is None:
        judged = judge(known, Choice({}, route=inputs.route), rate_m_s=rate_m_s, whole=False)
        return judged, (_candidate(judged, []),)
    return _closer_look(known, best[1], rate_m_s, tried), tuple(tried)


def _closer_look(known: Inputs, found: Judged, rate_m_s: float, tried: list[Candidate]) -> Judged:
    """Judge the choices that the ladder passed over although they may dig less: it goes by an estimate."""
    if any(finding.verdict == "fails" for finding in found.findings):
        return found
    best = found
    for well, chosen in found.choice.wells.items():
        most, least = NEARLY * digging_m3(chosen), holds_m3(chosen) / NEARLY
        for option in well_options(known.job, known.survey, well):
            if option == chosen or digging_m3(option) > most or holds_m3(option) < least:
                continue
            choice = replace(found.choice, wells={**best.choice.wells, well: option})
            judged = judge(known, choice, rate_m_s=rate_m_s, whole=False)
            fails = [finding for finding in judged.findings if finding.verdict == "fails"]
            tried.append(_candidate(judged, fails))
            if not fails and judged.takeoff.excavation_m3 < best.takeoff.excavation_m3:
                best = judged
    return best


def _failing(judged: Judged) -> list[Finding]:
    """Return what fails; a place that nobody chose is a stand-in, and what it fails steers no size."""
    fails = [finding for finding in judged.findings if finding.verdict == "fails"]
    if judged.scheme.missing & {"wells.at", "site.outlet"}:
        return [finding for finding in fails if finding.code not in OF_THE_PLACE]
    return fails


def _as_known(survey: Survey) -> Survey:
    return replace(
        survey,
        soil=replace(survey.soil, known=True),
        missing=frozenset(),
    )


def _score(judged: Judged, fails: Sequence[Finding]) -> tuple[float, int, float]:
    """How far a Scheme is from good: total shortfall in parts of the limits, failures, digging."""
    short = sum(
        min(5.0, abs(f.spare) / (abs(f.limit) or 1.0)) if math.isfinite(f.spare) else 5.0 for f in fails
    )
    return round(short, 9), len(fails), judged.takeoff.excavation_m3


def _candidate(judged: Judged, fails: Sequence[Finding]) -> Candidate:
    wells = ", ".join(
        f"{well.id}: {well.bodies} x {units.show_size(well.body_diameter_m, judged.style)} body"
        for well in judged.scheme.wells
    )
    binding = tuple(dict.fromkeys(f"{f.code} {f.subject}" for f in fails))
    return Candidate(wells or "no well", judged.takeoff.excavation_m3, not fails, binding)


def _widen_pipes(judged: Judged, fails: Sequence[Finding], pipes: dict[str, int]) -> bool:
    """Take the next trade size for each run that is too small, or that lets the water up."""
    wanted = {f.subject for f in fails if f.code == "pipe-capacity"}
    if any(f.code == "water-below-grate" for f in fails) and not wanted:
        wanted = {
            flow.id
            for flow in judged.behaviour.runs
            if flow.surcharged and flow.peak_m3_s > 0.5 * flow.full_m3_s
        }
    moved = False
    for run in judged.scheme.runs:
        free = judged.scheme.origin.get(f"{run.id}.nominal_m") == "designed"
        falls = run.slope_m_m > 0  # a wider pipe that rises still carries nothing
        if free and falls and run.id in wanted and pipes.get(run.id, 0) < MOST_PIPE_STEPS:
            pipes[run.id] = pipes.get(run.id, 0) + 1
            moved = True
    return moved


def _climb(
    judged: Judged,
    fails: Sequence[Finding],
    ladders: Mapping[str, Sequence[WellChoice]],
    place: dict[str, int],
) -> bool:
    """Move every well that fails by itself to the next larger choice that may hold the storm."""
    moved = False
    for well, ladder in ladders.items():
        codes = {f.code for f in fails if _is_of(f, well)}
        if not codes:
            continue
        at = _next(judged, well, ladder, place[well], codes)
        if at is not None:
            place[well] = at
            moved = True
    return moved


def _next(judged: Judged, well: str, ladder: Sequence[WellChoice], at: int, codes: set[str]) -> int | None:
    """The next larger choice that may mend all that fails, else a part of it; None where none may.

    Cheap bounds only: what they let pass is judged, what they keep out is larger and no better.
    """
    now = ladder[at]
    later = range(at + 1, len(ladder))
    more = [i for i in later if holds_m3(ladder[i]) > NEARLY * holds_m3(now)]
    may = {
        "storm-held": [i for i in more if _may_hold(judged, well, now, ladder[i])] or more[-1:],
        "spills-a-year": more,
        "lawn-clear": more,
        "well-drain-down": [i for i in later if _may_drain(now, ladder[i])],
        "separation": [i for i in later if ladder[i].body.height_m < now.body.height_m],
        "deepest-pit": [i for i in later if ladder[i].body.height_m < now.body.height_m],
        "pit-above-refusal": [i for i in later if ladder[i].body.height_m < now.body.height_m],
        "setback": [i for i in later if pit_area_m2(ladder[i]) < pit_area_m2(now)],
    }
    mending = [set(may[code]) for code in sorted(codes, key=list(may).index)]
    every = set.intersection(*mending)
    return min(every or next(filter(None, mending), set()), default=None)


def _may_drain(old: WellChoice, new: WellChoice) -> bool:
    """A cheap bound: less water over the bottom, or over bottom and sides, than before."""
    return any(b < a for a, b in zip(slowness(old), slowness(new), strict=True))


def _is_of(finding: Finding, well: str) -> bool:
    about = finding.code in (
        "storm-held",
        "well-drain-down",
        "spills-a-year",
        "separation",
        "setback",
        "deepest-pit",
        "pit-above-refusal",
        "lawn-clear",
    )
    return about and finding.subject.split(" ")[0] == well


def _may_hold(judged: Judged, id: str, old: WellChoice, new: WellChoice) -> bool:
    """A cheap bound: what the larger pit stores and soaks more than this one must take what this one spills.

    Storage and wetted faces are compared by the ladder's own estimates, with something in hand: given
    voids and beds, and the place of the lip, move them a little.
    """
    behaviour = judged.behaviour.well(id)
    storm = behaviour.critical
    other_pit = any(well.id == id and well.pit_shape == "rectangular" for well in judged.scheme.wells)
    if storm is None or (old.bodies == 1 and other_pit):  # the estimates are of a round pit
        return True
    stored = behaviour.storage_m3 * max(1.0, IN_HAND * holds_m3(new) / holds_m3(old))
    faces = max(pit_area_m2(new) / pit_area_m2(old), wetted_m2(new) / wetted_m2(old))
    soaked = behaviour.soakage_full_m3_s * storm.duration_s * (IN_HAND * max(1.0, faces) - 1.0)
    return stored + soaked >= behaviour.storage_m3 + storm.spilled_m3
