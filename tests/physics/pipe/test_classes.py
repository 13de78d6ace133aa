"""Kinds of flow: textbook names, jumps by the balance of forces, entrance control."""

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from roofwell.errors import InputError
from roofwell.physics.pipe.classes import RunClass, classify, specific_force_m3
from roofwell.physics.pipe.entrance import EntranceEdge, entrance_head_m
from roofwell.physics.pipe.flow import critical_depth_m, full_flow_m3_s, section

BORE, N, G = 0.1016, 0.011, 9.80665
EDGE = EntranceEdge(0.0098, 2.0, 0.0398, 0.67)


def kind(slope: float, depth: float, flow: float = 0.002, length: float = 20.0) -> RunClass:
    return classify(
        flow_m3_s=flow,
        inside_diameter_m=BORE,
        slope=slope,
        manning_n=N,
        length_m=length,
        downstream_depth_m=depth,
    )


@pytest.mark.parametrize(
    ("slope", "depth", "flow", "expected"),
    [
        (0.003, 0.09, 0.002, ("mild", "M1")),
        (0.003, -math.inf, 0.002, ("mild", "M2")),
        (0.003, 0.8, 0.002, ("mild", "full")),
        (0.003, 0.0, 0.009, ("mild", "M2")),  # more than fits: full, but for the fall to the outlet
        (0.03, -math.inf, 0.002, ("steep", "S2")),
        (0.03, 0.09, 0.002, ("steep", "S1")),
        (0.03, 0.9, 0.002, ("steep", "full")),
        (0.0, 0.05, 0.001, ("horizontal", "H2")),
        (-0.002, 0.05, 0.0005, ("adverse", "A2")),
        (0.01, 0.3, 0.0, ("mild", "still")),
    ],
)
def test_names_of_the_textbook(slope: float, depth: float, flow: float, expected: tuple[str, str]) -> None:
    """Mild, steep, horizontal, adverse; 1 above both depths, 2 between them or toward the outlet."""
    found = kind(slope, depth, flow)
    assert (found.slope, found.curve) == expected


def test_the_critical_slope_lies_between() -> None:
    """At the slope whose normal depth is the critical one, neither mild nor steep; a little either way is."""
    critical = critical_depth_m(flow_m3_s=0.002, inside_diameter_m=BORE)
    water = section(inside_diameter_m=BORE, depth_m=critical)
    slope = (N * 0.002 / water.area_m2) ** 2 / water.hydraulic_radius_m ** (4 / 3)
    assert kind(slope, -math.inf).slope == "critical"
    assert kind(slope * 1.01, -math.inf).slope == "steep"
    assert kind(slope * 0.99, -math.inf).slope == "mild"


@pytest.mark.parametrize("depth", [0.02, 0.06, 0.0999, 0.15])
def test_specific_force_is_pressure_and_momentum(depth: float) -> None:
    """The pressure integrated over the section by a general quadrature, plus Q²/gA."""
    width = lambda y: 2 * math.sqrt(max(0.0, y * (BORE - y)))  # noqa: E731
    top = min(depth, BORE)
    pressure = quad(lambda y: (depth - y) * width(y), 0, top)[0]
    area = quad(width, 0, top)[0]
    found = specific_force_m3(flow_m3_s=0.003, inside_diameter_m=BORE, depth_m=depth)
    assert found == pytest.approx(pressure + 0.003**2 / (G * area), rel=1e-6)


def test_the_jump_stands_where_the_forces_balance() -> None:
    """S1 marched with a general solver from the tailwater up to the depth that balances the normal one."""
    flow, slope, tail = 0.002, 0.03, 0.14
    found = kind(slope, tail, flow)
    assert found.jump_m is not None
    assert found.normal_depth_m is not None
    force = lambda y: specific_force_m3(flow_m3_s=flow, inside_diameter_m=BORE, depth_m=y)  # noqa: E731
    goal = brentq(lambda y: force(y) - force(found.normal_depth_m), found.critical_depth_m, tail)
    full_slope = (N * flow / (math.pi * BORE**2 / 4)) ** 2 / (BORE / 4) ** (4 / 3)

    def rise(x: float, state: np.ndarray) -> list[float]:
        y = float(state[0])
        if y >= BORE:
            return [full_slope - slope]
        water = section(inside_diameter_m=BORE, depth_m=y)
        friction = (N * flow / water.area_m2) ** 2 / water.hydraulic_radius_m ** (4 / 3)
        return [(friction - slope) / (1 - flow**2 * water.top_width_m / (G * water.area_m2**3))]

    reach = lambda x, state: state[0] - goal  # noqa: E731
    reach.terminal = True  # type: ignore[attr-defined]
    marched = solve_ivp(rise, (0, 20), [tail], rtol=1e-8, max_step=0.01, events=reach)
    assert found.jump_m == pytest.approx(float(marched.t_events[0][0]), abs=0.02)
    assert found.jump_m > 1.0


def test_a_weak_tailwater_is_swept_out() -> None:
    """Between normal and the depth that balances it the rapid flow keeps the pipe to its end."""
    found = kind(0.03, -math.inf)
    assert found.normal_depth_m is not None
    between = 0.5 * (found.normal_depth_m + found.critical_depth_m)
    assert kind(0.03, between).curve == "S2"
    assert kind(0.03, between).jump_m is None


def test_entrance_head_grows_with_the_flow_without_a_step() -> None:
    """From a trickle through the transition to a drowned entrance; nothing at no flow."""
    flows = np.linspace(0, 1.6 * full_flow_m3_s(inside_diameter_m=BORE, slope=0.03, manning_n=N), 400)
    heads = [
        entrance_head_m(flow_m3_s=float(q), inside_diameter_m=BORE, slope=0.01, edge=EDGE) for q in flows
    ]
    assert heads[0] == 0.0
    steps = np.diff(heads)
    assert (steps >= 0).all()
    assert steps[1:].max() < 0.005
    assert heads[-1] > BORE


@pytest.mark.parametrize(
    "make",
    [
        lambda: kind(0.01, math.nan),
        lambda: kind(math.inf, 0.1),
        lambda: kind(0.01, 0.1, length=0.0),
        lambda: entrance_head_m(flow_m3_s=-1, inside_diameter_m=BORE, slope=0.01, edge=EDGE),
        lambda: entrance_head_m(flow_m3_s=0.001, inside_diameter_m=0, slope=0.01, edge=EDGE),
    ],
)
def test_out_of_range_is_refused(make: object) -> None:
    with pytest.raises(InputError) as caught:
        make()  # type: ignore[operator]
    assert caught.value.code == "pipe-number"
