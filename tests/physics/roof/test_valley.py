"""Water down a valley: Manning's law holds in its stream, and free flight from the roof's edge."""

import math
from collections.abc import Callable

import pytest

from roofwell.errors import InputError
from roofwell.physics.roof.valley import valley_jet


@pytest.mark.parametrize("pitch", [0.1, 0.5, 1.0])
@pytest.mark.parametrize("flow", [0.0003, 0.002])
def test_the_stream_obeys_manning(pitch: float, flow: float) -> None:
    """V = R^(2/3) S^(1/2)/n in the V between the two roofs, its section built here from corner points.

    The planes z = p x and z = p y (x, y from the two eaves inwards) meet over the line x = y. A cut square to that
    line and a water surface square to the cut give the wetted triangle.
    """
    n = 0.02
    jet = valley_jet(flow_m3_s=flow, rise_per_run=pitch, drop_m=0.0, manning_n=n)
    along = (1 / math.sqrt(2), 1 / math.sqrt(2), pitch / math.sqrt(2))  # up the valley
    size = math.hypot(*along[:2], along[2])
    up = tuple(c / size for c in along)
    across = (1 / math.sqrt(2), -1 / math.sqrt(2), 0.0)
    square = (  # normal of the water surface
        across[1] * up[2] - across[2] * up[1],
        across[2] * up[0] - across[0] * up[2],
        across[0] * up[1] - across[1] * up[0],
    )
    sign = 1.0 if square[2] > 0 else -1.0
    # On the side y < x the lower plane is z = p y: how high the surface lies over it per step across.
    normal = (0.0, -pitch, 1.0)
    step = sum(a * b for a, b in zip(across, normal, strict=True))
    rise = sign * sum(a * b for a, b in zip(square, normal, strict=True))
    half = jet.depth_m * rise / abs(step)
    area, perimeter = half * jet.depth_m, 2 * math.hypot(half, jet.depth_m)
    slope = up[2]  # fall per length along the stream
    velocity = (area / perimeter) ** (2 / 3) * math.sqrt(slope) / n
    assert jet.velocity_m_s == pytest.approx(velocity, rel=1e-9)
    assert jet.velocity_m_s * area == pytest.approx(flow, rel=1e-9)


def test_flight_is_a_parabola() -> None:
    """Twenty tiny steps of falling give the same reach."""
    jet = valley_jet(flow_m3_s=0.001, rise_per_run=0.5, drop_m=0.03, manning_n=0.02)
    angle = math.atan(0.5 / math.sqrt(2))
    falls = 0.03 + jet.depth_m / math.cos(angle)
    out, down = jet.velocity_m_s * math.cos(angle), jet.velocity_m_s * math.sin(angle)
    x = z = 0.0
    while z < falls:
        dt = 1e-6
        down += 9.80665 * dt
        z += down * dt
        x += out * dt
    assert jet.reach_m == pytest.approx(x / math.sqrt(2), rel=1e-3)


def test_more_water_and_more_drop_shoot_farther() -> None:
    """Each alone; a splash guard higher than the stream stops it."""

    def reach(flow: float, drop: float) -> float:
        return valley_jet(flow_m3_s=flow, rise_per_run=0.5, drop_m=drop, manning_n=0.02).reach_m

    assert reach(0.0005, 0.02) < reach(0.001, 0.02) < reach(0.001, 0.04)
    assert reach(0.001, -0.2) == 0.0


REFUSED: list[Callable[[], object]] = [
    lambda: valley_jet(flow_m3_s=0, rise_per_run=0.5, drop_m=0.01, manning_n=0.02),
    lambda: valley_jet(flow_m3_s=0.001, rise_per_run=0.049, drop_m=0.01, manning_n=0.02),
    lambda: valley_jet(flow_m3_s=0.001, rise_per_run=2.01, drop_m=0.01, manning_n=0.02),
    lambda: valley_jet(flow_m3_s=0.001, rise_per_run=0.5, drop_m=math.nan, manning_n=0.02),
    lambda: valley_jet(flow_m3_s=0.001, rise_per_run=0.5, drop_m=0.01, manning_n=0),
]


@pytest.mark.parametrize("call", REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object]) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == "valley-number"
