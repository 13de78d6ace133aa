"""Figures as people read them. Expected texts are typed by hand from the definitions of the units."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell import units
from roofwell.errors import InputError
from roofwell.units import Dimension, Style, feet_inches, parse

D = Dimension
IN = 0.0254
FT = 0.3048
GAL = 0.003785411784
YD3 = 0.764554857984
TON = 907.18474
H = 3600.0

SHOWN = [
    (units.show_length, 18 * IN, "18 in", "457 mm"),
    (units.show_length, 6.5 * IN, "6 1/2 in", "165 mm"),
    (units.show_length, 0.5 * IN, "1/2 in", "13 mm"),
    (units.show_length, 0.0, "0 in", "0 mm"),
    (units.show_length, -6.5 * IN, "−6 1/2 in", "−165 mm"),
    (units.show_length, 23.875 * IN, "23 7/8 in", "606 mm"),
    (units.show_length, 23.95 * IN, "2' 0\"", "608 mm"),
    (units.show_length, 54.5 * IN, "4' 6 1/2\"", "1.384 m"),
    (units.show_length, 0.45, "17 3/4 in", "450 mm"),
    (units.show_length, 0.9996, "3' 3 3/8\"", "1.000 m"),
    (units.show_length, 1.35, "4' 5 1/8\"", "1.350 m"),
    (units.show_elevation, 98.86 * FT, "98.86 ft", "30.133 m"),
    (units.show_elevation, 30.132, "98.86 ft", "30.132 m"),
    (units.show_elevation, 1234.5 * FT, "1,234.50 ft", "376.276 m"),
    (units.show_elevation, -0.001, "0.00 ft", "−0.001 m"),
    (units.show_distance, 42.5 * FT, "42.5 ft", "12.95 m"),
    (units.show_size, 4 * IN, "4 in", "102 mm"),
    (units.show_size, 1.5 * IN, "1 1/2 in", "38 mm"),
    (units.show_size, 0.0625 * IN, "1/16 in", "1.6 mm"),
    (units.show_size, 0.110, "4 5/16 in", "110 mm"),
    (units.show_size, 0.005, "3/16 in", "5 mm"),
    (units.show_depth, 3.4 * IN, "3.4 in", "86 mm"),
    (units.show_slope, 0.01, "1.0 %", "1.0 %"),
    (units.show_slope, -0.0025, "−0.3 %", "−0.3 %"),
    (units.show_area, 1092 * FT**2, "1,092 sq ft", "101.5 m²"),
    (units.show_area, 101.4, "1,091 sq ft", "101.4 m²"),
    (units.show_volume, 116 * GAL, "116 gal", "439 L"),
    (units.show_volume, 0.440, "116 gal", "440 L"),
    (units.show_volume, 1.25, "330 gal", "1.25 m³"),
    (units.show_volume, 2.5 * GAL, "2.5 gal", "9.5 L"),
    (units.show_volume, 0.99996, "264 gal", "1.00 m³"),
    (units.show_bulk_volume, 2.3 * YD3, "2.3 cu yd", "1.8 m³"),
    (units.show_rate, 0.6 * IN / H, "0.60 in/h", "15 mm/h"),
    (units.show_rate, 0.015 / H, "0.59 in/h", "15 mm/h"),
    (units.show_rate, 7.764 * IN / H, "7.76 in/h", "197 mm/h"),
    (units.show_rate, 1e-8, "0.0014 in/h", "0.036 mm/h"),
    (units.show_rate, 0.0, "0.00 in/h", "0.0 mm/h"),
    (units.show_flow, 77 * GAL / 60, "77 gpm", "4.9 L/s"),
    (units.show_flow, 2.5 * GAL / 60, "2.5 gpm", "0.16 L/s"),
    (units.show_mass, 3.5 * TON, "3.5 tons", "3.2 t"),
    (units.show_mass, 3.7 * TON, "3.5 tons", "3.4 t"),
    (units.show_mass, 4.0 * TON, "4 tons", "3.6 t"),
    (units.show_mass, 1.0 * TON, "1 ton", "0.9 t"),
    (units.show_mass, 50 * 0.45359237, "50 lb", "23 kg"),
    (units.show_speed, 2.8 * FT, "2.8 ft/s", "0.85 m/s"),
]


@pytest.mark.parametrize(("show", "value", "us", "metric"), SHOWN)
def test_shown_in_both_styles(
    show: Callable[[float, Style], str], value: float, us: str, metric: str
) -> None:
    """A figure is rounded for its reader, with its unit after a space and a typographic minus."""
    assert (show(value, "us"), show(value, "metric")) == (us, metric)


@pytest.mark.parametrize(
    ("value_s", "text"),
    [
        (0, "0 s"),
        (45, "45 s"),
        (89.4, "89 s"),
        (90, "1½ minutes"),
        (120, "2 min"),
        (210, "3½ minutes"),
        (600, "10 min"),
        (1500, "25 min"),
        (119.4 * 60, "119 min"),
        (2 * H, "2 h"),
        (6.5 * H, "6.5 h"),
        (36 * H, "36 h"),
        (48 * H, "48 h"),
        (72 * H, "72 h"),
        (4.2 * 24 * H, "4.2 days"),
        (7 * 24 * H, "7 days"),
        (-210, "−3½ minutes"),
    ],
)
def test_times_take_the_unit_that_suits_them(value_s: float, text: str) -> None:
    """Seconds, half minutes, minutes, hours, days."""
    assert units.show_time(value_s) == text


def test_percent_money_and_slope_per_foot() -> None:
    """The three that have one style."""
    assert units.show_percent(0.4) == "40 %"
    assert units.show_percent(0.404, 1) == "40.4 %"
    assert units.show_money(1234) == "$1,234"
    assert units.show_money(-1234.5) == "−$1,235"
    assert units.show_money(-0.2) == "$0"
    assert units.show_slope_per_foot(1 / 96) == "1/8 in/ft"
    assert units.show_slope_per_foot(1 / 48) == "1/4 in/ft"
    assert units.show_slope_per_foot(0.0) == "0 in/ft"
    assert units.show_slope_per_foot(1.5 / 12) == "1 1/2 in/ft"


def test_feet_and_inches_carry() -> None:
    """A fraction that rounds to a whole inch, an inch that rounds to a whole foot."""
    assert feet_inches(54.5 * IN) == "4' 6 1/2\""
    assert feet_inches(54.5 * IN, denominator=2) == "4' 6 1/2\""
    assert feet_inches(11.99 * IN) == "1' 0\""
    assert feet_inches(11.995 * IN, denominator=64) == "1' 0\""
    assert feet_inches(11.97 * IN, denominator=64) == "0' 11 31/32\""
    assert feet_inches(-30 * IN) == "−2' 6\""
    assert feet_inches(-0.01 * IN) == "0' 0\""


def test_halves_that_no_float_holds_go_away_from_zero() -> None:
    """2.55 ft is shown as 2.6 ft and 0.125 ft as 0.13 ft, whatever the last bit of the float."""
    for feet in (0.05, 0.15, 0.25, 0.35, 2.55, 7.45, 98.65):
        shown = float(units.show_distance(feet * FT, "us").removesuffix(" ft"))
        assert shown == pytest.approx(feet + 0.05, abs=1e-9)
    assert units.show_elevation(0.125 * FT, "us") == "0.13 ft"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("show", [*dict.fromkeys(row[0] for row in SHOWN)], ids=lambda show: show.__name__)
def test_no_figure_for_what_is_not_a_number(show: Callable[[float, Style], str], value: float) -> None:
    """Neither NaN nor infinity gets onto a paper as a figure."""
    for style in ("us", "metric"):
        with pytest.raises(InputError) as caught:
            show(value, style)  # type: ignore[arg-type]
        assert caught.value.code == "number-not-finite"


KINDS: list[tuple[Callable[[float, Style], str], Dimension, float, float]] = [
    # (function, kind, largest value tried, how far off the shown figure may be: half of its coarsest step)
    (units.show_length, D.LENGTH, 100.0, IN / 16 + 1e-9),
    (units.show_elevation, D.LENGTH, 1000.0, 0.005 * FT + 1e-9),
    (units.show_distance, D.LENGTH, 1000.0, 0.05 * FT + 1e-9),
    (units.show_size, D.LENGTH, 3.0, IN / 32 + 1e-9),
    (units.show_depth, D.LENGTH, 3.0, 0.05 * IN + 1e-9),
    (units.show_slope, D.SLOPE, 1.0, 0.0005 + 1e-9),
    (units.show_area, D.AREA, 5000.0, 0.05 + 1e-9),
    (units.show_volume, D.VOLUME, 50.0, 0.005 + 1e-9),
    (units.show_bulk_volume, D.VOLUME, 50.0, 0.05 + 1e-9),
    (units.show_rate, D.RATE, 1e-3, 0.0005 / H + 1e-15),
    (units.show_flow, D.FLOW, 0.1, 5e-5 + 1e-12),
    (units.show_mass, D.MASS, 1e5, TON / 4 + 1e-6),
    (units.show_speed, D.SPEED, 10.0, 0.05 * FT + 1e-9),
]


@pytest.mark.parametrize(
    ("show", "dimension", "largest", "off"), KINDS, ids=lambda x: getattr(x, "__name__", "")
)
@given(part=st.floats(-1, 1))
@settings(max_examples=60, deadline=None)
def test_what_is_shown_can_be_typed(
    show: Callable[[float, Style], str], dimension: Dimension, largest: float, off: float, part: float
) -> None:
    """Every figure shown is read by ``parse`` and lies within half a step of the value."""
    value = part * largest
    for style in ("us", "metric"):
        text = show(value, style)  # type: ignore[arg-type]
        assert parse(text, dimension).value_si == pytest.approx(value, rel=0, abs=off), text


@given(value_s=st.floats(0, 1e7))
@settings(max_examples=200, deadline=None)
def test_what_is_shown_of_a_time_can_be_typed(value_s: float) -> None:
    """A time shown is within a twentieth of the time, or within half a second."""
    assert parse(units.show_time(value_s), D.TIME).value_si == pytest.approx(value_s, rel=0.17, abs=0.5)


@given(ratio=st.floats(-2, 2), amount=st.floats(-1e6, 1e6), slope=st.floats(-1, 1))
@settings(max_examples=100, deadline=None)
def test_the_rest_of_what_is_shown_can_be_typed(ratio: float, amount: float, slope: float) -> None:
    """Percentages, money and slopes per foot."""
    assert parse(units.show_percent(ratio, 1), D.RATIO).value_si == pytest.approx(ratio, abs=0.00051)
    assert parse(units.show_money(amount), D.MONEY).value_si == pytest.approx(amount, abs=0.501)
    per_foot = parse(units.show_slope_per_foot(slope), D.SLOPE).value_si
    assert per_foot == pytest.approx(slope, abs=1 / 384 + 1e-9)
