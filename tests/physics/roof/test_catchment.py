"""The roof as a catchment: limits of every argument, and laws that hold without any table."""

from collections.abc import Callable

import pytest

from roofwell.errors import InputError
from roofwell.physics.roof.catchment import (
    area_with_wall_m2,
    effective_area_m2,
    overland_time_s,
    pitch_factor,
    rain_volume_m3,
    rational_flow_m3_s,
    wetting_loss_m3,
)


@pytest.mark.parametrize("rule", ["plan area", "half rise", "slope length", "pitch factor table"])
def test_a_flat_roof_counts_its_plan_area(rule: str) -> None:
    """Every rule agrees on a flat roof."""
    assert effective_area_m2(plan_area_m2=37.0, rise_per_run=0.0, rule=rule) == 37.0


@pytest.mark.parametrize("rule", ["half rise", "slope length", "pitch factor table"])
def test_a_steeper_roof_never_counts_less(rule: str) -> None:
    """No rule falls with the pitch."""
    factors = [pitch_factor(rise_per_run=rise / 48, rule=rule) for rise in range(80)]
    assert factors == sorted(factors)


def test_a_pitch_between_two_bands_takes_the_larger_factor() -> None:
    """3.5 in 12 lies between the printed bands 0-3 and 4-5; 5 in 12 typed with five digits is in its band."""
    assert pitch_factor(rise_per_run=3.5 / 12, rule="pitch factor table") == 1.05
    assert pitch_factor(rise_per_run=0.41667, rule="pitch factor table") == 1.05


def test_a_wall_with_no_share_adds_nothing() -> None:
    """A share of 0 leaves the roof, a share of 1 adds the wall whole."""
    assert area_with_wall_m2(area_m2=10, wall_area_m2=4, wall_share=0) == 10
    assert area_with_wall_m2(area_m2=10, wall_area_m2=4, wall_share=1) == 14


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: effective_area_m2(plan_area_m2=-1e-9, rise_per_run=0.5, rule="half rise"), "roof-number"),
    (lambda: effective_area_m2(plan_area_m2=1, rise_per_run=-1e-9, rule="half rise"), "roof-number"),
    (lambda: effective_area_m2(plan_area_m2=1, rise_per_run=float("nan"), rule="half rise"), "roof-number"),
    (lambda: pitch_factor(rise_per_run=0.5, rule="by eye"), "roof-area-rule"),
    (lambda: area_with_wall_m2(area_m2=1, wall_area_m2=1, wall_share=1.001), "roof-number"),
    (lambda: rational_flow_m3_s(area_m2=1, intensity_m_s=1e-5, runoff_coefficient=1.001), "roof-number"),
    (lambda: rational_flow_m3_s(area_m2=-1, intensity_m_s=1e-5, runoff_coefficient=1), "roof-number"),
    (lambda: rational_flow_m3_s(area_m2=1, intensity_m_s=-1e-5, runoff_coefficient=1), "roof-number"),
    (lambda: wetting_loss_m3(area_m2=1, loss_depth_m=-0.001), "roof-number"),
    (lambda: overland_time_s(runoff_coefficient=0.5, length_m=152.5, slope=0.02), "roof-number"),
    (lambda: overland_time_s(runoff_coefficient=0.5, length_m=0, slope=0.02), "roof-number"),
    (lambda: overland_time_s(runoff_coefficient=0.5, length_m=10, slope=0), "roof-number"),
    (lambda: overland_time_s(runoff_coefficient=1.01, length_m=10, slope=0.02), "roof-number"),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code


def test_an_inch_on_a_roof() -> None:
    """0.623 gal to the square foot and inch (common practice, no source): 1,600 sq ft give 997 gal."""
    volume_m3 = rain_volume_m3(area_m2=1600 * 0.3048**2, depth_m=0.0254)
    assert volume_m3 / 0.003785411784 == pytest.approx(997, abs=0.5)
    with pytest.raises(InputError):
        rain_volume_m3(area_m2=-1, depth_m=0.01)


def test_the_ends_of_a_range_are_allowed() -> None:
    """Zero area, zero rain and the longest overland flow are no errors."""
    assert rational_flow_m3_s(area_m2=0, intensity_m_s=0, runoff_coefficient=0) == 0
    assert overland_time_s(runoff_coefficient=1, length_m=152.4, slope=0.001) > 0
