"""The order of heights: ten jobs that break it are all caught; a typed reason is printed, and has its bounds."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from roofwell.checks.finding import Finding
from roofwell.design import Design
from roofwell.design.judging import Judged
from roofwell.papers.set import set_data

Document = dict[str, Any]
Change = Callable[[Document], None]
CODE = "order-of-heights"


def _lip(level: str) -> Change:
    return lambda house: house["overflows"]["O1"].update(lip=level)


def _grate(level: str) -> Change:
    """A basin at a place of its own, with a grate at a level that is given."""
    return lambda house: house.update(
        basins={"B1": {"at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in", "grate": level}}
    )


def _joints(**levels: str) -> Change:
    def change(house: Document) -> None:
        for id, level in levels.items():
            house["downspouts"][id]["joint"] = level

    return change


def _opening(level: str) -> Change:
    return lambda house: house["buildings"]["H1"].update(lowest_opening=level)


# The house: lip 97.6 ft, grate of B1 given as 98.2 ft, joints 99.1 ft, threshold of the back door 99.8 ft.
BROKEN: dict[str, tuple[Change, ...]] = {
    "lip over grate": (_lip("98.6 ft"),),
    "lip over grate and joints": (_lip("99.5 ft"),),
    "lip level with grate": (_grate("97.6 ft"),),
    "lip half an inch under grate": (_grate("97.64 ft"),),
    "grate over the joints": (_grate("99.4 ft"),),
    "grate level with one joint": (_joints(D2="98.2 ft"),),
    "one joint under the lip": (_joints(D1="97.3 ft"),),
    "all joints over the opening": (_joints(D1="99.9 ft", D2="99.9 ft", D3="99.9 ft"),),
    "opening under the grate": (_opening("98.0 ft"),),
    "opening under the lip": (_opening("97.4 ft"),),
}
OPENING_LOWER = {
    "grate over the joints": False,
    "lip over grate": False,
    "all joints over the opening": True,
    "opening under the grate": True,
    "opening under the lip": True,
}
ROW = (_grate("98.2 ft"), _joints(D1="99.1 ft", D2="99.1 ft", D3="99.1 ft"))
WHY = {
    "reason": "the lawn rises beyond the well",
    "who": "the contractor (invented)",
    "date": date(2026, 5, 2),
}


def _made(house: Document, name: str) -> Document:
    for change in (*ROW, *BROKEN.get(name, ())):
        change(house)
    return house


def _found(judged: Judged) -> Finding:
    (found,) = [finding for finding in judged.findings if finding.code == CODE]
    return found


def test_there_are_ten() -> None:
    assert len(BROKEN) == 10


def test_the_order_that_holds(house: Document, judged_of: Callable[..., Judged]) -> None:
    """The smallest of the steps decides: lip to grate, 0.6 ft = 7.2 in."""
    found = _found(judged_of(_made(house, "")))
    assert found.verdict == "good"
    assert found.value / 0.0254 == pytest.approx(7.2, abs=1e-6)
    for words in ("O1 97.60 ft", "B1 98.20 ft", "99.10 ft", "99.80 ft"):
        assert words in found.detail


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_order_is_caught(name: str, house: Document, judged_of: Callable[..., Judged]) -> None:
    found = _found(judged_of(_made(house, name)))
    assert found.verdict == "fails"
    assert found.digging
    assert found.sentence


@pytest.mark.parametrize(("name", "lower"), OPENING_LOWER.items())
def test_a_typed_reason_sets_it_aside_but_not_over_an_opening(
    name: str, lower: bool, house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["overrules"] = [{"check": CODE, "subject": "O1", **WHY}]
    found = _found(judged_of(_made(house, name)))
    assert found.verdict == "fails"
    assert (found.overruled is None) is lower


def test_the_reason_is_printed(house: Document, design_of: Callable[..., Design]) -> None:
    """In the set, with who and when; the table of heights shows the row and where it breaks."""
    house["overrules"] = [{"check": CODE, "subject": "O1", **WHY}]
    data = set_data(design_of(_made(house, "grate over the joints")))
    (told,) = data["rests"]["overruled"]
    assert (told["reason"], told["who"]) == (WHY["reason"], WHY["who"])
    (row,) = data["heights"]["rows"]
    assert (row["lip"], row["grate"], row["opening"]) == ("O1 97.60", "B1 99.40", "99.80")
    assert "B1" in row["least"] and "over" in row["least"]


def test_a_reason_without_effect_says_that_an_opening_is_lower(
    house: Document, design_of: Callable[..., Design]
) -> None:
    house["overrules"] = [{"check": CODE, "subject": "O1", **WHY}]
    made = design_of(_made(house, "opening under the grate"))
    (notice,) = made.notices
    assert "opening of the house" in notice.message


def test_an_opening_that_nobody_measured(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Unknown while the rest holds; what is broken already fails whatever the opening is."""
    house["buildings"]["H1"].pop("lowest_opening")
    found = _found(judged_of(_made(house, "")))
    assert found.verdict == "unknown"
    assert [m.leaf for m in found.missing] == ["buildings.lowest_opening"]
    assert _found(judged_of(_made(house, "lip over grate"))).verdict == "fails"
