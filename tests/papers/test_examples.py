"""Papers of whole jobs: the starters and the shipped examples, designed and printed."""

from __future__ import annotations

import io
import itertools
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from pypdf import PdfReader

from roofwell import examples
from roofwell.checks.soakage_words import counted_words
from roofwell.design.result import Design
from roofwell.design.steps import design as make_design
from roofwell.job import reading
from roofwell.papers import write_papers
from roofwell.papers.set import set_data
from roofwell.papers.set.sheets import placed_drawings

STARTERS = Path(reading.__file__).parent / "starters"
JOBS = {path.stem: path for path in sorted(STARTERS.glob("*.toml"))} | {
    name: examples.path(name) for name in examples.names() if examples.path(name).is_file()
}


@cache
def designed(name: str, *without: str) -> Design:
    path = JOBS[name]
    document: dict[str, Any] = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    for table in without:
        document.pop(table, None)
    return make_design(reading.read(document).job, folder=path.parent)


CASES = [(name,) for name in JOBS] + [
    ("house", "soil"),
    ("house", "survey"),
    ("house", "survey", "soil", "features", "buildings", "rain"),
    ("house", "roofs", "gutters", "downspouts"),
]


def test_no_side_warns_of_what_the_answers_judge(tmp_path: Path) -> None:
    """The bungalow's one auger test: its well is designed by what the soil conducts, so nothing is left to warn of."""
    design = designed("bungalow")
    write_papers(design, tmp_path)
    text = " ".join(
        page.extract_text() for page in PdfReader(io.BytesIO((tmp_path / "roofwell.pdf").read_bytes())).pages
    )
    assert "three-dimensional flow W1 would" not in " ".join(text.split())
    (well,) = design.scheme.wells
    assert (well.soakage, well.office_soakage) == ("three-dimensional", "bottom and half sides")


def test_side_one_and_terminal_say_what_soakage_is_counted_with() -> None:
    """The bungalow's soil conducts 0.65 in/h and its hole took in 2.98: the well is designed by the first, and its
    office counts the second; a house whose rate is only typed has but that."""
    both = designed("bungalow")
    words = counted_words(both.survey, both.scheme)
    assert words.startswith(
        "0.65 in/h that the soil conducts (its holes took in 2.98 in/h, one test), divided by 2"
    )
    assert words.endswith("by the office's count the 2.98 in/h of the holes, divided by 2 for safety")
    assert words in set_data(both)["rests"]["soil"]
    document = tomlkit.parse(JOBS["bungalow"].read_text(encoding="utf-8")).unwrap()
    document["soil"] = {"rate": "2 in/h", "rate_from": "an invented sheet"}
    typed = make_design(reading.read(document).job, folder=JOBS["bungalow"].parent, beyond=False)
    assert counted_words(typed.survey, typed.scheme).startswith("2.00 in/h (")
    assert "conducts" not in counted_words(typed.survey, typed.scheme)


@pytest.mark.parametrize("case", CASES, ids=lambda case: " without ".join([case[0], *case[1:]]))
def test_every_job_has_its_papers(case: tuple[str, ...], tmp_path: Path) -> None:
    """All three papers are written, no two labels overlap, nothing reads NaN, what is awaited is printed."""
    design = designed(*case)
    write_papers(design, tmp_path)
    json.loads((tmp_path / "results.json").read_bytes(), parse_constant=lambda word: pytest.fail(word))
    pages = PdfReader(io.BytesIO((tmp_path / "roofwell.pdf").read_bytes())).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    assert ("NOT FOR DIGGING" in text) == bool(design.waits)
    for value in design.assumed:
        assert value.what in text and value.text in text
    found = placed_drawings(design)
    for placed in (found.plan, *found.profiles, *found.details):
        for one in placed.labels:
            box = one.box
            assert box.left >= 0 and box.top >= 0, one.label.text
            assert box.right <= placed.width_pt and box.bottom <= placed.height_pt, one.label.text
        for a, b in itertools.combinations(placed.labels, 2):
            assert not a.box.overlaps(b.box), (placed.drawing.name, a.label.text, b.label.text)
