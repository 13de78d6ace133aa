"""Water running over the lawn: what runs in each stretch of a way, and what stands over the place where it comes out."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from roofwell import tables
from roofwell.physics.ground import shallow
from roofwell.physics.ground.descent import WaterWay
from roofwell.system.facts import Survey
from roofwell.system.lawn import Lawn, lawn_of, way_from
from roofwell.system.overland_facts import WaterAt
from roofwell.system.scheme import XY, LawnWater

_SHORT_M = 0.02  # stretches shorter than this tell nothing about the flow
_LEAST_FALL = 1e-4


def _key(point: np.ndarray[tuple[int], np.dtype[np.float64]]) -> tuple[float, float]:
    return (round(float(point[0]), 6), round(float(point[1]), 6))


def adding_up(ways: Mapping[str, tuple[WaterWay | str, float]]) -> dict[tuple[XY, XY], float]:
    """Return the flow of every stretch, m³/s: ways that meet run on together."""
    out: dict[tuple[XY, XY], float] = defaultdict(float)
    for way, flow in ways.values():
        if isinstance(way, str):
            continue
        for i in range(len(way.points) - 1):
            out[(_key(way.points[i]), _key(way.points[i + 1]))] += flow
    return out


def running(way: WaterWay, flows: Mapping[tuple[XY, XY], float], lawn: Lawn) -> Iterator[WaterAt]:
    """Yield the water in the middle of every stretch that falls, down the way."""
    stations = way.stations
    for i, what in enumerate(way.stretches):
        length = float(stations[i + 1] - stations[i])
        fall = float(way.elevations[i] - way.elevations[i + 1])
        if what == "pond" or length < _SHORT_M or fall / length < _LEAST_FALL:
            continue
        middle = 0.5 * (way.points[i] + way.points[i + 1])
        section = shallow.cross_section(
            lawn.ground.mesh,
            lawn.ground.z,
            at=middle,
            direction=way.points[i + 1] - way.points[i],
            reach_m=lawn.reach_m,
        )
        flow = flows[(_key(way.points[i]), _key(way.points[i + 1]))]
        runs = shallow.normal_depth(
            section,
            flow_m3_s=flow,
            fall_m_m=fall / length,
            manning_n=lawn.manning_n,
            side_slope=lawn.side_slope,
        )
        yield WaterAt(
            station_m=float(0.5 * (stations[i] + stations[i + 1])),
            at=(float(middle[0]), float(middle[1])),
            ground_m=float(0.5 * (way.elevations[i] + way.elevations[i + 1])),
            fall_m_m=fall / length,
            flow_m3_s=flow,
            depth_m=runs.depth_m,
            width_m=runs.width_m,
            velocity_m_s=runs.velocity_m_s,
            in_hollow=runs.from_ground,
        )


def standing_over(survey: Survey, at: XY, flow_m3_s: float, *, out_m: float) -> LawnWater | None:
    """Return the water that stands over a place where so much comes out on the lawn, by its own way from there.

    ``out_m``: the lip or inside bottom over which it comes out. Where the ground between shots lies higher than that by more
    than shots can tell, the lawn counts as graded down to it. None where no flow comes out or the shots show no way: then
    what the mouth alone asks for has to do. Other water that comes down to the same place is left out.
    """
    if not flow_m3_s > 0 or not math.isfinite(out_m):
        return None
    key = (survey.ground, survey.buildings, survey.features, tuple(sorted(survey.settings.items())))
    found = _standing(_Known(key, survey), at, flow_m3_s)
    if found is None:
        return None
    highest = out_m + tables.limit("bowl-depth", survey.style).value_si
    return replace(found, ground_m=min(found.ground_m, highest))


class _Known:
    """A survey that counts as the same where its ground, what stands on it and its settings are."""

    def __init__(self, key: tuple[object, ...], survey: Survey) -> None:
        self.key, self.survey = key, survey

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Known) and self.key == other.key


@lru_cache(maxsize=8)
def _lawn(known: _Known) -> Lawn | str:
    return lawn_of(known.survey)


@lru_cache(maxsize=256)
def _standing(known: _Known, at: XY, flow_m3_s: float) -> LawnWater | None:
    lawn = _lawn(known)
    way = way_from(lawn, at) if isinstance(lawn, Lawn) else lawn
    if isinstance(way, str) or isinstance(lawn, str) or not way.stretches:
        return None
    if way.stretches[0] == "pond":
        return LawnWater(way.ponds[0].level_m, 0.0, flow_m3_s)
    first = next(running(way, adding_up({"": (way, flow_m3_s)}), lawn), None)
    if first is None:
        return None
    # uniform flow runs level with its ground, so it stands as deep over the place itself
    return LawnWater(float(way.elevations[0]), first.depth_m, flow_m3_s)
