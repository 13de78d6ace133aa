"""What lies in the stone: areas against handbook tables and numerical integration, slices against brute force."""

import math

import numpy as np
import pytest
import shapely
from scipy.integrate import quad, solve_ivp

from roofwell.errors import InputError
from roofwell.physics.network import Store, simulate
from roofwell.physics.well.shapes import (
    SLICING_SHARE,
    Bodies,
    arch_part_m2,
    circle_part_m2,
    open_volume_m3,
    outside_volume_m3,
    slices,
    stacked,
)
from roofwell.physics.well.soakage import soakage_curve
from roofwell.physics.well.storage import full_volume_m3, storage_volume_m3

FOOT, INCH = 0.3048, 0.0254
PIPE = Bodies("perforated pipe", 2, 0.159, 0.159, 12.0, 0.004)
ARCH = Bodies("arch chamber", 1, 0.9, 0.45, 6.0, 0.006)
ELLIPSE = Bodies("arch chamber", 3, 0.9, 0.45, 6.0, 0.006, 1.0, "half ellipse")
BOX = Bodies("box chamber", 2, 0.6, 0.45, 4.0, 0.0, 0.95)
CONCRETE = Bodies("box chamber", 1, 1.2, 0.9, 2.4, 0.1)
UPRIGHT = Bodies("cylinder", 3, 0.6, 1.2, 0.0, 0.006)
ALONE = Bodies("none", 0, 0.0, 0.0)
EVERY = [PIPE, ARCH, ELLIPSE, BOX, CONCRETE, UPRIGHT, ALONE]


# Geometric elements of circular channel sections: depth/diameter, area/diameter².
# Chow, Open-Channel Hydraulics, 1959, appendix A (from memory).
CHOW = [(0.1, 0.0409), (0.2, 0.1118), (0.3, 0.1982), (0.4, 0.2934), (0.5, 0.3927), (0.6, 0.4920), (0.7, 0.5872),
        (0.8, 0.6736), (0.9, 0.7445), (1.0, 0.7854)]  # fmt: skip


@pytest.mark.parametrize(("share", "area"), CHOW)
def test_circle_part_of_the_handbook(share, area):
    """Chow 1959, appendix A (from memory), all printed tenths of depth."""
    assert circle_part_m2(radius_m=0.5, depth_m=share) == pytest.approx(area, abs=6e-5)


@pytest.mark.parametrize("share", np.linspace(0.0, 1.0, 23))
def test_circle_part_is_the_circular_segment(share):
    """The textbook segment, R²/2 (θ − sin θ) with θ its central angle, and the width integrated numerically."""
    theta = 2 * math.acos(1 - 2 * share)
    segment = 0.3**2 / 2 * (theta - math.sin(theta))
    wide, _ = quad(lambda z: 2 * math.sqrt(max(0.3**2 - (z - 0.3) ** 2, 0.0)), 0.0, 0.6 * share, epsabs=1e-13)
    got = circle_part_m2(radius_m=0.3, depth_m=0.6 * share)
    assert got == pytest.approx(segment, abs=1e-13)
    assert got == pytest.approx(wide, abs=1e-9)


@pytest.mark.parametrize("share", np.linspace(0.0, 1.0, 17))
@pytest.mark.parametrize(
    ("curve", "width"),
    [
        ("half ellipse", lambda z: math.sqrt(max(1 - z * z, 0.0))),  # (x/a)² + (z/H)² = 1
        ("parabola", lambda z: math.sqrt(max(1 - z, 0.0))),  # z/H = 1 − (x/a)²
    ],
)
def test_arch_part_against_numerical_integration(share, curve, width):
    area, _ = quad(lambda z: 0.9 * width(z / 0.45), 0.0, 0.45 * share, epsabs=1e-13)
    assert arch_part_m2(span_m=0.9, rise_m=0.45, depth_m=0.45 * share, curve=curve) == pytest.approx(
        area, abs=1e-9
    )


def test_whole_arches():
    """Archimedes, Quadrature of the Parabola: 2/3 of the box; half an ellipse: π a b / 2; a half circle is one."""
    assert arch_part_m2(span_m=0.9, rise_m=0.4, depth_m=9, curve="parabola") == pytest.approx(2 / 3 * 0.36)
    half = arch_part_m2(span_m=0.9, rise_m=0.4, depth_m=9, curve="half ellipse")
    assert half == pytest.approx(math.pi * 0.45 * 0.4 / 2)
    for z in (0.1, 0.3):
        upper = math.pi / 2 * 0.5**2 - circle_part_m2(radius_m=0.5, depth_m=0.5 - z)
        assert arch_part_m2(span_m=1, rise_m=0.5, depth_m=z, curve="half ellipse") == pytest.approx(upper)


def _polygon(bodies, inside):
    """The section of one lying body as a fine polygon on its foot: another way than the formulas'."""
    wall = bodies.wall_m if inside else 0.0
    half, turn = bodies.width_m / 2 - wall, np.linspace(0, 2 * math.pi, 8001)
    if bodies.kind == "perforated pipe":
        return shapely.Polygon(np.c_[half * np.sin(turn), bodies.width_m / 2 - half * np.cos(turn)])
    rise, x = bodies.height_m - wall, np.linspace(-half, half, 8001)
    share = (x / half) ** 2
    high = rise * ((1 - share) if bodies.curve == "parabola" else np.sqrt(np.maximum(1 - share, 0)))
    return shapely.Polygon([*np.c_[x, high], (half, 0), (-half, 0)])


@pytest.mark.parametrize("bodies", [PIPE, ARCH, ELLIPSE])
def test_slices_against_clipped_polygons(bodies):
    """Between the slices' ends the water in the bodies is off by no more than stated; at their ends by nothing."""
    full = open_volume_m3(bodies)
    ends = np.array([0.0, *(s.top_m for s in slices(bodies))])
    held = np.cumsum([0.0, *(s.open_m2 * (s.top_m - s.bottom_m) for s in slices(bodies))])
    shape, worst = _polygon(bodies, inside=True), 0.0
    for z in np.linspace(0.0, bodies.height_m, 400):
        part = bodies.count * bodies.length_m * shape.intersection(shapely.box(-9, -9, 9, z)).area
        worst = max(worst, abs(np.interp(z, ends, held) - part))
    assert worst <= SLICING_SHARE * full
    assert worst > 0.2 * SLICING_SHARE * full  # the statement is no idle one
    for z, volume in zip(ends, held, strict=True):
        part = bodies.count * bodies.length_m * shape.intersection(shapely.box(-9, -9, 9, z)).area
        assert volume == pytest.approx(part, abs=1e-5 * full)
    outside = bodies.count * bodies.length_m * _polygon(bodies, inside=False).area
    assert outside_volume_m3(bodies) == pytest.approx(outside, rel=1e-5)


def _pit(bodies, *, length=13.0, width=2.6, below=0.3, above=0.1, voids=0.4, full=None):
    height = below + bodies.height_m + above if bodies.kind != "none" else below
    return stacked(
        bodies,
        pit_area_m2=length * width,
        pit_perimeter_m=2 * (length + width),
        stone_below_m=below,
        stone_above_m=0.0 if bodies.kind == "none" else above,
        voids=voids,
        full_depth_m=height if full is None else full,
        riser_diameter_m=0.2,
    )


@pytest.mark.parametrize("bodies", EVERY)
def test_full_pit_holds_hollow_and_voids(bodies):
    """Full volume by hand: what is open inside, and 40 % of the stone, which is the pit less the bodies' outside."""
    layers = _pit(bodies)
    pit = 13.0 * 2.6 * (0.4 + bodies.height_m if bodies.kind != "none" else 0.3)
    outside = {
        "cylinder": 3 * math.pi * 0.3**2 * 1.2,
        "perforated pipe": 2 * math.pi * 0.0795**2 * 12,
        "arch chamber": 6
        * bodies.count
        * 0.9
        * 0.45
        * (2 / 3 if bodies.curve == "parabola" else math.pi / 4),
        "box chamber": bodies.count * bodies.width_m * bodies.height_m * bodies.length_m,
        "none": 0.0,
    }[bodies.kind]
    inside = {
        "cylinder": 3 * math.pi * 0.294**2 * 1.2,
        "perforated pipe": 2 * math.pi * 0.0755**2 * 12,
        "arch chamber": 6
        * bodies.count
        * 0.888
        * 0.444
        * (2 / 3 if bodies.curve == "parabola" else math.pi / 4),
        "box chamber": 2 * 0.6 * 0.45 * 4 * 0.95 if bodies.wall_m == 0 else 1.0 * 0.7 * 2.2,
        "none": 0.0,
    }[bodies.kind]
    assert full_volume_m3(layers) == pytest.approx(inside + 0.4 * (pit - outside), rel=1e-9)


def test_trench_with_a_perforated_pipe_by_hand_slices():
    """A 20 ft trench, 2 ft by 3 ft, 6 in pipe over 1 ft of stone: a thousand level slices, each its own width of pipe."""
    pipe = Bodies("perforated pipe", 1, 6 * INCH, 6 * INCH, 20 * FOOT)
    layers = _pit(pipe, length=20 * FOOT, width=2 * FOOT, below=1 * FOOT, above=1.5 * FOOT, voids=0.40)
    step, radius = 3 * FOOT / 30000, 3 * INCH
    z = (np.arange(30000) + 0.5) * step
    wide = 2 * np.sqrt(np.maximum(radius**2 - (z - 1 * FOOT - radius) ** 2, 0.0))
    held = np.cumsum((0.4 * (2 * FOOT - wide) + wide) * 20 * FOOT * step)
    for share in (0.2, 0.36, 0.41, 0.47, 0.5, 0.8, 1.0):
        index = round(share * 30000) - 1
        got = float(storage_volume_m3(layers, min((index + 1) * step, layers[-1].top_m)))
        assert got == pytest.approx(held[index], abs=SLICING_SHARE * open_volume_m3(pipe) + 1e-6)
    assert full_volume_m3(layers) == pytest.approx(held[-1], rel=1e-5)


def test_box_as_wide_as_its_pit_still_holds_water():
    layers = _pit(CONCRETE, length=2.4, width=1.2)
    assert full_volume_m3(layers) == pytest.approx(1.0 * 0.7 * 2.2 + 0.4 * 2.4 * 1.2 * 0.4, rel=1e-3)


@pytest.mark.parametrize(
    "bodies",
    [
        Bodies("perforated pipe", 0, 0.1, 0.1, 3.0),
        Bodies("perforated pipe", 1, 0.1, 0.1, 0.0),
        Bodies("arch chamber", 1, 0.6, 0.0, 3.0),
        Bodies("box chamber", 1, 0.6, 0.4, 3.0, 0.2),
        Bodies("box chamber", 1, 0.6, 0.4, 3.0, 0.0, 0.0),
        Bodies("cylinder", 1, math.nan, 1.0),
    ],
)
def test_what_cannot_be_is_refused(bodies):
    with pytest.raises(InputError) as caught:
        slices(bodies)
    assert caught.value.code == "well-body"


def _open_area(bodies, z):
    """Plan area of water at a height over the pit's bottom, from the shape itself, not from slices."""
    area, up = 13.0 * 2.6, z - 0.3
    if bodies.kind == "none" or not 0 <= up <= bodies.height_m:
        return 0.4 * area

    def width(half, high, at):
        if not 0 <= at <= high:
            return 0.0
        if bodies.kind == "perforated pipe":
            return 2 * math.sqrt(max(half**2 - (at - half) ** 2, 0.0))
        share = at / high
        return 2 * half * math.sqrt(max(1 - (share if bodies.curve == "parabola" else share**2), 0.0))

    wall, count = bodies.wall_m, bodies.count
    if bodies.kind == "cylinder":
        inside, outside = (count * math.pi * (bodies.width_m / 2 - w) ** 2 for w in (wall, 0.0))
    elif bodies.kind == "box chamber":
        outside = count * bodies.width_m * bodies.length_m
        inside = count * (bodies.width_m - 2 * wall) * (bodies.length_m - 2 * wall) * bodies.own_voids
        inside = inside if wall <= up <= bodies.height_m - wall else 0.0
    else:
        low = wall if bodies.kind == "perforated pipe" else 0.0
        high = bodies.height_m - wall - low
        inside = count * bodies.length_m * width(bodies.width_m / 2 - wall, high, up - low)
        outside = count * bodies.length_m * width(bodies.width_m / 2, bodies.height_m, up)
    return inside + 0.4 * (area - outside)


@pytest.mark.parametrize("bodies", EVERY)
def test_kernel_against_an_event_detecting_solver_on_the_true_shape(bodies):
    """scipy's DOP853 in depth, on the unsliced shape, with events at empty and full, against the kernel in volume.

    Two hours of rain, faster than the soil takes it in until the pit spills, then a dry day. Volumes agree to the
    stated error of slicing and the small difference that it makes on soakage.
    """
    layers, rate = _pit(bodies), 8e-6
    full_depth = layers[-1].top_m
    volume, above, below = soakage_curve(layers, rate, "bottom and half sides", full_depth_m=full_depth)
    step, pit = 900.0, 13.0 * 2.6
    inflow = np.array([0.8 * volume[-1] / 3600] * 8 + [0.0] * 96)
    trace = simulate(
        [Store(volume_m3=volume, soakage_m3_s=above, soakage_below_m3_s=below)], inflow[:, None], step_s=step
    )[0]

    def soaks(depth):
        return rate * (pit + (13.0 + 2.6) * depth)

    depth, spilled, held = 0.0, 0.0, []
    breaks = sorted({0.3, *(0.3 + e for s in slices(bodies) for e in (s.bottom_m, s.top_m))} - {full_depth})
    for flow in inflow:
        left = step
        while left > 1e-9:
            net = flow - soaks(depth)
            if (depth <= 0.0 and net <= 0) or (depth >= full_depth and net >= 0):
                spilled += max(net, 0.0) * left if depth > 0 else 0.0
                break
            up = net > 0
            stops = [0.0, *breaks, full_depth] if bodies.kind in ("box chamber", "cylinder") else [
                0.0, 0.3, 0.3 + bodies.height_m, full_depth
            ]  # fmt: skip
            to = min((s for s in stops if s > depth + 1e-9), default=full_depth) if up else max(
                (s for s in stops if s < depth - 1e-9), default=0.0)  # fmt: skip
            middle = min(max(depth, min(depth, to) + 1e-7), max(depth, to) - 1e-7)

            ends = sorted((depth, to))

            def change(_t, y, ends=ends, flow=flow):
                low, high = ends
                z = min(max(y[0], low + 1e-7), high - 1e-7)
                return [(flow - soaks(y[0])) / _open_area(bodies, z)]

            def reached(_t, y, to=to):
                return y[0] - to

            reached.terminal = True
            found = solve_ivp(
                change,
                (0.0, left),
                [middle],
                method="DOP853",
                rtol=1e-8,
                atol=1e-9,
                max_step=300.0,
                events=[reached],
            )
            hit = bool(found.t_events[0].size)
            depth = to if hit else float(found.y[0, -1])
            left -= float(found.t[-1])
            if found.t[-1] <= 0:
                depth, left = to, left - 1e-6
        area, _ = quad(
            lambda z: _open_area(bodies, z),
            0.0,
            depth,
            limit=400,
            points=[p for p in breaks if p < depth][:60] or None,
        )
        held.append(area)
    allowed = SLICING_SHARE * (open_volume_m3(bodies) if bodies.kind != "none" else 0.0) + 2e-4 * volume[-1]
    assert np.abs(trace.volume_end_m3 - held).max() <= 2 * allowed
    assert float(trace.spilled_m3.sum()) == pytest.approx(spilled, abs=2 * allowed)
    assert spilled > 0.05 * volume[-1]
    assert held[-1] < 0.9 * volume[-1]
