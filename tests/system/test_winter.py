"""Which parts hold water in winter, against what the trade expects of each (common practice, no source)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from roofwell.cli import main
from roofwell.design.judging import Judged

INCH = 0.0254


def _basin(house: dict[str, Any], **more: Any) -> None:
    house["basins"] = {
        "B1": {
            "at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in",
            "inlet_height": "16 in", "outlet_height": "20 in", **more,
        }
    }  # fmt: skip


def test_a_sump_and_the_pipe_that_its_high_outlet_drowns(
    house: dict[str, Any], judged_of: Callable[..., Judged]
) -> None:
    """By hand: a floor 20 in under the outlet holds 20 in; the pipe that comes in at 16 in holds 4 in."""
    _basin(house)
    house["soil"]["frost_depth"] = "10 ft"
    judged = judged_of(house)
    held = {item.id: item for item in judged.behaviour.held_water}
    assert held["B1"].depth_m == pytest.approx(20 * INCH)
    pipes = [item for id, item in held.items() if id != "B1"]
    assert pipes
    assert max(pipe.depth_m for pipe in pipes) == pytest.approx(
        4 * INCH, abs=0.0031
    )  # inverts lie on 0.01 ft
    assert all(item.above_frost for item in held.values())


def test_weep_holes_empty_a_sump_and_deep_water_stays_open(
    house: dict[str, Any], judged_of: Callable[..., Judged]
) -> None:
    _basin(house, inlet_height="20 in", outlet_height="16 in")
    house["soil"]["frost_depth"] = "1 in"
    held = judged_of(house).behaviour.held_water
    assert [(item.id, item.above_frost) for item in held] == [("B1", False)]
    house["basins"]["B1"]["weep_holes"] = 4
    assert judged_of(house).behaviour.held_water == ()


def test_the_list_is_said_with_the_cautions(capsys: pytest.CaptureFixture[str]) -> None:
    """The bungalow's basin has a sump and no weep holes."""
    main(["design", "bungalow", "--no-papers"])
    words = " ".join(capsys.readouterr().out.split())
    assert "Holds water in winter: B1 (sump of the basin," in words
