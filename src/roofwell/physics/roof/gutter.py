"""What a gutter and the outlet in its bottom can carry.

A gutter that takes rain along its length and spills freely at its outlet is deepest at the far end. Between
the two ends momentum is kept (less the friction at the wall), which gives the flow that fills it to a given
depth. Level gutters: a fall adds capacity that this page does not count.
"""

from __future__ import annotations

import math

import numpy as np

from roofwell.errors import InputError, InternalError
from roofwell.physics.roof.gutter_section import (
    Depths,
    GutterSection,
    GutterShape,
    first_moment,
    surface_width,
    water_area,
    wetted_perimeter,
)

__all__ = [
    "GutterSection",
    "GutterShape",
    "box_profile",
    "capacity_en_12056_m3_s",
    "level_capacity_m3_s",
    "level_capacity_with_friction_m3_s",
    "outlet_capacity_m3_s",
    "outlet_depth_m",
]

GRAVITY_M_S2 = 9.80665

# 3.0 ft^0.5/s and the usual 0.6: weir over the rim of the outlet, and orifice through it.
_WEIR_SI = 3.0 * math.sqrt(0.3048)
_ORIFICE = 0.6

_GRID = 41


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
    ``depth_over_critical`` critical depths deep: 1.5 r − 0.5 r³, r from 1 to √3.

    Raises
    ------
    InputError
        ``gutter-depth`` outside that range.
    """
    if not 1.0 <= depth_over_critical <= math.sqrt(3.0) * (1 + 1e-12):
        raise InputError(
            f"depth is {depth_over_critical:g} critical depths; along such a gutter it is 1 to 1.732",
            code="gutter-depth",
        )
    return 1.5 * depth_over_critical - 0.5 * depth_over_critical**3


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
    InternalError
        ``gutter-not-solved`` if the profile does not settle (none known).

    Notes
    -----
    d(Q²/gA + M)/dx = −A S_f with Q growing evenly along the gutter, critical at the outlet, S_f by Manning.
    The profile and the flow are found together, from the frictionless profile on; to about 0.1 %.
    """
    _check_depth(section, depth_m)
    if not (0 < length_m < math.inf and 0 < manning_n < math.inf):
        raise InputError(
            f"gutter length {length_m:g} m and n {manning_n:g} must be above 0", code="gutter-number"
        )
    # The surface drops vertically at the outlet; stations crowd there, so that the profile is smooth in them.
    station = np.linspace(0.0, 1.0, _GRID)
    share = 1.0 - (1.0 - station) ** 2
    whole = section.first_moment_m3(depth_m)
    loss = np.zeros(_GRID)  # ∫ A S_f dx over Q², from the far end to each station
    flow_m3_s = 0.0
    for turn in range(200):
        new_flow = _flow_after_loss(section, whole, float(loss[-1]), depth_m)
        if turn and abs(new_flow - flow_m3_s) <= 1e-6 * new_flow:
            return new_flow
        flow_m3_s = new_flow
        depth = _profile(section, flow_m3_s * share, whole - flow_m3_s**2 * loss, depth_m)
        resistance = (
            manning_n**2
            * share**2
            * wetted_perimeter(section, depth) ** (4 / 3)
            / water_area(section, depth) ** (7 / 3)
        )
        slices = 0.5 * (resistance[1:] + resistance[:-1]) * np.diff(share) * length_m
        # A part of the old loss is kept: long rough gutters would swing about the answer without it.
        loss[1:] = 0.3 * loss[1:] + 0.7 * np.cumsum(slices)
    raise InternalError("the water surface in a gutter did not settle", code="gutter-not-solved")


def _flow_after_loss(section: GutterSection, whole: float, loss: float, depth_m: float) -> float:
    """Flow that is critical at the outlet with the force left there: M + A²/T = whole − Q² loss."""
    low, high = 0.0, depth_m
    for _ in range(50):
        depth = np.asarray(0.5 * (low + high))
        area, width = water_area(section, depth), surface_width(section, depth)
        need = float(first_moment(section, depth) + area**2 / width + loss * GRAVITY_M_S2 * area**3 / width)
        low, high = (float(depth), high) if need < whole else (low, float(depth))
    return _critical_flow_m3_s(section, 0.5 * (low + high))


def _profile(section: GutterSection, flow: Depths, force: Depths, depth_m: float) -> Depths:
    """Subcritical depth with this flow and specific force at each station, by bisection on all at once."""
    low, high = np.full(flow.shape, 1e-9 * depth_m), np.full(flow.shape, depth_m)
    for _ in range(32):
        depth = 0.5 * (low + high)
        area, width = water_area(section, depth), surface_width(section, depth)
        too_low = (flow**2 * width > GRAVITY_M_S2 * area**3) | (
            flow**2 / (GRAVITY_M_S2 * area) + first_moment(section, depth) < force
        )
        low, high = np.where(too_low, depth, low), np.where(too_low, high, depth)
    profile: Depths = 0.5 * (low + high)
    return profile


def capacity_en_12056_m3_s(section: GutterSection, *, length_m: float) -> float:
    """Return the design flow of an eaves gutter by EN 12056-3, m³/s (from memory but for the length factor).

    Parameters
    ----------
    section
        ``half-round``, or a ``box`` as deep as wide: the depth and shape factors for other sections have not
        been read, so they are refused.
    length_m
        Length that drains to one outlet from one side, m; above 0, at most 200 depths.

    Raises
    ------
    InputError
        ``gutter-number``; ``gutter-en-shape`` for a section that the rule as read does not cover;
        ``gutter-en-length`` beyond 200 depths.

    Notes
    -----
    0.9 × 2.78e-5 A^1.25 (half-round) or 0.9 × 3.48e-5 A^1.25 (square), L/s and mm², times the length factor
    1.00, 0.93, 0.86, 0.80 at 50, 100, 150, 200 depths, straight between. Level, or a fall of at most 3 mm/m.
    The equations are from memory; both are 0.801 of the frictionless theory. The factor was read on a trade
    page that quotes the standard.
    """
    if not 0 < length_m < math.inf:
        raise InputError(f"gutter length is {length_m:g} m; it must be above 0", code="gutter-number")
    square = section.shape == "box" and abs(section.depth_m - section.top_width_m) <= 0.01 * section.depth_m
    if not (section.shape == "half-round" or square):
        raise InputError(
            "EN 12056-3 as read here covers half-round gutters and boxes as deep as wide; use "
            "level_capacity_m3_s for other sections",
            code="gutter-en-shape",
        )
    depths = length_m / section.depth_m
    if depths > 200 * (1 + 1e-9):
        raise InputError(
            f"gutter is {depths:.0f} depths long; the length factor is printed up to 200",
            code="gutter-en-length",
        )
    area_mm2 = 1e6 * section.area_m2(section.depth_m)
    nominal_l_s = (3.48e-5 if square else 2.78e-5) * area_mm2**1.25
    factor = float(np.interp(depths, (50, 100, 150, 200), (1.00, 0.93, 0.86, 0.80)))
    return float(0.9 * nominal_l_s * factor / 1e3)


def outlet_capacity_m3_s(
    *,
    head_m: float,
    diameter_m: float | None = None,
    width_m: float | None = None,
    breadth_m: float | None = None,
    wetted_share: float = 0.5,
    weir_coefficient: float = _WEIR_SI,
    orifice_coefficient: float = _ORIFICE,
) -> float:
    """Return the flow into an outlet in the bottom of a gutter, m³/s: the lesser of weir and orifice.

    Parameters
    ----------
    head_m
        Depth of water at the outlet, m; zero or more.
    diameter_m
        Of a round opening, m; or
    width_m, breadth_m
        of a rectangular one, m. Give the one or the other.
    wetted_share
        Share of the rim that water reaches; above 0, at most 1. In a gutter bottom about a half: the outlet
        nearly fills its width, so water comes from the two ends only.
    weir_coefficient
        m^0.5/s; 1.656 is 3.0 in feet.
    orifice_coefficient
        0.6 for a sharp edge.

    Raises
    ------
    InputError
        ``gutter-outlet``.

    Notes
    -----
    Weir C P h^1.5 over the rim that is reached, orifice C A sqrt(2 g h) through the whole opening. A strainer
    is not counted: reduce the share and the size for it.
    """
    if diameter_m is not None and width_m is None and breadth_m is None:
        sizes = [diameter_m]
        perimeter_m, area_m2 = math.pi * diameter_m, math.pi * diameter_m**2 / 4.0
    elif diameter_m is None and width_m is not None and breadth_m is not None:
        sizes = [width_m, breadth_m]
        perimeter_m, area_m2 = 2.0 * (width_m + breadth_m), width_m * breadth_m
    else:
        raise InputError(
            "an outlet is given by its diameter, or by its width and breadth", code="gutter-outlet"
        )
    if not (all(0 < size < math.inf for size in sizes) and head_m >= 0 and 0 < wetted_share <= 1):
        raise InputError(
            f"outlet of {sizes} m under {head_m:g} m of water, share of the rim {wetted_share:g}: sizes must "
            "be above 0, the head zero or more, the share above 0 and at most 1",
            code="gutter-outlet",
        )
    weir = weir_coefficient * wetted_share * perimeter_m * head_m**1.5
    orifice = orifice_coefficient * area_m2 * math.sqrt(2.0 * GRAVITY_M_S2 * head_m)
    return float(min(weir, orifice))
