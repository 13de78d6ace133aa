"""The Scheme step: from job, facts and a choice of free sizes to a complete system."""

from __future__ import annotations

import math
from dataclasses import replace

from roofwell.job import model
from roofwell.physics.trench.conflict import Conflict
from roofwell.physics.trench.profile import InvertSolution, NodeKind, NodeRule
from roofwell.system import (
    basin_parts,
    linked_wells,
    outlet_parts,
    overflow_parts,
    roof_parts,
    side_pipes,
    trench_levels,
    trench_parts,
    well_parts,
)
from roofwell.system.choice import Choice
from roofwell.system.existing import note_unmeasured
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout, lay_out
from roofwell.system.ledger import Ledger
from roofwell.system.paved import paved_crossings
from roofwell.system.running_water import standing_over
from roofwell.system.scheme import (
    Basin,
    Broken,
    Downspout,
    LevelConflict,
    LevelWish,
    Overflow,
    Run,
    Scheme,
    Wye,
)
from roofwell.system.trench_parts import DraftRun
from roofwell.system.usual_trench import usual_trench
from roofwell.system.well_shapes import body_top_over_bottom_m, pit_plan
from roofwell.system.wheels import wheel_loads

SAME_LEVEL_M = 1e-7


def assemble(job: model.Job, survey: Survey, choice: Choice, *, why_not: bool = True) -> Scheme:
    """Complete the system with the free sizes chosen; judges nothing.

    A Scheme always comes back: where levels cannot be kept, the nearest one, with ``broken`` saying which,
    and ``level_conflicts`` saying why, unless ``why_not`` is False (a search needs no reasons).
    """
    ledger = Ledger(survey.style)
    grid = trench_parts.elevation_grid(survey)
    pits = {id: pit_plan(job.wells.get(id, model.Well()), well, survey) for id, well in choice.wells.items()}
    layout = lay_out(
        job,
        survey,
        pit_reach_m={id: pit.width_m / 2 for id, pit in pits.items()},
        to_grid=grid,
        ledger=ledger,
        trench=usual_trench(job, survey),
        pit_row_m={id: pit.row_m for id, pit in pits.items()},
        weights=choice.route,
        ways=choice.ways,
    )
    ground = _ground(layout, survey)
    spouts, undrained = roof_parts.downspouts(job, survey, layout, ground, ledger)
    lips, overflows = _lips_and_overflows(job, survey, layout, choice, spouts, ledger, ground)
    full = linked_wells.full_levels(job, lips)
    drafts = trench_parts.draft_runs(layout, survey, choice, job.settings, ledger)
    drafts = trench_parts.with_cleanouts(drafts, layout, survey)
    joints = {spout.id: spout.joint_m for spout in spouts}
    rules = _node_rules(job, survey, layout, choice, drafts, ground, joints, ledger)
    rules, disagreeing = _agreed(rules, drafts)
    solution, conflicts = trench_levels.solve(drafts, rules, survey, job.settings, ledger, why_not=why_not)
    runs = trench_levels.finished(drafts, solution, survey)
    riser = {overflow.of: overflow.diameter_m for overflow in overflows}
    wells = tuple(
        well_parts.well(
            job,
            survey,
            layout,
            id,
            choice,
            ground_m=ground[id],
            inlet_m=min((run.downstream_invert_m for run in runs if run.to_id == id), default=None),
            inside_m=max((run.inside_diameter_m for run in runs if run.to_id == id), default=0.1),
            full_m=full[id],
            riser_m=riser[id],
            ledger=ledger,
        )
        for id in layout.wells
    )
    basins = _basins(job, survey, layout, runs, ground, full, ledger)
    overflows = overflow_parts.with_wells(job, overflows, wells)
    most = _at_most(job, survey, layout, spouts, lips)
    outlets = tuple(
        replace(one, lawn=standing_over(survey, one.at, most[one.id], out_m=one.invert_m))
        if one.onto_lawn
        else one
        for one in outlet_parts.outlets(job, layout, runs, ground, ledger)
    )
    note_unmeasured(job, layout, ledger)
    links = linked_wells.well_links(job, survey, layout, wells, ledger)
    beside = side_pipes.side_pipes(job, survey, overflows, outlets, links, ledger)
    runs, beside = side_pipes.with_meetings(runs, beside, survey)
    wheels = wheel_loads(job, survey, (*runs, *beside), ledger)
    return Scheme(
        downspouts=spouts,
        wyes=tuple(
            Wye(
                id,
                layout.places[id],
                ground[id],
                min((run.upstream_invert_m for run in runs if run.from_id == id), default=math.nan),
            )
            for id in layout.wyes
        ),
        basins=basins,
        wells=wells,
        overflows=overflows,
        outlets=outlets,
        runs=runs,
        undrained_area_m2=undrained,
        broken=(*disagreeing, *_broken(solution)),
        origin=dict(ledger.origin),
        assumed=ledger.assumed,
        missing=frozenset(ledger.missing),
        wheel_loads=wheels,
        routes=layout.routes,
        trees=layout.trees,
        blocked=layout.blocked,
        paved=paved_crossings(job, survey, (*runs, *beside), choice.route, ledger),
        level_conflicts=tuple(_conflict(item) for item in conflicts),
        links=links,
        side_pipes=beside,
    )


def wells_of(job: model.Job, survey: Survey) -> tuple[str, ...]:
    """Return the labels of the wells that a Scheme of this job has."""
    layout = lay_out(job, survey, pit_reach_m={}, to_grid=float, ledger=Ledger(survey.style))
    return layout.wells


def _ground(layout: Layout, survey: Survey) -> dict[str, float]:
    ids = list(layout.places)
    if not ids:
        return {}
    levels = survey.ground.elevation_m([layout.places[id] for id in ids])
    return {id: float(level) for id, level in zip(ids, levels, strict=True)}


def _overflow_ground(job: model.Job, survey: Survey, well: str, ground_m: float) -> float:
    found = overflow_parts.overflow_of(job, well)
    if found is None or found[1].at is None:
        return ground_m
    at = found[1].at
    return float(survey.ground.elevation_m([(at[0].value_si, at[1].value_si)])[0])


def _node_rules(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    choice: Choice,
    drafts: tuple[DraftRun, ...],
    ground: dict[str, float],
    joints: dict[str, float],
    ledger: Ledger,
) -> tuple[NodeRule, ...]:
    inside = {draft.laid.from_id: draft.size.inside_m for draft in drafts}
    arriving = {draft.laid.to_id: draft.size.inside_m for draft in drafts}
    rules = []
    for id in layout.downspouts:
        if id in inside and id not in arriving:
            rules.append(NodeRule(id, "start", greatest_invert_m=joints[id] - inside[id]))
    for id in layout.wyes:
        if id in inside and id in arriving:
            rules.append(NodeRule(id, "wye"))
    for id in layout.basins:
        if id in inside:
            rules.append(_basin_rule(job.basins.get(id, model.Basin()), id, id in arriving, ledger))
    for id in layout.wells:
        if id not in arriving:
            continue
        given = job.wells.get(id, model.Well())
        highest = well_parts.body_top_m(given, ground[id], survey)
        if given.bottom is not None:
            highest = given.bottom.value_si + body_top_over_bottom_m(given, choice.wells[id], survey)
        fixed = given.inlet_invert.value_si if given.inlet_invert is not None else None
        rules.append(
            NodeRule(
                id,
                "end",
                fixed_inlet_invert_m=fixed,
                greatest_invert_m=None if fixed is not None else highest - arriving[id],
            )
        )
    for id in layout.outlets:
        if id in arriving:
            given_outlet = job.outlets[id]
            grid = trench_parts.elevation_grid(survey)
            level = given_outlet.invert.value_si if given_outlet.invert is not None else grid(ground[id])
            rules.append(NodeRule(id, "end", fixed_inlet_invert_m=level))
    return tuple(rules)


def _agreed(
    rules: tuple[NodeRule, ...], drafts: tuple[DraftRun, ...]
) -> tuple[tuple[NodeRule, ...], tuple[Broken, ...]]:
    """Loosen a part's own level where a run's given invert says another; the run counts, the gap is told."""
    out, gaps = [], []
    for rule in rules:
        kept = rule
        for draft in drafts:
            given, id = draft.laid.given, draft.laid.id
            ends = (
                ("fixed_invert_m", draft.laid.from_id, given.upstream_invert, 0.0),
                ("fixed_inlet_invert_m", draft.laid.to_id, given.downstream_invert, draft.length_m),
            )
            for name, part, invert, station in ends:
                level = getattr(rule, name)
                if part != rule.id or invert is None or level is None:
                    continue
                gap = abs(invert.value_si - level)
                if gap > SAME_LEVEL_M:
                    kept = (
                        replace(kept, fixed_invert_m=None)
                        if name == "fixed_invert_m"
                        else replace(kept, fixed_inlet_invert_m=None)
                    )
                    gaps.append(Broken(f"agreement-with-{rule.id}", id, station, gap))
        out.append(kept)
    return tuple(out), tuple(gaps)


def _basin_rule(given: model.Basin, id: str, has_inlet: bool, ledger: Ledger) -> NodeRule:
    floor = given.floor.value_si if given.floor is not None else None
    inlet = given.inlet_height.value_si if given.inlet_height is not None else None
    outlet = given.outlet_height.value_si if given.outlet_height is not None else None
    both = inlet is not None and outlet is not None
    drop = inlet - outlet if both else ledger.assume(f"{id}.drop_m", "basin-drop")  # type: ignore[operator]
    kind: NodeKind = "basin" if has_inlet else "start"
    return NodeRule(
        id,
        kind,
        drop_m=drop if has_inlet else 0.0,
        fixed_invert_m=floor + outlet if floor is not None and outlet is not None else None,
        # with the outlet fixed, the drop already holds the lowest inlet; others may come in higher
        fixed_inlet_invert_m=(
            floor + inlet
            if has_inlet and outlet is None and floor is not None and inlet is not None
            else None
        ),
    )


def _lips_and_overflows(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    choice: Choice,
    spouts: tuple[Downspout, ...],
    ledger: Ledger,
    ground: dict[str, float],
) -> tuple[dict[str, float], tuple[Overflow, ...]]:
    """The lip of each well and its overflow. A pipe to an outlet is sized, then its lip set by that size: one round, for
    a lip that moves by an inch changes the slope too little for another size."""
    sizes: dict[str, float] = {}
    while True:
        lips = {
            id: overflow_parts.lip_m(
                job,
                survey,
                id,
                _overflow_ground(job, survey, id, ground[id]),
                ledger,
                layout,
                ground,
                sizes.get(id),
            )
            for id in layout.wells
        }
        made = _overflows(job, survey, layout, choice, lips, spouts, ledger, ground)
        led = {one.of: one.diameter_m for one in made if one.to in layout.outlets and one.pipe is not None}
        if sizes or not led:
            return lips, made
        sizes = led


def _overflows(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    choice: Choice,
    lips: dict[str, float],
    spouts: tuple[Downspout, ...],
    ledger: Ledger,
    ground: dict[str, float],
) -> tuple[Overflow, ...]:
    used = set(job.overflows)
    peak = _at_most(job, survey, layout, spouts, lips)
    out = []
    for well in layout.wells:
        number = 1
        while f"O{number}" in used:
            number += 1
        made = overflow_parts.overflow(
            job,
            survey,
            layout,
            well,
            full_m=lips[well],
            free_id=f"O{number}",
            peak_m3_s=peak[well],
            ledger=ledger,
            choice=choice.wells[well],
            ground=ground,
        )
        used.add(made.id)
        if made.to is None:
            made = replace(made, lawn=standing_over(survey, made.at, peak[well], out_m=made.lip_m))
        out.append(made)
    return tuple(out)


def _at_most(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    spouts: tuple[Downspout, ...],
    lips: dict[str, float],
) -> dict[str, float]:
    """What can come to the overflow of each well, and to each outlet, in the cloudburst if nothing soaks in or comes out
    before, m³/s. Of linked wells all that comes to any of them leaves at the lowest lip."""
    leaves_at = linked_wells.spills_at(job, lips)
    onward = {run.from_id: run.to_id for run in layout.runs}
    peak = dict.fromkeys((*layout.wells, *layout.outlets), 0.0)
    rain = roof_parts.cloudburst_m_s(survey) * survey.settings["runoff_coefficient"]
    for spout in spouts:
        end, steps = spout.id, 0
        while end in onward and steps <= len(onward):
            end, steps = onward[end], steps + 1
        if end in peak:
            _pass_on(job, peak, leaves_at, end, rain * spout.roof_area_m2)
    return peak


def _pass_on(
    job: model.Job, peak: dict[str, float], leaves_at: dict[str, str], well: str, flow: float
) -> None:
    """Count a flow at a well, at the linked one where it leaves, and at every well that takes the overflow before it."""
    seen: set[str] = set()
    at: str | None = well
    while at is not None and at in peak and at not in seen:
        seen.add(at)
        peak[at] += flow
        lip = leaves_at.get(at, at)
        if lip not in seen:
            seen.add(lip)
            peak[lip] += flow
        found = overflow_parts.overflow_of(job, lip)
        at = found[1].to if found is not None else None


def _basins(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    runs: tuple[Run, ...],
    ground: dict[str, float],
    lips: dict[str, float],
    ledger: Ledger,
) -> tuple[Basin, ...]:
    out = []
    for id in layout.basins:
        leaving = next((run for run in runs if run.from_id == id), None)
        if leaving is None:
            continue
        inlets = [run.downstream_invert_m for run in runs if run.to_id == id]
        end, onward = leaving.to_id, {run.from_id: run.to_id for run in runs}
        while end in onward:
            end = onward[end]
        out.append(
            basin_parts.basin(
                job,
                survey,
                layout,
                id,
                ground_m=ground[id],
                inlet_m=min(inlets, default=leaving.upstream_invert_m),
                outlet_m=leaving.upstream_invert_m,
                outlet_nominal_m=leaving.nominal_m,
                full_m=lips.get(end),
                ledger=ledger,
            )
        )
    return tuple(out)


def _conflict(found: Conflict) -> LevelConflict:
    return LevelConflict(
        wishes=tuple(
            LevelWish(item.kind, item.run_id, item.name, station)
            for item, station in zip(found.constraints, found.stations_m, strict=True)
        ),
        available_m=found.available_m,
        wanted_m=found.wanted_m,
        length_m=found.length_m,
        missing_m=found.missing_m,
        sides=tuple((run, thing, side) for (run, thing), side in found.side.items()),
    )


def _broken(solution: InvertSolution) -> tuple[Broken, ...]:
    return tuple(
        Broken(item.constraint, item.run_id, item.station_m, item.shortfall_m) for item in solution.broken
    )
