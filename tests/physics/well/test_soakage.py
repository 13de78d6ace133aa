"""Soakage against volume: exact for vertical walls, to a stated error for curves."""

import math

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.well.soakage import CREDITS, fit_piecewise, soakage_curve
from roofwell.physics.well.storage import Layer, depth_of_volume_m

# A pit 1 m square and 1 m deep, then 2 m square for another metre.
STEPPED = [Layer(0.0, 1.0, 1.0, 4.0, 0.0, 0.5), Layer(1.0, 2.0, 4.0, 8.0, 0.0, 0.5)]
PLAIN = [Layer(0.0, 2.0, 1.0, 4.0, 0.0, 0.5)]


@pytest.mark.parametrize(
    ("credit", "above", "below"),
    [
        ("bottom", [1, 4, 4], [1, 1, 4]),
        ("bottom and sides", [1, 8, 12], [1, 5, 12]),
        ("bottom and half sides", [1, 6, 8], [1, 3, 8]),
        ("sides", [0, 4, 8], [0, 4, 8]),
        ("sides half, no bottom", [4, 4, 4], [4, 4, 4]),
    ],
)
def test_stepped_pit_by_hand(credit, above, below):
    """The floor of the step, 3 m², is credited with the bottom from the moment it is under water."""
    volumes, found_above, found_below = soakage_curve(STEPPED, 1.0, credit, full_depth_m=1.5)
    assert volumes == pytest.approx([0, 0.5, 1.5])
    assert found_above == pytest.approx(above)
    assert found_below == pytest.approx(below)


def test_soil_in_layers():
    """Each layer's wall has its own rate; the floor of the step lies on the layer below it."""
    _, above, below = soakage_curve(STEPPED, [1.0, 10.0], "bottom and sides", full_depth_m=2.0)
    assert above == pytest.approx([1, 1 + 4 + 3, 1 + 4 + 3 + 80])
    assert below == pytest.approx([1, 1 + 4, 88])


def test_overhang_keeps_its_bottom():
    """Where the pit narrows upward nothing is taken away, and the roof does not soak."""
    bell = [Layer(0.0, 1.0, 4.0, 8.0, 0.0, 0.5), Layer(1.0, 2.0, 1.0, 4.0, 0.0, 0.5)]
    _, above, below = soakage_curve(bell, 1.0, "bottom", full_depth_m=2.0)
    assert above == pytest.approx([4, 4, 4])
    assert below == pytest.approx([4, 4, 4])


def test_full_within_a_layer():
    """A lip below the top of a layer ends the curve there."""
    volumes, above, _ = soakage_curve(PLAIN, 2.0, "bottom and sides", full_depth_m=0.5)
    assert volumes == pytest.approx([0, 0.25])
    assert above == pytest.approx([2, 2 * (1 + 2)])


def test_area_as_a_function_of_depth():
    """A curved soaking area is followed to the tolerance, and a straight one exactly with two nodes."""

    def area(depth):
        return 1.0 + 3.0 * np.sqrt(depth + 0.01)

    volumes, above, below = soakage_curve(PLAIN, 1e-5, area, full_depth_m=2.0, tolerance=1e-3)
    assert np.array_equal(above, below)
    try_at = np.linspace(0.0, 1.0, 4001)
    true = 1e-5 * area(depth_of_volume_m(PLAIN, try_at))
    found = np.interp(try_at, volumes, above)
    assert np.abs(found - true).max() <= 1.02e-3 * true.max()
    straight, flows, _ = soakage_curve(PLAIN, 1e-5, lambda depth: 1.0 + 4.0 * depth, full_depth_m=2.0)
    assert straight == pytest.approx([0.0, 1.0])
    assert flows == pytest.approx([1e-5, 9e-5])


def test_errors_of_the_fit_change_sign():
    """The straight lines lie now above and now below, and the error found is the one that is stated."""
    nodes, flows, error = fit_piecewise(np.sqrt, [0.3], 1.0, 0.01)
    try_at = np.linspace(0.0, 1.0, 20001)[1:]
    departure = np.interp(try_at, nodes, flows) - np.sqrt(try_at)
    assert 0.3 in nodes
    assert error <= 0.01
    assert np.abs(departure).max() == pytest.approx(error, rel=0.1)
    within = (try_at > nodes[1]) & (try_at < nodes[-2])
    assert departure[within].max() > 0.2 * error
    assert departure[within].min() < -0.2 * error


def test_a_kink_at_a_required_node_costs_nothing():
    """A curve that is straight on both sides of a known bend is exact with three nodes."""
    nodes, flows, error = fit_piecewise(lambda v: np.minimum(v, 0.4), [0.4], 1.0, 1e-6)
    assert nodes == pytest.approx([0.0, 0.4, 1.0])
    assert flows == pytest.approx([0.0, 0.4, 0.4])
    assert error == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize(
    ("code", "arguments", "more"),
    [
        ("soil-rate", (PLAIN, -1e-9, "bottom"), {}),
        ("soil-rate", (PLAIN, math.nan, "bottom"), {}),
        ("soil-rate", (PLAIN, [1.0, 1.0], "bottom"), {}),
        ("well-depth", (PLAIN, 1.0, "bottom"), {"full_depth_m": 0.0}),
        ("well-depth", (PLAIN, 1.0, "bottom"), {"full_depth_m": 2.1}),
        ("soakage-credit", (PLAIN, 1.0, "all of it"), {}),
        ("soakage-credit", (STEPPED, [1.0, 2.0], np.ones_like), {}),
        ("soakage-tolerance", (PLAIN, 1.0, np.ones_like), {"tolerance": 0.0}),
        ("soakage-tolerance", (PLAIN, 1.0, np.ones_like), {"tolerance": 1.0}),
        ("soakage-tolerance", (PLAIN, 1.0, lambda h: np.sin(1e4 * h) + 1.0), {"tolerance": 1e-6}),
    ],
)
def test_nonsense_is_refused(code, arguments, more):
    """Refused by name."""
    with pytest.raises(InputError) as caught:
        soakage_curve(*arguments, **{"full_depth_m": 2.0, **more})
    assert caught.value.code == code


def test_more_water_never_soaks_less():
    """Every rule soaks at least as much from a fuller well, jumps included."""
    for credit in CREDITS:
        _, above, below = soakage_curve(STEPPED, 1e-5, credit, full_depth_m=2.0)
        assert (above >= below).all()
        assert (below[1:] >= above[:-1]).all()


def test_bottom_on_another_soil_than_the_lowest_wall():
    """A pit of 1 m by 1 m that ends on sand (30) under loam (1): only the bottom drains into the sand."""
    _, above, below = soakage_curve(PLAIN, 1.0, "bottom and sides", full_depth_m=1.0, bottom_rate_m_s=30.0)
    assert above == pytest.approx([30, 30 + 4])
    assert below == pytest.approx([30, 30 + 4])


def test_bottom_on_tight_soil_leaves_the_walls():
    _, above, _ = soakage_curve(PLAIN, 1.0, "bottom and half sides", full_depth_m=1.0, bottom_rate_m_s=0.0)
    assert above == pytest.approx([0, 2])
