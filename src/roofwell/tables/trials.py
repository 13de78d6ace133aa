"""What the trials beyond the design storm are made of: rows of ``trials.csv``, and other offices' rules."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from roofwell import units
from roofwell.errors import InternalError
from roofwell.tables import rows


@dataclass(frozen=True, slots=True)
class Standard:
    """A published rule of sizing. ``kind``: "depth" (``depth_m`` of rain on the roof), "storm" (``years`` and
    ``duration_s``), "half-empty" or "empty" (``time_s``). ``id``: the row of the reference sheet, or empty."""

    key: str
    id: str
    what: str
    kind: str
    depth_m: float | None
    years: float | None
    duration_s: float | None
    time_s: float | None
    source: str
    seen: str


@cache
def trial(key: str) -> float:
    """Return a figure of the trials in SI; raises ``InternalError`` (``trial-missing``) if there is none."""
    for row in rows("trials"):
        if row["key"] == key:
            return units.parse(row["value"], units.Dimension(row["dimension"])).value_si
    raise InternalError(f"no trial named {key}", code="trial-missing")


@cache
def standards() -> tuple[Standard, ...]:
    """Return every rule of ``standards.csv``, in the order of the file."""

    def si(text: str, dimension: units.Dimension) -> float | None:
        return units.parse(text, dimension).value_si if text else None

    return tuple(
        Standard(
            row["key"],
            row["id"],
            row["what"],
            row["kind"],
            si(row["depth"], units.Dimension.LENGTH),
            si(row["return_period"], units.Dimension.RETURN_PERIOD),
            si(row["duration"], units.Dimension.TIME),
            si(row["time"], units.Dimension.TIME),
            row["source"],
            row["seen"],
        )
        for row in rows("standards")
    )
