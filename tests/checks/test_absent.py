"""A document with next to nothing in it is answered ``unknown``, with what to measure, in the order of the trade."""

from __future__ import annotations

from typing import Any

import pytest

from roofwell import job, tables
from roofwell.checks.finding import in_order
from roofwell.design import Design, design

Document = dict[str, Any]


def _designed(document: Document, folder: Any = None) -> Design:
    reading = job.read(document, folder=folder)
    assert reading.problems == ()
    return design(reading.job, folder=folder)


@pytest.fixture(scope="module")
def bare() -> Design:
    return _designed({"document": 1})


def test_a_bare_document_waits_for_measurements(bare: Design) -> None:
    assert [answer.verdict for answer in bare.answers] == ["unknown"] * 7 + [None, None]
    for answer in bare.answers[:7]:
        assert answer.missing, answer.title
        for finding in answer.findings:
            assert finding.verdict != "unknown" or finding.missing


@pytest.mark.parametrize(
    ("question", "leaves"),
    [
        (1, ["rain.place", "roofs", "downspouts"]),
        (2, ["roofs", "downspouts", "survey.ground", "site.outlet"]),
        (3, ["roofs", "downspouts", "buildings.lowest_opening", "survey.ground", "site.outlet"]),
        (
            5,
            [
                "roofs",
                "downspouts",
                "survey.ground",
                "site.outlet",
                "soil.rate",
                "soil.seasonal_high_water",
            ],
        ),
        (
            6,
            [
                "roofs",
                "downspouts",
                "buildings.lowest_opening",
                "survey.ground",
                "site.outlet",
                "overflow.destination",
            ],
        ),
    ],
)
def test_each_question_names_its_measurements(question: int, leaves: list[str], bare: Design) -> None:
    assert [item.leaf for item in bare.answer(question).missing] == leaves
    assert all(item.how for item in bare.answer(question).missing)


def test_what_is_never_defaulted_is_asked_for(bare: Design) -> None:
    """The list of design.md: soil, high water, opening, overflow, lot line, septic, wells, setbacks, utilities, rain."""
    asked = {item.leaf for answer in bare.answers for item in answer.missing}
    assert {
        "soil.rate", "soil.seasonal_high_water", "buildings.lowest_opening", "overflow.destination",
        "features.lot_line", "features.septic", "features.water_well", "place.rules", "utilities", "rain.place",
        "site.outlet",
    } <= asked  # fmt: skip
    assert any("soil" in reason or "downspouts" in reason for reason in bare.waits)


def test_nothing_is_said_to_stand_already(bare: Design) -> None:
    assert bare.answer(8).sentence == "Nothing to count yet: no part of the system is known."


def test_the_order_is_that_of_the_table() -> None:
    order = [row["leaf"] for row in tables.rows("measurements")]
    shuffled = sorted(order)
    assert [item.leaf for item in in_order([*shuffled, *shuffled])] == order


def test_wells_that_no_roof_reaches_are_not_called_good(house: Document, data_folder: Any) -> None:
    """Without the downspouts a well that stands ready holds everything: that is no answer."""
    del house["downspouts"]
    made = _designed(house, data_folder)
    for question in (1, 2, 3, 4, 5, 6):
        assert made.answer(question).verdict == "unknown", question
        assert "downspouts" in {item.leaf for item in made.answer(question).missing}
    assert "No roof leads to W1 yet." in made.answer(5).sentence


def test_a_whole_system_raises_nothing(small_house: Design) -> None:
    assert all(finding.subject != "system" for answer in small_house.answers for finding in answer.findings)


def test_without_roofs_no_water_is_no_answer(house: Document, data_folder: Any) -> None:
    """Nothing comes, so nothing is too small: that would be a false good."""
    del house["roofs"]
    made = _designed(house, data_folder)
    for question in (1, 3, 4, 5, 6):
        assert made.answer(question).verdict == "unknown", question
        assert "roofs" in {item.leaf for item in made.answer(question).missing}
