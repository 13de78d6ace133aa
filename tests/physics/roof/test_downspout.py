"""Downspouts: laws of scale, and the limits of every argument."""

import math
from collections.abc import Callable

import pytest

from roofwell.errors import InputError
from roofwell.physics.roof.downspout import (
    annular_capacity_en_m3_s,
    annular_capacity_m3_s,
    equivalent_diameter_m,
    terminal_length_m,
    terminal_velocity_m_s,
)


def test_fuller_and_wider_carries_more() -> None:
    """Both laws rise with the fill and with the diameter."""
    for law in (annular_capacity_m3_s, annular_capacity_en_m3_s):
        assert (
            law(diameter_m=0.1, fill=0.20) < law(diameter_m=0.1, fill=0.30) < law(diameter_m=0.12, fill=0.30)
        )


def test_equal_area() -> None:
    """A rectangle has the area of its round equal, at any admitted ratio."""
    for width, breadth in ((0.0508, 0.0762), (0.0762, 0.1016), (0.05, 0.15)):
        diameter = equivalent_diameter_m(width_m=width, breadth_m=breadth)
        assert math.pi * diameter**2 / 4 == pytest.approx(width * breadth, rel=1e-12)


def test_no_flow_no_speed() -> None:
    """An empty downspout has no terminal velocity."""
    assert terminal_velocity_m_s(flow_m3_s=0, diameter_m=0.1) == 0
    assert terminal_length_m(flow_m3_s=0, diameter_m=0.1) == 0


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: annular_capacity_m3_s(diameter_m=0), "downspout-number"),
    (lambda: annular_capacity_m3_s(diameter_m=0.1, fill=0.199), "downspout-fill"),
    (lambda: annular_capacity_m3_s(diameter_m=0.1, fill=0.351), "downspout-fill"),
    (lambda: annular_capacity_en_m3_s(diameter_m=0.1, fill=0.34), "downspout-fill"),
    (lambda: annular_capacity_en_m3_s(diameter_m=0.1, wall_roughness_m=0), "downspout-number"),
    (lambda: equivalent_diameter_m(width_m=0.05, breadth_m=0.1501), "downspout-sides"),
    (lambda: equivalent_diameter_m(width_m=0.05, breadth_m=0), "downspout-number"),
    (lambda: terminal_velocity_m_s(flow_m3_s=-1e-6, diameter_m=0.1), "downspout-number"),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code
