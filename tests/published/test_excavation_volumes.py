"""Digging figures against the reference sheet's E rows; ids as there."""

from __future__ import annotations

import math

import pytest

from roofwell import tables
from roofwell.physics.trench import excavation as dig

FT = 0.3048
CUFT = FT**3
CUYD = 27 * CUFT
TON_LB = 2000
PIT = {"diameter_m": 4 * FT, "depth_m": 5 * FT}


def test_pit_volume():
    """E01, geometry: 62.83 cu ft, 2.327 bank cu yd."""
    volume = dig.round_pit_volume_m3(**PIT)
    assert volume / CUFT == pytest.approx(62.83, rel=1e-3)
    assert volume / CUYD == pytest.approx(2.327, rel=1e-3)


@pytest.mark.parametrize(("swell", "loose"), [(0.12, 2.61), (0.25, 2.909), (0.40, 3.26), (0.65, 3.84)])
def test_loose_volume_of_the_pit(swell, loose):
    """E02 and sheet 4.2: swell table of earthmoving texts (second-hand)."""
    volume = dig.loose_volume_m3(bank_m3=dig.round_pit_volume_m3(**PIT), swell=swell)
    assert volume / CUYD == pytest.approx(loose, abs=0.005)


@pytest.mark.parametrize(
    ("soil", "factor"),
    [("sand", 0.893), ("loam", 0.800), ("clay", 0.714), ("hardpan", 0.667), ("blasted rock", 0.606)],
)
def test_load_factors_of_the_swell_table(soil, factor):
    """E03 and sheet 4.1."""
    row = next(row for row in tables.rows("swell") if row["soil"] == soil)
    assert dig.load_factor(float(row["swell"].rstrip(" %")) / 100) == pytest.approx(factor, abs=1e-3)


@pytest.mark.parametrize(("lb_per_cuyd", "tons"), [(2100, 3.05), (3000, 4.36)])
def test_spoil_weight(lb_per_cuyd, tons):
    """E04: California waste agency's weights (seen)."""
    loose = dig.loose_volume_m3(bank_m3=dig.round_pit_volume_m3(**PIT), swell=0.25)
    weight_lb = dig.weight_kg(volume_m3=loose, density_kg_m3=lb_per_cuyd / CUYD)
    assert weight_lb / TON_LB == pytest.approx(tons, rel=0.005)


@pytest.mark.parametrize(("width_in", "bank_cuyd"), [(6, 1.481), (8, 1.975), (12, 2.963), (20.215, 4.991)])
def test_trench_volumes(width_in, bank_cuyd):
    """E05 and sheet 4.2: 40 ft of trench, 24 in deep."""
    volume = dig.trench_volume_m3(width_m=width_in / 12 * FT, mean_depth_m=2 * FT, length_m=40 * FT)
    assert volume / CUYD == pytest.approx(bank_cuyd, rel=1e-3)


def _hand_rate(work: str, soil: str) -> float:
    return float(
        next(
            row["best_m3_h"]
            for row in tables.rows("digging_rate")
            if (row["work"], row["soil"], row["depth_from"]) == (work, soil, "0 m")
        )
    )


@pytest.mark.parametrize(("soil", "person_hours"), [("firm", 4.14), ("clay", 5.08)])
def test_pit_by_hand(soil, person_hours):
    """E06: rates of a project-controls guild (seen)."""
    hours = dig.hours(bank_m3=dig.round_pit_volume_m3(**PIT), rate_m3_h=_hand_rate("hand pit", soil))
    assert hours == pytest.approx(person_hours, rel=0.01)


def test_trench_by_hand():
    """E07: 8 in x 24 in x 40 ft in firm soil, 2.65 person-hours."""
    volume = dig.trench_volume_m3(width_m=8 / 12 * FT, mean_depth_m=2 * FT, length_m=40 * FT)
    assert dig.hours(bank_m3=volume, rate_m3_h=_hand_rate("hand trench", "firm")) == pytest.approx(
        2.65, rel=0.01
    )


@pytest.mark.parametrize(
    ("inches", "feet", "cuft"), [(24, 5, 15.71), (12, 5, 3.93), (18, 5, 8.84), (30, 5, 24.54), (36, 6, 42.41)]
)
def test_auger_holes(inches, feet, cuft):
    """E08 and sheet 4.3, geometry."""
    volume = dig.round_pit_volume_m3(diameter_m=inches / 12 * FT, depth_m=feet * FT)
    assert volume / CUFT == pytest.approx(cuft, abs=0.005)


@pytest.mark.parametrize(("loose_cuyd", "radius_ft"), [(1, 3.33), (3, 4.80), (5, 5.69)])
def test_spoil_cone(loose_cuyd, radius_ft):
    """E09: cone at 35 degrees (angle common practice)."""
    cone = dig.spoil_cone(loose_m3=loose_cuyd * CUYD, angle_rad=math.radians(35))
    assert cone.radius_m / FT == pytest.approx(radius_ft, rel=0.005)


def test_spoil_cone_height():
    """E09: 3 loose cu yd stand 3.36 ft high."""
    assert dig.spoil_cone(loose_m3=3 * CUYD, angle_rad=math.radians(35)).height_m / FT == pytest.approx(
        3.36, rel=0.005
    )


def test_topsoil():
    """E10: 1,000 sq ft at 4 in is 12.35 cu yd."""
    volume = dig.box_pit_volume_m3(length_m=100 * FT, width_m=10 * FT, depth_m=FT / 3)
    assert volume / CUYD == pytest.approx(12.35, rel=1e-3)


@pytest.mark.parametrize(("run_per_rise", "top_ft"), [(0.75, 11), (1.0, 14), (1.5, 20)])
def test_top_width_of_a_sloped_cut(run_per_rise, top_ft):
    """Sheet 6.1 after 29 CFR 1926 subpart P: 6 ft deep, 2 ft bottom, soil A, B, C."""
    top = dig.sloped_top_width_m(bottom_m=2 * FT, depth_m=6 * FT, run_per_rise=run_per_rise)
    assert top / FT == pytest.approx(top_ft)


def test_spoil_of_a_stone_pit():
    """The trade's own figure: 6 x 10 x 5 ft is 11.1 bank and 14.4 loose cu yd at 30 % swell."""
    bank = dig.box_pit_volume_m3(length_m=10 * FT, width_m=6 * FT, depth_m=5 * FT)
    haul = dig.haul(bank_m3=bank, swell=0.30, backfilled_bank_m3=0.0)
    assert haul.bank_m3 / CUYD == pytest.approx(11.1, abs=0.05)
    assert haul.leaves_m3 / CUYD == pytest.approx(14.4, abs=0.05)
