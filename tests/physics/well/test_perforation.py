"""Gradation sizes, retention and the flow through holes."""

import math

import pytest

from roofwell.errors import InputError
from roofwell.physics.well.perforation import hole_flow_m3_s, retention_ratio, size_passing_m

SIEVES = {"opening_m": [0.020, 0.010, 0.005], "passing_fraction": [1.0, 0.6, 0.1]}


def test_size_on_and_between_sieves():
    """On a sieve its opening, halfway between two the geometric mean."""
    assert size_passing_m(**SIEVES, wanted_fraction=0.6) == pytest.approx(0.010)
    assert size_passing_m(**SIEVES, wanted_fraction=0.8) == pytest.approx(math.sqrt(0.020 * 0.010))
    assert size_passing_m(**SIEVES, wanted_fraction=0.1) == pytest.approx(0.005)


@pytest.mark.parametrize(
    ("code", "change"),
    [
        ("gradation-range", {"wanted_fraction": 0.09}),
        ("gradation-sieves", {"opening_m": [0.010, 0.020, 0.005]}),
        ("gradation-sieves", {"opening_m": [0.020, 0.010, 0.0]}),
        ("gradation-sieves", {"passing_fraction": [1.0, 0.5, 0.6]}),
        ("gradation-sieves", {"passing_fraction": [1.1, 0.5, 0.4]}),
        ("gradation-sieves", {"opening_m": [0.02], "passing_fraction": [1.0]}),
    ],
)
def test_sieves_that_cannot_be_are_refused(code, change):
    """Refused by name."""
    with pytest.raises(InputError) as caught:
        size_passing_m(**{**SIEVES, "wanted_fraction": 0.5, **change})
    assert caught.value.code == code


def test_holes_pass_by_torricelli():
    """With a coefficient of 1, water leaves with the speed of free fall (Torricelli)."""
    flow = hole_flow_m3_s(holes=10, diameter_m=0.02, head_m=0.3, orifice_coefficient=1.0)
    speed = flow / (10 * math.pi * 0.01**2)
    assert speed**2 / (2 * 9.80665) == pytest.approx(0.3)


@pytest.mark.parametrize(
    "change",
    [
        {"holes": -1},
        {"diameter_m": 0.0},
        {"head_m": -0.1},
        {"orifice_coefficient": 0.0},
        {"head_m": math.nan},
    ],
)
def test_holes_that_cannot_be_are_refused(change):
    """Refused by name."""
    good = {"holes": 4, "diameter_m": 0.01, "head_m": 0.1, "orifice_coefficient": 0.6}
    with pytest.raises(InputError) as caught:
        hole_flow_m3_s(**{**good, **change})
    assert caught.value.code == "perforation-number"


@pytest.mark.parametrize("sizes", [(0.0, 0.01), (0.02, 0.0), (math.nan, 0.01)])
def test_sizes_that_cannot_be_are_refused(sizes):
    """Refused by name."""
    with pytest.raises(InputError) as caught:
        retention_ratio(stone_d85_m=sizes[0], opening_m=sizes[1])
    assert caught.value.code == "perforation-number"
