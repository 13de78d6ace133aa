"""Steady flow from a well to all sides against the table of flows in the project's reference sheet.

Infiltration section 3, "Steady flow from a cylindrical well" (derived there from the forms of section 1.3; the first row's
Glover is G10), Q / K in ft².
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.soil import around_well, permeameter
from roofwell.physics.soil.infiltration import shape_factor

FOOT = 0.3048
NO_CAPILLARITY = 1e15  # 1/m

# depth and radius, ft; Glover; Elrick-Reynolds without capillarity and with alpha* 0.12 per cm; unit gradient on all it wets
ROWS = [
    (4, 2, 121.8, 122.8, 130.3, 62.83),
    (6, 2, 206.1, 200.9, 209.5, 87.96),
    (4, 4, 215.2, 230.4, 242.7, 150.8),
    (3, 1.5, 68.5, 69.1, 74.7, 35.34),
]
NAMES = [f"H {row[0]} r {row[1]}" for row in ROWS]


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_elrick_reynolds_flow_from_a_well(row):
    depth, radius, _, bare, with_pull, _ = row

    def flow(alpha: float) -> float:
        at = around_well.flow_around_well_m2(
            depths_m=[depth * FOOT], radius_m=radius * FOOT, alpha_star_per_m=alpha
        )
        return float(at[0]) / FOOT**2

    assert flow(NO_CAPILLARITY) == pytest.approx(bare, rel=1e-3)
    assert flow(12.0) == pytest.approx(with_pull, rel=1e-3)


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_theory_gives_more_than_the_wetted_area_under_a_gradient_of_one(row):
    """The sheet beside the table: 1.4 to 2.3 times the full wetted area (without capillarity)."""
    depth, radius, _, _, _, wetted = row
    at = around_well.flow_around_well_m2(
        depths_m=depth * FOOT, radius_m=radius * FOOT, alpha_star_per_m=NO_CAPILLARITY
    )
    assert 1.4 <= round(float(at) / FOOT**2 / wetted, 1) <= 2.3


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_glover_bracket_behind_the_table_and_no_flow_out_of_its_range(row):
    """G10 uses Glover at H/r 2 where it does not hold: the form reproduces, the function refuses."""
    depth, radius, glover, *_ = row
    form = 2 * math.pi * depth**2 / permeameter.glover_bracket(depth / radius)
    assert form == pytest.approx(glover, rel=5e-3)
    with pytest.raises(InputError, match="from 10 on"):
        around_well.glover_flow_m2(depth_m=depth * FOOT, radius_m=radius * FOOT)


def test_glover_at_ten_radii_is_a_sixth_above_elrick_reynolds():
    """Section 1.3: for Q = 1 and H = 1 at H/r 10, K 0.3331 by Glover, 0.3893 by Elrick-Reynolds without capillarity."""
    glover = around_well.glover_flow_m2(depth_m=1.0, radius_m=0.1)
    other = around_well.flow_around_well_m2(depths_m=1.0, radius_m=0.1, alpha_star_per_m=NO_CAPILLARITY)
    assert 1 / glover == pytest.approx(0.3331, abs=1e-4)
    assert 1 / float(other) == pytest.approx(0.3893, abs=4e-4)


def test_below_half_a_radius_a_straight_line_under_wooding_s_disc_from_the_floor():
    """At no depth the floor under a gradient of one; Wooding's shallow disc (from memory) takes in 4 a / alpha* more."""
    radius, alpha = 0.8, 12.0
    depths = np.array([0.0, 0.1, 0.2, 0.4])
    flow = around_well.flow_around_well_m2(depths_m=depths, radius_m=radius, alpha_star_per_m=alpha)
    floor = math.pi * radius**2
    assert flow[0] == pytest.approx(floor)
    assert flow[0] < floor + 4 * radius / alpha
    assert np.diff(flow) / np.diff(depths) == pytest.approx([(flow[3] - flow[0]) / 0.4] * 3)
    assert flow[3] == pytest.approx(
        1
        / permeameter.well_conductivity_m_s(
            flow_m3_s=1.0, head_m=0.4, radius_m=radius, alpha_star_per_m=alpha
        )
    )
    assert around_well.flow_around_well_m2(depths_m=0.41, radius_m=radius, alpha_star_per_m=alpha) > flow[3]


def test_more_water_never_soaks_slower():
    for alpha in (1.0, 4.0, 12.0, 36.0):
        flow = around_well.flow_around_well_m2(
            depths_m=np.linspace(0, 16, 400), radius_m=0.8, alpha_star_per_m=alpha
        )
        assert (np.diff(flow) > 0).all()


def test_what_lies_out_of_range_is_refused():
    with pytest.raises(InputError, match=r"0\.5 to 20"):
        around_well.flow_around_well_m2(depths_m=2.1, radius_m=0.1, alpha_star_per_m=12)
    with pytest.raises(InputError, match="at least 0"):
        around_well.flow_around_well_m2(depths_m=[-0.1], radius_m=0.1, alpha_star_per_m=12)
    with pytest.raises(InputError):
        shape_factor(head_m=0.04, radius_m=0.1, alpha_star_per_m=12)
    assert around_well.within_fits(depth_m=1.0, radius_m=2.0)
    assert not around_well.within_fits(depth_m=0.9, radius_m=2.0)
    assert not around_well.within_fits(depth_m=2.1, radius_m=0.1)


def test_a_rectangular_pit_counts_as_the_circle_of_its_floor():
    """Capacity of a thin square plate: 0.3667 of its side against 0.3592 of the equal circle's (Maxwell and later,
    from memory): the circle stands on the low side."""
    side = 1.0
    radius = around_well.equivalent_radius_m(floor_m2=side**2)
    assert math.pi * radius**2 == pytest.approx(1.0)
    assert 2 * radius / math.pi == pytest.approx(0.3592, abs=1e-4)
    assert 2 * radius / math.pi < 0.3667
