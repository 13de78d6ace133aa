"""Filling and drawing down: closed forms, and published routing runs.

Ids are those of the reference sheet, infiltration sections 0 and 5.
"""

import math

import numpy as np
import pytest

from roofwell.physics.network import Store, balance_error, drain_time_s, simulate
from roofwell.physics.well.soakage import soakage_curve
from roofwell.physics.well.storage import Layer, depth_of_volume_m, full_volume_m3, storage_volume_m3

FOOT = 0.3048
INCH = 0.0254
HOUR = 3600.0
CUBIC_FOOT = FOOT**3


def store_of(layers, rate_m_s, credit, *, empty_m3=0.0):
    volume, above, below = soakage_curve(layers, rate_m_s, credit, full_depth_m=layers[-1].top_m)
    return Store(volume, above, below, empty_m3=empty_m3)


# R3 to R8 (derived, checked there with a solver): R 2 ft, 4 ft of water, voids 0.40, 1 in/h.
RATE = INCH / HOUR


def r3_well(height_ft=4.0):
    radius = 2 * FOOT
    return [Layer(0.0, height_ft * FOOT, math.pi * radius**2, 2 * math.pi * radius, 0.0, 0.40)]


@pytest.mark.parametrize(
    ("credit", "hours", "tolerance"),
    [
        pytest.param("bottom and sides", 7.7253, 1e-4, id="R3"),
        pytest.param("bottom and half sides", 10.547, 1e-3, id="R4"),
        pytest.param("bottom", 19.20, 1e-9, id="R5"),
    ],
)
def test_time_to_empty(credit, hours, tolerance):
    """R3 to R5: time from 4 ft of water to none."""
    store = store_of(r3_well(), RATE, credit)
    assert drain_time_s(store, full_volume_m3(r3_well())) / HOUR == pytest.approx(hours, abs=tolerance)
    dry = np.zeros((100, 1))
    (trace,) = simulate([store], dry, step_s=0.25 * HOUR, start_m3=[full_volume_m3(r3_well())])
    assert trace.emptied_after_s / HOUR == pytest.approx(hours, abs=tolerance)


def test_depth_on_the_way_down():
    """R3: 0.43252 ft are left after 6 h."""
    store = store_of(r3_well(), RATE, "bottom and sides")
    (trace,) = simulate([store], np.zeros((1, 1)), step_s=6 * HOUR, start_m3=[full_volume_m3(r3_well())])
    depth = depth_of_volume_m(r3_well(), trace.volume_end_m3)[0]
    assert depth / FOOT == pytest.approx(0.43252, abs=1e-5)


def test_half_empty_through_the_sides():
    """R6: full to half in 3.327 h through the sides alone; the linear rule of BRE 365 says 4.80 h."""
    full = full_volume_m3(r3_well())
    sides = store_of(r3_well(), RATE, "sides", empty_m3=full / 2)
    assert drain_time_s(sides, full) / HOUR == pytest.approx(3.327, abs=1e-3)
    rule = store_of(r3_well(), RATE, "sides half, no bottom", empty_m3=full / 2)
    assert drain_time_s(rule, full) / HOUR == pytest.approx(4.80, abs=1e-3)


@pytest.mark.parametrize("step_h", [1.0, 0.25, 0.1, 0.05, 0.01])
def test_constant_inflow(step_h):
    """R7 and R11: 20 ft³/h stand 3.40369 ft deep after 1 h, whatever the step (storage indication drifts)."""
    store = store_of(r3_well(), RATE, "bottom and sides")
    steps = round(1.0 / step_h)
    inflow = np.full((steps, 1), 20 * CUBIC_FOOT / HOUR)
    (trace,) = simulate([store], inflow, step_s=step_h * HOUR)
    depth = depth_of_volume_m(r3_well(), trace.volume_end_m3[-1])
    assert float(depth) / FOOT == pytest.approx(3.40369, abs=1e-5)


def test_equilibrium_and_time_to_the_brim():
    """R7: it would come to rest at 18.099 ft, and reaches 4 ft after 1.19884 h."""
    inflow = np.full((1, 1), 20 * CUBIC_FOOT / HOUR)
    (trace,) = simulate([store_of(r3_well(), RATE, "bottom and sides")], inflow, step_s=3 * HOUR)
    assert trace.first_full_s / HOUR == pytest.approx(1.19884, abs=1e-5)
    tall = r3_well(30.0)
    (trace,) = simulate([store_of(tall, RATE, "bottom and sides")], inflow, step_s=1000 * HOUR)
    assert depth_of_volume_m(tall, trace.volume_end_m3)[0] / FOOT == pytest.approx(18.099, abs=1e-3)


def test_overflow_balance():
    """R8: of 60 ft³ in 3 h, 26.592 spill (14.764 ft³/h), 13.302 soak in, 20.106 are stored."""
    inflow = np.full((3, 1), 20 * CUBIC_FOOT / HOUR)
    (trace,) = simulate([store_of(r3_well(), RATE, "bottom and sides")], inflow, step_s=HOUR)
    assert trace.inflow_m3.sum() / CUBIC_FOOT == pytest.approx(60.000, abs=1e-9)
    assert trace.spilled_m3[-1] / CUBIC_FOOT == pytest.approx(14.764, abs=1e-3)
    assert trace.spilled_m3.sum() / CUBIC_FOOT == pytest.approx(26.592, abs=1e-3)
    assert trace.soaked_m3.sum() / CUBIC_FOOT == pytest.approx(13.302, abs=1e-3)
    assert trace.volume_end_m3[-1] / CUBIC_FOOT == pytest.approx(20.106, abs=1e-3)
    assert balance_error(trace) < 1e-12


def ontario_trench(depth_m):
    return [Layer(0.0, depth_m, 6.0 * 1.5, 2 * (6.0 + 1.5), 0.0, 0.40)]


@pytest.mark.parametrize(("credit", "hours"), [("bottom and sides", 23.540), ("bottom", 40.0)])
def test_drain_time_of_the_ontario_guide(credit, hours):
    """R12, Ontario LID guide: 6 x 1.5 x 1.0 m, voids 0.40, 0.010 m/h."""
    store = store_of(ontario_trench(1.0), 0.010 / HOUR, credit)
    assert drain_time_s(store, 3.6) / HOUR == pytest.approx(hours, abs=0.01)


@pytest.mark.parametrize(("credit", "depth_m"), [("bottom and sides", 1.3395), ("bottom", 1.425)])
def test_depth_of_the_ontario_guide(credit, depth_m):
    """R13: 150 m² at 0.012 m/h for 3 h fill the trench 1.3395 m deep (1.425 m with the bottom alone)."""
    trench = ontario_trench(2.0)
    inflow = np.full((1, 1), 150 * 0.012 / HOUR)
    (trace,) = simulate([store_of(trench, 0.010 / HOUR, credit)], inflow, step_s=3 * HOUR)
    assert depth_of_volume_m(trench, trace.volume_end_m3)[0] == pytest.approx(depth_m, abs=1e-3)


def test_emptying_time_of_the_washington_method():
    """5.3: D 1.2 m, H 1.5 m, k 1e-5 m/s: 29.83 h by T = −(4.6 D/4k) log10[(D/4)/(H + D/4)] (from memory).

    That is bottom and full sides at half the rate; at the full rate 14.93 h.
    """
    well = [Layer(0.0, 1.5, math.pi / 4 * 1.2**2, math.pi * 1.2, 0.0, 1.0)]
    full = full_volume_m3(well)
    assert drain_time_s(store_of(well, 0.5e-5, "bottom and sides"), full) / HOUR == pytest.approx(
        29.83, abs=0.04
    )
    assert drain_time_s(store_of(well, 1e-5, "bottom and sides"), full) / HOUR == pytest.approx(
        14.93, abs=0.01
    )


@pytest.mark.parametrize(("x", "share"), [(1, 0.693), (2, 0.549), (4, 0.402)])
def test_what_the_sides_save(x, share):
    """5.3: time to empty with sides over that of the bottom alone, by x = P h / A."""
    well = [Layer(0.0, x / 4, 1.0, 4.0, 0.0, 0.40)]
    full = full_volume_m3(well)
    times = [drain_time_s(store_of(well, 1e-5, credit), full) for credit in ("bottom and sides", "bottom")]
    assert times[0] / times[1] == pytest.approx(share, abs=5e-4)


@pytest.mark.parametrize(("left", "factor"), [(0.5, 0.6931), (0.1, 2.3026)])
def test_sides_alone_never_quite_empty(left, factor):
    """5.3: sides alone take 0.6931 n A / (f P) to half and 2.3026 to a tenth; never to nothing."""
    well = [Layer(0.0, 2.0, 1.0, 4.0, 0.0, 0.40)]
    full = full_volume_m3(well)
    store = store_of(well, 1e-5, "sides", empty_m3=left * full)
    assert drain_time_s(store, full) == pytest.approx(factor * 0.40 / (1e-5 * 4.0), rel=1e-4)
    assert drain_time_s(store_of(well, 1e-5, "sides"), full) == math.inf


def test_linear_reservoir_of_a_teaching_page():
    """R1, university hydrology page: K 2 h, peak 757.641 at 7 h by storage indication with 1 h steps.

    The kernel is exact for inflow that is even within an hour, so it parts from the page by the page's own
    step error: under 1 % of the peak.
    """
    given = [100, 150, 250, 400, 800, 1000, 900, 700, 550, 400, 300, 250, 200, 150, 120, 100]
    printed = [110, 146, 217.6, 370.56, 582.336, 729.402, 757.641, 704.585]
    ends = np.array([*given, *[100] * 10], dtype=float)
    inflow = (ends[:-1] + ends[1:]) / 2
    # Storage in flow-hours: S = 2 h x O, so the outflow is half of the storage per hour.
    store = Store(np.array([0.0, 4000.0]), np.array([0.0, 2000.0]))
    (trace,) = simulate([store], inflow[:, None], step_s=1.0, start_m3=[200.0])
    # The page's first value stands at 1 h, with inflow 150 then.
    outflow = trace.volume_end_m3 / 2
    assert outflow[: len(printed)] == pytest.approx(printed, abs=7.6)
    assert int(np.argmax(outflow)) + 1 == 7
    later = {15: 174.771, 16: 144.863, 17: 126.918, 20: 105.814, 25: 100.452}
    assert [outflow[hour - 1] for hour in later] == pytest.approx(list(later.values()), abs=7.6)


def test_level_pool_of_a_textbook():
    """R2, Chow, Maidment and Mays 1988, examples 8.2.1 and 8.2.2 (from memory): peak 270 ft³/s at 9.77 ft.

    Twenty segments. The book routes with 10 min steps; the kernel is exact, and parts from it by that.
    """
    flow = [0, 3, 8, 17, 30, 43, 60, 78, 97, 117, 137, 156, 173, 190, 205, 218, 231, 242, 253, 264, 275]
    stage = np.arange(21) * 0.5
    inflow = np.array(
        [0, 60, 120, 180, 240, 300, 360, 320, 280, 240, 200, 160, 120, 80, 40, 0, 0, 0, 0, 0, 0]
    )
    printed = [
        *(
            0,
            2.4,
            17.1,
            61.1,
            123.2,
            182.2,
            230.3,
            259.3,
            270.0,
            267.4,
            254.9,
            235.2,
            206.9,
            168.5,
            124.1,
            79.8,
        ),
        *(48.6, 32.7, 22.8, 16.2, 12.6),
    ]
    store = Store(43560.0 * stage, np.array(flow, dtype=float))
    fine = np.interp((np.arange(200 * 10) + 0.5) / 100, np.arange(21), inflow)
    (trace,) = simulate([store], fine[:, None], step_s=6.0)
    ended = np.concatenate([[0.0], trace.volume_end_m3[99::100]])
    outflow = np.interp(ended / 43560.0, stage, flow)
    assert outflow == pytest.approx(printed, abs=4.0)
    assert outflow.max() == pytest.approx(270.0, abs=1.0)
    assert int(np.argmax(outflow)) == 8
    assert trace.volume_peak_m3.max() / 43560.0 == pytest.approx(9.77, abs=0.05)
    assert trace.spilled_m3.sum() == 0


def test_storage_and_store_agree_on_full():
    """Full volume by layers and the store's own last node are one figure."""
    volume = store_of(r3_well(), RATE, "bottom").volume_m3
    assert volume[-1] == pytest.approx(float(storage_volume_m3(r3_well(), 4 * FOOT)), rel=1e-15)
