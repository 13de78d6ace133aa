"""The ladder of a well: all choices of body, number and stone worth a try, least digging first.

Everything here is an estimate by which choices are put in order and ruled out; none is accepted by it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from roofwell import tables
from roofwell.job import model
from roofwell.system.choice import BodyChoice, WellChoice
from roofwell.system.facts import Survey
from roofwell.system.roof_parts import length_of

MOST_BODIES = 4
NEARLY = 1.03  # two estimates within this ratio are not told apart


def pit_area_m2(choice: WellChoice) -> float:
    """Estimate of the pit's area on plan, m²."""
    width = choice.body.diameter_m + 2 * choice.stone_around_m
    if choice.bodies == 1:  # a round pit, unless the job gives another
        return math.pi * width**2 / 4
    spacing = choice.body.diameter_m + tables.assumption("body-spacing-clear").value_si
    return width * (width + (choice.bodies - 1) * spacing)


def well_ladder(job: model.Job, survey: Survey, id: str) -> tuple[WellChoice, ...]:
    """All choices for one well that are worth a try, least digging first, ties by key."""
    ordered = sorted(well_options(job, survey, id), key=lambda option: (digging_m3(option), option.body.key))
    return tuple(_no_smaller(ordered))


def well_options(job: model.Job, survey: Survey, id: str) -> list[WellChoice]:
    """All choices for one well; given sizes are kept."""
    given = job.wells.get(id, model.Well())
    most = job.settings.most_bodies or MOST_BODIES
    counts = [given.bodies] if given.bodies else list(range(1, most + 1))
    if given.bodies is None and given.pit_diameter is not None:
        counts = [1]  # a round pit takes one body; a row needs a long one
    around = tables.assumption("stone-around", survey.style).value_si
    return [
        WellChoice(body, count, around * share)
        for body in _bodies(given, survey)
        for count in counts
        for share in _surrounds(given)
    ]


def digging_m3(option: WellChoice) -> float:
    """Estimate of what a choice digs, m³."""
    return pit_area_m2(option) * option.body.height_m


def holds_m3(option: WellChoice) -> float:
    """Estimate of what a choice holds, m³."""
    body = option.bodies * math.pi * option.body.diameter_m**2 / 4
    hollow = option.bodies * math.pi * (option.body.diameter_m - 2 * option.body.wall_m) ** 2 / 4
    voids = tables.assumption("voids").value_si
    bed = tables.assumption("stone-below").value_si + tables.assumption("stone-above").value_si
    stone = pit_area_m2(option) - body
    return (hollow + voids * stone) * option.body.height_m + voids * pit_area_m2(option) * bed


def _surrounds(given: model.Well) -> tuple[float, ...]:
    """Stone all round, as a multiple of the usual; fixed where the pit is given."""
    fixed = given.pit_width is not None or given.pit_diameter is not None
    return (1.0,) if fixed else (1.0, 2.0, 3.0, 4.0)


def slowness(option: WellChoice) -> tuple[float, float]:
    """Estimate of the water over each square metre that soaks: of the bottom; of bottom and sides."""
    return holds_m3(option) / pit_area_m2(option), holds_m3(option) / wetted_m2(option)


def wetted_m2(option: WellChoice) -> float:
    """Estimate of bottom and sides of the pit together, m²."""
    bottom = pit_area_m2(option)
    width = option.body.diameter_m + 2 * option.stone_around_m
    around = math.pi * width if option.bodies == 1 else 2 * (width + bottom / width)
    return bottom + around * option.body.height_m


def _no_smaller(choices: Sequence[WellChoice]) -> Iterator[WellChoice]:
    """Leave out choices that dig more than an earlier one, and neither hold more nor drain faster."""
    kept: list[tuple[float, ...]] = []
    for option in choices:
        worth = (holds_m3(option), *(-slow for slow in slowness(option)))
        if not any(worth[0] <= NEARLY * k[0] and worth[1] <= k[1] and worth[2] <= k[2] for k in kept):
            kept.append(worth)
            yield option


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
