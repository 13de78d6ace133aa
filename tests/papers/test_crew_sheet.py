"""The crew sheets: readings recomputed by other means, every rod, every height of the instrument, honest stops."""

from __future__ import annotations

import io
import itertools
import math
import re
import tomllib
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from pypdf import PdfReader

from roofwell import examples, job, tables
from roofwell.design import Design, design
from roofwell.errors import InputError
from roofwell.job.model import Run as GivenRun
from roofwell.job.model import Survey as GivenSurvey
from roofwell.papers.crew_sheet import READING_STYLES, CrewOptions, make_crew_sheets, read_height
from roofwell.papers.crew_sheet.ladder import APART_M, Bar, Ladder, ladders
from roofwell.papers.crew_sheet.readings import exact, write
from roofwell.papers.crew_sheet.sheets import placed_section, sheet_data
from roofwell.papers.results import results
from roofwell.system.facts import FeatureFact
from roofwell.units import Dimension, parse

from . import house

FT = 0.3048
LASER = CrewOptions(instrument_m=104.62 * FT)


@cache
def shipped(name: str) -> Design:
    read = job.read_file(examples.path(name))
    assert read.job is not None
    return design(read.job, folder=read.folder)


def with_benchmark(made: Design) -> Design:
    survey = GivenSurvey(benchmark="step", benchmark_elevation=parse("100 ft", Dimension.LENGTH))
    return replace(made, job=made.job.model_copy(update={"survey": survey}))


def rows_of(data: dict[str, Any]) -> list[dict[str, Any]]:
    return [row for side in data["sides"] for block in side["blocks"] for row in block["rows"]]


def readings_of(data: dict[str, Any]) -> list[str]:
    return [row["reading"] for row in rows_of(data) if not row["bar"]]


def marks_of(data: dict[str, Any]) -> dict[str, str]:
    return {
        mark["what"]: mark["reading"]
        for side in data["sides"]
        for block in side["blocks"]
        for mark in block["marks"]
        if not mark["bar"]
    }


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages)


# Worked by hand, on paper, before the code was run. Laser 104.62 ft. Pipe 3.975 in inside, 4.215 in outside:
# wall 0.12 in = 0.01 ft. Bedding 3 in = 0.25 ft. So the trench lies 0.26 ft under the invert.
#   0+00 D1      invert 97.30                      97.04    104.62 - 97.04    = 7.58
#   0+03 elbow   97.30 - 0.43 x 3/43 = 97.27       97.01                      = 7.61
#   0+10         97.30 - 0.10 = 97.20              96.94                      = 7.68
#   0+20 cleanout, 0+30, 0+40: 0.10 more each                                 = 7.78, 7.88, 7.98
#   0+43 Y1      96.87                             96.61                      = 8.01
#   0+46.5 B1 in, 1 ft short of its middle: 96.87 - 0.04 x 3.5/4.5 = 96.8389
#                                                  96.5789                    = 8.0411   (8 ft 0.493 in)
#   0+48.5 B1 out, 1 ft past it: 96.73 - 0.15 x 1/14.5 = 96.7197
#                                                  96.4597                    = 8.1603   (8 ft 1.924 in)
BY_HAND = {
    "0+00": ("7.58", "7′ 7″"),
    "0+03": ("7.61", "7′ 7 3/8″"),
    "0+10": ("7.68", "7′ 8 1/8″"),
    "0+20": ("7.78", "7′ 9 3/8″"),
    "0+30": ("7.88", "7′ 10 1/2″"),
    "0+40": ("7.98", "7′ 11 3/4″"),
    "0+43": ("8.01", "8′ 0 1/8″"),
    "0+46.5": ("8.04", "8′ 0 1/2″"),
    "0+48.5": ("8.16", "8′ 1 7/8″"),
}
# Hole 93.50; stone under the well 6 in; pipe in at the body's wall, 1.25 ft short of 96.58: 96.58 + 1.25 x 0.15/14.5 =
# 96.5929, so 8.0271; stone top 97.33; lip 98.05; basin floor 95.50 on 4 in of
# bedding (95.1667); grate 98.40.
MARKS_BY_HAND = {
    "W1 hole, bottom": "11.12",
    "Stone under W1": "10.62",
    "Pipe into W1": "8.03",
    "Stone, top": "7.29",
    "V1 overflow, lip": "6.57",
    "B1 hole, bottom": "9.45",
    "B1 floor": "9.12",
    "B1 grate": "6.22",
}


def test_a_ladder_worked_by_hand() -> None:
    data = sheet_data(house.design(), LASER)
    rows = {row["station"]: row for row in data["sides"][0]["blocks"][0]["rows"] if not row["bar"]}
    for station, (feet, eighths) in BY_HAND.items():
        assert (rows[station]["reading"], rows[station]["second"]) == (feet, eighths), station
    assert {what: marks_of(data)[what] for what in MARKS_BY_HAND} == MARKS_BY_HAND


def test_the_other_rods_worked_by_hand() -> None:
    """8.0411 ft is 2.4509 m (x 0.3048); 11.12 ft is 11 ft 1.44 in, nearest eighth 1 1/2."""
    made = house.design()
    eighths = sheet_data(made, replace(LASER, readings="feet-and-eighths"))
    assert readings_of(eighths)[7] == "8′ 0 1/2″" and marks_of(eighths)["W1 hole, bottom"] == "11′ 1 1/2″"
    assert readings_of(sheet_data(made, replace(LASER, readings="meters")))[7] == "2.451"
    assert readings_of(sheet_data(made, replace(LASER, readings="millimeters")))[7] == "2451"


def _half_up(value: Fraction) -> int:
    """Round as a person does: what lies within 1e-9 of a half was a half before it was a float of meters."""
    return math.floor(value + Fraction(1, 2) + Fraction(1, 10**9))


def _decimal(value: Fraction, digits: int) -> str:
    count = _half_up(value * 10**digits)
    return f"{count // 10**digits}.{count % 10**digits:0{digits}d}" if digits else str(count)


def _eighths(value_m: Fraction) -> str:
    count = _half_up(value_m / Fraction(254, 10000) * 8)
    feet, rest = divmod(count, 96)
    inches, part = divmod(rest, 8)
    fraction = f" {Fraction(part, 8)}" if part else ""
    return f"{feet}′ {inches}{fraction}″"


# Height of the instrument, by hand from the rod readings in the files: bungalow 100 + 4.35 - 5.12 + 3.87 ft;
# nothing-below-ground and the sloping lot are read from their files below.
BUNGALOW_FT = Fraction("103.10")
BEDDING_M = 3 * Fraction(254, 10000)


def _height_m(name: str) -> Fraction:
    """Reduce the level book of a file by fractions: elevation + rod up, - rod down, set-up after set-up."""
    document = tomllib.loads(examples.path(name).read_text(encoding="utf-8"), parse_float=str)
    survey = document["survey"]
    assert survey["unit"] == "ft"
    level = {survey["benchmark"]: Fraction(survey["benchmark_elevation"])}
    height = Fraction(0)
    for reading in survey["readings"]:
        if reading["kind"] == "backsight":
            height = level[reading["point"]] + Fraction(reading["rod"])
        else:
            level.setdefault(reading["point"], height - Fraction(reading["rod"]))
    return height * Fraction(3048, 10000)


def test_the_level_book_of_the_bungalow_by_hand() -> None:
    assert _height_m("bungalow") == BUNGALOW_FT * Fraction(3048, 10000)


@pytest.mark.parametrize("name", ["bungalow", "sloping-lot", "nothing-below-ground"])
@pytest.mark.parametrize("style", READING_STYLES)
def test_every_reading_again_from_the_results_file(name: str, style: Any) -> None:
    """Rod = instrument - (invert on the straight line between the ends - wall - bedding), all in fractions."""
    made = shipped(name)
    runs = {run["id"]: run for run in results(made)["scheme"]["runs"]}
    height = _height_m(name)
    expected = []
    for ladder in sorted(ladders(made), key=lambda one: one.until is not None):
        starts, at = {}, Fraction(0)
        for run in ladder.way.runs:
            starts[run.id] = at
            at += Fraction(runs[run.id]["length_m"])
        for rung in ladder.rungs:
            run = runs[rung.run]
            up, down = Fraction(run["upstream_invert_m"]), Fraction(run["downstream_invert_m"])
            share = (Fraction(rung.station_m) - starts[rung.run]) / Fraction(run["length_m"])
            wall = (Fraction(run["outside_diameter_m"]) - Fraction(run["inside_diameter_m"])) / 2
            expected.append(height - (up + (down - up) * share - wall - BEDDING_M))
    written = {
        "decimal-feet": lambda value: _decimal(value / Fraction(3048, 10000), 2),
        "feet-and-eighths": _eighths,
        "meters": lambda value: _decimal(value, 3),
        "millimeters": lambda value: _decimal(value * 1000, 0),
    }[style]
    data = sheet_data(made, CrewOptions(readings=style))
    assert len(expected) > 15
    assert readings_of(data) == [written(value) for value in expected]


def test_a_metric_job_is_read_in_meters_and_from_any_height() -> None:
    """The terrace: pit bottom and lip straight from the results file; 51.385 m is a height made up here."""
    made = shipped("terrace")
    well = results(made)["scheme"]["wells"][0]
    data = sheet_data(made, CrewOptions(instrument_m=51.385))
    height = Fraction("51.385")
    assert marks_of(data)["W1 hole, bottom"] == _decimal(height - Fraction(well["bottom_m"]), 3)
    assert marks_of(data)["O1 overflow, lip"] == _decimal(height - Fraction(well["lip_m"]), 3)
    assert "meters" in data["units"] and data["paper"] == "a4"


def test_a_reading_is_rounded_once_from_the_unrounded_level() -> None:
    """1.9949 ft is 1.99 ft, and 1' 11.939", which is 2' 0" to the eighth; 1.99 ft would be 1' 11 7/8"."""
    assert write(1.9949 * FT, "decimal-feet") == "1.99"
    assert write(1.9949 * FT, "feet-and-eighths") == "2′ 0″"
    assert write(1.99 * FT, "feet-and-eighths") == "1′ 11 7/8″"


def test_the_figures_of_the_sum_add_up_as_they_are_printed() -> None:
    """4' 7 1/2" on the rod is 4.625 ft: the sum takes three decimals rather than fail by 0.01."""
    assert [exact(value * FT, "us") for value in (100.0, 4.625, 104.625)] == ["100.00", "4.625", "104.625"]
    made = with_benchmark(house.design())
    said = sheet_data(made, CrewOptions(backsight_m=read_height("4' 7 1/2\"", "--backsight")))["sum"]
    assert (said["point"], said["rod"], said["height"]) == ("100.00", "4.625", "104.625")
    for name in ("bungalow", "sloping-lot", "nothing-below-ground"):
        said = sheet_data(shipped(name), CrewOptions())["sum"]
        assert Fraction(said["point"]) + Fraction(said["rod"]) == Fraction(said["height"])


def test_a_rod_on_the_benchmark_is_the_same_as_its_sum() -> None:
    made = with_benchmark(house.design())
    by_rod = sheet_data(made, CrewOptions(backsight_m=4.62 * FT))
    by_height = sheet_data(made, LASER)
    assert rows_of(by_rod) == rows_of(by_height) and by_rod["sum"]["point"] == "100.00"
    assert by_rod["sum"]["rod"] == by_height["sum"]["rod"] == "4.62"


def test_a_new_set_up_shifts_every_reading_alike() -> None:
    """A laser 1.25 ft higher reads 1.25 ft more everywhere, which is what the line for a new set-up says."""
    made = shipped("bungalow")
    old = [Fraction(text) for text in readings_of(sheet_data(made, CrewOptions()))]
    new = [Fraction(text) for text in readings_of(sheet_data(made, CrewOptions(instrument_m=104.35 * FT)))]
    assert {after - before for before, after in zip(old, new, strict=True)} == {Fraction("1.25")}
    assert "rod on BM now" in sheet_data(made, CrewOptions())["sum"]["origin"]


def test_without_a_set_up_the_sheet_prints_levels_and_a_blank_sum() -> None:
    made = with_benchmark(house.design())
    data = sheet_data(made, CrewOptions())
    assert (data["sum"]["point"], data["sum"]["rod"], data["sum"]["height"]) == ("100.00", "", "")
    assert readings_of(data)[:3] == ["97.04", "97.01", "96.94"]
    assert "instrument − level" in data["sum"]["rule"] and "shoot step" in data["sum"]["origin"]
    bare = sheet_data(house.design(), CrewOptions())
    assert bare["sum"]["point"] == "" and "No benchmark is named" in bare["sum"]["origin"]
    assert "Dig the hole of W1 to level 93.50." in text_of(make_crew_sheets(made))


@pytest.mark.parametrize(
    ("options", "code"),
    [
        (CrewOptions(backsight_m=1.4), "crew-no-benchmark"),
        (CrewOptions(instrument_m=4.62 * FT), "crew-instrument-low"),
        (CrewOptions(instrument_m=98.40 * FT), "crew-instrument-low"),
        (CrewOptions(instrument_m=1046.2 * FT), "crew-instrument-high"),
        (CrewOptions(instrument_m=118.51 * FT), "crew-instrument-high"),
    ],
)
def test_a_height_that_no_rod_can_use_is_refused(options: CrewOptions, code: str) -> None:
    """Highest level to shoot: the grate, 98.40 ft. Lowest: the hole, 93.50 ft, and a rod of 25 ft."""
    with pytest.raises(InputError) as caught:
        make_crew_sheets(house.design(), options)
    assert caught.value.code == code


@pytest.mark.parametrize("height_ft", [98.41, 118.50])
def test_a_height_just_inside_is_used(height_ft: float) -> None:
    assert readings_of(sheet_data(house.design(), CrewOptions(instrument_m=height_ft * FT)))


@pytest.mark.parametrize("text", ["4.62", "0 ft", "-4 ft", "4 gal", "high"])
def test_a_typed_height_must_be_a_length(text: str) -> None:
    with pytest.raises(InputError, match="--instrument"):
        read_height(text, "--instrument")


def _bars(made: Design) -> tuple[Bar, ...]:
    return next(one for one in ladders(made) if one.until is None).bars


def test_hands_dig_two_feet_to_each_side_of_a_line_however_it_is_crossed() -> None:
    """P4 leaves B1 at 0+47.5 for (13, -6.5) ft on; the electric at x = 60 ft is met 6 ft east of B1.

    Along the run that is 6 x sqrt(13² + 6.5²)/13 = 6.708 ft; 2 ft square to the line is 2 x sqrt(1.25) =
    2.236 ft along the run.
    """
    (bar,) = _bars(house.design())
    middle = 47.5 + 6.0 * math.hypot(13, 6.5) / 13
    assert bar.first_m / FT == pytest.approx(middle - 2 * math.sqrt(1.25), abs=0.02)
    assert bar.last_m / FT == pytest.approx(middle + 2 * math.sqrt(1.25), abs=0.02)
    assert bar.level_m is None and bar.label == "electric"


def _with_line(points: Any, *, top_ft: float | None, inches: float = 0.0) -> Design:
    base = house.survey()
    line = FeatureFact(
        "G1", "utility", "gas", "path", house.ft(*points), None,
        None if top_ft is None else top_ft * FT, None, inches * 0.0254, None, None,
    )  # fmt: skip
    others = tuple(one for one in base.features if one.kind != "utility")
    return house.design(survey=replace(base, features=(*others, line)))


def test_a_line_beside_the_trench_is_dug_by_hand_too() -> None:
    """P1 runs along y = 21 ft from x = 10 to 50 ft; a gas line at y = 19.5 ft lies 1.5 ft beside it."""
    made = _with_line(((20, 19.5), (30, 19.5)), top_ft=96.0, inches=2.0)
    (bar,) = _bars(made)
    reach = math.sqrt((2 + 1 / 12) ** 2 - 1.5**2)  # from the end of the line to where it is 2 ft away
    assert bar.crosses_m is None
    assert bar.first_m / FT == pytest.approx(3 + 10 - reach, abs=0.03)
    assert bar.last_m / FT == pytest.approx(3 + 20 + reach, abs=0.03)
    words = [row for row in rows_of(sheet_data(made, LASER)) if row["bar"]]
    assert words[0]["words"] == "Gas beside you, top at 8.62." and words[0]["more"] == "Dig by hand."


def test_a_line_farther_than_two_feet_is_not_in_the_way() -> None:
    assert _bars(_with_line(((20, 18.9), (30, 18.9)), top_ft=96.0)) == ()
    assert _bars(_with_line(((20, 19.1), (30, 19.1)), top_ft=96.0)) != ()


def test_a_crossing_says_its_reading_and_how_far_under_the_bottom_it_lies() -> None:
    """Gas at 96.50 ft: rod 8.12. At 0+20 the bottom is 96.84 ft: 0.34 ft = 4 1/8 in above the gas."""
    made = _with_line(((27, 10), (27, 30)), top_ft=96.5)
    bar = next(row for row in rows_of(sheet_data(made, LASER)) if row["bar"])
    assert bar["words"] == "Gas beside you, top at 8.12."  # the Scheme here knows of no crossing
    base = house.scheme()
    crossed = replace(base.runs[3].crossings[0], id="G1", label="gas", station_m=20 * FT, top_m=96.5 * FT)
    runs = (replace(base.runs[0], crossings=(crossed,)), *base.runs[1:])
    data = sheet_data(replace(made, scheme=replace(base, runs=runs)), LASER)
    bar = next(row for row in rows_of(data) if row["bar"])
    assert bar["words"] == "Gas at 8.12, 4 1/8 in under the bottom."
    above = _with_line(((27, 10), (27, 30)), top_ft=97.0)
    data = sheet_data(replace(above, scheme=replace(base, runs=runs)), LASER)
    bar = next(row for row in rows_of(data) if row["bar"])
    assert bar["words"] == "Gas at 7.62, 1 7/8 in above the bottom."  # 0.16 ft


def test_each_run_is_dug_from_one_ladder_and_each_whole_station_is_on_it() -> None:
    for name in ("bungalow", "sloping-lot", "nothing-below-ground", "terrace"):
        made = shipped(name)
        step = 10 * FT if made.survey.style == "us" else 3.0
        found = ladders(made)
        dug = [trench.run.id for one in found for trench in one.trenches]
        assert sorted(dug) == sorted(run.id for run in made.scheme.runs)
        for one in found:
            stations = [rung.station_m for rung in one.rungs]
            assert stations == sorted(stations)
            for trench in one.trenches:
                for n in range(200):
                    if trench.first_m < n * step < trench.last_m:
                        assert min(abs(n * step - at) for at in stations) <= APART_M + 1e-9
                for fitting in trench.run.fittings:
                    at = trench.start_m + fitting.station_m
                    if trench.first_m < at < trench.last_m:
                        assert min(abs(at - other) for other in stations) < 1e-6


def test_what_stands_already_is_not_dug() -> None:
    base = house.design()
    existing = {"P1": GivenRun(state="existing")}
    made = replace(base, job=base.job.model_copy(update={"runs": existing}))
    assert "P1" not in {rung.run for one in ladders(made) for rung in one.rungs}
    assert "Nothing to dig" in text_of(make_crew_sheets(shipped("old-system")))


@pytest.mark.parametrize("made", [house.design, house.daylight, house.broken_levels, house.many_spouts])
def test_not_for_digging_stands_on_every_side_as_on_the_set(made: Any) -> None:
    for page in PdfReader(io.BytesIO(make_crew_sheets(made(), CrewOptions()))).pages:
        assert "NOT FOR DIGGING" in page.extract_text()
    free = replace(made(), waits=())
    assert "NOT FOR DIGGING" not in text_of(make_crew_sheets(free))


STARTERS = {path.stem: path for path in sorted((Path(job.__file__).parent / "starters").glob("*.toml"))}


@cache
def started(name: str) -> Design:
    read = job.read_file(STARTERS[name])
    assert read.job is not None
    return design(read.job, folder=read.folder)


@pytest.mark.parametrize("name", [*examples.names(), *STARTERS])
@pytest.mark.parametrize("style", [None, "feet-and-eighths", "millimeters"])
def test_a_side_is_one_page_and_its_figures_are_24_points(name: str, style: Any) -> None:
    """Whatever the words take: what finds no room goes overleaf, nothing is set smaller."""
    made = started(name) if name in STARTERS else shipped(name)
    _sides_are_whole(made, CrewOptions(readings=style))


def test_both_starters_are_there() -> None:
    assert len(STARTERS) == 2


def _sides_are_whole(made: Design, options: CrewOptions) -> dict[str, Any]:
    """Each side is a page, its figures are 24 pt, and its foot, the stop rules, stands on it too."""
    data = sheet_data(made, options)
    with pdfplumber.open(io.BytesIO(make_crew_sheets(made, options))) as pdf:
        assert len(pdf.pages) == max(1, len(data["sides"]))
        for page, side in zip(pdf.pages, data["sides"], strict=False):
            _all_there(page, side, least_pt=23.99)
            assert not [char["text"] for char in page.chars if 18.5 < char["size"] < 23.99]
            assert "Stop and call the office" in page.extract_text()
    return data


def _with_texture(words: str, base: Design | None = None) -> Design:
    base = base or house.design()
    return replace(
        base, job=base.job.model_copy(update={"soil": base.job.soil.model_copy(update={"texture": words})})
    )


def _works_of(data: dict[str, Any]) -> list[str]:
    return [line["words"] for side in data["sides"] for block in side["blocks"] for line in block["work"]]


def test_an_order_of_work_that_outgrows_its_side_goes_overleaf_whole() -> None:
    """A soil described in 120 words: the ladder of D3 stays whole on its side, its order of work has the next."""
    made = shipped("side-yard")
    short = sheet_data(made, LASER)
    assert short["sides"][0]["blocks"][0]["work"]
    data = _sides_are_whole(_with_texture("loam over clay with stones " * 24, made), LASER)
    assert len(data["sides"]) == len(short["sides"]) + 1
    first, second = data["sides"][0]["blocks"][0], data["sides"][1]["blocks"][0]
    assert (len(first["rows"]), first["work"]) == (len(short["sides"][0]["blocks"][0]["rows"]), [])
    assert first["goes_on"] == "order of work overleaf" and second["rows"] == [] and second["goes_on"] == ""
    assert "(order of work)" in data["sides"][1]["title"]
    assert readings_of(data) == readings_of(short) and len(_works_of(data)) == len(_works_of(short))


def test_a_ladder_that_goes_on_anyway_leaves_a_rung_to_the_next_side() -> None:
    """However long the words, every reading is there once and in its order."""
    made = shipped("sloping-lot")
    plain = sheet_data(made, CrewOptions())
    rows = [len(plain["sides"][0]["blocks"][0]["rows"])]
    for count in (1, 6, 12):
        long = replace(
            made,
            waits=tuple(
                f"{n}? the depth of a buried line that nobody has uncovered yet" for n in range(count)
            ),
        )
        data = _sides_are_whole(long, CrewOptions())
        assert readings_of(data) == readings_of(plain) and _works_of(data) == _works_of(plain)
        rows.append(len(data["sides"][0]["blocks"][0]["rows"]))
    assert rows == sorted(rows, reverse=True) and rows[-1] < rows[0]


def test_words_longer_than_a_side_flow_on_and_are_still_printed() -> None:
    text = text_of(make_crew_sheets(_with_texture("loam " * 2000 + "at last"), LASER))
    assert text.count("oam") >= 2000 and "at last" in text


@pytest.mark.parametrize("style", READING_STYLES)
def test_figures_are_24_points(style: Any) -> None:
    options = replace(LASER, readings=style)
    data = sheet_data(house.design(), options)
    with pdfplumber.open(io.BytesIO(make_crew_sheets(house.design(), options))) as pdf:
        for page, side in zip(pdf.pages, data["sides"], strict=True):
            _all_there(page, side, least_pt=23.99)


def _all_there(page: Any, side: dict[str, Any], *, least_pt: float) -> None:
    """Every reading of a side stands on its page in figures of this size."""
    large = "".join(char["text"] for char in page.chars if char["size"] >= least_pt and char["text"] != " ")
    for block in side["blocks"]:
        for row in (*block["rows"], *block["marks"]):
            assert re.sub(r"\s", "", row.get("reading", "")) in re.sub(r"\s", "", large)


@pytest.mark.parametrize("style", READING_STYLES)
def test_it_survives_a_grey_copier(style: Any) -> None:
    """Words are black, or white on a black bar; nothing that must be read is a tint."""
    with pdfplumber.open(io.BytesIO(make_crew_sheets(house.design(), replace(LASER, readings=style)))) as pdf:
        for page in pdf.pages:
            bars = [
                shape for shape in (*page.rects, *page.curves)
                if shape["fill"] and _grey(shape["non_stroking_color"]) == 0.0
            ]  # fmt: skip
            for char in page.chars:
                grey = _grey(char["non_stroking_color"])
                assert grey in (0.0, 1.0), char["text"]
                if grey == 1.0:
                    assert any(
                        bar["x0"] <= char["x0"] and char["x1"] <= bar["x1"]
                        and bar["top"] <= char["top"] and char["bottom"] <= bar["bottom"]
                        for bar in bars
                    ), char["text"]  # fmt: skip


def _grey(color: Any) -> float:
    values = {round(float(value), 3) for value in (color if isinstance(color, (tuple, list)) else (color,))}
    return values.pop() if len(values) == 1 else -1.0


def test_no_label_lies_over_another() -> None:
    drawn: list[tuple[Design, Ladder]] = []
    for made in (
        house.design(), house.daylight(), house.broken_levels(), house.many_spouts(),
        *(shipped(name) for name in examples.names()),
    ):  # fmt: skip
        drawn += [(made, one) for one in ladders(made)]
    assert len(drawn) > 20
    for made, one in drawn:
        placed = placed_section(made, one)
        for label in placed.labels:
            assert label.box.left >= 0 and label.box.top >= 0
            assert label.box.right <= placed.width_pt and label.box.bottom <= placed.height_pt
        for a, b in itertools.combinations(placed.labels, 2):
            assert not a.box.overlaps(b.box), (a.label.text, b.label.text)


def test_same_job_same_bytes() -> None:
    assert make_crew_sheets(house.design(), LASER) == make_crew_sheets(house.design(), LASER)


def test_holds_are_numbered_through_and_the_order_of_work_is_whole() -> None:
    data = sheet_data(house.design(), LASER)
    lines = [line for side in data["sides"] for block in side["blocks"] for line in block["work"]]
    holds = [line["mark"] for line in lines if line["kind"] == "hold"]
    assert holds == [f"H{n}" for n in range(1, len(holds) + 1)] and len(holds) >= 6
    text = text_of(make_crew_sheets(house.design(), LASER))
    for words in (
        "Uncover by hand: electric at 0+54.2",
        "Dig the hole of W1 to 11.12.",
        "shots within 0.02 ft",
        "reads 0.26 ft less than the trench",
        "grate 6.22",
        "lip 6.57 is the lowest way out",
        "any cut comes to 5 ft unprotected",
        "From 4 ft deep a ladder",
        "Rain tonight: plug the pipe from D1 at 0+58.5",
        "Stop and call the office",
        "Shoot a point that cannot move before digging, at noon, after any knock.",
    ):
        assert words in text, words


def test_the_pour_is_a_minute_of_the_design_cloudburst_at_the_downspout() -> None:
    """2.4 L/s for a minute is 144 L, and 144 / 3.785411784 = 38.04 gal."""
    said = "Then pour 38 gal in a minute into D1, from barrels filled before."
    assert said in text_of(make_crew_sheets(house.design(), LASER))


def test_figures_of_a_metric_sheet_are_metric() -> None:
    text = text_of(make_crew_sheets(shipped("terrace")))
    for words in ("within 6 mm", "From 1.2 m deep a ladder", "from 1.5 m nobody", "0.6 m back"):
        assert words in text
    assert " ft" not in text and " gal" not in text


def test_a_hole_too_deep_to_stand_in_says_so_in_black() -> None:
    """The bungalow's hole is over 5 ft deep."""
    well = shipped("bungalow").scheme.wells[0]
    assert well.ground_m - well.bottom_m > 5 * FT
    assert "Nobody in it unprotected." in text_of(make_crew_sheets(shipped("bungalow")))
    assert "deep. Nobody in it" not in text_of(make_crew_sheets(house.design()))  # 98.2 - 93.5 = 4.7 ft


def test_every_row_of_the_work_can_be_written() -> None:
    known = {"benchmark", "crossing", "well", "trench", "basin", "overflow", "pour", "fabric", "bored", "cut"}
    known |= {"deep", "fill"}
    for row in tables.rows("crew_work"):
        assert row["kind"] in ("step", "hold", "stop", "rain")
        assert {need.removeprefix("no-") for need in row["needs"].split()} <= known
        assert row["words"] and row["source"] in tables.sources()


def test_a_person_s_words_are_printed_as_they_stand() -> None:
    evil = '#panic("x") *b* $1$'
    survey = GivenSurvey(benchmark=evil, benchmark_elevation=parse("100 ft", Dimension.LENGTH))
    base = house.design(job=house.job(name=evil))
    made = replace(base, job=base.job.model_copy(update={"survey": survey}))
    assert text_of(make_crew_sheets(made, CrewOptions(backsight_m=4.62 * FT))).count('#panic("x")') > 2


def test_ground_that_was_not_measured_leaves_the_cut_open() -> None:
    data = sheet_data(house.broken_levels(), CrewOptions())
    assert {row["cut"] for row in rows_of(data) if not row["bar"]} == {"?"}
    assert "nan" not in text_of(make_crew_sheets(house.broken_levels())).lower()


def test_readings_page_of_the_docs_names_the_options() -> None:
    page = (Path(__file__).parents[2] / "docs" / "papers.md").read_text(encoding="utf-8")
    for word in ("--instrument", "--backsight", "--readings", *READING_STYLES):
        assert word in page
