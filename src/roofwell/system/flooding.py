"""A well that stands in groundwater: what stands in it holds nothing, and its bottom soaks nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from roofwell.physics import network
from roofwell.physics.well import storage
from roofwell.physics.well.flooded import flooded_curves
from roofwell.system.scheme import Well


def flooded_store(store: network.Store, well: Well, level_m: float) -> tuple[network.Store, float]:
    """Return a well's store over groundwater at a level (elevation), and the volume that stands in it, m³.

    The same store and 0 where the water stays under the pit. Where it stands over the lip, nothing is left: the whole
    store soaks nothing, and begins full.
    """
    depth = min(max(level_m - well.bottom_m, 0.0), well.layers[-1].top_m)
    full = float(store.volume_m3[-1])
    stands = float(storage.storage_volume_m3(well.layers, depth))
    if stands <= 0:
        return store, 0.0
    if stands >= full * (1 - 1e-9):  # all of it: what comes, spills
        still = np.zeros_like(store.volume_m3)
        return replace(store, soakage_m3_s=still, soakage_below_m3_s=None), 0.0
    nodes, above, below, capacity = flooded_curves(
        volume_m3=store.volume_m3,
        above_m3_s=store.soakage_m3_s,
        below_m3_s=store.soakage_below_m3_s if store.soakage_below_m3_s is not None else store.soakage_m3_s,
        capacity_m3_s=store.capacity_m3_s,
        flooded_m3=stands,
    )
    left = replace(
        store,
        volume_m3=nodes,
        soakage_m3_s=above,
        soakage_below_m3_s=below,
        capacity_m3_s=capacity,
        empty_m3=min(store.empty_m3, 0.5 * float(nodes[-1])),
        stage=_over(store.stage, stands, float(nodes[-1])),
    )
    return left, stands


def _over(stage: network.Stage | None, stands_m3: float, full_m3: float) -> network.Stage | None:
    """Levels of what is left over the water that stands in a linked well."""
    if stage is None:
        return None
    volume = np.concatenate([[stands_m3], stage.volume_m3[stage.volume_m3 > stands_m3 * (1 + 1e-9)]])
    level = np.interp(volume, stage.volume_m3, stage.level_m)
    volume = volume - stands_m3
    volume[-1] = full_m3
    return network.Stage(volume, level)
