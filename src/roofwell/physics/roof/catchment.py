"""The roof as a catchment: the area that rain meets, and the flow that runs off it.

Four rules for the area are in use and disagree by up to a half on a steep roof; all are offered and the
caller says which. None is "right": they stand for different ideas about wind.
"""

from __future__ import annotations

import math
from typing import Literal, get_args

from roofwell.errors import InputError

AreaRule = Literal["plan area", "half rise", "slope length", "pitch factor table"]
"""How the pitch of a roof enlarges its plan area; see ``effective_area_m2``."""

# Upper end of each pitch band (rise per run) and its factor: SMACNA design pitch factors, printed for whole
# inches in 12 as 0-3, 4-5, 6-8, 9-11, 12 and over. A pitch between two bands takes the larger factor.
_PITCH_BANDS = ((3 / 12, 1.00), (5 / 12, 1.05), (8 / 12, 1.10), (11 / 12, 1.20), (math.inf, 1.30))


def _not_negative(value: float, name: str, unit: str) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise InputError(f"{name} is {value:g} {unit}; it must be zero or more", code="roof-number")


def pitch_factor(*, rise_per_run: float, rule: AreaRule) -> float:
    """Return the factor by which ``rule`` enlarges the plan area of a roof.

    Parameters
    ----------
    rise_per_run
        Pitch as rise over run (6 in 12 is 0.5); zero or more.
    rule
        ``"plan area"``: 1, the plumbing codes. ``"half rise"``: 1 + p/2, rain driven by wind at about 26° to
        the vertical, the EN and British rule. ``"slope length"``: sqrt(1 + p²), rain square to the slope.
        ``"pitch factor table"``: the stepped table of the American sheet-metal manual, 1.00 to 1.30.

    Raises
    ------
    InputError
        ``roof-number`` for a pitch below zero; ``roof-area-rule`` for an unknown rule.

    Notes
    -----
    Sources: EN 12056-3 (half rise and slope length, read in a reference page); SMACNA Architectural Sheet
    Metal Manual, chapter 1 (table, read in a reproduction); IPC 1106 (plan area).

    >>> pitch_factor(rise_per_run=0.5, rule="half rise")
    1.25
    """
    _not_negative(rise_per_run, "roof pitch", "rise per run")
    if rule == "plan area":
        return 1.0
    if rule == "half rise":
        return 1.0 + rise_per_run / 2.0
    if rule == "slope length":
        return math.hypot(1.0, rise_per_run)
    if rule == "pitch factor table":
        # The tiny allowance keeps 5/12 typed as 0.41667 in its own band.
        return next(factor for upper, factor in _PITCH_BANDS if rise_per_run <= upper + 1e-4)
    raise InputError(
        f"roof area rule {rule!r} is not known; use one of {', '.join(get_args(AreaRule))}",
        code="roof-area-rule",
    )


def effective_area_m2(*, plan_area_m2: float, rise_per_run: float, rule: AreaRule) -> float:
    """Return the area that rain meets on a sloping roof, m².

    Parameters
    ----------
    plan_area_m2
        Area seen from above, m²; zero or more.
    rise_per_run, rule
        As for ``pitch_factor``.

    Raises
    ------
    InputError
        ``roof-number``, ``roof-area-rule``.

    >>> effective_area_m2(plan_area_m2=50.0, rise_per_run=0.4, rule="half rise")
    60.0
    """
    _not_negative(plan_area_m2, "roof plan area", "m²")
    return plan_area_m2 * pitch_factor(rise_per_run=rise_per_run, rule=rule)


def area_with_wall_m2(*, area_m2: float, wall_area_m2: float, wall_share: float) -> float:
    """Return a roof area with the share of a wall above it that sheds rain onto it, m².

    ``wall_share`` between 0 and 1: the IPC adds a half of the wall (1106.4), Chicago a quarter (18-29-1106).
    One wall only; two and more walls follow other rules.

    Raises
    ------
    InputError
        ``roof-number`` for a negative area or a share outside 0 to 1.
    """
    _not_negative(area_m2, "roof area", "m²")
    _not_negative(wall_area_m2, "wall area", "m²")
    if not 0 <= wall_share <= 1:
        raise InputError(f"share of the wall is {wall_share:g}; it must be 0 to 1", code="roof-number")
    return area_m2 + wall_share * wall_area_m2


def rational_flow_m3_s(*, area_m2: float, intensity_m_s: float, runoff_coefficient: float) -> float:
    """Return the peak flow off an area by the rational method, Q = C i A, m³/s.

    Parameters
    ----------
    area_m2
        Area that drains, m²; zero or more.
    intensity_m_s
        Rain intensity, m/s (1 in/h is 7.0556e-6); zero or more. Take it for a duration of at least 5 minutes:
        a house roof concentrates faster, but tables do not reach lower.
    runoff_coefficient
        Share of the rain that runs off, 0 to 1.

    Raises
    ------
    InputError
        ``roof-number``.

    Notes
    -----
    Holds for the peak from small areas under uniform rain; gives no volume and no hydrograph.
    """
    _not_negative(area_m2, "area", "m²")
    _not_negative(intensity_m_s, "rain intensity", "m/s")
    if not 0 <= runoff_coefficient <= 1:
        raise InputError(
            f"runoff coefficient is {runoff_coefficient:g}; it must be 0 to 1 (a roof: 0.75 to 1)",
            code="roof-number",
        )
    return runoff_coefficient * intensity_m_s * area_m2


def rain_volume_m3(*, area_m2: float, depth_m: float) -> float:
    """Return the water that a depth of rain brings onto a roof, nothing lost, m³.

    Parameters
    ----------
    area_m2
        Area seen from above, m²; zero or more.
    depth_m
        Depth of rain, m; zero or more.

    Raises
    ------
    InputError
        ``roof-number`` for a value below zero.

    Source: depth times area.

    >>> round(rain_volume_m3(area_m2=100.0, depth_m=0.010), 3)
    1.0
    """
    _not_negative(area_m2, "area", "m²")
    _not_negative(depth_m, "rain", "m")
    return area_m2 * depth_m


def wetting_loss_m3(*, area_m2: float, loss_depth_m: float) -> float:
    """Return the rain volume that wets a surface and never runs off, m³; once per event."""
    _not_negative(area_m2, "area", "m²")
    _not_negative(loss_depth_m, "wetting loss", "m")
    return area_m2 * loss_depth_m


def overland_time_s(*, runoff_coefficient: float, length_m: float, slope: float) -> float:
    """Return the time that sheet flow takes over a surface, s (FAA formula).

    Parameters
    ----------
    runoff_coefficient
        0 to 1.
    length_m
        Length of flow, m; above 0 and at most 500 ft (152.4 m), the limit that the source states.
    slope
        Fall per length; above 0.

    Raises
    ------
    InputError
        ``roof-number`` outside these ranges.

    Notes
    -----
    t(min) = 1.8 (1.1 - C) sqrt(L ft) / (S %)^(1/3); Denver-area criteria manual of 1984, equation 3-3.
    No floor is applied here; five minutes is the usual one.
    """
    if not 0 <= runoff_coefficient <= 1:
        raise InputError(
            f"runoff coefficient is {runoff_coefficient:g}; it must be 0 to 1", code="roof-number"
        )
    if not 0 < length_m <= 152.4 + 1e-9:
        raise InputError(
            f"length of overland flow is {length_m:g} m; it must be above 0 and at most 152.4 m (500 ft)",
            code="roof-number",
        )
    if not slope > 0:
        raise InputError(f"slope is {slope:g}; it must be above 0", code="roof-number")
    minutes = 1.8 * (1.1 - runoff_coefficient) * math.sqrt(length_m / 0.3048) / (100.0 * slope) ** (1 / 3)
    return float(60.0 * minutes)
