"""Whatever is typed: a quantity or a ``QuantityError``, in no time."""

from __future__ import annotations

import math
import time
from fractions import Fraction

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from roofwell.errors import QuantityError
from roofwell.units import Dimension, Quantity, parse
from roofwell.units.factors import UNITS

SIGNS = [*"0123456789.,'\"/:-+%°$^*ex× ()_\t\u00a0′″−½⁻¹²³"]
WORDS = [*sorted(UNITS), "sq", "cu", "per", "a", "an", "in", "once"]
NUMERALS = ["1/2", "6 1/2", "1,000", "1e-5", "NaN", "inf"]
PIECES = st.sampled_from([*SIGNS, *WORDS, *NUMERALS])
TYPED = st.one_of(
    st.text(max_size=60), st.lists(PIECES, max_size=14).map("".join), st.lists(PIECES).map(" ".join)
)


def _try(text: str, dimension: Dimension, bare_unit: str | None) -> Quantity | None:
    try:
        return parse(text, dimension, bare_unit=bare_unit)
    except QuantityError as error:
        assert error.code.startswith("quantity-")
        assert 0 < len(error.message) < 500
        assert error.message.isprintable()
        return None


@given(text=TYPED, dimension=st.sampled_from(Dimension), bare_unit=st.one_of(st.none(), TYPED))
@example("\ud800", Dimension.LENGTH, "\ud800")
@example("1/" * 100, Dimension.SLOPE, "1/" * 100)
@settings(max_examples=1500, deadline=None)
def test_nothing_but_a_quantity_or_a_quantity_error(
    text: str, dimension: Dimension, bare_unit: str | None
) -> None:
    """The result is finite and is the float of its fraction; any other exception fails the test."""
    quantity = _try(text, dimension, bare_unit)
    if quantity is not None:
        assert math.isfinite(quantity.value_si)
        assert quantity.value_si == float(quantity.exact)
        assert quantity.text == text
        assert quantity.dimension is dimension


@pytest.mark.parametrize(
    "text",
    [
        "9" * 10_000_000,
        "9" * 199,
        "1e330 " * 33,
        "(" * 200,
        "1 " * 100,
        "1/1/" * 50,
        "1-" * 100,
        "," * 200,
        "1," * 100,
        "1" + " " * 198 + "x",
        "a" * 200,
        "1 " + "a" * 198,
        "in " * 66,
        "9**9**9**9 ft",
        "1e330 ft/1e-330 in",
        "½" * 200,
        "x10^" * 50,
        "sq " * 66,
        "° " * 100,
    ],
    ids=lambda text: text[:8],
)
def test_no_text_takes_long(text: str) -> None:
    """Far less than a second for the worst that 200 characters, or ten million, can hold."""
    start = time.perf_counter()
    for dimension in Dimension:
        _try(text, dimension, None)
        _try("1", dimension, text)
    assert time.perf_counter() - start < 2.0


NUMBERS = st.decimals(min_value=-10_000, max_value=10_000, places=3)


@given(
    number=NUMBERS, word=st.sampled_from([word for word, unit in UNITS.items() if unit.powers == (1, 0, 0)])
)
@settings(max_examples=200, deadline=None)
def test_any_decimal_of_any_length_unit(number: object, word: str) -> None:
    """Number times factor, exactly, with and without a space, and a minus of either kind."""
    expected = Fraction(str(number)) * UNITS[word].factor
    for text in (f"{number} {word}", f"{number}{word}", f"{number} {word}".replace("-", "−")):
        assert parse(text, Dimension.LENGTH).exact == expected


@given(
    feet=st.integers(0, 5000), inches=st.integers(0, 11), sixteenths=st.integers(0, 15), minus=st.booleans()
)
@settings(max_examples=300, deadline=None)
def test_any_feet_inches_and_sixteenths(feet: int, inches: int, sixteenths: int, minus: bool) -> None:
    """All ways to write feet, inches and a fraction give the same exact length."""
    exact = (12 * feet + inches + Fraction(sixteenths, 16)) * Fraction("0.0254") * (-1 if minus else 1)
    part = f" {sixteenths}/16" if sixteenths else ""
    dashed = part.replace(" ", "-")
    sign = "-" if minus else ""
    for body in (
        f"{feet}' {inches}{part}\"",
        f"{feet:,}'-{inches}{dashed}\"",
        f"{feet} ft {inches}{part} in",
        f"{feet}ft.{inches}{part}in.",
        f"{feet}′ {inches}{part}″",
        f"{feet}’ - {inches}{part}”",
    ):
        assert parse(sign + body, Dimension.LENGTH).exact == exact, body


@given(rise=st.integers(0, 400), run=st.integers(1, 400))
@settings(max_examples=200, deadline=None)
def test_rise_in_run(rise: int, run: int) -> None:
    """``a in b`` and ``a:b`` are a/b; steeper than one in one only over a roof's run of 12."""
    for text in (f"{rise} in {run}", f"{rise}:{run}"):
        if rise <= run or run == 12:
            assert parse(text, Dimension.SLOPE).exact == Fraction(rise, run)
        else:
            with pytest.raises(QuantityError, match="not clear"):
                parse(text, Dimension.SLOPE)


@given(number=NUMBERS, text_number=st.integers(0, 10**15))
@settings(max_examples=200, deadline=None)
def test_thousands_commas_change_nothing(number: object, text_number: int) -> None:
    """A number grouped in threes is the number."""
    assert parse(f"{text_number:,}", Dimension.MONEY).exact == text_number
    assert parse(f"{number:,}", Dimension.MONEY).exact == Fraction(str(number))
