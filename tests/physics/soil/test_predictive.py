"""What a few tests leave open, against drawing many soils."""

from __future__ import annotations

import math

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.soil.predictive import one_more_test, pooled_log_spread, predictive_log_spread


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
