"""The other papers and how papers are written: order.csv, results.json, whole files."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

from roofwell.checks.words import several
from roofwell.papers import PAPERS, write_papers
from roofwell.papers.order import COLUMNS, order_csv
from roofwell.papers.results import plain, results, results_json
from roofwell.papers.texts import Say, day, money, quantity
from roofwell.papers.vial import bubble, vial

from . import house


def test_order_has_a_line_for_each_item_and_numbers_that_are_numbers() -> None:
    rows = list(csv.reader(io.StringIO(order_csv(house.design()).decode("utf-8-sig"))))
    bought = [row for row in rows[1:] if row[0] != "assumed"]
    assert tuple(rows[0]) == COLUMNS and len(bought) == len(house.takeoff().items)
    stone = next(row for row in rows if row[1] == "stone")
    assert (float(stone[3]), stone[4], float(stone[8])) == (12.5, "ton", 575.0)
    cloth = next(row for row in rows if row[1] == "geotextile")
    assert cloth[7:] == ["", "", ""]


def test_order_says_what_it_rests_on() -> None:
    """Every assumed value stands after the items, with how to measure it."""
    design = house.design()
    rows = [r for r in csv.reader(io.StringIO(order_csv(design).decode("utf-8-sig"))) if r[0] == "assumed"]
    assert [row[1] for row in rows] == [value.path for value in design.assumed]
    assert all(value.text in row[6] for row, value in zip(rows, design.assumed, strict=True))


def test_a_formula_in_a_note_is_only_a_text() -> None:
    takeoff = house.takeoff()
    bad = replace(takeoff.items[0], note='=HYPERLINK("x")', what="+1")
    content = order_csv(house.design(takeoff=replace(takeoff, items=(bad,)))).decode("utf-8-sig")
    row = list(csv.reader(io.StringIO(content)))[1]
    assert row[2] == "'+1" and row[6].startswith("'=")


@pytest.mark.parametrize("make", [house.design, house.daylight, house.broken_levels])
def test_results_hold_no_nan_and_are_the_same_twice(make: object) -> None:
    design = make()  # type: ignore[operator]
    content = results_json(design)
    assert content == results_json(design)
    read = json.loads(content, parse_constant=lambda word: pytest.fail(f"{word} in results.json"))
    assert read["results"] == 1 and read["fingerprint"] == design.fingerprint
    assert [answer["question"] for answer in read["answers"]] == list(range(1, 10))
    assert read["answers"][6]["findings"][0]["value"] is None


def test_results_hold_every_part_with_si_numbers_and_trade_texts() -> None:
    read = results(house.design())
    run = next(run for run in read["scheme"]["runs"] if run["id"] == "P1")
    assert run["upstream_invert_m"] == pytest.approx(97.30 * 0.3048)
    assert read["scheme"]["texts"]["P1.upstream_invert_m"] == "97.30 ft"
    assert read["scheme"]["texts"]["P1.slope_m_m"] == "1.0 % (1/8 in/ft)"
    assert read["scheme"]["origin"]["W1.voids"] == "assumed"
    assert read["behaviour"]["wells"][0]["trace_time_s"] == {
        "count": 4, "first": 0.0, "last": 3.0, "least": 0.0, "most": 3.0,
    }  # fmt: skip


def test_results_page_names_every_key() -> None:
    page = (Path(__file__).parents[2] / "docs" / "results.md").read_text(encoding="utf-8")
    read = results(house.design())
    for key in (
        *read,
        *read["behaviour"],
        *read["scheme"],
        *read["job"],
        *(f.name for f in fields(house.finding(1, "good"))),
    ):
        assert f"`{key}`" in page, key


def test_papers_page_names_every_paper() -> None:
    page = (Path(__file__).parents[2] / "docs" / "papers.md").read_text(encoding="utf-8")
    for name, paper in PAPERS.items():
        assert f"## `{paper.file}`" in page and f"`{name}`" in page


def test_plain_values() -> None:
    assert plain(float("nan")) is None and plain(np.float64(2.5)) == 2.5 and plain(np.int64(3)) == 3
    assert plain(frozenset({"b", "a"})) == ["a", "b"] and plain(np.array([])) == {
        "count": 0, "first": None, "last": None, "least": None, "most": None,
    }  # fmt: skip


def test_papers_are_written_whole_and_progress_is_told(tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []
    paths = write_papers(house.design(), tmp_path / "out", progress=lambda *step: told.append(step))
    names = ["roofwell.pdf", "homeowner.pdf", "crew-sheets.pdf", "order.csv", "results.json"]
    assert [path.name for path in paths] == names
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(names)
    assert told == [(name, count, 5) for count, name in enumerate(names, 1)]


def test_a_paper_that_cannot_be_made_leaves_the_old_ones(tmp_path: Path) -> None:
    write_papers(house.design(), tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    broken = replace(house.design(), fingerprint=None)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        write_papers(broken, tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_figures_read_as_the_trade_writes_them() -> None:
    us, metric = Say("us"), Say("metric")
    assert us.station(62 * 0.3048) == "0+62" and us.station(47.5 * 0.3048) == "0+47.5"
    assert us.station(131.2 * 0.3048) == "1+31.2" and metric.station(12.25) == "0+12.25"
    assert us.level(97.3 * 0.3048) == "97.30" and us.elevation(None) == "?" and us.length(float("nan")) == "?"
    assert us.length(1.3843) == "4′ 6 1/2″"
    assert quantity(12.5) == "12.5" and quantity(7.0) == "7" and quantity(float("nan")) == "?"
    assert money(1120.0, "USD") == "$1,120.00" and money(None, "USD") == "?" and money(5, "EUR") == "5.00 EUR"
    assert day(None) == "no date given" and several(["a", "b", "c"]) == "a, b and c"


def test_bubble_of_the_vial_stands_where_the_verdict_says() -> None:
    """Good drifts to 3.0 of 10 as the margin shrinks to a tenth; close lies on the line; fails at the end."""
    roomy = house.finding(1, "good", spare=0.5, limit=1.0)
    scant = house.finding(1, "good", spare=0.1, limit=1.0)
    assert bubble("good", roomy) == pytest.approx(0.0) and bubble("good", scant) == pytest.approx(3.0)
    assert 6.6 <= bubble("close", house.finding(1, "close", spare=0.05, limit=1.0)) <= 9.6
    assert bubble("fails", None) == 18.6
    assert "?" in vial("unknown", None) and "ellipse" not in vial("unknown", None)
