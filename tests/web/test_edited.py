"""A save's edits, made in one reading and writing of the text, give what making them one by one gives."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell import examples
from roofwell.errors import InputError
from roofwell.job.starter import starter
from roofwell.job.write import set_leaf
from roofwell.web import jobs
from roofwell.web.jobs import Edit, edited

TEXTS = {name: examples.path(name).read_text(encoding="utf-8") for name in examples.names()}
LEAVES = [
    "job.customer",
    "roofs.R1.pitch",
    "downspouts.D1.at",
    "downspouts.D9.at",
    "downspouts.D9.width",
    "downspouts.D9",
    "survey.readings[0].rod",
    "survey.readings[1]",
    "soil.rate",
    "soil.auger_tests[0].readings[0].water_end",
    "wells.W7.note",
    "wells.W7",
    "attachments.F1.file",
    "site.none",
]
VALUES = st.one_of(
    st.none(), st.text(max_size=6), st.integers(0, 9), st.lists(st.text(max_size=3), max_size=2)
)


def one_by_one(text: str, edits: list[Edit]) -> str:
    for edit in edits:
        text = set_leaf(text, edit.path, edit.value)
    return text


@settings(max_examples=40, deadline=None)
@given(
    name=st.sampled_from(sorted(TEXTS)),
    made=st.lists(st.tuples(st.sampled_from(LEAVES), VALUES), min_size=2, max_size=6),
)
def test_the_same_as_one_by_one(name: str, made: list[tuple[str, object]]) -> None:
    edits = [Edit(path=path, value=value) for path, value in made]
    try:
        slowly = one_by_one(TEXTS[name], edits)
    except InputError as error:
        with pytest.raises(InputError, match="leads nowhere") as told:
            edited(TEXTS[name], edits)
        assert told.value.code == error.code
        return
    assert tomllib.loads(edited(TEXTS[name], edits)) == tomllib.loads(slowly)


def test_a_visit_without_signal_goes_in_at_one_go_and_leaves_every_comment(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    text = starter()
    edits = [
        Edit(path=f"survey.readings[{i}]", value={"id": f"S{i}", "rod": 5.0 + i / 100}) for i in range(40)
    ]
    edits += [Edit(path=f"survey.readings[{i}].note", value="by the wall") for i in range(40)]
    slowly = one_by_one(text, edits)
    monkeypatch.setattr(jobs, "_with_leaf", None)  # no edit by itself
    made = edited(text, edits)
    assert tomllib.loads(made) == tomllib.loads(slowly)
    assert [line for line in made.splitlines() if line.startswith("#")] == [
        line for line in text.splitlines() if line.startswith("#")
    ]
