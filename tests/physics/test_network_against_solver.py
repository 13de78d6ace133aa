"""The kernel against a general-purpose solver of differential equations, on random systems.

The reference knows nothing of closed forms: it integrates all stores together with scipy's DOP853, stops
where any of them reaches a node, and looks again which way each one goes.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from roofwell.physics.network import Store, balance_error, simulate

STEP_S = 3.0


@dataclass
class Side:
    """One store of the reference: where it is held, or between which volumes it moves."""

    store: Store
    node: int | None = 0
    low: float = 0.0
    high: float = 0.0
    segment: int = 0

    def below(self):
        given_below = self.store.soakage_below_m3_s
        return self.store.soakage_m3_s if given_below is None else given_below

    def inlet(self, rate, volume):
        capacity = self.store.capacity_m3_s
        return rate if capacity is None else min(rate, np.interp(volume, self.store.volume_m3, capacity))

    def soakage(self, volume):
        nodes, i = self.store.volume_m3, self.segment
        ends = [self.store.soakage_m3_s[i], self.below()[i + 1]]
        return ends[0] + (ends[1] - ends[0]) * (volume - nodes[i]) / (nodes[i + 1] - nodes[i])

    def look(self, rate, volume):
        """Decide which way the store goes from here."""
        nodes, above = self.store.volume_m3, self.store.soakage_m3_s
        at = np.flatnonzero(nodes == volume)
        self.node = None
        if at.size:
            j = int(at[0])
            entering = self.inlet(rate, volume)
            up, down = entering - above[j], entering - self.below()[j]
            last = nodes.size - 1
            if j == last:
                held = up >= 0 or down >= 0
            elif j == 0:
                held = up <= 0
            else:
                held = up == 0 or (up < 0 <= down)
            if held:
                self.node = j
                return
            self.segment = j if j < last and up > 0 else j - 1
        else:
            self.segment = int(np.searchsorted(nodes, volume)) - 1
        self.low, self.high = nodes[self.segment], nodes[self.segment + 1]
        capacity = self.store.capacity_m3_s
        if capacity is None:
            return
        first, second = capacity[self.segment], capacity[self.segment + 1]
        if (first - rate) * (second - rate) < 0:
            kink = self.low + (self.high - self.low) * (rate - first) / (second - first)
            rising = self.inlet(rate, volume) > self.soakage(volume)
            if volume < kink or (abs(volume - kink) < 1e-12 and not rising):
                self.high = kink
            else:
                self.low = kink

    def flows(self, rate, volume):
        """Soaked, spilled, refused per second, and the net rise."""
        if self.node is None:
            entering = self.inlet(rate, volume)
            return self.soakage(volume), 0.0, rate - entering, entering - self.soakage(volume)
        entering = self.inlet(rate, self.store.volume_m3[self.node])
        soaked = min(entering, self.store.soakage_m3_s[self.node])
        full = self.node == self.store.volume_m3.size - 1
        if not full:
            soaked = entering
        return soaked, entering - soaked, rate - entering, 0.0


def reference(stores, inflow, step_s):
    """Volume, soaked, spilled, refused per step and store, by the general solver."""
    count = len(stores)
    sides = [Side(store) for store in stores]
    state = np.zeros(4 * count)
    results = []
    for own in inflow:
        state[count:] = 0.0
        left = step_s
        while left > 1e-13:
            rates = list(own)
            for i, side in enumerate(sides):
                side.look(rates[i], state[i])
                if side.store.overflow_to is not None:
                    rates[side.store.overflow_to] += side.flows(rates[i], state[i])[1]

            def change(_t, y, rates=rates):
                flows = [side.flows(rates[i], y[i]) for i, side in enumerate(sides)]
                return np.array([[f[3] for f in flows], *np.array(flows).T[:3]]).ravel()

            events, marks = [], []
            for i, side in enumerate(sides):
                if side.node is None:
                    for mark, way in ((side.low, -1), (side.high, 1)):
                        event = lambda _t, y, i=i, mark=mark: y[i] - mark  # noqa: E731
                        event.terminal, event.direction = True, way
                        events.append(event)
                        marks.append((i, mark))
            found = solve_ivp(
                change, (0.0, left), state, method="DOP853", rtol=1e-11, atol=1e-12, events=events or None
            )
            state = found.y[:, -1].copy()
            left -= found.t[-1]
            for hits, (i, mark) in zip(found.t_events or [], marks, strict=False):
                if hits.size:
                    state[i] = mark
        results.append(state.reshape(4, count).copy())
    return np.array(results)


@st.composite
def systems(draw):
    """Up to three stores in a row or in a fork, with jumps and inlet limits, and eight steps of rain."""
    count = draw(st.integers(1, 3))
    whole = st.integers
    stores = []
    for i in range(count):
        segments = draw(whole(1, 8))
        widths = draw(st.lists(whole(1, 9), min_size=segments, max_size=segments))
        volume = np.concatenate([[0.0], np.cumsum(widths)]) * 0.731
        below, above = [0.0], [draw(whole(0, 6)) * 0.0917]
        for _ in range(segments):
            below.append(max(above[-1] + draw(whole(-1, 5)) * 0.0613, 0.0))
            above.append(below[-1] + draw(st.sampled_from([0, 0, 0, 4])) * 0.117)
        capacity = None
        if draw(st.booleans()):
            capacity = np.array(draw(st.lists(whole(0, 20), min_size=segments + 1, max_size=segments + 1)))
            capacity = capacity * 0.271 + 0.05
        to = None if i == count - 1 else draw(st.sampled_from([i + 1, count - 1]))
        empty = volume[-1] * draw(st.sampled_from([0.0, 0.001, 0.37]))
        stores.append(Store(volume, np.array(above), np.array(below), capacity, to, empty))
    rain = draw(st.lists(whole(0, 12), min_size=8 * count, max_size=8 * count))
    return stores, np.array(rain, dtype=float).reshape(8, count) * 0.4337 * (np.arange(8) < 5)[:, None]


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(systems())
def test_volumes_and_spills_agree_with_a_general_solver(system):
    """Volume, soakage, spill and refusal of every step agree with scipy's solver to 1e-7 of the largest."""
    stores, inflow = system
    expected = reference(stores, inflow, STEP_S)
    traces = simulate(stores, inflow, step_s=STEP_S)
    for i, trace in enumerate(traces):
        largest = max(stores[i].volume_m3[-1], float(trace.inflow_m3.max()))
        got = [trace.volume_end_m3, trace.soaked_m3, trace.spilled_m3, trace.refused_m3]
        for k, values in enumerate(got):
            assert values == pytest.approx(expected[:, k, i], abs=1e-7 * largest)


@settings(max_examples=150, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(systems())
def test_no_water_is_lost(system):
    """Inflow = soaked + spilled + refused + change of volume, to 1e-9, and what spills is what arrives."""
    stores, inflow = system
    traces = simulate(stores, inflow, step_s=STEP_S)
    arrived = inflow * STEP_S
    for i, store in enumerate(stores):
        assert balance_error(traces[i], 0.0) < 1e-9
        assert traces[i].inflow_m3 == pytest.approx(arrived[:, i], rel=1e-9, abs=1e-9)
        if store.overflow_to is not None:
            arrived[:, store.overflow_to] += traces[i].spilled_m3
        assert traces[i].volume_peak_m3.max() <= store.volume_m3[-1]
        assert min(t.min() for t in (traces[i].soaked_m3, traces[i].refused_m3, traces[i].volume_end_m3)) >= 0


@settings(max_examples=100, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(systems(), st.sampled_from([2, 3, 7]))
def test_shorter_steps_change_nothing(system, parts):
    """The same rain in shorter steps gives the same volumes and spills: time is not cut into pieces."""
    stores, inflow = system
    coarse = simulate(stores, inflow, step_s=STEP_S)
    fine = simulate(stores, np.repeat(inflow, parts, axis=0), step_s=STEP_S / parts)
    for a, b in zip(coarse, fine, strict=True):
        assert a.volume_end_m3 == pytest.approx(b.volume_end_m3[parts - 1 :: parts], rel=1e-9, abs=1e-9)
        assert a.spilled_m3 == pytest.approx(b.spilled_m3.reshape(-1, parts).sum(axis=1), abs=1e-9)
        assert a.soaked_m3 == pytest.approx(b.soaked_m3.reshape(-1, parts).sum(axis=1), abs=1e-9)
        assert a.volume_peak_m3 == pytest.approx(b.volume_peak_m3.reshape(-1, parts).max(axis=1), abs=1e-9)
        assert a.longest_wet_s == pytest.approx(b.longest_wet_s, abs=1e-6)
        assert (a.first_full_s is None) == (b.first_full_s is None)
        assert (a.emptied_after_s is None) == (b.emptied_after_s is None)
