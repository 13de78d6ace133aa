"""The parts on plan: where downspouts, wells, outlets, wyes and basins stand, given or proposed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import shapely

from roofwell import tables
from roofwell.job import model
from roofwell.system.facts import Survey
from roofwell.system.ledger import Ledger
from roofwell.system.place import XY, xy
from roofwell.system.shapes_of import shape_of

STAND_IN_DISTANCE_M = 4.5
ROW_M = 3.0


def downspouts(job: model.Job, places: dict[str, XY], ledger: Ledger) -> list[str]:
    """Write down the places of downspouts, and return their labels."""
    out = []
    for id, spout in job.downspouts.items():
        if spout.state == "abandoned":
            continue
        if spout.at is None:
            ledger.lack("downspouts")
            continue
        places[id] = xy(spout.at)
        ledger.origin[f"{id}.at"] = "given"
        out.append(id)
    if not out:
        ledger.lack("downspouts")
    return out


def ends(
    job: model.Job, survey: Survey, places: dict[str, XY], spouts: Sequence[str], ledger: Ledger
) -> tuple[list[str], list[str]]:
    """Write down the places where the water may end, and return the labels of wells and of outlets."""
    wells, outlets = [], []
    for id, well in job.wells.items():
        if well.state == "abandoned":
            continue
        if well.at is not None:
            places[id] = xy(well.at)
            ledger.origin[f"{id}.at"] = "given"
        elif not _stand_in(survey, places, spouts, id, ledger):
            continue
        wells.append(id)
    for id, outlet in job.outlets.items():
        if outlet.state == "abandoned" or outlet.at is None:
            continue
        places[id] = xy(outlet.at)
        ledger.origin[f"{id}.at"] = "given"
        outlets.append(id)
    if not wells and not outlets:
        if _stand_in(survey, places, spouts, "W1", ledger):
            wells.append("W1")
        ledger.lack("site.outlet")
    return wells, outlets


def _stand_in(survey: Survey, places: dict[str, XY], spouts: Sequence[str], id: str, ledger: Ledger) -> bool:
    """Put a well whose place is missing straight out from the lowest downspout, so that sizes have a range."""
    if not spouts:
        return False
    lowest = min(spouts, key=lambda s: (float(survey.ground.elevation_m([places[s]])[0]), s))
    at = places[lowest]
    house = next((b for b in survey.buildings if len(b.outline) >= 3), None)
    if house is None:
        out = (1.0, 0.0)
    else:
        middle = shapely.Polygon(house.outline).centroid
        away = (at[0] - middle.x, at[1] - middle.y)
        size = math.hypot(*away) or 1.0
        out = (away[0] / size, away[1] / size)
    places[id] = (at[0] + STAND_IN_DISTANCE_M * out[0], at[1] + STAND_IN_DISTANCE_M * out[1])
    ledger.lack("wells.at")
    ledger.origin[f"{id}.at"] = "missing"
    return True


def given_parts(job: model.Job, places: dict[str, XY]) -> tuple[list[str], list[str]]:
    """Write down the places of given wyes and basins, and return their labels."""
    wyes, basins = [], []
    for id, wye in job.wyes.items():
        if wye.at is not None and wye.state != "abandoned":
            places[id] = xy(wye.at)
            wyes.append(id)
    for id, basin in job.basins.items():
        if basin.at is not None and basin.state != "abandoned":
            places[id] = xy(basin.at)
            basins.append(id)
    return wyes, basins


def nearest_house(survey: Survey, at: XY) -> XY | None:
    """Return the place on a house wall that is nearest to a place."""
    best: tuple[float, XY] | None = None
    for building in survey.buildings:
        if len(building.outline) < 3:
            continue
        ring = shapely.Polygon(building.outline).exterior
        near = ring.interpolate(ring.project(shapely.Point(at)))
        distance = math.hypot(near.x - at[0], near.y - at[1])
        if best is None or distance < best[0]:
            best = (distance, (near.x, near.y))
    return None if best is None else best[1]


def directions(
    job: model.Job, survey: Survey, places: dict[str, XY], wells: Iterable[str]
) -> dict[str, float]:
    """Rows of bodies stand along the house wall, on the side with more room to all that is there."""
    out = {}
    for id in wells:
        given = job.wells[id].direction if id in job.wells else None
        if given is not None:
            out[id] = given.value_si
            continue
        at = places[id]
        house = nearest_house(survey, at)
        if house is None:
            out[id] = 0.0
            continue
        away = math.atan2(at[1] - house[1], at[0] - house[0])
        things = [shape_of(f) for f in survey.features if f.kind not in ("walk", "drive", "break line")]

        def room(angle: float, at: XY = at, things: list[shapely.Geometry] = things) -> float:
            end = (at[0] + ROW_M * math.cos(angle), at[1] + ROW_M * math.sin(angle))
            row = shapely.LineString([at, end])
            return min((float(thing.distance(row)) for thing in things), default=0.0)

        choices = [away + math.pi / 2, away - math.pi / 2]
        out[id] = max(choices, key=lambda angle: (round(room(angle), 6), -choices.index(angle)))
    return out


def pit_ring(at: XY, direction: float, reach: float, row: float) -> tuple[XY, ...]:
    """Corners of a well's pit: a row of bodies with so much room round them."""
    east, north = math.cos(direction), math.sin(direction)
    return tuple(
        (at[0] + a * east - b * north, at[1] + a * north + b * east)
        for a, b in ((-reach, -reach), (row + reach, -reach), (row + reach, reach), (-reach, reach))
    )


def basin_before(at: XY, survey: Survey, reach_m: float, clear_m: float) -> XY:
    """Return the place of a designed basin: before a well, towards the house, clear of the pit.

    It stands whole steps away from the first body: easy to set out, and pits of about one size share a route.
    """
    house = nearest_house(survey, at)
    towards = house if house is not None else (at[0] - 1.0, at[1])
    distance = math.dist(at, towards)
    unit = tables.assumption("basin-step", survey.style).value_si
    step = math.ceil((reach_m + clear_m) / unit - 1e-6) * unit
    if house is not None:
        step = min(step, 0.5 * (reach_m + distance))
    share = step / distance
    return (at[0] + share * (towards[0] - at[0]), at[1] + share * (towards[1] - at[1]))
