"""The Overland step: where water that leaves the system runs over the ground, how deep, and whom it comes near.

Everything is that of the cloudburst: bowls on the way count as full already, nothing soaks in on the way, and ways that
meet add up. What the water does beyond the lot line nobody has measured.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import shapely

from roofwell.physics.ground.descent import WaterWay
from roofwell.physics.ground.ponding import Pond
from roofwell.system.behaviour import Behaviour
from roofwell.system.bowls import bowls
from roofwell.system.drawn_way import drawn_way
from roofwell.system.facts import FeatureFact, Survey
from roofwell.system.lawn import (
    Lawn,
    ends_of,
    lawn_of,
    next_shot,
    straight_to_line,
    way_from,
    why_it_ends,
)
from roofwell.system.leaving import come_out_m3_s, comes_m3_s, leaves_m3_s
from roofwell.system.overland_facts import Near, Overland, OverLine, Ponded, SpillWay, WaterAt
from roofwell.system.running_water import adding_up, running
from roofwell.system.scheme import XY, Scheme
from roofwell.system.shapes_of import shape_of


def overland(scheme: Scheme, survey: Survey, behaviour: Behaviour) -> Overland:
    """Follow all water that leaves the system over the ground."""
    outs = _outs(scheme, behaviour)
    lawn = lawn_of(survey)
    if isinstance(lawn, str):
        ways = tuple(_unknown(part, of, at, flow, survey, lawn) for part, of, at, flow in outs)
        names = tuple(spout.id for spout in scheme.downspouts)
        parts = tuple(way.part for way in ways if way.flow_m3_s > 0)
        return Overland(_with_drawn(ways, scheme, survey), OverLine((), (), names, parts), (), lawn)
    found = {part: way_from(lawn, at) for part, _, at, _ in outs}
    flows = adding_up({part: (found[part], flow) for part, _, _, flow in outs})
    ways = tuple(
        _spill(part, of, at, flow, found[part], flows, survey, behaviour, lawn) for part, of, at, flow in outs
    )
    line = _over_line(scheme, behaviour, ways, lawn)
    return Overland(_with_drawn(ways, scheme, survey), line, bowls(scheme, survey, lawn.ground))


def _with_drawn(ways: Sequence[SpillWay], scheme: Scheme, survey: Survey) -> tuple[SpillWay, ...]:
    """The ways, each with what the job draws for it."""
    paths = {overflow.id: overflow.path for overflow in scheme.overflows}
    lines = ends_of(survey)
    return tuple(replace(way, drawn=drawn_way(paths.get(way.part, ()), way, lines, survey)) for way in ways)


def _outs(scheme: Scheme, behaviour: Behaviour) -> list[tuple[str, str, XY, float]]:
    """Every part that lets water out on the ground: id, its well, its place, its flow in the cloudburst."""
    out = [
        (o.id, o.of, o.at, leaves_m3_s(scheme, behaviour, o))
        for o in scheme.overflows
        if o.to is None and any(well.id == o.of for well in behaviour.wells)
    ]
    for outlet in scheme.outlets:
        if outlet.onto_lawn:
            wells = [o.of for o in scheme.overflows if o.to == outlet.id]
            flow = comes_m3_s(scheme, behaviour, outlet)
            out.append((outlet.id, wells[0] if len(wells) == 1 else "", outlet.at, flow))
    return out


def _unknown(part: str, of: str, at: XY, flow: float, survey: Survey, why_not: str) -> SpillWay:
    """A way that nobody can tell: the shot that helps most is one where the water leaves."""
    straight, shot = straight_to_line(at, ends_of(survey))
    return SpillWay(
        part=part, of=of, at=at, flow_m3_s=flow, points=(), length_m=math.nan, leaves_by=None, leaves_at=None,
        straight_m=straight, why_not=why_not, next_shot=shot or at, water=(), ponds=(), walks=(), houses=(), septic=(),
        neighbors=(),
    )  # fmt: skip


def _spill(
    part: str,
    of: str,
    at: XY,
    flow: float,
    way: WaterWay | str,
    flows: Mapping[tuple[XY, XY], float],
    survey: Survey,
    behaviour: Behaviour,
    lawn: Lawn,
) -> SpillWay:
    if isinstance(way, str):
        return _unknown(part, of, at, flow, survey, way)
    straight, _ = straight_to_line(at, lawn.lines)
    water = tuple(running(way, flows, lawn)) if flow > 0 else ()
    wet = _wet(way, water)
    last = (float(way.points[-1, 0]), float(way.points[-1, 1]))
    leaves = way.end == "line"
    by = min(lawn.lines, key=lambda line: line[2].distance(shapely.Point(last)))[:2] if leaves else None
    record = behaviour.well(of).record if of else None
    spilled = record.greatest_spill_m3 if record is not None else 0.0
    once = way_from(lawn, at, volume_m3=spilled) if spilled > 0 else None
    least = None
    if (
        record is not None
        and record.greatest_spill_m3_s > 0
        and not isinstance(once, str)
        and once is not None
    ):
        own = adding_up({part: (once, record.greatest_spill_m3_s)})
        least = max((one.depth_m for one in running(once, own, lawn)), default=None)
    return SpillWay(
        part=part,
        of=of,
        at=at,
        flow_m3_s=flow,
        points=tuple(
            (float(x), float(y), float(z)) for (x, y), z in zip(way.points, way.elevations, strict=True)
        ),
        length_m=way.length_m,
        leaves_by=None if by is None else (f"the {by[1]}" if by[1] == "lot line" else f"the {by[1]} {by[0]}"),
        leaves_at=last if leaves else None,
        straight_m=straight,
        why_not="" if leaves else why_it_ends(way),
        next_shot=None if leaves else next_shot(way, lawn.lines),
        water=water,
        ponds=tuple(_ponded(pond) for pond in way.ponds),
        walks=tuple(f.id for f in survey.of_kind("walk", "drive") if shape_of(f).intersects(wet)),
        houses=tuple(
            Near(
                b.id,
                "house",
                float(wet.distance(shapely.Polygon(b.outline))),
                _highest_near(shapely.Polygon(b.outline), way, water, lawn),
            )
            for b in survey.buildings
            if len(b.outline) >= 3
        ),
        septic=_near(wet, survey.of_kind("septic tank", "leach field")),
        neighbors=_near(wet, survey.neighbors),
        record_flow_m3_s=None if record is None else record.greatest_spill_m3_s,
        record_volume_m3=None if record is None else record.greatest_spill_m3,
        record_depth_m=least,
        record_stays=None if once is None or isinstance(once, str) else once.end == "stands",
    )


def _wet(way: WaterWay, water: Sequence[WaterAt]) -> shapely.Geometry:
    """All ground under water: each stretch as wide as its water, and the bowls."""
    by_station = {round(one.station_m, 6): one.width_m for one in water}
    stations = way.stations
    pieces: list[shapely.Geometry] = [pond.outline for pond in way.ponds]
    for i, what in enumerate(way.stretches):
        if what == "pond":
            continue
        width = by_station.get(round(float(0.5 * (stations[i] + stations[i + 1])), 6), 0.0)
        step = shapely.LineString(way.points[i : i + 2])
        pieces.append(step.buffer(width / 2, cap_style="flat") if width > 0 and step.length > 0 else step)
    return shapely.union_all(pieces) if pieces else shapely.Point(way.points[0])


def _highest_near(
    house: shapely.Geometry, way: WaterWay, water: Sequence[WaterAt], lawn: Lawn
) -> float | None:
    """Highest water surface whose edge comes near a house; None where none does."""
    levels = [
        one.level_m
        for one in water
        if house.distance(shapely.Point(one.at)) - one.width_m / 2 <= lawn.near_house_m
    ]
    levels += [pond.level_m for pond in way.ponds if pond.outline.distance(house) <= lawn.near_house_m]
    return max(levels, default=None)


def _near(wet: shapely.Geometry, features: Sequence[FeatureFact]) -> tuple[Near, ...]:
    return tuple(Near(f.id, f.kind, float(wet.distance(shape_of(f)))) for f in features if f.points)


def _ponded(pond: Pond) -> Ponded:
    areas = [g for g in shapely.get_parts(pond.outline) if g.geom_type == "Polygon"]
    ring = max(areas, key=lambda g: g.area).exterior.coords if areas else ()
    return Ponded(
        level_m=pond.level_m,
        depth_m=pond.depth_m,
        area_m2=pond.area_m2,
        volume_m3=pond.volume_m3,
        outline=tuple((float(x), float(y)) for x, y in ring),
        spills_at=pond.spill_at,
        at_rim=pond.at_rim,
    )


def _over_line(
    scheme: Scheme,
    behaviour: Behaviour,
    ways: Sequence[SpillWay],
    lawn: Lawn,
) -> OverLine:
    """What leaves the lot with and without the system."""
    before, unknown_before = [], []
    peaks = {flow.id: min(flow.peak_m3_s, flow.limit_m3_s) for flow in behaviour.downspouts}
    for spout in scheme.downspouts:
        way = way_from(lawn, spout.at)
        if isinstance(way, str) or way.end != "line":
            unknown_before.append(spout.id)
        else:
            before.append((spout.id, peaks[spout.id]))
    after = [(way.part, way.flow_m3_s) for way in ways if way.leaves_at is not None and way.flow_m3_s > 0]
    lost = [way.part for way in ways if way.leaves_at is None and way.flow_m3_s > 0]
    places: dict[str, XY] = {spout.id: spout.at for spout in scheme.downspouts}
    places |= {basin.id: basin.at for basin in scheme.basins}
    places |= {wye.id: wye.at for wye in scheme.wyes}
    places |= {well.id: well.at for well in scheme.wells}
    for id, flow in come_out_m3_s(behaviour).items():
        found = way_from(lawn, places[id]) if id in places else "nobody knows where it stands"
        if isinstance(found, str) or found.end != "line":
            lost.append(id)
        else:
            after.append((id, flow))
    return OverLine(tuple(before), tuple(after), tuple(unknown_before), tuple(lost))
