"""Steady uniform flow in a round pipe: Manning part full and full, critical depth, and Darcy beside it.

The depth is carried as the angle θ that the water surface makes at the center: y = D (1 − cos(θ/2)) / 2,
area D² (θ − sin θ) / 8, wetted perimeter D θ / 2, top width D sin(θ/2). The searches below are written out by
hand because a design calls them many thousand times.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

GRAVITY_M_S2 = 9.80665

# A pipe of constant n carries most at this angle: the root of 3 θ − 5 θ cos θ + 2 sin θ = 0.
ANGLE_OF_MOST_FLOW = 5.278107137933795
_TWO_PI = 2.0 * math.pi
_LAST_STEP = 1e-9  # of the angle: Newton's next step would be its square


@dataclass(frozen=True, slots=True)
class PipeSection:
    """The water in a round pipe at one depth: area, m²; wetted perimeter, hydraulic radius, top width, m."""

    area_m2: float
    wetted_perimeter_m: float
    hydraulic_radius_m: float
    top_width_m: float


@dataclass(frozen=True, slots=True)
class PipeFlow:
    """Uniform flow at one depth: discharge m³/s, mean velocity m/s, area m², hydraulic radius m."""

    flow_m3_s: float
    velocity_m_s: float
    area_m2: float
    hydraulic_radius_m: float


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not 0.0 < value < math.inf:
            raise InputError(f"pipe {name} is {value:g}; it must be above 0", code="pipe-number")


def _flow_not_negative(flow_m3_s: float) -> None:
    if not 0.0 <= flow_m3_s < math.inf:
        raise InputError(f"pipe flow is {flow_m3_s:g} m³/s; it must be zero or more", code="pipe-number")


def section(*, inside_diameter_m: float, depth_m: float) -> PipeSection:
    """Return area, wetted perimeter, hydraulic radius and top width of the water in a round pipe.

    Parameters
    ----------
    inside_diameter_m
        Inside (not nominal) diameter, m; above 0.
    depth_m
        Water depth over the invert, m; above 0, at most the diameter.

    Raises
    ------
    InputError
        ``pipe-number``; ``pipe-depth-over-crown`` if the water is deeper than the pipe.

    >>> round(section(inside_diameter_m=1.0, depth_m=0.1).area_m2, 6)
    0.040875
    """
    _above_zero(inside_diameter_m=inside_diameter_m, depth_m=depth_m)
    if depth_m > inside_diameter_m * (1 + 1e-12):
        raise InputError(
            f"water {depth_m:.3f} m deep does not fit a pipe of inside diameter {inside_diameter_m:.3f} m; "
            "use a larger pipe or a lower flow, or friction_slope() if the pipe runs under pressure",
            code="pipe-depth-over-crown",
        )
    angle = 2.0 * math.acos(max(-1.0, 1.0 - 2.0 * depth_m / inside_diameter_m))
    area_m2 = inside_diameter_m**2 * (angle - math.sin(angle)) / 8.0
    perimeter_m = inside_diameter_m * angle / 2.0
    top_width_m = max(0.0, inside_diameter_m * math.sin(angle / 2.0))
    return PipeSection(area_m2, perimeter_m, area_m2 / perimeter_m, top_width_m)


def part_full_flow(*, inside_diameter_m: float, depth_m: float, slope: float, manning_n: float) -> PipeFlow:
    """Flow carried by a circular pipe running part full, by Manning's formula.

    Parameters
    ----------
    inside_diameter_m
        Inside (not nominal) diameter, m; above 0.
    depth_m
        Water depth over the invert, m; above 0, at most the diameter.
    slope
        Fall per length of pipe, m/m (2 % is 0.02); above 0.
    manning_n
        Roughness, s/m^(1/3); held constant with depth.

    Returns
    -------
    PipeFlow
        Discharge, mean velocity, wetted area, hydraulic radius.

    Raises
    ------
    InputError
        ``pipe-number`` if a value is not above zero;
        ``pipe-depth-over-crown`` if the water is deeper than the pipe.

    Notes
    -----
    V = R^(2/3) S^(1/2) / n. Carries most at depth/diameter = 0.938 (1.076 times running full). Holds for
    steady uniform flow only: no backwater, no pressure. With a roughness that grows at part depth (Camp) the
    flow at half depth is nearer 0.40 of full than 0.50.

    >>> f = part_full_flow(inside_diameter_m=0.100, depth_m=0.050, slope=0.01, manning_n=0.011)
    >>> round(f.flow_m3_s * 1000, 3), round(f.velocity_m_s, 3)
    (3.052, 0.777)
    """
    _above_zero(slope=slope, manning_n=manning_n)
    water = section(inside_diameter_m=inside_diameter_m, depth_m=depth_m)
    velocity_m_s = water.hydraulic_radius_m ** (2 / 3) * math.sqrt(slope) / manning_n
    return PipeFlow(velocity_m_s * water.area_m2, velocity_m_s, water.area_m2, water.hydraulic_radius_m)


def full_velocity_m_s(*, inside_diameter_m: float, slope: float, manning_n: float) -> float:
    """Return the mean velocity of a pipe running just full, m/s; arguments as ``part_full_flow``."""
    _above_zero(inside_diameter_m=inside_diameter_m, slope=slope, manning_n=manning_n)
    return float((inside_diameter_m / 4.0) ** (2 / 3) * math.sqrt(slope) / manning_n)


def full_flow_m3_s(*, inside_diameter_m: float, slope: float, manning_n: float) -> float:
    """Return the flow of a pipe running just full, m³/s; arguments and errors as ``part_full_flow``.

    The flow to design for: the 7.6 % more that a pipe carries at 0.938 of its depth is lost at a touch.
    """
    velocity_m_s = full_velocity_m_s(inside_diameter_m=inside_diameter_m, slope=slope, manning_n=manning_n)
    return velocity_m_s * math.pi * inside_diameter_m**2 / 4.0


def slope_for_full_velocity(*, velocity_m_s: float, inside_diameter_m: float, manning_n: float) -> float:
    """Return the slope at which a pipe running full has this velocity; errors as ``part_full_flow``."""
    _above_zero(velocity_m_s=velocity_m_s, inside_diameter_m=inside_diameter_m, manning_n=manning_n)
    return float((manning_n * velocity_m_s) ** 2 / (inside_diameter_m / 4.0) ** (4 / 3))


def friction_slope(*, flow_m3_s: float, inside_diameter_m: float, manning_n: float) -> float:
    """Return the slope of the grade line of a pipe that runs full, m/m (Manning).

    ``flow_m3_s`` zero or more; the others above 0. Raises ``InputError`` (``pipe-number``).
    """
    _flow_not_negative(flow_m3_s)
    _above_zero(inside_diameter_m=inside_diameter_m, manning_n=manning_n)
    velocity_m_s = 4.0 * flow_m3_s / (math.pi * inside_diameter_m**2)
    return float((manning_n * velocity_m_s) ** 2 / (inside_diameter_m / 4.0) ** (4 / 3))


class _Near:
    """A first guess of the angle at which a growing function has a value: from a table between ``low`` and ``high``,
    else ``beyond``. Two steps of Newton then do what seven did."""

    def __init__(
        self,
        function: Callable[[NDArray[np.float64]], NDArray[np.float64]],
        low: float,
        high: float,
        beyond: Callable[[float], float],
    ) -> None:
        fine = np.linspace(low, high, 8192)
        values = function(fine)
        even = np.linspace(values[0], values[-1], 1024)
        self.angles: list[float] = np.interp(even, values, fine).tolist()
        self.first, self.step, self.beyond = float(even[0]), float(even[1] - even[0]), beyond

    def __call__(self, value: float) -> float:
        place = (value - self.first) / self.step
        if not 0.0 <= place < len(self.angles) - 1:
            return self.beyond(value)
        left = int(place)
        return self.angles[left] + (place - left) * (self.angles[left + 1] - self.angles[left])


# For shallow water (θ − sin θ) is θ³/6: a first guess that is good there and harmless elsewhere.
_near_normal = _Near(
    lambda angle: 5 / 3 * np.log(angle - np.sin(angle)) - 2 / 3 * np.log(angle),
    0.3,
    0.999 * ANGLE_OF_MOST_FLOW,
    lambda value: min(math.exp((value + 5 / 3 * math.log(6.0)) / (13 / 3)), 0.999 * ANGLE_OF_MOST_FLOW),
)
_near_critical = _Near(
    lambda angle: 3.0 * np.log(angle - np.sin(angle)) - np.log(np.sin(angle / 2.0)),
    0.3,
    0.98 * _TWO_PI,
    lambda value: min(math.exp((value + math.log(108.0)) / 8.0), 0.75 * _TWO_PI),
)


def _normal_angle(flow_over_full: float) -> float | None:
    """Angle at which a pipe carries this share of its full flow, on the lower branch; None if it cannot."""
    target = math.log(flow_over_full * _TWO_PI)
    low, high = 0.0, ANGLE_OF_MOST_FLOW
    if target > 5 / 3 * math.log(high - math.sin(high)) - 2 / 3 * math.log(high):
        return None
    angle = _near_normal(target)
    for _ in range(60):
        sine = math.sin(angle)
        part = angle - sine if angle > 1e-3 else angle**3 / 6.0 * (1.0 - angle**2 / 20.0)
        error = 5 / 3 * math.log(part) - 2 / 3 * math.log(angle) - target
        if error > 0:
            high = angle
        else:
            low = angle
        step = error / (5 / 3 * (1.0 - math.cos(angle)) / part - 2 / 3 / angle)
        if abs(step) <= _LAST_STEP * angle:
            return angle - step
        new = angle - step
        angle = new if low < new < high else (low + high) / 2.0
    return angle


def normal_depth_m(
    *, flow_m3_s: float, inside_diameter_m: float, slope: float, manning_n: float
) -> float | None:
    """Return the depth of uniform flow in a round pipe, m; None where it cannot run part full.

    Parameters
    ----------
    flow_m3_s
        Zero or more; zero gives zero.
    inside_diameter_m, slope, manning_n
        As ``part_full_flow``.

    Raises
    ------
    InputError
        ``pipe-number``.

    Notes
    -----
    Above 1.0757 times the full flow there is no such depth: the pipe runs under pressure, and the answer is
    None. Between 1 and 1.0757 two depths exist; the lower one is returned.

    >>> round(normal_depth_m(flow_m3_s=0.003154510, inside_diameter_m=0.1016, slope=0.01, manning_n=0.010), 4)
    0.0478
    """
    _flow_not_negative(flow_m3_s)
    full = full_flow_m3_s(inside_diameter_m=inside_diameter_m, slope=slope, manning_n=manning_n)
    if flow_m3_s == 0:
        return 0.0
    angle = _normal_angle(flow_m3_s / full)
    # sin² of the quarter angle, not 1 − cos: a trickle keeps its digits.
    return None if angle is None else inside_diameter_m * math.sin(angle / 4.0) ** 2


def critical_depth_m(*, flow_m3_s: float, inside_diameter_m: float) -> float:
    """Return the depth at which a flow in a round pipe has the least energy, m.

    ``flow_m3_s`` zero or more; ``inside_diameter_m`` above 0. Raises ``InputError`` (``pipe-number``).

    Notes
    -----
    Q² T = g A³. A root below the crown exists for any flow; for large flows it comes so near the crown that
    it has no meaning but "full".

    >>> round(critical_depth_m(flow_m3_s=0.003154510, inside_diameter_m=0.1016) / 0.1016, 4)
    0.5606
    """
    _flow_not_negative(flow_m3_s)
    _above_zero(inside_diameter_m=inside_diameter_m)
    if flow_m3_s == 0:
        return 0.0
    target = math.log(512.0 * flow_m3_s**2 / (GRAVITY_M_S2 * inside_diameter_m**5))
    low, high = 0.0, _TWO_PI
    angle = _near_critical(target)
    for _ in range(80):
        part = angle - math.sin(angle) if angle > 1e-3 else angle**3 / 6.0 * (1.0 - angle**2 / 20.0)
        half_sine = math.sin(angle / 2.0)
        error = 3.0 * math.log(part) - math.log(half_sine) - target
        if error > 0:
            high = angle
        else:
            low = angle
        step = error / (3.0 * (1.0 - math.cos(angle)) / part - math.cos(angle / 2.0) / (2.0 * half_sine))
        if abs(step) <= _LAST_STEP * angle:
            angle -= step
            break
        new = angle - step
        angle = new if low < new < high else (low + high) / 2.0
    return inside_diameter_m * math.sin(angle / 4.0) ** 2
