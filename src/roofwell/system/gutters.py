"""A gutter, its outlet and its downspout in a cloudburst: what each carries, and how the water stands."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from roofwell import tables, units
from roofwell.errors import InputError
from roofwell.physics.roof import downspout as leader
from roofwell.physics.roof import gutter_rules
from roofwell.physics.roof.gutter_flow import GutterArm, GutterCapacity, gutter_capacity, gutter_water
from roofwell.physics.roof.gutter_section import GutterSection
from roofwell.physics.roof.outlet import GutterOutlet, opening, outlet_acts_as, outlet_flow_m3_s
from roofwell.physics.roof.valley import valley_jet
from roofwell.system.behaviour import ArmFlow, CodeCapacity, DownspoutFlow, GutterFlow, ValleyFlow
from roofwell.system.scheme import Arm, Downspout, Gutter
from roofwell.units import Dimension

SQUARE_FOOT_INCH_HOUR = 0.3048**2 * 0.0254 / 3600.0
LEVEL_ROW = 1 / 192  # the least slope of the American table, 1/16 in/ft: in truth its level gutter


def section_of(gutter: Gutter) -> GutterSection:
    """Return the inside of a gutter as physics takes it."""
    if gutter.shape == "half-round":
        return GutterSection(shape="half-round", top_width_m=gutter.top_width_m)
    bottom = gutter.bottom_width_m if gutter.shape == "ogee" else gutter.top_width_m
    return GutterSection(
        shape=gutter.shape, top_width_m=gutter.top_width_m, bottom_width_m=bottom, depth_m=gutter.depth_m
    )


def outlet_of(spout: Downspout) -> GutterOutlet:
    """Return the hole in the gutter's floor over a downspout; as large as the downspout where none is given."""
    width, breadth = spout.outlet_width_m, spout.outlet_breadth_m
    if width <= 0:
        width, breadth = spout.width_m, spout.breadth_m if spout.shape == "rectangular" else 0.0
    share = spout.outlet_rim or tables.assumption("outlet-wetted-share").value_si
    coefficient = tables.assumption("outlet-orifice-coefficient").value_si
    if breadth > 0:
        return opening(width_m=width, breadth_m=breadth, wetted_share=share, orifice_coefficient=coefficient)
    return opening(diameter_m=width, wetted_share=share, orifice_coefficient=coefficient)


def inside_of(spout: Downspout) -> tuple[float, float]:
    """Return the area and the perimeter of a downspout's inside, m² and m."""
    if spout.shape == "round":
        area, perimeter = np.pi * spout.width_m**2 / 4, np.pi * spout.width_m
    else:
        area, perimeter = spout.width_m * spout.breadth_m, 2 * (spout.width_m + spout.breadth_m)
    area = spout.inside_area_m2 or float(area)
    perimeter = spout.inside_perimeter_m or float(perimeter)
    return area, max(perimeter, float(np.sqrt(4 * np.pi * area)))


def leader_capacity_m3_s(spout: Downspout) -> float:
    """Return what a vertical downspout carries as a ring of water on its wall, m³/s."""
    area, perimeter = inside_of(spout)
    fill = tables.assumption("downspout-fill").value_si
    return leader.ring_capacity_m3_s(area_m2=area, perimeter_m=perimeter, fill=fill)


def elbows_capacity_m3_s(spout: Downspout) -> float | None:
    """Return what the elbows under a brimful gutter let through, m³/s; None where they were not counted."""
    if spout.elbows is None or spout.gutter is None:
        return None
    area, perimeter = inside_of(spout)
    return leader.offset_capacity_m3_s(
        area_m2=area,
        perimeter_m=perimeter,
        head_m=spout.gutter.depth_m,
        drop_m=spout.offset_drop_m,
        length_m=float(np.hypot(spout.offset_m, spout.offset_drop_m)),
        elbows=spout.elbows,
        elbow_k=tables.assumption("elbow-loss-k").value_si,
        entrance_k=tables.assumption("entrance-loss-k").value_si,
        manning_n=tables.assumption("manning-n-gutter").value_si,
    )


def arms_of(gutter: Gutter, total: float) -> tuple[tuple[GutterArm, ...], float]:
    """Return a gutter's arms with ``total`` flow, m³/s, shared by roof, and the roughness: none where no length is known."""
    arms = gutter.arms or (Arm(gutter.length_m, 1.0),)
    roof = sum(arm.area_m2 + sum(v.area_m2 for v in arm.valleys) for arm in arms)
    even = roof <= 0
    out = []
    for arm in arms:
        per = total / len(arms) if even else total * arm.area_m2 / roof
        points = () if even else tuple((v.at_m, total * v.area_m2 / roof) for v in arm.valleys)
        known = arm.length_m > 0
        length = arm.length_m if known else max([1.0, *(at for at, _ in points)])
        out.append(GutterArm(length, per, gutter.fall_m_m if known else 0.0, points))
    known = all(arm.length_m > 0 for arm in arms)
    return tuple(out), tables.assumption("manning-n-gutter").value_si if known else 0.0


@lru_cache(maxsize=1024)
def capacity(gutter: Gutter, outlet: GutterOutlet | None) -> GutterCapacity:
    """Return the flow that fills a gutter to its brim less its freeboard, with a free fall or a hole at its outlet.

    It takes some milliseconds and does not change within a search: kept.
    """
    arms, roughness = arms_of(gutter, 1.0)
    return gutter_capacity(
        section_of(gutter), arms, manning_n=roughness, outlet=outlet, freeboard_m=gutter.freeboard_m
    )


def limit_m3_s(spout: Downspout) -> float:
    """Return what gutter, outlet, elbows and downspout carry together, m³/s; a guard is not counted."""
    known = [leader_capacity_m3_s(spout)]
    elbows = elbows_capacity_m3_s(spout)
    if elbows is not None:
        known.append(elbows)
    if spout.gutter is not None:
        known.append(capacity(spout.gutter, outlet_of(spout)).flow_m3_s)
    return min(known)


@lru_cache(maxsize=1024)
def spout_flow(spout: Downspout, peak_m3_s: float) -> DownspoutFlow:
    """Return what each element over and in a downspout carries, beside the cloudburst's flow.

    A guard that lets in a share of the cloudburst lets in no more than that of a heavier rain.
    """
    known = {"downspout": leader_capacity_m3_s(spout)}
    elbows = elbows_capacity_m3_s(spout)
    if elbows is not None:
        known["elbows"] = elbows
    gutter, flow = spout.gutter, None
    if gutter is not None:
        outlet = outlet_of(spout)
        known["gutter"] = capacity(gutter, None).flow_m3_s
        known["outlet"] = outlet_flow_m3_s(outlet, head_m=gutter.depth_m - gutter.freeboard_m)
        flow = _gutter_flow(gutter, outlet, peak_m3_s)
        if flow.guard_m3_s is not None:
            known["guard"] = flow.guard_m3_s
    governs = min(known, key=lambda name: known[name])
    limit = known[governs] if flow is None else min(known[governs], flow.together_m3_s)
    return DownspoutFlow(
        id=spout.id,
        area_m2=spout.roof_area_m2,
        peak_m3_s=peak_m3_s,
        gutter_m3_s=known.get("gutter"),
        outlet_m3_s=known.get("outlet"),
        leader_m3_s=known["downspout"],
        governs=governs,
        limit_m3_s=limit,
        elbows_m3_s=elbows,
        gutter=flow,
        codes=(*(gutter_codes(gutter) if gutter is not None else ()), *leader_codes(spout)),
    )


def _gutter_flow(gutter: Gutter, outlet: GutterOutlet, peak: float) -> GutterFlow:
    together = capacity(gutter, outlet)
    passes = gutter.guard_passes if gutter.guard else 1.0
    enters = passes * peak
    arms, roughness = arms_of(gutter, enters)
    water = gutter_water(section_of(gutter), arms, manning_n=roughness, outlet=outlet)
    return GutterFlow(
        together_m3_s=together.flow_m3_s,
        control=together.control,
        full_arm=together.brim_arm,
        full_at_m=arms[together.brim_arm].length_m - together.brim_station_m,
        brim_margin_m=water.brim_margin_m - gutter.freeboard_m,
        brim_arm=water.brim_arm,
        brim_at_m=arms[water.brim_arm].length_m - water.brim_station_m,
        hole_head_m=water.hole_head_m,
        hole_acts_as=outlet_acts_as(outlet, flow_m3_s=together.flow_m3_s),
        guard_m3_s=enters if passes < 1.0 and peak > 0 else None,
        overshoot_m3_s=peak - enters,
        arms=tuple(
            ArmFlow(
                length_m=arm.length_m,
                flow_m3_s=arm.flow_m3_s,
                control=line.control,
                critical_at_m=line.critical_at_m,
                jump_at_m=line.jump_at_m,
                station_m=line.station_m,
                depth_m=line.depth_m,
                velocity_m_s=line.velocity_m_s,
            )
            for arm, line in zip(arms, water.arms, strict=True)
        ),
        valleys=_valleys(gutter, peak),
    )


def _valleys(gutter: Gutter, peak: float) -> tuple[ValleyFlow, ...]:
    """Each valley's jet against the gutter's front; a splash guard raises the front, so the water falls less far."""
    arms = gutter.arms
    roof = sum(arm.area_m2 + sum(v.area_m2 for v in arm.valleys) for arm in arms)
    front = gutter.top_width_m - gutter.edge_over_m
    out = []
    for i, arm in enumerate(arms):
        for valley in arm.valleys:
            flow = peak * valley.area_m2 / roof if roof > 0 else 0.0
            velocity = reach = None
            if valley.pitch_m_m is not None and 0.05 <= valley.pitch_m_m <= 2 and flow > 0:
                jet = valley_jet(
                    flow_m3_s=flow,
                    rise_per_run=valley.pitch_m_m,
                    drop_m=gutter.below_edge_m - valley.splash_guard_m,
                    manning_n=tables.assumption("valley-roughness").value_si,
                )
                velocity, reach = jet.velocity_m_s, jet.reach_m
            out.append(ValleyFlow(valley.at_m, i, flow, velocity, reach, front))
    return tuple(out)


def gutter_codes(gutter: Gutter) -> tuple[CodeCapacity, ...]:
    """Return what EN 12056-3, the American handbook and the American table let the gutter carry, where they cover it.

    The rules know one level gutter that drains one way: they are taken for each arm and added.
    """
    section = section_of(gutter)
    lengths = [arm.length_m for arm in gutter.arms if arm.length_m > 0] or [gutter.length_m]
    out = []
    for rule, source, formula in (
        ("EN 12056-3:2000", "en-12056-3", gutter_rules.capacity_en_12056_m3_s),
        ("American level-gutter formula", "smacna-asmm", gutter_rules.capacity_american_m3_s),
    ):
        try:
            flow = sum(formula(section, length_m=length) for length in lengths)
        except InputError:
            continue  # the rule does not cover this section or length
        out.append(CodeCapacity("gutter", rule, flow, source))
    printed = _printed_gutter(gutter)
    if printed is not None:
        out.append(CodeCapacity("gutter", "IPC 2012 table of semicircular gutters", printed, "ipc-2012"))
    return tuple(out)


def _printed_gutter(gutter: Gutter) -> float | None:
    """The American table's flow: the largest printed half-round not over this one, at the next flatter slope."""
    if gutter.shape != "half-round":
        return None
    best = None
    for row in tables.rows("gutter_capacity"):
        if row["table"] != "ipc-2012-semicircular":
            continue
        diameter = units.parse(row["diameter"], Dimension.LENGTH).value_si
        slope = units.parse(row["slope"], Dimension.SLOPE).value_si
        if diameter <= gutter.top_width_m * (1 + 1e-6) and slope <= max(gutter.fall_m_m, LEVEL_ROW) * (
            1 + 1e-6
        ):
            flow = float(row["value"]) * SQUARE_FOOT_INCH_HOUR
            best = flow if best is None else max(best, flow)
    return best


def leader_codes(spout: Downspout) -> tuple[CodeCapacity, ...]:
    """Return what the codes let the downspout carry; a rectangular one counts as the round one of its area, up to
    sides of 3 : 1."""
    area, _ = inside_of(spout)
    if spout.shape == "rectangular" and max(spout.width_m, spout.breadth_m) > 3.001 * min(
        spout.width_m, spout.breadth_m
    ):
        return ()
    diameter = float(np.sqrt(4 * area / np.pi))
    rules = (
        ("NSPC 2006 and UPC 2000 (7/24 full)", "nspc-2006", tables.assumption("downspout-fill").value_si),
        ("IPC 2015 (34.5 % full)", "ipc-2015", tables.assumption("ipc-leader-fill").value_si),
    )
    american = [
        CodeCapacity("downspout", rule, leader.annular_capacity_m3_s(diameter_m=diameter, fill=fill), source)
        for rule, source, fill in rules
    ]
    european = leader.annular_capacity_en_m3_s(diameter_m=diameter)
    return (*american, CodeCapacity("downspout", "EN 12056-3:2000 (33 % full)", european, "en-12056-3"))
