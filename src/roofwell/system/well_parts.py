"""Wells: their levels, once the pipes have theirs."""

from __future__ import annotations

import math

from roofwell import tables, units
from roofwell.job import model
from roofwell.physics.well.shapes import stacked
from roofwell.system import stone_and_fabric, well_shapes
from roofwell.system.choice import Choice
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import StoneTop, Well
from roofwell.system.soakage_choice import usual_credit, with_soakage


def body_top_m(job_well: model.Well, ground_m: float, survey: Survey) -> float:
    """Return the highest level of a body's top, or of stone alone, under soil and stone."""
    above = job_well.stone_above or None
    stone = above.value_si if above is not None else tables.assumption("stone-above", survey.style).value_si
    soil = (
        0.0 if well_shapes.surfaced(job_well) else tables.assumption("soil-over-stone", survey.style).value_si
    )
    return ground_m - soil - (0.0 if well_shapes.kind_of(job_well) == "none" else stone)


def well(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    id: str,
    choice: Choice,
    *,
    ground_m: float,
    inlet_m: float | None,
    inside_m: float,
    full_m: float,
    riser_m: float,
    ledger: Ledger,
) -> Well:
    """Return one well, its levels following from the pipe that reaches it and the ground over it."""
    given = job.wells.get(id, model.Well())
    chosen = choice.wells[id]

    size = well_shapes.sizes(given, chosen, survey, id, ledger)
    bodies, below = size.bodies, size.below_m
    alone = bodies.kind == "none"
    height = below if alone else bodies.height_m  # what the pipe comes in over
    under = 0.0 if alone else below
    highest = body_top_m(given, ground_m, survey)
    if given.bottom is not None:
        bottom = ledger.given(f"{id}.bottom_m", given.bottom.value_si)
    else:
        body_top = highest
        if inlet_m is not None:
            body_top = min(highest, inlet_m - inside_m + height)
        body_top = max(body_top, inlet_m + inside_m) if inlet_m is not None else body_top
        bottom = units.on_elevation_grid(body_top - height - under, survey.style, toward="down")
        if inlet_m is not None and bottom + under + height < inlet_m + inside_m - 1e-9:
            bottom = units.on_elevation_grid(body_top - height - under, survey.style, toward="up")
        ledger.designed(f"{id}.bottom_m", bottom)
    above, top = size.above_m, bottom + under + height + size.above_m
    if size.reaches != "buried":  # the stone ends where its water stands when it is full
        above, top = max(0.0, full_m - (bottom + under + height)), max(full_m, bottom + under + height)
        if alone:
            below += above
            above = 0.0
            ledger.designed(f"{id}.stone_below_m", below)
        else:
            ledger.designed(f"{id}.stone_above_m", above)
    layers = stacked(
        bodies,
        pit_area_m2=size.area_m2,
        pit_perimeter_m=size.perimeter_m,
        stone_below_m=below,
        stone_above_m=above,
        voids=size.voids,
        full_depth_m=full_m - bottom,
        riser_diameter_m=riser_m,
    )
    ledger.origin[f"{id}.stone"] = "given" if given.stone else "designed"
    ledger.origin[f"{id}.geotextile"] = "given" if given.geotextile is not None else "designed"
    ledger.origin[f"{id}.direction_rad"] = "given" if given.direction is not None else "designed"
    faces = given.geotextile if given.geotextile is not None else _faces(size.reaches)
    loose = 0.0
    if size.reaches != "buried":
        loose = stone_and_fabric.top_stone_m(given, below if alone else above, id, ledger)
    cloth = None
    if faces or loose > 0:
        soil = stone_and_fabric.soil_beside(job, ground_m=ground_m, top_m=top, bottom_m=bottom)
        cloth = stone_and_fabric.fabric(given, soil, survey, id, ledger)
    slot_m = given.slot_width.value_si if given.slot_width is not None else 0.0
    stone = given.stone or stone_and_fabric.chosen_stone(survey, 0.0 if slot_m else size.hole_m, slot_m)
    well = Well(
        id=id,
        at=layout.places[id],
        ground_m=ground_m,
        bodies=bodies.count,
        body_diameter_m=bodies.width_m,
        body_height_m=bodies.height_m,
        body_spacing_m=size.spacing_m,
        hole_diameter_m=size.hole_m,
        direction_rad=layout.directions[id],
        pit_shape=size.pit.shape,
        pit_length_m=size.pit.length_m,
        pit_width_m=size.pit.width_m,
        bottom_m=bottom,
        stone_below_m=below,
        stone_above_m=above,
        stone_top_m=top,
        inlet_invert_m=inlet_m if inlet_m is not None else math.nan,
        lip_m=full_m,
        stone=stone,
        voids=size.voids,
        geotextile=faces,
        soakage=usual_credit(survey),
        layers=layers,
        body_wall_m=bodies.wall_m,
        body=bodies.kind,
        body_length_m=bodies.length_m,
        body_voids=bodies.own_voids,
        arch=bodies.curve,
        end_caps=size.end_caps,
        piece_length_m=size.piece_m,
        hole_area_m2=size.hole_area_m2,
        observation_pipe=given.observation_pipe is not False,
        stone_reaches=size.reaches,
        stone_shape=stone_and_fabric.shape_of(given),
        slot_width_m=slot_m,
        fabric=cloth,
        top_stone_m=loose,
    )
    return with_soakage(given, survey, well, ledger)


def _faces(reaches: StoneTop) -> tuple[str, ...]:
    """Faces of the pit that are lined where nobody says; over stone at the lawn no cloth lies."""
    return ("sides", "top") if reaches == "buried" else ("sides",)
