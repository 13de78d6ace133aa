"""What years of sediment leave of a well: a layer on its floor in series with the soil, and less room.

Fine sediment washes through the stone and lies on the soil: the floor is sealed first, then the walls up to the top of
that layer. Grains and rotting litter take room and pass water freely. See docs/method/years.md, "Age".
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, assert_never, get_args

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics.well.storage import Layer, depth_of_volume_m, full_volume_m3, storage_volume_m3

FloatArray = NDArray[np.float64]
Curve = tuple[FloatArray, FloatArray, FloatArray]

ThroughFloor = Literal["its own", "its share", "none, walls by height"]
"""What of a soakage curve goes through the floor.

``its own``                what soaks out of the empty well (nothing where the floor is not credited)
``its share``              that, and of what pressure adds the floor's share of all that is wetted
``none, walls by height``  nothing; the rest is the same at any depth and goes with the height of the open wall
"""

THROUGH_FLOOR: tuple[ThroughFloor, ...] = get_args(ThroughFloor)

_SHARES = (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2)  # of the depth: the floor's share bends most near the floor
MOST_FILLED = 0.99
"""A well is followed until this share of its room is taken up."""


@dataclass(frozen=True, slots=True)
class Bed:
    """What lies in a well, m³ of the room that held water: all of it, and the fine sediment that seals."""

    room_m3: float
    silt_m3: float


@dataclass(frozen=True, slots=True)
class AgedCurve:
    """A soakage curve over the room that is left.

    Attributes
    ----------
    volume_m3, above_m3_s, below_m3_s
        Water over the bed, m³, from 0 to full, shape (k,); soakage just above and just below each, m³/s.
    depth_m
        Depth of each over the pit's own bottom, m, shape (k,).
    lost_m3
        Room taken up, m³.
    sealed_m
        Thickness of the fine sediment on the floor, m; the walls beside it are closed too.
    floor_m3_s
        What the floor passes at each, m³/s, shape (k,).
    """

    volume_m3: FloatArray
    above_m3_s: FloatArray
    below_m3_s: FloatArray
    depth_m: FloatArray
    lost_m3: float
    sealed_m: float
    floor_m3_s: FloatArray

    def floor_at_m3_s(self, depth_m: float) -> float:
        """Return what the floor passes under water ``depth_m`` deep over the pit's bottom, m³/s; least at the bed's top."""
        return float(np.interp(depth_m, self.depth_m, self.floor_m3_s))


def settled_m3(
    *, yearly_m3: float, later_m3: float, changes_after_years: float, years: float, decay_a_year: float = 0.0
) -> float:
    """Return what has gathered after some years, m³.

    Parameters
    ----------
    yearly_m3, later_m3
        What comes in a year, m³, before and after ``changes_after_years`` (infinite: never); 0 or more.
    years
        Age, years, 0 or more.
    decay_a_year
        Share of what lies there that rots in a year, as a constant rate, 1/year; 0 for what does not rot.

    Raises
    ------
    InputError
        ``ageing-number`` if a value is negative or not a number.

    Notes
    -----
    dX/dt = L - k X, so X = L/k (1 - exp(-k t)) from nothing: Olson 1963 (from memory).
    """
    given = (yearly_m3, later_m3, changes_after_years, years, decay_a_year)
    if not all(value >= 0.0 for value in given) or math.inf in (yearly_m3, later_m3, years, decay_a_year):
        raise InputError(
            f"what gathers in a well is reckoned from {given}; each must be 0 or more, and finite but for the year of the"
            " change",
            code="ageing-number",
        )
    first = min(years, changes_after_years)
    second = years - first
    if decay_a_year <= 0.0:
        return yearly_m3 * first + later_m3 * second
    before = yearly_m3 / decay_a_year * -math.expm1(-decay_a_year * first)
    return before * math.exp(-decay_a_year * second) + later_m3 / decay_a_year * -math.expm1(
        -decay_a_year * second
    )


def through_layer_m_s(
    *, head_m: float, thickness_m: float, conductivity_m_s: float, soil_takes_m_s: float
) -> float:
    """Return what passes a layer of sediment on soil, m/s: Darcy through it, and no more than the soil takes.

    Parameters
    ----------
    head_m
        Depth of water over the soil, m; at least the thickness.
    thickness_m, conductivity_m_s
        Of the layer, m and m/s; thickness 0: no layer.
    soil_takes_m_s
        What the soil takes by itself, m/s; under a gradient of one that is its conductivity.

    Notes
    -----
    Two layers in series with free drainage below (Bouwer 1969 and 2002, from memory). The pressure between them comes out
    by continuity. Where the layer is the tighter of the two the soil under it is unsaturated; its suction would draw a
    little more and is left out, which stands on the low side.
    """
    if thickness_m <= 0.0:
        return soil_takes_m_s
    return min(soil_takes_m_s, conductivity_m_s * head_m / thickness_m)


def layer_m2_s(layers: Sequence[Layer], silt_m3: float, conductivity_m_s: float, fabric_s: float) -> float:
    """Return what a bed of fine sediment on the floor passes for each meter of head over it, m²/s; infinite without one.

    Parameters
    ----------
    layers
        The pit from its bottom up: the sediment lies in the open part of the stone, and water passes through that.
    silt_m3
        Its room, m³, 0 or more, at most that of the layers.
    conductivity_m_s
        Of the sediment, m/s, above 0.
    fabric_s
        Resistance of a blinded fabric under it, s (1 over its permittivity), 0 for none.

    Notes
    -----
    Resistances in series: thickness over conductivity, slice by slice (Darcy).
    """
    if silt_m3 <= 0.0:
        return math.inf
    if not 0.0 < conductivity_m_s < math.inf:
        raise InputError(
            f"sediment with a conductivity of {conductivity_m_s} m/s; it must be above 0",
            code="ageing-number",
        )
    top = float(depth_of_volume_m(layers, silt_m3))
    resistance = fabric_s / layers[0].pit_area_m2
    for layer in layers:
        thick = min(layer.top_m, top) - layer.bottom_m
        if thick > 0.0:
            resistance += thick / (conductivity_m_s * layer.water_area_m2)
    return 1.0 / resistance


def aged_curve(
    curve: Curve,
    *,
    layers: Sequence[Layer],
    bed: Bed,
    conductivity_m_s: float,
    through_floor: ThroughFloor,
    fabric_s: float = 0.0,
) -> AgedCurve:
    """Return what soaks out of a well over the bed of sediment in it.

    Parameters
    ----------
    curve
        The new well's: volumes from 0 to full, m³, soakage just above and just below each, m³/s, all of shape (k,).
    layers
        The pit from its bottom up to the depth at which it is full.
    bed
        What lies in it. More than ``MOST_FILLED`` of the room counts as that.
    conductivity_m_s
        Of the fine sediment, m/s, above 0.
    through_floor
        What of the curve goes through the floor.
    fabric_s
        Resistance of a blinded fabric on the floor, s.

    Returns
    -------
    AgedCurve
        At no level does it soak more than the new well, nor than with less sediment.

    Raises
    ------
    InputError
        ``ageing-number`` for a bed or conductivity that cannot be; those of the layers.

    Notes
    -----
    Soakage at a depth h over the pit's bottom is min(floor, G h) + walls(h) - walls(top of the fine sediment), G from
    `layer_m2_s`. Exact for curves by faces; for one to all sides straight between the curve's own nodes.
    """
    volume, above, below = curve
    full = full_volume_m3(layers)
    if not (0.0 <= bed.silt_m3 <= bed.room_m3 * (1.0 + 1e-9) and bed.room_m3 < math.inf):
        raise InputError(
            f"{bed.silt_m3} m³ of fine sediment in a bed of {bed.room_m3} m³; it must be a part of it",
            code="ageing-number",
        )
    room = min(bed.room_m3, MOST_FILLED * full)
    silt = min(bed.silt_m3, room)
    tops = [v for v in storage_volume_m3(layers, [layer.top_m for layer in layers]) if v < full]
    least = 1e-9 * full
    shares = _SHARES if through_floor == "its share" else ()
    between = storage_volume_m3(layers, [share * layers[-1].top_m for share in shares])
    extra = [v for v in (silt, room, *tops, *between) if float(np.min(np.abs(volume - v))) > least]
    volume, above, below = _with_nodes((volume, above, below), extra)
    depth = depth_of_volume_m(layers, np.minimum(volume, full))
    first = int(np.argmin(np.abs(volume - room)))
    sealed_at = int(np.argmin(np.abs(volume - silt)))
    sealed = float(depth[sealed_at])
    passes = layer_m2_s(layers, silt, conductivity_m_s, fabric_s)
    floors, walls = [], []
    for flow in (above, below):
        floor, wall = _parts(flow, depth, layers, through_floor, float(above[0]))
        floors.append(floor)
        walls.append(wall)
    if through_floor == "none, walls by height":
        height = float(depth[-1])
        walls = [wall * (1.0 - sealed / height) for wall in walls]
    else:
        closed = float(walls[0][sealed_at])
        walls = [np.maximum(wall - closed, 0.0) for wall in walls]
    limit = passes * depth if math.isfinite(passes) else np.full(depth.shape, math.inf)
    keep = slice(first, None)
    parts = [part[keep] for part in (volume, depth, limit, *floors, *walls)]
    v, h, most, floor_above, floor_below, wall_above, wall_below = _with_crossings(parts)
    out_above = np.minimum(floor_above, most) + wall_above
    out_below = np.minimum(floor_below, most) + wall_below
    return AgedCurve(
        volume_m3=v - v[0],
        above_m3_s=out_above,
        below_m3_s=out_below,
        depth_m=h,
        lost_m3=float(v[0]),
        sealed_m=sealed,
        floor_m3_s=np.minimum(floor_below, most),
    )


def _parts(
    flow: FloatArray, depth: FloatArray, layers: Sequence[Layer], through: ThroughFloor, empty: float
) -> tuple[FloatArray, FloatArray]:
    """Part a curve into what goes through the floor and what through the walls."""
    match through:
        case "its own":
            floor = np.minimum(flow, empty)
        case "its share":
            area = layers[0].pit_area_m2
            wetted = area + layers[0].pit_perimeter_m * depth
            own = np.minimum(flow, empty)
            floor = own + (flow - own) * area / wetted
        case "none, walls by height":
            floor = np.zeros_like(flow)
        case _ as unknown:
            if unknown not in THROUGH_FLOOR:
                raise InputError(
                    f"a floor that passes {unknown!r}; choose one of {', '.join(THROUGH_FLOOR)}",
                    code="ageing-number",
                )
            assert_never(unknown)
    return floor, flow - floor


def _with_nodes(curve: Curve, extra: Sequence[float]) -> Curve:
    """Add nodes on the straight lines of a curve."""
    volume, above, below = curve
    if not extra:
        return curve
    fresh = np.unique(np.asarray(extra, dtype=np.float64))
    k = np.clip(np.searchsorted(volume, fresh) - 1, 0, volume.size - 2)
    share = (fresh - volume[k]) / (volume[k + 1] - volume[k])
    added = above[k] + share * (below[k + 1] - above[k])
    order = np.argsort(np.concatenate([volume, fresh]), kind="stable")
    return (
        np.concatenate([volume, fresh])[order],
        np.concatenate([above, added])[order],
        np.concatenate([below, added])[order],
    )


def _with_crossings(parts: Sequence[FloatArray]) -> tuple[FloatArray, ...]:
    """Add a node where what the layer passes and what the floor takes are equal, so that the lesser is straight."""
    volume, _, most, floor_above, floor_below = parts[:5]
    at: list[tuple[int, float]] = []
    for i in range(volume.size - 1):
        low, high = most[i] - floor_above[i], most[i + 1] - floor_below[i + 1]
        if low * high < 0.0 and math.isfinite(low) and math.isfinite(high):
            share = float(low / (low - high))
            if 1e-9 < share < 1.0 - 1e-9:
                at.append((i, share))
    if not at:
        return tuple(parts)

    def widened(start: FloatArray, end: FloatArray) -> FloatArray:
        """``start``: values just above each node, ``end``: just below; the new node has one value."""
        fresh = [start[i] + share * (end[i + 1] - start[i]) for i, share in at]
        return np.insert(start, [i + 1 for i, _ in at], fresh)

    def widened_below(start: FloatArray, end: FloatArray) -> FloatArray:
        fresh = [start[i] + share * (end[i + 1] - start[i]) for i, share in at]
        return np.insert(end, [i + 1 for i, _ in at], fresh)

    v, h, m = (widened(part, part) for part in parts[:3])
    wall_above, wall_below = parts[5], parts[6]
    return (
        v,
        h,
        m,
        widened(floor_above, floor_below),
        widened_below(floor_above, floor_below),
        widened(wall_above, wall_below),
        widened_below(wall_above, wall_below),
    )
