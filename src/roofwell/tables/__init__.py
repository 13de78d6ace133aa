"""Published and trade tables, limits and assumptions: CSV with a source key in every row, read once and typed.

``assumption(key)``  a value that Roofwell assumes where a job leaves it out, with how to measure it
``limit(key)``       a limit that a check compares with
``rows(name)``       a whole table, rows as dicts of text
``source(key)``      the publication behind a row
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable

from roofwell import units
from roofwell.errors import InternalError


@dataclass(frozen=True, slots=True)
class Source:
    """A publication, or the honest absence of one (``common-practice``, ``from-memory``, ``derived``)."""

    key: str
    title: str
    publisher: str
    year: str
    locator: str
    seen: str
    note: str


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value that stands in for one that the job leaves out.

    ``value_si`` is in SI units of ``dimension``; ``text`` is the value as the trade writes it. A row has a
    figure of each style where the trade has one; what is printed is what is used.
    """

    key: str
    text: str
    value_si: float
    dimension: units.Dimension
    what: str
    how_to_measure: str
    source: str


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit that a check compares with; ``value_si`` in SI units of ``dimension``."""

    key: str
    text: str
    value_si: float
    dimension: units.Dimension
    what: str
    source: str


def data_file(name: str) -> Traversable:
    """Return a file of the package's ``tables/data`` folder."""
    return resources.files(__package__) / "data" / name


def table_names() -> tuple[str, ...]:
    """Return the file names of all tables."""
    return tuple(sorted(item.name for item in (resources.files(__package__) / "data").iterdir()))


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Return all rows of ``data/<name>.csv``, cells as text.

    Raises
    ------
    InternalError
        ``table-missing`` if there is no such table.
    """
    path = data_file(f"{name}.csv")
    if not path.is_file():
        raise InternalError(f"no table named {name}", code="table-missing")
    return tuple(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


_CONVERTED: dict[str, Callable[[float, units.Style], str]] = {
    "in": units.show_length,
    "ft": units.show_length,
    "in/h": units.show_rate,
    "ft/s": units.show_speed,
}
"""How a row without a metric figure reads in metric, by its US unit."""


def _figure(row: dict[str, str], dimension: units.Dimension, style: units.Style) -> tuple[str, float]:
    """Return a row's figure in one style: as it is written there, else the other one converted."""
    value = units.parse(row["value"], dimension).value_si
    if style == "us":
        return row["value"], value
    if row.get("metric"):
        return row["metric"], units.parse(row["metric"], dimension).value_si
    show = _CONVERTED.get(row["value"].rpartition(" ")[2])
    return (row["value"] if show is None else show(value, style)), value


@cache
def _assumptions(style: units.Style) -> dict[str, Assumption]:
    out = {}
    for row in rows("assumptions"):
        dimension = units.Dimension(row["dimension"])
        text, value = _figure(row, dimension, style)
        what, how = row["what"], row["how_to_measure"]
        if style == "metric":
            what, how = row.get("metric_what") or what, row.get("metric_how") or how
        out[row["key"]] = Assumption(row["key"], text, value, dimension, what, how, row["source"])
    return out


@cache
def _limits(style: units.Style) -> dict[str, Limit]:
    out = {}
    for row in rows("limits"):
        dimension = units.Dimension(row["dimension"])
        text, value = _figure(row, dimension, style)
        out[row["key"]] = Limit(row["key"], text, value, dimension, row["what"], row["source"])
    return out


def assumption(key: str, style: units.Style = "us") -> Assumption:
    """Return the assumption named ``key``, in the figure that its ``style`` uses.

    Raises ``InternalError`` (``assumption-missing``) if there is none.
    """
    try:
        return _assumptions(style)[key]
    except KeyError:
        raise InternalError(f"no assumption named {key}", code="assumption-missing") from None


def limit(key: str, style: units.Style = "us") -> Limit:
    """Return the limit named ``key``, in the figure that its ``style`` uses.

    Raises ``InternalError`` (``limit-missing``) if there is none.
    """
    try:
        return _limits(style)[key]
    except KeyError:
        raise InternalError(f"no limit named {key}", code="limit-missing") from None


def all_assumptions() -> tuple[Assumption, ...]:
    """Return every assumption, in the order of the file."""
    return tuple(_assumptions("us").values())


def all_limits() -> tuple[Limit, ...]:
    """Return every limit, in the order of the file."""
    return tuple(_limits("us").values())


@cache
def sources() -> dict[str, Source]:
    """Return every publication by its key."""
    return {row["key"]: Source(**row) for row in rows("sources")}


def source(key: str) -> Source:
    """Return the publication named ``key``; raises ``InternalError`` (``source-missing``) if there is none."""
    try:
        return sources()[key]
    except KeyError:
        raise InternalError(f"no source named {key}", code="source-missing") from None
