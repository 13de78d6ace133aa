"""Soil tests: laws of nature, limits of range."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from roofwell.errors import InputError
from roofwell.physics.soil import infiltration as soil
from roofwell.physics.soil import spread
from roofwell.physics.soil.suction import wetting_front_suction_m

HOLE = {"radius_m": 0.1, "water_start_m": 0.6, "water_end_m": 0.4, "time_s": 1800.0}


@given(st.floats(0.03, 0.5), st.floats(0.1, 2.0), st.floats(0.05, 0.99), st.floats(60, 1e5))
def test_the_integrated_balance_returns_the_drop(radius, start, share, time):
    """Solve dH/dt = -I (1 + 2 H / r) by numbers with the returned rate: the drop comes back."""
    end = start * share
    rate = soil.falling_head_rate_m_s(radius_m=radius, water_start_m=start, water_end_m=end, time_s=time)
    solved = solve_ivp(lambda _, h: -rate * (1 + 2 * h / radius), (0, time), [start], rtol=1e-9, atol=1e-12)
    assert solved.y[0, -1] == pytest.approx(end, rel=1e-6)


@given(st.floats(0.03, 0.5), st.floats(0.1, 2.0), st.floats(0.0, 0.999))
def test_order_of_the_forms(radius, start, share):
    """Mean head never above the logarithm, the reduction factor above the mean head, raw fall above all."""
    hole = {"radius_m": radius, "water_start_m": start, "water_end_m": start * share, "time_s": 600.0}
    mean, exact = soil.falling_head_rate_mean_head_m_s(**hole), soil.falling_head_rate_m_s(**hole)
    factor, raw = soil.reduction_factor_rate_m_s(**hole), start * (1 - share) / 600
    assert mean <= exact * (1 + 1e-9)
    assert mean <= factor <= raw * (1 + 1e-12)
    assert exact <= raw * (1 + 1e-9)


def test_no_fall_is_a_rate_of_zero_and_an_empty_hole_is_read():
    """Both ends of the range."""
    assert soil.falling_head_rate_m_s(**{**HOLE, "water_end_m": 0.6}) == 0
    assert soil.falling_head_rate_m_s(**{**HOLE, "water_end_m": 0.0}) > 0


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"radius_m": 0.0}, "soil-number"),
        ({"time_s": 0.0}, "soil-number"),
        ({"water_start_m": float("nan")}, "soil-number"),
        ({"water_end_m": 0.61}, "soil-water"),
        ({"water_end_m": -0.01}, "soil-water"),
    ],
)
@pytest.mark.parametrize(
    "form",
    [soil.falling_head_rate_m_s, soil.falling_head_rate_mean_head_m_s, soil.reduction_factor_rate_m_s],
)
def test_readings_that_cannot_be(form, change, code):
    """Refused by every form."""
    with pytest.raises(InputError) as caught:
        form(**{**HOLE, **change})
    assert caught.value.code == code


def test_percolation_over_a_fall_is_the_falling_head():
    """6 to 5 in at 10 min/in is the hole that falls one inch in ten minutes."""
    inch = 0.0254
    rate = soil.percolation_rate_m_s(
        time_per_fall_s_m=600 / inch, radius_m=3 * inch, head_start_m=6 * inch, head_end_m=5 * inch
    )
    hole = soil.falling_head_rate_m_s(
        radius_m=3 * inch, water_start_m=6 * inch, water_end_m=5 * inch, time_s=600
    )
    assert rate == pytest.approx(hole, rel=1e-12)


def test_pit_filled_with_stone_and_pit_without():
    """Stone of 40 % voids holds 40 % of the water in the same time."""
    pit = {"length_m": 2.0, "width_m": 0.5, "effective_depth_m": 1.0, "time_75_to_25_s": 3600.0}
    open_pit = soil.test_pit_rate_m_s(**pit)
    # 0.5 m3 through 2.5 m2 of wall and 1.0 m2 of base in an hour
    assert open_pit == pytest.approx(0.5 / (3.5 * 3600))
    assert soil.test_pit_rate_m_s(**pit, voids=0.4) == pytest.approx(0.4 * open_pit)
    with pytest.raises(InputError):
        soil.test_pit_rate_m_s(**pit, voids=1.01)


@pytest.mark.parametrize("celsius", [-0.1, 30.1])
def test_temperatures_beyond_the_formula(celsius):
    """0 to 30 C."""
    with pytest.raises(InputError) as caught:
        soil.viscosity_ratio(celsius)
    assert caught.value.code == "soil-temperature"


@pytest.mark.parametrize(("head", "fine"), [(0.5, True), (20.0, True), (0.49, False), (20.1, False)])
def test_range_of_the_shape_factor(head, fine):
    """Head over radius 0.5 to 20."""
    if fine:
        assert soil.shape_factor(head_m=head, radius_m=1.0, alpha_star_per_m=12) > 0
    else:
        with pytest.raises(InputError) as caught:
            soil.shape_factor(head_m=head, radius_m=1.0, alpha_star_per_m=12)
        assert caught.value.code == "soil-range"


@given(st.lists(st.floats(1e-8, 1e-3), min_size=1, max_size=10))
def test_means_stand_in_their_order(rates):
    """Harmonic, geometric, arithmetic; all between lowest and highest."""
    s = spread.combine(rates)
    values = [s.lowest_m_s, s.harmonic_mean_m_s, s.geometric_mean_m_s, s.arithmetic_mean_m_s, s.highest_m_s]
    assert all(a <= b * (1 + 1e-9) for a, b in pairwise(values))
    assert (s.log_spread is None) == (len(rates) == 1)


def test_rates_that_cannot_be_combined():
    """None, and a test without any fall."""
    for rates in ([], [1e-6, 0.0], [float("nan")]):
        with pytest.raises(InputError) as caught:
            spread.combine(rates)
        assert caught.value.code == "rates"


@pytest.mark.parametrize(
    ("rates", "within", "steady"),
    [
        ([1.0, 1.05, 1.1], 0.10, True),
        ([1.0, 1.05, 1.12], 0.10, False),
        ([1.0], 0.10, False),
        ([0.0, 0.0, 0.0], 0.10, True),
    ],
)
def test_steady_readings(rates, within, steady):
    """Range against the mean; one reading is never steady."""
    assert spread.is_steady(rates, within) is steady


def test_quantiles_go_round_the_median():
    """Half below the median; ten and ninety percent mirror each other in ratio."""
    q = [
        spread.lognormal_quantile_m_s(median_m_s=2e-6, log_spread=0.8, probability=p) for p in (0.1, 0.5, 0.9)
    ]
    assert q[1] == pytest.approx(2e-6)
    assert q[0] * q[2] == pytest.approx(q[1] ** 2)
    for bad in ({"median_m_s": 0.0}, {"log_spread": -0.1}, {"probability": 1.0}):
        with pytest.raises(InputError):
            spread.lognormal_quantile_m_s(**{"median_m_s": 1.0, "log_spread": 0.5, "probability": 0.5, **bad})


def test_suction_needs_numbers_above_zero():
    """Refused."""
    with pytest.raises(InputError):
        wetting_front_suction_m(bubbling_suction_m=0.0, pore_size_index=0.3)
