"""Three New York airports, 2013, hourly: every rain figure of the reference sheet, rain section 4.

Series: first to last stamp, 8,730 hours, absent hours dry. The sheet's figures were worked out in whole
hundredths of an inch, apart from this code. What a store does with this rain is tested with the kernel.
"""

import gzip
from pathlib import Path

import numpy as np
import pytest

from roofwell.physics.rain import events, extremes
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.tables import rain_records

DATA = Path(__file__).parent.parent / "data" / "rain"
INCH = 0.0254
HOUR = 3600.0
AIRPORTS = ("EWR", "JFK", "LGA")
MOST_M = 12 * INCH


def read(airport: str, column: str) -> Record:
    with gzip.open(DATA / "nyc2013_hourly_ewr_jfk_lga.csv.gz", "rt") as stream:
        header, *lines = stream.read().splitlines()
    text = "\n".join([header, *(line for line in lines if line.startswith(airport))])
    return record_from_series(rain_records.parse_record(text, time_column=column, most_m=MOST_M))


@pytest.fixture(scope="module")
def utc() -> dict[str, Record]:
    return {airport: read(airport, "time_utc_start") for airport in AIRPORTS}


@pytest.fixture(scope="module")
def local() -> dict[str, Record]:
    return {airport: read(airport, "time_lst_start") for airport in AIRPORTS}


def rain_events(record: Record, hours: int = 6) -> events.Events:
    return events.find_events(depth_m=record.depth_m, step_s=record.step_s, gap_s=hours * HOUR)


def each(*values):
    return list(zip(AIRPORTS, values, strict=True))


@pytest.mark.parametrize(("airport", "rows"), each(8703, 8706, 8706))
def test_span_and_rows(utc, airport, rows):
    """8,730 hours from 2013-01-01 06Z to 2013-12-30 23Z; absent hours are missing, not dry."""
    record = utc[airport]
    assert record.steps == 8730
    assert record.start == np.datetime64("2013-01-01T06:00:00")
    assert record.end == np.datetime64("2013-12-31T00:00:00")
    assert record.steps - np.count_nonzero(record.missing) == rows


@pytest.mark.parametrize(("airport", "inches"), each(43.88, 34.69, 38.14))
def test_total(utc, airport, inches):
    """Rain of the year."""
    assert utc[airport].total_depth_m / INCH == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(("airport", "hours"), each(596, 576, 577))
def test_wet_hours(utc, airport, hours):
    """Hours with rain."""
    assert np.count_nonzero(utc[airport].depth_m) == hours


COUNTS = {
    1: (166, 169, 181),
    2: (129, 139, 142),
    3: (118, 121, 130),
    4: (108, 111, 119),
    6: (101, 101, 110),
    8: (94, 94, 104),
    12: (87, 86, 93),
    24: (77, 71, 77),
}


@pytest.mark.parametrize(
    ("hours", "airport", "count"),
    [(hours, *pair) for hours, counts in COUNTS.items() for pair in each(*counts)],
)
def test_number_of_events(utc, hours, airport, count):
    """Events by the dry hours that separate them."""
    assert rain_events(utc[airport], hours).count == count


@pytest.mark.parametrize(("airport", "inches"), each(0.4345, 0.3435, 0.3467))
def test_mean_event(utc, airport, inches):
    """Mean event depth at 6 h."""
    assert rain_events(utc[airport]).depth_m.mean() / INCH == pytest.approx(inches, abs=5e-5)


@pytest.mark.parametrize(("airport", "inches"), each(0.18, 0.13, 0.115))
def test_median_event(utc, airport, inches):
    """Median event depth at 6 h."""
    assert np.median(rain_events(utc[airport]).depth_m) / INCH == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    ("airport", "expected"),
    each(
        (3.91, "2013-06-07T00", "2013-06-08T06"),
        (4.42, "2013-06-07T02", "2013-06-08T07"),
        (4.22, "2013-06-07T00", "2013-06-08T07"),
    ),
)
def test_largest_event(utc, airport, expected):
    """Largest event: depth, starts of its first and last wet hour, UTC."""
    found = rain_events(utc[airport])
    largest = int(np.argmax(found.depth_m))
    times = utc[airport].times()
    assert found.depth_m[largest] / INCH == pytest.approx(expected[0], abs=1e-9)
    assert times[found.first_step[largest]] == np.datetime64(expected[1], "s")
    assert times[found.last_step[largest]] == np.datetime64(expected[2], "s")


@pytest.mark.parametrize(("airport", "hours"), each(7.089, 7.109, 6.491))
def test_mean_duration(utc, airport, hours):
    """Mean duration of events at 6 h."""
    assert rain_events(utc[airport]).duration_s.mean() / HOUR == pytest.approx(hours, abs=0.0006)


@pytest.mark.parametrize(("airport", "hours"), each(77.33, 77.32, 70.98))
def test_mean_dry_gap(utc, airport, hours):
    """Mean dry gap between events at 6 h."""
    assert rain_events(utc[airport]).dry_gap_s.mean() / HOUR == pytest.approx(hours, abs=0.006)


@pytest.mark.parametrize(
    ("inches", "airport", "count"),
    [
        (inches, *pair)
        for inches, counts in ((0.10, (61, 57, 56)), (0.50, (33, 21, 27)), (1.00, (13, 7, 8)))
        for pair in each(*counts)
    ],
)
def test_events_at_least_so_deep(utc, inches, airport, count):
    """Events of at least 0.10, 0.50 and 1.00 in."""
    assert np.count_nonzero(rain_events(utc[airport]).depth_m >= inches * INCH - 1e-9) == count


WINDOWS = {
    1: (1.21, 0.66, 0.82),
    2: (1.28, 1.09, 0.98),
    3: (1.40, 1.19, 1.12),
    6: (1.68, 1.95, 1.61),
    12: (2.48, 3.26, 2.60),
    24: (3.74, 4.35, 4.08),
    48: (3.91, 4.42, 4.22),
}


@pytest.mark.parametrize(
    ("hours", "airport", "inches"),
    [(hours, *pair) for hours, depths in WINDOWS.items() for pair in each(*depths)],
)
def test_wettest_window(utc, hours, airport, inches):
    """Wettest sliding window of 1 to 48 h."""
    found = extremes.largest(utc[airport], window_s=hours * HOUR)
    assert found.depth_m / INCH == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    ("hours", "airport", "start"),
    [
        *((1, *pair) for pair in each("2013-08-28T18", "2013-09-22T05", "2013-09-02T17")),
        *((24, *pair) for pair in each("2013-06-07T03", "2013-06-07T08", "2013-06-07T07")),
    ],
)
def test_start_of_wettest_window(utc, hours, airport, start):
    """When the wettest hour and the wettest 24 h begin, UTC."""
    assert extremes.largest(utc[airport], window_s=hours * HOUR).start == np.datetime64(start, "s")


def daily(record: Record) -> dict[np.datetime64, float]:
    days = record.times().astype("datetime64[D]")
    return {day: float(record.depth_m[days == day].sum()) / INCH for day in np.unique(days)}


@pytest.mark.parametrize(("airport", "inches"), each(3.71, 3.93, 3.32))
def test_wettest_local_day(local, airport, inches):
    """Wettest day of local standard time, 7 June."""
    days = daily(local[airport])
    wettest = max(days, key=lambda day: days[day])
    assert wettest == np.datetime64("2013-06-07")
    assert days[wettest] == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    ("airport", "loss", "net"), [("EWR", 1.01, 42.87), ("JFK", 1.01, 33.68), ("LGA", 1.10, 37.04)]
)
def test_initial_loss(utc, airport, loss, net):
    """First 0.01 in of each event lost: loss and net rain."""
    record = utc[airport]
    left = events.net_of_initial_loss(depth_m=record.depth_m, events=rain_events(record), loss_m=0.01 * INCH)
    assert left.sum() / INCH == pytest.approx(net, abs=1e-9)
    assert (record.total_depth_m - left.sum()) / INCH == pytest.approx(loss, abs=1e-9)


@pytest.mark.parametrize(("airport", "cubic_feet"), each(3572.5, 2806.6667, 3086.6667))
def test_inflow_of_a_thousand_square_feet(utc, airport, cubic_feet):
    """Net rain on 1,000 sq ft of roof."""
    record = utc[airport]
    left = events.net_of_initial_loss(depth_m=record.depth_m, events=rain_events(record), loss_m=0.01 * INCH)
    assert left.sum() / INCH * 1000 / 12 == pytest.approx(cubic_feet, abs=5e-5)


@pytest.fixture(scope="module")
def official() -> dict[np.datetime64, float]:
    """NOAA daily record of LaGuardia, in."""
    lines = (DATA / "lga_official_daily_2013.csv").read_text().splitlines()[1:]
    cells = (line.split(",") for line in lines)
    return {np.datetime64(f"{d[:4]}-{d[4:6]}-{d[6:8]}"): float(v) for d, v in cells}


def test_laguardia_against_official_days(local, official):
    """Rain 2.1: 38.29 in official against 38.14 over the same 364 days; mean absolute difference 0.0013."""
    days = daily(local["LGA"])
    assert len(days) == 364
    assert sum(official[day] for day in days) == pytest.approx(38.29, abs=1e-9)
    difference = {day: abs(days[day] - official[day]) for day in days}
    assert np.mean(list(difference.values())) == pytest.approx(0.0013, abs=5e-5)
    worst = max(difference, key=lambda day: difference[day])
    assert worst == np.datetime64("2013-01-11")
    assert (official[worst], round(days[worst], 2)) in ((0.49, 0.38), (0.38, 0.49))


@pytest.mark.parametrize("shift", [-2, -1, 1, 2])
def test_laguardia_stamps_are_starts_of_local_hours(local, official, shift):
    """Rain 2.1: moving the stamps by an hour either way fits the official days worse."""
    record = local["LGA"]
    moved = Record(
        start=record.start + np.timedelta64(shift * 3600, "s"),
        step_s=record.step_s,
        depth_m=record.depth_m,
        missing=record.missing,
    )

    def misfit(of: Record) -> float:
        return sum(abs(inches - official[day]) for day, inches in daily(of).items() if day in official)

    assert misfit(record) < misfit(moved)
