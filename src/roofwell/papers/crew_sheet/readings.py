"""Rod readings as the rod in the hand is divided; rounded once, from the unrounded level."""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, assert_never, get_args

from roofwell import units
from roofwell.units import Style
from roofwell.units.factors import FOOT_M
from roofwell.units.rounding import decimals, steps_of

ReadingStyle = Literal["decimal-feet", "feet-and-eighths", "meters", "millimeters"]
READING_STYLES: tuple[ReadingStyle, ...] = get_args(ReadingStyle)

_METER = Fraction(1)
_MILLIMETER = Fraction(1, 1000)


def usual(style: Style) -> ReadingStyle:
    """Return how rods of a job in these units are read where nobody says otherwise."""
    return "decimal-feet" if style == "us" else "meters"


def write(value_m: float, style: ReadingStyle) -> str:
    """Return a reading, cut or level to 0.01 ft, 1/8 in or 1 mm, without its unit.

    >>> write(2.4384, "decimal-feet"), write(1.3843, "feet-and-eighths"), write(1.3843, "millimeters")
    ('8.00', '4′ 6 1/2″', '1384')
    """
    match style:
        case "decimal-feet":
            return decimals(value_m, FOOT_M, 2)
        case "feet-and-eighths":
            return _feet_and_eighths(value_m)
        case "meters":
            return decimals(value_m, _METER, 3)
        case "millimeters":
            return decimals(value_m, _MILLIMETER, 0).replace(",", "")
        case _:
            assert_never(style)


def _feet_and_eighths(value_m: float) -> str:
    """Write ``8′ 0 1/8″`` with its zero, so that nobody takes the fraction for the feet's."""
    feet, _, inches = units.feet_inches(value_m).partition("' ")
    return f"{feet}′ {'0 ' if inches[1:2] == '/' else ''}{inches[:-1]}″"


def exact(value_m: float, style: Style) -> str:
    """Return a figure of the sum: two decimals of a foot or three of a meter, one more where it needs it.

    So the three figures of the sum add up on paper as they stand.
    """
    unit, digits = (FOOT_M, 2) if style == "us" else (_METER, 3)
    tenth = steps_of(value_m, unit / 10 ** (digits + 1))
    return decimals(value_m, unit, digits + 1 if tenth % 10 else digits).replace(",", "")


def other(style: ReadingStyle) -> ReadingStyle | None:
    """Return the division that stands small beside a reading; None in meters, which need none."""
    match style:
        case "decimal-feet":
            return "feet-and-eighths"
        case "feet-and-eighths":
            return "decimal-feet"
        case "meters" | "millimeters":
            return None
        case _:
            assert_never(style)


def unit_word(style: ReadingStyle) -> str:
    """Return the unit as a column head names it."""
    words: dict[ReadingStyle, str] = {
        "decimal-feet": "ft",
        "feet-and-eighths": "ft and in",
        "meters": "m",
        "millimeters": "mm",
    }
    return words[style]


def unit_sentence(style: ReadingStyle) -> str:
    """Return how readings are written, for the head of a side."""
    words: dict[ReadingStyle, str] = {
        "decimal-feet": "Readings in decimal feet",
        "feet-and-eighths": "Readings in feet, inches and eighths; levels in decimal feet",
        "meters": "Readings and levels in meters",
        "millimeters": "Readings in millimeters; levels in meters",
    }
    return words[style]
