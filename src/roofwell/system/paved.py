"""Where runs that are still to be laid pass under walks and drives, and by which way that costs less."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from roofwell.job import model
from roofwell.physics.trench import route
from roofwell.system import side_pipes
from roofwell.system.facts import Survey
from roofwell.system.ledger import Ledger
from roofwell.system.origin import Origin
from roofwell.system.route_ground import outline
from roofwell.system.route_weights import RouteWeights, cheapest, table_weights
from roofwell.system.scheme import PavedCrossing, Run

TOUCHED_M = 0.01  # a run that comes no farther into a walk only touches it


def paved_crossings(
    job: model.Job, survey: Survey, runs: Sequence[Run], weights: RouteWeights | None, ledger: Ledger
) -> tuple[PavedCrossing, ...]:
    """Return every stretch of a run under a walk or drive, in the order of the runs and along them.

    A run that stands already passes nothing any more. ``weights`` are those that the route was searched by.
    """
    prices = weights or table_weights()
    there = side_pipes.standing(job)
    out = []
    for run in runs:
        if run.id in there or len(run.path) < 2:
            continue
        line = shapely.LineString(run.path)
        given = ledger.origin.get(f"{run.id}.path") == "given"
        origin: Origin = "assumed" if given else "designed"
        own = []
        for feature in survey.of_kind("walk", "drive"):
            shape = outline(feature.points)
            if not line.intersects(shape):
                continue
            inside = shape.buffer(-TOUCHED_M)
            corners = [
                float(line.project(shapely.Point(at)))
                for at in run.path
                if inside.contains(shapely.Point(at))
            ]
            for first, last in route.crossings(run.path, shape):
                if last - first <= TOUCHED_M:
                    continue
                turns = any(first <= at <= last for at in corners)
                way = cheapest(prices.ways(feature.kind), last - first, turns_inside=turns)
                own.append(
                    PavedCrossing(feature.id, feature.kind, run.id, first, last - first, way.name, origin)
                )
        out += sorted(own, key=lambda crossing: crossing.station_m)
    return tuple(out)
