"""Saturated conductivity from holes in which water stands at a depth: Glover, Elrick-Reynolds, two heads.

Conductivity is what the soil passes under a gradient of one when its pores are as full as they get in the field
(field-saturated, some air stays trapped). The rate at a hole's wall is higher: water spreads to all sides, and dry
soil around pulls at it. Elrick-Reynolds takes out both, Glover the first only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from roofwell.errors import InputError
from roofwell.physics.kept import kept
from roofwell.physics.soil.infiltration import shape_factor

GLOVER_LEAST_HEAD_OVER_RADIUS = 10.0
LEAST_HEAD_OVER_RADIUS, MOST_HEAD_OVER_RADIUS = 0.5, 20.0
_STEPS = 64  # Simpson; the integrand is smooth, and 64 steps leave an error below 1e-9 of it


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{name} is {value}; it must be above 0", code="soil-number")


def _flow(flow_m3_s: float) -> None:
    if not (math.isfinite(flow_m3_s) and flow_m3_s >= 0):
        raise InputError(f"flow_m3_s is {flow_m3_s}; it must be at least 0", code="soil-number")


def glover_bracket(head_over_radius: float) -> float:
    """Return asinh(x) - sqrt(1 + 1/x²) + 1/x, the shape of Glover's hole far above the water table.

    x is head over radius, above 0. It holds from about 10 on; below that it takes away too much and gives too high a
    conductivity. Source: USBR 7300-89, condition I (from memory). Raises ``soil-number``.
    """
    _positive(head_over_radius=head_over_radius)
    x = head_over_radius
    return math.asinh(x) - math.sqrt(1 + 1 / x**2) + 1 / x


def glover_conductivity_m_s(
    *, flow_m3_s: float, head_m: float, radius_m: float, water_table_m: float | None = None
) -> float:
    """Return the saturated conductivity of a constant-head hole by Glover, capillarity not taken out, m/s.

    Parameters
    ----------
    flow_m3_s
        Steady flow into the hole that keeps the water at its level, m³/s; 0 or more.
    head_m, radius_m
        Water depth over the bottom and radius of the round hole, m; head over radius at least 10 (enforced).
    water_table_m
        Depth from the water in the hole to the water table or a barrier, m, at least ``head_m`` (enforced); left out
        or more than three times the head: deep (condition I), else shallow (condition II).

    Raises
    ------
    InputError
        ``soil-number``, ``soil-range``.

    Notes
    -----
    I: K = Q / (2 pi H²) [asinh(H/r) - sqrt(1 + r²/H²) + r/H]. II: K = 3 Q ln(H/r) / [pi H (H + 2 Tu)].
    Source: USBR 7300-89 (from memory).

    >>> round(glover_conductivity_m_s(flow_m3_s=1, head_m=1.0, radius_m=0.1), 5)
    0.33315
    """
    _flow(flow_m3_s)
    _positive(head_m=head_m, radius_m=radius_m)
    x = head_m / radius_m
    if x < GLOVER_LEAST_HEAD_OVER_RADIUS * (1 - 1e-9):
        raise InputError(
            f"head over radius is {x:.3g}; Glover holds from 10 on, take Elrick-Reynolds", code="soil-range"
        )
    if water_table_m is None or water_table_m > 3 * head_m:
        return flow_m3_s / (2 * math.pi * head_m**2) * glover_bracket(x)
    if not water_table_m >= head_m:
        raise InputError(
            f"the water table lies {water_table_m} m under the water in the hole, which is {head_m} m deep; it must "
            "lie below the bottom",
            code="soil-range",
        )
    return 3 * flow_m3_s * math.log(x) / (math.pi * head_m * (head_m + 2 * water_table_m))


def well_conductivity_m_s(
    *, flow_m3_s: float, head_m: float, radius_m: float, alpha_star_per_m: float
) -> float:
    """Return the field-saturated conductivity of a constant-head hole by Elrick and Reynolds, one head, m/s.

    K = C Q / (2 pi H² + pi a² C + 2 pi H / alpha*), with the shape factor of `shape_factor` (head over radius 0.5 to
    20, enforced). ``alpha_star_per_m`` is the capillarity class of the soil. Source: layout seen on a field sheet.
    Raises ``InputError`` (``soil-number``, ``soil-range``).

    >>> k = well_conductivity_m_s(flow_m3_s=1e-6, head_m=0.15, radius_m=0.03, alpha_star_per_m=12)
    >>> round(k * 100 * 1e4, 3)  # 1e-4 cm/s
    7.421
    """
    _flow(flow_m3_s)
    return flow_m3_s / _flow_per_conductivity_m2(head_m, radius_m, alpha_star_per_m)


def _flow_per_conductivity_m2(head_m: float, radius_m: float, alpha_star_per_m: float) -> float:
    """Return Q / K of a ponded hole, m²."""
    c = shape_factor(head_m=head_m, radius_m=radius_m, alpha_star_per_m=alpha_star_per_m)
    area = 2 * math.pi * head_m**2 + math.pi * radius_m**2 * c + 2 * math.pi * head_m / alpha_star_per_m
    return area / c


def well_flow_per_conductivity_m2(*, head_m: float, radius_m: float, alpha_star_per_m: float) -> float:
    """Return what a ponded hole takes in per conductivity, Q / K, m²: the same formula turned over.

    Arguments, range and errors as `well_conductivity_m_s`.
    """
    return _flow_per_conductivity_m2(head_m, radius_m, alpha_star_per_m)


@dataclass(frozen=True, slots=True)
class TwoHeads:
    """What two heads in one hole say: conductivity, m/s; matric flux potential, m²/s; their ratio alpha*, 1/m.

    ``sensible`` is False where conductivity or potential come out at 0 or below, as they do in layered or cracked
    soil: the two heads then wet different soils, and one head with a capillarity class has to serve.
    """

    conductivity_m_s: float
    matric_flux_potential_m2_s: float
    alpha_star_per_m: float
    sensible: bool


def two_heads(
    *,
    flows_m3_s: tuple[float, float],
    heads_m: tuple[float, float],
    radius_m: float,
    alpha_star_per_m: float,
) -> TwoHeads:
    """Solve conductivity and capillarity from steady flows at two heads in one hole (Elrick and Reynolds).

    Parameters
    ----------
    flows_m3_s, heads_m
        Steady flow (m³/s, 0 or more) and water depth (m) of the lower head first; the second head is higher.
    radius_m
        Radius of the hole, m.
    alpha_star_per_m
        Capillarity class, 1/m, for the choice of the shape factor alone.

    Raises
    ------
    InputError
        ``soil-number``, ``soil-range``.

    Notes
    -----
    Q_i C_i = K (2 pi H_i² + pi a² C_i) + 2 pi H_i phi for both heads, two equations for K and phi; alpha* = K / phi.
    Source: as the one-head form; the field sheet prints its solution for one instrument.
    """
    (q1, q2), (h1, h2) = flows_m3_s, heads_m
    for flow in (q1, q2):
        _flow(flow)
    if not h2 > h1:
        raise InputError(f"the heads are {h1} and {h2} m; the second must be higher", code="soil-range")
    c1, c2 = (shape_factor(head_m=h, radius_m=radius_m, alpha_star_per_m=alpha_star_per_m) for h in (h1, h2))
    pi, a2 = math.pi, radius_m**2
    first = (2 * pi * h1**2 + pi * a2 * c1, 2 * pi * h1, q1 * c1)
    second = (2 * pi * h2**2 + pi * a2 * c2, 2 * pi * h2, q2 * c2)
    determinant = first[0] * second[1] - second[0] * first[1]
    k = (first[2] * second[1] - second[2] * first[1]) / determinant
    phi = (first[0] * second[2] - second[0] * first[2]) / determinant
    sensible = k > 0 and phi > 0
    return TwoHeads(k, phi, k / phi if sensible else math.nan, sensible)


@kept(256)
def falling_conductivity_m_s(
    *,
    radius_m: float,
    water_start_m: float,
    water_end_m: float,
    time_s: float,
    alpha_star_per_m: float,
    water_area_m2: float | None = None,
) -> float:
    """Return the field-saturated conductivity behind a fall of the water, Elrick-Reynolds at every depth, m/s.

    Parameters
    ----------
    radius_m
        Radius of the round hole, m; of a pit, that of the circle with its floor's area.
    water_start_m, water_end_m
        Water depth over the bottom, m; both between 0.5 and 20 radii (enforced), the end no higher than the start.
    time_s
        Time between them, s; above 0.
    alpha_star_per_m
        Capillarity class of the soil, 1/m.
    water_area_m2
        Volume of water per depth of the hole, m²; its floor where left out, less where it is filled with stone.

    Raises
    ------
    InputError
        ``soil-number``, ``soil-range``, ``soil-water``.

    Notes
    -----
    K t is the integral of (water area) / (Q/K) over the depth: the flow at each depth is taken as the steady one.
    The mean-depth form of percolation times is its one-step case. Derived.
    """
    _positive(radius_m=radius_m, water_start_m=water_start_m, time_s=time_s)
    if not 0 <= water_end_m <= water_start_m:
        raise InputError(
            f"the water went from {water_start_m} to {water_end_m} m over the bottom; it must fall",
            code="soil-water",
        )
    area = math.pi * radius_m**2 if water_area_m2 is None else water_area_m2
    _positive(water_area_m2=area)
    depths = np.linspace(water_end_m, water_start_m, _STEPS + 1)
    values = np.array(
        [area / _flow_per_conductivity_m2(float(h), radius_m, alpha_star_per_m) for h in depths]
    )
    weights = np.ones(_STEPS + 1)
    weights[1:-1:2], weights[2:-1:2] = 4.0, 2.0
    step = (water_start_m - water_end_m) / _STEPS
    return float(weights @ values) * step / 3 / time_s


def ring_rate_m_s(*, volume_m3: float, inner_area_m2: float, time_s: float) -> float:
    """Return what goes down inside the inner of two rings per area and time, m/s: I = V / (A t).

    The outer ring feeds what spreads sideways, so the inner one is nearly a flow straight down under a gradient of one,
    and its steady rate nearly the vertical conductivity. Source: ASTM D3385 (from memory). Raises ``soil-number``
    unless area and time are above 0 and the volume at least 0.
    """
    _positive(inner_area_m2=inner_area_m2, time_s=time_s)
    if not (math.isfinite(volume_m3) and volume_m3 >= 0):
        raise InputError(f"volume_m3 is {volume_m3}; it must be at least 0", code="soil-number")
    return volume_m3 / (inner_area_m2 * time_s)


def filled_pit_rate_m_s(
    *,
    floor_m2: float,
    perimeter_m: float,
    water_start_m: float,
    water_end_m: float,
    time_s: float,
    voids: float = 1.0,
) -> float:
    """Return the rate of a pit of any plan, filled and timed, by the exact balance of walls and floor.

    I = voids A / (P t) ln[(A + P H0) / (A + P H1)]; of a round hole this is `falling_head_rate_m_s`. Floor, perimeter,
    starting depth and time are above 0, the end is 0 (empty) to the start, voids above 0 and at most 1. Derived.
    Raises ``soil-number``, ``soil-water``.
    """
    _positive(
        floor_m2=floor_m2, perimeter_m=perimeter_m, water_start_m=water_start_m, time_s=time_s, voids=voids
    )
    if voids > 1:
        raise InputError(f"voids is {voids}; it must be at most 1", code="soil-number")
    if not 0 <= water_end_m <= water_start_m:
        raise InputError(
            f"the water went from {water_start_m} to {water_end_m} m over the floor; it must fall",
            code="soil-water",
        )
    wetted_end = floor_m2 + perimeter_m * water_end_m
    ratio = math.log1p(perimeter_m * (water_start_m - water_end_m) / wetted_end)
    return voids * floor_m2 / (perimeter_m * time_s) * ratio


def filled_pit_time_s(
    *, floor_m2: float, perimeter_m: float, water_start_m: float, water_end_m: float, rate_m_s: float
) -> float:
    """Return the time in which a filled pit falls from one depth to another at a rate, s.

    `filled_pit_rate_m_s` turned over, for an open pit; ``rate_m_s`` above 0. Raises ``soil-number``, ``soil-water``.
    """
    _positive(rate_m_s=rate_m_s)
    one_second = filled_pit_rate_m_s(
        floor_m2=floor_m2,
        perimeter_m=perimeter_m,
        water_start_m=water_start_m,
        water_end_m=water_end_m,
        time_s=1.0,
    )
    return one_second / rate_m_s
