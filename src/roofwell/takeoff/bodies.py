"""Order lines of what lies in the stone of a well: bodies, perforated pipe, chambers and their ends."""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from roofwell import tables
from roofwell.system.scheme import Well
from roofwell.system.well_words import traded
from roofwell.takeoff.lines import line
from roofwell.takeoff.pipes import length_m, same_size
from roofwell.takeoff.quantities import Item
from roofwell.takeoff.trade import size_key, size_text


def body_lines(wells: Sequence[Well]) -> list[Item]:
    """Return what lies in the stone by kind and size; a length is bought in whole pieces, row by row."""
    out: dict[str, tuple[str, int, str, list[str]]] = {}

    def add(key: str, what: str, count: int, unit: str, place: str) -> None:
        if count < 1:
            return
        named, before, _, places = out.get(key, (what, 0, unit, []))
        out[key] = (named, before + count, unit, [*places, place])

    for well in wells:
        size = f"{size_text(well.body_diameter_m)} by {size_text(well.body_height_m)}"
        own = f"{size_key(well.body_diameter_m)}-{size_key(well.body_height_m)}"
        row = traded(well)
        rows = f"{well.id} ({well.bodies} {'row' if well.bodies == 1 else 'rows'})"
        match well.body:
            case "cylinder":
                add(
                    f"body:{_key(well) or own}",
                    f"well body, {size}",
                    well.bodies,
                    "each",
                    f"{well.id} ({well.bodies})",
                )
            case "perforated pipe":
                words = (
                    row["what"]
                    if row is not None
                    else f"perforated pipe, {size_text(well.body_diameter_m)} outside"
                )
                key = row["key"] if row is not None else f"pipe-{size_key(well.body_diameter_m)}"
                add(f"perforated:{key}", words, well.pieces, "stick", rows)
                add(f"perforated-cap:{key}", f"end cap for {words}", well.bodies, "each", rows)
                add(f"header:{key}", f"header tee between rows, for {words}", well.bodies - 1, "each", rows)
            case "arch chamber" | "box chamber":
                kind = "arch" if well.body == "arch chamber" else "box"
                words = f"{'arched' if kind == 'arch' else kind} chamber, {size}"
                key = row["key"] if row is not None else f"{kind}-{own}"
                add(f"chamber:{key}", words, well.pieces, "each", rows)
                caps = 2 * well.bodies if kind == "arch" and well.end_caps else 0
                add(f"chamber-cap:{key}", f"end cap, {words}", caps, "each", rows)
                add(f"header:{key}", f"connection from row to row, {words}", well.bodies - 1, "each", rows)
            case "none":
                continue
            case _ as unknown:
                assert_never(unknown)
    return [line(k, "well", w, float(n), unit, ", ".join(p), "") for k, (w, n, unit, p) in out.items()]


def _key(well: Well) -> str | None:
    """Return the key of an upright body of the trade."""
    return next(
        (
            row["key"]
            for row in tables.rows("body_sizes")
            if same_size(length_m(row["diameter"]), well.body_diameter_m)
            and same_size(length_m(row["height"]), well.body_height_m)
        ),
        None,
    )
