"""What a downspout (leader) can carry: a ring of water on the wall around a core of air.

In a house the outlet in the gutter nearly always carries less than the downspout below it; see
``roofwell.physics.roof.gutter.outlet_capacity_m3_s``.
"""

from __future__ import annotations

import math

from roofwell.errors import InputError

_GPM_M3_S = 3.785411784e-3 / 60.0
_INCH_M = 0.0254
# 27.8 gpm for a diameter of 1 in (Wyly and Eaton), as m³/s for a diameter of 1 m.
_WYLY_EATON_SI = 27.8 * _GPM_M3_S / _INCH_M ** (8 / 3)


def _positive(value: float, name: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} is {value:g} m; it must be above 0", code="downspout-number")


def annular_capacity_m3_s(*, diameter_m: float, fill: float = 7 / 24) -> float:
    """Return the flow of a vertical round downspout that is ``fill`` full, m³/s (Wyly and Eaton).

    Parameters
    ----------
    diameter_m
        Inside diameter, m; above 0.
    fill
        Share of the cross-section that is water, 0.20 to 0.35. The American codes of 2000 and 2006 use 7/24;
        the IPC table is what 0.345 gives.

    Raises
    ------
    InputError
        ``downspout-number``, ``downspout-fill``.

    Notes
    -----
    Q = 27.8 r^(5/3) d^(8/3), gpm and inches (NBS Monograph 31, 1961, from memory; it reproduces the code
    tables). Vertical, vented at the top, longer than the terminal length.

    >>> round(annular_capacity_m3_s(diameter_m=0.1016) * 1000, 2)
    9.07
    """
    _positive(diameter_m, "downspout diameter")
    if not 0.20 <= fill <= 0.35:
        raise InputError(f"fill is {fill:g}; annular flow is known for 0.20 to 0.35", code="downspout-fill")
    return float(_WYLY_EATON_SI * fill ** (5 / 3) * diameter_m ** (8 / 3))


def annular_capacity_en_m3_s(
    *, diameter_m: float, fill: float = 0.33, wall_roughness_m: float = 0.25e-3
) -> float:
    """Return the flow of a vertical round downspout by the European form of the same law, m³/s.

    Parameters
    ----------
    diameter_m
        Inside diameter, m; above 0.
    fill
        Filling degree, 0.20 to 0.33.
    wall_roughness_m
        Roughness of the wall, m; above 0 (the standard takes 0.25 mm).

    Raises
    ------
    InputError
        ``downspout-number``, ``downspout-fill``.

    Notes
    -----
    Q = 2.5e-4 kb^(-1/6) d^(8/3) f^(5/3), L/s and mm; EN 12056-3, read in a reference page.
    """
    _positive(diameter_m, "downspout diameter")
    _positive(wall_roughness_m, "wall roughness")
    if not 0.20 <= fill <= 1 / 3:  # the standard writes a third as 0.33
        raise InputError(
            f"filling degree is {fill:g}; the standard allows 0.20 to 0.33", code="downspout-fill"
        )
    litres_s = 2.5e-4 * (1e3 * wall_roughness_m) ** (-1 / 6) * (1e3 * diameter_m) ** (8 / 3) * fill ** (5 / 3)
    return float(litres_s / 1e3)


def equivalent_diameter_m(*, width_m: float, breadth_m: float) -> float:
    """Return the diameter of the round downspout with the area of a rectangular one, m.

    Raises
    ------
    InputError
        ``downspout-number``; ``downspout-sides`` where one side is more than three times the other, beyond
        which the codes do not allow the exchange (UPC 2000, note to the leader table).
    """
    _positive(width_m, "downspout width")
    _positive(breadth_m, "downspout breadth")
    ratio = max(width_m, breadth_m) / min(width_m, breadth_m)
    if ratio > 3.0 + 1e-9:
        raise InputError(
            f"downspout sides are {ratio:.2f} : 1; the exchange for a round one holds up to 3 : 1",
            code="downspout-sides",
        )
    return math.sqrt(4.0 * width_m * breadth_m / math.pi)


def terminal_velocity_m_s(*, flow_m3_s: float, diameter_m: float) -> float:
    """Return the velocity that the ring of water reaches in a tall downspout, m/s.

    V = 3.0 (q/d)^0.4 ft/s, gpm and inches (NBS Monograph 31, from memory).

    Raises
    ------
    InputError
        ``downspout-number``.
    """
    _positive(diameter_m, "downspout diameter")
    if not flow_m3_s >= 0:
        raise InputError(f"flow is {flow_m3_s:g} m³/s; it must be zero or more", code="downspout-number")
    return float(3.0 * 0.3048 * (flow_m3_s / _GPM_M3_S / (diameter_m / _INCH_M)) ** 0.4)


def terminal_length_m(*, flow_m3_s: float, diameter_m: float) -> float:
    """Return the fall needed to reach the terminal velocity, m: 0.052 V² ft with V in ft/s (from memory)."""
    velocity_ft_s = terminal_velocity_m_s(flow_m3_s=flow_m3_s, diameter_m=diameter_m) / 0.3048
    return 0.3048 * 0.052 * velocity_ft_s**2
