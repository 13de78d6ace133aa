"""The shipped examples: each reads clean, designs, and says what its story promises.

The verdicts expected here are promises of the examples' own stories, written down by hand; the figures in
the examples are invented.
"""

from __future__ import annotations

import copy
import functools
from collections.abc import Iterator
from typing import Any

import pytest

from roofwell import examples, job
from roofwell.design import Design, adopt, complete, design
from roofwell.job.reading import Reading

NAMES = examples.names()
KEYED = (
    "buildings", "roofs", "gutters", "downspouts", "features", "wyes", "runs", "basins", "wells", "overflows",
    "outlets",
)  # fmt: skip

GOOD_OR_CLOSE = {"good", "close"}
PATTERNS: dict[str, dict[int, set[str | None]]] = {
    "bungalow": dict.fromkeys(range(1, 8), GOOD_OR_CLOSE),
    "terrace": dict.fromkeys(range(1, 8), GOOD_OR_CLOSE),
    "sloping-lot": dict.fromkeys((1, 2, 3, 4, 6, 7), GOOD_OR_CLOSE) | {5: {None}},
    "old-system": {1: {"good"}, 7: {"good"}} | {question: {"fails"} for question in range(2, 7)},
    "side-yard": dict.fromkeys(range(1, 8), GOOD_OR_CLOSE),
    # 3: the frost depth was not given, and ice may close the hood; 4: how fine the soil is was not said
    # its water stands in spring, and how high the groundwater comes nobody measured: the cause is open (question 1)
    "nothing-below-ground": {2: GOOD_OR_CLOSE} | {question: {"unknown"} for question in (1, 3, 4, 5, 7)},
}


@functools.cache
def read(name: str) -> Reading:
    return job.read_file(examples.path(name))


@functools.cache
def designed(name: str) -> Design:
    reading = read(name)
    return design(reading.job, folder=reading.folder)


def findings(made: Design) -> list[tuple[str, str, str, str]]:
    return [(f.code, f.subject, f.verdict, f.value_text) for answer in made.answers for f in answer.findings]


def test_names_and_paths() -> None:
    assert len(NAMES) == 6
    assert all(examples.path(name).is_file() for name in NAMES)
    with pytest.raises(ValueError, match="bungalow"):
        examples.path("../bungalow")


@pytest.mark.parametrize("name", NAMES)
def test_reads_without_a_problem(name: str) -> None:
    assert read(name).problems == ()


@pytest.mark.parametrize("name", NAMES)
def test_says_that_it_is_invented(name: str) -> None:
    reading = read(name)
    assert reading.job.job.invented is True
    assert "invented" in (reading.job.job.name or "")
    office = designed(name).survey.rules
    assert office is not None
    assert office.invented is True
    assert "(invented)" in office.office
    assert examples.path(name).read_text(encoding="utf-8").startswith("# An invented ")


@pytest.mark.parametrize("name", NAMES)
def test_is_no_two_downspout_job_with_one_small_well(name: str) -> None:
    assert len(read(name).job.downspouts) >= 3


@pytest.mark.parametrize("name", NAMES)
def test_answers_as_its_story_says(name: str) -> None:
    made = designed(name)
    assert [answer.question for answer in made.answers] == list(range(1, 10))
    for question, allowed in PATTERNS[name].items():
        answer = made.answer(question)
        assert answer.verdict in allowed, (question, answer.sentence)
    assert made.answer(8).verdict is None
    assert made.answer(9).verdict is None


def test_bungalow_leaves_the_well_to_be_designed_and_may_be_dug_from() -> None:
    given = read("bungalow").job.wells["W1"]
    assert given.at is not None
    assert given.bodies is given.body_diameter is given.stone is given.pit_width is None
    made = designed("bungalow")
    assert made.scheme.origin["W1.bodies"] == "designed"
    assert made.waits == ()
    assert made.survey.rain.table_of_this_place
    assert made.survey.rain.record_of_this_place is False
    assert made.survey.level_book is not None


def test_terrace_sends_only_its_front_to_the_street() -> None:
    scheme = designed("terrace").scheme
    assert [spout.id for spout in scheme.upstream_downspouts("E1")] == ["D1"]
    assert [spout.id for spout in scheme.upstream_downspouts("W1")] == ["D2", "D3"]


def test_sloping_lot_has_no_well() -> None:
    scheme = designed("sloping-lot").scheme
    assert scheme.wells == ()
    assert len(scheme.upstream_downspouts("E1")) == 4
    # 830 + 830 + 60 sq ft: the dormer sheds on R2
    assert sum(spout.roof_area_m2 for spout in scheme.downspouts) == pytest.approx(1720 * 0.3048**2)


def test_old_system_is_given_in_full_and_fails_where_it_should() -> None:
    made = designed("old-system")
    assert len(made.candidates) == 1
    designed_parts = {
        path.partition(".")[0] for path, origin in made.scheme.origin.items() if origin == "designed"
    }
    assert designed_parts & {"P1", "P2", "P3", "P4", "P5", "P6", "B1", "O1"} == set()
    failing = {(code, subject) for code, subject, verdict, _ in findings(made) if verdict == "fails"}
    assert {
        ("storm-held", "W1"),
        ("no-standing-water", "P5"),
        ("overflow-capacity", "O1"),
        ("pipe-cover", "P1"),
        ("water-below-grate", "B1"),
        ("basin-sump", "B1"),
    } <= failing


def test_side_yard_is_one_trench_along_the_strip() -> None:
    made = designed("side-yard")
    (well,) = made.scheme.wells
    assert (well.body, well.bodies, made.scheme.origin["W1.body_length_m"]) == (
        "perforated pipe",
        1,
        "designed",
    )
    assert well.pit_length_m > 5 * well.pit_width_m
    assert made.waits == ()
    holes = next(f for f in made.answer(3).findings if f.code == "body-holes")
    assert holes.verdict == "good"


def test_nothing_below_ground_gives_a_range_of_wells() -> None:
    made = designed("nothing-below-ground")
    assert made.scheme_large is not None
    assert made.open_sizes is not None
    # in the fastest soil two bodies of 24 in dig 0.4 % less than one in more stone
    assert made.open_sizes.startswith("two to four wells; the soil decides")
    missing = {item.leaf for answer in made.answers for f in answer.findings for item in f.missing}
    assert {"soil.rate", "soil.seasonal_high_water", "utilities", "features.septic"} <= missing
    held = next(f for f in made.answer(5).findings if f.code == "storm-held")
    assert held.low is not None
    assert held.high is not None
    assert held.low > held.high  # the slowest soil asks for most of the storage
    assert made.waits != ()


@pytest.mark.parametrize("name", NAMES)
def test_adopted_design_gives_the_same_findings(name: str) -> None:
    reading, made = read(name), designed(name)
    adopted = job.read(adopt(reading.document, made), folder=reading.folder)
    assert adopted.problems == ()
    again = design(adopted.job, folder=reading.folder, beyond=False)  # no finding rests on it
    assert findings(again) == findings(made)
    assert again.waits == made.waits


@pytest.mark.parametrize("name", NAMES)
def test_adopting_twice_changes_nothing(name: str) -> None:
    reading, made = read(name), designed(name)
    once = adopt(reading.document, made)
    again = design(job.read(once, folder=reading.folder).job, folder=reading.folder, beyond=False)
    assert adopt(once, again) == once


def _deletions() -> Iterator[tuple[str, tuple[str, ...]]]:
    for name in NAMES:
        document = read(name).document
        for section in document:
            if section != "document":
                yield name, (section,)
        # part by part in a designed house, a given one and a metric one: that alone takes minutes
        for table in KEYED if name in ("bungalow", "old-system", "terrace") else ():
            entries: Any = document.get(table, {})
            for id in entries:
                yield name, (table, id)


@pytest.mark.parametrize(
    ("name", "path"),
    list(_deletions()),
    ids=lambda value: value if isinstance(value, str) else ".".join(value),
)
def test_anything_left_out_still_gives_nine_answers(
    name: str, path: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(complete, "MOST_TRIES", 1)  # one Scheme will do: not the search is tested here
    reading = read(name)
    document: dict[str, Any] = copy.deepcopy(dict(reading.document))
    table: dict[str, Any] = document
    for key in path[:-1]:
        table = table[key]
    del table[path[-1]]
    # what lies beyond the design storm rests on the same Scheme: two examples, a section at a time, show it
    beyond = len(path) == 1 and name in ("bungalow", "old-system")
    made = design(job.read(document, folder=reading.folder).job, folder=reading.folder, beyond=beyond)
    assert [answer.question for answer in made.answers] == list(range(1, 10))
    assert all(answer.sentence for answer in made.answers)
    for answer in made.answers:
        for finding in answer.findings:
            assert finding.verdict != "unknown" or finding.missing, finding


@pytest.mark.parametrize(
    ("name", "section", "leaf"),
    [
        ("bungalow", "soil", "soil.rate"),
        ("bungalow", "soil", "soil.seasonal_high_water"),
        ("bungalow", "utilities", "utilities"),
        ("bungalow", "survey", "survey.ground"),
        ("bungalow", "place", "place.rules"),
        ("bungalow", "wells", "wells.at"),
        ("bungalow", "buildings", "buildings.lowest_opening"),
        ("bungalow", "overflows", "overflow.destination"),
        ("terrace", "rain", "rain.place"),
        ("terrace", "roofs", "roofs"),
        ("terrace", "site", "features.septic"),
        ("sloping-lot", "place", "rain.storm"),
        ("sloping-lot", "outlets", "site.outlet"),
        ("old-system", "features", "features.lot_line"),
    ],
)
def test_what_is_left_out_is_named(
    name: str, section: str, leaf: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(complete, "MOST_TRIES", 1)
    reading = read(name)
    document = {key: value for key, value in reading.document.items() if key != section}
    made = design(job.read(document, folder=reading.folder).job, folder=reading.folder, beyond=False)
    missing = {item.leaf for answer in made.answers for f in answer.findings for item in f.missing}
    assert leaf in missing


def test_missing_lip_of_an_existing_well_is_not_adopted() -> None:
    """A measurement that is missing stays missing: adopting must not turn ``unknown`` into ``good``."""
    reading = read("old-system")
    document = {key: value for key, value in reading.document.items() if key != "overflows"}
    made = design(job.read(document, folder=reading.folder).job, folder=reading.folder)
    adopted = adopt(document, made)
    assert "lip" not in adopted["overflows"]["O1"]
    again = design(job.read(adopted, folder=reading.folder).job, folder=reading.folder)
    assert findings(again) == findings(made)
    assert any(f.verdict == "unknown" for f in again.answer(6).findings)


def test_a_run_and_a_part_that_disagree_are_told_and_never_raise() -> None:
    reading = read("old-system")
    document: dict[str, Any] = copy.deepcopy(dict(reading.document))
    document["basins"]["B1"]["inlet_height"] = "1 ft"  # P5 arrives 0.6 ft over the floor: 0.4 ft lower
    made = design(job.read(document, folder=reading.folder).job, folder=reading.folder)
    gap = next(item for item in made.scheme.broken if item.kind in ("agreement-with-B1", "node-drop:B1"))
    assert gap.run == "P5"
    assert gap.short_m == pytest.approx(0.4 * 0.3048)
    assert next(f for f in made.answer(2).findings if f.code == "levels-fit").verdict == "fails"
