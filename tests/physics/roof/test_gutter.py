"""Gutter sections, level capacity and outlets: laws of nature, and the limits of every argument."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from roofwell.errors import InputError
from roofwell.physics.roof.gutter import (
    GutterSection,
    box_profile,
    level_capacity_m3_s,
    level_capacity_with_friction_m3_s,
    outlet_depth_m,
)
from roofwell.physics.roof.gutter_rules import capacity_american_m3_s, capacity_en_12056_m3_s
from roofwell.physics.roof.outlet import (
    GutterOutlet,
    head_on_outlet_m,
    opening,
    outlet_acts_as,
    outlet_flow_m3_s,
)

SECTIONS = [
    GutterSection(shape="half-round", top_width_m=0.127),
    GutterSection(shape="box", top_width_m=0.127, depth_m=0.0889),
    GutterSection(shape="ogee", top_width_m=0.127, bottom_width_m=0.08255, depth_m=0.0889),
]
SHAPES = pytest.mark.parametrize("section", SECTIONS, ids=lambda section: section.shape)


@SHAPES
@pytest.mark.parametrize("share", [0.05, 0.5, 1.0])
def test_area_and_moment_are_integrals(section: GutterSection, share: float) -> None:
    """Area is the width summed over the depth; the first moment is the area summed over the depth."""
    depth = share * section.depth_m
    area, _ = quad(section.top_width_at_m, 0, depth, epsabs=1e-14)
    moment, _ = quad(section.area_m2, 0, depth, epsabs=1e-14)
    assert section.area_m2(depth) == pytest.approx(area, rel=1e-7)
    assert section.first_moment_m3(depth) == pytest.approx(moment, rel=1e-6)


def test_brim_full_half_round_is_half_a_circle() -> None:
    """Area π r²/2, wetted perimeter π r."""
    section = SECTIONS[0]
    radius = section.top_width_m / 2
    assert section.area_m2(radius) == pytest.approx(math.pi * radius**2 / 2, rel=1e-12)
    assert section.wetted_perimeter_m(radius) == pytest.approx(math.pi * radius, rel=1e-12)


def test_an_ogee_as_wide_below_as_above_is_a_box() -> None:
    """The trapezoid closes on the rectangle."""
    ogee = GutterSection(shape="ogee", top_width_m=0.127, bottom_width_m=0.127, depth_m=0.0889)
    for depth in (0.02, 0.0889):
        assert level_capacity_m3_s(ogee, depth_m=depth) == pytest.approx(
            level_capacity_m3_s(SECTIONS[1], depth_m=depth), rel=1e-12
        )


@SHAPES
def test_momentum_is_kept_between_the_ends(section: GutterSection) -> None:
    """Specific force at the outlet, Q²/gA + M, equals M at the far end."""
    flow = level_capacity_m3_s(section, depth_m=section.depth_m)
    outlet = outlet_depth_m(section, depth_m=section.depth_m)
    force = flow**2 / (9.80665 * section.area_m2(outlet)) + section.first_moment_m3(outlet)
    assert force == pytest.approx(section.first_moment_m3(section.depth_m), rel=1e-9)


@SHAPES
def test_friction_vanishes_in_a_short_smooth_gutter(section: GutterSection) -> None:
    """A centimeter of glass-smooth gutter carries what the frictionless one does."""
    rough = level_capacity_with_friction_m3_s(
        section, depth_m=section.depth_m, length_m=0.01, manning_n=0.001
    )
    assert rough == pytest.approx(level_capacity_m3_s(section, depth_m=section.depth_m), rel=1e-5)


@SHAPES
def test_longer_or_rougher_carries_less(section: GutterSection) -> None:
    """Capacity falls with length and with roughness, all the way to a thousand feet."""

    def carried(length: float, n: float) -> float:
        return level_capacity_with_friction_m3_s(
            section, depth_m=section.depth_m, length_m=length, manning_n=n
        )

    by_length = [carried(length, 0.011) for length in (1, 5, 12, 30, 100, 300)]
    assert by_length == sorted(by_length, reverse=True)
    by_roughness = [carried(12, n) for n in (0.009, 0.011, 0.015, 0.025)]
    assert by_roughness == sorted(by_roughness, reverse=True)


@SHAPES
def test_friction_agrees_with_marching(section: GutterSection) -> None:
    """A general solver marching dF/dx = -A S_f from the far end gives the same flow."""
    length, n, gravity = 12.0, 0.011, 9.80665

    def depth_of(flow: float, force: float) -> float:
        def excess(y: float) -> float:
            return flow**2 / (gravity * section.area_m2(y)) + section.first_moment_m3(y) - force

        critical = brentq(
            lambda y: flow**2 * section.top_width_at_m(y) - gravity * section.area_m2(y) ** 3,
            1e-9,
            section.depth_m,
        )
        return critical if excess(critical) >= 0 else brentq(excess, critical, section.depth_m)

    def surplus(flow: float) -> float:
        def change(x: float, force: np.ndarray) -> list[float]:
            q = flow * x / length
            y = depth_of(q, float(force[0])) if q > 1e-9 else section.depth_m
            area = section.area_m2(y)
            return [-((n * q) ** 2) * section.wetted_perimeter_m(y) ** (4 / 3) / area ** (7 / 3)]

        end = solve_ivp(
            change, (0, length), [section.first_moment_m3(section.depth_m)], rtol=1e-6, max_step=length / 40
        )
        y = brentq(
            lambda y: flow**2 * section.top_width_at_m(y) - gravity * section.area_m2(y) ** 3,
            1e-9,
            section.depth_m,
        )
        return float(end.y[0, -1]) - flow**2 / (gravity * section.area_m2(y)) - section.first_moment_m3(y)

    ours = level_capacity_with_friction_m3_s(section, depth_m=section.depth_m, length_m=length, manning_n=n)
    assert surplus(ours * 0.995) > 0 > surplus(ours * 1.005)


def test_outlet_takes_the_lesser_of_weir_and_orifice() -> None:
    """Doubling the rim reached doubles the weir only; deep water is left to the orifice."""
    half, whole = (opening(diameter_m=0.1, wetted_share=w) for w in (0.5, 1.0))
    shallow = [outlet_flow_m3_s(hole, head_m=0.005) for hole in (half, whole)]
    assert shallow[1] == pytest.approx(2 * shallow[0], rel=1e-12)
    deep = [outlet_flow_m3_s(hole, head_m=0.3) for hole in (half, whole)]
    assert deep[0] == deep[1]
    assert outlet_flow_m3_s(half, head_m=0) == 0
    assert outlet_acts_as(half, flow_m3_s=shallow[0]) == "weir"
    assert outlet_acts_as(half, flow_m3_s=deep[0]) == "orifice"


@pytest.mark.parametrize("head", [0.0, 0.004, 0.02, 0.06, 0.2])
def test_head_and_flow_of_an_outlet_are_inverse(head: float) -> None:
    """The head that a flow needs is the head under which it passes."""
    hole = opening(width_m=0.05, breadth_m=0.075)
    assert head_on_outlet_m(hole, flow_m3_s=outlet_flow_m3_s(hole, head_m=head)) == pytest.approx(
        head, rel=1e-12
    )


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: GutterSection(shape="box", top_width_m=0.1), "gutter-section"),
    (lambda: GutterSection(shape="box", top_width_m=0.1, depth_m=-0.1), "gutter-section"),
    (lambda: GutterSection(shape="box", top_width_m=0.1, bottom_width_m=0.05, depth_m=0.1), "gutter-section"),
    (lambda: GutterSection(shape="ogee", top_width_m=0.1, depth_m=0.1), "gutter-section"),
    (
        lambda: GutterSection(shape="ogee", top_width_m=0.1, bottom_width_m=0.11, depth_m=0.1),
        "gutter-section",
    ),
    (lambda: GutterSection(shape="half-round", top_width_m=0.1, depth_m=0.1), "gutter-section"),
    (lambda: GutterSection(shape="half-round", top_width_m=float("nan")), "gutter-section"),
    (lambda: GutterSection(shape="vee", top_width_m=0.1, depth_m=0.1), "gutter-section"),
    (lambda: level_capacity_m3_s(SECTIONS[1], depth_m=0.0890), "gutter-depth"),
    (lambda: level_capacity_m3_s(SECTIONS[1], depth_m=0), "gutter-depth"),
    (
        lambda: level_capacity_with_friction_m3_s(SECTIONS[1], depth_m=0.05, length_m=0, manning_n=0.01),
        "gutter-number",
    ),
    (
        lambda: level_capacity_with_friction_m3_s(SECTIONS[1], depth_m=0.05, length_m=1, manning_n=0),
        "gutter-number",
    ),
    (lambda: box_profile(0.999), "gutter-depth"),
    (lambda: box_profile(1.74), "gutter-depth"),
    (lambda: capacity_en_12056_m3_s(SECTIONS[2], length_m=1), "gutter-en-shape"),
    (lambda: capacity_en_12056_m3_s(SECTIONS[1], length_m=1), "gutter-en-shape"),
    (lambda: capacity_en_12056_m3_s(SECTIONS[0], length_m=12.8), "gutter-en-length"),
    (lambda: capacity_en_12056_m3_s(SECTIONS[0], length_m=0), "gutter-number"),
    (lambda: capacity_american_m3_s(SECTIONS[0], length_m=0), "gutter-number"),
    (
        lambda: capacity_american_m3_s(
            GutterSection(shape="box", top_width_m=0.1, depth_m=0.049), length_m=1
        ),
        "gutter-proportion",
    ),
    (
        lambda: capacity_american_m3_s(
            GutterSection(shape="box", top_width_m=0.1, depth_m=0.126), length_m=1
        ),
        "gutter-proportion",
    ),
    (lambda: opening(), "gutter-outlet"),
    (lambda: opening(width_m=0.1), "gutter-outlet"),
    (lambda: opening(width_m=0.1, breadth_m=0.1, diameter_m=0.1), "gutter-outlet"),
    (lambda: opening(diameter_m=0.1, wetted_share=0), "gutter-outlet"),
    (lambda: opening(diameter_m=-0.1), "gutter-outlet"),
    (lambda: GutterOutlet(rim_m=0.1, area_m2=0), "gutter-outlet"),
    (lambda: outlet_flow_m3_s(opening(diameter_m=0.1), head_m=-0.01), "gutter-outlet"),
    (lambda: head_on_outlet_m(opening(diameter_m=0.1), flow_m3_s=-0.01), "gutter-outlet"),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code
