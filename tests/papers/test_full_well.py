"""The full-well section, true to scale, and the what-ifs on papers: measured on the finished PDF."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from typing import Any

import pdfplumber
import pytest

from roofwell.design import Design
from roofwell.papers import results_json
from roofwell.papers.drawing.full_well import full_well
from roofwell.papers.drawing.model import Dimension, Drawing, Polyline
from roofwell.papers.drawing.profile import profile
from roofwell.papers.drawing.way import pit_along, unroll
from roofwell.papers.drawing.way_cases import APART_M, case_groups
from roofwell.papers.set import make_set

FOOT = 0.3048


def _drawn(design: Design) -> Drawing:
    drawing = full_well(design)
    assert drawing is not None
    return drawing


def _lines(drawing: Drawing, role: str) -> list[Polyline]:
    return [item for item in drawing.items if isinstance(item, Polyline) and item.role == role]


def _big(drawing: Drawing) -> Dimension:
    (one,) = [item for item in drawing.items if isinstance(item, Dimension) and item.large]
    return one


def test_a_foot_is_a_foot_along_and_up(small_house: Design) -> None:
    """The stone of the well and the large dimension, in points, by the scale that stands under the section."""
    with pdfplumber.open(io.BytesIO(make_set(small_house))) as pdf:
        page = next(page for page in pdf.pages if "to true scale" in (page.extract_text() or ""))
        text = page.extract_text()
        upright = [abs(float(s["y1"]) - float(s["y0"])) for s in (*page.lines, *page.curves)]
        boxes = {
            (round(float(s["width"]), 1), round(float(s["height"]), 1)) for s in (*page.rects, *page.curves)
        }
    inch = re.search(r"(\d+)/(\d+) in = 1 ft|1 in = (\d+) ft", text)
    assert inch is not None
    foot_pt = 72.0 * int(inch[1]) / int(inch[2]) if inch[1] else 72.0 / int(inch[3])
    well = small_house.scheme.wells[0]
    run = small_house.scheme.runs_to(well.id)[0]
    _, near, far, _ = pit_along(run, well)
    wide = (far - near) / FOOT * foot_pt
    high = (well.stone_top_m - well.bottom_m) / FOOT * foot_pt
    assert any(abs(w - wide) < 0.2 and abs(h - high) < 0.2 for w, h in boxes), (wide, high)
    big = _big(_drawn(small_house))
    tall = (big.end[1] - big.start[1]) / FOOT * foot_pt
    assert any(abs(h - tall) < 0.1 for h in upright), tall
    assert "below the threshold of the back door" in text
    assert "What if" in text


def test_nothing_is_stretched(small_house: Design) -> None:
    assert _drawn(small_house).up == 1.0


def test_the_large_dimension_is_the_answer_of_water_below_opening(small_house: Design) -> None:
    """From the cloudburst's level at the worst joint, read in results.json, to the opening typed in the job (99.8 ft)."""
    big = _big(_drawn(small_house))
    data = json.loads(results_json(small_house))
    spouts = {spout["id"] for spout in data["scheme"]["downspouts"]}
    levels = [level["reach_m"] for level in data["behaviour"]["levels"] if level["id"] in spouts]
    assert big.start[1] == pytest.approx(max(levels), abs=1e-9)
    assert big.end[1] == pytest.approx(99.8 * FOOT)
    inches = (99.8 - max(levels) / FOOT) * 12
    assert big.text == f"{inches:.1f} in below the threshold of the back door"


def test_full_is_flat_and_the_cloudburst_slopes_to_the_well(small_house: Design) -> None:
    drawing = _drawn(small_house)
    for line in _lines(drawing, "water full"):
        assert {z for _, z in line.points} == {small_house.scheme.wells[0].lip_m}
    (peak,) = [line for line in _lines(drawing, "water level") if line.part is None]  # not that of the gutter
    assert peak.points[0][1] > peak.points[-1][1] + 0.01


def test_it_goes_from_the_wall_over_the_overflow_to_the_lot_line(small_house: Design) -> None:
    """Pipes of the way with the highest water, then the water's way over the lawn: as long as on the ground."""
    drawing = _drawn(small_house)
    over = small_house.behaviour.overland
    assert over is not None
    assert over.ways[0].leaves_at is not None
    spouts = {spout.id for spout in small_house.scheme.downspouts}
    levels = [level for level in small_house.behaviour.levels if level.id in spouts]
    worst = max(levels, key=lambda level: level.reach_m)
    pipes = sum(run.length_m for run in small_house.scheme.way(worst.id))
    (line,) = _lines(drawing, "lot line")
    assert line.points[0][0] == pytest.approx(pipes + over.ways[0].length_m, abs=1e-6)
    (house,) = [one for one in _lines(drawing, "house") if one.points[0][0] == one.points[1][0]]
    assert house.points[0][0] == pytest.approx(
        -0.5 * FOOT, abs=1e-6
    )  # D1 to D3 stand half a foot off the wall


def test_ground_that_nobody_shot_is_dashed(small_house: Design) -> None:
    unknown = replace(small_house, survey=replace(small_house.survey, ground_known=False))
    drawing = _drawn(unknown)
    assert not _lines(drawing, "ground")
    assert _lines(drawing, "ground guessed")
    assert any("not measured" in note for note in drawing.notes)


def test_an_opening_that_nobody_measured_has_no_dimension(small_house: Design) -> None:
    survey = small_house.survey
    blind = tuple(replace(building, lowest_opening_m=None) for building in survey.buildings)
    drawing = _drawn(replace(small_house, survey=replace(survey, buildings=blind)))
    assert not any(isinstance(item, Dimension) for item in drawing.items)
    assert any("not measured" in getattr(item, "text", "") for item in drawing.items)


def test_each_case_is_a_dashed_line_with_its_letter_on_the_long_section(small_house: Design) -> None:
    found = small_house.behaviour.what_if
    assert found is not None
    spout = small_house.scheme.downspouts[0].id
    way = unroll(small_house.scheme, spout)
    groups = case_groups(small_house, way)
    letters = [letter for group in groups for letter in group.letters]
    assert sorted(letters) == [case.letter for case in found.cases]
    drawing = profile(small_house, spout)
    assert len(_lines(drawing, "what if")) == len(groups)
    for group in groups:
        joints = [dict(case.joints)[spout] for case in found.cases if case.letter in group.letters]
        assert group.points[0][1] == pytest.approx(max(joints), abs=1e-9)
        assert max(joints) - min(joints) < APART_M * len(joints)
    assert any("one thing failing" in mark.words for mark in drawing.key)


def test_results_hold_every_case(small_house: Design) -> None:
    data: dict[str, Any] = json.loads(results_json(small_house))
    cases = data["behaviour"]["what_if"]["cases"]
    assert [case["letter"] for case in cases] == ["A", "B", "C"]
    assert all(case["out"][0]["volume_m3"] > 0 for case in cases if case["kind"] != "never emptied")
