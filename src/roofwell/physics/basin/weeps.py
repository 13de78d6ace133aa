"""How long a basin with weep holes takes to empty, with the pipes that stand behind it, into the stone under it.

The holes pass what the water over them drives through; the stone under them passes on what the soil takes. Whichever is
less holds the other back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

FloatArray = NDArray[np.float64]
GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True, slots=True)
class WeepDrain:
    """``empty_s``: until no water stands over the floor; infinite where nothing passes. ``bed_s``: from then on until the
    stone is empty too. ``soil_s``: how much of ``empty_s`` the soil held back and not the holes. Flows of the full basin,
    m³/s: ``holes_m3_s`` through the holes alone, ``soil_m3_s`` into the soil alone."""

    empty_s: float
    bed_s: float
    soil_s: float
    holes_m3_s: float
    soil_m3_s: float


def weep_drain(
    *,
    depths_m: FloatArray,
    volumes_m3: FloatArray,
    hole_area_m2: float,
    coefficient: float,
    soil_m3_s: float,
    bed_m3: float,
) -> WeepDrain:
    """Return how long the water over a basin's floor takes to drain through its weep holes.

    Parameters
    ----------
    depths_m, volumes_m3
        Shape (n,), n at least 2: depth over the floor, from 0 up to the water at the start, strictly rising, and the
        water of basin and pipes below it, from 0 and never falling. Between two of them the surface counts as constant.
    hole_area_m2
        Area of all open holes, m²; 0 or more.
    coefficient
        Orifice coefficient of a hole, above 0 up to 1.
    soil_m3_s
        What the soil takes from the stone, m³/s; 0 or more.
    bed_m3
        Open space of the stone, m³; 0 or more. It is full at the start, since the holes ran while it rained.

    Raises
    ------
    InputError
        ``weep-number``.

    Notes
    -----
    The holes pass C A sqrt(2 g h); over a constant surface that empties from h2 to h1 in 2 ΔV / (q2 + q1), exact
    (Torricelli). Where it exceeds what the soil takes, the soil's flow counts; where it is less, the stone runs down.
    Sources: orifice formula, Torricelli; the limit by the soil is the water balance of the full stone (derived).

    >>> depths = np.array([0.0, 1.0])
    >>> found = weep_drain(depths_m=depths, volumes_m3=depths, hole_area_m2=0.01, coefficient=0.6, soil_m3_s=1.0, bed_m3=0.0)
    >>> round(found.empty_s, 3)  # A / (C a) sqrt(2 h / g) = 1 / 0.006 x sqrt(2 / 9.80665)
    75.267
    """
    depth, volume = np.asarray(depths_m, float), np.asarray(volumes_m3, float)
    _check(depth, volume, hole_area_m2, coefficient, soil_m3_s, bed_m3)
    k = coefficient * hole_area_m2 * math.sqrt(2.0 * GRAVITY_M_S2)
    full = k * math.sqrt(float(depth[-1]))
    if volume[-1] <= 0:
        return WeepDrain(0.0, bed_m3 / soil_m3_s if soil_m3_s > 0 else math.inf, 0.0, full, soil_m3_s)
    if k <= 0 or soil_m3_s <= 0:
        return WeepDrain(math.inf, math.inf, math.inf if k > 0 else 0.0, full, soil_m3_s)
    even = (soil_m3_s / k) ** 2  # depth at which holes and soil pass the same
    if depth[0] < even < depth[-1]:
        at = int(np.searchsorted(depth, even))
        if depth[at] != even:
            volume = np.insert(volume, at, np.interp(even, depth, volume))
            depth = np.insert(depth, at, even)
    slices = np.diff(volume)
    holes = 0.5 * k * (np.sqrt(depth[1:]) + np.sqrt(depth[:-1]))
    by_soil = depth[:-1] >= even * (1 - 1e-12)
    times = slices / np.where(by_soil, soil_m3_s, holes)
    # while the holes pass less than the soil takes, the stone runs down meanwhile
    run_down = float(np.sum(np.where(by_soil, 0.0, soil_m3_s * times - slices)))
    left = max(0.0, bed_m3 - run_down)
    return WeepDrain(float(times.sum()), left / soil_m3_s, float(times[by_soil].sum()), full, soil_m3_s)


def _check(
    depth: FloatArray, volume: FloatArray, area: float, coefficient: float, soil: float, bed: float
) -> None:
    shaped = depth.ndim == 1 and depth.shape == volume.shape and depth.size >= 2
    if not shaped or not (np.isfinite(depth).all() and np.isfinite(volume).all()):
        raise InputError("depths and volumes must be two equal rows of numbers", code="weep-number")
    if depth[0] != 0 or volume[0] != 0 or (np.diff(depth) <= 0).any() or (np.diff(volume) < 0).any():
        raise InputError("depths must rise from 0 and volumes must never fall, from 0 on", code="weep-number")
    if not (0 < coefficient <= 1 and all(math.isfinite(v) and v >= 0 for v in (area, soil, bed))):
        raise InputError(
            f"hole area {area:g} m², coefficient {coefficient:g}, soil {soil:g} m³/s, stone {bed:g} m³; the coefficient "
            "lies above 0 up to 1, the others at 0 or more",
            code="weep-number",
        )
