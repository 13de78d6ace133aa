"""The grate through which a full well spills: a weir under shallow water, an orifice under deep water."""

from __future__ import annotations

import math

from roofwell.errors import InputError

GRAVITY_M_S2 = 9.80665


def grate_capacity_m3_s(
    *,
    head_m: float,
    perimeter_m: float,
    open_area_m2: float,
    weir_coefficient_si: float,
    orifice_coefficient: float,
    clogged_fraction: float = 0.0,
) -> float:
    """Return the flow through a grate under ``head_m`` of water, m³/s: the lesser of weir and orifice.

    Parameters
    ----------
    head_m
        Depth of water over the grate, m; 0 or more.
    perimeter_m
        Edge over which water falls in or out, m; a side against a wall does not count, bars are ignored.
    open_area_m2
        Clear area of the openings, m².
    weir_coefficient_si
        Weir coefficient in m^(1/2)/s: 1.66 (3.0 in ft^(1/2)/s).
    orifice_coefficient
        Orifice coefficient: 0.67.
    clogged_fraction
        Share of perimeter and area that leaves have closed, 0 to below 1.

    Raises
    ------
    InputError
        ``grate-number`` outside those ranges.

    Notes
    -----
    Q = Cw P h^1.5 and Q = Co A (2 g h)^(1/2). Source: TxDOT Hydraulic Design Manual, chapter 10, equations
    10-30 and 10-31 (grates in a sag; the same coefficients as HEC-22). Outflow through a grate is reckoned
    alike, with the head above the grate (common practice, no source).
    """
    edge, area = _clear(perimeter_m, open_area_m2, weir_coefficient_si, orifice_coefficient, clogged_fraction)
    if not 0.0 <= head_m < math.inf:
        raise InputError(f"{head_m} m of water over a grate; give 0 or more", code="grate-number")
    weir = weir_coefficient_si * edge * head_m**1.5
    orifice = orifice_coefficient * area * math.sqrt(2.0 * GRAVITY_M_S2 * head_m)
    return float(min(weir, orifice))


def head_over_grate_m(
    *,
    flow_m3_s: float,
    perimeter_m: float,
    open_area_m2: float,
    weir_coefficient_si: float,
    orifice_coefficient: float,
    clogged_fraction: float = 0.0,
) -> float:
    """Return the depth of water over a grate that passes ``flow_m3_s``, m; the inverse of the capacity.

    Raises
    ------
    InputError
        ``grate-number``, as for `grate_capacity_m3_s`.
    """
    edge, area = _clear(perimeter_m, open_area_m2, weir_coefficient_si, orifice_coefficient, clogged_fraction)
    if not 0.0 <= flow_m3_s < math.inf:
        raise InputError(f"{flow_m3_s} m³/s through a grate; give 0 or more", code="grate-number")
    weir = (flow_m3_s / (weir_coefficient_si * edge)) ** (2.0 / 3.0)
    orifice = (flow_m3_s / (orifice_coefficient * area)) ** 2 / (2.0 * GRAVITY_M_S2)
    # Each must be able to pass it, so the deeper water decides.
    return float(max(weir, orifice))


def _clear(perimeter: float, area: float, weir: float, orifice: float, clogged: float) -> tuple[float, float]:
    given = {
        "perimeter (m)": perimeter,
        "open area (m²)": area,
        "weir coefficient": weir,
        "orifice coefficient": orifice,
    }
    for what, value in given.items():
        if not 0.0 < value < math.inf:
            raise InputError(f"grate with {what} {value}; it must be above 0", code="grate-number")
    if not 0.0 <= clogged < 1.0:
        raise InputError(f"{clogged} of a grate clogged; give a share from 0 to below 1", code="grate-number")
    return perimeter * (1.0 - clogged), area * (1.0 - clogged)
