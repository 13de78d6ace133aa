"""Where a pipe ends at a basin or a well, every paper prints the one figure: that at the wall."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any

import pytest

from roofwell import examples, job
from roofwell.design import Design, design
from roofwell.papers.crew_sheet import CrewOptions
from roofwell.papers.crew_sheet.ladder import ladders
from roofwell.papers.crew_sheet.sheets import sheet_data
from roofwell.papers.drawing.basin_section import basin_section
from roofwell.papers.drawing.model import Label, LevelMarks
from roofwell.papers.drawing.profile import profile
from roofwell.papers.drawing.way import joins
from roofwell.papers.drawing.well_section import well_section
from roofwell.papers.results import results
from roofwell.papers.set import tables as set_tables
from roofwell.system.pipe_ends import end_invert_m, lowest_inlet, pipe_end

from . import house

FT = 0.3048
BEDDING_M = 3 * Fraction(254, 10000)


@cache
def shipped(name: str) -> Design:
    read = job.read_file(examples.path(name))
    assert read.job is not None
    return design(read.job, folder=read.folder)


def _printed(value_m: Fraction, made: Design) -> str:
    """An elevation as the trade writes it: 0.01 ft or 0.001 m, halves up."""
    unit, digits = (Fraction(3048, 10000), 2) if made.survey.style == "us" else (Fraction(1), 3)
    count = math.floor(value_m / unit * 10**digits + Fraction(1, 2) + Fraction(1, 10**9))
    return f"{count // 10**digits}.{count % 10**digits:0{digits}d}"


def _walls(made: Design) -> dict[tuple[str, str], Fraction]:
    """The invert at the wall for each run's end at a basin or well, by (run, part), from results.json alone."""
    scheme = results(made)["scheme"]
    reach = {one["id"]: Fraction(one["width_m"]) / 2 for one in scheme["basins"]}
    reach |= {one["id"]: Fraction(one["body_diameter_m"]) / 2 for one in scheme["wells"]}
    out = {}
    for run in scheme["runs"]:
        up, down = Fraction(run["upstream_invert_m"]), Fraction(run["downstream_invert_m"])
        fall = (up - down) / Fraction(run["length_m"])
        if run["from_id"] in reach:
            out[run["id"], run["from_id"]] = up - fall * reach[run["from_id"]]
        if run["to_id"] in reach:
            out[run["id"], run["to_id"]] = down + fall * reach[run["to_id"]]
    return out


def _in_the_table(made: Design) -> dict[tuple[str, str], str]:
    out: dict[tuple[str, str], str] = {}
    for table in set_tables.levels(made):
        run = ""
        for row in table["rows"]:
            run = row["run"] or run
            if row["what"].endswith("wall"):
                out[run, row["what"].split()[0]] = row["invert"]
    return out


def _in_the_strips(made: Design) -> dict[tuple[str, str], str]:
    out: dict[tuple[str, str], str] = {}
    for spout in joins(made.scheme):
        drawing = profile(made, spout)
        assert drawing.strip is not None
        at = next(n for n, name in enumerate(drawing.strip.rows) if name.startswith("invert"))
        for run in made.scheme.way(spout):
            for column in drawing.strip.columns:
                if column.cells[0] == f"{run.to_id} in":
                    out.setdefault((_last_run(made, spout, run.to_id), run.to_id), column.cells[at])
                if column.cells[0] == f"{run.from_id} out":
                    out.setdefault((run.id, run.from_id), column.cells[at])
    return out


def _last_run(made: Design, spout: str, part: str) -> str:
    return next(run.id for run in made.scheme.way(spout) if run.to_id == part)


def _in_the_sections(made: Design) -> dict[tuple[str, str], str]:
    out = {}
    for basin in made.scheme.basins:
        for item in basin_section(made, basin, made.scheme).items:
            if isinstance(item, Label) and item.text.split()[0] in ("in", "out") and item.part:
                out[item.part, basin.id] = item.text.split()[1]
    for well in made.scheme.wells:
        (marks,) = (one for one in well_section(made, well, made.scheme).items if isinstance(one, LevelMarks))
        (into,) = made.scheme.runs_to(well.id)
        (words,) = (words for words, _ in marks.marks if words.startswith("pipe in "))
        out[into.id, well.id] = words.removeprefix("pipe in ")
    return out


def _in_the_texts(made: Design) -> dict[tuple[str, str], str]:
    texts = results(made)["scheme"]["texts"]
    out = {}
    for run in made.scheme.runs:
        out[run.id, run.from_id] = texts[f"{run.id}.upstream_invert_m"].split()[0]
        out[run.id, run.to_id] = texts[f"{run.id}.downstream_invert_m"].split()[0]
    return out


def _same(found: dict[tuple[str, str], str], expected: dict[tuple[str, str], str]) -> None:
    assert {key: found[key] for key in found.keys() & expected.keys()} == {
        key: expected[key] for key in found.keys() & expected.keys()
    }


NAMES = ["sloping-lot", "bungalow", "nothing-below-ground", "terrace"]


@pytest.mark.parametrize("name", NAMES)
def test_every_paper_prints_the_invert_at_the_wall(name: str) -> None:
    """Table, strip, sections and results.json against fractions of the numbers in results.json."""
    made = shipped(name)
    expected = {key: _printed(value, made) for key, value in _walls(made).items()}
    assert len(expected) >= 1
    assert _in_the_table(made) == expected
    assert _in_the_strips(made) == expected
    _same(_in_the_texts(made), expected)
    assert expected.keys() <= _in_the_texts(made).keys()
    sections = _in_the_sections(made)
    _same(sections, expected)
    assert {part for _, part in sections} == {part for _, part in expected}


@pytest.mark.parametrize("name", NAMES)
def test_the_crew_sheet_shoots_the_same_point(name: str) -> None:
    """The rod on the trench is that on the printed point less wall and bedding; at a well it is on the pipe itself.

    Instrument 3 m over everything: a height made up here; the metric rod reads to 1 mm, the other to 0.01 ft.
    """
    made = shipped(name)
    tops = [run.ground_m[0] for run in made.scheme.runs] + [one.lip_m for one in made.scheme.overflows]
    height = Fraction(round(max(tops))) + 3
    data = sheet_data(made, CrewOptions(instrument_m=float(height)))
    rows = [row for side in data["sides"] for block in side["blocks"] for row in block["rows"]]
    readings = [row["reading"] for row in rows if not row["bar"]]
    marks = [mark for side in data["sides"] for block in side["blocks"] for mark in block["marks"]]
    walls, runs = _walls(made), {run.id: run for run in made.scheme.runs}
    order = sorted(ladders(made), key=lambda one: one.until is not None)
    rungs = [rung for one in order for rung in one.rungs]
    checked = set()
    for rung, reading in zip(rungs, readings, strict=True):
        part, _, word = rung.what.partition(",")[0].rpartition(" ")
        if (rung.run, part) in walls and word in ("in", "out"):
            run = runs[rung.run]
            under = (Fraction(run.outside_diameter_m) - Fraction(run.inside_diameter_m)) / 2 + BEDDING_M
            if made.survey.style == "us":
                assert reading == _printed(height - walls[rung.run, part] + under, made), rung
            checked.add((rung.run, part))
    for (id, part), level in walls.items():
        if part in {well.id for well in made.scheme.wells}:
            (mark,) = (one for one in marks if one["what"] == f"Pipe into {part}")
            assert mark["reading"] == _printed(height - level, made)
            assert mark["note"] == "inside bottom at wall"
            checked.add((id, part))
    assert checked == set(walls)


# By hand, from the house of the tests. B1 is 2 ft across: P3 falls 0.04 ft in 4.5 ft to 96.83, P4 0.15 ft in 14.5 ft from
# 96.73. W1's body is 30 in across.
#   P3 at B1's wall  96.83 + 1.00 x 0.04/4.5  = 96.8389
#   P4 at B1's wall  96.73 - 1.00 x 0.15/14.5 = 96.7197
#   P4 at W1's body  96.58 + 1.25 x 0.15/14.5 = 96.5929
def test_the_walls_worked_by_hand() -> None:
    scheme = house.scheme()
    runs = {run.id: run for run in scheme.runs}
    assert end_invert_m(scheme, runs["P3"], "downstream") / FT == pytest.approx(96.8389, abs=5e-5)
    assert end_invert_m(scheme, runs["P4"], "upstream") / FT == pytest.approx(96.7197, abs=5e-5)
    assert end_invert_m(scheme, runs["P4"], "downstream") / FT == pytest.approx(96.5929, abs=5e-5)
    assert end_invert_m(scheme, runs["P1"], "downstream") == runs["P1"].downstream_invert_m
    assert [pipe_end(scheme, runs["P4"], end).wall for end in ("upstream", "downstream")] == ["basin", "well"]
    assert pipe_end(scheme, runs["P4"], "downstream").station_m / FT == pytest.approx(13.25)


def test_a_size_or_level_that_is_not_known_moves_nothing() -> None:
    scheme = house.scheme()
    wide = replace(scheme, basins=(replace(scheme.basins[0], width_m=math.nan),))
    end = pipe_end(wide, scheme.runs[2], "downstream")
    assert (end.wall, end.station_m) == (None, scheme.runs[2].length_m)
    assert end.invert_m == scheme.runs[2].downstream_invert_m
    broken = house.broken_levels().scheme
    assert math.isnan(end_invert_m(broken, broken.runs[3], "upstream"))
    assert lowest_inlet(broken, "W1") is None


def test_a_run_shorter_than_to_the_wall_ends_at_its_other_end() -> None:
    scheme = house.scheme()
    short = replace(scheme.runs[2], length_m=0.5 * FT)
    end = pipe_end(scheme, short, "downstream")
    assert end.station_m == 0.0 and end.invert_m == pytest.approx(short.upstream_invert_m)


def test_the_lowest_of_several_pipes_into_a_basin() -> None:
    """On the sloping lot two runs reach B1; the text of its inlet is that of the lower one, at the wall."""
    made = shipped("sloping-lot")
    end = lowest_inlet(made.scheme, "B1")
    assert end is not None and len(made.scheme.runs_to("B1")) == 2
    walls = {run: level for (run, part), level in _walls(made).items() if part == "B1"}
    into = {run.id: walls[run.id] for run in made.scheme.runs_to("B1")}
    assert end.run == min(into, key=lambda run: into[run])
    texts: dict[str, Any] = results(made)["scheme"]["texts"]
    assert texts["B1.inlet_invert_m"] == f"{_printed(into[end.run], made)} ft"


def test_the_strip_says_that_it_stands_at_the_wall() -> None:
    notes = profile(house.design(), "D1").notes
    assert (
        "Figures at B1 and W1 are at a basin's inside wall or the wall of a well's body, where the pipe ends."
        in notes
    )
