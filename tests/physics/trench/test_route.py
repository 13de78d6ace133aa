"""Paths in plan: stations, crossings, turns."""

from __future__ import annotations

import math

import pytest
from shapely.geometry import LineString, box

from roofwell.errors import InputError
from roofwell.physics.trench import route


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
