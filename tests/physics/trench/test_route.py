"""Routes in plan: along the wall, then straight; stations, crossings, turns."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon, box

from roofwell.errors import InputError
from roofwell.physics.trench import route

HOUSE = [(0.0, 0.0), (12.0, 0.0), (12.0, 8.0), (0.0, 8.0)]
ELL = [(0.0, 0.0), (12.0, 0.0), (12.0, 4.0), (6.0, 4.0), (6.0, 10.0), (0.0, 10.0)]


def test_a_goal_in_front_of_the_wall_is_reached_straight():
    """The line leaves the wall at once."""
    path = route.route_along_wall(start=(2, 8), goal=(3, 20), outline=HOUSE, offset_m=1.0)
    assert path.tolist() == [[2, 8], [3, 20]]


def test_a_line_that_would_hug_the_wall_goes_out_first():
    """From the wall to a goal nearly along it: out by the offset, then along."""
    path = route.route_along_wall(start=(2, 8), goal=(16, 9), outline=HOUSE, offset_m=1.0)
    assert path.tolist() == [[2, 8], [2, 9], [16, 9]]


def test_a_corner_is_rounded_the_shorter_way():
    """From the back wall to the front: by the nearer end of the house, leaving the wall at the corner."""
    path = route.route_along_wall(start=(2, 8), goal=(5, -6), outline=HOUSE, offset_m=1.0)
    assert path[:3].tolist() == [[2, 8], [2, 9], [-1, 9]]
    assert path[3] == pytest.approx([-1, -1], abs=1e-3)
    assert path[-1].tolist() == [5, -6]


def test_a_goal_at_the_wall_is_entered_straight_in():
    """The mirror of the start."""
    path = route.route_along_wall(start=(2, 8), goal=(12, 4), outline=HOUSE, offset_m=1.0)
    assert path.tolist() == pytest.approx(np.array([[2, 8], [2, 9], [13, 9], [13, 4], [12, 4]]), abs=1e-3)


def test_direction_and_closing_of_the_outline_do_not_matter():
    """Clockwise, closed: the same path."""
    a = route.route_along_wall(start=(2, 8), goal=(5, -6), outline=HOUSE, offset_m=1.0)
    b = route.route_along_wall(start=(2, 8), goal=(5, -6), outline=[*HOUSE, HOUSE[0]][::-1], offset_m=1.0)
    assert a == pytest.approx(b, abs=1e-4)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0, 43.9),
    st.floats(-20, 30),
    st.floats(-20, 30),
    st.sampled_from([HOUSE, ELL]),
    st.floats(0.3, 1.5),
)
def test_every_route_stays_out_of_the_house(along, x, y, outline, offset):
    """No leg enters the building, and off the ends the offset is kept."""
    building = Polygon(outline)
    wall = building.exterior
    start = wall.interpolate(along % wall.length)
    if building.buffer(0.01).contains(LineString([(x, y), (x + 1e-6, y)])):
        return
    path = route.route_along_wall(start=(start.x, start.y), goal=(x, y), outline=outline, offset_m=offset)
    line = LineString(path)
    assert line.intersection(building.buffer(-1e-4)).is_empty
    assert path[0] == pytest.approx((start.x, start.y))
    assert path[-1] == pytest.approx((x, y))
    inside = line.intersection(building.buffer(offset, join_style="mitre").buffer(-1e-4)).length
    assert inside <= 4 * offset + 1e-3  # straight out, straight in, or one short slanting line


@pytest.mark.parametrize(
    ("start", "goal", "outline", "offset", "code"),
    [
        ((0, 4), (20, 4), HOUSE, 0.0, "route-offset"),
        ((0, 4), (20, 4), [(0, 0), (5, 5)], 1.0, "route-outline"),
        ((0, 4), (20, 4), [(0, 0), (5, 5), (5, 0), (0, 5)], 1.0, "route-outline"),
        ((6, 4), (20, 4), HOUSE, 1.0, "route-start"),
        ((0, 4), (6, 4), HOUSE, 1.0, "route-goal"),
        ((0, float("nan")), (20, 4), HOUSE, 1.0, "route-start"),
        (
            (5, 1), (5, 20),
            [(0, 0), (10, 0), (10, 10), (5.5, 10), (5.5, 1), (4.5, 1), (4.5, 10), (0, 10)],
            1.0, None,
        ),
    ],
)  # fmt: skip
def test_bad_routes(start, goal, outline, offset, code):
    """Each refusal has its code; a goal in sight straight out of a narrow court is no refusal."""
    if code is None:
        path = route.route_along_wall(start=start, goal=goal, outline=outline, offset_m=0.4)
        assert LineString(path).length == pytest.approx(19)
        return
    with pytest.raises(InputError) as caught:
        route.route_along_wall(start=start, goal=goal, outline=outline, offset_m=offset)
    assert caught.value.code == code


def test_stations_stand_at_every_step_and_every_corner():
    """3 m east, 4 m north, every 2 m."""
    stations, points = route.station_points([(0, 0), (3, 0), (3, 4)], 2.0)
    assert stations.tolist() == [0, 2, 3, 4, 6, 7]
    assert points.tolist() == [[0, 0], [2, 0], [3, 0], [3, 1], [3, 3], [3, 4]]
    assert route.path_length_m([(0, 0), (3, 0), (3, 4)]) == 7
    with pytest.raises(InputError, match="spacing"):
        route.station_points([(0, 0), (3, 0)], 0.0)


def test_crossings_are_stretches_in_order():
    """A walk is a stretch, a line a place, in the order met; what is not met is not there."""
    path = [(0, 0), (3, 0), (3, 4)]
    assert route.crossings(path, box(1, -1, 2, 1)) == ((1.0, 2.0),)
    assert route.crossings(path, LineString([(0, 2), (9, 2)])) == ((5.0, 5.0),)
    assert route.crossings(path, box(2, -1, 4, 1)) == ((2.0, 4.0),)
    assert route.crossings(path, box(20, 20, 21, 21)) == ()
    assert route.crossings(path, LineString([(1, -1), (1, 1), (9, 1)])) == ((1.0, 1.0), (4.0, 4.0))


def test_deflections_are_signed():
    """Left is positive, a straight vertex has none."""
    turns = route.deflections_rad([(0, 0), (1, 0), (2, 0), (2, 1), (3, 2)])
    assert [math.degrees(t) for t in turns] == pytest.approx([0, 90, -45])


@pytest.mark.parametrize(
    ("degrees", "pieces", "left"),
    [
        (0, [], 0),
        (10, [], 10),
        (20, [22.5], -2.5),
        (45, [45], 0),
        (-45, [45], 0),
        (60, [45, 22.5], -7.5),
        (67.5, [45, 22.5], 0),
        (90, [90], 0),
        (-135, [90, 45], 0),
        (180, [90, 90], 0),
    ],
)
def test_elbows_of_a_turn(degrees, pieces, left):
    """Nearest sum of the standard elbows, few first; the rest keeps the sign of the turn."""
    found = route.elbows(math.radians(degrees))
    assert [math.degrees(a) for a in found.angles_rad] == pytest.approx(pieces)
    assert math.degrees(found.left_over_rad) == pytest.approx(left)


def test_elbows_of_another_trade():
    """With 60-degree elbows on sale a 60-degree turn takes one."""
    found = route.elbows(math.radians(60), tuple(math.radians(a) for a in (22.5, 45, 60, 90)))
    assert [math.degrees(a) for a in found.angles_rad] == pytest.approx([60])
    with pytest.raises(InputError):
        route.elbows(4.0)
