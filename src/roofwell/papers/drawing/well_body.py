"""What lies in the stone of a well, cut across and seen from the side, true to shape."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import assert_never

from roofwell.papers.drawing.model import XY, Circle, Item, Polygon, known, rectangle
from roofwell.system.origin import Origin
from roofwell.system.scheme import Overflow, Well

_POINTS = 48


def centers_across(well: Well) -> tuple[float, ...]:
    """Return where the bodies stand in the section: upright ones along the pit, lying rows across it; m from its middle."""
    first = -0.5 * (well.bodies - 1) * well.body_spacing_m
    return tuple(first + n * well.body_spacing_m for n in range(well.bodies))


def half_section_m(well: Well) -> float:
    """Return half of the pit in the section: a row of upright bodies is cut along, everything else across, m."""
    return (well.pit_length_m if well.body == "cylinder" else well.pit_width_m) / 2


def foot_m(well: Well) -> float:
    """Return the level at which the bodies stand, m."""
    return well.bottom_m + well.stone_below_m


def head_m(well: Well) -> float:
    """Return the top of the bodies, or of stone alone, m."""
    return foot_m(well) + well.body_height_m


def outline(well: Well, x: float, level_m: float = math.inf, inset_m: float = 0.0) -> tuple[XY, ...]:
    """Return the outline of one body at ``x``, up to a level; ``inset_m`` inside its wall. Empty below it."""
    half, foot = well.body_diameter_m / 2 - inset_m, foot_m(well)
    match well.body:
        case "cylinder":
            low, high = foot, min(level_m, head_m(well))
            return rectangle(x - half, low, x + half, high) if high > low else ()
        case "box chamber":
            low, high = foot + inset_m, min(level_m, head_m(well) - inset_m)
            return rectangle(x - half, low, x + half, high) if high > low else ()
        case "perforated pipe":
            middle = foot + well.body_diameter_m / 2
            high = min(level_m, middle + half)
            if high <= middle - half:
                return ()
            end = math.acos(max(-1.0, min(1.0, (middle - high) / half)))  # from straight down
            turns = [end * (2 * i / _POINTS - 1) for i in range(_POINTS + 1)]
            return tuple((x + half * math.sin(t), middle - half * math.cos(t)) for t in turns)
        case "arch chamber":
            rise = well.body_height_m - inset_m
            high = min(level_m - foot, rise)
            if high <= 0:
                return ()
            steps = [high * i / (_POINTS // 2) for i in range(_POINTS // 2 + 1)]
            right = [(x + half * _arch(well, z / rise), foot + z) for z in steps]
            return (*right, *((2 * x - a, z) for a, z in reversed(right)))
        case "none":
            return ()
        case _ as unknown:
            assert_never(unknown)


def cut_bodies(well: Well, lip_m: float, state: Origin) -> Iterator[Item]:
    """Yield the bodies of a section: wall, water up to the lip, holes."""
    for x in centers_across(well):
        whole = outline(well, x)
        yield Polygon(whole, "wall", "sheet", part=well.id, edge=False)
        water = outline(well, x, lip_m, well.body_wall_m if well.body != "cylinder" else 0.0)
        if known(lip_m) and water:
            yield Polygon(water, "water", "water", part=well.id, edge=False)
        yield Polygon(whole, "wall", state=state, part=well.id)
        for at in _holes(well, x):
            yield Circle(at, 0.011, "fine", "sheet", part=well.id)


def _holes(well: Well, x: float) -> Iterator[XY]:
    half, foot, head = well.body_diameter_m / 2, foot_m(well), head_m(well)
    match well.body:
        case "cylinder":
            for n in range(1, 9):
                z = foot + n * (head - foot) / 9
                yield x - half, z
                yield x + half, z
        case "perforated pipe":
            for turn in (-math.pi / 3, math.pi / 3):  # two rows of holes, 120 degrees apart, laid down
                yield x + half * math.sin(turn), foot + half - half * math.cos(turn)
        case "arch chamber":
            for share in (0.2, 0.5):
                reach = half * _arch(well, share)
                yield x - reach, foot + share * well.body_height_m
                yield x + reach, foot + share * well.body_height_m
        case "box chamber" | "none":
            return
        case _ as unknown:
            assert_never(unknown)


def _arch(well: Well, share: float) -> float:
    """Half width of the arch at a share of its rise, in half spans."""
    over = max(0.0, 1.0 - share) if well.arch == "parabola" else max(0.0, 1.0 - share * share)
    return math.sqrt(over)


def side_boxes(
    well: Well, at_m: float, spans: tuple[tuple[float, float], ...]
) -> tuple[tuple[float, float], ...]:
    """Return from where to where each body is seen from the side, once each, along a section that ends at ``at_m``."""
    return tuple(dict.fromkeys((round(at_m + a, 4), round(at_m + b, 4)) for a, b in spans))


def has_riser(well: Well, overflow: Overflow | None) -> bool:
    """Say whether the overflow stands on a riser over the bodies; over stone at the lawn there is none, nor where a pipe
    leads on."""
    led_on = overflow is not None and overflow.pipe is not None and overflow.to is not None
    return overflow is not None and not led_on and overflow.kind != "stone surface" and known(overflow.lip_m)
