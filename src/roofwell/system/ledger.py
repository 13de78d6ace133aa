"""The ledger: where each value came from while a job is turned into facts and a scheme.

One instance follows one pass. It hands back the SI value of a leaf, or the assumption that stands in for it,
and writes down which; what is missing is written down too, never guessed in silence.
"""

from __future__ import annotations

from roofwell import tables
from roofwell.system.facts import AssumedValue
from roofwell.system.origin import Origin
from roofwell.units import Quantity, Style


class Ledger:
    """Collects origins, assumed values and missing measurements; assumes in the figures of its style."""

    def __init__(self, style: Style = "us") -> None:
        self.style = style
        self.origin: dict[str, Origin] = {}
        self._assumed: dict[str, AssumedValue] = {}
        self.missing: set[str] = set()

    @property
    def assumed(self) -> tuple[AssumedValue, ...]:
        """Every assumed value, in the order in which it was first needed."""
        return tuple(self._assumed.values())

    def value(
        self, quantity: Quantity | None, path: str, assumption: str, *, rule: Quantity | None = None
    ) -> float:
        """Return the SI value of a leaf: as given, else of the rule file, else assumed (and written down)."""
        if quantity is not None:
            self.origin[path] = "given"
            return quantity.value_si
        if rule is not None:
            self.origin[path] = "given"
            return rule.value_si
        return self.assume(path, assumption)

    def assume(self, path: str, assumption: str) -> float:
        """Write down that ``path`` takes the named assumption; return its SI value."""
        row = tables.assumption(assumption, self.style)
        self.origin[path] = "assumed"
        self._assumed[path] = AssumedValue(path, row.text, row.what, row.how_to_measure, row.source)
        return row.value_si

    def assume_row(self, row: AssumedValue, value: float) -> float:
        """Write down that a value of a table of its own is assumed."""
        self.origin[row.path] = "assumed"
        self._assumed[row.path] = row
        return value

    def given(self, path: str, value: float) -> float:
        """Write down that ``path`` is given."""
        self.origin[path] = "given"
        return value

    def designed(self, path: str, value: float) -> float:
        """Write down that ``path`` is designed."""
        self.origin[path] = "designed"
        return value

    def lack(self, leaf: str) -> None:
        """Write down that a measurement is missing (a key of ``tables/data/measurements.csv``)."""
        self.missing.add(leaf)
