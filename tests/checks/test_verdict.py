"""The one function that gives a verdict, and the order of verdicts. The rules are those of the design page."""

from __future__ import annotations

import math
from itertools import permutations

import pytest

from roofwell.checks.finding import WORST_FIRST, judge, spare_of, worst


@pytest.mark.parametrize(
    ("value", "op", "limit", "scale", "verdict"),
    [
        (10.0, "at least", 10.0, 0.0, "good"),  # equality is met; without a scale nothing is close
        (10.0, "at most", 10.0, 0.0, "good"),
        (10.0, "at least", 10.0, 10.0, "close"),  # equality is met, with no room
        (10.9, "at least", 10.0, 10.0, "close"),
        (11.0, "at least", 10.0, 10.0, "good"),  # a whole tenth of the scale is room enough
        (9.999, "at least", 10.0, 10.0, "fails"),
        (9.1, "at most", 10.0, 10.0, "close"),
        (9.0, "at most", 10.0, 10.0, "good"),
        (10.001, "at most", 10.0, 10.0, "fails"),
        (10.9, "at least", 10.0, -10.0, "close"),  # the scale counts by its size
        (math.inf, "at most", 10.0, 10.0, "fails"),
        (math.inf, "at least", 10.0, 10.0, "good"),
        (math.nan, "at least", 10.0, 10.0, "unknown"),
    ],
)
def test_verdict_of_a_number(value: float, op: str, limit: float, scale: float, verdict: str) -> None:
    assert judge(value=value, op=op, limit=limit, scale=scale) == verdict  # type: ignore[arg-type]


def test_a_stated_uncertainty_takes_the_place_of_the_scale() -> None:
    assert judge(value=12.0, op="at least", limit=10.0, scale=10.0, uncertainty=3.0) == "close"
    assert judge(value=13.0, op="at least", limit=10.0, scale=10.0, uncertainty=3.0) == "good"
    assert judge(value=10.0, op="at least", limit=10.0, scale=10.0, uncertainty=0.0) == "good"
    assert judge(value=9.9, op="at least", limit=10.0, scale=10.0, uncertainty=3.0) == "fails"


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [
        (None, None, "unknown"),
        (5.0, None, "unknown"),  # half a range proves nothing
        (5.0, 9.0, "fails"),  # the whole range fails
        (9.0, 5.0, "fails"),  # whichever end is called low
        (5.0, 15.0, "unknown"),
        (5.0, 10.0, "unknown"),  # one end meets the limit exactly
        (20.0, 30.0, "unknown"),  # met by the whole range, but nobody measured
        (5.0, math.nan, "unknown"),
        (-math.inf, 5.0, "fails"),
    ],
)
def test_verdict_while_a_measurement_is_missing(low: float | None, high: float | None, verdict: str) -> None:
    found = judge(value=50.0, op="at least", limit=10.0, scale=1.0, low=low, high=high, missing=True)
    assert found == verdict


def test_a_range_is_not_looked_at_when_nothing_is_missing() -> None:
    assert judge(value=50.0, op="at least", limit=10.0, scale=1.0, low=1.0, high=2.0) == "good"


def test_not_a_number_counts_as_missing_and_its_range_can_fail() -> None:
    assert judge(value=math.nan, op="at most", limit=10.0, scale=1.0, low=11.0, high=12.0) == "fails"


def test_spare_is_positive_towards_good() -> None:
    assert spare_of(12.0, "at least", 10.0) == 2.0
    assert spare_of(12.0, "at most", 10.0) == -2.0


def test_worst_goes_fails_unknown_close_good_whatever_the_order() -> None:
    assert WORST_FIRST == ("fails", "unknown", "close", "good")
    for length in range(1, 5):
        for some in permutations(WORST_FIRST, length):
            assert worst(some) == min(some, key=WORST_FIRST.index)
    assert worst(()) is None
