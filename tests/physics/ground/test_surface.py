"""The ground between shots: planes are exact, edges are extended, lines and single shots work."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import LinearNDInterpolator

from roofwell.errors import InputError
from roofwell.physics.ground import surface as ground
from roofwell.physics.ground.surface import Surface, make_surface
from roofwell.physics.ground.triangulation import around

RNG = np.random.default_rng(20240607)
PLACES = RNG.uniform(0, 30, (25, 2)) + np.array([1000.0, 5000.0])


def test_a_plane_is_reproduced_with_its_slope():
    """Any triangulation of a plane gives the plane."""
    plane = make_surface(points=PLACES, elevations=30 + 0.02 * PLACES[:, 0] - 0.05 * PLACES[:, 1])
    at = PLACES.mean(axis=0) + RNG.uniform(-5, 5, (20, 2))
    assert ground.inside(plane, at).all()
    assert ground.elevation_m(plane, at) == pytest.approx(30 + 0.02 * at[:, 0] - 0.05 * at[:, 1])
    assert ground.slope(plane, at) == pytest.approx(np.tile([0.02, -0.05], (20, 1)))


def test_a_house_cut_out_changes_no_height_whatever_the_shots_say():
    """New points lie on the surface of ``scipy.interpolate``; the cut is found again for other elevations of its points."""
    middle = PLACES.mean(axis=0)
    house = middle + np.array([[-6.0, -4.0], [5.0, -5.0], [6.0, 4.0], [-5.0, 5.0]])
    meshes = []
    for seed in (1, 2):
        z = np.random.default_rng(seed).uniform(99, 101, len(PLACES))
        mesh, heights = around(make_surface(points=PLACES, elevations=z).mesh, z, [house])
        assert heights[: len(z)] == pytest.approx(z, abs=0)
        new = mesh.points[len(z) :]
        assert len(new) > 8
        theirs = LinearNDInterpolator(PLACES - middle, z)(new - middle)
        assert heights[len(z) :] == pytest.approx(theirs, abs=1e-9)
        meshes.append(mesh)
    assert meshes[0] is meshes[1]
    moved = PLACES + np.array([0.01, 0.0])
    other, _ = around(make_surface(points=moved, elevations=moved[:, 0]).mesh, moved[:, 0], [house])
    assert other is not meshes[0]
    assert other.points[: len(moved)] == pytest.approx(moved, abs=0)


def test_agrees_with_scipy_inside():
    """Same triangles as ``scipy.interpolate``, which gives nothing outside."""
    z = RNG.uniform(99, 101, len(PLACES))
    ours = make_surface(points=PLACES, elevations=z)
    theirs = LinearNDInterpolator(PLACES - PLACES.mean(axis=0), z)
    at = PLACES.mean(axis=0) + RNG.uniform(-25, 25, (200, 2))
    expected = theirs(at - PLACES.mean(axis=0))
    inside = ground.inside(ours, at)
    assert (inside == ~np.isnan(expected)).all()
    assert 20 < inside.sum() < 200
    assert ground.elevation_m(ours, at)[inside] == pytest.approx(expected[inside])


def test_outside_takes_the_nearest_point_of_the_edge():
    """Unit square: beyond an edge its foot, beyond a corner the corner."""
    square = make_surface(points=[(0, 0), (1, 0), (1, 1), (0, 1)], elevations=[0, 1, 3, 2])
    at = [(0.25, -5), (5, 0.5), (9, 9), (-1, -1)]
    assert ground.elevation_m(square, at) == pytest.approx([0.25, 2.0, 3.0, 0.0])
    assert not ground.inside(square, at).any()
    assert np.isnan(ground.slope(square, at)).all()
    assert square.elevation_m([(0.5, 0.0)]) == pytest.approx([0.5])
    assert square.inside([(0.5, 0.5)]).all()


def test_shots_on_a_line():
    """Along the line linear, level square to it, held beyond the ends."""
    line = make_surface(points=[(4, 4), (0, 0), (2, 2)], elevations=[3, 1, 1])
    assert ground.elevation_m(line, [(1, 1), (3, 3), (4, 2), (9, 9), (-1, -1)]) == pytest.approx(
        [1, 2, 2, 3, 1]
    )
    assert ground.inside(line, [(1, 1), (4, 2), (9, 9)]).tolist() == [True, False, False]
    assert ground.slope(line, [(3, 3)])[0] == pytest.approx([0.5, 0.5])


def test_one_and_two_shots():
    """One shot: level ground; two: a line."""
    one = Surface(np.array([[3.0, 4.0]]), np.array([99.5]))
    assert ground.elevation_m(one, [(0, 0), (50, 50)]).tolist() == [99.5, 99.5]
    assert ground.inside(one, [(3, 4), (0, 0)]).tolist() == [True, False]
    assert ground.slope(one, [(3, 4)]).tolist() == [[0, 0]]
    two = make_surface(points=[(0, 0), (10, 0)], elevations=[0, 1])
    assert ground.elevation_m(two, [(5, 3)]) == pytest.approx([0.5])


def test_one_place_shot_twice():
    """Agreeing shots merge, disagreeing ones are refused by their numbers."""
    merged = make_surface(points=[(0, 0), (1, 0), (0, 1), (0.0005, 0)], elevations=[1, 2, 3, 1.0004])
    assert merged.elevations.tolist() == [1, 2, 3]
    with pytest.raises(InputError, match="points 0 and 2 ") as caught:
        make_surface(points=[(0, 0), (1, 0), (0, 0)], elevations=[1, 2, 3])
    assert caught.value.code == "surface-duplicate"


@pytest.mark.parametrize(
    ("points", "elevations"),
    [
        ([], []),
        ([(0, 0), (1, 1)], [1]),
        ([(0, 0, 0)], [1]),
        ([(0, float("nan"))], [1]),
        ([(0, 0)], [float("inf")]),
    ],
)
def test_nonsense_is_refused(points, elevations):
    """Wrong shapes and numbers that are none."""
    with pytest.raises(InputError) as caught:
        make_surface(points=points, elevations=elevations)
    assert caught.value.code == "surface-shape"


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=12, unique=True),
    st.tuples(st.floats(-20, 30), st.floats(-20, 30)),
)
def test_never_leaves_the_range_of_the_shots(points, place):
    """Linear pieces: no elevation beyond the lowest and highest shot; each shot is met."""
    z = [((3 * x + 7 * y) % 11) / 10 for x, y in points]
    made = make_surface(points=points, elevations=z)
    assert min(z) - 1e-9 <= ground.elevation_m(made, [place])[0] <= max(z) + 1e-9
    assert ground.elevation_m(made, points) == pytest.approx(z, abs=1e-9)
    assert ground.inside(made, points).all()
