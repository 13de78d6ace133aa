"""Losses of head in a pipe that runs full: fittings, bends, and the friction written as a coefficient.

Coefficients of entrances, bends and wyes are rows of the tables; they are handed in here.
"""

from __future__ import annotations

import math

from roofwell.errors import InputError
from roofwell.physics.pipe.flow import GRAVITY_M_S2


def velocity_head_m(*, velocity_m_s: float) -> float:
    """Return V²/2g, m; ``velocity_m_s`` finite, its sign does not matter."""
    if not math.isfinite(velocity_m_s):
        raise InputError(f"velocity is {velocity_m_s:g} m/s; it must be a number", code="pipe-number")
    return velocity_m_s**2 / (2.0 * GRAVITY_M_S2)


def minor_loss_m(*, k: float, velocity_m_s: float) -> float:
    """Return the head lost in fittings, K V²/2g, m.

    Parameters
    ----------
    k
        Sum of the loss coefficients; zero or more.
    velocity_m_s
        Mean velocity in the pipe that the coefficients refer to, m/s.

    Raises
    ------
    InputError
        ``pipe-number``.

    >>> round(minor_loss_m(k=2.1, velocity_m_s=0.7782), 4)
    0.0648
    """
    if not (math.isfinite(k) and k >= 0):
        raise InputError(f"loss coefficient is {k:g}; it must be zero or more", code="pipe-number")
    return k * velocity_head_m(velocity_m_s=velocity_m_s)


def curved_bend_k(*, deflection_deg: float) -> float:
    """Return the loss coefficient of a bend in a curved storm drain: 0.0033 per degree of deflection.

    ``deflection_deg`` 0 to 90, degrees. HEC-22, third edition (from memory). For smooth long bends; short
    plastic elbows lose two to three times as much, see the bend table.

    Raises
    ------
    InputError
        ``pipe-bend`` outside 0 to 90 degrees.
    """
    if not 0 <= deflection_deg <= 90:
        raise InputError(f"deflection is {deflection_deg:g}°; it must be 0 to 90", code="pipe-bend")
    return 0.0033 * deflection_deg


def friction_k_per_m(*, inside_diameter_m: float, manning_n: float) -> float:
    """Return the friction of a full pipe as a loss coefficient per meter of length.

    h = K L V²/2g with K = 2 g n² / R^(4/3). ``inside_diameter_m``, ``manning_n`` above 0. Raises
    ``InputError`` (``pipe-number``). The American soil conservation form is
    Kc = 5087 n² / d^(4/3) per foot with d in inches.
    """
    if not (inside_diameter_m > 0 and manning_n > 0):
        raise InputError(
            f"inside diameter {inside_diameter_m:g} m and n {manning_n:g} must be above 0", code="pipe-number"
        )
    return float(2.0 * GRAVITY_M_S2 * manning_n**2 / (inside_diameter_m / 4.0) ** (4 / 3))


def full_pipe_loss_m(
    *, flow_m3_s: float, length_m: float, inside_diameter_m: float, manning_n: float, ends_k: float
) -> float:
    """Return the head that a pipe loses that runs full, m: its ends and its friction.

    Parameters
    ----------
    flow_m3_s, length_m
        Flow, m³/s (its sign does not matter), and length, m, 0 or more.
    inside_diameter_m, manning_n
        Both above 0.
    ends_k
        Loss at its ends in velocity heads; 0 or more.

    Raises
    ------
    InputError
        ``pipe-number``.

    >>> round(full_pipe_loss_m(flow_m3_s=0.01, length_m=10, inside_diameter_m=0.1, manning_n=0.01, ends_k=1.5), 4)
    0.3458
    """
    if not length_m >= 0:
        raise InputError(f"length is {length_m:g} m; it must be zero or more", code="pipe-number")
    friction = friction_k_per_m(inside_diameter_m=inside_diameter_m, manning_n=manning_n)
    velocity = flow_m3_s / (math.pi * inside_diameter_m**2 / 4)
    return minor_loss_m(k=ends_k + friction * length_m, velocity_m_s=velocity)


def narrowed_start_k(*, open_share: float) -> float:
    """Return the loss of a pipe whose start is partly covered, in velocity heads of the full pipe.

    Parameters
    ----------
    open_share
        Open share of the pipe's area, above 0 to 1.

    Raises
    ------
    InputError
        ``pipe-obstruction`` outside that range.

    Notes
    -----
    The jet through the opening m contracts to Cc m, Cc = 0.63 + 0.37 m³ (Weisbach), and spreads again with the loss of a
    sudden enlargement (Borda and Carnot): K = (1 / (Cc m) − 1)². Both from memory. Holds for an opening far below the
    water; what stands free over a heap of leaves loses less.

    >>> narrowed_start_k(open_share=1.0)
    0.0
    """
    if not 0.0 < open_share <= 1.0:
        raise InputError(
            f"{open_share:g} of a pipe's start is open; give a share above 0 to 1", code="pipe-obstruction"
        )
    contracted = (0.63 + 0.37 * open_share**3) * open_share
    return (1.0 / contracted - 1.0) ** 2
