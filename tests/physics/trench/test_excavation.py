"""Digging: laws of nature and limits of range."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.trench import excavation as dig
from roofwell.physics.trench import load

SIZE = st.floats(0.01, 20)


@given(SIZE, st.floats(0.2, 1.4))
def test_the_cone_holds_the_pile(volume, angle):
    """Volume of the cone is the volume piled."""
    cone = dig.spoil_cone(loose_m3=volume, angle_rad=angle)
    assert math.pi * cone.radius_m**2 * cone.height_m / 3 == pytest.approx(volume)
    assert math.atan2(cone.height_m, cone.radius_m) == pytest.approx(angle)


@given(SIZE, st.floats(0, 1), st.floats(0, 1))
def test_what_is_dug_goes_back_or_leaves(bank, swell, share):
    """Loose volume = refilled and leaving, both as loose."""
    haul = dig.haul(bank_m3=bank, swell=swell, backfilled_bank_m3=bank * share)
    assert haul.loose_m3 == pytest.approx(haul.leaves_m3 + bank * share * (1 + swell))
    assert haul.bank_m3 == pytest.approx(haul.loose_m3 * dig.load_factor(swell))


def test_sloped_and_upright_trenches():
    """Sides at 0 are upright; at 1:1 a trench as deep as wide is twice as much."""
    upright = dig.trench_volume_m3(width_m=1.0, mean_depth_m=1.0, length_m=10)
    assert dig.sloped_trench_volume_m3(bottom_m=1, depth_m=1, run_per_rise=0, length_m=10) == upright
    assert dig.sloped_trench_volume_m3(bottom_m=1, depth_m=1, run_per_rise=1, length_m=10) == 2 * upright


def test_width_rule_changes_sides_for_large_pipe():
    """Above 16 in the 1.25 rule is the wider."""
    small = dig.least_trench_width_m(outside_diameter_m=0.1)
    large = dig.least_trench_width_m(outside_diameter_m=0.5)
    assert small == pytest.approx(0.1 + 0.4064)
    assert large == pytest.approx(1.25 * 0.5 + 0.3048)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: dig.round_pit_volume_m3(diameter_m=-1, depth_m=1), "dig-number"),
        (lambda: dig.loose_volume_m3(bank_m3=1, swell=-0.1), "dig-number"),
        (lambda: dig.haul(bank_m3=1, swell=0.2, backfilled_bank_m3=1.1), "dig-number"),
        (lambda: dig.hours(bank_m3=1, rate_m3_h=0), "dig-number"),
        (lambda: dig.spoil_cone(loose_m3=1, angle_rad=0), "dig-angle"),
        (lambda: dig.spoil_cone(loose_m3=1, angle_rad=math.pi / 2), "dig-angle"),
        (lambda: dig.least_trench_width_m(outside_diameter_m=0), "dig-number"),
        (lambda: dig.weight_kg(volume_m3=float("nan"), density_kg_m3=1), "dig-number"),
        (lambda: load.pipe_stiffness_pa(outside_diameter_m=0.1, wall_m=0.05, modulus_pa=1e9), "pipe-wall"),
        (
            lambda: load.deflection(
                soil_pressure_pa=-1, live_pressure_pa=0, stiffness_pa=1, soil_modulus_pa=1
            ),
            "pipe-load",
        ),
    ],
)
def test_nonsense_is_refused(call, code):
    """Each with its code."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code
