"""What a few tests leave open about the soil at one more place, and what one more test would be worth.

Rates of one soil are taken as lognormal from place to place. Sources: the algebra of normal means (derived); the
pooled variance is the scaled inverse chi-square form of textbooks (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from roofwell.errors import InputError


@dataclass(frozen=True, slots=True)
class OneMoreTest:
    """Deviation of ln(rate) at one more place, with the tests made and with one more; and what the second saves.

    ``saved_share`` is the expected share of the spread that one more test takes away, 0 to 1.
    """

    spread_now: float
    spread_then: float
    saved_share: float


def pooled_log_spread(*, measured: float, count: int, prior: float, prior_weight: float) -> float:
    """Return the log-spread of a soil from its own tests and from what is published of other soils.

    Parameters
    ----------
    measured
        Sample deviation of ln(rate), 0 or more; not used for one test.
    count
        Number of tests, 1 or more.
    prior
        Published deviation of ln(rate), 0 or more.
    prior_weight
        Degrees of freedom that the published one counts for; 0 or more, above 0 for one test.

    Raises
    ------
    InputError
        ``spread`` for a value outside those ranges.

    Notes
    -----
    sqrt((w prior² + (n − 1) measured²) / (w + n − 1)): two tests that happen to agree do not make a soil even.

    >>> round(pooled_log_spread(measured=0.0, count=2, prior=0.8, prior_weight=1.0), 6)
    0.565685
    """
    known = max(count - 1, 0)
    if not (measured >= 0 and prior >= 0 and count >= 1 and prior_weight >= 0 and prior_weight + known > 0):
        raise InputError(
            f"log-spread {measured} of {count} tests, {prior} published with the weight of {prior_weight}; give 0 or"
            " more, at least one test, and a weight above 0 for one test",
            code="spread",
        )
    own = known * measured**2 if known else 0.0
    return math.sqrt((prior_weight * prior**2 + own) / (prior_weight + known))


def predictive_log_spread(*, log_spread: float, count: int) -> float:
    """Return the deviation of ln(rate at one more place) about the mean of ln of ``count`` tests.

    s sqrt(1 + 1/n): the place's own scatter and the mean's. Raises ``InputError`` (``spread``) unless the spread is 0
    or more and there is a test.
    """
    if not (math.isfinite(log_spread) and log_spread >= 0 and count >= 1):
        raise InputError(
            f"log-spread {log_spread} of {count} tests; give 0 or more and at least one test", code="spread"
        )
    return log_spread * math.sqrt(1.0 + 1.0 / count)


def one_more_test(*, log_spread: float, count: int) -> OneMoreTest:
    """Return what one more test elsewhere in the same soil would take from the spread; errors as for the spread.

    The soil's own scatter stays: from sqrt(1 + 1/n) to sqrt(1 + 1/(n + 1)) of it. The geometric mean is expected to
    stay where it is.

    >>> round(one_more_test(log_spread=1.0, count=1).saved_share, 4)
    0.134
    """
    now = predictive_log_spread(log_spread=log_spread, count=count)
    then = predictive_log_spread(log_spread=log_spread, count=count + 1)
    return OneMoreTest(now, then, 1.0 - then / now if now > 0 else 0.0)


@dataclass(frozen=True, slots=True)
class TestWorth:
    """What one more test is likely to do to the chance that a target is kept.

    ``now``: the chance with the tests made; ``sure``: the chance that one more test lifts it to the share wanted or above;
    ``doubt``: that it takes it below one half. What is left lies between.
    """

    now: float
    sure: float
    doubt: float


def worth_of_one_more_test(*, log_spread: float, count: int, slowest: float, wanted: float) -> TestWorth:
    """Return what one more test is likely to do, before it is made.

    Parameters
    ----------
    log_spread
        Deviation of ln(rate) from place to place, above 0; taken as known, so that the test moves the mean alone.
    count
        Tests made, 1 or more.
    slowest
        Slowest soil at the pit that still keeps the target, as a multiple of the mean of the tests, above 0.
    wanted
        Share from which the target counts as surely kept, above one half, below 1.

    Raises
    ------
    InputError
        ``spread`` for a value outside those ranges.

    Notes
    -----
    With nothing known of the mean but the tests, the next one is normal in its logarithm about their mean with the
    deviation s sqrt(1 + 1/n); it moves the mean by 1/(n + 1) of what it is off, so the mean to come has the deviation
    s/sqrt(n (n + 1)) and the soil at the pit s sqrt(1 + 1/(n + 1)) about that. Derived (normal means, flat prior).

    >>> worth = worth_of_one_more_test(log_spread=0.8, count=1, slowest=1.0, wanted=0.9)
    >>> worth.now, round(worth.doubt, 6)
    (0.5, 0.5)
    """
    if not (log_spread > 0 and count >= 1 and 0 < slowest < math.inf and 0.5 < wanted < 1):
        raise InputError(
            f"log-spread {log_spread} of {count} tests, slowest soil {slowest} times the mean, {wanted} wanted; give a"
            " spread and a soil above 0, at least one test, and a share between one half and 1",
            code="spread",
        )
    normal, edge = NormalDist(), math.log(slowest)
    spread_now = predictive_log_spread(log_spread=log_spread, count=count)
    spread_then = predictive_log_spread(log_spread=log_spread, count=count + 1)
    of_mean = log_spread / math.sqrt(count * (count + 1))
    needed = edge + normal.inv_cdf(wanted) * spread_then
    return TestWorth(
        now=normal.cdf(-edge / spread_now),
        sure=normal.cdf(-needed / of_mean),
        doubt=normal.cdf(edge / of_mean),
    )
