"""Roof, gutter and downspout: which roof area each downspout drains, and the sizes of both."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import assert_never

from roofwell import tables, units
from roofwell.job import model
from roofwell.physics.rain.frequency import intensity_m_s
from roofwell.physics.roof import downspout as leader
from roofwell.physics.roof import gutter as gutter_physics
from roofwell.physics.roof.gutter_section import GutterSection
from roofwell.physics.roof.outlet import opening, outlet_flow_m3_s
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.scheme import Downspout, Gutter
from roofwell.units import Dimension


@cache
def length_of(text: str) -> float:
    """Return a table's length in m."""
    return units.parse(text, Dimension.LENGTH).value_si


def cloudburst_duration_s(survey: Survey) -> float:
    """Return how long the cloudburst lasts, s: as the settings say, or the shortest of a coarser table."""
    return max(survey.settings["cloudburst_duration"], float(survey.rain.table.duration_s[0]))


def cloudburst_m_s(survey: Survey) -> float:
    """Return the intensity of the cloudburst that gutters and pipes must carry, m/s."""
    return intensity_m_s(
        survey.rain.table,
        duration_s=cloudburst_duration_s(survey),
        return_period_years=survey.targets.storm_years,
    )


def leader_capacity_m3_s(shape: str, width_m: float, breadth_m: float) -> float:
    """Return what a vertical downspout carries as an annulus, m³/s."""
    diameter = (
        width_m if shape == "round" else leader.equivalent_diameter_m(width_m=width_m, breadth_m=breadth_m)
    )
    return leader.annular_capacity_m3_s(
        diameter_m=diameter, fill=tables.assumption("downspout-fill").value_si
    )


def gutter_capacity_m3_s(gutter: Gutter) -> float:
    """Return what the gutter's reach carries level and brimful, with friction where its length is known."""
    match gutter.shape:
        case "half-round":
            section = GutterSection(shape="half-round", top_width_m=gutter.top_width_m)
        case "box":
            section = GutterSection(shape="box", top_width_m=gutter.top_width_m, depth_m=gutter.depth_m)
        case "ogee":
            section = GutterSection(
                shape="ogee",
                top_width_m=gutter.top_width_m,
                bottom_width_m=gutter.bottom_width_m,
                depth_m=gutter.depth_m,
            )
        case _:
            assert_never(gutter.shape)
    if gutter.length_m > 0:
        return gutter_physics.level_capacity_with_friction_m3_s(
            section,
            depth_m=section.depth_m,
            length_m=gutter.length_m,
            manning_n=tables.assumption("manning-n-gutter").value_si,
        )
    return gutter_physics.level_capacity_m3_s(section, depth_m=section.depth_m)


def outlet_capacity_m3_s(gutter: Gutter, shape: str, width_m: float, breadth_m: float) -> float:
    """Return what the hole in the gutter's bottom passes with the gutter brimful, m³/s."""
    sizes = {"diameter_m": width_m} if shape == "round" else {"width_m": width_m, "breadth_m": breadth_m}
    hole = opening(
        wetted_share=tables.assumption("outlet-wetted-share").value_si,
        orifice_coefficient=tables.assumption("outlet-orifice-coefficient").value_si,
        **sizes,
    )
    return outlet_flow_m3_s(hole, head_m=gutter.depth_m)


def downspouts(
    job: model.Job, survey: Survey, layout: Layout, ground_m: dict[str, float], ledger: Ledger
) -> tuple[tuple[Downspout, ...], float]:
    """Return the downspouts with their roof and sizes, and the roof area that no downspout drains, m²."""
    users: dict[str, list[str]] = {}
    for id in layout.downspouts:
        gutter_id = job.downspouts[id].gutter
        if gutter_id is not None:
            users.setdefault(gutter_id, []).append(id)
    area_of: dict[str, float] = {}
    roofs_of: dict[str, tuple[str, ...]] = {}
    for gutter_id, spouts in users.items():
        roofs = [roof for roof in survey.roofs if roof.gutter == gutter_id]
        area = sum(roof.counted_area_m2 for roof in roofs)
        for id, share in _shares(job, spouts).items():
            area_of[id] = area * share
            roofs_of[id] = tuple(roof.id for roof in roofs)
    total = sum(roof.counted_area_m2 for roof in survey.roofs)
    intensity = cloudburst_m_s(survey) * survey.settings["runoff_coefficient"]
    out = []
    for id in layout.downspouts:
        area = area_of.get(id, 0.0)
        if area == 0.0:
            ledger.lack("roofs")
        gutter = _gutter(job, survey, id, users, intensity * area, ledger)
        shape, width, breadth = _leader(job, survey, id, gutter, intensity * area, ledger)
        spout = job.downspouts[id]
        ground = ground_m[id]
        if spout.joint is not None:
            joint = ledger.given(f"{id}.joint_m", spout.joint.value_si)
        else:
            joint = units.on_elevation_grid(
                ground + ledger.assume(f"{id}.joint_m", "joint-over-ground"), survey.style
            )
        out.append(
            Downspout(
                id=id,
                at=layout.places[id],
                ground_m=ground,
                joint_m=joint,
                roof_area_m2=area,
                roofs=roofs_of.get(id, ()),
                gutter=gutter,
                shape="round" if shape == "round" else "rectangular",
                width_m=width,
                breadth_m=breadth,
            )
        )
    undrained = total - sum(area_of.values())
    return tuple(out), undrained if undrained > 1e-9 * total else 0.0


def _shares(job: model.Job, spouts: Sequence[str]) -> dict[str, float]:
    """Split one gutter between its downspouts: given shares first, the rest in equal parts."""
    given = {id: share.value_si for id in spouts if (share := job.downspouts[id].share) is not None}
    open_ones = [id for id in spouts if id not in given]
    rest = max(0.0, 1 - sum(given.values())) / len(open_ones) if open_ones else 0.0
    return {id: given.get(id, rest) for id in spouts}


def _gutter(
    job: model.Job, survey: Survey, id: str, users: dict[str, list[str]], flow: float, ledger: Ledger
) -> Gutter | None:
    gutter_id = job.downspouts[id].gutter
    given = job.gutters.get(gutter_id) if gutter_id is not None else None
    if gutter_id is None or given is None:
        return None
    share = _shares(job, users[gutter_id])[id]
    length = given.length.value_si * share if given.length is not None else 0.0
    fall = ledger.value(given.fall, f"{gutter_id}.fall_m_m", "gutter-fall")
    passes = (
        ledger.value(given.guard_passes, f"{gutter_id}.guard_passes", "guard-passes") if given.guard else 1.0
    )

    def make(shape: str, top: float, bottom: float, depth: float) -> Gutter:
        kind = shape if shape in ("half-round", "box") else "ogee"
        return Gutter(gutter_id, kind, top, bottom, depth, length, fall, bool(given.guard), passes)  # type: ignore[arg-type]

    if given.top_width is not None and (given.depth is not None or given.shape == "half-round"):
        shape = given.shape or "ogee"  # the narrower guess where nobody said
        bottom = given.top_width.value_si
        if given.bottom_width is not None:
            bottom = given.bottom_width.value_si
        elif shape == "ogee":
            bottom *= ledger.assume(f"{gutter_id}.bottom_width_m", "ogee-bottom")
        for name in ("top_width_m", "depth_m"):
            ledger.given(f"{gutter_id}.{name}", 0.0)
        half = given.top_width.value_si / 2
        return make(
            shape,
            given.top_width.value_si,
            bottom,
            half if shape == "half-round" or given.depth is None else given.depth.value_si,
        )
    state = "missing" if given.state == "existing" else "designed"
    if state == "missing":
        ledger.lack("downspouts.size")
    for name in ("top_width_m", "depth_m"):
        ledger.origin[f"{gutter_id}.{name}"] = state  # type: ignore[assignment]
    sizes = [
        make(row["shape"], *(length_of(row[key]) for key in ("top_width", "bottom_width", "depth")))
        for row in tables.rows("gutter_sizes")
        if row["units"] == survey.style and given.shape in (None, row["shape"])
    ] or [
        make(row["shape"], *(length_of(row[key]) for key in ("top_width", "bottom_width", "depth")))
        for row in tables.rows("gutter_sizes")
        if row["units"] == survey.style
    ]
    return next((gutter for gutter in sizes if gutter_capacity_m3_s(gutter) * passes >= flow), sizes[-1])


def _leader(
    job: model.Job, survey: Survey, id: str, gutter: Gutter | None, flow: float, ledger: Ledger
) -> tuple[str, float, float]:
    spout = job.downspouts[id]
    if spout.diameter is not None:
        ledger.given(f"{id}.width_m", 0.0)
        return "round", spout.diameter.value_si, spout.diameter.value_si
    if spout.width is not None:
        ledger.given(f"{id}.width_m", 0.0)
        breadth = spout.breadth.value_si if spout.breadth is not None else spout.width.value_si
        return "rectangular", spout.width.value_si, breadth
    state = "missing" if spout.state == "existing" else "designed"
    if state == "missing":
        ledger.lack("downspouts.size")
    ledger.origin[f"{id}.width_m"] = state  # type: ignore[assignment]
    sizes = [
        (row["shape"], length_of(row["width"]), length_of(row["breadth"]))
        for row in tables.rows("leader_sizes")
        if row["units"] == survey.style and spout.shape in (None, row["shape"])
    ] or [
        (row["shape"], length_of(row["width"]), length_of(row["breadth"]))
        for row in tables.rows("leader_sizes")
        if row["units"] == survey.style
    ]
    for size in sizes:
        enough = leader_capacity_m3_s(*size) >= flow
        if enough and (gutter is None or outlet_capacity_m3_s(gutter, *size) >= flow):
            return size
    return sizes[-1]
