"""Where an overflow lets go: grate, pop-up emitter, level spreader; the head that each needs, and how fast water leaves.

All heads are over the lip, which is the level at which the first water would run if nothing lay on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import assert_never

from roofwell.errors import InputError
from roofwell.physics.well.overflow import GRAVITY_M_S2, grate_capacity_m3_s, head_over_grate_m

WATER_KG_M3 = 1000.0


@dataclass(frozen=True, slots=True)
class Grate:
    """Bars over an opening, level with its edge. ``perimeter_m``: edge; ``open_area_m2``: clear area."""

    perimeter_m: float
    open_area_m2: float


@dataclass(frozen=True, slots=True)
class PopUp:
    """A lid that lies on a round opening until water lifts it.

    ``lift_head_m``: water over the lip that lifts it, 0 or more (``lift_head_m``, the function); ``travel_m``: how far
    it rises, above 0: the gap all around is then the way out.
    """

    diameter_m: float
    lift_head_m: float
    travel_m: float


@dataclass(frozen=True, slots=True)
class Spreader:
    """A level lip of ``length_m``, over which water leaves as a sheet."""

    length_m: float


Mouth = Grate | PopUp | Spreader


@dataclass(frozen=True, slots=True)
class Coefficients:
    """Weir coefficients (m^(1/2)/s) of an edge and of a broad level lip, and the orifice coefficient; all above 0."""

    weir_si: float
    lip_si: float
    orifice: float


def lift_head_m(*, lid_kg: float, diameter_m: float) -> float:
    """Return the water over the lip that lifts a lid, m: its weight over the area on which the water presses.

    Raises
    ------
    InputError
        ``mouth-number`` for a mass below 0 or a diameter not above 0.

    Notes
    -----
    m g = ρ g h π d²/4 (hydrostatics); friction of a guide, dirt and ice come on top.
    """
    if not (0.0 <= lid_kg < math.inf and 0.0 < diameter_m < math.inf):
        raise InputError(f"a lid of {lid_kg} kg on an opening of {diameter_m} m", code="mouth-number")
    return lid_kg / (WATER_KG_M3 * math.pi * diameter_m**2 / 4.0)


def head_m(mouth: Mouth, *, flow_m3_s: float, by: Coefficients, clogged_fraction: float = 0.0) -> float:
    """Return the water over the lip that a flow needs, m; 0 for no flow.

    Raises
    ------
    InputError
        ``mouth-number`` or ``grate-number`` for what lies outside the ranges of the fields, for a flow below 0 and a
        clogged share below 0 or from 1 on.

    Notes
    -----
    Grate: weir, then orifice (see ``overflow``). Pop-up: never less than what lifts the lid; open, the edge as a weir and
    the gap under the lid as an orifice, or the opening itself where it is the smaller: the deepest decides. Spreader:
    Q = C L h^1.5 over a broad lip. A clogged share is taken off edge, gap, opening and lip alike.
    """
    _check(mouth, flow_m3_s, clogged_fraction)
    if flow_m3_s == 0.0:
        return 0.0
    free = 1.0 - clogged_fraction
    match mouth:
        case Grate():
            return head_over_grate_m(
                flow_m3_s=flow_m3_s,
                perimeter_m=mouth.perimeter_m,
                open_area_m2=mouth.open_area_m2,
                weir_coefficient_si=by.weir_si,
                orifice_coefficient=by.orifice,
                clogged_fraction=clogged_fraction,
            )
        case PopUp():
            edge, gap = math.pi * mouth.diameter_m, _gap_m2(mouth)
            weir = (flow_m3_s / (by.weir_si * edge * free)) ** (2.0 / 3.0)
            orifice = (flow_m3_s / (by.orifice * gap * free)) ** 2 / (2.0 * GRAVITY_M_S2)
            return float(max(weir, orifice, mouth.lift_head_m))
        case Spreader():
            return float((flow_m3_s / (by.lip_si * mouth.length_m * free)) ** (2.0 / 3.0))
        case _ as unknown:
            assert_never(unknown)


def pipe_takes_in_m3_s(*, diameter_m: float, head_m: float) -> float:
    """Return the most that a pipe can take in, m³/s: its bore at the speed of a fall over ``head_m``, nothing lost.

    Both above 0 or ``InputError`` (``mouth-number``); a bound from above, with no contraction and no friction.
    """
    if not (diameter_m > 0 and head_m >= 0):
        raise InputError(f"a pipe of {diameter_m} m under {head_m} m of water", code="mouth-number")
    return math.pi * diameter_m**2 / 4 * math.sqrt(2.0 * GRAVITY_M_S2 * head_m)


def capacity_m3_s(mouth: Mouth, *, head_m: float, by: Coefficients, clogged_fraction: float = 0.0) -> float:
    """Return the flow that leaves under a head over the lip, m³/s; the inverse of ``head_m``, 0 under a lid that lies.

    Raises
    ------
    InputError
        ``mouth-number`` or ``grate-number``, as for ``head_m``.
    """
    _check(mouth, head_m, clogged_fraction)
    free = 1.0 - clogged_fraction
    match mouth:
        case Grate():
            return grate_capacity_m3_s(
                head_m=head_m,
                perimeter_m=mouth.perimeter_m,
                open_area_m2=mouth.open_area_m2,
                weir_coefficient_si=by.weir_si,
                orifice_coefficient=by.orifice,
                clogged_fraction=clogged_fraction,
            )
        case PopUp():
            if head_m < mouth.lift_head_m:
                return 0.0
            weir = by.weir_si * math.pi * mouth.diameter_m * free * head_m**1.5
            orifice = by.orifice * _gap_m2(mouth) * free * math.sqrt(2.0 * GRAVITY_M_S2 * head_m)
            return float(min(weir, orifice))
        case Spreader():
            return float(by.lip_si * mouth.length_m * free * head_m**1.5)
        case _ as unknown:
            assert_never(unknown)


def leaving_speed_m_s(*, head_m: float, drop_m: float, sheet: bool) -> float:
    """Return how fast water that left over a lip reaches the ground, m/s.

    Parameters
    ----------
    head_m
        Water over the lip, m; 0 or more.
    drop_m
        Lip over the ground, m; 0 or more.
    sheet
        Whether it leaves as a sheet over an edge (critical depth), else as a jet through openings.

    Raises
    ------
    InputError
        ``mouth-number`` for a head or drop below 0.

    Notes
    -----
    Bernoulli: a jet has v² = 2 g h; a sheet at critical depth, two thirds of the head, has v² = 2 g h / 3; the drop adds
    2 g z. Nothing is lost on the way, so it is no less than what the lawn feels.
    """
    if not (0.0 <= head_m < math.inf and 0.0 <= drop_m < math.inf):
        raise InputError(f"{head_m} m of water over a lip {drop_m} m over the ground", code="mouth-number")
    own = 2.0 * GRAVITY_M_S2 * head_m / (3.0 if sheet else 1.0)
    return math.sqrt(own + 2.0 * GRAVITY_M_S2 * drop_m)


def spread_speed_m_s(*, flow_m3_s: float, width_m: float) -> float:
    """Return the speed of a flow that leaves a level block of ``width_m`` over its whole width, m/s.

    Raises
    ------
    InputError
        ``mouth-number`` for a flow below 0 or a width not above 0.

    Notes
    -----
    Critical flow: v = (g q)^(1/3), q the flow for each meter of width.
    """
    if not (0.0 <= flow_m3_s < math.inf and 0.0 < width_m < math.inf):
        raise InputError(f"{flow_m3_s} m³/s over a block {width_m} m wide", code="mouth-number")
    return float((GRAVITY_M_S2 * flow_m3_s / width_m) ** (1.0 / 3.0))


def is_sheet(mouth: Mouth, *, flow_m3_s: float, by: Coefficients, clogged_fraction: float = 0.0) -> bool:
    """Return whether the edge, not an opening, decides how a flow leaves."""
    if isinstance(mouth, Spreader):
        return True
    edge = math.pi * mouth.diameter_m if isinstance(mouth, PopUp) else mouth.perimeter_m
    weir = (flow_m3_s / (by.weir_si * edge * (1.0 - clogged_fraction))) ** (2.0 / 3.0)
    needed = head_m(mouth, flow_m3_s=flow_m3_s, by=by, clogged_fraction=clogged_fraction)
    return bool(needed <= weir * (1 + 1e-9))


def _gap_m2(mouth: PopUp) -> float:
    """The gap all around under the open lid, or the opening where that is smaller."""
    return min(math.pi * mouth.diameter_m * mouth.travel_m, math.pi * mouth.diameter_m**2 / 4.0)


def _check(mouth: Mouth, value: float, clogged: float) -> None:
    if not 0.0 <= value < math.inf:
        raise InputError(f"{value} at a way out; give 0 or more", code="mouth-number")
    if not 0.0 <= clogged < 1.0:
        raise InputError(f"{clogged} of it clogged; give a share from 0 to below 1", code="mouth-number")
    sizes = {
        Grate: ("perimeter_m", "open_area_m2"),
        PopUp: ("diameter_m", "travel_m"),
        Spreader: ("length_m",),
    }[type(mouth)]
    for name in sizes:
        size = getattr(mouth, name)
        if not 0.0 < size < math.inf:
            raise InputError(f"{name} {size}; it must be above 0", code="mouth-number")
    if isinstance(mouth, PopUp) and not 0.0 <= mouth.lift_head_m < math.inf:
        raise InputError(f"lift_head_m {mouth.lift_head_m}; give 0 or more", code="mouth-number")
