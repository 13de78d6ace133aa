"""What a pit holds: published sizing examples and by-hand figures of the trade.

Ids are those of the reference sheets (infiltration D, materials G and E); the publication stands beside each.
"""

import math

import pytest

from roofwell.physics.well.storage import Layer, depth_of_volume_m, full_volume_m3, storage_volume_m3

FOOT = 0.3048
INCH = 0.0254
CUBIC_FOOT = FOOT**3
GALLON = 231 * INCH**3


def round_pit(diameter_m, height_m, voids, body_m=0.0, bottom_m=0.0):
    return Layer(
        bottom_m,
        bottom_m + height_m,
        math.pi / 4 * diameter_m**2,
        math.pi * diameter_m,
        math.pi / 4 * body_m**2,
        voids,
    )


def box(length_m, width_m, height_m, voids):
    return Layer(0.0, height_m, length_m * width_m, 2 * (length_m + width_m), 0.0, voids)


def test_trench_of_a_township_ordinance():
    """D1, G15, Pennsylvania ordinance: 140 ft³ in 350 ft³ of stone, 117 ft², 20 ft of trench; built 144."""
    water = 824 * 2.04 / 12 * CUBIC_FOOT
    assert water / CUBIC_FOOT == pytest.approx(140, abs=0.5)
    trench = box(20 * FOOT, 6 * FOOT, 3 * FOOT, 0.40)
    assert full_volume_m3([trench]) / CUBIC_FOOT == pytest.approx(144, abs=1e-9)
    as_long_as_needed = box(19.45 * FOOT, 6 * FOOT, 3 * FOOT, 0.40)
    assert full_volume_m3([as_long_as_needed]) / CUBIC_FOOT == pytest.approx(140, abs=0.5)
    stone = box(117 / 6 * FOOT, 6 * FOOT, 3 * FOOT, 1.0)
    assert full_volume_m3([stone]) / CUBIC_FOOT == pytest.approx(350, abs=1.5)


def test_ring_of_a_building_control_note():
    """D3, UK building-control notice, 1999: a 1.2 m ring holds 1.13 m³ per m; 0.78 m³ stand 0.69 m."""
    ring = round_pit(1.2, 1.0, 1.0)
    assert full_volume_m3([ring]) == pytest.approx(1.13, abs=0.01)
    water = 3 * 6.5 * 0.040
    assert water == pytest.approx(0.78, abs=1e-9)
    assert float(depth_of_volume_m([ring], water)) == pytest.approx(0.69, abs=0.01)


@pytest.mark.parametrize(
    ("water_m3", "rubble_m3", "tolerance"),
    [
        pytest.param(50 * 50 / 3000, 2.78, 0.01, id="D4 CNC (Norfolk) building control"),
        pytest.param(25 * 0.010, 0.83, 0.01, id="D6 Approved Document H by way of a building-control note"),
    ],
)
def test_rubble_soakaway(water_m3, rubble_m3, tolerance):
    """D4 and D6: that much rubble with 30 % voids holds the water."""
    assert full_volume_m3([box(rubble_m3, 1.0, 1.0, 0.30)]) == pytest.approx(water_m3, abs=tolerance)


def test_ring_depth_of_an_older_standard():
    """D5, BS 8301:1985 as quoted in a ring data sheet: 12 mm from 100 m² stand 0.4716 m in a 1.8 m ring."""
    assert float(depth_of_volume_m([round_pit(1.8, 1.0, 1.0)], 100 * 0.012)) == pytest.approx(
        0.4716, abs=1e-4
    )


def test_inch_of_rain_on_a_thousand_square_feet():
    """D17 (derived): 83.33 ft³ need 208.3 ft³ of stone, 52.1 ft² at 4 ft."""
    side = math.sqrt(52.1) * FOOT
    pit = box(side, side, 4 * FOOT, 0.40)
    assert full_volume_m3([pit]) / CUBIC_FOOT == pytest.approx(83.33, abs=0.1)
    solid = box(side, side, 4 * FOOT, 1.0)
    assert full_volume_m3([solid]) / CUBIC_FOOT == pytest.approx(208.3, abs=0.2)


def test_chamber_in_a_ring_of_stone():
    """D19, geometry of EPA's Millburn study: 75.4 + 90.5 = 165.9 ft³, 1,241 gal, voids 0.55 all over."""
    well = round_pit(8 * FOOT, 6 * FOOT, 0.40, body_m=4 * FOOT)
    full = full_volume_m3([well])
    body = full_volume_m3([round_pit(4 * FOOT, 6 * FOOT, 1.0)])
    assert body / CUBIC_FOOT == pytest.approx(75.4, abs=0.1)
    assert (full - body) / CUBIC_FOOT == pytest.approx(90.5, abs=0.1)
    assert full / CUBIC_FOOT == pytest.approx(165.9, abs=0.1)
    assert full / GALLON == pytest.approx(1241, abs=1)
    assert well.water_area_m2 / well.pit_area_m2 == pytest.approx(0.55, abs=1e-9)
    assert full / (2000 * FOOT**2) / INCH == pytest.approx(0.995, abs=0.001)


@pytest.mark.parametrize(
    ("diameter_ft", "height_ft", "pit_ft3", "void_ft3", "gallons"),
    [
        (2, 4, 12.57, 5.03, 37.6),
        (3, 4, 28.27, 11.31, 84.6),
        (4, 5, 62.83, 25.13, 188.0),
        (5, 6, 117.8, 47.12, 352.5),
    ],
)
def test_stone_pits(diameter_ft, height_ft, pit_ft3, void_ft3, gallons):
    """G14, E01 and the table of materials 2.3 (geometry): pit, open space at 40 %, gallons."""
    pit = full_volume_m3([round_pit(diameter_ft * FOOT, height_ft * FOOT, 1.0)])
    water = full_volume_m3([round_pit(diameter_ft * FOOT, height_ft * FOOT, 0.40)])
    assert pit / CUBIC_FOOT == pytest.approx(pit_ft3, rel=5e-4)
    assert water / CUBIC_FOOT == pytest.approx(void_ft3, rel=1e-3)
    assert water / GALLON == pytest.approx(gallons, rel=1e-3)


def test_common_body_in_a_bored_hole():
    """By hand (common practice, no source): a body of 18 x 48 in in a 36 in hole, 40 % voids."""
    well = round_pit(36 * INCH, 48 * INCH, 0.40, body_m=18 * INCH)
    body = full_volume_m3([round_pit(18 * INCH, 48 * INCH, 1.0)])
    pit = full_volume_m3([round_pit(36 * INCH, 48 * INCH, 1.0)])
    full = full_volume_m3([well])
    assert body / CUBIC_FOOT == pytest.approx(7.07, abs=0.005)
    assert (pit - body) / CUBIC_FOOT == pytest.approx(21.2, abs=0.05)
    assert full / CUBIC_FOOT == pytest.approx(15.55, abs=0.005)
    assert full / GALLON == pytest.approx(116.3, abs=0.05)
    assert full / (1000 * FOOT**2) / INCH == pytest.approx(0.187, abs=0.0005)
    assert (36 - 18) / 2 == 9  # inches of stone all round


def test_mixed_storage_by_hand_slices():
    """Laid up in slices (geometry): 6 in of stone, a 24 in body of 18 in in it, 4 in of stone over it."""
    hole, body = math.pi / 4 * 3.0**2, math.pi / 4 * 1.5**2
    by_hand = 0.4 * hole * 0.5 + (body + 0.4 * (hole - body)) * 2.0 + 0.4 * hole / 3
    layers = [
        round_pit(36 * INCH, 6 * INCH, 0.40),
        round_pit(36 * INCH, 24 * INCH, 0.40, body_m=18 * INCH, bottom_m=6 * INCH),
        round_pit(36 * INCH, 4 * INCH, 0.40, bottom_m=30 * INCH),
    ]
    assert float(storage_volume_m3(layers, 34 * INCH)) / CUBIC_FOOT == pytest.approx(by_hand, rel=1e-9)
