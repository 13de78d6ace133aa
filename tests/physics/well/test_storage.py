"""Stage and storage: exact both ways, and refusing what cannot be dug."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from roofwell.errors import InputError
from roofwell.physics.well.storage import (
    Layer,
    depth_of_volume_m,
    empty_volume_m3,
    full_volume_m3,
    storage_volume_m3,
)


def pit(*rows):
    """Layers from rows of height, pit area, body area, voids."""
    layers, bottom = [], 0.0
    for height, area, body, voids in rows:
        layers.append(Layer(bottom, bottom + height, area, 4 * math.sqrt(area), body, voids))
        bottom = layers[-1].top_m
    return layers


STEPPED = pit((0.2, 1.0, 0.0, 0.4), (0.8, 1.0, 0.3, 0.4), (0.5, 2.5, 0.3, 0.35))

rows = st.tuples(st.floats(0.05, 3.0), st.floats(0.2, 9.0), st.floats(0.0, 0.2), st.floats(0.05, 1.0))


@given(st.lists(rows, min_size=1, max_size=5), st.floats(0.0, 1.0))
def test_depth_and_volume_are_inverse(given_rows, share):
    """Depth of the volume of a depth is that depth."""
    layers = pit(*given_rows)
    depth = share * layers[-1].top_m
    assert float(depth_of_volume_m(layers, storage_volume_m3(layers, depth))) == pytest.approx(
        depth, abs=1e-12
    )


@given(st.lists(rows, min_size=1, max_size=4), st.floats(0.0, 1.0))
def test_volume_is_the_integral_of_the_water_area(given_rows, share):
    """Volume agrees with scipy's integral of the water area over height."""
    layers = pit(*given_rows)
    depth = share * layers[-1].top_m

    def area(height):
        found = next(layer for layer in layers if height <= layer.top_m)
        return found.body_area_m2 + found.voids * (found.pit_area_m2 - found.body_area_m2)

    tops = [layer.top_m for layer in layers if layer.top_m < depth]
    cuts = [0.0, *tops, depth]
    expected = sum(quad(area, a, b)[0] for a, b in itertools.pairwise(cuts) if b - a > 1e-12)
    assert float(storage_volume_m3(layers, depth)) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_arrays_keep_their_shape():
    """Depths of any shape give volumes of that shape."""
    depths = np.array([[0.0, 0.1], [0.2, 1.5]])
    volumes = storage_volume_m3(STEPPED, depths)
    assert volumes.shape == (2, 2)
    assert volumes[1, 1] == full_volume_m3(STEPPED)
    assert depth_of_volume_m(STEPPED, volumes) == pytest.approx(depths)


def test_what_counts_as_empty_is_the_larger_of_two():
    """A film on the bottom of a wide pit, a share of a deep one."""
    shallow = pit((0.5, 4.0, 0.0, 0.4))
    assert empty_volume_m3(shallow, full_depth_m=0.5, depth_m=0.001, share=0.001) == pytest.approx(0.0016)
    deep = pit((2.0, 4.0, 0.0, 0.4))
    assert empty_volume_m3(deep, full_depth_m=2.0, depth_m=0.001, share=0.001) == pytest.approx(0.0032)


@pytest.mark.parametrize("depth", [-1e-9, 1.5 + 1e-9, math.nan])
def test_depth_outside_the_well_is_refused(depth):
    """Just outside, on either side."""
    with pytest.raises(InputError) as caught:
        storage_volume_m3(STEPPED, depth)
    assert caught.value.code == "well-depth"


@pytest.mark.parametrize("excess", [-1e-9, math.nan])
def test_volume_outside_the_well_is_refused(excess):
    """Below empty, above full, or no number."""
    for volume in (excess, full_volume_m3(STEPPED) + abs(excess)):
        with pytest.raises(InputError) as caught:
            depth_of_volume_m(STEPPED, volume)
        assert caught.value.code == "well-volume"


@pytest.mark.parametrize(
    ("code", "layers"),
    [
        ("well-layers", []),
        ("well-layers", [Layer(0.1, 1.0, 1.0, 4.0, 0.0, 0.4)]),
        ("well-layers", [Layer(0.0, 0.0, 1.0, 4.0, 0.0, 0.4)]),
        ("well-layers", [Layer(0.0, 1.0, 1.0, 4.0, 0.0, 0.4), Layer(1.1, 2.0, 1.0, 4.0, 0.0, 0.4)]),
        ("well-layer", [Layer(0.0, 1.0, 0.0, 4.0, 0.0, 0.4)]),
        ("well-layer", [Layer(0.0, 1.0, 1.0, 3.4, 0.0, 0.4)]),
        ("well-layer", [Layer(0.0, 1.0, 1.0, 4.0, 1.1, 0.4)]),
        ("well-layer", [Layer(0.0, 1.0, 1.0, 4.0, -0.1, 0.4)]),
        ("well-layer", [Layer(0.0, 1.0, 1.0, 4.0, 0.0, 1.1)]),
        ("well-layer", [Layer(0.0, 1.0, 1.0, 4.0, 0.0, 0.0)]),
        ("well-layer", [Layer(0.0, 1.0, math.nan, 4.0, 0.0, 0.4)]),
    ],
)
def test_pits_that_cannot_be_are_refused(code, layers):
    """Gaps, no room for water, a perimeter shorter than a circle's."""
    with pytest.raises(InputError) as caught:
        full_volume_m3(layers)
    assert caught.value.code == code
