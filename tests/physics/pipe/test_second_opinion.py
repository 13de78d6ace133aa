"""A general-purpose library of fluid mechanics (``fluids``) as a second opinion on pipes, orifices and bends."""

from __future__ import annotations

import math

import fluids
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell.physics.pipe import darcy, flow, losses

DIAMETERS = st.floats(0.05, 0.3)
SLOPES = st.floats(0.0005, 0.2)
ROUGHNESS = st.floats(0.008, 0.025)


@given(diameter=DIAMETERS, slope=SLOPES, n=ROUGHNESS, share=st.floats(0.05, 1.0))
@settings(max_examples=150, deadline=None)
def test_part_full_velocity_is_the_librarys(diameter: float, slope: float, n: float, share: float) -> None:
    """Manning at a hydraulic radius that is integrated here from the circle's strips, not by its formula."""
    depth = share * diameter
    strips = 20_000
    heights = [(i + 0.5) * depth / strips for i in range(strips)]
    half = [math.sqrt(max(0.0, y * (diameter - y))) for y in heights]
    area = 2 * math.fsum(half) * depth / strips
    wetted = diameter * math.acos(1 - 2 * share) if share < 1 else math.pi * diameter
    theirs = fluids.open_flow.V_Manning(Rh=area / wetted, S=slope, n=n)
    ours = flow.part_full_flow(inside_diameter_m=diameter, depth_m=depth, slope=slope, manning_n=n)
    assert ours.velocity_m_s == pytest.approx(theirs, rel=2e-4)
    assert ours.flow_m3_s == pytest.approx(theirs * area, rel=3e-4)


@given(reynolds=st.floats(4100, 1e7), relative=st.floats(0, 0.05))
@settings(max_examples=200, deadline=None)
def test_colebrook_is_the_librarys(reynolds: float, relative: float) -> None:
    """The library solves the same equation in another way (Lambert's function)."""
    theirs = fluids.friction.Colebrook(Re=reynolds, eD=relative)
    ours = darcy.colebrook_friction_factor(reynolds=reynolds, relative_roughness=relative)
    assert ours == pytest.approx(theirs, rel=1e-9)


@given(diameter=DIAMETERS, rate=st.floats(0.3, 5.0), roughness=st.floats(0, 1e-4))
@settings(max_examples=100, deadline=None)
def test_friction_of_a_full_pipe_is_the_librarys(diameter: float, rate: float, roughness: float) -> None:
    """Head per length from the library's own one-phase pressure drop."""
    water = {"rho": 1000.0, "mu": 1.3e-3}
    theirs = fluids.one_phase_dP(
        m=rate * math.pi * diameter**2 / 4 * water["rho"], D=diameter, roughness=roughness, L=1.0,
        Method="Colebrook", **water,
    ) / (water["rho"] * 9.80665)  # fmt: skip
    ours = darcy.darcy_friction_slope(
        flow_m3_s=rate * math.pi * diameter**2 / 4, inside_diameter_m=diameter, roughness_m=roughness,
        viscosity_m2_s=water["mu"] / water["rho"],
    )  # fmt: skip
    assert ours == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize("degrees", [22.5, 45.0, 90.0])
def test_a_long_bend_loses_what_a_smooth_bend_may(degrees: float) -> None:
    """Order of size only: HEC-22's long bends beside the library's smooth bends of three diameters' radius."""
    theirs = fluids.fittings.bend_rounded(Di=0.1, angle=degrees, bend_diameters=3.0, Re=1e5, roughness=1.5e-6)
    ours = losses.curved_bend_k(deflection_deg=degrees)
    assert 0.3 * theirs < ours < 3 * theirs


@given(k=st.floats(0, 10), rate=st.floats(0, 6))
def test_a_loss_in_head_is_the_librarys(k: float, rate: float) -> None:
    """K V²/2g by the library's K to head."""
    theirs = fluids.core.head_from_K(K=k, V=rate)
    assert losses.minor_loss_m(k=k, velocity_m_s=rate) == pytest.approx(theirs, rel=1e-4, abs=1e-12)
