"""Wells and basins: their levels, once the pipes have theirs."""

from __future__ import annotations

import math
from typing import Literal

import shapely

from roofwell import tables, units
from roofwell.job import model
from roofwell.job.rules import ASK
from roofwell.physics.well import overflow as grate
from roofwell.physics.well.soakage import CREDITS, Credit
from roofwell.physics.well.storage import Layer
from roofwell.system.choice import Choice, WellChoice
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.place import xy
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import Basin, Overflow, SoakageModel, Well
from roofwell.system.soakage_models import why_not
from roofwell.system.soil_layers import stands_in_unmeasured
from roofwell.system.trench_parts import default_part
from roofwell.units import Quantity

STORES = ("body_diameter", "body_height", "pit_diameter", "pit_width", "pit_length")


def pit_width_m(job_well: model.Well, choice: WellChoice) -> float:
    """Return the width of a well's pit, m."""
    if job_well.pit_width is not None:
        return job_well.pit_width.value_si
    if job_well.pit_diameter is not None:
        return job_well.pit_diameter.value_si
    return choice.body.diameter_m + 2 * choice.stone_around_m


def body_top_m(job_well: model.Well, ground_m: float, survey: Survey) -> float:
    """Return the highest level at which a body's top may stand, under soil and stone."""
    above = job_well.stone_above or None
    stone = above.value_si if above is not None else tables.assumption("stone-above", survey.style).value_si
    return ground_m - tables.assumption("soil-over-stone", survey.style).value_si - stone


def lip_m(job: model.Job, survey: Survey, well: str, ground_m: float, ledger: Ledger) -> float:
    """Return the level at which a well is full: the lip of its overflow."""
    given = overflow_of(job, well)
    if given is not None and given[1].lip is not None:
        return ledger.given(f"{given[0]}.lip_m", given[1].lip.value_si)
    parts = job.wells.get(well, model.Well()), given[1] if given else model.Overflow()
    existing = any(part.state == "existing" for part in parts)
    ledger.origin[f"{given[0] if given else 'overflow of ' + well}.lip_m"] = (
        "missing" if existing else "designed"
    )
    if existing:
        ledger.lack("overflow.lip")
    return units.on_elevation_grid(ground_m, survey.style)


def overflow_of(job: model.Job, well: str) -> tuple[str, model.Overflow] | None:
    """Return the overflow that the job gives to a well."""
    return next(((id, o) for id, o in job.overflows.items() if o.of == well and o.state != "abandoned"), None)


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

    def pick(name: str, quantity: Quantity | None, designed: float, field: str | None = None) -> float:
        path = f"{id}.{field or name + '_m'}"
        if quantity is None and given.state == "existing" and name in STORES:
            ledger.lack("wells.size")
            ledger.origin[path] = "missing"
            return designed
        return (
            ledger.given(path, quantity.value_si) if quantity is not None else ledger.designed(path, designed)
        )

    diameter = pick("body_diameter", given.body_diameter, chosen.body.diameter_m)
    height = pick("body_height", given.body_height, chosen.body.height_m)
    if given.body_wall is not None:
        wall = ledger.given(f"{id}.body_wall_m", given.body_wall.value_si)
    else:
        wall = 0.0 if given.body_diameter is not None else chosen.body.wall_m
    wall = min(wall, 0.49 * diameter)
    hole = pick("hole_diameter", given.hole_diameter, chosen.body.hole_diameter_m)
    bodies = given.bodies or chosen.bodies
    ledger.origin[f"{id}.bodies"] = "given" if given.bodies else "designed"
    below = ledger.value(given.stone_below, f"{id}.stone_below_m", "stone-below")
    above = ledger.value(given.stone_above, f"{id}.stone_above_m", "stone-above")
    voids = ledger.value(given.voids, f"{id}.voids", "voids")
    spacing = pick(
        "body_spacing",
        given.body_spacing,
        diameter + tables.assumption("body-spacing-clear", survey.style).value_si,
    )
    shape = given.pit_shape or (
        "round" if bodies == 1 and given.pit_length is None and given.pit_width is None else "rectangular"
    )
    ledger.origin[f"{id}.pit_shape"] = "given" if given.pit_shape else "designed"
    if shape == "round":
        around = pick("pit_diameter", given.pit_diameter, diameter + 2 * chosen.stone_around_m, "pit_width_m")
        length = width = around
    else:
        width = pick("pit_width", given.pit_width, diameter + 2 * chosen.stone_around_m)
        length = pick(
            "pit_length", given.pit_length, (bodies - 1) * spacing + diameter + 2 * chosen.stone_around_m
        )
    highest = body_top_m(given, ground_m, survey)
    if given.bottom is not None:
        bottom = ledger.given(f"{id}.bottom_m", given.bottom.value_si)
    else:
        body_top = highest
        if inlet_m is not None:
            body_top = min(highest, inlet_m - inside_m + height)
        body_top = max(body_top, inlet_m + inside_m) if inlet_m is not None else body_top
        bottom = units.on_elevation_grid(body_top - height - below, survey.style, toward="down")
        if inlet_m is not None and bottom + below + height < inlet_m + inside_m - 1e-9:
            bottom = units.on_elevation_grid(body_top - height - below, survey.style, toward="up")
        ledger.designed(f"{id}.bottom_m", bottom)
    top = bottom + below + height + above
    layers = _layers(
        round_pit=shape == "round",
        length=length,
        width=width,
        below=below,
        height=height,
        above=above,
        bodies=bodies,
        diameter=diameter,
        wall=wall,
        voids=voids,
        full=full_m - bottom,
        riser=riser_m,
    )
    rules_credit = survey.rules.well.soakage if survey.rules is not None else None
    if rules_credit == ASK:
        rules_credit = None
    credit: SoakageModel = given.soakage or rules_credit or _usual_credit(survey)
    if stands_in_unmeasured(
        survey.soil, credit, pit_depth_m=ground_m - bottom, stone_top_depth_m=ground_m - min(top, full_m)
    ):
        ledger.lack("soil.rate")
    ledger.origin[f"{id}.soakage"] = "given" if given.soakage or rules_credit else "assumed"
    ledger.origin[f"{id}.stone"] = "given" if given.stone else "designed"
    ledger.origin[f"{id}.geotextile"] = "given" if given.geotextile is not None else "designed"
    ledger.origin[f"{id}.direction_rad"] = "given" if given.direction is not None else "designed"
    well = Well(
        id=id,
        at=layout.places[id],
        ground_m=ground_m,
        bodies=bodies,
        body_diameter_m=diameter,
        body_height_m=height,
        body_spacing_m=spacing,
        hole_diameter_m=hole,
        direction_rad=layout.directions[id],
        pit_shape=shape,
        pit_length_m=length,
        pit_width_m=width,
        bottom_m=bottom,
        stone_below_m=below,
        stone_above_m=above,
        stone_top_m=top,
        inlet_invert_m=inlet_m if inlet_m is not None else math.nan,
        lip_m=full_m,
        stone=given.stone or _stone(survey, hole),
        voids=voids,
        geotextile=given.geotextile if given.geotextile is not None else ("sides", "top"),
        soakage=credit,
        layers=layers,
        body_wall_m=wall,
    )
    if why_not(survey.soil, well, credit):
        ledger.lack("wells.soakage")
    return well


def _usual_credit(survey: Survey) -> Credit:
    named = default_part("soakage", survey)
    return next(credit for credit in CREDITS if credit == named)


def _stone(survey: Survey, hole_m: float) -> str:
    """Return the usual stone, or the next coarser one that does not fall through the holes of the body."""
    usual = default_part("stone", survey)
    least = tables.limit("perforation-ratio").value_si * hole_m
    rows = sorted(tables.rows("stone_gradation"), key=lambda row: float(row["d85_mm"]))
    keys = [row["key"] for row in rows]
    coarse = {row["key"] for row in rows if float(row["d85_mm"]) / 1000 >= least}
    start = keys.index(usual)
    return next((key for key in keys[start:] if key in coarse), usual)


def _layers(
    *,
    round_pit: bool,
    length: float,
    width: float,
    below: float,
    height: float,
    above: float,
    bodies: int,
    diameter: float,
    wall: float,
    voids: float,
    full: float,
    riser: float,
) -> tuple[Layer, ...]:
    """Stack the pit from its bottom to the lip; over the stone only the riser holds water."""
    area = math.pi * width**2 / 4 if round_pit else length * width
    perimeter = math.pi * width if round_pit else 2 * (length + width)
    body = min(bodies * math.pi * diameter**2 / 4, area)
    hollow = body * (1 - 2 * wall / diameter) ** 2
    # the wall itself holds no water: the stone's voids, spread over everything outside the hollow
    beside = voids * (area - body) / (area - hollow) if area > hollow else 0.0
    riser_area = math.pi * riser**2 / 4
    parts = [
        (below, area, perimeter, 0.0, voids),
        (height, area, perimeter, hollow, beside),
        (above, area, perimeter, 0.0, voids),
        (math.inf, riser_area, math.pi * riser, riser_area, 1.0),
    ]
    out, at = [], 0.0
    full = max(full, 0.05)
    for thickness, plan, round_it, body_area, open_share in parts:
        top = min(at + thickness, full)
        if top - at > 1e-9:
            out.append(Layer(at, top, plan, round_it, body_area, open_share))
            at = top
    return tuple(out)


def _overflow_size(
    given: model.Overflow, survey: Survey, id: str, peak_m3_s: float, open_share: float, ledger: Ledger
) -> float:
    """Smallest grate that passes the cloudburst, half blocked, under the head of the limits."""
    path = f"{id}.diameter_m"
    if given.diameter is not None:
        return ledger.given(path, given.diameter.value_si)
    sizes = [
        length_of(row["diameter"]) for row in tables.rows("overflow_sizes") if row["units"] == survey.style
    ]
    head = tables.limit("overflow-head", survey.style).value_si
    blocked = tables.assumption("overflow-clogged").value_si
    fit = (size for size in sizes if grate_flow_m3_s(size, open_share, head, blocked) >= peak_m3_s)
    return ledger.designed(path, next(fit, sizes[-1]))


def grate_flow_m3_s(diameter_m: float, open_share: float, head_m: float, blocked: float) -> float:
    """Return what an overflow grate passes under a head, m³/s."""
    return grate.grate_capacity_m3_s(
        head_m=head_m,
        perimeter_m=math.pi * diameter_m,
        open_area_m2=math.pi * diameter_m**2 / 4 * open_share,
        weir_coefficient_si=tables.assumption("overflow-weir-coefficient").value_si,
        orifice_coefficient=tables.assumption("overflow-orifice-coefficient").value_si,
        clogged_fraction=blocked,
    )


def overflow(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    well_id: str,
    *,
    full_m: float,
    free_id: str,
    peak_m3_s: float,
    ledger: Ledger,
) -> Overflow:
    """Return the overflow of a well, given or designed as a grate over it."""
    found = overflow_of(job, well_id)
    id, given = found if found else (free_id, model.Overflow())
    ledger.origin[f"{id}.lip_m"] = ledger.origin[f"{id if found else 'overflow of ' + well_id}.lip_m"]
    ledger.origin[f"{id}.kind"] = "given" if given.kind is not None else "designed"
    at = xy(given.at) if given.at is not None else layout.places[well_id]
    ledger.origin[f"{id}.at"] = "given" if given.at is not None else "designed"
    if given.to is None and given.destination is None:
        ledger.lack("overflow.destination")
    lines = [
        shapely.LineString((*f.points, f.points[0]) if f.shape == "outline" else f.points)
        for f in survey.of_kind("lot line")
        if len(f.points) > 1
    ]
    distance = min((line.distance(shapely.Point(at)) for line in lines), default=None)
    share = ledger.value(given.open_share, f"{id}.open_share", "overflow-open-share")
    return Overflow(
        id=id,
        of=well_id,
        kind=given.kind or "grate",
        at=at,
        lip_m=full_m,
        diameter_m=_overflow_size(given, survey, id, peak_m3_s, share, ledger),
        open_share=share,
        to=given.to,
        destination=given.destination,
        distance_to_lot_line_m=distance,
    )


def basin(
    job: model.Job,
    survey: Survey,
    layout: Layout,
    id: str,
    *,
    ground_m: float,
    inlet_m: float,
    outlet_m: float,
    outlet_nominal_m: float,
    full_m: float | None,
    ledger: Ledger,
) -> Basin:
    """Return one basin; its floor, grate and width follow from its pipes where they are left out."""
    given = job.basins.get(id, model.Basin())
    width, shape = _basin_size(given, survey, outlet_nominal_m, id, ledger)
    if given.floor is not None:
        floor = ledger.given(f"{id}.floor_m", given.floor.value_si)
    elif given.outlet_height is not None:
        floor = ledger.given(f"{id}.floor_m", outlet_m - given.outlet_height.value_si)
    else:
        sump = max(
            tables.assumption("basin-sump", survey.style).value_si,
            tables.limit("sump-diameters").value_si * outlet_nominal_m,
        )
        floor = ledger.designed(
            f"{id}.floor_m", units.on_elevation_grid(outlet_m - sump, survey.style, toward="down")
        )
    if given.grate is not None:
        grate = ledger.given(f"{id}.grate_m", given.grate.value_si)
    else:
        over = tables.assumption("basin-grate-over-lip", survey.style).value_si
        lowest = ground_m if full_m is None else max(ground_m, full_m + over)
        grate = ledger.designed(f"{id}.grate_m", units.on_elevation_grid(lowest, survey.style, toward="up"))
    hole = given.weep_hole_diameter
    return Basin(
        id=id,
        at=layout.places[id],
        ground_m=ground_m,
        shape=shape,
        width_m=width,
        plan_area_m2=math.pi * width**2 / 4 if shape == "round" else width**2,
        floor_m=floor,
        grate_m=grate,
        inlet_invert_m=inlet_m,
        outlet_invert_m=outlet_m,
        hood=given.hood if given.hood is not None else id not in job.basins,
        screen=bool(given.screen),
        weep_holes=given.weep_holes or 0,
        weep_hole_diameter_m=hole.value_si if hole is not None else 0.0,
        weight_kg=ledger.value(given.weight, f"{id}.weight_kg", "basin-weight"),
    )


def _basin_size(
    given: model.Basin, survey: Survey, outlet_m: float, id: str, ledger: Ledger
) -> tuple[float, Literal["round", "square"]]:
    path = f"{id}.width_m"
    if given.diameter is not None:
        return ledger.given(path, given.diameter.value_si), "round"
    if given.width is not None:
        return ledger.given(path, given.width.value_si), given.shape or "square"
    rows = [
        row
        for row in tables.rows("basin_sizes")
        if row["units"] == survey.style and given.shape in (None, row["shape"])
    ]
    rows.sort(key=lambda row: (length_of(row["width"]), row["shape"] != "round"))
    least = tables.assumption("basin-width-us" if survey.style == "us" else "basin-width-metric").value_si
    fit = [
        row
        for row in rows
        if length_of(row["outlet_most"]) >= outlet_m - 1e-9 and length_of(row["width"]) >= least - 1e-9
    ]
    row = (fit or rows)[0 if fit else -1]
    return ledger.designed(path, length_of(row["width"])), "round" if row["shape"] == "round" else "square"
