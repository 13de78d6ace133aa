"""The look-back against an agency's own daily figures: LaGuardia, 2013 (reference sheet, rain 2.1)."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest

from roofwell.physics.rain.look_back import rain_of_day
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.tables import rain_records

DATA = Path(__file__).parents[1] / "data" / "rain"
INCH = 0.0254


@pytest.fixture(scope="module")
def hourly() -> Record:
    """The airport's hours in local standard time."""
    with gzip.open(DATA / "nyc2013_hourly_ewr_jfk_lga.csv.gz", "rt") as stream:
        header, *lines = stream.read().splitlines()
    text = "\n".join([header, *(line for line in lines if line.startswith("LGA"))])
    return record_from_series(rain_records.parse_record(text, time_column="time_lst_start", most_m=12 * INCH))


@pytest.fixture(scope="module")
def official() -> dict[str, float]:
    """The agency's days, in."""
    lines = (DATA / "lga_official_daily_2013.csv").read_text().splitlines()[1:]
    rows = (line.split(",")[:2] for line in lines)
    return {f"{day[:4]}-{day[4:6]}-{day[6:]}": float(rain) for day, rain in rows}


def test_every_day_of_the_year_is_told_as_the_agency_tells_it(
    hourly: Record, official: dict[str, float]
) -> None:
    """Mean difference of 0.0013 in over the days; the largest, 2013-01-11, 0.49 against 0.38 in."""
    apart = {}
    for day, rain in official.items():
        found = rain_of_day(hourly, day=np.datetime64(day, "D"))
        if found is not None:
            apart[day] = abs(found.depth_m / INCH - rain)
    assert len(apart) >= 362
    assert float(np.mean(list(apart.values()))) == pytest.approx(0.0013, abs=5e-5)
    assert max(apart, key=lambda day: apart[day]) == "2013-01-11"
    assert apart["2013-01-11"] == pytest.approx(0.11, abs=0.001)
    assert sum(difference <= 0.0101 for difference in apart.values()) >= 0.95 * len(apart)


def test_a_day_after_the_record_is_not_told(hourly: Record) -> None:
    """The file ends before the last day of 2013."""
    assert rain_of_day(hourly, day=np.datetime64("2013-12-31")) is None
    assert rain_of_day(hourly, day=np.datetime64("2012-12-31")) is None
