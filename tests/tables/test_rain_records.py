"""Rain records from text: units, labels, and everything found wrong said in words. Rain here is invented."""

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.tables import rain_records

INCH = 0.0254
GOOD = """time,rain_in
2013-06-07 00:00,0.00
2013-06-07 01:00,0.12
2013-06-07 02:00,0.05
2013-06-07 03:00,0.00
"""


def parse(text, **more):
    return rain_records.parse_record(text, **({"most_m": 12 * INCH} | more))


@pytest.mark.parametrize(
    "text",
    [
        GOOD,
        GOOD.replace(",", ";"),
        GOOD.replace("2013-06-07 ", "2013-06-07T"),
        GOOD.replace(":00,", ":00Z,"),
        GOOD.replace("\n", "\r\n"),
        "# a comment\n\n" + GOOD,
        GOOD.replace("rain_in", "rain (hundredths of in)").replace("0.12", "12").replace("0.05", "5"),
        GOOD.replace("rain_in", "depth mm").replace("0.12", "3.048").replace("0.05", "1.27"),
    ],
)
def test_a_sound_record(text):
    """Separators, stamps and units; nothing to remark on."""
    found = parse(text)
    assert found.depth_m / INCH == pytest.approx([0, 0.12, 0.05, 0])
    assert (found.step_s, found.start) == (3600, np.datetime64("2013-06-07T00:00:00"))
    assert not found.missing.any()
    assert found.remarks == ()


@pytest.mark.parametrize(
    ("stamps", "order"),
    [
        (("06/07/2013 00:00", "06/07/2013 00:05"), "month first"),
        (("06/07/2013 12:00 AM", "06/07/2013 12:05 AM"), "month first"),
        (("07/06/2013 00:00", "07/06/2013 00:05"), "day first"),
        (("07.06.2013 00:00", "07.06.2013 00:05"), "day first"),
        (("201306070000", "201306070005"), "year first"),
    ],
)
def test_orders_of_a_date(stamps, order):
    """The order is stated, never guessed."""
    found = parse("\n".join(f"{stamp},1" for stamp in stamps), unit="mm", date_order=order)
    assert (found.step_s, found.start) == (300, np.datetime64("2013-06-07T00:00:00"))
    assert found.depth_m.tolist() == [0.001, 0.001]


def test_stamps_at_the_end_of_the_step():
    """A record labelled at the end starts one step earlier."""
    assert parse(GOOD, label="end").start == np.datetime64("2013-06-06T23:00:00")


def test_columns_by_name():
    """Columns may stand anywhere."""
    text = "station,mm of rain,when\nA,1,2013-01-01 00:00\nA,2,2013-01-01 00:15\n"
    found = parse(text, time_column="when", depth_column="mm of rain")
    assert (found.step_s, found.depth_m.tolist()) == (900, [0.001, 0.002])


FAULTS = [
    (GOOD.replace("2013-06-07 02:00,0.05\n", ""), "rain-gap", [2], "1 steps from 2013-06-07T02:00:00 on"),
    (GOOD.replace("0.05", "-0.05"), "rain-negative", [2], "line 4: -0.05 is negative"),
    (GOOD.replace("0.05", "12.5"), "rain-impossible", [2], "more than 304.8 mm (12 in) in one step"),
    (GOOD.replace("0.05", "wet"), "rain-unreadable", [2], "'wet' is not a number"),
    (GOOD.replace("0.05", "nan"), "rain-missing", [2], "marked missing"),
    (GOOD.replace("0.05", "inf"), "rain-impossible", [2], "inf is more than"),
    (GOOD.replace("0.05", "-9999"), "rain-missing", [2], "marked missing"),
    (GOOD.replace("0.05", ""), "rain-missing", [2], "marked missing ('')"),
    (GOOD.replace("0.05", "T"), "rain-trace", [], "a trace; counted as 0"),
    (GOOD + "2013-06-07 02:00,0.05\n", "rain-time-repeated", [], "with the same depth; kept once"),
    (GOOD + "2013-06-07 02:00,0.06\n", "rain-time-repeated", [2], "with another depth; left missing"),
]


@pytest.mark.parametrize(("text", "code", "missing", "words"), FAULTS)
def test_faults_are_said_and_never_filled(text, code, missing, words):
    """The fault is named with its line; the step is missing and holds no rain."""
    found = parse(text)
    assert [words in r.text for r in found.remarks if r.code == code] == [True]
    assert np.flatnonzero(found.missing).tolist() == missing
    assert (found.depth_m[found.missing] == 0).all()


def test_time_going_backwards_is_sorted_and_said():
    """Rows out of order are put in order, with a remark naming the line."""
    lines = GOOD.splitlines()
    found = parse("\n".join([lines[0], lines[1], lines[3], lines[2], lines[4]]))
    assert found.depth_m / INCH == pytest.approx([0, 0.12, 0.05, 0])
    assert [(r.code, r.line) for r in found.remarks] == [("rain-time-backwards", 4)]


def test_many_faults_are_counted():
    """Of one kind the first twenty are told one by one, the rest counted."""
    rows = "\n".join(f"2013-01-01 {h:02d}:{m:02d},-1" for h in range(24) for m in (0, 30))
    remarks = parse(rows, unit="mm").remarks
    assert len(remarks) == 21
    assert remarks[-1].text == "and 28 more like this"


@pytest.mark.parametrize(
    ("text", "more", "words"),
    [
        ("", {}, "line 1"),
        ("time,rain_in\n2013-06-07 00:00,1\n", {}, "at least two rows"),
        (GOOD.replace("rain_in", "rain"), {}, "the unit of depth in the header"),
        (GOOD, {"unit": "cups"}, "unit 'cups'"),
        (GOOD, {"depth_column": "snow"}, "a column named snow"),
        (GOOD.replace("2013-06-07 02:00", "two o'clock"), {}, "line 4: read"),
        (GOOD + "2013-06-07 04:00,0\n2013-06-07 04:17,0\n", {}, "line 7: read '2013-06-07T04:17:00'"),
        (GOOD.replace("2013-06-07 03:00", "9913-06-07 03:00"), {}, "one of them is wrong"),
        (GOOD.replace("2013-06-07 02:00,0.05", "2013-06-07 02:00"), {}, "2 columns"),
        ("2013-06-07 00:00,1\n2013-06-07 00:00,1\n", {"unit": "mm"}, "at least two different times"),
    ],
)
def test_records_that_cannot_be_read(text, more, words):
    """The message names the line and what would be right."""
    with pytest.raises(InputError) as caught:
        parse(text, **more)
    assert caught.value.code == "rain-record-text"
    assert words in caught.value.message


def test_a_limit_of_nothing_is_refused():
    """The most rain of a step is above 0."""
    with pytest.raises(InputError) as caught:
        parse(GOOD, most_m=0)
    assert caught.value.code == "rain-record-number"


HOURS = ",".join(f"HR{hour:02d}Val" for hour in range(24))


def days(*rows):
    lines = [f"STATION,DATE,{HOURS}"]
    lines += [f"X1,{day}," + ",".join(str(values.get(hour, 0)) for hour in range(24)) for day, values in rows]
    return "\n".join(lines)


def test_daily_rows():
    """Hundredths of an inch by the hour; −9999 and days not there are missing."""
    text = days(("1950-01-01", {5: 12, 6: -9999}), ("1950-01-03", {0: 7}))
    found = rain_records.parse_daily_rows(text, most_m=12 * INCH)
    assert (found.station, found.start, found.step_s) == ("X1", np.datetime64("1950-01-01T00:00:00"), 3600)
    assert found.depth_m.size == 72
    assert found.depth_m[[5, 48]] / INCH == pytest.approx([0.12, 0.07])
    assert np.flatnonzero(found.missing).tolist() == [6, *range(24, 48)]
    assert [r.text for r in found.remarks] == [
        "line 3: 1 days from 1950-01-02 on are not there; left missing"
    ]


@pytest.mark.parametrize(
    ("rows", "code", "missing"),
    [
        ([("1950-01-01", {3: -5}), ("1950-01-02", {})], "rain-negative", [3]),
        ([("1950-01-01", {3: 1500}), ("1950-01-02", {})], "rain-impossible", [3]),
        ([("1950-01-02", {}), ("1950-01-01", {})], "rain-time-backwards", []),
        ([("1950-01-01", {}), ("1950-01-01", {3: 4})], "rain-time-repeated", list(range(24))),
    ],
)
def test_faults_of_daily_rows(rows, code, missing):
    """Each fault is remarked on, and the hours are missing."""
    found = rain_records.parse_daily_rows(days(*rows), most_m=12 * INCH)
    assert [r.code for r in found.remarks] == [code]
    assert np.flatnonzero(found.missing).tolist() == missing
    assert found.depth_m.sum() == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("DATE,rain\n", "HR00Val to HR23Val"),
        (f"STATION,DATE,{HOURS}\n", "a row for each day"),
        (days(("1950-13-01", {})), "line 2"),
        (days(("1950-01-01", {4: "x"})), "24 whole numbers"),
    ],
)
def test_daily_rows_that_cannot_be_read(text, words):
    """The message says what would be right."""
    with pytest.raises(InputError, match=words):
        rain_records.parse_daily_rows(text, most_m=12 * INCH)
