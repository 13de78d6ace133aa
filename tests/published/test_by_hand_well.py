"""The trade's one well reckoned by hand, carried through the whole pipeline. Common practice, no source.

An 18 in well body 48 in deep stands in a hole bored 36 in wide, so that 9 in of stone stands all round. By hand:
body 7.07 cu ft, stone 21.2 cu ft, at 40 % voids 15.55 cu ft = 116.3 gal = 0.187 in of rain on 1,000 sq ft.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from roofwell.design import Design
from roofwell.papers import results_json

FT, IN = 0.3048, 0.0254
CU_FT = FT**3
GALLON = 231 * IN**3  # the US gallon is 231 cubic inches by definition

# Typed from the trade's reckoning, common practice, no source.
BODY_CU_FT = 7.07
STONE_CU_FT = 21.2
STORAGE_CU_FT = 15.55
STORAGE_GAL = 116.3
RAIN_IN = 0.187


@pytest.fixture(scope="module")
def by_hand(_house_text: str, design_of: Callable[..., Design]) -> Design:
    house: dict[str, Any] = tomllib.loads(_house_text)
    house["roofs"] = {
        "R1": {"plan_area": "600 sq ft", "gutter": "G1"},
        "R2": {"plan_area": "400 sq ft", "gutter": "G2"},
    }
    house["wells"]["W1"] |= {
        "bodies": 1, "body_diameter": "18 in", "body_height": "48 in", "pit_shape": "round",
        "pit_diameter": "36 in", "stone_below": "0 in", "stone_above": "0 in", "voids": "40 %",
        "bottom": "92 ft",
    }  # fmt: skip
    house["overflows"]["O1"]["lip"] = "96 ft"  # level with the top of the body
    return design_of(house)


def test_the_given_well_is_kept(by_hand: Design) -> None:
    well = by_hand.scheme.wells[0]
    assert (well.bodies, well.pit_shape) == (1, "round")
    assert well.body_diameter_m == pytest.approx(18 * IN)
    assert well.pit_width_m == pytest.approx(36 * IN)
    assert (well.pit_width_m - well.body_diameter_m) / 2 == pytest.approx(9 * IN)
    assert well.lip_m - well.bottom_m == pytest.approx(48 * IN)


def test_body_and_stone(by_hand: Design) -> None:
    well = by_hand.scheme.wells[0]
    (layer,) = well.layers
    height = layer.top_m - layer.bottom_m
    assert layer.body_area_m2 * height / CU_FT == pytest.approx(BODY_CU_FT, abs=0.005)
    assert (layer.pit_area_m2 - layer.body_area_m2) * height / CU_FT == pytest.approx(STONE_CU_FT, abs=0.05)


def test_storage(by_hand: Design) -> None:
    storage = by_hand.behaviour.wells[0].storage_m3
    assert storage / CU_FT == pytest.approx(STORAGE_CU_FT, abs=0.005)
    assert storage / GALLON == pytest.approx(STORAGE_GAL, abs=0.05)


def test_rain_that_it_holds(by_hand: Design) -> None:
    behaviour = by_hand.behaviour.wells[0]
    assert behaviour.roof_area_m2 == pytest.approx(1000 * FT**2, rel=1e-12)
    assert behaviour.holds_rain_m / IN == pytest.approx(RAIN_IN, abs=0.0005)


def test_the_answer_and_the_results_say_it(by_hand: Design) -> None:
    answer = by_hand.answer(5)
    assert answer.verdict == "fails"  # far too small for 1,000 sq ft of roof
    storm = next(f for f in answer.findings if f.code == "storm-held")
    assert "W1 holds 0.19 in of rain on its roof" in storm.sentence
    assert f'"storage_m3": {by_hand.behaviour.wells[0].storage_m3!r}' in results_json(by_hand).decode()
    assert not math.isnan(storm.value)
