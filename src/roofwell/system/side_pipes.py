"""Pipes beside the runs: of overflows, and between linked wells, as they lie in the ground.

They are told as runs, so that one code looks at cover, crossings and the way in plan of every buried pipe.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from roofwell.job import model
from roofwell.physics.trench import route
from roofwell.system import trench_levels, trench_parts
from roofwell.system.facts import Survey
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import XY, CrossedThing, Outlet, Overflow, Run, WellLink
from roofwell.system.trench_parts import PipeSize

LEAST_LENGTH_M = 1e-6  # pits that touch leave no pipe between them


def side_pipes(
    job: model.Job,
    survey: Survey,
    overflows: Sequence[Overflow],
    outlets: Sequence[Outlet],
    links: Sequence[WellLink],
    ledger: Ledger,
) -> tuple[Run, ...]:
    """Return the pipes of overflows and links with the ground over them and what they cross.

    A link holds water and keeps out of the frost where the job asks that of its pipes. An overflow's pipe is dry but in
    the storm that is too big: no frost is asked of it.
    """
    frost = survey.soil.frost_depth_m if job.settings.below_frost else None
    ends = {outlet.id for outlet in outlets}
    return (
        *(
            _of_overflow(overflow, overflow.to in ends, job, survey, ledger)
            for overflow in overflows
            if overflow.pipe
        ),
        *(
            _laid(
                link.id,
                (link.of, link.to),
                link.path,
                (link.invert_m, link.invert_m),
                PipeSize(
                    link.pipe, link.nominal_m, link.inside_diameter_m, link.outside_diameter_m, link.manning_n
                ),
                survey,
                ledger,
                frost_m=frost,
                to_outlet=False,
            )
            for link in links
            if route.path_length_m(link.path) > LEAST_LENGTH_M
        ),
    )


def standing(job: model.Job) -> frozenset[str]:
    """Return the labels of parts and pipes that stand already; a link stands where both its wells do."""
    tables = (job.runs, job.basins, job.wells, job.overflows)
    there = {id for table in tables for id, part in table.items() if part.state == "existing"}
    linked = ((id, well.linked_to) for id, well in job.wells.items())
    there |= {f"{id}-{to}" for id, to in linked if to is not None and {id, to} <= there}
    return frozenset(there)


def _of_overflow(overflow: Overflow, to_outlet: bool, job: model.Job, survey: Survey, ledger: Ledger) -> Run:
    pipe = overflow.pipe
    assert pipe is not None
    return _laid(
        overflow.id,
        (overflow.of, overflow.to if to_outlet and overflow.to is not None else overflow.id),
        pipe.path,
        (pipe.upstream_invert_m, pipe.downstream_invert_m),
        trench_parts.size_across(pipe.inside_diameter_m, job, survey),
        survey,
        ledger,
        frost_m=None,
        to_outlet=to_outlet,
    )


def _laid(
    id: str,
    ends: tuple[str, str],
    path: tuple[XY, ...],
    inverts_m: tuple[float, float],
    size: PipeSize,
    survey: Survey,
    ledger: Ledger,
    *,
    frost_m: float | None,
    to_outlet: bool,
) -> Run:
    over = trench_parts.what_lies_over(path, size.outside_m, survey, frost_m=frost_m, to_outlet=to_outlet)
    run = Run(
        id=id,
        from_id=ends[0],
        to_id=ends[1],
        path=path,
        length_m=route.path_length_m(path),
        pipe=size.pipe,
        nominal_m=size.nominal_m,
        inside_diameter_m=size.inside_m,
        outside_diameter_m=size.outside_m,
        manning_n=size.manning_n,
        upstream_invert_m=inverts_m[0],
        downstream_invert_m=inverts_m[1],
        fittings=trench_parts.elbows_of(path),
        stations_m=over.stations_m,
        ground_m=over.ground_m,
        cover_least_m=over.cover_m,
        cover_by=over.cover_by,
        crossings=(),
        upstream_inlet_m=inverts_m[0],
    )
    return _crossing(run, trench_parts.crossed(path, survey, ledger))


def with_meetings(
    runs: tuple[Run, ...], side: tuple[Run, ...], survey: Survey
) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
    """Return runs and side pipes, each with the pipes of the other kind, and side pipes with each other, that they cross."""
    if not side:
        return runs, side
    every = {run.id: run for run in (*runs, *side)}
    found: dict[str, list[CrossedThing]] = {}
    own = {run.id for run in runs}
    met = trench_levels.meetings_of(
        tuple(every), tuple(run.path for run in every.values()), survey.settings["crossing_clearance"]
    )
    for one in met:
        if one.first in own and one.second in own:
            continue  # runs know each other already
        both = ((one.first, one.first_station_m), (one.second, one.second_station_m))
        for (id, station), (other, there) in (both, both[::-1]):
            found.setdefault(id, []).append(_as_crossed(every[other], there, station, other in own))
    done = {id: _crossing(run, found[id]) if id in found else run for id, run in every.items()}
    return tuple(done[run.id] for run in runs), tuple(done[run.id] for run in side)


def _as_crossed(other: Run, there_m: float, station_m: float, run: bool) -> CrossedThing:
    bottom = other.invert_at(there_m) - other.wall_m
    label = f"run {other.id}" if run else f"pipe of {other.id}"
    return CrossedThing(other.id, label, station_m, bottom + other.outside_diameter_m, bottom, None, None)


def _crossing(run: Run, things: Sequence[CrossedThing]) -> Run:
    """The run with more things that it crosses, each with its side and clear space."""
    return replace(run, crossings=tuple(sorted((*run.crossings, *_passed(run, things)), key=_station)))


def _passed(run: Run, things: Sequence[CrossedThing]) -> Iterator[CrossedThing]:
    for thing in things:
        yield trench_levels.passed(thing, run.invert_at(thing.station_m), run.inside_diameter_m, run.wall_m)


def _station(thing: CrossedThing) -> float:
    return thing.station_m
