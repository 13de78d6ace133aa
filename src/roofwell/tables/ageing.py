"""What years do to a well: the figures of ``ageing.csv``, each low, best, high, in SI but for the year."""

from __future__ import annotations

from functools import cache

from roofwell.errors import InternalError
from roofwell.tables import rows


@cache
def figure(key: str) -> tuple[float, float, float]:
    """Return a figure as low, best, high; raises ``InternalError`` (``figure-missing``) if there is none."""
    for row in rows("ageing"):
        if row["key"] == key:
            return float(row["low"]), float(row["best"]), float(row["high"])
    raise InternalError(f"no figure of ageing named {key}", code="figure-missing")
