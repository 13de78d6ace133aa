"""Design storms against textbook figures; ids R16 to R21 are those of the reference sheet "conveyance"."""

import numpy as np
import pytest

from roofwell.physics.rain import frequency, storms

INCH = 0.0254
MINUTE = 60.0
HOUR = 3600.0

# R16: Chow, Maidment and Mays, Applied Hydrology (1988), example 14.4.1 (equation from memory):
# i = 96.6 / (Td^0.97 + 13.90) in/h, Td in min; 2 h in 10-min steps, peak in block 6.
R16 = [0.024, 0.033, 0.050, 0.084, 0.178, 0.693, 0.308, 0.117, 0.063, 0.040, 0.028, 0.021]


def textbook_table() -> frequency.FrequencyTable:
    minutes = np.arange(10.0, 121.0, 10.0)
    depth_in = 96.6 / (minutes**0.97 + 13.90) * minutes / 60.0
    return frequency.FrequencyTable(
        duration_s=minutes * MINUTE,
        return_period_years=np.array([10.0]),
        depth_m=depth_in[:, None] * INCH,
        series="partial duration",
    )


@pytest.fixture(scope="module")
def textbook_storm() -> storms.DesignStorm:
    return storms.alternating_block(
        textbook_table(), return_period_years=10, duration_s=2 * HOUR, step_s=10 * MINUTE
    )


@pytest.mark.parametrize(("block", "inches"), list(enumerate(R16, 1)))
def test_alternating_block_example(textbook_storm, block, inches):
    """R16: each of the twelve blocks."""
    assert textbook_storm.depth_m[block - 1] / INCH == pytest.approx(inches, abs=0.001)


def test_alternating_block_total(textbook_storm):
    """R16: 1.6394 in altogether."""
    assert textbook_storm.depth_m.sum() / INCH == pytest.approx(1.6394, abs=0.0005)
    assert textbook_storm.nested


@pytest.mark.parametrize(
    ("minutes", "inches_per_hour"), [(10, 4.158), (20, 3.002), (30, 2.357), (60, 1.443), (120, 0.820)]
)
def test_intensities_of_the_example(minutes, inches_per_hour):
    """R17: intensities read back from the table of R16."""
    found = frequency.intensity_m_s(textbook_table(), duration_s=minutes * MINUTE, return_period_years=10)
    assert found / INCH * HOUR == pytest.approx(inches_per_hour, abs=0.001)


@pytest.mark.parametrize("first_side", ["left", "right"])
@pytest.mark.parametrize("peak_position", [0.1, 0.5, 1.0])
@pytest.mark.parametrize("blocks", range(1, 13))
def test_worst_blocks_hold_the_table(blocks, peak_position, first_side):
    """R19: the largest sum of k blocks in a row is the table's depth for k steps, for every k."""
    table = textbook_table()
    storm = storms.alternating_block(
        table,
        return_period_years=10,
        duration_s=2 * HOUR,
        step_s=10 * MINUTE,
        peak_position=peak_position,
        first_side=first_side,
    )
    worst = np.convolve(storm.depth_m, np.ones(blocks), mode="valid").max()
    expected = frequency.depth_m(table, duration_s=blocks * 10 * MINUTE, return_period_years=10)
    assert worst / INCH == pytest.approx(expected / INCH, abs=1e-9)


def test_second_largest_block_on_either_side():
    """Conveyance 1.5: textbooks put it after the peak, one practice note before; the sizes are the same."""
    made = {
        side: storms.alternating_block(
            textbook_table(), return_period_years=10, duration_s=7200, step_s=600, first_side=side
        ).depth_m
        for side in ("left", "right")
    }
    assert np.argsort(made["right"])[-2] == 6
    assert np.argsort(made["left"])[-2] == 4
    assert np.sort(made["left"]) == pytest.approx(np.sort(made["right"]))


# R20: a = 60 in/h·min^c, b = 10 min, c = 0.80, td = 60 min, r = 0.4 (forms of S6, S7; seen).
CURVE = storms.IntensityCurve(coefficient=60 * INCH / HOUR * 60**0.8, offset_s=10 * MINUTE, exponent=0.80)


@pytest.mark.parametrize(
    ("minutes", "inches_per_hour"),
    [(0, 0.6301), (12, 1.2548), (18, 2.3758), (24, 9.5094), (30, 3.2770), (36, 1.8427), (60, 0.6301)],
)
def test_chicago_intensities(minutes, inches_per_hour):
    """R20: intensity at seven times."""
    found = storms.chicago_intensity_m_s(CURVE, time_s=minutes * MINUTE, duration_s=HOUR, peak_position=0.4)
    assert float(found) / INCH * HOUR == pytest.approx(inches_per_hour, abs=0.0005)


def test_chicago_depth():
    """R20: 2.0048 in, of which 0.8019 in fall before the peak."""
    storm = storms.chicago_storm(CURVE, duration_s=HOUR, step_s=MINUTE, peak_position=0.4)
    assert storm.depth_m.sum() / INCH == pytest.approx(2.0048, abs=0.0005)
    assert storm.depth_m[:24].sum() / INCH == pytest.approx(0.8019, abs=0.0005)


@pytest.mark.parametrize(("minutes", "inches"), [(5, 0.57292), (10, 0.91028), (15, 1.14219), (30, 1.56846)])
def test_chicago_windows_hold_the_curve(minutes, inches):
    """R21: the window [tp − r d, tp + (1 − r) d] holds the curve's depth for d."""
    storm = storms.chicago_storm(CURVE, duration_s=HOUR, step_s=30, peak_position=0.4)
    low, high = round((24 - 0.4 * minutes) * 2), round((24 + 0.6 * minutes) * 2)
    assert storm.depth_m[low:high].sum() / INCH == pytest.approx(inches, abs=1e-5)


def test_chicago_heaviest_five_minutes():
    """Conveyance 1.6: 0.5729 in (6.875 in/h) in the heaviest 5 min, far below the spike of 9.509 in/h."""
    storm = storms.chicago_storm(CURVE, duration_s=HOUR, step_s=30, peak_position=0.4)
    worst = np.convolve(storm.depth_m, np.ones(10), mode="valid").max() / INCH
    assert worst == pytest.approx(0.5729, abs=5e-5)
    assert worst * 12 == pytest.approx(6.875, abs=0.0005)
