"""What lies beyond changes words, never a verdict: what the page shows first holds when the rest has come."""

from __future__ import annotations

import pytest

from roofwell import examples
from roofwell.design import look_further, stand
from roofwell.design.further import FOLLOWS
from roofwell.job.reading import read_file


class Stopped(Exception): ...


@pytest.mark.parametrize("name", examples.names())
def test_nothing_but_the_words_of_some_answers_follows(name: str) -> None:
    reading = read_file(examples.path(name))
    assert reading.job is not None
    standing = stand(reading.job, folder=reading.folder, document=reading.document)
    parts = dict(look_further(standing))
    assert list(parts) == ["years", "beyond"]
    first, last = standing.design, parts["beyond"]
    for before, after in zip(first.answers, last.answers, strict=True):
        assert before.verdict == after.verdict
        assert [(f.code, f.subject, f.verdict) for f in before.findings] == [
            (f.code, f.subject, f.verdict) for f in after.findings
        ]
        if before.question not in FOLLOWS:
            assert (before.sentence, before.detail) == (after.sentence, after.detail)
    assert (first.waits, first.fingerprint, first.scheme) == (last.waits, last.fingerprint, last.scheme)
    assert last.behaviour.beyond is not None
    assert (last.behaviour.ageing is not None) == bool(last.scheme.wells)


def test_it_stops_where_its_progress_says_so() -> None:
    """At the name of a part, and within one, between its runs of the record."""
    reading = read_file(examples.path("bungalow"))
    assert reading.job is not None
    standing = stand(reading.job, folder=reading.folder)
    said: list[str] = []

    def second_stops(words: str) -> None:
        said.append(words)
        if len([one for one in said if one]) == 2:
            raise Stopped

    parts = look_further(standing, second_stops)
    assert next(parts)[0] == "years"
    with pytest.raises(Stopped):
        next(parts)
    assert [one for one in said if one] == ["the well in years", "larger storms, chances and other rules"]
    said.clear()

    def within(words: str) -> None:
        said.append(words)
        if len(said) == 8:
            raise Stopped

    with pytest.raises(Stopped):
        next(look_further(standing, within))
    assert said == ["the well in years", *[""] * 7]
