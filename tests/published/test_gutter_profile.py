"""The water surface along a gutter, as marched by the program, against closed forms of a textbook."""

import math

import numpy as np
import pytest

from roofwell.physics.roof.gutter_flow import GutterArm, gutter_capacity, gutter_water
from roofwell.physics.roof.gutter_section import GutterSection

FOOT = 0.3048
INCH = 0.0254
GPM = 231 * INCH**3 / 60
GRAVITY = 9.80665
BOX = GutterSection(shape="box", top_width_m=5 * INCH, depth_m=3.5 * INCH)
OGEE = GutterSection(shape="ogee", bottom_width_m=3.25 * INCH, top_width_m=5 * INCH, depth_m=3.5 * INCH)


def level_line(gpm: float) -> tuple[np.ndarray, np.ndarray]:
    """Stations as shares of the length and depths over the outlet's, of a level smooth box."""
    (line,) = gutter_water(BOX, [GutterArm(10.0, gpm * GPM)], manning_n=0).arms
    return line.station_m / 10.0, line.depth_m / line.depth_m[-1]


@pytest.mark.parametrize(("ratio", "square"), [(1.2, 0.936), (1.4, 0.728), (1.6, 0.352)])
def test_whole_profile_of_a_level_box(ratio: float, square: float) -> None:
    """G1, textbook of hydraulic structures, equation 4.29, with the square that the print as read leaves out
    (see test_gutter_capacity.py): (x/L)² = 1.5 r - 0.5 r³."""
    x, r = level_line(60.0)
    # Depth falls along the way; linear between 49 stations.
    assert np.interp(-ratio, -r, x) ** 2 == pytest.approx(square, abs=0.003)


@pytest.mark.parametrize(
    ("square", "ratio"), [(0.0, 1.73205), (0.25, 1.64178), (0.5, 1.53209), (0.75, 1.38437)]
)
def test_depths_along_a_level_box(square: float, ratio: float) -> None:
    """G2 and G3: root three critical depths at the closed end, and three places on the way."""
    x, r = level_line(40.0)
    assert np.interp(math.sqrt(square), x, r) == pytest.approx(ratio, abs=0.001)


@pytest.mark.parametrize(("section", "gpm"), [(BOX, 73.30), (OGEE, 56.67)], ids=["G4", "G18"])
def test_capacity_without_friction(section: GutterSection, gpm: float) -> None:
    """G4 and G18: 3.5 in deep at the closed end, free fall at the other."""
    full = gutter_capacity(section, [GutterArm(12.0, 1.0)], manning_n=0)
    assert full.flow_m3_s / GPM == pytest.approx(gpm, abs=0.05)
    assert full.control == "free fall"
    assert full.brim_station_m == 0


@pytest.mark.parametrize(("length_ft", "gpm"), [(20, 68.26), (40, 64.21), (60, 60.85)])
def test_capacity_with_friction(length_ft: float, gpm: float) -> None:
    """G6: n = 0.011, level, integrated twice by others with a shooting solver and by marching."""
    full = gutter_capacity(BOX, [GutterArm(length_ft * FOOT, 1.0)], manning_n=0.011)
    assert full.flow_m3_s / GPM == pytest.approx(gpm, abs=0.1)


@pytest.mark.parametrize("slope", [0.02, 0.03, 0.05])
@pytest.mark.parametrize("gpm", [60.0, 120.0])
def test_critical_section_inside_a_steep_box(slope: float, gpm: float) -> None:
    """Textbook of hydraulic structures, equation 4.27: x = 8 q²/(g B² (S0 - g P/(C² B))³); read in a copy whose
    formula is garbled, so recomputed (critical depth with S0 = Sf + 2 y_c/x). Without friction C is infinite."""
    length = 20.0
    q = gpm * GPM / length
    printed = 8 * q**2 / (GRAVITY * BOX.top_width_m**2 * slope**3)
    (line,) = gutter_water(BOX, [GutterArm(length, gpm * GPM, slope)], manning_n=0).arms
    if printed >= length:
        assert line.control == "free fall" and line.critical_at_m is None
    else:
        assert line.critical_at_m == pytest.approx(printed, rel=1e-6)


@pytest.mark.parametrize("length_m", [6.0, 12.0, 24.0])
def test_slope_from_which_the_control_moves_inside(length_m: float) -> None:
    """Equation 4.26 of the same textbook, by its own argument: critical depth at the outlet and S0 = 2 y_c/L there.

    A hair flatter the control stands at the outlet, a hair steeper inside.
    """
    flow = 70 * GPM
    depth = (flow**2 / (GRAVITY * BOX.top_width_m**2)) ** (1 / 3)
    edge = 2 * depth / length_m

    def control(slope: float) -> str:
        return gutter_water(BOX, [GutterArm(length_m, flow, slope)], manning_n=0).arms[0].control

    assert control(0.97 * edge) == "free fall"
    assert control(1.06 * edge) == "inside"


def test_depth_at_the_critical_section_grows_with_flow_to_two_thirds() -> None:
    """A box: y_c = (Q²/g b²)^(1/3), at the outlet of a level gutter whatever the friction."""
    for gpm in (20.0, 40.0, 60.0):
        (line,) = gutter_water(BOX, [GutterArm(12.0, gpm * GPM)], manning_n=0.011).arms
        depth = (math.pow(gpm * GPM, 2) / (GRAVITY * BOX.top_width_m**2)) ** (1 / 3)
        assert line.depth_m[-1] == pytest.approx(depth, rel=1e-9)
