"""What a few tests leave open, against drawing many soils."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from roofwell.errors import InputError
from roofwell.physics.soil.predictive import (
    one_more_test,
    pooled_log_spread,
    predictive_log_spread,
    worth_of_one_more_test,
)


@pytest.mark.parametrize("count", [1, 2, 5])
def test_one_more_place_scatters_about_the_mean_of_the_tests_as_drawn(count: int) -> None:
    """Brute force: 200,000 soils of log-spread 0.8, each tested and dug once more (seed 7)."""
    draws = np.random.default_rng(7).normal(0.0, 0.8, size=(200_000, count + 1))
    apart = draws[:, -1] - draws[:, :-1].mean(axis=1)
    assert predictive_log_spread(log_spread=0.8, count=count) == pytest.approx(apart.std(), rel=0.01)


def test_one_more_test_by_hand() -> None:
    """From sqrt(2) to sqrt(3/2): 13.4 %; with three tests there is little left to win."""
    first = one_more_test(log_spread=0.8, count=1)
    assert first.spread_now == pytest.approx(0.8 * math.sqrt(2))
    assert first.spread_then == pytest.approx(0.8 * math.sqrt(1.5))
    assert first.saved_share == pytest.approx(0.1340, abs=1e-4)
    assert one_more_test(log_spread=0.8, count=3).saved_share == pytest.approx(
        1 - math.sqrt((5 / 4) / (4 / 3))
    )
    assert one_more_test(log_spread=0.0, count=1).saved_share == 0.0


def test_own_tests_outweigh_the_published_scatter_as_they_grow() -> None:
    made = [pooled_log_spread(measured=0.2, count=n, prior=0.8, prior_weight=1.0) for n in (1, 2, 4, 50)]
    assert made[0] == pytest.approx(0.8)
    assert made[1] == pytest.approx(math.sqrt((0.64 + 0.04) / 2))
    assert made == sorted(made, reverse=True)
    assert made[-1] == pytest.approx(0.2, abs=0.03)
    assert pooled_log_spread(measured=0.2, count=2, prior=0.8, prior_weight=0.0) == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("measured", "count", "prior", "weight"),
    [(-0.1, 2, 0.8, 1), (0.1, 0, 0.8, 1), (0.1, 2, -0.8, 1), (0.1, 1, 0.8, 0), (math.nan, 2, 0.8, 1)],
)
def test_what_cannot_be_is_refused(measured: float, count: int, prior: float, weight: float) -> None:
    with pytest.raises(InputError, match="log-spread"):
        pooled_log_spread(measured=measured, count=count, prior=prior, prior_weight=weight)


@pytest.mark.parametrize(("spread", "count"), [(-0.1, 1), (0.5, 0), (math.inf, 1)])
def test_the_spread_of_nothing_is_refused(spread: float, count: int) -> None:
    with pytest.raises(InputError, match="log-spread"):
        predictive_log_spread(log_spread=spread, count=count)


@pytest.mark.parametrize(("count", "slowest"), [(1, 0.4), (2, 0.7), (3, 1.3)])
def test_the_worth_of_a_test_is_what_making_it_many_times_shows(count: int, slowest: float) -> None:
    """Brute force: the true mean drawn about that of the tests, the next test about it, then the chance worked out anew."""
    rng, spread, wanted = np.random.default_rng(8), 0.8, 0.9
    mean = rng.normal(0.0, spread / math.sqrt(count), 200_000)
    test = rng.normal(mean, spread)
    then = test / (count + 1)  # the mean of all tests, that of the first ones being 0
    sd = spread * math.sqrt(1.0 + 1.0 / (count + 1))
    chance = stats.norm.sf((math.log(slowest) - then) / sd)
    pit = rng.normal(mean, spread)
    worth = worth_of_one_more_test(log_spread=spread, count=count, slowest=slowest, wanted=wanted)
    assert worth.now == pytest.approx(float(np.mean(pit >= math.log(slowest))), abs=0.005)
    assert worth.now == pytest.approx(float(np.mean(chance)), abs=0.005)
    assert worth.sure == pytest.approx(float(np.mean(chance >= wanted)), abs=0.005)
    assert worth.doubt == pytest.approx(float(np.mean(chance < 0.5)), abs=0.005)


def test_a_worth_without_spread_or_test_is_refused() -> None:
    for bad in ({"log_spread": 0.0}, {"count": 0}, {"slowest": 0.0}, {"wanted": 0.5}):
        given = {"log_spread": 0.8, "count": 1, "slowest": 1.0, "wanted": 0.9} | bad
        with pytest.raises(InputError) as caught:
            worth_of_one_more_test(**given)
        assert caught.value.code == "spread"
