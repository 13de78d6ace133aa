"""What would mend an answer: single changes that the owner could make, each tried by designing the changed job anew.

Whether a change mends is read from the findings of that design, as a person's own edit would be: no target is looked at
here, and nothing is accepted by an estimate. Every mend carries its edits, so that taking it up is an ordinary edit.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from roofwell.checks.finding import WORST_FIRST, Answer, Finding, Verdict
from roofwell.design import mend_words as words
from roofwell.design.complete import Progress
from roofwell.design.mend_edits import Document
from roofwell.design.mend_tries import Change, Tries
from roofwell.design.mend_words import MendRow, Tried
from roofwell.design.result import Design
from roofwell.errors import InputError
from roofwell.job import Reading, read
from roofwell.job.lines import read_path
from roofwell.job.write import document_text, set_leaf, with_leaf

MOST_TRIES = 24
"""Changes that are designed for one answer: some seconds."""
Again = Callable[[Reading], Design | None]
NOT_GOOD = ("fails", "unknown", "close")


def mends(
    reading: Reading, now: Design, question: int, again: Again, *, progress: Progress | None = None
) -> Iterator[MendRow | Tried]:
    """Yield each change that mends one answer, as it is found, and last what was tried.

    Parameters
    ----------
    reading
        The document as read.
    now
        Its Design, without what lies beyond the design storm.
    question
        1 to 9; an answer that is good, or has nothing to judge, asks for nothing.
    again
        Designs a changed document; None where nothing could be read of it.
    progress
        Called before each change with a few words; it may raise to stop.
    """
    answer = now.answer(question)
    if answer.verdict not in NOT_GOOD:
        yield Tried(question, "Nothing to mend.")
        return
    wanted = _wanted(answer)
    changes = _changes(Tries(reading, now), wanted)
    found: list[_Found] = []
    for number, change in enumerate(changes, 1):
        if progress is not None:
            progress(f"change {number} of {len(changes)}: {change.what}")
        then = _designed(reading, change, again)
        one = _found(now, then, question, wanted, change) if then is not None else None
        if one is not None:
            found.append(one)
            yield _row(reading, now, question, wanted, one)
    together = _together(wanted, found) if not any(one.whole for one in found) else None
    if together is not None:
        if progress is not None:
            progress("those that mend part of it, together")
        then = _designed(reading, together, again)
        one = _found(now, then, question, wanted, together) if then is not None else None
        if one is not None and (one.whole or len(one.better) > max(len(other.better) for other in found)):
            found.append(one)
            yield _row(reading, now, question, wanted, one)
    whole = sum(one.whole for one in found)
    count = len(changes) + (together is not None)
    missing = tuple(f"{words.capital(item.what)}: {item.how}" for item in answer.missing)
    yield Tried(question, words.tried(count, whole, len(found) - whole, answer.verdict), missing)


def changed(reading: Reading, edits: Iterable[tuple[str, Any]]) -> Reading | None:
    """Return the document with edits made in their order, read anew beside the same files; None where one cannot be made."""
    document: Mapping[str, Any] = reading.document
    try:
        for path, value in edits:
            quick = with_leaf(document, path, value)
            written = set_leaf(document_text(document), path, value) if quick is None else ""
            document = quick if quick is not None else tomllib.loads(written)
    except InputError:
        return None
    return read(document, folder=reading.folder)


def _wanted(answer: Answer) -> list[Finding]:
    """The findings that hold the answer where it is, the governing one first."""
    held = [f for f in answer.findings if f.verdict == answer.verdict and f.overruled is None]
    own = answer.governing
    return sorted(held, key=lambda f: f is not own)


def _changes(tries: Tries, wanted: list[Finding]) -> list[Change]:
    """The changes to try: the likeliest of each finding, then the next of each, every set of edits once."""
    seen: dict[str, Change] = {}
    for row in zip_longest(*(tries.of(finding) for finding in wanted)):
        for change in row:
            if change is not None:
                seen.setdefault(repr(sorted(change.edits)), change)
        if len(seen) >= MOST_TRIES:
            break
    return list(seen.values())[:MOST_TRIES]


def _designed(reading: Reading, change: Change, again: Again) -> Design | None:
    """Design a changed document; None where the change cannot be: it would bring something to put right."""
    found = changed(reading, change.edits)
    if found is None or len(found.problems) > len(reading.problems):
        return None
    try:
        return again(found)
    except InputError:  # levels that only a design tells
        return None


@dataclass(frozen=True, slots=True)
class _Found:
    """A change that mends: ``better``, findings with what they are then; ``new``, what fails in this answer only then."""

    change: Change
    then: Design
    whole: bool
    better: list[tuple[Finding, Finding | None]]
    new: list[Finding]


def _found(now: Design, then: Design, question: int, wanted: list[Finding], change: Change) -> _Found | None:
    """Say whether a change turns the answer good or close, or leaves less of what holds it and no other answer worse."""
    was, reads = now.answer(question), then.answer(question)
    after = {(f.code, f.subject): f for f in reads.findings}
    pairs = [(f, after.get((f.code, f.subject))) for f in wanted]
    better = [(f, g) for f, g in pairs if _rank(g.verdict if g is not None else None) > _rank(f.verdict)]
    before = {(f.code, f.subject): f.verdict for f in was.findings}
    new = [f for key, f in after.items() if f.verdict == "fails" and before.get(key) != "fails"]
    whole = reads.verdict in ("good", "close") and _rank(reads.verdict) > _rank(was.verdict)
    if not whole:
        left = sum(f.verdict == was.verdict and f.overruled is None for f in reads.findings)
        others = zip(now.answers, then.answers, strict=True)
        worse = any(
            two.verdict in ("fails", "unknown") and _rank(two.verdict) < _rank(one.verdict)
            for one, two in others
        )
        less = left < len(wanted) or (len(better) == len(wanted) and not new)
        if not better or worse or not less:
            return None
    return _Found(change, then, whole, better, new)


def _row(reading: Reading, now: Design, question: int, wanted: list[Finding], one: _Found) -> MendRow:
    was, reads = now.answer(question), one.then.answer(question)
    return MendRow(
        question=question,
        whole=one.whole,
        verdict=reads.verdict,
        what=words.capital(one.change.what),
        turns=words.turns(question, was, reads, len(one.better), len(wanted)),
        met=words.met_lines(one.better),
        moves=words.moves(now, one.then, question, one.new),
        takes=words.takes(now, one.then, _standing(reading, one.change)),
        edits=one.change.edits,
    )


def _standing(reading: Reading, change: Change) -> list[str]:
    """The parts that stand, and that a change alters without putting a new one in their place."""
    parts = {path[:2] for path in (read_path(text) for text, _ in change.edits) if len(path) == 3}
    renewed = {read_path(text)[:2] for text, value in change.edits if value == "proposed"}
    document = Document(reading)
    return sorted(str(id) for table, id in parts - renewed if document.stands(str(table), str(id)))


def _together(wanted: list[Finding], found: list[_Found]) -> Change | None:
    """The first change that mends each finding, all in one; None where that is one alone."""
    taken: list[Change] = []
    mended: set[int] = set()
    for finding in wanted:
        if id(finding) in mended:
            continue
        first = next((one for one in found if any(f is finding for f, _ in one.better)), None)
        if first is not None:
            taken.append(first.change)
            mended |= {id(f) for f, _ in first.better}
    if len(taken) < 2:
        return None
    edits = dict(edit for change in reversed(taken) for edit in change.edits)
    return Change(f"together: {'; '.join(change.what for change in taken)}", tuple(edits.items()))


def _rank(verdict: Verdict | None) -> int:
    return WORST_FIRST.index(verdict) if verdict is not None else len(WORST_FIRST)
