"""Order lines: one per thing, with every place where it goes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from roofwell.takeoff.catalog import stick_of
from roofwell.takeoff.chains import Chain
from roofwell.takeoff.cutting import Plan
from roofwell.takeoff.ends import Link, fitting_kind
from roofwell.takeoff.quantities import Item
from roofwell.takeoff.trade import size_key, size_text, station, up
from roofwell.units import Style, show_distance, show_percent


def line(
    key: str, group: str, what: str, quantity: float, unit: str, where: str, note: str, *, priced: bool = True
) -> Item:
    """Return an item that has no price yet."""
    return Item(key, group, what, quantity, unit, where, note, None, None, priced)


def pipe_lines(plans: Sequence[Plan], waste: float, style: Style) -> list[Item]:
    """Return the pipe by kind and size in whole sticks: the cutting plan's, or length and waste if more."""
    out = []
    for plan in plans:
        stick = plan.stick
        by_length = up(plan.needed_m * (1 + waste), stick.length_m) / stick.length_m
        places = ", ".join(dict.fromkeys(cut.run for cut in plan.cuts))
        note = (
            f"{show_distance(plan.needed_m, style)} of pipe; {_sticks(plan.sticks)} of "
            f"{show_distance(stick.length_m, style)} by the cutting list, {by_length:.0f} by length with "
            f"{show_percent(waste)} waste"
        )
        out.append(
            line(
                f"pipe:{stick.size.pipe}:{size_key(stick.size.nominal_m)}",
                "pipe",
                f"{size_text(stick.size.nominal_m)} {stick.what}",
                float(max(plan.sticks, round(by_length))),
                "stick",
                places,
                note,
            )
        )
    return out


def _sticks(count: int) -> str:
    return f"{count} stick" if count == 1 else f"{count} sticks"


def _identity(link: Link, style: Style) -> tuple[str, str]:
    """The price book's key of a fitting, by its larger size, and its wording."""
    a, b = sorted((link.upper.size, link.lower.size), key=lambda size: (size.nominal_m, size.pipe))
    key, what = f"fitting:{link.kind}:{size_key(b.nominal_m)}", fitting_kind(link.kind).what
    if a == b:
        return key, f"{size_text(b.nominal_m)} {what}, for {stick_of(b, style).what}"
    sizes = f"{size_text(a.nominal_m)} {stick_of(a, style).what} to {size_text(b.nominal_m)} {stick_of(b, style).what}"
    return key, f"{what}, {sizes}"


def fitting_lines(chains: Iterable[Chain], style: Style) -> list[Item]:
    """Return every fitting, coupling and adapter with the stations where it goes.

    Pipe families stand in lines of their own under one key of the price book.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for chain in chains:
        for link in chain.links:
            if link.kind != "pipe" and link.counted:
                at = f" at {station(link.station_m, style)}" if chain.stationed else ""
                place = f"{link.run}{at}"
                found.setdefault(_identity(link, style), []).append(place)
    return [
        line(key, "fittings", what, float(len(places)), "each", ", ".join(places), _sum(places))
        for (key, what), places in found.items()
    ]


def _sum(places: Sequence[str]) -> str:
    """How many on each run: "P1 2 + P2 1"."""
    counts = Counter(place.split(" at ")[0] for place in places)
    return " + ".join(f"{run} {count}" for run, count in counts.items())
