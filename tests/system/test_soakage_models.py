"""Ways to count soakage: their curves against direct evaluation, their ranges, and all of them side by side."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from roofwell.checks import soakage_words as words
from roofwell.design import Design, adopt
from roofwell.design.judging import Judged
from roofwell.papers.results import results
from roofwell.papers.set.soil_table import soil_tests
from roofwell.physics.soil import around_well
from roofwell.physics.soil.permeameter import filled_pit_time_s
from roofwell.physics.well.soakage import CREDITS
from roofwell.physics.well.storage import depth_of_volume_m, full_volume_m3
from roofwell.system import beyond as room
from roofwell.system.beyond_facts import Beyond
from roofwell.system.facts import Soil, SoilLayerFact
from roofwell.system.rainfall import record_basis
from roofwell.system.scheme import Well
from roofwell.system.soakage_models import CURVE_TOLERANCE, radius_m, soakage_curve, wetted_depth_m, why_not
from roofwell.system.soakage_tries import MODELS, early_gains, glover_notes, soakage_tries
from roofwell.system.soil_need import fill_target, rate_enough_m_s
from roofwell.system.survey import survey as make_survey
from roofwell.system.well_record import inflow_of

Document = dict[str, Any]
AUGER = {
    "id": "A1",
    "hole_depth": "66 in",
    "hole_diameter": "4 in",
    "presoaked": True,
    "readings": [
        {"water_start": "36 in", "water_end": "43.1 in", "time": "6 min"},
        {"water_start": "43.1 in", "water_end": "48.4 in", "time": "6 min"},
        {"water_start": "48.4 in", "water_end": "52.6 in", "time": "6 min"},
    ],
}


@pytest.fixture
def tested(house: Document) -> Document:
    """The small house with a hole that shows its conductivity."""
    del house["soil"]["rate"], house["soil"]["rate_from"]
    house["soil"]["auger_tests"] = [AUGER]
    return house


def _of(document: Document, read_job: Callable[..., Any], judged: Judged) -> tuple[Soil, Well]:
    return make_survey(read_job(document)).soil, judged.scheme.wells[0]


def _beyond(document: Document, read_job: Callable[..., Any], judged: Judged) -> Beyond:
    survey = make_survey(read_job(document))
    rate = survey.soil.best_m_s / survey.soil.safety_factor
    return room.beyond(judged.scheme, survey, judged.behaviour, rate_m_s=rate, record=record_basis(survey))


def _elrick_reynolds_m2(depth: float, radius: float) -> float:
    """Flow over conductivity for most soils (alpha* 12 per m), as the field sheet prints the form."""
    x = max(depth, 0.5 * radius) / radius
    c = (x / (2.074 + 0.093 * x)) ** 0.754
    h = x * radius
    formula = (2 * math.pi * h**2 + math.pi * radius**2 * c + 2 * math.pi * h / 12.0) / c
    floor = math.pi * radius**2
    return formula if depth >= 0.5 * radius else floor + (formula - floor) * depth / (0.5 * radius)


@pytest.mark.parametrize("bodies", [1, 4], ids=["round pit", "rectangular pit"])
def test_the_curve_follows_the_formula_within_the_stated_error_now_above_and_now_below(
    bodies: int, tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    soil, well = _of(tested, read_job, judged_of(tested, bodies=bodies))
    well = replace(well, soakage="three-dimensional")
    rate = soil.best_m_s / soil.safety_factor
    nodes, above, below = soakage_curve(soil, well, rate)
    assert soil.conductivity_used_m_s is not None
    conductivity = soil.conductivity_used_m_s / soil.safety_factor
    radius = math.sqrt(well.layers[0].pit_area_m2 / math.pi)
    volume = np.linspace(0.0, full_volume_m3(well.layers), 4001)
    depth = np.minimum(depth_of_volume_m(well.layers, volume), wetted_depth_m(well))
    direct = conductivity * np.array([_elrick_reynolds_m2(float(h), radius) for h in depth])
    off = np.interp(volume, nodes, above) - direct
    assert np.array_equal(above, below)
    assert np.abs(off).max() <= CURVE_TOLERANCE * direct[-1]
    assert off.min() < 0 < off.max()
    assert abs(float(off.mean())) < CURVE_TOLERANCE / 4 * direct[-1]
    assert nodes.size < 40


def test_above_the_stone_nothing_soaks_by_any_model(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    soil, well = _of(tested, read_job, judged_of(tested))
    assert well.layers[-1].top_m > wetted_depth_m(well) + 0.01
    for model in ("bottom and sides", "unit gradient", "three-dimensional"):
        nodes, above, _ = soakage_curve(soil, replace(well, soakage=model), 1e-5)
        depth = depth_of_volume_m(well.layers, nodes)
        high = above[depth >= wetted_depth_m(well) - 1e-9]
        assert high.size >= 2
        assert np.ptp(high) <= 2 * CURVE_TOLERANCE * float(above[-1])


def test_a_gradient_of_one_counts_the_conductivity_over_bottom_and_sides(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    soil, well = _of(tested, read_job, judged_of(tested))
    assert soil.conductivity_used_m_s is not None
    rate = soil.best_m_s / soil.safety_factor
    both = soakage_curve(soil, replace(well, soakage="bottom and sides"), rate)
    by_k = soakage_curve(soil, replace(well, soakage="unit gradient"), rate)
    assert by_k[1] == pytest.approx(both[1] * soil.conductivity_used_m_s / soil.best_m_s)
    area = well.layers[0].pit_area_m2 + well.layers[0].pit_perimeter_m * wetted_depth_m(well)
    assert by_k[1][-1] == pytest.approx(soil.conductivity_used_m_s / soil.safety_factor * area)


def test_the_conductivity_goes_with_the_rate_that_is_counted_with(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """The kernel, the fill test and the chances scale the rate: half of it is half of the soakage by every model."""
    soil, well = _of(tested, read_job, judged_of(tested))
    for model in (*CREDITS, "unit gradient", "three-dimensional"):
        whole, half = (soakage_curve(soil, replace(well, soakage=model), rate) for rate in (2e-5, 1e-5))
        assert half[1] == pytest.approx(whole[1] / 2)


def test_where_a_model_does_not_hold_it_says_why(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    soil, well = _of(tested, read_job, judged_of(tested))
    assert [why_not(soil, well, model) for model in (*CREDITS, *MODELS)] == [""] * (
        len(CREDITS) + len(MODELS)
    )
    untested = replace(soil, conductivity_used_m_s=None)
    assert "no test gives" in why_not(untested, well, "unit gradient")
    layered = replace(soil, layers=(SoilLayerFact(0.0, 1.0, 1e-6, 1e-6, 1e-6, True),))
    assert "layers" in why_not(layered, well, "three-dimensional")
    assert why_not(layered, well, "bottom") == ""
    flat = replace(well, stone_top_m=well.bottom_m + 0.49 * radius_m(well))
    assert "0.5 to 20" in why_not(soil, flat, "three-dimensional")
    assert why_not(soil, flat, "unit gradient") == ""


def test_a_pit_too_slender_for_the_fits_keeps_its_flow_at_their_end(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    soil, well = _of(tested, read_job, judged_of(tested))
    thin = tuple(
        replace(layer, pit_area_m2=0.005, pit_perimeter_m=0.26, body_area_m2=0.0) for layer in well.layers
    )
    slender = replace(well, layers=thin, soakage="three-dimensional")
    assert "20" in why_not(soil, slender, "three-dimensional")
    _, above, _ = soakage_curve(soil, slender, soil.best_m_s)
    radius = radius_m(slender)
    assert soil.conductivity_used_m_s is not None
    at_the_end = soil.conductivity_used_m_s * _elrick_reynolds_m2(20 * radius, radius)
    assert above[-1] == pytest.approx(at_the_end, rel=2 * CURVE_TOLERANCE)


def test_the_judged_run_is_the_row_of_its_own_model(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """Each model chosen by the job gives, for the same well, what its row said beside another one."""
    plain = _beyond(tested, read_job, judged_of(tested, record=True))
    beside = {row.model: row for row in plain.soakage}
    assert [row.model for row in plain.soakage if row.own] == ["three-dimensional"]
    assert [row.model for row in plain.soakage if row.office] == ["bottom and sides"]
    for model in MODELS:
        tested.setdefault("wells", {}).setdefault("W1", {})["soakage"] = model
        judged = judged_of(tested, record=True)
        well, row = judged.behaviour.wells[0], beside[model]
        assert judged.scheme.wells[0].soakage == model
        assert row.drain_s == pytest.approx(well.drain_time_s)
        assert row.soakage_m3_s == pytest.approx(well.soakage_full_m3_s)
        assert well.record is not None and row.spills_year == pytest.approx(well.record.spills_year)
        assert row.full_share == pytest.approx(max(s.peak_m3 for s in well.storms) / well.storage_m3)
        kept = min(1 - (s.spilled_m3 + s.refused_m3) / s.inflow_m3 for s in well.storms)
        assert row.held_share == pytest.approx(kept, abs=1e-9)


def test_the_model_of_the_job_stands_first_where_it_is_another_one(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    tested.setdefault("wells", {}).setdefault("W1", {})["soakage"] = "sides"
    made = _beyond(tested, read_job, judged_of(tested))
    assert [row.model for row in made.soakage] == ["sides", *MODELS]
    assert made.soakage[0].own and not any(row.own for row in made.soakage[1:])


def test_a_slow_conductivity_behind_a_small_hole_is_said_in_words(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    tested.setdefault("wells", {}).setdefault("W1", {})["soakage"] = "bottom and sides"
    judged = judged_of(tested, record=True, bodies=5)
    survey = make_survey(read_job(tested))
    beyond = _beyond(tested, read_job, judged)
    rows = {row.model: row for row in beyond.soakage}
    own, three = rows["bottom and sides"], rows["three-dimensional"]
    assert own.drain_s is not None and three.drain_s is not None and own.drain_s < three.drain_s
    hours = three.drain_s / 3600
    tight = replace(survey, targets=replace(survey.targets, empty_s=(own.drain_s + three.drain_s) / 2))
    (line,) = words.slower_warnings(beyond, tight, ())
    assert f"empty in {hours:.0f} h" in line and "Leave out wells.W1.soakage" in line
    slack = replace(survey, targets=replace(survey.targets, empty_s=2 * three.drain_s))
    assert not any("empty in" in line for line in words.slower_warnings(beyond, slack, ()))
    assert words.slower_warnings(beyond, tight, {"roofs"}) == []
    assert words.slower_warnings(beyond, replace(tight, soil=replace(tight.soil, known=False)), ()) == []


def test_a_typed_rate_leaves_the_models_by_conductivity_unknown_and_the_design_as_it_was(
    small_house: Design,
) -> None:
    beyond = small_house.behaviour.beyond
    assert beyond is not None
    rows = {row.model: row for row in beyond.soakage}
    assert rows["three-dimensional"].drain_s is None and "conductivity" in rows["three-dimensional"].why_not
    assert rows["bottom and sides"].own and rows["bottom and sides"].drain_s is not None
    assert words.slower_warnings(beyond, small_house.survey, ()) == []
    assert "wells.soakage" not in small_house.scheme.missing


def test_a_job_that_chooses_what_does_not_hold_reads_unknown_and_says_what_to_do(
    house: Document, design_of: Callable[..., Design]
) -> None:
    house.setdefault("wells", {}).setdefault("W1", {})["soakage"] = "three-dimensional"
    made = design_of(house)
    answer = next(answer for answer in made.answers if answer.question == 5)
    assert answer.verdict == "unknown"
    assert "wells.soakage" in {item.leaf for item in answer.missing}


def test_a_rule_file_may_ask_for_it_and_what_is_adopted_says_the_same(
    tested: Document, design_of: Callable[..., Design], rules_with: Callable[..., Path]
) -> None:
    folder = rules_with(soakage="three-dimensional")
    made = design_of(tested, folder)
    assert made.scheme.wells[0].soakage == "three-dimensional"
    assert made.scheme.origin["W1.soakage"] == "given"
    again = design_of(adopt(tested, made), folder)
    assert [a.verdict for a in again.answers] == [a.verdict for a in made.answers]
    assert again.behaviour.wells[0].drain_time_s == pytest.approx(made.behaviour.wells[0].drain_time_s)
    beyond = results(made)["behaviour"]["beyond"]
    own = [row for row in beyond["soakage"] if row["own"]]
    assert [row["model"] for row in own] == ["three-dimensional"]
    table = soil_tests(made)
    assert [row["own"] for row in table["models"]].count(True) == 1
    assert table["slower"] == []


@pytest.mark.parametrize("model", ["bottom and sides", "unit gradient", "three-dimensional"])
def test_a_soil_that_just_does_passes_the_fill_of_its_pit(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged], model: str
) -> None:
    """The pit's fall by Elrick and Reynolds (1992) from the tests' conductivity, integrated by scipy: the time allowed
    is to that as the tested rate is to the rate that is enough. The slender hole's own rate would empty it far sooner."""
    tested.setdefault("wells", {}).setdefault("W1", {})["soakage"] = model
    judged = judged_of(tested)
    survey = make_survey(read_job(tested))
    soil, part = survey.soil, judged.scheme.wells[0]
    target = fill_target(judged.scheme, survey, judged.behaviour.wells[0])
    assert target is not None and soil.conductivity_used_m_s is not None
    radius = math.sqrt(part.layers[0].pit_area_m2 / math.pi)

    def seconds_a_metre(depth_m: float) -> float:
        area = around_well.flow_around_well_m2(
            depths_m=np.array([depth_m]), radius_m=radius, alpha_star_per_m=soil.capillarity_per_m
        )
        return part.layers[0].pit_area_m2 / (soil.conductivity_used_m_s * float(area[0]))

    as_tested, _ = quad(seconds_a_metre, target.end_m, target.start_m)
    enough = rate_enough_m_s(judged.scheme, survey, judged.behaviour.wells[0])
    assert target.within_s * enough == pytest.approx(as_tested * soil.best_m_s, rel=5e-3)
    pit = part.layers[0]
    by_the_hole = filled_pit_time_s(
        floor_m2=pit.pit_area_m2,
        perimeter_m=pit.pit_perimeter_m,
        water_start_m=target.start_m,
        water_end_m=target.end_m,
        rate_m_s=enough,
    )
    assert target.within_s > 1.5 * by_the_hole


def test_dry_soil_is_told_for_the_governing_storm_and_not_counted(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """S1 of the reference sheet: silt loam, suction 16.68 cm, effective porosity 0.486; Se 0.30 as in its example G1."""
    tested["soil"].pop("texture", None)
    plain = judged_of(tested)
    survey = make_survey(read_job(tested))
    assert early_gains(plain.scheme, survey, plain.behaviour) == ()
    tested["soil"]["texture"] = "silt loam"
    survey = make_survey(read_job(tested))
    soil = survey.soil
    assert (soil.front_suction_m, soil.effective_porosity) == (pytest.approx(0.1668), pytest.approx(0.486))
    judged = judged_of(tested)
    (one,) = early_gains(judged.scheme, survey, judged.behaviour)
    storm = judged.behaviour.wells[0].critical
    assert storm is not None and soil.conductivity_used_m_s is not None
    conductivity = soil.conductivity_used_m_s / soil.safety_factor
    scale = 0.1668 * 0.486 * 0.7
    gain = one.gain_m3 / judged.scheme.wells[0].layers[0].pit_area_m2
    deep = gain + conductivity * storm.duration_s
    assert gain == pytest.approx(scale * math.log(1 + deep / scale))
    assert judged.behaviour.wells[0].drain_time_s == pytest.approx(plain.behaviour.wells[0].drain_time_s)


def test_glover_is_named_only_ten_radii_deep(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """At 10 radii Glover takes in 0.3893 / 0.3331 = 1.17 times Elrick-Reynolds without capillarity; that adds a little."""
    judged = judged_of(tested)
    survey = make_survey(read_job(tested))
    assert glover_notes(judged.scheme, survey) == ()
    well = judged.scheme.wells[0]
    radius = wetted_depth_m(well) / 10.001
    thin = tuple(replace(layer, pit_area_m2=math.pi * radius**2, body_area_m2=0.0) for layer in well.layers)
    slender = replace(judged.scheme, wells=(replace(well, layers=thin),))
    (note,) = glover_notes(slender, survey)
    times = float(note.split("gives ")[1].split(" times")[0])
    assert 1.0 < times < 0.3893 / 0.3331


def test_of_two_wells_one_out_of_range_keeps_the_other_from_a_figure(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    judged = judged_of(tested)
    survey = make_survey(read_job(tested))
    well = judged.scheme.wells[0]
    flat = replace(well, id="W2", stone_top_m=well.bottom_m + 0.1 * radius_m(well))
    both = replace(judged.scheme, wells=(well, flat))
    made = soakage_tries(
        both,
        survey,
        judged.behaviour,
        inflow_of(both, judged.behaviour.downspouts),
        rate_m_s=1e-5,
        record=(None, None),
    )
    said = {(row.well, row.model): row for row in made}
    assert said["W1", "three-dimensional"].why_not.startswith("not for W2")
    assert said["W2", "three-dimensional"].why_not.startswith("full, its water")
    assert said["W1", "unit gradient"].drain_s is not None
    assert said["W1", "unit gradient"].spills_year is None
