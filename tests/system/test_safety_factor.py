"""The safety factor on the soil: by consequence as published, by the office, by the job with its reason."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell import tables
from roofwell.checks.soakage_words import consequence_words
from roofwell.design import Design
from roofwell.system.facts import Survey
from roofwell.system.safety_factor import by_consequence
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]


@pytest.mark.parametrize(
    ("roof_m2", "none", "minor", "building"),
    [(50, 1.5, 2, 10), (99.9, 1.5, 2, 10), (500, 1.5, 3, 10), (1000, 1.5, 3, 10), (1001, 1.5, 5, 10)],
)
def test_factors_by_consequence_as_published(
    roof_m2: float, none: float, minor: float, building: float
) -> None:
    """Reference sheet, infiltration 1.5, table of an Ontario guide after CIRIA 156; its last row from memory."""
    found = by_consequence(roof_m2)
    assert [found[name][0] for name in ("none", "minor", "building damage")] == [none, minor, building]
    assert all(tables.source(source).title for _, source in found.values())


def _survey(document: Document, read_job: Callable[..., Any], folder: Path | None = None) -> Survey:
    return make_survey(read_job(document, folder) if folder else read_job(document), folder=folder)


def _without_office(house: Document) -> Document:
    house["place"].pop("rules", None)
    return house


def test_without_job_office_and_consequence_the_usual_two_is_assumed(
    house: Document, read_job: Callable[..., Any]
) -> None:
    survey = _survey(_without_office(house), read_job)
    assert survey.soil.safety_factor == 2.0
    assert "soil.safety_factor" in {item.path for item in survey.assumed}
    assert survey.soil.notes == ()


def test_a_consequence_takes_the_published_factor_and_says_so(
    house: Document, read_job: Callable[..., Any]
) -> None:
    house = _without_office(house)
    house["soil"]["consequence"] = "building damage"
    survey = _survey(house, read_job)
    assert survey.soil.safety_factor == 10.0
    (row,) = [item for item in survey.assumed if item.path == "soil.safety_factor"]
    assert row.text == "10" and "damage to a building" in row.what and row.source == "ontario-guide"


def test_the_office_counts_before_a_consequence_and_what_it_falls_short_of_is_said(
    house: Document, read_job: Callable[..., Any], rules_with: Callable[..., Path]
) -> None:
    house["soil"]["consequence"] = "building damage"
    survey = _survey(house, read_job, rules_with(safety_factor="2.5"))
    assert survey.soil.safety_factor == 2.5
    (note,) = survey.soil.notes
    assert "safety factor of 10" in note and "the office asks for 2.5" in note


@pytest.mark.parametrize(("own", "word"), [(1.2, "less"), (4.0, "more")])
def test_a_factor_that_the_job_changes_is_printed_with_its_reason_or_without_one(
    own: float,
    word: str,
    house: Document,
    read_job: Callable[..., Any],
    rules_with: Callable[..., Path],
) -> None:
    house["soil"]["safety_factor"] = own
    folder = rules_with(safety_factor="2.5")
    (note,) = _survey(house, read_job, folder).soil.notes
    assert f"divides by {own:g}" in note and f"{word} than the 2.5 that the office asks for" in note
    assert "no reason is given" in note
    house["soil"]["safety_factor_reason"] = "three fills of the pit itself."
    (note,) = _survey(house, read_job, folder).soil.notes
    assert note.endswith("because: three fills of the pit itself")


def test_a_factor_that_changes_nothing_needs_no_reason(
    house: Document, read_job: Callable[..., Any], rules_with: Callable[..., Path]
) -> None:
    house["soil"]["safety_factor"] = 2.5
    assert _survey(house, read_job, rules_with(safety_factor="2.5")).soil.notes == ()


def test_the_published_factors_stand_beside_the_one_that_counts(small_house: Design) -> None:
    line = consequence_words(small_house.survey)
    assert "10 for damage to a building" in line
    assert line.endswith(f"counted here: {small_house.survey.soil.safety_factor:g}.")
