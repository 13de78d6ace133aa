"""Runs: pipe sizes, the ground over them, what they cross, and their inverts."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from roofwell import tables, units
from roofwell.physics.trench import inverts, route
from roofwell.physics.trench.profile import Crossing, InvertSolution, NodeRule, RunLine
from roofwell.system.choice import Choice
from roofwell.system.facts import Survey
from roofwell.system.layout import LaidRun, Layout
from roofwell.system.ledger import Ledger
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import XY, CrossedThing, PipeFitting, Run

STATION_STEP_M = 1.0
SAME_SIZE_M = 0.002  # a nominal size farther from every trade size is taken as the inside diameter
DAYLIGHT_TAPER_M = 2.5


@dataclass(frozen=True, slots=True)
class PipeSize:
    """A trade size of pipe."""

    pipe: str
    nominal_m: float
    inside_m: float
    outside_m: float
    manning_n: float


@dataclass(frozen=True, slots=True)
class DraftRun:
    """A run with everything but its inverts."""

    laid: LaidRun
    size: PipeSize
    path: tuple[XY, ...]
    length_m: float
    stations_m: tuple[float, ...]
    ground_m: tuple[float, ...]
    cover_m: tuple[float, ...]
    crossings: tuple[CrossedThing, ...]
    fittings: tuple[PipeFitting, ...]


def default_part(part: str, survey: Survey) -> str:
    """Return the key of the part that is taken where the job names none."""
    return next(row[survey.style] for row in tables.rows("default_parts") if row["part"] == part)


def pipe_sizes(pipe: str) -> tuple[PipeSize, ...]:
    """Return the trade sizes of a pipe kind, smallest first; empty if it is not in the table."""
    found = [
        PipeSize(
            row["key"],
            length_of(row["nominal"]),
            length_of(row["inside_diameter"]),
            length_of(row["outside_diameter"]),
            tables.assumption(row["manning_n"]).value_si,
        )
        for row in tables.rows("pipe_sizes")
        if row["key"] == pipe
    ]
    return tuple(sorted(found, key=lambda size: size.nominal_m))


def draft_runs(
    layout: Layout, survey: Survey, choice: Choice, setting_pipe: str | None, ledger: Ledger
) -> tuple[DraftRun, ...]:
    """Give every run its size, ground, cover, crossings and fittings; a pipe never shrinks downstream."""
    out: dict[str, DraftRun] = {}
    for laid in layout.runs:
        upstream = [draft.size for draft in out.values() if draft.laid.to_id == laid.from_id]
        size = _size(laid, survey, choice, setting_pipe, upstream, ledger)
        length = route.path_length_m(laid.path)
        stations, points = route.station_points(laid.path, STATION_STEP_M)
        ground = survey.ground.elevation_m(points)
        cover = _cover(laid, layout, survey, np.asarray(stations), points, length, size)
        out[laid.id] = DraftRun(
            laid=laid,
            size=size,
            path=laid.path,
            length_m=length,
            stations_m=tuple(float(s) for s in stations),
            ground_m=tuple(float(z) for z in ground),
            cover_m=cover,
            crossings=_crossings(laid, survey, ledger),
            fittings=_fittings(laid),
        )
    return tuple(out.values())


def _size(
    laid: LaidRun,
    survey: Survey,
    choice: Choice,
    setting_pipe: str | None,
    upstream: list[PipeSize],
    ledger: Ledger,
) -> PipeSize:
    given = laid.given
    pipe = given.pipe or setting_pipe or default_part("pipe", survey)
    ledger.origin[f"{laid.id}.pipe"] = "given" if given.pipe or setting_pipe else "designed"
    sizes = pipe_sizes(pipe) or pipe_sizes(default_part("pipe", survey))
    name = f"{laid.id}.inside_diameter_m"
    if given.nominal is not None or given.inside_diameter is not None:
        ledger.origin[name] = ledger.origin[f"{laid.id}.nominal_m"] = "given"
        wanted = (given.nominal or given.inside_diameter).value_si  # type: ignore[union-attr]
        near = min(sizes, key=lambda size: abs(size.nominal_m - wanted))
        inside = near.inside_m if abs(near.nominal_m - wanted) < SAME_SIZE_M else wanted
        if given.inside_diameter is not None:
            inside = given.inside_diameter.value_si
        if given.outside_diameter is not None:
            outside = given.outside_diameter.value_si
        else:
            outside = inside + near.outside_m - near.inside_m
        nominal = given.nominal.value_si if given.nominal is not None else near.nominal_m
        return PipeSize(pipe, nominal, inside, max(outside, inside), given.roughness or near.manning_n)
    ledger.origin[name] = ledger.origin[f"{laid.id}.nominal_m"] = "designed"
    least = max((size.nominal_m for size in upstream), default=0.0)
    smallest = tables.assumption(
        "smallest-pipe-us" if survey.style == "us" else "smallest-pipe-metric"
    ).value_si
    fit = [size for size in sizes if size.nominal_m >= max(least, smallest) - 1e-9] or [sizes[-1]]
    size = fit[min(choice.pipe_steps.get(laid.id, 0), len(fit) - 1)]
    return (
        size
        if given.roughness is None
        else PipeSize(size.pipe, size.nominal_m, size.inside_m, size.outside_m, given.roughness)
    )


def _cover(
    laid: LaidRun,
    layout: Layout,
    survey: Survey,
    stations: np.ndarray,
    points: np.ndarray,
    length: float,
    size: PipeSize,
) -> tuple[float, ...]:
    """Least cover wanted at each station: lawn, walk or drive; none where a run comes out to daylight."""
    cover = np.full(len(stations), survey.settings["cover_lawn"])
    for kind in ("walk", "drive"):
        for feature in survey.of_kind(kind):
            if feature.shape != "outline" or len(feature.points) < 3:
                continue
            inside = shapely.contains_xy(
                shapely.Polygon(feature.points).buffer(0.3), points[:, 0], points[:, 1]
            )
            cover = np.where(inside, np.maximum(cover, survey.settings[f"cover_{kind}"]), cover)
    if laid.to_id in layout.outlets:
        cover = np.where(stations > length - DAYLIGHT_TAPER_M, -size.outside_m, cover)
    return tuple(float(c) for c in cover)


def _crossings(laid: LaidRun, survey: Survey, ledger: Ledger) -> tuple[CrossedThing, ...]:
    out = []
    for feature in survey.of_kind("existing drain", "utility"):
        if feature.shape == "point" or len(feature.points) < 2:
            continue
        for first, last in route.crossings(laid.path, shapely.LineString(feature.points)):
            if feature.top_m is None:
                ledger.lack("features.utility_depth")
            label = feature.utility or feature.kind
            bottom = feature.bottom_m if feature.bottom_m is not None else feature.top_m
            out.append(CrossedThing(feature.id, label, (first + last) / 2, feature.top_m, bottom, None, None))
    return tuple(sorted(out, key=lambda thing: thing.station_m))


def _fittings(laid: LaidRun) -> tuple[PipeFitting, ...]:
    if laid.given.fittings:
        return tuple(
            PipeFitting(f.kind, f.station.value_si, f.angle.value_si if f.angle is not None else 0.0, f.kind)
            for f in laid.given.fittings
        )
    out = []
    station = 0.0
    small = tables.assumption("bend-without-fitting").value_si
    for i, turn in enumerate(route.deflections_rad(laid.path)):
        station += math.dist(laid.path[i], laid.path[i + 1])
        if abs(turn) <= small:
            continue
        pieces = route.elbows(float(turn))
        out += [
            PipeFitting("elbow", station, angle, f"{math.degrees(angle):g}") for angle in pieces.angles_rad
        ]
    return tuple(out)


def least_slope(size: PipeSize, survey: Survey) -> float:
    """Return the least slope for a size: the rule file's, else the published one."""
    rule = survey.rules.pipe.least_slope if survey.rules is not None else None
    return rule.value_si if isinstance(rule, units.Quantity) else tables.limit("pipe-slope-least").value_si


def solve(
    drafts: tuple[DraftRun, ...], rules: tuple[NodeRule, ...], survey: Survey, ledger: Ledger
) -> InvertSolution:
    """Choose the inverts, with some room for the trench if there is any; given ones are kept whatever they break."""
    for draft in drafts:
        given = draft.laid.given
        for end in ("upstream", "downstream"):
            known = getattr(given, f"{end}_invert") is not None
            ledger.origin[f"{draft.laid.id}.{end}_invert_m"] = "given" if known else "designed"
    room = tables.assumption("cover-allowance").value_si, tables.assumption("slope-allowance").value_si
    solution = None
    for cover, slope in (room, (0.0, 0.0)):
        solution = _solved(
            tuple(_line(draft, survey, cover, slope) for draft in drafts), rules, survey.style
        )
        if solution.feasible:
            break
    assert solution is not None
    return solution


@lru_cache(maxsize=64)
def _solved(lines: tuple[RunLine, ...], rules: tuple[NodeRule, ...], style: units.Style) -> InvertSolution:
    """The same trench is asked for again with every well of a search, so its solution is kept."""
    return inverts.solve_inverts(
        runs=lines,
        nodes=rules,
        grid_m=float(units.GRID_ELEVATION[style]),
        to_grid=lambda value: units.on_elevation_grid(value, style),
    )


def elevation_grid(survey: Survey) -> Callable[[float], float]:
    """Return the rounding of a designed elevation or coordinate."""
    return lambda value: units.on_elevation_grid(value, survey.style)


def _line(draft: DraftRun, survey: Survey, more_cover: float, more_slope: float) -> RunLine:
    given, size = draft.laid.given, draft.size
    slope = least_slope(size, survey) + more_slope
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
        greatest_slope=max(slope, tables.limit("pipe-slope-greatest").value_si),
        trench_width_m=size.outside_m + tables.assumption("trench-width-beside-pipe").value_si,
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
    )


def finished(draft: DraftRun, solution: InvertSolution) -> Run:
    """Return the run with its inverts and the side on which it passes what it crosses."""
    id, size = draft.laid.id, draft.size
    up, down = solution.upstream_invert_m[id], solution.downstream_invert_m[id]
    wall = (size.outside_m - size.inside_m) / 2
    crossed = []
    for thing in draft.crossings:
        over = clearance = None
        if thing.top_m is not None and thing.bottom_m is not None:
            invert = up + (down - up) * thing.station_m / draft.length_m
            above = invert - wall - thing.top_m
            below = thing.bottom_m - (invert + size.inside_m + wall)
            over, clearance = above >= below, max(above, below)
        crossed.append(
            CrossedThing(thing.id, thing.label, thing.station_m, thing.top_m, thing.bottom_m, clearance, over)
        )
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
        crossings=tuple(crossed),
        upstream_inlet_m=up,
    )
