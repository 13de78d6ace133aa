"""The ladder of a well: all choices of body, number and stone; which of them digs least is told by an estimate.

What a choice holds and soaks is told in `outlook`, by its own physics; none is accepted by either.
"""

from __future__ import annotations

import math
from dataclasses import replace

from roofwell import tables
from roofwell.design.lying_ladder import lying_options, sides_m, stone_height_m, surrounds
from roofwell.job import model
from roofwell.system.choice import BodyChoice, WellChoice
from roofwell.system.facts import Survey
from roofwell.system.roof_parts import length_of
from roofwell.system.well_shapes import kind_of
from roofwell.tables import search_ladder
from roofwell.units import Style

NEARLY = 1.03  # two pits whose digging is within this ratio are not told apart


def pit_area_m2(choice: WellChoice, style: Style) -> float:
    """Estimate of the pit's area on plan, m²."""
    if choice.body.kind != "cylinder":
        length, across = sides_m(choice, style)
        return length * across
    width = choice.body.diameter_m + 2 * choice.stone_around_m
    if choice.bodies == 1:  # a round pit, unless the job gives another
        return math.pi * width**2 / 4
    spacing = choice.body.diameter_m + tables.assumption("body-spacing-clear", style).value_si
    return width * (width + (choice.bodies - 1) * spacing)


def well_options(job: model.Job, survey: Survey, id: str) -> list[WellChoice]:
    """All choices for one well; given sizes are kept."""
    given = job.wells.get(id, model.Well())
    if kind_of(given) != "cylinder":
        return lying_options(given, survey)
    most = job.settings.most_bodies
    counts = (
        [given.bodies]
        if given.bodies
        else list(range(1, most + 1) if most else search_ladder.counts("bodies"))
    )
    if given.bodies is None and given.pit_diameter is not None:
        counts = [1]  # a round pit takes one body; a row needs a long one
    around = tables.assumption("stone-around", survey.style).value_si
    return [
        WellChoice(body, count, around * share)
        for body in _bodies(given, survey)
        for count in counts
        for share in _surrounds(given)
    ]


def digging_m3(option: WellChoice, style: Style) -> float:
    """Estimate of what a choice digs, m³."""
    high = option.body.height_m if option.body.kind == "cylinder" else stone_height_m(option, style)
    return pit_area_m2(option, style) * high


def _surrounds(given: model.Well) -> tuple[float, ...]:
    """Stone all round, as a multiple of the usual; fixed where the pit is given."""
    fixed = given.pit_width is not None or given.pit_diameter is not None
    return (1.0,) if fixed else surrounds("cylinder")


def extent(option: WellChoice, style: Style) -> float:
    """What a choice's nearness to things around goes by: area of a compact pit, m²; both sides of a trench or bed, m."""
    return pit_area_m2(option, style) if option.body.kind == "cylinder" else sum(sides_m(option, style))


def _bodies(given: model.Well, survey: Survey) -> list[BodyChoice]:
    made = [
        BodyChoice(
            row["key"],
            length_of(row["diameter"]),
            length_of(row["height"]),
            length_of(row["hole_diameter"]),
            length_of(row["wall"]),
        )
        for row in tables.rows("body_sizes")
        if row["units"] == survey.style
    ]
    diameter = given.body_diameter.value_si if given.body_diameter is not None else None
    height = given.body_height.value_si if given.body_height is not None else None
    if diameter is None and height is None:
        return made
    fitting = [
        body
        for body in made
        if (diameter is None or abs(body.diameter_m - diameter) < 1e-6)
        and (height is None or abs(body.height_m - height) < 1e-6)
    ] or made[:1]
    return [
        replace(
            body,
            diameter_m=diameter or body.diameter_m,
            height_m=height or body.height_m,
            wall_m=0.0 if diameter is not None else body.wall_m,
        )
        for body in fitting
    ]
