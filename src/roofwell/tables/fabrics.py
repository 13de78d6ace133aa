"""Geotextile by its properties, never by a make: what its openings and flow must be in which soil, and its strength.

``filter_rows()``  opening and permittivity by what of the soil passes the No. 200 sieve (AASHTO M288)
``grains_of()``    what passes it, by the class of texture, from the definition of the class
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from roofwell import tables, units
from roofwell.units import Dimension

INCH_M = 0.0254


@dataclass(frozen=True, slots=True)
class FilterRow:
    """A soil by what passes No. 200, from ``fines_from`` to ``fines_to``; widest opening, m; least permittivity, 1/s."""

    fines_from: float
    fines_to: float
    permittivity_per_s: float
    opening_m: float
    sieve: str
    source: str


@dataclass(frozen=True, slots=True)
class TextureGrains:
    """Silt and clay, and clay alone, of a class of texture: least and most, as shares of the weight."""

    texture: str
    silt_clay: tuple[float, float]
    clay: tuple[float, float]
    source: str


def _value(text: str, dimension: Dimension) -> float:
    return units.parse(text, dimension).value_si


@cache
def filter_rows() -> tuple[FilterRow, ...]:
    """Return the rows of the table, coarse soil first."""
    return tuple(
        FilterRow(
            _value(row["fines_from"], Dimension.RATIO),
            _value(row["fines_to"], Dimension.RATIO),
            _value(row["permittivity"], Dimension.PERMITTIVITY),
            _value(row["opening"], Dimension.LENGTH),
            row["sieve"],
            row["source"],
        )
        for row in tables.rows("geotextile_filter")
    )


def filter_row(fines: float) -> FilterRow:
    """Return the row of a soil: below 15 %, 15 to 50 %, above 50 % through No. 200."""
    first, second, third = filter_rows()
    return first if fines < first.fines_to else second if fines <= second.fines_to else third


def rows_between(low: float, high: float) -> tuple[FilterRow, ...]:
    """Return the rows of all soils from ``low`` to ``high`` passing, coarse first."""
    rows = filter_rows()
    return rows[rows.index(filter_row(low)) : rows.index(filter_row(high)) + 1]


def opening_words(opening_m: float, style: units.Style) -> str:
    """Write an opening of a fabric as its sheet has it: by the sieve in US jobs, where it is one, else by its width."""
    if style == "metric":
        return f"{opening_m * 1000:.2f} mm"
    row = next((row for row in filter_rows() if abs(row.opening_m - opening_m) < 1e-9), None)
    return f"a {row.sieve} sieve" if row is not None else f"{opening_m / INCH_M:.4f} in"


@cache
def _grains() -> dict[str, TextureGrains]:
    def pair(row: dict[str, str], name: str) -> tuple[float, float]:
        return (_value(row[f"{name}_least"], Dimension.RATIO), _value(row[f"{name}_most"], Dimension.RATIO))

    return {
        row["texture"]: TextureGrains(
            row["texture"], pair(row, "silt_clay"), pair(row, "clay"), row["source"]
        )
        for row in tables.rows("soil_grains")
    }


def grains_of(texture: str | None) -> TextureGrains | None:
    """Return the grains of a class of texture; None where it has no row."""
    return _grains().get(texture.strip().lower()) if texture else None
