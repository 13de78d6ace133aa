"""Downspouts: laws of scale, and the limits of every argument."""

import math
from collections.abc import Callable

import pytest

from roofwell.errors import InputError
from roofwell.physics.roof.downspout import (
    annular_capacity_en_m3_s,
    annular_capacity_m3_s,
    equivalent_diameter_m,
    offset_capacity_m3_s,
    ring_capacity_m3_s,
    terminal_length_m,
    terminal_velocity_m_s,
)


def test_fuller_and_wider_carries_more() -> None:
    """Both laws rise with the fill and with the diameter."""
    for law in (annular_capacity_m3_s, annular_capacity_en_m3_s):
        assert (
            law(diameter_m=0.1, fill=0.20) < law(diameter_m=0.1, fill=0.30) < law(diameter_m=0.12, fill=0.30)
        )


def test_equal_area() -> None:
    """A rectangle has the area of its round equal, at any admitted ratio."""
    for width, breadth in ((0.0508, 0.0762), (0.0762, 0.1016), (0.05, 0.15)):
        diameter = equivalent_diameter_m(width_m=width, breadth_m=breadth)
        assert math.pi * diameter**2 / 4 == pytest.approx(width * breadth, rel=1e-12)


def test_a_ring_in_a_circle_is_annular_flow() -> None:
    """The law by area and perimeter is the law by diameter."""
    for diameter in (0.05, 0.1, 0.3):
        ring = ring_capacity_m3_s(area_m2=math.pi * diameter**2 / 4, perimeter_m=math.pi * diameter, fill=0.3)
        assert ring == pytest.approx(annular_capacity_m3_s(diameter_m=diameter, fill=0.3), rel=1e-12)


def test_a_ring_is_manning_on_a_vertical_wall() -> None:
    """A ring of area r A on the perimeter P falls at slope 1: V = R^(2/3)/n with one and the same n everywhere."""
    found = set()
    for width, breadth, fill in ((0.05, 0.075, 7 / 24), (0.1, 0.1, 0.25), (0.3, 0.1, 0.35)):
        area, perimeter = width * breadth, 2 * (width + breadth)
        flow = ring_capacity_m3_s(area_m2=area, perimeter_m=perimeter, fill=fill)
        found.add(round((fill * area / perimeter) ** (2 / 3) * fill * area / flow, 9))
    (n,) = found
    assert n == pytest.approx(0.0099, abs=0.0001)


def test_more_wall_carries_less() -> None:
    """Of one area the circle carries most; flutes cost."""
    area = 0.05 * 0.075
    circle = ring_capacity_m3_s(area_m2=area, perimeter_m=math.sqrt(4 * math.pi * area))
    rectangle = ring_capacity_m3_s(area_m2=area, perimeter_m=0.25)
    fluted = ring_capacity_m3_s(area_m2=0.9 * area, perimeter_m=0.30)
    assert circle > rectangle > fluted


def test_energy_closes_in_an_offset() -> None:
    """Head and drop are spent in entrance, elbows, friction and the speed at the end."""
    area, perimeter, n, length = 0.0039, 0.254, 0.011, 0.6
    flow = offset_capacity_m3_s(
        area_m2=area, perimeter_m=perimeter, head_m=0.08, drop_m=0.3, length_m=length, elbows=2, elbow_k=1.1,
        entrance_k=0.5, manning_n=n,
    )  # fmt: skip
    velocity = flow / area
    slope = (n * velocity) ** 2 / (area / perimeter) ** (4 / 3)
    spent = (1 + 0.5 + 2 * 1.1) * velocity**2 / (2 * 9.80665) + slope * length
    assert spent == pytest.approx(0.38, rel=1e-12)


def test_elbows_and_flat_offsets_cost() -> None:
    """Each elbow costs, and so does a lower drop; without any loss water falls freely."""

    def carries(elbows: int, drop: float) -> float:
        return offset_capacity_m3_s(
            area_m2=0.0039, perimeter_m=0.254, head_m=0.08, drop_m=drop, length_m=0.5, elbows=elbows,
            elbow_k=1.1, entrance_k=0.5, manning_n=0.011,
        )  # fmt: skip

    assert carries(0, 0.3) > carries(1, 0.3) > carries(2, 0.3) > carries(2, 0.05)
    free = offset_capacity_m3_s(
        area_m2=1.0, perimeter_m=4.0, head_m=0.1, drop_m=0.1, length_m=0.0, elbows=0, elbow_k=0.0,
        entrance_k=0.0, manning_n=0.0,
    )  # fmt: skip
    assert free == pytest.approx(math.sqrt(2 * 9.80665 * 0.2), rel=1e-12)


def _offset(**other: float) -> float:
    values: dict[str, float] = {
        "area_m2": 0.004, "perimeter_m": 0.25, "head_m": 0.1, "drop_m": 0.1, "length_m": 0.1,
        "elbow_k": 1.1, "entrance_k": 0.5, "manning_n": 0.011,
    }  # fmt: skip
    return offset_capacity_m3_s(elbows=2, **(values | other))


def test_no_flow_no_speed() -> None:
    """An empty downspout has no terminal velocity."""
    assert terminal_velocity_m_s(flow_m3_s=0, diameter_m=0.1) == 0
    assert terminal_length_m(flow_m3_s=0, diameter_m=0.1) == 0


REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: annular_capacity_m3_s(diameter_m=0), "downspout-number"),
    (lambda: annular_capacity_m3_s(diameter_m=0.1, fill=0.199), "downspout-fill"),
    (lambda: annular_capacity_m3_s(diameter_m=0.1, fill=0.351), "downspout-fill"),
    (lambda: annular_capacity_en_m3_s(diameter_m=0.1, fill=0.34), "downspout-fill"),
    (lambda: annular_capacity_en_m3_s(diameter_m=0.1, wall_roughness_m=0), "downspout-number"),
    (lambda: equivalent_diameter_m(width_m=0.05, breadth_m=0.1501), "downspout-sides"),
    (lambda: equivalent_diameter_m(width_m=0.05, breadth_m=0), "downspout-number"),
    (lambda: ring_capacity_m3_s(area_m2=0, perimeter_m=0.1), "downspout-number"),
    (lambda: ring_capacity_m3_s(area_m2=0.01, perimeter_m=0.354), "downspout-number"),
    (lambda: ring_capacity_m3_s(area_m2=0.01, perimeter_m=0.4, fill=0.36), "downspout-fill"),
    *[
        (lambda name=name: _offset(**{name: -0.1}), "downspout-number")
        for name in (
            "area_m2",
            "perimeter_m",
            "head_m",
            "drop_m",
            "length_m",
            "elbow_k",
            "entrance_k",
            "manning_n",
        )
    ],
    (lambda: terminal_velocity_m_s(flow_m3_s=-1e-6, diameter_m=0.1), "downspout-number"),
]


@pytest.mark.parametrize(("call", "code"), REFUSED)
def test_out_of_range_is_refused(call: Callable[[], object], code: str) -> None:
    """A stated range is enforced, with a code for programs."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code
