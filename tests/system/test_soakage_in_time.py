"""Soakage by month and by year: cold water and silt, the kernel's curves swapped through the record."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from roofwell import job as job_room
from roofwell.checks import soakage_words as words
from roofwell.design.judging import Judged
from roofwell.physics import network
from roofwell.system.aged_stores import scaled, typed_stores
from roofwell.system.rainfall import record_basis, stores_of
from roofwell.system.soakage_in_time import lost_by_step, month_shares, soakage_in_time
from roofwell.system.survey import survey as make_survey
from roofwell.system.well_record import inflow_of, linked_stores

Document = dict[str, Any]
MONTHS = ["5 C", "5 C", "6 C", "8 C", "10 C", "14 C", "20 C", "20 C", "16 C", "12 C", "8 C", "6 C"]
AUGER = {
    "id": "A1",
    "hole_depth": "66 in",
    "hole_diameter": "4 in",
    "presoaked": True,
    "water_temperature": "20 C",
    "readings": [{"water_start": "36 in", "water_end": "40 in", "time": "6 min"}],
}


@pytest.fixture
def tested(house: Document) -> Document:
    del house["soil"]["rate"], house["soil"]["rate_from"]
    house["soil"]["auger_tests"] = [AUGER]
    house["soil"]["water_temperatures"] = MONTHS
    return house


def test_the_share_of_each_month_is_that_of_the_printed_viscosities(
    tested: Document, read_job: Callable[..., Any]
) -> None:
    """Reference sheet, infiltration 1.4: 1.002 at 20 C, 1.519 at 5 C, 1.307 at 10 C (mPa s; engineering table, seen)."""
    shares = month_shares(make_survey(read_job(tested)).soil)
    assert shares[0] == shares[1] == pytest.approx(1.002 / 1.519, rel=2e-3)
    assert shares[4] == pytest.approx(1.002 / 1.307, rel=2e-3)
    assert shares[6] == 1.0


def test_a_test_that_does_not_tell_its_water_leaves_the_months_unknown(
    tested: Document, read_job: Callable[..., Any]
) -> None:
    tested["soil"]["auger_tests"] = [AUGER | {"water_temperature": "20 C"}, AUGER | {"id": "A2"}]
    assert make_survey(read_job(tested)).soil.water_c == pytest.approx(20.0)
    other = {key: value for key, value in AUGER.items() if key != "water_temperature"} | {"id": "A2"}
    tested["soil"]["auger_tests"] = [AUGER, other]
    survey = make_survey(read_job(tested))
    assert survey.soil.water_c is None and month_shares(survey.soil) == ()
    tested["soil"]["auger_tests"] = [AUGER, AUGER | {"id": "A2", "water_temperature": "10 C"}]
    assert make_survey(read_job(tested)).soil.water_c is None
    tested["soil"]["water_temperature"] = "5 C"
    assert make_survey(read_job(tested)).soil.water_c == pytest.approx(5.0)


def test_eleven_months_or_boiling_water_are_told(house: Document) -> None:
    house["soil"]["water_temperatures"] = MONTHS[:11]
    (one,) = job_room.read(house).problems
    assert one.path == "soil.water_temperatures" and "twelve" in one.message
    house["soil"]["water_temperatures"] = [*MONTHS[:11], "100 C"]
    (one,) = job_room.read(house).problems
    assert one.path.startswith("soil.water_temperatures") and "30 C" in one.message


def test_the_coldest_month_empties_slower_by_the_viscosity_and_age_adds_spills(
    tested: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    judged = judged_of(tested, record=True)
    survey = make_survey(read_job(tested))
    inflow = inflow_of(judged.scheme, judged.behaviour.downspouts)
    rate = survey.soil.best_m_s / survey.soil.safety_factor
    stores = linked_stores(
        judged.scheme, stores_of(judged.scheme, survey, judged.behaviour.downspouts, rate, None)
    )
    record = record_basis(survey)
    beyond = soakage_in_time(judged.scheme, survey, inflow, stores, record)
    (one,) = beyond
    drain = judged.behaviour.wells[0].drain_time_s
    assert one.cold_month == 1 and one.cold_drain_s == pytest.approx(drain * 1.519 / 1.002, rel=2e-3)
    found = judged.behaviour.wells[0].record
    assert found is not None and one.spills_year is not None and one.spills_year >= found.spills_year
    old = soakage_in_time(judged.scheme, survey, inflow, stores, record, typed_stores(stores, 0.1).stores)
    assert old[0].spills_year is not None and old[0].spills_year > one.spills_year
    assert "January, with water of 41 F" in words.in_time_lines(_with(beyond), "us")[0]
    assert "5 C" in words.in_time_lines(_with(beyond), "metric")[0]


def test_a_well_a_year_older_each_year_is_its_years_run_one_by_one() -> None:
    """The record cut by hand at each year's end, each piece with that year's own store, what stands carried over."""
    generator = np.random.default_rng(5)
    steps = 24 * 100
    arriving = np.where(generator.random((steps, 1)) < 0.05, generator.random((steps, 1)) * 2e-3, 0.0)
    new = network.Store(np.array([0.0, 1.0, 2.0]), np.array([1e-5, 3e-5, 4e-5]), empty_m3=0.01)

    def aged(years: float) -> list[network.Store]:
        return [scaled(new, 0.6**years)]

    months = np.arange(steps) // 100
    found = lost_by_step([new], arriving, months, np.ones(steps), 3600.0, aged)
    standing = 0.0
    for year in (0, 1):
        part = slice(1200 * year, 1200 * (year + 1))
        (trace,) = network.simulate(aged(year), arriving[part], step_s=3600.0, start_m3=[standing])
        assert network.balance_error(trace, standing) < 1e-9
        assert found[part, 0] == pytest.approx(trace.spilled_m3 + trace.refused_m3, abs=1e-9)
        standing = float(trace.volume_end_m3[-1])
    assert found.sum() > 0


def _with(made: tuple[Any, ...]) -> Any:
    class Some:
        soakage_in_time = made
        early_gain = ()

    return Some()


def test_the_same_curve_in_every_month_is_the_record_in_one_piece() -> None:
    generator = np.random.default_rng(11)
    steps = 4000
    arriving = np.where(generator.random((steps, 2)) < 0.04, generator.random((steps, 2)) * 2e-3, 0.0)
    stores = [
        network.Store(np.array([0.0, 1.0, 2.0]), np.array([1e-5, 3e-5, 4e-5]), overflow_to=1, empty_m3=0.01),
        network.Store(np.array([0.0, 1.5]), np.array([1e-5, 2e-5]), np.array([1e-5, 2e-5]), empty_m3=0.01),
    ]
    whole = network.simulate(stores, arriving, step_s=3600.0)
    months = np.arange(steps) // 700
    same = lost_by_step(stores, arriving, months, np.ones(steps), 3600.0)
    for j, trace in enumerate(whole):
        assert same[:, j] == pytest.approx(trace.spilled_m3 + trace.refused_m3, abs=1e-9)
    assert same.sum() > 0
    slower = lost_by_step(stores, arriving, months, np.full(steps, 0.5), 3600.0)
    assert slower[:, 1].sum() > same[:, 1].sum()
    one = lost_by_step(stores, arriving, months, np.where(months == 3, 0.5, 1.0), 3600.0)
    before = months < 3
    assert one[before] == pytest.approx(same[before])
    assert same[:, 1].sum() < one[:, 1].sum() < slower[:, 1].sum()


def test_nothing_is_said_where_the_job_says_nothing(
    house: Document, read_job: Callable[..., Any], judged_of: Callable[..., Judged]
) -> None:
    judged = judged_of(house)
    survey = make_survey(read_job(house))
    inflow = inflow_of(judged.scheme, judged.behaviour.downspouts)
    assert soakage_in_time(judged.scheme, survey, inflow, [], (None, None)) == ()
