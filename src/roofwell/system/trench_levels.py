"""The levels of the trenches: wishes given to the choice of inverts, its answer as finished runs."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

from roofwell import tables, units
from roofwell.job import model
from roofwell.physics.trench import conflict, crossings, inverts
from roofwell.physics.trench.conflict import Conflict
from roofwell.physics.trench.profile import Crossing, InvertSolution, NodeRule, OwnCrossing, RunLine
from roofwell.system import pipe_slopes
from roofwell.system.dug_by import trench_width_m
from roofwell.system.facts import Survey
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import XY, CrossedThing, Run
from roofwell.system.trench_parts import DraftRun


def meetings(drafts: tuple[DraftRun, ...], survey: Survey) -> tuple[OwnCrossing, ...]:
    """Return where runs of this system cross each other in plan."""
    return meetings_of(
        tuple(draft.laid.id for draft in drafts),
        tuple(draft.path for draft in drafts),
        survey.settings["crossing_clearance"],
    )


@lru_cache(maxsize=64)
def meetings_of(
    ids: tuple[str, ...], paths: tuple[tuple[XY, ...], ...], clearance_m: float
) -> tuple[OwnCrossing, ...]:
    """Return where paths cross each other in plan, away from their ends."""
    return crossings.own_crossings(ids=ids, paths=paths, clearance_m=clearance_m)


def solve(
    drafts: tuple[DraftRun, ...],
    rules: tuple[NodeRule, ...],
    survey: Survey,
    settings: model.Settings,
    ledger: Ledger,
    *,
    why_not: bool,
) -> tuple[InvertSolution, tuple[Conflict, ...]]:
    """Choose the inverts; given ones are kept whatever they break.

    Wishes are given up one after the other: some room over the least cover and slope, then trenches that need
    no protection. Where even so nothing fits, the nearest inverts and, if ``why_not``, the conflicts.
    """
    for draft in drafts:
        given = draft.laid.given
        for end in ("upstream", "downstream"):
            known = getattr(given, f"{end}_invert") is not None
            ledger.origin[f"{draft.laid.id}.{end}_invert_m"] = "given" if known else "designed"
    given_depth = settings.deepest_trench
    deepest = given_depth.value_si if given_depth is not None else math.inf
    shallow = min(deepest, tables.limit("deep-pit", survey.style).value_si)
    more_cover = tables.assumption("cover-allowance", survey.style).value_si
    more_slope = tables.assumption("slope-allowance", survey.style).value_si
    crossed = meetings(drafts, survey)

    def lines(cover_m: float, slope: float, depth_m: float) -> tuple[RunLine, ...]:
        return tuple(_line(draft, survey, cover_m, slope, depth_m) for draft in drafts)

    for wish in ((more_cover, more_slope, shallow), (0.0, 0.0, shallow)):
        solution = _solved(lines(*wish), rules, crossed, survey.style, nearest=False)
        if solution is not None:
            return solution, ()
    last = lines(0.0, 0.0, deepest)
    solution = _solved(last, rules, crossed, survey.style, nearest=True)
    assert solution is not None
    if solution.feasible or not why_not:
        return solution, ()
    return solution, _conflicts(last, rules, crossed, survey.style)


@lru_cache(maxsize=128)
def _solved(
    lines: tuple[RunLine, ...],
    rules: tuple[NodeRule, ...],
    crossed: tuple[OwnCrossing, ...],
    style: units.Style,
    *,
    nearest: bool,
) -> InvertSolution | None:
    """The same trench is asked for again with every well of a search, so its solution is kept."""
    choose = inverts.solve_inverts if nearest else inverts.fit_inverts
    return choose(
        runs=lines,
        nodes=rules,
        grid_m=float(units.GRID_ELEVATION[style]),
        to_grid=lambda value: units.on_elevation_grid(value, style),
        meetings=crossed,
        best_slope_worth=tables.assumption("best-slope-worth", style).value_si,
    )


@lru_cache(maxsize=16)
def _conflicts(
    lines: tuple[RunLine, ...],
    rules: tuple[NodeRule, ...],
    crossed: tuple[OwnCrossing, ...],
    style: units.Style,
) -> tuple[Conflict, ...]:
    grid = float(units.GRID_ELEVATION[style])
    return conflict.find_conflicts(runs=lines, nodes=rules, grid_m=grid, meetings=crossed)


def _line(draft: DraftRun, survey: Survey, more_cover: float, more_slope: float, depth_m: float) -> RunLine:
    given, size = draft.laid.given, draft.size
    slope = pipe_slopes.least_slope(size.nominal_m, survey)[0] + more_slope
    greatest = max(slope, tables.limit("pipe-slope-greatest").value_si)
    fixed_slope = given.slope.value_si if given.slope is not None else None
    both = given.upstream_invert is not None and given.downstream_invert is not None
    return RunLine(
        id=draft.laid.id,
        from_node=draft.laid.from_id,
        to_node=draft.laid.to_id,
        length_m=draft.length_m,
        stations_m=draft.stations_m,
        ground_m=draft.ground_m,
        cover_m=tuple(cover + more_cover if cover > 0 else cover for cover in draft.cover_m),
        outside_diameter_m=size.outside_m,
        inside_diameter_m=size.inside_m,
        wall_m=(size.outside_m - size.inside_m) / 2,
        least_slope=slope,
        greatest_slope=greatest,
        trench_width_m=trench_width_m(size.outside_m, survey.settings),
        crossings=tuple(
            Crossing(
                thing.station_m,
                thing.top_m,
                thing.bottom_m,
                survey.settings["crossing_clearance"],
                f"{thing.label} {thing.id}",
            )
            for thing in draft.crossings
            if thing.top_m is not None and thing.bottom_m is not None
        ),
        fixed_upstream_invert_m=given.upstream_invert.value_si if given.upstream_invert is not None else None,
        fixed_downstream_invert_m=(
            given.downstream_invert.value_si if given.downstream_invert is not None else None
        ),
        fixed_slope=None if both else fixed_slope,
        best_slope=min(greatest, max(slope, pipe_slopes.best_slope(size.nominal_m))),
        greatest_depth_m=depth_m - tables.assumption("pipe-bedding", survey.style).value_si,
        cover_names=draft.cover_by,
    )


def finished(drafts: tuple[DraftRun, ...], solution: InvertSolution, survey: Survey) -> tuple[Run, ...]:
    """Return the runs with their inverts and the side on which each passes what it crosses."""
    by_id = {draft.laid.id: draft for draft in drafts}
    own: dict[str, list[CrossedThing]] = {id: [] for id in by_id}
    for item in meetings(drafts, survey):
        ends = ((item.first, item.first_station_m), (item.second, item.second_station_m))
        for (id, station), (other, there) in (ends, ends[::-1]):
            size = by_id[other].size
            wall = (size.outside_m - size.inside_m) / 2
            bottom = _invert_at(by_id[other], solution, there) - wall
            thing = CrossedThing(other, f"run {other}", station, bottom + size.outside_m, bottom, None, None)
            own[id].append(thing)
    return tuple(_finished(draft, own[id], solution) for id, draft in by_id.items())


def _invert_at(draft: DraftRun, solution: InvertSolution, station_m: float) -> float:
    up, down = solution.upstream_invert_m[draft.laid.id], solution.downstream_invert_m[draft.laid.id]
    return up + (down - up) * station_m / draft.length_m


def passed(thing: CrossedThing, invert_m: float, inside_m: float, wall_m: float) -> CrossedThing:
    """Return a crossed thing with the side on which a pipe of this invert passes it, and the clear space, m."""
    if thing.top_m is None or thing.bottom_m is None:
        return thing
    above = invert_m - wall_m - thing.top_m
    below = thing.bottom_m - (invert_m + inside_m + wall_m)
    over, clearance = above >= below, max(above, below)
    if not over and thing.top_m == thing.bottom_m:
        return replace(thing, over=over)  # only its top was measured: how far down it reaches is not known
    return replace(thing, over=over, clearance_m=clearance)


def _finished(draft: DraftRun, own: list[CrossedThing], solution: InvertSolution) -> Run:
    id, size = draft.laid.id, draft.size
    up, down = solution.upstream_invert_m[id], solution.downstream_invert_m[id]
    wall = (size.outside_m - size.inside_m) / 2
    crossed = [
        passed(thing, _invert_at(draft, solution, thing.station_m), size.inside_m, wall)
        for thing in sorted([*draft.crossings, *own], key=lambda thing: thing.station_m)
    ]
    return Run(
        id=id,
        from_id=draft.laid.from_id,
        to_id=draft.laid.to_id,
        path=draft.path,
        length_m=draft.length_m,
        pipe=size.pipe,
        nominal_m=size.nominal_m,
        inside_diameter_m=size.inside_m,
        outside_diameter_m=size.outside_m,
        manning_n=size.manning_n,
        upstream_invert_m=up,
        downstream_invert_m=down,
        fittings=draft.fittings,
        stations_m=draft.stations_m,
        ground_m=draft.ground_m,
        cover_least_m=draft.cover_m,
        cover_by=draft.cover_by,
        crossings=tuple(crossed),
        upstream_inlet_m=up,
        perforated=bool(draft.laid.given.perforated),
    )
