"""Bowls in which a well or basin lies, so that what stands on the lawn can run in too."""

from __future__ import annotations

import numpy as np
import shapely

from roofwell import tables
from roofwell.physics.ground.descent import Ground, way_down
from roofwell.system.facts import Survey
from roofwell.system.lawn import is_outline
from roofwell.system.overland_facts import Bowl
from roofwell.system.scheme import Scheme


def bowls(scheme: Scheme, survey: Survey, ground: Ground) -> tuple[Bowl, ...]:
    """Return the bowls in which a well or a basin lies: those that stood before, and those that the shots show."""
    least = tables.limit("bowl-depth", survey.style).value_si
    places = [
        (well.id, overflow.id, well.at, overflow.lip_m, shapely.Polygon(well.pit_corners))
        for well in scheme.wells
        if (overflow := scheme.overflow_of(well.id)) is not None
    ]
    places += [
        (basin.id, basin.id, basin.at, basin.grate_m, shapely.Point(basin.at)) for basin in scheme.basins
    ]
    puddle = shapely.Polygon(survey.puddle) if is_outline(survey.puddle) else None
    level = _puddle_level(survey, ground, puddle) if puddle is not None else None
    out = []
    for part, lip_of, at, lip, area in places:
        if puddle is not None and level is not None and puddle.intersects(area):
            bottom = level - (survey.puddle_depth_m or 0.0)
            volume = float(puddle.area) * (level - bottom) / 2  # a bowl's sides taken as straight
            out.append(Bowl(part, lip_of, lip, level, True, float(puddle.area), volume))
            continue
        if ground.mesh.find([at])[0] < 0:
            continue
        pond = next(iter(way_down(ground, at).ponds), None)
        if pond is None or pond.at_rim or pond.depth_m < least or not pond.outline.covers(shapely.Point(at)):
            continue
        out.append(Bowl(part, lip_of, lip, pond.level_m, False, pond.area_m2, pond.volume_m3))
    return tuple(out)


def _puddle_level(survey: Survey, ground: Ground, puddle: shapely.Polygon) -> float | None:
    """Level of the puddle that was seen: its depth over the lowest ground in it, else the ground along its edge."""
    edge = [z for at in survey.puddle if (z := ground.elevation_m(at)) is not None]
    if not edge:
        return None
    if survey.puddle_depth_m is None:
        return float(np.mean(edge))
    inside = shapely.contains_xy(puddle, ground.mesh.points[:, 0], ground.mesh.points[:, 1])
    lowest: float = min(*edge, *ground.z[inside].tolist())
    return lowest + survey.puddle_depth_m
