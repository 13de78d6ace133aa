"""Water along a gutter: a general solver as second opinion, laws of nature, and the limits of every argument."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from roofwell.errors import InputError
from roofwell.physics.roof import gutter_march
from roofwell.physics.roof.gutter_flow import (
    ArmWater,
    GutterArm,
    GutterWater,
    gutter_capacity,
    gutter_water,
)
from roofwell.physics.roof.gutter_section import GutterSection
from roofwell.physics.roof.outlet import head_on_outlet_m, opening

GRAVITY = 9.80665
ROUGH = 0.011
SECTIONS = [
    GutterSection(shape="half-round", top_width_m=0.127),
    GutterSection(shape="box", top_width_m=0.127, depth_m=0.0889),
    GutterSection(shape="ogee", top_width_m=0.127, bottom_width_m=0.08255, depth_m=0.0889),
]
SHAPES = pytest.mark.parametrize("section", SECTIONS, ids=lambda section: section.shape)
HOLE = opening(width_m=0.05, breadth_m=0.075)


def force(section: GutterSection, flow: float, depth: float) -> float:
    return flow**2 / (GRAVITY * section.area_m2(depth)) + section.first_moment_m3(depth)


def critical(section: GutterSection, flow: float) -> float:
    def excess(depth: float) -> float:
        return flow**2 * section.top_width_at_m(depth) - GRAVITY * section.area_m2(depth) ** 3

    return float(brentq(excess, 1e-6, section.depth_m))


def general_solver(
    section: GutterSection, arm: GutterArm, *, start: float, depth: float, end: float, n: float = ROUGH
) -> Callable[[np.ndarray], np.ndarray]:
    """dy/dx = (S0 - Sf - 2 q Q/gA²)/(1 - Fr²), the textbook form, by scipy from ``start`` to ``end``."""
    rate = arm.spread_m3_s / arm.length_m

    def slope(x: float, y: np.ndarray) -> list[float]:
        at = min(max(float(y[0]), 1e-6), section.depth_m)
        flow = rate * x
        area, width = section.area_m2(at), section.top_width_at_m(at)
        drag = (n * flow) ** 2 * section.wetted_perimeter_m(at) ** (4 / 3) / area ** (10 / 3)
        push = 2 * rate * flow / (GRAVITY * area**2)
        return [(arm.fall_m_m - drag - push) / (1 - flow**2 * width / (GRAVITY * area**3))]

    found = solve_ivp(slope, (start, end), [depth], rtol=1e-9, atol=1e-12, dense_output=True)
    assert found.success
    return lambda x: found.sol(x)[0]


@SHAPES
@pytest.mark.parametrize("fall", [-0.001, 0.0, 0.002, 0.004, 0.006])
def test_profile_above_a_hole_agrees_with_a_general_solver(section: GutterSection, fall: float) -> None:
    """From the head that the hole needs up to the closed end: within a fifth of a millimeter."""
    arm = GutterArm(length_m=9.0, spread_m3_s=0.0009, fall_m_m=fall)
    small = opening(width_m=0.042, breadth_m=0.055)
    (line,) = gutter_water(section, [arm], manning_n=ROUGH, outlet=small).arms
    head = head_on_outlet_m(small, flow_m3_s=arm.flow_m3_s)
    assert line.control == "hole"
    assert line.depth_m[-1] == pytest.approx(head, rel=1e-12)
    assert line.depth_m.max() <= section.depth_m  # the section of the second opinion ends at the brim
    second = general_solver(section, arm, start=9.0, depth=head, end=1e-4)
    inside = line.station_m > 1e-3
    assert line.depth_m[inside] == pytest.approx(second(line.station_m[inside]), abs=2e-4)


@SHAPES
def test_profile_above_a_free_fall_agrees_with_a_general_solver(section: GutterSection) -> None:
    """A hair above critical depth at the outlet the general solver can start; from there they agree."""
    arm = GutterArm(length_m=12.0, spread_m3_s=0.0014, fall_m_m=0.004)
    (line,) = gutter_water(section, [arm], manning_n=ROUGH).arms
    assert line.control == "free fall"
    assert line.depth_m[-1] == pytest.approx(critical(section, arm.flow_m3_s), rel=1e-9)
    second = general_solver(
        section, arm, start=12.0 - 1e-4, depth=1.01 * critical(section, arm.flow_m3_s), end=1e-4
    )
    inside = (line.station_m > 1e-3) & (line.station_m < 11.9)
    assert line.depth_m[inside] == pytest.approx(second(line.station_m[inside]), abs=3e-4)


@SHAPES
def test_fast_water_below_a_critical_section_agrees_with_a_general_solver(section: GutterSection) -> None:
    """In a steep gutter the control lies inside: slow above it, fast below it."""
    arm = GutterArm(length_m=12.0, spread_m3_s=0.003, fall_m_m=0.035)
    (line,) = gutter_water(section, [arm], manning_n=ROUGH).arms
    assert line.control == "inside"
    assert line.critical_at_m is not None and 0 < line.critical_at_m < 12
    rate = arm.spread_m3_s / arm.length_m
    froude = np.array([
        (rate * x) ** 2 * section.top_width_at_m(y) / (GRAVITY * section.area_m2(y) ** 3)
        for x, y in zip(line.station_m, line.depth_m, strict=True)
    ])  # fmt: skip
    assert (froude[line.station_m < line.critical_at_m - 0.3] < 1).all()
    assert (froude[line.station_m > line.critical_at_m + 0.3] > 1).all()
    start = int(np.searchsorted(line.station_m, line.critical_at_m + 0.5))
    second = general_solver(
        section, arm, start=float(line.station_m[start]), depth=float(line.depth_m[start]), end=12.0
    )
    assert line.depth_m[start:] == pytest.approx(second(line.station_m[start:]), abs=2e-4)


@SHAPES
def test_slow_water_above_a_critical_section_agrees_with_a_general_solver(section: GutterSection) -> None:
    """The second opinion goes up from just above the critical section to the closed end."""
    arm = GutterArm(length_m=12.0, spread_m3_s=0.003, fall_m_m=0.02)
    (line,) = gutter_water(section, [arm], manning_n=ROUGH).arms
    assert line.critical_at_m is not None
    start = int(np.searchsorted(line.station_m, 0.8 * line.critical_at_m))
    second = general_solver(
        section, arm, start=float(line.station_m[start]), depth=float(line.depth_m[start]), end=1e-4
    )
    upper = slice(1, start)
    assert line.depth_m[upper] == pytest.approx(second(line.station_m[upper]), abs=3e-4)


@SHAPES
def test_critical_section_is_where_slope_friction_and_inflow_balance(section: GutterSection) -> None:
    """There dy/dx is 0/0: critical depth, and S0 = Sf + 2 q Q/gA² at once."""
    arm = GutterArm(length_m=12.0, spread_m3_s=0.003, fall_m_m=0.03)
    (line,) = gutter_water(section, [arm], manning_n=ROUGH).arms
    assert line.critical_at_m is not None
    rate = arm.spread_m3_s / arm.length_m
    flow = rate * line.critical_at_m
    depth = critical(section, flow)
    area = section.area_m2(depth)
    drag = (ROUGH * flow) ** 2 * section.wetted_perimeter_m(depth) ** (4 / 3) / area ** (10 / 3)
    assert drag + 2 * rate * flow / (GRAVITY * area**2) == pytest.approx(0.03, rel=1e-6)


@SHAPES
def test_a_jump_keeps_momentum(section: GutterSection, monkeypatch: pytest.MonkeyPatch) -> None:
    """Fast water that meets the pond over the hole jumps where both have the same force."""
    # The force changes by a percent from station to station.
    monkeypatch.setattr(gutter_march, "_STATIONS", 769)
    arm = GutterArm(length_m=12.0, spread_m3_s=0.0016, fall_m_m=0.03)
    water = gutter_water(section, [arm], manning_n=ROUGH, outlet=opening(width_m=0.04, breadth_m=0.055))
    (line,) = water.arms
    assert line.jump_at_m is not None and line.critical_at_m is not None
    assert line.critical_at_m < line.jump_at_m <= 12.0
    i = int(np.flatnonzero(line.station_m == line.jump_at_m)[0])
    before = force(section, float(line.flow_m3_s[i - 1]), float(line.depth_m[i - 1]))
    after = force(section, float(line.flow_m3_s[i]), float(line.depth_m[i]))
    # One station apart, the jump lies between: the pond's force has overtaken by less than the step's change.
    assert after > before
    assert after == pytest.approx(before, rel=0.02)
    assert line.depth_m[i] > 1.5 * line.depth_m[i - 1]


@SHAPES
def test_momentum_is_kept_without_slope_and_friction(section: GutterSection) -> None:
    """On a level smooth floor the specific force is the same all along, also past a valley."""
    arm = GutterArm(length_m=8.0, spread_m3_s=0.0008, points=((3.0, 0.0006),))
    (line,) = gutter_water(section, [arm], manning_n=0).arms
    forces = [
        force(section, float(q), float(y)) for q, y in zip(line.flow_m3_s[1:], line.depth_m[1:], strict=True)
    ]
    assert forces == pytest.approx([forces[-1]] * len(forces), rel=1e-9)
    assert (line.station_m == 3.0).sum() == 2


@SHAPES
def test_a_valley_at_the_far_end_costs_most(section: GutterSection) -> None:
    """The farther water has to go, the less of it the gutter takes; poured in at the outlet it costs least."""

    def carried(at: float) -> float:
        arm = GutterArm(length_m=12.0, spread_m3_s=0.5, points=((at, 0.5),))
        return gutter_capacity(section, [arm], manning_n=ROUGH).flow_m3_s

    far, middle, near = carried(0.0), carried(6.0), carried(12.0)
    spread = gutter_capacity(section, [GutterArm(12.0, 1.0)], manning_n=ROUGH).flow_m3_s
    assert far < middle < near
    assert far < spread


@SHAPES
@pytest.mark.parametrize("fall", [0.0, 0.004, 0.012, 0.03])
@pytest.mark.parametrize("hole", [None, HOLE], ids=["free fall", "hole"])
def test_capacity_is_the_flow_that_just_reaches_the_brim(
    section: GutterSection, fall: float, hole: object
) -> None:
    """At the capacity the margin is nil, at 1 % less there is room, at 1 % more it runs over, and nowhere earlier."""
    arms = [GutterArm(7.0, 0.7, fall), GutterArm(3.0, 0.3, fall)]
    full = gutter_capacity(section, arms, manning_n=ROUGH, outlet=hole)  # type: ignore[arg-type]

    def at(share: float) -> GutterWater:
        flows = [arm.times(share * full.flow_m3_s) for arm in arms]
        return gutter_water(section, flows, manning_n=ROUGH, outlet=hole)  # type: ignore[arg-type]

    assert at(1.0).brim_margin_m == pytest.approx(0.0, abs=1e-7)
    assert at(0.99).brim_margin_m > 0 > at(1.01).brim_margin_m
    assert at(1.0).brim_arm == full.brim_arm


@SHAPES
def test_more_slope_carries_more_up_to_what_the_hole_takes(section: GutterSection) -> None:
    """Slope helps the gutter; the hole does not know of it."""
    by_slope = [
        gutter_capacity(section, [GutterArm(12.0, 1.0, fall)], manning_n=ROUGH).flow_m3_s
        for fall in (-0.002, 0.0, 0.002, 0.005, 0.01, 0.02, 0.04)
    ]
    assert by_slope == sorted(by_slope)
    steep = gutter_capacity(section, [GutterArm(12.0, 1.0, 0.04)], manning_n=ROUGH, outlet=HOLE)
    assert steep.control == "hole"
    assert head_on_outlet_m(HOLE, flow_m3_s=steep.flow_m3_s) == pytest.approx(section.depth_m, rel=1e-6)


@SHAPES
def test_two_arms_share_one_hole(section: GutterSection) -> None:
    """The hole takes the water of both: the pond over it is the same from both sides, and two alike are alike."""
    arms = [GutterArm(6.0, 0.0006), GutterArm(6.0, 0.0006)]
    water = gutter_water(section, arms, manning_n=ROUGH, outlet=HOLE)
    assert water.hole_head_m == pytest.approx(head_on_outlet_m(HOLE, flow_m3_s=0.0012), rel=1e-12)
    left, right = water.arms
    assert left.depth_m == pytest.approx(right.depth_m)
    assert left.depth_m[-1] == water.hole_head_m
    alone = gutter_water(section, arms[:1], manning_n=ROUGH, outlet=HOLE)
    assert alone.brim_margin_m > water.brim_margin_m


def test_twelve_meters_from_the_middle_carry_more_than_from_one_end() -> None:
    """Two arms of six meters take far more than one of twelve, the outlet being free."""
    section = SECTIONS[2]
    middle = gutter_capacity(section, [GutterArm(6.0, 0.5)] * 2, manning_n=ROUGH).flow_m3_s
    end = gutter_capacity(section, [GutterArm(12.0, 1.0)], manning_n=ROUGH).flow_m3_s
    assert 2.0 < middle / end < 2.3


@SHAPES
def test_freeboard_costs_capacity(section: GutterSection) -> None:
    """An inch kept free is an inch not filled."""
    arm = [GutterArm(10.0, 1.0)]
    brim = gutter_capacity(section, arm, manning_n=ROUGH).flow_m3_s
    kept = gutter_capacity(section, arm, manning_n=ROUGH, freeboard_m=0.02)
    assert kept.flow_m3_s < brim
    water = gutter_water(section, [arm[0].times(kept.flow_m3_s)], manning_n=ROUGH)
    assert water.brim_margin_m == pytest.approx(0.02, abs=1e-7)


@SHAPES
def test_water_comes_in_along_the_way_and_all_arrives(section: GutterSection) -> None:
    """Flow grows from nothing to the whole; velocity times area is the flow."""
    arm = GutterArm(10.0, 0.001, 0.005, ((0.0, 0.0001), (10.0, 0.0002)))
    line: ArmWater = gutter_water(section, [arm], manning_n=ROUGH).arms[0]
    assert line.flow_m3_s[0] == 0 and line.flow_m3_s[-1] == pytest.approx(0.0013, rel=1e-12)
    assert (np.diff(line.flow_m3_s) >= 0).all() and (np.diff(line.station_m) >= 0).all()
    areas = np.array([section.area_m2(float(y)) for y in line.depth_m])
    assert line.velocity_m_s * areas == pytest.approx(line.flow_m3_s, rel=1e-9, abs=1e-15)


@SHAPES
def test_twice_the_stations_would_say_the_same(
    section: GutterSection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The capacity does not hang on the number of stations: within 0.15 % from 49 to 193."""
    for fall in (0.0, 0.005, 0.02):
        coarse = gutter_capacity(section, [GutterArm(12.0, 1.0, fall)], manning_n=ROUGH).flow_m3_s
        with monkeypatch.context() as fine:
            fine.setattr(gutter_march, "_STATIONS", 193)
            assert gutter_capacity(
                section, [GutterArm(12.0, 1.0, fall)], manning_n=ROUGH
            ).flow_m3_s == pytest.approx(coarse, rel=0.0015)


def test_no_water_no_depth() -> None:
    """A dry gutter stands level with its floor."""
    water = gutter_water(SECTIONS[1], [GutterArm(5.0, 0.0)], manning_n=ROUGH, outlet=HOLE)
    assert water.brim_margin_m == pytest.approx(SECTIONS[1].depth_m)
    assert math.isclose(float(water.arms[0].velocity_m_s.max()), 0.0)


BOX = SECTIONS[1]
REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: GutterArm(0.0, 0.001), "gutter-number"),
    (lambda: GutterArm(math.inf, 0.001), "gutter-number"),
    (lambda: GutterArm(1.0, -0.001), "gutter-number"),
    (lambda: GutterArm(1.0, 0.001, 0.0501), "gutter-number"),
    (lambda: GutterArm(1.0, 0.001, -0.0501), "gutter-number"),
    (lambda: GutterArm(1.0, 0.001, 0.0, ((1.01, 0.001),)), "gutter-number"),
    (lambda: GutterArm(1.0, 0.001, 0.0, ((0.5, -0.001),)), "gutter-number"),
    (lambda: gutter_water(BOX, [], manning_n=0.01), "gutter-number"),
    (lambda: gutter_water(BOX, [GutterArm(1.0, 0.0)] * 3, manning_n=0.01), "gutter-number"),
    (lambda: gutter_water(BOX, [GutterArm(1.0, 0.0)], manning_n=-0.01), "gutter-number"),
    (lambda: gutter_capacity(BOX, [GutterArm(1.0, 0.0)], manning_n=0.01), "gutter-number"),
    (
        lambda: gutter_capacity(BOX, [GutterArm(1.0, 1.0)], manning_n=0.01, freeboard_m=0.0889),
        "gutter-number",
    ),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code


def test_edges_of_the_range_are_taken() -> None:
    """The steepest fall either way, and a valley right at either end."""
    for fall in (-0.05, 0.05):
        arm = GutterArm(1.0, 0.001, fall, ((0.0, 0.0001), (1.0, 0.0001)))
        assert gutter_water(BOX, [arm], manning_n=0.01).arms[0].depth_m.min() >= 0
