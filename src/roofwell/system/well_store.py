"""One well as the kernel takes it: what it soaks and what its pipes bring, at each volume of water in it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from roofwell import tables
from roofwell.physics import network
from roofwell.physics.well import storage
from roofwell.system import pipes
from roofwell.system.behaviour import FloatArray
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme, Well
from roofwell.system.soakage_models import soakage_curve

LEVELS_OF_CAPACITY = 4


def well_store(
    scheme: Scheme, survey: Survey, well: Well, rate_m_s: float, most: Mapping[str, float]
) -> network.Store:
    """A well as the kernel takes it. What its pipes bring is left out where the heaviest rain of the whole
    study passes them even with the well brimful: it can then never be less."""
    nodes, above, below = soakage_curve(survey.soil, well, rate_m_s)
    cap = None
    if scheme.runs_to(well.id) and not pipes.passes(scheme, well.id, most, well.lip_m):
        nodes, above, below = _with_levels(well, nodes, above, below)
        stage = well.bottom_m + storage.depth_of_volume_m(well.layers, nodes)
        cap = pipes.capacity(scheme, well.id, stage)
    return network.Store(
        volume_m3=nodes,
        soakage_m3_s=above,
        soakage_below_m3_s=below,
        capacity_m3_s=cap,
        empty_m3=_empty(well),
    )


def _with_levels(
    well: Well, nodes: FloatArray, above: FloatArray, below: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Add nodes between the pipe's invert and the lip, where what gets in begins to shrink."""
    low = min(max(well.inlet_invert_m - well.bottom_m, 0.0), well.layers[-1].top_m)
    depths = np.linspace(low, well.layers[-1].top_m, LEVELS_OF_CAPACITY)
    extra = storage.storage_volume_m3(well.layers, depths)
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


def _empty(well: Well) -> float:
    depth, share = tables.assumption("empty-depth").value_si, tables.assumption("empty-share").value_si
    film = float(storage.storage_volume_m3(well.layers, np.array([depth]))[0])
    return max(film, share * storage.full_volume_m3(well.layers))
