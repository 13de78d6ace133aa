"""Entrance control: the head that a pipe needs to take water in from a still pool, whatever happens below it.

Two states, both measured on models of culverts: a weir while the crown is free, an orifice once it is drowned.
Between the two the manual draws a curve by eye; here it is a straight line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.errors import InputError
from roofwell.physics.pipe.flow import critical_depth_m, section

# Q / (A D^½) is written in feet and seconds in the manual; this makes it so from meters.
_TO_FEET = 1.811
FREE_UP_TO, DROWNED_FROM = 3.5, 4.0


@dataclass(frozen=True, slots=True)
class EntranceEdge:
    """Constants of one edge in HDS-5: ``k`` and ``m`` while the crown is free, ``c`` and ``y`` once it is drowned.

    ``slope_term`` times the slope is added, in diameters: −0.5, and +0.7 for a mitered end.
    """

    k: float
    m: float
    c: float
    y: float
    slope_term: float = -0.5


def entrance_head_m(
    *,
    flow_m3_s: float,
    inside_diameter_m: float,
    slope: float,
    edge: EntranceEdge,
    critical_m: float | None = None,
) -> float:
    """Return the depth of still water over the invert that a round pipe's entrance needs, m.

    Parameters
    ----------
    flow_m3_s
        Zero or more; zero gives zero.
    inside_diameter_m
        Above 0.
    slope
        Fall per length of the pipe, m/m; a level or adverse pipe counts as level.
    edge
        Constants of the edge, from the table of entrances.
    critical_m
        Critical depth, m, where it is known already; worked out otherwise.

    Raises
    ------
    InputError
        ``pipe-number``.

    Notes
    -----
    With x = Q / (A D^½) in feet and seconds: free, HW/D = H_c/D + K x^M + Z S, to x = 3.5, H_c being the specific
    energy at critical depth; drowned, HW/D = c x² + Y + Z S, from x = 4. HDS-5, 2nd edition, appendix A, Table 9;
    the two ends of the transition are from memory. Measured on models and fitted for culverts of a foot and more.
    """
    if not (math.isfinite(flow_m3_s) and flow_m3_s >= 0 and inside_diameter_m > 0):
        raise InputError(
            f"entrance flow {flow_m3_s:g} m³/s must be zero or more, inside diameter {inside_diameter_m:g} m above 0",
            code="pipe-number",
        )
    if flow_m3_s == 0:
        return 0.0
    area = math.pi * inside_diameter_m**2 / 4.0
    intensity = _TO_FEET * flow_m3_s / (area * math.sqrt(inside_diameter_m))
    if intensity >= DROWNED_FROM:
        ratio = edge.c * intensity**2 + edge.y
    elif intensity <= FREE_UP_TO:
        if critical_m is None:
            critical_m = critical_depth_m(flow_m3_s=flow_m3_s, inside_diameter_m=inside_diameter_m)
        ratio = _free(critical_m, inside_diameter_m, intensity, edge)
    else:
        last_free = FREE_UP_TO / intensity * flow_m3_s
        critical = critical_depth_m(flow_m3_s=last_free, inside_diameter_m=inside_diameter_m)
        low = _free(critical, inside_diameter_m, FREE_UP_TO, edge)
        high = edge.c * DROWNED_FROM**2 + edge.y
        ratio = low + (high - low) * (intensity - FREE_UP_TO) / (DROWNED_FROM - FREE_UP_TO)
    return inside_diameter_m * max(0.0, ratio + edge.slope_term * max(0.0, slope))


def _free(critical_m: float, diameter_m: float, intensity: float, edge: EntranceEdge) -> float:
    """Head over diameter while the crown is free; the velocity head at critical depth is A / 2T."""
    water = section(inside_diameter_m=diameter_m, depth_m=critical_m)
    energy = critical_m + water.area_m2 / (2.0 * water.top_width_m)
    return float(energy / diameter_m + edge.k * intensity**edge.m)
