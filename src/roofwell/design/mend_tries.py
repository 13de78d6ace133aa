"""Single changes that an owner could make to a job, for one finding: edits of the document, each with its words.

Nothing is judged here and no target is looked at: ``mends`` tries each change by designing the changed document. A part
that stands already is not altered but replaced: its ``state`` becomes ``proposed``, so that the take-off counts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, assert_never

from roofwell import units
from roofwell.checks.finding import Finding
from roofwell.design.mend_edits import KEPT, Edit, Edits, at
from roofwell.design.mend_parts import concerned
from roofwell.design.mend_sizes import larger
from roofwell.design.result import Design
from roofwell.job import Reading
from roofwell.physics.well.shapes import BodyKind
from roofwell.system.roof_parts import length_of
from roofwell.system.safety_factor import CONSEQUENCES, by_consequence
from roofwell.system.scheme import XY, Well
from roofwell.tables.mend_levers import Lever, levers

GROUPS: dict[tuple[str, str], tuple[tuple[str, ...], str]] = {
    ("wells", "sizes"): (
        (
            *("bodies", "body_diameter", "body_height", "body_width", "body_length", "body_wall"),
            *("body_voids", "body_spacing", "piece_length", "hole_diameter", "slot_width", "hole_area"),
            *("pit_shape", "pit_diameter", "pit_length", "pit_width"),
            *("stone_below", "stone_above", "stone_depth", "bottom", "inlet_invert"),
        ),
        "sizes",
    ),
    ("wells", "fabric"): (
        ("geotextile", "geotextile_class", "geotextile_opening", "geotextile_permittivity"),
        "cloth",
    ),
    ("runs", "sizes"): (
        (
            *("nominal", "inside_diameter", "outside_diameter", "roughness"),
            *("slope", "upstream_invert", "downstream_invert", "fittings"),
        ),
        "size and levels",
    ),
    ("runs", "path"): (("path", "fittings"), "way"),
    ("basins", "levels"): (("floor", "grate", "inlet_height", "outlet_height"), "levels"),
}
"""Leaves that are left open together, and what one calls them."""
ANEW = (("runs", "sizes"), ("basins", "levels"), ("wells", "sizes"))
BODY = (
    *("body", "bodies", "body_diameter", "body_height", "body_width", "body_length", "body_wall"),
    *("body_spacing", "piece_length", "hole_diameter", "stone_below", "pit_shape"),
)
BODIES: dict[BodyKind, str] = {
    "cylinder": "upright well bodies",
    "perforated pipe": "a trench of perforated pipe",
    "arch chamber": "arched chambers",
    "box chamber": "box chambers",
    "none": "a bed of stone alone",
}
TOWARDS: tuple[tuple[str, str, XY], ...] = (
    ("further north", "up on the plan", (0.0, 1.0)),
    ("further east", "to the right on the plan", (1.0, 0.0)),
    ("further south", "down on the plan", (0.0, -1.0)),
    ("further west", "to the left on the plan", (-1.0, 0.0)),
)
NEEDS_NO_MEASUREMENT = ("set", "open")
"""Levers that may take away what a missing measurement is needed for; no other one mends what nobody has measured."""


@dataclass(frozen=True, slots=True)
class Change:
    """One change: what it is, a phrase to begin a sentence with, and its edits in their order; None takes a leaf out."""

    what: str
    edits: tuple[Edit, ...]


class Tries:
    """The changes that a job offers."""

    def __init__(self, reading: Reading, design: Design) -> None:
        self._design, self._scheme = design, design.scheme
        self._doc = Edits(reading, design)
        self._style = design.survey.style

    def of(self, finding: Finding) -> Iterator[Change]:
        """Yield the changes for a finding, the likeliest first; none that changes nothing."""
        for lever in levers(finding.code):
            if finding.verdict == "unknown" and lever.kind not in NEEDS_NO_MEASUREMENT:
                continue
            for change in self._by(lever, finding):
                edits = tuple(dict(change.edits).items())
                if any(self._doc.now(path) != value for path, value in edits):
                    yield Change(change.what, edits)

    def _by(self, lever: Lever, finding: Finding) -> Iterator[Change]:
        ids = concerned(self._scheme, lever.of, finding.subject)
        match lever.kind:
            case "set":
                yield from (self._set(lever, id) for id in ids)
            case "open":
                yield from self._open(lever, ids)
            case "open-all":
                yield from self._open_all(lever)
            case "anew":
                yield from self._anew()
            case "one-more":
                yield from (change for id in ids for change in self._one_more(id))
            case "second-well":
                yield from (change for id in ids for change in self._second_well(lever, id))
            case "other-body":
                yield from (change for id in ids for change in self._other_body(id))
            case "larger-pit":
                yield from (self._larger_pit(lever, id) for id in ids)
            case "move":
                yield from (change for id in ids for change in self._move(lever, id, finding))
            case "next-size":
                yield from self._next_size(lever.of, ids)
            case "step":
                yield from (change for id in ids for change in self._step(lever, id))
            case "safety":
                yield from self._safety()
            case _:
                assert_never(lever.kind)

    def _set(self, lever: Lever, id: str) -> Change:
        kept = self._doc.kept(lever.of, id, KEPT.get(lever.of, ()))
        pairs = [leaf.partition("=") for leaf in lever.leaves]
        edits = [(at(lever.of, id, leaf), _meant(own or lever.value(self._style))) for leaf, _, own in pairs]
        return Change(lever.what.format(part=id), (*kept, *edits))

    def _leaves(self, lever: Lever) -> tuple[list[str], str]:
        """The leaves that a lever leaves open, and what the first of them is called."""
        groups = [GROUPS.get((lever.of, leaf), ((leaf,), leaf.replace("_", " "))) for leaf in lever.leaves]
        return [leaf for of, _ in groups for leaf in of], groups[0][1]

    def _open(self, lever: Lever, ids: Iterable[str]) -> Iterator[Change]:
        leaves, what = self._leaves(lever)
        for id in ids:
            edits = (*self._doc.out(lever.of, id, leaves), *self._doc.renewed(lever.of, id))
            if self._doc.stands(lever.of, id):
                yield Change(f"a new {id}, its {what} designed", edits)
            else:
                yield Change(f"{id} with its {what} left open, to be designed", edits)

    def _open_all(self, lever: Lever) -> Iterator[Change]:
        leaves, what = self._leaves(lever)
        runs = [run.id for run in self._scheme.runs]
        edits = [
            edit
            for id in runs
            for edit in (*self._doc.out("runs", id, leaves), *self._doc.renewed("runs", id))
        ]
        laid = "laid anew" if any(self._doc.stands("runs", id) for id in runs) else "left open"
        yield Change(f"all pipe {laid}, its {what} designed", tuple(edits))

    def _anew(self) -> Iterator[Change]:
        """Every part that was given, where it is, with its sizes and levels left open; lips of overflows stay."""
        opened = [(table, GROUPS[table, group][0]) for table, group in ANEW]
        edits: list[Edit] = []
        for table, leaves in (*opened, ("overflows", ("diameter", "open_share"))):
            parts = self._doc.now(table)
            for id in parts if isinstance(parts, dict) else ():
                edits += [*self._doc.out(table, id, leaves), *self._doc.renewed(table, id)]
        new = any(value == "proposed" for _, value in edits)
        what = "a new system where the old one is" if new else "all sizes and levels left open"
        yield Change(f"{what}: pipe, basin, well and overflow designed", tuple(edits))

    def _one_more(self, id: str) -> Iterator[Change]:
        well = self._well(id)
        if well.body == "none":
            return
        thing = "well bodies" if well.body == "cylinder" else "rows"
        yield Change(
            f"{self._doc.named('wells', id)} of {well.bodies + 1} {thing} instead of {well.bodies}",
            (
                *self._doc.kept("wells", id, [leaf for leaf in BODY if leaf not in ("bodies", "pit_shape")]),
                *self._doc.out(
                    "wells", id, ("pit_shape", "pit_diameter", "pit_length", "pit_width", "bottom")
                ),
                *self._doc.renewed("wells", id),
                (at("wells", id, "bodies"), well.bodies + 1),
            ),
        )

    def _other_body(self, id: str) -> Iterator[Change]:
        """What lies in the stone of another kind, its sizes designed."""
        leaves, _ = GROUPS["wells", "sizes"]
        for kind, what in BODIES.items():
            if kind != self._well(id).body:
                yield Change(
                    f"{self._doc.named('wells', id)} as {what}, its sizes designed",
                    (
                        *self._doc.out("wells", id, leaves),
                        *self._doc.renewed("wells", id),
                        (at("wells", id, "body"), kind),
                    ),
                )

    def _larger_pit(self, lever: Lever, id: str) -> Change:
        well, more, doc = self._well(id), length_of(lever.value(self._style)), self._doc
        wide = doc.length(well.pit_width_m + more)
        if well.pit_shape == "round":
            sizes = {"pit_diameter": wide}
        else:
            sizes = {"pit_length": doc.length(well.pit_length_m + more), "pit_width": wide}
        was = units.show_length(well.pit_width_m, self._style)
        return Change(
            f"{doc.named('wells', id)} in a pit {wide} wide instead of {was}, stone all round",
            (
                *doc.kept("wells", id, BODY),
                *doc.renewed("wells", id),
                *((at("wells", id, leaf), value) for leaf, value in sizes.items()),
            ),
        )

    def _move(self, lever: Lever, id: str, finding: Finding) -> Iterator[Change]:
        if self._doc.now(at("wells", id, "at")) is None:
            return
        step = length_of(lever.value(self._style))
        far = finding.code in ("setback", "overflow-to-lot-line", "overflow-to-building")
        if far and finding.spare < -step:
            step *= -(finding.spare // step)
        for by, off in self._around(step):
            edits = (*self._doc.renewed("wells", id), *self._moved(id, off))
            yield Change(f"{self._doc.named('wells', id)} {by}", edits)

    def _around(self, step_m: float) -> Iterator[tuple[str, XY]]:
        """So far in each of four directions: in words, and as it is on the plan."""
        compass = self._doc.now("frame.north") in (None, "0 deg", 0)
        by = units.show_distance(step_m, self._style)
        for said, on_plan, towards in TOWARDS:
            yield f"{by} {said if compass else on_plan}", (step_m * towards[0], step_m * towards[1])

    def _second_well(self, lever: Lever, id: str) -> Iterator[Change]:
        """A well more, of designed sizes, to which the overflow leads on; where its own lets go nobody has said yet."""
        overflow, doc = self._scheme.overflow_of(id), self._doc
        if overflow is None or overflow.to is not None or self._scheme.links:
            return
        here = self._well(id).at
        well, over = doc.free("wells", "W"), doc.free("overflows", "O")
        for by, off in self._around(length_of(lever.value(self._style))):
            place = doc.point(here, off)
            yield Change(
                f"a second well {well}, {by}, that takes what {id} lets out",
                (
                    *doc.kept("overflows", overflow.id, KEPT["overflows"]),
                    *doc.out("overflows", overflow.id, ("path", "destination")),
                    *doc.renewed("overflows", overflow.id),
                    (at("overflows", overflow.id, "to"), well),
                    (at("wells", well, "at"), place),
                    (at("overflows", over, "of"), well),
                    (at("overflows", over, "kind"), "grate"),
                    (at("overflows", over, "at"), place),
                ),
            )

    def _moved(self, id: str, off: XY) -> Iterator[Edit]:
        """A well elsewhere: runs that end at it, an overflow on it and what is drawn from there go along."""
        well, doc = self._well(id), self._doc
        yield at("wells", id, "at"), doc.point(well.at, off)
        for run in self._scheme.runs:
            if id in (run.from_id, run.to_id) and doc.given("runs", run.id).get("path"):
                yield from doc.renewed("runs", run.id)
                end = 0 if run.from_id == id else len(run.path) - 1
                yield at("runs", run.id, "path"), self._path(run.path, end, off)
        overflow = self._scheme.overflow_of(id)
        if overflow is None or doc.given("overflows", overflow.id).get("at") is None:
            return
        if max(abs(a - b) for a, b in zip(overflow.at, well.at, strict=True)) > 0.05:
            return
        yield at("overflows", overflow.id, "at"), doc.point(overflow.at, off)
        if overflow.path and doc.given("overflows", overflow.id).get("path"):
            yield at("overflows", overflow.id, "path"), self._path(overflow.path, 0, off)

    def _path(self, path: Sequence[XY], end: int, off: XY) -> list[list[str]]:
        return [self._doc.point(place, off if k == end else (0.0, 0.0)) for k, place in enumerate(path)]

    def _step(self, lever: Lever, id: str) -> Iterator[Change]:
        """A lip, or the floor of a basin, at another level."""
        (leaf,), table, doc = lever.leaves, lever.of, self._doc
        by = length_of(lever.value(self._style))
        parts: Iterable[Any] = self._scheme.overflows if table == "overflows" else self._scheme.basins
        now = next(getattr(part, f"{leaf}_m") for part in parts if part.id == id)
        if self._scheme.origin.get(f"{id}.{leaf}_m") == "missing" or now != now:
            return
        how = {"overflows": ("higher", "lower"), "basins": ("shallower", "deeper")}[table][by < 0]
        level = doc.level(now + by)
        yield Change(
            f"the {leaf} of {doc.named(table, id)} {units.show_length(abs(by), self._style)} {how}, at {level}",
            (
                *doc.kept(table, id, KEPT[table]),
                *(self._held(id, by) if table == "basins" else ()),
                *doc.renewed(table, id),
                (at(table, id, leaf), level),
            ),
        )

    def _held(self, id: str, by_m: float) -> Iterator[Edit]:
        """Heights over a floor that goes down stay where they are in the ground."""
        basin = self._design.job.basins.get(id)
        for leaf in ("inlet_height", "outlet_height"):
            height = getattr(basin, leaf, None)
            if height is not None:
                yield at("basins", id, leaf), self._doc.height(height.value_si - by_m)

    def _next_size(self, table: str, ids: Iterable[str]) -> Iterator[Change]:
        doc = self._doc
        each: list[tuple[str, Change]] = []
        for id in ids:
            size = larger(self._scheme, doc, table, id)
            if size is None:
                continue
            kept = [leaf for leaf in KEPT.get(table, ()) if leaf not in size.leaves]
            edits = (
                *doc.kept(table, id, kept),
                *doc.renewed(table, id),
                *((at(table, id, leaf), value) for leaf, value in size.leaves.items()),
            )
            each.append((id, Change(f"{doc.named(table, id)} {size.words}", edits)))
        if (
            table == "runs" and len(each) > 1
        ):  # one pipe alone hands the water on to the next that is too small
            names = sorted(id for id, _ in each)
            edits = tuple(edit for _, change in each for edit in change.edits)
            yield Change(f"pipe one trade size larger in {', '.join(names[:-1])} and {names[-1]}", edits)
        else:
            yield from (change for _, change in each)

    def _safety(self) -> Iterator[Change]:
        """The published factors of other consequences where the job says none; the usual one for a factor of its own."""
        soil, rules = self._design.job.soil, self._design.survey.rules
        now = self._design.survey.soil.safety_factor
        office = rules is not None and rules.safety_factor is not None
        if soil.safety_factor is not None:
            given = [f"soil.{leaf}" for leaf in ("safety_factor", "safety_factor_reason")]
            edits = tuple((path, None) for path in given if self._doc.now(path) is not None)
            usual = "the office's" if office else "the usual"
            yield Change(f"{usual} safety factor on the soil's rate instead of the job's own {now:g}", edits)
        elif soil.consequence is None and not office:
            roof = sum(spout.roof_area_m2 for spout in self._scheme.downspouts)
            for name, (factor, _) in by_consequence(roof).items():
                if factor < now:
                    yield Change(
                        f"the published safety factor of {factor:g} instead of {now:g}, if what the well does not take"
                        f" does {CONSEQUENCES[name]}",
                        (("soil.consequence", name),),
                    )

    def _well(self, id: str) -> Well:
        return next(well for well in self._scheme.wells if well.id == id)


def _meant(said: str) -> Any:
    """What a table's word stands for in a document: yes and no, a whole number, else a quantity as it is written."""
    if said in ("yes", "no"):
        return said == "yes"
    return int(said) if said.isdigit() else said
