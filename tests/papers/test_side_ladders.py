"""Crew sheets of pipes beside the runs: an overflow's pipe to daylight, and the link of a well that no run reaches."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell.design import Design, design
from roofwell.papers.crew_sheet.ladder import ladders
from roofwell.papers.crew_sheet.levels import marks, wells_on

FOOT = 0.3048


@pytest.fixture(scope="module")
def made(
    linked_house: Callable[[], dict[str, Any]], data_folder: Path, read_job: Callable[..., Any]
) -> Design:
    house = linked_house()
    house["features"]["G9"] = {
        "kind": "utility", "utility": "gas", "top": "94 ft", "diameter": "1 in",
        "path": [["30 ft", "104 ft"], ["46 ft", "104 ft"]],
    }  # fmt: skip
    return design(read_job(house), folder=data_folder, document=copy.deepcopy(house))


def test_the_ladder_of_an_overflows_pipe(made: Design) -> None:
    """Its bottom is the inside bottom less 0.12 in of wall and 3 in of bedding: 97.0 - 12 x 1.6 / 24 = 96.2 ft at the gas
    line, 12 ft on; 95.4 at its end. Hands dig about the gas line."""
    (one,) = [ladder for ladder in ladders(made) if ladder.key == "O1"]
    assert (one.start, one.end) == ("W1", "E1")
    at_gas = next(rung for rung in one.rungs if "gas" in rung.what)
    assert at_gas.station_m / FOOT == pytest.approx(12.0, abs=1e-6)
    assert at_gas.level_m / FOOT == pytest.approx(96.2 - 0.01 - 0.25, abs=1e-4)
    assert one.rungs[-1].level_m / FOOT == pytest.approx(95.4 - 0.26, abs=1e-4)
    assert [bar.label for bar in one.bars] == ["gas"]
    assert not wells_on(made, one)  # W1 is dug with the run that leads to it


def test_a_well_that_only_a_link_reaches_is_dug_with_the_link(made: Design) -> None:
    every = ladders(made)
    (one,) = [ladder for ladder in every if ladder.key == "W2-W1"]
    assert all(rung.level_m / FOOT == pytest.approx(93 - 0.26, abs=1e-4) for rung in one.rungs)
    assert [well.id for well in wells_on(made, one)] == ["W2"]
    said = {mark.what: mark.level_m for mark in marks(made, one)}
    assert said["W2 hole, bottom"] == pytest.approx(92.5 * FOOT)
    dug = [well.id for ladder in every for well in wells_on(made, ladder)]
    assert sorted(dug) == ["W1", "W2"]  # each once
