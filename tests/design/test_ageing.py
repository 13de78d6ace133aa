"""The well in years through the whole main job: sediment past the basin, new, at 10 and 20 years, care on time and never."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell import job as job_room
from roofwell.checks import age_words as words
from roofwell.design import Design, design
from roofwell.papers.results import results_json
from roofwell.papers.set import set_data
from roofwell.physics import network
from roofwell.system.aged_stores import BEST, HARD, aged_stores, sediments
from roofwell.system.ageing import year_lost
from roofwell.system.ageing_facts import Ageing, WellAge
from roofwell.system.rainfall import record_basis, stores_of
from roofwell.system.well_record import inflow_of, linked_stores

DATA = Path(__file__).parents[1] / "data"
HOUSE = tomllib.loads((DATA / "small-house.toml").read_text(encoding="utf-8"))
Document = dict[str, Any]
BASIN = {
    "at": ["38 ft", "80 ft"], "shape": "square", "width": "12 in", "inlet_height": "18 in", "outlet_height": "12 in",
    "hood": False, "screen": False,
}  # fmt: skip


def _made(change: Callable[[Document], None]) -> Design:
    document = copy.deepcopy(HOUSE)
    document["basins"] = {"B1": dict(BASIN)}
    document["roofs"]["R1"]["trees"] = "many"
    change(document)
    reading = job_room.read(document, folder=DATA)
    assert reading.job is not None and not reading.problems, reading.problems
    return design(reading.job, folder=DATA, document=document)


@pytest.fixture(scope="module")
def leafy() -> Design:
    """The small house under many trees, its basin with a plain outlet."""
    return _made(lambda document: None)


def _ageing(made: Design) -> Ageing:
    assert made.behaviour.ageing is not None
    return made.behaviour.ageing


def _cared(made: Design) -> dict[str, WellAge]:
    return {one.care: one for one in _ageing(made).of("W1")}


def test_older_is_never_better(leafy: Design) -> None:
    for one in _ageing(leafy).wells:
        assert [age.years for age in one.ages] == [0.0, 10.0, 20.0]
        for young, old in zip(one.ages, one.ages[1:], strict=False):
            for end in ("mild", "best", "hard"):
                for name in ("room_share", "soakage_share", "held_share", "floor_share"):
                    assert getattr(getattr(old, name), end) <= getattr(getattr(young, name), end) + 1e-9, name
                assert getattr(old.silt_m, end) >= getattr(young.silt_m, end)
                assert old.spills_year is not None and young.spills_year is not None
                assert getattr(old.spills_year, end) >= getattr(young.spills_year, end)
            # a little less room under the same lip is a little less to drain
            assert old.drain_s.best >= young.drain_s.best * 0.999
            assert old.drain_s.mild <= old.drain_s.best <= old.drain_s.hard


def test_never_emptied_is_no_better_than_emptied(leafy: Design) -> None:
    cared = _cared(leafy)
    on_time, never = cared["on time"], cared["never"]
    for kept, left in zip(on_time.ages, never.ages, strict=True):
        assert left.room_share.best <= kept.room_share.best
        assert left.held_share.best <= kept.held_share.best + 1e-9
        assert left.drain_s.best >= kept.drain_s.best * (1 - 1e-9)
        assert left.silt_m.best >= kept.silt_m.best
    assert never.ages[-1].room_share.best < on_time.ages[-1].room_share.best
    assert never.lost.best <= on_time.lost.best


def test_new_it_is_the_well_with_the_soil_as_measured(leafy: Design) -> None:
    """Without a bed the time to empty is the kernel's own at the measured rate: the design's over the safety factor."""
    survey, scheme = leafy.survey, leafy.scheme
    made = stores_of(
        scheme, survey, leafy.behaviour.downspouts, survey.soil.best_m_s, record_basis(survey)[0]
    )
    (drain,) = network.drain_times_s(linked_stores(scheme, made))
    assert _cared(leafy)["on time"].ages[0].drain_s.best == pytest.approx(drain)
    factor = survey.soil.safety_factor
    assert drain * factor == pytest.approx(leafy.behaviour.wells[0].drain_time_s, rel=1e-6)


def test_a_target_is_kept_until_the_year_said_and_lost_after_it() -> None:
    """Brute force: every quarter of a year the time to empty against the target; nothing of the halving is used."""
    hurried = _made(lambda document: document.setdefault("targets", {}).update(hours_to_empty="12 h"))
    survey, scheme = hurried.survey, hurried.scheme
    assert hurried.behaviour.debris is not None
    made = stores_of(
        scheme, survey, hurried.behaviour.downspouts, survey.soil.best_m_s, record_basis(survey)[0]
    )
    old = aged_stores(
        scheme,
        linked_stores(scheme, made),
        sediments(scheme, hurried.behaviour.debris, never=False, end=HARD),
    )
    lost = _cared(hurried)["on time"].empty_lost.hard
    assert 0.0 < lost < 100.0

    def kept(years: float) -> bool:
        return network.drain_times_s(old.draining(years))[0] <= survey.targets.empty_s

    assert all(kept(0.25 * k) for k in range(int(lost * 4) + 1))
    assert not kept(lost + 0.5)


def test_the_kernel_keeps_its_balance_at_every_age(leafy: Design) -> None:
    survey, scheme = leafy.survey, leafy.scheme
    assert leafy.behaviour.debris is not None
    basis = record_basis(survey)
    made = linked_stores(
        scheme, stores_of(scheme, survey, leafy.behaviour.downspouts, survey.soil.best_m_s, basis[0])
    )
    assert basis[0] is not None and survey.rain.record is not None
    step = float(survey.rain.record.step_s)
    arriving, _ = inflow_of(scheme, leafy.behaviour.downspouts)(basis[0] / step)
    old = aged_stores(scheme, made, sediments(scheme, leafy.behaviour.debris, never=True, end=BEST))
    for years in (0.0, 7.0, 20.0, 60.0):
        for trace in network.simulate(old.stores(years), arriving, step_s=step):
            assert network.balance_error(trace) < 1e-9


def test_sediment_of_all_years_lies_in_the_well(leafy: Design) -> None:
    """Mass balance: what silt the debris brings in 20 years is the silt of the bed, at its own room."""
    debris = leafy.behaviour.debris
    assert debris is not None
    silt = sum(a.volume_m3_year.best for a in debris.well("W1").on_time if a.kind == "silt")
    bed = sediments(leafy.scheme, debris, never=False, end=BEST)["W1"].bed(20.0)
    assert bed.silt_m3 == pytest.approx(20 * silt)
    layers = leafy.scheme.wells[0].layers
    thick = _cared(leafy)["on time"].ages[-1].silt_m.best
    assert thick * layers[0].water_area_m2 == pytest.approx(bed.silt_m3)


def test_a_screen_is_what_moves_a_leafy_well_most(leafy: Design) -> None:
    ageing = _ageing(leafy)
    own = _cared(leafy)["on time"]
    assert {mend.key for mend in ageing.mends} >= {"screen", "elbow"}
    for mend in ageing.mends:
        if "screen" in mend.key or "elbow" in mend.key:
            assert mend.room_share > own.ages[-1].room_share.best
    (line,) = words.care_sentences(ageing, "us")
    assert "What moves it most is B1" in line and ("screen" in line or "elbow" in line)


def test_terminal_papers_and_results_say_the_same(leafy: Design) -> None:
    said = words.well_sentences(_ageing(leafy), leafy.survey)
    assert len(said) == 2 and "basin emptied on time" in said[0] and "never emptied" in said[1]
    page = set_data(leafy)["age"]
    assert page["sentences"] == said and len(page["rows"]) == 5
    written = json.loads(results_json(leafy))["behaviour"]["ageing"]
    assert [one["care"] for one in written["wells"]] == ["on time", "never"]
    assert written["years"] == [0.0, 10.0, 20.0]


def test_a_typed_share_takes_the_place_of_all_that(leafy: Design) -> None:
    """3 % a year leaves 0.97^20 = 54.4 % after 20 years, by hand: the time to empty is 1/0.544 = 1.839 times the new."""

    def change(document: Document) -> None:
        document["soil"]["silting_a_year"] = "3 %"

    made = _made(change)
    (one,) = _ageing(made).wells
    assert one.care == "typed" and _ageing(made).mends == ()
    assert one.ages[-1].drain_s.best / one.ages[0].drain_s.best == pytest.approx(1.839, abs=0.001)
    assert "3.0 % a year, as typed" in words.basis(_ageing(made), made.survey)[0]


def test_a_huge_load_seals_the_floor(leafy: Design) -> None:
    """At the hard end of a roof under trees, a basin never emptied: the floor passes next to nothing."""
    last = _cared(leafy)["never"].ages[-1]
    assert last.floor_share is not None
    assert last.floor_share.hard < 0.1 and last.floor_share.hard < last.floor_share.best <= 1.0


def test_years_are_judged_only_where_asked(leafy: Design) -> None:
    assert not [f for a in leafy.answers for f in a.findings if f.code == "well-in-years"]
    lost = _cared(leafy)["on time"].lost

    def ask(document: Document) -> None:
        document["targets"] = document.get("targets", {}) | {"years": "90 yr"}

    (found,) = [f for a in _made(ask).answers for f in a.findings if f.code == "well-in-years"]
    assert found.verdict == ("fails" if lost.best < 90 else "close")


def test_nothing_is_said_of_years_without_a_soil() -> None:
    def change(document: Document) -> None:
        for key in ("rate", "rate_from", "texture"):
            document["soil"].pop(key, None)

    made = _made(change)
    assert words.unknown(made.survey.missing | made.scheme.missing)
    assert set_data(made)["age"] is None


def test_the_year_of_a_target_that_is_lost_for_a_while_is_its_first() -> None:
    assert year_lost(
        lambda years: not 4.0 < years < 30.0, 100.0, (2.0, 5.0, 10.0, 20.0, 50.0)
    ) == pytest.approx(4.0, abs=0.5)
    assert year_lost(lambda years: years < 33.0, 100.0) == pytest.approx(33.0, abs=0.5)
    assert year_lost(lambda years: True, 100.0) == float("inf")
    assert year_lost(lambda years: False, 100.0) == 0.0
