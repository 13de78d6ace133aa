"""The overflow grate as weir and orifice, against coefficients and examples of drainage manuals.

Ids are those of the reference sheet, conveyance section 0. TxDOT Hydraulic Design Manual, chapter 10: the
coefficients (seen); HEC-22: the example of I7 (from memory); the others follow from them by arithmetic.
"""

import pytest

from roofwell import tables
from roofwell.physics.well.overflow import grate_capacity_m3_s, head_over_grate_m

FOOT = 0.3048
CUBIC_FOOT = FOOT**3
GALLON = 231 * 0.0254**3
GPM = GALLON / 60
CW_SI = 3.0 * FOOT**0.5
MANUAL = {"weir_coefficient_si": CW_SI, "orifice_coefficient": 0.67}
YARD_GRATE = {"perimeter_m": 4 * FOOT, "open_area_m2": 0.6 * FOOT**2}


def test_unclogged_weir():
    """I1: P 4 ft, 0.10 ft deep: 0.3795 ft³/s = 170.3 gpm."""
    flow = grate_capacity_m3_s(head_m=0.10 * FOOT, **YARD_GRATE, **MANUAL)
    assert flow / CUBIC_FOOT == pytest.approx(0.3795, abs=1e-4)
    assert flow / GPM == pytest.approx(170.3, abs=0.1)


@pytest.mark.parametrize(("depth_ft", "gpm"), [(0.10, 85.2), (0.20, 240.9)])
def test_half_clogged_weir(depth_ft, gpm):
    """I2: half of the perimeter clogged."""
    flow = grate_capacity_m3_s(head_m=depth_ft * FOOT, **YARD_GRATE, **MANUAL, clogged_fraction=0.5)
    assert flow / GPM == pytest.approx(gpm, abs=0.1)


def test_deep_water_is_an_orifice():
    """I3 (conveyance section 7): half clogged under 6 in, the orifice passes 512 gpm."""
    flow = grate_capacity_m3_s(head_m=0.5 * FOOT, **YARD_GRATE, **MANUAL, clogged_fraction=0.5)
    assert flow / GPM == pytest.approx(512, abs=0.6)


def test_where_weir_and_orifice_meet():
    """I4: they meet at 0.2688 ft: below it the flow grows as the power 1.5, above it as the root."""

    def flow(head_ft):
        return grate_capacity_m3_s(head_m=head_ft * FOOT, **YARD_GRATE, **MANUAL)

    assert flow(0.2683) / flow(0.1) == pytest.approx(2.683**1.5, rel=1e-9)
    assert flow(0.5) / flow(0.2693) == pytest.approx((0.5 / 0.2693) ** 0.5, rel=1e-9)


def test_depth_for_a_flow():
    """I5: 60 gpm over a half-clogged 12 in grate stand 0.0792 ft = 0.95 in deep."""
    head = head_over_grate_m(flow_m3_s=60 * GPM, **YARD_GRATE, **MANUAL, clogged_fraction=0.5)
    assert head / FOOT == pytest.approx(0.0792, abs=1e-4)
    assert head / 0.0254 == pytest.approx(0.95, abs=0.005)


def test_weir_coefficient_that_is_assumed():
    """I6: 3.0 in feet is 1.656 in metres, printed 1.66; the orifice coefficient is 0.67, half is clogged."""
    weir = tables.assumption("overflow-weir-coefficient").value_si
    assert weir == pytest.approx(1.656, abs=0.005)
    assert weir / FOOT**0.5 == pytest.approx(3.007, abs=5e-4)
    assert tables.assumption("overflow-orifice-coefficient").value_si == 0.67
    assert tables.assumption("overflow-clogged").value_si == 0.5


def test_sag_example_of_the_circular():
    """I7 (HEC-22 chapter 4, from memory): 0.19 m³/s need 2.31 m of edge at 0.135 m; 2.4 m at 0.13 m."""
    metric = {"open_area_m2": 2.0, "weir_coefficient_si": 1.66, "orifice_coefficient": 0.67}
    assert grate_capacity_m3_s(head_m=0.135, perimeter_m=2.31, **metric) == pytest.approx(0.19, abs=0.0005)
    assert head_over_grate_m(flow_m3_s=0.19, perimeter_m=2.4, **metric) == pytest.approx(0.1315, abs=5e-4)
