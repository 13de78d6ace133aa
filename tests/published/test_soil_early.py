"""Green-Ampt and Philip against textbook examples: ids G1 to G9 and the Philip check of the project's reference sheet.

Marks there: G1 to G3 from memory (Chow, Maidment and Mays 1988, examples 4.3.1, 5.4.1, 5.4.2), G6 seen (a teaching
spreadsheet), G7 and G8 problem seen, answers derived (an open hydrology text, problem set 6.5), G9 derived.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp

from roofwell.errors import InputError
from roofwell.physics.soil.early import (
    DrySoil,
    early_gain_m,
    green_ampt_depth_m,
    green_ampt_rate_m_s,
    philip_depth_m,
    ponding,
    sorptivity_m_s05,
)

CM, HOUR = 0.01, 3600.0
CM_H = CM / HOUR

SILT_LOAM = DrySoil(conductivity_m_s=0.65 * CM_H, suction_m=16.7 * CM, deficit=0.340)
SILTY_CLAY = DrySoil(conductivity_m_s=0.05 * CM_H, suction_m=29.22 * CM, deficit=0.423 * (1 - 0.45))
OPEN_TEXT = DrySoil(conductivity_m_s=0.65 * CM_H, suction_m=17 * CM, deficit=0.49 - 0.15)


def test_ponded_for_an_hour():
    """G1: F 3.17 cm, f 1.81 cm/h (unrounded 3.166, 1.816)."""
    depth = green_ampt_depth_m(SILT_LOAM, time_s=HOUR)
    assert depth / CM == pytest.approx(3.17, abs=0.01)
    assert depth / CM == pytest.approx(3.166, abs=0.001)
    assert green_ampt_rate_m_s(SILT_LOAM, depth_m=depth) / CM_H == pytest.approx(1.81, abs=0.01)


@pytest.mark.parametrize(("rain", "hours", "depth"), [(1, 10.5, 10.545), (5, 0.1697, 0.848)])
def test_when_water_begins_to_stand(rain, hours, depth):
    """G2: tp 10.5 h and 0.17 h; Fp 10.5 and 0.85 cm (10.545; 0.1697; 0.848)."""
    time, gone_in = ponding(SILT_LOAM, rain_m_s=rain * CM_H)
    assert time / HOUR == pytest.approx(hours, rel=0.005)
    assert gone_in / CM == pytest.approx(depth, rel=0.005)


def test_after_it_has_begun_to_stand():
    """G3: i 5 cm/h, t 1 h: F 3.02 cm, f 1.87 cm/h."""
    time, gone_in = ponding(SILT_LOAM, rain_m_s=5 * CM_H)
    depth = green_ampt_depth_m(SILT_LOAM, time_s=HOUR - time, from_depth_m=gone_in)
    assert depth / CM == pytest.approx(3.02, abs=0.01)
    assert green_ampt_rate_m_s(SILT_LOAM, depth_m=depth) / CM_H == pytest.approx(1.87, abs=0.01)


@pytest.mark.parametrize(("hours", "depth", "rate"), [(0.1, 0.264, 1.337), (0.2, 0.375, 0.955)])
def test_short_times(hours, depth, rate):
    """G6: psi dtheta 6.798 cm; F(0.1 h) 0.264, f 1.337; F(0.2 h) 0.375, f 0.955."""
    assert SILTY_CLAY.scale_m() / CM == pytest.approx(6.798, abs=0.001)
    found = green_ampt_depth_m(SILTY_CLAY, time_s=hours * HOUR)
    assert found / CM == pytest.approx(depth, abs=0.001)
    assert green_ampt_rate_m_s(SILTY_CLAY, depth_m=found) / CM_H == pytest.approx(rate, abs=0.002)


def test_with_water_standing_over_it():
    """G7: H0 2.5 cm, front at 30 cm: f 1.0725 cm/h, F 10.2 cm, t 6.190 h."""
    depth = 30 * CM * OPEN_TEXT.deficit
    assert depth / CM == pytest.approx(10.2, rel=1e-3)
    rate = green_ampt_rate_m_s(OPEN_TEXT, depth_m=depth, ponded_m=2.5 * CM)
    assert rate / CM_H == pytest.approx(1.0725, rel=1e-3)
    found = green_ampt_depth_m(OPEN_TEXT, time_s=6.190 * HOUR, ponded_m=2.5 * CM)
    assert found / CM == pytest.approx(10.2, rel=1e-3)


@pytest.mark.parametrize(
    ("conductivity", "front", "depth", "hours"), [(0.65, 13.0, 4.42, 2.947), (0.325, 4.70, 1.599, 1.066)]
)
def test_ponding_under_steady_rain(conductivity, front, depth, hours):
    """G8: i 1.5 cm/h: front 13.0 cm, 4.42 cm, 2.947 h; with K 0.325: 4.70 cm, 1.599 cm, 1.066 h."""
    soil = DrySoil(
        conductivity_m_s=conductivity * CM_H, suction_m=OPEN_TEXT.suction_m, deficit=OPEN_TEXT.deficit
    )
    time, gone_in = ponding(soil, rain_m_s=1.5 * CM_H)
    assert gone_in / soil.deficit / CM == pytest.approx(front, rel=1e-3)
    assert gone_in / CM == pytest.approx(depth, rel=1e-3)
    assert time / HOUR == pytest.approx(hours, rel=1e-3)


def test_sorptivity_is_the_early_law():
    """G9: K 0.65, psi dtheta 5.675 cm: S 2.716 cm/h^0.5; at 0.01 h Green-Ampt 0.27597, S sqrt(t) + 2 K t / 3 0.27595."""
    soil = DrySoil(conductivity_m_s=0.65 * CM_H, suction_m=5.675 * CM / 0.34, deficit=0.34)
    sorptivity = sorptivity_m_s05(soil)
    assert sorptivity / CM * math.sqrt(HOUR) == pytest.approx(2.716, abs=1e-3)
    exact = green_ampt_depth_m(soil, time_s=0.01 * HOUR)
    early = philip_depth_m(
        sorptivity_m_s05=sorptivity, steady_m_s=2 * soil.conductivity_m_s / 3, time_s=0.01 * HOUR
    )
    assert exact / CM == pytest.approx(0.27597, abs=1e-5)
    assert early / CM == pytest.approx(0.27595, abs=1e-5)


def test_philip_two_terms():
    """Section 3: S 1.2, A 0.4, t 4: I 4.0."""
    assert philip_depth_m(sorptivity_m_s05=1.2, steady_m_s=0.4, time_s=4.0) == pytest.approx(4.0)


# Section 3, reference set (derived): Se 0.30, no ponded depth; K cm/h, psi cm, theta_e; F(1 h), F(24 h) cm.
TEXTURES = [
    ("sand", 11.78, 4.95, 0.417, 15.32, 290.4),
    ("loamy sand", 2.99, 6.13, 0.401, 5.445, 78.37),
    ("sandy loam", 1.09, 11.01, 0.412, 3.403, 33.97),
    ("loam", 0.34, 8.89, 0.434, 1.591, 12.90),
    ("silt loam", 0.65, 16.68, 0.486, 3.166, 25.21),
    ("clay", 0.03, 31.63, 0.385, 0.735, 3.999),
]


@pytest.mark.parametrize("row", TEXTURES, ids=lambda row: row[0])
def test_the_reference_set_of_textures(row):
    _, conductivity, suction, effective, hour, day = row
    soil = DrySoil(conductivity_m_s=conductivity * CM_H, suction_m=suction * CM, deficit=0.7 * effective)
    assert green_ampt_depth_m(soil, time_s=HOUR) / CM == pytest.approx(hour, rel=1e-3)
    assert green_ampt_depth_m(soil, time_s=24 * HOUR) / CM == pytest.approx(day, rel=1e-3)


def test_the_gain_is_what_the_differential_equation_gives():
    """dF/dt = K (1 + S/F) by scipy from a small start, for a long while with water standing."""
    start = green_ampt_depth_m(SILT_LOAM, time_s=1.0, ponded_m=0.5)
    solved = solve_ivp(
        lambda _, f: SILT_LOAM.conductivity_m_s * (1 + SILT_LOAM.scale_m(0.5) / f),
        (1.0, 48 * HOUR),
        [start],
        rtol=1e-10,
        atol=1e-12,
    )
    gain = float(solved.y[0, -1]) - SILT_LOAM.conductivity_m_s * 48 * HOUR
    assert early_gain_m(SILT_LOAM, time_s=48 * HOUR, ponded_m=0.5) == pytest.approx(gain, rel=1e-6)
    wet = DrySoil(conductivity_m_s=1e-6, suction_m=0.1, deficit=0.0)
    assert early_gain_m(wet, time_s=HOUR) == 0.0


def test_what_cannot_be_is_refused():
    with pytest.raises(InputError):
        DrySoil(conductivity_m_s=0.0, suction_m=0.1, deficit=0.3)
    with pytest.raises(InputError):
        DrySoil(conductivity_m_s=1e-6, suction_m=0.1, deficit=1.3)
    with pytest.raises(InputError):
        green_ampt_depth_m(SILT_LOAM, time_s=-1.0)
    assert ponding(SILT_LOAM, rain_m_s=0.5 * CM_H) == (math.inf, math.inf)
