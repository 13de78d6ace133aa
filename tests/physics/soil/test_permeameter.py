"""Ranges of the hole methods are enforced, and what they must agree on they agree on."""

from __future__ import annotations

import math

import pytest

from roofwell.errors import InputError
from roofwell.physics.soil import permeameter as p

HOLE = {"head_m": 0.5, "radius_m": 0.05}
FALL = {"radius_m": 0.05, "water_start_m": 0.5, "water_end_m": 0.3, "time_s": 600.0}
PIT = {"floor_m2": 1.0, "perimeter_m": 4.0, "water_start_m": 0.5, "water_end_m": 0.2, "time_s": 600.0}


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: p.glover_conductivity_m_s(flow_m3_s=1e-6, head_m=0.2, radius_m=0.05), "soil-range"),
        (lambda: p.glover_conductivity_m_s(flow_m3_s=1e-6, **HOLE, water_table_m=0.4), "soil-range"),
        (lambda: p.glover_conductivity_m_s(flow_m3_s=-1.0, **HOLE), "soil-number"),
        (lambda: p.glover_bracket(0.0), "soil-number"),
        (lambda: p.well_conductivity_m_s(flow_m3_s=math.nan, **HOLE, alpha_star_per_m=12), "soil-number"),
        (
            lambda: p.well_conductivity_m_s(flow_m3_s=1e-6, head_m=2.0, radius_m=0.05, alpha_star_per_m=12),
            "soil-range",
        ),
        (
            lambda: p.two_heads(
                flows_m3_s=(1e-6, 2e-6), heads_m=(0.2, 0.2), radius_m=0.05, alpha_star_per_m=12
            ),
            "soil-range",
        ),
        (
            lambda: p.falling_conductivity_m_s(**FALL | {"water_end_m": 0.6}, alpha_star_per_m=12),
            "soil-water",
        ),
        (
            lambda: p.falling_conductivity_m_s(**FALL | {"water_end_m": 0.0}, alpha_star_per_m=12),
            "soil-number",
        ),
        (lambda: p.falling_conductivity_m_s(**FALL | {"time_s": 0.0}, alpha_star_per_m=12), "soil-number"),
        (lambda: p.ring_rate_m_s(volume_m3=-1e-3, inner_area_m2=0.1, time_s=60), "soil-number"),
        (lambda: p.ring_rate_m_s(volume_m3=1e-3, inner_area_m2=0.1, time_s=0), "soil-number"),
        (lambda: p.filled_pit_rate_m_s(**PIT, voids=1.2), "soil-number"),
        (lambda: p.filled_pit_rate_m_s(**PIT | {"water_end_m": 0.6}), "soil-water"),
        (
            lambda: p.filled_pit_time_s(
                floor_m2=1, perimeter_m=4, water_start_m=0.5, water_end_m=0.2, rate_m_s=0
            ),
            "soil-number",
        ),
    ],
)
def test_out_of_range_is_refused(call, code) -> None:
    with pytest.raises(InputError) as refused:
        call()
    assert refused.value.code == code


def test_no_fall_and_no_flow_are_zero() -> None:
    assert p.falling_conductivity_m_s(**FALL | {"water_end_m": 0.5}, alpha_star_per_m=12) == 0.0
    assert p.filled_pit_rate_m_s(**PIT | {"water_end_m": 0.5}) == 0.0
    assert p.well_conductivity_m_s(flow_m3_s=0.0, **HOLE, alpha_star_per_m=12) == 0.0


def test_two_heads_give_one_soil_back() -> None:
    """Flows made from one soil by the one-head form: conductivity and capillarity come back."""
    k, alpha = 2e-6, 12.0
    flows = tuple(
        k * p.well_flow_per_conductivity_m2(head_m=h, radius_m=0.03, alpha_star_per_m=alpha)
        for h in (0.05, 0.1)
    )
    found = p.two_heads(
        flows_m3_s=(flows[0], flows[1]), heads_m=(0.05, 0.1), radius_m=0.03, alpha_star_per_m=alpha
    )
    assert found.sensible
    assert found.conductivity_m_s == pytest.approx(k, rel=1e-9)
    assert found.alpha_star_per_m == pytest.approx(alpha, rel=1e-9)
