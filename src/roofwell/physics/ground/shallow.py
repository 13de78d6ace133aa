"""Shallow water running over a lawn: normal depth in a cross section of the ground.

Manning's formula, V = R^(2/3) S^(1/2) / n, SI (see docs/sources). Steady and uniform: no momentum of the water that
comes out of a grate, no back-up but that of the bowls. Roughness of sheet flow over grass holds for water of a few
centimetres that does not stand above the grass; deeper water runs faster than counted, so that depth and width are
on the safe side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from roofwell.errors import InputError
from roofwell.physics.ground.triangulation import Mesh

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Section:
    """Ground across a way of water: ``offsets_m`` (k,) ascending, negative to the left of it, ``rise_m`` (k,).

    ``rise_m`` is over the ground on the way. ``walled``: whether a wall stands at the left and the right end.
    """

    offsets_m: Floats
    rise_m: Floats
    walled: tuple[bool, bool] = (False, False)


@dataclass(frozen=True, slots=True)
class ShallowFlow:
    """Water at normal depth: greatest depth and top width, m, its reach to either side, area, m², mean velocity."""

    depth_m: float
    left_m: float
    right_m: float
    area_m2: float
    velocity_m_s: float
    from_ground: bool

    @property
    def width_m(self) -> float:
        """Top width, m."""
        return self.left_m + self.right_m


def cross_section(
    mesh: Mesh, elevations: Floats, *, at: Floats, direction: Floats, reach_m: float
) -> Section:
    """Return the ground square to a direction through a place on the mesh, at most ``reach_m`` to either side.

    It ends where the triangles end: at a wall, or at the rim of the shots.
    """
    along = np.asarray(direction, dtype=float) / np.hypot(*direction)
    right = np.array([along[1], -along[0]])
    a, b = mesh.points[mesh.triangles], mesh.points[np.roll(mesh.triangles, -1, axis=1)]
    za, zb = elevations[mesh.triangles], elevations[np.roll(mesh.triangles, -1, axis=1)]
    side_a, side_b = (a - at) @ along, (b - at) @ along
    meets = ((side_a <= 0) & (side_b > 0)) | ((side_a > 0) & (side_b <= 0))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(meets, side_a / (side_a - side_b), np.nan)
    off = (a - at) @ right + share * ((b - a) @ right)
    height = za + share * (zb - za)
    spans = []  # each triangle that the section passes, from its left to its right
    for t in np.flatnonzero(meets.sum(axis=1) == 2):
        two = np.flatnonzero(meets[t])
        (o1, z1), (o2, z2) = sorted((float(off[t, i]), float(height[t, i])) for i in two)
        if o2 - o1 > 1e-9:
            spans.append((o1, z1, o2, z2))
    spans.sort()
    return _around_middle(spans, mesh, reach_m, at, right)


def _around_middle(
    spans: list[tuple[float, float, float, float]], mesh: Mesh, reach_m: float, at: Floats, right: Floats
) -> Section:
    """Join the spans that hang together with offset 0 and cut them at the reach."""
    chains: list[list[tuple[float, float]]] = []
    for o1, z1, o2, z2 in spans:
        if chains and abs(chains[-1][-1][0] - o1) <= 1e-6:
            chains[-1].append((o2, z2))
        else:
            chains.append([(o1, z1), (o2, z2)])
    here = next((c for c in chains if c[0][0] <= 1e-6 and c[-1][0] >= -1e-6), None)
    if here is None:
        return Section(np.array([0.0]), np.array([0.0]))
    offsets, heights = np.array(here).T
    middle = float(np.interp(0.0, offsets, heights))
    keep = (offsets > -reach_m) & (offsets < reach_m) & (offsets != 0.0)
    low, high = max(-reach_m, float(offsets[0])), min(reach_m, float(offsets[-1]))
    all_offsets = np.unique(np.concatenate([offsets[keep], [low, 0.0, high]]))
    walled = tuple(abs(end) < reach_m - 1e-9 and _at_wall(mesh, at + end * right) for end in (low, high))
    rise = np.interp(all_offsets, offsets, heights) - middle
    return Section(all_offsets, rise, (walled[0], walled[1]))


def _at_wall(mesh: Mesh, place: Floats) -> bool:
    if not mesh.walls:
        return False
    pairs = np.array(sorted(mesh.walls))
    a, b = mesh.points[pairs[:, 0]], mesh.points[pairs[:, 1]]
    step = b - a
    share = np.clip(((place - a) * step).sum(axis=1) / np.maximum((step * step).sum(axis=1), 1e-18), 0, 1)
    return bool((np.hypot(*(a + share[:, None] * step - place).T) <= 1e-5).any())


def normal_depth(
    section: Section,
    *,
    flow_m3_s: float,
    fall_m_m: float,
    manning_n: float,
    side_slope: float,
) -> ShallowFlow:
    """Return the uniform flow in a cross section of the ground, or in a stated V where the ground does not hold it.

    Parameters
    ----------
    section
        Ground across the way. Where its water would run over an end that is no wall, or where the ground falls away
        from the way, a V with ``side_slope`` stands in.
    flow_m3_s
        Flow, m³/s; above 0.
    fall_m_m
        Fall along the way, m/m; above 0.
    manning_n
        Roughness, s/m^(1/3); above 0.
    side_slope
        Rise across per metre of the stated V; above 0.

    Raises
    ------
    InputError
        ``shallow-number`` if a value is not above zero.
    """
    for name, value in (("flow", flow_m3_s), ("fall", fall_m_m), ("n", manning_n), ("slope", side_slope)):
        if not value > 0 or not math.isfinite(value):
            raise InputError(f"shallow flow: {name} {value} is not above 0", code="shallow-number")
    factor = math.sqrt(fall_m_m) / manning_n
    brim = min(
        math.inf if section.walled[0] else float(section.rise_m[0]),
        math.inf if section.walled[1] else float(section.rise_m[-1]),
    )
    lowest = float(section.rise_m.min())
    held = len(section.offsets_m) > 2 and lowest >= -1e-6 and brim > 0
    if held:
        top = brim if math.isfinite(brim) else 1.0
        while not math.isfinite(brim) and _carried(section, top, factor)[0] < flow_m3_s:
            top *= 2
        if _carried(section, top, factor)[0] >= flow_m3_s:
            return _at_normal(section, flow_m3_s, factor, top, from_ground=True)
    # Manning for a V: A = y²/s, R = y / (2 sqrt(1 + s²)); closed form in y.
    s = side_slope
    depth = (flow_m3_s * s / factor * (2 * math.sqrt(1 + s * s)) ** (2 / 3)) ** (3 / 8)
    area = depth * depth / s
    return ShallowFlow(depth, depth / s, depth / s, area, flow_m3_s / area, False)


def depth_with_less_m(*, depth_m: float, at_m3_s: float, flow_m3_s: float) -> float:
    """Return the uniform depth of a smaller flow, m, where that of a greater one is known.

    In a V the depth goes with the 3/8 power of the flow (Manning: A as y², R as y), which is exact there; in a wider shape
    it goes with a higher power, so that this is on the safe side. Flows above ``at_m3_s`` count as that; 0 without flow.
    """
    if not flow_m3_s > 0 or not at_m3_s > 0:
        return 0.0
    return float(depth_m * min(1.0, flow_m3_s / at_m3_s) ** (3 / 8))


def _at_normal(
    section: Section, flow_m3_s: float, factor: float, top: float, *, from_ground: bool
) -> ShallowFlow:
    depth = float(brentq(lambda y: _carried(section, y, factor)[0] - flow_m3_s, 0.0, top, xtol=1e-10))
    _, area, left, right = _carried(section, depth, factor)
    return ShallowFlow(depth, left, right, area, flow_m3_s / area, from_ground)


def _carried(section: Section, depth_m: float, factor: float) -> tuple[float, float, float, float]:
    """Flow, area, and reach to either side of water that stands ``depth_m`` over the way."""
    if depth_m <= 0:
        return 0.0, 0.0, 0.0, 0.0
    area = perimeter = 0.0
    reach = [0.0, 0.0]
    middle = int(np.searchsorted(section.offsets_m, 0.0))
    for side, step in ((0, -1), (1, 1)):
        i = middle
        while 0 <= i + step < len(section.offsets_m):
            d1, d2 = depth_m - section.rise_m[i], depth_m - section.rise_m[i + step]
            run = abs(float(section.offsets_m[i + step] - section.offsets_m[i]))
            if d2 >= 0:
                area += 0.5 * run * float(d1 + d2)
                perimeter += math.hypot(run, float(d2 - d1))
                reach[side] += run
                i += step
                continue
            wet = run * float(d1 / (d1 - d2))
            area += 0.5 * wet * float(d1)
            perimeter += math.hypot(wet, float(d1))
            reach[side] += wet
            break
        else:
            if section.walled[side]:
                perimeter += max(0.0, depth_m - float(section.rise_m[i]))
    if area <= 0 or perimeter <= 0:
        return 0.0, area, reach[0], reach[1]
    return area * (area / perimeter) ** (2 / 3) * factor, area, reach[0], reach[1]
