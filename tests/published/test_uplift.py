"""Uplift of an empty box by hand: B1 and section 7.3 of our reference sheet (first principles; convention seen)."""

from __future__ import annotations

import math

import pytest

from roofwell.errors import InputError
from roofwell.physics.well.uplift import uplift

FT, LB = 0.3048, 0.45359237
PCF = LB / FT**3
BOX = {
    "plan_area_m2": 16 * FT**2, "height_m": 4 * FT, "own_mass_kg": 100 * LB, "cover_m": 2 * FT,
    "cover_density_kg_m3": 110 * PCF,
}  # fmt: skip


@pytest.mark.parametrize(("water_ft", "safety"), [(1, 3.63), (2, 1.81), (4, 0.906)])
def test_box_of_four_feet(water_ft: float, safety: float) -> None:
    """4 x 4 x 4 ft, 100 lb, 2 ft of cover at 110 pcf (3,520 lb)."""
    found = uplift(**BOX, water_over_base_m=water_ft * FT)
    assert found.safety == pytest.approx(safety, rel=0.005)
    assert found.resisting_kg / LB == pytest.approx(3620, rel=0.005)


def test_water_at_the_top_of_the_box() -> None:
    found = uplift(**BOX, water_over_base_m=4 * FT)
    assert found.uplift_kg / LB == pytest.approx(3994, rel=0.005)


def test_water_at_grade_makes_the_cover_lighter() -> None:
    """Soaked cover at 125 pcf less the water's 62.4: safety 0.527."""
    found = uplift(**BOX, water_over_base_m=6 * FT, cover_saturated_density_kg_m3=125 * PCF)
    assert found.safety == pytest.approx(0.527, rel=0.005)
    with pytest.raises(InputError, match="pores full"):
        uplift(**BOX, water_over_base_m=6 * FT)


def test_cover_that_holds_with_a_safety_of_1_2() -> None:
    """2.67 ft of cover."""
    held = uplift(**{**BOX, "cover_m": 2.67 * FT}, water_over_base_m=4 * FT)
    assert held.safety == pytest.approx(1.2, rel=0.005)


def test_settling_basin_and_slab() -> None:
    """1.5 ft wide, 2 ft under water: uplift 220.5 lb; its 20 lb and a slab of 394.2 lb in water hold it 1.88 times."""
    basin = uplift(
        plan_area_m2=math.pi * 0.75**2 * FT**2,
        height_m=3 * FT,
        water_over_base_m=2 * FT,
        own_mass_kg=(20 + 394.2) * LB,
    )
    assert basin.uplift_kg / LB == pytest.approx(220.5, rel=0.005)
    assert basin.safety == pytest.approx(1.88, rel=0.005)


def test_nothing_lifts_what_fills_or_stands_dry() -> None:
    for change in (
        {"water_over_base_m": 3 * FT, "fills": True},
        {"water_over_base_m": -0.1},
        {"water_over_base_m": 0.0},
    ):
        assert math.isinf(uplift(**BOX, **change).safety)


@pytest.mark.parametrize(
    "wrong",
    [
        {"plan_area_m2": 0.0},
        {"height_m": -1.0},
        {"own_mass_kg": -1.0},
        {"cover_m": math.nan},
        {"water_over_base_m": math.nan},
    ],
)
def test_nonsense_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(InputError) as caught:
        uplift(**{**BOX, "water_over_base_m": 1.0, **wrong})
    assert caught.value.code == "uplift-number"
