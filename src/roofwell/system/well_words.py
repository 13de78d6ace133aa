"""What a well is, in a few words: the same in lists of candidates, in tables and beside drawings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import assert_never

from roofwell import tables, units
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import Well
from roofwell.units import Style


def well_words(well: Well, style: Style) -> str:
    """Return how many of what, of which size: ``2 x 24 in body``, ``1 row of 6 in perforated pipe, 20 ft long``."""
    across, length = (
        units.show_size(well.body_diameter_m, style),
        units.show_length(well.body_length_m, style),
    )
    match well.body:
        case "cylinder":
            return f"{well.bodies} x {across} body"
        case "none":
            sides = (well.pit_length_m, well.pit_width_m, well.stone_below_m)
            return f"stone alone, {' by '.join(units.show_length(side, style) for side in sides)} deep"
        case "perforated pipe":
            row = traded(well)
            named = row["what"] if row is not None else f"{across} perforated pipe"
            return f"{_rows(well.bodies)} of {named}, {length} long"
        case "arch chamber" | "box chamber":
            size = f"{across} by {units.show_size(well.body_height_m, style)}"
            kind = "arched" if well.body == "arch chamber" else "box"
            return f"{_rows(well.bodies)} of {kind} chambers {size}, {length} long"
        case _ as unknown:
            assert_never(unknown)


def traded(well: Well) -> Mapping[str, str] | None:
    """Return the row of the trade's lying bodies that a well has, or None where it is of another size."""
    for row in tables.rows("lying_bodies"):
        if row["kind"] != well.body:
            continue
        sizes = ((row["width"], well.body_diameter_m), (row["height"], well.body_height_m))
        if all(abs(length_of(text) - value) < 1e-6 for text, value in sizes):
            return row
    return None


def body_word(well: Well) -> str:
    """Return what one body of a well is called."""
    match well.body:
        case "cylinder":
            return "well body"
        case "perforated pipe":
            return "perforated pipe"
        case "arch chamber" | "box chamber":
            return "chamber"
        case "none":
            return "stone"
        case _ as unknown:
            assert_never(unknown)


def laid_words(well: Well) -> str:
    """Return how what lies in the stone is set, as a crew says it."""
    match well.body:
        case "cylinder":
            return f"{well.id} upright"
        case "perforated pipe":
            return f"perforated pipe of {well.id} level, holes down"
        case "arch chamber" | "box chamber":
            return f"chambers of {well.id} level and joined"
        case "none":
            return f"{well.id} leveled"
        case _ as unknown:
            assert_never(unknown)


def cloth_faces(well: Well) -> str:
    """Return where the geotextile of a well lies: ``sides and top, bottom bare``; every paper says it so. Empty: none."""
    faces = [face for face in ("sides", "top", "bottom") if face in well.geotextile]
    where = [" and ".join(faces) if len(faces) < 3 else "sides, top and bottom"] if faces else []
    if well.top_stone_m > 0:
        where.append("a sheet under the top stone")
    if where and "bottom" not in faces:
        where.append("bottom bare")
    return ", ".join(where)


def _rows(count: int) -> str:
    return f"{count} row" if count == 1 else f"{count} rows"
