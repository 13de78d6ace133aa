"""Ways of water over triangles: exact on plane, pyramid and saddle; bowls by integration.

Random ground: test_descent_raster.py.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from scipy.integrate import quad

from roofwell.errors import InputError
from roofwell.physics.ground.descent import Ground, cut_at, way_down
from roofwell.physics.ground.ponding import part_filled
from roofwell.physics.ground.surface import Surface, make_surface
from roofwell.physics.ground.triangulation import around


def ground_of(surface: Surface, *outlines: list[tuple[float, float]]) -> Ground:
    assert surface.mesh is not None
    return Ground(*around(surface.mesh, surface.elevations, outlines))


def square(side: float) -> list[tuple[float, float]]:
    return [(0, 0), (side, 0), (side, side), (0, side)]


def plane(seed: int, east: float, north: float, side: float = 20.0) -> Surface:
    places = np.concatenate([square(side), np.random.default_rng(seed).uniform(0.5, side - 0.5, (30, 2))])
    return make_surface(points=places, elevations=50 + places @ [east, north])


@pytest.mark.parametrize("seed", range(4))
def test_on_a_plane_water_runs_straight_down_to_the_edge(seed: int) -> None:
    """Fall (0.03, 0.04) from (8, 5): north edge y = 20 at x = 8 + 15 * 3/4 = 19.25; drop 0.05 * 18.75 = 0.9375 m."""
    way = way_down(ground_of(plane(seed, -0.03, -0.04)), (8, 5))
    assert way.end == "shots end"
    assert way.points[-1] == pytest.approx([19.25, 20.0], abs=1e-9)
    off = (way.points - [8, 5]) @ [4 / 5, -3 / 5]
    assert np.abs(off).max() < 1e-9
    assert way.length_m == pytest.approx(18.75, abs=1e-9)
    assert way.elevations[0] - way.elevations[-1] == pytest.approx(0.9375, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_a_house_turns_the_water_along_its_wall(seed: int) -> None:
    """Fall (0.02, 0.03) meets the wall y = 9 at x = 8 + 4 * 2/3, runs to the corner (13, 9) and on in its old direction:
    the east edge x = 20 is met at y = 9 + 7 * 3/2 = 19.5."""
    house = [(9.0, 9.0), (13.0, 9.0), (13.0, 13.0), (9.0, 13.0)]
    way = way_down(ground_of(plane(seed, -0.02, -0.03), house), (8, 5))
    at_wall = [i for i, what in enumerate(way.stretches) if what == "wall"]
    assert way.points[at_wall[0]] == pytest.approx([8 + 8 / 3, 9.0], abs=1e-5)
    assert way.points[at_wall[-1] + 1] == pytest.approx([13.0, 9.0], abs=1e-5)
    assert way.points[-1] == pytest.approx([20.0, 19.5], abs=1e-4)
    line = shapely.LineString(way.points)
    assert line.intersection(shapely.Polygon(house).buffer(-1e-5)).is_empty


def test_the_ground_stays_the_same_with_a_house_cut_out() -> None:
    """Elevations beside the house are those of the surface before it was cut out; inside there is no ground."""
    places = np.random.default_rng(5).uniform(0, 20, (40, 2))
    surface = make_surface(points=places, elevations=places[:, 0] ** 1.5 - np.cos(places[:, 1]))
    house = [(6.0, 7.0), (13.0, 9.0), (11.0, 14.0), (5.0, 12.0)]
    ground = ground_of(surface, house)
    area = shapely.Polygon(house)
    for at in np.random.default_rng(6).uniform(3, 17, (300, 2)):
        if area.contains(shapely.Point(at)):
            assert ground.elevation_m((at[0], at[1])) is None
        elif surface.inside([at])[0]:
            assert ground.elevation_m((at[0], at[1])) == pytest.approx(surface.elevation_m([at])[0], abs=1e-7)


def cone(n: int, sign: float) -> Surface:
    """A pyramid of n sides, 10 m from axis to corner, 1 m high (sign -1: a funnel 1 m deep), in a wide low ground."""
    ring = np.column_stack([np.cos(np.arange(n) * math.tau / n), np.sin(np.arange(n) * math.tau / n)])
    out = np.concatenate([[[0, 0]], 10 * ring, 20 * ring])
    rim = 0.0 if sign > 0 else 1.0
    z = np.concatenate([[1.0 if sign > 0 else 0.0], np.full(n, rim), np.full(n, rim - 1.0)])
    lines = [np.column_stack([[[0, 0], p], [z[0], rim]]) for p in 10 * ring]
    lines += [np.column_stack([10 * ring[[i, (i + 1) % n]], [rim, rim]]) for i in range(n)]
    return make_surface(points=out, elevations=z, break_lines=lines)


@pytest.mark.parametrize("n", [6, 8, 24])
def test_down_a_cone_water_runs_square_to_its_base(n: int) -> None:
    """On a facet the steepest way is along its apothem; the drop is the height of the start over the base."""
    ground = ground_of(cone(n, 1.0))
    angle = math.pi / n  # the middle of the first facet
    normal = np.array([math.cos(angle), math.sin(angle)])
    start = 3.0 * normal + 0.2 * np.array([-normal[1], normal[0]])
    way = way_down(ground, (start[0], start[1]))
    apothem = 10 * math.cos(angle)
    at_base = next(p for p in way.points if p @ normal >= apothem - 1e-9)
    assert at_base == pytest.approx(apothem * normal + 0.2 * np.array([-normal[1], normal[0]]), abs=1e-9)
    assert way.elevations[0] == pytest.approx(1 - 3 / apothem, abs=1e-12)


@pytest.mark.parametrize("n", [6, 24, 96])
def test_from_beside_the_top_of_a_cone_water_runs_straight_out(n: int) -> None:
    """Off center on a facet's middle it runs along the radius, exactly; from anywhere it turns by less than a facet's half.

    On a facet water keeps its distance from the facet's middle line, so that from angle t beside it (at most pi/n) it comes
    to the base nearer to that line: on the round cone, n without end, straight out.
    """
    ground = ground_of(cone(n, 1.0))
    for angle in (math.pi / n, 7 * math.pi / n):
        radius = np.array([math.cos(angle), math.sin(angle)])
        way = way_down(ground, (2.0 * radius[0], 2.0 * radius[1]))
        off = way.points @ np.array([-radius[1], radius[0]])
        assert np.abs(off).max() < 1e-9
        assert (np.diff(way.points @ radius) > 0).all()
    for angle in np.random.default_rng(n).uniform(0, math.tau, 12):
        way = way_down(ground, (2.0 * math.cos(angle), 2.0 * math.sin(angle)))
        out = np.hypot(*way.points.T)
        on_cone = way.points[out <= 10 * (1 + 1e-9)]
        turned = np.arctan2(on_cone[:, 1], on_cone[:, 0]) - angle
        assert np.abs((turned + math.pi) % math.tau - math.pi).max() <= math.pi / n + 1e-9
        assert out[-1] >= 20 * math.cos(math.pi / n) - 1e-9


@pytest.mark.parametrize("n", [5, 8, 24])
def test_a_funnel_fills_to_its_rim(n: int) -> None:
    """Volume a third of base times depth; base of a regular polygon n/2 r² sin(2π/n). It runs over the rim."""
    way = way_down(ground_of(cone(n, -1.0)), (1.0, 0.3))
    pond = way.ponds[0]
    base = n / 2 * 100 * math.sin(math.tau / n)
    assert pond.level_m == pytest.approx(1.0)
    assert pond.area_m2 == pytest.approx(base, rel=1e-12)
    assert pond.volume_m3 == pytest.approx(base / 3, rel=1e-12)
    assert pond.outline.area == pytest.approx(base, rel=1e-9)
    assert np.hypot(*pond.spill_at) == pytest.approx(10.0)
    assert way.end == "shots end"
    assert way.elevations[-1] == pytest.approx(0.0)
    half = part_filled(ground_of(cone(n, -1.0)).mesh, cone(n, -1.0).elevations, pond, pond.volume_m3 / 8)
    assert half.level_m == pytest.approx(0.5, abs=1e-6)  # a cone half as deep holds an eighth


def test_what_a_bowl_can_hold_stays_in_it() -> None:
    """Less water than the funnel holds stands in it, as deep as its volume says: depth = (V / V_full)^(1/3)."""
    ground = ground_of(cone(8, -1.0))
    full = way_down(ground, (1.0, 0.3)).ponds[0].volume_m3
    way = way_down(ground, (1.0, 0.3), volume_m3=0.3 * full)
    assert way.end == "stands"
    assert way.ponds[-1].level_m == pytest.approx(0.3 ** (1 / 3), abs=1e-6)
    assert way.ponds[-1].volume_m3 == pytest.approx(0.3 * full, rel=1e-6)
    assert way_down(ground, (1.0, 0.3), volume_m3=1.01 * full).end == "shots end"


def saddle(step: float) -> Surface:
    """z = (x² - y²)/2 on a square of 8 m, shots every ``step``, its two axes as break lines."""
    one = np.arange(-4, 4 + step / 2, step)
    x, y = (a.ravel() for a in np.meshgrid(one, one))
    zero = np.zeros_like(one)
    axes = [np.column_stack([one, zero, one**2 / 2]), np.column_stack([zero, one, -(one**2) / 2])]
    return make_surface(points=np.column_stack([x, y]), elevations=(x**2 - y**2) / 2, break_lines=axes)


@pytest.mark.parametrize("start", [(0.0, 0.0), (0.0, 0.3), (0.0, -1.7)])
def test_on_the_low_axis_of_a_saddle_water_stays_on_it(start: tuple[float, float]) -> None:
    """Across its low axis the saddle is a hollow: from the middle, or beside it, straight down to the edge at 4 m."""
    way = way_down(ground_of(saddle(0.5)), start)
    assert way.end == "shots end"
    assert np.abs(way.points[:, 0]).max() < 1e-12
    assert abs(way.points[-1, 1]) == pytest.approx(4.0)
    assert set(way.stretches) == {"channel"}


def test_beside_the_axis_of_a_saddle_water_follows_the_hyperbola() -> None:
    """Steepest descent of (x² - y²)/2 keeps x y; on triangles it comes nearer to that as the shots come closer."""
    worst = []
    for step in (0.5, 0.25, 0.125):
        way = way_down(ground_of(saddle(step)), (3.03, 1.13))
        assert way.points[-1, 1] == pytest.approx(4.0, abs=1e-9)
        worst.append(np.abs(way.points[:, 0] * way.points[:, 1] - 3.03 * 1.13).max())
    assert worst[1] < 0.7 * worst[0]
    assert worst[2] < 0.7 * worst[1]
    assert worst[2] < 0.1


STATIONS = np.array([-6.0, 0.0, 2.0, 4.0, 6.0, 8.0, 14.0])
PROFILE = np.array([0.0, 1.5, 0.0, 1.0, 0.5, 2.0, 1.0])
SIDE = 0.5


def valley() -> Surface:
    """A V-shaped valley with two bowls along its floor: sides rise 1 in 2, saddles at 1.5, 1.0 and 2.0."""
    y = np.array([-8.0, 0.0, 8.0])
    points = [(x, b) for x in STATIONS for b in y]
    z = [f + SIDE * abs(b) for f in PROFILE for b in y]
    cross = [
        np.column_stack([np.full(3, x), y, f + SIDE * np.abs(y)])
        for x, f in zip(STATIONS, PROFILE, strict=True)
    ]
    floor = np.column_stack([STATIONS, np.zeros(7), PROFILE])
    return make_surface(points=points, elevations=z, break_lines=[floor, *cross])


def section_volume(low: float, high: float, level: float) -> float:
    """∫ (level - f)² / side dx: a V of depth d across has the area d² / side."""

    def area(x: float) -> float:
        return max(0.0, level - float(np.interp(x, STATIONS, PROFILE))) ** 2 / SIDE

    kinks = [x for x in STATIONS if low < x < high]
    return float(quad(area, low, high, points=kinks, limit=400)[0])


def test_two_bowls_that_meet_fill_as_one() -> None:
    """From the second bowl water first runs into the first (rim 1.0), which hands it back at the same rim: together they
    fill to 1.5 and run out at the left; by the section's integral."""
    way = way_down(ground_of(valley()), (6.1, 0.4))
    assert [pond.level_m for pond in way.ponds] == pytest.approx([1.5])
    pond = way.ponds[0]
    assert pond.spill_at == pytest.approx((0.0, 0.0))
    assert pond.volume_m3 == pytest.approx(section_volume(0.0, 8.0, 1.5), rel=1e-6)
    assert way.points[-1] == pytest.approx([-6.0, 0.0], abs=1e-9)


def test_a_bowl_that_spills_into_another_is_kept_apart_while_it_may() -> None:
    """With the right saddle at 0.9 the second bowl never reaches the first again: two ponds, 1.0 and 0.9."""
    profile = PROFILE.copy()
    profile[5] = 0.9
    profile[6] = -1.0
    y = np.array([-8.0, 0.0, 8.0])
    points = [(x, b) for x in STATIONS for b in y]
    z = [f + SIDE * abs(b) for f in profile for b in y]
    cross = [
        np.column_stack([np.full(3, x), y, f + SIDE * np.abs(y)])
        for x, f in zip(STATIONS, profile, strict=True)
    ]
    floor = np.column_stack([STATIONS, np.zeros(7), profile])
    way = way_down(
        ground_of(make_surface(points=points, elevations=z, break_lines=[floor, *cross])), (1.8, 0.2)
    )
    assert [pond.level_m for pond in way.ponds] == pytest.approx([1.0, 0.9])
    assert way.points[-1] == pytest.approx([14.0, 0.0], abs=1e-9)
    falls = np.diff(way.elevations)
    assert (falls <= 1e-9).all()


def test_level_ground_is_a_bowl_of_no_depth() -> None:
    """On level ground water spreads to the rim of the shots at once, and nobody knows where it goes from there."""
    surface = make_surface(points=[*square(10), (5, 5)], elevations=np.full(5, 2.0))
    way = way_down(ground_of(surface), (4.0, 3.0))
    assert way.end == "shots end"
    assert way.ponds[0].at_rim
    assert way.ponds[0].volume_m3 == pytest.approx(0.0)


def test_a_way_is_cut_where_it_leaves_the_lot() -> None:
    """The plane's way (8, 5) to (19.25, 20) leaves a lot that ends at y = 11 at x = 8 + 6 * 3/4."""
    way = way_down(ground_of(plane(1, -0.03, -0.04)), (8, 5))
    lot = shapely.Polygon([(1, 1), (19, 1), (19, 11), (1, 11)]).boundary
    cut = cut_at(way, lot)
    assert cut.end == "line"
    assert cut.points[-1] == pytest.approx([12.5, 11.0], abs=1e-9)
    assert cut.length_m == pytest.approx(7.5, abs=1e-9)
    assert cut_at(way, shapely.LineString([(0, 20.2), (20, 20.2)]), near_m=0.3).end == "line"
    assert cut_at(way, shapely.LineString([(0, 20.4), (20, 20.4)]), near_m=0.3).end == "shots end"


def test_what_cannot_be_followed_is_refused() -> None:
    ground = ground_of(plane(1, -0.03, -0.04), [(9.0, 9.0), (13.0, 9.0), (13.0, 13.0), (9.0, 13.0)])
    for at in ((30.0, 5.0), (11.0, 11.0)):
        with pytest.raises(InputError) as refused:
            way_down(ground, at)
        assert refused.value.code == "descent-outside"
    with pytest.raises(InputError) as refused:
        way_down(ground, (5, 5), volume_m3=0.0)
    assert refused.value.code == "descent-volume"
