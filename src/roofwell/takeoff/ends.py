"""What a joint is: two ends that fit. A hub takes a spigot of its size and family; a boot takes any spigot.

Two pipe families fit each other where they have the same outside diameter: the thin-walled drain and sewer
pipes share theirs, Schedule 40 does not, and corrugated pipe fits only itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast

from roofwell import tables
from roofwell.errors import InternalError
from roofwell.takeoff.pipes import one_family, same_size
from roofwell.units import Style

EndKind = Literal["hub", "spigot", "boot", "leader", "threaded", "open", "closed"]


@dataclass(frozen=True, slots=True)
class PipeSize:
    """What a socket is made for: pipe kind, nominal size, outside diameter (m), corrugated or smooth."""

    pipe: str
    nominal_m: float
    outside_diameter_m: float
    corrugated: bool

    def same_as(self, other: PipeSize) -> bool:
        """Whether a socket made for this pipe takes the other one."""
        return (
            same_size(self.outside_diameter_m, other.outside_diameter_m)
            and self.corrugated == other.corrugated
        )

    def same_nominal(self, other: PipeSize) -> bool:
        """Whether both are sold under one nominal size."""
        return same_size(self.nominal_m, other.nominal_m)


@dataclass(frozen=True, slots=True)
class End:
    """One end of a pipe or fitting."""

    kind: EndKind
    size: PipeSize


@dataclass(frozen=True, slots=True)
class Link:
    """One piece of a chain, in the order of the chain (down the water, or from the top of a riser down).

    ``length_m`` is 0 but for pipe. ``counted`` is False where another chain already buys the piece.
    """

    kind: str
    upper: End
    lower: End
    run: str
    station_m: float
    length_m: float = 0.0
    counted: bool = True


@dataclass(frozen=True, slots=True)
class FittingKind:
    """A row of ``tables/data/fitting_ends.csv``."""

    key: str
    what: str
    upstream: EndKind
    downstream: EndKind
    branch: EndKind | None
    angle_deg: float | None
    source: str


@cache
def fitting_kinds() -> dict[str, FittingKind]:
    """Return every fitting by its kind."""
    out = {}
    for row in tables.rows("fitting_ends"):
        out[row["kind"]] = FittingKind(
            row["kind"],
            row["what"],
            cast(EndKind, row["upstream"]),
            cast(EndKind, row["downstream"]),
            cast(EndKind, row["branch"]) if row["branch"] else None,
            float(row["angle_deg"]) if row["angle_deg"] else None,
            row["source"],
        )
    return out


def fitting_kind(key: str) -> FittingKind:
    """Return a fitting; raises ``InternalError`` (``fitting-missing``) if the table has none of that kind."""
    try:
        return fitting_kinds()[key]
    except KeyError:
        raise InternalError(f"no fitting of kind {key} in fitting_ends", code="fitting-missing") from None


def fitting(key: str, size: PipeSize, *, run: str, station_m: float, counted: bool = True) -> Link:
    """Return a fitting of one size as a link."""
    kind = fitting_kind(key)
    return Link(key, End(kind.upstream, size), End(kind.downstream, size), run, station_m, counted=counted)


def fits(upper: End, lower: End) -> bool:
    """Whether two ends join with nothing between them."""
    kinds = {upper.kind, lower.kind}
    if kinds == {"boot", "spigot"} or kinds == {"threaded"}:
        return True
    return kinds == {"hub", "spigot"} and upper.size.same_as(lower.size)


def _coupler(upper: PipeSize, lower: PipeSize) -> str:
    if upper.same_as(lower):
        return "coupling"
    if upper.same_nominal(lower):
        return "adapter"
    if not one_family(upper.pipe, lower.pipe):
        return "reducing-adapter"
    return "increaser-coupling" if lower.nominal_m > upper.nominal_m else "reducer-coupling"


def _bushing(upper: PipeSize, lower: PipeSize) -> str:
    if upper.same_nominal(lower):
        return "adapter-bushing"
    return "increaser" if lower.nominal_m > upper.nominal_m else "reducer"


def between(upper: End, lower: End, *, run: str, station_m: float, style: Style) -> tuple[Link, ...]:
    """Return the pieces that must stand between two ends so that every joint fits; empty where they fit.

    Raises
    ------
    InternalError
        ``ends-cannot-join`` for two sockets that face each other: a piece of pipe belongs between them first.
    """
    if fits(upper, lower):
        return ()
    a, b = upper.size, lower.size
    if upper.kind == lower.kind == "spigot":
        return (Link(_coupler(a, b), End("hub", a), End("hub", b), run, station_m),)
    if (upper.kind, lower.kind) == ("spigot", "hub"):
        if not a.same_nominal(b) and not one_family(a.pipe, b.pipe):
            return _sleeve(a, b, run, station_m, style, short_piece_first=False)
        return (Link(_bushing(a, b), End("hub", a), End("spigot", b), run, station_m),)
    if (upper.kind, lower.kind) == ("hub", "spigot"):
        if not a.same_nominal(b) and not one_family(a.pipe, b.pipe):
            return _sleeve(a, b, run, station_m, style, short_piece_first=True)
        return (Link(_bushing(a, b), End("spigot", a), End("hub", b), run, station_m),)
    raise InternalError(
        f"{run}: a {upper.kind} cannot meet a {lower.kind} without a piece of pipe", code="ends-cannot-join"
    )


def _sleeve(
    a: PipeSize, b: PipeSize, run: str, station_m: float, style: Style, *, short_piece_first: bool
) -> tuple[Link, ...]:
    """Other family and other size into a hub: a flexible sleeve and a short piece of the hub's own pipe."""
    stub = tables.assumption("pipe-stub", style).value_si
    sleeve = Link("reducing-adapter", End("hub", a), End("hub", b), run, station_m)
    own = a if short_piece_first else b
    piece = Link("pipe", End("spigot", own), End("spigot", own), run, station_m, stub)
    return (piece, sleeve) if short_piece_first else (sleeve, piece)
