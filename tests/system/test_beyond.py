"""Beyond the design storm: stresses, the storm just held, chances, other rules, the days it flooded."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy import stats

from roofwell.checks import beyond_words as words
from roofwell.design import Design, adopt
from roofwell.design.judging import Judged
from roofwell.physics import network
from roofwell.physics.rain import events
from roofwell.physics.soil import spread
from roofwell.system import beyond as room
from roofwell.system.behaviour import Behaviour
from roofwell.system.beyond_facts import Beyond, HeldStorm, Stress
from roofwell.system.chance import CHANCES, soil_spread, with_voids, years_of
from roofwell.system.facts import Survey
from roofwell.system.held import overfills
from roofwell.system.joint_chance import with_joint
from roofwell.system.rainfall import record_basis, stores_of
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import net_rate_m_s, route, storm_durations_s, storm_of
from roofwell.system.survey import survey as make_survey
from roofwell.system.well_record import inflow_of, linked_stores

Document = dict[str, Any]
SMALL = {"bodies": 1, "diameter": "24 in", "height": "36 in", "around": "12 in"}


@pytest.fixture(scope="session")
def made(small_house: Design) -> Beyond:
    beyond = small_house.behaviour.beyond
    assert beyond is not None
    return beyond


def _of(
    document: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged], **size: Any
) -> Any:
    """Scheme, survey, behaviour and what lies beyond, for one fixed choice of sizes with the long record."""
    survey = make_survey(read_job(document))
    judged = judged_of(document, record=True, **(SMALL | size))
    rate = survey.soil.best_m_s / survey.soil.safety_factor
    more = room.beyond(judged.scheme, survey, judged.behaviour, rate_m_s=rate, record=record_basis(survey))
    return judged.scheme, survey, judged.behaviour, more


def _stores(scheme: Scheme, survey: Survey, behaviour: Behaviour, rate_m_s: float) -> list[network.Store]:
    return linked_stores(scheme, stores_of(scheme, survey, behaviour.downspouts, rate_m_s, None))


def _by_key(beyond: Beyond) -> dict[str, Stress]:
    return {stress.key: stress for stress in beyond.stress}


# ------------------------------------------------------------------ stress


def test_the_normal_run_is_the_one_that_was_judged(small_house: Design, made: Beyond) -> None:
    stress = _by_key(made)["design"]
    for row in stress.wells:
        well = small_house.behaviour.well(row.well)
        assert well.critical is not None
        assert row.duration_s == well.critical.duration_s
        assert row.spilled_m3 == pytest.approx(well.critical.spilled_m3, abs=1e-12)
        assert row.full_share == pytest.approx(well.critical.peak_m3 / well.storage_m3, rel=1e-9)
    highest = max(
        min(level.storm_m, level.limit_m)
        for level in small_house.behaviour.levels
        if level.storm_m is not None
    )
    assert stress.part_level_m == pytest.approx(highest, abs=1e-9)


def test_no_stress_is_milder_than_the_normal_run(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """Half the soil, groundwater in the pit, a second storm, a full well: none may spill or stand less."""
    house["soil"]["seasonal_high_water"] = "94 ft"
    *_, beyond = _of(house, read_job, judged_of)
    by = _by_key(beyond)
    assert list(by) == ["design", "slow-soil", "high-water", "back-to-back", "cloudburst", "wet-start"]
    normal = by["design"].wells[0]
    for key in ("slow-soil", "high-water", "back-to-back", "wet-start"):
        row = by[key].wells[0]
        assert row.spilled_m3 + row.refused_m3 >= normal.spilled_m3 + normal.refused_m3 - 1e-12, key
        assert row.full_share >= normal.full_share - 1e-12, key
        assert row.level_m >= normal.level_m - 1e-9, key
    assert by["wet-start"].wells[0].spilled_m3 > normal.spilled_m3
    assert by["cloudburst"].part_level_m is not None


def test_a_full_well_spills_what_comes_less_what_soaks(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """By hand: full, with soil that takes next to nothing, the whole net storm goes over the lip."""
    house["soil"]["rate"] = "0.0001 in/h"
    _, survey, behaviour, beyond = _of(house, read_job, judged_of)
    row = _by_key(beyond)["wet-start"].wells[0]
    rain = float(np.sum(storm_of(survey, row.duration_s).depth_m)) - survey.settings["initial_loss"]
    came = rain * survey.settings["runoff_coefficient"] * behaviour.wells[0].roof_area_m2
    assert row.spilled_m3 + row.refused_m3 == pytest.approx(came, rel=1e-3)
    assert row.duration_s == max(storm_durations_s(survey))


def test_two_storms_with_no_soakage_spill_the_second_one_whole(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """By hand: what two storms bring, less the store, once nothing soaks away between them."""
    house["soil"]["rate"] = "0.0001 in/h"
    _, survey, behaviour, beyond = _of(house, read_job, judged_of)
    row = _by_key(beyond)["back-to-back"].wells[0]
    rain = float(np.sum(storm_of(survey, row.duration_s).depth_m)) - survey.settings["initial_loss"]
    came = 2 * rain * survey.settings["runoff_coefficient"] * behaviour.wells[0].roof_area_m2
    assert row.spilled_m3 + row.refused_m3 == pytest.approx(came - behaviour.wells[0].storage_m3, rel=1e-3)


def test_groundwater_under_the_pit_changes_nothing_and_over_the_lip_takes_all(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    house["soil"].pop("seasonal_high_water")
    *_, without = _of(house, read_job, judged_of)
    assert _by_key(without)["high-water"].missing == "soil.seasonal_high_water"
    house["soil"]["seasonal_high_water"] = "84 ft"
    *_, deep = _of(house, read_job, judged_of)
    by = _by_key(deep)
    assert by["high-water"].note
    assert by["high-water"].wells == by["design"].wells
    house["soil"]["seasonal_high_water"] = "98 ft"
    _, survey, behaviour, drowned = _of(house, read_job, judged_of)
    row = _by_key(drowned)["high-water"].wells[0]
    rain = float(np.sum(storm_of(survey, row.duration_s).depth_m)) - survey.settings["initial_loss"]
    came = rain * survey.settings["runoff_coefficient"] * behaviour.wells[0].roof_area_m2
    assert row.spilled_m3 + row.refused_m3 == pytest.approx(came, rel=1e-9)


def test_the_cloudburst_is_half_again_where_the_table_ends_at_the_design_storm(made: Beyond) -> None:
    """The small house's table ends at 10 years, so 150 % of the design cloudburst stands in."""
    assert "150 %" in _by_key(made)["cloudburst"].what


def test_the_100_year_cloudburst_is_taken_where_the_table_holds_it(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    house["rain"]["depths"] += [
        {"duration": d, "return_period": "100 yr", "depth": depth}
        for d, depth in (
            ("5 min", "0.80 in"), ("15 min", "1.6 in"), ("1 h", "3.0 in"), ("6 h", "4.6 in"), ("24 h", "6.4 in"),
        )
    ]  # fmt: skip
    *_, beyond = _of(house, read_job, judged_of)
    stress = _by_key(beyond)["cloudburst"]
    assert stress.what.startswith("the 100-year cloudburst of 5 min")
    row = stress.wells[0]
    came = 0.80 * 0.0254 * 780 * 0.3048**2  # 0.80 in in five minutes on 780 sq ft, by hand
    assert row.spilled_m3 + row.refused_m3 == pytest.approx(came, rel=0.02)  # the rest soaks in meanwhile


def test_water_over_an_opening_is_always_said(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    house["buildings"]["H1"]["lowest_opening"] = "96 ft"
    *_, beyond = _of(house, read_job, judged_of)
    said = words.opening_warnings(beyond, "us")
    assert len(said) == sum(stress.reaches_opening for stress in beyond.stress) > 0
    assert all("above the lowest opening" in line for line in said)
    house["buildings"]["H1"].pop("lowest_opening")
    *_, unknown = _of(house, read_job, judged_of)
    assert all(stress.over_opening_m is None for stress in unknown.stress)
    assert words.opening_warnings(unknown, "us") == []


def test_where_a_mound_holds_the_well_back_its_row_is_the_judged_run(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """Groundwater close under the pit in thin ground: what the answers judge stands in the row of high water."""
    house["soil"] |= {
        "seasonal_high_water": "92.6 ft",
        "saturated_thickness": "2 ft",
        "specific_yield": "5 %",
    }
    scheme, _, behaviour, beyond = _of(house, read_job, judged_of)
    assert scheme.wells[0].bottom_m > 92.6 * 0.3048
    assert behaviour.wells[0].mound is not None
    assert behaviour.wells[0].mound.held is not None
    assert beyond.without_mound
    by, critical = _by_key(beyond), behaviour.wells[0].critical
    assert critical is not None
    assert by["high-water"].wells[0].spilled_m3 == critical.spilled_m3
    assert by["design"].what.endswith("groundwater left out")
    assert by["design"].wells[0].spilled_m3 <= critical.spilled_m3


# ------------------------------------------------------------------ the storm just held


def _brute(survey: Survey, scheme: Scheme, behaviour: Behaviour, shape: str, years: float) -> bool:
    """Whether any duration of the storm asks for more than the first well has: all of them, one after the other."""
    stores = _stores(scheme, survey, behaviour, survey.soil.best_m_s / survey.soil.safety_factor)
    inflow = inflow_of(scheme, behaviour.downspouts)
    asked = []
    for duration in storm_durations_s(survey):
        storm = storm_of(survey, duration, years=years, shape=shape)
        rate = net_rate_m_s(survey, storm.depth_m, storm.step_s)
        run = route(stores, inflow, rate, duration_s=duration, step_s=storm.step_s, start_m3=[0.0])
        trace = run.traces[0]
        asked.append(float(trace.volume_peak_m3.max() + trace.spilled_m3.sum() + run.refused_m3[0]))
    return max(asked) > (1 + 1e-9) * float(stores[0].volume_m3[-1])


@pytest.mark.parametrize("height", ["36 in", "60 in"])
@pytest.mark.parametrize("shape", ["alternating blocks", "uniform"])
def test_it_holds_the_storm_it_says_and_none_a_hundredth_greater(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged], shape: str, height: str
) -> None:
    """Brute force through every duration, just at and just above the return period that was found."""
    scheme, survey, behaviour, beyond = _of(house, read_job, judged_of, height=height, around="18 in")
    held = next(one for one in beyond.held if one.shape == shape)
    if held.reach == "below":
        assert _brute(survey, scheme, behaviour, shape, held.years)
        return
    assert not _brute(survey, scheme, behaviour, shape, held.years)
    if held.reach == "within":
        assert _brute(survey, scheme, behaviour, shape, held.years * 1.01)


@pytest.mark.parametrize("years", [2.0, 3.0, 5.0, 7.0, 10.0])
def test_the_longest_nested_storm_speaks_for_the_shorter_ones(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged], years: float
) -> None:
    scheme, survey, behaviour, _ = _of(house, read_job, judged_of, around="18 in")
    stores = _stores(scheme, survey, behaviour, survey.soil.best_m_s / survey.soil.safety_factor)
    quick = overfills(survey, inflow_of(scheme, behaviour.downspouts), stores, "alternating blocks")
    assert quick(years, 0) == _brute(survey, scheme, behaviour, "alternating blocks", years)


def test_a_well_that_is_judged_to_hold_holds_at_least_that_storm(small_house: Design, made: Beyond) -> None:
    """`storm-held` and the storm just held say the same of the target."""
    assert small_house.answer(5).verdict in ("good", "close")
    own = [held for held in made.held if held.shape == "alternating blocks"]
    assert own
    assert all(held.years >= small_house.survey.targets.storm_years * (1 - 0.005) for held in own)


def _worst(judged: Judged) -> float:
    well = judged.behaviour.wells[0]
    return max((one.peak_m3 + one.spilled_m3 + one.refused_m3) / well.storage_m3 for one in well.storms)


@pytest.mark.parametrize("around", ["12 in", "18 in", "24 in", "30 in", "36 in", "48 in"])
def test_where_downspouts_turn_water_away_finding_and_sentence_agree(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged], around: str
) -> None:
    """What never gets in counts as what the well would have to hold, in both; the verdict is on the worst duration."""
    for spout in house["downspouts"].values():
        spout.update(width="1 1/2 in", breadth="1 1/2 in")
    size = SMALL | {"height": "60 in", "around": around}
    judged = judged_of(house, record=True, **size)
    well = judged.behaviour.wells[0]
    assert well.critical is not None and well.critical.refused_m3 > 0
    found = next(one for one in judged.findings if one.code == "storm-held")
    assert found.value == pytest.approx(_worst(judged), rel=1e-9)
    _, survey, _, beyond = _of(house, read_job, judged_of, **size)
    held = next(one for one in beyond.held if one.shape == survey.storm_shape)
    holds = held.reach != "below" and held.years * 1.005 >= survey.targets.storm_years
    assert holds == (found.value <= 1)


def test_a_return_period_is_never_rounded_up() -> None:
    assert words.years_words(14.99, "within") == "14-year"
    assert words.years_words(3.29, "within") == "3.2-year"
    assert words.years_words(100.0, "beyond") == "100-year"
    held = HeldStorm("W1", "uniform", 2.0, "below")
    assert words.held_words(held, known=True) == (
        "W1 holds not even the 2-year storm, which is the least of the rain table"
    )
    assert words.held_words(replace(held, reach="beyond", years=100.0), known=True) == (
        "W1 holds every storm of the rain table, up to the 100-year one"
    )


# ------------------------------------------------------------------ chance


def _full_record(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, rate_m_s: float, *, loss: float | None = None
) -> float:
    """Spills a year through the whole record, nothing left out."""
    record = survey.rain.record
    assert record is not None
    depth = np.where(record.missing, 0.0, record.depth_m)
    found = events.find_events(depth_m=depth, step_s=record.step_s, gap_s=survey.settings["event_gap"])
    taken = survey.settings["initial_loss"] if loss is None else loss
    net = events.net_of_initial_loss(depth_m=depth, events=found, loss_m=taken)
    arriving, away = inflow_of(scheme, behaviour.downspouts)(
        net * survey.settings["runoff_coefficient"] / record.step_s
    )
    stores = _stores(scheme, survey, behaviour, rate_m_s)
    trace = network.simulate(stores, arriving, step_s=record.step_s)[0]
    out = trace.spilled_m3 + trace.refused_m3 + away[:, 0] * record.step_s
    least = 1e-9 * float(stores[0].volume_m3[-1])
    return len({int(found.event_of_step[step]) for step in np.flatnonzero(out > least)}) / record.years


def test_the_shortened_record_spills_as_often_as_the_whole_one(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    scheme, survey, behaviour, _ = _of(house, read_job, judged_of)
    years = years_of(scheme, survey, behaviour, inflow_of(scheme, behaviour.downspouts), slowest=0.1)
    assert years is not None
    record = survey.rain.record
    assert record is not None
    assert years.steps < 0.7 * record.steps
    for factor in (0.1, 0.3, 1.0, 3.0):
        whole = _full_record(scheme, survey, behaviour, survey.soil.best_m_s * factor)
        assert years.run(factor, None, None)[0] == pytest.approx(whole, abs=1.01 / record.years)
        assert years.run(factor, None, None)[0] > 0 or whole == 0


def test_spills_fall_as_the_soil_takes_more(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """The law that lets a quantile of the rate stand for a quantile of the spills."""
    scheme, survey, behaviour, beyond = _of(house, read_job, judged_of)
    years = years_of(scheme, survey, behaviour, inflow_of(scheme, behaviour.downspouts), slowest=0.05)
    assert years is not None
    runs = [years.run(factor, None, None) for factor in np.geomspace(0.05, 20.0, 12)]
    assert all(later[0] <= earlier[0] for earlier, later in pairwise(runs))
    assert all(later[1] <= earlier[1] + 1e-12 for earlier, later in pairwise(runs))
    chance = beyond.chance
    assert chance is not None
    kept = [quantile.spills_year for quantile in chance.quantiles]
    assert [quantile.chance for quantile in chance.quantiles] == list(CHANCES)
    assert kept == sorted(kept)


def test_quantiles_agree_with_drawing_the_soil_many_times(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """Brute force: 200 soils drawn evenly through their chances by scipy's lognormal, each run through the record."""
    scheme, survey, behaviour, beyond = _of(house, read_job, judged_of)
    chance = beyond.chance
    assert chance is not None
    assert chance.log_spread is not None
    soils = stats.lognorm(s=chance.log_spread, scale=survey.soil.best_m_s).ppf((np.arange(200) + 0.5) / 200)
    inflow = inflow_of(scheme, behaviour.downspouts)
    years = years_of(scheme, survey, behaviour, inflow, slowest=float(soils[0] / survey.soil.best_m_s))
    assert years is not None
    drawn = np.sort([years.run(float(soil / survey.soil.best_m_s), None, None)[0] for soil in soils])
    for quantile in chance.quantiles:
        at = round(quantile.chance * 200)
        assert drawn[at - 3] - 1e-9 <= quantile.spills_year <= drawn[min(at + 2, 199)] + 1e-9
    assert chance.chance_limit is not None
    share = float(np.mean(drawn <= chance.limit_year))
    assert chance.chance_limit == pytest.approx(np.clip(share, chance.edge, 1 - chance.edge), abs=0.015)


def test_the_chance_of_the_target_is_the_one_it_names(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """A target that the middle soil just keeps is kept with an even chance or better; none is kept always or never."""
    *_, first = _of(house, read_job, judged_of)
    assert first.chance is not None
    house["targets"] = {"spills": f"{first.chance.quantiles[0].spills_year + 1e-6:.6f} per year"}
    *_, even = _of(house, read_job, judged_of)
    assert even.chance is not None
    assert even.chance.chance_limit is not None
    assert 0.5 <= even.chance.chance_limit < 0.75
    house["targets"] = {"spills": "300 per year"}
    *_, easy = _of(house, read_job, judged_of)
    assert easy.chance is not None
    assert easy.chance.chance_limit == 1 - easy.chance.edge
    assert "more than 98 %" in " ".join(words.chance_lines(easy.chance, "us"))


def test_more_tests_narrow_the_spread_and_two_that_agree_do_not_end_it(
    house: Document, read_job: Callable[..., Any]
) -> None:
    """One test: the published scatter, CV 100 %. Two that agree halve its square; a third helps less."""
    one = soil_spread(make_survey(read_job(house)))
    assert one is not None
    assert one[0] == pytest.approx(spread.log_spread_of(1.0))
    house["soil"].pop("rate")
    house["soil"].pop("rate_from")
    house["soil"]["percolation_tests"] = [{"id": f"A{i}", "rate": "15 min/in"} for i in range(2)]
    two = soil_spread(make_survey(read_job(house)))
    assert two is not None
    assert two[1] == 2
    assert two[0] == pytest.approx(spread.log_spread_of(1.0) / math.sqrt(2))


def test_no_soil_test_gives_no_chance_but_says_what_matters(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    house["soil"].pop("rate")
    house["soil"].pop("rate_from")
    *_, beyond = _of(house, read_job, judged_of)
    chance = beyond.chance
    assert chance is not None
    assert chance.log_spread is None
    assert chance.quantiles == ()
    assert chance.swings[0].what == "soil"
    assert words.chance_sentence(beyond) == ""
    assert "nobody has tested" in words.chance_lines(chance, "us")[0]


def test_only_what_nobody_measured_is_moved(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    *_, assumed = _of(house, read_job, judged_of)
    assert assumed.chance is not None
    assert {swing.what for swing in assumed.chance.swings} == {"soil", "voids", "roof loss"}
    widths = [swing.width for swing in assumed.chance.swings]
    assert widths == sorted(widths, reverse=True)
    house["wells"]["W1"]["voids"] = "38 %"
    house["settings"] = {"initial_loss": "0.04 in"}
    *_, measured = _of(house, read_job, judged_of)
    assert measured.chance is not None
    assert [swing.what for swing in measured.chance.swings] == ["soil"]


def test_other_voids_are_those_of_a_well_that_is_given_them(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    house["wells"]["W1"]["voids"] = "40 %"
    scheme = judged_of(house, **SMALL).scheme
    house["wells"]["W1"]["voids"] = "30 %"
    given = judged_of(house, **SMALL).scheme
    for mine, theirs in zip(with_voids(scheme, 0.30).wells[0].layers, given.wells[0].layers, strict=True):
        assert mine.water_area_m2 == pytest.approx(theirs.water_area_m2, rel=1e-9)


def test_all_unknowns_at_once_fall_on_the_soil_alone_when_the_rest_is_measured(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """With voids and loss measured, the hypercube must come near the quantiles that need no sampling, the years' luck and
    the groundwater added; twice the same."""
    house["wells"]["W1"]["voids"] = "38 %"
    house["settings"] = {"initial_loss": "0.04 in"}
    scheme, survey, behaviour, beyond = _of(house, read_job, judged_of)
    assert beyond.chance is not None
    once = with_joint(beyond.chance, scheme, survey, behaviour)
    assert once.joint is not None
    assert once == with_joint(beyond.chance, scheme, survey, behaviour)
    for (kept, spilled), quantile in zip(once.joint.quantiles, beyond.chance.quantiles, strict=True):
        assert kept == quantile.chance
        assert spilled == pytest.approx(quantile.spills_year, rel=0.2, abs=0.2)
    assert "500 samples, seed 1967" in " ".join(words.chance_lines(once, "us"))


# ------------------------------------------------------------------ all standards at once


def test_rules_of_depth_want_the_roof_times_the_rain(small_house: Design, made: Beyond) -> None:
    """1.0 in on 1,000 sq ft is 83.33 cu ft (reference sheet D17); the small house's roofs are 780 sq ft."""
    area_sq_ft = small_house.behaviour.wells[0].roof_area_m2 / 0.3048**2
    assert area_sq_ft == pytest.approx(780, rel=1e-9)
    row = next(row for row in made.standards if row.key == "first-flush")
    assert row.wanted is not None
    assert row.wanted / 0.3048**3 == pytest.approx(83.33 * 0.780, abs=0.05)


def test_the_rule_that_asks_most_governs_and_a_storm_beyond_the_table_is_not_guessed(made: Beyond) -> None:
    ((well, key),) = made.governing
    shares = {row.key: row.share for row in made.standards if row.kind in ("depth", "storm")}
    known = {name: share for name, share in shares.items() if share is not None}
    assert key == max(known, key=lambda name: known[name])
    assert well == "W1"
    assert shares["storm-25-24"] is None
    assert shares["storm-10-24"] is not None
    assert "2 to 10 years" in next(row.note for row in made.standards if row.key == "storm-25-24")
    rows = words.rule_rows(made, "us")
    assert sum(row.governs for row in rows) == 1


def test_the_rule_that_the_job_must_keep_reads_as_the_check_does(small_house: Design, made: Beyond) -> None:
    """The 10-year storm of up to 24 h is the small house's own target."""
    held = next(f for f in small_house.answer(5).findings if f.code == "storm-held")
    row = next(row for row in made.standards if row.key == "storm-10-24")
    assert row.share == pytest.approx(held.value, rel=1e-9)
    drain = next(f for f in small_house.answer(5).findings if f.code == "well-drain-down")
    row = next(row for row in made.standards if row.key == "empty-48")
    assert row.had == pytest.approx(drain.value, rel=1e-9)
    half = next(row for row in made.standards if row.key == "half-24")
    assert half.had is not None
    assert row.had is not None
    assert 0 < half.had < row.had


# ------------------------------------------------------------------ look-back


def test_a_day_of_the_record_is_told_and_one_outside_it_says_how_to_get_it(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    """The depth is the record's own sum of that day, hour by hour."""
    survey = make_survey(read_job(house))
    record = survey.rain.record
    assert record is not None
    days = record.times().astype("datetime64[D]")
    wettest = days[int(np.argmax(record.depth_m))]
    house["complaint"] = {"flood_dates": [date.fromisoformat(str(wettest)), date(2026, 4, 2)]}
    *_, beyond = _of(house, read_job, judged_of)
    told, outside = beyond.floods
    assert told.depth_m == pytest.approx(float(record.depth_m[days == wettest].sum()), abs=1e-12)
    assert told.peak_hour_m == float(record.depth_m.max())
    assert told.wettest_day_m is not None
    assert told.wettest_day_m >= told.depth_m
    assert told.hour_reach is not None
    assert told.spilled_m3 is not None
    assert told.spilled_m3 > 0  # the wettest hour of 31 years is too much for this little well
    assert outside.depth_m is None
    line = words.flood_lines(beyond.floods, "us")[1]
    assert "unknown" in line
    assert "rain.record" in line


# ------------------------------------------------------------------ joined


def test_the_answer_and_the_round_trip(
    house: Document, small_house: Design, design_of: Callable[..., Design]
) -> None:
    """The answer names the storm just held; what is adopted says the same again."""
    sentence = small_house.answer(5).sentence
    assert "W1 holds every storm" in sentence
    again = design_of(adopt(house, small_house))
    assert again.behaviour.beyond == small_house.behaviour.beyond


@pytest.mark.parametrize(
    "section", ["soil", "rain", "wells", "roofs", "survey", "buildings", "overflows", "gutters"]
)
def test_what_lies_beyond_survives_the_loss_of_a_section(
    house: Document, design_of: Callable[..., Design], section: str
) -> None:
    house.pop(section)
    design = design_of(house)
    assert len(design.answers) == 9
    beyond = design.behaviour.beyond
    assert beyond is not None
    words.stress_rows(beyond, "us")
    words.rule_rows(beyond, "metric")
    words.governing_sentence(beyond, "us")
    if beyond.chance is not None:
        words.chance_lines(beyond.chance, "metric")
