"""Records, their screening and their extremes on small invented series."""

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.rain import extremes, screening
from roofwell.physics.rain.record import Record

HOUR = 3600
DAY = 24 * HOUR


def record(depth, *, start="2001-01-01T00:00:00", missing=None, step_s=HOUR):
    depth = np.array(depth, dtype=float)
    missing = np.zeros(depth.size, dtype=bool) if missing is None else np.array(missing, dtype=bool)
    return Record(start=np.datetime64(start), step_s=step_s, depth_m=depth, missing=missing)


def year_of_hours(value=0.0, *, year=2001):
    start = np.datetime64(f"{year}-01-01T00:00:00")
    hours = int((np.datetime64(f"{year + 1}-01-01T00:00:00") - start) / np.timedelta64(1, "h"))
    return record(np.full(hours, value), start=str(start))


@pytest.mark.parametrize(
    ("depth", "missing", "step_s", "code"),
    [
        ([], [], HOUR, "rain-record-shape"),
        ([1, 2], [False], HOUR, "rain-record-shape"),
        ([1, -2], None, HOUR, "rain-record-number"),
        ([1, np.nan], None, HOUR, "rain-record-number"),
        ([1, 2], None, 0, "rain-record-number"),
    ],
)
def test_what_is_no_record(depth, missing, step_s, code):
    """Each fault has its code."""
    with pytest.raises(InputError) as caught:
        record(depth, missing=missing, step_s=step_s)
    assert caught.value.code == code


def test_missing_steps_hold_nothing():
    """Whatever stood in a missing step, even nonsense, is no rain."""
    made = record([1, -9999, 2], missing=[False, True, False])
    assert made.depth_m.tolist() == [1, 0, 2]
    assert made.share_missing == pytest.approx(1 / 3)
    assert made.total_depth_m == 3


def test_calendar_years_are_whole():
    """A leap year and a common year are one year each."""
    assert year_of_hours(year=2000).years == 1
    assert year_of_hours(year=2001).years == 1
    assert record(np.zeros(24 * 73)).years == pytest.approx(0.2)


def test_window_keeps_whole_years():
    """Steps outside the record are missing, those inside keep their rain."""
    made = record(np.arange(48) + 1, start="2000-12-31T12:00:00")
    window = made.window(first_year=2001, last_year=2001)
    assert window.start == np.datetime64("2001-01-01T00:00:00")
    assert window.steps == 8760
    assert window.depth_m[0] == 13
    assert window.depth_m.sum() == np.arange(13, 49).sum()
    assert np.count_nonzero(~window.missing) == 36
    before = made.window(first_year=2000, last_year=2000)
    assert before.steps == 8784
    assert before.depth_m[-1] == 12


@pytest.mark.parametrize("years", [(2002, 2001), (1990, 1999), (2010, 2011)])
def test_window_outside_the_record(years):
    """Years the record does not touch are refused with its span."""
    with pytest.raises(InputError, match="2001-01-01") as caught:
        year_of_hours().window(first_year=years[0], last_year=years[1])
    assert caught.value.code == "rain-record-window"


def test_yearly_quality_tells_a_coarse_gauge():
    """A year read to 0.10 in has a coarse share of 1, one read to 0.01 in a smaller one."""
    fine = [0.000254 * n for n in (3, 10, 7, 1)]
    coarse = [0.000254 * n for n in (10, 20, 10, 30)]
    for values, share in ((fine, 0.25), (coarse, 1.0)):
        depth = np.zeros(8760)
        depth[[5, 500, 600, 7000]] = values
        (quality,) = screening.yearly_quality(record(depth), coarse_m=0.00254)
        assert quality.coarse_share == share
        assert (quality.year, quality.coverage, quality.wet_steps) == (2001, 1.0, 4)


def quality(year, coverage=1.0, share=0.1):
    return screening.YearQuality(year, coverage, 100, share, 1.0)


@pytest.mark.parametrize(
    ("qualities", "window"),
    [
        ((quality(1), quality(2), quality(3, 0.5), quality(4)), (1, 2)),
        ((quality(1), quality(2, 0.98499), quality(3)), (3, 3)),
        ((quality(1, 0.985), quality(2, 1.0, 0.2), quality(3, 1.0, 0.19), quality(4)), (3, 4)),
        ((quality(1, 0.1), quality(2, 1.0, None)), (2, 2)),
        ((quality(1, 0.1),), None),
    ],
)
def test_longest_clean_window(qualities, window):
    """The longest run of good years, the later of two equal ones; the coverage itself is good enough."""
    assert screening.clean_window(qualities, least_coverage=0.985, most_coarse_share=0.2) == window


def test_month_end_after_a_gap_is_doubted():
    """The last hour of a month after missing hours may be the month's sum; without a gap it is rain."""
    depth = np.zeros(8760)
    last_of_january = 31 * 24 - 1
    depth[last_of_january] = 0.030
    gap = np.zeros(8760, dtype=bool)
    gap[last_of_january - 10 : last_of_january] = True
    arguments = {"most_m": 0.0889, "month_end_m": 0.0254}
    (doubt,) = screening.doubtful_steps(record(depth, missing=gap), **arguments)
    assert doubt.step == last_of_january
    assert doubt.time == "2001-01-31T23:00:00"
    assert screening.doubtful_steps(record(depth), **arguments) == ()
    assert screening.doubtful_steps(record(depth, missing=gap), most_m=0.0889) == ()
    without = record(depth, missing=gap).without(steps=np.array([doubt.step]))
    assert without.total_depth_m == 0
    assert without.missing[last_of_january]


@pytest.mark.parametrize(("depth", "count"), [(0.0889, 0), (0.0890, 1)])
def test_most_rain_of_a_step(depth, count):
    """Exactly the limit is believed, more is doubted."""
    assert len(screening.doubtful_steps(record([0, depth]), most_m=0.0889)) == count


def test_limits_of_screening_are_above_zero():
    """Limits of 0 are refused."""
    for call in (
        lambda: screening.yearly_quality(record([1]), coarse_m=0),
        lambda: screening.doubtful_steps(record([1]), most_m=0),
    ):
        with pytest.raises(InputError) as caught:
            call()
        assert caught.value.code == "rain-screening-number"


def test_largest_window_is_the_earliest_of_equals():
    """Two equal windows: the first one is told."""
    found = extremes.largest(record([0, 1, 2, 0, 0, 2, 1, 0]), window_s=2 * HOUR)
    assert (found.depth_m, found.first_step, found.start) == (3, 1, np.datetime64("2001-01-01T01:00:00"))


@pytest.mark.parametrize("window_s", [0, 1800, 5400, 9 * HOUR])
def test_windows_that_do_not_fit(window_s):
    """A window is a whole number of steps, at least one, at most the record."""
    with pytest.raises(InputError) as caught:
        extremes.largest(record(np.ones(8)), window_s=window_s)
    assert caught.value.code == "rain-window"


def test_partial_duration_maxima_keep_apart():
    """A second maximum within the blank belongs to the first storm; overlapping windows always do."""
    depth = np.zeros(100)
    depth[[10, 34, 35, 80]] = (9, 8, 7, 3)
    day_apart = extremes.partial_duration_maxima(record(depth), window_s=HOUR, count=5)
    assert [w.first_step for w in day_apart] == [10, 35, 80]
    together = extremes.partial_duration_maxima(record(depth), window_s=2 * HOUR, count=2, apart_s=0)
    assert [(w.first_step, w.depth_m) for w in together] == [(34, 15), (9, 9)]


def test_annual_maxima_count_windows_by_their_last_step():
    """A window over new year belongs to the new year; a year with too much missing has none."""
    depth = np.zeros(8760 + 48)
    depth[8758:8762] = 1.0
    two = record(depth)
    first, second = extremes.annual_maxima(two, window_s=4 * HOUR, least_coverage=0.0)
    assert (first.year, first.depth_m) == (2001, 2)
    assert (second.year, second.depth_m) == (2002, 4)
    _, short = extremes.annual_maxima(two, window_s=4 * HOUR, least_coverage=0.97)
    assert short.depth_m is None


def test_gumbel_is_the_limit_of_a_zero_shape():
    """The quantile is steady through shape 0."""
    near = extremes.GeneralizedExtremeValue(1.0, 0.5, 1e-7).quantile(return_period_years=50)
    zero = extremes.GeneralizedExtremeValue(1.0, 0.5, 0.0).quantile(return_period_years=50)
    assert near == pytest.approx(zero, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (
            lambda: extremes.GeneralizedExtremeValue(1, 1, 0).quantile(return_period_years=1),
            "rain-return-period",
        ),
        (lambda: extremes.plotting_positions(count=0), "rain-plotting"),
        (lambda: extremes.plotting_positions(count=3, position="other"), "rain-plotting"),
        (lambda: extremes.l_moments([1, 2, 3]), "rain-moments"),
        (lambda: extremes.l_moments([1, 1, 1, 1]), "rain-moments"),
        (lambda: extremes.partial_duration_maxima(record([1]), window_s=HOUR, count=0), "rain-window"),
    ],
)
def test_extremes_that_are_refused(call, code):
    """Each wrong argument has its code."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code


@pytest.mark.parametrize("position", ["weibull", "cunnane", "gringorten", "hazen"])
def test_plotting_positions_fall(position):
    """The largest value has the longest return period."""
    assert (np.diff(extremes.plotting_positions(count=10, position=position)) < 0).all()
