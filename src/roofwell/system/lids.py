"""Lids and grates over the parts that can be opened, and the observation pipes: how they are held, how wide they are.

What is left out of a new part is designed: held down, and fit to be walked on. What stands already has to be looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from roofwell import tables
from roofwell.job import model
from roofwell.system.facts import Survey
from roofwell.system.scheme import XY, Scheme
from roofwell.system.shapes_of import shape_of

WALKED = ("walk", "drive")


@dataclass(frozen=True, slots=True)
class Lid:
    """A lid or grate. ``opening_m``: clear width under it. ``held``: locked, screwed or bolted down; with ``weight_kg``
    and ``grate_opening_m`` (its widest slot) None where nobody said. ``walked``: the walk or drive it lies in, or "".
    ``leaf_lid`` and ``leaf_opening``: the measurements that say more."""

    id: str
    what: str
    opening_m: float
    held: bool | None
    weight_kg: float | None
    grate_opening_m: float | None
    walked: str
    leaf_lid: str
    leaf_opening: str


@dataclass(frozen=True, slots=True)
class ObservationPipe:
    """The observation pipe of a well: whether there is one and its cap is locked, None where nobody said."""

    well: str
    there: bool | None
    locked: bool | None


def lids(job: model.Job, survey: Survey, scheme: Scheme) -> tuple[Lid, ...]:
    """Return the lids of basins and overflow grates, in the order of the Scheme."""
    near = tables.limit("walk-near", survey.style).value_si
    limit = tables.limit("walk-opening", survey.style).value_si
    basins = [
        Lid(
            basin.id,
            f"the grate of {basin.id}",
            basin.width_m,
            basin.lid_held,
            basin.lid_weight_kg,
            basin.grate_opening_m,
            _walked(survey, basin.at, basin.width_m / 2 + near),
            "basins.lid",
            "basins.grate_opening",
        )
        for basin in scheme.basins
    ]
    grates = []
    for overflow in scheme.overflows:
        if overflow.kind != "grate" or overflow.to is not None:
            continue
        given = job.overflows.get(overflow.id, model.Overflow())
        new = given.state != "existing"
        opening = given.grate_opening.value_si if given.grate_opening is not None else limit if new else None
        grates.append(
            Lid(
                overflow.id,
                f"the overflow grate {overflow.id}",
                overflow.diameter_m,
                given.grate_held if given.grate_held is not None else True if new else None,
                None,
                opening,
                _walked(survey, overflow.at, overflow.diameter_m / 2 + near),
                "overflow.lid",
                "overflow.grate_opening",
            )
        )
    return (*basins, *grates)


def observation_pipes(job: model.Job, scheme: Scheme) -> tuple[ObservationPipe, ...]:
    """Return the observation pipe of every well: a new well gets one with a locked cap."""
    out = []
    for well in scheme.wells:
        given = job.wells.get(well.id, model.Well())
        new = True if given.state != "existing" else None
        out.append(
            ObservationPipe(
                well.id,
                new if given.observation_pipe is None else given.observation_pipe,
                new if given.observation_cap_locked is None else given.observation_cap_locked,
            )
        )
    return tuple(out)


def _walked(survey: Survey, at: XY, within_m: float) -> str:
    """The walk or drive in which a place lies, or beside which it is stepped on."""
    place = shapely.Point(at)
    for kind in WALKED:
        for feature in survey.of_kind(kind):
            if shape_of(feature).distance(place) <= within_m:
                return f"{kind} {feature.id}"
    return ""
