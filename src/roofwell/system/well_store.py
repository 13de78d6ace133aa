"""One well as the kernel takes it: what it soaks and what its pipes bring, at each volume of water in it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from roofwell import tables
from roofwell.physics import network
from roofwell.physics.well import storage
from roofwell.system import levels, pipes
from roofwell.system.behaviour import FloatArray
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme, Well
from roofwell.system.soakage_models import soakage_curve

LEVELS_OF_CAPACITY = 4
HEADS_OF_CAPACITY = 10  # halvings: to a thousandth of what comes
# the head over the lip comes with the very last of the volume, not along the last stretch of it
JUST_UNDER_FULL = 1.0 - 1e-4


def well_store(
    scheme: Scheme, survey: Survey, well: Well, rate_m_s: float, most: Mapping[str, float]
) -> network.Store:
    """A well as the kernel takes it. What its pipes bring is left out where the heaviest rain of the whole
    study passes them even with the well full and the head over its lip: it can then never be less."""
    nodes, above, below = soakage_curve(survey.soil, well, rate_m_s)
    cap = None
    over = _brought(scheme, well.id, most) + _by_links(scheme, well.id, most) - float(above[-1])
    top = well.lip_m + levels.head_over_lip_m(scheme, well, over)
    if scheme.runs_to(well.id) and not pipes.passes(scheme, well.id, most, top):
        nodes, above, below = _with_levels(well, nodes, above, below)
        stage = well.bottom_m + storage.depth_of_volume_m(well.layers, nodes)
        cap = _capacity(scheme, well, stage, float(above[-1]), most)
    return network.Store(
        volume_m3=nodes,
        soakage_m3_s=above,
        soakage_below_m3_s=below,
        capacity_m3_s=cap,
        empty_m3=empty_m3(well),
    )


def _brought(scheme: Scheme, well: str, most: Mapping[str, float]) -> float:
    """What a well's pipes and the overflows into it bring at most, nothing soaked away on the way, m³/s."""
    by_pipe = sum(most[run.id] for run in scheme.runs_to(well))
    return by_pipe + _handed_on(scheme, well, most)


def _by_links(scheme: Scheme, well: str, most: Mapping[str, float]) -> float:
    """What the wells linked with it bring at most: with them it shares the head over the lip."""
    return sum(_brought(scheme, other, most) for other in scheme.linked_with(well) if other != well)


def _handed_on(scheme: Scheme, well: str, most: Mapping[str, float]) -> float:
    wells = {one.id for one in scheme.wells}
    return sum(_brought(scheme, o.of, most) for o in scheme.overflows if o.to == well and o.of in wells)


def _capacity(
    scheme: Scheme, well: Well, stage_m: FloatArray, soaks_m3_s: float, most: Mapping[str, float]
) -> FloatArray | None:
    """What the pipes bring at each level; of the full well what they bring against the head over the lip that just this
    flow, with all that other wells hand on at most and without what soaks, needs."""
    ways = pipes.capacity_ways(scheme, well.id)
    cap = None if ways is None else pipes.capacity_of(ways, stage_m)
    if ways is None or cap is None:
        return None
    linked = _by_links(scheme, well.id, most)
    others = _handed_on(scheme, well.id, most) + linked
    least, greatest = 0.0, _brought(scheme, well.id, most) + linked - soaks_m3_s
    for _ in range(HEADS_OF_CAPACITY) if greatest > 0 else ():
        leaves = 0.5 * (least + greatest)
        top = well.lip_m + levels.head_over_lip_m(scheme, well, leaves)
        if pipes.bring(ways, top, leaves + soaks_m3_s - others):
            least = leaves
        else:
            greatest = leaves
    if greatest > 0:
        cap[-1] = min(float(cap[-1]), max(0.0, least + soaks_m3_s - others))
    return cap


def _with_levels(
    well: Well, nodes: FloatArray, above: FloatArray, below: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Add nodes between the pipe's invert and the lip, where what gets in begins to shrink."""
    low = min(max(well.inlet_invert_m - well.bottom_m, 0.0), well.layers[-1].top_m)
    depths = np.linspace(low, well.layers[-1].top_m, LEVELS_OF_CAPACITY)
    extra = [*storage.storage_volume_m3(well.layers, depths), JUST_UNDER_FULL * float(nodes[-1])]
    least = 1e-6 * float(nodes[-1])
    fresh = [v for v in extra if float(np.min(np.abs(nodes - v))) > least]
    if not fresh:
        return nodes, above, below
    added = np.interp(fresh, nodes, above)
    for i, volume in enumerate(fresh):
        k = int(np.searchsorted(nodes, volume)) - 1
        share = (volume - nodes[k]) / (nodes[k + 1] - nodes[k])
        added[i] = above[k] + share * (below[k + 1] - above[k])
    order = np.argsort(np.concatenate([nodes, fresh]), kind="stable")
    return (
        np.concatenate([nodes, fresh])[order],
        np.concatenate([above, added])[order],
        np.concatenate([below, added])[order],
    )


def empty_m3(well: Well) -> float:
    """Return the volume up to which a well counts as empty, m³: a film of water, or a small share of it."""
    depth, share = tables.assumption("empty-depth").value_si, tables.assumption("empty-share").value_si
    film = float(storage.storage_volume_m3(well.layers, np.array([depth]))[0])
    return max(film, share * storage.full_volume_m3(well.layers))
