"""Facts from a job: what is missing is said, shots become ground, roofs are shared out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell.design.judging import Judged
from roofwell.errors import InputError
from roofwell.job import read_text
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
FT, IN = 0.3048, 0.0254

LEAVES = [
    ("survey", "survey.ground"),
    ("soil", "soil.rate"),
    ("soil", "soil.seasonal_high_water"),
    ("features.L1", "features.lot_line"),
    ("site", "features.septic"),
    ("site", "features.water_well"),
    ("site", "features.slope_crest"),
    ("site", "features.neighbor"),
    ("utilities", "utilities"),
    ("place", "place.rules"),
    ("rain.depths", "rain.place"),
    ("buildings.H1.lowest_opening", "buildings.lowest_opening"),
    ("roofs", "roofs"),
    ("features.U1.top", "features.utility_depth"),
]


def _take_out(document: Document, path: str) -> None:
    *way, last = path.split(".")
    at = document
    for name in way:
        at = at[name]
    del at[last]


@pytest.fixture
def facts(read_job: Callable[..., Any], data_folder: Path) -> Callable[[Document], Any]:
    return lambda document: make_survey(read_job(document), folder=data_folder)


def test_the_house_lacks_nothing_but_a_record_of_its_place(
    house: Document, facts: Callable[..., Any]
) -> None:
    assert facts(house).missing == {"rain.record"}


@pytest.mark.parametrize(("path", "leaf"), LEAVES)
def test_what_is_left_out_is_missing(
    path: str, leaf: str, house: Document, facts: Callable[..., Any]
) -> None:
    _take_out(house, path)
    assert leaf in facts(house).missing


SCHEME_LEAVES = [
    ("wells", "site.outlet"),
    ("wells.W1.at", "wells.at"),
    ("downspouts.D1.at", "downspouts"),
    ("overflows.O1.destination", "overflow.destination"),
    ("gutters.G1.depth", "downspouts.size"),
    ("downspouts.D1.width", "downspouts.size"),
]


@pytest.mark.parametrize(("path", "leaf"), SCHEME_LEAVES)
def test_what_the_scheme_lacks(
    path: str, leaf: str, house: Document, judged_of: Callable[..., Judged]
) -> None:
    _take_out(house, path)
    if path == "wells":
        house.pop("overflows")
    judged = judged_of(house)
    assert leaf in judged.scheme.missing
    assert leaf in {m.leaf for finding in judged.findings for m in finding.missing}


def test_an_existing_well_without_its_lip_is_unknown_and_a_proposed_one_is_designed(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["overflows"]["O1"].pop("lip")
    assert "overflow.lip" not in judged_of(house).scheme.missing
    house["wells"]["W1"]["state"] = "existing"
    assert "overflow.lip" in judged_of(house).scheme.missing


def test_what_is_assumed_is_written_down_with_how_to_measure_it(
    house: Document, facts: Callable[..., Any]
) -> None:
    assumed = {item.path: item for item in facts(house).assumed}
    assert {"settings.runoff_coefficient", "settings.initial_loss", "settings.waste"} <= set(assumed)
    assert all(item.text and item.what and item.how_to_measure and item.source for item in assumed.values())
    assert "targets.storm" not in assumed  # the rule file says it
    house.pop("place")
    assumed = {item.path: item for item in facts(house).assumed}
    assert assumed["targets.storm"].text == "10 yr"
    assert assumed["targets.hours_to_empty"].text == "48 h"
    house["targets"] = {"storm": "2 yr"}
    after = facts(house)
    assert "targets.storm" not in {item.path for item in after.assumed}
    assert (after.targets.storm_years, after.targets.storm_from) == (2.0, "job")


def test_ground_of_a_level_book(house: Document, facts: Callable[..., Any]) -> None:
    """By hand: 100 + 4.00 = 104.00; 104.00 - 5.20 = 98.80; turning point 98.00; 98 + 3 = 101; 101 - 4 = 97."""
    house["survey"] = {
        "benchmark": "BM", "benchmark_elevation": "100 ft", "unit": "ft",
        "readings": [
            {"setup": "S1", "kind": "backsight", "point": "BM", "rod": 4.00},
            {"setup": "S1", "kind": "shot", "point": "a", "rod": 5.20, "at": [0, 0], "ground": True},
            {"setup": "S1", "kind": "shot", "point": "b", "rod": 5.20, "at": [80, 0], "ground": True},
            {"setup": "S1", "kind": "turning point", "point": "T", "rod": 6.00},
            {"setup": "S2", "kind": "backsight", "point": "T", "rod": 3.00},
            {"setup": "S2", "kind": "shot", "point": "c", "rod": 4.00, "at": [0, 120], "ground": True},
            {"setup": "S2", "kind": "shot", "point": "d", "rod": 4.00, "at": [80, 120], "ground": True},
            {"setup": "S2", "kind": "shot", "point": "sill", "rod": 1.00, "at": [40, 40], "ground": False},
            {"setup": "S2", "kind": "shot", "point": "BM", "rod": 1.02},
        ],
    }  # fmt: skip
    found = facts(house)
    level = {shot.id: shot.elevation_m / FT for shot in found.shots}
    assert level["a"] == pytest.approx(98.80, abs=1e-9)
    assert level["T"] == pytest.approx(98.00, abs=1e-9)
    assert level["d"] == pytest.approx(97.00, abs=1e-9)
    assert found.ground_known
    # 98.8 at the street, 97.0 at the back, straight between: 97.9 halfway; the sill is no ground.
    assert float(found.ground.elevation_m([(40 * FT, 60 * FT)])[0]) / FT == pytest.approx(97.9, abs=1e-9)
    assert float(found.ground.elevation_m([(40 * FT, 40 * FT)])[0]) / FT == pytest.approx(98.2, abs=1e-9)
    assert found.level_book.closure_m / FT == pytest.approx(-0.02, abs=1e-9)


def test_a_reading_without_a_rod_is_left_out(house: Document, facts: Callable[..., Any]) -> None:
    house["survey"]["readings"] = [
        {"setup": "S1", "kind": "backsight", "point": "BM", "rod": "4 ft"},
        {"setup": "S1", "kind": "shot", "point": "x", "at": ["1 ft", "1 ft"]},
        {"setup": "S1", "kind": "shot", "point": "y", "rod": "5 ft", "at": ["2 ft", "2 ft"]},
    ]
    level = {shot.id: shot.elevation_m / FT for shot in facts(house).shots}
    assert "x" not in level
    assert level["y"] == pytest.approx(99.0, abs=1e-9)


def test_roof_is_shared_by_its_downspouts(house: Document, judged_of: Callable[..., Judged]) -> None:
    """420 sq ft: D1 has 40 % of its gutter, D2 the rest; D3 has the other gutter to itself."""
    spouts = {s.id: s for s in judged_of(house).scheme.downspouts}
    assert spouts["D1"].roof_area_m2 / FT**2 == pytest.approx(168, rel=1e-12)
    assert spouts["D2"].roof_area_m2 / FT**2 == pytest.approx(252, rel=1e-12)
    assert spouts["D3"].roof_area_m2 / FT**2 == pytest.approx(360, rel=1e-12)
    del house["downspouts"]["D1"]["share"]
    spouts = {s.id: s for s in judged_of(house).scheme.downspouts}
    assert spouts["D1"].roof_area_m2 == pytest.approx(spouts["D2"].roof_area_m2)


def test_thirds_of_a_gutter_leave_no_roof_over(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Shares that add up to 1 only to the last digit are no roof left over."""
    house["gutters"].pop("G2")
    for roof in house["roofs"].values():
        roof["gutter"] = "G1"
    for spout in house["downspouts"].values():
        spout["gutter"] = "G1"
    house["downspouts"]["D1"].pop("share")
    finding = next(f for f in judged_of(house).findings if f.code == "all-roof-drained")
    assert finding.verdict == "good"


def test_an_upper_roof_sheds_on_the_lower_one(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["roofs"]["R3"] = {"plan_area": "100 sq ft", "sheds_on": "R2"}
    spouts = {s.id: s for s in judged_of(house).scheme.downspouts}
    assert spouts["D3"].roof_area_m2 / FT**2 == pytest.approx(460, rel=1e-12)


def test_roof_without_a_gutter_is_left_over(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["roofs"]["R3"] = {"plan_area": "100 sq ft"}
    judged = judged_of(house)
    assert judged.scheme.undrained_area_m2 / FT**2 == pytest.approx(100, rel=1e-9)
    finding = next(f for f in judged.findings if f.code == "all-roof-drained")
    assert "100 sq ft" in finding.value_text


def test_an_auger_hole_that_drinks_nothing_is_no_fault_of_ours(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"].pop("rate")
    house["soil"]["auger_tests"] = [
        {
            "id": "A1", "hole_depth": "48 in", "hole_diameter": "4 in", "presoaked": True,
            "readings": [{"water_start": "24 in", "water_end": "24 in", "time": "30 min"}] * 3,
        }
    ]  # fmt: skip
    judged = judged_of(house)
    verdicts = {f.code: f for f in judged.findings}
    assert verdicts["well-drain-down"].verdict == "fails"
    assert verdicts["well-drain-down"].value_text == "never"
    assert verdicts["soil-fast-enough"].verdict == "fails"


def test_an_unsteady_auger_hole_is_remarked_on(house: Document, facts: Callable[..., Any]) -> None:
    """By common practice the last three falls agree within 10 % before they count."""
    readings = [
        {"water_start": "24 in", "water_end": end, "time": "10 min"} for end in ("40 in", "34 in", "30 in")
    ]
    house["soil"] = {"auger_tests": [
        {"id": "A1", "hole_depth": "48 in", "hole_diameter": "4 in", "presoaked": True, "readings": readings}
    ]}  # fmt: skip
    (test,) = facts(house).soil.tests
    assert any("within 10 %" in remark for remark in test.remarks)
    for reading in readings:
        reading["water_end"] = "30 in"
    (test,) = facts(house).soil.tests
    assert test.remarks == ()


def test_soil_without_a_test_is_a_range(house: Document, facts: Callable[..., Any]) -> None:
    house["soil"] = {"texture": "sandy loam"}
    soil = facts(house).soil
    assert not soil.known
    assert soil.low_m_s < soil.best_m_s < soil.high_m_s
    house["soil"] = {}
    wider = facts(house).soil
    # The slowest and the fastest of the published texture table: 0.02 and 8.27 in/h (rawls-1982, as reprinted).
    assert wider.low_m_s * 3600 / IN == pytest.approx(0.02, rel=1e-9)
    assert wider.high_m_s * 3600 / IN == pytest.approx(8.27, rel=1e-9)
    assert wider.low_m_s <= soil.low_m_s


def test_uplift_raises_every_depth(house: Document, facts: Callable[..., Any]) -> None:
    before = facts(house).rain.table.depth_m
    house["rain"]["uplift"] = "10 %"
    assert facts(house).rain.table.depth_m == pytest.approx(1.1 * before)


def test_a_gutter_that_no_roof_section_names_makes_the_roof_a_missing_measurement() -> None:
    """Its water is not nothing: nobody has measured it. An abandoned gutter takes none."""
    text = 'document = 1\n[roofs.R1]\nplan_area = "400 sq ft"\ngutter = "G1"\n[gutters.G1]\n[gutters.G2]\n'
    for state, missing in (("", True), ('state = "abandoned"\n', False)):
        read = read_text(text + state)
        assert read.problems == () and read.job is not None
        assert ("roofs" in make_survey(read.job, folder=None).missing) is missing


def test_shots_that_disagree_at_one_place_are_named_as_the_person_knows_them(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    for id, level in (("S8", "98 ft"), ("S9", "98.5 ft")):
        house["survey"]["points"].append(
            {"id": id, "at": ["5 ft", "5 ft"], "elevation": level, "ground": True}
        )
    with pytest.raises(InputError, match=r"S8 and S9 stand at one place, at 98.00 ft and 98.50 ft; keep"):
        judged_of(house)


def test_two_parts_at_one_place_are_named(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["wyes"] = {"Y1": {"at": house["downspouts"]["D1"]["at"]}}
    house["runs"] = {
        "P1": {"from": "D1", "to": "Y1"},
        "P2": {"from": "Y1", "to": "W1"},
        "P3": {"from": "D2", "to": "Y1"},
    }
    with pytest.raises(InputError, match=r"runs.P1: D1 and Y1 stand at one place"):
        judged_of(house)
