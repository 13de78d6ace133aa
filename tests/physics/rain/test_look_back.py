"""What fell on a day, by hand, and how rare a depth is, as the inverse of the table."""

from __future__ import annotations

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.rain.frequency import FrequencyTable, depth_m
from roofwell.physics.rain.look_back import rain_of_day, rarity
from roofwell.physics.rain.record import Record

IN = 0.0254
DAY = np.datetime64("2001-05-02")


def _record(step_s: int, wet: dict[str, float], missing: tuple[str, ...] = ()) -> Record:
    """Three days from May 1, 2001."""
    start = np.datetime64("2001-05-01T00:00:00", "s")
    steps = 3 * 86400 // step_s
    depth, gone = np.zeros(steps), np.zeros(steps, dtype=bool)
    for when, rain in wet.items():
        depth[int((np.datetime64(when, "s") - start) // np.timedelta64(step_s, "s"))] = rain
    for when in missing:
        gone[int((np.datetime64(when, "s") - start) // np.timedelta64(step_s, "s"))] = True
    return Record(start=start, step_s=step_s, depth_m=depth, missing=gone)


def test_a_day_by_hand() -> None:
    """0.3 in before midnight, 0.5 and 0.7 in on the day, 0.9 in the next: the wettest 24 h hold the last three."""
    record = _record(
        3600,
        {
            "2001-05-01T23:00": 0.3 * IN, "2001-05-02T05:00": 0.5 * IN, "2001-05-02T18:00": 0.7 * IN,
            "2001-05-03T02:00": 0.9 * IN,
        },
        ("2001-05-02T03:00",),
    )  # fmt: skip
    found = rain_of_day(record, day=DAY)
    assert found is not None
    assert found.depth_m == pytest.approx(1.2 * IN)
    assert found.peak_hour_m == pytest.approx(0.7 * IN)
    assert found.peak_start == np.datetime64("2001-05-02T18:00")
    assert found.wettest_day_m == pytest.approx(2.1 * IN)
    assert found.wettest_start <= np.datetime64("2001-05-02T05:00")
    assert found.missing_share == pytest.approx(1 / 24)


def test_an_hour_slides_where_the_steps_are_finer() -> None:
    record = _record(1200, {"2001-05-02T05:40": 1.0, "2001-05-02T06:00": 2.0, "2001-05-02T06:20": 4.0})
    found = rain_of_day(record, day=DAY)
    assert found is not None
    assert found.peak_hour_m == 7.0
    assert found.peak_start == np.datetime64("2001-05-02T05:40")
    daily = rain_of_day(_record(86400, {"2001-05-02": 0.4}), day=DAY)
    assert daily is not None
    assert daily.peak_hour_m is None
    assert daily.depth_m == daily.wettest_day_m == 0.4


@pytest.mark.parametrize("day", ["2001-04-30", "2001-05-04", "1901-01-01"])
def test_a_day_outside_is_none(day: str) -> None:
    assert rain_of_day(_record(3600, {}), day=np.datetime64(day)) is None


@pytest.mark.parametrize("day", ["2001-05-01", "2001-05-03"])
def test_the_first_and_the_last_day_are_whole(day: str) -> None:
    found = rain_of_day(_record(3600, {f"{day}T23:00": 0.1}), day=np.datetime64(day))
    assert found is not None
    assert found.depth_m == 0.1


TABLE = FrequencyTable(
    duration_s=np.array([3600.0, 86400.0]),
    return_period_years=np.array([2.0, 10.0, 100.0]),
    depth_m=np.array([[1.5, 2.2, 3.3], [3.2, 4.9, 7.1]]) * IN,
    series="partial duration",
)


@pytest.mark.parametrize("years", [2.0, 3.7, 10.0, 25.0, 99.0, 100.0])
@pytest.mark.parametrize("duration", [3600.0, 14400.0, 86400.0])
def test_rarity_is_the_inverse_of_the_table(years: float, duration: float) -> None:
    depth = depth_m(TABLE, duration_s=duration, return_period_years=years)
    found = rarity(TABLE, duration_s=duration, depth_m=depth)
    assert found.years == pytest.approx(years, rel=1e-9)


def test_nothing_is_said_beyond_the_table() -> None:
    assert rarity(TABLE, duration_s=3600, depth_m=1.49 * IN).reach == "below"
    over = rarity(TABLE, duration_s=3600, depth_m=3.31 * IN)
    assert (over.reach, over.years) == ("beyond", 100.0)
    with pytest.raises(InputError, match="not in this rain table"):
        rarity(TABLE, duration_s=300, depth_m=IN)
    with pytest.raises(InputError, match="0 or more"):
        rarity(TABLE, duration_s=3600, depth_m=-1.0)
