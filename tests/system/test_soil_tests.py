"""Soil tests on their whole way: readings in a document to rate, conductivity, remarks, findings, papers' words.

Ids T1 to T19, D16 and R3 are those of the project's reference sheet (see tests/published/test_soil_*.py for each source).
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from roofwell import job as job_room
from roofwell.design import adopt
from roofwell.design.complete import Judged
from roofwell.papers.results import results
from roofwell.physics.well.storage import Layer
from roofwell.system.soil_ground import in_low_water, texture_at
from roofwell.system.soil_tests import soil_tests
from roofwell.system.soil_witness import drain_time_of_layers_s, rate_that_empties_m_s
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
INCH, FOOT, HOUR = 0.0254, 0.3048, 3600.0
IN_H = INCH / HOUR
WATER = {"seasonal_high_water": "84 ft"}


@pytest.fixture
def soil_of(house: Document, read_job: Callable[..., Any], data_folder: Path) -> Callable[..., Any]:
    """Facts of the small house with another soil section."""

    def facts(**soil: Any) -> Any:
        house["soil"] = WATER | soil
        return make_survey(read_job(house), folder=data_folder).soil

    return facts


def _auger(*falls: tuple[str, str, str], **more: Any) -> Document:
    readings = [{"water_start": a, "water_end": b, "time": t} for a, b, t in falls]
    return {"id": "A1", "hole_depth": "60 in", "hole_diameter": "8 in", "readings": readings} | more


RIVERSIDE = ("12.25 in", "13.75 in", "10 min")


def test_the_handbook_hole_with_both_forms(soil_of: Callable[..., Any]) -> None:
    """T1 and T2: 60 in hole of 8 in: 0.367 in/h by the mean head, 0.36738 by the logarithm."""
    (test,) = soil_of(auger_tests=[_auger(RIVERSIDE, RIVERSIDE, RIVERSIDE, presoaked=True)]).tests
    assert test.rate_m_s / IN_H == pytest.approx(0.36738, abs=1e-5)
    assert test.other_m_s / IN_H == pytest.approx(0.367, abs=0.005)
    assert "mean-head" in test.other_method
    assert test.remarks == ()
    assert 0 < test.conductivity_low_m_s < test.conductivity_m_s < test.conductivity_high_m_s < test.rate_m_s


def test_percolation_time_with_its_conductivity(soil_of: Callable[..., Any]) -> None:
    """T19: 10 min/in, r 3 in, head 6 in: raw 6.0, by the wall 1.20, capillarity taken out 0.412 in/h (0.257 and 0.528
    in the neighboring classes).
    """
    perc = {"id": "P1", "rate": "10 min/in", "hole_diameter": "6 in", "presoaked": True}
    (test,) = soil_of(
        percolation_tests=[perc | {"water_start": "6 in", "water_end": "6 in"}], texture="loamy sand"
    ).tests
    assert test.rate_m_s / IN_H == pytest.approx(1.20, rel=1e-6)
    assert test.other_m_s / IN_H == pytest.approx(6.0, rel=1e-6)
    assert test.conductivity_m_s / IN_H == pytest.approx(0.412, rel=0.01)
    assert test.conductivity_low_m_s / IN_H == pytest.approx(0.257, rel=0.01)
    assert test.conductivity_high_m_s / IN_H == pytest.approx(0.528, rel=0.01)


def test_a_percolation_time_without_a_hole_is_no_conductivity(soil_of: Callable[..., Any]) -> None:
    (test,) = soil_of(percolation_tests=[{"id": "P1", "rate": "10 min/in"}]).tests
    assert test.conductivity_m_s is None
    assert any("too fast" in remark for remark in test.remarks)


def _constant(*readings: Document, **more: Any) -> Document:
    return {
        "id": "C1",
        "hole_depth": "1 m",
        "hole_diameter": "60 mm",
        "presoaked": True,
        "readings": readings,
    } | more


def test_constant_head_at_one_head(soil_of: Callable[..., Any]) -> None:
    """T15: 1 cm3/s at 15 cm of water in a hole of 3 cm radius, alpha* 0.12/cm: 7.421e-4 cm/s."""
    reading = {"water_depth": "150 mm", "volume": "60 cm3", "time": "1 min"}
    (test,) = soil_of(constant_head_tests=[_constant(*[reading] * 3, soil_class="most")]).tests
    assert test.conductivity_m_s * 100 == pytest.approx(7.421e-4, rel=0.005)
    assert test.rate_m_s == test.conductivity_m_s
    assert test.other_m_s is None  # head over radius 5: out of Glover's range
    assert test.remarks == ()


def test_glover_stands_beside_a_slender_hole(soil_of: Callable[..., Any]) -> None:
    """T17: Q 1, H 1.0, r 0.10 (here in L/s): K 0.33315e-3 m/s deep, 0.43976e-3 with the water table 2.0 m below."""
    reading = {"water_depth": "1 m", "flow": "1 L/s"}
    hole = _constant(*[reading] * 3, hole_depth="2 m", hole_diameter="200 mm")
    (deep,) = soil_of(constant_head_tests=[hole]).tests
    (shallow,) = soil_of(constant_head_tests=[hole | {"water_table_depth": "3 m"}]).tests
    assert deep.other_m_s == pytest.approx(0.33315e-3, rel=1e-4)
    assert shallow.other_m_s == pytest.approx(0.43976e-3, rel=1e-4)


def test_two_heads_that_no_one_soil_explains(soil_of: Callable[..., Any]) -> None:
    """Nearly the same flow at twice the head: layers or cracks; one head has to serve, and it is said."""
    readings = (
        {"water_depth": "50 mm", "flow": "0.001 L/s"},
        {"water_depth": "100 mm", "flow": "0.00105 L/s"},
    )
    (test,) = soil_of(constant_head_tests=[_constant(*readings)]).tests
    assert any("no one soil explains" in remark for remark in test.remarks)
    assert test.rate_m_s > 0


def test_double_ring(soil_of: Callable[..., Any]) -> None:
    """Reference sheet 1.2: 30.48 cm ring, 1,200 cm3 in 30 min: 1.295 in/h."""
    ring = {"id": "R1", "inner_diameter": "304.8 mm", "presoaked": True}
    reading = {"volume": "1200 cm3", "time": "30 min"}
    (test,) = soil_of(ring_tests=[ring | {"readings": [reading] * 3}]).tests
    assert test.rate_m_s / IN_H == pytest.approx(1.295, abs=0.001)
    assert test.conductivity_m_s == test.rate_m_s


def test_test_pit_takes_its_slowest_fill(soil_of: Callable[..., Any]) -> None:
    """T11: 300 mm cube, 150 mm in 2,700 s: 1.852e-5 m/s; faster fills do not count."""
    pit = {"id": "T1", "length": "300 mm", "width": "300 mm", "effective_depth": "300 mm"}
    (test,) = soil_of(pit_tests=[pit | {"times": ["2000 s", "2700 s", "2500 s"]}]).tests
    assert test.rate_m_s == pytest.approx(1.852e-5, rel=0.005)


def _fill(*times: str, **more: Any) -> Document:
    fills = [{"water_start": "4 ft", "time": time} for time in times]
    return {"id": "F1", "well": "W1", "diameter": "4 ft", "voids": "40 %", "fills": fills} | more


def test_whole_pit_three_fills_the_last_governs(soil_of: Callable[..., Any]) -> None:
    """R3: R 2 ft, 4 ft of water, voids 0.40, 1 in/h through floor and walls: empty in 7.7253 h."""
    (test,) = soil_of(fill_tests=[_fill("5 h", "7 h", "7.7253 h")]).tests
    assert test.rate_m_s / IN_H == pytest.approx(1.0, rel=1e-4)
    assert test.low_m_s == test.rate_m_s
    assert any("do not agree" in remark for remark in test.remarks)


def test_a_fill_test_takes_the_size_of_its_well_or_says_that_it_has_none(
    house: Document, read_job: Callable[..., Any]
) -> None:
    plain = {k: v for k, v in _fill("7.7253 h").items() if k != "diameter"}
    house["soil"] = WATER | {"fill_tests": [plain]}
    assert list(soil_tests(read_job(house))) == []
    house["wells"]["W1"]["pit_diameter"] = "4 ft"
    (test,) = soil_tests(read_job(house))
    assert test.rate_m_s / IN_H == pytest.approx(1.0, rel=1e-4)


def test_temperature(soil_of: Callable[..., Any]) -> None:
    """T18: water of 10 C: conductivity at 20 C is 1.304 times that at 10 C; brought to 5 C the rate is 1.304/1.516 of it."""
    falls = [RIVERSIDE] * 3
    (plain,) = soil_of(auger_tests=[_auger(*falls)]).tests
    (at10,) = soil_of(auger_tests=[_auger(*falls, water_temperature="10 C")]).tests
    (at5,) = soil_of(auger_tests=[_auger(*falls, water_temperature="10 C")], water_temperature="5 C").tests
    assert at10.conductivity_m_s / plain.conductivity_m_s == pytest.approx(1.304, abs=0.007)
    assert at10.rate_m_s == plain.rate_m_s
    assert at5.rate_m_s / plain.rate_m_s == pytest.approx(1.304 / 1.516, abs=0.005)
    assert any("brought to 5 C" in remark for remark in at5.remarks)


def test_several_tests_by_geometric_mean_and_spread(soil_of: Callable[..., Any]) -> None:
    """T22: 0.6, 1.1, 2.4, 0.9 in/h: geometric mean 1.0927 (double rings by their fall in an hour)."""
    rings = [
        {"id": f"R{n}", "inner_diameter": "12 in", "readings": [{"fall": f"{fall} in", "time": "1 h"}]}
        for n, fall in enumerate((0.6, 1.1, 2.4, 0.9))
    ]
    soil = soil_of(ring_tests=rings)
    assert soil.best_m_s / IN_H == pytest.approx(1.0927, abs=1e-4)
    assert (soil.low_m_s / IN_H, soil.high_m_s / IN_H) == pytest.approx((0.6, 2.4))
    assert soil.log_spread_measured
    alone = soil_of(ring_tests=rings[:1])
    assert not alone.log_spread_measured
    assert alone.log_spread == pytest.approx(0.8326, abs=1e-4)  # S3: CV 1.0
    assert any("one spot" in note for note in alone.notes)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({}, "not said to be presoaked"),
        ({"readings": 1}, "fewer than three"),
        ({"date": "2026-08-20"}, "low groundwater"),
        ({"walls_scratched": False}, "were not scratched"),
        ({"texture": "clay"}, "not said to have been scratched"),
    ],
)
def test_friendly_remarks(soil_of: Callable[..., Any], change: Document, words: str) -> None:
    test = _auger(*[RIVERSIDE] * change.get("readings", 3))
    test |= {key: value for key, value in change.items() if key not in ("readings", "texture")}
    if "date" in change:
        test["date"] = date.fromisoformat(change["date"])
    texture = {"texture": change["texture"]} if "texture" in change else {}
    (found,) = soil_of(auger_tests=[test], **texture).tests
    assert any(words in remark for remark in found.remarks), found.remarks


def test_two_systems_of_units_in_one_test_are_remarked_on(soil_of: Callable[..., Any]) -> None:
    (test,) = soil_of(auger_tests=[_auger(("12.25 in", "400 mm", "10 min"))]).tests
    assert any("inches and in metric" in remark for remark in test.remarks)
    (test,) = soil_of(auger_tests=[_auger(RIVERSIDE)]).tests
    assert not any("metric" in remark for remark in test.remarks)


def test_a_hole_that_takes_nothing(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Zero soakage: no division by zero; the well never empties, and the test says why."""
    still = ("12 in", "12 in", "1 h")
    house["soil"] = WATER | {"auger_tests": [_auger(still, still, still)]}
    judged = judged_of(house)
    found = {finding.code: finding for finding in judged.findings}
    assert found["well-drain-down"].value_text == "never"
    assert found["well-drain-down"].verdict == "fails"


def test_standing_water_beside_a_good_test(soil_of: Callable[..., Any]) -> None:
    still = {"id": "A2", "inner_diameter": "12 in", "readings": [{"fall": "0 in", "time": "1 h"}]}
    soil = soil_of(auger_tests=[_auger(RIVERSIDE)], ring_tests=[still])
    assert soil.best_m_s == 0.0
    assert soil.log_spread is not None and not soil.log_spread_measured
    assert any("takes nothing" in remark for test in soil.tests for remark in test.remarks)


def test_a_test_without_a_reading_is_no_test(soil_of: Callable[..., Any]) -> None:
    soil = soil_of(auger_tests=[_auger()], texture="loam")
    assert soil.tests == () and not soil.known
    assert any("A1 has no reading" in note for note in soil.notes)


@pytest.mark.parametrize("credit", ["bottom", "bottom and sides", "bottom and half sides", "sides"])
def test_the_implied_rate_gives_the_told_time_back(credit: Any) -> None:
    """The kernel's drain time at the implied rate is the told time, whatever soaks."""
    pit = (Layer(0.0, 0.3, 4.0, 8.0, 0.0, 0.4), Layer(0.3, 1.5, 4.0, 8.0, 0.6, 0.4))
    rate = rate_that_empties_m_s(pit, credit, 2 * 86400)
    assert drain_time_of_layers_s(pit, credit, rate) == pytest.approx(2 * 86400, rel=1e-9)


def test_an_older_well_implies_the_published_rate(soil_of: Callable[..., Any]) -> None:
    """D16: 48 in of stone with voids 0.40 at 0.52 in/h through its bottom empties in 36.9 h; here the other way round.
    Empty is the kernel's last millimeter, 0.1 %.
    """
    witness = {
        "id": "X1",
        "empties_in": "36.9 h",
        "length": "10 ft",
        "width": "10 ft",
        "water_depth": "48 in",
    }
    soil = soil_of(witnesses=[witness | {"voids": "40 %", "watched": True}])
    (test,) = soil.tests
    assert soil.known
    assert test.high_m_s / IN_H == pytest.approx(0.52, rel=0.002)
    assert test.low_m_s <= test.rate_m_s <= test.high_m_s


def test_what_was_only_told_is_a_range_and_no_answer(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    witness = {"id": "X1", "empties_in": "2 days", "diameter": "5 ft", "water_depth": "4 ft", "voids": "55 %"}
    house["soil"] = WATER | {"witnesses": [witness]}
    judged = judged_of(house)
    drain = next(f for f in judged.findings if f.code == "well-drain-down")
    assert drain.verdict in ("unknown", "fails")
    assert drain.low is not None and drain.high is not None and drain.low > drain.high
    assert "soil.rate" in {m.leaf for f in judged.findings for m in f.missing}


def test_a_real_test_outweighs_what_was_told(soil_of: Callable[..., Any]) -> None:
    witness = {"id": "X1", "empties_in": "2 days", "diameter": "5 ft", "water_depth": "4 ft"}
    soil = soil_of(auger_tests=[_auger(RIVERSIDE)], witnesses=[witness])
    assert soil.known and [test.counts for test in soil.tests] == [True, False]
    assert soil.best_m_s / IN_H == pytest.approx(0.36738, abs=1e-5)


def test_a_witness_about_a_well_of_the_job_takes_its_size(
    house: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    house["wells"]["W9"] = {
        "state": "abandoned", "at": ["20 ft", "90 ft"], "pit_diameter": "6 ft", "body_diameter": "3 ft",
        "body_height": "4 ft", "stone_below": "1 ft", "voids": "40 %", "soakage": "bottom",
    }  # fmt: skip
    house["soil"] = WATER | {
        "witnesses": [{"id": "X1", "well": "W9", "empties_in": "1 day", "watched": True}]
    }
    (test,) = make_survey(read_job(house), folder=data_folder).soil.tests
    # by hand: through the floor of 28.27 sq ft, voids 0.4 around a 3 ft body of 7.07 sq ft, 1 ft under and 4 ft beside
    volume = 0.4 * 28.2743 * 1 + (7.0686 + 0.4 * (28.2743 - 7.0686)) * 4
    assert test.rate_m_s / (FOOT / HOUR) == pytest.approx(volume / 28.2743 / 24, rel=0.002)


def test_a_witness_without_a_size_says_what_is_missing(soil_of: Callable[..., Any]) -> None:
    soil = soil_of(witnesses=[{"id": "X1", "empties_in": "2 days"}], texture="loam")
    assert not soil.known and any("X1: the size" in note for note in soil.notes)


def test_texture_is_a_range_that_is_marked(soil_of: Callable[..., Any]) -> None:
    soil = soil_of(texture="sandy loam")
    assert not soil.known and soil.log_spread is None
    assert soil.low_m_s < soil.high_m_s and soil.basis.startswith("no test")


def test_texture_and_months(house: Document, read_job: Callable[..., Any]) -> None:
    house["soil"] = WATER | {
        "texture": "loam",
        "layers": [{"top": "0 ft", "bottom": "3 ft", "texture": "clay"}, {"top": "3 ft", "bottom": "8 ft"}],
    }
    soil = read_job(house).soil
    assert [texture_at(soil, depth) for depth in (None, 3 * FOOT, 4 * FOOT)] == ["loam", "clay", "loam"]
    assert in_low_water(date(2026, 9, 1), 40.0) and not in_low_water(date(2026, 9, 1), -33.0)
    assert in_low_water(date(2026, 2, 1), -33.0) and not in_low_water(None, None)


def test_high_water_by_what_was_seen(house: Document) -> None:
    """The shallower of mottling and water in the hole; a given one stands, and the log's contradiction is said."""
    layers = [{"top": "0 ft", "bottom": "6 ft"}, {"top": "6 ft", "bottom": "9 ft", "mottled": True}]
    without = {"layers": layers, "rate": "4 in/h"}
    house["soil"] = without
    soil = _facts_of(house)
    assert soil.high_water_basis == "mottling"
    house["soil"] = without | {"water_seen_depth": "5 ft"}
    seen = _facts_of(house)
    assert seen.high_water_basis == "observed"
    assert soil.high_water_m is not None and seen.high_water_m is not None
    assert seen.high_water_m - soil.high_water_m == pytest.approx(FOOT)
    house["soil"] = without | {"seasonal_high_water_depth": "8 ft"}
    assert any("mottling above" in note for note in _facts_of(house).notes)


def _facts_of(document: Document) -> Any:
    folder = Path(__file__).parents[1] / "data"
    reading = job_room.read(document, folder=folder)
    assert reading.job is not None and reading.problems == ()
    return make_survey(reading.job, folder=folder).soil


def _said(house: Document, judged_of: Callable[..., Judged], time: str, **soil: Any) -> Any:
    fills = [{"water_start": "4 ft", "water_end": "2 ft", "time": time}] * 3
    test = {"id": "F1", "well": "W1", "length": "20 ft", "width": "6 ft", "depth": "7 ft", "fills": fills}
    house["soil"] = WATER | {"fill_tests": [test]} | soil
    return next(f for f in judged_of(house).findings if f.code == "fill-test")


def test_the_hole_says_go(house: Document, judged_of: Callable[..., Judged]) -> None:
    finding = _said(house, judged_of, "1 h")
    assert finding.verdict == "good" and finding.subject == "W1 F1"
    assert "filled 4 ft deep, was 2 ft deep after 1 h" in finding.sentence
    assert finding.sentence.endswith("Go: set the stone.")


def test_the_hole_says_go_deeper_or_stop(house: Document, judged_of: Callable[..., Judged]) -> None:
    """High water at 84 ft, 13 ft under the lawn: room. At a foot under the pit: none."""
    deeper = _said(house, judged_of, "60 h")
    assert deeper.verdict == "fails" and "Go deeper" in deeper.sentence
    stop = _said(house, judged_of, "60 h", seasonal_high_water="91 ft")
    assert stop.verdict == "fails" and "Stop: there is no room" in stop.sentence
    rock = _said(house, judged_of, "60 h", refusal_depth="7 ft", refusal_on="rock")
    assert "Stop: there is no room" in rock.sentence


def test_a_dug_hole_that_takes_nothing_says_stop(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Zero fall in every fill: no division by zero, a number that is enough, and a word for the crew."""
    fills = [{"water_start": "2 ft", "water_end": "2 ft", "time": "2 h"}] * 3
    test = {"id": "F1", "length": "20 ft", "width": "6 ft", "fills": fills}
    house["soil"] = {"seasonal_high_water": "91 ft", "fill_tests": [test]}
    finding = next(f for f in judged_of(house).findings if f.code == "fill-test")
    assert finding.verdict == "fails" and finding.value == 0.0 and finding.limit > 0
    assert "was 2 ft deep after 2 h" in finding.sentence and "Stop" in finding.sentence


def test_the_rate_that_is_enough_is_enough(house: Document, judged_of: Callable[..., Judged]) -> None:
    """The well at just that rate still empties in time and holds every storm that it holds now."""
    finding = _said(house, judged_of, "1 h")
    house["soil"] = WATER | {"rate": f"{finding.limit / IN_H:.9f} in/h"}
    found = {f.code: f.verdict for f in judged_of(house).findings}
    assert found["storm-held"] in ("good", "close") and found["well-drain-down"] in ("good", "close")


ALL = {
    "texture": "loamy sand",
    "auger_tests": [_auger(RIVERSIDE, RIVERSIDE, RIVERSIDE)],
    "ring_tests": [{"id": "R1", "inner_diameter": "12 in", "readings": [{"fall": "4 in", "time": "1 h"}]}],
    "fill_tests": [_fill("1 h", "1 h", "1 h")],
    "witnesses": [{"id": "X1", "empties_in": "1 day", "diameter": "5 ft", "water_depth": "4 ft"}],
    "layers": [{"top": "0 ft", "bottom": "12 ft", "texture": "loamy sand", "roots": "few"}],
    "refusal_depth": "13 ft",
}


def test_adopted_it_is_found_the_same(house: Document, design_of: Callable[..., Any]) -> None:
    """Design, adopt, design: the same soil findings."""
    house["soil"] = WATER | copy.deepcopy(ALL)
    first = design_of(house)
    adopted = adopt(house, first)
    assert adopted["soil"] == house["soil"]
    second = design_of(adopted)
    for a, b in zip(first.answer(5).findings, second.answer(5).findings, strict=True):
        assert (a.code, a.subject, a.verdict, a.value_text) == (b.code, b.subject, b.verdict, b.value_text)


@pytest.mark.parametrize("key", [*ALL, "seasonal_high_water"])
def test_each_part_of_the_soil_can_be_left_out(
    house: Document, judged_of: Callable[..., Judged], key: str
) -> None:
    house["soil"] = {name: value for name, value in (WATER | ALL).items() if name != key}
    assert len(judged_of(house).answers) == 9


def test_results_hold_the_soil(house: Document, design_of: Callable[..., Any]) -> None:
    house["soil"] = WATER | copy.deepcopy(ALL)
    soil = results(design_of(house))["soil"]
    assert [test["id"] for test in soil["tests"]] == ["A1", "R1", "F1", "X1"]
    assert soil["conductivity_m_s"] > 0 and soil["log_spread_measured"] is True


def test_the_search_stays_above_what_stopped_the_auger(
    house: Document, design_of: Callable[..., Any]
) -> None:
    """Rock three inches over the bottom of the pit that is designed without it: a shallower pit is found."""
    free = design_of(house).scheme.wells[0]
    house["soil"]["refusal_depth"] = f"{(free.ground_m - free.bottom_m) / FOOT - 0.25:.3f} ft"
    made = design_of(house)
    found = next(f for f in made.answer(5).findings if f.code == "pit-above-refusal")
    assert found.verdict in ("good", "close")
    well = made.scheme.wells[0]
    assert well.ground_m - well.bottom_m < free.ground_m - free.bottom_m


def test_the_rates_of_a_texture_are_listed_as_assumed(
    house: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    """Sandy loam: 0.50 in/h (wisconsin-1002) to 1.02 in/h (rawls-1982), as published; gone with a test."""
    house["soil"] = {"texture": "sandy loam"}
    found = {item.path: item for item in make_survey(read_job(house), folder=data_folder).assumed}
    low, high = found["soil.rate.low"], found["soil.rate.high"]
    assert (low.text, high.text) == ("0.50 in/h", "1.02 in/h")
    assert "sandy loam" in low.what and low.source == high.source == "soil-texture-range"
    assert "auger hole" in low.how_to_measure
    house["soil"]["rate"] = "0.8 in/h"
    given = {item.path for item in make_survey(read_job(house), folder=data_folder).assumed}
    assert not given & {"soil.rate.low", "soil.rate.high"}


def test_the_rate_of_a_layer_by_its_texture_is_listed_as_assumed(
    house: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    house["soil"] = {"layers": [
        {"top": "0 ft", "bottom": "2 ft", "rate": "1 in/h"},
        {"top": "2 ft", "bottom": "12 ft", "texture": "sandy loam"},
    ]}  # fmt: skip
    found = {item.path: item for item in make_survey(read_job(house), folder=data_folder).assumed}
    assert "soil.layers.1.rate" not in found
    assert "0.50 in/h to 1.02 in/h" in found["soil.layers.2.rate"].what
    assert found["soil.layers.2.rate"].source == "soil-texture-range"
