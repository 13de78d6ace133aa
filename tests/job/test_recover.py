"""A text that is no TOML is read as far as it can be. What is TOML is decided by the TOML 1.0 standard, through tomllib."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell import examples
from roofwell.job.recover import REMARK, recover

WHOLE = examples.path("bungalow").read_text(encoding="utf-8")


def test_a_text_that_is_toml_stays_as_it_is() -> None:
    found = recover(WHOLE)
    assert found is not None and (found.text, found.problems) == (WHOLE, ())


@pytest.mark.parametrize(
    ("text", "left", "lines"),
    [
        ('document = 1\n[job]\nname = "half', {"document": 1, "job": {}}, [3]),
        ("a = 1\nb = 2 in\nc = 3\n", {"a": 1, "c": 3}, [2]),
        ("a = [1,\n 2\nb = 3\n", {"b": 3}, [1]),
        ("a = 1\na = 2\n", {"a": 1}, [2]),
        ("[x]\na = 1\n[y\na = 2\nb = 3\n[z]\na = 4\n", {"x": {"a": 1}, "z": {"a": 4}}, [3]),
        ("[x]\na = 1\n[x]\na = 2\n", {"x": {"a": 1}}, [3]),
        ('a = """two\nlines"""\nb = curly\n', {"a": "two\nlines"}, [3]),
        ("a = [\n  [0, 0],\n  [1, 0],\n]\nb =\n", {"a": [[0, 0], [1, 0]]}, [5]),
        ("\ufeffa = 1\r\nb = 1,5\r\n", {"a": 1}, [2]),
    ],
)
def test_what_is_right_stands(text: str, left: dict[str, object], lines: list[int]) -> None:
    found = recover(text)
    assert found is not None
    assert tomllib.loads(found.text) == left
    assert [problem.line for problem in found.problems] == lines


@pytest.mark.parametrize(
    "text", ["Dear neighbor,\n", "", "{}", "x" * 1000, "\n".join("a b" for _ in range(500)), "[" * 5000]
)
def test_what_is_no_document_is_not_made_one(text: str) -> None:
    found = recover(text)
    assert found is None or tomllib.loads(text) == {}


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, len(WHOLE) - 1), st.sampled_from(['"', "[", "]", "\n", "=", " in", "\u201c", "{", "#"]))
def test_one_slip_anywhere_in_a_document_loses_little(at: int, slip: str) -> None:
    """A stray sign typed into a whole job: the rest is there still, and every line that was set aside stands as a remark."""
    text = WHOLE[:at] + slip + WHOLE[at:]
    found = recover(text)
    assert found is not None
    tomllib.loads(found.text)
    aside = [row for row in found.text.split("\n") if row.startswith(REMARK)]
    assert len(aside) < 60  # at most a table, or a list that was open
    assert (len(found.problems) > 0) == bool(aside)
    for row in aside:
        assert row.removeprefix(REMARK).strip() in text
