"""Writing: the same job comes back, comments stay, one leaf changes."""

from __future__ import annotations

import difflib
import tomllib
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.job import read, read_text
from roofwell.job.lines import read_path, write_path
from roofwell.job.starter import kinds, starter, with_optional_lines
from roofwell.job.write import document_text, set_leaf


@pytest.mark.parametrize("kind", kinds())
def test_a_document_written_reads_as_the_same_job(kind: str) -> None:
    """Document to text and back: the same document, the same job."""
    reading = read_text(with_optional_lines(starter(kind)))
    again = read_text(document_text(reading.document))
    assert again.document == reading.document
    assert again.job == reading.job
    assert again.problems == ()


def _changed(before: str, after: str) -> list[str]:
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0)
    return [line for line in lines if line[0] in "+-" and line[:3] not in ("+++", "---") and len(line) > 1]


@pytest.mark.parametrize(
    ("path", "value", "lines"),
    [
        ("job.revision", "B", ['-revision = "A"', '+revision = "B"']),
        ("wells.W1.bodies", 3, ["+bodies = 3"]),
        ("gutters.G1.top_width", None, ['-top_width = "5 in"']),
        ("overflows.O1.lip", "96.9 ft", ['-lip = "96.8 ft"', '+lip = "96.9 ft"']),
        ("rain.depths[1].depth", "1.1 in", ['-depth = "1.02 in"', '+depth = "1.1 in"']),
        ("runs.P1.from", "D1", ["+[runs.P1]", '+from = "D1"']),
        ("soil.frost_depth", None, ['-frost_depth = "30 in"']),
        ("wells.W2.at", ["1 ft", "2 ft"], ["+[wells.W2]", '+at = ["1 ft", "2 ft"]']),
        ("no.such.leaf", None, []),
    ],
)
def test_setting_a_leaf_changes_its_line_only(path: str, value: Any, lines: list[str]) -> None:
    """Everything else in the file, comments above all, stays as it was typed."""
    assert _changed(starter(), set_leaf(starter(), path, value)) == lines


def test_setting_a_reading_keeps_the_other_readings_and_the_comment_among_them() -> None:
    """An entry of a list that is written in lines."""
    text = set_leaf(starter(), "survey.readings[0].rod", 4.3)
    assert len(_changed(starter(), text)) == 2
    assert "# back to the benchmark" in text
    assert tomllib.loads(text)["survey"]["readings"][0]["rod"] == 4.3


def test_a_comment_at_the_end_of_a_line_stays() -> None:
    """The remark beside a value outlives the value."""
    text = 'document = 1\n[soil]\nrate = "1 in/h"  # the office said so\n'
    assert set_leaf(text, "soil.rate", "2 in/h") == text.replace("1 in/h", "2 in/h")


def test_a_list_grows_by_one() -> None:
    """The entry after the last is added; one beyond is refused."""
    text = set_leaf("document = 1\n", "soil.layers[0].top", "0 in")
    text = set_leaf(text, "soil.layers[0].bottom", "10 in")
    text = set_leaf(text, "soil.layers[1].top", "10 in")
    assert tomllib.loads(text)["soil"]["layers"] == [{"top": "0 in", "bottom": "10 in"}, {"top": "10 in"}]
    with pytest.raises(InputError) as caught:
        set_leaf(text, "soil.layers[5].top", "1 in")
    assert caught.value.code == "key-path"


@pytest.mark.parametrize(
    ("text", "path", "value", "code"),
    [
        ("document = ", "job.name", "x", "not-toml"),
        ("document = 1", "", "x", "key-path"),
        ("document = 1", "job..name", "x", "key-path"),
        ("document = 1", "[0]", "x", "key-path"),
        ("document = 1", "document.name", "x", "key-path"),
        ("document = 1", "job.name", object(), "not-writable"),
        ("document = 1", "job.name", [None], "not-writable"),
    ],
)
def test_what_cannot_be_set_is_refused(text: str, path: str, value: Any, code: str) -> None:
    """With the code of the reason; nothing is changed."""
    with pytest.raises(InputError) as caught:
        set_leaf(text, path, value)
    assert caught.value.code == code


KEYS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=5)
VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(2**60), 2**60),
        st.floats(allow_nan=False, allow_infinity=False),
        st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
        st.dates(min_value=date(1000, 1, 1)),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=10,
)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(KEYS, VALUES, max_size=4))
def test_any_document_that_is_written_is_read_back(document: dict[str, Any]) -> None:
    """Checked with the TOML reader of the standard library."""
    assert tomllib.loads(document_text(document)) == document


@settings(max_examples=100, deadline=None)
@given(
    st.sampled_from(["job.name", "soil.rate", "wells.W1.bodies", 'wells."W 9".at', "note", "new.a.b"]), VALUES
)
def test_any_value_that_is_set_is_read_back(path: str, value: Any) -> None:
    """The leaf holds the value, every other leaf what it held; reading the text never raises."""
    text = set_leaf(starter(), path, value)
    document = tomllib.loads(starter())
    here = document
    steps = read_path(path)
    for step in steps[:-1]:
        here = here.setdefault(step, {})
    here[steps[-1]] = value
    assert tomllib.loads(text) == document
    read(document)


@given(
    st.lists(st.one_of(KEYS, st.integers(0, 99)), min_size=1, max_size=5).filter(
        lambda p: isinstance(p[0], str)
    )
)
def test_a_key_path_reads_back(path: list[str | int]) -> None:
    """Written out and read again, with any key at all."""
    assert read_path(write_path(tuple(path))) == tuple(path)
