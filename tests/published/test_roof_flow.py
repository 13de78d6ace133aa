"""Rain on a roof: unit constants, worked figures, and the rules for a sloping roof, against print."""

import pytest

from roofwell.physics.roof.catchment import (
    area_with_wall_m2,
    effective_area_m2,
    overland_time_s,
    pitch_factor,
    rational_flow_m3_s,
    wetting_loss_m3,
)

FOOT = 0.3048
INCH = 0.0254
HOUR = 3600.0
GALLON = 231 * INCH**3
GPM = GALLON / 60
CFS = FOOT**3
ACRE = 43560 * FOOT**2

UNIT_CONSTANTS = [
    # area m2, intensity m/s, unit of flow m3/s, expected, tolerance
    pytest.param(ACRE, INCH / HOUR, CFS, 1.008333, 1e-6, id="Q1-acre-inch-per-hour (Maryland highway note)"),
    pytest.param(FOOT**2, INCH / HOUR, CFS, 1 / 43200, 1e-12, id="Q2-square-foot"),
    pytest.param(1.0, 1e-3 / HOUR, 1.0, 1 / 3_600_000, 1e-15, id="Q2-square-meter"),
    pytest.param(1e4, 1e-3 / HOUR, 1.0, 1 / 360, 1e-12, id="Q2-hectare"),
    pytest.param(FOOT**2, INCH / HOUR, GPM, 0.01038961, 1e-8, id="Q3-gallons"),
    pytest.param(96.25 * FOOT**2, INCH / HOUR, GPM, 1.0, 1e-9, id="Q3-96.25-square-feet"),
    pytest.param(FOOT**2, INCH / HOUR, GPM, 0.0104, 0.0000104 * 1.01, id="Q4-IPC-rounding"),
    pytest.param(FOOT**2, INCH / HOUR, GPM, 0.0103889, 0.0000008, id="Q4-NSPC-rounding"),
    pytest.param(1000 * FOOT**2, 8 * INCH / HOUR, CFS, 0.185, 0.0005, id="Q5-copper-manual-cfs"),
    pytest.param(1000 * FOOT**2, 8 * INCH / HOUR, GPM, 83, 0.2, id="Q5-copper-manual-gpm"),
    pytest.param(1500 * FOOT**2, 7.764 * INCH / HOUR, GPM, 120.997, 0.01, id="Q6-gpm"),
    pytest.param(1500 * FOOT**2, 7.764 * INCH / HOUR, CFS, 0.26958, 0.00003, id="Q6-cfs"),
    pytest.param(1.0, 75.6e-3 / HOUR, 1e-3, 0.021, 1e-9, id="Q8-UK-rate"),
    pytest.param(1.0, 2.976 * INCH / HOUR, 1e-3, 0.021, 1e-5, id="Q8-UK-rate-in-inches"),
    pytest.param(1.0, 150e-3 / HOUR, 1e-3, 0.0417, 0.00005, id="Q8-150-mm-per-hour"),
    pytest.param(1000 * FOOT**2, 2 * INCH / HOUR, CFS, 0.04630, 0.0000463, id="S18-cfs"),
    pytest.param(1000 * FOOT**2, 2 * INCH / HOUR, GPM, 20.78, 0.02, id="S18-gpm"),
]


@pytest.mark.parametrize(("area", "intensity", "unit", "expected", "tolerance"), UNIT_CONSTANTS)
def test_rational_flow(area: float, intensity: float, unit: float, expected: float, tolerance: float) -> None:
    """Q = C i A gives the constants and the worked figures that are printed."""
    flow = rational_flow_m3_s(area_m2=area, intensity_m_s=intensity, runoff_coefficient=1.0)
    assert flow / unit == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("coefficient", "length_ft", "slope_percent", "minutes", "tolerance"),
    [
        pytest.param(0.95, 25, 33.3, 0.420, 0.001, id="Q9-roof"),
        pytest.param(0.15, 100, 2, 13.572, 0.005, id="Q10-lawn"),
    ],
)
def test_overland_time(
    coefficient: float, length_ft: float, slope_percent: float, minutes: float, tolerance: float
) -> None:
    """FAA formula as in the Denver-area criteria manual of 1984, equation 3-3."""
    time = overland_time_s(
        runoff_coefficient=coefficient, length_m=length_ft * FOOT, slope=slope_percent / 100
    )
    assert time / 60 == pytest.approx(minutes, abs=tolerance)


def test_wetting_loss() -> None:
    """Q11, Denver manual Table 2-1: 0.05 in on 1500 square feet is 6.25 cubic feet, 46.75 gallons."""
    loss = wetting_loss_m3(area_m2=1500 * FOOT**2, loss_depth_m=0.05 * INCH)
    assert loss / FOOT**3 == pytest.approx(6.25, abs=0.01)
    assert loss / GALLON == pytest.approx(46.75, abs=0.01)


def test_wind_driven_rain_on_a_slope() -> None:
    """A1, EN 12056-3: eaves 10 m, plan width 5 m, rise 2 m counts as 60.0 m²: 1.26 L/s at 0.021 L/s/m²."""
    area = effective_area_m2(plan_area_m2=50, rise_per_run=2 / 5, rule="half rise")
    assert area == pytest.approx(60.0, abs=1e-12)
    assert area * 0.021 == pytest.approx(1.26, abs=1e-12)


@pytest.mark.parametrize(
    ("pitch_deg_tangent", "printed"),
    [
        pytest.param(0.577350269, 1.29, id="A2-30"),
        pytest.param(1.0, 1.50, id="A2-45"),
        pytest.param(1.732050808, 1.87, id="A2-60"),
    ],
)
def test_british_multipliers(pitch_deg_tangent: float, printed: float) -> None:
    """A2, Approved Document H3 Table 1 (from memory): 1.29, 1.50, 1.87 at 30, 45, 60 degrees."""
    assert pitch_factor(rise_per_run=pitch_deg_tangent, rule="half rise") == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("rise_in_12", "printed"),
    [
        *((rise, 1.00) for rise in (0, 1, 2, 3)),
        *((rise, 1.05) for rise in (4, 5)),
        *((rise, 1.10) for rise in (6, 7, 8)),
        *((rise, 1.20) for rise in (9, 10, 11)),
        *((rise, 1.30) for rise in (12, 18)),
    ],
)
def test_sheet_metal_pitch_factors(rise_in_12: int, printed: float) -> None:
    """A3, SMACNA pitch factors: 0-3, 4-5, 6-8, 9-11, 12 and over in 12."""
    assert pitch_factor(rise_per_run=rise_in_12 / 12, rule="pitch factor table") == printed


@pytest.mark.parametrize(
    ("rise_in_12", "half_rise", "slope_length"),
    [(4, 1.1667, 1.0541), (6, 1.25, 1.1180), (8, 1.3333, 1.2019), (12, 1.50, 1.4142)],
)
def test_slope_factors_of_a_trade_chart(rise_in_12: int, half_rise: float, slope_length: float) -> None:
    """Factors on the plan area for p in 12; a trade chart confirms the slope lengths (section 3)."""
    pitch = rise_in_12 / 12
    assert pitch_factor(rise_per_run=pitch, rule="half rise") == pytest.approx(half_rise, abs=5e-5)
    assert pitch_factor(rise_per_run=pitch, rule="slope length") == pytest.approx(slope_length, abs=5e-5)


def test_the_four_rules_disagree_at_45_degrees() -> None:
    """A4: 1.30, 1.414, 1.50 and 1.00 for the same roof."""
    assert pitch_factor(rise_per_run=1.0, rule="pitch factor table") == 1.30
    assert pitch_factor(rise_per_run=1.0, rule="slope length") == pytest.approx(1.414, abs=0.0005)
    assert pitch_factor(rise_per_run=1.0, rule="half rise") == 1.50
    assert pitch_factor(rise_per_run=1.0, rule="plan area") == 1.00


@pytest.mark.parametrize(
    ("share", "square_feet"),
    [pytest.param(0.5, 880, id="A5-IPC-1106.4"), pytest.param(0.25, 840, id="A6-Chicago-18-29-1106")],
)
def test_wall_above_a_roof(share: float, square_feet: float) -> None:
    """A wall 20 ft by 8 ft over 800 square feet of roof."""
    area = area_with_wall_m2(area_m2=800 * FOOT**2, wall_area_m2=160 * FOOT**2, wall_share=share)
    assert area / FOOT**2 == pytest.approx(square_feet, abs=1e-9)
