"""Constant-head holes, falling heads and rings against published field sheets and forms.

Ids T12 to T19 are those of the project's reference sheet, with its marks: "seen" read in the source, "from memory"
recalled, "derived" worked by hand from the form.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp

from roofwell.physics.soil import infiltration as soil
from roofwell.physics.soil import permeameter

INCH = 0.0254
IN_H = INCH / 3600
CM = 0.01


@pytest.mark.parametrize(
    ("head_over_radius", "bracket"), [(10 / 3, 1.17487), (6, 1.64465), (10, 2.09324)], ids=["3.3", "6", "10"]
)
def test_glover_bracket(head_over_radius, bracket):
    """T16: USBR 7300-89, condition I (from memory)."""
    assert permeameter.glover_bracket(head_over_radius) == pytest.approx(bracket, abs=1e-4)


def test_glover_deep_and_shallow_water_table():
    """T17: Q 1, H 1.0, r 0.10: K 0.33315 deep, 0.43976 with the water table 2.0 below the water (from memory)."""
    hole = {"flow_m3_s": 1.0, "head_m": 1.0, "radius_m": 0.10}
    assert permeameter.glover_conductivity_m_s(**hole) == pytest.approx(0.33315, abs=1e-4)
    assert permeameter.glover_conductivity_m_s(**hole, water_table_m=2.0) == pytest.approx(0.43976, abs=1e-4)


def test_single_head_permeameter():
    """T15: Q 1 cm3/s, H 15 cm, a 3 cm, alpha* 0.12/cm: 7.421e-4 cm/s = 1.0518 in/h (derived with T12)."""
    k = permeameter.well_conductivity_m_s(
        flow_m3_s=1e-6, head_m=15 * CM, radius_m=3 * CM, alpha_star_per_m=12
    )
    assert k / CM == pytest.approx(7.421e-4, rel=0.005)
    assert k / IN_H == pytest.approx(1.0518, rel=0.005)


def test_elrick_reynolds_and_glover_in_a_slender_hole():
    """Reference sheet 1.3: Q 1, H 1, H/r 10 without capillarity: 0.3893 against 0.3331."""
    k = permeameter.well_conductivity_m_s(flow_m3_s=1.0, head_m=1.0, radius_m=0.1, alpha_star_per_m=1e9)
    assert k == pytest.approx(0.3893, abs=2e-4)


FIELD = {"radius_m": 3 * CM, "heads_m": (5 * CM, 10 * CM), "alpha_star_per_m": 12.0}


def _sheet(x_cm2: float, r1_cm_min: float, r2_cm_min: float) -> tuple[float, float]:
    return tuple(x_cm2 * r / 60 * 1e-6 for r in (r1_cm_min, r2_cm_min))  # type: ignore[return-value]


def test_two_heads_of_a_field_sheet():
    """T13: the sheet prints X (6.8e-5 R2 - 9.0e-5 R1) in cm/s (seen), from a chart's C of 0.80 and 1.20: each constant
    by itself, within the 5 % that chart and fits differ.
    """
    second = permeameter.two_heads(flows_m3_s=_sheet(1, 0, 1), **FIELD).conductivity_m_s / CM
    first = permeameter.two_heads(flows_m3_s=_sheet(1, 1, 0), **FIELD).conductivity_m_s / CM
    assert second == pytest.approx(6.8e-5, rel=0.05)
    assert first == pytest.approx(-9.0e-5, rel=0.05)


@pytest.mark.xfail(
    strict=True, reason="chart and fits differ by 3 %; in the difference of two flows that is 12 %"
)
def test_two_heads_of_a_worked_sheet():
    """T14: X 35 cm2, falls 0.20 and 0.45 cm/min by the sheet's constants: Kfs 4.41e-4 cm/s."""
    found = permeameter.two_heads(flows_m3_s=_sheet(35, 0.20, 0.45), **FIELD)
    assert found.conductivity_m_s / CM == pytest.approx(4.41e-4, rel=0.05)


@pytest.mark.parametrize(("x", "r1", "r2"), [(35, 0.20, 0.45), (35, 0.3, 0.6), (2.2, 1.0, 2.0)])
def test_two_heads_by_constants_worked_from_the_fits(x, r1, r2):
    """Reference sheet 1.3: G2 0.00422 and G1 0.00526 per cm² (derived): K = G2 Q2 - G1 Q1, to the printed digits."""
    q1, q2 = _sheet(x, r1, r2)
    k = permeameter.two_heads(flows_m3_s=(q1, q2), **FIELD).conductivity_m_s
    worst = 0.5e-5 * (q1 + q2) / CM**2  # half of the last printed digit of both constants
    assert k == pytest.approx((0.00422 * q2 - 0.00526 * q1) / CM**2, abs=worst)


def test_two_heads_of_a_layered_soil_are_not_sensible():
    """A higher head that takes hardly more than the lower one has a negative conductivity: said, not returned."""
    found = permeameter.two_heads(flows_m3_s=(1e-6, 1.05e-6), **FIELD)
    assert not found.sensible
    assert math.isnan(found.alpha_star_per_m)


@pytest.mark.parametrize(("alpha", "in_h"), [(36, 0.528), (12, 0.412), (4, 0.257)])
def test_a_short_fall_is_the_percolation_time_form(alpha, in_h):
    """T19: 10 min/in at r 3 in, H 6 in: a short fall about that depth gives the Ontario guide's figure (seen form;
    0.257 for fine soil, see test_soil_infiltration_tests).
    """
    k = permeameter.falling_conductivity_m_s(
        radius_m=3 * INCH,
        water_start_m=6.05 * INCH,
        water_end_m=5.95 * INCH,
        time_s=60,
        alpha_star_per_m=alpha,
    )
    assert k / IN_H == pytest.approx(in_h, rel=0.01)


def test_a_long_fall_against_a_solver():
    """The water of a hole of known conductivity, followed by scipy's ODE solver, gives that conductivity back."""
    radius, alpha, k = 2 * INCH, 12.0, 5e-6

    def fall(_time: float, depth: list[float]) -> list[float]:
        h = depth[0]
        x = h / radius
        c = (x / (2.074 + 0.093 * x)) ** 0.754
        flow = k * (2 * math.pi * h**2 + math.pi * radius**2 * c + 2 * math.pi * h / alpha) / c
        return [-flow / (math.pi * radius**2)]

    end = solve_ivp(fall, (0, 900), [30 * INCH], rtol=1e-10, atol=1e-12).y[0, -1]
    assert 5 * INCH < end < 25 * INCH
    found = permeameter.falling_conductivity_m_s(
        radius_m=radius, water_start_m=30 * INCH, water_end_m=end, time_s=900, alpha_star_per_m=alpha
    )
    assert found == pytest.approx(k, rel=1e-6)


def test_double_ring():
    """Reference sheet 1.2 (ASTM D3385 form from memory; derived): 30.48 cm ring, 1,200 cm3 in 30 min: 3.289 cm/h."""
    rate = permeameter.ring_rate_m_s(volume_m3=1200e-6, inner_area_m2=math.pi * 0.1524**2, time_s=1800)
    assert rate * 3600 / CM == pytest.approx(3.289, abs=0.001)
    assert rate / IN_H == pytest.approx(1.295, abs=0.001)


@pytest.mark.parametrize(
    ("radius_in", "start_in", "end_in", "minutes", "in_h"),
    [(4, 47.75, 46.25, 10, 0.36738), (3, 12, 6, 30, 1.7634), (4, 24, 6, 60, 2.3573)],
    ids=["T2", "T3", "T4"],
)
def test_a_round_pit_filled_and_timed(radius_in, start_in, end_in, minutes, in_h):
    """T2 to T4 (derived) by floor and perimeter: the same balance, so the same rate."""
    radius = radius_in * INCH
    rate = permeameter.filled_pit_rate_m_s(
        floor_m2=math.pi * radius**2,
        perimeter_m=2 * math.pi * radius,
        water_start_m=start_in * INCH,
        water_end_m=end_in * INCH,
        time_s=minutes * 60,
    )
    assert rate / IN_H == pytest.approx(in_h, abs=1e-3)


def test_a_pit_emptied_whole_by_the_published_drain_time():
    """R3 (derived, checked by ODE there): R 2 ft, 4 ft deep, voids 0.40, 1 in/h through floor and walls: empty in
    7.7253 h. The fill test turns that time back into 1 in/h.
    """
    foot = 0.3048
    rate = permeameter.filled_pit_rate_m_s(
        floor_m2=math.pi * (2 * foot) ** 2,
        perimeter_m=4 * math.pi * foot,
        water_start_m=4 * foot,
        water_end_m=0.0,
        time_s=7.7253 * 3600,
        voids=0.40,
    )
    assert rate / IN_H == pytest.approx(1.0, rel=1e-4)


def test_time_of_a_fill_is_that_of_the_published_hole():
    """T3 (derived): r 3 in, 12 to 6 in at 1.7634 in/h takes 30 min."""
    radius = 3 * INCH
    time = permeameter.filled_pit_time_s(
        floor_m2=math.pi * radius**2,
        perimeter_m=2 * math.pi * radius,
        water_start_m=12 * INCH,
        water_end_m=6 * INCH,
        rate_m_s=1.7634 * IN_H,
    )
    assert time / 60 == pytest.approx(30, abs=0.02)


def test_mean_head_of_readings_is_never_the_faster_form():
    """Reference sheet 1.1: the county form reads low wherever the water falls."""
    for end in (30, 20, 10, 2):
        hole = {"radius_m": 0.05, "water_start_m": 0.9, "water_end_m": end / 100, "time_s": 600}
        assert soil.falling_head_rate_mean_head_m_s(**hole) < soil.falling_head_rate_m_s(**hole)
