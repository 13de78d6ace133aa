"""Completing what is left out: Schemes proposed smallest first, each judged by the same checks.

A Scheme is smaller when its wells take less digging. No target is tested here: whether a Scheme is good
enough is read from its findings. A cheap bound may skip a Scheme that cannot hold the storm; it never
accepts one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from roofwell import checks, tables, units
from roofwell.checks.finding import Answer, Finding
from roofwell.design.result import Candidate
from roofwell.job import model
from roofwell.physics.rain import events
from roofwell.system import assembly, rainfall
from roofwell.system.behaviour import Behaviour, FloatArray
from roofwell.system.choice import BodyChoice, Choice, WellChoice
from roofwell.system.facts import Survey
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import Scheme
from roofwell.takeoff import take_off
from roofwell.takeoff.quantities import Takeoff
from roofwell.takeoff.take_off import Prices

MOST_BODIES = 4
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
NEARLY = 1.03  # two estimates within this ratio are not told apart
IN_HAND = 1.1  # what an estimate of one choice beside another may be wrong by, when it rules one out
MOST_PIPE_STEPS = 3
PIPE_CHECKS = ("pipe-capacity", "water-below-grate", "water-below-opening", "pipe-velocity")
Progress = Callable[[str], None]


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


def design_rate_m_s(survey: Survey, measured_m_s: float) -> float:
    """Return the rate that a design counts with: the measured one over the safety factor."""
    return measured_m_s / survey.soil.safety_factor


def judge(inputs: Inputs, choice: Choice, *, rate_m_s: float, whole: bool) -> Judged:
    """Assemble, rain on, take off and check one choice.

    ``whole`` adds the long record and the soil's range, and lets what is missing read ``unknown``; without
    it, as in a search, the stand-in of a missing place counts as the place.
    """
    survey = inputs.survey
    scheme = assembly.assemble(inputs.job, survey, choice, why_not=whole)
    wants_record = whole or survey.targets.spills_year is not None

    def rain(measured: float) -> Behaviour:
        return rainfall.behave(
            scheme, survey, rate_m_s=measured, record=inputs.record, with_record=wants_record
        )

    behaviour = rain(rate_m_s)
    low = high = None
    soil = survey.soil
    if whole and (soil.low_m_s < soil.high_m_s or not soil.known):
        slow, fast = design_rate_m_s(survey, soil.low_m_s), design_rate_m_s(survey, soil.high_m_s)
        if not soil.known:
            low, high = rain(slow), rain(fast)
        behaviour = rainfall.with_record_range(
            behaviour, scheme, survey, low_rate_m_s=slow, high_rate_m_s=fast, record=inputs.record
        )
    takeoff = take_off(scheme, survey, inputs.prices, existing=inputs.existing)
    judged = scheme if whole else replace(scheme, missing=frozenset())
    context = checks.Context(inputs.job, survey, judged, behaviour, low, high, takeoff)
    return Judged(choice, scheme, behaviour, low, high, takeoff, checks.answer_all(context), survey.style)


def search(
    inputs: Inputs, *, rate_m_s: float, progress: Progress | None = None
) -> tuple[Judged, tuple[Candidate, ...]]:
    """Return the smallest Scheme that nothing fails, else the nearest, and what was tried.

    The soil counts as known at ``rate_m_s`` while the search runs, so that a range of soils is searched at
    each of its ends; so do the stand-ins of other missing measurements, else nothing could be sized by them.
    """
    known = replace(inputs, survey=_as_known(inputs.survey))
    ladders = {
        well: _ladder(inputs.job, inputs.survey, well)
        for well in assembly.wells_of(inputs.job, inputs.survey)
    }
    place = dict.fromkeys(ladders, 0)
    pipes: dict[str, int] = {}
    tried: list[Candidate] = []
    best: tuple[tuple[float, int, float], Judged] | None = None
    for number in range(MOST_TRIES):
        choice = Choice({well: ladder[place[well]] for well, ladder in ladders.items()}, dict(pipes))
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
        judged = judge(known, Choice({}), rate_m_s=rate_m_s, whole=False)
        return judged, (_candidate(judged, []),)
    return _closer_look(known, best[1], rate_m_s, tried), tuple(tried)


def _closer_look(known: Inputs, found: Judged, rate_m_s: float, tried: list[Candidate]) -> Judged:
    """Judge the choices that the ladder passed over although they may dig less: it goes by an estimate."""
    if any(finding.verdict == "fails" for finding in found.findings):
        return found
    best = found
    for well, chosen in found.choice.wells.items():
        most, least = NEARLY * _digging(chosen), _holds(chosen) / NEARLY
        for option in _options(known.job, known.survey, well):
            if option == chosen or _digging(option) > most or _holds(option) < least:
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
        if free and run.id in wanted and pipes.get(run.id, 0) < MOST_PIPE_STEPS:
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
    more = [i for i in later if _holds(ladder[i]) > NEARLY * _holds(now)]
    may = {
        "storm-held": [i for i in more if _may_hold(judged, well, now, ladder[i])] or more[-1:],
        "spills-a-year": more,
        "lawn-clear": more,
        "well-drain-down": [i for i in later if _may_drain(now, ladder[i])],
        "separation": [i for i in later if ladder[i].body.height_m < now.body.height_m],
        "deepest-pit": [i for i in later if ladder[i].body.height_m < now.body.height_m],
        "pit-above-refusal": [i for i in later if ladder[i].body.height_m < now.body.height_m],
        "setback": [i for i in later if _pit_area(ladder[i]) < _pit_area(now)],
    }
    mending = [set(may[code]) for code in sorted(codes, key=list(may).index)]
    every = set.intersection(*mending)
    return min(every or next(filter(None, mending), set()), default=None)


def _may_drain(old: WellChoice, new: WellChoice) -> bool:
    """A cheap bound: less water over the bottom, or over bottom and sides, than before."""
    return any(b < a for a, b in zip(_slowness(old), _slowness(new), strict=True))


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
    stored = behaviour.storage_m3 * max(1.0, IN_HAND * _holds(new) / _holds(old))
    faces = max(_pit_area(new) / _pit_area(old), _wetted(new) / _wetted(old))
    soaked = behaviour.soakage_full_m3_s * storm.duration_s * (IN_HAND * max(1.0, faces) - 1.0)
    return stored + soaked >= behaviour.storage_m3 + storm.spilled_m3


def _pit_area(choice: WellChoice) -> float:
    width = choice.body.diameter_m + 2 * choice.stone_around_m
    if choice.bodies == 1:  # a round pit, unless the job gives another
        return math.pi * width**2 / 4
    spacing = choice.body.diameter_m + tables.assumption("body-spacing-clear").value_si
    return width * (width + (choice.bodies - 1) * spacing)


def _ladder(job: model.Job, survey: Survey, id: str) -> tuple[WellChoice, ...]:
    """All choices for one well that are worth a try, least digging first, ties by key."""
    ordered = sorted(_options(job, survey, id), key=lambda option: (_digging(option), option.body.key))
    return tuple(_no_smaller(ordered))


def _options(job: model.Job, survey: Survey, id: str) -> list[WellChoice]:
    """All choices for one well; given sizes are kept."""
    given = job.wells.get(id, model.Well())
    most = job.settings.most_bodies or MOST_BODIES
    counts = [given.bodies] if given.bodies else list(range(1, most + 1))
    if given.bodies is None and given.pit_diameter is not None:
        counts = [1]  # a round pit takes one body; a row needs a long one
    around = tables.assumption("stone-around", survey.style).value_si
    return [
        WellChoice(body, count, around * share)
        for body in _bodies(given, survey)
        for count in counts
        for share in _surrounds(given)
    ]


def _digging(option: WellChoice) -> float:
    """Estimate of what a choice digs, m³."""
    return _pit_area(option) * option.body.height_m


def _holds(option: WellChoice) -> float:
    """Estimate of what a choice holds, m³."""
    body = option.bodies * math.pi * option.body.diameter_m**2 / 4
    hollow = option.bodies * math.pi * (option.body.diameter_m - 2 * option.body.wall_m) ** 2 / 4
    voids = tables.assumption("voids").value_si
    bed = tables.assumption("stone-below").value_si + tables.assumption("stone-above").value_si
    stone = _pit_area(option) - body
    return (hollow + voids * stone) * option.body.height_m + voids * _pit_area(option) * bed


def _surrounds(given: model.Well) -> tuple[float, ...]:
    """Stone all round, as a multiple of the usual; fixed where the pit is given."""
    fixed = given.pit_width is not None or given.pit_diameter is not None
    return (1.0,) if fixed else (1.0, 2.0, 3.0, 4.0)


def _slowness(option: WellChoice) -> tuple[float, float]:
    """Estimate of the water over each square metre that soaks: of the bottom; of bottom and sides."""
    return _holds(option) / _pit_area(option), _holds(option) / _wetted(option)


def _wetted(option: WellChoice) -> float:
    """Estimate of bottom and sides of the pit together, m²."""
    bottom = _pit_area(option)
    width = option.body.diameter_m + 2 * option.stone_around_m
    around = math.pi * width if option.bodies == 1 else 2 * (width + bottom / width)
    return bottom + around * option.body.height_m


def _no_smaller(options: Sequence[WellChoice]) -> Iterator[WellChoice]:
    """Leave out choices that dig more than an earlier one, and neither hold more nor drain faster."""
    kept: list[tuple[float, ...]] = []
    for option in options:
        worth = (_holds(option), *(-slow for slow in _slowness(option)))
        if not any(worth[0] <= NEARLY * k[0] and worth[1] <= k[1] and worth[2] <= k[2] for k in kept):
            kept.append(worth)
            yield option


def _bodies(given: model.Well, survey: Survey) -> list[BodyChoice]:
    made = [
        BodyChoice(
            row["key"],
            length_of(row["diameter"]),
            length_of(row["height"]),
            length_of(row["hole_diameter"]),
            length_of(row["wall"]),
        )
        for row in tables.rows("body_sizes")
        if row["units"] == survey.style
    ]
    diameter = given.body_diameter.value_si if given.body_diameter is not None else None
    height = given.body_height.value_si if given.body_height is not None else None
    if diameter is None and height is None:
        return made
    fitting = [
        body
        for body in made
        if (diameter is None or abs(body.diameter_m - diameter) < 1e-6)
        and (height is None or abs(body.height_m - height) < 1e-6)
    ] or made[:1]
    return [
        replace(
            body,
            diameter_m=diameter or body.diameter_m,
            height_m=height or body.height_m,
            wall_m=0.0 if diameter is not None else body.wall_m,
        )
        for body in fitting
    ]
