"""Every figure on a paper as its reader writes it; a value that is not known reads ``?``, never a number."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from roofwell import tables, units
from roofwell.job.model import Job
from roofwell.tables.stones import stone_named
from roofwell.units import Style

UNKNOWN = "?"

LETTERS = {
    "electric": "E",
    "gas": "G",
    "communication": "C",
    "water": "W",
    "reclaimed": "R",
    "sewer": "S",
    "unknown": "?",
}
"""The letter that a buried line carries on every drawing."""


@dataclass(frozen=True, slots=True)
class Say:
    """Figures in one style; every method answers ``?`` for None and for what is not a number."""

    style: Style

    def _known(self, value: float | None, show: Callable[[float, Style], str]) -> str:
        if value is None or not math.isfinite(value):
            return UNKNOWN
        return show(value, self.style).replace("'", "′").replace('"', "″")

    def length(self, value_m: float | None) -> str:
        """A built length, such as ``4′ 6 1/2″``."""
        return self._known(value_m, units.show_length)

    def elevation(self, value_m: float | None) -> str:
        """An elevation with its unit."""
        return self._known(value_m, units.show_elevation)

    def level(self, value_m: float | None) -> str:
        """An elevation without its unit, for drawings and columns that name the unit once."""
        return self.elevation(value_m).removesuffix(" ft").removesuffix(" m")

    def distance(self, value_m: float | None) -> str:
        """A length on plan."""
        return self._known(value_m, units.show_distance)

    def size(self, value_m: float | None) -> str:
        """A trade size."""
        return self._known(value_m, units.show_size)

    def depth(self, value_m: float | None) -> str:
        """A depth of water, rain or cover."""
        return self._known(value_m, units.show_depth)

    def slope(self, value: float | None) -> str:
        """A slope in percent."""
        return self._known(value, units.show_slope)

    def slope_twice(self, value: float | None) -> str:
        """A slope in percent, and by the foot where feet are used."""
        if value is None or not math.isfinite(value):
            return UNKNOWN
        first = self.slope(value)
        return f"{first} ({units.show_slope_per_foot(value)})" if self.style == "us" else first

    def area(self, value_m2: float | None) -> str:
        """A plan area."""
        return self._known(value_m2, units.show_area)

    def volume(self, value_m3: float | None) -> str:
        """A volume of water."""
        return self._known(value_m3, units.show_volume)

    def bulk(self, value_m3: float | None) -> str:
        """A volume of soil or stone."""
        return self._known(value_m3, units.show_bulk_volume)

    def mass(self, value_kg: float | None) -> str:
        """A mass of stone."""
        return self._known(value_kg, units.show_mass)

    def flow(self, value_m3_s: float | None) -> str:
        """A flow."""
        return self._known(value_m3_s, units.show_flow)

    def rate(self, value_m_s: float | None) -> str:
        """A rate of soaking in or of rain."""
        return self._known(value_m_s, units.show_rate)

    def percent(self, ratio: float | None) -> str:
        """A share."""
        return UNKNOWN if ratio is None or not math.isfinite(ratio) else units.show_percent(ratio)

    def time(self, value_s: float | None) -> str:
        """A time."""
        return UNKNOWN if value_s is None or not math.isfinite(value_s) else units.show_time(value_s)

    def station(self, value_m: float | None) -> str:
        """A station, such as ``0+40`` or ``0+60.5``: feet or metres after the plus, a hundred before it."""
        if value_m is None or not math.isfinite(value_m):
            return UNKNOWN
        text = self.distance(value_m).removesuffix(" ft").removesuffix(" m").replace(",", "")
        whole, _, part = text.partition(".")
        hundreds, rest = divmod(int(whole), 100)
        part = part.rstrip("0")
        return f"{hundreds}+{rest:02d}" + (f".{part}" if part else "")

    @property
    def level_unit(self) -> str:
        """The unit of elevations and stations."""
        return "ft" if self.style == "us" else "m"


def stone_words(key: str) -> str:
    """Return a stone as it is ordered; a stone that no table knows as it was written."""
    stone = stone_named(key)
    return stone.what if stone is not None else key


def pipe_words(key: str) -> str:
    """Return a pipe's material as it is ordered; a pipe that no table knows as it was written."""
    return next((row["material"] for row in tables.rows("pipe_sizes") if row["key"] == key), key)


_KEY = r"(?:[a-z_]+\.[A-Za-z_]+(?:\.[a-z_]+)*|overrules\b)"


def without_keys(how: str) -> str:
    """Return how a measurement is taken without the keys of the document that it is written under.

    ``bore a hole, time the fall: soil.auger_tests`` is for whoever types the document; a paper is read at the house.
    """
    kept = []
    for step in how.split("; "):
        step = re.sub(rf" \({_KEY}(?:, {_KEY})*\)", "", step)
        step = re.sub(rf" and write {_KEY} = \S+?(?=,|$)", "", step)
        step = re.sub(rf": {_KEY}.*$", "", step)
        if not re.search(rf"\b{_KEY}", step):
            kept.append(step)
    return "; ".join(kept)


def first_sentence(words: str) -> str:
    """Return the first sentence of several, whole."""
    return re.split(r"(?<=[.!?]) (?=[A-Z])", words, maxsplit=1)[0]


def quantity(value: float) -> str:
    """Return the number of an order line, without needless zeros."""
    if not math.isfinite(value):
        return UNKNOWN
    text = f"{value:,.2f}".rstrip("0").rstrip(".")
    return text or "0"


def money(value: float | None, currency: str) -> str:
    """Return an amount with its currency, or ``?``."""
    if value is None or not math.isfinite(value):
        return UNKNOWN
    return f"${value:,.2f}" if currency in ("", "$", "USD") else f"{value:,.2f} {currency}"


def day(value: date | None) -> str:
    """Return a date as it is written on papers: ``25 Nov 2026``."""
    if value is None:
        return "no date given"
    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    return f"{value.day} {months[value.month - 1]} {value.year}"


def job_name(job: Job) -> str:
    """Return the job's name."""
    return (job.job.name or "").strip() or "Job without a name"


def revision(job: Job) -> str:
    """Return the job's revision in words."""
    text = (job.job.revision or "").strip()
    return f"revision {text}" if text else "no revision given"
