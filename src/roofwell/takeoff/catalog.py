"""Trade sizes as the take-off needs them, read from ``tables/``: pipe sticks, work rates, assumptions.

Nobody's catalog: generic sizes, each row with its source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from roofwell import tables
from roofwell.errors import InternalError
from roofwell.system.scheme import Run
from roofwell.takeoff.ends import PipeSize
from roofwell.takeoff.pipes import SAME_SIZE_M, pipe_rows, same_size
from roofwell.units import Style


@dataclass(frozen=True, slots=True)
class Stick:
    """How a pipe is sold: ``length_m`` a piece, joined by its own bell or by couplings.

    ``laid_m`` is what one stick covers of a run of several.
    """

    size: PipeSize
    what: str
    length_m: float
    bell: bool
    laid_m: float


@dataclass(frozen=True, slots=True)
class WorkRate:
    """A row of ``work_rates.csv``: person-hours (or machine hours) per unit are ``1 / rate_per_hour``."""

    key: str
    what: str
    rate_per_hour: float
    unit: str
    source: str
    us_what: str = ""

    def words(self, style: Style) -> str:
        """Return what is done, in the units of a style."""
        return self.us_what if style == "us" and self.us_what else self.what


@cache
def work_rate(key: str) -> WorkRate:
    """Return a work rate; raises ``InternalError`` (``work-rate-missing``) if there is none."""
    for row in tables.rows("work_rates"):
        if row["key"] == key:
            return WorkRate(
                key, row["what"], float(row["rate_per_hour"]), row["unit"], row["source"], row["us_what"]
            )
    raise InternalError(f"no work rate named {key}", code="work-rate-missing")


@cache
def stick_of(size: PipeSize, style: Style) -> Stick:
    """Return how a pipe is sold; a size that the table lacks is taken as its kind is sold in other sizes.

    A pipe kind that the table lacks altogether counts as bell-ended pipe in sticks of ``stick-length``.
    """
    rows = pipe_rows(size.pipe)
    row = next((r for r in rows if same_size(r.nominal_m, size.nominal_m)), rows[0] if rows else None)
    if row is None:
        what, length, bell = size.pipe, tables.assumption("stick-length", style).value_si, True
    else:
        what, length, bell = row.what, row.stick_m, row.bell
    laid = length - (tables.assumption("bell-lost", style).value_si if bell else 0.0)
    return Stick(size, what, length, bell, laid)


def size_of(run: Run) -> PipeSize:
    """Return what the fittings of a run are made for: its trade size, whatever diameter was measured."""
    rows = pipe_rows(run.pipe)
    row = next((r for r in rows if same_size(r.nominal_m, run.nominal_m)), None)
    if row is not None:
        return PipeSize(run.pipe, row.nominal_m, row.outside_diameter_m, row.corrugated)
    corrugated = any(r.corrugated for r in rows)
    return PipeSize(run.pipe, run.nominal_m, run.outside_diameter_m, corrugated)


def pipe_size(pipe: str, nominal_m: float) -> PipeSize:
    """Return a pipe kind in the next size of the table from ``nominal_m`` up, else in that size itself."""
    rows = [r for r in pipe_rows(pipe) if r.nominal_m > nominal_m - SAME_SIZE_M]
    if not rows:
        return PipeSize(pipe, nominal_m, nominal_m, any(r.corrugated for r in pipe_rows(pipe)))
    row = min(rows, key=lambda r: r.nominal_m)
    return PipeSize(pipe, row.nominal_m, row.outside_diameter_m, row.corrugated)
