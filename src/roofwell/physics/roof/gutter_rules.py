"""What codes and handbooks let a gutter carry: rules that stand beside the theory, each with its edition."""

from __future__ import annotations

import math

import numpy as np

from roofwell.errors import InputError
from roofwell.physics.roof.gutter_section import GutterSection

# One inch an hour on one square foot, m³/s.
_INCH_HOUR_FOOT2 = 0.0254 * 0.3048**2 / 3600.0
_FOOT_M = 0.3048


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
            "another rule for other sections",
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


def capacity_american_m3_s(section: GutterSection, *, length_m: float) -> float:
    """Return the flow of a level gutter by the American handbook formulas, m³/s (from memory).

    Parameters
    ----------
    section
        Half-round; or box, depth 0.5 to 1.25 of the width. An ogee is taken as the box of the same area and
        depth, as a handbook of copper gutters says for irregular shapes.
    length_m
        Length that drains to one outlet from one side, m; above 0.

    Raises
    ------
    InputError
        ``gutter-number``; ``gutter-proportion`` for a box outside the range.

    Notes
    -----
    Half-round W = 0.0182 (I A)^(2/5); box W = 0.0106 M^(−4/7) L^(3/28) (I A)^(5/14); W and L in ft, M the depth over
    the width, I A in in/h × ft². Fitted to tests of 1934 on level gutters; from memory, and within 11 % of theory.
    The range of M is our own: the formula was checked at 0.75 and 1.
    """
    if not 0 < length_m < math.inf:
        raise InputError(f"gutter length is {length_m:g} m; it must be above 0", code="gutter-number")
    if section.shape == "half-round":
        return float((section.top_width_m / _FOOT_M / 0.0182) ** 2.5 * _INCH_HOUR_FOOT2)
    width_m = section.area_m2(section.depth_m) / section.depth_m
    proportion = section.depth_m / width_m
    if not 0.5 - 1e-9 <= proportion <= 1.25 + 1e-9:
        raise InputError(
            f"gutter is {proportion:.2f} as deep as wide; the formula holds for 0.5 to 1.25",
            code="gutter-proportion",
        )
    scale = 0.0106 * proportion ** (-4 / 7) * (length_m / _FOOT_M) ** (3 / 28)
    return float((width_m / _FOOT_M / scale) ** (14 / 5) * _INCH_HOUR_FOOT2)
