"""What kinds of quantity there are, and what a parsed quantity is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class Dimension(StrEnum):
    """A kind of quantity; the comment gives the unit in which ``value_si`` is held.

    Kinds with the same unit are kept apart because the trade writes them apart: a rain intensity in in/h
    is not a speed in ft/s, and a flow in gpm is not a day's digging in cu yd/h.
    """

    LENGTH = "length"  # m
    AREA = "area"  # m2
    VOLUME = "volume"  # m3
    SLOPE = "slope"  # m/m
    RATE = "rate"  # m/s: infiltration, rain intensity
    FLOW = "flow"  # m3/s
    TIME = "time"  # s
    RETURN_PERIOD = "return period"  # years
    RATIO = "ratio"  # 1
    DENSITY = "density"  # kg/m3
    MASS = "mass"  # kg
    ANGLE = "angle"  # radians
    TEMPERATURE = "temperature"  # degrees Celsius
    FREQUENCY = "frequency"  # per year
    MONEY = "money"  # a plain amount
    SPEED = "speed"  # m/s
    PRODUCTIVITY = "productivity"  # m3/s of digging
    PERMITTIVITY = "permittivity"  # 1/s
    PRESSURE = "pressure"  # Pa


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity as it was typed and as it is reckoned with.

    ``text`` is what was typed; ``exact`` the value in the unit of ``dimension``, as a fraction;
    ``value_si`` the float nearest to it: ``value_si == float(exact)``. Only angles are not exact: they are
    held with pi to fifty digits, so that ``value_si`` is still the nearest float.
    """

    text: str
    value_si: float
    dimension: Dimension
    exact: Fraction


NOUNS: dict[Dimension, str] = {
    Dimension.LENGTH: "a length",
    Dimension.AREA: "an area",
    Dimension.VOLUME: "a volume",
    Dimension.SLOPE: "a slope",
    Dimension.RATE: "a rate",
    Dimension.FLOW: "a flow",
    Dimension.TIME: "a time",
    Dimension.RETURN_PERIOD: "a return period",
    Dimension.RATIO: "a ratio",
    Dimension.DENSITY: "a density",
    Dimension.MASS: "a mass",
    Dimension.ANGLE: "an angle",
    Dimension.TEMPERATURE: "a temperature",
    Dimension.FREQUENCY: "a frequency",
    Dimension.MONEY: "an amount of money",
    Dimension.SPEED: "a speed",
    Dimension.PRODUCTIVITY: "a digging rate",
    Dimension.PERMITTIVITY: "a permittivity",
    Dimension.PRESSURE: "a pressure",
}
"""Each kind as a message names it, with its article."""

EXAMPLES: dict[Dimension, str] = {
    Dimension.LENGTH: "18 in, 4' 6 1/2\" or 1.5 m",
    Dimension.AREA: "1,200 sq ft or 110 m2",
    Dimension.VOLUME: "55 gal, 2.5 cu yd or 1.2 m3",
    Dimension.SLOPE: "1/4 in/ft, 2 % or 1 in 50",
    Dimension.RATE: "0.6 in/h, 25 min/in or 15 mm/h",
    Dimension.FLOW: "77 gpm or 4.9 L/s",
    Dimension.TIME: "36 h, 25 min or 3 days",
    Dimension.RETURN_PERIOD: "10 years or 10-year",
    Dimension.RATIO: "40 % or 0.4",
    Dimension.DENSITY: "100 lb/cu ft, 1.4 ton/cu yd or 1600 kg/m3",
    Dimension.MASS: "3.5 tons, 50 lb or 900 kg",
    Dimension.ANGLE: "45 deg or 22.5°",
    Dimension.TEMPERATURE: "41 °F or 5 °C",
    Dimension.FREQUENCY: "1 a year or 0.1 per year",
    Dimension.MONEY: "$12.50 or 12.50",
    Dimension.SPEED: "2.8 ft/s or 0.85 m/s",
    Dimension.PRODUCTIVITY: "2 cu yd/h or 0.43 m3/h",
    Dimension.PERMITTIVITY: "1.4 per s or 1.4 s^-1",
    Dimension.PRESSURE: "46 psi or 320 kPa",
}
"""What a message offers as right; every one of them parses (tested)."""
