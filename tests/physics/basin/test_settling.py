"""Settling: laws that hold without any table, and the limits of every argument."""

import math
from collections.abc import Callable

import pytest

from roofwell.errors import InputError
from roofwell.physics.basin.settling import (
    cheng_m_s,
    detention_s,
    ferguson_church_m_s,
    grain_of_velocity_m,
    ideal_removal,
    mass_removal,
    overflow_rate_m_s,
    rise_velocity_m_s,
    scour_velocity_m_s,
    soulsby_m_s,
    stokes_m_s,
    tank_removal,
    water_viscosity_m2_s,
)

NU = 1.3e-6


@pytest.mark.parametrize("grain", [1e-8, 1e-6, 1e-4, 1e-3, 1e-1])
@pytest.mark.parametrize("c2", [0.4, 1.0])
def test_grain_and_velocity_are_inverse(grain: float, c2: float) -> None:
    """The grain of a grain's velocity is the grain, from clay to cobbles."""
    velocity = ferguson_church_m_s(grain_m=grain, viscosity_m2_s=NU, c2=c2)
    assert grain_of_velocity_m(velocity_m_s=velocity, viscosity_m2_s=NU, c2=c2) == pytest.approx(
        grain, rel=1e-9
    )


@pytest.mark.parametrize("law", [ferguson_church_m_s, cheng_m_s, soulsby_m_s])
def test_larger_falls_faster_and_cold_water_slower(law: Callable[..., float]) -> None:
    """Holds for every law of fall."""
    grains = [10 ** (-7 + 0.25 * step) for step in range(20)]
    speeds = [law(grain_m=grain, viscosity_m2_s=NU) for grain in grains]
    assert speeds == sorted(speeds)
    assert law(grain_m=1e-5, viscosity_m2_s=2 * NU) < law(grain_m=1e-5, viscosity_m2_s=NU)


def test_fine_grains_keep_their_digits() -> None:
    """Cheng and Soulsby scale with the square of a very fine grain: no loss to rounding."""
    for law in (cheng_m_s, soulsby_m_s):
        small, tenth = (law(grain_m=grain, viscosity_m2_s=NU) for grain in (1e-8, 1e-9))
        assert small / tenth == pytest.approx(100, rel=1e-6)


def test_no_basin_beats_the_ideal_one() -> None:
    """Removal grows with the number of tanks and stays below min(1, x)."""
    for x in (0.01, 0.3, 1.0, 3.0, 40.0):
        kept = [tank_removal(x, n) for n in (1, 2, 5, 50, math.inf)]
        assert kept == sorted(kept)
        assert kept[-1] < ideal_removal(x) + 1e-12
    assert tank_removal(0, 3) == ideal_removal(0) == 0
    assert tank_removal(1e-12, 1) == pytest.approx(1e-12, rel=1e-9)


def test_a_mixture_of_one_is_that_one() -> None:
    """One fraction with the whole mass is removed as such."""
    kept = mass_removal(velocity_m_s=[0.001], mass_share=[1.0], overflow_rate_m_s=0.002, tanks=3)
    assert kept == pytest.approx(tank_removal(0.5, 3), rel=1e-12)


def test_what_floats_rises_as_its_mirror_falls() -> None:
    """Specific gravity 0.9 rises as a submerged 0.1 falls."""
    assert rise_velocity_m_s(size_m=1e-3, specific_gravity=0.9, viscosity_m2_s=NU) == pytest.approx(
        ferguson_church_m_s(grain_m=1e-3, submerged_specific_gravity=0.1, viscosity_m2_s=NU), rel=1e-12
    )


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: ferguson_church_m_s(grain_m=0, viscosity_m2_s=NU), "settling-number"),
    (lambda: ferguson_church_m_s(grain_m=1e-3, viscosity_m2_s=0), "settling-number"),
    (lambda: ferguson_church_m_s(grain_m=1e-3, viscosity_m2_s=NU, c1=0), "settling-number"),
    (lambda: cheng_m_s(grain_m=-1e-3, viscosity_m2_s=NU), "settling-number"),
    (lambda: stokes_m_s(grain_m=1.04e-4, viscosity_m2_s=1e-6), "stokes-range"),
    (lambda: rise_velocity_m_s(size_m=1e-3, specific_gravity=1.0, viscosity_m2_s=NU), "settling-float"),
    (lambda: grain_of_velocity_m(velocity_m_s=0, viscosity_m2_s=NU), "settling-number"),
    (lambda: overflow_rate_m_s(flow_m3_s=0.001, plan_area_m2=0), "settling-number"),
    (lambda: detention_s(volume_m3=1, flow_m3_s=0), "settling-number"),
    (lambda: ideal_removal(-0.1), "settling-number"),
    (lambda: tank_removal(-0.1, 1), "settling-number"),
    (lambda: tank_removal(1, 0.5), "settling-number"),
    (lambda: mass_removal(velocity_m_s=[1], mass_share=[0.9], overflow_rate_m_s=1), "settling-fractions"),
    (lambda: mass_removal(velocity_m_s=[1, 2], mass_share=[1], overflow_rate_m_s=1), "settling-fractions"),
    (lambda: water_viscosity_m2_s(temperature_c=-0.1), "water-temperature"),
    (lambda: water_viscosity_m2_s(temperature_c=40.1), "water-temperature"),
    (
        lambda: scour_velocity_m_s(
            grain_m=1e-3, submerged_specific_gravity=0, cohesion_k=0.05, friction_factor=0.025
        ),
        "settling-number",
    ),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code
