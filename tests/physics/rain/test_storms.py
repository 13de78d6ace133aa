"""Design storms: volume, peak, sides, and what is refused. Tables here are invented."""

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.rain import frequency, storms

TABLE = frequency.FrequencyTable(
    duration_s=np.array([300.0, 900.0, 3600.0, 7200.0, 86400.0]),
    return_period_years=np.array([2.0, 10.0]),
    depth_m=np.array([[0.010, 0.015], [0.020, 0.029], [0.032, 0.047], [0.038, 0.056], [0.070, 0.105]]),
    series="partial duration",
)
MAKERS = {
    "alternating": lambda **k: storms.alternating_block(TABLE, **k),
    "nested": lambda **k: storms.nested_storm(TABLE, **k),
    "uniform": lambda **k: storms.uniform_block(TABLE, **k),
}


@pytest.mark.parametrize("years", [2, 5, 10])
@pytest.mark.parametrize("maker", MAKERS)
def test_a_storm_holds_the_depth_of_its_duration(maker, years):
    """Whatever the shape, the total is the table's depth."""
    storm = MAKERS[maker](return_period_years=years, duration_s=7200.0, step_s=300.0)
    expected = frequency.depth_m(TABLE, duration_s=7200, return_period_years=years)
    assert storm.depth_m.sum() == pytest.approx(expected, rel=1e-12)
    assert storm.depth_m.size * storm.step_s == pytest.approx(storm.duration_s)
    assert (storm.depth_m >= 0).all()


def test_nested_storm_is_as_fine_as_the_table():
    """A day in steps of the shortest duration; its worst 5 min are the table's."""
    storm = storms.nested_storm(TABLE, return_period_years=10, duration_s=86400.0)
    assert storm.step_s == 300.0
    assert storm.depth_m.size == 288
    assert storm.shape == "nested storm"
    assert storm.depth_m.max() == pytest.approx(0.015)
    assert int(np.argmax(storm.depth_m)) == 143


@pytest.mark.parametrize(("position", "block"), [(1e-6, 0), (0.25, 5), (0.5, 11), (0.51, 12), (1.0, 23)])
def test_peak_block(position, block):
    """The peak block is the first that reaches the peak position."""
    storm = storms.alternating_block(
        TABLE, return_period_years=2, duration_s=7200.0, step_s=300.0, peak_position=position
    )
    assert int(np.argmax(storm.depth_m)) == block


def test_increments_that_do_not_fall_steadily_are_told():
    """A table whose third step brings more than its second is not nested, and the storm says so."""
    uneven = frequency.FrequencyTable(
        duration_s=np.array([300.0, 600.0, 900.0]),
        return_period_years=np.array([2.0]),
        depth_m=np.array([[0.010], [0.012], [0.017]]),
        series="partial duration",
    )
    storm = storms.alternating_block(uneven, return_period_years=2, duration_s=900.0, step_s=300.0)
    assert not storm.nested
    assert storm.depth_m.sum() == pytest.approx(0.017)


def test_a_table_that_falls_with_duration_makes_no_storm():
    """A negative block is refused with the two durations."""
    falling = frequency.FrequencyTable(
        duration_s=np.array([300.0, 600.0]),
        return_period_years=np.array([2.0]),
        depth_m=np.array([[0.010], [0.009]]),
        series="partial duration",
    )
    with pytest.raises(InputError, match="less rain for 10 min than for 5 min") as caught:
        storms.alternating_block(falling, return_period_years=2, duration_s=600.0, step_s=300.0)
    assert caught.value.code == "storm-increment"


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"duration_s": 7300.0}, "storm-steps"),
        ({"step_s": 0.0}, "storm-steps"),
        ({"duration_s": 100.0}, "storm-steps"),
        ({"step_s": 60.0}, "rain-beyond-table"),
        ({"duration_s": 172800.0}, "rain-beyond-table"),
        ({"return_period_years": 100.0}, "rain-beyond-table"),
        ({"peak_position": 0.0}, "storm-peak"),
        ({"peak_position": 1.01}, "storm-peak"),
        ({"first_side": "top"}, "storm-peak"),
    ],
)
def test_storms_that_cannot_be(change, code):
    """Each wrong argument has its code."""
    arguments = {"return_period_years": 2.0, "duration_s": 7200.0, "step_s": 300.0} | change
    with pytest.raises(InputError) as caught:
        storms.alternating_block(TABLE, **arguments)
    assert caught.value.code == code


@pytest.mark.parametrize("position", [0.3, 0.375, 0.5])
def test_chicago_storm_holds_the_curve(position):
    """The total is the curve's depth, and no step brings more than the peak intensity allows."""
    curve = storms.IntensityCurve(coefficient=0.004, offset_s=600.0, exponent=0.8)
    storm = storms.chicago_storm(curve, duration_s=3600.0, step_s=60.0, peak_position=position)
    assert storm.depth_m.sum() == pytest.approx(float(curve.depth_m(np.array(3600.0))), rel=1e-12)
    assert storm.depth_m.max() <= 0.004 / 600**0.8 * 60
    assert (storm.depth_m > 0).all()


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: storms.IntensityCurve(coefficient=0.0, offset_s=1.0, exponent=0.5), "storm-curve"),
        (lambda: storms.IntensityCurve(coefficient=1.0, offset_s=0.0, exponent=0.5), "storm-curve"),
        (lambda: storms.IntensityCurve(coefficient=1.0, offset_s=1.0, exponent=1.1), "storm-curve"),
        (lambda: chicago(time_s=61.0), "storm-time"),
        (lambda: chicago(time_s=-1.0), "storm-time"),
        (lambda: chicago(peak_position=0.0), "storm-peak"),
        (lambda: chicago(peak_position=1.0), "storm-peak"),
    ],
)
def test_chicago_arguments(call, code):
    """Ranges of the curve, the time and the peak."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code


def chicago(*, time_s=30.0, peak_position=0.5):
    curve = storms.IntensityCurve(coefficient=1.0, offset_s=1.0, exponent=1.0)
    return storms.chicago_intensity_m_s(curve, time_s=time_s, duration_s=60.0, peak_position=peak_position)
