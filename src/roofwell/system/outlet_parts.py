"""Outlets: where a pipe lets go for good, and the level that its opening, bars, flap and tailwater hold there."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from roofwell import tables
from roofwell.job import model
from roofwell.physics.pipe import outfall
from roofwell.physics.pipe.flow import critical_depth_m, normal_depth_m, section
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import Outlet, Run, Scheme
from roofwell.units import Quantity


def outlets(
    job: model.Job, layout: Layout, runs: tuple[Run, ...], ground: dict[str, float], ledger: Ledger
) -> tuple[Outlet, ...]:
    """Return the outlets of the job, each at the level at which pipes reach it."""
    out = []
    for id in layout.outlets:
        given = job.outlets[id]
        levels = [run.downstream_invert_m for run in runs if run.to_id == id]
        ledger.origin[f"{id}.invert_m"] = "given" if given.invert is not None else "designed"
        if given.destination is None:
            ledger.lack("overflow.destination")

        def size(quantity: Quantity | None) -> float:
            return quantity.value_si if quantity is not None else 0.0

        out.append(
            Outlet(
                id,
                given.kind or "daylight",
                layout.places[id],
                ground[id],
                min(levels, default=given.invert.value_si if given.invert is not None else ground[id]),
                given.destination,
                opening_width_m=size(given.opening_width),
                opening_height_m=size(given.opening_height),
                opening_diameter_m=size(given.opening_diameter),
                guard=given.guard or "none",
                tailwater_m=given.tailwater.value_si if given.tailwater is not None else None,
                allowed_by=given.allowed_by,
                pad=given.pad is not False,
                power=given.power,
                freeze_protection=given.freeze_protection,
            )
        )
    return tuple(out)


def pipe_diameter_m(scheme: Scheme, outlet: Outlet) -> float:
    """Return the inside diameter of the largest pipe that reaches an outlet, m; 0 where none does."""
    sizes = [run.inside_diameter_m for run in scheme.runs_to(outlet.id)]
    sizes += [o.pipe.inside_diameter_m for o in scheme.overflows if o.to == outlet.id and o.pipe is not None]
    return max(sizes, default=0.0)


def blocked_share(outlet: Outlet) -> float:
    """Return the share of an opening that counts as closed: half of one with bars or in a curb, where leaves gather."""
    gathers = outlet.guard == "bars" or outlet.kind == "curb"
    return tables.assumption("overflow-clogged").value_si if gathers else 0.0


def opening_head_m(outlet: Outlet, flow_m3_s: float, diameter_m: float, blocked: float) -> float:
    """Return how deep water stands over an outlet's inside bottom for its opening to pass a flow, m.

    A free end without bars, flap or opening of its own asks for nothing: the pipe's critical depth is the pipe's.
    """
    orifice = tables.assumption("overflow-orifice-coefficient").value_si
    head = 0.0
    if flow_m3_s <= 0 or diameter_m <= 0:
        return head
    if outlet.opening_width_m > 0 and outlet.opening_height_m > 0:
        head = outfall.rectangular_opening_head_m(
            flow_m3_s=flow_m3_s,
            width_m=outlet.opening_width_m,
            height_m=outlet.opening_height_m,
            weir_coefficient_si=tables.assumption("curb-weir-coefficient").value_si,
            orifice_coefficient=orifice,
            clogged_fraction=blocked,
        )
    elif outlet.opening_diameter_m > 0 or outlet.guard == "bars":
        across = outlet.opening_diameter_m or diameter_m
        # the same area as what is left of it
        head = outfall.round_opening_head_m(
            flow_m3_s=flow_m3_s, diameter_m=across * math.sqrt(1.0 - blocked), orifice_coefficient=orifice
        )
    if outlet.guard == "flap":
        head = max(head, diameter_m) + outfall.flap_loss_m(flow_m3_s=flow_m3_s, diameter_m=diameter_m)
    return head


def tail_m(scheme: Scheme, outlet: Outlet, flow_m3_s: float) -> float:
    """Return the level into which the pipes of an outlet run with a flow, m; ``-inf`` at a free end."""
    head = opening_head_m(outlet, flow_m3_s, pipe_diameter_m(scheme, outlet), blocked_share(outlet))
    still = outlet.tailwater_m if outlet.tailwater_m is not None else -math.inf
    if outlet.lawn is not None:
        still = max(still, outlet.lawn.level_m(flow_m3_s))
    return max(still, outlet.invert_m + head) if head > 0 else still


def tail_of(scheme: Scheme, end: str | None) -> Callable[[float], float] | None:
    """Return what holds water up at an end, as the level for a flow; None where the end is no outlet."""
    outlet = next((one for one in scheme.outlets if one.id == end), None)
    return None if outlet is None else partial(tail_m, scheme, outlet)


def end_speed_m_s(scheme: Scheme, outlet: Outlet, flow_m3_s: float) -> float:
    """Return how fast a flow leaves the largest pipe of an outlet, m/s: at the lesser of normal and critical depth."""
    pipes = [o.pipe for o in scheme.overflows if o.to == outlet.id and o.pipe is not None]
    ends = [(run.inside_diameter_m, run.slope_m_m, run.manning_n) for run in scheme.runs_to(outlet.id)]
    ends += [(pipe.inside_diameter_m, pipe.slope_m_m, pipe.manning_n) for pipe in pipes]
    if not ends or flow_m3_s < outfall.NO_FLOW_M3_S:
        return 0.0
    across, slope, n = max(ends)
    depth = critical_depth_m(flow_m3_s=flow_m3_s, inside_diameter_m=across)
    if slope > 0:
        normal = normal_depth_m(flow_m3_s=flow_m3_s, inside_diameter_m=across, slope=slope, manning_n=n)
        depth = min(depth, normal) if normal is not None else depth
    return float(flow_m3_s / section(inside_diameter_m=across, depth_m=depth).area_m2)
