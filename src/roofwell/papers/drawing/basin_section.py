"""A catch basin cut open, to scale: mouths of the pipes, standing water, what lies and what floats, hood and screen."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell import tables
from roofwell.checks import debris_words
from roofwell.design.result import Design
from roofwell.papers.drawing.model import (
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Item,
    KeyMark,
    Label,
    Polygon,
    Polyline,
    WaterSurface,
    known,
    rectangle,
)
from roofwell.papers.texts import Say
from roofwell.system.debris_facts import BasinDebris
from roofwell.system.origin import Origin
from roofwell.system.pipe_ends import ENDS, end_invert_m
from roofwell.system.scheme import Basin, Run, Scheme

_BESIDE_M = 0.55
_SPECK_M = 0.028
_STROKE_M = 0.05


def basin_section(design: Design, basin: Basin, scheme: Scheme) -> Drawing:
    """Return the section of a catch basin along the water's way, half its sump full as on the day to empty it."""
    say = Say(design.survey.style)
    title = f"{basin.id}: catch basin"
    if not known(basin.outlet_invert_m, basin.width_m):
        words = f"{basin.id}: its levels are not known yet, so it is not drawn"
        return Drawing(
            f"basin-{basin.id}", title, (Label(words, (0.0, 0.0), side="on"),), (-1.0, -0.2, 1.0, 0.2)
        )
    half = basin.along_m / 2
    floor = basin.floor_m if known(basin.floor_m) else basin.outlet_invert_m - 0.3
    inlet, outlet = next(iter(scheme.runs_to(basin.id)), None), scheme.run_from(basin.id)
    pipe = max((run.inside_diameter_m for run in (inlet, outlet) if run is not None), default=0.1)
    grate = basin.grate_m if known(basin.grate_m) else basin.outlet_invert_m + pipe + 0.3
    left = basin.outlet_invert_m if basin.weep_holes == 0 else -math.inf
    debris = design.behaviour.debris.basin(basin.id) if design.behaviour.debris is not None else None
    deposit = floor + tables.limit("clean-out-share").value_si * max(0.0, basin.outlet_invert_m - floor)
    items: list[Item] = [
        Polygon(rectangle(-half, floor, half, grate), "wall", "sheet", part=basin.id, edge=False)
    ]
    if left > floor:
        water = rectangle(-half, floor, half, left)
        items.append(Polygon(water, "water left", "water left", part=basin.id, edge=False))
    items += _deposit(basin, half, floor, deposit)
    for run, end, sign in ((inlet, ENDS[1], -1.0), (outlet, ENDS[0], 1.0)):
        if run is not None:
            items += _mouth(scheme, run, end, sign * half, left, say)
    state: Origin = "designed" if known(basin.grate_m, basin.floor_m) else "missing"
    walls = ((-half, grate), (-half, floor), (half, floor), (half, grate))
    items.append(Polyline(walls, "wall", state, basin.id))
    if left > floor:
        items.append(WaterSurface((-half, left), (half, left), basin.id))
    mouth = _intake_m(basin, floor)
    if outlet is not None:
        items += _guards(basin, outlet, half, pipe, mouth, say)
    if left > floor and (basin.hood or basin.screen):
        reach = half - (0.7 * pipe + 0.09 if basin.hood else 0.06)
        items += _floats(basin, -half, reach, left)
    items += _top(design, basin, half, floor, grate, say)
    if basin.outlet_invert_m > floor:
        sump = f"sump {say.length(basin.outlet_invert_m - basin.floor_m)}"
        items.append(Dimension((-half - 0.12, floor), (-half - 0.12, basin.outlet_invert_m), sump, basin.id))
    ground = basin.ground_m if known(basin.ground_m) else grate
    key = [KeyMark("water left standing in dry weather", "water left", "water left")] if left > floor else []
    return Drawing(
        name=f"basin-{basin.id}",
        title=title,
        items=tuple(items),
        bounds=(-half - _BESIDE_M, floor - 0.06, half + _BESIDE_M + 0.1, max(grate, ground) + 0.04),
        says=f"Section through basin {basin.id}: pipe in, pipe out, sump half full, standing water, hood, screen, grate.",
        notes=_notes(basin, debris, say),
        key=tuple(key),
    )


def _intake_m(basin: Basin, floor: float) -> float:
    """Level of the hood's mouth, never under the floor."""
    return max(basin.outlet_invert_m - basin.hood_depth_m, floor + 0.02)


def _mouth(scheme: Scheme, run: Run, end: str, wall: float, left: float, say: Say) -> Iterator[Item]:
    """A pipe from the wall outward, with the water that stands in it, its size and its invert."""
    invert = end_invert_m(scheme, run, end)  # type: ignore[arg-type]
    if not known(invert):
        return
    sign = math.copysign(1.0, wall)
    a, b = sorted((wall, wall + sign * _BESIDE_M))
    crown = invert + run.inside_diameter_m
    yield Polygon(rectangle(a, invert, b, crown), "pipe", "sheet", edge=False)
    wet = min(left, crown)
    if wet > invert:
        box = rectangle(a, invert, b, wet)
        yield Polygon(box, "water left", "water left", part=run.id, edge=False)
    for z in (invert, crown):
        yield Polyline(((a, z), (b, z)), "pipe", part=run.id)
    x = wall + sign * 0.6 * _BESIDE_M
    yield Label(
        f"{run.id}  {say.size(run.nominal_m)}", (x, crown), strong=True, side="over", rank=2, part=run.id
    )
    words = f"{'in' if sign < 0 else 'out'} {say.level(invert)}"
    yield Label(words, (x, invert), "small", side="under", rank=3, part=run.id)


def _deposit(basin: Basin, half: float, floor: float, top: float) -> Iterator[Item]:
    """What has settled: specks up to the level at which the basin is due."""
    if top - floor < _SPECK_M:
        return
    yield Polyline(((-half, top), (half, top)), "fine", part=basin.id)
    rows = max(1, int((top - floor) / _SPECK_M))
    columns = max(2, int(2 * half / _SPECK_M))
    for row in range(rows):
        z = floor + (row + 0.5) * (top - floor) / rows
        for column in range(columns):
            x = -half + (column + 0.3 + 0.4 * (row % 2)) * 2 * half / columns
            yield Circle((x, z), 0.0035 if (row + column) % 3 else 0.005, "fine", "black")
    yield Label("empty it here", (-0.3 * half, top), "small", side="over", rank=4, part=basin.id)


def _floats(basin: Basin, start: float, end: float, level: float) -> Iterator[Item]:
    """Leaves on the water, held there by hood or screen."""
    count = max(2, int((end - start) / _STROKE_M))
    for n in range(count):
        x = start + (n + 0.25) * (end - start) / count
        tilt = 0.006 if n % 2 else -0.004
        yield Polyline(
            ((x, level + 0.004), (x + 0.6 * _STROKE_M, level + 0.004 + tilt)), "ink", part=basin.id
        )
    yield Label(
        "leaves float", ((start + end) / 2, level), "small", side="over", rank=5, part=basin.id, needed=False
    )


def _guards(basin: Basin, outlet: Run, half: float, pipe: float, mouth: float, say: Say) -> Iterator[Item]:
    """The hood or turned-down elbow with its air hole, and the screen, before the outlet."""
    low, high = basin.outlet_invert_m, basin.outlet_invert_m + outlet.inside_diameter_m
    if basin.hood:
        outer, inner = half - max(0.7 * pipe, 0.06) - 0.06, half - 0.03
        top = high + 0.02
        elbow = ((half, top), (outer, top), (outer, mouth))
        yield Polyline(elbow, "wall", part=basin.id)
        yield Polyline(((half, low), (inner, low), (inner, mouth)), "wall", part=basin.id)
        if basin.hood_air_hole:
            yield Circle(((outer + half) / 2, top), 0.008, "wall", "sheet", part=basin.id)
            yield Label(
                "air hole", ((outer + half) / 2, top), "small", side="over left", rank=3, part=basin.id
            )
        yield Label(f"mouth {say.level(mouth)}", (outer, mouth), "small", side="left", rank=3, part=basin.id)
    if basin.screen:
        x = half - (max(0.7 * pipe, 0.06) + 0.08 if basin.hood else 0.03)
        foot = mouth if basin.hood else low - 0.02
        yield Polyline(((x, foot), (x, high + 0.05)), "geotextile", part=basin.id)
        yield Label("screen", (x, high + 0.05), "small", side="over left", rank=4, part=basin.id)


def _top(design: Design, basin: Basin, half: float, floor: float, grate: float, say: Say) -> Iterator[Item]:
    """Grate, ground at both sides, and the sizes."""
    yield Polygon(rectangle(-half - 0.03, grate - 0.02, half + 0.03, grate), "wall", "black", part=basin.id)
    ground = basin.ground_m if known(basin.ground_m) else grate
    sure = known(basin.ground_m) and design.survey.ground_known
    for a, b in ((-half - _BESIDE_M, -half), (half, half + _BESIDE_M)):
        yield Polyline(((a, ground), (b, ground)), "ground" if sure else "ground guessed")
        if sure:
            yield Hatch(((a, ground), (b, ground)), "earth")
    yield Label(
        f"grate {say.level(basin.grate_m)}", (0.0, grate), "small", side="over", rank=2, part=basin.id
    )
    yield Label(
        f"floor {say.level(basin.floor_m)}", (half, floor), "small", side="right", rank=3, part=basin.id
    )
    yield Dimension((-half, floor - 0.05), (half, floor - 0.05), say.length(basin.along_m), basin.id)
    if known(basin.floor_m, basin.grate_m):
        x, deep = half + _BESIDE_M + 0.07, f"deep {say.length(basin.grate_m - basin.floor_m)}"
        yield Dimension((x, floor), (x, grate), deep, basin.id)


def _notes(basin: Basin, debris: BasinDebris | None, say: Say) -> tuple[str, ...]:
    wide = {
        "round": f"Inside diameter {say.length(basin.width_m)}",
        "square": f"Inside width {say.length(basin.width_m)}",
        "rectangular": f"Inside {say.length(basin.width_m)} by {say.length(basin.along_m)}",
        "outline": f"Inside {say.area(basin.plan_area_m2)}, drawn {say.length(basin.along_m)} long",
    }[basin.shape]
    hood = "turned-down elbow or hood over the outlet"
    if basin.hood:
        said = {True: ", air hole at its top", False: ", no air hole", None: ", air hole not looked for"}
        hood += said[basin.hood_air_hole]
    has = [word for word, on in ((hood, basin.hood), ("screen that lifts out", basin.screen)) if on]
    weep = (
        f"{basin.weep_holes} weep holes" if basin.weep_holes else "no weep holes: water stands to the outlet"
    )
    first = f"{wide}; {', '.join([*has, weep])}. Elevations in {say.level_unit}."
    if debris is None:
        return (first,)
    own = debris.as_is
    return (
        first,
        f"Keeps {debris_words.share(own.mineral_kept)} of grit and silt, {debris_words.share(own.floating_kept)} of what "
        f"floats. Drawn with half its sump full, which takes {debris_words.months(own.months_to_half)}: then empty it.",
    )
