"""Which soil each soaking face of a pit stands in, and how fast it takes water."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from roofwell.physics.well.storage import Layer, cut_layers
from roofwell.system.facts import Soil, SoilLayerFact
from roofwell.system.scheme import SoakageModel

JUST_UNDER_M = 1e-6
BOTTOM_SOAKS: tuple[SoakageModel, ...] = (
    "bottom",
    "bottom and sides",
    "bottom and half sides",
    "unit gradient",
    "three-dimensional",
)


def layer_at(soil: Soil, depth_m: float) -> SoilLayerFact | None:
    """Return the layer with a rate of its own at a depth below the ground; its top belongs to it."""
    return next((layer for layer in soil.layers if layer.top_m <= depth_m < layer.bottom_m), None)


def rate_at_m_s(soil: Soil, depth_m: float, at_large_m_s: float) -> float:
    """Return the rate at a depth where the soil at large is counted with ``at_large_m_s``, m/s.

    At the soil's own low, best and high rate a layer takes its own low, best and high one; at any other it is
    scaled from its best one in proportion.
    """
    layer = layer_at(soil, depth_m)
    if layer is None:
        return at_large_m_s
    pairs = (
        (soil.best_m_s, layer.best_m_s),
        (soil.low_m_s, layer.low_m_s),
        (soil.high_m_s, layer.high_m_s),
    )
    own = next((own for large, own in pairs if math.isclose(at_large_m_s, large, rel_tol=1e-9)), None)
    if own is not None:
        return own
    return layer.best_m_s * at_large_m_s / soil.best_m_s if soil.best_m_s > 0 else at_large_m_s


def pit_rates(
    soil: Soil,
    layers: Sequence[Layer],
    *,
    pit_depth_m: float,
    stone_height_m: float,
    at_large_m_s: float,
) -> tuple[tuple[Layer, ...], list[float], float]:
    """Return the pit's layers cut where the soil changes, the rate beside each, and the rate under the bottom.

    Above the stone only a riser holds water, and nothing soaks. A pit that ends just where a soil begins stands
    with its bottom on that soil, and with its sides in the one above.
    """
    ends = [pit_depth_m - depth for layer in soil.layers for depth in (layer.top_m, layer.bottom_m)]
    cut = cut_layers(layers, ends)
    rates = [
        rate_at_m_s(soil, pit_depth_m - (layer.bottom_m + layer.top_m) / 2, at_large_m_s)
        if layer.bottom_m < stone_height_m - 1e-9
        else 0.0
        for layer in cut
    ]
    return cut, rates, rate_at_m_s(soil, pit_depth_m + JUST_UNDER_M, at_large_m_s)


def stands_in_unmeasured(
    soil: Soil, credit: SoakageModel, *, pit_depth_m: float, stone_top_depth_m: float
) -> bool:
    """Say whether a face that soaks stands in soil whose rate nobody measured, although some layers have one."""
    if soil.tested or not soil.layers:
        return False
    if credit in BOTTOM_SOAKS and not _measured(soil, pit_depth_m + JUST_UNDER_M):
        return True
    if credit == "bottom":
        return False
    edges = {depth for layer in soil.layers for depth in (layer.top_m, layer.bottom_m)}
    cuts = sorted(
        {stone_top_depth_m, pit_depth_m, *(e for e in edges if stone_top_depth_m < e < pit_depth_m)}
    )
    return any(not _measured(soil, (a + b) / 2) for a, b in pairwise(cuts))


def _measured(soil: Soil, depth_m: float) -> bool:
    layer = layer_at(soil, depth_m)
    return layer is not None and layer.known
