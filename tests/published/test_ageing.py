"""Sediment in a well against what was seen in the field: a range to lie in, no more. Reference sheet, infiltration 8.

Loads are reckoned from published concentrations; where a size of the place is recalled it says so.
"""

from __future__ import annotations

import numpy as np
import pytest

from roofwell.physics.well.ageing import Bed, aged_curve
from roofwell.physics.well.soakage import soakage_curve
from roofwell.physics.well.storage import Layer
from roofwell.tables.ageing import figure

DENSITY_KG_M3 = 1200.0  # reference sheet, infiltration 8.3: 1.2 kg/L as it lies
LOW, BEST, HIGH = figure("silt-conductivity")


def _aged(layers: tuple[Layer, ...], rate_m_s: float, silt_m3: float, conductivity_m_s: float):
    curve = soakage_curve(layers, rate_m_s, "bottom and sides", full_depth_m=layers[-1].top_m)
    return curve, aged_curve(
        curve,
        layers=layers,
        bed=Bed(silt_m3, silt_m3),
        conductivity_m_s=conductivity_m_s,
        through_floor="its own",
    )


def test_yearly_load_of_a_roof() -> None:
    """Sheet 8.3: 2,000 sq ft, 40 in a year, 0.9, 10 mg/L: 1.70 kg a year; at 1.2 kg/L 1.4 L; on 36 sq ft 0.42 mm a year."""
    load_kg = 2000 * 0.09290304 * 40 * 0.0254 * 0.9 * 10e-3
    assert load_kg == pytest.approx(1.70, abs=0.005)
    floor = (Layer(0.0, 1.0, 36 * 0.09290304, 24 * 0.3048, 0.0, 1.0),)
    aged = _aged(floor, 1e-6, load_kg / DENSITY_KG_M3, BEST)[1]
    assert aged.lost_m3 * 1000 == pytest.approx(1.4, abs=0.05)
    assert aged.sealed_m * 1000 == pytest.approx(0.42, abs=0.005)


def test_an_undersized_trench_loses_its_bottom_in_three_years_and_keeps_its_sides() -> None:
    """Emerson, Wadzuk and Traver 2010 (abstract seen): bottom negligible, sides active over three years; 36 % of the
    solids were kept. Ratio of areas 160 to 1 and 1.1 m of rain a year from memory; 75 mg/L commercial land (sheet 8.3)."""
    layers = (Layer(0.0, 1.5, 10.0, 14.0, 0.0, 0.4),)
    silt = 3 * 160 * 10.0 * 1.1 * 0.075 * 0.36 / DENSITY_KG_M3
    new, best = _aged(layers, 1e-5, silt, BEST)
    _, hard = _aged(layers, 1e-5, silt, LOW)
    floor = 10.0 * 1e-5
    assert best.floor_at_m3_s(0.75) / floor < 0.15 and hard.floor_at_m3_s(0.75) / floor < 0.02
    walls = np.interp(1.5, best.depth_m, best.below_m3_s) - best.floor_at_m3_s(1.5)
    assert walls / (float(new[2][-1]) - floor) > 0.95


def test_after_fifteen_years_a_trench_is_slower_and_not_dead() -> None:
    """Bergman and others 2011 (abstract seen): infiltration lower after 15 years (p < 0.01), the trenches still at work;
    2e-6 m/s from Warnaars and others 1999 (abstract seen). 300 m² on 16 m by 0.8 m by 0.8 m of stone and 0.6 m of rain a
    year from memory; 20 mg/L, the upper end of ordinary roofs (sheet, materials 1.4)."""
    layers = (Layer(0.0, 0.8, 12.8, 33.6, 0.0, 0.4),)
    silt = 15 * 300 * 0.6 * 0.020 / DENSITY_KG_M3
    shares = []
    for conductivity in (HIGH, BEST, LOW):
        new, aged = _aged(layers, 2e-6, silt, conductivity)
        half = float(np.interp(0.4, [0.0, 0.8], [new[1][0], new[2][-1]]))
        shares.append(float(np.interp(0.4, aged.depth_m, aged.below_m3_s)) / half)
    mild, best, hard = shares
    assert 0.5 < hard < best < mild < 1.0


def test_the_conductivity_of_silt_lies_within_kozeny_and_carman() -> None:
    """Kozeny-Carman, K = g/nu d² n³/(180 (1-n)²) (from memory), porosity 0.5, water of 10 C: grains of 2 µm to 10 µm,
    which is what clogs (below 6 µm: Siriwardene and others 2007, abstract seen), 8e-8 to 2e-6 m/s."""

    def kozeny(grain_m: float) -> float:
        return 9.81 / 1.3e-6 * grain_m**2 * 0.5**3 / (180 * 0.5**2)

    assert kozeny(1e-6) < BEST < kozeny(6e-6)
    assert kozeny(2e-6) < HIGH < kozeny(10e-6)
    assert kozeny(1e-6) > LOW  # organic slime makes it tighter than grains alone: an own choice
