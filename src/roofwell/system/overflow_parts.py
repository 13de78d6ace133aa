"""Overflows: the lip at which a well is full, what stands there, the pipe that leads to it, and the head that it needs."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache

import shapely

from roofwell import tables, units
from roofwell.job import model
from roofwell.physics.pipe.trace import Pipe, pass_pipe
from roofwell.physics.trench import route
from roofwell.physics.well import mouths
from roofwell.system import pipes, stone_and_fabric, trench_parts, well_shapes
from roofwell.system.choice import WellChoice
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.pipe_slopes import least_slope
from roofwell.system.place import xy, xys
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import XY, Overflow, OverflowPipe, Well
from roofwell.system.shapes_of import shape_of
from roofwell.system.well_parts import body_top_m
from roofwell.system.well_shapes import PitPlan

Tail = Callable[[float], float]

HALVINGS = 40


def overflow_of(job: model.Job, well: str) -> tuple[str, model.Overflow] | None:
    """Return the overflow that the job gives to a well."""
    return next(((id, o) for id, o in job.overflows.items() if o.of == well and o.state != "abandoned"), None)


def outlet_below(
    job: model.Job, layout: Layout, ground: Mapping[str, float], well: str
) -> tuple[float, float] | None:
    """Return the invert of the outlet that takes a well's overflow, and how far away it is, m; None where none does."""
    found = overflow_of(job, well)
    to = found[1].to if found is not None else None
    if to is None or not pipe_path(job, layout, well):
        return None
    given = job.outlets[to].invert
    invert = given.value_si if given is not None else ground.get(to, math.nan)
    return invert, route.path_length_m(pipe_path(job, layout, well))


def pipe_path(job: model.Job, layout: Layout, well: str) -> tuple[XY, ...]:
    """Return the course of the pipe that leads a well's overflow to an outlet, given or straight; empty without one."""
    found = overflow_of(job, well)
    to = found[1].to if found is not None else None
    if found is None or to not in job.outlets or to not in layout.places or well not in layout.places:
        return ()
    return xys(found[1].path) if found[1].path else (layout.places[well], layout.places[to])


def lip_m(
    job: model.Job,
    survey: Survey,
    well: str,
    ground_m: float,
    ledger: Ledger,
    layout: Layout,
    ground: Mapping[str, float],
    size_m: float | None = None,
) -> float:
    """Return the level at which a well is full: the lip of its overflow.

    Left out, it lies at the ground; where a pipe leads on to an outlet, so that the pipe keeps its cover the whole way, but
    no lower than its least slope lets it. ``size_m``: inside diameter of that pipe; None before it is sized.
    """
    given = overflow_of(job, well)
    if given is not None and given[1].lip is not None:
        return ledger.given(f"{given[0]}.lip_m", given[1].lip.value_si)
    parts = job.wells.get(well, model.Well()), given[1] if given else model.Overflow()
    existing = any(part.state == "existing" for part in parts)
    ledger.origin[f"{given[0] if given else 'overflow of ' + well}.lip_m"] = (
        "missing" if existing else "designed"
    )
    if existing:
        ledger.lack("overflow.lip")
    outlet = outlet_below(job, layout, ground, well)
    if outlet is not None:
        size = size_m if size_m is not None else tables.assumption("overflow-pipe", survey.style).value_si
        drains = outlet[0] + least_slope(size, survey)[0] * outlet[1]
        path = pipe_path(job, layout, well)
        more = tables.assumption(
            "cover-allowance", survey.style
        ).value_si  # as the runs have it, where there is room
        covered = units.on_elevation_grid(
            _covered_m(path, outlet[0], trench_parts.size_across(size, job, survey), survey) - more,
            survey.style,
            toward="down",
        )
        lowest = units.on_elevation_grid(drains, survey.style, toward="up")
        return min(max(lowest, covered), units.on_elevation_grid(ground_m, survey.style))
    return units.on_elevation_grid(ground_m, survey.style)


def _covered_m(path: tuple[XY, ...], end_m: float, size: trench_parts.PipeSize, survey: Survey) -> float:
    """The highest start of a pipe of one slope that keeps its cover all the way to where it comes out of the ground, m."""
    over = trench_parts.what_lies_over(path, size.outside_m, survey, frost_m=None, to_outlet=True)
    high = size.outside_m - 0.5 * (size.outside_m - size.inside_m)
    length, most = route.path_length_m(path), math.inf
    for station, ground, cover in zip(over.stations_m, over.ground_m, over.cover_m, strict=True):
        if cover > 0 and station < length:
            gone = station / length
            most = min(most, (ground - cover - high - gone * end_m) / (1.0 - gone))
    return most


def overflow(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    well_id: str,
    *,
    full_m: float,
    free_id: str,
    peak_m3_s: float,
    ledger: Ledger,
    choice: WellChoice,
    ground: Mapping[str, float],
) -> Overflow:
    """Return the overflow of a well, given or designed: what lets water out over it, beside it, or at an outlet."""
    found = overflow_of(job, well_id)
    id, given = found if found else (free_id, model.Overflow())
    job_well = job.wells.get(well_id, model.Well())
    kind = given.kind or ("stone surface" if well_shapes.surfaced(job_well) else "grate")
    plan = well_shapes.pit_plan(job_well, choice, survey)
    stone = plan if kind == "stone surface" else None
    ledger.origin[f"{id}.lip_m"] = ledger.origin[f"{id if found else 'overflow of ' + well_id}.lip_m"]
    ledger.origin[f"{id}.kind"] = "given" if given.kind is not None else "designed"
    at = xy(given.at) if given.at is not None else layout.places[well_id]
    ledger.origin[f"{id}.at"] = "given" if given.at is not None else "designed"
    # what it leads to counts once it stands somewhere; until then the water's way ends at the overflow itself
    to = given.to if given.to in layout.places else None
    if given.to is not None and to is None:
        ledger.lack("overflow.outlet")
    elif to is None and given.destination is None:
        ledger.lack("overflow.destination")
    lines = [shape_of(f) for f in survey.of_kind("lot line") if len(f.points) > 1]
    distance = min((line.distance(shapely.Point(at)) for line in lines), default=None)
    if stone is not None and given.open_share is None:
        share = stone_and_fabric.voids(job_well, f"{id}.open_share", ledger)
    else:
        share = ledger.value(given.open_share, f"{id}.open_share", "overflow-open-share")
    draft = Overflow(
        id=id,
        of=well_id,
        kind=kind,
        at=at,
        lip_m=full_m,
        diameter_m=math.nan,
        open_share=share,
        to=to,
        destination=given.destination,
        distance_to_lot_line_m=distance,
        ground_m=float(survey.ground.elevation_m([at])[0]),
        path=xys(given.path),
    )
    if kind == "level spreader":
        draft = replace(draft, length_m=_spreader_length(given, survey, id, peak_m3_s, ledger))
    if kind == "pop-up emitter":
        draft = replace(draft, lid_travel_m=ledger.value(given.lid_lift, f"{id}.lid_travel_m", "lid-travel"))
    outlet = outlet_below(job, layout, ground, well_id)
    away = outlet[1] if outlet is not None else math.dist(layout.places[well_id], at)
    if to is not None and outlet is None:
        away = 0.0  # into a second well: what leads there is the second well's inlet
    if away > 0.5 * max(plan.length_m, plan.width_m) and stone is None:
        start = full_m if outlet is not None else body_top_m(job_well, ground[well_id], survey)
        course = pipe_path(job, layout, well_id) or (layout.places[well_id], at)
        draft = replace(draft, pipe=_pipe(given, start, outlet, course))
        if outlet is not None:
            ledger.origin[f"{id}.path"] = "given" if given.path else "designed"
            draft = replace(draft, path=())  # what is drawn is the pipe's course, not a way over the ground
    return _sized(draft, given, survey, peak_m3_s, ledger, stone)


def spreader_m(flow_m3_s: float) -> float:
    """Return the length of level lip that the rule wants for a flow, m: so much for each cubic foot a second."""
    return tables.limit("spreader-for-flow").value_si * flow_m3_s / 0.3048**3


def _spreader_length(
    given: model.Overflow, survey: Survey, id: str, peak_m3_s: float, ledger: Ledger
) -> float:
    if given.length is not None:
        return ledger.given(f"{id}.length_m", given.length.value_si)
    step = tables.assumption("spreader-step", survey.style).value_si
    wanted = max(spreader_m(peak_m3_s), tables.assumption("spreader-least", survey.style).value_si)
    return ledger.designed(f"{id}.length_m", math.ceil(wanted / step - 1e-9) * step)


def _pipe(
    given: model.Overflow, start_m: float, outlet: tuple[float, float] | None, course: tuple[XY, ...]
) -> OverflowPipe:
    """The pipe beside the pit, its size to come; left out, its low point is at the well, so that it drains back."""
    if outlet is not None:
        end = outlet[0]
        corners = (math.degrees(fitting.angle_rad) for fitting in trench_parts.elbows_of(course))
        bends = math.fsum(pipes.elbow_k(angle) for angle in corners)
    else:
        end = given.low_point.value_si if given.low_point is not None else start_m
        bends = 2 * pipes.elbow_k(90.0)
    return OverflowPipe(
        upstream_invert_m=start_m,
        downstream_invert_m=end,
        length_m=route.path_length_m(course),
        inside_diameter_m=math.nan,
        manning_n=tables.assumption("manning-n-smooth").value_si,
        bends_k=bends,
        weep_hole=bool(given.weep_hole),
        path=course,
    )


def _sized(
    draft: Overflow,
    given: model.Overflow,
    survey: Survey,
    peak_m3_s: float,
    ledger: Ledger,
    stone: PitPlan | None,
) -> Overflow:
    """Give it the smallest size that passes the cloudburst, half blocked, under the head of the limits."""
    path = f"{draft.id}.diameter_m"
    if stone is not None:
        # a circle of the same area: its edge is the shorter, so it passes less
        area = stone.width_m * stone.length_m
        across = stone.width_m if stone.shape == "round" else math.sqrt(4 * area / math.pi)
        return replace(draft, diameter_m=ledger.designed(path, across))
    lid = given.lid_weight.value_si if given.lid_weight is not None else None
    blocked = tables.assumption("overflow-clogged").value_si
    if draft.kind == "pop-up emitter" and lid is None:
        ledger.assume(f"{draft.id}.lid_head_m", "lid-lift-head")
    if given.diameter is not None:
        return _with_size(draft, ledger.given(path, given.diameter.value_si), lid, survey)
    sizes = [
        length_of(row["diameter"]) for row in tables.rows("overflow_sizes") if row["units"] == survey.style
    ]
    for size in sizes:
        made = _with_size(draft, size, lid, survey)
        if capacity_m3_s(made, stated_head_m(made, survey.style), blocked) >= peak_m3_s:
            break
    ledger.designed(path, made.diameter_m)
    return made


def _with_size(draft: Overflow, size_m: float, lid_kg: float | None, survey: Survey) -> Overflow:
    pipe = replace(draft.pipe, inside_diameter_m=size_m) if draft.pipe is not None else None
    head = 0.0
    if draft.kind == "pop-up emitter":
        head = (
            mouths.lift_head_m(lid_kg=lid_kg, diameter_m=size_m)
            if lid_kg is not None
            else tables.assumption("lid-lift-head", survey.style).value_si
        )
    return replace(draft, diameter_m=size_m, pipe=pipe, lid_head_m=head)


def with_wells(job: model.Job, overflows: Sequence[Overflow], wells: Sequence[Well]) -> tuple[Overflow, ...]:
    """Let the pipes of overflows that stand beside their pit start at the top of the body that was designed meanwhile."""
    tops = {well.id: well.bottom_m + well.stone_below_m + well.body_height_m for well in wells}
    out = []
    for one in overflows:
        pipe = one.pipe
        if pipe is not None and one.to is None and one.of in tops:
            start = min(tops[one.of], one.lip_m)
            low = job.overflows[one.id].low_point if one.id in job.overflows else None
            end = low.value_si if low is not None else start
            pipe = replace(pipe, upstream_invert_m=start, downstream_invert_m=end)
        out.append(replace(one, pipe=pipe))
    return tuple(out)


@cache
def coefficients() -> mouths.Coefficients:
    """Return the weir and orifice coefficients of the ways out."""
    return mouths.Coefficients(
        weir_si=tables.assumption("overflow-weir-coefficient").value_si,
        lip_si=tables.assumption("spreader-weir-coefficient").value_si,
        orifice=tables.assumption("overflow-orifice-coefficient").value_si,
    )


def mouth_of(overflow: Overflow) -> mouths.Mouth | None:
    """Return what water leaves through; None where a pipe leads on to an outlet, whose own end that is."""
    if overflow.to is not None and overflow.pipe is not None:
        return None
    match overflow.kind:
        case "pop-up emitter":
            return mouths.PopUp(overflow.diameter_m, overflow.lid_head_m, overflow.lid_travel_m)
        case "level spreader":
            return mouths.Spreader(overflow.length_m)
        case _:  # a grate, over a splash block or not; stone at the lawn; a lip into a second well
            area = math.pi * overflow.diameter_m**2 / 4 * overflow.open_share
            return mouths.Grate(math.pi * overflow.diameter_m, area)


def mouth_level_m(overflow: Overflow, flow_m3_s: float, blocked: float) -> float:
    """Return the level of the water over the mouth of an overflow's own pipe with a flow, m; its lip without one."""
    own = replace(overflow, pipe=None)
    return overflow.lip_m + head_m(own, flow_m3_s, blocked)


def head_m(
    overflow: Overflow, flow_m3_s: float, blocked: float, tail: Tail | None = None, *, drowned: bool = True
) -> float:
    """Return how high water stands over the lip at the well while this much leaves, m.

    ``tail``: level of the water into which its pipe ends at an outlet, for a flow. On the lawn the water that runs away over
    the ground may stand higher than the mouth asks for: the higher of the two counts, but for the mouth alone (``drowned``
    False), by which it is sized.
    """
    if flow_m3_s <= 0:
        return 0.0
    mouth, level = mouth_of(overflow), tail(flow_m3_s) if tail is not None else -math.inf
    if mouth is not None:
        over = mouths.head_m(mouth, flow_m3_s=flow_m3_s, by=coefficients(), clogged_fraction=blocked)
        level = overflow.lip_m + over
        if drowned and overflow.lawn is not None:
            level = max(level, overflow.lawn.level_m(flow_m3_s))
    if overflow.pipe is not None:
        level = pass_pipe(traced(overflow.pipe), flow_m3_s, level).level_m
    return max(0.0, level - overflow.lip_m)


def traced(pipe: OverflowPipe) -> Pipe:
    """Return the pipe of an overflow as physics follows it."""
    return Pipe(
        downstream_invert_m=pipe.downstream_invert_m,
        upstream_invert_m=pipe.upstream_invert_m,
        length_m=pipe.length_m,
        inside_diameter_m=pipe.inside_diameter_m,
        manning_n=pipe.manning_n,
        loss_k=1.0 + tables.assumption("entrance-loss-k").value_si + pipe.bends_k,
        slope=pipe.slope_m_m,
        edge=pipes.square_edge(),
    )


def stated_head_m(overflow: Overflow, style: units.Style) -> float:
    """Return the water over the lip under which a capacity is stated, m: a little, or a pipe's full bore."""
    little = tables.limit("overflow-head", style).value_si
    return little if mouth_of(overflow) is not None else max(little, overflow.diameter_m)


def capacity_m3_s(overflow: Overflow, over_lip_m: float, blocked: float, tail: Tail | None = None) -> float:
    """Return what leaves while water stands so high over the lip, m³/s: the inverse of ``head_m``."""
    mouth = mouth_of(overflow)
    if mouth is not None:
        most = mouths.capacity_m3_s(mouth, head_m=over_lip_m, by=coefficients(), clogged_fraction=blocked)
    else:
        most = mouths.pipe_takes_in_m3_s(diameter_m=overflow.diameter_m, head_m=over_lip_m)
    if (
        overflow.pipe is None
        or most <= 0
        or head_m(overflow, most, blocked, tail, drowned=False) <= over_lip_m
    ):
        return most
    least = 0.0
    for _ in range(HALVINGS):
        flow = 0.5 * (least + most)
        if head_m(overflow, flow, blocked, tail, drowned=False) <= over_lip_m:
            least = flow
        else:
            most = flow
    return least


def trapped_depth_m(overflow: Overflow) -> float:
    """Return how deep water stands in the low elbow when the well is empty, m; 0 where it drains back or runs out."""
    pipe = overflow.pipe
    if pipe is None or overflow.to is not None:
        return 0.0
    return max(0.0, min(pipe.upstream_invert_m, overflow.lip_m) - pipe.downstream_invert_m)
