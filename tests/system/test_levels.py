"""Water levels and the coarse rain table: what stands where when the well is full."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from roofwell.design import Design
from roofwell.design.judging import Judged

Document = dict[str, Any]
FT = 0.3048


def test_a_full_well_stands_level_back_into_the_pipes(small_house: Design) -> None:
    """Still water is flat: at each part it stands at the lip, or the part lies dry above it."""
    lip = small_house.scheme.overflows[0].lip_m
    for level in small_house.behaviour.levels:
        bottom = small_house.scheme.run_from(level.id).upstream_invert_m
        assert level.still_m == pytest.approx(max(lip, bottom), abs=1e-12)


def test_a_high_lip_drowns_the_basin_to_the_same_level(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["overflows"]["O1"]["lip"] = "98.5 ft"
    judged = judged_of(house)
    inverts = [run.upstream_invert_m for run in judged.scheme.runs]
    assert max(inverts) < 98.5 * FT
    assert [level.still_m for level in judged.behaviour.levels] == pytest.approx(
        [98.5 * FT] * len(judged.behaviour.levels), abs=1e-9
    )


def test_running_water_never_stands_lower_than_still_water_and_rises_upstream(small_house: Design) -> None:
    levels = {level.id: level for level in small_house.behaviour.levels}
    for level in levels.values():
        assert level.peak_m >= level.still_m - 1e-12
    for run in small_house.behaviour.runs:
        assert run.level_up_m >= run.level_down_m - 1e-12


def test_the_head_over_the_lip_comes_on_top(small_house: Design) -> None:
    well = small_house.behaviour.wells[0]
    assert well.head_over_lip_m > 0
    last = small_house.scheme.runs_to("W1")[0]
    down = small_house.behaviour.run(last.id).level_down_m
    assert down >= small_house.scheme.wells[0].lip_m + well.head_over_lip_m - 1e-9


def test_a_table_that_begins_at_seven_minutes_still_gives_design_storms(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Never a rain shorter than the table's; every storm a whole number of steps; the day among them."""
    house["rain"]["depths"] = [
        {"duration": "7 min", "return_period": "10 yr", "depth": "0.65 in"},
        {"duration": "1 h", "return_period": "10 yr", "depth": "1.86 in"},
        {"duration": "24 h", "return_period": "10 yr", "depth": "4.0 in"},
    ]
    judged = judged_of(house)
    (well,) = judged.behaviour.wells
    durations = [storm.duration_s for storm in well.storms]
    assert 86400.0 in durations
    assert 3600.0 in durations
    assert min(durations) >= 420.0
    longest = well.storms[durations.index(86400.0)]
    assert longest.rain_m == pytest.approx(4.0 * 0.0254, rel=1e-9)
    assert longest.peak_intensity_m_s <= 0.65 * 0.0254 / 420 * (1 + 1e-9)
    assert judged.behaviour.cloudburst_duration_s == 420.0
    assert judged.behaviour.intensity_m_s == pytest.approx(0.65 * 0.0254 / 420, rel=1e-9)
    first = judged.answers[0]
    assert "for 7 min" in first.sentence


@pytest.mark.parametrize(("nominal", "inside_in"), [("4 in", None), ("5 in", 5.0)])
def test_a_size_that_the_trade_table_lacks_is_not_taken_for_its_neighbor(
    nominal: str, inside_in: float | None, house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["runs"] = {"P1": {"from": "D1", "to": "W1", "nominal": nominal}}
    run = next(run for run in judged_of(house).scheme.runs if run.id == "P1")
    if inside_in is None:
        assert abs(run.inside_diameter_m / 0.0254 - 4.0) < 0.2  # the trade's own 4 in pipe
    else:
        assert run.inside_diameter_m == pytest.approx(inside_in * 0.0254)
    assert run.outside_diameter_m > run.inside_diameter_m


def test_stone_is_chosen_so_that_it_stays_outside_the_body(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """No. 57 stone (D85 21 mm) stays out of 1/2 in holes; 1 in holes need a coarser one."""
    assert judged_of(house).scheme.wells[0].stone == "57"
    house["wells"]["W1"]["hole_diameter"] = "1 in"
    judged = judged_of(house)
    assert judged.scheme.wells[0].stone == "4"
    assert next(f for f in judged.findings if f.code == "stone-over-hole").verdict in ("good", "close")
    house["wells"]["W1"]["stone"] = "57"
    given = judged_of(house)
    assert given.scheme.wells[0].stone == "57"
    assert next(f for f in given.findings if f.code == "stone-over-hole").verdict == "fails"


def test_a_well_that_takes_an_overflow_lets_go_of_both_waters(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """By hand: what leaves W2 = its own water + what leaves W1 - what W2 soaks away full."""
    house["wells"]["W2"] = {"at": ["56 ft", "100 ft"]}
    house["overflows"]["O1"] |= {"to": "W2"}
    house["overflows"]["O2"] = {"of": "W2", "destination": "over the back lawn", "lip": "97.4 ft"}
    judged = judged_of(house)
    first, second = (judged.behaviour.well(id) for id in ("W1", "W2"))
    own = sum(judged.behaviour.run(run.id).peak_m3_s for run in judged.scheme.runs_to("W2"))
    assert first.overflow_peak_m3_s > 0
    assert second.overflow_peak_m3_s == pytest.approx(
        own + first.overflow_peak_m3_s - second.soakage_full_m3_s, rel=1e-12
    )
    sizes = {o.id: o.diameter_m for o in judged.scheme.overflows}
    assert sizes["O2"] >= sizes["O1"]
