"""Stone and fabric from a job to its findings, its order and its papers."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from typing import Any

import pypdf
import pytest

from roofwell.checks.finding import Finding
from roofwell.design import Design
from roofwell.design.adopt import adopt
from roofwell.papers import PAPERS, results_json

Document = dict[str, Any]
Designer = Callable[..., Design]


def _only(made: Design, code: str) -> Finding:
    (found,) = [f for answer in made.answers for f in answer.findings if f.code == code]
    return found


def _text(made: Design) -> str:
    return results_json(made).decode()


def test_the_designed_fabric_follows_the_soil(house: Document, design_of: Designer) -> None:
    """M288: 30 % through No. 200 asks 0.25 mm and 0.2 per s; a soil that nobody described asks all rows at once."""
    made = design_of(house)
    fabric = made.scheme.wells[0].fabric
    assert fabric is not None
    assert (fabric.opening_m, fabric.permittivity_per_s, fabric.strength_class) == (0.25e-3, 0.2, 2)
    assert {_only(made, code).verdict for code in ("fabric-opening", "fabric-permittivity")} == {"good"}
    (cloth,) = [item for item in made.takeoff.items if item.key == "geotextile"]
    for words in ("class 2", "at most a No. 60 sieve", "at least 0.2 per s"):
        assert words in cloth.what
    house["soil"].pop("passing_no_200")
    made = design_of(house)
    fabric = made.scheme.wells[0].fabric
    assert fabric is not None
    assert (fabric.opening_m, fabric.permittivity_per_s) == (0.22e-3, 0.5)
    assert _only(made, "fabric-opening").verdict == "good"
    unknown = _only(made, "fabric-fine-soil")
    assert unknown.verdict == "unknown"
    assert "soil.passing_no_200" in unknown.missing[0].how
    assert not unknown.digging


def test_a_texture_is_a_stated_range(house: Document, design_of: Designer) -> None:
    """Sandy loam has 15 to 57 % silt and clay by its definition: rows two and three of M288, the stricter of each."""
    house["soil"].pop("passing_no_200")
    house["soil"]["texture"] = "sandy loam"
    made = design_of(house)
    fabric = made.scheme.wells[0].fabric
    assert fabric is not None
    assert (fabric.opening_m, fabric.permittivity_per_s) == (0.22e-3, 0.2)
    (assumed,) = [item for item in made.assumed if item.path == "soil.grains"]
    assert "15 % to 57 %" in assumed.text
    assert "soil.grains" in _only(made, "fabric-fine-soil").assumed
    house["wells"]["W1"]["geotextile_opening"] = "0.25 mm"  # enough for the middle of the class only
    assert _only(design_of(house), "fabric-opening").verdict == "close"


def test_a_given_fabric_against_a_soil_that_nobody_described(house: Document, design_of: Designer) -> None:
    house["soil"].pop("passing_no_200")
    house["wells"]["W1"]["geotextile_opening"] = "0.3 mm"
    found = _only(design_of(house), "fabric-opening")
    assert found.verdict == "unknown"
    assert found.missing[0].leaf == "soil.grains"
    house["wells"]["W1"]["geotextile_opening"] = "0.5 mm"  # wider than any row allows
    assert _only(design_of(house), "fabric-opening").verdict == "fails"
    house["wells"]["W1"]["geotextile_opening"] = "0.1 mm"  # finer than No. 100
    found = _only(design_of(house), "fabric-opening")
    assert found.verdict == "fails"
    assert "closes" in found.sentence


def test_cohesive_soil_takes_a_wider_opening(house: Document, design_of: Designer) -> None:
    """M288 (from memory): plasticity index above 7, at most 0.30 mm."""
    house["soil"].update(passing_no_200="60 %", plasticity_index=12)
    fabric = design_of(house).scheme.wells[0].fabric
    assert fabric is not None
    assert fabric.opening_m == pytest.approx(0.30e-3)
    house["soil"]["plasticity_index"] = 7
    fabric = design_of(house).scheme.wells[0].fabric
    assert fabric is not None
    assert fabric.opening_m == pytest.approx(0.22e-3)


def test_adopting_a_fabric_changes_nothing(house: Document, design_of: Designer) -> None:
    made = design_of(house)
    adopted = adopt(house, made)
    assert adopted["wells"]["W1"]["geotextile_opening"] == "0.25 mm"
    again = design_of(adopted)
    assert again.scheme.wells[0].fabric == made.scheme.wells[0].fabric
    assert again.scheme.origin["W1.fabric.opening_m"] == "given"


def test_an_opening_larger_than_the_stone(house: Document, design_of: Designer) -> None:
    house["wells"]["W1"].update(stone="57", hole_diameter="2 in")
    found = _only(design_of(house), "stone-over-hole")
    assert found.verdict == "fails"
    assert "A fine load falls through" in found.sentence


def test_the_fine_edge_of_the_band_is_close(house: Document, design_of: Designer) -> None:
    """No. 67 on 5/8 in: 1.06 in the middle of its band, 0.95 at its fine edge (materials 2.4)."""
    house["wells"]["W1"].update(stone="#67", hole_diameter="5/8 in")
    found = _only(design_of(house), "stone-over-hole")
    assert found.verdict == "close"
    assert found.value == pytest.approx(1.06, rel=0.02)
    assert "0.95 times at the fine edge" in found.sentence


def test_the_designed_stone_stays_out_at_its_fine_edge(house: Document, design_of: Designer) -> None:
    """Holes of 20 mm: D85 of No. 57 is 21.4 mm in the middle of its band and 19.3 at its fine edge; No. 5 22.2, by numpy."""
    house["wells"]["W1"].update(hole_diameter="20 mm")
    made = design_of(house)
    assert made.scheme.wells[0].stone == "5"
    assert _only(made, "stone-over-hole").verdict == "good"


def test_slots_have_their_own_limit(house: Document, design_of: Designer) -> None:
    house["wells"]["W1"].update(stone="57", slot_width="18 mm")  # 21.4 / 18 = 1.19, below 1.2
    found = _only(design_of(house), "stone-over-hole")
    assert found.verdict == "fails"
    assert (found.limit, found.source) == (1.2, "slot-rule")


def test_an_unknown_stone_is_a_clear_finding(house: Document, design_of: Designer) -> None:
    house["wells"]["W1"]["stone"] = "blue trap 57b"
    made = design_of(house)
    found = _only(made, "stone-over-hole")
    assert found.verdict == "unknown"
    assert found.missing[0].leaf == "wells.stone"
    assert "blue trap 57b" in found.sentence
    assert "57" in found.sentence
    assert "67" in found.sentence


def test_bare_stone_in_fine_soil_says_what_it_does_and_what_mends_it(
    house: Document, design_of: Designer
) -> None:
    house["soil"]["texture"] = "loam"
    house["wells"]["W1"]["geotextile"] = []
    made = design_of(house)
    found = _only(made, "stone-against-soil")
    assert found.verdict == "fails"
    for words in ("lets water through freely", "how much cannot be said", "Geotextile there keeps it out"):
        assert words in found.sentence
    assert "sides and top" in found.sentence
    assert made.scheme.wells[0].fabric is None
    assert not [f for answer in made.answers for f in answer.findings if f.code.startswith("fabric-")]
    house["soil"].pop("texture")
    assert _only(design_of(house), "stone-against-soil").missing[0].leaf == "soil.grains"
    house["wells"]["W1"]["geotextile"] = ["sides", "top"]
    made = design_of(house)
    assert not [f for answer in made.answers for f in answer.findings if f.code == "stone-against-soil"]


def test_a_bare_bottom_counts_once_groundwater_rises_into_it(house: Document, design_of: Designer) -> None:
    house["soil"].update(texture="loam", seasonal_high_water="96 ft")
    assert "bottom" in _only(design_of(house), "stone-against-soil").sentence


def test_the_bottom_is_a_setting(house: Document, design_of: Designer) -> None:
    """In a pit of 14 x 5 ft with a lap of 1 ft the sheet on the bottom, turned up all round, is 16 x 7 = 112 sq ft."""
    house["settings"] = house.get("settings", {}) | {"lap": "12 in"}
    house["wells"]["W1"].update(pit_length="14 ft", pit_width="5 ft", bodies=4, body_diameter="24 in")
    bare = design_of(house)
    assert "some offices want one" in _only(bare, "fabric-opening").sentence
    house["wells"]["W1"]["geotextile"] = ["sides", "top", "bottom"]
    lined = design_of(house)
    assert "nothing is taken off the new well's soakage" in _only(lined, "fabric-opening").sentence
    more = lined.takeoff.geotextile_m2 - bare.takeoff.geotextile_m2
    assert more / 0.3048**2 == pytest.approx(112.0, rel=1e-6)
    assert lined.behaviour.wells[0].drain_time_s == bare.behaviour.wells[0].drain_time_s


def test_a_void_ratio_is_no_porosity(house: Document, design_of: Designer) -> None:
    """Materials 2.2: e 0.40 is n 0.286; e 0.667 is n 0.40."""
    house["wells"]["W1"]["void_ratio"] = 0.40
    made = design_of(house)
    assert made.scheme.wells[0].voids == pytest.approx(0.2857, abs=1e-4)
    found = _only(made, "stone-voids")
    assert found.verdict == "close"
    assert 'write voids = "40 %"' in found.sentence
    house["wells"]["W1"]["void_ratio"] = 0.667
    made = design_of(house)
    assert made.scheme.wells[0].voids == pytest.approx(0.40, abs=1e-3)
    assert _only(made, "stone-voids").verdict == "good"
    house["wells"]["W1"].pop("void_ratio")
    house["wells"]["W1"]["voids"] = "67 %"
    found = _only(design_of(house), "stone-voids")
    assert found.verdict == "fails"
    assert "void_ratio = 0.67" in found.sentence
    house["wells"]["W1"].update(voids="44 %", voids_from="bucket test, three fills")
    assert _only(design_of(house), "stone-voids").verdict == "good"


def test_rounded_stone_has_fewer_voids(house: Document, design_of: Designer) -> None:
    """Materials 2.2 (common practice): 0.40 crushed, 0.35 pea gravel."""
    assert design_of(house).scheme.wells[0].voids == 0.40
    house["wells"]["W1"]["stone_shape"] = "rounded"
    made = design_of(house)
    assert (made.scheme.wells[0].voids, made.scheme.origin["W1.voids"]) == (0.35, "assumed")
    house["wells"]["W1"].pop("stone_shape")
    house["wells"]["W1"].update(stone="pea", geotextile_class=3)
    made = design_of(house)
    assert made.scheme.wells[0].voids == 0.35
    assert _only(made, "fabric-class").verdict == "good"


def test_stone_at_the_lawn_has_a_sheet_under_its_loose_top(house: Document, design_of: Designer) -> None:
    house["overflows"]["O1"].pop("lip")
    house["wells"]["W1"].update(body="none", stone_top="surface")
    made = design_of(house)
    well = made.scheme.wells[0]
    assert well.top_stone_m == pytest.approx(6 * 0.0254)
    assert _only(made, "top-stone").verdict == "good"
    (cloth,) = [item for item in made.takeoff.items if item.key == "geotextile"]
    assert "under the top stone" in cloth.note
    house["wells"]["W1"]["top_stone"] = "0 in"
    without = design_of(house)
    assert without.takeoff.geotextile_m2 < made.takeoff.geotextile_m2
    assert without.behaviour.wells[0].storage_m3 == made.behaviour.wells[0].storage_m3
    found = _only(without, "top-stone")
    assert found.verdict == "fails"
    assert "renewed by hand" in found.sentence


def test_papers_name_the_fabric_by_its_properties(house: Document, design_of: Designer) -> None:
    made = design_of(house)
    reader = pypdf.PdfReader(io.BytesIO(PAPERS["set"].make(made)))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert "opening at most a No. 60 sieve, permittivity at least 0.2 per s" in text
    wells = json.loads(_text(made))["scheme"]["wells"]
    assert wells[0]["fabric"]["permittivity_per_s"] == 0.2
