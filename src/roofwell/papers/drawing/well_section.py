"""A dry well and a catch basin cut open, to scale, with their sizes and levels."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofwell.design.result import Design
from roofwell.papers.drawing.model import (
    Circle,
    Dimension,
    Drawing,
    Hatch,
    Item,
    KeyMark,
    Label,
    LevelMarks,
    Polygon,
    Polyline,
    WaterSurface,
    known,
    rectangle,
)
from roofwell.papers.texts import Say, stone_words
from roofwell.system.origin import Origin
from roofwell.system.pipe_ends import ENDS, end_invert_m, lowest_inlet
from roofwell.system.scheme import Basin, Overflow, Run, Scheme, Well
from roofwell.system.soakage_models import by_conductivity
from roofwell.system.soil_need import fill_target

_SIDE_M = 0.6


def well_section(design: Design, well: Well, scheme: Scheme) -> Drawing:
    """Return the section of a well along its pit; a drawing that says so where its levels are not known.

    A well of ``design.scheme_large`` is marked as the other end of the range.
    """
    say = Say(design.survey.style)
    largest = scheme is design.scheme_large
    title = f"{well.id}: well in its stone surround"
    if design.scheme_large is not None:
        title += ", at its largest" if largest else ", at its smallest"
    half = well.pit_length_m / 2
    if not known(well.bottom_m, well.stone_top_m, half):
        words = f"{well.id}: its levels are not known yet, so it is not drawn"
        return Drawing(
            f"well-{well.id}", title, (Label(words, (0.0, 0.0), side="on"),), (-2.0, -0.4, 2.0, 0.4)
        )
    ground = well.ground_m if known(well.ground_m) else well.stone_top_m + 0.3
    overflow = scheme.overflow_of(well.id)
    lip = overflow.lip_m if overflow is not None and known(overflow.lip_m) else well.lip_m
    top = max(ground, lip if known(lip) else ground, well.stone_top_m)
    water = design.survey.soil.high_water_m
    deep = water is not None and known(water) and well.bottom_m - 1.6 < water < well.bottom_m
    low = (water if deep and water is not None else well.bottom_m) - 0.12
    items: list[Item] = [*_pit(well, half, ground, scheme, lip)]
    items += _bodies(well, scheme, say, lip)
    pipe_in = lowest_inlet(scheme, well.id)
    if pipe_in is not None:
        inlet = next(run for run in scheme.runs if run.id == pipe_in.run)
        items += _pipe_in(well, inlet, pipe_in.invert_m, half, say)
    if overflow is not None and known(lip):
        items += _riser(well, overflow, lip, ground, say)
    surface = ((-half - _SIDE_M, ground), (half + _SIDE_M, ground))
    items.append(
        Polyline(
            surface, "ground" if known(well.ground_m) and design.survey.ground_known else "ground guessed"
        )
    )
    if known(well.ground_m) and design.survey.ground_known:
        items.append(Hatch((surface[0], (-half, ground)), "earth"))
        items.append(Hatch(((half, ground), surface[1]), "earth"))
    items += _sizes(well, half, say, ground if known(well.ground_m) else None)
    items += _elevations(well, scheme, overflow, half, say)
    if deep and water is not None:
        items.append(WaterSurface((-half - _SIDE_M, water), (half + _SIDE_M, water)))
        items.append(
            Label(f"seasonal high water {say.level(water)}", (0.0, water), "small", side="over", rank=3)
        )
    voids = "assumed" if scheme.origin.get(f"{well.id}.voids") == "assumed" else "given"
    if well.pit_shape == "rectangular":
        pit = f"Pit {say.length(well.pit_length_m)} by {say.length(well.pit_width_m)}"
    else:
        pit = f"Round pit, {say.length(well.pit_width_m)} across"
    deeper = f" Seasonal high water at {say.level(water)}." if known(water) and not deep else ""
    counted = "Soakage by conductivity" if by_conductivity(well.soakage) else "Soaks through"
    soaks = f"{counted}: {well.soakage}"
    notes: tuple[str, ...] = (
        f"{pit}. Stone: {stone_words(well.stone)}; voids {say.percent(well.voids)} ({voids}). Geotextile (dashed): "
        f"{', '.join(well.geotextile) or 'none'}. {soaks}.",
        f"Elevations in {say.level_unit}. The pipe is turned into the section. Drawn full to the lip."
        f"{deeper}",
    )
    notes += _fill_words(design, well, say)
    if design.scheme_large is not None:
        end = "The other end of the range" if largest else "One end of a range"
        notes = (f"{end}: {design.open_sizes or 'the sizes are still open'}.", *notes)
    return Drawing(
        name=f"well-{well.id}{'-largest' if largest else ''}",
        title=title,
        items=tuple(items),
        bounds=(-half - _SIDE_M, low, half + _SIDE_M, top + 0.06),
        says=f"Section through well {well.id}: pit, stone, bodies, pipe in, overflow, sizes, elevations.",
        notes=notes,
        key=(KeyMark("water, well full and still", "water", "water"), KeyMark("geotextile", "geotextile")),
    )


def _fill_words(design: Design, well: Well, say: Say) -> tuple[str, ...]:
    """The fill that shows in the open pit whether the soil is fast enough; where the soil is tested and sizes are set."""
    given = design.job.wells.get(well.id)
    stands = given is not None and given.state == "existing"
    if stands or design.scheme_large is not None or not design.survey.soil.known:
        return ()
    target = fill_target(design.scheme, design.survey, design.behaviour.well(well.id))
    if target is None:
        return ()
    fill, end = say.length(target.start_m), say.length(target.end_m)
    return (
        f"Before the stone goes in: fill the pit {fill} deep ({say.volume(target.volume_m3)}), three times. Go, if the "
        f"last fill is down to {end} within {say.time(target.within_s)}; else go deeper or stop, and call the office.",
    )


def _pit(well: Well, half: float, ground: float, scheme: Scheme, lip: float) -> Iterator[Item]:
    state: Origin = scheme.origin.get(f"{well.id}.bottom_m", "designed")
    stone = rectangle(-half, well.bottom_m, half, well.stone_top_m)
    if known(lip):
        yield Polygon(
            rectangle(-half, well.bottom_m, half, min(lip, well.stone_top_m)),
            "water",
            "water",
            edge=False,
            part=well.id,
        )
    yield Hatch(stone, "stone", well.id)
    yield Polyline(
        ((-half, ground), (-half, well.bottom_m), (half, well.bottom_m), (half, ground)),
        "pit",
        state,
        well.id,
    )
    sides = {
        "sides": "sides" in well.geotextile,
        "top": "top" in well.geotextile,
        "bottom": "bottom" in well.geotextile,
    }
    inset = 0.018
    if sides["sides"]:
        for x in (-half + inset, half - inset):
            yield Polyline(((x, well.bottom_m + inset), (x, well.stone_top_m)), "geotextile", part=well.id)
    if sides["top"]:
        yield Polyline(
            ((-half + inset, well.stone_top_m), (half - inset, well.stone_top_m)), "geotextile", part=well.id
        )
    if sides["bottom"]:
        z = well.bottom_m + inset
        yield Polyline(((-half + inset, z), (half - inset, z)), "geotextile", part=well.id)


def _centers(well: Well) -> tuple[float, ...]:
    first = -0.5 * (well.bodies - 1) * well.body_spacing_m
    return tuple(first + n * well.body_spacing_m for n in range(well.bodies))


def _bodies(well: Well, scheme: Scheme, say: Say, lip: float) -> Iterator[Item]:
    foot, radius = well.bottom_m + well.stone_below_m, well.body_diameter_m / 2
    head = foot + well.body_height_m
    state: Origin = scheme.origin.get(f"{well.id}.body_diameter_m", "designed")
    for x in _centers(well):
        box = rectangle(x - radius, foot, x + radius, head)
        yield Polygon(box, "wall", "sheet", part=well.id, edge=False)
        if known(lip) and lip > foot:
            yield Polygon(
                rectangle(x - radius, foot, x + radius, min(lip, head)),
                "water",
                "water",
                part=well.id,
                edge=False,
            )
        yield Polygon(box, "wall", state=state, part=well.id)
        holes = 9
        for n in range(1, holes):
            z = foot + n * (head - foot) / holes
            for side in (-radius, radius):
                yield Circle((x + side, z), 0.011, "fine", "sheet", part=well.id)
        yield Dimension((x - radius, foot + 0.22), (x + radius, foot + 0.22), say.length(2 * radius), well.id)


def _pipe_in(well: Well, inlet: Run, invert_m: float, half: float, say: Say) -> Iterator[Item]:
    low, high = invert_m, invert_m + inlet.inside_diameter_m
    wall, end = inlet.wall_m, _centers(well)[0] - well.body_diameter_m / 2
    outer = rectangle(-half - _SIDE_M, low - wall, end, high + wall)
    yield Polygon(outer, "pipe", "sheet", part=inlet.id, edge=False)
    yield Polygon(rectangle(-half - _SIDE_M, low, end, high), "water", "water", part=inlet.id, edge=False)
    for z in (low, high):
        yield Polyline(((-half - _SIDE_M, z), (end, z)), "pipe", part=inlet.id)
    at = (-half - 0.55 * _SIDE_M, low)
    yield Label(
        f"{inlet.id}  {say.size(inlet.nominal_m)}", at, strong=True, side="under", rank=2, part=inlet.id
    )


def _riser(well: Well, overflow: Overflow, lip: float, ground: float, say: Say) -> Iterator[Item]:
    head = well.bottom_m + well.stone_below_m + well.body_height_m
    half = max(overflow.diameter_m / 2, 0.05)
    x = _centers(well)[0]
    if lip > head:
        yield Polygon(rectangle(x - half, head, x + half, lip), "wall", "water", part=overflow.id, edge=False)
        for side in (-half, half):
            yield Polyline(((x + side, head), (x + side, lip)), "wall", part=overflow.id)
    yield WaterSurface((x - half, lip), (x + half, lip), overflow.id)
    yield Polyline(
        ((x - half - 0.02, lip + 0.012), (x + half + 0.02, lip + 0.012)), "wall", "given", overflow.id
    )
    words = f"{overflow.id} {overflow.kind}, {say.length(overflow.diameter_m)}"
    yield Label(words, (x, max(lip, ground)), strong=True, side="over", rank=1, part=overflow.id)


def _sizes(well: Well, half: float, say: Say, ground: float | None) -> Iterator[Item]:
    foot = well.bottom_m + well.stone_below_m
    head = foot + well.body_height_m
    yield Dimension(
        (-half, well.bottom_m - 0.06), (half, well.bottom_m - 0.06), say.length(well.pit_length_m), well.id
    )
    x = half + 0.16
    steps = [(well.bottom_m, foot), (foot, head), (head, well.stone_top_m)]
    for low, high in steps:
        if high - low > 0.02:
            yield Dimension((x, low), (x, high), say.length(high - low), well.id)
    if ground is not None and ground > well.bottom_m:
        yield Dimension(
            (-half - 0.16, well.bottom_m),
            (-half - 0.16, ground),
            f"dig {say.length(ground - well.bottom_m)}",
            well.id,
        )


def _elevations(
    well: Well, scheme: Scheme, overflow: Overflow | None, half: float, say: Say
) -> Iterator[Item]:
    into = scheme.runs_to(well.id)
    pipes = [
        ("pipe in" if len(into) == 1 else f"{run.id} in", end_invert_m(scheme, run, "downstream"))
        for run in into
    ]
    marks = [
        ("ground", well.ground_m),
        ("lip", overflow.lip_m if overflow is not None else well.lip_m),
        ("top of stone", well.stone_top_m),
        *pipes,
        ("foot of body", well.bottom_m + well.stone_below_m),
        ("bottom", well.bottom_m),
    ]
    known_marks = tuple((f"{words} {say.level(level)}", level) for words, level in marks if known(level))
    yield LevelMarks(half + _SIDE_M, known_marks, well.id)


def basin_section(design: Design, basin: Basin, scheme: Scheme) -> Drawing:
    """Return the section of a catch basin along the water's way."""
    say = Say(design.survey.style)
    title = f"{basin.id}: catch basin"
    if not known(basin.outlet_invert_m, basin.width_m):
        words = f"{basin.id}: its levels are not known yet, so it is not drawn"
        return Drawing(
            f"basin-{basin.id}", title, (Label(words, (0.0, 0.0), side="on"),), (-1.0, -0.2, 1.0, 0.2)
        )
    half, side = basin.width_m / 2, 0.55
    floor = basin.floor_m if known(basin.floor_m) else basin.outlet_invert_m - 0.3
    inlet, outlet = next(iter(scheme.runs_to(basin.id)), None), scheme.run_from(basin.id)
    pipe = max((run.inside_diameter_m for run in (inlet, outlet) if run is not None), default=0.1)
    grate = basin.grate_m if known(basin.grate_m) else basin.outlet_invert_m + pipe + 0.3
    state: Origin = "designed" if known(basin.grate_m, basin.floor_m) else "missing"
    box = rectangle(-half, floor, half, grate)
    items: list[Item] = [
        Polygon(box, "wall", "sheet", part=basin.id, edge=False),
    ]
    left = basin.outlet_invert_m if basin.weep_holes == 0 else -math.inf
    if left > floor:
        water = rectangle(-half, floor, half, left)
        items.append(Polygon(water, "water left", "water left", part=basin.id, edge=False))
    for run, end, sign in ((inlet, ENDS[1], -1.0), (outlet, ENDS[0], 1.0)):
        invert = math.nan if run is None else end_invert_m(scheme, run, end)
        if run is None or not known(invert):
            continue
        a, b = sorted((sign * half, sign * (half + side)))
        items.append(
            Polygon(rectangle(a, invert, b, invert + run.inside_diameter_m), "pipe", "sheet", edge=False)
        )
        wet = min(left, invert + run.inside_diameter_m)
        if wet > invert:
            box = rectangle(a, invert, b, wet)
            items.append(Polygon(box, "water left", "water left", part=run.id, edge=False))
        for z in (invert, invert + run.inside_diameter_m):
            items.append(Polyline(((a, z), (b, z)), "pipe", part=run.id))
        items.append(
            Label(
                f"{run.id}  {say.size(run.nominal_m)}",
                (sign * (half + 0.6 * side), invert + run.inside_diameter_m),
                strong=True,
                side="over",
                rank=2,
                part=run.id,
            )
        )
        words = f"{'in' if sign < 0 else 'out'} {say.level(invert)}"
        items.append(
            Label(words, (sign * (half + 0.6 * side), invert), "small", side="under", rank=3, part=run.id)
        )
    walls = ((-half, grate), (-half, floor), (half, floor), (half, grate))
    items.append(Polyline(walls, "wall", state, basin.id))
    if left > floor:
        items.append(WaterSurface((-half, left), (half, left), basin.id))
    items += _basin_guards(basin, outlet, half, pipe)
    items.append(
        Polygon(rectangle(-half - 0.03, grate - 0.02, half + 0.03, grate), "wall", "black", part=basin.id)
    )
    ground = basin.ground_m if known(basin.ground_m) else grate
    line = "ground" if known(basin.ground_m) and design.survey.ground_known else "ground guessed"
    for a, b in ((-half - side, -half), (half, half + side)):
        items.append(Polyline(((a, ground), (b, ground)), "ground" if line == "ground" else "ground guessed"))
        if line == "ground":
            items.append(Hatch(((a, ground), (b, ground)), "earth"))
    items.append(
        Label(f"grate {say.level(basin.grate_m)}", (0.0, grate), "small", side="over", rank=2, part=basin.id)
    )
    items.append(
        Label(
            f"floor {say.level(basin.floor_m)}", (half, floor), "small", side="right", rank=3, part=basin.id
        )
    )
    items.append(Dimension((-half, floor - 0.05), (half, floor - 0.05), say.length(basin.width_m), basin.id))
    if known(basin.floor_m, basin.grate_m):
        x, deep = half + side + 0.07, f"deep {say.length(basin.grate_m - basin.floor_m)}"
        items.append(Dimension((x, floor), (x, grate), deep, basin.id))
    if basin.outlet_invert_m > floor:
        sump = f"sump {say.length(basin.outlet_invert_m - basin.floor_m)}"
        items.append(Dimension((-half - 0.12, floor), (-half - 0.12, basin.outlet_invert_m), sump, basin.id))
    kind = "inside diameter" if basin.shape == "round" else "inside width"
    has = [word for word, on in (("hood over the outlet", basin.hood), ("screen", basin.screen)) if on]
    weep = (
        f"{basin.weep_holes} weep holes" if basin.weep_holes else "no weep holes: water stands to the outlet"
    )
    notes = (
        f"{kind.capitalize()} {say.length(basin.width_m)}; {', '.join([*has, weep])}."
        f" Elevations in {say.level_unit}.",
    )
    return Drawing(
        name=f"basin-{basin.id}",
        title=title,
        items=tuple(items),
        bounds=(-half - side, floor - 0.06, half + side + 0.1, max(grate, ground) + 0.04),
        says=f"Section through basin {basin.id}: pipe in, pipe out, sump, standing water, grate.",
        notes=notes,
        key=(KeyMark("water left standing in dry weather", "water left", "water left"),)
        if left > floor
        else (),
    )


def _basin_guards(basin: Basin, outlet: Run | None, half: float, pipe: float) -> Iterator[Item]:
    if outlet is None:
        return
    low, high = basin.outlet_invert_m, basin.outlet_invert_m + outlet.inside_diameter_m
    if basin.hood:
        x = half - max(0.7 * pipe, 0.06)
        hood = ((half, high + 0.02), (x, high + 0.02), (x, low - 0.7 * pipe), (half, low - 0.7 * pipe))
        yield Polyline(hood[:3], "ink", part=basin.id)
    if basin.screen:
        yield Polyline(((half - 0.03, low), (half - 0.03, high)), "geotextile", part=basin.id)
