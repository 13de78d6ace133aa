"""The plan of the system: which part leads to which, and by what path.

Given runs are kept. A downspout whose run is left out goes to the nearest basin, else to a basin designed
before the nearest well, else straight to the nearest outlet; its path follows the wall, then runs straight.
Where two such paths meet, a wye joins them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

import shapely
import shapely.ops

from roofwell.errors import InputError
from roofwell.job import model
from roofwell.physics.trench import route
from roofwell.system.facts import FeatureFact, Survey
from roofwell.system.ledger import Ledger
from roofwell.system.place import XY, xy, xys

NEAR_WALL_M = 2.0
SAME_PLACE_M = 0.02
STAND_IN_DISTANCE_M = 4.5
ROW_M = 3.0


@dataclass(frozen=True, slots=True)
class LaidRun:
    """A run on plan. ``given`` holds what the job says of it."""

    id: str
    from_id: str
    to_id: str
    path: tuple[XY, ...]
    given: model.Run


@dataclass(frozen=True, slots=True)
class Layout:
    """Parts with their places, and the runs between them."""

    places: Mapping[str, XY]
    downspouts: tuple[str, ...]
    wyes: tuple[str, ...]
    basins: tuple[str, ...]
    wells: tuple[str, ...]
    outlets: tuple[str, ...]
    runs: tuple[LaidRun, ...]
    directions: Mapping[str, float]


@dataclass
class _Draft:
    places: dict[str, XY] = field(default_factory=dict)
    wyes: list[str] = field(default_factory=list)
    basins: list[str] = field(default_factory=list)
    runs: list[LaidRun] = field(default_factory=list)


def lay_out(
    job: model.Job, survey: Survey, *, pit_reach_m: Mapping[str, float], to_grid: object, ledger: Ledger
) -> Layout:
    """Complete the plan.

    Parameters
    ----------
    pit_reach_m
        For each well, how far its pit reaches from its first body towards the house, m.
    to_grid
        Rounding of a designed coordinate to the building grid.
    """
    draft = _Draft()
    round_to = to_grid if callable(to_grid) else float
    spouts = _downspouts(job, draft, ledger)
    wells, outlets = _ends(job, survey, draft, spouts, ledger)
    _given_parts(job, draft)
    _given_runs(job, draft, ledger)
    directions = _directions(job, survey, draft, wells)
    ends = [*wells, *outlets]
    if ends:
        _lead_basins(job, survey, draft, ends)
        _lead_downspouts(job, survey, draft, spouts, wells, outlets, pit_reach_m, round_to, ledger)
    return Layout(
        places=draft.places,
        downspouts=tuple(spouts),
        wyes=tuple(draft.wyes),
        basins=tuple(draft.basins),
        wells=tuple(wells),
        outlets=tuple(outlets),
        runs=tuple(_in_water_order(draft.runs)),
        directions=directions,
    )


def _downspouts(job: model.Job, draft: _Draft, ledger: Ledger) -> list[str]:
    out = []
    for id, spout in job.downspouts.items():
        if spout.state == "abandoned":
            continue
        if spout.at is None:
            ledger.lack("downspouts")
            continue
        draft.places[id] = xy(spout.at)
        ledger.origin[f"{id}.at"] = "given"
        out.append(id)
    if not out:
        ledger.lack("downspouts")
    return out


def _ends(
    job: model.Job, survey: Survey, draft: _Draft, spouts: Sequence[str], ledger: Ledger
) -> tuple[list[str], list[str]]:
    wells, outlets = [], []
    for id, well in job.wells.items():
        if well.state == "abandoned":
            continue
        if well.at is not None:
            draft.places[id] = xy(well.at)
            ledger.origin[f"{id}.at"] = "given"
        elif not _stand_in(survey, draft, spouts, id, ledger):
            continue
        wells.append(id)
    for id, outlet in job.outlets.items():
        if outlet.state == "abandoned" or outlet.at is None:
            continue
        draft.places[id] = xy(outlet.at)
        ledger.origin[f"{id}.at"] = "given"
        outlets.append(id)
    if not wells and not outlets:
        if _stand_in(survey, draft, spouts, "W1", ledger):
            wells.append("W1")
        ledger.lack("site.outlet")
    return wells, outlets


def _stand_in(survey: Survey, draft: _Draft, spouts: Sequence[str], id: str, ledger: Ledger) -> bool:
    """Put a well whose place is missing straight out from the lowest downspout, so that sizes have a range."""
    if not spouts:
        return False
    lowest = min(spouts, key=lambda s: (float(survey.ground.elevation_m([draft.places[s]])[0]), s))
    at = draft.places[lowest]
    house = next((b for b in survey.buildings if len(b.outline) >= 3), None)
    if house is None:
        out = (1.0, 0.0)
    else:
        middle = shapely.Polygon(house.outline).centroid
        away = (at[0] - middle.x, at[1] - middle.y)
        size = math.hypot(*away) or 1.0
        out = (away[0] / size, away[1] / size)
    draft.places[id] = (at[0] + STAND_IN_DISTANCE_M * out[0], at[1] + STAND_IN_DISTANCE_M * out[1])
    ledger.lack("wells.at")
    ledger.origin[f"{id}.at"] = "missing"
    return True


def _given_parts(job: model.Job, draft: _Draft) -> None:
    for id, wye in job.wyes.items():
        if wye.at is not None and wye.state != "abandoned":
            draft.places[id] = xy(wye.at)
            draft.wyes.append(id)
    for id, basin in job.basins.items():
        if basin.at is not None and basin.state != "abandoned":
            draft.places[id] = xy(basin.at)
            draft.basins.append(id)


def _given_runs(job: model.Job, draft: _Draft, ledger: Ledger) -> None:
    for id, run in job.runs.items():
        if run.state == "abandoned" or run.from_ is None or run.to is None:
            continue
        if run.from_ not in draft.places or run.to not in draft.places:
            continue
        path = xys(run.path)
        if len(path) < 2:
            path = (draft.places[run.from_], draft.places[run.to])
            ledger.origin[f"{id}.path"] = "designed"
        else:
            ledger.origin[f"{id}.path"] = "given"
        draft.runs.append(LaidRun(id, run.from_, run.to, path, run))


def _nearest_house(survey: Survey, at: XY) -> tuple[tuple[XY, ...], XY] | None:
    best: tuple[float, tuple[XY, ...], XY] | None = None
    for building in survey.buildings:
        if len(building.outline) < 3:
            continue
        ring = shapely.Polygon(building.outline).exterior
        near = ring.interpolate(ring.project(shapely.Point(at)))
        distance = math.hypot(near.x - at[0], near.y - at[1])
        if best is None or distance < best[0]:
            best = (distance, building.outline, (near.x, near.y))
    return None if best is None else (best[1], best[2])


def _directions(job: model.Job, survey: Survey, draft: _Draft, wells: Iterable[str]) -> dict[str, float]:
    """Rows of bodies stand along the house wall, on the side with more room to all that is there."""
    out = {}
    for id in wells:
        given = job.wells[id].direction if id in job.wells else None
        if given is not None:
            out[id] = given.value_si
            continue
        at = draft.places[id]
        house = _nearest_house(survey, at)
        if house is None:
            out[id] = 0.0
            continue
        near = house[1]
        away = math.atan2(at[1] - near[1], at[0] - near[0])
        things = [_obstacle(f) for f in survey.features if f.kind not in ("walk", "drive", "break line")]

        def room(angle: float, at: XY = at, things: list[shapely.Geometry] = things) -> float:
            end = (at[0] + ROW_M * math.cos(angle), at[1] + ROW_M * math.sin(angle))
            row = shapely.LineString([at, end])
            return min((float(thing.distance(row)) for thing in things), default=0.0)

        choices = [away + math.pi / 2, away - math.pi / 2]
        out[id] = max(choices, key=lambda angle: (round(room(angle), 6), -choices.index(angle)))
    return out


def _obstacle(feature: FeatureFact) -> shapely.Geometry:
    """A thing to keep away from; a lot line is its line, not what it encloses."""
    if len(feature.points) == 1:
        return shapely.Point(feature.points[0])
    closed = feature.shape == "outline" and len(feature.points) >= 3
    if closed and feature.kind != "lot line":
        return shapely.Polygon(feature.points)
    return shapely.LineString((*feature.points, feature.points[0]) if closed else feature.points)


def _free_label(letter: str, used: Iterable[str]) -> str:
    taken = set(used)
    number = 1
    while f"{letter}{number}" in taken:
        number += 1
    return f"{letter}{number}"


def _used(job: model.Job, draft: _Draft) -> set[str]:
    labels = set(draft.places) | {run.id for run in draft.runs}
    for table in (job.downspouts, job.wyes, job.basins, job.wells, job.outlets, job.runs, job.overflows):
        labels |= set(table)
    return labels


def _has_run(draft: _Draft, part: str) -> bool:
    return any(run.from_id == part for run in draft.runs)


def _add_run(
    job: model.Job, draft: _Draft, from_id: str, to_id: str, path: Sequence[XY], ledger: Ledger | None = None
) -> None:
    """Add a designed run under a free label, or under that of a given run that names only these ends."""
    half_given = next(
        (
            id
            for id, run in job.runs.items()
            if run.from_ == from_id and run.to in (None, to_id) and id not in {r.id for r in draft.runs}
        ),
        None,
    )
    id = half_given or _free_label("P", _used(job, draft))
    draft.runs.append(LaidRun(id, from_id, to_id, tuple(path), job.runs.get(id, model.Run())))


def _lead_basins(job: model.Job, survey: Survey, draft: _Draft, ends: Sequence[str]) -> None:
    for basin in list(draft.basins):
        if not _has_run(draft, basin):
            at = draft.places[basin]
            end = min(ends, key=lambda e: (math.dist(at, draft.places[e]), e))
            _add_run(job, draft, basin, end, (at, draft.places[end]))


def _basin_before(
    survey: Survey, draft: _Draft, well: str, reach_m: float, round_to: object, ledger: Ledger
) -> XY:
    at = draft.places[well]
    house = _nearest_house(survey, at)
    towards = house[1] if house is not None else (at[0] - 1.0, at[1])
    distance = math.dist(at, towards)
    clear = ledger.assume("layout.basin_before_well", "basin-before-well")
    step = min(reach_m + clear, 0.5 * (reach_m + distance)) if house is not None else reach_m + clear
    share = step / distance
    place = (at[0] + share * (towards[0] - at[0]), at[1] + share * (towards[1] - at[1]))
    return (round_to(place[0]), round_to(place[1])) if callable(round_to) else place


def _lead_downspouts(
    job: model.Job,
    survey: Survey,
    draft: _Draft,
    spouts: Sequence[str],
    wells: Sequence[str],
    outlets: Sequence[str],
    pit_reach_m: Mapping[str, float],
    round_to: object,
    ledger: Ledger,
) -> None:
    loose = [id for id in spouts if not _has_run(draft, id)]
    if not loose:
        return
    goals: dict[str, str] = {}
    for id in loose:
        at = draft.places[id]
        near = list(draft.basins) or [*wells, *outlets]
        goals[id] = min(near, key=lambda part: (math.dist(at, draft.places[part]), part))
    for well in wells:
        users = [id for id, goal in goals.items() if goal == well]
        if users:
            basin = _free_label("B", _used(job, draft))
            place = _basin_before(survey, draft, well, pit_reach_m.get(well, 0.5), round_to, ledger)
            draft.places[basin] = place
            draft.basins.append(basin)
            ledger.origin[f"{basin}.at"] = "designed"
            goals |= dict.fromkeys(users, basin)
    offset = ledger.assume("layout.trench_offset", "trench-offset")
    for goal in sorted(set(goals.values())):
        users = [id for id in loose if goals[id] == goal]
        paths = {id: _path(survey, draft.places[id], draft.places[goal], offset, round_to) for id in users}
        _join(job, draft, goal, paths)
    for basin in draft.basins:
        if not _has_run(draft, basin):
            at = draft.places[basin]
            end = min([*wells, *outlets], key=lambda e: (math.dist(at, draft.places[e]), e))
            _add_run(job, draft, basin, end, (at, draft.places[end]))


@lru_cache(maxsize=256)
def _along_wall(start: XY, goal: XY, outline: tuple[XY, ...], offset_m: float) -> tuple[XY, ...]:
    """The same way is asked for again with every Scheme of a search, so it is kept."""
    points = route.route_along_wall(start=start, goal=goal, outline=outline, offset_m=offset_m)
    return tuple((float(x), float(y)) for x, y in points)


def _path(survey: Survey, start: XY, goal: XY, offset_m: float, round_to: object) -> tuple[XY, ...]:
    house = _nearest_house(survey, start)
    if house is None or math.dist(start, house[1]) > NEAR_WALL_M:
        return start, goal
    try:
        path = list(_along_wall(start, goal, house[0], offset_m))
    except InputError:  # a goal inside the house: the setback will say so, the path is only drawn
        return start, goal
    if callable(round_to):
        path[1:-1] = [(round_to(x), round_to(y)) for x, y in path[1:-1]]
    return tuple(path)


def _join(job: model.Job, draft: _Draft, goal: str, paths: Mapping[str, tuple[XY, ...]]) -> None:
    """Turn single paths into a tree: the longest first; each next one ends where it meets the tree."""
    order = sorted(paths, key=lambda id: (-shapely.LineString(paths[id]).length, id))
    trunks: list[tuple[str, shapely.LineString]] = []
    joints: dict[str, list[tuple[float, str]]] = {}
    ends: dict[str, str] = {}
    for id in order:
        line = shapely.LineString(paths[id])
        meeting = _meeting(line, trunks)
        if meeting is None:
            ends[id] = goal
        else:
            station, trunk, on_trunk = meeting
            line = shapely.ops.substring(line, 0.0, station)
            trunk_line = dict(trunks)[trunk]
            place = trunk_line.interpolate(on_trunk)
            wye = next((w for s, w in joints.get(trunk, []) if abs(s - on_trunk) < SAME_PLACE_M), None)
            if wye is None:
                wye = _free_label("Y", _used(job, draft))
                draft.places[wye] = (place.x, place.y)
                draft.wyes.append(wye)
                joints.setdefault(trunk, []).append((on_trunk, wye))
            ends[id] = wye
        trunks.append((id, line))
    for id, line in trunks:
        stops = [(0.0, id), *sorted(joints.get(id, [])), (line.length, ends[id])]
        for (first, a), (last, b) in pairwise(stops):
            piece = shapely.ops.substring(line, first, last)
            path = [(float(x), float(y)) for x, y in piece.coords]
            path[0], path[-1] = draft.places[a], draft.places[b]
            _add_run(job, draft, a, b, path)


def _meeting(
    line: shapely.LineString, trunks: Sequence[tuple[str, shapely.LineString]]
) -> tuple[float, str, float] | None:
    """First place where a path meets a trunk away from the trunk's two ends: own station, trunk, its station."""
    best: tuple[float, str, float] | None = None
    for id, trunk in trunks:
        shared = line.intersection(trunk.buffer(SAME_PLACE_M / 4, cap_style="flat"))
        for part in shapely.get_parts(shared):
            if part.is_empty:
                continue
            start = min((shapely.Point(c) for c in part.coords), key=line.project)
            on_trunk = trunk.project(start)
            if on_trunk < SAME_PLACE_M or on_trunk > trunk.length - 0.15:
                continue
            station = line.project(start)
            if station < SAME_PLACE_M:
                continue
            if best is None or station < best[0] - 1e-9:
                best = (station, id, on_trunk)
    return best


def _in_water_order(runs: Sequence[LaidRun]) -> list[LaidRun]:
    """Upstream runs before the runs that they lead to."""
    left = list(runs)
    out: list[LaidRun] = []
    done: set[str] = set()
    while left:
        ready = [r for r in left if not any(o.to_id == r.from_id and o.id != r.id for o in left)]
        if not ready:
            return [*out, *left]
        out += ready
        done |= {r.id for r in ready}
        left = [r for r in left if r.id not in done]
    return out
