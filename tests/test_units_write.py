"""The buildable grid, and writing a value so that reading gives it again."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.units import (
    GRID_ELEVATION,
    GRID_SIZE,
    Dimension,
    Style,
    on_elevation_grid,
    on_size_grid,
    parse,
    show_elevation,
    show_length,
    write,
)

D = Dimension
F = Fraction
STYLES: list[Style] = ["us", "metric"]
ANY_FLOAT = st.floats(allow_nan=False, allow_infinity=False)


def test_the_grids_are_those_of_the_trade() -> None:
    """0.01 ft and 1 mm for elevations, 1/8 in and 1 mm for sizes, exactly."""
    assert {"us": F("0.003048"), "metric": F("0.001")} == GRID_ELEVATION
    assert {"us": F("0.003175"), "metric": F("0.001")} == GRID_SIZE


def test_nearest_up_and_down() -> None:
    """Between two grid points each direction gives its own; on one, all three give it."""
    between = 98.864 * 0.3048
    assert on_elevation_grid(between, "us") == float(F("98.86") * F("0.3048"))
    assert on_elevation_grid(between, "us", toward="up") == float(F("98.87") * F("0.3048"))
    assert on_elevation_grid(between, "us", toward="down") == float(F("98.86") * F("0.3048"))
    assert on_elevation_grid(-between, "us", toward="up") == -float(F("98.86") * F("0.3048"))
    assert on_elevation_grid(-between, "us", toward="down") == -float(F("98.87") * F("0.3048"))
    assert on_size_grid(0.0301, "metric", toward="up") == 0.031
    assert on_size_grid(6.51 * 0.0254, "us") == float(F("6.5") * F("0.0254"))


@given(count=st.integers(-100_000, 100_000), noise=st.floats(-0.9e-9, 0.9e-9))
@settings(max_examples=300, deadline=None)
def test_noise_does_not_move_a_value_by_a_step(count: int, noise: float) -> None:
    """A value within 1e-9 m of a grid point goes to that point, whichever way it is asked to go."""
    for style in STYLES:
        for snap, grid in ((on_elevation_grid, GRID_ELEVATION), (on_size_grid, GRID_SIZE)):
            exact = float(count * grid[style])
            for toward in ("nearest", "up", "down"):
                assert snap(exact + noise, style, toward=toward) == exact  # type: ignore[arg-type]


@given(value=st.floats(-1000, 1000))
@settings(max_examples=300, deadline=None)
def test_up_is_never_below_and_down_never_above(value: float) -> None:
    """Up and down enclose the value to 1e-9 m, a step apart at most; nearest is one of them."""
    for style in STYLES:
        for snap, grid in ((on_elevation_grid, GRID_ELEVATION), (on_size_grid, GRID_SIZE)):
            down, up = snap(value, style, toward="down"), snap(value, style, toward="up")
            assert down <= value + 1e-9
            assert up >= value - 1e-9
            assert up - down <= float(grid[style]) * (1 + 1e-9)
            assert snap(value, style) in (down, up)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_a_number_is_refused(value: float) -> None:
    """Neither a grid nor a text holds it."""
    for attempt in (
        lambda: on_elevation_grid(value, "us"),
        lambda: on_size_grid(value, "metric"),
        lambda: write(value, D.LENGTH, "us"),
    ):
        with pytest.raises(InputError) as caught:
            attempt()
        assert caught.value.code == "number-not-finite"


@given(count=st.integers(-200_000, 200_000))
@settings(max_examples=400, deadline=None)
def test_grid_values_survive_writing_and_showing(count: int) -> None:
    """On the grid, what is written and what is printed both read back to the same float."""
    for style in STYLES:
        size = float(count * GRID_SIZE[style])
        assert parse(write(size, D.LENGTH, style), D.LENGTH).value_si == size
        assert parse(show_length(size, style), D.LENGTH).value_si == size
        elevation = float(count * GRID_ELEVATION[style])
        assert parse(write(elevation, D.LENGTH, style, elevation=True), D.LENGTH).value_si == elevation
        assert parse(show_elevation(elevation, style), D.LENGTH).value_si == elevation


@pytest.mark.parametrize("dimension", list(Dimension))
@given(value=st.one_of(ANY_FLOAT, st.floats(-1000, 1000)))
@settings(max_examples=150, deadline=None)
def test_any_value_survives_writing(dimension: Dimension, value: float) -> None:
    """Every finite float of every kind reads back bit for bit in both styles."""
    for style in STYLES:
        text = write(value, dimension, style)
        assert len(text) <= 60
        assert parse(text, dimension).value_si == value, text


WRITTEN = [
    # What a designed figure looks like in the document, typed by hand.
    (1.3843, D.LENGTH, "us", "4' 6 1/2\""),
    (0.4572, D.LENGTH, "us", "18 in"),
    (float(F("98.86") * F("0.3048")), D.LENGTH, "us", "98.86 ft"),
    (-0.1651, D.LENGTH, "us", "-6 1/2 in"),
    (0.45, D.LENGTH, "metric", "450 mm"),
    (1.35, D.LENGTH, "metric", "1.35 m"),
    (0.02, D.SLOPE, "us", "2 %"),
    (1 / 48, D.SLOPE, "us", "1/4 in/ft"),
    (0.4, D.RATIO, "us", "40 %"),
    (129_600.0, D.TIME, "us", "36 h"),
    (10.0, D.RETURN_PERIOD, "metric", "10 years"),
    (12.5, D.MONEY, "us", "12.5"),
    (5.0, D.TEMPERATURE, "us", "41 °F"),
    (0.0, D.RATE, "metric", "0 mm/h"),
    (1e-5, D.RATE, "metric", "0.00001 m/s"),
    (float(77 * F("0.003785411784") / 60), D.FLOW, "us", "77 gpm"),
    (0.0049, D.FLOW, "metric", "4.9 L/s"),
    (float(F("1.4") * F("907.18474") / F("0.764554857984")), D.DENSITY, "us", "1.4 ton/cu yd"),
]


@pytest.mark.parametrize(("value", "dimension", "style", "text"), WRITTEN)
def test_written_as_the_trade_writes(value: float, dimension: Dimension, style: Style, text: str) -> None:
    """Values that have a short form get it."""
    assert write(value, dimension, style) == text


def test_an_elevation_is_written_in_decimals() -> None:
    """Elevations are never written in feet and inches."""
    assert write(float(F("98.5") * F("0.3048")), D.LENGTH, "us", elevation=True) == "98.5 ft"
    assert write(0.45, D.LENGTH, "metric", elevation=True) == "0.45 m"
