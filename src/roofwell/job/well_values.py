"""Sizes of a well that do not belong to what lies in its stone, or do not fit each other."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell.job.lines import KeyPath
from roofwell.job.problems import Fault
from roofwell.job.system_model import Well

_OF_BODY: dict[str, tuple[str, ...]] = {
    "cylinder": (
        "body_diameter", "body_height", "body_wall", "bodies", "body_spacing", "hole_diameter", "slot_width",
        "hole_area",
    ),
    "perforated pipe": (
        "body_diameter", "body_length", "body_wall", "bodies", "body_spacing", "hole_diameter", "slot_width", "hole_area",
        "piece_length",
    ),
    "arch chamber": (
        "body_width", "body_height", "body_length", "body_wall", "bodies", "body_spacing", "hole_diameter",
        "slot_width", "hole_area", "piece_length", "arch", "end_caps",
    ),
    "box chamber": (
        "body_width", "body_height", "body_length", "body_wall", "bodies", "body_spacing", "hole_diameter",
        "slot_width", "hole_area", "piece_length", "body_voids",
    ),
    "none": ("stone_depth",),
}  # fmt: skip
"""Which sizes say something of which body."""

_INSTEAD = {
    "body_diameter": {"arch chamber": "body_width is its span", "box chamber": "write body_width"},
    "body_width": {"cylinder": "write body_diameter", "perforated pipe": "write body_diameter"},
    "body_height": {"perforated pipe": "it is as high as body_diameter", "none": "write stone_depth"},
    "body_length": {"cylinder": "an upright body has a body_height", "none": "write pit_length"},
    "stone_below": {"none": "write stone_depth"},
    "stone_above": {"none": "write stone_depth"},
    "stone_depth": {},
}
_SHAPES = sorted({key for keys in _OF_BODY.values() for key in keys})


def shape_faults(label: str, well: Well) -> Iterator[Fault]:
    """Find sizes of another body than the one that the well has, and sizes that leave no room for each other."""
    table: KeyPath = ("wells", label)
    kind = well.body or "cylinder"
    named = "body is left out, which means cylinder" if well.body is None else f'body = "{kind}"'
    alone = ("stone_below", "stone_above") if kind == "none" else ()
    for key in (*_SHAPES, *alone):
        if getattr(well, key) is None or key in _OF_BODY[kind]:
            continue
        instead = _INSTEAD.get(key, {}).get(kind)
        fits = [name for name, keys in _OF_BODY.items() if key in keys]
        better = instead or f"it is for {', '.join(fits)}"
        path: KeyPath = (*table, key)
        message = f"{named} has no {key}; {better}"
        yield Fault(path, message, "contradiction", (path,), rests_on=((*table, "body"),))
    if kind not in ("cylinder", "none"):
        for key in ("pit_diameter", "pit_shape"):
            if key == "pit_shape" and well.pit_shape != "round":
                continue
            if getattr(well, key) is not None:
                message = "what lies in the stone lies in a rectangular pit; write pit_length and pit_width"
                yield Fault((*table, key), message, "contradiction", ((*table, key),))
        yield from _rows_fit(table, well)
    yield from _walls(table, well)
    if well.stone_top in ("surface", "lawn inlet") and "top" in (well.geotextile or ()):
        path = (*table, "geotextile")
        message = 'no cloth lies over stone that comes up to the lawn; leave "top" out'
        yield Fault(path, message, "contradiction", (path,))


def _rows_fit(table: KeyPath, well: Well) -> Iterator[Fault]:
    """Rows fit into the pit's length and, side by side, into its width."""
    if (
        well.body_length is not None
        and well.pit_length is not None
        and well.body_length.exact > well.pit_length.exact
    ):
        message = f"a row {well.body_length.text} long does not fit"
        yield Fault((*table, "pit_length"), message, "contradiction", ((*table, "pit_length"),))
    across = well.body_diameter if well.body == "perforated pipe" else well.body_width
    if across is None:
        return
    rows, spacing = well.bodies or 1, well.body_spacing
    if rows > 1 and spacing is not None and spacing.exact < across.exact:
        path = (*table, "body_spacing")
        message = f"measured from center to center, rows {across.text} wide lie at least that far apart"
        yield Fault(path, message, "contradiction", (path,))
        return
    wide = across.exact + (rows - 1) * (spacing.exact if spacing is not None else across.exact)
    if well.pit_width is not None and wide > well.pit_width.exact:
        path = (*table, "pit_width")
        message = f"{rows} rows {across.text} wide take {float(wide):.3g} m ({float(wide) / 0.3048:.4g} ft)"
        yield Fault(path, message, "contradiction", (path,))


def _walls(table: KeyPath, well: Well) -> Iterator[Fault]:
    if well.body_wall is None:
        return
    for key in ("body_diameter", "body_width", "body_height", "body_length"):
        size = getattr(well, key)
        upright = key == "body_height" and (well.body or "cylinder") == "cylinder"
        if size is not None and not upright and 2 * well.body_wall.exact >= size.exact:
            path = (*table, "body_wall")
            yield Fault(path, f"two walls leave no room in a {key} of {size.text}", "contradiction", (path,))
            return
