"""Reading never raises: any text, any document, any mutation of a starter."""

from __future__ import annotations

import copy
import math
import tomllib
from datetime import date, datetime
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.job import Reading, read, read_text
from roofwell.job.prices import PriceBook
from roofwell.job.problems import Problem
from roofwell.job.rules import RuleFile
from roofwell.job.second_files import read_text as read_second_text
from roofwell.job.starter import starter, with_optional_lines

STARTER: dict[str, Any] = tomllib.loads(with_optional_lines(starter()))

WORDS = st.sampled_from(
    [
        "document",
        "unit",
        "note",
        "ft",
        "in",
        "D1",
        "W1",
        "Y1",
        "P1",
        "G1",
        "R1",
        "from",
        "to",
        "of",
        "at",
        "path",
    ]
)
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.sampled_from([10**400, -(10**4000), 0, 1, 2]),
    st.floats(allow_nan=True, allow_infinity=True),
    st.text(max_size=12),
    st.text(alphabet=st.characters(), max_size=6),
    WORDS,
    st.sampled_from(
        ["4 in", "-4 in", "1e999 ft", "1e300 ft", "1/0 in", "0 %", "101 %", "25 min/in", "ask the office"]
    ),
    st.dates(),
    st.datetimes(),
    st.binary(max_size=4),
    st.builds(object),
)
KEYS = st.one_of(WORDS, st.text(max_size=6), st.sampled_from(sorted(STARTER)))
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(KEYS, inner, max_size=4)),
    max_leaves=12,
)


def _paths(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path]
    if isinstance(value, dict):
        for key, item in value.items():
            found += _paths(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            found += _paths(item, (*path, index))
    return found


PATHS = [path for path in _paths(STARTER) if path]


def _sound(reading: Reading) -> None:
    """What a reading promises, whatever was read."""
    assert all(
        isinstance(problem, Problem) and problem.message and problem.path for problem in reading.problems
    )
    for problem in reading.problems:
        assert len(problem.read) <= 60
        problem.message.encode("utf-8")
        problem.read.encode("utf-8")
    if reading.job is None:
        return
    job = reading.job
    into = {*job.wyes, *job.basins, *job.wells, *job.outlets}
    onward: dict[str, list[str]] = {}
    runs = [run for run in job.runs.values() if run.state != "abandoned"]
    overflows = [overflow for overflow in job.overflows.values() if overflow.state != "abandoned"]
    starts = [run.from_ for run in runs if run.from_ is not None]
    assert len(starts) == len(set(starts))
    assert set(starts) <= {*job.downspouts, *job.wyes, *job.basins}
    for run in job.runs.values():
        assert run.from_ is None or run.from_ in {*job.downspouts, *into}
    for run in runs:
        assert run.to is None or run.to in into
        if run.from_ is not None and run.to is not None:
            onward.setdefault(run.from_, []).append(run.to)
    for overflow in overflows:
        assert overflow.of is None or overflow.of in job.wells
        assert overflow.to is None or overflow.to in {*job.wells, *job.outlets}
        if overflow.of is not None and overflow.to is not None:
            onward.setdefault(overflow.of, []).append(overflow.to)
    for start in onward:
        seen: set[str] = set()
        waiting = list(onward[start])
        while waiting:
            here = waiting.pop()
            assert here != start
            if here not in seen:
                seen.add(here)
                waiting += onward.get(here, [])
    for downspout in job.downspouts.values():
        assert downspout.gutter is None or downspout.gutter in job.gutters
    for roof in job.roofs.values():
        assert roof.gutter is None or roof.gutter in job.gutters
        assert roof.sheds_on is None or roof.sheds_on in job.roofs
        for east, north in roof.outline:
            assert math.isfinite(east.value_si) and math.isfinite(north.value_si)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(PATHS), st.sampled_from(["put", "cut", "add"]), KEYS, VALUES), max_size=5
    )
)
def test_any_mutation_of_a_starter_is_read(changes: list[tuple[tuple[Any, ...], str, str, Any]]) -> None:
    """Leaves, entries and tables replaced, cut or added at random: problems, never an exception."""
    document = copy.deepcopy(STARTER)
    for path, what, key, value in changes:
        here: Any = document
        try:
            for step in path[:-1]:
                here = here[step]
            if what == "put":
                here[path[-1]] = value
            elif what == "cut":
                del here[path[-1]]
            else:
                here[path[-1]][key] = value
        except (KeyError, IndexError, TypeError, AttributeError):
            continue
    _sound(read(document))


@settings(max_examples=80, deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=6))
def test_any_document_is_read(document: dict[str, Any]) -> None:
    """Any mapping at all, with the right version so that the rest is looked at."""
    _sound(read({**document, "document": 1}))


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["runs", "overflows", "roofs"]),
    st.dictionaries(
        st.sampled_from(list("ABCDE")),
        st.dictionaries(
            st.sampled_from(["from", "to", "of", "sheds_on", "state"]),
            st.sampled_from(["D", "Y", "B", "W", "V", "abandoned", *"ABCDE"]),
        ),
    ),
    st.dictionaries(
        st.sampled_from(list("FGHIJ")),
        st.dictionaries(st.sampled_from(["of", "to"]), st.sampled_from(["D", "Y", "B", "W", "V"])),
    ),
)
def test_any_links_leave_a_job_without_circles(
    table: str, links: dict[str, Any], more: dict[str, Any]
) -> None:
    """Whatever leads wherever: what stands has no circle, one way out and one overflow per part."""
    parts: dict[str, Any] = {
        "downspouts": {"D": {}},
        "wyes": {"Y": {}},
        "basins": {"B": {}},
        "wells": {"W": {}, "V": {}},
    }
    _sound(read({"document": 1, **parts, "overflows": more, table: links}))


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 40), st.text(max_size=8))
def test_any_cut_or_splice_of_a_starter_is_read(start: int, length: int, put: str) -> None:
    """A piece of the text gone or replaced, anywhere: problems with lines, never an exception."""
    text = starter()
    start %= len(text)
    reading = read_text(text[:start] + put + text[start + length :])
    _sound(reading)
    lines = text.count("\n") + put.count("\n") + 2
    assert all(problem.line is None or 1 <= problem.line <= lines for problem in reading.problems)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read(text: str) -> None:
    """Any text, as a job, a rule file and a price book."""
    _sound(read_text(text))
    _sound(read_text("document = 1\n" + text))
    read_second_text(RuleFile, "rules = 1\n" + text, "rules", lambda _: ())
    read_second_text(PriceBook, "prices = 1\n" + text, "prices", lambda _: ())


def test_a_document_that_holds_itself_is_read() -> None:
    """A circle of Python objects ends at the depth that no document needs."""
    document: dict[str, Any] = {"document": 1, "soil": {}}
    document["soil"]["texture"] = document["soil"]
    reading = read(document)
    assert [problem.path for problem in reading.problems] == ["soil.texture"]


def test_numbers_with_too_many_digits_are_refused() -> None:
    """A whole number of 6,000 digits, which Python will not write out, is a problem like another."""
    number = "0x" + "f" * 6000
    text = 'document = 1\n[roofs.R]\nunit = "ft"\n'
    text += f"plan_area = {number}\noutline = [[{number}, 0], [1, 0], [1, 1]]"
    _sound(reading := read_text(text))
    assert {problem.path.split("[")[0] for problem in reading.problems} == {
        "roofs.R.plan_area",
        "roofs.R.outline",
    }


def test_days_in_words_are_days() -> None:
    """A document from the page has its days as texts."""
    job = read({"document": 1, "job": {"date": "2026-05-01"}}).job
    assert job is not None and job.job.date == date(2026, 5, 1)
    assert read({"document": 1, "job": {"date": datetime(2026, 5, 1)}}).problems[0].code == "not-a-day"
