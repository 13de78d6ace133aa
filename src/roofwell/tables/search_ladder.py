"""The sizes that a search tries where the job gives none: rows of ``search_ladder.csv``."""

from __future__ import annotations

from functools import cache

from roofwell import tables
from roofwell.errors import InternalError


@cache
def steps(key: str) -> tuple[float, ...]:
    """Return the steps of one rung, smallest first; raises ``InternalError`` (``ladder-missing``) if there is none."""
    for row in tables.rows("search_ladder"):
        if row["key"] == key:
            return tuple(float(step) for step in row["steps"].split())
    raise InternalError(f"no ladder named {key}", code="ladder-missing")


@cache
def counts(key: str) -> tuple[int, ...]:
    """Return the steps of one rung as whole numbers; raises as ``steps``."""
    return tuple(round(step) for step in steps(key))
