"""Round a figure for its reader: to a fixed number of decimals, or to a fraction of an inch."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from functools import lru_cache

from roofwell.errors import InputError

MINUS = "−"
_TWELVE_DIGITS = Context(prec=12)


def steps_of(value: float, step: Fraction) -> int:
    """Return how many whole steps are nearest to ``value``; halves go away from zero.

    The quotient is first brought to twelve figures, so that 2.5 ft, which no float of meters holds exactly,
    still counts as the half that was meant.

    Raises
    ------
    InputError
        ``number-not-finite``.
    """
    if not math.isfinite(value):
        raise InputError(f"{value} cannot be written as a figure", code="number-not-finite")
    exact = Fraction(value) / step
    twelve = _TWELVE_DIGITS.divide(Decimal(exact.numerator), Decimal(exact.denominator))
    return int(twelve.to_integral_value(ROUND_HALF_UP))


@lru_cache(maxsize=16384)
def decimals(value: float, unit: Fraction, digits: int) -> str:
    """Return ``value / unit`` with thousands commas, ``digits`` decimals and a typographic minus."""
    count = steps_of(value, unit / 10**digits)
    whole, part = divmod(abs(count), 10**digits)
    text = f"{whole:,}" + (f".{part:0{digits}d}" if digits else "")
    return (MINUS if count < 0 else "") + text


def mixed_number(count: int, denominator: int) -> str:
    """Return ``count/denominator`` (neither negative) as a whole number and a fraction in lowest terms."""
    whole, part = divmod(Fraction(count, denominator), 1)
    if not part:
        return f"{whole}"
    return f"{whole} {part}" if whole else f"{part}"
