"""What comes off a roof, and of what kind it is: the tables ``debris_*.csv``, typed.

Every figure is a range; what has no publication behind it says ``common-practice`` or ``own-choice``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from roofwell import units
from roofwell.errors import InternalError
from roofwell.tables import rows
from roofwell.units import Dimension

Three = tuple[float, float, float]
"""Low, best, high."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of debris. Sizes in m, ``density_kg_m3`` dry mass over the room that it takes as it lies.

    ``sunk``, ``screen``, ``guard``: share that goes to the bottom before the outlet takes it, that a screen
    before the outlet keeps, that a gutter guard keeps off.
    """

    key: str
    what: str
    floats: bool
    mineral: bool
    size_low_m: float
    size_high_m: float
    specific_gravity: float
    density_kg_m3: Three
    sunk: Three
    screen: Three
    guard: Three
    source: str


@dataclass(frozen=True, slots=True)
class Load:
    """What a covering, or any (``any``), sheds of one kind: kg/m³ of runoff, or kg/m² of roof in a year."""

    covering: str
    kind: str
    amount: Three
    in_water: bool
    source: str


def _three(row: dict[str, str], name: str = "") -> Three:
    start = f"{name}_" if name else ""
    return float(row[f"{start}low"]), float(row[f"{start}best"]), float(row[f"{start}high"])


@cache
def kinds() -> tuple[Kind, ...]:
    """Return every kind of debris, in the order of the table."""
    return tuple(
        Kind(
            row["kind"],
            row["what"],
            row["moves"] == "floats",
            row["mineral"] == "yes",
            units.parse(row["size_low"], Dimension.LENGTH).value_si,
            units.parse(row["size_high"], Dimension.LENGTH).value_si,
            float(row["specific_gravity"]),
            _three(row, "density"),
            _three(row, "sunk"),
            _three(row, "screen"),
            _three(row, "guard"),
            row["source"],
        )
        for row in rows("debris_kinds")
    )


@cache
def loads() -> tuple[Load, ...]:
    """Return what coverings shed."""
    out = []
    for row in rows("debris_loads"):
        in_water = row["per"] == "mg/L"  # 1 mg/L and 1 g/m² are each a thousandth of the SI unit
        low, best, high = _three(row)
        amount = (low / 1000, best / 1000, high / 1000)
        out.append(Load(row["covering"], row["kind"], amount, in_water, row["source"]))
    return tuple(out)


def coverings() -> tuple[str, ...]:
    """Return the groups of coverings that the table of loads tells apart."""
    return tuple(dict.fromkeys(row["covering"] for row in rows("debris_coverings")))


def covering_of(text: str | None) -> str | None:
    """Return the group of a covering written in words ("clay tile" is tile); None where no word is known."""
    said = (text or "").lower()
    return next((row["covering"] for row in rows("debris_coverings") if row["word"] in said), None)


@cache
def figure(key: str) -> Three:
    """Return a figure of ``debris_figures.csv``; raises ``InternalError`` (``figure-missing``) if there is none."""
    for row in rows("debris_figures"):
        if row["key"] == key:
            return _three(row)
    raise InternalError(f"no figure named {key}", code="figure-missing")
