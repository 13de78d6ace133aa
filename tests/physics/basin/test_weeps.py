"""Emptying through weep holes: Torricelli's closed form, the soil's own pace by hand, both together by brute force."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from roofwell.errors import InputError
from roofwell.physics.basin.standing import still_water_m3
from roofwell.physics.basin.weeps import weep_drain

INCH, FOOT, HOUR = 0.0254, 0.3048, 3600.0
CUBIC_FOOT = FOOT**3
BASIN_M2 = math.pi / 4 * (18 * INCH) ** 2
FOUR_HALF_INCH_M2 = 4 * math.pi / 4 * (0.5 * INCH) ** 2


def _upright(depth_m: float, steps: int = 8) -> tuple[np.ndarray, np.ndarray]:
    depths = np.linspace(0.0, depth_m, steps + 1)
    return depths, BASIN_M2 * depths


def test_holes_alone_empty_an_upright_basin_as_torricelli_says() -> None:
    """T = 2 A sqrt(H) / (C a sqrt(2 g)), hydraulics texts; by hand in feet for an 18 in basin, 16 in deep, four 1/2 in
    holes, C 0.6: 2 x 1.767 x 1.1547 / (0.6 x 0.005454 x 8.0217) = 155.4 s."""
    depths, volumes = _upright(16 * INCH)
    found = weep_drain(
        depths_m=depths,
        volumes_m3=volumes,
        hole_area_m2=FOUR_HALF_INCH_M2,
        coefficient=0.6,
        soil_m3_s=1.0,
        bed_m3=0.0,
    )
    assert found.empty_s == pytest.approx(155.4, abs=0.3)
    assert found.soil_s == 0.0
    # exact whatever the slices
    coarse = weep_drain(
        depths_m=depths[[0, -1]],
        volumes_m3=volumes[[0, -1]],
        hole_area_m2=FOUR_HALF_INCH_M2,
        coefficient=0.6,
        soil_m3_s=1.0,
        bed_m3=0.0,
    )
    assert coarse.empty_s == pytest.approx(found.empty_s, rel=1e-12)


def test_slow_soil_sets_the_pace() -> None:
    """By hand: 1.767 sq ft x 16 in = 2.356 cu ft, through 4.909 sq ft (a 30 in circle) at 0.5 in/h = 0.2045 cu ft/h:
    11.52 h. The stone, 4.909 sq ft x 6 in x 35 % = 0.859 cu ft, then takes 4.20 h more."""
    depths, volumes = _upright(16 * INCH)
    bed_m2 = math.pi / 4 * (30 * INCH) ** 2
    soil = bed_m2 * 0.5 * INCH / HOUR
    found = weep_drain(
        depths_m=depths,
        volumes_m3=volumes,
        hole_area_m2=FOUR_HALF_INCH_M2,
        coefficient=0.6,
        soil_m3_s=soil,
        bed_m3=bed_m2 * 6 * INCH * 0.35,
    )
    assert found.empty_s / HOUR == pytest.approx(11.52, abs=0.01)
    assert found.bed_s / HOUR == pytest.approx(4.20, abs=0.01)
    assert found.soil_s == pytest.approx(found.empty_s, rel=1e-3)


@pytest.mark.parametrize("share", [0.2, 0.6, 0.95, 1.5])
def test_both_against_small_steps_of_time(share: float) -> None:
    """Brute force: water and stone stepped on through time, with a pipe full of water behind the basin; the soil takes a
    share of what the holes pass at first."""
    depth = 20 * INCH
    grid = depth * np.linspace(0.0, 1.0, 241) ** 2
    pipe = np.array(
        [still_water_m3(depth_m=d - 8 * INCH, slope=0.01, diameter_m=0.1, length_m=12.0) for d in grid]
    )
    volumes = BASIN_M2 * grid + pipe
    holes = 2 * math.pi / 4 * (0.375 * INCH) ** 2
    at_first = 0.6 * holes * math.sqrt(2 * 9.80665 * depth)
    soil, bed = share * at_first, 0.03
    found = weep_drain(
        depths_m=grid, volumes_m3=volumes, hole_area_m2=holes, coefficient=0.6, soil_m3_s=soil, bed_m3=bed
    )
    step, time, water, stone = 0.25, 0.0, float(volumes[-1]), bed
    while water > 1e-7:
        head = float(np.interp(water, volumes, grid))
        wants = 0.6 * holes * math.sqrt(2 * 9.80665 * head)
        soaks = min(soil, stone / step + wants)
        passes = min(wants, (bed - stone) / step + soaks)
        water -= passes * step
        stone += (passes - soaks) * step
        time += step
    assert found.empty_s == pytest.approx(time, rel=5e-3)
    assert found.bed_s == pytest.approx(max(0.0, stone) / soil, abs=0.02 * bed / soil)


def test_nothing_passes_where_all_is_plugged_or_the_soil_is_shut() -> None:
    depths, volumes = _upright(0.4)
    for holes, soil in ((0.0, 1.0), (1e-4, 0.0)):
        found = weep_drain(
            depths_m=depths,
            volumes_m3=volumes,
            hole_area_m2=holes,
            coefficient=0.6,
            soil_m3_s=soil,
            bed_m3=0.01,
        )
        assert math.isinf(found.empty_s)


@pytest.mark.parametrize(
    "change",
    [
        {"coefficient": 0.0},
        {"coefficient": 1.1},
        {"hole_area_m2": -1.0},
        {"soil_m3_s": math.nan},
        {"bed_m3": -0.1},
        {"depths_m": np.array([0.1, 0.4])},
        {"volumes_m3": np.array([0.0, math.nan])},
        {"depths_m": np.array([0.0])},
    ],
)
def test_nonsense_is_refused(change: dict[str, object]) -> None:
    usual: dict[str, object] = {
        "depths_m": np.array([0.0, 0.4]),
        "volumes_m3": np.array([0.0, 0.1]),
        "hole_area_m2": 1e-4,
        "coefficient": 0.6,
        "soil_m3_s": 1e-5,
        "bed_m3": 0.01,
    }
    with pytest.raises(InputError) as error:
        weep_drain(**(usual | change))  # type: ignore[arg-type]
    assert error.value.code == "weep-number"


@pytest.mark.parametrize(("depth", "slope"), [(0.03, 0.01), (0.09, 0.01), (0.25, 0.02), (0.06, 0.0)])
def test_still_water_in_a_pipe_against_the_area_summed_along_it(depth: float, slope: float) -> None:
    """Brute force with scipy: the segment of a circle by its chord, summed up and then along the pipe."""

    def area(y: float) -> float:
        y = min(max(y, 0.0), 0.1)
        return quad(lambda z: 2 * math.sqrt(max(0.0, z * (0.1 - z))), 0.0, y)[0]

    length = 9.0
    brute = quad(lambda x: area(depth - slope * x), 0.0, length, limit=200)[0]
    found = still_water_m3(depth_m=depth, slope=slope, diameter_m=0.1, length_m=length)
    assert found == pytest.approx(brute, rel=1e-5)
    with pytest.raises(InputError):
        still_water_m3(depth_m=depth, slope=-0.1, diameter_m=0.1, length_m=length)
