"""Edits of a document for a change to one part: what is taken out, what is given along, and a part that stands replaced."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from roofwell import units
from roofwell.design.adopt import designed_leaves
from roofwell.design.result import Design
from roofwell.job import Reading
from roofwell.job.lines import read_path, write_path
from roofwell.system.scheme import XY
from roofwell.units import Dimension

Edit = tuple[str, Any]
OF_THE_OLD = {"runs": ("condition", "bedding", "pipe")}
"""What is known of an existing part alone, and goes when a new one takes its place."""
KEPT = {
    "runs": ("from", "to", "path", "pipe"),
    "basins": ("at", "shape", "diameter", "width", "hood", "hood_air_hole"),
    "overflows": ("of", "kind"),
}
"""Designed leaves that go along with a changed one: a part that is given in one leaf is a given part."""


def at(table: str, id: str, leaf: str) -> str:
    """Return the key path of a part's leaf."""
    return write_path((table, id, leaf))


class Document:
    """A document as entered: what its parts give, and which of them stand already."""

    def __init__(self, reading: Reading) -> None:
        self.document = reading.document

    def now(self, path: str) -> Any:
        """What the document holds at a key path of tables; None: nothing."""
        here: Any = self.document
        for key in read_path(path):
            here = here.get(key) if isinstance(here, Mapping) else None
        return here

    def given(self, table: str, id: str) -> Mapping[str, Any]:
        """The part as the document has it, empty where it has none."""
        found = self.now(write_path((table, id)))
        return found if isinstance(found, Mapping) else {}

    def stands(self, table: str, id: str) -> bool:
        """Say whether the part stands already."""
        return self.given(table, id).get("state") == "existing"


class Edits(Document):
    """Edits of the document of a Design. Lengths are in m."""

    def __init__(self, reading: Reading, design: Design) -> None:
        super().__init__(reading)
        self.style = design.survey.style
        self._designed = designed_leaves(reading.document, design)

    def named(self, table: str, id: str) -> str:
        """Return how one speaks of the part with a change to its size: one that stands is replaced by a new one."""
        return f"a new {id}" if self.stands(table, id) else id

    def renewed(self, table: str, id: str) -> list[Edit]:
        """What makes a part that stands a new one, so that the take-off counts it."""
        if not self.stands(table, id):
            return []
        return [*self.out(table, id, OF_THE_OLD.get(table, ())), (at(table, id, "state"), "proposed")]

    def kept(self, table: str, id: str, leaves: Iterable[str]) -> list[Edit]:
        """What was designed of the part, given as it is."""
        paths = (at(table, id, leaf) for leaf in leaves)
        return [(path, self._designed[path]) for path in paths if path in self._designed]

    def free(self, table: str, letter: str) -> str:
        """Return the first label of a table that no part has, given or designed."""
        designed = {read_path(path)[1] for path in self._designed if path.startswith(f"{table}.")}
        number = 1
        while f"{letter}{number}" in designed or self.given(table, f"{letter}{number}"):
            number += 1
        return f"{letter}{number}"

    def out(self, table: str, id: str, leaves: Iterable[str]) -> list[Edit]:
        """What takes given leaves out."""
        return [(at(table, id, leaf), None) for leaf in leaves if leaf in self.given(table, id)]

    def length(self, value_m: float) -> str:
        """Write a length that somebody digs or builds: up to the next inch or centimeter."""
        step = Fraction("0.0254") if self.style == "us" else Fraction("0.01")
        return units.write(float(math.ceil(value_m / step - 1e-6) * step), Dimension.LENGTH, self.style)

    def height(self, value_m: float) -> str:
        """Write a height over a floor as it is."""
        return units.write(value_m, Dimension.LENGTH, self.style)

    def level(self, value_m: float) -> str:
        """Write an elevation on the grid that can be built."""
        on = units.on_elevation_grid(value_m, self.style, toward="up")
        return units.write(on, Dimension.LENGTH, self.style, elevation=True)

    def point(self, place: XY, off: XY = (0.0, 0.0)) -> list[str]:
        """Write a point of the plan, moved."""
        step = units.GRID_ELEVATION[self.style]
        moved = (float(round((a + b) / step) * step) for a, b in zip(place, off, strict=True))
        return [units.write(value, Dimension.LENGTH, self.style, elevation=True) for value in moved]
