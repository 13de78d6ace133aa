"""Roof, gutter and downspout: which roof area each downspout drains, and the sizes of both."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from roofwell import tables, units
from roofwell.job import model
from roofwell.physics.rain.frequency import intensity_m_s
from roofwell.system import gutters
from roofwell.system.facts import Survey
from roofwell.system.layout import Layout
from roofwell.system.ledger import Ledger
from roofwell.system.reaches import Reach, reaches
from roofwell.system.scheme import Downspout, Gutter
from roofwell.units import Dimension

Shape = Literal["round", "rectangular"]
GutterShape = Literal["half-round", "box", "ogee"]
GUTTER_SHAPES: dict[str, GutterShape] = {"half-round": "half-round", "box": "box", "ogee": "ogee"}


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


@dataclass(frozen=True, slots=True)
class _Size:
    """Cross section of a downspout, m."""

    shape: Shape
    width_m: float
    breadth_m: float


def downspouts(
    job: model.Job, survey: Survey, layout: Layout, ground_m: dict[str, float], ledger: Ledger
) -> tuple[tuple[Downspout, ...], float]:
    """Return the downspouts with their roof and sizes, and the roof area that no downspout drains, m²."""
    users: dict[str, list[str]] = {}
    for id in layout.downspouts:
        gutter_id = job.downspouts[id].gutter
        if gutter_id is None:
            ledger.lack("downspouts.gutter")
        else:
            users.setdefault(gutter_id, []).append(id)
    reach_of: dict[str, Reach] = {}
    roofs_of: dict[str, tuple[str, ...]] = {}
    for gutter_id, spouts in users.items():
        roofs = [roof for roof in survey.roofs if roof.gutter == gutter_id]
        area = sum(roof.counted_area_m2 for roof in roofs)
        if area == 0.0:
            ledger.lack("roofs")
        given = job.gutters.get(gutter_id) or model.Gutter()
        reach_of |= reaches(job, given, spouts, area, _steepest(job, gutter_id))
        roofs_of |= {id: tuple(roof.id for roof in roofs) for id in spouts}
    total = sum(roof.counted_area_m2 for roof in survey.roofs)
    rain = cloudburst_m_s(survey) * survey.settings["runoff_coefficient"]
    out = []
    for id in layout.downspouts:
        reach = reach_of.get(id)
        area = reach.area_m2 if reach is not None else 0.0
        spout = job.downspouts[id]
        ground = ground_m[id]
        if spout.joint is not None:
            joint = ledger.given(f"{id}.joint_m", spout.joint.value_si)
        else:
            joint = units.on_elevation_grid(
                ground + ledger.assume(f"{id}.joint_m", "joint-over-ground"), survey.style
            )
        plain = Downspout(
            id=id,
            at=layout.places[id],
            ground_m=ground,
            joint_m=joint,
            roof_area_m2=area,
            roofs=roofs_of.get(id, ()),
            gutter=None,
            shape="round",
            width_m=0.0,
            breadth_m=0.0,
        )
        plain = _outlet_and_elbows(spout, plain, ledger)
        if spout.gutter_height is not None:
            brim = ledger.given(f"{id}.brim_m", ground + spout.gutter_height.value_si)
            plain = replace(plain, brim_m=brim)
        tried: list[Gutter | None] = [None]
        if reach is not None:
            tried = _gutters(job, survey, spout.gutter, reach, ledger)
        out.append(_sized(plain, tried, _sizes(job, survey, id, ledger), rain * area, spout, ledger))
    undrained = total - sum(reach.area_m2 for reach in reach_of.values())
    return _one_size(out), undrained if undrained > 1e-9 * total else 0.0


def _one_size(spouts: list[Downspout]) -> tuple[Downspout, ...]:
    """A gutter is of one size from end to end: the largest that any of its reaches asks for."""
    largest: dict[str, Gutter] = {}
    for spout in spouts:
        if spout.gutter is not None:
            most = largest.setdefault(spout.gutter.id, spout.gutter)
            if spout.gutter.top_width_m * spout.gutter.depth_m > most.top_width_m * most.depth_m:
                largest[spout.gutter.id] = spout.gutter
    out = []
    for spout in spouts:
        if spout.gutter is not None:
            most = largest[spout.gutter.id]
            same = replace(most, length_m=spout.gutter.length_m, arms=spout.gutter.arms)
            spout = replace(spout, gutter=same)
        out.append(spout)
    return tuple(out)


def _steepest(job: model.Job, gutter: str) -> float | None:
    pitches = [roof.pitch.value_si for roof in job.roofs.values() if roof.gutter == gutter and roof.pitch]
    return max(pitches, default=None)


def _sized(
    plain: Downspout,
    tried: list[Gutter | None],
    sizes: list[_Size],
    flow: float,
    given: model.Downspout,
    ledger: Ledger,
) -> Downspout:
    """Return the downspout with the smallest gutter and the smallest section that carry its flow together."""

    def candidates() -> Iterator[Downspout]:
        for gutter in tried:
            for size in sizes:
                spout = replace(
                    plain, gutter=gutter, shape=size.shape, width_m=size.width_m, breadth_m=size.breadth_m
                )
                yield _corrugated(given, spout, ledger)

    last = None
    for last in candidates():
        limit = gutters.limit_m3_s(last)
        if len(tried) * len(sizes) == 1 or limit >= flow:
            return last
    assert last is not None  # both lists have at least one entry
    return last


def _corrugated(given: model.Downspout, spout: Downspout, ledger: Ledger) -> Downspout:
    """Give a corrugated downspout its true inside: as measured, else assumed."""
    area = given.inside_area.value_si if given.inside_area is not None else 0.0
    perimeter = given.inside_perimeter.value_si if given.inside_perimeter is not None else 0.0
    if given.corrugated:
        whole_area, whole_perimeter = gutters.inside_of(spout)
        if not area:
            share = ledger.assume(f"{spout.id}.inside_area_m2", "corrugated-leader-area")
            area = share * whole_area
        if not perimeter:
            share = ledger.assume(f"{spout.id}.inside_perimeter_m", "corrugated-leader-perimeter")
            perimeter = share * whole_perimeter
    return replace(spout, inside_area_m2=area, inside_perimeter_m=perimeter)


def _outlet_and_elbows(given: model.Downspout, spout: Downspout, ledger: Ledger) -> Downspout:
    """Add the outlet in the gutter's floor and the offset under it, where they are given."""
    width = given.outlet_diameter or given.outlet_width
    breadth = given.outlet_breadth if given.outlet_diameter is None else None
    if width is not None:
        ledger.given(f"{spout.id}.outlet_width_m", width.value_si)
    offset = drop = 0.0
    if given.elbows is not None:
        offset = ledger.value(given.offset, f"{spout.id}.offset_m", "downspout-offset")
        drop = ledger.value(given.offset_drop, f"{spout.id}.offset_drop_m", "downspout-offset-drop")
    square = width.value_si if width is not None and given.outlet_diameter is None else 0.0
    return replace(
        spout,
        outlet_width_m=width.value_si if width is not None else 0.0,
        outlet_breadth_m=breadth.value_si if breadth is not None else square,
        outlet_rim=given.outlet_rim.value_si if given.outlet_rim is not None else 0.0,
        elbows=given.elbows,
        offset_m=offset,
        offset_drop_m=drop,
    )


def _gutters(
    job: model.Job, survey: Survey, gutter_id: str | None, reach: Reach, ledger: Ledger
) -> list[Gutter | None]:
    """Return the gutter as given, or the sizes to choose from, smallest first."""
    given = job.gutters.get(gutter_id) if gutter_id is not None else None
    if gutter_id is None or given is None:
        return [None]
    fall = ledger.value(given.fall, f"{gutter_id}.fall_m_m", "gutter-fall")
    passes = (
        ledger.value(given.guard_passes, f"{gutter_id}.guard_passes", "guard-passes") if given.guard else 1.0
    )
    below = over = 0.0
    if given.valleys:
        below = ledger.value(given.below_edge, f"{gutter_id}.below_edge_m", "gutter-below-edge")
        over = ledger.assume(f"{gutter_id}.edge_over_m", "edge-over-gutter")

    def make(shape: str, top: float, bottom: float, depth: float) -> Gutter:
        freeboard = given.freeboard.value_si if given.freeboard is not None else 0.0
        return Gutter(
            id=gutter_id,
            shape=GUTTER_SHAPES.get(shape, "ogee"),
            top_width_m=top,
            bottom_width_m=bottom,
            depth_m=depth,
            length_m=reach.length_m,
            fall_m_m=fall,
            guard=bool(given.guard),
            guard_passes=passes,
            arms=reach.arms,
            freeboard_m=min(freeboard, 0.9 * depth),
            below_edge_m=below,
            edge_over_m=over,
        )

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
        depth = half if shape == "half-round" or given.depth is None else given.depth.value_si
        return [make(shape, given.top_width.value_si, bottom, depth)]
    state = "missing" if given.state == "existing" else "designed"
    if state == "missing":
        ledger.lack("downspouts.size")
    for name in ("top_width_m", "depth_m"):
        ledger.origin[f"{gutter_id}.{name}"] = state  # type: ignore[assignment]
    ours = [row for row in tables.rows("gutter_sizes") if row["units"] == survey.style]
    rows = [row for row in ours if given.shape in (None, row["shape"])] or ours
    return [
        make(row["shape"], *(length_of(row[key]) for key in ("top_width", "bottom_width", "depth")))
        for row in rows
    ]


def _sizes(job: model.Job, survey: Survey, id: str, ledger: Ledger) -> list[_Size]:
    """Return the downspout's section as given, or the sizes to choose from, smallest first."""
    spout = job.downspouts[id]
    if spout.diameter is not None:
        ledger.given(f"{id}.width_m", 0.0)
        return [_Size("round", spout.diameter.value_si, spout.diameter.value_si)]
    if spout.width is not None:
        ledger.given(f"{id}.width_m", 0.0)
        breadth = spout.breadth.value_si if spout.breadth is not None else spout.width.value_si
        return [_Size("rectangular", spout.width.value_si, breadth)]
    state = "missing" if spout.state == "existing" else "designed"
    if state == "missing":
        ledger.lack("downspouts.size")
    ledger.origin[f"{id}.width_m"] = state  # type: ignore[assignment]
    ours = [row for row in tables.rows("leader_sizes") if row["units"] == survey.style]
    rows = [row for row in ours if spout.shape in (None, row["shape"])] or ours
    return [
        _Size(
            "round" if row["shape"] == "round" else "rectangular",
            length_of(row["width"]),
            length_of(row["breadth"]),
        )
        for row in rows
    ]
