"""What the kernel promises, on cases small enough to work out by hand."""

import math

import numpy as np
import pytest

from roofwell.errors import InputError
from roofwell.physics.network import Store, balance_error, drain_time_s, first_steps, simulate


def constant(full=10.0, soakage=1.0, **more):
    return Store(np.array([0.0, full]), np.array([soakage, soakage]), **more)


def rain(*rates):
    return np.array(rates, dtype=float)[:, None]


def test_a_store_that_soaks_at_a_constant_rate():
    """Net inflow 3, full after 10/3 s, then spills 3 until the rain stops, then drains at 1."""
    (trace,) = simulate([constant()], rain(4, 4, 0, 0, 0), step_s=4.0)
    assert trace.volume_end_m3 == pytest.approx([10, 10, 6, 2, 0])
    assert trace.spilled_m3 == pytest.approx([2, 12, 0, 0, 0])
    assert trace.soaked_m3 == pytest.approx([4, 4, 4, 4, 2])
    assert trace.volume_peak_m3 == pytest.approx([10, 10, 10, 6, 2])
    assert trace.first_full_s == pytest.approx(10 / 3)
    assert trace.emptied_after_s == pytest.approx(10.0)
    assert trace.longest_wet_s == pytest.approx(18.0)
    assert balance_error(trace) < 1e-15


def test_an_empty_store_passes_on_what_it_can_soak():
    """Rain slower than the soakage of an empty store never wets it."""
    (trace,) = simulate([constant()], rain(0.4, 1.0, 0.0), step_s=5.0)
    assert trace.volume_end_m3 == pytest.approx([0, 0, 0], abs=0)
    assert trace.soaked_m3 == pytest.approx([2, 5, 0])
    assert trace.longest_wet_s == 0
    assert trace.emptied_after_s == 0
    assert trace.first_full_s is None


def test_a_step_in_the_wall_holds_the_water():
    """Inflow between the soakage below and above a ledge holds the water at the ledge; all of it soaks."""
    store = Store(np.array([0.0, 4.0, 10.0]), np.array([1.0, 3.0, 3.0]), np.array([1.0, 1.0, 3.0]))
    (trace,) = simulate([store], rain(2, 2, 2, 4, 0, 0), step_s=4.0)
    # Then 4 above the ledge drain at 3 in 4/3 s, and 4 below it at 1: after one step 8/3 of those are gone.
    assert trace.volume_end_m3 == pytest.approx([4, 4, 4, 8, 4 / 3, 0])
    assert trace.soaked_m3 == pytest.approx([4, 8, 8, 12, 4 + 8 / 3, 4 / 3])
    assert trace.emptied_after_s == pytest.approx(4 / 3 + 4)
    assert drain_time_s(store, 8.0) == pytest.approx(4 / 3 + 4)


def test_inflow_equal_to_the_soakage_keeps_the_level():
    """Exactly balanced, nothing moves: in the middle of a segment, at a node, and at the brim."""
    store = Store(np.array([0.0, 5.0, 10.0]), np.array([1.0, 2.0, 3.0]))
    for volume, rate in ((2.5, 1.5), (5.0, 2.0), (10.0, 3.0)):
        (trace,) = simulate([store], rain(rate, rate), step_s=100.0, start_m3=[volume])
        assert trace.volume_end_m3 == pytest.approx([volume, volume], abs=0)
        assert trace.soaked_m3.sum() == pytest.approx(200 * rate)
        assert trace.spilled_m3.sum() == 0


def test_soakage_that_jumps_at_the_lip_holds_without_spilling():
    """Where the full store soaks more than what arrives, but less just below, it stays full."""
    store = Store(np.array([0.0, 10.0]), np.array([1.0, 5.0]), np.array([1.0, 1.0]))
    (trace,) = simulate([store], rain(3, 3, 0), step_s=10.0)
    assert trace.volume_end_m3 == pytest.approx([10, 10, 0])
    assert trace.spilled_m3.sum() == 0
    assert trace.first_full_s == pytest.approx(5.0)


def test_what_the_pipe_cannot_bring_is_refused():
    """The inlet carries 2 when empty and 0 when full: dV/dt = 2 − V/5, and the rest spills at the house."""
    store = Store(np.array([0.0, 10.0]), np.array([0.0, 0.0]), capacity_m3_s=np.array([2.0, 0.0]))
    (trace,) = simulate([store], rain(5, 5, 0), step_s=5.0)
    ended = [10 * (1 - math.exp(-1)), 10 * (1 - math.exp(-2))]
    assert trace.volume_end_m3 == pytest.approx([*ended, ended[1]])
    assert trace.refused_m3 == pytest.approx([25 - ended[0], 25 - (ended[1] - ended[0]), 0])
    assert trace.emptied_after_s is None


def test_the_inlet_begins_to_limit_within_a_step():
    """Inflow 1 enters whole until the inlet carries just 1, at half full; beyond that the inlet decides."""
    store = Store(np.array([0.0, 10.0]), np.array([0.0, 0.0]), capacity_m3_s=np.array([2.0, 0.0]))
    (trace,) = simulate([store], rain(1), step_s=10.0)
    assert trace.volume_end_m3 == pytest.approx([10 - 5 * math.exp(-1)])
    assert trace.refused_m3 == pytest.approx([5 * math.exp(-1)])


def test_a_spill_reaches_the_next_store_from_the_instant_it_begins():
    """The first store is full after 2 s; the second gets 3 from then on, not an average over the step."""
    first = constant(full=6.0, soakage=1.0, overflow_to=1)
    second = constant(full=1000.0, soakage=2.0)
    inflow = np.array([[4.0, 0.0], [0.0, 0.0]])
    a, b = simulate([first, second], inflow, step_s=10.0)
    assert a.spilled_m3 == pytest.approx([24, 0])
    assert b.inflow_m3 == pytest.approx([24, 0])
    assert b.volume_end_m3 == pytest.approx([8, 0])
    assert b.soaked_m3 == pytest.approx([16, 8])
    assert b.emptied_after_s == pytest.approx(4.0)
    assert b.longest_wet_s == pytest.approx(12.0)


def test_stores_may_come_in_any_order():
    """Three wells in a row give the same, whichever is written first."""
    inflow = np.array([[5.0, 0.5, 0.0], [3.0, 0.0, 0.2], [0.0, 0.0, 0.0]])
    row = [
        constant(full=3.0, overflow_to=1),
        constant(full=2.0, soakage=0.7, overflow_to=2),
        constant(full=4.0, soakage=0.3),
    ]
    forward = simulate(row, inflow, step_s=2.0)
    turned = [
        constant(full=4.0, soakage=0.3),
        constant(full=2.0, soakage=0.7, overflow_to=0),
        constant(full=3.0, overflow_to=1),
    ]
    backward = simulate(turned, inflow[:, ::-1], step_s=2.0)
    for a, b in zip(forward, backward[::-1], strict=True):
        assert a.volume_end_m3 == pytest.approx(b.volume_end_m3, abs=0)
        assert a.spilled_m3 == pytest.approx(b.spilled_m3, abs=0)


def test_what_counts_as_empty():
    """A store that soaks through its sides alone is empty after ln(full / residual) time constants."""
    store = Store(np.array([0.0, 10.0]), np.array([0.0, 2.0]), empty_m3=0.01)
    assert drain_time_s(store, 10.0) == pytest.approx(5 * math.log(1000))
    (trace,) = simulate([store], rain(*[0.0] * 50), step_s=1.0, start_m3=[10.0])
    assert trace.emptied_after_s == pytest.approx(5 * math.log(1000))
    assert trace.longest_wet_s == pytest.approx(5 * math.log(1000))
    assert trace.first_full_s == 0.0
    never = Store(np.array([0.0, 10.0]), np.array([0.0, 2.0]))
    assert drain_time_s(never, 10.0) == math.inf
    assert simulate([never], rain(0.0), step_s=100.0, start_m3=[1.0])[0].emptied_after_s is None


def test_drain_time_agrees_with_the_simulation():
    """The closed drain curve and the simulation are two roads to the same time."""
    store = Store(
        np.array([0.0, 1.0, 3.0, 7.0]),
        np.array([0.2, 0.5, 0.5, 1.3]),
        np.array([0.2, 0.4, 0.9, 1.2]),
        empty_m3=0.05,
    )
    for start in (7.0, 5.0, 3.0, 0.4):
        (trace,) = simulate([store], rain(*[0.0] * 40), step_s=0.5, start_m3=[start])
        assert trace.emptied_after_s == pytest.approx(drain_time_s(store, start), rel=1e-12)
    assert drain_time_s(store, 0.05) == 0.0


def test_wet_time_runs_on_through_a_second_rain():
    """A well that has not emptied when the next rain comes counts as wet right through."""
    (trace,) = simulate([constant()], rain(3, 0, 3, 0, 0, 0, 0), step_s=2.0)
    assert trace.longest_wet_s == pytest.approx(12.0)
    assert trace.emptied_after_s == pytest.approx(6.0)


def test_soakage_that_falls_with_depth_stays_exact():
    """A growing solution: dV/dt = 1 − (2 − V), starting above its unstable balance at 1."""
    store = Store(np.array([0.0, 2.0, 50.0]), np.array([2.0, 0.0, 0.0]))
    (trace,) = simulate([store], rain(1.0), step_s=0.5, start_m3=[1.1])
    assert trace.volume_end_m3 == pytest.approx([1 + 0.1 * math.exp(0.5)])


def test_steps_of_years_and_of_microseconds():
    """Very long and very short steps keep the balance."""
    store = Store(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1e-5, 4e-5]))
    for step in (1e-6, 1e9):
        (trace,) = simulate([store], rain(3e-5, 0.0, 5e-5, 0.0), step_s=step, start_m3=[0.5])
        assert balance_error(trace, 0.5) < 1e-9


def test_no_steps_at_all():
    """An empty record gives empty traces."""
    (trace,) = simulate([constant()], np.zeros((0, 1)), step_s=1.0, start_m3=[3.0])
    assert trace.volume_end_m3.shape == (0,)
    assert balance_error(trace, 3.0) == 0.0
    a, b = simulate([constant(overflow_to=1), constant()], np.zeros((0, 2)), step_s=1.0)
    assert a.spilled_m3.shape == b.inflow_m3.shape == (0,)


def test_inputs_are_left_alone_and_may_be_read_only():
    """Records are shared between wells, so the kernel neither needs nor makes changes to them."""
    inflow = rain(4, 0, 0)
    inflow.setflags(write=False)
    nodes = np.array([0.0, 10.0])
    nodes.setflags(write=False)
    (trace,) = simulate([Store(nodes, np.ones(2), empty_m3=1.0)], inflow, step_s=1.0)
    assert trace.volume_end_m3 == pytest.approx([3, 2, 1])
    assert trace.emptied_after_s == pytest.approx(2.0)


NODES = np.array([0.0, 1.0])
ONES = np.ones(2)


@pytest.mark.parametrize(
    ("code", "stores", "inflow", "more"),
    [
        ("store-nodes", [Store(np.array([0.0, 0.0]), ONES)], rain(1), {}),
        ("store-nodes", [Store(np.array([0.1, 1.0]), ONES)], rain(1), {}),
        ("store-nodes", [Store(np.array([0.0]), np.ones(1))], rain(1), {}),
        ("store-nodes", [Store(np.array([0.0, math.nan]), ONES)], rain(1), {}),
        ("store-soakage", [Store(NODES, np.array([1.0, -1.0]))], rain(1), {}),
        ("store-soakage", [Store(NODES, np.ones(3))], rain(1), {}),
        ("store-soakage", [Store(NODES, ONES, np.array([0.0, math.nan]))], rain(1), {}),
        ("store-capacity", [Store(NODES, ONES, capacity_m3_s=np.array([1.0, math.inf]))], rain(1), {}),
        ("store-empty", [Store(NODES, ONES, empty_m3=1.0)], rain(1), {}),
        ("store-empty", [Store(NODES, ONES, empty_m3=-1e-9)], rain(1), {}),
        ("overflow-missing", [Store(NODES, ONES, overflow_to=1)], rain(1), {}),
        ("overflow-circle", [Store(NODES, ONES, overflow_to=0)], rain(1), {}),
        (
            "overflow-circle",
            [Store(NODES, ONES, overflow_to=1), Store(NODES, ONES, overflow_to=0)],
            np.ones((2, 2)),
            {},
        ),
        ("inflow-shape", [Store(NODES, ONES)], np.ones(3), {}),
        ("inflow-shape", [Store(NODES, ONES)], np.ones((3, 2)), {}),
        ("inflow-number", [Store(NODES, ONES)], rain(1, -1e-12), {}),
        ("inflow-number", [Store(NODES, ONES)], rain(1, math.nan), {}),
        ("inflow-number", [Store(NODES, ONES)], rain(1, math.inf), {}),
        ("step-number", [Store(NODES, ONES)], rain(1), {"step_s": 0.0}),
        ("start-volume", [Store(NODES, ONES)], rain(1), {"start_m3": [1.1]}),
        ("start-volume", [Store(NODES, ONES)], rain(1), {"start_m3": [0.0, 0.0]}),
    ],
)
def test_nonsense_is_refused(code, stores, inflow, more):
    """What cannot be is refused by name, before anything runs."""
    with pytest.raises(InputError) as caught:
        simulate(stores, inflow, **{"step_s": 1.0, **more})
    assert caught.value.code == code


def test_the_first_steps_of_a_trace_are_those_of_the_whole() -> None:
    store = Store(np.array([0.0, 1.0]), np.array([0.0, 1e-4]))
    arriving = np.array([[2e-3], [0.0], [1e-3], [0.0]])
    (whole,) = simulate([store], arriving, step_s=600.0)
    cut = first_steps(whole, 2)
    (two,) = simulate([store], arriving[:2], step_s=600.0)
    for name in ("volume_end_m3", "soaked_m3", "spilled_m3", "refused_m3", "inflow_m3", "volume_peak_m3"):
        assert getattr(cut, name).tolist() == getattr(two, name).tolist()
    assert (cut.first_full_s, cut.emptied_after_s) == (whole.first_full_s, whole.emptied_after_s)
    assert cut.handed_on_m3 is None
