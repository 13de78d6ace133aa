"""How often a year each gutter wants cleaning: by the trees over its roofs, what falls from them, and its guard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from roofwell import tables
from roofwell.job import model
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme
from roofwell.units import Dimension, parse

Trees = Literal["none", "few", "many"]
TREES: tuple[Trees, ...] = ("none", "few", "many")


@dataclass(frozen=True, slots=True)
class GutterCare:
    """``times_year``: how often it wants cleaning, from the fewest to the most trees where nobody said how many
    (``trees`` None); ``cleaned_year``: how often the owner has it done, None where nobody said."""

    gutter: str
    downspouts: tuple[str, ...]
    trees: Trees | None
    needles: bool
    guard: bool
    low_year: float
    times_year: float
    high_year: float
    cleaned_year: float | None
    source: str


def gutter_care(job: model.Job, survey: Survey, scheme: Scheme) -> tuple[GutterCare, ...]:
    """Return the care of every gutter that drains here, in the order of its downspouts; the worst of its roofs counts."""
    spouts: dict[str, list[str]] = {}
    guards: dict[str, bool] = {}
    for spout in scheme.downspouts:
        if spout.gutter is not None:
            spouts.setdefault(spout.gutter.id, []).append(spout.id)
            guards[spout.gutter.id] = spout.gutter.guard
    out = []
    for id, below in spouts.items():
        roofs = [roof for roof in survey.roofs if roof.gutter == id]
        said = [roof.trees for roof in roofs]
        # a roof that nobody spoke of may have any trees; one under many settles it
        known = bool(said) and (None not in said or "many" in said)
        most = max((TREES.index(tree) for tree in TREES if tree in said), default=TREES.index("few"))
        trees = TREES[most]
        needles = any(roof.tree_kind in ("needle", "both") for roof in roofs)
        guard = guards[id]
        best, source = _times(trees, needles, guard)
        given = job.gutters.get(id, model.Gutter()).cleaned
        out.append(
            GutterCare(
                id,
                tuple(below),
                trees if known else None,
                needles,
                guard,
                best if known else _times("none", False, guard)[0],
                best,
                best if known else _times("many", True, guard)[0],
                given.value_si if given is not None else None,
                source,
            )
        )
    return tuple(out)


def _times(trees: str, needles: bool, guard: bool) -> tuple[float, str]:
    kind = "any" if trees == "none" else "needle" if needles else "broadleaf"
    row = next(
        row
        for row in tables.rows("gutter_care")
        if (row["trees"], row["tree_kind"], row["guard"]) == (trees, kind, "yes" if guard else "no")
    )
    return parse(row["times"], Dimension.FREQUENCY).value_si, row["source"]
