"""Wells linked by a pipe: which stand at one level, where they spill, and what must pass each link."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job import model
from roofwell.physics import network
from roofwell.physics.pipe import losses
from roofwell.physics.well import storage
from roofwell.system import trench_parts
from roofwell.system.behaviour import LinkFlow
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import Scheme, Well, WellLink

Groups = tuple[tuple[int, ...], ...]
_SAME_SIZE_M = 1e-6


def full_levels(job: model.Job, lips: Mapping[str, float]) -> dict[str, float]:
    """Return the level at which each well is full: over a link, the lowest lip of all that are linked."""
    out = dict(lips)
    pairs = [(id, to) for id in lips if (to := _linked_to(job, id)) in lips]
    for _ in pairs:  # enough rounds for a chain of them
        for id, to in pairs:
            out[id] = out[to] = min(out[id], out[to])  # type: ignore[index]
    return out


def spills_at(job: model.Job, lips: Mapping[str, float]) -> dict[str, str]:
    """Return the well at whose overflow each well's water leaves: of all that are linked, the first with the lowest lip."""
    group = {id: {id} for id in lips}
    for id in lips:
        to = _linked_to(job, id)
        if to in lips:
            both = group[id] | group[to]  # type: ignore[index]
            for one in both:
                group[one] = both
    order = list(lips)
    return {id: min(group[id], key=lambda one: (lips[one], order.index(one))) for id in lips}


def _linked_to(job: model.Job, id: str) -> str | None:
    well = job.wells.get(id)
    return well.linked_to if well is not None else None


def well_links(
    job: model.Job, survey: Survey, layout: Layout, wells: Sequence[Well], ledger: Ledger
) -> tuple[WellLink, ...]:
    """Return the links between wells, complete.

    Raises
    ------
    InputError
        ``link-invert`` for a link that lies no lower than the level at which its wells are full, or under the bottom of
        one of them.
    """
    by_id = {well.id: well for well in wells}
    out = []
    for well in wells:
        to = _linked_to(job, well.id)
        if to is None or to not in by_id:
            continue
        given, other = job.wells[well.id], by_id[to]
        lowest, full = max(well.bottom_m, other.bottom_m), well.lip_m
        path = f"{well.id}.link_invert_m"
        if given.link_invert is not None:
            invert = ledger.given(path, given.link_invert.value_si)
        else:
            invert = ledger.designed(path, lowest)
        if not lowest - 1e-9 <= invert < full - 1e-9:
            raise InputError(
                f"wells.{well.id}.link_invert: the link to {to} lies at {invert:.3f} m; it must lie at {lowest:.3f} m, the "
                f"higher bottom of the two, or over it, and under {full:.3f} m, where both are full. Left out, it lies at "
                "the higher bottom",
                code="link-invert",
            )
        size = _size(job, survey, given, ledger, f"{well.id}.link_diameter_m")
        ends = shapely.ops.nearest_points(
            shapely.Polygon(well.pit_corners), shapely.Polygon(other.pit_corners)
        )
        wall = [(float(point.x), float(point.y)) for point in ends]
        out.append(
            WellLink(
                of=well.id,
                to=to,
                invert_m=invert,
                pipe=size.pipe,
                nominal_m=size.nominal_m,
                inside_diameter_m=size.inside_m,
                outside_diameter_m=size.outside_m,
                manning_n=size.manning_n,
                path=(wall[0], wall[1]),
                length_m=math.dist(layout.places[well.id], layout.places[to]),
            )
        )
    return tuple(out)


def _size(
    job: model.Job, survey: Survey, given: model.Well, ledger: Ledger, path: str
) -> trench_parts.PipeSize:
    sizes = trench_parts.usual_sizes(job, survey)
    if given.link_nominal is not None:
        wanted = ledger.given(path, given.link_nominal.value_si)
        near = min(sizes, key=lambda size: abs(size.nominal_m - wanted))
        return (
            near
            if abs(near.nominal_m - wanted) < _SAME_SIZE_M
            else replace(near, nominal_m=wanted, inside_m=wanted)
        )
    wanted = ledger.assume(path, "link-pipe")
    return min(sizes, key=lambda size: abs(size.nominal_m - wanted))


def places(scheme: Scheme) -> Groups:
    """Return, for each well of the Scheme, the places of all that it is one store with, its own among them."""
    ids = [well.id for well in scheme.wells]
    return tuple(tuple(ids.index(other) for other in scheme.linked_with(id)) for id in ids)


def with_links(scheme: Scheme, stores: Sequence[network.Store]) -> list[network.Store]:
    """Return the stores of a Scheme's wells, in their order, with their levels and links."""
    if not scheme.links:
        return list(stores)
    ids = [well.id for well in scheme.wells]
    out = []
    for well, store in zip(scheme.wells, stores, strict=True):
        depths = np.array([0.0, *(layer.top_m for layer in well.layers)])
        volume = storage.storage_volume_m3(well.layers, depths)
        volume[-1] = store.volume_m3[-1]
        link = next((link for link in scheme.links if link.of == well.id), None)
        out.append(
            replace(
                store,
                stage=network.Stage(volume, well.bottom_m + depths),
                link=network.Link(ids.index(link.to), link.invert_m) if link is not None else None,
                spills=scheme.spills_at(well.id) == well.id,
            )
        )
    return out


def link_flows(
    scheme: Scheme, peaks: Mapping[str, float], stores: Mapping[str, network.Store]
) -> tuple[LinkFlow, ...]:
    """Return what must pass each link in the cloudburst; ``peaks``: flow of every run, m³/s."""
    brought = {well.id: sum(peaks[run.id] for run in scheme.runs_to(well.id)) for well in scheme.wells}
    soaks = {id: float(store.soakage_m3_s[-1]) for id, store in stores.items()}
    flows = [flow_through_m3_s(scheme, link, brought, soaks) for link in scheme.links]
    return tuple(
        LinkFlow(link.id, flow, head_through_m(link, flow))
        for link, flow in zip(scheme.links, flows, strict=True)
    )


def head_through_m(link: WellLink, flow_m3_s: float) -> float:
    """Return the difference of level that drives a flow through a full link: entrance, friction and exit, m."""
    return losses.full_pipe_loss_m(
        flow_m3_s=flow_m3_s,
        length_m=link.length_m,
        inside_diameter_m=link.inside_diameter_m,
        manning_n=link.manning_n,
        ends_k=tables.assumption("link-end-losses").value_si,
    )


def flow_through_m3_s(
    scheme: Scheme, link: WellLink, brought: Mapping[str, float], soaks: Mapping[str, float]
) -> float:
    """Return what must pass a link in the cloudburst: what comes on one side of it, less what soaks away there.

    The side that brings more counts; that it also fills its own pit meanwhile is left out, which is safe.
    """
    sides = []
    for start in (link.of, link.to):
        side, waiting = {start}, [start]
        for id in waiting:
            for other in scheme.links:
                if other is link or id not in (other.of, other.to):
                    continue
                far = other.to if other.of == id else other.of
                if far not in side:
                    side.add(far)
                    waiting.append(far)
        sides.append(sum(brought.get(id, 0.0) - soaks.get(id, 0.0) for id in side))
    return max(0.0, *sides)
