"""What a reader with fresh eyes stumbled over: words, figures and drawings that must not contradict each other."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader

from roofwell import examples, job, tables
from roofwell.checks.care_words import care
from roofwell.design import Design, design
from roofwell.papers import PAPERS
from roofwell.papers.drawing.model import Label, Polyline, Ring
from roofwell.papers.drawing.pit_log import pit_log
from roofwell.papers.drawing.plan import plan
from roofwell.papers.drawing.profile import profile
from roofwell.papers.drawing.troubles import rings_at
from roofwell.papers.drawing.way_over_ground import way_over_ground
from roofwell.papers.drawing.well_section import well_section
from roofwell.papers.set import contents, make_set, make_short_set, set_data, short_data
from roofwell.papers.set.in_short import in_short
from roofwell.papers.set.pictures import pictures
from roofwell.papers.texts import Say, first_sentence, without_keys

from . import house

FT = 0.3048
EXAMPLES = ("bungalow", "terrace", "sloping-lot", "old-system", "nothing-below-ground", "side-yard")


@cache
def shipped(name: str) -> Design:
    read = job.read_file(examples.path(name))
    assert read.job is not None
    return design(read.job, folder=read.folder)


@cache
def sides_of(name: str) -> tuple[str, ...]:
    pages = PdfReader(io.BytesIO(make_set(shipped(name)))).pages
    return tuple(" ".join(page.extract_text().split()) for page in pages)


def findings(name: str, code: str) -> list[Any]:
    return [f for a in shipped(name).answers for f in a.findings if f.code == code]


# ---------------------------------------------------------------------------------------- words


def test_how_to_measure_names_no_key_of_the_document() -> None:
    rows = tables.rows("measurements")
    assert any(re.search(r"\b[a-z_]+\.[A-Za-z_]+", row["how"]) for row in rows)
    for row in rows:
        told = without_keys(row["how"])
        assert told and not re.search(r"\b[a-z_]+\.[A-Za-z_]+", told), (row["leaf"], told)
        assert row["how"].startswith(told.split(",")[0][:20])


def test_how_to_measure_keeps_what_is_to_be_done() -> None:
    """Read by eye from the table."""
    assert without_keys("dig by hand, then shoot its top: features.ID.top, as an elevation") == (
        "dig by hand, then shoot its top"
    )
    how = "name its texture (soil.texture), or sieve a bag: soil.passing_no_200, soil.grain_d85"
    assert without_keys(how) == "name its texture, or sieve a bag"
    assert without_keys("count faces: wells.ID.soakage; or take a test (soil.auger_tests) of it") == (
        "count faces; or take a test of it"
    )
    assert without_keys("stand at the wall: look both ways") == "stand at the wall: look both ways"


@pytest.mark.parametrize("name", EXAMPLES)
def test_side_one_has_no_key_of_the_document(name: str) -> None:
    words = re.sub(r"[\w-]+\.csv", "", sides_of(name)[0])
    assert not re.findall(r"\b(?:soil|site|place|runs|wells|basins|features|rain|settings)\.[a-z_]+", words)


def test_first_sentence_does_not_stop_at_a_figure() -> None:
    assert first_sentence("P1 lies 9.9 in deep. Raise the lawn.") == "P1 lies 9.9 in deep."
    assert first_sentence("One sentence only") == "One sentence only"


def test_the_black_box_says_sentences() -> None:
    band = contents.band(shipped("old-system"))
    assert band is not None
    for line in band["waits"]:
        question, _, told = line.partition("? ")
        assert question[0].isdigit() and told.endswith(".")
    carry = next(line for line in band["waits"] if line.startswith("3 "))
    failing = [f for f in shipped("old-system").answer(3).findings if f.verdict == "fails"]
    assert "grate of B1" in carry and carry.endswith(f"{len(failing) - 1} more fail.")


def test_measurements_that_are_missing_stay_names_in_the_black_box() -> None:
    waits = ("7 Is it safe? lot line, septic tank", "7 Is it safe? P1 lies 9 in deep.")
    band = contents.band(house.design(waits=waits))
    assert band is not None and band["waits"] == ["7 Is it safe? P1 lies 9 in deep. lot line; septic tank"]


def test_side_one_names_parts_and_says_what_is_wanted() -> None:
    rows = {row["number"]: row for row in contents.answers(shipped("bungalow"))}
    assert rows["3"]["of"] == "from the water up to the lowest opening of the house"
    assert rows["5"]["of"] == "what the hardest storm asks of W1" and rows["7"]["of"] == "W1 to building"
    assert rows["2"]["limit"] == "wanted: nothing missing" and rows["3"]["limit"].startswith("at least ")


def test_the_homeowners_paper_begins_with_what_is_built() -> None:
    """The counts are read in the examples' documents: four downspouts, one basin with a hood, one well of four bodies."""
    told = in_short(shipped("bungalow"))
    assert told.startswith(
        "What is wrong: water stands for hours after rain, along the back wall, by the kitchen door. "
        "Rain from 1,380 sq ft of roof comes down 4 downspouts and runs through buried pipe and the"
    )
    for words in (
        "catch basin B1, whose hood keeps leaves back,",
        "dry well W1 (4 well bodies in stone",
        "soaks into",
    ):
        assert words in told
    assert told.endswith(
        "When W1 is full, its water comes out at O1: over the back lawn to the swale along the back lot line."
    )
    dry = in_short(shipped("sloping-lot"))
    assert "the outlet E1 (daylight): " in dry and "well" not in dry and "soaks" not in dry
    assert "The size is still open: two to four wells;" in in_short(shipped("nothing-below-ground"))
    assert "hood" not in in_short(shipped("old-system"))
    for name in EXAMPLES:
        assert in_short(shipped(name)) == short_data(shipped(name))["in_short"] != ""
        assert set_data(shipped(name))["in_short"] == ""


def test_sentences_of_the_nine_answers_keep_the_mathematics_in_their_detail() -> None:
    for name in EXAMPLES:
        for answer in shipped(name).answers:
            for said in (answer.sentence, *(finding.sentence for finding in answer.findings)):
                assert not re.search(
                    r"exponential|saturated|heuristic|graph of corners|\d rounds?\b|nobody said", said
                ), said
        mound = findings(name, "mound-below-well")
        assert all("exponentials" in one.detail for one in mound)


def test_every_number_says_what_it_is() -> None:
    for name in EXAMPLES:
        for answer in shipped(name).answers:
            for finding in answer.findings:
                part = finding.subject.split()[0]
                assert finding.value_of and "{}" not in finding.value_of, finding.code
                assert part in finding.value_of or not any(sign.isdigit() for sign in part), finding.code


def test_a_job_without_a_well_need_not_be_empty_again() -> None:
    assert "empty again" not in sides_of("sloping-lot")[0]
    assert "Must carry the cloudburst of the 25-year storm" in sides_of("sloping-lot")[0]
    assert "Must hold the 10-year storm (rule file) and be empty again in 48 h" in sides_of("bungalow")[0]


def test_a_rain_file_without_a_place_is_named_once() -> None:
    assert shipped("terrace").survey.rain.table_name == "terrace-rain.csv"


def test_question_nine_of_a_system_that_stands_says_how_to_see() -> None:
    assert shipped("old-system").answer(9).sentence.startswith("It stands already.")
    assert shipped("bungalow").answer(9).sentence == "Nothing to judge before it is built."


def test_the_range_of_storms_is_a_sentence() -> None:
    sentence = shipped("nothing-below-ground").answer(5).sentence
    assert re.search(r"In the slowest soil of its range W1 holds [^;]+; in the fastest, [^;]+\.$", sentence)


# ---------------------------------------------------------------------------------------- verdicts and figures


def test_what_governs_among_several_that_fail_is_what_the_question_asks() -> None:
    """Three: water that comes out at the grate, not pipe that stays wet. Four: leaves, not mosquitoes."""
    made = shipped("old-system")
    for question, code in ((3, "water-below-grate"), (4, "floating-kept")):
        governing = made.answer(question).governing
        assert governing is not None and (governing.verdict, governing.code) == ("fails", code)
    found = made.answer(3).governing
    assert found is not None and found.subject == "B1"
    level = next(one for one in made.behaviour.levels if one.id == "B1")
    over = (level.peak_m - level.limit_m) / 0.0254
    assert found.value_text == f"{over:.1f} in over" and "−" not in found.value_text
    assert "It comes out here: 44 gpm." in found.sentence


def test_an_order_of_heights_on_an_assumed_joint_says_so_and_is_close() -> None:
    (found,) = findings("side-yard", "order-of-heights")
    assert shipped("side-yard").scheme.origin["D3.joint_m"] == "assumed"
    assert "The joint of D3 is assumed, not shot: shoot it." in found.sentence
    assert found.verdict == "close" and found.spare / 0.0254 < 2.0
    (other,) = findings("bungalow", "order-of-heights")  # its smallest step has no joint in it
    assert other.verdict == "good" and "assumed" not in other.sentence


def test_a_sump_of_exactly_four_diameters_is_good() -> None:
    """110 mm x 4 = 440 mm: the rule asks it, and it is met."""
    (found,) = findings("terrace", "basin-sump")
    assert (found.value_text, found.limit_text, found.verdict) == ("440 mm", "at least 440 mm", "good")
    assert "the rule asks 4 times its 110 mm outlet" in found.sentence


@pytest.mark.parametrize("name", ["bungalow", "terrace", "old-system", "sloping-lot"])
def test_what_the_basin_is_said_to_keep_is_what_the_table_says(name: str) -> None:
    made = shipped(name)
    (found,) = findings(name, "basin-capture")
    debris = made.behaviour.debris
    basin = debris.basin("B1") if debris is not None else None
    assert basin is not None
    rain = min(basin.rains, key=lambda one: abs(one.intensity_m_s * 3.6e6 - 25.4))
    for kind in ("granules", "sand"):
        share = dict(rain.kept)[kind]
        assert f"{f'{100 * share:.0f} %' if share >= 0.005 else 'none'} of the {kind}" in found.sentence
    assert "stay" not in found.sentence


@pytest.mark.parametrize("name", ["bungalow", "terrace", "side-yard", "nothing-below-ground", "old-system"])
def test_nobody_is_called_before_the_hours_that_are_allowed(name: str) -> None:
    made = shipped(name)
    found = care(made.job, made.survey, made.scheme, made.behaviour)
    assert found is not None
    (call,) = [line for line in found.call if "still has water" in line]
    allowed = min(made.survey.targets.empty_s, 72 * 3600.0)
    assert f"still has water {Say(made.survey.style).time(allowed)} after it was full" in call


def test_the_mound_is_headed_by_the_figure_that_is_judged() -> None:
    (judged,) = findings("bungalow", "mound-below-well")
    heading = next(one.drawing.title for one in pictures(shipped("bungalow")) if "mound" in one.drawing.name)
    assert judged.value_text in heading
    assert any(judged.value_text in side and "Soaked water raises" in side for side in sides_of("bungalow"))


def test_levels_and_heights_are_told_in_decimals_as_on_side_one() -> None:
    data = set_data(shipped("bungalow"))
    rows = [row for way in data["levels"] for row in way["rows"]]
    assert rows and not any("/" in row["cover"] + row["depth"] for row in rows)
    (found,) = findings("bungalow", "order-of-heights")
    assert found.value_text in data["heights"]["rows"][0]["least"]


def test_emptying_that_is_worth_nothing_is_not_a_figure() -> None:
    for name in ("terrace", "side-yard", "bungalow"):
        age = set_data(shipped(name))["age"]
        assert not any(" 0.0 %" in line for line in age["care"])
        never = next(line for line in age["sentences"] if "never emptied" in line)
        kept = next(line for line in age["sentences"] if "emptied on time" in line)
        assert len(never) < len(kept)


def test_columns_without_a_word_are_left_out() -> None:
    text = " ".join(sides_of("bungalow"))
    assert "way out" in text and "keeps back" not in text
    assert "conductivity" in text and "to know" not in text
    assert "to know" in " ".join(sides_of("old-system"))  # its test has remarks


# ---------------------------------------------------------------------------------------- soil


def test_a_hole_that_ended_above_the_pit_is_told_beside_the_soil() -> None:
    """The side yard's auger went 40 in down, its pit goes deeper."""
    made = shipped("side-yard")
    (well,) = made.scheme.wells
    assert well.ground_m - well.bottom_m > 40 * 0.0254
    drawing = pit_log(made)
    assert drawing is not None and drawing.title == "Soil: log of the auger hole"
    said = "No test hole reached the bottom of the pit of W1: the deepest went 3.3 ft down"
    assert said in " ".join(drawing.notes)
    assert said in " ".join(set_data(made)["soil_tests"]["notes"])
    assert not any("No test hole" in note for note in set_data(shipped("bungalow"))["soil_tests"]["notes"])


# ---------------------------------------------------------------------------------------- drawings


def test_the_side_yard_spills_where_its_job_says() -> None:
    """To the back of the lot, 110 ft from the street, and not over the side line at 44 ft east."""
    made = shipped("side-yard")
    assert made.behaviour.overland is not None
    way = made.behaviour.overland.way("O1")
    assert way is not None and way.leaves_at is not None
    assert way.leaves_at[1] == pytest.approx(110 * FT, abs=0.02)
    assert way.leaves_at[0] < 43.5 * FT
    assert "to the back of the lot" in (made.scheme.overflows[0].destination or "")


@pytest.mark.parametrize("name", ["bungalow", "side-yard", "terrace"])
def test_storm_and_drawdown_have_a_line_where_the_stone_is_full(name: str) -> None:
    made = shipped(name)
    (well,) = made.scheme.wells
    full = well.stone_top_m - well.bottom_m
    assert full < well.lip_m - well.bottom_m
    for start in ("storm", "drawdown"):
        drawing = next(p.drawing for p in pictures(made) if p.drawing.name == f"{start}-W1")
        levels = [
            item.points[0][1]
            for item in drawing.items
            if isinstance(item, Polyline) and item.role == "limit" and item.points[0][1] == item.points[1][1]
        ]
        assert sorted(levels) == [pytest.approx(full), pytest.approx(well.lip_m - well.bottom_m)]


@pytest.mark.parametrize("name", ["bungalow", "side-yard", "terrace"])
def test_the_observation_pipe_is_drawn_and_its_locking_cap_is_ordered(name: str) -> None:
    made = shipped(name)
    (well,) = made.scheme.wells
    drawing = well_section(made, well, made.scheme)
    words = [item for item in drawing.items if isinstance(item, Label) and "observation pipe" in item.text]
    assert [item.text for item in words] == ["observation pipe, cap locked"]
    x = words[0].at[0]
    upright = [
        item.points
        for item in drawing.items
        if isinstance(item, Polyline) and len(item.points) == 2 and abs(item.points[0][0] - x) < 0.1
    ]
    assert any(p[0][1] == pytest.approx(well.bottom_m) for p in upright)
    assert any("cap that locks" in item.what for item in made.takeoff.items)


def test_a_well_without_an_observation_pipe_has_none_drawn() -> None:
    made = shipped("old-system")
    drawing = well_section(made, made.scheme.wells[0], made.scheme)
    assert not any("observation" in item.text for item in drawing.items if isinstance(item, Label))


def test_answers_of_one_place_share_a_ring() -> None:
    found = [((0.0, 0.0), 5, True), ((0.5, 0.0), 6, True), ((0.5, 0.0), 7, False), ((9.0, 0.0), 3, True)]
    rings = [(ring.words, ring.failing) for ring in rings_at(found)]
    assert rings == [("5, 6", True), ("7", False), ("3", True)]
    drawn = [item for item in plan(shipped("old-system")).items if isinstance(item, Ring)]
    assert sum(1 + len(ring.others) for ring in drawn) == 5 and len(drawn) < 5


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_depth_over_the_lawn_is_told_once(name: str) -> None:
    made = shipped(name)
    for way in made.behaviour.overland.ways if made.behaviour.overland is not None else ():
        texts = [i.text for i in way_over_ground(way, Say(made.survey.style)) if isinstance(i, Label)]
        assert len(texts) == len(set(texts))


def test_letters_of_what_if_may_have_a_leader() -> None:
    made = shipped("side-yard")
    letters = {case.letter for case in made.behaviour.what_if.cases} if made.behaviour.what_if else set()
    drawing = profile(made, "D3")
    labels = [
        item
        for item in drawing.items
        if isinstance(item, Label) and {*re.split(r"[,\s]+", item.text)} <= letters
    ]
    assert labels and all(item.leader for item in labels)


# ---------------------------------------------------------------------------------------- sides


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_side_is_nearly_empty_before_the_plan(name: str) -> None:
    plan_side = next(n for n, side in enumerate(sides_of(name)) if "Site plan" in side)
    assert plan_side == 1


@pytest.mark.parametrize("name", ["bungalow", "sloping-lot", "nothing-below-ground"])
def test_the_short_set_is_what_the_owner_reads(name: str) -> None:
    made = shipped(name)
    assert PAPERS["homeowner"].make is make_short_set
    sides = [
        " ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(make_short_set(made))).pages
    ]
    assert len(sides) <= 6 < len(sides_of(name))
    text = " ".join(sides)
    for answer in made.answers:
        assert answer.title in sides[0]
    for words in ("Site plan", "Looking after it", "Call somebody", "Cautions", "to true scale"):
        assert words in text
    for words in ("Order list", "Every check", "Levels", "Where limits and assumed values come from"):
        assert words not in text
    assert ("NOT FOR DIGGING" in text) == bool(made.waits)
    count = len(made.assumed)
    assert f"{count} values are assumed until somebody measures them: the whole set lists them." in sides[0]


def test_the_short_set_has_every_key_of_the_whole_one() -> None:
    made = replace(house.design(), waits=())
    assert set(short_data(made)) == set(set_data(made))


def test_sizes_that_nothing_moves_are_not_called_open() -> None:
    """The sloping lot's soil is a range, and its pipes, basin and digging are the same at both ends."""
    made = shipped("sloping-lot")
    assert made.scheme_large is not None and set_data(made)["open_sizes"] is None
    moved = set_data(shipped("nothing-below-ground"))["open_sizes"]
    assert moved is not None and all(row["small"] != row["large"] for row in moved["rows"])
    assert moved["words"][0].isupper() and moved["words"].endswith(".")


def test_what_to_measure_for_a_picture_names_no_key() -> None:
    mound = next(p.drawing for p in pictures(shipped("nothing-below-ground")) if "mound" in p.drawing.name)
    assert "mottling" in mound.notes[0] and "soil." not in mound.notes[0].replace("the soil.", "")


@pytest.mark.parametrize("name", EXAMPLES)
def test_no_range_goes_from_a_figure_to_itself(name: str) -> None:
    text = " ".join(sides_of(name))
    odd = re.findall(r"(?<![\d.,:])(\d[\d.,]*\d|\d)( %| [a-z/]+)? to \1(?![\d,]|\.\d)", text)
    assert not odd
    assert not re.search(r"mean ([^.]*?\d[^.]*?) instead of \1\.", text)
