"""Water along a section as it is drawn: in the pipes, the full well's level, the cloudburst's; and what its lines mean."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Literal

from roofwell.papers.drawing.model import XY, Item, KeyMark, Polygon, Polyline, known
from roofwell.papers.drawing.way import Way
from roofwell.papers.drawing.way_water import WayWater


def water_in_pipes(
    way: Way, levels: Mapping[str, float], kind: Literal["water", "water left"]
) -> Iterator[Item]:
    """Yield still water in each run up to its level, or up to the crown where it stands higher."""
    for run, start in zip(way.runs, way.starts_m, strict=True):
        level = levels.get(run.id, -math.inf)
        if not known(run.upstream_invert_m, run.downstream_invert_m, level):
            continue
        stations = [run.length_m * n / 40 for n in range(41)]
        low = [(start + s, run.invert_at(s)) for s in stations]
        high = [(x, min(level, z + run.inside_diameter_m)) for x, z in low]
        wet = [(a, b) for a, b in zip(low, high, strict=True) if b[1] > a[1]]
        if len(wet) > 1:
            outline = tuple(a for a, _ in wet) + tuple(b for _, b in reversed(wet))
            yield Polygon(outline, kind, kind, part=run.id, edge=False)


def full_level(way: Way, water: WayWater) -> Iterator[Item]:
    """The level of the full well, from the well up to where it meets the pipe or the downspout."""
    if not way.runs or not known(water.lip_m):
        return
    reach = way.length_m
    for run, start in reversed(list(zip(way.runs, way.starts_m, strict=True))):
        wet = [
            start + run.length_m * n / 40
            for n in range(41)
            if run.invert_at(run.length_m * n / 40) < water.lip_m
        ]
        if not wet:
            break
        reach = min(wet)
    if reach < way.length_m:
        yield Polyline(((reach, water.lip_m), (way.length_m, water.lip_m)), "water full")


def peak_line(way: Way, water: WayWater) -> Iterator[Item]:
    """The water level of the cloudburst, run by run, where it was reckoned."""
    line: list[XY] = []
    for run, start in zip(way.runs, way.starts_m, strict=True):
        line += [(start + station, level) for station, level in water.peak.get(run.id, ())]
    if len(line) > 1:
        yield Polyline(tuple(line), "water level")


def key_of(items: list[Item], water: WayWater) -> Iterator[KeyMark]:
    """Yield what the lines and fills mean that this section has."""
    roles = {item.role for item in items if isinstance(item, Polyline | Polygon)}
    full = any(isinstance(item, Polygon) and item.fill == "water" for item in items)
    if "water left" in roles:
        yield KeyMark("water left standing in dry weather", "water left", "water left")
    if full or "water full" in roles:
        yield KeyMark("water, well full and still", "water full", "water")
    if "water level" in roles:
        yield KeyMark(
            f"water level in the {water.years:g}-year cloudburst{', well full' if full else ''}",
            "water level",
        )
    if "what if" in roles:
        yield KeyMark("the same with one thing failing, by its letter under What if", "what if")
    if "hand dig" in roles:
        yield KeyMark("dig by hand only", "hand dig")
    if "ground guessed" in roles:
        yield KeyMark("ground, not measured", "ground guessed")
