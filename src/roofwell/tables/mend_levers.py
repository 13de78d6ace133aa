"""Which single changes are tried for a check that is not good: rows of ``mend_levers.csv``, the likeliest first."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, get_args

from roofwell.errors import InternalError
from roofwell.tables import rows
from roofwell.units import Style

Kind = Literal[
    "anew",
    "larger-pit",
    "move",
    "next-size",
    "one-more",
    "open",
    "open-all",
    "other-body",
    "safety",
    "second-well",
    "set",
    "step",
]


@dataclass(frozen=True, slots=True)
class Lever:
    """One kind of change for one check.

    ``of``: the table of the document whose parts are changed. ``leaves``: keys of such a part, or one word for a group
    of them; a leaf that is set may say its own value (``emptied=12 a year``). ``us`` and ``metric``: a step as the trade
    writes it, or what is set. ``what``: what a set leaf means, with
    {part}; other kinds say themselves what they change.
    """

    code: str
    kind: Kind
    of: str
    leaves: tuple[str, ...]
    us: str
    metric: str
    what: str

    def value(self, style: Style) -> str:
        """Return the step, or what is set, in a style; empty where there is none."""
        return self.us if style == "us" else self.metric


@cache
def levers(code: str) -> tuple[Lever, ...]:
    """Return the changes that are tried for a check, in their order; none where nothing is known to help.

    Raises
    ------
    InternalError
        ``lever-unknown`` if a row names a kind that there is not.
    """
    found = []
    for row in rows("mend_levers"):
        if row["code"] != code:
            continue
        kind = next((kind for kind in get_args(Kind) if kind == row["lever"]), None)
        if kind is None:
            raise InternalError(f"no lever named {row['lever']}", code="lever-unknown")
        leaves = tuple(leaf.strip() for leaf in row["leaf"].split(";") if leaf.strip())
        found.append(Lever(code, kind, row["of"], leaves, row["us"], row["metric"], row["what"]))
    return tuple(found)
