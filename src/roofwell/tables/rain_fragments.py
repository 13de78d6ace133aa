"""Measured hours in 5-minute parts that come with the package: patterns for splitting hours, for rates alone."""

from __future__ import annotations

import csv
import hashlib
import io
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import numpy.typing as npt

from roofwell.errors import InternalError

_TENTH_MM_M = 1e-4


@dataclass(frozen=True, slots=True)
class FragmentSource:
    """Where the patterns were measured; ``source`` is a key into the sources, ``sha256`` of the stored file."""

    id: str
    place: str
    climate: str
    hours: int
    first_month: str
    last_month: str
    file: str
    publisher: str
    license: str
    source: str
    sha256: str
    note: str


@dataclass(frozen=True, slots=True, eq=False)
class Fragments:
    """``parts_m``: rain of each part of each hour, m, shape (h, 12); ``kind``: 2 if the hour before was wet, plus 1 if the
    hour after was, shape (h,)."""

    parts_m: npt.NDArray[np.float64]
    kind: npt.NDArray[np.int64]


@cache
def fragment_source() -> FragmentSource:
    """Return what is told of the shipped patterns."""
    lines = (resources.files(__package__) / "rain" / "fragments.csv").read_text(encoding="utf-8").splitlines()
    row = next(csv.DictReader(lines))
    return FragmentSource(**(row | {"hours": int(row["hours"])}))  # type: ignore[arg-type]


@cache
def load_fragments() -> Fragments:
    """Return the shipped patterns; raises ``InternalError`` (``rain-library-row``) if the file is not the one listed."""
    told = fragment_source()
    data = (resources.files(__package__) / "rain" / told.file).read_bytes()
    if hashlib.sha256(data).hexdigest() != told.sha256:
        raise InternalError(f"{told.file} is not the file that was listed", code="rain-library-row")
    with np.load(io.BytesIO(data)) as stored:
        return Fragments(stored["tenths_mm"] * _TENTH_MM_M, stored["kind"].astype(np.int64))
