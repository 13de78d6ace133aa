"""The answer to an edit at once: what it works out is what the whole answer works out, and what it lends is said.

The whole answer is the other way to the same figures: it searches for sizes and ways anew and lends nothing.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely

from roofwell import checks, examples
from roofwell.checks.finding import Finding
from roofwell.checks.slow import LOOKED_AT
from roofwell.design import AtOnce, Standing, at_once, stand
from roofwell.job.reading import read, read_file
from roofwell.job.write import with_leaf
from roofwell.system import rainfall, well_rain, well_record, well_storms
from roofwell.system.behaviour import Behaviour
from roofwell.system.scheme import Scheme

SAME_WAYS = {
    "a name": ("job.customer", "An invented owner of a house"),
    "a roof": ("roofs.R1.pitch", "5.5 in 12"),
    "a gutter": ("gutters.G1.length", "45 ft"),
    "the soil": ("soil.auger_tests[0].readings[3].water_end", "58.2 in"),
    "the ground": ("survey.readings[15].rod", 5.37),
}


@cache
def _stood(name: str) -> tuple[dict[str, Any], Standing]:
    reading = read_file(examples.path(name))
    assert reading.job is not None
    return dict(reading.document), stand(reading.job, folder=reading.folder, document=reading.document)


def _edited(name: str, *leaves: tuple[str, Any]) -> tuple[AtOnce | None, Standing]:
    """Both answers to an edit of an example."""
    document, before = _stood(name)
    for path, value in leaves:
        changed = with_leaf(document, path, value)
        assert changed is not None
        document = changed
    folder = examples.path(name).parent
    reading = read(document, folder=folder)
    assert reading.job is not None and not reading.problems
    once = at_once(reading.job, before, folder=folder, document=reading.document)
    return once, stand(reading.job, folder=folder, document=reading.document)


def _told(findings: tuple[Finding, ...], without: tuple[str, ...]) -> list[str]:
    return [repr(finding) for finding in findings if finding.code not in without]


@pytest.mark.parametrize("kind", SAME_WAYS)
def test_what_is_not_lent_is_what_the_whole_answer_says(kind: str) -> None:
    once, whole = _edited("bungalow", SAME_WAYS[kind])
    assert once is not None
    assert whole.judged.choice.wells == once.standing.judged.choice.wells
    assert _told(once.standing.judged.findings, once.of_before) == _told(
        whole.judged.findings, once.of_before
    )
    assert once.standing.design.fingerprint == whole.design.fingerprint
    assert once.standing.judged.takeoff == whole.judged.takeoff


@pytest.mark.parametrize("kind", SAME_WAYS)
def test_what_is_found_again_of_storms_and_record_is_what_running_them_gives(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    document, before = _stood("bungalow")
    changed = with_leaf(document, *SAME_WAYS[kind])
    assert changed is not None
    folder = examples.path("bungalow").parent
    job = read(changed, folder=folder).job
    assert job is not None
    found = [at_once(job, before, folder=folder) for _ in range(2)]
    for module, name in ((well_storms, "_pass_freely"), (well_record, "_freely"), (well_rain, "_fill_time")):
        monkeypatch.setattr(module, name, getattr(module, name).__wrapped__)
    ran = at_once(job, before, folder=folder)
    assert ran is not None and ran.standing.judged.behaviour.wells[0].record is not None
    for other in found:
        assert other is not None
        assert repr(other.standing.judged.behaviour) == repr(ran.standing.judged.behaviour)


@pytest.mark.parametrize("name", examples.names())
def test_without_an_edit_all_is_as_it_was(name: str) -> None:
    once, whole = _edited(name)
    assert once is not None
    assert repr(once.standing.design.answers) == repr(whole.design.answers)
    assert once.standing.design.open_sizes == whole.design.open_sizes


def test_a_moved_downspout_takes_its_pipe_along_and_no_pipe_goes_through_the_house() -> None:
    once, _ = _edited("bungalow", ("downspouts.D3.at", ["57 ft", "74.4 ft"]))
    assert once is not None
    scheme, (house,) = once.standing.design.scheme, once.standing.inputs.survey.buildings
    (run,) = [run for run in scheme.runs if run.from_id == "D3"]
    place = next(spout.at for spout in scheme.downspouts if spout.id == "D3")
    assert run.path[0] == place == pytest.approx((57 * 0.3048, 74.4 * 0.3048))
    wall = shapely.Polygon(house.outline)
    for run in scheme.runs:
        assert shapely.LineString(run.path).intersection(wall).length < 0.01


def test_a_well_moved_behind_the_house_is_reached_round_it() -> None:
    """The way of before would go through the house: another one is looked for."""
    once, _ = _edited("bungalow", ("wells.W1.at", ["38 ft", "22 ft"]))
    assert once is not None
    (house,) = once.standing.inputs.survey.buildings
    wall = shapely.Polygon(house.outline)
    for run in once.standing.design.scheme.runs:
        assert shapely.LineString(run.path).intersection(wall).length < 0.01


@pytest.mark.parametrize(
    "leaves",
    [
        [("wells.W2.at", ["60 ft", "100 ft"])],
        [("wells.W1.body_diameter", "12 in")],
    ],
    ids=["a well more", "a size given that was not chosen"],
)
def test_nothing_is_lent_where_it_would_not_fit(leaves: list[tuple[str, Any]]) -> None:
    document, before = _stood("bungalow")
    for path, value in leaves:
        changed = with_leaf(document, path, value)
        assert changed is not None
        document = changed
    job = read(document, folder=examples.path("bungalow").parent).job
    assert job is not None
    once = at_once(job, before, folder=examples.path("bungalow").parent, document=document)
    assert once is None


def test_nothing_is_lent_once_the_soil_is_known_no_more() -> None:
    document, before = _stood("bungalow")
    document = {**document, "soil": {k: v for k, v in document["soil"].items() if k != "auger_tests"}}
    folder = examples.path("bungalow").parent
    job = read(document, folder=folder).job
    assert job is not None
    assert at_once(job, before, folder=folder, document=document) is None


def test_where_a_mound_holds_a_well_back_its_storms_are_lent_and_said_to_be() -> None:
    """High water 7 ft down: the mound reaches W1, and a storm routed without it would look held that is not."""
    document, _ = _stood("bungalow")
    document = {**document, "soil": {**document["soil"], "seasonal_high_water_depth": "7 ft"}}
    folder = examples.path("bungalow").parent
    job = read(document, folder=folder).job
    assert job is not None
    before = stand(job, folder=folder, document=document)
    once = at_once(job, before, folder=folder, document=document)
    assert once is not None
    free = rainfall.behave(
        before.judged.scheme, before.inputs.survey, rate_m_s=before.rate_m_s, record=before.inputs.record
    )
    (well,), (without,) = before.judged.behaviour.wells, free.wells
    assert well.critical is not None and without.critical is not None
    assert without.critical.spilled_m3 == 0.0 < well.critical.spilled_m3
    assert _told(once.standing.judged.findings, ()) == _told(before.judged.findings, ())
    assert {"storm-held", "water-in-storm"} <= set(once.of_before)
    _, free_of_water = _stood("bungalow")
    once = at_once(free_of_water.design.job, free_of_water, folder=folder)
    assert once is not None and "storm-held" not in once.of_before


def _without(part: str, scheme: Scheme, behaviour: Behaviour) -> tuple[Scheme, Behaviour]:
    if part == "level_conflicts":
        return replace(scheme, level_conflicts=()), behaviour
    if part == "mound":
        wells = tuple(replace(well, mound=None) for well in behaviour.wells)
        return scheme, replace(behaviour, wells=wells, lifts=())
    if part == "held_storms":
        storms = {"storms": (), "critical": None, "record": None}
        levels = tuple(replace(level, storm_m=None) for level in behaviour.levels)
        wells = tuple(replace(well, **storms) for well in behaviour.wells)
        return scheme, replace(behaviour, wells=wells, levels=levels, record=None, surfacing=())
    return scheme, replace(behaviour, **{part: None})


@pytest.mark.parametrize("part", LOOKED_AT)
@pytest.mark.parametrize("name", examples.names())
def test_only_the_checks_that_are_named_look_at_what_is_lent(name: str, part: str) -> None:
    """Take a part away: no finding of another check may change, for a page would show it as worked out."""
    _, standing = _stood(name)
    now = standing.judged

    def findings(scheme: Scheme, behaviour: Behaviour) -> dict[str, list[str]]:
        context = checks.Context(
            standing.inputs.job, standing.inputs.survey, scheme, behaviour, now.low, now.high, now.takeoff
        )
        out: dict[str, list[str]] = {}
        for answer in checks.answer_all(context):
            for finding in answer.findings:
                out.setdefault(finding.code, []).append(repr(finding))
        return out

    was, without = findings(now.scheme, now.behaviour), findings(*_without(part, now.scheme, now.behaviour))
    moved = {code for code in was.keys() | without.keys() if was.get(code) != without.get(code)}
    assert moved <= set(LOOKED_AT[part])
