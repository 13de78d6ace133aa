"""What if: the same Scheme with one thing that does not work, run through the same levels and storms.

A part that is half shut lies between working and shut, so no level is taken lower than with everything working.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from roofwell.physics.pipe import losses
from roofwell.system import levels, pipes
from roofwell.system.behaviour import Behaviour
from roofwell.system.facts import Survey
from roofwell.system.leaving import come_out_m3_s, comes_to_m3_s
from roofwell.system.scheme import Basin, Run, Scheme
from roofwell.system.storm_run import Routed
from roofwell.system.well_record import RecordBasis
from roofwell.system.what_if_facts import Case, CaseLine, ComesOut, WhatIf, WhatIfs
from roofwell.system.what_if_storms import critical, rain_of, storm_of_shut
from roofwell.system.what_if_water import (
    SEEN_M3_S,
    Found,
    Rain,
    heads_of,
    let_rise,
    lowest_edge,
    raised,
    reach_m,
    settled,
)
from roofwell.tables.trials import trial


def what_ifs(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, *, rate_m_s: float, record: RecordBasis
) -> WhatIfs:
    """Return every case that this Scheme can meet, in the order of the water.

    Parameters
    ----------
    behaviour
        The normal run of the same Scheme.
    rate_m_s
        Infiltration rate that the design counts with, m/s.
    record
        From ``record_basis``.
    """
    found: list[WhatIf] = []
    normal = max((reach_m(level) for level in behaviour.levels), default=math.nan)
    cases = _cases(scheme)
    if cases and behaviour.levels and math.isfinite(normal):
        rain = rain_of(scheme, survey, behaviour, rate_m_s, record)
        for case in cases:
            one = _one(case, _letter(len(found)), scheme, survey, behaviour, rain)
            if one is not None:
                found.append(one)
    return WhatIfs(tuple(found), normal, survey.targets.storm_years, behaviour.cloudburst_duration_s)


def _letter(place: int) -> str:
    return chr(ord("A") + place % 26) + (str(place // 26 + 1) if place >= 26 else "")


def _cases(scheme: Scheme) -> list[Case]:
    """Everything that can fail, from the basin down to the last way out."""
    out: list[Case] = []
    for basin in scheme.basins:
        if scheme.run_from(basin.id) is None:
            continue
        if basin.screen:
            out.append(Case("screen blocked", basin.id, basin.id))
        out.append(Case("never emptied", basin.id, basin.id))
        if basin.weep_holes:
            out.append(Case("weeps plugged", basin.id, basin.id))
    kinds = {outlet.id: outlet.kind for outlet in scheme.outlets}
    out += [
        Case("inlet plugged", run.id, well.id) for well in scheme.wells for run in scheme.runs_to(well.id)
    ]
    for overflow in scheme.overflows:
        if scheme.spills_at(overflow.of) != overflow.of:
            continue  # a linked well that lets go elsewhere: nothing leaves here as it is
        pumped = kinds.get(overflow.to or "") == "pump"
        if pumped:
            out.append(Case("pump without power", overflow.to or "", overflow.of))
        elif overflow.to in kinds:
            out.append(Case("outlet shut", overflow.to or "", overflow.of))
        else:
            out.append(Case("overflow blocked", overflow.id, overflow.of))
    for id, kind in kinds.items():
        if scheme.runs_to(id):
            out.append(Case("pump without power" if kind == "pump" else "outlet shut", id, id))
    return out


def _one(
    case: Case, letter: str, scheme: Scheme, survey: Survey, behaviour: Behaviour, rain: Rain
) -> WhatIf | None:
    """Work one case out; None where nobody knows an edge at which its water could come out."""
    if case.kind in ("never emptied", "weeps plugged"):
        found, storm = _narrowed(case, scheme, behaviour, rain)
        run, out_m3, after = _storm_out_of_joints(storm, scheme, behaviour, rain)
    else:
        shut, ends, over = _shut_scheme(case, scheme, behaviour, rain)
        edge = lowest_edge(shut, ends, case)
        if edge is None:
            return None
        found = let_rise(shut, ends, over, edge, rain)
        run, out_m3, after, storm = storm_of_shut(case, shut, ends, edge, scheme, rain)
    return _told(case, letter, scheme, survey, behaviour, found, storm, run, out_m3, after)


def _told(
    case: Case,
    letter: str,
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    found: Found,
    storm_m: Mapping[str, float],
    run: Routed,
    out_m3: float,
    after_s: float | None,
) -> WhatIf:
    where = pipes.limits(scheme)
    normal = {level.id: reach_m(level) for level in behaviour.levels}
    worst_storm = {
        level.id: min(level.storm_m, level.limit_m) if level.storm_m is not None else -math.inf
        for level in behaviour.levels
    }
    level = {id: max(normal[id], found.level_m.get(id, -math.inf)) for id in normal}
    in_storm = {id: max(worst_storm[id], storm_m.get(id, -math.inf)) for id in normal}
    at = max(level, key=lambda id: level[id])
    opening = survey.lowest_opening_m
    highest = max(level[at], max(in_storm.values()))
    duration = behaviour.cloudburst_duration_s
    out = [
        ComesOut(
            part=id,
            what=where[id][0] if id in where else "overflow",
            edge_m=where[id][1] if id in where else _lip(scheme, id),
            head_m=max(0.0, found.level_m[id] - (where[id][1] if id in where else _lip(scheme, id))),
            flow_m3_s=flow,
            volume_m3=flow * duration,
        )
        for id, flow in found.out_m3_s.items()
        if flow > SEEN_M3_S
    ]
    usual = {flow.id: flow for flow in behaviour.runs}
    lines = {line.run: line for line in found.lines}
    return WhatIf(
        letter=letter,
        kind=case.kind,
        part=case.part,
        of=case.of,
        joints=tuple((spout.id, level[spout.id]) for spout in scheme.downspouts if spout.id in level),
        grates=tuple((basin.id, level[basin.id]) for basin in scheme.basins if basin.id in level),
        lines=tuple(
            CaseLine(id, max(line.upper_m, usual[id].level_up_m), max(line.lower_m, usual[id].level_down_m))
            for id, line in lines.items()
            if id in usual
        ),
        house_at=at,
        house_m=level[at],
        storm_m=max(in_storm.values()),
        over_opening_m=highest - opening if opening is not None else None,
        out=tuple(sorted(out, key=lambda one: (one.edge_m, one.part))),
        storm_s=run.duration_s,
        storm_out_m3=out_m3,
        out_after_s=after_s,
        stays_m3=_stays_m3(scheme, case.part) if case.kind == "weeps plugged" else 0.0,
    )


def _lip(scheme: Scheme, id: str) -> float:
    return next(overflow.lip_m for overflow in scheme.overflows if overflow.id == id)


def _stays_m3(scheme: Scheme, basin_id: str) -> float:
    """What a basin whose holes are plugged keeps under its outlet, and the pipes above it with it, m³."""
    plugged = replace(
        scheme,
        basins=tuple(replace(b, weep_holes=0) if b.id == basin_id else b for b in scheme.basins),
    )
    basin = _basin(scheme, basin_id)
    in_pipes = sum(water.pipe_volume_m3 for water in pipes.standing(plugged) if water.basin == basin_id)
    return in_pipes + basin.plan_area_m2 * max(0.0, basin.sump_m)


def _basin(scheme: Scheme, id: str) -> Basin:
    return next(basin for basin in scheme.basins if basin.id == id)


def _narrowed(case: Case, scheme: Scheme, behaviour: Behaviour, rain: Rain) -> tuple[Found, dict[str, float]]:
    """A basin full up to its outlet, which is half covered; with plugged weep holes the rain finds nothing changed."""
    changed = scheme
    if case.kind == "never emptied":
        k = losses.narrowed_start_k(open_share=trial("unemptied-outlet-open"))
        first = scheme.run_from(case.part)
        changed = replace(
            scheme,
            runs=tuple(replace(run, obstruction_k=k) if run is first else run for run in scheme.runs),
            basins=tuple(
                replace(basin, floor_m=basin.outlet_invert_m) if basin.id == case.part else basin
                for basin in scheme.basins
            ),
        )
    found = settled(changed, rain.peaks, rain.tail_m, rain.still_m, rain.leaving_m3_s)
    heads = heads_of(changed, found.out_m3_s)
    if heads:
        found = settled(raised(changed, heads), rain.peaks, rain.tail_m, rain.still_m, rain.leaving_m3_s)
    worst, _ = levels.every_storm(
        raised(changed, heads), rain.spouts, rain.paths, behaviour.levels, with_surfacing=False
    )
    storm = {
        level.id: min(level.storm_m, level.limit_m + heads.get(level.id, 0.0))
        for level in worst
        if level.storm_m is not None
    }
    return found, storm


def _storm_out_of_joints(
    storm_m: Mapping[str, float], scheme: Scheme, behaviour: Behaviour, rain: Rain
) -> tuple[Routed, float, float | None]:
    """What a half-shut basin lets out in a design storm stays under the step of a flow: only whether it does is known."""
    limits = pipes.limits(scheme)
    over = [id for id, level in storm_m.items() if id in limits and level >= limits[id][1] - 1e-9]
    run = critical(behaviour, scheme, rain, over[0] if over else None)
    return run, math.nan if over else 0.0, None


def _shut_scheme(
    case: Case, scheme: Scheme, behaviour: Behaviour, rain: Rain
) -> tuple[Scheme, tuple[str, ...], float]:
    """Return the Scheme without the shut way, the parts in which its water then ends, and what must leave there, m³/s."""
    if case.kind in ("screen blocked", "inlet plugged"):
        gone = _shut_run(case, scheme)
        without = replace(scheme, runs=tuple(run for run in scheme.runs if run is not gone))
        return without, (gone.from_id,), rain.peaks[gone.id]
    if any(well.id == case.of for well in scheme.wells):
        spills = scheme.spills_at(case.of)
        return scheme, scheme.linked_with(case.of), rain.leaving_m3_s[spills]
    # what comes out of the pipes to the outlet itself is found with the level at which the water then stands
    own = {run.from_id for end in levels.trees(scheme) if end.end == case.part for run in end.runs}
    out = {id: flow for id, flow in come_out_m3_s(behaviour).items() if id not in own}
    return scheme, (case.part,), comes_to_m3_s(scheme, case.part, rain.peaks, rain.leaving_m3_s, out)


def _shut_run(case: Case, scheme: Scheme) -> Run:
    if case.kind == "screen blocked":
        run = scheme.run_from(case.part)
        assert run is not None
        return run
    return next(run for run in scheme.runs if run.id == case.part)
