"""The next trade size of a part: its leaves in a document, and how it is said."""

from __future__ import annotations

from typing import Any, NamedTuple

from roofwell import tables, units
from roofwell.design.mend_edits import Edits
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import Scheme
from roofwell.units import Style


class Larger(NamedTuple):
    """Leaves of the part with what they hold then, None takes one out; ``words``: "24 in wide instead of 18 in"."""

    leaves: dict[str, Any]
    words: str


def larger(scheme: Scheme, document: Edits, table: str, id: str) -> Larger | None:
    """Return the next size that the trade sells; None where there is none, or the search sizes the part by itself."""
    style = document.style
    match table:
        case "runs":
            return _run(scheme, document, id)
        case "basins":
            basin = next(basin for basin in scheme.basins if basin.id == id)
            row = _next("basin_sizes", style, "width", basin.width_m, shape=basin.shape)
            if row is None:
                return None
            leaf, words = "diameter" if basin.shape == "round" else "width", row["width"]
            return Larger({leaf: words}, _instead(words, basin.width_m, style, " wide"))
        case "overflows":
            over = next(overflow for overflow in scheme.overflows if overflow.id == id)
            row = _next("overflow_sizes", style, "diameter", over.diameter_m)
            if row is None:
                return None
            words = row["diameter"]
            return Larger({"diameter": words}, _instead(words, over.diameter_m, style, " wide"))
        case "gutters":
            gutter = next(
                spout.gutter
                for spout in scheme.downspouts
                if spout.gutter is not None and spout.gutter.id == id
            )
            row = _next("gutter_sizes", style, "top_width", gutter.top_width_m, shape=gutter.shape)
            if row is None:
                return None
            leaves = {leaf: row[leaf] for leaf in ("shape", "top_width", "bottom_width", "depth")}
            return Larger(leaves, _instead(row["top_width"], gutter.top_width_m, style, " wide"))
        case "downspouts":
            return _downspout(scheme, document, id)
    return None


def _run(scheme: Scheme, document: Edits, id: str) -> Larger | None:
    given = document.given("runs", id)
    if not given:  # the search widens designed pipe by itself
        return None
    run = next(run for run in scheme.runs if run.id == id)
    row = _next("pipe_sizes", document.style, "nominal", run.nominal_m, key=run.pipe)
    if row is None:
        return None
    measured = {leaf: None for leaf in ("inside_diameter", "outside_diameter") if leaf in given}
    kind = {"pipe": run.pipe} if document.stands("runs", id) else {}
    leaves = {**measured, **kind, "nominal": row["nominal"]}
    return Larger(leaves, _instead(row["nominal"], run.nominal_m, document.style, " pipe"))


def _downspout(scheme: Scheme, document: Edits, id: str) -> Larger | None:
    spout = next(spout for spout in scheme.downspouts if spout.id == id)
    wide = max(spout.width_m, spout.breadth_m)
    row = _next("leader_sizes", document.style, "width", wide, shape=spout.shape)
    if row is None:
        return None
    holes = ("outlet_diameter", "outlet_width", "outlet_breadth")
    old = {leaf: None for leaf in holes if leaf in document.given("downspouts", id)}
    sizes = ("width", "breadth") if spout.shape == "rectangular" else ()
    sold = {leaf: row[leaf] for leaf in sizes} or {"diameter": row["width"]}
    return Larger({**old, "shape": spout.shape, **sold}, " by ".join(sold.values()))


def _next(table: str, style: Style, by: str, now_m: float, **like: str) -> dict[str, str] | None:
    sold = [
        row
        for row in tables.rows(table)
        if row["units"] == style
        and all(row[key] == value for key, value in like.items())
        and length_of(row[by]) > now_m + 1e-6
    ]
    return min(sold, key=lambda row: length_of(row[by]), default=None)


def _instead(size: str, now_m: float, style: Style, after: str) -> str:
    return f"{size}{after} instead of {units.show_size(now_m, style)}"
