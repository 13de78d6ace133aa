"""The ground that carries soaked water away, the mound of a whole job, and what floats."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell.design.judging import Judged
from roofwell.system.behaviour import Mound
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
FT = 0.3048
GIVEN = {"saturated_thickness": "10 ft", "specific_yield": "15 %", "horizontal_conductivity": "4 in/h"}


def _mound(judged: Judged) -> Mound:
    mound = judged.behaviour.wells[0].mound
    assert mound is not None
    return mound


def _finding(judged: Judged, code: str) -> Any:
    (found,) = [finding for finding in judged.findings if finding.code == code]
    return found


@pytest.fixture
def facts(read_job: Callable[..., Any], data_folder: Path) -> Callable[[Document], Any]:
    return lambda document: make_survey(read_job(document), folder=data_folder)


def test_figures_of_the_ground_are_assumed_and_marked_until_given(
    house: Document, facts: Callable[[Document], Any]
) -> None:
    survey = facts(house)
    assert survey.aquifer.thickness_m == pytest.approx(10 * FT)
    assert survey.aquifer.specific_yield == pytest.approx(0.10)
    paths = {item.path for item in survey.assumed}
    assert {f"soil.{key}" for key in GIVEN} <= paths
    house["soil"] |= GIVEN
    survey = facts(house)
    assert not {f"soil.{key}" for key in GIVEN} & {item.path for item in survey.assumed}
    assert survey.aquifer.specific_yield == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("texture", "share"), [("sand", 0.27), ("Sandy Loam ", 0.14), ("silty clay", 0.04), ("rubble", 0.10)]
)
def test_specific_yield_goes_by_the_texture(
    texture: str, share: float, house: Document, facts: Callable[[Document], Any]
) -> None:
    """The geometric middle of the table's two columns; 10 % where the table does not know the texture."""
    house["soil"]["texture"] = texture
    assert facts(house).aquifer.specific_yield == pytest.approx(share)


def test_the_lowest_texture_counts(house: Document, facts: Callable[[Document], Any]) -> None:
    house["soil"] |= {
        "texture": "clay",
        "layers": [
            {"top": "0 ft", "bottom": "4 ft", "texture": "loam"},
            {"top": "4 ft", "bottom": "12 ft", "texture": "sand"},
        ],
    }
    assert facts(house).aquifer.specific_yield == pytest.approx(0.27)


def test_more_yield_thickness_or_conductivity_makes_a_lower_mound(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"] |= GIVEN
    base = _mound(judged_of(house)).rise_m
    assert base > 0
    for key, value in (
        ("specific_yield", "25 %"),
        ("saturated_thickness", "30 ft"),
        ("horizontal_conductivity", "20 in/h"),
    ):
        changed = {**house, "soil": {**house["soil"], key: value}}
        assert _mound(judged_of(changed)).rise_m < base, key


def test_the_narrow_well_takes_three_dimensions_and_the_wide_one_level_flow(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The pit is 5 ft wide: on 10 ft of saturated ground it is narrow, on 3 ft it is not."""
    for thickness, solution in (("10 ft", "three-dimensional"), ("3 ft", "level flow")):
        house["soil"] |= {**GIVEN, "saturated_thickness": thickness}
        mound = _mound(judged_of(house))
        assert mound.solution == solution
        assert mound.storm_three_dimensional_m > mound.storm_level_flow_m
        own = mound.storm_three_dimensional_m if solution == "three-dimensional" else mound.storm_level_flow_m
        assert mound.storm_m == own


def test_recharge_keeps_under_the_conductivity(house: Document, judged_of: Callable[..., Judged]) -> None:
    judged = judged_of(house)
    soakage = judged.behaviour.wells[0].soakage_full_m3_s
    mound = _mound(judged)
    assert soakage / mound.footprint_m2 <= mound.vertical_m_s * (1 + 1e-9)


def test_a_second_well_beside_raises_the_first_ones_mound(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["runs"] = {"P1": {"from": "D2", "to": "W2"}, "P2": {"from": "D1", "to": "W1"}}
    rises = []
    for at in (["45 ft", "103 ft"], ["45 ft", "1000 ft"]):
        house["wells"]["W2"] = {"at": at}
        rises.append(_mound(judged_of(house, bodies=1, whole=True)).rise_m)
    assert rises[0] > rises[1] > 0


def test_a_mound_that_reaches_the_well_holds_its_storms_back(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The high water is raised until the mound of the storm reaches the bottom: nothing before, then more storage."""
    house["soil"] |= GIVEN
    free = judged_of(house)
    bottom = free.scheme.wells[0].bottom_m
    rise = _mound(free).rise_m
    needs = []
    for room in (rise * 1.02, rise * 0.8, rise * 0.3):
        house["soil"]["seasonal_high_water"] = f"{(bottom - room) / FT:.6f} ft"
        judged = judged_of(house)
        needs.append(_finding(judged, "storm-held").value)
        assert _finding(judged, "mound-below-well").verdict == ("fails" if room < rise else "close")
    assert needs[0] == pytest.approx(_finding(free, "storm-held").value, rel=1e-9)
    assert needs[0] * (1 - 1e-9) <= needs[1] < needs[2]


def test_what_is_not_met_with_assumed_figures_is_unknown(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"]["seasonal_high_water"] = "91 ft"
    found = _finding(judged_of(house), "mound-below-well")
    assert found.verdict == "unknown"
    assert {m.leaf for m in found.missing} == {f"soil.{key}" for key in GIVEN}
    house["soil"] |= GIVEN
    assert _finding(judged_of(house), "mound-below-well").verdict == "fails"


def test_without_a_high_water_the_rise_is_told_and_the_answer_is_unknown(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"].pop("seasonal_high_water")
    found = _finding(judged_of(house), "mound-below-well")
    assert found.verdict == "unknown"
    assert "soil.seasonal_high_water" in {m.leaf for m in found.missing}
    assert "raises the groundwater" in found.sentence


def test_soil_that_takes_nothing_has_no_mound(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["soil"].pop("rate")
    house["soil"]["auger_tests"] = [
        {
            "id": "A1", "hole_depth": "72 in", "hole_diameter": "4 in",
            "readings": [{"water_start": "42 in", "water_end": "42 in", "time": "30 min"}],
        }
    ]  # fmt: skip
    judged = judged_of(house)
    assert judged.behaviour.wells[0].mound is None


def test_an_unknown_floor_is_asked_for_only_where_the_rise_is_felt(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"] |= GIVEN
    house["buildings"]["H1"]["basement"] = True
    assert _finding(judged_of(house), "mound-at-wall").verdict == "good"
    house["soil"]["specific_yield"] = "2 %"
    found = _finding(judged_of(house), "mound-at-wall")
    assert found.verdict == "unknown"
    assert [m.leaf for m in found.missing] == ["buildings.lowest_floor"]


def test_weep_holes_or_weight_hold_a_basin_down(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["soil"]["seasonal_high_water"] = "96.5 ft"
    assert _finding(judged_of(house), "uplift").verdict == "fails"
    basin = {"at": ["38 ft", "82 ft"], "shape": "round", "diameter": "18 in"}
    house["basins"] = {"B1": {**basin, "weight": "600 lb"}}
    assert _finding(judged_of(house), "uplift").verdict == "good"
    house["basins"] = {"B1": {**basin, "weep_holes": 4, "weep_hole_diameter": "3/8 in"}}
    found = _finding(judged_of(house), "uplift")
    assert found.verdict == "good"
    assert "fills" in found.sentence


def test_the_search_works_out_no_mound(house: Document, judged_of: Callable[..., Judged]) -> None:
    judged = judged_of(house, whole=False)
    assert judged.behaviour.wells[0].mound is None
    assert judged.behaviour.lifts == ()
    assert math.isfinite(judged.behaviour.wells[0].drain_time_s)


def test_a_mound_that_reaches_the_well_makes_the_record_spill_more(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["soil"] |= GIVEN
    small = {"bodies": 1, "diameter": "24 in", "height": "36 in", "around": "18 in", "record": True}
    free = judged_of(house, **small)
    mound = _mound(free)
    assert mound.record_m is not None
    assert mound.month_m is not None
    assert 0 < mound.month_m <= mound.record_m
    bottom = free.scheme.wells[0].bottom_m
    house["soil"]["seasonal_high_water"] = f"{(bottom - 0.5 * mound.record_m) / FT:.6f} ft"
    held = judged_of(house, **small)
    told, before, after = _mound(held).held, free.behaviour.wells[0].record, held.behaviour.wells[0].record
    assert told is not None
    assert before is not None
    assert after is not None
    assert told.spills_year_without == pytest.approx(before.spills_year)
    assert told.spill_change < 0.001
    assert after.spilled_m3_year > before.spilled_m3_year
    assert "held back" in _finding(held, "mound-below-well").sentence
