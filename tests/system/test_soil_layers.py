"""Soil in layers: each soaking face takes the rate of the layer it stands in; nobody's guess counts as a test."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell.design.judging import Judged
from roofwell.physics.well.storage import Layer
from roofwell.system.soil_layers import pit_rates, stands_in_unmeasured
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
FT, IN, HOUR = 0.3048, 0.0254, 3600.0
IN_H = IN / HOUR

CLAY_ON_SAND = [
    {"top": "0 ft", "bottom": "3 ft", "texture": "clay", "rate": "0.1 in/h"},
    {"top": "3 ft", "bottom": "12 ft", "texture": "sand", "rate": "4 in/h"},
]
LOW_PIT = [Layer(0.0, 0.5, 1.0, 4.0, 0.0, 0.4)]
PIT = [
    Layer(0.0, 2.0, 1.0, 4.0, 0.0, 0.4),
    Layer(2.0, 2.5, 0.01, 0.4, 0.01, 1.0),
]  # 2 m of stone, a riser over it


@pytest.fixture
def facts(read_job: Callable[..., Any], data_folder: Path) -> Callable[[Document], Any]:
    return lambda document: make_survey(read_job(document), folder=data_folder)


def _layered(house: Document, layers: list[dict[str, str]], *, rate: str | None = None) -> Document:
    house["soil"] = {"seasonal_high_water": "84 ft", "layers": layers}
    if rate is not None:
        house["soil"]["rate"] = rate
    return house


def test_each_face_takes_its_own_layer(house: Document, facts: Callable[..., Any]) -> None:
    """Pit 2.5 m deep, stone from 0.5 m down; clay to 3 ft = 0.9144 m, so 0.4144 m of the stone stands in clay."""
    soil = facts(_layered(house, CLAY_ON_SAND)).soil
    cut, rates, bottom = pit_rates(soil, PIT, pit_depth_m=2.5, stone_height_m=2.0, at_large_m_s=soil.best_m_s)
    assert [layer.top_m for layer in cut] == pytest.approx([1.5856, 2.0, 2.5])
    assert rates == pytest.approx([4 * IN_H, 0.1 * IN_H, 0.0])
    assert bottom == pytest.approx(4 * IN_H)


def test_a_pit_that_ends_where_the_sand_begins_stands_on_the_sand(
    house: Document, facts: Callable[..., Any]
) -> None:
    soil = facts(_layered(house, CLAY_ON_SAND)).soil
    _, rates, bottom = pit_rates(
        soil, LOW_PIT, pit_depth_m=3 * FT, stone_height_m=0.5, at_large_m_s=soil.best_m_s
    )
    assert rates == pytest.approx([0.1 * IN_H])
    assert bottom == pytest.approx(4 * IN_H)


def test_the_well_soaks_by_its_layers(house: Document, judged_of: Callable[..., Judged]) -> None:
    """The whole way: document to soakage of the full well, by hand from its bottom and its walls, over the factor."""
    _layered(house, CLAY_ON_SAND)
    house["wells"]["W1"]["soakage"] = "bottom and sides"
    house["soil"]["safety_factor"] = 2
    judged = judged_of(house)
    well = judged.scheme.wells[0]
    assert well.pit_shape == "rectangular"
    depth, stone = well.ground_m - well.bottom_m, well.stone_top_m - well.bottom_m
    assert depth > 3 * FT > depth - stone
    in_clay = 3 * FT - (depth - stone)
    perimeter = 2 * (well.pit_length_m + well.pit_width_m)
    taken = well.pit_length_m * well.pit_width_m * 4 + perimeter * (4 * (stone - in_clay) + 0.1 * in_clay)
    assert judged.behaviour.wells[0].soakage_full_m3_s == pytest.approx(taken * IN_H / 2, rel=1e-9)


def test_layers_that_all_have_a_rate_are_known_without_a_test(
    house: Document, facts: Callable[..., Any]
) -> None:
    found = facts(_layered(house, CLAY_ON_SAND))
    assert found.soil.known
    assert not found.soil.tested
    assert "soil.rate" not in found.missing
    assert "0.10 in/h" in found.soil.basis
    assert "4.00 in/h" in found.soil.basis


def test_a_layer_with_a_texture_only_is_not_known(house: Document, facts: Callable[..., Any]) -> None:
    layers = [CLAY_ON_SAND[0], {"top": "3 ft", "bottom": "12 ft", "texture": "sand"}]
    found = facts(_layered(house, layers))
    assert not found.soil.known
    assert "soil.rate" in found.missing
    assert [layer.known for layer in found.soil.layers] == [True, False]
    assert found.soil.layers[1].low_m_s < found.soil.layers[1].high_m_s


def test_a_texture_never_overrules_a_test(house: Document, facts: Callable[..., Any]) -> None:
    layers = [{"top": "0 ft", "bottom": "12 ft", "texture": "clay"}]
    found = facts(_layered(house, layers, rate="4 in/h"))
    assert found.soil.layers == ()
    assert found.soil.known


def test_a_pit_deeper_than_anybody_looked_is_unknown(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    layers = [{"top": "0 ft", "bottom": "3 ft", "rate": "4 in/h"}]
    judged = judged_of(_layered(house, layers))
    assert "soil.rate" in judged.scheme.missing
    held = [finding for finding in judged.findings if finding.code == "storm-held"]
    assert {finding.verdict for finding in held} == {"unknown"}
    assert "soil.rate" in {item.leaf for item in held[0].missing}
    deep = judged_of(_layered(house, layers, rate="4 in/h"))
    assert "soil.rate" not in deep.scheme.missing


@pytest.mark.parametrize(
    ("credit", "bottom_ft", "unmeasured"),
    [
        ("bottom", 6.0, False),
        ("bottom", 5.0, False),
        ("bottom", 8.0, True),
        ("sides", 8.0, False),
        ("bottom and sides", 8.0, True),
        ("sides", 8.5, True),
    ],
)
def test_only_faces_that_soak_ask_for_a_rate(
    credit: Any, bottom_ft: float, unmeasured: bool, house: Document, facts: Callable[..., Any]
) -> None:
    """Rates to 8 ft down: a bottom at 8 ft stands on soil that nobody looked at, the sides over it do not."""
    layers = [{"top": "0 ft", "bottom": "8 ft", "rate": "1 in/h"}]
    soil = facts(_layered(house, layers)).soil
    found = stands_in_unmeasured(soil, credit, pit_depth_m=bottom_ft * FT, stone_top_depth_m=1 * FT)
    assert found is unmeasured


def test_the_office_judges_the_soil_under_the_pit(
    house: Document, judged_of: Callable[..., Judged], rules_with: Callable[..., Path]
) -> None:
    """Rule: at least 0.5 in/h. The well ends in 4 in/h; with the layers turned over it ends in 0.1 in/h."""
    good = judged_of(_layered(house, CLAY_ON_SAND))
    over = [
        {**CLAY_ON_SAND[1], "top": "0 ft", "bottom": "3 ft"},
        {**CLAY_ON_SAND[0], "top": "3 ft", "bottom": "12 ft"},
    ]
    bad = judged_of(_layered(house, over))
    for judged, verdict, rate in ((good, "good", 4.0), (bad, "fails", 0.1)):
        found = [f for f in judged.findings if f.code == "soil-fast-enough"]
        assert [f.subject for f in found] == ["soil under W1"]
        assert found[0].verdict == verdict
        assert found[0].value == pytest.approx(rate * IN_H)


def test_mottling_shows_the_high_water(house: Document, facts: Callable[..., Any]) -> None:
    """The top of the shallowest mottled layer, 7 ft under ground that lies 97.91 ft high at the well."""
    layers = [
        {"top": "0 ft", "bottom": "7 ft", "rate": "2 in/h"},
        {"top": "7 ft", "bottom": "9 ft", "rate": "2 in/h", "mottled": True},
    ]
    _layered(house, layers)
    del house["soil"]["seasonal_high_water"]
    found = facts(house)
    assert "soil.seasonal_high_water" not in found.missing
    assert found.soil.high_water_basis == "mottling"
    at = found.ground.elevation_m([(38 * FT, 92 * FT)])[0]
    assert found.soil.high_water_m == pytest.approx(at - 7 * FT)
    house["soil"]["layers"][1]["mottled"] = False
    assert "soil.seasonal_high_water" in facts(house).missing


@pytest.mark.parametrize(("hole", "said"), [("36 in", True), ("144 in", False)])
def test_a_hole_that_did_not_reach_the_bottom_is_remarked(
    hole: str, said: bool, house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The house's pit goes about 7 ft down; nobody knows what lies under a hole of 3 ft."""
    fall = {"water_start": "12 in", "water_end": "18 in", "time": "30 min"}
    house["soil"] = {
        "seasonal_high_water": "84 ft",
        "auger_tests": [{"id": "A1", "hole_depth": hole, "hole_diameter": "6 in", "readings": [fall] * 3}],
    }
    judged = judged_of(house)
    sentence = next(f.sentence for f in judged.findings if f.code == "well-drain-down")
    assert (
        "No test hole reached the bottom of the pit of W1: the deepest went 3.0 ft down" in sentence
    ) is said
    assert "A1" not in sentence
