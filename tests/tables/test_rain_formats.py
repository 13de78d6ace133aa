"""Rain tables from text: variants of the layouts, bad files answered with the line. Figures are invented."""

from pathlib import Path

import pytest

from roofwell.errors import InputError
from roofwell.tables import rain_formats

DATA = Path(__file__).parent.parent / "data" / "rain"
INCH = 0.0254

HEAD = """Point precipitation frequency estimates ({unit})
NOAA Atlas 14 Volume 2 Version 3
Data type: Precipitation {kind}
Time series type: {series}
Location name (ESRI Maps): None
Latitude: 40 Degree
Longitude: -88 Degree
Elevation (USGS): 100 m


PRECIPITATION FREQUENCY ESTIMATES
"""
ROWS = """by duration for ARI (years):, 1,10
5-min:, 0.4,0.6
60-min:, 1.2,2.4

Date/time (GMT):  Mon Jun 19 14:23:29 2023
pyRunTime:  0.01
"""
CHANCES = ROWS.replace("ARI (years):, 1,10", "AEP:, '1/2,'1/10")


def point(rows=ROWS, *, unit="inches", kind="depth", series="Partial duration"):
    return HEAD.format(unit=unit, kind=kind, series=series) + rows


@pytest.mark.parametrize(
    ("unit", "kind", "five_minutes_m", "hour_m"),
    [
        ("inches", "depth", 0.6 * INCH, 2.4 * INCH),
        ("millimeters", "depth", 0.0006, 0.0024),
        ("inches/hour", "intensity", 0.05 * INCH, 2.4 * INCH),
        ("millimeters/hour", "intensity", 0.00005, 0.0024),
    ],
)
def test_units_of_the_point_table(unit, kind, five_minutes_m, hour_m):
    """Depth or intensity, inches or millimeters: the same depths in metres."""
    table = rain_formats.parse_table(point(unit=unit, kind=kind))
    assert table.depth_m[:, 1] == pytest.approx([five_minutes_m, hour_m])
    assert (table.units, table.series) == (unit, "partial duration")


@pytest.mark.parametrize("guard", ["'", "’", "", "`"])
def test_chances_with_any_guard(guard):
    """A chance of 1/2 is the 2-year column, however the spreadsheet guards it."""
    table = rain_formats.parse_table(point(CHANCES.replace("'", guard), series="Annual maximum"))
    assert table.return_period_years.tolist() == [2, 10]
    assert table.series == "annual maximum"


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace("\n", "\r\n"),
        lambda text: "\ufeff" + text,
        lambda text: text.replace("0.4,0.6", "0.4,0.6,,"),
        lambda text: "\n\n" + text,
        lambda text: text.split("\nDate/time")[0],
        lambda text: text.replace("5-min:", '"5-min:"'),
    ],
)
def test_small_changes_do_not_matter(change):
    """Line ends, a byte-order mark, a spreadsheet's commas, moved lines, no footer."""
    assert rain_formats.parse_table(change(point())).depth_m[0, 1] == pytest.approx(0.6 * INCH)


def test_metadata():
    """Place and station unknown are None; coordinates, elevation and edition are read."""
    table = rain_formats.parse_point_table(point())
    assert (table.place, table.station, table.lower_m, table.upper_m) == (None, None, None, None)
    assert (table.latitude_deg, table.longitude_deg, table.elevation_m) == (40, -88, 100)
    assert table.publisher == "NOAA Atlas 14 Volume 2 Version 3"


BAD_POINT = [
    (point().replace("(inches)", ""), 1, "a title such as"),
    (point(unit="furlongs"), 1, "a unit in parentheses"),
    (point(unit="inches/hour"), 1, "per hour or not"),
    (point(series="Annual maximum"), 12, "AEP with 'Annual maximum'"),
    (point(CHANCES), 12, "ARI (years) with 'Partial duration'"),
    (point(CHANCES.replace("'1/2", "12"), series="Annual maximum"), 12, "'1/2 (the 2-year column)"),
    (point(ROWS.replace("1,10", "10,1")), 12, "rise from left to right"),
    (point(ROWS.replace("1,10", "1,x")), 12, "a number of years"),
    (point(ROWS.replace("0.4,0.6", "0.4,wet")), 13, "a figure above 0"),
    (point(ROWS.replace("0.4,0.6", "0.4,-0.6")), 13, "a figure above 0"),
    (point(ROWS.replace("0.4,0.6", "0.4")), 13, "2 figures after the duration; found 1"),
    (point(ROWS.replace("60-min", "3-moons")), 14, "a duration such as"),
    (point(ROWS.replace("60-min", "5-min")), 14, "rise from row to row"),
    (point(ROWS.split("5-min")[0]), 12, "rows such as"),
]


@pytest.mark.parametrize(("text", "line", "right"), BAD_POINT)
def test_bad_point_tables_name_the_line(text, line, right):
    """The message names the line, what was read, and what would be right."""
    with pytest.raises(InputError) as caught:
        rain_formats.parse_table(text)
    assert caught.value.code == "rain-table-text"
    assert f"line {line}:" in caught.value.message
    assert right in caught.value.message


def test_bounds_must_match_the_estimate():
    """A block of bounds with other durations is refused."""
    block = ROWS.split("\n\nDate")[0]
    upper = "\n\nESTIMATES AT UPPER BOUND OF 90% CONFIDENCE INTERVAL\n"
    heading = "PRECIPITATION FREQUENCY " + upper.strip() + "\n"
    good = rain_formats.parse_table(point(block + "\n\n" + heading + block.replace("0.6", "0.7") + "\n"))
    assert good.upper_m is not None
    assert good.upper_m[0, 1] == pytest.approx(0.7 * INCH)
    with pytest.raises(InputError, match="upper bound block"):
        rain_formats.parse_table(point(block + "\n\n" + heading + block.replace("5-min", "6-min") + "\n"))


PLAIN = "duration (depth in),2 yr,10 yr,100 yr\n5 min,0.4,0.6,0.9\n1 h,1.2,2.4,3.3\n"


@pytest.mark.parametrize(
    ("text", "hour_m"),
    [
        (PLAIN, 2.4 * INCH),
        (PLAIN.replace(",", ";"), 2.4 * INCH),
        (PLAIN.replace(",", "\t"), 2.4 * INCH),
        (PLAIN.replace("depth in", "depth, mm").replace("duration (depth, mm)", "depth mm"), 0.0024),
        (PLAIN.replace("(depth in)", "(intensity mm/h)"), 0.0024),
        ("# Depth in, of the county\n" + PLAIN.replace(" (depth in)", ""), 2.4 * INCH),
        (PLAIN.replace(" yr", "-year"), 2.4 * INCH),
    ],
)
def test_plain_tables(text, hour_m):
    """Separators, units and words of a plain table."""
    table = rain_formats.parse_table(text)
    assert table.depth_m[1, 1] == pytest.approx(hour_m)
    assert table.return_period_years.tolist() == [2, 10, 100]
    assert table.duration_s.tolist() == [300, 3600]


@pytest.mark.parametrize(
    ("text", "given", "series", "notes"),
    [
        (PLAIN, None, "partial duration", 1),
        (PLAIN, "annual maximum", "annual maximum", 0),
        ("# annual maxima\n" + PLAIN, None, "annual maximum", 0),
        ("# partial duration\n" + PLAIN, "annual maximum", "partial duration", 0),
    ],
)
def test_series_of_a_plain_table(text, given, series, notes):
    """What the text tells goes first; what nobody tells is noted."""
    table = rain_formats.parse_plain_table(text, series=given)
    assert (table.series, len(table.notes)) == (series, notes)


@pytest.mark.parametrize(
    ("text", "line", "right"),
    [
        ("", 1, "a header such as"),
        ("duration,depth\n5 min,1\n", 1, "a header such as"),
        (PLAIN.replace(" (depth in)", ""), 1, "the unit in a header cell"),
        (PLAIN.replace("depth in", "depth in/h"), 1, "an intensity in in/h"),
        (
            PLAIN.replace(
                "2 yr,",
                "",
            ).replace("duration (depth in)", "2 yr"),
            1,
            "the unit in a header cell",
        ),
        (PLAIN.replace("duration (depth in),", "depth in,unit,"), 1, "one column of durations"),
        (PLAIN.replace("10 yr", "often"), 1, "a return period such as '10 yr'"),
        (PLAIN.replace("10 yr", "1 yr"), 1, "rise from left to right"),
        (PLAIN.replace("1 h", "1 s"), 3, "a duration such as"),
        (PLAIN.replace("3.3", ""), 3, "3 figures after the duration"),
        (PLAIN.split("5 min")[0], 1, "at least one row"),
    ],
)
def test_bad_plain_tables_name_the_line(text, line, right):
    """The message names the line and what would be right."""
    with pytest.raises(InputError) as caught:
        rain_formats.parse_plain_table(text)
    assert f"line {line}:" in caught.value.message
    assert right in caught.value.message
