"""Places from the few distances of a first visit: a rectangular lot, a rectangular house, corners, one well.

The frame is the lot's own: [0, 0] is its front left corner, seen from the street; the first number runs along the
street to the right, the second away from it. A house that is no rectangle is drawn as the one around it; the plan is
put right later, corner by corner.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from roofwell.errors import InputError
from roofwell.units import Dimension, Quantity, Style, parse

ORIGIN = "front left corner of the lot, seen from the street"
SIDES = ("behind", "before", "left of", "right of")
WELL_POINT, LINE_POINT = "place for the well", "lot line below the well"
CORNERS: dict[str, tuple[Fraction, Fraction]] = {
    "front left corner": (Fraction(0), Fraction(0)),
    "front, middle": (Fraction(1, 2), Fraction(0)),
    "front right corner": (Fraction(1), Fraction(0)),
    "right side, middle": (Fraction(1), Fraction(1, 2)),
    "back right corner": (Fraction(1), Fraction(1)),
    "back, middle": (Fraction(1, 2), Fraction(1)),
    "back left corner": (Fraction(0), Fraction(1)),
    "left side, middle": (Fraction(0), Fraction(1, 2)),
}
"""Where a downspout comes down, as shares of the house's width and depth."""
NAMES = {
    "along": "house along the street",
    "deep": "house from front to back",
    "left": "house to the left lot line",
    "right": "house to the right lot line",
    "front": "house to the front lot line",
    "back": "house to the back lot line",
    "well_off": "wall to the well",
    "well_along": "well along that wall",
}


@dataclass(frozen=True, slots=True)
class LeafEdit:
    """One leaf of the document to be set: its key path and what it holds."""

    path: str
    value: Any


@dataclass(frozen=True, slots=True)
class Unread:
    """A typed answer that cannot be used: which one, and what would be right."""

    name: str
    message: str


@dataclass(frozen=True, slots=True)
class Places:
    """What follows from the distances so far: edits of the document, and answers that cannot be used."""

    edits: tuple[LeafEdit, ...]
    unread: tuple[Unread, ...]


def places(
    distances: Mapping[str, str],
    *,
    corners: Mapping[str, str],
    well_side: str,
    readings: Mapping[int, str],
    style: Style,
) -> Places:
    """Return the places that follow from typed distances, as leaves of the document.

    Parameters
    ----------
    distances
        Texts by the keys of ``NAMES``; a bare number is feet (US) or meters; what is empty is not known yet.
        ``well_along`` runs from the left lot line for a well behind or before the house, from the front one beside it.
    corners
        Where each downspout comes down: its label, and a key of ``CORNERS``.
    well_side
        One of ``SIDES``; anything else: no well is placed.
    readings
        Names of the points of the level book by their place in its list.
    """
    unit = "ft" if style == "us" else "m"
    known, unread = _known(distances, unit)
    edits: list[LeafEdit] = []
    if not {"along", "deep", "left", "front"} <= set(known):
        return Places((), tuple(unread))
    left, front, along, deep = (known[key] for key in ("left", "front", "along", "deep"))

    def text(value_m: Fraction) -> str:
        scale = parse(f"1 {unit}", Dimension.LENGTH).exact
        return f"{float(round(value_m / scale, 4)):g} {unit}"

    def point(x: Fraction, y: Fraction) -> list[str]:
        return [text(x), text(y)]

    def box(x0: Fraction, y0: Fraction, x1: Fraction, y1: Fraction) -> list[list[str]]:
        return [point(x0, y0), point(x1, y0), point(x1, y1), point(x0, y1)]

    edits.append(LeafEdit("frame.origin", ORIGIN))
    edits.append(LeafEdit("buildings.H1.outline", box(left, front, left + along, front + deep)))
    whole = {"right", "back"} <= set(known)
    wide = left + along + known.get("right", Fraction(0))
    far = front + deep + known.get("back", Fraction(0))
    zero = Fraction(0)
    if whole:
        edits.append(LeafEdit("features.L1.kind", "lot line"))
        edits.append(LeafEdit("features.L1.outline", box(zero, zero, wide, far)))
    named: dict[str, list[str]] = {}
    for label, corner in corners.items():
        if corner in CORNERS:
            across, back = CORNERS[corner]
            named[label] = point(left + across * along, front + back * deep)
            edits.append(LeafEdit(f"downspouts.{label}.at", named[label]))
    if well_side in SIDES and {"well_off", "well_along"} <= set(known):
        off, by = known["well_off"], known["well_along"]
        at, line = {
            "behind": ((by, front + deep + off), (by, far)),
            "before": ((by, front - off), (by, zero)),
            "left of": ((left - off, by), (zero, by)),
            "right of": ((left + along + off, by), (wide, by)),
        }[well_side]
        outside = whole and not (0 <= at[0] <= wide and 0 <= at[1] <= far)
        if outside:
            message = (
                "the well would stand outside the lot; measure it again, or the distances to the lot lines"
            )
            unread.append(Unread("well_off", message))
        else:
            named[WELL_POINT] = point(*at)
            edits.append(LeafEdit("wells.W1.at", named[WELL_POINT]))
            if whole and at != line:
                named[LINE_POINT] = point(*line)
    for index, name in sorted(readings.items()):
        if name in named:
            edits.append(LeafEdit(f"survey.readings[{index}].at", named[name]))
    return Places(tuple(edits), tuple(unread))


def _known(distances: Mapping[str, str], unit: str) -> tuple[dict[str, Fraction], list[Unread]]:
    known: dict[str, Fraction] = {}
    unread: list[Unread] = []
    for name, words in NAMES.items():
        typed = (distances.get(name) or "").strip()
        if not typed:
            continue
        try:
            quantity: Quantity = parse(typed, Dimension.LENGTH, bare_unit=unit)
        except InputError as error:
            unread.append(Unread(name, f"{words}: {error.message}"))
            continue
        too_small = quantity.exact <= 0 if name in ("along", "deep") else quantity.exact < 0
        if too_small:
            least = "more than nothing" if name in ("along", "deep") else "not below zero"
            unread.append(Unread(name, f"{words}: {typed} was read; it must be {least}"))
            continue
        known[name] = quantity.exact
    return known, unread
