"""What a downspout (leader) can carry: a ring of water on the wall around a core of air.

In a house the outlet in the gutter nearly always carries less than the downspout below it; see
``roofwell.physics.roof.outlet``. Where an offset under the gutter lies flat, its elbows may carry less still.
"""

from __future__ import annotations

import math

from roofwell.errors import InputError

_GPM_M3_S = 3.785411784e-3 / 60.0
_INCH_M = 0.0254
# 27.8 gpm for a diameter of 1 in (Wyly and Eaton), as m³/s for a diameter of 1 m.
_WYLY_EATON_SI = 27.8 * _GPM_M3_S / _INCH_M ** (8 / 3)
# The same law by area and perimeter: with A = π d²/4 and P = π d it is 27.8 r^(5/3) d^(8/3) again. Read as
# Manning on a vertical wall it is n = 0.0099.
_RING_SI = _WYLY_EATON_SI * 4.0 ** (5 / 3) / math.pi
_GRAVITY_M_S2 = 9.80665


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


def ring_capacity_m3_s(*, area_m2: float, perimeter_m: float, fill: float = 7 / 24) -> float:
    """Return the flow of a vertical downspout of any section that is ``fill`` full, m³/s.

    Parameters
    ----------
    area_m2, perimeter_m
        Of the inside, above 0. Fluted and corrugated pipe: the true area, and the perimeter along the flutes.
    fill
        Share of the cross-section that is water, 0.20 to 0.35.

    Raises
    ------
    InputError
        ``downspout-number``, also where the perimeter is shorter than that of the circle of this area;
        ``downspout-fill``.

    Notes
    -----
    Wyly and Eaton's law with the ring's hydraulic radius r A/P in place of r d/4: Q = C (r A)^(5/3) P^(−2/3). It
    gives their formula for a circle; for other sections it is derived, not tested: water gathers in corners.

    >>> circle = ring_capacity_m3_s(area_m2=math.pi * 0.1016**2 / 4, perimeter_m=math.pi * 0.1016)
    >>> round(circle * 1000, 2)
    9.07
    """
    if not (0 < area_m2 < math.inf and 0 < perimeter_m < math.inf):
        raise InputError(
            f"downspout has {area_m2:g} m² and {perimeter_m:g} m of wall; both must be above 0",
            code="downspout-number",
        )
    if perimeter_m < math.sqrt(4.0 * math.pi * area_m2) * (1 - 1e-6):
        raise InputError(
            f"{perimeter_m:g} m of wall cannot go round {area_m2:g} m²; a circle of it has "
            f"{math.sqrt(4.0 * math.pi * area_m2):.4g} m",
            code="downspout-number",
        )
    if not 0.20 <= fill <= 0.35:
        raise InputError(f"fill is {fill:g}; annular flow is known for 0.20 to 0.35", code="downspout-fill")
    return float(_RING_SI * (fill * area_m2) ** (5 / 3) / perimeter_m ** (2 / 3))


def offset_capacity_m3_s(
    *,
    area_m2: float,
    perimeter_m: float,
    head_m: float,
    drop_m: float,
    length_m: float,
    elbows: int,
    elbow_k: float,
    entrance_k: float,
    manning_n: float,
) -> float:
    """Return the flow through outlet, elbows and offset running full, m³/s: what the elbows let through.

    Parameters
    ----------
    area_m2, perimeter_m
        Of the inside, above 0.
    head_m
        Water over the outlet in the gutter, m; zero or more.
    drop_m
        Height from the gutter's floor down to the end of the last elbow of the offset, m; zero or more.
    length_m
        Length of pipe in it, m; zero or more.
    elbows, elbow_k, entrance_k
        Elbows and the velocity heads that each, and the entrance, lose; zero or more.
    manning_n
        Roughness, s/m^(1/3); zero or more.

    Raises
    ------
    InputError
        ``downspout-number``.

    Notes
    -----
    Energy: head + drop = (1 + K_entrance + N K_elbow + 2 g n² L / R^(4/3)) V²/2g. An upper bound: where air
    gets in, the pipe does not run full and carries less; then the ring or the outlet governs.
    """
    lengths = (head_m, drop_m, length_m, elbow_k, entrance_k, manning_n)
    if not (
        0 < area_m2 < math.inf
        and 0 < perimeter_m < math.inf
        and elbows >= 0
        and all(0 <= value < math.inf for value in lengths)
    ):
        raise InputError(
            f"offset of {length_m:g} m with {elbows} elbows, {drop_m:g} m of drop under {head_m:g} m of water: "
            "the section must be above 0, the rest zero or more",
            code="downspout-number",
        )
    radius_m = area_m2 / perimeter_m
    friction = 2.0 * _GRAVITY_M_S2 * manning_n**2 * length_m / radius_m ** (4 / 3)
    losses = 1.0 + entrance_k + elbows * elbow_k + friction
    return float(area_m2 * math.sqrt(2.0 * _GRAVITY_M_S2 * (head_m + drop_m) / losses))


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
