"""What lies in the stone of a pit: upright cylinders, lying pipes, arched or box chambers, or nothing but stone.

Whatever its shape, it becomes `Layer`s. Upright bodies and boxes are exact; a lying pipe and an arch change with
height and are cut into `SLICES`, each with its true volume, so that storage is exact at the slices' ends.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, assert_never, get_args

from roofwell.errors import InputError
from roofwell.physics.well.storage import Layer

BodyKind = Literal["cylinder", "perforated pipe", "arch chamber", "box chamber", "none"]
"""What lies in the stone. ``cylinder`` stands upright; pipe and chambers lie, open to the stone along their length;
``none``: stone alone."""

ArchCurve = Literal["parabola", "half ellipse"]
"""The curve of an arch of given span and rise; the parabola holds less (2/3 of the box round it, against π/4)."""

ARCH_CURVES: tuple[ArchCurve, ...] = get_args(ArchCurve)

SLICES = 16
"""Slices of a lying pipe or arch, each turning by the same angle (pipe, half ellipse) or growing by the same width
(parabola), so that the worst of them is off by no more than the others."""

SLICING_SHARE = 0.0016
"""Most that the volume of water in a lying pipe or arch is off between two slices' ends, as a share of its own volume.

Within a slice the true volume bends and the layer's does not. By the second derivative (derived): pipe (π/SLICES)²/(8 π)
= 0.153 %, parabola 3/(8 SLICES²) = 0.146 %, half ellipse (π/2/SLICES)²/(4 π) = 0.077 %. At the ends of slices, and so at
the full well, the error is nil."""


_CRACK = 1e-3  # open share beside a floor or lid that fills the pit


@dataclass(frozen=True, slots=True)
class Bodies:
    """Equal bodies in one pit. All lengths m.

    Attributes
    ----------
    kind
        What they are.
    count
        How many: upright ones, or rows of lying ones. 0 for stone alone.
    width_m
        Outside diameter; span of an arch; outside width of a box. Above 0.
    height_m
        Outside height: of an upright body its length, of a pipe its diameter (not read), of an arch its rise.
    length_m
        Outside length of each lying row; not read of upright ones.
    wall_m
        Thickness of the wall; holds no water. 0 where the body counts as hollow to its outside.
    own_voids
        Open share of the inside: 1 but in a box that is a lattice.
    curve
        The curve of an arch.
    """

    kind: BodyKind
    count: int
    width_m: float
    height_m: float
    length_m: float = 0.0
    wall_m: float = 0.0
    own_voids: float = 1.0
    curve: ArchCurve = "parabola"


@dataclass(frozen=True, slots=True)
class Slice:
    """A height range over the bodies' foot: what all bodies take out of the stone, and what of it is open, m²."""

    bottom_m: float
    top_m: float
    outside_m2: float
    open_m2: float


def circle_part_m2(*, radius_m: float, depth_m: float) -> float:
    """Return the area of a circle below a depth over its lowest point, m². The depth is held to 0 to 2 r.

    A = r² arccos(1 − d/r) − (r − d) (2 r d − d²)^(1/2), the circular segment.
    """
    d = min(max(depth_m, 0.0), 2.0 * radius_m)
    if radius_m <= 0.0:
        return 0.0
    half = math.acos(max(-1.0, min(1.0, 1.0 - d / radius_m)))
    return radius_m**2 * half - (radius_m - d) * math.sqrt(max(2.0 * radius_m * d - d * d, 0.0))


def arch_part_m2(*, span_m: float, rise_m: float, depth_m: float, curve: ArchCurve) -> float:
    """Return the area under an arch that stands on its span, below a depth over its foot, m²; held to 0 to the rise.

    Half ellipse: B/2 [z (1 − z²/H²)^(1/2) + H arcsin(z/H)]. Parabola: 2/3 B H [1 − (1 − z/H)^(3/2)].
    """
    if span_m <= 0.0 or rise_m <= 0.0:
        return 0.0
    share = min(max(depth_m / rise_m, 0.0), 1.0)
    match curve:
        case "half ellipse":
            return span_m * rise_m / 2.0 * (share * math.sqrt(1.0 - share**2) + math.asin(share))
        case "parabola":
            return float(2.0 / 3.0 * span_m * rise_m * (1.0 - (1.0 - share) ** 1.5))
        case _ as unknown:
            assert_never(unknown)


def slices(bodies: Bodies) -> tuple[Slice, ...]:
    """Return the bodies from their foot up, without a gap; nothing for stone alone.

    Raises
    ------
    InputError
        ``well-body`` if a size is not above 0, a wall leaves no inside, or a share is not from 0 to 1.
    """
    _checked(bodies)
    count, width, height, wall = bodies.count, bodies.width_m, bodies.height_m, bodies.wall_m
    match bodies.kind:
        case "none":
            return ()
        case "cylinder":
            outside = count * math.pi * width**2 / 4.0
            return (Slice(0.0, height, outside, outside * (1.0 - 2.0 * wall / width) ** 2),)
        case "box chamber":
            outside = count * width * bodies.length_m
            inside = count * bodies.own_voids * (width - 2.0 * wall) * (bodies.length_m - 2.0 * wall)
            ends = [0.0, wall, height - wall, height] if wall > 0.0 else [0.0, height]
            opens = [0.0, inside, 0.0] if wall > 0.0 else [inside]
            return tuple(Slice(a, b, outside, o) for (a, b), o in zip(pairwise(ends), opens, strict=True))
        case "perforated pipe":
            radius, inner = width / 2.0, width / 2.0 - wall
            steps = [wall + inner * (1.0 - math.cos(math.pi * i / SLICES)) for i in range(SLICES + 1)]
            return _sliced(
                [0.0, *steps, width],
                lambda z: circle_part_m2(radius_m=radius, depth_m=z),
                lambda z: circle_part_m2(radius_m=inner, depth_m=z - wall),
                count * bodies.length_m,
            )
        case "arch chamber":
            span, rise = width - 2.0 * wall, height - wall
            steps = [rise * _step(bodies.curve, i / SLICES) for i in range(SLICES + 1)]
            return _sliced(
                [*steps, height],
                lambda z: arch_part_m2(span_m=width, rise_m=height, depth_m=z, curve=bodies.curve),
                lambda z: arch_part_m2(span_m=span, rise_m=rise, depth_m=z, curve=bodies.curve),
                count * bodies.length_m,
            )
        case _ as unknown:
            assert_never(unknown)


def outside_volume_m3(bodies: Bodies, height_m: float = math.inf) -> float:
    """Return what the bodies take out of the stone up to a height over their foot, m³."""
    return math.fsum(
        s.outside_m2 * max(0.0, min(s.top_m, height_m) - s.bottom_m)
        for s in slices(bodies)
        if height_m > s.bottom_m
    )


def open_volume_m3(bodies: Bodies) -> float:
    """Return what all bodies hold inside, m³."""
    return math.fsum(s.open_m2 * (s.top_m - s.bottom_m) for s in slices(bodies))


def stacked(
    bodies: Bodies,
    *,
    pit_area_m2: float,
    pit_perimeter_m: float,
    stone_below_m: float,
    stone_above_m: float,
    voids: float,
    full_depth_m: float,
    riser_diameter_m: float,
) -> tuple[Layer, ...]:
    """Return the pit from its bottom to the depth at which it is full.

    Parameters
    ----------
    bodies
        What lies in the stone.
    pit_area_m2, pit_perimeter_m
        Plan of the pit, its walls upright.
    stone_below_m, stone_above_m
        Stone under the bodies and over them; for stone alone, all of it is below.
    voids
        Open share of the stone.
    full_depth_m
        Depth over the pit's bottom at which the store spills; 0.05 m at least.
    riser_diameter_m
        Over the stone only the riser holds water; where the store is full before, it is not read.

    Notes
    -----
    The wall of a body holds no water: the stone's open space is spread over everything outside the hollow.
    Bodies that do not fit take up the whole pit.
    """
    parts = [(stone_below_m, pit_area_m2, pit_perimeter_m, 0.0, voids)]
    for s in slices(bodies):
        outside, hollow = s.outside_m2, s.open_m2
        if outside > pit_area_m2:
            outside, hollow = pit_area_m2, hollow * pit_area_m2 / outside
        beside = voids * (pit_area_m2 - outside) / (pit_area_m2 - hollow) if pit_area_m2 > hollow else 0.0
        if hollow <= 0.0:  # beside a box as wide as its pit there is a crack, not nothing
            beside = max(beside, _CRACK)
        parts.append((s.top_m - s.bottom_m, pit_area_m2, pit_perimeter_m, hollow, beside))
    riser = math.pi * riser_diameter_m**2 / 4.0
    parts.append((stone_above_m, pit_area_m2, pit_perimeter_m, 0.0, voids))
    parts.append((math.inf, riser, math.pi * riser_diameter_m, riser, 1.0))
    out, at = [], 0.0
    full = max(full_depth_m, 0.05)
    for thickness, plan, around, body, open_share in parts:
        top = min(at + thickness, full)
        if top - at > 1e-9:
            out.append(Layer(at, top, plan, around, body, open_share))
            at = top
    return tuple(out)


def _step(curve: ArchCurve, share: float) -> float:
    if curve == "half ellipse":
        return math.sin(math.pi / 2.0 * share)
    return 1.0 - (1.0 - share) ** 2


def _sliced(
    heights: list[float],
    outside: Callable[[float], float],
    inside: Callable[[float], float],
    length_m: float,
) -> tuple[Slice, ...]:
    return tuple(
        Slice(
            low,
            high,
            length_m * (outside(high) - outside(low)) / (high - low),
            length_m * (inside(high) - inside(low)) / (high - low),
        )
        for low, high in pairwise(heights)
        if high - low > 1e-9
    )


def _checked(bodies: Bodies) -> None:
    if bodies.kind == "none":
        return
    lies = bodies.kind != "cylinder"
    sizes = [bodies.width_m, bodies.height_m, *([bodies.length_m] if lies else [])]
    fine = (
        bodies.count >= 1
        and all(0.0 < size < math.inf for size in sizes)
        and 0.0 <= bodies.wall_m < min(sizes) / 2.0
        and 0.0 < bodies.own_voids <= 1.0
    )
    if not fine:
        raise InputError(
            f"{bodies.count} x {bodies.kind} of {sizes} m with a wall of {bodies.wall_m} m and {bodies.own_voids} open"
            " inside; sizes must be above 0, the wall must leave an inside, the share lies from 0 to 1",
            code="well-body",
        )
