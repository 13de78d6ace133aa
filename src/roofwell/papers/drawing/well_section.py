"""A dry well and a catch basin cut open, to scale, with their sizes and levels."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell import tables
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
from roofwell.papers.drawing.well_body import (
    centers_across,
    cut_bodies,
    foot_m,
    half_section_m,
    has_riser,
    head_m,
)
from roofwell.papers.fill_words import fill_of, fill_words
from roofwell.papers.texts import Say, stone_words
from roofwell.physics.well.shapes import BodyKind
from roofwell.system.lids import ObservationPipe, observation_pipes
from roofwell.system.origin import Origin
from roofwell.system.pipe_ends import end_invert_m, lowest_inlet
from roofwell.system.scheme import Overflow, Run, Scheme, Well
from roofwell.system.soakage_models import by_conductivity
from roofwell.system.well_words import cloth_faces, well_words
from roofwell.tables.fabrics import opening_words

_SIDE_M = 0.6
_SHORT: dict[BodyKind, str] = {
    "cylinder": "body",
    "perforated pipe": "pipe",
    "arch chamber": "chamber",
    "box chamber": "chamber",
    "none": "stone",
}


def well_section(design: Design, well: Well, scheme: Scheme) -> Drawing:
    """Return the section of a well along its pit; a drawing that says so where its levels are not known.

    A well of ``design.scheme_large`` is marked as the other end of the range.
    """
    say = Say(design.survey.style)
    largest = scheme is design.scheme_large
    title = f"{well.id}: well in its stone surround"
    if design.scheme_large is not None:
        title += ", at its largest" if largest else ", at its smallest"
    half = half_section_m(well)
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
    state: Origin = scheme.origin.get(f"{well.id}.body_diameter_m", "designed")
    items += cut_bodies(well, lip, state)
    items += _across(well, say)
    pipe_in = lowest_inlet(scheme, well.id)
    if pipe_in is not None:
        inlet = next(run for run in scheme.runs if run.id == pipe_in.run)
        pipe = _pipe_in if well.body == "cylinder" else _pipe_end_on
        items += pipe(well, inlet, pipe_in.invert_m, half, say)
    seen = next((one for one in observation_pipes(design.job, scheme) if one.well == well.id), None)
    if seen is not None and seen.there:
        items += _observation(seen, well, half, ground, say)
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
        f"{_lies(well, say)}{pit}. Stone: {stone_words(well.stone)}; voids {say.percent(well.voids)} ({voids}). "
        f"{_cloth_words(well, say)} {soaks}.",
        f"Elevations in {say.level_unit}. {_pipe_words(well)} Drawn full to the lip.{deeper}",
    )
    target = fill_of(design, well)
    if target is not None:
        notes += (fill_words(target, say),)
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


def _cloth_words(well: Well, say: Say) -> str:
    """Where the cloth lies, by its properties, and the loose stone over a sheet of it."""
    if well.fabric is None:
        return "Geotextile: none."
    where = cloth_faces(well)
    if well.top_stone_m > 0:
        where += f"; the {say.length(well.top_stone_m)} of loose stone over the sheet are renewed when they silt up"
    cloth = well.fabric
    return (
        f"Geotextile (dashed): {where}; class {cloth.strength_class}, opening at most "
        f"{opening_words(cloth.opening_m, say.style)}, permittivity at least {cloth.permittivity_per_s:.3g} per s."
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
    if well.top_stone_m > 0:
        z = well.stone_top_m - well.top_stone_m
        yield Polyline(((-half + inset, z), (half - inset, z)), "geotextile", part=well.id)
    if sides["bottom"]:
        z = well.bottom_m + inset
        yield Polyline(((-half + inset, z), (half - inset, z)), "geotextile", part=well.id)


def _observation(pipe: ObservationPipe, well: Well, half: float, ground: float, say: Say) -> Iterator[Item]:
    """The observation pipe in the stone beside what lies in it, from the pit's bottom to a locked cap at the ground."""
    wide = tables.assumption("observation-pipe", say.style).value_si
    last = max((x + 0.5 * well.body_diameter_m for x in centers_across(well)), default=0.0)
    x = 0.5 * (last + half)
    radius = min(0.5 * wide, 0.4 * (half - last)) if half > last else 0.5 * wide
    yield Polygon(
        rectangle(x - radius, well.bottom_m, x + radius, ground), "fine", "sheet", part=well.id, edge=False
    )
    for side in (-radius, radius):
        yield Polyline(((x + side, well.bottom_m), (x + side, ground)), "ink", part=well.id)
    yield Polyline(((x - 1.4 * radius, ground), (x + 1.4 * radius, ground)), "wall", part=well.id)
    words = "observation pipe, cap locked" if pipe.locked else "observation pipe"
    yield Label(words, (x, ground), "small", side="over right", rank=2, part=well.id)


def _across(well: Well, say: Say) -> Iterator[Item]:
    half = well.body_diameter_m / 2
    up = 0.22 if well.body == "cylinder" else 0.5 * well.body_height_m
    for x in centers_across(well):
        z = foot_m(well) + up
        yield Dimension((x - half, z), (x + half, z), say.length(2 * half), well.id)


def _lies(well: Well, say: Say) -> str:
    """What lies in the stone, in words, where the section does not show its length."""
    return "" if well.body == "cylinder" else f"Cut across: {well_words(well, say.style)}. "


def _pipe_words(well: Well) -> str:
    if well.body == "cylinder":
        return "The pipe is turned into the section."
    return "The pipe in is seen from its end."


def _pipe_end_on(well: Well, inlet: Run, invert_m: float, half: float, say: Say) -> Iterator[Item]:
    """A pipe that comes in along the trench, as a circle."""
    x = next(iter(centers_across(well)), 0.0)
    middle = (x, invert_m + inlet.inside_diameter_m / 2)
    yield Circle(middle, inlet.outside_diameter_m / 2, "pipe", part=inlet.id)
    words = f"{inlet.id}  {say.size(inlet.nominal_m)}"
    yield Label(
        words, (x - inlet.outside_diameter_m / 2, middle[1]), strong=True, side="left", rank=2, part=inlet.id
    )


def _pipe_in(well: Well, inlet: Run, invert_m: float, half: float, say: Say) -> Iterator[Item]:
    low, high = invert_m, invert_m + inlet.inside_diameter_m
    wall, end = inlet.wall_m, centers_across(well)[0] - well.body_diameter_m / 2
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
    head, x = head_m(well), next(iter(centers_across(well)), 0.0)
    half = max(overflow.diameter_m / 2, 0.05)
    if not has_riser(well, overflow):
        half, x = half_section_m(well), 0.0
    elif lip > head:
        yield Polygon(rectangle(x - half, head, x + half, lip), "wall", "water", part=overflow.id, edge=False)
        for side in (-half, half):
            yield Polyline(((x + side, head), (x + side, lip)), "wall", part=overflow.id)
    yield WaterSurface((x - half, lip), (x + half, lip), overflow.id)
    yield Polyline(
        ((x - half - 0.02, lip + 0.012), (x + half + 0.02, lip + 0.012)), "wall", "given", overflow.id
    )
    size = "" if overflow.kind == "stone surface" else f", {say.length(overflow.diameter_m)}"
    words = f"{overflow.id} {overflow.called}{size}"
    yield Label(words, (x, max(lip, ground)), strong=True, side="over", rank=1, part=overflow.id)


def _sizes(well: Well, half: float, say: Say, ground: float | None) -> Iterator[Item]:
    foot, head = foot_m(well), head_m(well)
    yield Dimension(
        (-half, well.bottom_m - 0.06), (half, well.bottom_m - 0.06), say.length(2 * half), well.id
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
        *([] if well.body == "none" else [(f"foot of {_SHORT[well.body]}", foot_m(well))]),
        ("bottom", well.bottom_m),
    ]
    known_marks = tuple((f"{words} {say.level(level)}", level) for words, level in marks if known(level))
    yield LevelMarks(half + _SIDE_M, known_marks, well.id)
