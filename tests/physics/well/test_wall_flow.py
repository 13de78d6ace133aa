"""What leaves a full body through the holes of its wall: summed row by row, and the one limit that is closed form."""

import math

import pytest

from roofwell.errors import InputError
from roofwell.physics.well.perforation import hole_flow_m3_s, wall_flow_m3_s


@pytest.mark.parametrize("outside", [0.0, 0.25, 0.5, 0.9])
def test_wall_flow_is_the_sum_of_its_rows(outside):
    """20,000 rows, each an orifice under its own head (single-hole formula, published check in test_perforation)."""
    rows, height, diameter = 20000, 1.2, 0.0127
    total = 0.0
    for n in range(rows):
        z = (n + 0.5) / rows * height
        head = height - max(z, outside * height)
        total += hole_flow_m3_s(holes=1, diameter_m=diameter, head_m=head, orifice_coefficient=0.6)
    area = rows * math.pi * diameter**2 / 4
    got = wall_flow_m3_s(hole_area_m2=area, height_m=height, outside_share=outside, orifice_coefficient=0.6)
    assert got == pytest.approx(total, rel=1e-5)


def test_nothing_leaves_into_stone_as_full_as_the_body():
    assert wall_flow_m3_s(hole_area_m2=0.01, height_m=1, outside_share=1, orifice_coefficient=0.6) == 0.0


@pytest.mark.parametrize(
    "wrong", [{"hole_area_m2": -1}, {"height_m": 0}, {"outside_share": 1.1}, {"orifice_coefficient": 0}]
)
def test_numbers_outside_their_range_are_refused(wrong):
    with pytest.raises(InputError):
        wall_flow_m3_s(
            **{"hole_area_m2": 0.01, "height_m": 1, "outside_share": 0.5, "orifice_coefficient": 0.6} | wrong
        )
