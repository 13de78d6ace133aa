"""The way of the overflow's water over the lawn, as a plan shows it: line, bowls, and depth at a few places."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.papers.drawing.model import Item, Label, Polygon, Polyline, Sign
from roofwell.papers.texts import Say
from roofwell.system.overland_facts import SpillWay, WaterAt

_APART_M = 4.0  # figures nearer than this to each other say the same


def way_over_ground(way: SpillWay, say: Say) -> Iterator[Item]:
    """Yield what draws one way: nothing where none is known."""
    for pond in way.ponds:
        if len(pond.outline) > 3 and pond.depth_m > 0:
            yield Polygon(pond.outline[:-1], "water", "water", part=way.part)
            words = f"fills to {say.level(pond.level_m)}"
            yield Label(words, pond.outline[0], "small", side="right", rank=6, part=way.part, needed=False)
    if way.drawn is not None and not way.drawn.follows:
        yield Polyline(way.drawn.points, "drawn way", part=way.part)
        words = "as drawn in the job"
        yield Label(
            words, way.drawn.off_at or way.drawn.points[-1], "small", side="right", rank=5, part=way.part
        )
    if len(way.points) > 1:
        line = tuple((x, y) for x, y, _ in way.points)
        yield Polyline(line, "spill", part=way.part)
        (x0, y0), (x1, y1) = line[-2:]
        yield Sign(line[-1], "spill", math.atan2(y1 - y0, x1 - x0), way.part)
    for one in _told(way, say):
        yield Label(
            _depth_words(one, say), one.at, "small", side="right", rank=6, part=way.part, needed=False
        )
    if way.next_shot is not None and way.leaves_at is None:
        yield Sign(way.next_shot, "unknown", 0.0, way.part)
        yield Label("shoot the ground here", way.next_shot, "small", side="right", rank=4, part=way.part)


def _depth_words(one: WaterAt, say: Say) -> str:
    return f"{say.depth(one.depth_m)} deep, {say.distance(one.width_m)} wide"


def _told(way: SpillWay, say: Say) -> list[WaterAt]:
    """The places whose depth is written: the deepest, then others that are far from each other and say something new."""
    out: list[WaterAt] = []
    for one in sorted(way.water, key=lambda one: -one.depth_m):
        if all(abs(one.station_m - other.station_m) >= _APART_M for other in out):
            out.append(one)
    told: dict[str, WaterAt] = {}
    for one in out:
        told.setdefault(_depth_words(one, say), one)
    return list(told.values())[:3]
