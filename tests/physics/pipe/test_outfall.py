"""The end of a pipe: openings, flap, water that stays in a low elbow."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from roofwell.errors import InputError
from roofwell.physics.pipe import outfall

GRAVITY = 9.80665
CURB = {"weir_coefficient_si": 1.60, "orifice_coefficient": 0.67}


def test_curb_opening_of_the_circular() -> None:
    """HEC-22, curb opening in a sag (from memory): 2.5 m wide, 0.05 m deep at the curb, 1.60: 0.045 m³/s."""
    head = outfall.rectangular_opening_head_m(flow_m3_s=0.045, width_m=2.5, height_m=0.13, **CURB)
    assert head == pytest.approx(0.05, abs=0.0005)


def test_a_drowned_opening_by_hand() -> None:
    """6 in by 3 in under 12 in of water: 0.67 x 0.125 ft² x (64.4 x 0.875)^½ = 0.629 ft³/s."""
    foot = 0.3048
    head = outfall.rectangular_opening_head_m(
        flow_m3_s=0.629 * foot**3, width_m=0.5 * foot, height_m=0.25 * foot, **CURB
    )
    assert head / foot == pytest.approx(1.0, abs=0.005)


@pytest.mark.parametrize("flow", [0.0005, 0.002, 0.004])
def test_a_round_opening_part_full_stands_at_its_least_energy(flow: float) -> None:
    """Brute force: of all depths the one with the least energy over the invert, for a circle cut by its chord."""
    across = 0.1

    def energy(depth: float) -> float:
        half = across / 2
        angle = 2 * math.acos((half - depth) / half)
        area = half**2 / 2 * (angle - math.sin(angle))
        return depth + (flow / area) ** 2 / (2 * GRAVITY)

    least = minimize_scalar(energy, bounds=(1e-3, across - 1e-6), method="bounded").fun
    found = outfall.round_opening_head_m(flow_m3_s=flow, diameter_m=across, orifice_coefficient=0.67)
    assert found == pytest.approx(least, rel=1e-4)


def test_a_round_opening_that_runs_full_by_hand() -> None:
    """4 in under 12 in: 10 in over its center: 0.67 x 0.08727 ft² x (64.4 x 0.8333)^½ = 0.4283 ft³/s."""
    foot = 0.3048
    head = outfall.round_opening_head_m(
        flow_m3_s=0.4283 * foot**3, diameter_m=foot / 3, orifice_coefficient=0.67
    )
    assert head / foot == pytest.approx(1.0, abs=0.005)


@given(st.floats(0.0, 0.05), st.floats(0.0, 0.05))
def test_more_water_never_stands_lower(a: float, b: float) -> None:
    """Openings and flap alike: the grade lines rest on it."""
    low, high = sorted((a, b))

    def heads(flow: float) -> tuple[float, float, float]:
        return (
            outfall.rectangular_opening_head_m(flow_m3_s=flow, width_m=0.15, height_m=0.07, **CURB),
            outfall.round_opening_head_m(flow_m3_s=flow, diameter_m=0.1, orifice_coefficient=0.67),
            outfall.flap_loss_m(flow_m3_s=flow, diameter_m=0.1),
        )

    for under, over in zip(heads(low), heads(high), strict=True):
        assert under <= over + 1e-9


def test_a_light_flap_takes_little() -> None:
    """The flap tests' finding (Replogle and Wahlin, abstract seen): with a free outfall its effect is small."""
    assert outfall.flap_loss_m(flow_m3_s=0.0, diameter_m=0.1) == 0.0
    assert 0.0 < outfall.flap_loss_m(flow_m3_s=0.004, diameter_m=0.1) < 0.01


def test_water_that_stays_by_symmetry() -> None:
    """A pipe that falls by its own diameter is half full, whatever its section is; one that falls by twice that is full
    along its lower half, and its riser stands one diameter high."""
    across, length = 0.1, 4.0
    area = math.pi * across**2 / 4
    kept = {"length_m": length, "inside_diameter_m": across}
    assert outfall.trapped_m3(depth_m=0.0, **kept) == 0.0
    assert outfall.trapped_m3(depth_m=across, **kept) == pytest.approx(area * length / 2, rel=1e-4)
    expected = area * length * 0.75 + area * across
    assert outfall.trapped_m3(depth_m=2 * across, **kept) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: outfall.rectangular_opening_head_m(flow_m3_s=-1.0, width_m=1.0, height_m=1.0, **CURB),
        lambda: outfall.rectangular_opening_head_m(
            flow_m3_s=1.0, width_m=1.0, height_m=1.0, **CURB, clogged_fraction=1.0
        ),
        lambda: outfall.round_opening_head_m(flow_m3_s=1.0, diameter_m=0.0, orifice_coefficient=0.67),
        lambda: outfall.flap_loss_m(flow_m3_s=math.nan, diameter_m=0.1),
        lambda: outfall.trapped_m3(depth_m=-0.1, length_m=1.0, inside_diameter_m=0.1),
    ],
)
def test_nonsense_is_refused(wrong) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as caught:
        wrong()
    assert caught.value.code == "outfall-number"
