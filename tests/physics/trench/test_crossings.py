"""Where runs cross in plan: by hand, and against signed areas on random lines."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.trench.crossings import own_crossings

ACROSS = [(0.0, 0.0), (10.0, 0.0)]


@pytest.mark.parametrize(
    ("path", "stations"),
    [
        ([(5.0, -5.0), (5.0, 5.0)], (5.0, 5.0)),  # straight across
        ([(2.0, 3.0), (4.0, 0.0), (6.0, -3.0)], (4.0, 13**0.5)),  # across at its own corner
        ([(2.0, 0.0), (2.0, 5.0)], None),  # begins there
        ([(0.0, 0.0), (0.0, 5.0)], None),  # shares a part
        ([(3.0, 3.0), (5.0, 0.0), (7.0, 3.0)], None),  # comes up to it and leaves again
        ([(1.0, 0.0), (4.0, 0.0), (4.0, 5.0)], None),  # lies along it
        ([(5.0, 1.0), (5.0, 5.0)], None),  # stays away
    ],
)
def test_by_hand(path, stations):
    found = own_crossings(ids=["P1", "P2"], paths=[ACROSS, path], clearance_m=0.15)
    if stations is None:
        assert found == ()
    else:
        (one,) = found
        assert (one.first_station_m, one.second_station_m) == pytest.approx(stations)
        assert (one.first, one.second, one.clearance_m) == ("P1", "P2", 0.15)


point = st.tuples(st.floats(-10, 10), st.floats(-10, 10))


@given(point, point, point, point)
def test_two_straight_runs_cross_where_signed_areas_say_so(a, b, c, d):
    """Ends on different sides of each other's line, both ways (textbook test, common practice)."""

    def area(p, q, r):
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    areas = [area(a, b, c), area(a, b, d), area(c, d, a), area(c, d, b)]
    assume(all(abs(value) > 5.0 for value in areas))
    lengths = [((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2) ** 0.5 for p, q in ((a, b), (c, d))]
    assume(min(lengths) > 1.0)
    cross = areas[0] * areas[1] < 0 and areas[2] * areas[3] < 0
    assert bool(own_crossings(ids=["P1", "P2"], paths=[[a, b], [c, d]], clearance_m=0.1)) == cross


def test_nonsense_is_refused():
    for ids, clearance in ((["P1"], 0.1), (["P1", "P2"], -0.1)):
        with pytest.raises(InputError) as caught:
            own_crossings(ids=ids, paths=[ACROSS, ACROSS], clearance_m=clearance)
        assert caught.value.code == "own-crossing"
