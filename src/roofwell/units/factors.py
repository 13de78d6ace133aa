"""The units that Roofwell reads, each with its exact factor to SI.

Sources, all from memory (to be read before they are quoted to an office):
the inch of 0.0254 m, the foot of 0.3048 m and the pound of 0.45359237 kg are exact by the international yard
and pound agreement of 1959, and the standard gravity of 9.80665 m/s² makes the pound a force; the US gallon of
231 cubic inches and the short ton of 2,000 lb stand in NIST Handbook 44, appendix C. The year
is the Julian year of 365.25 days, the month its twelfth.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from fractions import Fraction

from roofwell.units.dimension import Dimension

INCH_M = Fraction(254, 10_000)
FOOT_M = 12 * INCH_M
YARD_M = 3 * FOOT_M
GALLON_M3 = 231 * INCH_M**3
LITER_M3 = Fraction(1, 1000)
POUND_KG = Fraction(45_359_237, 100_000_000)
POUND_FORCE_N = POUND_KG * Fraction(980_665, 100_000)
SHORT_TON_KG = 2000 * POUND_KG
MINUTE_S = Fraction(60)
HOUR_S = Fraction(3600)
DAY_S = 24 * HOUR_S
YEAR_S = Fraction(1461, 4) * DAY_S
PI = Fraction("3.14159265358979323846264338327950288419716939937511")


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: SI value = number * ``factor`` + ``offset``; powers of length, mass and time.

    ``special`` marks what is not made of these three: ``percent``, ``angle``, ``temperature``.
    """

    factor: Fraction
    length: int = 0
    mass: int = 0
    time: int = 0
    special: str = ""
    offset: Fraction = Fraction(0)

    @property
    def powers(self) -> tuple[int, int, int]:
        """Powers of length, mass and time."""
        return (self.length, self.mass, self.time)

    def raised(self, power: int) -> Unit:
        """Return this unit to a power (plain units only)."""
        return Unit(self.factor**power, self.length * power, self.mass * power, self.time * power)

    def per(self, other: Unit, number: Fraction) -> Unit:
        """Return this unit per ``number`` of the other; ``number`` is not zero."""
        return Unit(
            self.factor / (other.factor * number),
            self.length - other.length,
            self.mass - other.mass,
            self.time - other.time,
        )


_LENGTHS = {
    'in " inch inches': INCH_M,
    "ft foot feet": FOOT_M,
    "yd yds yard yards": YARD_M,
    "mm millimeter millimeters millimetre millimetres": Fraction(1, 1000),
    "cm centimeter centimeters centimetre centimetres": Fraction(1, 100),
    "m meter meters metre metres": Fraction(1),
}
_VOLUMES = {
    "gal gals gallon gallons": GALLON_M3,
    "L l liter liters litre litres": LITER_M3,
}
_TIMES = {
    "s sec secs second seconds": Fraction(1),
    "min mins minute minutes": MINUTE_S,
    "h hr hrs hour hours": HOUR_S,
    "d day days": DAY_S,
    "wk week weeks": 7 * DAY_S,
    "mo month months": YEAR_S / 12,
    "yr yrs year years": YEAR_S,
}
_MASSES = {
    "lb lbs pound pounds": POUND_KG,
    "ton tons": SHORT_TON_KG,
    "t tonne tonnes": Fraction(1000),
    "kg kilogram kilograms": Fraction(1),
}
_MADE = {
    "sqin": INCH_M**2,
    "sqft sf": FOOT_M**2,
    "sqyd sy": YARD_M**2,
    "sqm": Fraction(1),
}
_MADE_VOLUMES = {
    "cuin": INCH_M**3,
    "cuft cf": FOOT_M**3,
    "cuyd cy": YARD_M**3,
    "cum": Fraction(1),
}
_PRESSURES = {
    "psi": POUND_FORCE_N / INCH_M**2,
    "psf": POUND_FORCE_N / FOOT_M**2,
    "pa": Fraction(1),
    "kpa": Fraction(1000),
    "mpa": Fraction(1_000_000),
}
_FLOWS = {
    "gpm": GALLON_M3 / MINUTE_S,
    "gph": GALLON_M3 / HOUR_S,
    "gpd": GALLON_M3 / DAY_S,
    "cfs": FOOT_M**3,
    "cfm": FOOT_M**3 / MINUTE_S,
}


def _table() -> dict[str, Unit]:
    table: dict[str, Unit] = {}
    groups: list[tuple[dict[str, Fraction], tuple[int, int, int]]] = [
        (_LENGTHS, (1, 0, 0)),
        (_MADE, (2, 0, 0)),
        (_VOLUMES, (3, 0, 0)),
        (_MADE_VOLUMES, (3, 0, 0)),
        (_FLOWS, (3, 0, -1)),
        (_TIMES, (0, 0, 1)),
        (_MASSES, (0, 1, 0)),
        (_PRESSURES, (-1, 1, -2)),
    ]
    for group, powers in groups:
        for words, factor in group.items():
            for word in words.split():
                table[word] = Unit(factor, *powers)
    table["pcf"] = Unit(POUND_KG / FOOT_M**3, -3, 1, 0)
    table["fps"] = Unit(FOOT_M, 1, 0, -1)
    table["mpi"] = Unit(MINUTE_S / INCH_M, -1, 0, 1)
    for word in ("%", "percent", "pct"):
        table[word] = Unit(Fraction(1, 100), special="percent")
    for word in ("°", "deg", "degree", "degrees"):
        table[word] = Unit(PI / 180, special="angle")
    for word in ("rad", "radian", "radians"):
        table[word] = Unit(Fraction(1), special="angle")
    for word in ("C", "c", "celsius"):
        table[word] = Unit(Fraction(1), special="temperature")
    for word in ("F", "f", "fahrenheit"):
        table[word] = Unit(Fraction(5, 9), special="temperature", offset=Fraction(-160, 9))
    return table


UNITS = _table()
"""Every unit word. Single letters keep their case (``T`` has two meanings); longer words do not."""

DIMENSIONS: dict[tuple[int, int, int], tuple[Dimension, ...]] = {
    (1, 0, 0): (Dimension.LENGTH,),
    (2, 0, 0): (Dimension.AREA,),
    (3, 0, 0): (Dimension.VOLUME,),
    (1, 0, -1): (Dimension.RATE, Dimension.SPEED),
    (3, 0, -1): (Dimension.FLOW, Dimension.PRODUCTIVITY),
    (0, 0, 1): (Dimension.TIME, Dimension.RETURN_PERIOD),
    (0, 0, -1): (Dimension.FREQUENCY, Dimension.PERMITTIVITY),
    (0, 1, 0): (Dimension.MASS,),
    (-3, 1, 0): (Dimension.DENSITY,),
    (-1, 1, -2): (Dimension.PRESSURE,),
}
"""Powers of length, mass and time to the kinds that have them, the usual one first."""


def find(word: str) -> Unit | None:
    """Return the unit written ``word``, or None."""
    if word in UNITS:
        return UNITS[word]
    return UNITS.get(word.lower()) if len(word) > 1 else None


def nearest(word: str) -> str | None:
    """Return the known unit word that looks most like ``word``, or None if nothing does."""
    words = [known for known in UNITS if known.isalpha() and (len(known) > 1 or len(word) == 1)]
    if word == "T":
        return "ton (2,000 lb) or t (1,000 kg)"
    lowered = word.lower()
    if len(lowered) == 1:
        return next((known for known in UNITS if known.lower() == lowered), None)
    close = difflib.get_close_matches(lowered[:20], words, n=1, cutoff=0.6)
    return close[0] if close else None
