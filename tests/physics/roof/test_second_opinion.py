"""A general-purpose library of fluid mechanics (``fluids``) as a second opinion on gutter, outlet and downspout."""

from __future__ import annotations

import math

import fluids
import pytest
from fluids.flow_meter import flow_meter_discharge

from roofwell.physics.roof.downspout import offset_capacity_m3_s, ring_capacity_m3_s
from roofwell.physics.roof.gutter_flow import GutterArm, gutter_water
from roofwell.physics.roof.gutter_section import GutterSection
from roofwell.physics.roof.outlet import opening, outlet_flow_m3_s
from roofwell.physics.roof.valley import valley_jet

SECTIONS = [
    GutterSection(shape="half-round", top_width_m=0.15),
    GutterSection(shape="box", top_width_m=0.127, depth_m=0.0889),
    GutterSection(shape="ogee", top_width_m=0.127, bottom_width_m=0.08255, depth_m=0.0889),
]


@pytest.mark.parametrize("section", SECTIONS, ids=lambda section: section.shape)
@pytest.mark.parametrize("fall", [0.001, 0.003])
def test_far_from_its_outlet_a_long_gutter_runs_at_normal_depth(section: GutterSection, fall: float) -> None:
    """All water poured in at the far end of 300 m: in the middle it runs as the library's Manning says."""
    arm = GutterArm(300.0, 0.0, fall, ((0.0, 0.001),))
    (line,) = gutter_water(section, [arm], manning_n=0.011).arms
    i = int((line.station_m < 100.0).sum())
    depth = float(line.depth_m[i])
    radius = section.area_m2(depth) / section.wetted_perimeter_m(depth)
    theirs = fluids.open_flow.V_Manning(Rh=radius, S=fall, n=0.011)
    assert line.velocity_m_s[i] == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize("head", [0.05, 0.09])
def test_the_hole_is_the_librarys_orifice(head: float) -> None:
    """A hole of 60 mm under enough water, in a floor so wide that its own approach velocity is nil."""
    ours = outlet_flow_m3_s(opening(diameter_m=0.06, wetted_share=1.0), head_m=head)
    kg_s = flow_meter_discharge(
        D=60.0, Do=0.06, P1=1e5 + 1000.0 * 9.80665 * head, P2=1e5, rho=1000.0, C=0.6, expansibility=1.0
    )
    assert ours == pytest.approx(kg_s / 1000.0, rel=1e-6)


@pytest.mark.parametrize("head", [0.01, 0.02])
def test_the_rim_takes_no_more_than_a_sharp_weir(head: float) -> None:
    """Over a whole rim 1 m long the sharp-crested weir of the library passes more: 22 to 15 % (seen, then bounded)."""
    ours = outlet_flow_m3_s(
        opening(width_m=0.25, breadth_m=0.25, wetted_share=1.0, orifice_coefficient=100.0), head_m=head
    )
    theirs = fluids.open_flow.Q_weir_rectangular_full_Rehbock(h1=head, h2=10.0, b=1.0)
    assert 0.75 * theirs < ours < theirs


@pytest.mark.parametrize(("width", "breadth"), [(0.0762, 0.0508), (0.1016, 0.0762), (0.127, 0.1016)])
def test_a_ring_is_the_librarys_manning_on_a_vertical_wall(width: float, breadth: float) -> None:
    """Slope 1 and n = 0.0099, which the law of 1961 amounts to: within 1 %."""
    area, perimeter = width * breadth, 2 * (width + breadth)
    theirs = 0.3 * area * fluids.open_flow.V_Manning(Rh=0.3 * area / perimeter, S=1.0, n=0.0099)
    assert ring_capacity_m3_s(area_m2=area, perimeter_m=perimeter, fill=0.3) == pytest.approx(
        theirs, rel=0.01
    )


def test_an_offset_spends_its_head_as_the_library_says() -> None:
    """Heads of entrance, elbows and exit by the library; friction by its Manning."""
    area, perimeter, length, n = 0.0039, 0.254, 0.6, 0.011
    flow = offset_capacity_m3_s(
        area_m2=area, perimeter_m=perimeter, head_m=0.08, drop_m=0.3, length_m=length, elbows=2, elbow_k=1.1,
        entrance_k=0.5, manning_n=n,
    )  # fmt: skip
    velocity = flow / area
    local = fluids.core.head_from_K(K=1.0 + 0.5 + 2 * 1.1, V=velocity, g=9.80665)
    unit = fluids.open_flow.V_Manning(Rh=area / perimeter, S=1.0, n=n)
    assert local + length * (velocity / unit) ** 2 == pytest.approx(0.38, rel=1e-9)


def test_a_valley_runs_as_the_librarys_manning() -> None:
    """Its hydraulic radius follows from its depth and the flow alone: A = Q/V."""
    jet = valley_jet(flow_m3_s=0.001, rise_per_run=0.5, drop_m=0.01, manning_n=0.02)
    area = 0.001 / jet.velocity_m_s
    half = area / jet.depth_m
    radius = area / (2 * math.hypot(half, jet.depth_m))
    slope = math.sin(math.atan(0.5 / math.sqrt(2)))
    assert jet.velocity_m_s == pytest.approx(fluids.open_flow.V_Manning(Rh=radius, S=slope, n=0.02), rel=1e-9)
