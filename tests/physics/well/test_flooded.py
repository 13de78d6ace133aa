"""A well that stands in groundwater: by hand for a prism, and as the limits demand."""

from __future__ import annotations

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.well.flooded import flooded_curves


def test_a_prism_by_hand() -> None:
    """4 m3 in 2 m of depth, soaking 1 at the empty bottom and 3 when full: with 1 m of water in it, 2 m3 are left and
    only the wall over it soaks, 0 to 1."""
    nodes, above, below, capacity = flooded_curves(
        volume_m3=np.array([0.0, 4.0]),
        above_m3_s=np.array([1.0, 3.0]),
        below_m3_s=np.array([1.0, 3.0]),
        capacity_m3_s=np.array([8.0, 4.0]),
        flooded_m3=2.0,
    )
    assert nodes.tolist() == [0.0, 2.0]
    assert above.tolist() == below.tolist() == [0.0, 1.0]
    assert capacity is not None
    assert capacity.tolist() == [6.0, 4.0]


def test_a_jump_at_a_step_of_the_pit_stays() -> None:
    """The floor of a step over the water soaks as before."""
    nodes, above, below, capacity = flooded_curves(
        volume_m3=np.array([0.0, 2.0, 6.0]),
        above_m3_s=np.array([1.0, 5.0, 6.0]),
        below_m3_s=np.array([1.0, 2.0, 6.0]),
        capacity_m3_s=None,
        flooded_m3=1.0,
    )
    assert nodes.tolist() == [0.0, 1.0, 5.0]
    assert below.tolist() == [0.0, 0.5, 4.5]
    assert above.tolist() == [0.0, 3.5, 4.5]
    assert capacity is None


def test_the_higher_the_water_the_less_is_left() -> None:
    volume, soak = np.array([0.0, 1.0, 4.0]), np.array([0.5, 1.0, 3.0])
    left = [
        flooded_curves(
            volume_m3=volume, above_m3_s=soak, below_m3_s=soak, capacity_m3_s=None, flooded_m3=stands
        )
        for stands in (0.0, 0.5, 1.0, 2.0, 3.9)
    ]
    assert [float(one[0][-1]) for one in left] == pytest.approx([4.0, 3.5, 3.0, 2.0, 0.1])
    full = [float(one[1][-1]) for one in left]
    assert full == sorted(full, reverse=True)
    for stands in (-0.1, 4.0, 5.0):
        with pytest.raises(InputError, match="groundwater fills"):
            flooded_curves(
                volume_m3=volume, above_m3_s=soak, below_m3_s=soak, capacity_m3_s=None, flooded_m3=stands
            )
