"""Ways out of a full well in a design: emitter, spreader, pipe to daylight or through a curb; heads and capacities."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from scipy.optimize import brentq, minimize_scalar

from roofwell import job
from roofwell.design.judging import Judged
from roofwell.system import outlet_parts, overflow_parts
from roofwell.system.scheme import Overflow

Document = dict[str, Any]
FOOT, INCH, GPM = 0.3048, 0.0254, 231 * 0.0254**3 / 60
AWAY = ["38 ft", "106 ft"]


def _overflow(judged: Judged) -> Overflow:
    (found,) = judged.scheme.overflows
    return found


def _led_to(house: Document, kind: str, **outlet: Any) -> None:
    """The overflow led by a pipe to an outlet behind the well."""
    house["overflows"]["O1"] = {"of": "W1", "to": "E1"}
    house["outlets"] = {
        "E1": {"kind": kind, "at": ["38 ft", "116 ft"], "invert": "95.4 ft", "destination": "a swale"}
        | outlet
    }


def test_the_head_of_a_pop_up_beside_its_pit_by_hand(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """4 in, half blocked, 45 gpm: gap under the lid as orifice, and a full pipe in feet by Manning (1.486) behind it.

    By hand, in feet and seconds: Q 0.10026; edge half of 1.0472, weir (0.10026 / (3.007 x 0.5236))^(2/3) = 0.1595;
    gap half of min(1.0472 x 0.125, 0.08727) = 0.04363, orifice (0.10026 / (0.67 x 0.04363))^2 / 64.35 = 0.1828.
    Pipe: V 1.1489, V²/2g 0.02051; slope (0.10026 x 0.010 / (1.486 x 0.08727 x 0.08333^(2/3)))^2 = 0.001645.
    """
    house["overflows"]["O1"].update(
        kind="pop-up emitter", at=AWAY, lip="97.4 ft", diameter="4 in", lid_lift="1 1/2 in"
    )
    overflow = _overflow(judged_of(house))
    assert overflow.pipe is not None
    assert overflow.pipe.length_m / FOOT == pytest.approx(14.0)
    alone = overflow_parts.head_m(overflow_without_pipe(overflow), 45 * GPM, 0.5, drowned=False)
    assert alone / FOOT == pytest.approx(0.1828, abs=0.0005)
    losses = 1.0 + 0.5 + overflow.pipe.bends_k
    both = overflow_parts.head_m(overflow, 45 * GPM, 0.5, drowned=False)
    by_hand = 0.1828 + losses * 0.02051 + 14 * 0.001645
    assert both / FOOT == pytest.approx(by_hand, abs=0.004)


def overflow_without_pipe(overflow: Overflow) -> Overflow:
    """The same over the pit itself."""
    return replace(overflow, pipe=None)


def test_the_weight_of_a_lid_raises_the_grade_lines(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """One pound on 12.566 sq in wants 2.20 in of water (27.68 in for a psi); the level at the house knows it."""
    house["overflows"]["O1"].update(kind="pop-up emitter", diameter="6 in", lid_weight="1 lb")
    light = judged_of(house)
    house["overflows"]["O1"]["lid_weight"] = "8 lb"
    heavy = judged_of(house)
    lift = [_overflow(judged).lid_head_m / INCH for judged in (light, heavy)]
    assert lift == pytest.approx([0.979, 7.83], abs=0.01)  # on 28.27 sq in
    levels = [max(level.peak_m for level in judged.behaviour.levels) for judged in (light, heavy)]
    assert levels[1] > levels[0] + 3 * INCH


def test_what_stays_in_a_low_elbow(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Its pipe starts at the body's top; where it falls 6 in to the elbow, 6 in stay; without a low point none."""
    house["overflows"]["O1"].update(kind="pop-up emitter", at=AWAY, lip="97.4 ft")
    pipe = _overflow(judged_of(house)).pipe
    assert pipe is not None and pipe.slope_m_m == 0.0
    low = pipe.upstream_invert_m / FOOT - 0.5
    house["overflows"]["O1"]["low_point"] = f"{low:.6f} ft"
    fallen = judged_of(house)
    assert overflow_parts.trapped_depth_m(_overflow(fallen)) / INCH == pytest.approx(6.0, abs=0.02)
    house["overflows"]["O1"]["weep_hole"] = True
    (drains,) = [f for f in judged_of(house).findings if f.code == "elbow-drains"]
    assert drains.verdict == "good" and "weep hole" in drains.sentence


def test_a_designed_spreader_is_as_long_as_the_rule(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """15A NCAC 02H .1059: 10 ft for each cubic foot a second; whole feet, and no less than three."""
    house["overflows"]["O1"]["kind"] = "level spreader"
    assert _overflow(judged_of(house)).length_m / FOOT == pytest.approx(3.0)
    house["roofs"]["R1"]["plan_area"] = "8000 sq ft"
    judged = judged_of(house)
    # 0.52 in in 5 min on 8,360 sq ft is 1.2076 ft³/s, before anything soaks away
    assert _overflow(judged).length_m / FOOT == pytest.approx(13.0)


def test_a_pipe_to_daylight(house: Document, judged_of: Callable[..., Judged]) -> None:
    """The lip lies under its cover; downspouts are not led to the outlet; what leaves comes out there, not at the well."""
    _led_to(house, "daylight")
    judged = judged_of(house)
    overflow = _overflow(judged)
    assert overflow.pipe is not None
    assert overflow.pipe.upstream_invert_m == overflow.lip_m
    assert overflow.pipe.downstream_invert_m / FOOT == pytest.approx(95.4)
    assert overflow.pipe.length_m / FOOT == pytest.approx(24.0)
    assert {run.to_id for run in judged.scheme.runs} == {"B1", "W1"} | {w.id for w in judged.scheme.wyes}
    ways = {way.part: way.flow_m3_s for way in judged.behaviour.overland.ways}  # type: ignore[union-attr]
    leaves = judged.behaviour.well("W1").overflow_peak_m3_s
    assert ways == {"E1": pytest.approx(leaves)}
    assert leaves > 0


def test_what_a_pipe_takes_in_at_its_crown(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Brute force: at the mouth of a steep pipe stands the least energy for the flow, and half a velocity head is lost
    there (entrance loss 0.5, FHWA); a pool level with the crown of 4 in then brings so much."""
    _led_to(house, "daylight")
    house["overflows"]["O1"].update(lip="96.6 ft", diameter="4 in")
    overflow = _overflow(judged_of(house))
    assert overflow.pipe is not None and overflow.pipe.slope_m_m == pytest.approx(0.05)
    head = overflow_parts.stated_head_m(overflow, "us")
    assert head / INCH == pytest.approx(4.0)
    half = 2 * INCH

    def energy(depth: float, flow: float) -> float:
        angle = 2 * math.acos((half - depth) / half)
        area = half**2 / 2 * (angle - math.sin(angle))
        return depth + (flow / area) ** 2 / (2 * 9.80665)

    def pool(flow: float) -> float:
        critical = minimize_scalar(
            lambda y: energy(y, flow), bounds=(1e-3, 2 * half - 1e-6), method="bounded"
        )
        return float(critical.fun + 0.5 * (critical.fun - critical.x))

    expected = brentq(lambda flow: pool(flow) - head, 1e-4, 1e-2)
    assert overflow_parts.capacity_m3_s(overflow, head, 0.5) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("outlet", "higher"),
    [
        ({}, False),
        ({"tailwater": "97.2 ft"}, True),
        ({"guard": "bars"}, False),
        ({"opening_width": "2 in", "opening_height": "1 in", "kind": "curb"}, True),
    ],
)
def test_what_holds_water_up_at_the_outlet_reaches_the_well(
    outlet: dict[str, Any], higher: bool, house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Bars in front of a steep pipe cost nothing; a tailwater over the lip and a slot of two square inches do."""
    _led_to(house, "daylight")
    house["overflows"]["O1"].update(lip="96.9 ft", diameter="6 in")
    plain = judged_of(house).behaviour.well("W1").head_over_lip_m
    house["outlets"]["E1"].update(outlet)
    held = judged_of(house).behaviour.well("W1").head_over_lip_m
    assert (held > plain + 1e-6) is higher
    assert held >= plain - 1e-9


def test_the_main_line_s_outlet_knows_its_bars_and_tailwater(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Without a well: water that stands a foot over the outlet stands in the pipe that leads there."""
    house.pop("wells")
    house.pop("overflows")
    house["outlets"] = {
        "E1": {"kind": "daylight", "at": ["38 ft", "116 ft"], "invert": "95.4 ft", "destination": "a swale"}
    }
    free = judged_of(house)
    house["outlets"]["E1"]["tailwater"] = "96.4 ft"
    held = judged_of(house)
    run = held.scheme.runs_to("E1")[0].id
    assert held.behaviour.run(run).level_down_m / FOOT == pytest.approx(96.4, abs=1e-6)
    assert free.behaviour.run(run).level_down_m < held.behaviour.run(run).level_down_m
    outlet = held.scheme.outlets[0]
    assert outlet_parts.tail_m(held.scheme, outlet, 0.0) == pytest.approx(96.4 * FOOT)


def test_an_outlet_that_is_nothing_but_a_label_takes_no_overflow(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Its place is missing: unknown, said how to take it; meanwhile the water runs over the ground from the overflow."""
    house["overflows"]["O1"] |= {"to": "E1", "destination": "the back lawn"}
    for outlets in (None, {"E1": {}}):
        house.pop("outlets", None)
        if outlets is not None:
            house["outlets"] = outlets
        made = judged_of(house)
        found = next(f for f in made.findings if f.code == "overflow-destination")
        assert found.verdict == "unknown"
        assert "overflow.outlet" in [item.leaf for item in found.missing]
        assert {"overflow-path", "exit-speed"} <= {f.code for f in made.findings}


def test_a_label_that_no_letter_speaks_for_is_no_outlet(house: Document) -> None:
    """``ZZ`` is as likely a slip as an outlet that was left out: it is told, not made up."""
    house.pop("outlets", None)
    house["overflows"]["O1"]["to"] = "ZZ"
    assert [(p.path, p.code) for p in job.read(house).problems] == [("overflows.O1.to", "no-such-part")]


def test_water_on_the_lawn_drowns_a_grate(house: Document, judged_of: Callable[..., Judged]) -> None:
    """By hand. The cloudburst, 0.52 in in 5 min on 780 sq ft (72.464 m²), is 3.1905 L/s. The lawn over the well falls from
    98.8 ft to 97.0 ft in 53 ft, 0.033962, with nothing that holds the water together: in the stated V of 5 %, n 0.24,
    y^(8/3) = 0.0031905 x 0.05 x 0.24 / sqrt(0.033962) x (2 sqrt(1.0025))^(2/3) = 3.3006e-4, y = 0.04948 m. The lawn there is
    at 97.951 ft, 0.051 ft over a lip at 97.9: the water stands 0.0155 + 0.0495 m over it. The half-blocked grate alone asks
    for less. Manning goes with the 3/8 power in a V: at half the flow 0.7711 of the depth."""
    house["overflows"]["O1"].update(lip="97.9 ft", diameter="12 in")
    judged = judged_of(house)
    overflow = _overflow(judged)
    assert overflow.lawn is not None
    assert overflow.lawn.at_m3_s == pytest.approx(3.1905e-3, rel=1e-3)
    assert overflow.lawn.depth_m == pytest.approx(0.04948, rel=2e-3)
    flow = overflow.lawn.at_m3_s
    alone = overflow_parts.head_m(overflow, flow, 0.5, drowned=False)
    drowned = overflow_parts.head_m(overflow, flow, 0.5)
    assert drowned == pytest.approx(0.0155 + 0.0495, abs=2e-4) and drowned > alone
    half = overflow_parts.head_m(overflow, flow / 2, 0.5)
    assert half == pytest.approx(0.0155 + 0.7711 * 0.0495, abs=2e-4)
    assert overflow_parts.head_m(overflow, 0.0, 0.5) == 0.0
    # it is what the levels count with, and no size is chosen by it
    leaves = judged.behaviour.well("W1").overflow_peak_m3_s
    assert judged.behaviour.well("W1").head_over_lip_m == pytest.approx(
        overflow_parts.head_m(overflow, leaves, 0.5)
    )
    without = replace(overflow, lawn=None)
    assert overflow_parts.capacity_m3_s(overflow, 0.05, 0.5) == overflow_parts.capacity_m3_s(
        without, 0.05, 0.5
    )


def test_a_lip_far_under_the_shots_counts_as_graded_down_to(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """97.0 ft under a lawn of 97.951: 11 in that no shot shows. The lawn counts as an inch over the lip, no more."""
    house["overflows"]["O1"]["lip"] = "97.0 ft"
    lawn = _overflow(judged_of(house)).lawn
    assert lawn is not None and lawn.ground_m == pytest.approx(97.0 * FOOT + INCH)


def test_the_end_of_a_pipe_on_the_lawn_is_drowned_too(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """The lawn at (38, 116) lies at 98.8 - 1.8 x 49 / 53 = 97.136 ft, the pipe's end just over it at 97.15; the same flow
    and fall as over the well, so 0.0495 m of water, over the end of the pipe."""
    _led_to(house, "daylight", invert="97.15 ft")
    house["overflows"]["O1"]["lip"] = "97.4 ft"
    judged = judged_of(house)
    (outlet,) = judged.scheme.outlets
    assert outlet.lawn is not None
    tail = outlet_parts.tail_m(judged.scheme, outlet, outlet.lawn.at_m3_s)
    assert tail == pytest.approx(97.136 * FOOT + 0.0495, abs=5e-4)
    dry = replace(judged.scheme, outlets=(replace(outlet, lawn=None),))
    assert outlet_parts.tail_m(dry, dry.outlets[0], outlet.lawn.at_m3_s) == -math.inf


def test_ground_that_nobody_shot_drowns_nothing(house: Document, judged_of: Callable[..., Judged]) -> None:
    house["survey"].pop("points")
    assert _overflow(judged_of(house)).lawn is None
