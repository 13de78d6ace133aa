"""Runs: pipe sizes, the ground over them, what they cross, their fittings and cleanouts."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from roofwell import tables, units
from roofwell.errors import InputError
from roofwell.job import model
from roofwell.physics.trench import route
from roofwell.system import cleanouts, cover
from roofwell.system.choice import Choice
from roofwell.system.facts import Survey
from roofwell.system.layout import LaidRun, Layout
from roofwell.system.ledger import Ledger
from roofwell.system.roof_parts import length_of
from roofwell.system.route_weights import elbow_kinds
from roofwell.system.scheme import XY, CrossedThing, PipeFitting

STATION_STEP_M = 1.0
SAME_STATION_M = 1e-3
SAME_SIZE_M = 0.002  # a nominal size farther from every trade size is taken as the inside diameter


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
    cover_by: tuple[str, ...]
    crossings: tuple[CrossedThing, ...]
    fittings: tuple[PipeFitting, ...]


@dataclass(frozen=True, slots=True)
class LiesOver:
    """What lies over a path, station by station: ground, the cover that is wanted (m) and what wants it."""

    stations_m: tuple[float, ...]
    ground_m: tuple[float, ...]
    cover_m: tuple[float, ...]
    cover_by: tuple[str, ...]


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
            tables.assumption(row["manning_n"], "us" if row["units"] == "us" else "metric").value_si,
        )
        for row in tables.rows("pipe_sizes")
        if row["key"] == pipe
    ]
    return tuple(sorted(found, key=lambda size: size.nominal_m))


def usual_sizes(job: model.Job, survey: Survey) -> tuple[PipeSize, ...]:
    """Return the trade sizes of the job's pipe; those of the usual pipe where it names none that the table knows."""
    usual = default_part("pipe", survey)
    return pipe_sizes(job.settings.pipe or usual) or pipe_sizes(usual)


def size_across(inside_m: float, job: model.Job, survey: Survey) -> PipeSize:
    """Return pipe of an inside diameter, with the wall of the nearest trade size of the job's pipe."""
    near = min(usual_sizes(job, survey), key=lambda size: abs(size.nominal_m - inside_m))
    return replace(
        near, nominal_m=inside_m, inside_m=inside_m, outside_m=inside_m + near.outside_m - near.inside_m
    )


def draft_runs(
    layout: Layout,
    survey: Survey,
    choice: Choice,
    settings: model.Settings,
    ledger: Ledger,
) -> tuple[DraftRun, ...]:
    """Give every run its size, ground, cover, crossings and fittings; a pipe never shrinks downstream."""
    out: dict[str, DraftRun] = {}
    frost = survey.soil.frost_depth_m if settings.below_frost else None
    if settings.below_frost and frost is None:
        ledger.lack("soil.frost_depth")
    for laid in layout.runs:
        upstream = [draft.size for draft in out.values() if draft.laid.to_id == laid.from_id]
        size = _size(laid, survey, choice, settings.pipe, upstream, ledger)
        length = route.path_length_m(laid.path)
        if length <= 0:
            raise InputError(
                f"runs.{laid.id}: {laid.from_id} and {laid.to_id} stand at one place, so the pipe between them has no "
                "length; move one of them, or leave one out",
                code="run-length",
            )
        over = what_lies_over(
            laid.path, size.outside_m, survey, frost_m=frost, to_outlet=laid.to_id in layout.outlets
        )
        out[laid.id] = DraftRun(
            laid=laid,
            size=size,
            path=laid.path,
            length_m=length,
            stations_m=over.stations_m,
            ground_m=over.ground_m,
            cover_m=over.cover_m,
            cover_by=over.cover_by,
            crossings=crossed(laid.path, survey, ledger),
            fittings=_fittings(laid),
        )
    return tuple(out.values())


def with_cleanouts(drafts: tuple[DraftRun, ...], layout: Layout, survey: Survey) -> tuple[DraftRun, ...]:
    """Add the cleanouts that a snake needs; runs that are there already and given fittings stay as they are."""
    runs = tuple(
        cleanouts.Piped(
            draft.laid.id,
            draft.laid.from_id,
            draft.laid.to_id,
            draft.path,
            tuple(f.station_m for f in draft.fittings if f.kind == "cleanout"),
            not draft.laid.given.fittings and draft.laid.given.state in (None, "proposed"),
        )
        for draft in drafts
    )
    ways_in = frozenset((*layout.downspouts, *layout.basins))
    stations = cleanouts.laid(runs, ways_in=ways_in, most=cleanouts.limits(survey.style))
    if not stations:
        return drafts
    added = cleanouts.fittings(stations, layout.places)
    return tuple(
        replace(
            draft,
            fittings=tuple(
                sorted((*draft.fittings, *added.get(draft.laid.id, ())), key=lambda f: f.station_m)
            ),
        )
        for draft in drafts
    )


def what_lies_over(
    path: Sequence[XY], outside_m: float, survey: Survey, *, frost_m: float | None, to_outlet: bool
) -> LiesOver:
    """Return the ground over a path and the cover wanted there; at an outlet a pipe comes out of the ground."""
    stations, points = _stations(path, survey)
    length = route.path_length_m(path)
    wanted, by = cover.wanted(
        stations_m=stations,
        points=points,
        survey=survey,
        frost_m=frost_m,
        daylight_taper_from_m=length - cover.DAYLIGHT_TAPER_M if to_outlet else None,
        outside_diameter_m=outside_m,
    )
    ground = survey.ground.elevation_m(points)
    return LiesOver(tuple(float(s) for s in stations), tuple(float(z) for z in ground), wanted, by)


def _stations(path: Sequence[XY], survey: Survey) -> tuple[np.ndarray, np.ndarray]:
    """Stations every step, at every corner, at the edges of what a path passes under; and their points."""
    stations, points = route.station_points(path, STATION_STEP_M)
    more = [s for s in cover.edges(path, survey) if np.abs(stations - s).min() > SAME_STATION_M]
    if more:
        stations = np.unique(np.concatenate([stations, more]))
        points = route.place_at(path, stations)
    return stations, points


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


def crossed(path: Sequence[XY], survey: Survey, ledger: Ledger) -> tuple[CrossedThing, ...]:
    """Return the buried things that a path crosses, by their stations; on which side it passes is told with its levels."""
    out = []
    for feature in survey.of_kind("existing drain", "utility"):
        if feature.shape == "point" or len(feature.points) < 2:
            continue
        for first, last in route.crossings(path, shapely.LineString(feature.points)):
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
    return elbows_of(laid.path)


def elbows_of(path: Sequence[XY]) -> tuple[PipeFitting, ...]:
    """Return the elbows at the corners of a path, by their stations."""
    out = []
    station = 0.0
    small = tables.assumption("bend-without-fitting").value_si
    for i, turn in enumerate(route.deflections_rad(path)):
        station += math.dist(path[i], path[i + 1])
        if abs(turn) <= small:
            continue
        pieces = route.elbows(float(turn), tuple(elbow_kinds()))
        made = [
            PipeFitting("elbow", station, angle, f"{math.degrees(angle):g}") for angle in pieces.angles_rad
        ]
        if made:  # what the pieces leave over stands with the last of them
            made[-1] = replace(made[-1], left_over_rad=pieces.left_over_rad)
        out += made
    return tuple(out)


def elevation_grid(survey: Survey) -> Callable[[float], float]:
    """Return the rounding of a designed elevation or coordinate."""
    return lambda value: units.on_elevation_grid(value, survey.style)
