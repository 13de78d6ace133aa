"""What a well soaks away by each rule for the wetted area, against published areas and flows."""

import math

import pytest

from roofwell.physics.well.soakage import soakage_curve
from roofwell.physics.well.storage import Layer

FOOT = 0.3048
INCH = 0.0254
HOUR = 3600.0


def shaft(radius_m, height_m, voids=1.0):
    return [Layer(0.0, height_m, math.pi * radius_m**2, 2 * math.pi * radius_m, 0.0, voids)]


def full_flow(layers, rate_m_s, credit):
    _, above, _ = soakage_curve(layers, rate_m_s, credit, full_depth_m=layers[-1].top_m)
    return above[-1]


# Infiltration section 3 (derived; G10 is the first row): H, r ft; bottom, half side, bottom + half, all.
AREAS = [
    (4, 2, 12.57, 25.13, 37.70, 62.83),
    (6, 2, 12.57, 37.70, 50.27, 87.96),
    (4, 4, 50.27, 50.27, 100.5, 150.8),
    (3, 1.5, 7.07, 14.14, 21.21, 35.34),
]


@pytest.mark.parametrize("row", AREAS, ids=lambda row: f"H {row[0]} r {row[1]}")
def test_area_credited_by_each_rule(row):
    """G10 and the table beside it: flow over rate is the area credited, ft²."""
    height, radius, bottom, half_side, bottom_and_half, everything = row
    well = shaft(radius * FOOT, height * FOOT)
    area = {
        credit: full_flow(well, 1.0, credit) / FOOT**2
        for credit in (
            "bottom",
            "bottom and half sides",
            "bottom and sides",
            "sides",
            "sides half, no bottom",
        )
    }
    assert area["bottom"] == pytest.approx(bottom, rel=1e-3)
    assert area["bottom and half sides"] == pytest.approx(bottom_and_half, rel=1e-3)
    assert area["bottom and sides"] == pytest.approx(everything, rel=1e-3)
    assert area["sides half, no bottom"] == pytest.approx(half_side, rel=1e-3)
    assert area["sides"] == pytest.approx(2 * half_side, rel=1e-3)


def test_half_of_the_sides_of_a_trench():
    """D7, UK planning calculation of 2017 after BRE Digest 365: 23 x 5 x 0.8 m credits 22.4 m²."""
    trench = [Layer(0.0, 0.8, 23 * 5, 2 * (23 + 5), 0.0, 0.30)]
    _, above, below = soakage_curve(trench, 1.0, "sides half, no bottom", full_depth_m=0.8)
    assert above == pytest.approx([22.4, 22.4])
    assert below == pytest.approx([22.4, 22.4])


def test_half_of_the_sides_of_the_sheet_trench():
    """Infiltration 4.3 (derived): a 10 x 0.6 x 1.5 m trench credits 15.9 m²."""
    trench = [Layer(0.0, 1.5, 6.0, 2 * 10.6, 0.0, 0.30)]
    assert full_flow(trench, 1.0, "sides half, no bottom") == pytest.approx(15.9, abs=1e-9)


def test_exfiltration_of_a_handbook_example():
    """D12, MassDEP Stormwater Handbook volume 3: 303 ft² at 10 in/h is 0.0701 ft³/s (printed 0.07)."""
    pit = [Layer(0.0, 1.0, 303 * FOOT**2, 80 * FOOT, 0.0, 0.40)]
    assert full_flow(pit, 10 * INCH / HOUR, "bottom") / FOOT**3 == pytest.approx(0.0701, abs=0.0001)
