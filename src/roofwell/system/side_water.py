"""How the water stands in the pipes of overflows and links: at one moment, in the cloudburst, and what stays in them."""

from __future__ import annotations

import math
from collections.abc import Mapping

from roofwell import tables
from roofwell.physics.pipe import tree
from roofwell.physics.pipe.trace import Pipe
from roofwell.system import levels, outlet_parts, overflow_parts
from roofwell.system.behaviour import Behaviour, RunFlow
from roofwell.system.leaving import leaves_m3_s
from roofwell.system.scheme import Overflow, Run, Scheme


def side_flows(
    scheme: Scheme, *, well_m: Mapping[str, float], leaves_m3_s: Mapping[str, float]
) -> dict[str, RunFlow]:
    """Return the flow and the levels of every pipe of an overflow or link whose levels are known.

    Parameters
    ----------
    well_m
        Level of the water in each well, m, over its lip while it spills.
    leaves_m3_s
        What goes over the lip of each well, m³/s, by well.

    Notes
    -----
    A link stands at the level of its wells: what passes it at one moment is not followed, so its flow is 0.
    """
    found: dict[str, RunFlow] = {}
    for run in scheme.side_pipes:
        if not (run.length_m > 0 and _known(run.upstream_invert_m, run.downstream_invert_m)):
            continue
        overflow = next((one for one in scheme.overflows if one.id == run.id), None)
        if overflow is None:
            level = max(well_m.get(end, -math.inf) for end in (run.from_id, run.to_id))
            found[run.id] = _settled(run, _still(run), 0.0, level)
        else:
            flow = max(0.0, leaves_m3_s.get(overflow.of, 0.0))
            level = well_m.get(overflow.of, -math.inf)
            found[run.id] = _of_overflow(scheme, run, overflow, flow, level)
    return found


def cloudburst_flows(scheme: Scheme, behaviour: Behaviour) -> dict[str, RunFlow]:
    """Return the same in the cloudburst with the wells full, as the papers draw it."""
    wells = {well.id: well.lip_m for well in scheme.wells}
    for found in behaviour.wells:
        wells[found.id] += found.head_over_lip_m
    return side_flows(
        scheme,
        well_m=wells,
        leaves_m3_s={one.of: leaves_m3_s(scheme, behaviour, one) for one in scheme.overflows},
    )


def left_m(scheme: Scheme, run: Run) -> float:
    """Return the level of water that stays in a side pipe when its well is empty, m; ``-inf`` where it runs dry."""
    overflow = next((one for one in scheme.overflows if one.id == run.id), None)
    if overflow is None or overflow.pipe is None or overflow.pipe.weep_hole:
        return -math.inf
    deep = overflow_parts.trapped_depth_m(overflow)
    return overflow.pipe.downstream_invert_m + deep if deep > 0 else -math.inf


def _of_overflow(scheme: Scheme, run: Run, overflow: Overflow, flow: float, well_m: float) -> RunFlow:
    pipe = overflow_parts.traced(overflow.pipe) if overflow.pipe is not None else _still(run)
    tail = outlet_parts.tail_of(scheme, overflow.to)
    if flow > 0:
        blocked = tables.assumption("overflow-clogged").value_si
        mouth = overflow_parts.mouth_level_m
        below = tail(flow) if tail is not None else mouth(overflow, flow, blocked)
        return _settled(run, pipe, flow, below)
    if tail is not None:
        return _settled(run, pipe, 0.0, tail(0.0))
    reaches = well_m if well_m > run.upstream_invert_m else -math.inf
    return _settled(run, pipe, 0.0, max(reaches, left_m(scheme, run)))


def _settled(run: Run, pipe: Pipe, flow: float, tail_m: float) -> RunFlow:
    whole = tree.PipeTree((pipe,), (-1,), (0.0,), (math.inf,))
    settled = tree.settle(whole, flow_m3_s=(flow,), tailwater_m=(tail_m,))
    return levels.run_flow(run, flow, settled, 0, whole)


def _still(run: Run) -> Pipe:
    return Pipe(
        downstream_invert_m=run.downstream_invert_m,
        upstream_invert_m=run.upstream_invert_m,
        length_m=run.length_m,
        inside_diameter_m=run.inside_diameter_m,
        manning_n=run.manning_n,
        loss_k=0.0,
        slope=run.slope_m_m,
    )


def _known(*values: float) -> bool:
    return all(math.isfinite(value) for value in values)
