"""A store of 100 ft³ that soaks 5 ft³/h under 1,000 ft² of roof, through real rain.

Every figure of the reference sheet, rain sections 4 and 4.1, that keeps rain order as it is: rule A (outflow
before spill, worked out there in exact fractions) is the same as exact routing within the hour, rule C.
First 0.01 in of each event (6 h apart) wets the roof.
"""

import gzip
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from roofwell.physics.network import Store, Trace, balance_error, simulate
from roofwell.physics.rain import events
from roofwell.physics.rain.record import Record, record_from_series
from roofwell.tables import rain_library, rain_records

DATA = Path(__file__).parent.parent / "data" / "rain"
INCH = 0.0254
FOOT = 0.3048
HOUR = 3600.0
CUBIC_FOOT = FOOT**3
ROOF_M2 = 1000 * FOOT**2
GAP_S = 6 * HOUR
LOSS_M = 0.01 * INCH


@dataclass
class Run:
    """One record through one store."""

    record: Record
    found: events.Events
    trace: Trace

    @property
    def spill_ft3(self):
        """Spill of each hour, ft³; rounding noise is none."""
        return np.round(self.trace.spilled_m3 / CUBIC_FOOT, 9)

    @property
    def captured(self):
        return 1 - self.trace.spilled_m3.sum() / self.trace.inflow_m3.sum()

    @property
    def spells(self):
        return events.find_events(depth_m=self.spill_ft3, step_s=HOUR, gap_s=GAP_S).count

    @property
    def spilling_events(self):
        return np.unique(self.found.event_of_step[self.spill_ft3 > 0]).size


@cache
def run(name, full_ft3=100.0, drain_ft3_h=5.0, loss_m=LOSS_M, parts=1):
    record = airport(name) if name in AIRPORTS else shipped(name)
    found = events.find_events(depth_m=record.depth_m, step_s=HOUR, gap_s=GAP_S)
    net = events.net_of_initial_loss(depth_m=record.depth_m, events=found, loss_m=loss_m)
    soakage = np.full(2, drain_ft3_h * CUBIC_FOOT / HOUR)
    store = Store(np.array([0.0, full_ft3 * CUBIC_FOOT]), soakage)
    inflow = np.repeat(net * ROOF_M2 / HOUR, parts)
    (trace,) = simulate([store], inflow[:, None], step_s=HOUR / parts)
    assert balance_error(trace) < 1e-9
    return Run(record, found, trace)


@cache
def airport(name):
    with gzip.open(DATA / "nyc2013_hourly_ewr_jfk_lga.csv.gz", "rt") as stream:
        header, *lines = stream.read().splitlines()
    text = "\n".join([header, *(line for line in lines if line.startswith(name))])
    return record_from_series(rain_records.parse_record(text, time_column="time_utc_start", most_m=12 * INCH))


@cache
def shipped(name):
    if name == "philadelphia":
        with gzip.open(DATA / "philadelphia_airport_hourly_1988_1997.csv.gz", "rt") as stream:
            whole = record_from_series(rain_records.parse_record(stream.read(), most_m=12 * INCH))
        return philadelphia_window(whole)
    return record_from_series(rain_library.load_record(name, keep_doubtful=True))


def philadelphia_window(whole):
    """Stamps 1989-01-01 05:00 to 1998-01-01 04:00, nine years."""
    times = whole.times()
    kept = slice(
        int(np.searchsorted(times, np.datetime64("1989-01-01T05:00:00"))),
        int(np.searchsorted(times, np.datetime64("1998-01-01T05:00:00"))),
    )
    return Record(times[kept][0], whole.step_s, whole.depth_m[kept], whole.missing[kept])


AIRPORTS = ("EWR", "JFK", "LGA")


def each(*values):
    return list(zip(AIRPORTS, values, strict=True))


@pytest.mark.parametrize(("name", "ft3"), each(3572.5, 2806 + 2 / 3, 3086 + 2 / 3))
def test_inflow(name, ft3):
    """Rain 4: inflow of the year."""
    assert run(name).trace.inflow_m3.sum() / CUBIC_FOOT == pytest.approx(ft3, rel=1e-9)


@pytest.mark.parametrize(("name", "hours"), each(8, 8, 11))
def test_spill_hours(name, hours):
    """Rain 4, rule A: hours with spill."""
    assert np.count_nonzero(run(name).spill_ft3) == hours


@pytest.mark.parametrize(("name", "count"), each(3, 1, 2))
def test_events_that_spill(name, count):
    """Rain 4, rule A: spill spells, which are also the rain events that spill."""
    assert run(name).spells == count
    assert run(name).spilling_events == count


@pytest.mark.parametrize(("name", "ft3"), each(695 / 6, 865 / 6, 935 / 6))
def test_overflow(name, ft3):
    """Rain 4, rule A: overflow, to the exact fraction; the same in 5-minute steps (uniform split)."""
    assert run(name).trace.spilled_m3.sum() / CUBIC_FOOT == pytest.approx(ft3, rel=1e-9)
    assert run(name, parts=12).trace.spilled_m3.sum() / CUBIC_FOOT == pytest.approx(ft3, rel=1e-9)


@pytest.mark.parametrize(("name", "share"), each(0.967576, 0.948634, 0.949514))
def test_captured_share_of_inflow(name, share):
    """Rain 4, rule A."""
    assert run(name).captured == pytest.approx(share, abs=6e-7)


@pytest.mark.parametrize(("name", "share"), each(0.945305, 0.921015, 0.922129))
def test_captured_share_of_rain(name, share):
    """Rain 4, rule A: what soaks in, of all rain on the roof."""
    trace, record = run(name).trace, run(name).record
    assert trace.soaked_m3.sum() / (record.total_depth_m * ROOF_M2) == pytest.approx(share, abs=6e-7)


@pytest.mark.parametrize(
    ("name", "ft3", "hour"),
    [
        ("EWR", 36.6667, "2013-06-08T01"),
        ("JFK", 39.1667, "2013-06-08T02"),
        ("LGA", 50.0, "2013-06-08T06"),
    ],
)
def test_largest_hourly_spill(name, ft3, hour):
    """Rain 4, rule A: the largest spill of an hour and its start, UTC."""
    spill = run(name).spill_ft3
    assert spill.max() == pytest.approx(ft3, abs=6e-5)
    assert run(name).record.times()[int(spill.argmax())] == np.datetime64(hour, "s")


SPILLS = {
    "EWR": {
        "05-09T14": 0.833,
        "06-07T22": 1.667,
        "06-07T23": 26.667,
        "06-08T00": 22.5,
        "06-08T01": 36.667,
        "06-08T02": 10.833,
        "11-27T10": 11.667,
        "11-27T11": 5.0,
    },
    "JFK": {
        "06-07T23": 34.167,
        "06-08T00": 14.167,
        "06-08T01": 10.833,
        "06-08T02": 39.167,
        "06-08T03": 4.167,
        "06-08T04": 15.833,
        "06-08T05": 22.5,
        "06-08T06": 3.333,
    },
    "LGA": {
        "05-08T12": 4.167,
        "05-08T16": 20.0,
        "05-08T17": 10.0,
        "06-07T23": 4.167,
        "06-08T00": 18.333,
        "06-08T01": 15.0,
        "06-08T02": 13.333,
        "06-08T03": 4.167,
        "06-08T04": 11.667,
        "06-08T05": 5.0,
        "06-08T06": 50.0,
    },
}


@pytest.mark.parametrize("name", AIRPORTS)
def test_every_hour_that_spills(name):
    """Rain 4, rule A: each hour with spill, UTC start, ft³; the store ends the year empty."""
    spill = run(name).spill_ft3
    times = run(name).record.times()
    found = {str(times[i])[5:13]: spill[i] for i in np.flatnonzero(spill)}
    assert found == pytest.approx(SPILLS[name], abs=6e-4)
    assert run(name).trace.volume_end_m3[-1] == 0


@pytest.mark.parametrize(
    ("name", "ft3", "share"),
    [("EWR", 116.6667, 0.968095), ("JFK", 144.1667, 0.950130), ("LGA", 155.8333, 0.950970)],
)
def test_without_loss(name, ft3, share):
    """Rain 4: the roof loses nothing."""
    result = run(name, loss_m=0.0)
    assert result.trace.spilled_m3.sum() / CUBIC_FOOT == pytest.approx(ft3, abs=6e-5)
    assert result.captured == pytest.approx(share, abs=6e-7)


@pytest.mark.parametrize(
    ("full", "drain", "name", "ft3", "share"),
    [
        (50, 5, "EWR", 435.0, 0.878237),
        (50, 5, "JFK", 339.1667, 0.879157),
        (50, 5, "LGA", 370.0, 0.880130),
        (200, 5, "EWR", 0, 1),
        (200, 5, "JFK", 44.1667, 0.984264),
        (200, 5, "LGA", 21.6667, 0.992981),
        (100, 2, "EWR", 275.3333, 0.922930),
        (100, 2, "JFK", 236.5, 0.915736),
        (100, 2, "LGA", 296.0, 0.904104),
    ],
)
def test_other_stores(full, drain, name, ft3, share):
    """Rain 4, rule A with other sizes and soakage."""
    result = run(name, float(full), float(drain))
    assert result.trace.spilled_m3.sum() / CUBIC_FOOT == pytest.approx(ft3, abs=6e-5)
    assert result.captured == pytest.approx(share, abs=6e-7)


# Rain 4.1: id, rain in, net in, overflow ft³, spill hours, spells, rain events that spill, captured by store.
YEARS = [
    ("amarillo-tx", 1254.61, 1212.15, 6251.67, 276, 104, 99, 0.93811, 0.90100, 0.98257, 0.84671),
    ("denver-co", 711.05, 673.82, 859.17, 68, 21, 21, 0.98470, 0.96319, 0.99978, 0.94337),
    ("cairo-il", 1872.25, 1832.83, 12482.50, 657, 191, 182, 0.91827, 0.85384, 0.97866, 0.81774),
    ("mount-shasta-ca", 1364.37, 1337.43, 7117.50, 813, 108, 89, 0.93614, 0.79600, 0.97906, 0.87845),
    ("moore-haven-fl", 1565.15, 1529.54, 15670.83, 625, 253, 247, 0.87705, 0.80943, 0.97068, 0.72880),
    ("chicago-midway-il", 1098.43, 1062.76, 4925.00, 218, 77, 74, 0.94439, 0.90853, 0.98449, 0.87157),
    ("north-little-rock-ar", 1510.51, 1480.85, 10439.17, 631, 182, 174, 0.91541, 0.84302, 0.98113, 0.80039),
    ("landisville-pa", 701.88, 683.36, 3432.50, 146, 54, 51, 0.93972, 0.90439, 0.98093, 0.86760),
]


@pytest.mark.parametrize("row", YEARS, ids=lambda row: row[0])
def test_rain_and_overflow_of_a_long_record(row):
    """Rain 4.1: rain, net rain and overflow of the whole record."""
    result = run(row[0])
    assert result.record.total_depth_m / INCH == pytest.approx(row[1], abs=0.006)
    assert result.trace.inflow_m3.sum() / ROOF_M2 / INCH == pytest.approx(row[2], abs=0.006)
    assert result.trace.spilled_m3.sum() / CUBIC_FOOT == pytest.approx(row[3], abs=0.006)


@pytest.mark.parametrize("row", YEARS, ids=lambda row: row[0])
def test_spills_of_a_long_record(row):
    """Rain 4.1: hours with spill, spells six hours apart, rain events that spill."""
    result = run(row[0])
    assert np.count_nonzero(result.spill_ft3) == row[4]
    assert result.spells == row[5]
    assert result.spilling_events == row[6]


@pytest.mark.parametrize(
    ("name", "full", "drain", "share"),
    [
        (row[0], *store, share)
        for row in YEARS
        for store, share in zip(((100, 5), (100, 2), (200, 5), (50, 5)), row[7:], strict=True)
    ],
)
def test_captured_share_of_a_long_record(name, full, drain, share):
    """Rain 4.1: captured share of the inflow, by size (ft³) and soakage (ft³/h)."""
    assert run(name, float(full), float(drain)).captured == pytest.approx(share, abs=6e-6)


def test_philadelphia():
    """Rain 4.1, in floats there: nine years of Philadelphia airport."""
    result = run("philadelphia")
    assert result.record.total_depth_m / INCH == pytest.approx(354.29, abs=0.006)
    assert result.trace.inflow_m3.sum() / ROOF_M2 / INCH == pytest.approx(345.00, abs=0.006)
    assert result.trace.spilled_m3.sum() / CUBIC_FOOT == pytest.approx(994.17, abs=0.006)
    assert np.count_nonzero(result.spill_ft3) == 52
    assert result.spells == 21
    assert result.captured == pytest.approx(0.96542, abs=6e-6)
