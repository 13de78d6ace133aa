"""Basins: their levels and sizes, once the pipes have theirs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypedDict

import shapely

from roofwell import tables, units
from roofwell.job import model
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.place import xys
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import Basin


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
    size = _basin_size(given, survey, outlet_nominal_m, id, ledger)
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
    bed = _pea_stone(given, id, ledger)
    hood = given.hood if given.hood is not None else id not in job.basins
    depth = 0.0
    if hood:
        depth = ledger.value(given.hood_depth, f"{id}.hood_depth_m", "hood-depth")
    return Basin(
        id=id,
        at=layout.places[id],
        ground_m=ground_m,
        shape=size.shape,
        width_m=size.width_m,
        plan_area_m2=size.plan_area_m2,
        floor_m=floor,
        grate_m=grate,
        inlet_invert_m=inlet_m,
        outlet_invert_m=outlet_m,
        hood=hood,
        screen=bool(given.screen),
        weep_holes=given.weep_holes or 0,
        weep_hole_diameter_m=(
            ledger.value(given.weep_hole_diameter, f"{id}.weep_hole_diameter_m", "weep-hole")
            if given.weep_holes
            else 0.0
        ),
        weight_kg=ledger.value(given.weight, f"{id}.weight_kg", "basin-weight"),
        length_m=size.length_m,
        outline=size.outline,
        hood_depth_m=depth,
        # a hood that Roofwell puts in has its air hole; one that is there has to be looked at
        hood_air_hole=given.hood_air_hole if given.hood is not None else True,
        emptied_year=given.emptied.value_si if given.emptied is not None else None,
        pea_stone_depth_m=bed[0],
        pea_stone_around_m=bed[1],
        pea_stone_voids=bed[2],
        **_lid(given, survey, id, ledger),
    )


class _Lid(TypedDict):
    lid_held: bool | None
    lid_weight_kg: float | None
    grate_opening_m: float | None
    mosquito_screen: bool | None


def _lid(given: model.Basin, survey: Survey, id: str, ledger: Ledger) -> _Lid:
    """How a basin is closed: a new one gets a lid that is held, fine mesh under it, and openings fit to be walked on."""
    new = given.state != "existing"

    def flag(value: bool | None, name: str) -> bool | None:
        if value is None and new:
            ledger.origin[f"{id}.{name}"] = "designed"
            return True
        if value is not None:
            ledger.origin[f"{id}.{name}"] = "given"
        return value

    weight, opening = given.lid_weight, given.grate_opening
    if opening is not None:
        wide: float | None = ledger.given(f"{id}.grate_opening_m", opening.value_si)
    elif new:
        limit = tables.limit("walk-opening", survey.style).value_si
        wide = ledger.designed(f"{id}.grate_opening_m", limit)
    else:
        wide = None
    heavy = weight is not None and given.lid_held is None
    return {
        "lid_held": given.lid_held if heavy else flag(given.lid_held, "lid_held"),
        "lid_weight_kg": weight.value_si if weight is not None else None,
        "grate_opening_m": wide,
        "mosquito_screen": flag(given.mosquito_screen, "mosquito_screen"),
    }


def _pea_stone(given: model.Basin, id: str, ledger: Ledger) -> tuple[float, float, float]:
    """Depth of the stone under a basin with weep holes, how far it reaches beyond the walls, and its voids.

    Under one that stands already it is never assumed: what is there has to be found out.
    """
    if not given.weep_holes:
        return 0.0, 0.0, 0.0
    voids = ledger.assume(f"{id}.pea_stone_voids", "pea-stone-voids")
    if given.state == "existing" and given.pea_stone_depth is None:
        ledger.lack("basins.pea_stone")
        return 0.0, 0.0, voids
    depth = ledger.value(given.pea_stone_depth, f"{id}.pea_stone_depth_m", "pea-stone-depth")
    if depth <= 0:
        return 0.0, 0.0, voids
    around = ledger.value(given.pea_stone_around, f"{id}.pea_stone_around_m", "pea-stone-around")
    return depth, around, voids


@dataclass(frozen=True, slots=True)
class _Size:
    """Inside of a basin on plan."""

    shape: Literal["round", "square", "rectangular", "outline"]
    width_m: float
    plan_area_m2: float
    length_m: float = 0.0
    outline: tuple[tuple[float, float], ...] = ()


def _basin_size(given: model.Basin, survey: Survey, outlet_m: float, id: str, ledger: Ledger) -> _Size:
    path = f"{id}.width_m"
    if given.outline:
        polygon = shapely.Polygon(xys(given.outline))
        box = list(polygon.minimum_rotated_rectangle.exterior.coords)
        short, long = sorted((math.dist(box[0], box[1]), math.dist(box[1], box[2])))
        ledger.given(path, short)
        return _Size("outline", short, polygon.area, long, xys(given.outline))
    if given.diameter is not None:
        width = ledger.given(path, given.diameter.value_si)
        return _Size("round", width, math.pi * width**2 / 4)
    if given.width is not None:
        width = ledger.given(path, given.width.value_si)
        if given.length is not None:
            return _Size("rectangular", width, width * given.length.value_si, given.length.value_si)
        if given.shape == "round":
            return _Size("round", width, math.pi * width**2 / 4)
        return _Size("square", width, width**2)
    rows = [
        row
        for row in tables.rows("basin_sizes")
        if row["units"] == survey.style and given.shape in (None, row["shape"])
    ] or [row for row in tables.rows("basin_sizes") if row["units"] == survey.style]
    rows.sort(key=lambda row: (length_of(row["width"]), row["shape"] != "round"))
    least = tables.assumption("basin-width-us" if survey.style == "us" else "basin-width-metric").value_si
    fit = [
        row
        for row in rows
        if length_of(row["outlet_most"]) >= outlet_m - 1e-9 and length_of(row["width"]) >= least - 1e-9
    ]
    row = (fit or rows)[0 if fit else -1]
    width = ledger.designed(path, length_of(row["width"]))
    if row["shape"] == "round":
        return _Size("round", width, math.pi * width**2 / 4)
    return _Size("square", width, width**2)
