"""Frequency tables: shapes, filling of typed figures, and what is refused."""

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.rain import frequency

MINUTE = 60.0


def table(depth, *, durations=(300.0, 3600.0), periods=(2.0, 10.0), series="partial duration", **more):
    return frequency.FrequencyTable(
        duration_s=np.array(durations),
        return_period_years=np.array(periods),
        depth_m=np.array(depth),
        series=series,
        **more,
    )


SANE = ((0.010, 0.015), (0.030, 0.045))


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        ({"depth": ((0.01,),)}, "rain-table-shape"),
        ({"depth": SANE, "lower_m": np.ones(3)}, "rain-table-shape"),
        ({"depth": np.ones((0, 2)), "durations": ()}, "rain-table-shape"),
        ({"depth": ((0.0, 0.015), (0.03, 0.045))}, "rain-table-number"),
        ({"depth": ((np.nan, 0.015), (0.03, 0.045))}, "rain-table-number"),
        ({"depth": SANE, "periods": (0.0, 2.0)}, "rain-table-number"),
        ({"depth": SANE, "periods": (1.0, 2.0), "series": "annual maximum"}, "rain-table-number"),
        ({"depth": SANE, "durations": (3600.0, 300.0)}, "rain-table-order"),
        ({"depth": SANE, "periods": (2.0, 2.0)}, "rain-table-order"),
        ({"depth": SANE, "series": "monthly"}, "rain-table-series"),
    ],
)
def test_a_table_that_cannot_be_one_is_refused(arguments, code):
    """Each fault has its own code."""
    with pytest.raises(InputError) as caught:
        table(**arguments)
    assert caught.value.code == code


def test_figures_of_the_table_come_back_unchanged():
    """No figure is altered by the logarithms, not even in its last digit."""
    for i, duration in enumerate((300.0, 3600.0)):
        for j, years in enumerate((2.0, 10.0)):
            found = frequency.depth_m(table(SANE), duration_s=duration, return_period_years=years)
            assert found == SANE[i][j]


@pytest.mark.parametrize(
    ("duration_s", "years", "inside"),
    [
        (300, 2, True),
        (3600, 10, True),
        (300 * (1 - 1e-12), 10 * (1 + 1e-12), True),
        (299.9, 2, False),
        (3600.1, 2, False),
        (300, 1.99, False),
        (300, 10.01, False),
    ],
)
def test_edges_of_the_table(duration_s, years, inside):
    """On the edge is inside (to a float's rounding), beyond it is refused with the table's range."""
    if inside:
        assert frequency.depth_m(table(SANE), duration_s=duration_s, return_period_years=years) > 0
        return
    with pytest.raises(InputError, match=r"from 5 min to 60 min|from 2 years to 10 years") as caught:
        frequency.depth_m(table(SANE), duration_s=duration_s, return_period_years=years)
    assert caught.value.code == "rain-beyond-table"


def test_a_table_with_one_return_period_holds_only_it():
    """A single column serves its own return period and no other."""
    single = table(((0.01,), (0.03,)), periods=(10.0,))
    assert frequency.depth_m(single, duration_s=300, return_period_years=10) == 0.01
    with pytest.raises(InputError, match="only 10 years"):
        frequency.depth_m(single, duration_s=300, return_period_years=5)


def test_interpolated_depths_lie_between_their_neighbors():
    """Between durations and between return periods the depth rises."""
    durations = np.linspace(300, 3600, 50)
    for years in (2, 3, 5, 10):
        depth = frequency.depths_m(table(SANE), duration_s=durations, return_period_years=years)
        assert (np.diff(depth) > 0).all()
    by_years = [
        frequency.depth_m(table(SANE), duration_s=900, return_period_years=t) for t in np.linspace(2, 10, 9)
    ]
    assert (np.diff(by_years) > 0).all()


def test_series_convert_back_and_forth():
    """Langbein there and back again is the same table."""
    there = frequency.as_series(table(SANE), series="annual maximum")
    assert there.series == "annual maximum"
    assert (there.return_period_years > (2.0, 10.0)).all()
    back = frequency.as_series(there, series="partial duration")
    assert back.return_period_years == pytest.approx([2.0, 10.0], rel=1e-12)
    assert frequency.as_series(back, series="partial duration") is back


@pytest.mark.parametrize(
    ("convert", "years"),
    [
        (frequency.annual_from_partial_years, 0.0),
        (frequency.annual_from_partial_years, float("nan")),
        (frequency.partial_from_annual_years, 1.0),
    ],
)
def test_return_periods_out_of_range(convert, years):
    """A partial-duration period is above 0, an annual one above 1 year."""
    with pytest.raises(InputError) as caught:
        convert(return_period_years=years)
    assert caught.value.code == "rain-return-period"


@pytest.mark.parametrize(
    ("depth", "bounds", "words"),
    [
        (((0.010, 0.009), (0.030, 0.045)), {}, "5 min: the depth does not rise from 2 to 10 years"),
        (((0.010, 0.050), (0.030, 0.045)), {}, "10 years: the depth does not rise from 5 min to 60 min"),
        (((0.001, 0.015), (0.030, 0.045)), {}, "2 years: the intensity rises from 5 min to 60 min"),
        (SANE, {"lower_m": np.array(((0.011, 0.014), (0.02, 0.04)))}, "the lower bound"),
        (SANE, {"upper_m": np.array(((0.011, 0.014), (0.04, 0.05)))}, "the upper bound"),
    ],
)
def test_what_cannot_be_true_is_said(depth, bounds, words):
    """A table with a slip is named with the place of the slip."""
    found = frequency.problems(table(depth, **bounds))
    assert len(found) == 1
    assert words in found[0]
    assert frequency.problems(table(SANE)) == ()


def test_typed_figures_span_a_table():
    """Three durations by two periods with one figure missing: it is interpolated between durations."""
    figures = [(300, 2, 0.01), (300, 10, 0.015), (3600, 2, 0.03), (3600, 10, 0.045), (900, 2, 0.018)]
    made = frequency.table_from_figures(figures=figures, series="partial duration")
    plain = table(SANE)
    assert made.depth_m[1, 1] == pytest.approx(
        frequency.depth_m(plain, duration_s=900, return_period_years=10)
    )
    assert made.depth_m[1, 0] == 0.018


def test_typed_figures_that_leave_a_corner_open():
    """A pair that no figures enclose is named, never stretched to."""
    with pytest.raises(InputError, match="60 min for 10 years") as caught:
        frequency.table_from_figures(
            figures=[(300, 2, 0.01), (300, 10, 0.015), (3600, 2, 0.03)], series="partial duration"
        )
    assert caught.value.code == "rain-figures-missing"


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ([], "rain-figures-none"),
        ([(300, 2, 0.01), (300, 2, 0.02)], "rain-figure-twice"),
        ([(300, 2, -0.01)], "rain-table-number"),
        ([(0, 2, 0.01)], "rain-table-number"),
    ],
)
def test_typed_figures_that_are_none(figures, code):
    """Nothing, a contradiction, and numbers below 0 are refused."""
    with pytest.raises(InputError) as caught:
        frequency.table_from_figures(figures=figures, series="annual maximum")
    assert caught.value.code == code


def test_a_figure_typed_twice_alike_is_one_figure():
    """The same figure again changes nothing."""
    made = frequency.table_from_figures(figures=[(300, 2, 0.01)] * 2, series="partial duration")
    assert made.depth_m.tolist() == [[0.01]]


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(300, "5 min"), (3600, "60 min"), (5400, "1.5 h"), (86400, "24 h"), (172800, "2 days")],
)
def test_duration_words(seconds, words):
    """Durations read as rain tables write them."""
    assert frequency.duration_words(seconds) == words
