"""An edit of a read document gives what reading the edited text gives: every leaf of every example, made-up values."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell import examples
from roofwell.errors import InputError
from roofwell.job.lines import write_path
from roofwell.job.write import set_leaf, with_leaf

TEXTS = {name: examples.path(name).read_text(encoding="utf-8") for name in examples.names()}
READ = {name: tomllib.loads(text) for name, text in TEXTS.items()}
VALUES = st.one_of(
    st.none(),
    st.text(max_size=8),
    st.booleans(),
    st.integers(-9, 9),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.lists(st.text(max_size=3), max_size=2),
    st.lists(st.lists(st.integers(0, 5), max_size=2), max_size=2),
    st.dictionaries(st.sampled_from(["at", "depth", "new"]), st.text(max_size=3), max_size=2),
)
NEW = [
    "job.note",
    "wells.W9.at",
    "runs.P9.slope",
    "site.trees.T1.at",
    "attachments.F1.file",
    "soil.rate",
    "settings.event_gap",
]


def paths(value: Any, so_far: tuple[str | int, ...] = ()) -> Iterator[str]:
    """Every key path of a document, tables and lists too."""
    if so_far:
        yield write_path(so_far)
    if isinstance(value, dict):
        for key, item in value.items():
            yield from paths(item, (*so_far, key))
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from paths(item, (*so_far, number))
        yield write_path((*so_far, len(value)))  # a list grows
        yield write_path((*so_far, len(value), "new"))


def ordered(value: Any) -> Any:
    """The same with the order of what stands in tables of parts told too; leaves of one table have none."""
    return [
        (key, list(item))
        for key, item in value.items()
        if isinstance(item, dict) and all(isinstance(x, dict) for x in item.values())
    ]


PATHS = {name: [*paths(document), *NEW] for name, document in READ.items()}


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_the_same_as_by_the_text(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(READ)))
    path, value = data.draw(st.sampled_from(PATHS[name])), data.draw(VALUES)
    before = repr(READ[name])
    try:
        quick = with_leaf(READ[name], path, value)
    except InputError:
        with pytest.raises(InputError):
            set_leaf(TEXTS[name], path, value)
        return
    assert repr(READ[name]) == before
    if quick is None:
        return
    by_text = tomllib.loads(set_leaf(TEXTS[name], path, value))
    assert quick == by_text
    assert ordered(quick) == ordered(by_text)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("downspouts.D1.at", ["1 ft", "-0.5 ft"]),
        ("survey.points[1].elevation", "99.5 ft"),
        ("soil.rate", "2.1 in/h"),
        ("wells.W9.at", ["3 ft", "4 ft"]),
        ("downspouts.D1.width", None),
        ("survey.points[0]", None),
        ("wells.W9.note", None),
    ],
)
def test_what_a_page_mostly_changes_needs_no_text(path: str, value: Any) -> None:
    document = {
        "downspouts": {"D1": {"at": [0, 1], "width": "3 in"}},
        "survey": {"points": [{}, {"elevation": "99 ft"}]},
        "soil": {},
        "wells": {},
    }
    assert with_leaf(document, path, value) is not None


@pytest.mark.parametrize("value", [None, {}, [], {"a": {}}, "\ud800"])
def test_what_only_the_text_tells_is_left_to_it(value: Any) -> None:
    assert with_leaf({"soil": {"rate": "1 in/h"}}, "soil.rate", value) is None
