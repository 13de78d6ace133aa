"""Stores held back by their own mound: against brute force at one second, and what must never change."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import mounded, network
from roofwell.physics.well.exponentials import Exponentials, track

AREA = 2.5
TERMS = Exponentials(np.array([2e4, 4e4, 5e4, 3e4]), np.array([2e3, 1.5e4, 1.2e5, 1e6]), 0.002)
WELL = network.Store(np.array([0.0, 1.0, 4.0]), np.array([2.5e-5, 5e-5, 1.2e-4]), empty_m3=0.004)


def _ground(room_m: float, terms: Exponentials = TERMS) -> mounded.Ground:
    return mounded.Ground(AREA, room_m, terms)


def _inflow(hours: int = 72) -> NDArray[np.float64]:
    """Three cloudbursts and drizzle, m³/s for each hour."""
    inflow = np.full(hours, 5e-6)
    inflow[[2, 3, 20, 21, 22, 45]] = [6e-4, 9e-4, 4e-4, 8e-4, 5e-4, 1.1e-3]
    return inflow[:, None]


def _by_brute_force(inflow: NDArray[np.float64], room_m: float) -> tuple[float, float, float]:
    """Spilled, soaked and left, m³, in steps of one second: nothing of the kernel is used."""
    decay = np.exp(-1.0 / TERMS.tau_s)
    gain = TERMS.amount * (1.0 - decay)
    mound, volume, spilled, soaked = np.zeros(4), 0.0, 0.0, 0.0
    total = float(gain.sum())
    for flow in inflow[:, 0]:
        for _ in range(3600):
            wanted = float(np.interp(volume, WELL.volume_m3, WELL.soakage_m3_s))
            cap = max(0.0, (room_m - float(mound @ decay)) / total * AREA)
            out = min(wanted, cap, volume + flow)
            mound = mound * decay + gain * (out / AREA)
            volume += flow - out
            over = max(0.0, volume - 4.0)
            volume -= over
            spilled += over
            soaked += out
    return spilled, soaked, volume


@pytest.mark.parametrize("room", [0.9, 0.4])
def test_against_brute_force_at_one_second(room: float) -> None:
    inflow = _inflow()
    run = mounded.simulate([WELL], inflow, [_ground(room)], step_s=3600.0)
    spilled, soaked, left = _by_brute_force(inflow, room)
    assert run.capped_steps > 0
    assert float(run.traces[0].spilled_m3.sum()) == pytest.approx(spilled, rel=0.003)
    assert float(run.traces[0].soaked_m3.sum()) == pytest.approx(soaked, rel=0.003)
    assert float(run.traces[0].volume_end_m3[-1]) == pytest.approx(left, rel=0.02, abs=0.01)


@pytest.mark.parametrize("room", [2.0, 0.9, 0.4, 0.05])
def test_the_water_balance_closes_and_the_mound_keeps_under_the_bottom(room: float) -> None:
    run = mounded.simulate([WELL], _inflow(), [_ground(room)], step_s=3600.0)
    assert network.balance_error(run.traces[0]) < 1e-9
    assert run.spill_change < 0.001
    rise, _ = track(TERMS, rate=run.traces[0].soaked_m3 / (3600.0 * AREA), step_s=3600.0)
    assert float(rise.max()) < room * 1.05  # an hour held in parts, told as its mean


def test_a_mound_that_stays_under_the_bottom_changes_nothing() -> None:
    free = network.simulate([WELL], _inflow(), step_s=3600.0)[0]
    for room in (50.0, math.inf):
        run = mounded.simulate([WELL], _inflow(), [_ground(room)], step_s=3600.0)
        assert (run.capped_steps, run.step_s, run.spill_change) == (0, 3600.0, 0.0)
        assert run.traces[0].spilled_m3 == pytest.approx(free.spilled_m3, rel=1e-9, abs=1e-12)
        assert run.traces[0].soaked_m3 == pytest.approx(free.soaked_m3, rel=1e-9, abs=1e-12)


def test_less_room_never_spills_less() -> None:
    spills = [
        float(mounded.simulate([WELL], _inflow(), [_ground(room)], step_s=3600.0).traces[0].spilled_m3.sum())
        for room in (3.0, 1.5, 0.9, 0.6, 0.3, 0.1)
    ]
    assert spills == sorted(spills)
    assert spills[-1] > spills[0]


def test_steps_of_more_than_an_hour_are_cut() -> None:
    inflow = _inflow().reshape(-1, 6).mean(axis=1)[:, None]
    run = mounded.simulate([WELL], inflow, [_ground(0.4)], step_s=6 * 3600.0)
    assert run.step_s <= 3600.0
    assert run.traces[0].soaked_m3.shape == (12,)
    assert network.balance_error(run.traces[0]) < 1e-9


def test_two_wells_in_series_hand_on_what_the_mound_holds_back() -> None:
    first = network.Store(WELL.volume_m3, WELL.soakage_m3_s, overflow_to=1, empty_m3=0.004)
    inflow = np.column_stack([_inflow()[:, 0], np.zeros(72)])
    run = mounded.simulate([first, WELL], inflow, [_ground(0.4), _ground(math.inf)], step_s=3600.0)
    free = network.simulate([first, WELL], inflow, step_s=3600.0)
    assert float(run.traces[1].inflow_m3.sum()) > float(free[1].inflow_m3.sum())
    assert float(run.traces[0].spilled_m3.sum()) == pytest.approx(
        float(run.traces[1].inflow_m3.sum()), rel=1e-9
    )


def test_a_jump_of_the_soakage_is_held_too() -> None:
    """A stepped pit: above the step it soaks more at once."""
    stepped = network.Store(
        np.array([0.0, 1.0, 4.0]),
        np.array([2e-5, 9e-5, 1.3e-4]),
        np.array([0.0, 4e-5, 1.3e-4]),
        empty_m3=0.004,
    )
    run = mounded.simulate([stepped], _inflow(), [_ground(0.4)], step_s=3600.0)
    assert run.capped_steps > 0
    assert network.balance_error(run.traces[0]) < 1e-9


def test_water_in_the_pit_is_refused_and_so_is_a_missing_ground() -> None:
    for grounds in ([_ground(0.0)], [_ground(-1.0)], []):
        with pytest.raises(InputError) as caught:
            mounded.simulate([WELL], _inflow(), grounds, step_s=3600.0)
        assert caught.value.code == "mounded-ground"


def test_a_store_that_stands_in_the_mound_is_not_followed_for_minutes() -> None:
    """A steady inflow that the ground cannot carry away holds it back in every one of 13,000 hours: a well by itself is
    followed all the same, two of which one spills into the other are not."""
    inflow = np.full((13_000, 1), 1e-4)
    run = mounded.simulate([WELL], inflow, [_ground(0.1)], step_s=3600.0)
    assert run.capped_steps * run.step_s > 12_000 * 3600.0
    assert network.balance_error(run.traces[0]) < 1e-9
    both = [replace(WELL, overflow_to=1), WELL]
    with pytest.raises(InputError) as caught:
        mounded.simulate(both, np.repeat(inflow, 2, axis=1), [_ground(0.1)] * 2, step_s=3600.0)
    assert caught.value.code == "mounded-too-often"
