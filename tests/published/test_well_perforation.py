"""Whether stone stays out of holes: gradations of AASHTO M43 (Colorado DOT section 703) and the filter rule.

Ids are those of the reference sheet, materials sections 0 and 2. Rule D85 / hole > 1: airport drainage text,
second-hand.
"""

import pytest

from roofwell.physics.well.perforation import retention_ratio, size_passing_m

INCH = 0.0254
# Materials 2.1: sieve in mm, band of percent passing.
BANDS = {
    "3": [(63, 100, 100), (50, 90, 100), (37.5, 35, 70), (25, 0, 15), (12.5, 0, 5)],
    "4": [(50, 100, 100), (37.5, 90, 100), (25, 20, 55), (19, 0, 15), (9.5, 0, 5)],
    "5": [(37.5, 100, 100), (25, 90, 100), (19, 20, 55), (12.5, 0, 10), (9.5, 0, 5)],
    "57": [(37.5, 100, 100), (25, 95, 100), (12.5, 25, 60), (4.75, 0, 10), (2.36, 0, 5)],
    "67": [(25, 100, 100), (19, 90, 100), (9.5, 20, 55), (4.75, 0, 10), (2.36, 0, 5)],
    "8": [(12.5, 100, 100), (9.5, 85, 100), (4.75, 10, 30), (2.36, 0, 10), (1.18, 0, 5)],
}
SHARES = (0.10, 0.15, 0.50, 0.60, 0.85)
# Materials 2.1, derived: D10, D15, D50, D60, D85 in mm of the middle of the band.
MIDDLE = {
    "3": (25.6, 26.8, 36.7, 39.5, 46.7),
    "4": (19.4, 20.4, 27.3, 29.3, 35.0),
    "5": (13.3, 14.2, 20.2, 21.2, 23.8),
    "57": (5.40, 6.15, 13.7, 15.6, 21.4),
    "67": (5.28, 5.88, 11.0, 12.5, 16.8),
    "8": (2.98, 3.76, 6.33, 6.96, 8.84),
}


def passing(stone, share, *, edge=None):
    band = BANDS[stone]
    shares = [(low + high) / 200 if edge is None else (low, high)[edge] / 100 for _, low, high in band]
    return size_passing_m(
        opening_m=[mm / 1000 for mm, _, _ in band], passing_fraction=shares, wanted_fraction=share
    )


@pytest.mark.parametrize("stone", BANDS)
def test_sizes_of_the_middle_of_the_band(stone):
    """G06 (No. 8: D15 3.76, D85 8.84 mm) and the other stones of the table."""
    found = [passing(stone, share) * 1000 for share in SHARES]
    assert found == pytest.approx(MIDDLE[stone], rel=0.02)


@pytest.mark.parametrize(
    ("stone", "hole_in", "ratio"),
    [
        ("3", 3 / 16, 9.8),
        ("3", 1 / 2, 3.7),
        ("3", 5 / 8, 2.9),
        ("3", 1 / 8, 14.7),
        ("4", 3 / 16, 7.3),
        ("4", 1 / 2, 2.75),
        ("4", 5 / 8, 2.2),
        ("4", 1 / 8, 11.0),
        ("57", 3 / 16, 4.5),
        ("57", 1 / 2, 1.68),
        ("57", 5 / 8, 1.35),
        ("57", 1 / 8, 6.7),
        ("67", 3 / 16, 3.5),
        ("67", 1 / 2, 1.33),
        ("67", 5 / 8, 1.06),
        ("67", 1 / 8, 5.3),
        ("8", 3 / 16, 1.86),
        ("8", 1 / 2, 0.70),
        ("8", 5 / 8, 0.56),
        ("8", 1 / 8, 2.8),
    ],
)
def test_ratio_to_the_hole(stone, hole_in, ratio):
    """G07 (No. 57 on 5/8 in 1.35 holds, No. 8 on 1/2 in 0.70 falls through) and materials table 2.4."""
    found = retention_ratio(stone_d85_m=passing(stone, 0.85), opening_m=hole_in * INCH)
    assert found == pytest.approx(ratio, rel=0.02)
    assert (found > 1) == (ratio > 1)


def test_fine_edge_of_the_band_falls_through():
    """Materials 2.4: at the fine edge of its band No. 67 drops to 0.95 on a 5/8 in hole."""
    found = retention_ratio(stone_d85_m=passing("67", 0.85, edge=1), opening_m=5 / 8 * INCH)
    assert found == pytest.approx(0.95, abs=0.005)


def test_common_stone_stays_out_of_a_body():
    """By-hand (common practice, no source): 1 1/2 in stone does not fall through a body's small holes."""
    for hole_in in (1 / 4, 3 / 8, 5 / 8):
        assert retention_ratio(stone_d85_m=passing("4", 0.85), opening_m=hole_in * INCH) > 2
