"""What a handful of infiltration rates says about the soil: mean, spread, chance of worse.

Rates of one soil scatter as a lognormal, so the geometric mean (or the median) stands for it and never the
arithmetic mean. Source: Minnesota stormwater manual (mean), lognormal algebra (derived).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, median

import numpy as np

from roofwell.errors import InputError


@dataclass(frozen=True, slots=True)
class RateSummary:
    """Rates of one soil, m/s. ``log_spread`` is the sample deviation of ln(rate); None for one rate."""

    geometric_mean_m_s: float
    log_spread: float | None
    count: int
    lowest_m_s: float
    highest_m_s: float
    median_m_s: float
    arithmetic_mean_m_s: float
    harmonic_mean_m_s: float


def _rates(rates: Sequence[float]) -> list[float]:
    values = [float(rate) for rate in rates]
    if not values or not all(math.isfinite(rate) and rate > 0 for rate in values):
        raise InputError(
            f"rates {values}; give at least one, each above 0 (for a test without any fall give the smallest "
            "fall that could have been read)",
            code="rates",
        )
    return values


def combine(rates: Sequence[float]) -> RateSummary:
    """Return the summary of rates (m/s, each above 0). Raises ``InputError`` (``rates``)."""
    values = _rates(rates)
    logs = np.log(values)
    return RateSummary(
        geometric_mean_m_s=float(np.exp(logs.mean())),
        log_spread=float(logs.std(ddof=1)) if len(values) > 1 else None,
        count=len(values),
        lowest_m_s=min(values),
        highest_m_s=max(values),
        median_m_s=median(values),
        arithmetic_mean_m_s=float(np.mean(values)),
        harmonic_mean_m_s=len(values) / sum(1 / value for value in values),
    )


def is_steady(rates: Sequence[float], within: float) -> bool:
    """Return whether readings have come to rest: (highest - lowest) at most ``within`` of their mean.

    Takes the readings that should agree (the last three, common practice); fewer than two are never steady.
    Raises ``InputError`` (``rates``) if a rate or ``within`` is below 0.
    """
    values = [float(rate) for rate in rates]
    if within < 0 or not all(math.isfinite(rate) and rate >= 0 for rate in values):
        raise InputError(f"rates {values} within {within}; none may be below 0", code="rates")
    if len(values) < 2:
        return False
    return max(values) - min(values) <= within * sum(values) / len(values) + 1e-15


def log_spread_of(variation: float) -> float:
    """Return the log-spread of a lognormal with a coefficient of variation, sqrt(ln(1 + CV^2)).

    Raises ``InputError`` (``spread``) if it is below 0.
    """
    if not (math.isfinite(variation) and variation >= 0):
        raise InputError(f"coefficient of variation {variation}; it must be at least 0", code="spread")
    return math.sqrt(math.log1p(variation**2))


def lognormal_quantile_m_s(*, median_m_s: float, log_spread: float, probability: float) -> float:
    """Return the rate that a share ``probability`` of places stays below.

    Raises ``InputError`` (``spread``) unless the median is above 0, the spread at least 0 and the probability
    between 0 and 1, both excluded.
    """
    if not (median_m_s > 0 and log_spread >= 0 and 0 < probability < 1):
        raise InputError(
            f"median {median_m_s}, log-spread {log_spread}, probability {probability}; they must be above 0, "
            "at least 0, and between 0 and 1",
            code="spread",
        )
    return median_m_s * math.exp(log_spread * NormalDist().inv_cdf(probability))


def lognormal_mean_m_s(*, median_m_s: float, log_spread: float) -> float:
    """Return the arithmetic mean of a lognormal. Raises ``InputError`` (``spread``) as the quantile."""
    return lognormal_quantile_m_s(median_m_s=median_m_s, log_spread=log_spread, probability=0.5) * math.exp(
        log_spread**2 / 2
    )


def tests_needed(*, log_spread: float, factor: float, confidence: float = 0.90) -> int:
    """Return how many tests bring the geometric mean within a factor of the median, the spread known.

    n = (z log_spread / ln factor)^2, rounded up, z two-sided. Source: derived. Raises ``InputError``
    (``spread``) unless the factor is above 1 and the confidence between 0 and 1.
    """
    if not (log_spread >= 0 and factor > 1 and 0 < confidence < 1):
        raise InputError(
            f"log-spread {log_spread}, factor {factor}, confidence {confidence}; they must be at least 0, "
            "above 1, and between 0 and 1",
            code="spread",
        )
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    return max(1, math.ceil((z * log_spread / math.log(factor)) ** 2 - 1e-9))
