"""Ways out of a full well: lids, lips, sheets and jets, by hand and by brute force."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from roofwell.errors import InputError
from roofwell.physics.well import mouths

FOOT, INCH = 0.3048, 0.0254
OUNCE = 0.028349523125
GRAVITY = 9.80665
BY = mouths.Coefficients(weir_si=1.66, lip_si=1.44, orifice=0.67)
GRATE = mouths.Grate(perimeter_m=0.3, open_area_m2=0.004)
POP_UP = mouths.PopUp(diameter_m=4 * INCH, lift_head_m=INCH, travel_m=1.5 * INCH)
SPREADER = mouths.Spreader(length_m=3.0)


def test_a_lid_of_half_a_pound_wants_an_inch_of_water() -> None:
    """1 psi is 27.68 in of water (handbooks): 8 oz on 12.566 sq in press 0.03979 psi, which is 1.101 in."""
    found = mouths.lift_head_m(lid_kg=8 * OUNCE, diameter_m=4 * INCH)
    assert found / INCH == pytest.approx(1.101, abs=0.002)


def test_broad_lip_of_a_published_solution() -> None:
    """A university's solved examination (CIVE 530, seen): 3.09 x 20 ft x 0.8^1.5 = 44.22 ft³/s."""
    by = mouths.Coefficients(weir_si=1.66, lip_si=3.09 * FOOT**0.5, orifice=0.67)
    flow = mouths.capacity_m3_s(mouths.Spreader(20 * FOOT), head_m=0.8 * FOOT, by=by)
    assert flow / FOOT**3 == pytest.approx(44.22, abs=0.01)


@pytest.mark.parametrize("head", [0.02, 0.05, 0.3])
def test_a_sheet_leaves_at_the_speed_of_the_greatest_flow(head: float) -> None:
    """Brute force: of all depths over a lip that one comes about which passes most; its speed is the sheet's."""
    best = minimize_scalar(
        lambda y: -y * math.sqrt(2 * GRAVITY * (head - y)), bounds=(1e-6, head - 1e-6), method="bounded"
    )
    speed = -best.fun / best.x
    assert mouths.leaving_speed_m_s(head_m=head, drop_m=0.0, sheet=True) == pytest.approx(speed, rel=1e-4)
    width = 0.7
    assert mouths.spread_speed_m_s(flow_m3_s=-best.fun * width, width_m=width) == pytest.approx(
        speed, rel=1e-4
    )


def test_a_jet_and_a_fall_by_hand() -> None:
    """Torricelli: 1 ft of head is 8.02 ft/s (handbooks); as much again by falling a foot more is 11.34 ft/s."""
    assert mouths.leaving_speed_m_s(head_m=FOOT, drop_m=0.0, sheet=False) / FOOT == pytest.approx(
        8.02, abs=0.01
    )
    assert mouths.leaving_speed_m_s(head_m=FOOT, drop_m=FOOT, sheet=False) / FOOT == pytest.approx(
        11.34, abs=0.01
    )


@pytest.mark.parametrize("mouth", [GRATE, POP_UP, SPREADER])
@given(head=st.floats(1e-3, 0.5), clogged=st.floats(0.0, 0.9))
def test_head_is_the_inverse_of_capacity(mouth: mouths.Mouth, head: float, clogged: float) -> None:
    """Where anything leaves at all; a lid that lies lets nothing out."""
    flow = mouths.capacity_m3_s(mouth, head_m=head, by=BY, clogged_fraction=clogged)
    if flow == 0.0:
        assert mouth is POP_UP and head < POP_UP.lift_head_m
        return
    back = mouths.head_m(mouth, flow_m3_s=flow, by=BY, clogged_fraction=clogged)
    assert back == pytest.approx(head, rel=1e-9)


@given(st.floats(1e-7, 0.1), st.floats(1e-7, 0.1), st.floats(0.0, 0.9))
def test_more_water_or_more_leaves_never_stand_lower(a: float, b: float, clogged: float) -> None:
    low, high = sorted((a, b))
    for mouth in (GRATE, POP_UP, SPREADER):
        heads = [mouths.head_m(mouth, flow_m3_s=q, by=BY, clogged_fraction=clogged) for q in (low, high)]
        assert heads[0] <= heads[1]
        assert mouths.head_m(mouth, flow_m3_s=low, by=BY) <= heads[0] + 1e-15


def test_a_trickle_must_still_lift_the_lid() -> None:
    """However little leaves, the water stands at what lifts the lid; a grate lets it go level with its lip."""
    assert mouths.head_m(POP_UP, flow_m3_s=1e-9, by=BY) == INCH
    assert mouths.head_m(GRATE, flow_m3_s=1e-9, by=BY) < 1e-4
    assert mouths.head_m(POP_UP, flow_m3_s=0.0, by=BY) == 0.0


def test_a_lid_that_rises_far_leaves_the_opening_as_the_neck() -> None:
    """From a quarter of the diameter on, the gap all round is as large as the opening: more travel gains nothing."""
    far = [mouths.PopUp(0.1, 0.01, travel) for travel in (0.025, 0.1)]
    flows = [mouths.capacity_m3_s(lid, head_m=0.4, by=BY) for lid in far]
    assert flows[0] == pytest.approx(flows[1], rel=1e-12)
    assert mouths.capacity_m3_s(mouths.PopUp(0.1, 0.01, 0.01), head_m=0.4, by=BY) < flows[0]


def test_edge_or_opening() -> None:
    """Shallow water leaves a grate as a sheet, deep water as jets; a spreader always as a sheet."""
    for head, sheet in ((0.002, True), (0.4, False)):
        flow = mouths.capacity_m3_s(GRATE, head_m=head, by=BY)
        assert mouths.is_sheet(GRATE, flow_m3_s=flow, by=BY) is sheet
    assert mouths.is_sheet(SPREADER, flow_m3_s=1.0, by=BY)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: mouths.head_m(mouths.Spreader(0.0), flow_m3_s=0.1, by=BY),
        lambda: mouths.head_m(mouths.PopUp(0.1, -0.1, 0.1), flow_m3_s=0.1, by=BY),
        lambda: mouths.head_m(mouths.PopUp(0.1, 0.1, 0.0), flow_m3_s=0.1, by=BY),
        lambda: mouths.head_m(GRATE, flow_m3_s=-0.1, by=BY),
        lambda: mouths.capacity_m3_s(GRATE, head_m=math.nan, by=BY),
        lambda: mouths.capacity_m3_s(GRATE, head_m=0.1, by=BY, clogged_fraction=1.0),
        lambda: mouths.lift_head_m(lid_kg=-1.0, diameter_m=0.1),
        lambda: mouths.leaving_speed_m_s(head_m=-0.1, drop_m=0.0, sheet=True),
        lambda: mouths.spread_speed_m_s(flow_m3_s=0.1, width_m=0.0),
    ],
)
def test_nonsense_is_refused(wrong) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as caught:
        wrong()
    assert caught.value.code == "mouth-number"
