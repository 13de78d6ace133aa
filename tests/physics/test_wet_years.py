"""A record as wet spells, against the plain kernel hour by hour."""

from __future__ import annotations

import math
import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics import compiled, mounded, network, wet_years
from roofwell.physics.network import Store
from roofwell.physics.rain import events
from roofwell.physics.well.exponentials import Exponentials

FloatArray = NDArray[np.float64]
HOUR = 3600.0


def _rain(seed: int, hours: int) -> FloatArray:
    """Invented rain: showers of some hours, most small and a few large, with dry days between; m an hour."""
    rng = np.random.default_rng(seed)
    depth = np.zeros(hours)
    at = 0
    while at < hours:
        at += int(rng.exponential(55.0)) + 1
        long = int(rng.geometric(0.25))
        depth[at : at + long] = rng.gamma(0.5, 0.007, size=depth[at : at + long].size)
        at += long
    return depth


def _store(rng: np.random.Generator, *, limited: bool) -> Store:
    nodes = np.concatenate([[0.0], np.cumsum(rng.uniform(0.2, 1.5, 4))])
    above = np.cumsum(rng.uniform(0.0, 5e-5, 5))
    below = above.copy()
    below[2] *= rng.uniform(0.5, 1.0)  # a jump, as at the step of a pit
    return Store(
        nodes,
        above,
        below,
        np.array([9e-4, 9e-4, 7e-4, 4e-4, 2e-4]) if limited else None,
        empty_m3=0.003,
    )


@pytest.mark.parametrize("seed", range(6))
def test_the_spells_give_what_every_hour_gives(seed: int) -> None:
    """Two wells, spouts that are too small at times, an inlet that backs up, a jump of soakage: events and volumes of
    every year as those of the plain kernel, to 1e-9."""
    rng = np.random.default_rng(100 + seed)
    years, hours = 6, 8766
    depth = _rain(seed, years * hours)
    year = np.arange(depth.size) // hours
    found = events.find_events(depth_m=depth, step_s=HOUR, gap_s=6 * HOUR)
    stores = [_store(rng, limited=seed % 2 == 0), _store(rng, limited=False)]
    spouts = [[(60.0, 4e-4), (35.0, math.inf)], [(50.0, 3e-4)]]
    factor, loss, runoff = float(rng.uniform(0.03, 1.0)), float(rng.uniform(0.0, 0.002)), 0.95
    record = wet_years.wet_years(depth_m=depth, events=found, year_of_step=year, span_years=np.ones(years))
    least = 1e-9 * min(float(store.volume_m3[-1]) for store in stores)
    got = wet_years.leaving(
        record, wet_years.roofs(spouts), wet_years.curves(stores),
        factor=factor, loss_m=loss, runoff=runoff, least_m3=least,
    )  # fmt: skip

    rate = events.net_of_initial_loss(depth_m=depth, events=found, loss_m=loss) * runoff / HOUR
    wanted = [[rate * area for area, _ in one] for one in spouts]
    taken = [
        [np.minimum(flow, limit) for flow, (_, limit) in zip(flows, one, strict=True)]
        for flows, one in zip(wanted, spouts, strict=True)
    ]
    arriving = np.column_stack([np.sum(one, axis=0) for one in taken])
    out = sum(np.sum(a, axis=0) - np.sum(b, axis=0) for a, b in zip(wanted, taken, strict=True)) * HOUR
    faster = [
        Store(s.volume_m3, s.soakage_m3_s * factor, s.soakage_below_m3_s * factor, s.capacity_m3_s)
        for s in stores
        if s.soakage_below_m3_s is not None
    ]
    for trace in network.simulate(faster, arriving, step_s=HOUR):
        out = out + trace.spilled_m3 + trace.refused_m3
    spilled = np.unique(found.event_of_step[out > least])
    assert spilled.size > 5
    assert got.events.tolist() == np.bincount(year[found.first_step[spilled]], minlength=years).tolist()
    by_year = np.bincount(
        year[found.first_step[np.maximum(found.event_of_step, 0)]], weights=out, minlength=years
    )
    assert got.volume_m3 == pytest.approx(by_year, rel=1e-9)


def test_memory_of_a_run_does_not_grow_with_the_record() -> None:
    """Sixty years take no more than ten, but for one number a year and figure."""
    store = _store(np.random.default_rng(4), limited=False)
    peaks = []
    for years in (10, 60):
        depth = _rain(years, years * 8766)
        found = events.find_events(depth_m=depth, step_s=HOUR, gap_s=6 * HOUR)
        record = wet_years.wet_years(
            depth_m=depth, events=found, year_of_step=np.arange(depth.size) // 8766, span_years=np.ones(years)
        )
        given = wet_years.roofs([[(100.0, math.inf)]]), wet_years.curves([store])
        knobs = {"factor": 0.3, "loss_m": 0.001, "runoff": 1.0, "least_m3": 1e-9}
        wet_years.leaving(record, *given, **knobs)
        tracemalloc.start()
        for _ in range(20):
            wet_years.leaving(record, *given, **knobs)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] - peaks[0] < 50 * 8 * 4
    assert peaks[1] < 20_000


def test_the_record_is_kept_as_its_wet_hours() -> None:
    """By hand: two spells, the second of two hours; the dry time to the end belongs to the last."""
    depth = np.array([0.0, 0.004, 0.0, 0.0, 0.001, 0.002, 0.0])
    found = events.find_events(depth_m=depth, step_s=HOUR, gap_s=2 * HOUR)
    record = wet_years.wet_years(
        depth_m=depth,
        events=found,
        year_of_step=np.array([0, 0, 0, 0, 0, 1, 1]),
        span_years=np.array([0.5, 0.25]),
    )
    assert record.depth_m.tolist() == [0.004, 0.001, 0.002]
    assert record.first.tolist() == [0, 1, 3]
    assert record.gap_s.tolist() == [2 * HOUR, HOUR]
    assert record.event.tolist() == [0, 1, 1]
    assert record.year_of_event.tolist() == [0, 0]
    assert record.years == 0.75


def test_a_record_without_rain_and_one_that_does_not_agree() -> None:
    dry = np.zeros(5)
    found = events.find_events(depth_m=dry, step_s=HOUR, gap_s=HOUR)
    year = np.zeros(5, dtype=np.int64)
    record = wet_years.wet_years(depth_m=dry, events=found, year_of_step=year, span_years=np.ones(1))
    store = _store(np.random.default_rng(1), limited=False)
    got = wet_years.leaving(
        record, wet_years.roofs([[(9.0, 1.0)]]), wet_years.curves([store]),
        factor=1.0, loss_m=0.0, runoff=1.0, least_m3=1e-9,
    )  # fmt: skip
    assert got.events.tolist() == [0.0]
    with pytest.raises(InputError) as caught:
        wet_years.wet_years(depth_m=dry, events=found, year_of_step=year[1:], span_years=np.ones(1))
    assert caught.value.code == "rain-record-shape"
    with pytest.raises(InputError) as caught:
        wet_years.curves([Store(np.array([0.0, 1.0]), np.zeros(2), overflow_to=0), store])
    assert caught.value.code == "overflow-circle"
    with pytest.raises(InputError) as caught:
        wet_years.curves([Store(np.array([0.0, 1.0]), np.zeros(2), link=network.Link(1, 0.5)), store])
    assert caught.value.code == "link-stage"


@pytest.mark.parametrize("seed", range(6))
def test_wells_that_spill_into_each_other_give_what_every_hour_gives(seed: int) -> None:
    """Four wells, two of which spill into a third and that into the last, in an order that is not theirs; spouts and
    inlets too small at times: events and volumes of every year as those of the plain kernel (which
    tests/physics/test_network_against_solver.py holds against scipy), to 1e-9."""
    rng = np.random.default_rng(300 + seed)
    years, hours = 4, 8766
    depth = _rain(seed, years * hours)
    year = np.arange(depth.size) // hours
    found = events.find_events(depth_m=depth, step_s=HOUR, gap_s=6 * HOUR)
    to = [None, 0, 1, 1]
    stores = [
        replace(_store(rng, limited=limited), overflow_to=receiver)
        for receiver, limited in zip(to, (False, seed % 2 == 0, False, seed % 3 == 0), strict=True)
    ]
    stores[1] = replace(stores[1], volume_m3=stores[1].volume_m3 / 10.0)  # so that it hands on as well
    areas, limits = [15.0, 0.0, 150.0, 110.0], [math.inf, 1.0, 1.2e-3, math.inf]
    factor, loss = float(rng.uniform(0.03, 1.0)), float(rng.uniform(0.0, 0.002))
    record = wet_years.wet_years(depth_m=depth, events=found, year_of_step=year, span_years=np.ones(years))
    least = 1e-9 * min(float(store.volume_m3[-1]) for store in stores)
    got = wet_years.leaving(
        record, wet_years.roofs([[pair] for pair in zip(areas, limits, strict=True)]), wet_years.curves(stores),
        factor=factor, loss_m=loss, runoff=0.95, least_m3=least,
    )  # fmt: skip

    rate = events.net_of_initial_loss(depth_m=depth, events=found, loss_m=loss) * 0.95 / HOUR
    wanted = rate[:, None] * np.array(areas)
    arriving = np.minimum(wanted, limits)
    faster = [
        replace(store, soakage_m3_s=store.soakage_m3_s * factor, soakage_below_m3_s=below * factor)
        for store in stores
        if (below := store.soakage_below_m3_s) is not None
    ]
    traces = network.simulate(faster, arriving, step_s=HOUR)
    out = np.sum(wanted - arriving, axis=1) * HOUR + traces[0].spilled_m3
    for trace in traces:
        out = out + trace.refused_m3
    assert min(float(trace.spilled_m3.sum()) for trace in traces) > 0.0
    spilled = np.unique(found.event_of_step[out > least])
    assert spilled.size > 5
    assert got.events.tolist() == np.bincount(year[found.first_step[spilled]], minlength=years).tolist()
    by_year = np.bincount(
        year[found.first_step[np.maximum(found.event_of_step, 0)]], weights=out, minlength=years
    )
    assert got.volume_m3 == pytest.approx(by_year, rel=1e-9)


OVER_MOUNDS = {
    "upright": Store(np.array([0.0, 0.6, 2.4]), np.array([3e-5, 5e-5, 9e-5])),
    "stepped": Store(np.array([0.0, 0.6, 2.4]), np.array([3e-5, 7e-5, 9e-5]), np.array([3e-5, 4e-5, 9e-5])),
    "dry floor": Store(np.array([0.0, 0.6, 2.4]), np.array([0.0, 4e-5, 9e-5])),
    "soaks less when full": Store(np.array([0.0, 0.6, 2.4]), np.array([3e-5, 9e-5, 5e-5])),
    "narrow inlet": Store(
        np.array([0.0, 0.6, 2.4]),
        np.array([3e-5, 5e-5, 9e-5]),
        capacity_m3_s=np.array([5e-4, 4e-4, 2e-4]),
    ),
}


@pytest.mark.parametrize("kind", OVER_MOUNDS)
@pytest.mark.parametrize("room_m", [0.05, 0.25, 0.8])
def test_over_its_mound_a_store_spills_in_the_same_events_as_step_by_step(room_m: float, kind: str) -> None:
    """Spells with the mound against a loop over every hour: one run of the plain kernel each, held to the cap in numpy."""
    depth = _rain(12, 5000)
    found = events.find_events(depth_m=depth, step_s=HOUR, gap_s=6 * HOUR)
    store = OVER_MOUNDS[kind]
    ground = mounded.Ground(
        4.0, room_m, Exponentials(np.array([4e3, 3e4, 6e4]), np.array([9e3, 2e5, 3e6]), 0.0)
    )
    record = wet_years.wet_years(
        depth_m=depth, events=found, year_of_step=np.zeros(5000, dtype=np.int64), span_years=np.ones(1)
    )
    out, held = _hour_by_hour(store, depth * 70.0 / HOUR, ground)
    for step_s in (None, HOUR):  # held hours one by one, and many at a time
        flags = np.zeros(found.count)
        left = wet_years.over_mound(
            record, np.array([[70.0, math.inf]]),
            mounded.mound_arguments(store, 1.0, ground, step_s=step_s),
            loss_m=0.0, runoff=1.0, least_m3=1e-9, flags=flags,
        )  # fmt: skip
        assert np.unique(found.event_of_step[out > 1e-9]).tolist() == np.flatnonzero(flags).tolist()
        assert flags.sum() > 0
        assert float(left.sum()) == pytest.approx(float(out.sum()), rel=1e-9)
    assert held > 0 or room_m > 0.5
    following = mounded.Following([store], [ground], step_s=HOUR, parts=1)
    (trace,) = following.on((depth * 70.0 / HOUR)[:, None])
    assert following.capped_steps == held
    assert trace.spilled_m3 + trace.refused_m3 == pytest.approx(out, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("kind", OVER_MOUNDS)
def test_over_its_mound_plain_python_gives_the_same(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    depth = _rain(13, 4000)
    found = events.find_events(depth_m=depth, step_s=HOUR, gap_s=6 * HOUR)
    record = wet_years.wet_years(
        depth_m=depth, events=found, year_of_step=np.zeros(4000, dtype=np.int64), span_years=np.ones(1)
    )
    ground = mounded.Ground(
        4.0, 0.25, Exponentials(np.array([4e3, 3e4, 6e4]), np.array([9e3, 2e5, 3e6]), 0.0)
    )
    out = []
    for _ in range(2):
        flags = np.zeros(found.count)
        left = wet_years.over_mound(
            record, np.array([[40.0, 1e-3], [30.0, 2e-4]]),
            mounded.mound_arguments(OVER_MOUNDS[kind], 1.3, ground, step_s=HOUR),
            loss_m=0.001, runoff=0.9, least_m3=1e-9, flags=flags,
        )  # fmt: skip
        out.append((flags.tolist(), left.tolist()))
        monkeypatch.setattr(compiled, "kernel", compiled.plain_kernel)
    assert out[0][0] == out[1][0]
    assert sum(out[0][0]) > 0
    assert out[0][1] == pytest.approx(out[1][1], rel=1e-12)


def _hour_by_hour(store: Store, inflow: FloatArray, ground: mounded.Ground) -> tuple[FloatArray, int]:
    terms = ground.terms
    decay = np.exp(-HOUR / terms.tau_s)
    gain = terms.amount * (1.0 - decay)
    mound, volume, out, held, bound = np.zeros(3), 0.0, np.zeros(inflow.size), 0, False
    for n, flow in enumerate(inflow):
        cap = max(0.0, (ground.room_m - float(mound @ decay)) * ground.area_m2 / float(gain.sum()))
        for capped in (True,) if bound else (False, True):
            this = _held(store, cap) if capped else store
            trace = network.simulate([this], np.array([[flow]]), step_s=HOUR, start_m3=[volume])[0]
            soaked = float(trace.soaked_m3[0])
            if capped or soaked <= cap * HOUR:
                break
        bound = capped and soaked >= cap * HOUR * (1.0 - 1e-9)
        held += bound
        mound = mound * decay + gain * soaked / (HOUR * ground.area_m2)
        volume, out[n] = (
            min(float(trace.volume_end_m3[0]), float(store.volume_m3[-1])),
            float(trace.spilled_m3[0] + trace.refused_m3[0]),
        )
    return out, held


def _held(store: Store, cap_m3_s: float) -> Store:
    """The store with its soakage held to a cap, exactly: a node where the curve passes it."""
    under = store.soakage_below_m3_s if store.soakage_below_m3_s is not None else store.soakage_m3_s
    nodes, above, below = store.volume_m3.tolist(), store.soakage_m3_s.tolist(), under.tolist()
    if cap_m3_s >= max(*above, *below):
        return store
    volumes, uppers, lowers = [nodes[0]], [min(above[0], cap_m3_s)], [min(below[0], cap_m3_s)]
    for k in range(len(nodes) - 1):
        low, high = above[k], below[k + 1]
        if (low - cap_m3_s) * (high - cap_m3_s) < 0.0:
            volume = nodes[k] + (nodes[k + 1] - nodes[k]) * (cap_m3_s - low) / (high - low)
            if nodes[k] < volume < nodes[k + 1]:
                volumes.append(volume)
                uppers.append(cap_m3_s)
                lowers.append(cap_m3_s)
        volumes.append(nodes[k + 1])
        uppers.append(min(above[k + 1], cap_m3_s))
        lowers.append(min(below[k + 1], cap_m3_s))
    at = np.array(volumes)
    capacity = store.capacity_m3_s
    return replace(
        store,
        volume_m3=at,
        soakage_m3_s=np.array(uppers),
        soakage_below_m3_s=np.array(lowers),
        capacity_m3_s=None if capacity is None else np.interp(at, store.volume_m3, capacity),
    )
