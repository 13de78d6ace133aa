"""Published sizing rules, run through the kernel: a well of the published size is filled and not more.

Ids are those of the reference sheet, infiltration section 0 and 4.
"""

import math

import numpy as np
import pytest

from roofwell.physics.network import Store, drain_time_s, simulate
from roofwell.physics.well.soakage import soakage_curve
from roofwell.physics.well.storage import Layer, full_volume_m3

FOOT = 0.3048
INCH = 0.0254
HOUR = 3600.0
MINUTE = 60.0
CUBIC_FOOT = FOOT**3

# D7: duration in minutes, M10 depth in mm (M5-60 20 mm, r 0.40), as in a UK planning calculation of 2017.
RAIN_M10 = [
    (10, 12.69),
    (15, 15.50),
    (30, 19.84),
    (60, 24.80),
    (120, 30.01),
    (240, 35.38),
    (360, 38.72),
    (600, 42.96),
    (1440, 52.86),
    (2880, 61.31),
    (5760, 70.15),
]


def store_of(layers, rate_m_s, credit, *, empty_m3=0.0):
    volume, above, below = soakage_curve(layers, rate_m_s, credit, full_depth_m=layers[-1].top_m)
    return Store(volume, above, below, empty_m3=empty_m3)


def block(store, water_m3, duration_s):
    """A store from empty, with that much water arriving evenly."""
    return simulate([store], np.array([[water_m3 / duration_s]]), step_s=duration_s)[0]


def bre_trench():
    return [Layer(0.0, 0.8, 23 * 5, 2 * (23 + 5), 0.0, 0.30)]


@pytest.mark.parametrize(
    ("minutes", "millimetres", "stored_m3"),
    [
        (*rain, stored)
        for rain, stored in zip(
            RAIN_M10,
            [8.64, 10.52, 13.35, 16.43, 19.34, 21.67, 22.60, 22.79, 20.02, 9.40, 0.0],
            strict=True,
        )
    ],
)
def test_inflow_outflow_table(minutes, millimetres, stored_m3):
    """D7 and 4.3: storage S = A R − As50 f D of each duration; nothing is left of the longest."""
    trace = block(
        store_of(bre_trench(), 8.5e-6, "sides half, no bottom"), 690 * millimetres / 1000, minutes * MINUTE
    )
    assert trace.volume_end_m3[0] == pytest.approx(stored_m3, abs=0.02)
    assert trace.spilled_m3[0] == 0


def test_half_empty_time_of_the_table():
    """D7: half of 22.79 m³ is gone after 16.6 h."""
    store = store_of(bre_trench(), 8.5e-6, "sides half, no bottom", empty_m3=22.79 / 2)
    assert drain_time_s(store, 22.79) / HOUR == pytest.approx(16.6, abs=0.05)


def ring_pit(depth_m):
    """D8: a 1.2 m ring in a pit 2.4 m square, fill with 30 % voids."""
    return [Layer(0.0, depth_m, 2.4**2, 4 * 2.4, math.pi / 4 * 1.2**2, 0.30)]


@pytest.mark.parametrize(
    ("rate_m_s", "depth_m", "critical_min", "half_h"),
    [pytest.param(3.3e-5, 0.820, 120, 2.21, id="D8"), pytest.param(1e-5, 1.102, 240, 7.29, id="D9")],
)
def test_ring_pit_is_just_deep_enough(rate_m_s, depth_m, critical_min, half_h):
    """D8, D9 (derived after BRE 365): 0.5 % shallower it spills in the critical duration alone."""

    def spilling(depth):
        store = store_of(ring_pit(depth), rate_m_s, "sides half, no bottom")
        return [m for m, mm in RAIN_M10 if block(store, 100 * mm / 1000, m * MINUTE).spilled_m3[0] > 0]

    assert spilling(depth_m * 0.995) == [critical_min]
    assert spilling(depth_m * 1.005) == []
    full = full_volume_m3(ring_pit(depth_m))
    store = store_of(ring_pit(depth_m), rate_m_s, "sides half, no bottom", empty_m3=full / 2)
    assert drain_time_s(store, full) / HOUR == pytest.approx(half_h, rel=0.005)


@pytest.mark.parametrize(
    ("rate_m_s", "minutes", "required_m3", "half_h"),
    [(1e-5, 60, 1.908, 1.67), (3.2e-5, 15, 1.092, 0.298), (1e-4, 10, 0.315, 0.0275)],
)
def test_trench_of_the_sheet(rate_m_s, minutes, required_m3, half_h):
    """4.3 (derived after BRE 365): storage that a 10 x 0.6 x 1.5 m trench needs, and its half-empty time."""
    trench = [Layer(0.0, 1.5, 6.0, 2 * 10.6, 0.0, 0.30)]
    assert full_volume_m3(trench) == pytest.approx(2.70, abs=1e-9)
    store = store_of(trench, rate_m_s, "sides half, no bottom")
    stored = [block(store, 100 * mm / 1000, m * MINUTE).volume_end_m3[0] for m, mm in RAIN_M10]
    assert max(stored) == pytest.approx(required_m3, abs=0.001)
    assert RAIN_M10[int(np.argmax(stored))][0] == minutes
    half = store_of(trench, rate_m_s, "sides half, no bottom", empty_m3=required_m3 / 2)
    assert drain_time_s(half, required_m3) / HOUR == pytest.approx(half_h, rel=0.005)


def test_simple_dynamic_recharge():
    """D10, Massachusetts handbook method (city file 2019): 101.2 ft³ in 2 h fill 53.9 ft², 0.5 ft deep."""
    water = (2303 * 0.10 + 2811 * 0.35) / 12
    assert water == pytest.approx(101.2, abs=0.1)
    # 53.87 before it was rounded for print.
    basin = [Layer(0.0, 0.5 * FOOT, 53.87 * FOOT**2, 30 * FOOT, 0.0, 1.0)]
    trace = block(store_of(basin, 8.27 * INCH / HOUR, "bottom"), water * CUBIC_FOOT, 2 * HOUR)
    assert trace.volume_end_m3[0] / CUBIC_FOOT == pytest.approx(27, abs=0.1)
    assert trace.spilled_m3[0] / CUBIC_FOOT < 0.1


def prism(depth_m, voids, area_m2=1.0):
    return [Layer(0.0, depth_m, area_m2, 4 * math.sqrt(area_m2), 0.0, voids)]


@pytest.mark.parametrize(
    ("depth_in", "voids", "rate_in_h", "hours"),
    [
        pytest.param(1.2 * 12, 1.0, 0.3, 48, id="D13 Minnesota city file 2015"),
        *[pytest.param(d, 0.40, 0.5, t, id=f"D15 {t} h") for d, t in ((30, 24), (60, 48), (90, 72))],
        pytest.param(48, 0.40, 0.52, 36.9, id="D16"),
        *[pytest.param(d, 0.40, 0.27, t, id=f"0.27 {t} h") for d, t in ((16.2, 24), (32.4, 48), (48.6, 72))],
        *[pytest.param(d, 0.40, 1.0, t, id=f"1.0 {t} h") for d, t in ((60, 24), (120, 48), (180, 72))],
        *[
            pytest.param(d, 0.35, 0.27, t, id=f"0.35 0.27 {t} h")
            for d, t in ((18.5, 24), (37.0, 48), (55.5, 72))
        ],
        *[
            pytest.param(d, 0.35, 0.5, t, id=f"0.35 0.5 {t} h")
            for d, t in ((34.3, 24), (68.6, 48), (103, 72))
        ],
        *[pytest.param(d, 0.35, 1.0, t, id=f"0.35 1.0 {t} h") for d, t in ((68.6, 24), (137, 48), (206, 72))],
        pytest.param(36, 0.40, 0.5, 28.8, id="trade 28.8 h"),
        pytest.param(36, 0.40, 0.25, 57.6, id="trade, factor 2"),
    ],
)
def test_depth_limit_and_drain_time(depth_in, voids, rate_in_h, hours):
    """D13, D15, D16 and the table of section 4 (manuals' d = f T / n): bottom only, just that time."""
    store = store_of(prism(depth_in * INCH, voids), rate_in_h * INCH / HOUR, "bottom")
    full = full_volume_m3(prism(depth_in * INCH, voids))
    assert drain_time_s(store, full) / HOUR == pytest.approx(hours, rel=0.004)


@pytest.mark.parametrize(
    ("area_ft2", "rate_in_h"),
    [
        pytest.param(69.44, 0.0, id="no credit"),
        pytest.param(
            64.93,
            2.0,
            id="credit",
            marks=pytest.mark.xfail(
                strict=True,
                reason="the sheet's own formula V / (n d + f T) gives 54.35 ft²; 64.93 is that of 0.5 in/h",
            ),
        ),
        pytest.param(64.93, 0.5, id="credit, as it was meant"),
    ],
)
def test_footprint_with_credit_for_filling(area_ft2, rate_in_h):
    """Section 4 (derived): 83.33 ft³ in 2 h fill 3 ft of stone; 64.93 ft² with 2 in/h, 69.44 without."""
    water = 83.33 * CUBIC_FOOT
    pit = prism(3 * FOOT, 0.40, area_ft2 * FOOT**2)
    trace = block(store_of(pit, rate_in_h * INCH / HOUR, "bottom"), water, 2 * HOUR)
    assert trace.volume_end_m3[0] == pytest.approx(full_volume_m3(pit), rel=2e-4)
    assert trace.spilled_m3[0] == pytest.approx(0, abs=2e-4 * water)


def test_rock_pit_of_the_new_zealand_method():
    """4.5 (E1/VM1 from memory, numbers derived): 4.725 m³ in 1 h, 4 m² at 150 mm/h, 10.86 m³ of rock."""
    water = 10 * 0.9 * 35 * 0.015
    assert water == pytest.approx(4.725, abs=1e-9)
    pit = prism(10.86 / 4.0, 0.38, 4.0)
    trace = block(store_of(pit, 0.150 / HOUR, "bottom"), water, HOUR)
    assert trace.soaked_m3[0] == pytest.approx(0.600, abs=1e-6)
    assert trace.volume_end_m3[0] == pytest.approx(4.125, abs=1e-6)
    assert full_volume_m3(pit) == pytest.approx(4.125, abs=0.003)


# 4.5: DWA-A 138 (2005, from memory; numbers derived): minutes, rain in L/(s ha), shaft depth in m; D20: 30.
SHAFT = [
    (5, 300, 1.941),
    (10, 216, 2.660),
    (15, 170, 2.995),
    (20, 142, 3.187),
    (30, 109, 3.368),
    (45, 81, 3.334),
    (60, 66, 3.253),
    (90, 48, 2.927),
    (120, 38, 2.609),
]


@pytest.mark.parametrize("row", SHAFT, ids=lambda row: f"{row[0]} min")
def test_shaft(row):
    """D20: 1.2 x rain and soakage of the full shaft over the duration just fill it.

    The formula lets the whole credited wall soak from the first minute on, so the comparison holds the
    soakage at that of the full shaft; the kernel proper, with the wall wetted little by little, needs more.
    """
    minutes, litres, depth_m = row
    outer, inner, rate = 1.3, 1.0, 1e-4
    duration, water = 1.2 * minutes * MINUTE, 150 * litres * 1e-7 * 1.2 * minutes * MINUTE
    wall = [Layer(0.0, depth_m, math.pi / 4 * outer**2, math.pi * outer, math.pi / 4 * inner**2, 0.0)]
    volume, above, _ = soakage_curve(wall, rate / 2, "bottom and half sides", full_depth_m=depth_m)
    held = block(Store(volume, np.full(2, above[-1])), water, duration)
    assert held.volume_end_m3[0] + held.spilled_m3[0] == pytest.approx(volume[-1], rel=5e-4)
    true = block(Store(volume, above), water, duration)
    assert true.spilled_m3[0] > held.spilled_m3[0]


def test_capture_of_a_store_that_is_empty_at_every_start():
    """C1 (derived): 5 mm of storage, exponential events of 7.2 mm on average: 1 − exp(−S/v) = 0.5006."""
    store = Store(np.array([0.0, 5.0]), np.zeros(2))
    events = 4000
    depths = -7.2 * np.log1p(-(np.arange(events) + 0.5) / events)
    spilled = sum(block(store, depth, 1.0).spilled_m3[0] for depth in depths)
    assert 1 - spilled / depths.sum() == pytest.approx(0.5006, abs=5e-4)


@pytest.mark.parametrize(
    ("storage_mm", "drain_mm_h", "captured"),
    [(25, 1.0, 0.971), (25, 0.5, 0.955), (12.5, 0.5, 0.827), (25, 0.25, 0.920), (10, 0.3, 0.726)],
)
def test_capture_when_stored_water_carries_over(storage_mm, drain_mm_h, captured):
    """8.1 (c), a simulation apart from this code: storms of 8 mm and 6 h, gaps of 70 h, all exponential.

    Here 12,000 events on a grid of a quarter hour: good to about 0.01.
    """
    rng = np.random.default_rng(81)
    events = 12_000
    step_h = 0.25
    lasts = np.maximum(np.rint(rng.exponential(6.0, events) / step_h), 1).astype(int)
    gaps = np.maximum(np.rint(rng.exponential(70.0, events) / step_h), 1).astype(int)
    depths = rng.exponential(8.0, events)
    pairs = np.stack([depths / (lasts * step_h), np.zeros(events)], axis=1)
    rates = np.repeat(pairs.ravel(), np.stack([lasts, gaps], axis=1).ravel())
    store = Store(np.array([0.0, storage_mm]), np.full(2, drain_mm_h / HOUR))
    (trace,) = simulate([store], rates[:, None] / HOUR, step_s=step_h * HOUR)
    assert 1 - trace.spilled_m3.sum() / depths.sum() == pytest.approx(captured, abs=0.01)
