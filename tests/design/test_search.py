"""The search against brute force: on random small jobs every choice of the ladder is judged, and none that passes digs less.

Under each way of counting soakage, with an office's count beside it, and with groundwater so high that its mound matters.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from roofwell.design import Design, adopt
from roofwell.design.complete import mound_stands_in_a_well, search
from roofwell.design.judging import Inputs, Judged, design_rate_m_s, judge
from roofwell.design.ladder import well_options
from roofwell.job.prices import shipped_prices
from roofwell.system.choice import Choice
from roofwell.system.rainfall import record_basis
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
Rules = Callable[..., Path]
COUNTS = (
    "bottom",
    "bottom and half sides",
    "sides",
    "sides half, no bottom",
    "unit gradient",
    "three-dimensional",
    None,
)


def _hole(fall_in: float) -> dict[str, Any]:
    return {
        "id": "A1", "hole_depth": "66 in", "hole_diameter": "4 in", "presoaked": True,
        "readings": [{"water_start": "36 in", "water_end": f"{36 + fall_in:.1f} in", "time": "10 min"}] * 3,
    }  # fmt: skip


def _random_house(house: Document, seed: int) -> Document:
    """The small house with another roof, soil and time to empty; two bodies at most, to keep brute force short."""
    draw = random.Random(seed)
    for roof in house["roofs"].values():
        roof["plan_area"] = f"{draw.uniform(150, 500):.0f} sq ft"
    del house["soil"]["rate"], house["soil"]["rate_from"]
    house["soil"]["auger_tests"] = [_hole(draw.uniform(4, 20))]
    house["settings"] = {"most_bodies": 2}
    return house


def _inputs(document: Document, folder: Path, read_job: Callable[..., Any]) -> tuple[Inputs, float]:
    job = read_job(document, folder)
    survey = make_survey(job, folder=folder)
    rate = design_rate_m_s(survey, survey.soil.best_m_s)
    known = replace(survey, missing=frozenset())
    return Inputs(job, known, shipped_prices(), record_basis(survey), ()), rate


def _fails(judged: Judged) -> bool:
    return any(f.verdict == "fails" for f in judged.findings) or mound_stands_in_a_well(judged)


def _passing(inputs: Inputs, rate: float, found: Judged, *, under_mound: bool = False) -> list[float]:
    """What the choices dig that pass, each judged whole by the checks."""
    out = []
    for option in well_options(inputs.job, inputs.survey, "W1"):
        choice: Choice = replace(found.choice, wells={"W1": option})
        judged = judge(inputs, choice, rate_m_s=rate, whole=False, under_mound=under_mound)
        if not _fails(judged):
            out.append(judged.takeoff.excavation_m3)
    return out


@pytest.mark.parametrize(("seed", "count"), list(enumerate(COUNTS)), ids=str)
def test_no_choice_that_passes_digs_less(
    seed: int, count: str | None, house: Document, read_job: Callable[..., Any], rules_with: Rules
) -> None:
    """``None``: as by default, the soil's own conductivity with the office's bottom and half sides beside it."""
    document = _random_house(house, seed)
    if count is not None:
        document.setdefault("wells", {}).setdefault("W1", {})["soakage"] = count
    hours = random.Random(seed).choice(["20 h", "36 h", "60 h"])
    inputs, rate = _inputs(
        document, rules_with(hours_to_empty=hours, soakage="bottom and half sides"), read_job
    )
    found, tried = search(inputs, rate_m_s=rate)
    passing = _passing(inputs, rate, found)
    assert bool(passing) == (not _fails(found))
    if passing:
        assert found.takeoff.excavation_m3 <= min(passing) * (1 + 1e-9)
    assert len(tried) <= 14


def test_the_search_gets_out_of_a_mound(
    house: Document, read_job: Callable[..., Any], design_of: Callable[..., Design], rules_with: Rules
) -> None:
    """Where the mound stands in the well that digs least, the one that digs least of those it stays under is found."""
    document = _random_house(house, 3)
    document["soil"]["saturated_thickness"] = "12 ft"
    document["soil"]["specific_yield"] = "20 %"
    document["soil"]["horizontal_conductivity"] = "2 in/h"
    document["settings"] = {"most_bodies": 3}
    document["rain"].pop("shipped_record")
    folder = rules_with(separation=None)
    plain = design_of(document, folder)
    (well,) = plain.scheme.wells
    mound = plain.behaviour.wells[0].mound
    assert mound is not None
    high = well.bottom_m - 0.8 * mound.rise_m
    document["soil"]["seasonal_high_water"] = f"{high / 0.3048:.2f} ft"
    inputs, rate = _inputs(document, folder, read_job)
    before, _ = search(inputs, rate_m_s=rate)
    assert mound_stands_in_a_well(judge(inputs, before.choice, rate_m_s=rate, whole=False, under_mound=True))
    made = design_of(document, folder)
    finding = next(f for answer in made.answers for f in answer.findings if f.code == "mound-below-well")
    passing = _passing(inputs, rate, before, under_mound=True)
    assert passing and finding.verdict in ("good", "close")
    assert (
        made.scheme.wells[0].bottom_m > well.bottom_m
        or made.takeoff.excavation_m3 > plain.takeoff.excavation_m3
    )
    assert made.takeoff.excavation_m3 <= min(passing) * 1.02


def test_both_counts_are_judged_and_the_answer_is_adopted(
    house: Document, design_of: Callable[..., Design], rules_with: Rules
) -> None:
    document = _random_house(house, 1)
    folder = rules_with(soakage="bottom and half sides", hours_to_empty="60 h")
    made = design_of(document, folder)
    (well,) = made.scheme.wells
    assert well.soakage in ("three-dimensional", "unit gradient")
    assert well.office_soakage == "bottom and half sides"
    held = {f.subject: f for answer in made.answers for f in answer.findings if f.code == "storm-held"}
    assert set(held) == {"W1", "W1 by the office's count"}
    assert held["W1 by the office's count"].source == "rule-file" != held["W1"].source
    again = design_of(adopt(document, made), folder)
    assert [f.value_text for answer in again.answers for f in answer.findings if f.code == "storm-held"] == [
        f.value_text for f in held.values()
    ]


def test_what_the_office_does_not_prescribe_may_be_set_aside_and_the_law_not(
    house: Document, design_of: Callable[..., Design], rules_with: Rules
) -> None:
    document = _random_house(house, 1)
    document["wells"] = {
        "W1": {"at": ["38 ft", "92 ft"], "bodies": 1, "body_diameter": "24 in", "body_height": "30 in"}
    }
    document["overrules"] = [
        {
            "check": "storm-held",
            "reason": "the lawn may flood",
            "who": "an invented owner",
            "date": "2026-05-02",
        }
    ]
    made = design_of(document, rules_with(soakage="bottom"))
    held = {f.subject: f for answer in made.answers for f in answer.findings if f.code == "storm-held"}
    assert {f.verdict for f in held.values()} == {"fails"}
    assert held["W1"].overruled is not None
    assert held["W1 by the office's count"].overruled is None


def test_without_a_conductivity_the_faces_are_assumed_and_say_why(
    house: Document, design_of: Callable[..., Design], rules_with: Rules
) -> None:
    made = design_of(house, rules_with(soakage=None))
    said = next(item for item in made.assumed if item.path == "W1.soakage")
    assert said.text == "bottom and sides" and "no test gives the soil's conductivity" in said.what
    finding = next(f for answer in made.answers for f in answer.findings if f.code == "storm-held")
    assert "W1.soakage" in finding.assumed
