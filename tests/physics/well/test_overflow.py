"""Grate capacity and its inverse."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.well.overflow import grate_capacity_m3_s, head_over_grate_m

GRATE = {
    "perimeter_m": 0.4,
    "open_area_m2": 0.004,
    "weir_coefficient_si": 1.66,
    "orifice_coefficient": 0.67,
}


@given(st.floats(1e-4, 1.0), st.floats(0.0, 0.9))
def test_head_is_the_inverse_of_capacity(head, clogged):
    """The head that passes a grate's capacity is the head that made it, through weir and orifice."""
    flow = grate_capacity_m3_s(head_m=head, **GRATE, clogged_fraction=clogged)
    assert head_over_grate_m(flow_m3_s=flow, **GRATE, clogged_fraction=clogged) == pytest.approx(
        head, rel=1e-9
    )


def test_no_water_no_flow():
    """Level with the grate, nothing passes."""
    assert grate_capacity_m3_s(head_m=0.0, **GRATE) == 0.0
    assert head_over_grate_m(flow_m3_s=0.0, **GRATE) == 0.0


@pytest.mark.parametrize(
    "wrong",
    [
        {"perimeter_m": 0.0},
        {"open_area_m2": -1.0},
        {"weir_coefficient_si": math.inf},
        {"orifice_coefficient": math.nan},
        {"clogged_fraction": 1.0},
        {"clogged_fraction": -0.1},
    ],
)
def test_nonsense_is_refused(wrong):
    """Refused by name, in both directions."""
    for function, what in ((grate_capacity_m3_s, "head_m"), (head_over_grate_m, "flow_m3_s")):
        with pytest.raises(InputError) as caught:
            function(**{**GRATE, what: 0.01, **wrong})
        assert caught.value.code == "grate-number"
        with pytest.raises(InputError):
            function(**GRATE, **{what: -1e-9})
