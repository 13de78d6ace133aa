"""Stores held back by their own mound: against brute force at one second, and what must never change."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import compiled, mounded, network
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


def test_stores_that_stand_in_the_mound_are_followed_all_the_same() -> None:
    """A steady inflow that the ground cannot carry away holds them back in every one of 13,000 hours."""
    inflow = np.full((13_000, 1), 1e-4)
    run = mounded.simulate([WELL], inflow, [_ground(0.1)], step_s=3600.0)
    assert run.capped_steps * run.step_s > 12_000 * 3600.0
    assert network.balance_error(run.traces[0]) < 1e-9
    both = [replace(WELL, overflow_to=1), WELL]
    run = mounded.simulate(both, np.repeat(inflow, 2, axis=1), [_ground(0.1)] * 2, step_s=3600.0)
    assert run.capped_steps * run.step_s > 12_000 * 3600.0
    assert max(network.balance_error(trace) for trace in run.traces) < 1e-9


STAGE = network.Stage(WELL.volume_m3, np.array([0.0, 0.5, 2.0]))
DEEPER = network.Stage(WELL.volume_m3, np.array([-0.4, 0.3, 2.0]))
COUPLED = {
    "one spills into the other": ([replace(WELL, overflow_to=1), WELL], (0.4, 0.6)),
    "three in a row": ([replace(WELL, overflow_to=1), replace(WELL, overflow_to=2), WELL], (0.4, 0.9, 0.3)),
    "linked over a high invert": (
        [replace(WELL, stage=STAGE), replace(WELL, stage=DEEPER, link=network.Link(0, 1.0))],
        (0.4, 0.9),
    ),
    "linked at the bottom": (
        [replace(WELL, stage=STAGE), replace(WELL, stage=DEEPER, link=network.Link(0, 0.0))],
        (0.5, 0.3),
    ),
    "linked, into a third": (
        [
            replace(WELL, stage=STAGE, overflow_to=2),
            replace(WELL, stage=DEEPER, link=network.Link(0, 0.2), spills=False),
            WELL,
        ],
        (0.6, 0.4, 0.5),
    ),
    "one into linked ones": (
        [
            replace(WELL, overflow_to=2),
            replace(WELL, stage=STAGE),
            replace(WELL, stage=DEEPER, link=network.Link(1, 0.2)),
        ],
        (0.6, 0.4, 0.5),
    ),
}


@pytest.mark.parametrize("name", COUPLED)
def test_coupled_stores_against_brute_force_at_one_second(name: str) -> None:
    """Every store with its mound in steps of one second: spill handed on, water over a link evened out, in plain Python."""
    stores, rooms = COUPLED[name]
    inflow = np.column_stack([_inflow()[:30, 0] * share for share in (1.0, 0.25, 0.1)[: len(stores)]])
    run = mounded.simulate(stores, inflow, [_ground(room) for room in rooms], step_s=3600.0)
    assert run.capped_steps > 0
    soaked, spilled, left = _coupled_by_brute_force(stores, inflow, rooms)
    free = network.simulate(stores, inflow, step_s=3600.0)
    whole = float(inflow.sum()) * 3600.0
    for j, trace in enumerate(run.traces):
        assert float(trace.soaked_m3.sum()) == pytest.approx(soaked[j], abs=0.003 * whole)
        if stores[j].spills:
            assert float(trace.spilled_m3.sum()) == pytest.approx(spilled[j], abs=0.003 * whole)
        assert float(trace.volume_end_m3[-1]) == pytest.approx(left[j], abs=0.01)
    gone = sum(float(trace.soaked_m3.sum()) for trace in run.traces)
    assert sum(float(trace.soaked_m3.sum()) for trace in free) > gone + 0.02 * whole  # the mounds matter
    out = sum(
        float(t.spilled_m3.sum()) for s, t in zip(stores, run.traces, strict=True) if s.overflow_to is None
    )
    stays = sum(float(trace.volume_end_m3[-1]) for trace in run.traces)
    assert gone + out + stays == pytest.approx(whole, rel=1e-9)


def _coupled_by_brute_force(
    stores: list[network.Store], inflow: NDArray[np.float64], rooms: tuple[float, ...]
) -> tuple[list[float], list[float], list[float]]:
    """Soaked, spilled and left of each store, m³, in steps of one second: nothing of the kernel is used.

    All are of the same pit; a link's water runs over its invert at once. Stores stand after those that spill into them.
    """
    count, terms = len(stores), range(4)
    decay = [math.exp(-1.0 / tau) for tau in TERMS.tau_s.tolist()]
    gain = [amount * (1.0 - d) for amount, d in zip(TERMS.amount.tolist(), decay, strict=True)]
    curve, soakage = WELL.volume_m3.tolist(), WELL.soakage_m3_s.tolist()
    mounds = [[0.0] * 4 for _ in stores]
    volume, soaked, spilled = [0.0] * count, [0.0] * count, [0.0] * count
    fed = [[k for k, store in enumerate(stores) if store.overflow_to == j] for j in range(count)]
    pair = next(((j, s.link.to, s.link.invert_m) for j, s in enumerate(stores) if s.link is not None), None)
    joined = sorted(pair[:2]) if pair is not None else [-1, -1]
    spiller = next((j for j in joined if j >= 0 and stores[j].spills), -1)
    for flows in inflow.tolist():
        for _ in range(3600):
            over = [0.0] * count
            for j in range(count):
                comes = flows[j] + sum(over[k] for k in fed[j])
                stands = sum(mounds[j][k] * decay[k] for k in terms)
                cap = max(0.0, (rooms[j] - stands) / sum(gain) * AREA)
                out = min(_between(volume[j], curve, soakage), cap, volume[j] + comes)
                mounds[j] = [mounds[j][k] * decay[k] + gain[k] * out / AREA for k in terms]
                volume[j] += comes - out
                soaked[j] += out
                if j == joined[1] and pair is not None:
                    a, b, invert = pair
                    volume[a], volume[b] = _level(stores, a, b, invert, volume[a], volume[b])
                    over[spiller] = max(0.0, volume[a] + volume[b] - 8.0)
                    volume[a], volume[b] = min(volume[a], 4.0), min(volume[b], 4.0)
                elif j not in joined and volume[j] > 4.0:
                    over[j], volume[j] = volume[j] - 4.0, 4.0
            for j in range(count):
                spilled[j] += over[j]
    return soaked, spilled, volume


def _level(
    stores: list[network.Store], a: int, b: int, invert: float, in_a: float, in_b: float
) -> tuple[float, float]:
    """Let what stands over the invert run over to the other side; over it on both sides both stand at one level."""
    stage_a, stage_b = (stores[j].stage for j in (a, b))
    assert stage_a is not None
    assert stage_b is not None
    (va, la), (vb, lb) = ((s.volume_m3.tolist(), s.level_m.tolist()) for s in (stage_a, stage_b))
    at_a, at_b, both = _between(invert, la, va), _between(invert, lb, vb), in_a + in_b
    if both <= at_a + at_b:
        over_a, over_b = max(0.0, in_a - at_a), max(0.0, in_b - at_b)
        return in_a - over_a + over_b, in_b - over_b + over_a
    if both >= va[-1] + vb[-1]:
        return va[-1] + (both - va[-1] - vb[-1]), vb[-1]
    levels = sorted({invert, *(z for z in (*la, *lb) if z > invert)})
    sums = [_between(z, la, va) + _between(z, lb, vb) for z in levels]
    level = _between(both, sums, levels)
    return _between(level, la, va), both - _between(level, la, va)


def _between(x: float, xs: list[float], ys: list[float]) -> float:
    """Linear between points, as far as they go."""
    if x <= xs[0]:
        return ys[0]
    for k in range(1, len(xs)):
        if x <= xs[k]:
            return ys[k - 1] + (ys[k] - ys[k - 1]) * (x - xs[k - 1]) / (xs[k] - xs[k - 1])
    return ys[-1]


@pytest.mark.parametrize("name", ["alone", *COUPLED])
def test_a_run_in_pieces_is_the_run_in_one(name: str) -> None:
    """Cut in the midst of rain, of a held stretch and of a dry one: the same numbers, and times of all steps together."""
    stores, rooms = ([WELL], (0.4,)) if name == "alone" else COUPLED[name]
    inflow = np.zeros((400, len(stores)))
    inflow[:72] = _inflow() / len(stores)
    inflow[200:272] = _inflow() / len(stores)
    grounds = [_ground(room) for room in rooms]
    whole = mounded.simulate(stores, inflow, grounds, step_s=3600.0)
    told: list[float] = []
    joined: list[tuple[network.Trace, ...]] = []

    def once(following: mounded.Following) -> None:
        joined[:] = [following.on(inflow[a:b]) for a, b in pairwise([0, 1, 5, 22, 23, 150, 202, 400])]

    run = mounded.in_pieces(stores, grounds, once, step_s=3600.0, steps=400, progress=told.append)
    assert (run.capped_steps, run.step_s, run.spill_change) == (
        whole.capped_steps,
        whole.step_s,
        whole.spill_change,
    )
    assert run.capped_steps > 0
    assert told[-1] == 1.0 and 0.0 < told[0] < 0.1
    for j, trace in enumerate(whole.traces):
        for field in ("volume_end_m3", "soaked_m3", "spilled_m3", "refused_m3", "inflow_m3"):
            pieces = np.concatenate([getattr(piece[j], field) for piece in joined])
            assert pieces == pytest.approx(getattr(trace, field), rel=1e-9, abs=1e-12), field
        for field in ("longest_wet_s", "emptied_after_s", "first_full_s"):
            assert getattr(joined[-1][j], field) == getattr(trace, field), field


@pytest.mark.parametrize(
    "name", ["one spills into the other", "linked, into a third", "one into linked ones"]
)
def test_plain_and_compiled_agree(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    stores, rooms = COUPLED[name]
    inflow = np.repeat(_inflow()[:24], len(stores), axis=1)
    grounds = [_ground(room) for room in rooms]
    fast = mounded.simulate(stores, inflow, grounds, step_s=3600.0)
    monkeypatch.setattr(compiled, "kernel", compiled.plain_kernel)
    slow = mounded.simulate(stores, inflow, grounds, step_s=3600.0)
    assert fast.capped_steps == slow.capped_steps > 0
    for a, b in zip(fast.traces, slow.traces, strict=True):
        assert a.volume_end_m3 == pytest.approx(b.volume_end_m3, rel=1e-12, abs=1e-12)
        assert a.spilled_m3 == pytest.approx(b.spilled_m3, rel=1e-12, abs=1e-12)
