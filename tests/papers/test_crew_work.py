"""What a crew sheet asks for beside the readings: the pit made safe first, the soak test, how water is brought, the stop."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import cache
from typing import Any

import pytest

from roofwell import examples, job
from roofwell.design import Design, design
from roofwell.papers.crew_sheet import CrewOptions, make_crew_sheets
from roofwell.papers.crew_sheet.sheets import sheet_data
from roofwell.papers.drawing.well_section import well_section
from roofwell.papers.fill_words import brought, fill_of
from roofwell.papers.order import order_csv
from roofwell.papers.texts import Say

from .test_crew_sheet import text_of

FT = 0.3048
GALLON_M3 = 3.785411784e-3


@cache
def shipped(name: str) -> Design:
    read = job.read_file(examples.path(name))
    assert read.job is not None
    return design(read.job, folder=read.folder)


def lines_of(name: str) -> list[dict[str, str]]:
    data = sheet_data(shipped(name), CrewOptions())
    return [line for side in data["sides"] for block in side["blocks"] for line in block["work"]]


def number_of(lines: list[dict[str, str]], words: str) -> int:
    return next(n for n, line in enumerate(lines) if words in line["words"])


def test_nobody_enters_a_deep_pit_before_its_sides_are_held() -> None:
    """29 CFR 1926.652(a)(1)(ii): protection from 5 ft of depth on. The bungalow's pit is deeper, the side yard's is not."""
    (well,) = shipped("bungalow").scheme.wells
    assert well.ground_m - well.bottom_m > 5 * FT
    lines = lines_of("bungalow")
    dug, warned = number_of(lines, "Dig the hole of W1"), number_of(lines, "Nobody enters W1")
    held, seen = number_of(lines, "Sides of W1 sloped or shored"), number_of(lines, "Sandy loam")
    stone = number_of(lines, "Geotextile with laps")
    assert dug < warned < held < seen < stone
    assert "competent person" in lines[warned]["words"] and "29 CFR 1926" in lines[warned]["words"]
    assert (lines[warned]["kind"], lines[held]["kind"]) == ("step", "hold")
    (shallow,) = shipped("side-yard").scheme.wells
    assert shallow.ground_m - shallow.bottom_m < 5 * FT
    assert not any("Nobody enters" in line["words"] for line in lines_of("side-yard"))


@pytest.mark.parametrize("name", ["bungalow", "side-yard", "terrace", "nothing-below-ground"])
def test_the_stop_names_the_hold_at_which_the_soil_was_seen(name: str) -> None:
    """Whatever holds stand before it, as the pit's sides do."""
    data = sheet_data(shipped(name), CrewOptions())
    lines = lines_of(name)
    (soil,) = [line["mark"] for line in lines if line["words"].endswith("no water, sides raked")]
    stops = [stop for stop in data["sides"][0]["stops"] if "the soil is not as in" in stop]
    assert stops == [f"water stands in the hole, or the soil is not as in {soil}"]


def test_the_soak_test_stands_before_the_stone_with_its_water_by_hand() -> None:
    """19 ft by 8 ft 6 in, 6 in deep: 80.75 cu ft, at 7.4805 gal each 604 gal. A garden hose brings 10 gpm: 60 min."""
    lines = lines_of("bungalow")
    fill = number_of(lines, "fill the pit 6 in deep")
    assert number_of(lines, "Sandy loam") < fill < number_of(lines, "Geotextile with laps")
    gallons = Fraction(19) * Fraction(17, 2) * Fraction(1, 2) * 1728 / 231
    assert f"({float(gallons):.0f} gal), three times" in lines[fill]["words"]
    assert "a garden hose takes 60 min or more, a tank truck or hydrant less" in lines[fill]["words"]
    assert lines[fill + 1]["kind"] == "hold" and "Last fill of W1 down to 3 in" in lines[fill + 1]["words"]


def test_soil_that_drinks_faster_than_a_hose_brings_wants_a_truck() -> None:
    """10 gpm are 0.00063 m³/s."""
    hose = 10 * GALLON_M3 / 60
    assert "by tank truck or hydrant" in brought(1.0, 1.01 * hose, Say("us"))
    assert "a garden hose takes" in brought(1.0, 0.99 * hose, Say("us"))


def test_no_soak_test_where_the_soil_is_still_a_range() -> None:
    made = shipped("nothing-below-ground")
    assert not made.survey.soil.known
    assert all(fill_of(made, well) is None for well in made.scheme.wells)
    assert not any("three times" in line["words"] for line in lines_of("nothing-below-ground"))
    assert any("Soil told to the office" in line["words"] for line in lines_of("nothing-below-ground"))


def test_the_smallest_of_a_range_says_how_large_it_may_become() -> None:
    made = shipped("nothing-below-ground")
    assert made.scheme_large is not None
    large, say = made.scheme_large.wells[0], Say("us")
    size = f"{say.length(large.pit_length_m)} × {say.length(large.pit_width_m)}"
    text = text_of(make_crew_sheets(made))
    assert f"Smallest of a range: up to {size}" in text
    assert "Smallest of a range" not in text_of(make_crew_sheets(shipped("bungalow")))


def _eighths(feet: str) -> str:
    """A reading in decimal feet as feet, inches and eighths, by hand: the nearest eighth of an inch."""
    eighths = math.floor(Fraction(feet) * 96 + Fraction(1, 2))
    whole, rest = divmod(eighths, 96)
    inches, part = divmod(rest, 8)
    fraction = Fraction(part, 8)
    return f"{whole}′ {inches}{f' {fraction}' if part else ''}″"


def test_every_reading_stands_there_in_the_other_division_too() -> None:
    """Both come from one unrounded level: they may differ by the rounding of the decimal one, half of 0.01 ft."""
    data = sheet_data(shipped("bungalow"), CrewOptions())
    rows: list[dict[str, Any]] = []
    for side in data["sides"]:
        for block in side["blocks"]:
            rows += [row for row in (*block["rows"], *block["marks"]) if not row["bar"]]
    assert len(rows) > 20
    for row in rows:
        near = {_eighths(str(Fraction(row["reading"]) + Fraction(step, 1000))) for step in range(-5, 6)}
        assert row["second"] in near, (row["reading"], row["second"], near)


def test_nothing_to_dig_has_one_side_without_a_stamp() -> None:
    text = text_of(make_crew_sheets(shipped("old-system")))
    assert "Nothing to dig" in text and "stands already" in text
    assert "NOT FOR DIGGING" not in text and "Rod must read" not in text
    assert sheet_data(shipped("old-system"), CrewOptions())["sides"] == []


@pytest.mark.parametrize("name", ["bungalow", "side-yard", "terrace"])
def test_the_geotextile_lies_the_same_on_every_paper(name: str) -> None:
    made = shipped(name)
    (well,) = made.scheme.wells
    assert set(well.geotextile) == {"sides", "top"}
    said = "sides and top, bottom bare"
    assert said in text_of(make_crew_sheets(made))
    assert said in " ".join(well_section(made, well, made.scheme).notes)
    assert f"W1: {said}; " in order_csv(made).decode("utf-8-sig")
    finding = next(f for a in made.answers for f in a.findings if f.code == "fabric-opening")
    assert said in finding.sentence


def test_only_new_wells_are_lined_and_filled() -> None:
    made = shipped("old-system")
    assert all(fill_of(made, well) is None for well in made.scheme.wells)
