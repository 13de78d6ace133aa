"""The plan of the system: which part leads to which, and by what path.

Given runs are kept. A downspout whose run is left out goes to the nearest basin, else to a basin designed
before the nearest well, else to the nearest outlet; a given wye on its way takes it first. All that lead to one
goal share the trench tree of least cost (``routing``).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import shapely

from roofwell.job import model
from roofwell.system import plan_parts
from roofwell.system.facts import Survey
from roofwell.system.held_ways import LaidTree, redrawn
from roofwell.system.ledger import Ledger
from roofwell.system.place import XY, xys
from roofwell.system.route_ground import Trench
from roofwell.system.route_weights import RouteWeights, table_weights
from roofwell.system.routing import Task, routed
from roofwell.system.scheme import Blocked, Route

WYE_DETOUR = 1.25  # a given wye is on the way to the end if it makes it at most so much longer
TOUCH_M = 0.01  # a line along a wall does not pass through it
Ring = tuple[XY, ...]


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
    routes: tuple[Route, ...] = ()
    blocked: tuple[Blocked, ...] = ()
    trees: tuple[LaidTree, ...] = ()


@dataclass
class _Draft:
    places: dict[str, XY] = field(default_factory=dict)
    wyes: list[str] = field(default_factory=list)
    basins: list[str] = field(default_factory=list)
    runs: list[LaidRun] = field(default_factory=list)
    routes: list[Route] = field(default_factory=list)
    blocked: list[Blocked] = field(default_factory=list)
    trees: list[LaidTree] = field(default_factory=list)


def lay_out(
    job: model.Job,
    survey: Survey,
    *,
    pit_reach_m: Mapping[str, float],
    to_grid: Callable[[float], float],
    ledger: Ledger,
    trench: Trench | None = None,
    pit_row_m: Mapping[str, float] | None = None,
    weights: RouteWeights | None = None,
    ways: tuple[LaidTree, ...] = (),
) -> Layout:
    """Complete the plan.

    Parameters
    ----------
    trench
        The trench that is to be dug; None draws straight lines, where only the parts are asked for.
    pit_row_m
        For each well, distance from its first to its last body, m.
    weights
        What a route counts besides trench; None for the table's.
    ways
        Trees that were found a moment ago: kept where they still fit, and none is searched for.
    pit_reach_m
        For each well, how far its pit reaches from its first body towards the house, m.
    to_grid
        Rounding of a designed coordinate to the building grid.
    """
    draft = _Draft()
    spouts = plan_parts.downspouts(job, draft.places, ledger)
    wells, outlets = plan_parts.ends(job, survey, draft.places, spouts, ledger)
    draft.wyes, draft.basins = plan_parts.given_parts(job, draft.places)
    _given_runs(job, draft, ledger)
    given = tuple((run.id, run.path) for run in draft.runs)
    directions = plan_parts.directions(job, survey, draft.places, wells)
    row = pit_row_m or {}
    pits = tuple(
        (id, plan_parts.pit_ring(draft.places[id], directions[id], pit_reach_m[id], row.get(id, 0.0)))
        for id in wells
        if id in pit_reach_m
    )
    digger = _Digger(
        job, survey, draft, trench, pits, given, weights or table_weights(), to_grid, ledger, ways
    )
    digger = digger.round_buildings()
    if wells or outlets:
        # an outlet that takes a well's overflow is that well's own way out, no goal of the downspouts
        taken = {o.to for o in job.overflows.values() if o.state != "abandoned"}
        free = [id for id in outlets if id not in taken]
        _lead_downspouts(digger, spouts, wells, free, pit_reach_m)
        _lead_basins(digger, [*wells, *free])
    return Layout(
        places=draft.places,
        downspouts=tuple(spouts),
        wyes=tuple(draft.wyes),
        basins=tuple(draft.basins),
        wells=tuple(wells),
        outlets=tuple(outlets),
        runs=tuple(_in_water_order(draft.runs)),
        directions=directions,
        routes=tuple(draft.routes),
        blocked=tuple(draft.blocked),
        trees=tuple(draft.trees),
    )


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


def _add_run(job: model.Job, draft: _Draft, from_id: str, to_id: str, path: Sequence[XY]) -> str:
    """Add a designed run under a free label, or under that of a given run that names only these ends."""
    half_given = next(
        (
            id
            for id, run in job.runs.items()
            if run.from_ == from_id
            and run.to in (None, to_id)
            and run.state != "abandoned"
            and id not in {r.id for r in draft.runs}
        ),
        None,
    )
    id = half_given or _free_label("P", _used(job, draft))
    draft.runs.append(LaidRun(id, from_id, to_id, tuple(path), job.runs.get(id, model.Run())))
    return id


@dataclass(frozen=True)
class _Digger:
    """What every tree of one plan has in common."""

    job: model.Job
    survey: Survey
    draft: _Draft
    trench: Trench | None
    pits: tuple[tuple[str, Ring], ...]
    given_runs: tuple[tuple[str, tuple[XY, ...]], ...]
    weights: RouteWeights
    to_grid: Callable[[float], float]
    ledger: Ledger
    ways: tuple[LaidTree, ...] = ()

    def lead(self, users: Sequence[str], goal: str) -> None:
        """Lead some parts to a goal by one tree, and write down its runs and wyes."""
        job, draft = self.job, self.draft
        if self.trench is None:
            for id in users:
                _add_run(job, draft, id, goal, (draft.places[id], draft.places[goal]))
            return
        sources, at = tuple(draft.places[id] for id in users), draft.places[goal]
        found = redrawn(self.ways, users, goal, sources=sources, at=at, buildings=self.survey.buildings)
        found = found or routed(self._task(users, goal, self.trench), self.survey.ground)
        draft.trees.append(LaidTree(tuple(users), goal, sources, at, found))
        wyes = [self._wye(place) for place in found.wyes]
        ids = {}
        for piece in found.pieces:
            start = users[piece.start] if piece.start >= 0 else wyes[-1 - piece.start]
            end = goal if piece.end is None else wyes[-1 - piece.end]
            inner = [(self.to_grid(x), self.to_grid(y)) for x, y in piece.path[1:-1]]
            path = (draft.places[start], *inner, draft.places[end])
            ids[piece.start] = _add_run(job, draft, start, end, path)
            self.ledger.origin[f"{ids[piece.start]}.path"] = "designed"
        for way in found.no_way:
            draft.blocked.append(Blocked(ids[way.source], way.between, way.width_m, self.trench.width_m))
        if found.rounds:
            lost = {way.source for way in found.no_way}
            reached = tuple(id for i, id in enumerate(users) if i not in lost)
            gap = found.solved_m3 / found.expected_m3 - 1
            draft.routes.append(
                Route(
                    goal=goal,
                    sources=reached,
                    exact=found.exact,
                    expected_m3=found.expected_m3,
                    solved_m3=found.solved_m3,
                    gap_share=gap,
                    rounds=found.rounds,
                    weighed_by=self.weights.basis,
                )
            )

    def _task(self, users: Sequence[str], goal: str, trench: Trench, *, without: str | None = None) -> Task:
        outlet = self.job.outlets.get(goal)
        return Task(
            sources=tuple(self.draft.places[id] for id in users),
            goal=self.draft.places[goal],
            goal_invert_m=outlet.invert.value_si
            if outlet is not None and outlet.invert is not None
            else None,
            buildings=self.survey.buildings,
            features=self.survey.features,
            pits=self.pits,
            trench=trench,
            style=self.survey.style,
            weights=self.weights,
            given_runs=tuple(item for item in self.given_runs if item[0] != without),
            joins_at_goal=goal in self.job.wyes,
        )

    def round_buildings(self) -> _Digger:
        """Lead a new run of which only the ends are given round the buildings that a straight line would hit.

        Elsewhere it keeps its straight line; what is there already is not led anew.
        """
        houses = [
            shapely.Polygon(b.outline).buffer(-TOUCH_M) for b in self.survey.buildings if len(b.outline) >= 3
        ]
        if self.trench is None or not houses:
            return self
        runs = self.draft.runs
        for i, run in enumerate(runs):
            straight = shapely.LineString(run.path)
            if (
                run.given.path
                or run.given.state == "existing"
                or not any(h.intersects(straight) for h in houses)
            ):
                continue
            task = self._task([run.from_id], run.to_id, self.trench, without=run.id)
            found = routed(task, self.survey.ground)
            if found.no_way or len(found.pieces) != 1:
                continue  # the straight line stays, and the check of clear paths tells it
            inner = [(self.to_grid(x), self.to_grid(y)) for x, y in found.pieces[0].path[1:-1]]
            runs[i] = replace(run, path=(run.path[0], *inner, run.path[-1]))
        return replace(self, given_runs=tuple((run.id, run.path) for run in runs))

    def _wye(self, place: XY) -> str:
        wye = _free_label("Y", _used(self.job, self.draft))
        self.draft.places[wye] = (self.to_grid(place[0]), self.to_grid(place[1]))
        self.draft.wyes.append(wye)
        self.ledger.origin[f"{wye}.at"] = "designed"
        return wye


def _lead_basins(digger: _Digger, ends: Sequence[str]) -> None:
    """Lead each basin without a run to the nearest end."""
    draft, at = digger.draft, digger.draft.places
    loose = [basin for basin in draft.basins if not _has_run(draft, basin)]
    goals = {basin: min(ends, key=lambda e: (math.dist(at[basin], at[e]), e)) for basin in loose}
    for goal in sorted(set(goals.values())):
        digger.lead([basin for basin in loose if goals[basin] == goal], goal)


def _goals(draft: _Draft, loose: Sequence[str], ends: Sequence[str]) -> dict[str, str]:
    """Where each part without a run leads: to the nearest end, or first to a given wye on the way there.

    A given wye that takes something is led on itself.
    """
    at = draft.places

    def near(id: str, to: Iterable[str]) -> str:
        return min(to, key=lambda part: (math.dist(at[id], at[part]), part))

    open_ = {wye: near(wye, ends) for wye in draft.wyes if not _has_run(draft, wye)}
    goals: dict[str, str] = {}
    for id in loose:
        end = near(id, ends)
        fit = [
            wye
            for wye, onward in open_.items()
            if onward == end
            and math.dist(at[id], at[wye]) + math.dist(at[wye], at[end])
            <= WYE_DETOUR * math.dist(at[id], at[end])
        ]
        goals[id] = near(id, fit) if fit else end
    taking = set(goals.values()) | {run.to_id for run in draft.runs}
    return goals | {wye: end for wye, end in open_.items() if wye in taking}


def _lead_downspouts(
    digger: _Digger,
    spouts: Sequence[str],
    wells: Sequence[str],
    outlets: Sequence[str],
    pit_reach_m: Mapping[str, float],
) -> None:
    draft, ledger = digger.draft, digger.ledger
    loose = [id for id in spouts if not _has_run(draft, id)]
    goals = _goals(draft, loose, list(draft.basins) or [*wells, *outlets])
    if not goals:
        return
    for well in wells:
        users = [id for id, goal in goals.items() if goal == well]
        if users:
            basin = _free_label("B", _used(digger.job, draft))
            clear = ledger.assume("layout.basin_before_well", "basin-before-well")
            x, y = plan_parts.basin_before(
                draft.places[well], digger.survey, pit_reach_m.get(well, 0.5), clear
            )
            draft.places[basin] = (digger.to_grid(x), digger.to_grid(y))
            draft.basins.append(basin)
            ledger.origin[f"{basin}.at"] = "designed"
            goals |= dict.fromkeys(users, basin)
    ledger.assume("layout.trench_offset", "trench-offset")
    # trees into a given wye first: the wye is then a source of the tree that takes its water on
    for goal in sorted(set(goals.values()), key=lambda id: (id not in draft.wyes, id)):
        digger.lead([id for id in goals if goals[id] == goal], goal)


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
