"""Water that comes down a valley: a stream on the shingles, and how far it shoots out over the gutter."""

from __future__ import annotations

import math
from dataclasses import dataclass

from roofwell.errors import InputError

GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True, slots=True)
class ValleyJet:
    """``velocity_m_s`` and ``depth_m`` of the stream at the eave; ``reach_m``: how far out its upper surface has
    come when it has fallen to the brim of the gutter, level distance from the roof's edge."""

    velocity_m_s: float
    depth_m: float
    reach_m: float


def valley_jet(*, flow_m3_s: float, rise_per_run: float, drop_m: float, manning_n: float) -> ValleyJet:
    """Return the stream of a valley between two roofs of the same pitch that meet at a right angle.

    Parameters
    ----------
    flow_m3_s
        Flow down the valley, m³/s; above 0.
    rise_per_run
        Pitch of both roofs, 0.05 to 2.
    drop_m
        From the roof's edge down to the brim of the gutter, or to the top of its splash guard (then it may lie
        below zero: the guard stands higher than the edge), m.
    manning_n
        Roughness of the shingles, s/m^(1/3); above 0.

    Raises
    ------
    InputError
        ``valley-number``.

    Notes
    -----
    The valley falls p/√2; across it each side rises p/√2, a shallow V in which the stream runs at Manning's normal
    depth (the fastest it can get: a short valley is slower). From the edge it flies: out = V cos a × t, drop and
    depth of the stream = V sin a × t + g t²/2, nothing where the guard stands over the stream. The eave cuts the
    valley at 45°, so that outwards, square to the gutter, it goes 1/√2 of that. Derived; splashing on shingles and
    surface tension are left out.
    """
    if not (
        0 < flow_m3_s < math.inf and 0.05 <= rise_per_run <= 2 and math.isfinite(drop_m) and 0 < manning_n < 1
    ):
        raise InputError(
            f"valley with {flow_m3_s:g} m³/s on a pitch of {rise_per_run:g}, {drop_m:g} m over the gutter: the flow "
            "and the roughness must be above 0, the pitch 0.05 to 2",
            code="valley-number",
        )
    slope = rise_per_run / math.sqrt(2.0)
    angle = math.atan(slope)
    # V with side slopes 1 : z measured square to the stream: A = z y², P = 2 y sqrt(1 + z²).
    z = 1.0 / (slope * math.cos(angle))
    shape = z * (z / (2.0 * math.hypot(1.0, z))) ** (2 / 3)
    depth = (flow_m3_s * manning_n / (shape * math.sqrt(math.sin(angle)))) ** (3 / 8)
    velocity = flow_m3_s / (z * depth**2)
    down, out = velocity * math.sin(angle), velocity * math.cos(angle) / math.sqrt(2.0)
    falls = max(0.0, drop_m + depth / math.cos(angle))
    seconds = (math.sqrt(down**2 + 2.0 * GRAVITY_M_S2 * falls) - down) / GRAVITY_M_S2
    return ValleyJet(velocity, depth, out * seconds)
