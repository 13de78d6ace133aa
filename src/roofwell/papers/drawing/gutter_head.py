"""The gutter at the head of a way, cut across: with the downspout under it, and the water in it.

Its brim stands at its true height where that was measured. Where it was not, and where the whole wall would leave the pipes
too flat to read, wall and downspout are cut short between two break lines. The gutter itself is drawn so much larger than
the rest that its water is seen, but in a section of one true scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from roofwell.papers.drawing.model import (
    XY,
    Item,
    KeyMark,
    Label,
    Polygon,
    Polyline,
    Role,
    known,
    rectangle,
)
from roofwell.papers.texts import Say
from roofwell.system.behaviour import DownspoutFlow
from roofwell.system.gutter_moments import cloudburst_depth_m
from roofwell.system.origin import Origin
from roofwell.system.scheme import Downspout, Gutter, Scheme

# shares of the section's height
_UNDER = 0.02  # from the highest thing that is drawn to scale up to the lower break line
_GAP = 0.03  # between the break lines
_OVER = 0.05  # from the upper one to the gutter's floor
_DEEP = 0.15  # a gutter over a break line, at most
_TOOTH = 0.012
_LARGER = (8, 6, 5, 4, 3, 2)
_BESIDE_M = 0.12  # that a break line reaches beyond wall and downspout
_POINTS = 12  # of a quarter of a half-round gutter


@dataclass(frozen=True, slots=True)
class Head:
    """A gutter in the meters of a section.

    ``x_m``: its middle; ``floor_m``: its floor as drawn. ``height_m``: of its brim over the lawn, None where not measured.
    ``break_m``: from where to where wall and downspout are cut short, None where nothing is. ``times``: of its scale.
    """

    spout: Downspout
    gutter: Gutter
    x_m: float
    floor_m: float
    height_m: float | None
    break_m: tuple[float, float] | None
    times: int = 1

    @property
    def brim_m(self) -> float:
        """Its brim as drawn, m."""
        return self.floor_m + self.times * self.gutter.depth_m

    @property
    def half_m(self) -> float:
        """Half of its top width as drawn, m."""
        return 0.5 * self.times * self.gutter.top_width_m


def head_of(
    scheme: Scheme, part: str, *, span_m: tuple[float, float], whole: bool, true_scale: bool = False
) -> Head | None:
    """Return the gutter over a downspout; None where the part is none, or its gutter has no sizes.

    Parameters
    ----------
    span_m
        The lowest and the highest thing of the section that must stand to scale, m.
    whole
        Whether a measured height is drawn whole, however high.
    true_scale
        Whether a gutter of measured height is drawn no larger than it is.
    """
    spout = next((one for one in scheme.downspouts if one.id == part), None)
    gutter = spout.gutter if spout is not None else None
    if spout is None or gutter is None or not known(gutter.depth_m, gutter.top_width_m, *span_m):
        return None
    if not (gutter.depth_m > 0 and gutter.top_width_m > 0):
        return None
    x = spout.offset_m if spout.elbows is not None else 0.0
    drop = spout.offset_drop_m if x > 0 else 0.0
    brim = spout.brim_m if spout.brim_m is not None and known(spout.brim_m, spout.ground_m) else None
    height = brim - spout.ground_m if brim is not None else None
    tall = max(span_m[1] - span_m[0], 0.5)
    low = span_m[1] + _UNDER * tall
    high = low + _GAP * tall
    times = next((n for n in _LARGER if n * gutter.depth_m <= _DEEP * tall), 1)
    if brim is not None and (whole or brim <= high + _OVER * tall + times * gutter.depth_m):
        times = 1 if true_scale else times
        return Head(spout, gutter, x, brim - times * gutter.depth_m, height, None, times)
    return Head(spout, gutter, x, high + _OVER * tall + min(drop, _OVER * tall), height, (low, high), times)


def head_items(
    head: Head, scheme: Scheme, say: Say, *, wall_m: float, flow: DownspoutFlow | None
) -> Iterator[Item]:
    """Yield eave, gutter, downspout and break lines; ``wall_m``: where the wall stands, ``flow``: of the cloudburst."""
    spout, gutter = head.spout, head.gutter
    half = 0.5 * min(spout.width_m or 0.08, spout.breadth_m or math.inf)
    foot = max((z for z in (spout.ground_m, spout.joint_m) if known(z)), default=head.floor_m)
    bend = head.floor_m - (spout.offset_drop_m if head.x_m > 0 else 0.0)
    if head.break_m is not None:
        bend = max(bend, head.break_m[1])
    pen: Role = "wall" if head.times > 1 else "fine"
    for side in (-half, half):
        line = ((side, foot), (side, bend), (head.x_m + side, head.floor_m))
        yield Polyline(line if head.x_m > 0 else line[:2], "fine", part=spout.id)
    if head.break_m is not None:
        yield from _break(head.break_m, wall_m - _BESIDE_M, half + _BESIDE_M)
    yield Polyline(((wall_m, head.brim_m), (head.x_m - head.half_m, head.brim_m)), "house")
    state: Origin = scheme.origin.get(f"{gutter.id}.top_width_m", "designed")
    yield Polygon(outline(head, gutter.depth_m), pen, "sheet", state, spout.id, edge=False)
    yield Polyline(outline(head, gutter.depth_m), pen, state, spout.id)
    words = [f"{gutter.id}, {_hangs(head, say)}"]
    deep = cloudburst_depth_m(spout, flow) if flow is not None else None
    if deep is not None:
        yield Polyline(surface(head, deep), "water level", part=spout.id)
        words.append(f"cloudburst: {depth_words(gutter, deep, say)}")
    at = (head.x_m + head.half_m, head.brim_m)
    yield Label("\n".join(words), at, "small", side="right", rank=3, part=spout.id)


def head_key(head: Head) -> Iterator[KeyMark]:
    """Yield what the break lines mean where there are any, and how much larger than the rest the gutter is."""
    larger = f"{head.gutter.id} drawn {head.times} times larger" if head.times > 1 else ""
    if head.break_m is not None:
        yield KeyMark(f"wall and downspout cut short here{'; ' if larger else ''}{larger}", "cut short")
    elif larger:
        yield KeyMark(f"{larger}, its brim at its true height", "wall")


def _hangs(head: Head, say: Say) -> str:
    """How high the gutter hangs, or that nobody measured it."""
    if head.height_m is None:
        return "how high it hangs was not measured"
    level = head.spout.brim_m
    return f"brim {say.level(level)}, {say.length(head.height_m)} over the lawn"


def depth_words(gutter: Gutter, depth_m: float, say: Say) -> str:
    """Say how deep water stands in a gutter, where it is deepest."""
    room = gutter.depth_m - depth_m
    if room <= 1e-4:
        return "water to its brim"
    return f"water {say.depth(depth_m)} deep, {say.depth(room)} under its brim"


def _break(at_m: tuple[float, float], left: float, right: float) -> Iterator[Item]:
    low, high = at_m
    rise = _TOOTH / _GAP * (high - low)
    yield Polygon(rectangle(left, low, right, high), "cut short", "sheet", edge=False)
    middle, tooth = 0.5 * (left + right), 0.06
    for z in (low, high):
        zigzag = (
            (left, z),
            (middle - tooth, z),
            (middle - 0.3 * tooth, z + rise),
            (middle + 0.3 * tooth, z - rise),
            (middle + tooth, z),
            (right, z),
        )
        yield Polyline(zigzag, "cut short")


def outline(head: Head, depth_m: float) -> tuple[XY, ...]:
    """Return the gutter's inside up to a depth, from its back over its floor to its front; m."""
    gutter, x, floor = head.gutter, head.x_m, head.floor_m
    if gutter.shape == "half-round":
        radius = head.half_m
        end = math.acos(max(-1.0, min(1.0, 1.0 - head.times * depth_m / radius)))  # from straight down
        turns = [end * (n / _POINTS - 1) for n in range(2 * _POINTS + 1)]
        return tuple((x + radius * math.sin(turn), floor + radius * (1 - math.cos(turn))) for turn in turns)
    back, front = (head.times * side for side in _sides(gutter, depth_m))
    foot = head.times * _sides(gutter, 0.0)[1]
    level = floor + head.times * depth_m
    return ((x + back, level), (x + back, floor), (x + foot, floor), (x + front, level))


def surface(head: Head, depth_m: float) -> tuple[XY, XY]:
    """Return the water's surface at a depth, from back to front, m."""
    points = outline(head, depth_m)
    return points[0], points[-1]


def _sides(gutter: Gutter, depth_m: float) -> tuple[float, float]:
    """Back and front of a box, or of an ogee drawn with a straight front, at a depth; from the middle, m."""
    half = 0.5 * gutter.top_width_m
    if gutter.shape == "box":
        return -half, half
    foot = -half + gutter.bottom_width_m
    return -half, foot + (half - foot) * depth_m / gutter.depth_m
