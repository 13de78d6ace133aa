"""Shallow flow: the water found carries the flow by Manning's formula of an outside library; stated shape where open."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.ground.shallow import Section, cross_section, normal_depth
from roofwell.physics.ground.surface import make_surface

LAWN = {"fall_m_m": 0.02, "manning_n": 0.24, "side_slope": 0.05}


def test_a_hollow_carries_its_flow() -> None:
    """A V of 1 in 10 and 1 in 4: area and wetted perimeter by hand from the depth, velocity by ``fluids``."""
    section = Section(np.array([-3.0, 0.0, 2.0]), np.array([0.3, 0.0, 0.5]))
    flow = normal_depth(section, flow_m3_s=0.004, **LAWN)
    y = flow.depth_m
    assert flow.from_ground
    assert (flow.left_m, flow.right_m) == pytest.approx((10 * y, 4 * y))
    area = 0.5 * y * 14 * y
    perimeter = math.hypot(10 * y, y) + math.hypot(4 * y, y)
    assert area * fluids.V_Manning(Rh=area / perimeter, S=0.02, n=0.24) == pytest.approx(0.004, rel=1e-6)


def test_on_open_ground_a_stated_v_stands_in() -> None:
    """Flat across, or falling away: a V of 5 % to either side."""
    for rise in ([0.0, 0.0, 0.0], [-0.1, 0.0, 0.2]):
        flow = normal_depth(Section(np.array([-3.0, 0.0, 3.0]), np.array(rise)), flow_m3_s=0.004, **LAWN)
        y = flow.depth_m
        assert not flow.from_ground
        assert flow.width_m == pytest.approx(2 * y / 0.05)
        area, perimeter = y * y / 0.05, 2 * math.hypot(y / 0.05, y)
        assert area * fluids.V_Manning(Rh=area / perimeter, S=0.02, n=0.24) == pytest.approx(0.004, rel=1e-9)


def test_a_section_is_the_ground_across() -> None:
    """Across a valley z = |y|/4 + x/50 with its floor as a break line."""
    points = [(x, y) for x in (0.0, 10.0) for y in (-4.0, 0.0, 4.0)]
    z = [abs(y) / 4 + x / 50 for x, y in points]
    surface = make_surface(points=points, elevations=z, break_lines=[[(0, 0, 0), (10, 0, 0.2)]])
    assert surface.mesh is not None
    section = cross_section(
        surface.mesh,
        surface.elevations,
        at=np.array([5.0, 0.0]),
        direction=np.array([-1.0, 0.0]),
        reach_m=3.0,
    )
    assert section.offsets_m[0] == pytest.approx(-3.0)
    assert section.rise_m == pytest.approx(np.abs(section.offsets_m) / 4)


@pytest.mark.parametrize(
    "wrong", [{"flow_m3_s": 0.0}, {"fall_m_m": -0.1}, {"manning_n": math.nan}, {"side_slope": 0}]
)
def test_nonsense_is_refused(wrong: dict[str, float]) -> None:
    section = Section(np.array([-1.0, 0.0, 1.0]), np.array([1.0, 0.0, 1.0]))
    with pytest.raises(InputError):
        normal_depth(section, **({"flow_m3_s": 0.01} | LAWN | wrong))
