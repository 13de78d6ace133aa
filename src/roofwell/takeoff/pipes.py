"""The table of pipes as the take-off reads it: outside diameters, sticks, how the ends are made."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from roofwell import tables
from roofwell.errors import InternalError
from roofwell.units import Dimension, parse

SAME_SIZE_M = 0.0005  # trade sizes of one name differ by less, pipe families by 6 mm and more


def length_m(text: str) -> float:
    """Return a length of a table, m."""
    return parse(text, Dimension.LENGTH).value_si


@dataclass(frozen=True, slots=True)
class PipeRow:
    """A row of ``pipe_sizes.csv``; lengths in m, ``bell`` where each stick has one."""

    pipe: str
    what: str
    nominal_m: float
    outside_diameter_m: float
    stick_m: float
    bell: bool
    corrugated: bool


@cache
def pipe_rows(pipe: str) -> tuple[PipeRow, ...]:
    """Return every size of a pipe kind, empty if the table has no such kind."""
    return tuple(
        PipeRow(
            row["key"],
            row["material"],
            length_m(row["nominal"]),
            length_m(row["outside_diameter"]),
            length_m(row["stick"]),
            _bell(row["ends"]),
            row["key"].startswith("corrugated"),
        )
        for row in tables.rows("pipe_sizes")
        if row["key"] == pipe
    )


def _bell(ends: str) -> bool:
    if ends not in ("bell", "plain"):
        raise InternalError(f"pipe ends {ends!r}; they are bell or plain", code="pipe-ends")
    return ends == "bell"


def same_size(a_m: float, b_m: float) -> bool:
    """Whether two sizes bear one name."""
    return math.isclose(a_m, b_m, abs_tol=SAME_SIZE_M)


def one_family(a: str, b: str) -> bool:
    """Whether two pipe kinds fit each other's fittings: one kind, or kinds whose shared sizes agree."""
    if a == b:
        return True
    pairs = [(p, q) for p in pipe_rows(a) for q in pipe_rows(b) if same_size(p.nominal_m, q.nominal_m)]
    return bool(pairs) and all(
        p.corrugated == q.corrugated and same_size(p.outside_diameter_m, q.outside_diameter_m)
        for p, q in pairs
    )
