"""Which unknown moves an outcome most: shares of variance against published and hand-made cases."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import qmc

from roofwell.errors import InputError
from roofwell.physics.shares import FEWEST_SAMPLES, first_order_shares


def test_shares_of_a_sum_are_those_of_its_parts() -> None:
    """By hand: y = 3a + 4b of equal even unknowns, and an idle one: variances 9 and 16 of 25."""
    drawn = qmc.LatinHypercube(d=3, rng=np.random.default_rng(5)).random(500)
    shares = first_order_shares(drawn, 3.0 * drawn[:, 0] + 4.0 * drawn[:, 1])
    assert shares == pytest.approx([9 / 25, 16 / 25, 0.0], abs=0.05)


def test_shares_of_the_ishigami_function() -> None:
    """Published first-order indices 0.3139, 0.4424 and 0 for a = 7, b = 0.1 (Ishigami and Homma 1990, as told in Saltelli
    et al. 2008, both from memory); neither straight nor rising, so a slope or a rank would miss the second."""
    drawn = np.pi * (2.0 * qmc.LatinHypercube(d=3, rng=np.random.default_rng(9)).random(4000) - 1.0)
    a, b, c = drawn.T
    shares = first_order_shares(drawn, np.sin(a) + 7.0 * np.sin(b) ** 2 + 0.1 * c**4 * np.sin(a))
    assert shares == pytest.approx([0.3139, 0.4424, 0.0], abs=0.03)


def test_what_two_unknowns_do_only_together_is_nobody_s_own() -> None:
    """By hand: the product of two unknowns about nought has no first-order part at all."""
    drawn = np.random.default_rng(2).random((2000, 2)) - 0.5
    assert first_order_shares(drawn, drawn[:, 0] * drawn[:, 1]) == pytest.approx([0.0, 0.0], abs=0.04)


def test_an_outcome_that_does_not_vary_has_no_shares() -> None:
    drawn = np.random.default_rng(1).random((FEWEST_SAMPLES, 2))
    assert first_order_shares(drawn, np.full(FEWEST_SAMPLES, 3.7)).tolist() == [0.0, 0.0]


def test_too_few_samples_are_refused() -> None:
    drawn = np.random.default_rng(1).random((FEWEST_SAMPLES - 1, 2))
    for values, outcome in (
        (drawn, drawn[:, 0]),
        (drawn, drawn[:5, 0]),
        (np.full((99, 1), np.nan), np.ones(99)),
    ):
        with pytest.raises(InputError) as caught:
            first_order_shares(values, outcome)
        assert caught.value.code == "shares-samples"
