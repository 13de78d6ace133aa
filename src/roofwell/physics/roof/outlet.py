"""The hole in the floor of a gutter: what it passes under a depth of water, and the depth that a flow needs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from roofwell.errors import InputError

GRAVITY_M_S2 = 9.80665

# 3.0 ft^0.5/s and the usual 0.6: weir over the rim of the outlet, and orifice through it.
WEIR_SI = 3.0 * math.sqrt(0.3048)
ORIFICE = 0.6

Governs = Literal["weir", "orifice"]


@dataclass(frozen=True, slots=True)
class GutterOutlet:
    """A hole in the floor of a gutter. ``rim_m``: length of its rim that water reaches, m; ``area_m2``.

    Weir coefficient in m^0.5/s (1.656 is 3.0 in feet); orifice coefficient 0.6 for a sharp edge.

    Raises
    ------
    InputError
        ``gutter-outlet`` for a value not above zero.
    """

    rim_m: float
    area_m2: float
    weir_coefficient: float = WEIR_SI
    orifice_coefficient: float = ORIFICE

    def __post_init__(self) -> None:
        values = (self.rim_m, self.area_m2, self.weir_coefficient, self.orifice_coefficient)
        if not all(0 < value < math.inf for value in values):
            raise InputError(
                f"outlet with {self.rim_m:g} m of rim and {self.area_m2:g} m², coefficients "
                f"{self.weir_coefficient:g} and {self.orifice_coefficient:g}: all must be above 0",
                code="gutter-outlet",
            )


def opening(
    *,
    diameter_m: float | None = None,
    width_m: float | None = None,
    breadth_m: float | None = None,
    wetted_share: float = 0.5,
    weir_coefficient: float = WEIR_SI,
    orifice_coefficient: float = ORIFICE,
) -> GutterOutlet:
    """Return the outlet of a round opening (``diameter_m``) or a rectangular one (``width_m``, ``breadth_m``).

    ``wetted_share``: share of the rim that water reaches; above 0, at most 1. In a gutter's floor about a half:
    the outlet nearly fills its width, so water comes over the two sides across the gutter only.

    Raises
    ------
    InputError
        ``gutter-outlet``.
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
    if not (all(0 < size < math.inf for size in sizes) and 0 < wetted_share <= 1):
        raise InputError(
            f"outlet of {sizes} m, share of the rim {wetted_share:g}: sizes must be above 0, the share above 0 "
            "and at most 1",
            code="gutter-outlet",
        )
    return GutterOutlet(wetted_share * perimeter_m, area_m2, weir_coefficient, orifice_coefficient)


def outlet_flow_m3_s(outlet: GutterOutlet, *, head_m: float) -> float:
    """Return the flow through the hole under ``head_m`` of water, m³/s: the lesser of weir and orifice.

    Weir C P h^1.5 over the rim that is reached, orifice C A sqrt(2 g h) through the whole opening. A strainer is
    not counted: reduce the rim and the area for it. Raises ``InputError`` (``gutter-outlet``) for a head below 0.
    """
    if not 0 <= head_m < math.inf:
        raise InputError(f"head on the outlet is {head_m:g} m; it must be zero or more", code="gutter-outlet")
    weir = outlet.weir_coefficient * outlet.rim_m * head_m**1.5
    orifice = outlet.orifice_coefficient * outlet.area_m2 * math.sqrt(2.0 * GRAVITY_M_S2 * head_m)
    return float(min(weir, orifice))


def head_on_outlet_m(outlet: GutterOutlet, *, flow_m3_s: float) -> float:
    """Return the depth of water that a flow needs over the hole, m: the greater of weir and orifice head.

    Raises ``InputError`` (``gutter-outlet``) for a flow below zero.
    """
    if not 0 <= flow_m3_s < math.inf:
        raise InputError(
            f"flow into the outlet is {flow_m3_s:g} m³/s; it must be 0 or more", code="gutter-outlet"
        )
    weir = (flow_m3_s / (outlet.weir_coefficient * outlet.rim_m)) ** (2 / 3)
    orifice = (flow_m3_s / (outlet.orifice_coefficient * outlet.area_m2)) ** 2 / (2.0 * GRAVITY_M_S2)
    return float(max(weir, orifice))


def outlet_acts_as(outlet: GutterOutlet, *, flow_m3_s: float) -> Governs:
    """Say whether a flow is held by the rim or by the hole. Raises ``InputError`` (``gutter-outlet``)."""
    head_m = head_on_outlet_m(outlet, flow_m3_s=flow_m3_s)
    weir = outlet.weir_coefficient * outlet.rim_m * head_m**1.5
    return "weir" if weir <= flow_m3_s * (1 + 1e-9) else "orifice"
