"""Rain frequency tables against the agency's printed figures and the published conversion of series.

Ids R1 to R23 are those of the reference sheet "conveyance"; expected figures are typed from it.
"""

from pathlib import Path

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.rain import frequency
from roofwell.tables import rain_formats, rain_library

DATA = Path(__file__).parent.parent / "data" / "rain"
INCH = 0.0254
MINUTE = 60.0
HOUR = 3600.0
INCH_PER_HOUR = INCH / HOUR


@pytest.fixture(scope="module")
def champaign() -> frequency.FrequencyTable:
    """NOAA Atlas 14 Vol 2 v3, Champaign IL, partial duration (S1, seen)."""
    text = (DATA / "champaign_il_depth_pds.csv").read_text()
    return frequency.table_from_grid(rain_formats.parse_point_table(text))


def shipped(name: str) -> frequency.FrequencyTable:
    return frequency.table_from_grid(rain_library.load_table(name))


@pytest.mark.parametrize(
    ("case", "minutes", "years", "inches_per_hour"),
    [
        ("R1", 5, 10, 7.764),
        ("R2 100-year 60-minute", 60, 100, 3.19),
        ("R2 10-year 15-minute", 15, 10, 4.920),
        ("1.1 100-year 5-minute, printed 10.6", 5, 100, 10.608),
    ],
)
def test_depth_becomes_intensity(champaign, case, minutes, years, inches_per_hour):
    """R1, R2: intensity is the table's depth over its duration."""
    found = frequency.intensity_m_s(champaign, duration_s=minutes * MINUTE, return_period_years=years)
    assert found / INCH_PER_HOUR == pytest.approx(inches_per_hour, abs=0.001)


def test_durations_are_interpolated_on_logarithms(champaign):
    """R3: 20 min, 10-year, is 1.4102 in (4.2307 in/h), not the 1.390 in of a straight line."""
    depth = frequency.depth_m(champaign, duration_s=20 * MINUTE, return_period_years=10) / INCH
    assert depth == pytest.approx(1.4102, abs=0.0002)
    assert depth * 3 == pytest.approx(4.2307, abs=0.0005)
    assert abs(depth - 1.390) > 0.01


# NOAA Atlas 14 Vol 12, 46.0583 N 114.2306 W, 24 h, as quoted in the reference sheet, rain 3.2.
VOLUME_12_PDS = ((1, 2, 5, 10, 25, 50, 100), (1.20, 1.37, 1.64, 1.85, 2.13, 2.34, 2.55))
VOLUME_12 = [  # annual return period; interpolated in the sheet; published annual-maximum depth
    (2, 1.290, 1.29),
    (5, 1.608, 1.60),
    (10, 1.834, 1.83),
    (25, 2.124, 2.13),
    (50, 2.337, 2.34),
    (100, 2.548, 2.55),
]


@pytest.mark.parametrize(("years", "interpolated", "published"), VOLUME_12)
def test_partial_duration_table_gives_published_annual_maxima(years, interpolated, published):
    """Rain 3.2: depth on the logarithm of the return period, through Langbein, meets the published table."""
    table = frequency.FrequencyTable(
        duration_s=np.array([24 * HOUR]),
        return_period_years=np.array(VOLUME_12_PDS[0], dtype=float),
        depth_m=np.array([VOLUME_12_PDS[1]]) * INCH,
        series="partial duration",
    )
    period = frequency.partial_from_annual_years(return_period_years=years)
    found = frequency.depth_m(table, duration_s=24 * HOUR, return_period_years=period) / INCH
    assert found == pytest.approx(interpolated, abs=0.0006)
    assert found == pytest.approx(published, abs=0.0105)
    annual = frequency.as_series(table, series="annual maximum")
    again = frequency.depth_m(annual, duration_s=24 * HOUR, return_period_years=years) / INCH
    assert again == pytest.approx(published, abs=0.0105)


def test_two_year_pair_of_series():
    """Conveyance 1.3: one real pair, 24 h 2-year 1.37 against 1.29 in, has the ratio 0.942, not 0.88."""
    assert VOLUME_12[0][2] / VOLUME_12_PDS[1][1] == pytest.approx(0.942, abs=0.0005)
    period = frequency.partial_from_annual_years(return_period_years=2)
    table = frequency.FrequencyTable(
        duration_s=np.array([24 * HOUR]),
        return_period_years=np.array(VOLUME_12_PDS[0], dtype=float),
        depth_m=np.array([VOLUME_12_PDS[1]]) * INCH,
        series="partial duration",
    )
    annual = frequency.depth_m(table, duration_s=24 * HOUR, return_period_years=period)
    partial = frequency.depth_m(table, duration_s=24 * HOUR, return_period_years=2)
    assert annual / partial == pytest.approx(0.942, abs=0.001)


def test_champaign_file_is_read():
    """R5: header on line 14, ten return periods, (24 h, 100) = 6.88 in, (60 days, 1000) = 27.5 in."""
    text = (DATA / "champaign_il_depth_pds.csv").read_text()
    assert text.splitlines()[13].startswith("by duration for ARI")
    table = rain_formats.parse_point_table(text)
    assert list(table.return_period_years) == [1, 2, 5, 10, 25, 50, 100, 200, 500, 1000]
    assert table.depth_m[table.duration_s == 24 * HOUR, 6] / INCH == pytest.approx(6.88, abs=1e-9)
    assert table.depth_m[table.duration_s == 60 * 24 * HOUR, 9] / INCH == pytest.approx(27.5, abs=1e-9)
    assert (table.latitude_deg, table.longitude_deg) == (40.0962, -88.2574)
    assert table.place == "Champaign, Illinois, USA"
    assert table.station is None
    assert table.elevation_m == pytest.approx(755 * 0.3048)


@pytest.mark.parametrize("name", ["nashville-tn-table", "fort-myers-fl-table"])
def test_whole_files_have_nineteen_durations(name):
    """Conveyance 1.2: 19 durations from 5 min to 60 days, ten return periods."""
    table = shipped(name)
    expected = [5, 10, 15, 30, 60, 120, 180, 360, 720, 1440]
    expected += [1440 * days for days in (2, 3, 4, 7, 10, 20, 30, 45, 60)]
    assert list(table.duration_s / MINUTE) == expected
    assert table.depth_m.shape == (19, 10)


@pytest.mark.parametrize(("minutes", "years", "inches"), [(1440, 100, 12.1), (5, 10, 0.822), (60, 100, 4.38)])
def test_second_site_is_read(minutes, years, inches):
    """R6: lat 26.6 lon −81.9, Vol 9 v2: (24 h, 100), (5 min, 10), (60 min, 100)."""
    table = shipped("fort-myers-fl-table")
    found = frequency.depth_m(table, duration_s=minutes * MINUTE, return_period_years=years)
    assert found / INCH == pytest.approx(inches, abs=1e-9)
    parsed = rain_library.load_table("fort-myers-fl-table")
    assert (parsed.latitude_deg, parsed.longitude_deg, parsed.place) == (26.6, -81.9, None)


def test_annual_maximum_header_has_no_one_year_column():
    """R7: '1/2 is the 2-year column; stripping what is no digit would give 12."""
    chances = [2, 5, 10, 25, 50, 100, 200, 500, 1000]
    text = "\n".join(
        [
            "Point precipitation frequency estimates (inches)",
            "NOAA Atlas 14 Volume 12 Version 2",
            "Data type: Precipitation depth",
            "Time series type: Annual maximum",
            "",
            "PRECIPITATION FREQUENCY ESTIMATES",
            "by duration for AEP:, " + ",".join(f"'1/{years}" for years in chances),
            # 2- to 100-year as published in Vol 12 (rain 3.2); the last three are invented.
            "24-hr:, 1.29,1.60,1.83,2.13,2.34,2.55,2.76,3.05,3.27",
        ]
    )
    table = rain_formats.parse_point_table(text)
    assert table.series == "annual maximum"
    assert list(table.return_period_years) == chances
    assert table.depth_m[0, 0] == pytest.approx(1.29 * INCH)


@pytest.mark.parametrize(
    ("partial", "annual"),
    [(1, 1.5820), (2, 2.5415), (5, 5.5167), (10, 10.5083), (25, 25.5033), (100, 100.5008)],
)
def test_partial_duration_becomes_annual(partial, annual):
    """R8: AEP = 1 − exp(−1/T), Langbein 1949."""
    found = frequency.annual_from_partial_years(return_period_years=partial)
    assert found == pytest.approx(annual, abs=1e-4)


@pytest.mark.parametrize(
    ("annual", "partial"),
    [(2, 1.4427), (5, 4.4814), (10, 9.4912), (25, 24.4966), (50, 49.4983), (100, 99.4992)],
)
def test_annual_becomes_partial_duration(annual, partial):
    """R9: the inverse of R8."""
    found = frequency.partial_from_annual_years(return_period_years=annual)
    assert found == pytest.approx(partial, abs=1e-4)


@pytest.mark.parametrize(
    ("annual", "ari"),
    [(2, 1.443), (5, 4.481), (10, 9.491), (25, 24.497), (50, 49.498), (100, 99.499)],
)
def test_chance_in_a_year_becomes_average_interval(annual, ari):
    """Rain 3.2: ARI = −1 / ln(1 − AEP)."""
    assert frequency.partial_from_annual_years(return_period_years=annual) == pytest.approx(ari, abs=0.0006)


@pytest.mark.parametrize(
    ("name", "minutes", "ratio"),
    [
        ("nashville-tn-table", 5, 0.286),
        ("nashville-tn-table", 10, 0.458),
        ("nashville-tn-table", 15, 0.575),
        ("nashville-tn-table", 30, 0.795),
        ("fort-myers-fl-table", 5, 0.261),
        ("fort-myers-fl-table", 10, 0.382),
        ("fort-myers-fl-table", 15, 0.466),
        ("fort-myers-fl-table", 30, 0.752),
    ],
)
def test_short_durations_against_the_hour(name, minutes, ratio):
    """Rain 3.5: 2-year depth of a short duration over that of 60 min."""
    table = shipped(name)
    short = frequency.depth_m(table, duration_s=minutes * MINUTE, return_period_years=2)
    hour = frequency.depth_m(table, duration_s=HOUR, return_period_years=2)
    assert short / hour == pytest.approx(ratio, abs=0.0006)


@pytest.mark.parametrize(("hours", "ratio"), [(0.5, 0.347), (1, 0.464), (2, 0.584), (6, 0.750), (12, 0.853)])
def test_durations_against_the_day(champaign, hours, ratio):
    """Conveyance 1.4: Champaign 100-year depths over the 24-h depth."""
    part = frequency.depth_m(champaign, duration_s=hours * HOUR, return_period_years=100)
    day = frequency.depth_m(champaign, duration_s=24 * HOUR, return_period_years=100)
    assert part / day == pytest.approx(ratio, abs=0.0006)


@pytest.mark.parametrize(("years", "ratio"), [(100, 0.690), (10, 0.719)])
def test_quarter_hour_against_half_hour(champaign, years, ratio):
    """R23: P15/P30 of the agency's table, beside the 0.72 of the plumbing code."""
    quarter = frequency.depth_m(champaign, duration_s=15 * MINUTE, return_period_years=years)
    half = frequency.depth_m(champaign, duration_s=30 * MINUTE, return_period_years=years)
    assert quarter / half == pytest.approx(ratio, abs=0.0006)


@pytest.mark.parametrize("name", ["nashville-tn-table", "fort-myers-fl-table"])
def test_agency_tables_are_sane(name):
    """Rain section 1, dataset 7: monotone in both directions, bounds on their sides."""
    assert frequency.problems(shipped(name)) == ()


def test_champaign_is_sane(champaign):
    """Conveyance 1.2: rows rise along T, depth rises and intensity falls with duration."""
    assert frequency.problems(champaign) == ()


@pytest.mark.parametrize(
    ("kind", "minutes", "years", "inches"),
    [
        ("upper_m", 5, 1, 0.413),
        ("upper_m", 60, 100, 3.39),
        ("lower_m", 5, 1, 0.352),
        ("lower_m", 1440, 10, 4.44),
    ],
)
def test_bounds_of_nashville(kind, minutes, years, inches):
    """The file's own blocks of 90 % bounds (NOAA Atlas 14 Vol 2 v3, Nashville TN)."""
    table = shipped("nashville-tn-table")
    row = np.searchsorted(table.duration_s, minutes * MINUTE)
    column = np.searchsorted(table.return_period_years, years)
    assert getattr(table, kind)[row, column] / INCH == pytest.approx(inches, abs=1e-9)


@pytest.mark.parametrize(
    ("duration_s", "years"),
    [(299, 10), (60 * 86400 + 1, 10), (300, 0.99), (300, 1001)],
)
def test_nothing_is_stretched_beyond_the_table(duration_s, years):
    """Conveyance, ranges: 5 min to 60 days, 1 to 1000 years."""
    with pytest.raises(InputError) as caught:
        frequency.depth_m(shipped("nashville-tn-table"), duration_s=duration_s, return_period_years=years)
    assert caught.value.code == "rain-beyond-table"
    assert "from 5 min to 60 days" in caught.value.message or "from 1 years to 1000" in caught.value.message
