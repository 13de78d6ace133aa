"""Where every part of a design stands on plan, in true metres: what a page needs to draw and to move it by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from roofwell.design.result import Design
from roofwell.papers.drawing.model import XY
from roofwell.papers.drawing.way import slope_of
from roofwell.papers.texts import Say
from roofwell.system.origin import Origin
from roofwell.system.scheme import Scheme

Leaf = Literal["at", "path"]


@dataclass(frozen=True, slots=True)
class OnPlan:
    """One part on plan.

    ``table`` is the document's table of its kind; with ``id`` and ``leaf`` it is the key path that a given place has.
    A shot's table is ``survey`` and its ``id`` the name of the point. ``points``: one for ``at``, two or more for
    ``path``, metres. ``outline``: corners of a well's pit or a basin as they lie now, metres; empty of other parts.
    ``origin``: ``given`` where the document has the place itself, ``missing`` where a stand-in does for it.
    ``from_id``, ``to_id``: ends of a run; the well of an overflow and where it leads. ``says``: its figures, formatted.
    """

    id: str
    table: str
    leaf: Leaf
    points: tuple[XY, ...]
    origin: Origin
    outline: tuple[XY, ...] = ()
    outside_m: float = 0.0
    from_id: str | None = None
    to_id: str | None = None
    says: str = ""


def parts_on_plan(design: Design) -> tuple[OnPlan, ...]:
    """Return the parts of a Design (of an open range the smallest scheme) and its shots, in the order of the water."""
    return (*_parts(design, design.scheme, Say(design.survey.style)), *_shots(design))


def _parts(design: Design, scheme: Scheme, say: Say) -> Iterator[OnPlan]:
    job = design.job

    def origin(table: str, id: str, leaf: Leaf) -> Origin:
        entry = getattr(job, table).get(id)
        if entry is not None and getattr(entry, leaf):
            return "given"
        return "missing" if scheme.origin.get(f"{id}.{leaf}") == "missing" else "designed"

    for spout in scheme.downspouts:
        yield OnPlan(
            spout.id,
            "downspouts",
            "at",
            (spout.at,),
            origin("downspouts", spout.id, "at"),
            says=say.area(spout.roof_area_m2),
        )
    for wye in scheme.wyes:
        yield OnPlan(wye.id, "wyes", "at", (wye.at,), origin("wyes", wye.id, "at"))
    for run in scheme.runs:
        yield OnPlan(
            run.id,
            "runs",
            "path",
            run.path,
            origin("runs", run.id, "path"),
            outside_m=run.outside_diameter_m,
            from_id=run.from_id,
            to_id=run.to_id,
            says=f"{say.size(run.nominal_m)}, {say.slope(slope_of(run))}",
        )
    for basin in scheme.basins:
        half = basin.width_m / 2
        square = tuple(
            (basin.at[0] + a * half, basin.at[1] + b * half) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        )
        outline = basin.outline or (square if basin.shape != "round" else ())
        yield OnPlan(
            basin.id,
            "basins",
            "at",
            (basin.at,),
            origin("basins", basin.id, "at"),
            outline=outline,
            outside_m=basin.width_m,
            says=say.size(basin.width_m),
        )
    for well in scheme.wells:
        pit = say.length(well.pit_length_m)
        if well.pit_shape != "round":
            pit = f"{pit} × {say.length(well.pit_width_m)}"
        yield OnPlan(
            well.id,
            "wells",
            "at",
            (well.at,),
            origin("wells", well.id, "at"),
            outline=well.pit_corners,
            says=f"pit {pit}",
        )
    for overflow in scheme.overflows:
        yield OnPlan(
            overflow.id,
            "overflows",
            "at",
            (overflow.at,),
            origin("overflows", overflow.id, "at"),
            from_id=overflow.of,
            to_id=overflow.to,
            says=f"{overflow.called}, lip {say.level(overflow.lip_m)}",
        )
    for outlet in scheme.outlets:
        yield OnPlan(
            outlet.id,
            "outlets",
            "at",
            (outlet.at,),
            origin("outlets", outlet.id, "at"),
            says=f"{outlet.kind}, invert {say.level(outlet.invert_m)}",
        )


def _shots(design: Design) -> Iterator[OnPlan]:
    say = Say(design.survey.style)
    for shot in design.survey.shots:
        if shot.at is not None:
            yield OnPlan(shot.id, "survey", "at", (shot.at,), "given", says=say.level(shot.elevation_m))
