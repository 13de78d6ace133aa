"""Stores linked by a pipe, against scipy's event solver of the same two pits written as levels, not volumes.

The reference integrates depth of water in pits of layered plan area; it knows no nodes, no segments and no ponds.
"""

import inspect
import itertools
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from roofwell.errors import InputError
from roofwell.physics import compiled, compiled_linked, compiled_stores, network
from roofwell.physics.network import Link, Stage, Store, balance_error, drain_times_s, simulate, summed

K = 2e-5  # m/s through bottom and sides
LIP = 2.0
STEP_S = 600.0


class Pit:
    """A pit of two layers of plan area (voids counted in), on its own bottom."""

    def __init__(self, bottom, low_m2, step, high_m2, perimeter):
        self.bottom, self.areas, self.step, self.perimeter = bottom, (low_m2, high_m2), step, perimeter

    def area(self, level):
        return self.areas[level >= self.step]

    def volume(self, level):
        low = min(level, self.step) - self.bottom
        return self.areas[0] * max(low, 0.0) + self.areas[1] * max(level - self.step, 0.0)

    def soaks(self, level):
        return K * (self.areas[0] + self.perimeter * max(level - self.bottom, 0.0))

    def store(self, link=None, spills=True, to=None):
        levels = np.array([self.bottom, self.step, LIP])
        volume = np.array([self.volume(z) for z in levels])
        soak = np.array([self.soaks(z) for z in levels])
        return Store(
            volume, soak, overflow_to=to, empty_m3=1e-3, stage=Stage(volume, levels), link=link, spills=spills
        )


PITS = {
    "different bottoms": (Pit(0.0, 1.2, 0.9, 0.5, 4.0), Pit(0.3, 0.8, 1.4, 2.0, 3.0), 0.7),
    "one bottom": (Pit(0.0, 1.0, 0.8, 1.5, 4.0), Pit(0.0, 2.0, 1.1, 0.6, 5.0), 0.0),
    "high link": (Pit(0.2, 2.2, 1.0, 2.2, 6.0), Pit(0.0, 0.7, 1.2, 1.0, 2.5), 1.6),
}
RAIN = {
    "into the first": ([8e-4] * 9 + [0.0] * 30, [0.0] * 39),
    "into both": ([3e-4] * 8 + [9e-4] * 5 + [0.0] * 26, [2e-4] * 12 + [0.0] * 27),
    "twice": ([9e-4] * 7 + [0.0] * 10 + [6e-4] * 9 + [0.0] * 13, [0.0] * 5 + [3e-4] * 9 + [0.0] * 25),
}


def reference(a, b, invert, inflow):
    """Levels of both pits and what is spilled at the end of every step."""
    h = [a.bottom, b.bottom]
    spilled, out = 0.0, []
    joined = False
    for qa, qb in inflow:
        left, flows = STEP_S, (qa, qb)
        while left > 1e-9:
            net = [q - pit.soaks(z) for q, pit, z in zip(flows, (a, b), h, strict=True)]
            at = [z >= invert - 1e-12 for z in h]
            if all(at) and (h[0] > invert + 1e-12 or sum(net) > 0.0):
                joined = True
            if joined and h[0] <= invert + 1e-12 and sum(net) <= 0.0:
                joined = False
            if joined:
                if h[0] >= LIP - 1e-12 and sum(net) > 0.0:
                    spilled += sum(net) * left
                    break
                marks = [a.step, b.step, LIP, invert]
                up = sum(net) > 0.0
                probe = h[0] + (1e-9 if up else -1e-9)
                areas = a.area(probe), b.area(probe)

                def rates(_t, y, flows=flows, areas=areas):
                    return [(sum(flows) - a.soaks(y[0]) - b.soaks(y[0])) / sum(areas)]

                y0 = [h[0]]
            else:
                held, give = [False, False], [0.0, 0.0]
                for i in (0, 1):
                    if at[i] and net[i] > 0.0:
                        held[i], give[1 - i] = True, net[i]
                for i in (0, 1):
                    if h[i] <= (a, b)[i].bottom + 1e-12 and net[i] + give[i] <= 0.0:
                        held[i] = True
                moving = [0.0 if held[i] else 1.0 for i in (0, 1)]
                probe = [z + (1e-9 if net[i] + give[i] > 0 else -1e-9) for i, z in enumerate(h)]
                areas = a.area(probe[0]), b.area(probe[1])

                def rates(_t, y, flows=flows, areas=areas, moving=moving, give=give):
                    soak = a.soaks(y[0]), b.soaks(y[1])
                    return [moving[i] * (flows[i] + give[i] - soak[i]) / areas[i] for i in (0, 1)]

                marks = [invert, a.step, b.step, a.bottom, b.bottom]
                y0 = list(h)
            events = []
            for i in range(len(y0)):
                for mark in marks:
                    if abs(y0[i] - mark) > 1e-12:

                        def event(_t, y, i=i, mark=mark):
                            return y[i] - mark

                        event.terminal = True
                        events.append((event, i, mark))
            found = solve_ivp(
                rates,
                (0.0, left),
                y0,
                method="DOP853",
                rtol=1e-12,
                atol=1e-13,
                events=[e for e, _, _ in events],
            )
            y = found.y[:, -1].tolist()
            for hits, (_, i, mark) in zip(found.t_events, events, strict=True):
                if hits.size:
                    y[i] = mark
            h = [y[0], y[0]] if len(y) == 1 else y
            left -= float(found.t[-1])
        out.append((a.volume(h[0]), b.volume(h[1]), spilled))
    return np.array(out)


@pytest.mark.parametrize("rain", RAIN)
@pytest.mark.parametrize("pits", PITS)
def test_linked_pits_agree_with_an_event_solver_of_their_levels(pits, rain):
    a, b, invert = PITS[pits]
    inflow = np.array(RAIN[rain]).T
    expected = reference(a, b, invert, inflow)
    traces = simulate([a.store(), b.store(Link(0, invert))], inflow, step_s=STEP_S)
    assert traces[0].volume_end_m3 == pytest.approx(expected[:, 0], rel=1e-9, abs=1e-9)
    assert traces[1].volume_end_m3 == pytest.approx(expected[:, 1], rel=1e-9, abs=1e-9)
    both = summed(traces)
    assert np.cumsum(both.spilled_m3) == pytest.approx(expected[:, 2], rel=1e-9, abs=1e-9)
    assert balance_error(both) < 1e-9
    assert all(balance_error(trace) < 1e-9 for trace in traces)
    assert both.handed_on_m3 is None
    assert sum(trace.handed_on_m3.sum() for trace in traces) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("pits", PITS)
def test_drawdown_of_linked_pits_agrees_with_the_solver(pits):
    """From full: together down to the link, then each by itself, until both hold a liter."""
    a, b, invert = PITS[pits]
    low = max(invert, a.bottom, b.bottom)

    def time(pits, start, stop):
        levels = sorted({start, stop, *(p.step for p in pits if stop < p.step < start)}, reverse=True)
        total = 0.0
        for top, bottom in itertools.pairwise(levels):
            middle = 0.5 * (top + bottom)
            area = sum(p.area(middle) for p in pits)
            slope = sum(K * p.perimeter for p in pits) / area
            rate = sum(p.soaks(bottom) for p in pits) / area
            total += math.log1p(slope * (top - bottom) / rate) / slope
        return total

    together = time([a, b], LIP, low)
    for pit, found in zip((a, b), drain_times_s([a.store(), b.store(Link(0, invert))]), strict=True):
        empty = pit.bottom + 1e-3 / pit.areas[0]
        if low > empty:
            assert found == pytest.approx(together + time([pit], low, empty), rel=1e-9)
        else:  # one store to the bottom: empty within the common fall
            assert found == pytest.approx(time([a, b], LIP, empty), rel=1e-9)


def test_a_link_at_one_bottom_is_one_store():
    """Two prisms on one level with a link at their bottoms do just what one store of both does."""
    a, b = Pit(0.0, 1.0, 1.0, 1.0, 4.0), Pit(0.0, 2.0, 1.0, 2.0, 5.0)
    whole = Store(np.array([0.0, 3.0 * LIP]), np.array([K * 3.0, K * (3.0 + 9.0 * LIP)]), empty_m3=1e-3)
    inflow = np.array(RAIN["twice"]).T
    one = simulate([whole], inflow.sum(axis=1, keepdims=True), step_s=STEP_S)[0]
    two = summed(simulate([a.store(), b.store(Link(0, 0.0))], inflow, step_s=STEP_S))
    for name in ("volume_end_m3", "soaked_m3", "spilled_m3", "volume_peak_m3"):
        assert getattr(two, name) == pytest.approx(getattr(one, name), rel=1e-9, abs=1e-9)


def test_what_two_at_one_bottom_hand_on_after_dry_steps_is_what_one_store_hands_on():
    """Prisms on one level spill into a third one, with dry steps before and between: as one store of both does.

    Written after such wells were followed without an end: the stretches of a dry step were never begun.
    """
    a, b = Pit(0.0, 1.0, 1.0, 1.0, 4.0), Pit(0.0, 2.0, 1.0, 2.0, 5.0)
    whole = Store(
        np.array([0.0, 3.0 * LIP]), np.array([K * 3.0, K * (3.0 + 9.0 * LIP)]), overflow_to=1, empty_m3=1e-3
    )
    last = Store(np.array([0.0, 0.5]), np.array([1e-5, 2e-4]), np.array([1e-5, 2e-4]))
    storm, dry = np.array(RAIN["twice"]).T, np.zeros((400, 2))
    inflow = np.concatenate([dry, 3.0 * storm, dry, 3.0 * storm, dry])
    one = simulate([whole, last], np.column_stack([inflow.sum(axis=1), np.zeros(len(inflow))]), step_s=STEP_S)
    two = simulate(
        [a.store(to=2), b.store(Link(0, 0.0), spills=False), last],
        np.column_stack([inflow, np.zeros(len(inflow))]),
        step_s=STEP_S,
    )
    assert one[1].spilled_m3.sum() > 0.1
    for name in ("volume_end_m3", "soaked_m3", "spilled_m3", "inflow_m3"):
        assert getattr(two[2], name) == pytest.approx(getattr(one[1], name), rel=1e-9, abs=1e-9)


def test_shorter_steps_change_nothing_in_a_chain_of_three_that_overflows_into_a_fourth():
    rng = np.random.default_rng(7)
    pits = [Pit(0.0, 1.0, 0.8, 1.5, 4.0), Pit(0.2, 0.6, 1.1, 0.9, 3.0), Pit(0.1, 1.4, 0.9, 1.4, 5.0)]
    stores = [
        pits[0].store(to=3),
        pits[1].store(Link(0, 0.9), spills=False),
        pits[2].store(Link(1, 0.5), spills=False),
        Store(np.array([0.0, 1.0]), np.array([1e-5, 1e-4])),
    ]
    inflow = rng.exponential(4e-4, (60, 4)) * (rng.random((60, 4)) < 0.5)
    coarse = simulate(stores, inflow, step_s=STEP_S)
    fine = simulate(stores, np.repeat(inflow, 3, axis=0), step_s=STEP_S / 3)
    assert sum(float(trace.spilled_m3.sum()) for trace in coarse[:3]) > 0.1
    assert coarse[3].inflow_m3.sum() == pytest.approx(
        inflow[:, 3].sum() * STEP_S + coarse[0].spilled_m3.sum(), rel=1e-9
    )
    for a, b in zip(coarse, fine, strict=True):
        assert balance_error(a) < 1e-9
        assert a.volume_end_m3 == pytest.approx(b.volume_end_m3[2::3], rel=1e-9, abs=1e-9)
        assert a.spilled_m3 == pytest.approx(b.spilled_m3.reshape(-1, 3).sum(axis=1), abs=1e-9)
        assert a.soaked_m3 == pytest.approx(b.soaked_m3.reshape(-1, 3).sum(axis=1), abs=1e-9)
        assert a.longest_wet_s == pytest.approx(b.longest_wet_s, abs=1e-6)
    ends = [float(trace.volume_end_m3[29]) for trace in coarse]
    rest = simulate(stores, inflow[30:], step_s=STEP_S, start_m3=ends)
    assert rest[1].volume_end_m3 == pytest.approx(coarse[1].volume_end_m3[30:], rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("link", "code"),
    [(Link(1, 0.7), "link-circle"), (Link(0, 2.5), "link-invert"), (Link(5, 0.7), "link-missing")],
)
def test_a_link_that_makes_no_sense_is_refused(link, code):
    a, b, _ = PITS["different bottoms"]
    with pytest.raises(InputError) as caught:
        simulate([a.store(), b.store(link)], np.zeros((2, 2)), step_s=STEP_S)
    assert caught.value.code == code


def test_the_closed_forms_that_stand_twice_are_the_same():
    """numba's cache looks at one file only, so both compiled files hold them; they must not drift apart."""
    for name in ("_growth", "_growth_of_growth", "_log_ratio"):
        assert inspect.getsource(getattr(compiled_stores, name)) == inspect.getsource(
            getattr(compiled_linked, name)
        )


def test_plain_python_gives_the_same(monkeypatch):
    a, b, invert = PITS["different bottoms"]
    inflow = np.array(RAIN["twice"]).T
    stores = [a.store(), b.store(Link(0, invert))]
    fast = simulate(stores, inflow, step_s=STEP_S)
    monkeypatch.setattr(network.compiled, "kernel", compiled.plain_kernel)
    slow = simulate(stores, inflow, step_s=STEP_S)
    for one, other in zip(fast, slow, strict=True):
        assert one.volume_end_m3 == pytest.approx(other.volume_end_m3, rel=1e-12, abs=1e-15)
