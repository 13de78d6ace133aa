"""From the job document to the water in the gutter: reaches, arms, outlets, guards, valleys, and what governs."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from roofwell.checks.finding import Finding
from roofwell.design.judging import Judged
from roofwell.system import gutters
from roofwell.system.behaviour import DownspoutFlow
from roofwell.system.scheme import Downspout, Gutter

Document = dict[str, Any]
Judge = Callable[..., Judged]
FOOT, INCH = 0.3048, 0.0254
GPM = 231 * INCH**3 / 60


def spout(judged: Judged, id: str) -> Downspout:
    return next(item for item in judged.scheme.downspouts if item.id == id)


def flow(judged: Judged, id: str) -> DownspoutFlow:
    return next(item for item in judged.behaviour.downspouts if item.id == id)


def finding(judged: Judged, code: str, subject: str) -> Finding:
    return next(item for item in judged.findings if (item.code, item.subject) == (code, subject))


def reach(part: Downspout) -> Gutter:
    assert part.gutter is not None
    return part.gutter


def test_an_outlet_without_a_place_stands_at_the_end_of_its_reach(house: Document, judged_of: Judge) -> None:
    """One arm, as long as the share of the gutter: the longest way for the water."""
    judged = judged_of(house)
    (arm,) = reach(spout(judged, "D1")).arms
    assert arm.length_m == pytest.approx(0.4 * 36 * FOOT)
    assert reach(spout(judged, "D2")).arms[0].length_m == pytest.approx(0.6 * 36 * FOOT)


def test_places_make_arms_on_both_sides(house: Document, judged_of: Judge) -> None:
    """Outlets 6 and 26 ft along 36 ft: the divide at 16 ft, arms of 6, 10, 10 and 10 ft, roof by length."""
    house["downspouts"]["D1"].pop("share")
    house["downspouts"]["D1"]["along"] = "6 ft"
    house["downspouts"]["D2"]["along"] = "26 ft"
    judged = judged_of(house)
    first, second = spout(judged, "D1"), spout(judged, "D2")
    lengths = [arm.length_m / FOOT for part in (first, second) for arm in reach(part).arms]
    assert lengths == pytest.approx([6, 10, 10, 10])
    assert first.roof_area_m2 / second.roof_area_m2 == pytest.approx(16 / 20)
    assert sum(arm.area_m2 for arm in reach(first).arms) == pytest.approx(first.roof_area_m2)


def test_given_shares_place_the_divide(house: Document, judged_of: Judge) -> None:
    """40 % of 36 ft: the divide at 14.4 ft between outlets at 0 and 36 ft."""
    house["downspouts"]["D1"]["along"] = "0 ft"
    house["downspouts"]["D2"]["along"] = "36 ft"
    judged = judged_of(house)
    lengths = [arm.length_m / FOOT for id in ("D1", "D2") for arm in reach(spout(judged, id)).arms]
    assert lengths == pytest.approx([14.4, 21.6])
    assert spout(judged, "D2").roof_area_m2 / spout(judged, "D1").roof_area_m2 == pytest.approx(1.5)


def test_an_outlet_in_the_middle_carries_more_than_at_the_end(house: Document, judged_of: Judge) -> None:
    """The gutter of D3 with its outlet at its end and in its middle."""
    house["downspouts"]["D3"]["along"] = "36 ft"
    end = flow(judged_of(house), "D3")
    house["downspouts"]["D3"]["along"] = "18 ft"
    middle = flow(judged_of(house), "D3")
    assert end.gutter_m3_s is not None and middle.gutter_m3_s is not None
    assert middle.gutter_m3_s > 2 * end.gutter_m3_s
    assert middle.outlet_m3_s == end.outlet_m3_s  # the hole is the same hole
    assert middle.gutter is not None and len(middle.gutter.arms) == 2


def test_a_measured_fall_counts_and_an_unmeasured_one_does_not(house: Document, judged_of: Judge) -> None:
    """A gutter counts as level until somebody holds a level in it."""
    level = judged_of(house)
    assert reach(spout(level, "D3")).fall_m_m == 0
    assert "G2.fall_m_m" in {item.path for item in level.scheme.assumed}
    house["gutters"]["G2"]["fall"] = "1/16 in/ft"
    sloped = flow(judged_of(house), "D3").gutter_m3_s
    before = flow(level, "D3").gutter_m3_s
    assert sloped is not None and before is not None and sloped > 1.3 * before


def test_gutter_and_outlet_together_carry_no_more_than_either(house: Document, judged_of: Judge) -> None:
    for item in judged_of(house).behaviour.downspouts:
        assert item.gutter is not None and item.gutter_m3_s is not None and item.outlet_m3_s is not None
        assert item.gutter.together_m3_s <= min(item.gutter_m3_s, item.outlet_m3_s) * (1 + 1e-6)
        assert item.limit_m3_s <= item.gutter.together_m3_s


def test_a_smaller_outlet_governs(house: Document, judged_of: Judge) -> None:
    """A drop outlet smaller than its downspout: it governs, and the finding says so."""
    house["downspouts"]["D3"] |= {"outlet_width": "2 in", "outlet_breadth": "1 1/2 in"}
    judged = judged_of(house)
    item = flow(judged, "D3")
    assert item.governs == "outlet"
    # 0.6 x 3 sq in x sqrt(2 g x 3.5 in) = 24.3 gpm by hand; the rim reached, half of 7 in, as a weir 59.5 gpm.
    assert item.outlet_m3_s == pytest.approx(24.3 * GPM, rel=0.003)
    assert "outlet" in finding(judged, "gutter-brim", "D3").sentence


def test_half_the_rim_reached_lets_in_less(house: Document, judged_of: Judge) -> None:
    """A low head acts on the rim: the share of it that water reaches is given by the person who looked."""
    house["gutters"]["G2"]["depth"] = "1 in"
    whole = flow(judged_of(house), "D3").outlet_m3_s
    house["downspouts"]["D3"]["outlet_rim"] = "25 %"
    quarter = flow(judged_of(house), "D3").outlet_m3_s
    assert whole is not None and quarter is not None and quarter == pytest.approx(whole / 2, rel=1e-9)


def test_brim_margin_and_capacity_agree(house: Document, judged_of: Judge) -> None:
    """The water keeps room to the brim exactly where less comes than fills it."""
    for depth in ("3 1/2 in", "2 in", "1 1/4 in"):
        house["gutters"]["G2"]["depth"] = depth
        item = flow(judged_of(house), "D3")
        assert item.gutter is not None
        assert (item.gutter.brim_margin_m >= 0) == (item.peak_m3_s <= item.gutter.together_m3_s)


def test_freeboard_is_kept(house: Document, judged_of: Judge) -> None:
    plain = flow(judged_of(house), "D3").gutter
    house["gutters"]["G2"]["freeboard"] = "1/2 in"
    kept = flow(judged_of(house), "D3").gutter
    assert plain is not None and kept is not None
    assert kept.brim_margin_m == pytest.approx(plain.brim_margin_m - 0.5 * INCH)
    assert kept.together_m3_s < plain.together_m3_s


def test_a_guard_keeps_water_out_in_a_cloudburst(house: Document, judged_of: Judge) -> None:
    """What it does not let in shoots over the edge; less stands in the gutter, and less reaches the well."""
    open_gutter = flow(judged_of(house), "D3")
    house["gutters"]["G2"] |= {"guard": True, "guard_passes": "70 %"}
    judged = judged_of(house)
    guarded = flow(judged, "D3")
    assert guarded.gutter is not None and open_gutter.gutter is not None
    assert guarded.gutter.overshoot_m3_s == pytest.approx(0.3 * guarded.peak_m3_s)
    assert guarded.gutter.brim_margin_m > open_gutter.gutter.brim_margin_m
    assert guarded.limit_m3_s == pytest.approx(0.7 * guarded.peak_m3_s)
    assert guarded.governs == "guard"
    said = finding(judged, "guard-in-cloudburst", "D3")
    assert said.verdict == "fails" and "shoot over the edge" in said.sentence
    assert finding(judged, "gutter-brim", "D3").verdict == "good"


def test_a_valley_pours_in_where_it_stands(house: Document, judged_of: Judge) -> None:
    """A third of the roof comes down a valley 4 ft from the left end; the outlet stands at the right one."""
    house["downspouts"]["D3"]["along"] = "36 ft"
    even = flow(judged_of(house), "D3")
    house["gutters"]["G2"]["valleys"] = [{"at": "4 ft", "plan_area": "120 sq ft", "pitch": "6 in 12"}]
    judged = judged_of(house)
    item, part = flow(judged, "D3"), spout(judged, "D3")
    (arm,) = reach(part).arms
    (valley,) = arm.valleys
    assert valley.at_m == pytest.approx(4 * FOOT)
    assert arm.area_m2 + valley.area_m2 == pytest.approx(part.roof_area_m2)
    assert item.gutter is not None and even.gutter is not None
    assert item.gutter.together_m3_s < even.gutter.together_m3_s
    assert item.gutter.valleys[0].flow_m3_s == pytest.approx(item.peak_m3_s / 3)
    assert finding(judged, "valley-overshoot", "D3").verdict in {"good", "close"}


def test_a_splash_guard_turns_the_valley_in(house: Document, judged_of: Judge) -> None:
    house["gutters"]["G2"] |= {
        "below_edge": "8 in",
        "valleys": [{"at": "4 ft", "plan_area": "300 sq ft", "pitch": "6 in 12"}],
    }
    assert finding(judged_of(house), "valley-overshoot", "D3").verdict == "fails"
    house["gutters"]["G2"]["valleys"][0]["splash_guard"] = "8 in"
    assert finding(judged_of(house), "valley-overshoot", "D3").verdict == "good"


def test_a_valley_of_unknown_pitch_asks_for_it(house: Document, judged_of: Judge) -> None:
    for roof in house["roofs"].values():
        roof.pop("pitch", None)
    house["gutters"]["G2"]["valleys"] = [{"at": "4 ft", "plan_area": "120 sq ft"}]
    said = finding(judged_of(house), "valley-overshoot", "D3")
    assert said.verdict == "unknown"
    assert [item.leaf for item in said.missing] == ["roofs.pitch"]


def test_elbows_of_a_flat_offset_govern(house: Document, judged_of: Judge) -> None:
    """Counted elbows are judged; on a flat offset they let through less than the outlet."""
    assert flow(judged_of(house), "D3").elbows_m3_s is None
    house["downspouts"]["D3"] |= {"elbows": 2, "offset": "6 ft", "offset_drop": "1 in"}
    judged = judged_of(house)
    item = flow(judged, "D3")
    assert item.governs == "elbows" and item.limit_m3_s == item.elbows_m3_s
    assert "the elbows under it carry least" in finding(judged, "gutter-brim", "D3").detail
    assert "its elbows let through" in finding(judged, "downspout-capacity", "D3").sentence
    house["downspouts"]["D3"]["offset_drop"] = "18 in"
    assert flow(judged_of(house), "D3").governs != "elbows"


def test_a_corrugated_downspout_carries_less(house: Document, judged_of: Judge) -> None:
    """Less area and more wall: assumed where nobody measured, and marked; else as measured."""
    plain = flow(judged_of(house), "D3").leader_m3_s
    house["downspouts"]["D3"]["corrugated"] = True
    judged = judged_of(house)
    fluted = flow(judged, "D3").leader_m3_s
    assert plain is not None and fluted is not None
    assert fluted / plain == pytest.approx(0.9 ** (5 / 3) / 1.2 ** (2 / 3), rel=1e-9)
    assert "D3.inside_area_m2" in {item.path for item in judged.scheme.assumed}
    house["downspouts"]["D3"] |= {"inside_area": "5.4 sq in", "inside_perimeter": "12 in"}
    measured = judged_of(house)
    assert flow(measured, "D3").leader_m3_s == pytest.approx(fluted, rel=1e-6)
    assert "D3.inside_area_m2" not in {item.path for item in measured.scheme.assumed}


def test_a_downspout_without_a_gutter_asks_for_its_gutter(house: Document, judged_of: Judge) -> None:
    """What is missing is the gutter it hangs under, not the roof."""
    house["downspouts"]["D3"].pop("gutter")
    house["gutters"].pop("G2")
    house["roofs"]["R2"].pop("gutter")
    judged = judged_of(house)
    assert "downspouts.gutter" in judged.scheme.missing
    assert "roofs" not in judged.scheme.missing
    said = finding(judged, "gutter-brim", "D3")
    assert said.verdict == "unknown"
    assert [item.leaf for item in said.missing] == ["downspouts.gutter"]
    drained = finding(judged, "all-roof-drained", "roof")
    assert drained.verdict == "unknown"
    assert "downspouts.gutter" in {item.leaf for item in drained.missing}


def test_a_gutter_without_sizes_is_designed_and_of_one_size(house: Document, judged_of: Judge) -> None:
    """Two reaches of one gutter ask for different sizes: it gets the larger from end to end."""
    house["gutters"]["G1"] = {"length": "36 ft"}
    house["roofs"]["R1"]["plan_area"] = "1300 sq ft"
    judged = judged_of(house)
    one, other = reach(spout(judged, "D1")), reach(spout(judged, "D2"))
    assert (one.shape, one.top_width_m, one.depth_m) == (other.shape, other.top_width_m, other.depth_m)
    assert judged.scheme.origin["G1.depth_m"] == "designed"


def test_codes_stand_beside_the_theory(house: Document, judged_of: Judge) -> None:
    """A half-round of 6 in, 36 ft to one outlet: EN 12056-3 and both American rules, each from its own figures."""
    house["gutters"]["G2"] = {
        "shape": "half-round", "top_width": "6 in", "length": "36 ft", "state": "existing", "fall": "1/8 in/ft",
    }  # fmt: skip
    item = flow(judged_of(house), "D3")
    by_rule = {code.rule: code.flow_m3_s for code in item.codes if code.element == "gutter"}
    # G16: 5440 ft² at 1 in/h for 6 in at 1/8 in/ft (from memory).
    printed = 5440 * FOOT**2 * INCH / 3600
    assert by_rule["IPC 2012 table of semicircular gutters"] == pytest.approx(printed, rel=1e-9)
    # G8 and G12 by hand: A = 9121 mm²; 0.9 x 2.78e-5 A^1.25 = 2.230 L/s; 144 depths long: 0.8684.
    assert by_rule["EN 12056-3:2000"] == pytest.approx(2.230e-3 * 0.8684, rel=0.002)
    # G15: 3956 ft² at 1 in/h.
    assert by_rule["American level-gutter formula"] == pytest.approx(3956 * FOOT**2 * INCH / 3600, rel=0.001)
    leaders = {code.source: code.flow_m3_s for code in item.codes if code.element == "downspout"}
    assert set(leaders) == {"nspc-2006", "ipc-2015", "en-12056-3"}
    # D1 for the round one of 6 sq in: d = 2.764 in, 27.8 (7/24)^(5/3) d^(8/3) = 53.7 gpm by hand.
    assert leaders["nspc-2006"] == pytest.approx(53.7 * GPM, rel=0.003)


def test_results_are_the_same_from_the_store_and_anew(house: Document, judged_of: Judge) -> None:
    """Capacities are kept during a search; kept and computed anew they are the same number."""
    part = spout(judged_of(house), "D3")
    outlet = gutters.outlet_of(part)
    kept = gutters.capacity(reach(part), outlet)
    gutters.capacity.cache_clear()
    assert gutters.capacity(reach(part), outlet) == kept
    assert math.isfinite(kept.flow_m3_s)
