"""Stone by its size number, as a yard sells it: ``stone_gradation.csv``, read and typed."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import cache
from typing import Literal

from roofwell import tables

StoneShape = Literal["crushed", "rounded"]


@dataclass(frozen=True, slots=True)
class Stone:
    """A row of ``stone_gradation.csv``; ``bands``: (sieve in m, least and most passing), coarse first."""

    key: str
    what: str
    bands: tuple[tuple[float, float, float], ...]
    d15_m: float
    d85_m: float
    voids: float
    source: str
    shape: StoneShape = "crushed"


def _share(text: str) -> tuple[float, float]:
    low, _, high = text.partition("-")
    return float(low) / 100, float(high or low) / 100


@cache
def stones() -> dict[str, Stone]:
    """Return every stone of the table by its key."""
    out = {}
    for row in tables.rows("stone_gradation"):
        bands = [
            (float(name.split("_")[1]) / 1000, *_share(cell))
            for name, cell in row.items()
            if name.startswith("pass_") and cell
        ]
        out[row["key"]] = Stone(
            row["key"],
            row["what"],
            tuple(bands),
            float(row["d15_mm"]) / 1000,
            float(row["d85_mm"]) / 1000,
            float(row["voids"].removesuffix(" %")) / 100,
            row["source"],
            "rounded" if row["shape"] == "rounded" else "crushed",
        )
    return out


def stone_named(name: str) -> Stone | None:
    """Return the stone that a job means (``57``, ``#57``, ``No. 57``, ``pea gravel``), or None."""
    key = name.strip().lower().removeprefix("no.").removeprefix("#").strip().removesuffix(" gravel")
    return stones().get(key.replace(" ", "-"))


def nearest_stone(name: str) -> str | None:
    """Return the key of the stone whose name is most like one that no table knows, or None."""
    names = {key: key for key in stones()} | {stone.what: key for key, stone in stones().items()}
    found = difflib.get_close_matches(name.strip().lower(), names, n=1)
    return names[found[0]] if found else None
