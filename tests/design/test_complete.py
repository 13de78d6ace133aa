"""What is left out is designed, smallest first; what is given is kept; what cannot be met says what binds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from roofwell.design import Design, adopt, design
from roofwell.design.complete import search
from roofwell.design.judging import Inputs, design_rate_m_s, judge
from roofwell.design.ladder import well_options
from roofwell.papers import results_json
from roofwell.system.choice import Choice
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
Rules = Callable[..., Path]
Designer = Callable[..., Design]
IN = 0.0254


def _fails(design: Design) -> set[str]:
    return {f.code for answer in design.answers for f in answer.findings if f.verdict == "fails"}


def test_the_small_house_is_designed_and_meets_everything(small_house: Design) -> None:
    assert _fails(small_house) == set()
    assert small_house.waits == ()
    assert small_house.open_sizes is None
    assert small_house.scheme_large is None
    assert any(candidate.meets for candidate in small_house.candidates)


def test_what_was_left_out_is_marked_designed_and_what_was_given_given(small_house: Design) -> None:
    origin = small_house.scheme.origin
    (run,) = small_house.scheme.runs_to("W1")
    for path in ("W1.body_diameter_m", "W1.bottom_m", "W1.bodies", f"{run.id}.inside_diameter_m",
                 f"{run.id}.upstream_invert_m", "B1.at", "O1.diameter_m"):  # fmt: skip
        assert origin[path] == "designed", path
    for path in ("W1.at", "O1.lip_m", "D1.width_m", "G1.depth_m"):
        assert origin[path] == "given", path
    assert origin["W1.voids"] == "assumed"


def test_a_design_that_leaves_nothing_out_is_not_changed(
    house: Document, small_house: Design, design_of: Designer
) -> None:
    given = adopt(house, small_house)
    again = design_of(given)
    assert len(again.candidates) == 1
    assert "designed" not in {
        again.scheme.origin[f"{well.id}.{name}"]
        for well in again.scheme.wells
        for name in ("body_diameter_m", "body_height_m", "bottom_m", "bodies", "at")
    }
    for name in ("wells", "runs", "basins", "overflows", "downspouts", "wyes"):
        before, after = getattr(small_house.scheme, name), getattr(again.scheme, name)
        assert [part.id for part in before] == [part.id for part in after]
    for before, after in zip(small_house.scheme.wells, again.scheme.wells, strict=True):
        assert (after.bodies, after.stone) == (before.bodies, before.stone)
        for name in ("bottom_m", "pit_width_m", "pit_length_m", "body_diameter_m", "lip_m"):
            assert getattr(after, name) == pytest.approx(getattr(before, name), abs=1e-9)
    for before, after in zip(small_house.scheme.runs, again.scheme.runs, strict=True):
        assert after.upstream_invert_m == pytest.approx(before.upstream_invert_m, abs=1e-9)
        assert after.nominal_m == before.nominal_m


def test_adopted_levels_that_do_not_fit_are_judged_in_the_same_words(
    house: Document, design_of: Designer
) -> None:
    """A run given uphill: 95.4 ft up to 95.7 ft; what the search put nearest to it is no wish of the job."""
    house["wyes"] = {"Y1": {"at": ["22 ft", "74 ft"]}}
    house["basins"] = {"B1": {"at": ["38 ft", "82 ft"]}}
    house["runs"] = {
        "P1": {"from": "D1", "to": "Y1"},
        "P2": {"from": "Y1", "to": "B1", "upstream_invert": "95.4 ft", "downstream_invert": "95.7 ft"},
        "P3": {"from": "D2", "to": "Y1"},
    }
    first = design_of(house)
    assert "levels-fit" in _fails(first)
    given = adopt(house, first)
    assert "upstream_invert" not in given["runs"]["P1"]
    assert given["runs"]["P2"]["upstream_invert"] == "95.4 ft"

    def told(one: Design) -> list[tuple[str, str, str]]:
        return [(f.subject, f.value_text, f.sentence) for f in one.answer(2).findings]

    assert told(design_of(given)) == told(first)


@pytest.mark.parametrize(
    ("change", "path", "value"),
    [
        ({"body_diameter": "18 in"}, "body_diameter_m", 18 * IN),
        ({"bodies": 4}, "bodies", 4),
        ({"stone_below": "12 in"}, "stone_below_m", 12 * IN),
    ],
)
def test_each_size_can_be_given_by_itself(
    change: Document, path: str, value: float, house: Document, design_of: Designer
) -> None:
    house["wells"]["W1"] |= change
    made = design_of(house)
    (well,) = made.scheme.wells
    assert getattr(well, path) == pytest.approx(value, rel=1e-12)
    assert made.scheme.origin[f"W1.{path}"] == "given"
    assert made.scheme.origin["W1.bottom_m"] == "designed"


def _judge_all(house: Document, folder: Path, read_job: Callable[..., Any]) -> list[tuple[float, bool]]:
    """Judge every choice there is, whatever a search would skip."""
    job = read_job(house, folder)
    survey = make_survey(job, folder=folder)
    inputs = Inputs(job, replace(survey, missing=frozenset()), None, (None, None), ())
    rate = design_rate_m_s(survey, survey.soil.best_m_s)
    out = []
    for option in well_options(job, survey, "W1"):
        judged = judge(inputs, Choice({"W1": option}), rate_m_s=rate, whole=False)
        out.append((judged.takeoff.excavation_m3, all(f.verdict != "fails" for f in judged.findings)))
    return out


def test_no_choice_that_digs_notably_less_would_do(
    house: Document, design_of: Designer, read_job: Callable[..., Any], data_folder: Path
) -> None:
    """All choices of up to three bodies, judged one by one: the search finds the least digging within 5 %."""
    house["settings"] = {"most_bodies": 3}
    made = design_of(house)
    least = min(dug for dug, meets in _judge_all(house, data_folder, read_job) if meets)
    assert made.takeoff.excavation_m3 <= 1.05 * least
    tried = [c.excavation_m3 for c in made.candidates if c.meets]
    assert made.takeoff.excavation_m3 == pytest.approx(min(tried), rel=1e-9)


def test_a_slow_soil_is_met_by_a_lower_body_not_called_impossible(
    house: Document, design_of: Designer, rules_with: Rules
) -> None:
    """At 1 in/h and 28 h only the 30 in bodies drain in time, though higher ones hold the storm with less digging."""
    house["soil"]["rate"] = "1 in/h"
    house["roofs"]["R1"]["plan_area"] = "300 sq ft"
    house["roofs"]["R2"]["plan_area"] = "200 sq ft"
    folder = rules_with(hours_to_empty="28 h", soakage="bottom and half sides")
    made = design_of(house, folder)
    assert _fails(made) == set()
    assert made.scheme.wells[0].body_height_m == pytest.approx(30 * IN)


def test_the_cause_is_named_where_nothing_will_do(
    house: Document, design_of: Designer, rules_with: Rules
) -> None:
    made = design_of(house, rules_with(hours_to_empty="1 h"))
    assert not any(candidate.meets for candidate in made.candidates)
    assert _fails(made) == {"well-drain-down"}
    assert made.answer(5).verdict == "fails"
    told = [words for words in made.waits if words.startswith("5 Does it hold and soak away?")]
    assert any("W1" in words for words in told), made.waits
    nearest = [c for c in made.candidates if c.excavation_m3 == pytest.approx(made.takeoff.excavation_m3)]
    assert nearest
    assert "well-drain-down W1" in nearest[0].binding


def test_a_larger_roof_gets_a_larger_pipe(house: Document, small_house: Design, design_of: Designer) -> None:
    for roof in house["roofs"].values():
        roof["plan_area"] = "1600 sq ft"
    for gutter in house["gutters"].values():
        gutter |= {"top_width": "10 in", "bottom_width": "8 in", "depth": "8 in"}
    for spout in house["downspouts"].values():
        spout |= {"width": "8 in", "breadth": "8 in"}
    house["soil"]["rate"] = "60 in/h"
    made = design_of(house)
    (before,), (after,) = small_house.scheme.runs_to("W1"), made.scheme.runs_to("W1")
    assert after.nominal_m > before.nominal_m
    flow = made.behaviour.run(after.id)
    assert flow.full_m3_s >= flow.peak_m3_s
    # A pipe never shrinks downstream.
    for run in made.scheme.runs:
        for feeder in made.scheme.runs_to(run.from_id):
            assert feeder.nominal_m <= run.nominal_m + 1e-9


def test_unknown_soil_leaves_the_sizes_open(house: Document, design_of: Designer) -> None:
    house["soil"] = {"texture": "sandy loam", "seasonal_high_water": "84 ft"}
    made = design_of(house)
    assert made.scheme_large is not None
    assert made.open_sizes is not None
    assert "the soil decides" in made.open_sizes
    assert made.takeoff_large is not None
    assert made.takeoff.excavation_m3 <= made.takeoff_large.excavation_m3
    held = next(f for f in made.answer(5).findings if f.code == "storm-held")
    assert held.verdict == "unknown"
    assert {m.leaf for m in held.missing} == {"soil.rate"}
    assert held.low >= held.high  # the slower soil asks for more storage
    assert any("infiltration rate" in words for words in made.waits)


def test_the_nearest_scheme_is_kept_as_it_was_judged(
    house: Document, data_folder: Path, read_job: Callable[..., Any]
) -> None:
    """Where nothing fits, the search goes on after the best: what it tries later must not change that choice."""
    house["soil"] |= {"rate": "0.05 in/h"}
    job = read_job(house, data_folder)
    survey = make_survey(job, folder=data_folder)
    rate = design_rate_m_s(survey, survey.soil.best_m_s)
    inputs = Inputs(job, replace(survey, missing=frozenset()), None, (None, None), ())
    found, tried = search(inputs, rate_m_s=rate)
    assert len(tried) > 1
    again = judge(inputs, found.choice, rate_m_s=rate, whole=False)
    assert [well.bodies for well in again.scheme.wells] == [well.bodies for well in found.scheme.wells]
    assert again.takeoff.excavation_m3 == pytest.approx(found.takeoff.excavation_m3, rel=1e-9)


def test_what_nothing_meets_does_not_make_a_well_smaller(house: Document, design_of: Designer) -> None:
    """No well empties in an hour: the one shown holds the storm all the same, as it would without that wish."""
    house["targets"] = {"hours_to_empty": "1 h"}
    made = design_of(house)
    assert _fails(made) == {"well-drain-down"}


def test_ends_of_a_range_that_take_one_size_say_so(house: Document, design_of: Designer) -> None:
    """Nothing given is left to the soil: the words must not say that it decides how large the well is."""
    given = adopt(house, design_of(house))
    given["soil"] = {"texture": "sandy loam", "seasonal_high_water": "84 ft"}
    made = design_of(given)
    assert made.scheme_large is not None and made.open_sizes is not None
    assert "decides" not in made.open_sizes
    assert made.takeoff_large is not None
    assert made.takeoff.excavation_m3 == pytest.approx(made.takeoff_large.excavation_m3, rel=1e-9)


def test_nothing_is_promised_where_even_the_place_is_missing(house: Document, design_of: Designer) -> None:
    """Without soil and place there is still a range of sizes, on stand-ins, and every need is named."""
    house["soil"] = {}
    house["wells"]["W1"].pop("at")
    made = design_of(house)
    assert made.open_sizes is not None
    assert made.takeoff.excavation_m3 < made.takeoff_large.excavation_m3
    assert made.scheme.origin["W1.at"] == "missing"
    missing = {m.leaf for answer in made.answers for f in answer.findings for m in f.missing}
    assert {"soil.rate", "soil.seasonal_high_water", "wells.at"} <= missing


SECTIONS = ["place", "rain", "buildings", "roofs", "gutters", "downspouts", "survey", "features", "site",
            "utilities", "soil", "wells", "overflows"]  # fmt: skip


@pytest.mark.parametrize("section", SECTIONS)
def test_nine_answers_whatever_is_left_out(section: str, house: Document, design_of: Designer) -> None:
    """Deleting any optional section still gives nine answers; every unknown names a measurement."""
    house.pop(section)
    if section == "wells":
        house.pop("overflows")
    if section == "gutters":
        for part in (*house["roofs"].values(), *house["downspouts"].values()):
            part.pop("gutter")
    made = design_of(house)
    assert [answer.question for answer in made.answers] == list(range(1, 10))
    for answer in made.answers:
        assert answer.sentence
        for finding in answer.findings:
            if finding.verdict == "unknown":
                assert finding.missing, (finding.code, finding.subject)
    assert results_json(made)
    verdicts = {finding.verdict for answer in made.answers for finding in answer.findings}
    assert verdicts & {"unknown", "fails"}


def test_the_same_job_gives_the_same_results_to_the_bit(
    house: Document, small_house: Design, read_job: Callable[..., Any], data_folder: Path
) -> None:
    again = design(read_job(house), folder=data_folder, document=house)
    assert results_json(again) == results_json(small_house)
    assert again.fingerprint == small_house.fingerprint


def test_the_fingerprint_changes_with_the_document_and_the_rule_file(
    house: Document, small_house: Design, design_of: Designer, rules_with: Rules
) -> None:
    house["job"]["revision"] = "B"
    changed = design_of(house)
    assert changed.fingerprint != small_house.fingerprint
    assert design_of(house, rules_with(tree="9 ft")).fingerprint != changed.fingerprint


def _set_aside(check: str, subject: str | None = None) -> list[Document]:
    who = {"who": "the contractor (invented)", "date": date(2026, 5, 2)}
    return [
        {"check": check, "reason": "the owner wants it so"} | who | ({"subject": subject} if subject else {})
    ]


@pytest.mark.parametrize("subject", ["W1", None])
def test_an_overrule_keeps_the_verdict_and_lifts_the_stamp(
    subject: str | None, house: Document, design_of: Designer
) -> None:
    house["targets"] = {"hours_to_empty": "1 h"}  # the job's own wish, not the office's rule
    assert design_of(house).waits
    house["overrules"] = _set_aside("well-drain-down", subject)
    made = design_of(house)
    finding = next(f for f in made.answer(5).findings if f.code == "well-drain-down")
    assert finding.verdict == "fails"
    assert made.answer(5).verdict == "fails"
    assert finding.overruled is not None
    assert (finding.overruled.who, finding.overruled.date) == ("the contractor (invented)", "2026-05-02")
    assert made.waits == ()


def test_an_overrule_of_another_part_sets_nothing_aside(house: Document, design_of: Designer) -> None:
    house["targets"] = {"hours_to_empty": "1 h"}
    house["overrules"] = _set_aside("well-drain-down", "W2")
    assert design_of(house).waits


@pytest.mark.parametrize(
    ("check", "change"),
    [
        ("setback", {"lot_line": "60 ft"}),
        ("separation", {"separation": "30 ft"}),
        ("well-drain-down", {"hours_to_empty": "1 h"}),
        ("overflow-below-opening", {"freeboard": "4 ft"}),
        ("water-below-opening", {"freeboard": "4 ft"}),
    ],
)
def test_law_and_water_above_an_opening_are_never_set_aside(
    check: str, change: dict[str, str], house: Document, design_of: Designer, rules_with: Rules
) -> None:
    house["overrules"] = _set_aside(check)
    made = design_of(house, rules_with(**change))
    failing = [
        f for answer in made.answers for f in answer.findings if f.code == check and f.verdict == "fails"
    ]
    assert failing
    assert all(f.overruled is None for f in failing)
    assert made.waits


def test_open_sizes_name_both_prices_and_never_the_smallest_alone(
    house: Document, design_of: Designer
) -> None:
    del house["soil"]["rate"]
    made = design_of(house)
    assert made.takeoff_large is not None and made.takeoff.price is not None
    told = made.answer(8).sentence
    assert f"${made.takeoff.price:,.0f} to ${made.takeoff_large.price:,.0f}" in told
