"""Zones in plan: lengths of legs inside them against a general geometry library, and what crossing costs."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.trench.route import elbows
from roofwell.physics.trench.route_turns import TurnPrices, branch_cost, pieces_and_rest, turn_cost
from roofwell.physics.trench.route_zones import Way, crossing_cost, length_within, triangles

ELL = shapely.Polygon([(0, 0), (12, 0), (12, 4), (6, 4), (6, 10), (0, 10)])
RING = shapely.box(-5, -5, 15, 15).difference(shapely.box(0, 0, 8, 6))
SIZES = tuple(math.radians(a) for a in (22.5, 45, 60, 90))
PRICES = TurnPrices(SIZES, elbow=2.0, wye=3.0, inlet=4.0, left_over=1.0, free_rad=math.radians(5))


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.tuples(*[st.floats(-9, 19)] * 4), min_size=1, max_size=12),
    st.sampled_from([ELL, RING, shapely.Point(3, 3).buffer(4)]),
)
def test_length_inside_is_that_of_the_library(legs, zone):
    """GEOS intersects each leg with the polygon; we clip by triangles. On the very edge either may be right."""
    a, b = np.array(legs)[:, :2], np.array(legs)[:, 2:]
    ours = length_within(a, b, triangles(zone))
    for start, end, length in zip(a, b, ours, strict=True):
        leg = shapely.LineString([start, end])
        least, most = (leg.intersection(zone.buffer(d, join_style="mitre")).length for d in (-1e-6, 1e-6))
        assert least - 1e-4 <= length <= most + 1e-4


def test_triangles_fill_the_zone():
    """Their areas sum to the polygon's: 84 and 400 less 48."""
    for zone, area in ((ELL, 84.0), (RING, 352.0)):
        (ax, ay), (bx, by) = (lambda t: ((t[:, 1] - t[:, 0]).T, (t[:, 2] - t[:, 0]).T))(triangles(zone))
        assert (ax * by - ay * bx).sum() / 2 == pytest.approx(area)
    assert triangles(shapely.Polygon()).shape == (0, 3, 2)
    with pytest.raises(InputError, match="polygon"):
        triangles(shapely.LineString([(0, 0), (1, 1)]))


def test_the_cheaper_way_across_is_taken():
    """Bore 8 + 2 a metre up to 3 m, cut 2 + 6 a metre: cut below 1.5 m, bore above, cut again beyond 3 m."""
    ways = (Way("bored", 8.0, 2.0, 3.0), Way("cut", 2.0, 6.0, math.inf))
    cost = crossing_cost(np.array([0.0, 1.0, 2.0, 4.0]), ways)
    assert cost.tolist() == [0.0, 8.0, 12.0, 26.0]
    assert crossing_cost(np.array([2.0]), ()).tolist() == [0.0]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.floats(-math.pi, math.pi), min_size=1, max_size=20))
def test_many_turns_at_once_are_made_as_one(turns):
    """The same pieces and the same rest as the search for a single turn."""
    count, rest = pieces_and_rest(np.array(turns), SIZES)
    for turn, pieces, left in zip(turns, count, rest, strict=True):
        one = elbows(turn, SIZES)
        assert (len(one.angles_rad), abs(one.left_over_rad)) == (pieces, pytest.approx(left, abs=1e-9))


def test_what_turns_cost():
    """A straight line nothing; an elbow 2; what is left over of 11.25 degrees 1; a branch is turned from 45."""
    turns = np.radians([0.0, 4.0, 45.0, 60.0, 67.5, 11.25, 30.0])
    assert turn_cost(turns, PRICES) == pytest.approx([0, 0, 2, 2, 2 + 7.5 / 11.25, 1, 2 + 7.5 / 11.25])
    assert branch_cost(np.radians([45.0, 0.0, 90.0, 135.0]), PRICES) == pytest.approx([0, 2, 2, 2])


def test_prices_below_nothing_are_refused():
    with pytest.raises(InputError, match="below 0"):
        TurnPrices(SIZES, elbow=-1.0, wye=0.0, inlet=0.0, left_over=0.0, free_rad=0.0)
    with pytest.raises(InputError, match="above 0"):
        TurnPrices((), elbow=1.0, wye=0.0, inlet=0.0, left_over=0.0, free_rad=0.0)
