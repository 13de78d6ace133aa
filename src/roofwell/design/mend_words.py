"""What would mend an answer, in finished strings for page and terminal."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from roofwell import units
from roofwell.checks.finding import QUESTIONS, Answer, Finding, Verdict
from roofwell.design.result import Design
from roofwell.takeoff.quantities import Takeoff

MOST_NAMED = 3
"""Findings named one by one; the rest is counted."""
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, slots=True)
class MendRow:
    """One change that mends an answer, or part of it.

    ``whole``: the answer turns good or close; else some of what fails is met. ``what``: the change; ``turns``: what it
    does to the answer; ``met``: each finding that it mends; ``moves``: what else changes for the better or the worse;
    ``takes``: what it takes more or less. ``edits``: key paths of the document with what they hold then, None takes out.
    """

    question: int
    whole: bool
    verdict: Verdict | None
    what: str
    turns: str
    met: tuple[str, ...]
    moves: tuple[str, ...]
    takes: str
    edits: tuple[tuple[str, Any], ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """The end: how much was tried, and what has to be measured because no change mends it."""

    question: int
    words: str
    measures: tuple[str, ...] = field(default=())


def capital(words: str) -> str:
    """Return a phrase as the beginning of a sentence."""
    return words[:1].upper() + words[1:]


def turns(question: int, was: Answer, then: Answer, met: int, wanted: int) -> str:
    """Say what a change does to the answer; where it stays as it is, what holds it then."""
    if was.verdict != then.verdict:
        return f"{question} {QUESTIONS[question]} turns from {was.verdict} to {then.verdict or 'nothing to judge'}."
    how, still = _STAYS[was.verdict or "fails"]
    held = then.governing
    by = f", by {_named(held)}, {_short(held) or held.limit_text}" if held is not None else ""
    if met == wanted:
        return f"What {how[0]} now is mended; the answer {still}, now{by.removeprefix(',')}."
    some = f"{capital(_count(met))} of {wanted} findings that {how[1]} {'is' if met == 1 else 'are'} mended"
    return f"{some}; the answer {still}{by}."


_STAYS: dict[Verdict, tuple[tuple[str, str], str]] = {
    "fails": (("fails", "fail"), "still fails"),
    "unknown": (("is unknown", "are unknown"), "is still unknown"),
    "close": (("is close", "are close"), "is still close"),
    "good": (("is good", "are good"), "is good"),
}


def _named(finding: Finding) -> str:
    return finding.value_of or f"{finding.subject} ({finding.code.replace('-', ' ')})"


def met_lines(found: list[tuple[Finding, Finding | None]]) -> tuple[str, ...]:
    """Name the findings that a change mends, each with what it read and reads then; the rest is counted."""
    lines = [_met(was, then) for was, then in found[:MOST_NAMED]]
    rest = len(found) - MOST_NAMED
    if rest > 0:
        lines.append("One more" if rest == 1 else f"{rest} more")
    return tuple(lines)


def _met(was: Finding, then: Finding | None) -> str:
    name = capital(_named(was))
    if then is None:
        return f"{name}: nothing to judge any more"
    return f"{name}: {then.verdict}, {_short(then)} instead of {_short(was)}; {then.limit_text}"


def _short(finding: Finding) -> str:
    return finding.value_text.partition(";")[0]


def moves(now: Design, then: Design, question: int, new: list[Finding]) -> tuple[str, ...]:
    """Name what fails anew within the answer, then the other answers whose verdict moves, and by what."""
    out = [
        f"{capital(_named(finding))} then fails: {_short(finding)}; {finding.limit_text}." for finding in new
    ]
    for one, two in zip(now.answers, then.answers, strict=True):
        if one.question == question or one.verdict == two.verdict:
            continue
        was, reads = one.verdict or "nothing to judge", two.verdict or "nothing to judge"
        why = ""
        if two.verdict in ("fails", "unknown") and two.governing is not None:
            of = two.governing
            what = of.missing[0].what if of.verdict == "unknown" and of.missing else of.value_text
            why = f", by {_named(of)}: {what}"
        out.append(f"{one.question} {one.title} turns from {was} to {reads}{why}.")
    return tuple(out)


def takes(now: Design, then: Design, standing: list[str]) -> str:
    """Say what a change takes more or less, to dig and to pay; of the smallest and the largest while sizes are open.

    ``standing``: parts that stand and are worked on, which no take-off counts.
    """
    style = now.survey.style
    also = f" Work on what stands ({', '.join(standing)}) is not in the take-off." if standing else ""
    ends = [_more(now.takeoff, then.takeoff, style)]
    if now.takeoff_large is not None or then.takeoff_large is not None:
        most = _more(now.takeoff_large or now.takeoff, then.takeoff_large or then.takeoff, style)
        if most != ends[0]:
            return f"At the smallest size {ends[0]}; at the largest {most}.{also}"
    return f"{capital(ends[0])}.{also}"


def _more(now: Takeoff, then: Takeoff, style: units.Style) -> str:
    dug = _difference(
        then.excavation_m3 - now.excavation_m3, lambda v: units.show_bulk_volume(v, style), " to dig"
    )
    paid = ""
    if now.price is not None and then.price is not None:
        paid = _difference(then.price - now.price, units.show_money, "")
    if not dug and not paid:
        return "nothing more to dig or to pay"
    prices = ", at invented prices" if paid and then.prices_invented else ""
    price = f" (then {units.show_money(then.price)}{prices})" if paid and then.price is not None else ""
    return ", ".join(part for part in (dug, paid) if part) + price


def _difference(by: float, show: Any, after: str) -> str:
    nothing = show(0.0)
    text = str(show(abs(by)))
    return "" if text == nothing else f"{text} {'more' if by > 0 else 'less'}{after}"


def tried(count: int, whole: int, part: int, verdict: Verdict | None) -> str:
    """Say how much was tried, and what came of it."""
    if count == 0:
        return "Roofwell knows no single change to try for this."
    times = "One change was" if count == 1 else f"{count} changes were"
    if whole == 0 and part == 0:
        return f"{times} tried; none mends it, nor part of it."
    found = []
    if whole:
        found.append(
            f"{_count(whole)} {'turns' if whole == 1 else 'turn'} it {'good' if verdict == 'close' else 'good or close'}"
        )
    if part:
        found.append(f"{_count(part)} {'mends' if part == 1 else 'mend'} part of it")
    return f"{times} tried: {' and '.join(found)}."


def _count(number: int) -> str:
    return NUMBERS[number] if number < len(NUMBERS) else str(number)
