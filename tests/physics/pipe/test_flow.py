"""Uniform and critical flow: laws of nature, round trips, and the limits of every argument."""

import math
from collections.abc import Callable

import pytest
from scipy.integrate import quad

from roofwell.errors import InputError
from roofwell.physics.pipe.darcy import colebrook_friction_factor, darcy_friction_slope
from roofwell.physics.pipe.flow import (
    ANGLE_OF_MOST_FLOW,
    critical_depth_m,
    friction_slope,
    full_flow_m3_s,
    full_velocity_m_s,
    normal_depth_m,
    part_full_flow,
    section,
    slope_for_full_velocity,
)
from roofwell.physics.pipe.losses import curved_bend_k, friction_k_per_m, minor_loss_m

PIPE = {"inside_diameter_m": 0.1016, "slope": 0.01, "manning_n": 0.011}


def test_half_full_carries_half() -> None:
    """Half full runs at the speed of full, so it carries half of it."""
    half = part_full_flow(depth_m=0.0508, **PIPE)
    assert half.flow_m3_s == pytest.approx(full_flow_m3_s(**PIPE) / 2, rel=1e-12)
    assert half.velocity_m_s == pytest.approx(full_velocity_m_s(**PIPE), rel=1e-12)


def test_area_is_the_width_summed_over_the_depth() -> None:
    """Against a general integrator."""
    area, _ = quad(lambda y: section(inside_diameter_m=0.3, depth_m=y).top_width_m, 1e-12, 0.21)
    assert section(inside_diameter_m=0.3, depth_m=0.21).area_m2 == pytest.approx(area, rel=1e-7)


def test_angle_of_most_flow_is_the_root_of_its_equation() -> None:
    """Flow has no slope there, and less on either side."""
    angle = ANGLE_OF_MOST_FLOW
    assert 3 * angle - 5 * angle * math.cos(angle) + 2 * math.sin(angle) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("share", [1e-9, 1e-6, 1e-3, 0.1, 0.5, 0.9, 1.0, 1.05, 1.0757])
def test_normal_depth_turns_back_into_its_flow(share: float) -> None:
    """Depth of a flow carries that flow, from a trickle to the most that a pipe can."""
    flow = share * full_flow_m3_s(**PIPE)
    depth = normal_depth_m(flow_m3_s=flow, **PIPE)
    assert depth is not None
    assert depth / PIPE["inside_diameter_m"] <= 0.93819
    assert part_full_flow(depth_m=depth, **PIPE).flow_m3_s == pytest.approx(flow, rel=1e-8)


def test_more_than_a_pipe_can_carry_has_no_depth() -> None:
    """None just above 1.0757 of full flow; zero depth for no flow."""
    assert normal_depth_m(flow_m3_s=1.0758 * full_flow_m3_s(**PIPE), **PIPE) is None
    assert normal_depth_m(flow_m3_s=0, **PIPE) == 0


@pytest.mark.parametrize("flow", [1e-9, 1e-6, 1e-4, 0.003, 0.01, 0.05])
def test_critical_depth_has_froude_number_one(flow: float) -> None:
    """Q² T = g A³ at the critical depth, from a trickle to a pipe that is all but full."""
    depth = critical_depth_m(flow_m3_s=flow, inside_diameter_m=0.1016)
    assert 0 < depth <= 0.1016
    water = section(inside_diameter_m=0.1016, depth_m=depth)
    # Within a micrometer of the crown the width is lost in rounding.
    if depth < 0.1016 * (1 - 1e-6):
        assert flow**2 * water.top_width_m == pytest.approx(9.80665 * water.area_m2**3, rel=1e-6)


def test_critical_depth_is_the_least_energy() -> None:
    """Specific energy is larger a little above and a little below."""
    depth = critical_depth_m(flow_m3_s=0.003, inside_diameter_m=0.1016)

    def energy(y: float) -> float:
        return y + (0.003 / section(inside_diameter_m=0.1016, depth_m=y).area_m2) ** 2 / (2 * 9.80665)

    assert energy(depth) < min(energy(depth * 0.99), energy(depth * 1.01))
    assert critical_depth_m(flow_m3_s=0, inside_diameter_m=0.1016) == 0


def test_friction_slope_of_the_full_flow_is_the_pipe_slope() -> None:
    """Three formulas close: flow, friction slope, slope for the velocity."""
    flow = full_flow_m3_s(**PIPE)
    friction = friction_slope(flow_m3_s=flow, inside_diameter_m=0.1016, manning_n=0.011)
    assert friction == pytest.approx(0.01, rel=1e-12)
    slope = slope_for_full_velocity(
        velocity_m_s=full_velocity_m_s(**PIPE), inside_diameter_m=0.1016, manning_n=0.011
    )
    assert slope == pytest.approx(0.01, rel=1e-12)


def test_friction_as_a_coefficient_is_the_friction_slope() -> None:
    """K L V²/2g over L is S_f."""
    velocity = 4 * 0.005 / (math.pi * 0.1016**2)
    per_m = friction_k_per_m(inside_diameter_m=0.1016, manning_n=0.011)
    assert minor_loss_m(k=per_m, velocity_m_s=velocity) == pytest.approx(
        friction_slope(flow_m3_s=0.005, inside_diameter_m=0.1016, manning_n=0.011), rel=1e-12
    )


def test_colebrook_satisfies_its_own_equation() -> None:
    """1/sqrt f = -2 log10(k/3.7 + 2.51/(Re sqrt f)) over the range of the equation."""
    for reynolds in (4001, 1e5, 1e8):
        for roughness in (0, 1e-4, 0.05):
            f = colebrook_friction_factor(reynolds=reynolds, relative_roughness=roughness)
            right = -2 * math.log10(roughness / 3.7 + 2.51 / (reynolds * math.sqrt(f)))
            assert 1 / math.sqrt(f) == pytest.approx(right, rel=1e-12)


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: section(inside_diameter_m=0.1, depth_m=0.1001), "pipe-depth-over-crown"),
    (lambda: section(inside_diameter_m=0.1, depth_m=0), "pipe-number"),
    (lambda: part_full_flow(inside_diameter_m=0.1, depth_m=0.05, slope=0, manning_n=0.01), "pipe-number"),
    (lambda: full_flow_m3_s(inside_diameter_m=0, slope=0.01, manning_n=0.01), "pipe-number"),
    (lambda: full_flow_m3_s(inside_diameter_m=0.1, slope=0.01, manning_n=-0.01), "pipe-number"),
    (lambda: full_flow_m3_s(inside_diameter_m=float("nan"), slope=0.01, manning_n=0.01), "pipe-number"),
    (lambda: normal_depth_m(flow_m3_s=-1e-9, **PIPE), "pipe-number"),
    (lambda: critical_depth_m(flow_m3_s=-1e-9, inside_diameter_m=0.1), "pipe-number"),
    (lambda: critical_depth_m(flow_m3_s=0.001, inside_diameter_m=0), "pipe-number"),
    (lambda: friction_slope(flow_m3_s=float("inf"), inside_diameter_m=0.1, manning_n=0.01), "pipe-number"),
    (lambda: minor_loss_m(k=-0.1, velocity_m_s=1), "pipe-number"),
    (lambda: minor_loss_m(k=1, velocity_m_s=float("nan")), "pipe-number"),
    (lambda: curved_bend_k(deflection_deg=91), "pipe-bend"),
    (lambda: friction_k_per_m(inside_diameter_m=0, manning_n=0.01), "pipe-number"),
    (lambda: colebrook_friction_factor(reynolds=4000, relative_roughness=0), "pipe-reynolds"),
    (lambda: colebrook_friction_factor(reynolds=1e5, relative_roughness=0.051), "pipe-roughness"),
    (
        lambda: darcy_friction_slope(flow_m3_s=0, inside_diameter_m=0.1, roughness_m=0, viscosity_m2_s=1e-6),
        "pipe-number",
    ),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code
