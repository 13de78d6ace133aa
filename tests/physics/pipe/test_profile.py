"""Grade lines along chains of pipes, and what a chain can bring: laws of nature and limits."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from roofwell.errors import InputError
from roofwell.physics.pipe.flow import (
    critical_depth_m,
    friction_slope,
    full_flow_m3_s,
    normal_depth_m,
    section,
)
from roofwell.physics.pipe.profile import capacity_at_stage_m3_s, grade_line, passes

BORE = 0.1016
CHAIN: dict[str, Any] = {
    "downstream_invert_m": [0.0, 0.10, 0.25],
    "upstream_invert_m": [0.10, 0.25, 0.40],
    "length_m": [10.0, 12.0, 9.0],
    "inside_diameter_m": [BORE] * 3,
    "manning_n": [0.011] * 3,
    "entrance_loss_k": [0.5] * 3,
    "bend_loss_k": [0.3, 0.0, 0.3],
}
FLOWS = [0.004, 0.003, 0.002]


def single(slope: float, length: float = 20.0, **changes: Any) -> dict[str, Any]:
    pipe: dict[str, Any] = {
        "downstream_invert_m": [0.0],
        "upstream_invert_m": [slope * length],
        "length_m": [length],
        "inside_diameter_m": [BORE],
        "manning_n": [0.011],
        "entrance_loss_k": [0.0],
        "bend_loss_k": [0.0],
        "velocity_head_k": 0.0,
    }
    return pipe | changes


def test_still_water_is_level() -> None:
    """Without flow the level is the tailwater, or the invert where that is higher."""
    line = grade_line(**CHAIN, flow_m3_s=[0, 0, 0], tailwater_m=0.22)
    assert line.upstream_level_m == pytest.approx([0.22, 0.25, 0.40])
    assert line.surcharged.tolist() == [True, False, False]
    assert line.full_length_m[0] == pytest.approx(10.0)
    assert line.velocity_m_s.tolist() == [0, 0, 0]


def test_levels_never_fall_as_the_tailwater_rises() -> None:
    """From a free outfall to a drowned chain, in steps of 2 mm, at every joint."""
    before = np.full(3, -np.inf)
    for tailwater in np.arange(-0.1, 1.0, 0.002):
        level = grade_line(**CHAIN, flow_m3_s=FLOWS, tailwater_m=float(tailwater)).upstream_level_m
        assert (level >= before - 2e-4).all(), tailwater
        before = level


def test_levels_never_fall_as_the_flow_grows() -> None:
    """At a fixed tailwater, more water stands higher."""
    before = np.full(3, -np.inf)
    for flow in np.linspace(1e-5, 0.012, 240):
        level = grade_line(**CHAIN, flow_m3_s=[flow] * 3, tailwater_m=0.08).upstream_level_m
        assert (level >= before - 2e-4).all(), flow
        before = level


@pytest.mark.parametrize("length", [0.5, 2.0, 10.0, 60.0])
@pytest.mark.parametrize("slope", [0.003, 0.01, 0.03])
def test_levels_never_fall_as_a_pipe_fills(slope: float, length: float) -> None:
    """Through the flows at which a pipe stops to run part full (1.0757 of full), short and long, free outfall."""
    full = full_flow_m3_s(inside_diameter_m=BORE, slope=slope, manning_n=0.011)
    pipe = single(slope, length, entrance_loss_k=[0.5], velocity_head_k=1.0)
    before = -math.inf
    for flow in np.linspace(0.7, 1.3, 200) * full:
        (level,) = grade_line(**pipe, flow_m3_s=[flow], tailwater_m=-math.inf).upstream_level_m
        assert level >= before - 2e-4, flow / full
        before = max(before, level)


def test_a_low_tailwater_is_not_felt() -> None:
    """Below the outlet depth of the lowest pipe the tailwater has no say."""
    free = grade_line(**CHAIN, flow_m3_s=FLOWS, tailwater_m=-math.inf)
    low = grade_line(**CHAIN, flow_m3_s=FLOWS, tailwater_m=0.02)
    assert free.upstream_level_m.tolist() == low.upstream_level_m.tolist()


def test_a_free_pipe_stands_at_its_own_depth() -> None:
    """Mild and long: normal depth at the upper end. Steep: critical depth, and the rest is the entrance."""
    flow = 0.003
    mild = grade_line(**single(0.004, 200.0), flow_m3_s=[flow], tailwater_m=-math.inf)
    normal = normal_depth_m(flow_m3_s=flow, inside_diameter_m=BORE, slope=0.004, manning_n=0.011)
    assert normal is not None
    assert mild.upstream_level_m[0] - 0.8 == pytest.approx(normal, rel=1e-12)
    steep = grade_line(
        **single(0.05, entrance_loss_k=[0.5], velocity_head_k=1.0), flow_m3_s=[flow], tailwater_m=-math.inf
    )
    critical = critical_depth_m(flow_m3_s=flow, inside_diameter_m=BORE)
    velocity = flow / section(inside_diameter_m=BORE, depth_m=critical).area_m2
    head = critical + 1.5 * velocity**2 / (2 * 9.80665)
    assert steep.upstream_level_m[0] - 1.0 == pytest.approx(head, rel=1e-9)


def test_a_drowned_pipe_loses_full_friction() -> None:
    """The level rises by S_f L where the pipe is full throughout."""
    line = grade_line(**single(0.004), flow_m3_s=[0.006], tailwater_m=0.5)
    loss = 20 * friction_slope(flow_m3_s=0.006, inside_diameter_m=BORE, manning_n=0.011)
    assert line.upstream_level_m[0] == pytest.approx(0.5 + loss, rel=1e-12)
    assert line.surcharged[0] and line.full_length_m[0] == 20.0


def test_one_long_pipe_is_two_short_ones() -> None:
    """Cut in two where water runs straight on, a drowned pipe stands as before."""
    whole = grade_line(**single(0.004), flow_m3_s=[0.006], tailwater_m=0.3)
    cut = grade_line(
        downstream_invert_m=[0.0, 0.032],
        upstream_invert_m=[0.032, 0.08],
        length_m=[8.0, 12.0],
        inside_diameter_m=BORE,
        manning_n=0.011,
        flow_m3_s=0.006,
        entrance_loss_k=0.0,
        bend_loss_k=0.0,
        velocity_head_k=0.0,
        tailwater_m=0.3,
    )
    assert cut.upstream_level_m[-1] == pytest.approx(whole.upstream_level_m[0], rel=1e-12)


@pytest.mark.parametrize(
    ("slope", "flow", "tailwater"),
    [
        pytest.param(0.004, 0.002, 0.095, id="backwater in a mild pipe"),
        pytest.param(0.004, 0.002, 0.130, id="drowned at the outlet, free above"),
        pytest.param(0.003, 0.002, 0.046, id="mild pipe that falls to its outlet"),
        pytest.param(0.004, 0.0038, 0.065, id="nearly full pipe that falls to its outlet"),
        pytest.param(0.0, 0.002, 0.060, id="level pipe over a low tailwater"),
        pytest.param(-0.001, 0.001, 0.060, id="adverse pipe"),
    ],
)
def test_traced_surface_agrees_with_a_general_solver(slope: float, flow: float, tailwater: float) -> None:
    """dy/dx = (S_f - S_0) / (1 - Fr²) going upstream, marched with small steps, to half a millimeter."""
    length = 20.0
    line = grade_line(**single(slope, length), flow_m3_s=[flow], tailwater_m=tailwater)
    full_slope = friction_slope(flow_m3_s=flow, inside_diameter_m=BORE, manning_n=0.011)

    def rise(x: float, state: np.ndarray) -> list[float]:
        depth = float(state[0])
        if depth >= BORE:
            return [full_slope - slope]
        water = section(inside_diameter_m=BORE, depth_m=depth)
        friction = (0.011 * flow / water.area_m2) ** 2 / water.hydraulic_radius_m ** (4 / 3)
        return [(friction - slope) / (1 - flow**2 * water.top_width_m / (9.80665 * water.area_m2**3))]

    marched = solve_ivp(rise, (0, length), [tailwater], rtol=1e-8, max_step=0.05)
    assert line.upstream_level_m[0] == pytest.approx(slope * length + marched.y[0, -1], abs=5e-4)


def test_level_and_nearly_level_pipes_agree() -> None:
    """Nothing jumps where a slope goes through zero."""
    levels = [
        grade_line(**single(slope), flow_m3_s=[0.002], tailwater_m=-math.inf).upstream_level_m[0]
        for slope in (-1e-5, 0.0, 1e-5)
    ]
    assert max(levels) - min(levels) < 5e-4


@pytest.mark.parametrize("slope", [0.02, 0.004, 0.0, -0.002])
def test_capacity_reaches_the_limit_and_no_further(slope: float) -> None:
    """A thousandth less passes, a thousandth more does not."""
    pipe = single(slope, entrance_loss_k=[0.5], velocity_head_k=1.0)
    (capacity,) = capacity_at_stage_m3_s(**pipe, flow_share=[1.0], limit_level_m=[0.8], tailwater_m=[0.2])
    for factor, fits in ((0.999, True), (1.001, False)):
        line = grade_line(**pipe, flow_m3_s=[capacity * factor], tailwater_m=0.2)
        assert bool(line.upstream_level_m[0] <= 0.8) is fits


def test_capacity_falls_with_the_stage_to_nothing() -> None:
    """Monotone over the stages, in any order; none left where the stage passes a limit."""
    stages = np.linspace(-0.2, 1.2, 57)
    given = {"flow_share": [1.0, 0.75, 0.5], "limit_level_m": [0.8, 1.0, 1.0]}
    capacity = capacity_at_stage_m3_s(**CHAIN, **given, tailwater_m=stages)
    assert (np.diff(capacity) <= 0).all()
    assert capacity[0] > 0
    assert (capacity[stages > 0.8] == 0).all()
    shuffled = capacity_at_stage_m3_s(**CHAIN, **given, tailwater_m=stages[::-1])
    assert shuffled[::-1].tolist() == capacity.tolist()


def test_capacity_is_bound_by_the_limit_that_is_reached_first() -> None:
    """Lifting a limit that does not govern changes nothing; one under the joint's invert stops all."""
    given = {**CHAIN, "flow_share": [1.0, 0.75, 0.5], "tailwater_m": [0.1]}
    base = capacity_at_stage_m3_s(**given, limit_level_m=[0.3, 2.0, 2.0])
    assert capacity_at_stage_m3_s(**given, limit_level_m=[0.3, math.inf, 3.0]) == pytest.approx(
        base, rel=1e-6
    )
    assert capacity_at_stage_m3_s(**given, limit_level_m=[0.3, 2.0, 0.39]) == [0.0]


def test_what_passes_is_what_is_within_the_capacity() -> None:
    """The question to one flow answers as the search for the largest does, by the levels of ``grade_line``."""
    limits, shares = [0.8, 1.0, 1.0], [1.0, 0.75, 0.5]
    for stage in (-0.2, 0.3, 0.7):
        (most,) = capacity_at_stage_m3_s(
            **CHAIN, flow_share=shares, limit_level_m=limits, tailwater_m=[stage]
        )
        for times, fits in ((0.5, True), (0.999, True), (1.001, False), (3.0, False)):
            flow = times * most
            asked = passes(
                **CHAIN, flow_share=shares, limit_level_m=limits, tailwater_m=stage, flow_m3_s=flow
            )
            line = grade_line(**CHAIN, flow_m3_s=[flow * share for share in shares], tailwater_m=stage)
            assert asked is fits is bool((line.upstream_level_m <= limits).all())


def test_no_more_is_looked_for_than_other_chains_bring() -> None:
    stages = np.linspace(-0.2, 1.2, 9)
    given = {**CHAIN, "flow_share": [1.0, 0.75, 0.5], "limit_level_m": [0.8, 1.0, 1.0], "tailwater_m": stages}
    own = capacity_at_stage_m3_s(**given)
    cap = np.linspace(2.0, 0.1, 9) * own.max()
    both = capacity_at_stage_m3_s(**given, at_most_m3_s=cap)
    assert both == pytest.approx(np.minimum(own, cap), rel=1e-6)
    assert ((both == cap) | (both == 0))[cap < own].all()  # what others bring is taken as it is


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: grade_line(**single(0.01, length_m=[0.0]), flow_m3_s=[0.001], tailwater_m=0), "pipe-number"),
    (lambda: grade_line(**single(0.01), flow_m3_s=[-0.001], tailwater_m=0), "pipe-number"),
    (lambda: grade_line(**single(0.01), flow_m3_s=[0.001], tailwater_m=math.nan), "pipe-number"),
    (lambda: grade_line(**single(0.01), flow_m3_s=[0.001, 0.002], tailwater_m=0), "pipe-chain"),
    (
        lambda: grade_line(
            **single(0.01, downstream_invert_m=[], upstream_invert_m=[]), flow_m3_s=[], tailwater_m=0
        ),
        "pipe-chain",
    ),
    (
        lambda: capacity_at_stage_m3_s(
            **single(0.01), flow_share=[1.0], limit_level_m=[math.inf], tailwater_m=[0]
        ),
        "pipe-no-limit",
    ),
    (
        lambda: capacity_at_stage_m3_s(
            **single(0.01), flow_share=[1.1], limit_level_m=[1.0], tailwater_m=[0]
        ),
        "pipe-number",
    ),
    (
        lambda: capacity_at_stage_m3_s(
            **single(0.01), flow_share=[1.0], limit_level_m=[1.0], tailwater_m=[math.nan]
        ),
        "pipe-number",
    ),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code
