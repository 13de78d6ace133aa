"""What the mound stands on: footprint, ranges, symmetry; what is compared with print stands in tests/published."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.well.exponentials import Exponentials, fit, track
from roofwell.physics.well.footprint import (
    footprint,
    level_flow_of_rise_m,
    level_flow_s,
    rise_of_level_flow_m,
    three_dimensional_s,
)
from roofwell.physics.well.mound import (
    Aquifer,
    disk_response_s,
    hantush_rise_m,
    hantush_squares_m2,
    s_star,
)

GROUND = Aquifer(3.0, 0.15, 1e-5, 1e-5)


def test_the_footprint_is_the_pit_while_the_ground_conducts_what_it_soaks() -> None:
    pit = footprint(length_m=4.0, width_m=1.5, round_pit=False, least_area_m2=5.0)
    assert pit.area_m2 == pytest.approx(6.0)
    round_one = footprint(length_m=2.0, width_m=2.0, round_pit=True, least_area_m2=0.0)
    assert round_one.area_m2 == pytest.approx(math.pi)
    assert round_one.radius_m == pytest.approx(1.0)


def test_recharge_never_passes_the_conductivity() -> None:
    """Soaking through its sides too, a pit takes more than its bottom conducts: the ground that takes it is larger."""
    for sides in ((4.0, 1.5), (1.5, 1.5)):
        pit = footprint(length_m=sides[0], width_m=sides[1], round_pit=False, least_area_m2=2e-4 / 1e-5)
        assert 2e-4 / pit.area_m2 == pytest.approx(1e-5, rel=1e-12)
        assert pit.half_length_m - pit.half_width_m == pytest.approx((sides[0] - sides[1]) / 2)


def test_disks_cover_the_rectangle() -> None:
    for length, count in ((1.5, 1), (3.1, 1), (3.2, 3), (4.6, 3), (7.4, 3), (7.6, 5), (9.0, 5)):
        pit = footprint(length_m=length, width_m=1.5, round_pit=False, least_area_m2=0.0)
        assert len(pit.offsets_m) == count
        assert count * math.pi * pit.radius_m**2 == pytest.approx(length * 1.5)
        assert sum(pit.offsets_m) == pytest.approx(0.0, abs=1e-12)


def test_a_row_of_disks_stands_for_a_trench() -> None:
    """On thin ground level flow under a trench is known exactly: the row of disks is within 3 %."""
    thin = Aquifer(0.3, 0.2, 1e-4, 1e-4)
    trench = footprint(length_m=8.0, width_m=2.0, round_pit=False, least_area_m2=0.0)
    times = np.array([0.5, 3.0, 20.0]) * 86400
    assert three_dimensional_s(trench, thin, times) == pytest.approx(
        level_flow_s(trench, thin, times), rel=0.03
    )


@pytest.mark.parametrize(
    ("length", "width", "expected"),
    [
        (8.959, 5.301, (139506.0, 251048.0, 408640.0, 576742.0, 972750.0)),
        (10.0, 4.0, (135935.0, 239192.0, 377182.0, 518634.0, 851011.0)),
        (12.0, 2.0, (121236.0, 195134.0, 279676.0, 360676.0, 556885.0)),
    ],
)
def test_a_row_of_disks_stands_for_the_rectangle(
    length: float, width: float, expected: tuple[float, ...]
) -> None:
    """Rise at the middle of a rectangle: its own waves summed apart from this code, in polar wave numbers,

    (1/2π) ∫ k W(k) (1 − exp(−λt))/(Sλ) dk, W the mean over all directions of L sinc(kx L/2) B sinc(ky B/2). Derived.
    """
    ground = Aquifer(7.9248, 0.14, 4.61335e-6, 4.61335e-6)
    foot = footprint(length_m=length, width_m=width, round_pit=False, least_area_m2=0.0)
    rises = three_dimensional_s(foot, ground, np.array([6.0, 12.0, 24.0, 48.0, 720.0]) * 3600.0)
    share = rises / np.array(expected)
    assert (share > 0.995).all()  # never too low
    assert (share < 1.07).all()


def test_the_rise_grows_with_time_and_falls_with_distance() -> None:
    times = np.geomspace(10, 3e8, 60)
    rises = [
        disk_response_s(radius_m=1.2, aquifer=GROUND, time_s=times, distance_m=r)
        for r in (0, 0.6, 1.2, 3, 20)
    ]
    for rise in rises:
        assert (np.diff(rise) >= -1e-6 * rise[1:]).all()
    for near, far in pairwise(rises):
        assert (near >= far - 1e-6 * near).all()


def test_at_once_the_water_stands_where_it_came_down() -> None:
    rise = disk_response_s(radius_m=1.2, aquifer=GROUND, time_s=np.array([0.0, 60.0]))
    assert rise[0] == 0.0
    assert rise[1] == pytest.approx(60.0 / 0.15, rel=0.01)


def test_s_star_is_odd() -> None:
    assert float(s_star(-0.3, 0.7)) == pytest.approx(-float(s_star(0.3, 0.7)))


@pytest.mark.parametrize(
    "wrong",
    [
        {"thickness_m": 0.0},
        {"specific_yield": 0.0},
        {"specific_yield": 1.01},
        {"horizontal_m_s": math.inf},
        {"vertical_m_s": -1e-5},
    ],
)
def test_ground_out_of_range_is_refused(wrong: dict[str, float]) -> None:
    figures = {"thickness_m": 3.0, "specific_yield": 0.15, "horizontal_m_s": 1e-5, "vertical_m_s": 1e-5}
    with pytest.raises(InputError) as caught:
        disk_response_s(radius_m=1.0, aquifer=Aquifer(**{**figures, **wrong}), time_s=np.array([1.0]))
    assert caught.value.code == "mound-number"


def test_numbers_out_of_range_are_refused() -> None:
    with pytest.raises(InputError):
        disk_response_s(radius_m=1.0, aquifer=GROUND, time_s=np.array([-1.0]))
    with pytest.raises(InputError):
        disk_response_s(radius_m=1.0, aquifer=GROUND, time_s=np.array([1.0]), distance_m=-1.0)
    with pytest.raises(InputError):
        hantush_rise_m(recharge_m_s=-1e-6, half_length_m=1.0, half_width_m=1.0, aquifer=GROUND, time_s=1.0)
    with pytest.raises(InputError):
        footprint(length_m=1.0, width_m=2.0, round_pit=False, least_area_m2=0.0)
    with pytest.raises(InputError):
        footprint(length_m=1.0, width_m=1.0, round_pit=False, least_area_m2=-1.0)


def test_a_fit_needs_a_mound_and_room_in_time() -> None:
    for shortest, longest in ((0.0, 1.0), (1.0, 9.0), (1.0, math.inf)):
        with pytest.raises(InputError) as caught:
            fit(lambda t: t, shortest_s=shortest, longest_s=longest)
        assert caught.value.code == "exponentials-times"
    with pytest.raises(InputError) as caught:
        fit(np.zeros_like, shortest_s=1.0, longest_s=100.0)
    assert caught.value.code == "exponentials-response"


def test_tracking_in_pieces_is_tracking_at_once() -> None:
    terms = Exponentials(np.array([1.0, 0.0, 3.0]), np.array([500.0, 2e3, 1e6]), 0.0)
    rate = np.random.default_rng(5).random(1000)
    whole, last = track(terms, rate=rate, step_s=300.0)
    first, state = track(terms, rate=rate[:333], step_s=300.0)
    rest, end = track(terms, rate=rate[333:], step_s=300.0, start=state)
    assert np.concatenate([first, rest]) == pytest.approx(whole, rel=1e-12)
    assert end == pytest.approx(last, rel=1e-12)
    one_by_one, now = [], np.zeros(3)
    decay = np.exp(-300.0 / terms.tau_s)
    for value in rate:
        now = now * decay + terms.amount * (1 - decay) * value
        one_by_one.append(now.sum())
    assert whole == pytest.approx(one_by_one, rel=1e-11)


def test_the_rise_of_level_flow_by_hand() -> None:
    """Water 2 m deep that rises to 2.5 m: (6.25 - 4) / 4 = 0.5625 m of level flow is a rise of 0.5 m; none is none."""
    assert level_flow_of_rise_m(0.5, thickness_m=2.0) == pytest.approx(0.5625)
    found = rise_of_level_flow_m(np.array([0.0, 0.5625]), thickness_m=2.0)
    assert found == pytest.approx([0.0, 0.5])


def test_level_flow_beside_the_middle_is_the_published_solution_there() -> None:
    """Hantush beside the pit, read off his own solution with x along the length and y across it."""
    foot = footprint(length_m=6.0, width_m=3.0, round_pit=False, least_area_m2=0.0)
    ground = Aquifer(4.0, 0.2, 2e-5, 1e-5)
    times = np.array([1e4, 1e6])
    beside = level_flow_s(foot, ground, times, along_m=5.0, across_m=1.0)
    squares = hantush_squares_m2(
        recharge_m_s=1.0, half_length_m=3.0, half_width_m=1.5, aquifer=ground, time_s=times, x_m=5.0, y_m=1.0
    )
    assert beside == pytest.approx(squares / 8.0)
    assert (beside < level_flow_s(foot, ground, times)).all()
