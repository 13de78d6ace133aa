"""The level gutter of the textbooks: what it carries, in closed form where friction is left out.

A gutter that takes rain along its length and spills freely at its outlet is deepest at the far end. Between
the two ends momentum is kept, which gives the flow that fills it to a given depth. Slopes, holes and two arms:
``gutter_flow``.
"""

from __future__ import annotations

import math

import numpy as np

from roofwell.errors import InputError
from roofwell.physics.roof.gutter_flow import GutterArm, gutter_capacity
from roofwell.physics.roof.gutter_section import (
    GutterSection,
    GutterShape,
    first_moment,
    surface_width,
    water_area,
)

__all__ = [
    "GutterSection",
    "GutterShape",
    "box_profile",
    "level_capacity_m3_s",
    "level_capacity_with_friction_m3_s",
    "outlet_depth_m",
]

GRAVITY_M_S2 = 9.80665


def _check_depth(section: GutterSection, depth_m: float) -> None:
    if not 0 < depth_m <= section.depth_m * (1 + 1e-9):
        raise InputError(
            f"water {depth_m:g} m deep in a gutter {section.depth_m:g} m deep; it must be above 0 and at "
            "most the depth of the gutter",
            code="gutter-depth",
        )


def _critical_depth_with_force(section: GutterSection, force_m3: float) -> float:
    """Depth at which critical flow has the specific force ``force_m3`` (M + A²/T, that is M + Q²/gA)."""
    low, high = 0.0, section.depth_m
    for _ in range(60):
        depth = 0.5 * (low + high)
        at = np.asarray(depth)
        force = float(first_moment(section, at) + water_area(section, at) ** 2 / surface_width(section, at))
        low, high = (depth, high) if force < force_m3 else (low, depth)
    return 0.5 * (low + high)


def _critical_flow_m3_s(section: GutterSection, depth_m: float) -> float:
    return math.sqrt(GRAVITY_M_S2 * section.area_m2(depth_m) ** 3 / section.top_width_at_m(depth_m))


def outlet_depth_m(section: GutterSection, *, depth_m: float) -> float:
    """Return the depth at the free outlet of a level frictionless gutter that is ``depth_m`` deep at its far
    end, m: the critical depth, 0.577 of it in a box. Raises ``InputError`` (``gutter-depth``)."""
    _check_depth(section, depth_m)
    return _critical_depth_with_force(section, section.first_moment_m3(depth_m))


def level_capacity_m3_s(section: GutterSection, *, depth_m: float) -> float:
    """Return the flow at the free outlet of a level gutter that runs ``depth_m`` deep at its far end, m³/s.

    Parameters
    ----------
    section
        The gutter.
    depth_m
        Depth at the closed end, m; above 0, at most the depth of the gutter. Leave freeboard yourself.

    Raises
    ------
    InputError
        ``gutter-depth``.

    Notes
    -----
    Momentum without friction: M(y₀) = M(y_c) + A²/T, Q = sqrt(g A³/T); for a box Q = b sqrt(g) (y₀/√3)^1.5.
    Holds for uniform inflow, a level floor and an outlet that spills freely (no pond over the outlet); short
    gutters, see ``level_capacity_with_friction_m3_s``. Source: the momentum equation, in any textbook of
    hydraulic structures.
    """
    return _critical_flow_m3_s(section, outlet_depth_m(section, depth_m=depth_m))


def box_profile(depth_over_critical: float) -> float:
    """Return how far along a level frictionless box gutter (0 at the far end, 1 at the outlet) the water is
    ``depth_over_critical`` critical depths deep: sqrt(1.5 r − 0.5 r³), r from 1 to √3.

    Raises
    ------
    InputError
        ``gutter-depth`` outside that range.

    Notes
    -----
    From (x/L)² y_c³/y + y²/2 = 3/2 y_c²: flow grows with x, force with its square. A textbook, as read, has
    x/L where (x/L)² belongs; see docs/method/conveyance.md.
    """
    if not 1.0 <= depth_over_critical <= math.sqrt(3.0) * (1 + 1e-12):
        raise InputError(
            f"depth is {depth_over_critical:g} critical depths; along such a gutter it is 1 to 1.732",
            code="gutter-depth",
        )
    return math.sqrt(max(0.0, 1.5 * depth_over_critical - 0.5 * depth_over_critical**3))


def level_capacity_with_friction_m3_s(
    section: GutterSection, *, depth_m: float, length_m: float, manning_n: float
) -> float:
    """Return the flow at the free outlet of a level gutter with friction at its wall, m³/s.

    Parameters
    ----------
    section, depth_m
        As ``level_capacity_m3_s``.
    length_m
        Length that drains to this outlet from one side, m; above 0.
    manning_n
        Roughness of the wall, s/m^(1/3); above 0.

    Raises
    ------
    InputError
        ``gutter-depth``; ``gutter-number`` for a length or roughness not above zero.

    Notes
    -----
    ``gutter_flow.gutter_capacity`` of one level arm with a free fall at its end.
    """
    _check_depth(section, depth_m)
    if not (0 < length_m < math.inf and 0 < manning_n < math.inf):
        raise InputError(
            f"gutter length {length_m:g} m and n {manning_n:g} must be above 0", code="gutter-number"
        )
    arm = GutterArm(length_m=length_m, spread_m3_s=1.0)
    freeboard_m = max(0.0, section.depth_m - depth_m)
    return gutter_capacity(section, [arm], manning_n=manning_n, freeboard_m=freeboard_m).flow_m3_s
