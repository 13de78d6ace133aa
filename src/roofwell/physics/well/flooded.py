"""A well whose lower part stands in groundwater: only the room above it is left, and only its walls soak."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

FloatArray = NDArray[np.float64]


def flooded_curves(
    *,
    volume_m3: FloatArray,
    above_m3_s: FloatArray,
    below_m3_s: FloatArray,
    capacity_m3_s: FloatArray | None,
    flooded_m3: float,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray | None]:
    """Return the curves of the room over the groundwater: volume from 0, soakage above and below, inlet capacity.

    Parameters
    ----------
    volume_m3, above_m3_s, below_m3_s, capacity_m3_s
        Nodes of the whole well: volume, soakage just above and just below each, what its inlet brings or None.
    flooded_m3
        What the groundwater fills, m³; 0 or more, below the full volume.

    Raises
    ------
    InputError
        ``well-volume`` if no room is left.

    Notes
    -----
    Under the water table nothing flows out: what the whole well soaks at a level, less what it soaks at the
    groundwater's own level, is soaked by the walls between the two. Derived; it leaves out that the water table rises
    beside the well, and counts the full gradient of 1 over it.
    """
    full = float(volume_m3[-1])
    if not 0 <= flooded_m3 < full:
        raise InputError(
            f"groundwater fills {flooded_m3} m³ of a well of {full} m³; give 0 or more, below that",
            code="well-volume",
        )
    over = np.flatnonzero(volume_m3 > flooded_m3)
    first = int(over[0])
    share = 0.0
    if first > 0:
        share = (flooded_m3 - volume_m3[first - 1]) / (volume_m3[first] - volume_m3[first - 1])
    at = float(above_m3_s[first - 1] + share * (below_m3_s[first] - above_m3_s[first - 1])) if first else 0.0
    nodes = np.concatenate([[0.0], volume_m3[over] - flooded_m3])
    above = np.concatenate([[0.0], np.maximum(above_m3_s[over] - at, 0.0)])
    below = np.concatenate([[0.0], np.maximum(below_m3_s[over] - at, 0.0)])
    capacity = None
    if capacity_m3_s is not None:
        capacity = np.interp(np.concatenate([[flooded_m3], volume_m3[over]]), volume_m3, capacity_m3_s)
    return nodes, above, below, capacity
