"""Read a typed quantity as the kind that is needed, exactly, on fractions."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from roofwell.errors import QuantityError
from roofwell.units import factors
from roofwell.units.dimension import EXAMPLES, NOUNS, Dimension, Quantity
from roofwell.units.grammar import PER_WORDS, UNITLESS, Parser, Reading, improper_fraction
from roofwell.units.scanning import Token, scan, short

TIMES = frozenset({"x", "by"})
"""What stands between length and width of an area."""


def parse(text: str, dimension: Dimension, *, bare_unit: str | None = None) -> Quantity:
    """Read a quantity of one kind from what a person typed.

    Parameters
    ----------
    text
        Such as ``18 in``, ``4' 6 1/2"``, ``1/4 in/ft``, ``25 min/in``, ``1 in 50``, ``40 %``; at most 200
        characters. All accepted forms stand in docs/units.md.
    dimension
        The kind of quantity that is needed.
    bare_unit
        The unit of a number that is typed without one (``"ft"``: then ``12`` is 12 ft); without it a bare
        number is refused, except for a ratio and for money. A unit that is typed always wins.

    Returns
    -------
    Quantity
        Exact as a fraction in the unit of ``dimension``, and the nearest float. Signs are kept: whether a
        negative value makes sense is for the caller.

    Raises
    ------
    QuantityError
        Whatever is wrong with the text; the message says what was read and gives examples of what is right.
        The codes stand in docs/units.md.

    Source: the factors, see ``roofwell.units.factors``.

    >>> parse("4' 6 1/2\\"", Dimension.LENGTH).value_si
    1.3843
    >>> parse("1 in 50", Dimension.SLOPE).exact
    Fraction(1, 50)
    >>> parse("12", Dimension.LENGTH, bare_unit="ft").value_si
    3.6576
    """
    try:
        return _quantity(text, dimension, bare_unit)
    except QuantityError as error:
        need = f"{NOUNS[dimension]} is needed, such as {EXAMPLES[dimension]}"
        joint = " " if error.code == "quantity-wrong-kind" else ": "
        lead = f"“{short(text)}”{joint}" if short(text) else ""
        raise QuantityError(f"{lead}{error.message}; {need}", code=error.code) from None


@lru_cache(maxsize=8192)  # the rows of the tables are read again for every Scheme of a search
def _quantity(text: str, dimension: Dimension, bare_unit: str | None) -> Quantity:
    if dimension is Dimension.MONEY and bare_unit == "$":
        bare_unit = None
    tokens = scan(text)
    sides = _sides(tokens) if dimension is Dimension.AREA else None
    if sides is not None:
        reading = _rectangle(*sides)
    else:
        reading = Parser(tokens, dimension, has_bare_unit=bare_unit is not None).whole()
    if reading.number is not None:
        reading = _bare(reading, reading.number, dimension, bare_unit)
    if dimension not in reading.kinds:
        raise QuantityError(f"is {NOUNS[reading.kinds[0]]}", code="quantity-wrong-kind")
    value = reading.value + reading.offset
    if dimension is Dimension.RETURN_PERIOD:
        value /= factors.YEAR_S
    elif dimension is Dimension.FREQUENCY:
        value *= factors.YEAR_S
    return Quantity(text, _to_float(value), dimension, value)


def _sides(tokens: list[Token]) -> tuple[list[Token], list[Token]] | None:
    """Return the two lengths of an area that is typed as length times width, as a roof is taped."""
    at = next((i for i, t in enumerate(tokens) if t.kind == "unit" and t.text.lower() in TIMES), None)
    return None if at is None else (tokens[:at], tokens[at + 1 :])


def _rectangle(length: list[Token], width: list[Token]) -> Reading:
    value = Fraction(1)
    for side in (length, width):
        if not side:
            raise QuantityError("one of the two sides is missing", code="quantity-unclear")
        reading = Parser(side, Dimension.LENGTH).whole()
        if reading.number is not None:
            raise QuantityError(
                f"{reading.number.text} has no unit; each side needs its own", code="quantity-unit-missing"
            )
        if Dimension.LENGTH not in reading.kinds:
            raise QuantityError(f"one side is {NOUNS[reading.kinds[0]]}", code="quantity-wrong-kind")
        if reading.value < 0:
            raise QuantityError("a side is below zero", code="quantity-unclear")
        value *= reading.value
    return Reading(value, (Dimension.AREA,))


def _to_float(value: Fraction) -> float:
    try:
        nearest = float(value)
    except OverflowError:
        raise QuantityError("the number is too large", code="quantity-out-of-range") from None
    if value != 0 and nearest == 0.0:
        raise QuantityError("the number is too small", code="quantity-out-of-range")
    return nearest


def _bare(reading: Reading, number: Token, dimension: Dimension, bare_unit: str | None) -> Reading:
    """Give a number without a unit the unit of bare numbers, where there is one."""
    if bare_unit is None:
        if dimension in UNITLESS:
            return Reading(reading.value, (dimension,))
        raise QuantityError(f"{number.text} has no unit", code="quantity-unit-missing")
    if number.improper:
        raise improper_fraction(number)
    name = f"the unit of bare numbers, “{short(bare_unit)}”,"
    try:
        tokens = scan(bare_unit)
        _check_unit_alone(tokens)
        with_unit = Parser([Token("number", number.text, reading.value), *tokens], dimension).whole()
    except QuantityError as error:
        raise QuantityError(f"{name} cannot be used: {error.message}", code="quantity-bare-unit") from None
    if dimension not in with_unit.kinds:
        raise QuantityError(f"{name} is that of {NOUNS[with_unit.kinds[0]]}", code="quantity-bare-unit")
    return with_unit


def _check_unit_alone(tokens: list[Token]) -> None:
    """A unit may hold a number only below a line, as in ``in/100 ft``."""
    for before, token in zip([None, *tokens], tokens, strict=False):
        if token.kind == "number" and (before is None or before.text.lower() not in PER_WORDS):
            raise QuantityError(f"{short(token.text)} stands in it", code="quantity-unit-unknown")
