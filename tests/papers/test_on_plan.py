"""Where the parts stand on plan, for the page to draw and move. Places are read off the example by hand, 1 ft = 0.3048 m."""

from __future__ import annotations

import pytest

from roofwell import examples
from roofwell.design import Design, design
from roofwell.job.reading import read_text
from roofwell.job.write import set_leaf
from roofwell.papers.drawing.on_plan import OnPlan, parts_on_plan

FOOT_M = 0.3048


def _design(**leaves: object) -> Design:
    path = examples.path("bungalow")
    text = path.read_text(encoding="utf-8")
    for leaf, value in leaves.items():
        text = set_leaf(text, leaf.replace("__", "."), value)
    reading = read_text(text, folder=path.parent)
    assert reading.job is not None
    return design(reading.job, folder=path.parent, document=reading.document, beyond=False)


@pytest.fixture(scope="module")
def bungalow() -> tuple[OnPlan, ...]:
    return parts_on_plan(_design())


def _one(parts: tuple[OnPlan, ...], table: str, id: str) -> OnPlan:
    return next(part for part in parts if (part.table, part.id) == (table, id))


def test_given_places_are_those_of_the_document_in_meters(bungalow: tuple[OnPlan, ...]) -> None:
    spout, well = _one(bungalow, "downspouts", "D1"), _one(bungalow, "wells", "W1")
    assert spout.points[0] == pytest.approx((16.5 * FOOT_M, 45.6 * FOOT_M))
    assert well.points[0] == pytest.approx((36 * FOOT_M, 98 * FOOT_M))
    assert spout.origin == well.origin == "given"
    assert len(well.outline) == 4


def test_designed_runs_join_the_parts_that_they_name(bungalow: tuple[OnPlan, ...]) -> None:
    places = {part.id: part.points[0] for part in bungalow if part.leaf == "at" and part.table != "survey"}
    runs = [part for part in bungalow if part.table == "runs"]
    assert runs
    for run in runs:
        assert run.origin == "designed"
        assert run.points[0] == pytest.approx(places[run.from_id])
        assert run.points[-1] == pytest.approx(places[run.to_id])


def test_shots_carry_their_elevation(bungalow: tuple[OnPlan, ...]) -> None:
    """100.00 + 4.35 - 5.45 = 98.90 ft."""
    assert _one(bungalow, "survey", "front lot corner, west").says == "98.90"


def test_a_place_that_is_written_down_is_given_and_one_that_is_not_is_never_said_to_be() -> None:
    parts = parts_on_plan(_design(wyes__Y1__at=["59 ft", "79 ft"], wells__W1__at=None))
    assert _one(parts, "wyes", "Y1").origin == "given"
    assert _one(parts, "wells", "W1").origin == "missing"  # a stand-in: the document says nothing
