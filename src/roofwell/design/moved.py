"""Two designs of one job side by side: which answers moved, by which findings, and the figures looked at first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from roofwell import units
from roofwell.checks.finding import QUESTIONS, Finding, Verdict
from roofwell.design.result import Design
from roofwell.physics.well import storage

NOT_READ = "nothing could be read"


@dataclass(frozen=True, slots=True)
class FindingMoved:
    """A finding whose verdict differs; None: it is not there."""

    code: str
    subject: str
    older: Verdict | None
    newer: Verdict | None
    older_text: str
    newer_text: str


@dataclass(frozen=True, slots=True)
class AnswerMoved:
    """One of the nine answers in both: verdict (None: nothing to judge, or nothing read) and governing number."""

    question: int
    title: str
    older: Verdict | None
    newer: Verdict | None
    older_text: str
    newer_text: str
    moved: bool
    findings: tuple[FindingMoved, ...]


@dataclass(frozen=True, slots=True)
class FigureMoved:
    """A headline figure in both, formatted in the units of each."""

    what: str
    older: str
    newer: str
    moved: bool


@dataclass(frozen=True, slots=True)
class Moved:
    """Nine answers and headline figures, the older beside the newer."""

    answers: tuple[AnswerMoved, ...]
    figures: tuple[FigureMoved, ...]


def moved(older: Design | None, newer: Design | None) -> Moved:
    """Compare two designs; None stands for a document of which nothing could be read."""
    return Moved(
        tuple(_answer(question, older, newer) for question in QUESTIONS),
        tuple(_figure(what, of, older, newer) for what, of in _FIGURES.items()),
    )


def _answer(question: int, older: Design | None, newer: Design | None) -> AnswerMoved:
    one = older.answer(question) if older is not None else None
    two = newer.answer(question) if newer is not None else None
    was = one.verdict if one is not None else None
    now = two.verdict if two is not None else None
    read = _governing(one.governing) if one is not None else NOT_READ
    reads = _governing(two.governing) if two is not None else NOT_READ
    return AnswerMoved(
        question,
        QUESTIONS[question],
        was,
        now,
        read,
        reads,
        moved=(was, read) != (now, reads),
        findings=_findings(one.findings, two.findings) if one is not None and two is not None else (),
    )


def _findings(older: tuple[Finding, ...], newer: tuple[Finding, ...]) -> tuple[FindingMoved, ...]:
    before, after = ({(f.code, f.subject): f for f in findings} for findings in (older, newer))
    out = []
    for code, subject in dict.fromkeys([*before, *after]):
        one, two = before.get((code, subject)), after.get((code, subject))
        was, now = one.verdict if one else None, two.verdict if two else None
        if was != now:
            read, reads = one.value_text if one else "", two.value_text if two else ""
            out.append(FindingMoved(code, subject, was, now, read, reads))
    return tuple(out)


def _governing(finding: Finding | None) -> str:
    if finding is None:
        return ""
    if finding.verdict == "unknown":
        return f"waits for {finding.missing[0].what}" if finding.missing else "a measurement is missing"
    return ": ".join(part for part in (finding.value_of or finding.subject, finding.value_text) if part)


def _figure(
    what: str, of: Callable[[Design], str], older: Design | None, newer: Design | None
) -> FigureMoved:
    one, two = (of(design) if design is not None else "" for design in (older, newer))
    return FigureMoved(what, one, two, one != two)


def _wells(design: Design) -> str:
    parts = []
    for well in design.scheme.wells:
        full = units.show_volume(storage.full_volume_m3(well.layers), design.survey.style)
        parts.append(f"{well.id} {full}")
    return ", ".join(parts) or "none"


def _pipe(design: Design) -> str:
    length = sum(run.length_m for run in design.scheme.runs)
    return units.show_distance(length, design.survey.style)


def _price(design: Design) -> str:
    take = design.takeoff
    if take.price is None:
        return "open"
    return units.show_money(take.price) + (" at invented prices" if take.prices_invented else "")


_FIGURES: dict[str, Callable[[Design], str]] = {
    "storage of the wells": _wells,
    "pipe in the ground": _pipe,
    "digging": lambda d: units.show_bulk_volume(d.takeoff.excavation_m3, d.survey.style),
    "stone": lambda d: units.show_mass(d.takeoff.stone_kg, d.survey.style),
    "hours of work": lambda d: f"{d.takeoff.hours:,.0f} h",
    "price": _price,
    "what papers for digging wait for": lambda d: f"{len(d.waits)}" if d.waits else "nothing",
}
