"""What soaks out of a well at each volume, by the wetted area that a rule credits.

The kernel takes soakage as a function of volume, linear between nodes. With vertical walls that is exact:
wetted area is linear in depth, and depth linear in volume, from layer to layer. A step in the wall is a
jump, because its floor is wetted all at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Literal, assert_never, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from roofwell.errors import InputError
from roofwell.physics.well.storage import Layer, checked_layers, depth_of_volume_m, storage_volume_m3

FloatArray = NDArray[np.float64]

Credit = Literal["bottom", "bottom and sides", "bottom and half sides", "sides", "sides half, no bottom"]
"""Which wetted area soaks. A: the bottom, and the floor of each step that is under water; P: the perimeter.

``bottom``                 A: Oregon, Maryland, New York and Georgia type sheets
``bottom and sides``       A + P h, h the depth of water: CIRIA and Ontario equations
``bottom and half sides``  A + P h / 2: DWA-A 138 shafts (which also halve the rate: give half the rate)
``sides``                  P h: Danish trench guidance (the bottom slimes over)
``sides half, no bottom``  P d / 2 at any depth of water, d the depth of the full well: BRE Digest 365. It is
                           a constant, as the Digest reckons outflow and time to half empty.
"""

CREDITS: tuple[Credit, ...] = get_args(Credit)


def soakage_curve(
    layers: Sequence[Layer],
    rate_m_s: float | Sequence[float],
    credit: Credit | Callable[[FloatArray], FloatArray],
    *,
    full_depth_m: float,
    tolerance: float = 1e-4,
    bottom_rate_m_s: float | None = None,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what soaks away at each volume, for water up to ``full_depth_m``.

    Parameters
    ----------
    layers
        The pit from its bottom up; a layer for each change of the pit, the bodies or the soil.
    rate_m_s
        Infiltration rate of the soil, m/s, 0 or more; one figure, or one for each layer. The pit's bottom has
        the rate of the lowest layer, the floor of a step that of the layer below it.
    credit
        The rule for the wetted area (see `Credit`), or a function of depth over the pit bottom (m,
        shape (n,)) that returns the soaking area (m²); then ``rate_m_s`` is one figure.
    full_depth_m
        Depth of the full well over the pit bottom, m; within the layers.
    tolerance
        For a function: largest error allowed, as a share of the largest soakage. The rules are exact.
    bottom_rate_m_s
        Rate of the soil under the pit's bottom, m/s, 0 or more, where the pit ends on another soil than the one
        beside its lowest layer; the rate of the lowest layer where left out. Not with a function.

    Returns
    -------
    tuple of three arrays of shape (k,)
        Volumes from 0 to full, m³; soakage just above each, m³/s; soakage just below each, m³/s. The last two
        differ where the floor of a step is wetted.

    Raises
    ------
    InputError
        ``soil-rate``, ``well-depth``, ``soakage-credit``, ``soakage-tolerance``; and those of the layers.

    Notes
    -----
    Where the pit narrows upward, the bottom below the overhang stays credited and no roof is. Sources:
    reference sheet, infiltration section 3, "Which area is credited", with each rule's publication.
    """
    layers = checked_layers(layers)
    if not 0.0 < full_depth_m <= layers[-1].top_m:
        raise InputError(
            f"a well that is full {full_depth_m} m over the pit bottom; it must be above 0 and at most"
            f" {layers[-1].top_m} m",
            code="well-depth",
        )
    rates = _rates(rate_m_s, len(layers))
    heights = [0.0, *(layer.top_m for layer in layers if layer.top_m < full_depth_m), full_depth_m]
    depths = np.array(heights)
    volumes = storage_volume_m3(layers, depths)
    if callable(credit):
        if np.ptp(rates) != 0.0 or bottom_rate_m_s is not None:
            raise InputError(
                "a soaking area given as a function of depth takes one soil rate", code="soakage-credit"
            )

        def soaking(volume: FloatArray) -> FloatArray:
            flow: FloatArray = rates[0] * credit(depth_of_volume_m(layers, volume))
            return flow

        nodes, flows, _ = fit_piecewise(soaking, volumes, float(volumes[-1]), tolerance)
        return nodes, flows, flows.copy()
    bottom = float(rates[0]) if bottom_rate_m_s is None else float(_rates(bottom_rate_m_s, 1)[0])
    above, below = _credited_flow(layers, rates, bottom, credit, depths)
    return volumes, above, below


def fit_piecewise(
    function: Callable[[FloatArray], FloatArray],
    v_nodes_required: ArrayLike,
    v_full: float,
    tolerance: float,
) -> tuple[FloatArray, FloatArray, float]:
    """Return nodes between which straight lines follow a curve to a stated error, now above and now below it.

    Parameters
    ----------
    function
        Continuous soakage (m³/s, 0 or more) of an array of volumes (m³).
    v_nodes_required
        Volumes at which the curve may bend sharply; 0 and ``v_full`` are added.
    v_full
        The full volume, m³; above 0.
    tolerance
        Largest error, as a share of the largest soakage; above 0, below 1.

    Returns
    -------
    tuple
        Volumes, m³, shape (k,); soakage at each, m³/s, shape (k,); the largest error found, m³/s.

    Raises
    ------
    InputError
        ``soakage-tolerance`` if the tolerance is out of range, or not reached with 256 nodes.

    Notes
    -----
    Chords of a curve that bends one way lie on one side of it and would soak too much or too little over
    the years. Each node is moved by half the largest departure of the chords beside it, which halves the
    error and lets it change sign.
    """
    if not 0.0 < tolerance < 1.0:
        raise InputError(
            f"a tolerance of {tolerance}; give a share between 0 and 1", code="soakage-tolerance"
        )
    required = np.asarray(v_nodes_required, dtype=np.float64)
    nodes = np.unique(np.concatenate([[0.0, v_full], required[(required > 0.0) & (required < v_full)]]))
    within = np.linspace(0.0, 1.0, 33)
    while nodes.size <= 256:
        places = np.minimum(nodes[:-1, None] + within * np.diff(nodes)[:, None], nodes[1:, None])
        true = np.asarray(function(places.ravel()), dtype=np.float64).reshape(places.shape)
        departure = true - (true[:, :1] + within * (true[:, -1:] - true[:, :1]))
        worst = departure[np.arange(nodes.size - 1), np.argmax(np.abs(departure), axis=1)]
        moved = np.append(true[:, 0], true[-1, -1])
        moved[1:-1] += (worst[:-1] + worst[1:]) / 4.0
        moved[0] += worst[0] / 2.0
        moved[-1] += worst[-1] / 2.0
        moved = np.maximum(moved, 0.0)
        errors = np.abs(true - (moved[:-1, None] + within * np.diff(moved)[:, None])).max(axis=1)
        allowed = tolerance * float(np.abs(true).max())
        if errors.max() <= allowed:
            return nodes, moved, float(errors.max())
        # Neighbours share a moved node, so a coarse one must be halved before a fine one can be right.
        coarse = (errors > allowed) & (np.abs(worst) >= 0.5 * np.abs(worst[errors > allowed]).max())
        coarse |= np.abs(worst) > 2.0 * allowed
        nodes = np.sort(np.append(nodes, (nodes[:-1] + nodes[1:])[coarse] / 2.0))
    raise InputError(
        f"a soakage curve that 256 nodes do not follow to {tolerance}; allow a larger error",
        code="soakage-tolerance",
    )


def _rates(rate_m_s: float | Sequence[float], count: int) -> FloatArray:
    rates = np.asarray(rate_m_s, dtype=np.float64)
    if rates.ndim == 0:
        rates = np.full(count, float(rates))
    if rates.shape != (count,) or not bool(((rates >= 0.0) & (rates < math.inf)).all()):
        raise InputError(
            f"soil rate {rate_m_s} m/s; give one finite figure of 0 or more, or one for each of the"
            f" {count} layers",
            code="soil-rate",
        )
    return rates


def _credited_flow(
    layers: tuple[Layer, ...], rates: FloatArray, bottom_rate: float, credit: Credit, depths: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the soakage just above and just below each of the depths (0, layer tops, full)."""
    bottom_above = np.empty(depths.size)
    bottom_below = np.empty(depths.size)
    sides = np.zeros(depths.size)
    floor = layers[0].pit_area_m2 * bottom_rate
    bottom_above[0] = bottom_below[0] = floor
    for j in range(1, depths.size):
        bottom_below[j] = floor
        sides[j] = sides[j - 1] + layers[j - 1].pit_perimeter_m * rates[j - 1] * (depths[j] - depths[j - 1])
        if j < depths.size - 1:
            floor += max(layers[j].pit_area_m2 - layers[j - 1].pit_area_m2, 0.0) * rates[j - 1]
        bottom_above[j] = floor
    match credit:
        case "bottom":
            return bottom_above, bottom_below
        case "bottom and sides":
            return bottom_above + sides, bottom_below + sides
        case "bottom and half sides":
            return bottom_above + sides / 2.0, bottom_below + sides / 2.0
        case "sides":
            return sides, sides.copy()
        case "sides half, no bottom":
            half = np.full(depths.size, sides[-1] / 2.0)
            return half, half.copy()
        case _ as unknown:
            if unknown not in CREDITS:
                raise InputError(
                    f"wetted area credited by {unknown!r}; choose one of {', '.join(CREDITS)}",
                    code="soakage-credit",
                )
            assert_never(unknown)
