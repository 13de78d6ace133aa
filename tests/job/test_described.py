"""The pages in docs/ are those that the model makes, and every leaf is described once."""

from __future__ import annotations

from pathlib import Path

import pytest

from roofwell.job import json_schema
from roofwell.job.described import PAGES, meanings, tables_of
from roofwell.job.model import Job
from roofwell.job.prices import PriceBook
from roofwell.job.problems import leaves
from roofwell.job.rules import RuleFile

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("page", PAGES)
def test_a_page_does_not_lag_behind_the_model(page: str) -> None:
    """Made again from the model: the same text."""
    assert (DOCS / page).read_text(encoding="utf-8") == PAGES[page](), (
        f"write PAGES[{page!r}]() to docs/{page}"
    )


def test_every_leaf_is_described_and_nothing_else() -> None:
    """A new leaf needs a line in leaves.toml, a removed one loses it."""
    tables = {table for root in (Job, RuleFile, PriceBook) for _, table in tables_of(root)}
    every = set(meanings()["every"])
    for table in tables:
        assert set(leaves(table)) - every == set(meanings()[table.__name__]) - every, table.__name__
    assert set(meanings()) == {table.__name__ for table in tables} | {"every", "codes"}


def test_every_leaf_of_the_schema_says_what_it_means() -> None:
    """An editor shows it while a person types."""
    schema = json_schema()
    for definition in (schema, *schema["$defs"].values()):
        for key, leaf in definition.get("properties", {}).items():
            assert leaf.get("description"), key
