"""Partial-duration statistics against the reference sheet (rain 3.2), published formulas, and scipy.

The sheet's figures were worked out from the agency's files apart from this code.
"""

from functools import cache

import numpy as np
import pytest
from scipy import stats

from roofwell.errors import InputError
from roofwell.physics.rain import partial
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.tables import rain_library

INCH = 0.0254
HOUR = 3600.0
DAY = 24 * HOUR


@cache
def little_rock() -> Record:
    return record_from_series(rain_library.load_record("north-little-rock-ar", keep_doubtful=True))


def series(hours: float, **changes) -> partial.PartialDuration:
    asked = {"return_period_years": (2.0, 10.0, 100.0), "within": 0.9, "samples": 500, "seed": 1}
    return partial.partial_duration(little_rock(), window_s=hours * HOUR, apart_s=DAY, **(asked | changes))


@pytest.mark.parametrize(
    ("hours", "threshold", "shape", "scale", "depths"),
    [
        (1, 1.335, 0.2370, 0.3597, (1.56, 1.97, 2.34)),
        (24, 3.185, 0.1410, 1.1761, (3.96, 5.50, 7.17)),
    ],
)
def test_generalized_pareto_of_north_little_rock(hours, threshold, shape, scale, depths):
    """Rain 3.2: the 31 largest, 24 h apart; threshold, k, alpha, and the 2-, 10- and 100-year depths, in, clock windows."""
    found = series(hours)
    by = INCH * found.clock_factor  # the sheet does not raise its windows
    assert len(found.largest) == 31
    assert found.fit.threshold / by == pytest.approx(threshold, abs=5e-6)
    assert found.fit.shape == pytest.approx(shape, abs=6e-5)
    assert found.fit.scale / by == pytest.approx(scale, abs=6e-5)
    assert [q.depth_m / by for q in found.quantiles] == pytest.approx(depths, abs=0.0051)


def test_the_clock():
    """Rain 3.2: n / (n - 1/8), 8/7 = 1.143 for one step (Weiss 1964, from memory); no more than one part in 190 for 24."""
    assert partial.clock_factor(steps=1) == pytest.approx(1.143, abs=0.0005)
    assert 1.005 <= partial.clock_factor(steps=24) <= 1 / 190 + 1


@pytest.mark.parametrize("shape", [-0.3, -0.1, 0.0, 0.2, 0.5])
def test_fit_gives_back_the_l_moments(shape):
    """l1 = u + alpha/(1+k), l2 = alpha/((1+k)(2+k)) of a generalized Pareto (Hosking and Wallis 1997, from memory), by
    scipy's quantiles on a fine grid of chances, whose sample L-moments are near those of the distribution."""
    threshold, scale = 1.3, 0.4
    chance = (np.arange(1, 200_001) - 0.35) / 200_000
    values = stats.genpareto(c=-shape, loc=threshold, scale=scale).ppf(chance)
    fit = partial.fit_pareto(values, threshold=threshold, per_year=1.0)
    assert (fit.scale, fit.shape) == pytest.approx((scale, shape), abs=0.01)
    assert values.mean() == pytest.approx(threshold + scale / (1 + shape), abs=0.002)


@pytest.mark.parametrize(("shape", "per_year"), [(-0.2, 1.0), (0.0, 2.5), (0.15, 1.0), (0.3, 3.0)])
@pytest.mark.parametrize("years", [2.0, 10.0, 100.0])
def test_quantile_is_scipys(shape, per_year, years):
    """The value with the chance 1/(per_year T) of being exceeded by an exceedance, by scipy's own distribution."""
    fit = partial.GeneralizedPareto(threshold=30.0, scale=7.4, shape=shape, per_year=per_year)
    told = stats.genpareto(c=-shape, loc=30.0, scale=7.4).isf(1 / (per_year * years))
    assert fit.quantile(return_period_years=years) == pytest.approx(told, rel=1e-9)


def test_threshold_is_exceeded_its_own_times_a_year():
    """A return period below one exceedance has no answer: nothing is known below the threshold."""
    fit = partial.GeneralizedPareto(threshold=3.0, scale=1.0, shape=0.1, per_year=2.0)
    assert fit.quantile(return_period_years=0.5) == pytest.approx(3.0)
    with pytest.raises(InputError, match=r"at least 0\.5 years"):
        fit.quantile(return_period_years=0.4)


@pytest.mark.parametrize("shape", [-0.1, 0.0, 0.1, 0.2])
def test_sampling_range_against_the_published_variance(shape):
    """Large samples: covariance of the fitted scale and shape by Hosking and Wallis 1987 (from memory),

    n var = ((a²(7+18k+11k²+2k³), a(2+k)(2+6k+7k²+2k³)), (same, (1+k)(2+k)²(1+k+2k²))) / ((1+2k)(3+2k)),

    carried to the quantile by its derivatives; the count of exceedances is Poisson and moves the quantile too."""
    scale, years, period, k = 1.0, 400.0, 20.0, shape
    fit = partial.GeneralizedPareto(threshold=0.0, scale=scale, shape=k, per_year=1.0)
    ((low, high),) = partial.sampling_range(
        fit, years=years, return_period_years=(period,), within=0.9, samples=20_000, seed=3
    )
    below = (1 + 2 * k) * (3 + 2 * k) * years
    covariance = (
        np.array(
            [
                [
                    scale**2 * (7 + 18 * k + 11 * k**2 + 2 * k**3),
                    scale * (2 + k) * (2 + 6 * k + 7 * k**2 + 2 * k**3),
                ],
                [0.0, (1 + k) * (2 + k) ** 2 * (1 + k + 2 * k**2)],
            ]
        )
        / below
    )
    covariance[1, 0] = covariance[0, 1]

    def depth(a: float, b: float, rate: float = 1.0) -> float:
        times = rate * period
        return a * (np.log(times) if abs(b) < 1e-9 else (1 - times**-b) / b)

    step = 1e-5
    slope = np.array(
        [
            (depth(scale + step, k) - depth(scale - step, k)) / (2 * step),
            (depth(scale, k + step) - depth(scale, k - step)) / (2 * step),
        ]
    )
    by_rate = (depth(scale, k, 1 + step) - depth(scale, k, 1 - step)) / (2 * step)
    deviation = np.sqrt(slope @ covariance @ slope + by_rate**2 / years)
    wide = 2 * stats.norm.ppf(0.95) * deviation
    assert high - low == pytest.approx(wide, rel=0.06)
    assert low < fit.quantile(return_period_years=period) < high


def test_range_narrows_with_years_and_is_the_same_again():
    """Four times the years, about half the range; the same seed gives the same range."""
    fit = partial.GeneralizedPareto(threshold=1.0, scale=0.5, shape=0.1, per_year=1.0)
    given = {"return_period_years": (10.0,), "within": 0.9, "samples": 4000, "seed": 5}
    ((low, high),) = partial.sampling_range(fit, years=30.0, **given)
    ((low_4, high_4),) = partial.sampling_range(fit, years=120.0, **given)
    assert (high_4 - low_4) / (high - low) == pytest.approx(0.5, abs=0.06)
    assert np.array_equal(partial.sampling_range(fit, years=30.0, **given), [[low, high]])


def test_plotting_positions_go_with_the_series():
    """Rain 3.4: Cunnane for 31 values, 52, 19.5, 12 years; 46 of 271,752 hours are missing, 0.017 %."""
    assert series(24).position_years[:3] == pytest.approx((52, 19.5, 12), rel=3e-4)


def test_independent_rains():
    """No two windows of a series share rain or begin within a day of each other, by brute force over every pair."""
    starts = [window.start for window in series(24).largest]
    apart = [abs(a - b) for i, a in enumerate(starts) for b in starts[:i]]
    assert min(apart) > np.timedelta64(24, "h")


def test_largest_are_found_by_brute_force():
    """Every window of three months, taken one by one from the largest down and its neighbors struck out."""
    record = little_rock()
    hours = 90 * 24
    short = Record(record.start, record.step_s, record.depth_m[:hours], record.missing[:hours])
    sums = {i: float(short.depth_m[i : i + 6].sum()) for i in range(hours - 5)}
    expected = []
    while len(expected) < 8:
        best = min(sums, key=lambda i: (-round(sums[i], 9), i))
        expected.append(sums[best])
        sums = {i: depth for i, depth in sums.items() if abs(i - best) > 24}
    found = partial.partial_duration_maxima(short, window_s=6 * HOUR, count=8, apart_s=DAY)
    assert [window.depth_m for window in found] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("unit", "told"), [(0.000254, 0.000254), (0.0002, 0.0002), (0.00254, 0.00254), (0.0, 0.0)]
)
def test_unit_that_a_gauge_was_read_to(unit, told):
    """Hundredths and tenths of an inch, a tip of 0.2 mm; depths without a unit have none."""
    random = np.random.default_rng(1)
    depth = random.integers(0, 40, 5000) * unit if unit else random.random(5000) * 0.01
    record = Record(np.datetime64("2001-01-01"), 3600, depth, np.zeros(5000, dtype=bool))
    assert partial.reading_unit_m(record) == pytest.approx(told, rel=1e-9)


def test_too_short_a_record_has_no_statistics():
    """Three years are too few to fit anything."""
    record = little_rock().window(first_year=1980, last_year=1982)
    with pytest.raises(InputError, match="at least 4"):
        partial.partial_duration(
            record, window_s=HOUR, return_period_years=(2.0,), apart_s=DAY, within=0.9, samples=100, seed=1
        )
