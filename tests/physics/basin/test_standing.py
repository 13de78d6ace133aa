"""Water that stays in a basin and in the pipe before it."""

import math
from typing import Any

import pytest
from scipy.integrate import quad

from roofwell.errors import InputError
from roofwell.physics.basin.standing import standing_water

BASIN: dict[str, Any] = {
    "inlet_invert_m": 10.0,
    "outlet_invert_m": 10.15,
    "pipe_slope": 0.01,
    "pipe_diameter_m": 0.10,
    "pipe_length_m": 30.0,
    "basin_area_m2": 0.09,
    "floor_m": 9.7,
}


def wet_area(diameter: float, depth: float) -> float:
    if depth <= 0:
        return 0.0
    if depth >= diameter:
        return math.pi * diameter**2 / 4
    half = diameter / 2
    return half**2 * math.acos(1 - depth / half) - (half - depth) * math.sqrt(depth * (diameter - depth))


def test_high_outlet_fills_the_inlet_pipe() -> None:
    """Outlet 150 mm above the inlet, pipe of 100 mm at 1 %: 15 m wet, the lower 5 m brim-full."""
    water = standing_water(**BASIN)
    assert water.level_m == 10.15
    assert water.depth_over_inlet_m == pytest.approx(0.15)
    assert water.fall_lost_m == pytest.approx(0.15)
    assert water.wet_length_m == pytest.approx(15.0)
    assert water.brim_full_length_m == pytest.approx(5.0)
    assert water.sump_depth_m == pytest.approx(0.45)
    assert water.basin_volume_m3 == pytest.approx(0.0405)
    assert water.volume_m3 == pytest.approx(water.basin_volume_m3 + water.pipe_volume_m3)


@pytest.mark.parametrize("outlet", [10.03, 10.08, 10.15, 10.5])
@pytest.mark.parametrize("length", [2.0, 8.0, 60.0])
def test_pipe_volume_is_the_area_summed_along_the_pipe(outlet: float, length: float) -> None:
    """Against a general integrator, for pipes that end under water and above it."""
    water = standing_water(**(BASIN | {"outlet_invert_m": outlet, "pipe_length_m": length}))
    depth = outlet - 10.0
    breaks = [x for x in ((depth - 0.1) / 0.01, depth / 0.01) if 0 < x < length]
    volume, _ = quad(lambda x: wet_area(0.1, depth - 0.01 * x), 0, length, points=breaks or None, limit=200)
    assert water.pipe_volume_m3 == pytest.approx(volume, rel=1e-6)


def test_low_outlet_leaves_the_pipe_dry() -> None:
    """With the outlet below the inlet only the sump stands; with it level, nothing changes sign."""
    for outlet in (9.9, 10.0):
        water = standing_water(**(BASIN | {"outlet_invert_m": outlet}))
        assert water.depth_over_inlet_m == water.fall_lost_m == water.wet_length_m == 0
        assert water.brim_full_length_m == water.pipe_volume_m3 == 0
        assert water.basin_volume_m3 == pytest.approx((outlet - 9.7) * 0.09)


def test_a_level_pipe_is_wet_from_end_to_end() -> None:
    """No slope: the same depth all along, and the limit of a very small slope."""
    level = standing_water(**(BASIN | {"pipe_slope": 0.0, "outlet_invert_m": 10.05}))
    assert level.wet_length_m == 30.0 and level.brim_full_length_m == 0.0
    assert level.pipe_volume_m3 == pytest.approx(30 * math.pi * 0.1**2 / 8, rel=1e-12)
    nearly = standing_water(**(BASIN | {"pipe_slope": 1e-7, "outlet_invert_m": 10.05}))
    assert nearly.pipe_volume_m3 == pytest.approx(level.pipe_volume_m3, rel=1e-4)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"pipe_diameter_m": 0}, "basin-number"),
        ({"pipe_length_m": -1}, "basin-number"),
        ({"basin_area_m2": 0}, "basin-number"),
        ({"pipe_slope": -0.001}, "basin-number"),
        ({"floor_m": 10.001}, "basin-invert-under-floor"),
        ({"outlet_invert_m": float("nan")}, "basin-number"),
    ],
)
def test_out_of_range_is_refused(change: dict[str, float], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        standing_water(**(BASIN | change))
    assert caught.value.code == code
