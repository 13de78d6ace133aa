"""Completing what is left out: Schemes proposed smallest first, each judged by the same checks.

A Scheme is smaller when its wells take less digging. No target is tested here: whether a Scheme is good
enough is read from its findings. A cheap bound may skip a Scheme that cannot hold the storm; it never
accepts one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from roofwell.checks.finding import Finding
from roofwell.design.judging import Inputs, Judged, judge
from roofwell.design.ladder import NEARLY, digging_m3, well_options
from roofwell.design.outlook import Outlook, Rung, rungs
from roofwell.design.result import Candidate
from roofwell.system import assembly
from roofwell.system.choice import Choice, WellChoice
from roofwell.system.facts import Survey
from roofwell.system.well_words import well_words

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
NO_SIZE_MENDS = ("stone-against-soil", "stone-voids", "fabric-", "top-stone")
"""What cloth and stone fail, no larger well mends: it is found at the end, and steers no size."""
MOST_GUESSES = 3  # choices judged although none is expected to do: the nearest is shown
MOST_UNDER_MOUND = 8
MOST_PIPE_STEPS = 3
Progress = Callable[[str], None]


def search(
    inputs: Inputs,
    *,
    rate_m_s: float,
    progress: Progress | None = None,
    under_mound: Judged | None = None,
) -> tuple[Judged, tuple[Candidate, ...]]:
    """Return the smallest Scheme that nothing fails, else the nearest, and what was tried.

    The soil counts as known at ``rate_m_s`` while the search runs, so that a range of soils is searched at
    each of its ends; so do the stand-ins of other missing measurements, else nothing could be sized by them.
    ``under_mound``: a Scheme, judged, to start from where the mound on the groundwater is to be counted too.
    """
    known = replace(inputs, survey=_as_known(inputs.survey))
    options = {
        well: well_options(inputs.job, inputs.survey, well)
        for well in assembly.wells_of(inputs.job, inputs.survey)
    }
    if under_mound is None:
        style = inputs.survey.style
        sizes = {
            well: min(each, key=lambda o: (digging_m3(o, style), o.body.key))
            for well, each in options.items()
        }
        pipes: dict[str, int] = {}
    else:
        sizes, pipes = dict(under_mound.choice.wells), dict(under_mound.choice.pipe_steps)
    trial = _Trial(known, rate_m_s, options, under_mound is not None, pause_of(progress))
    all_tried: list[tuple[Judged, list[Finding]]] = []
    for number in range(MOST_TRIES if under_mound is None else MOST_UNDER_MOUND):
        judged, fails = trial.judge(Choice(dict(sizes), dict(pipes), inputs.route))
        all_tried.append((judged, fails))
        if progress is not None:
            progress(f"{number + 1} schemes tried")
        moved = _widen_pipes(judged, fails, pipes)
        for well in options:
            if any(_is_of(finding, well) for finding in fails):
                new = trial.next(judged, well)
                if new is not None:
                    sizes[well] = new
                    moved = True
        if not moved:
            break
    return _closer_look(trial, _nearest(all_tried)), tuple(trial.tried)


def pause_of(progress: Progress | None) -> Callable[[], None]:
    """Return what asks between two steps whether to go on: ``progress`` without words."""

    def pause() -> None:
        if progress is not None:
            progress("")

    return pause


class _Trial:
    """What a search has tried of each well, and what may be worth a try next."""

    def __init__(
        self,
        known: Inputs,
        rate_m_s: float,
        options: Mapping[str, Sequence[WellChoice]],
        under_mound: bool,
        pause: Callable[[], None],
    ) -> None:
        self.known, self.rate_m_s, self.under_mound, self._pause = known, rate_m_s, under_mound, pause
        self.tried: list[Candidate] = []
        self._options = options
        self._rungs: dict[str, tuple[Rung, ...]] = {}
        self._seen: dict[str, set[WellChoice]] = {well: set() for well in options}
        self._guesses = dict.fromkeys(options, 0)
        self._outlooks = {well: Outlook(known, well, rate_m_s) for well in options}

    def judge(self, choice: Choice) -> tuple[Judged, list[Finding]]:
        """Judge one choice, and write it down."""
        judged = judge(
            self.known,
            choice,
            rate_m_s=self.rate_m_s,
            whole=False,
            under_mound=self.under_mound,
            pause=self._pause,
        )
        fails = _failing(judged)
        self.tried.append(_candidate(judged, fails))
        for well, option in choice.wells.items():
            self._seen[well].add(option)
        return judged, fails

    def rungs(self, judged: Judged, well: str) -> tuple[Rung, ...]:
        """All choices for a well, least digging first, laid out as in the first Scheme that was judged."""
        if well not in self._rungs:
            self._rungs[well] = rungs(self.known, judged, well, self._options[well])
        return self._rungs[well]

    def next(self, judged: Judged, well: str) -> WellChoice | None:
        """The choice that digs least of those that may do; where none may, the nearest to it, a few times."""
        nearest: tuple[float, WellChoice | None] = (math.inf, None)
        now = self._now(judged, well)
        for rung in self.rungs(judged, well):
            if rung.option in self._seen[well]:
                continue
            short = self._outlooks[well].shortfall(judged, now, rung, enough=nearest[0])
            if short <= 0.0:
                return rung.option
            if short < nearest[0]:
                nearest = (short, rung.option)
        self._guesses[well] += 1
        return nearest[1] if self._guesses[well] <= MOST_GUESSES else None

    def near(self, judged: Judged, well: str) -> list[WellChoice]:
        """Choices not tried yet that may do and that dig hardly more, so far as their pits tell."""
        now = self._now(judged, well)
        return [
            rung.option
            for rung in self.rungs(judged, well)
            if rung.digs_m3 <= NEARLY * now.digs_m3
            and rung.option not in self._seen[well]
            and self._outlooks[well].shortfall(judged, now, rung, enough=0.0) <= 0.0
        ]

    def _now(self, judged: Judged, well: str) -> Rung:
        return next(r for r in self.rungs(judged, well) if r.option == judged.choice.wells[well])


def _closer_look(trial: _Trial, found: Judged) -> Judged:
    """Judge the choices whose pits dig hardly more than the one found: their trenches may make up for it."""
    if any(finding.verdict == "fails" for finding in _of_sizes(found.findings)):
        return found
    best = found
    for well in found.choice.wells:
        for option in trial.near(found, well):
            judged, fails = trial.judge(replace(found.choice, wells={**best.choice.wells, well: option}))
            if not fails and judged.takeoff.excavation_m3 < best.takeoff.excavation_m3:
                best = judged
    return best


def mound_stands_in_a_well(judged: Judged) -> bool:
    """Say whether the mound on the groundwater, free to rise, would stand over the bottom of a well."""
    return any(_mound_in_well(finding) for finding in judged.findings)


def _mound_in_well(finding: Finding) -> bool:
    return finding.code == "mound-below-well" and finding.spare < 0


def _failing(judged: Judged) -> list[Finding]:
    """Return what fails; a place that nobody chose is a stand-in, and what it fails steers no size.

    Assumed figures of the ground count as measured, as all stand-ins do in a search: a mound that stands in its well
    by them fails.
    """
    found = _of_sizes(judged.findings)
    fails = [finding for finding in found if finding.verdict == "fails" or _mound_in_well(finding)]
    if judged.scheme.missing & {"wells.at", "site.outlet"}:
        return [finding for finding in fails if finding.code not in OF_THE_PLACE]
    return fails


def _of_sizes(findings: Sequence[Finding]) -> list[Finding]:
    """Return the findings that another size might mend."""
    return [finding for finding in findings if not finding.code.startswith(NO_SIZE_MENDS)]


def _as_known(survey: Survey) -> Survey:
    return replace(
        survey,
        soil=replace(survey.soil, known=True),
        missing=frozenset(),
    )


def _nearest(tried: Sequence[tuple[Judged, list[Finding]]]) -> Judged:
    """Return the Scheme nearest to good; what none of those tried could meet is compared last.

    A soil too slow to empty any well in time must not make a well smaller than the storm asks for.
    """
    never = set.intersection(*({(f.code, f.subject) for f in fails} for _, fails in tried))

    def distance(one: tuple[Judged, list[Finding]]) -> tuple[float, int, float, float]:
        judged, fails = one
        mendable = [f for f in fails if (f.code, f.subject) not in never]
        return _short(mendable), len(mendable), _short(fails), judged.takeoff.excavation_m3

    return min(tried, key=distance)[0]


def _short(fails: Sequence[Finding]) -> float:
    """Total shortfall in parts of the limits; one finding counts five times its limit at most."""
    parts = (min(5.0, abs(f.spare) / (abs(f.limit) or 1.0)) if math.isfinite(f.spare) else 5.0 for f in fails)
    return round(sum(parts), 9)


def _candidate(judged: Judged, fails: Sequence[Finding]) -> Candidate:
    wells = ", ".join(f"{well.id}: {well_words(well, judged.style)}" for well in judged.scheme.wells)
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


def _is_of(finding: Finding, well: str) -> bool:
    about = finding.code in (
        "mound-below-well",
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
