"""The return period that is just held, the chance of a greater storm, and dry times cut short."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.rain.held import chance_of_greater, longest_held
from roofwell.physics.rain.thinned import kept_steps


@given(st.floats(1.0, 1000.0))
def test_the_period_found_is_held_and_one_just_longer_is_not(edge: float) -> None:
    found = longest_held(lambda years: years <= edge, least_years=1.0, most_years=1000.0)
    assert found.years <= edge
    if found.reach == "within":
        assert found.years * 1.0051 > edge


def test_ends_of_the_table_are_said() -> None:
    assert longest_held(lambda _: True, least_years=2, most_years=100).reach == "beyond"
    assert longest_held(lambda _: False, least_years=2, most_years=100).reach == "below"
    assert longest_held(lambda _: True, least_years=10, most_years=10).reach == "beyond"
    assert longest_held(lambda _: False, least_years=10, most_years=10).reach == "below"
    asked: list[float] = []

    def holds(years: float) -> bool:
        asked.append(years)
        return years < 7

    longest_held(holds, least_years=2, most_years=100)
    assert min(asked) >= 2
    assert max(asked) <= 100


@pytest.mark.parametrize(
    ("least", "most", "within"), [(0, 10, 0.01), (10, 2, 0.01), (1, 10, 0), (1, math.inf, 0.1)]
)
def test_ranges_that_cannot_be_are_refused(least: float, most: float, within: float) -> None:
    with pytest.raises(InputError, match="return periods"):
        longest_held(lambda _: True, least_years=least, most_years=most, within=within)


def test_chance_of_exceeding_as_the_reference_sheet() -> None:
    """P3 (derived): a 10-year storm in 20 years, 0.8784."""
    assert chance_of_greater(annual_years=10, span_years=20) == pytest.approx(0.8784, abs=1e-4)
    assert chance_of_greater(annual_years=1, span_years=1) == 1.0
    assert chance_of_greater(annual_years=50, span_years=0) == 0.0
    with pytest.raises(InputError, match="return period"):
        chance_of_greater(annual_years=0.99, span_years=20)
    with pytest.raises(InputError, match="return period"):
        chance_of_greater(annual_years=10, span_years=-1)


def test_wet_steps_and_what_follows_on_them_stay() -> None:
    """By hand: two steps of dry time after each wet one."""
    depth = np.array([0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 2.0, 3.0, 0.0])
    assert kept_steps(depth_m=depth, step_s=3600, dry_s=7200).tolist() == [2, 3, 4, 7, 8, 9]
    assert kept_steps(depth_m=depth, step_s=3600, dry_s=7201).tolist() == [2, 3, 4, 5, 7, 8, 9]
    assert kept_steps(depth_m=depth, step_s=3600, dry_s=0).tolist() == [2, 7, 8]
    assert kept_steps(depth_m=depth, step_s=3600, dry_s=math.inf).tolist() == list(range(2, 10))
    assert kept_steps(depth_m=np.zeros(5), step_s=3600, dry_s=7200).size == 0
    with pytest.raises(InputError, match="dry time"):
        kept_steps(depth_m=depth, step_s=0, dry_s=1)
    with pytest.raises(InputError, match="dry time"):
        kept_steps(depth_m=depth, step_s=1, dry_s=-1)
