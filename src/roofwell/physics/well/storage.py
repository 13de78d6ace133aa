"""How much water a pit with well bodies and stone holds at a depth, and how deep a volume stands in it.

Walls are vertical within a layer, so volume is linear in depth from layer to layer and both directions
are exact. Bodies and stone share one water level: the holes in a body pass water freely.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from roofwell.errors import InputError
from roofwell.physics.kept import read_only

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Layer:
    """A part of the pit in which nothing changes with height; heights are over the pit bottom.

    Attributes
    ----------
    bottom_m, top_m
        From where to where the layer goes, m.
    pit_area_m2, pit_perimeter_m
        Plan area and perimeter of the pit, m² and m.
    body_area_m2
        Plan area of the open well bodies, m²; at most the area of the pit.
    voids
        Open share of the stone around the bodies (porosity, not void ratio), 0 to 1.
    """

    bottom_m: float
    top_m: float
    pit_area_m2: float
    pit_perimeter_m: float
    body_area_m2: float
    voids: float

    @property
    def water_area_m2(self) -> float:
        """Volume of water per depth, m²."""
        return self.body_area_m2 + self.voids * (self.pit_area_m2 - self.body_area_m2)


def checked_layers(layers: Sequence[Layer]) -> tuple[Layer, ...]:
    """Return the layers, from the bottom of the pit up without a gap.

    Raises
    ------
    InputError
        ``well-layers`` if they do not follow on each other from 0 up; ``well-layer`` if a layer cannot be,
        or holds no water.
    """
    height = 0.0
    if not layers:
        raise InputError("a well without layers; give at least one", code="well-layers")
    for layer in layers:
        if not math.isclose(layer.bottom_m, height, abs_tol=1e-9) or not height < layer.top_m < math.inf:
            raise InputError(
                f"a layer from {layer.bottom_m} m to {layer.top_m} m; it must begin at {height} m,"
                " where the one below ends, and end above that",
                code="well-layers",
            )
        height = layer.top_m
        # A circle has the least perimeter about an area; the margin is for figures that were rounded.
        least = 2.0 * math.sqrt(math.pi * max(layer.pit_area_m2, 0.0)) * 0.999
        if not (0.0 < layer.pit_area_m2 < math.inf and least <= layer.pit_perimeter_m < math.inf):
            raise InputError(
                f"a pit of {layer.pit_area_m2} m² with a perimeter of {layer.pit_perimeter_m} m; the area"
                f" must be above 0 and the perimeter at least that of a circle, {least:.3f} m",
                code="well-layer",
            )
        possible = 0.0 <= layer.body_area_m2 <= layer.pit_area_m2 and 0.0 <= layer.voids <= 1.0
        if not possible or layer.water_area_m2 <= 0.0:
            raise InputError(
                f"bodies of {layer.body_area_m2} m² in a pit of {layer.pit_area_m2} m² with {layer.voids}"
                " voids; the bodies must fit, voids lie between 0 and 1, and some water must find room",
                code="well-layer",
            )
    return tuple(layers)


def cut_layers(layers: Sequence[Layer], heights_m: Sequence[float]) -> tuple[Layer, ...]:
    """Return the layers cut at some heights over the pit bottom (m), where the soil beside them changes.

    Heights outside the pit, or within a millionth of a meter of a layer's end, cut nothing. Raises what
    `checked_layers` does.
    """
    out = []
    for layer in checked_layers(layers):
        inside = sorted({h for h in heights_m if layer.bottom_m + 1e-6 < h < layer.top_m - 1e-6})
        ends = [layer.bottom_m, *inside, layer.top_m]
        out += [replace(layer, bottom_m=low, top_m=high) for low, high in pairwise(ends)]
    return tuple(out)


def storage_volume_m3(layers: Sequence[Layer], depth_m: ArrayLike) -> FloatArray:
    """Return the volume of water that stands ``depth_m`` over the pit bottom, m³, in the shape of the depth.

    Raises
    ------
    InputError
        ``well-depth`` outside 0 to the top of the uppermost layer; and those of `checked_layers`.
    """
    depths, volumes = _curve(layers)
    depth = np.asarray(depth_m, dtype=np.float64)
    if depth.size and not (depth.min() >= 0.0 and depth.max() <= depths[-1]):
        raise InputError(
            f"water {depth.min()} to {depth.max()} m deep; the well goes from 0 to {depths[-1]} m over the"
            " pit bottom",
            code="well-depth",
        )
    return np.asarray(np.interp(depth, depths, volumes), dtype=np.float64)


def depth_of_volume_m(layers: Sequence[Layer], volume_m3: ArrayLike) -> FloatArray:
    """Return the depth over the pit bottom at which ``volume_m3`` stands, m; the inverse of storage.

    Raises
    ------
    InputError
        ``well-volume`` outside 0 to the full volume; and those of `checked_layers`.
    """
    depths, volumes = _curve(layers)
    volume = np.asarray(volume_m3, dtype=np.float64)
    if volume.size and not (volume.min() >= 0.0 and volume.max() <= volumes[-1]):
        raise InputError(
            f"{volume.min()} to {volume.max()} m³ of water; the well holds from 0 to {volumes[-1]} m³",
            code="well-volume",
        )
    return np.asarray(np.interp(volume, volumes, depths), dtype=np.float64)


def full_volume_m3(layers: Sequence[Layer]) -> float:
    """Return the volume of water up to the top of the uppermost layer, m³."""
    return float(_curve(layers)[1][-1])


def empty_volume_m3(layers: Sequence[Layer], *, full_depth_m: float, depth_m: float, share: float) -> float:
    """Return the volume that counts as empty, m³: what stands ``depth_m`` deep or a share of the full volume.

    The larger of the two: a well that soaks through its sides alone never quite empties.
    """
    full = float(storage_volume_m3(layers, full_depth_m))
    return max(float(storage_volume_m3(layers, min(depth_m, full_depth_m))), share * full)


def _curve(layers: Sequence[Layer]) -> tuple[FloatArray, FloatArray]:
    return _curve_of(tuple(layers))


@lru_cache(maxsize=256)  # asked for at every level of one well
def _curve_of(layers: tuple[Layer, ...]) -> tuple[FloatArray, FloatArray]:
    layers = checked_layers(layers)
    depths = np.array([0.0, *(layer.top_m for layer in layers)])
    steps = [layer.water_area_m2 * (layer.top_m - layer.bottom_m) for layer in layers]
    return read_only((depths, np.concatenate([[0.0], np.cumsum(steps)])))
