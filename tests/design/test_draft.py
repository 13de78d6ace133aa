"""The draft of a first visit: sizes in words, missing measurements by what they are worth."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from roofwell import job as job_room
from roofwell.design import Design, design
from roofwell.design.draft import UNDER_EVERY_SIZE, draft
from roofwell.design.first import first_document

Document = dict[str, Any]


def _designed(document: Document, folder: Path | None = None) -> Design:
    reading = job_room.read(document, folder=folder)
    assert reading.job is not None
    return design(reading.job, folder=folder, document=document, beyond=False)


@pytest.mark.parametrize("style", ["us", "metric"])
def test_nothing_measured_sizes_nothing_and_says_what_comes_first(style: str) -> None:
    made = draft(_designed(tomllib.loads(first_document(name="x", style=style))))  # type: ignore[arg-type]
    assert made.headline.startswith("no well can be sized yet; missing: roof that drains here, downspouts")
    assert (made.digging, made.price, made.waits) == ("", "", 7)
    assert made.missing[0].leaf == "roofs"
    assert "decides between" not in " ".join(item.words for item in made.missing)


def test_a_soil_that_is_known_leaves_no_range(house: Document, data_folder: Path) -> None:
    made = draft(_designed(house, data_folder))
    assert "soil decides" not in made.headline
    assert "well" in made.headline
    assert " to " not in made.digging.removesuffix(" to dig")
    assert "soil.rate" not in {item.leaf for item in made.missing}


def test_a_soil_that_nobody_tested_comes_first_and_says_its_range(house: Document, data_folder: Path) -> None:
    house["soil"] = {
        key: value for key, value in house["soil"].items() if "test" not in key and "rate" not in key
    }
    found = _designed(house, data_folder)
    made = draft(found)
    assert made.missing[0].leaf == "soil.rate"
    assert made.missing[0].words.startswith("It decides between")
    assert found.takeoff_large is not None
    assert found.takeoff_large.excavation_m3 > found.takeoff.excavation_m3
    assert made.headline.endswith("the soil decides") or "the soil decides;" in made.headline


def test_what_every_size_is_counted_from_comes_before_the_rest(house: Document, data_folder: Path) -> None:
    house["rain"].pop("depths")
    house["soil"].pop("frost_depth", None)
    leaves = [item.leaf for item in draft(_designed(house, data_folder)).missing]
    place = {leaf: leaf in UNDER_EVERY_SIZE for leaf in leaves}
    assert list(place.values()) == sorted(place.values(), reverse=True)
    assert leaves[0] == "rain.place"


def test_a_measurement_that_alone_holds_an_answer_open_is_said_to(house: Document, data_folder: Path) -> None:
    house["rain"].pop("depths")
    found = _designed(house, data_folder)
    (rain,) = [item for item in draft(found).missing if item.leaf == "rain.place"]
    others = {m.leaf for m in found.answer(1).missing} - {"rain.place"}
    assert (1 in rain.alone) is not bool(others)
    assert 1 in rain.answers
