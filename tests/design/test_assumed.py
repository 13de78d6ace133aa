"""One assumed value per field, planted and found again: in the Design, in every paper, and gone once it is given."""

from __future__ import annotations

import io
import json
import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest

from roofwell import tables
from roofwell.design import Design, design
from roofwell.design.ladder import well_options
from roofwell.papers import PAPERS, results_json
from roofwell.papers.texts import without_keys
from roofwell.system.assembly import assemble
from roofwell.system.choice import Choice
from roofwell.system.survey import survey as make_survey
from roofwell.units import Style

Document = dict[str, Any]
Designer = Callable[..., Design]

# The field that is left out, the row that stands in for it, and what the job writes to give it.
PLANTED = [
    ("settings.runoff_coefficient", "runoff-coefficient", ("settings", "runoff_coefficient"), "95 %"),
    ("settings.initial_loss", "roof-loss", ("settings", "initial_loss"), "0.04 in"),
    ("settings.event_gap", "event-gap", ("settings", "event_gap"), "8 h"),
    ("settings.starting_level", "starting-level", ("settings", "starting_level"), "5 %"),
    ("settings.waste", "waste", ("settings", "waste"), "7 %"),
    ("settings.swell", "swell", ("settings", "swell"), "30 %"),
    ("settings.lap", "lap", ("settings", "lap"), "18 in"),
    ("settings.stone_density", "stone-density", ("settings", "stone_density"), "1.4 ton/cu yd"),
    ("W1.voids", "voids", ("wells", "W1", "voids"), "38 %"),
    ("W1.stone_below_m", "stone-below", ("wells", "W1", "stone_below"), "8 in"),
    ("W1.stone_above_m", "stone-above", ("wells", "W1", "stone_above"), "6 in"),
    ("G1.fall_m_m", "gutter-fall", ("gutters", "G1", "fall"), "1 %"),
    ("O1.open_share", "overflow-open-share", ("overflows", "O1", "open_share"), "60 %"),
    ("D1.joint_m", "joint-over-ground", ("downspouts", "D1", "joint"), "99.2 ft"),
]  # fmt: skip
WITHOUT_RULES = [
    ("targets.storm", "storm-return-period", ("targets", "storm"), "5 yr"),
    ("targets.hours_to_empty", "hours-to-empty", ("targets", "hours_to_empty"), "40 h"),
    ("settings.storm_duration", "storm-duration", ("settings", "storm_duration"), "12 h"),
    ("settings.cover_lawn", "cover-lawn", ("settings", "cover_lawn"), "13 in"),
    ("settings.cover_walk", "cover-walk", ("settings", "cover_walk"), "13 in"),
    ("settings.cover_drive", "cover-drive", ("settings", "cover_drive"), "25 in"),
    ("settings.crossing_clearance", "crossing-clearance", ("settings", "crossing_clearance"), "7 in"),
    ("settings.freeboard", "freeboard-opening", ("settings", "freeboard"), "7 in"),
    ("soil.safety_factor", "soil-safety-factor", ("soil", "safety_factor"), 3.0),
]  # fmt: skip


def _marks(text: str) -> str:
    """A text without what a printer changes: spaces, line ends, hyphens, kinds of quotes."""
    return re.sub(r"[\W_]+", "", text).casefold()


@pytest.fixture(scope="module")
def bare(_house_text: str, design_of: Designer) -> tuple[Document, Design]:
    """The small house without its rule file: everything assumed that can be."""
    document = tomllib.loads(_house_text)
    document.pop("place")
    return document, design_of(document)


@pytest.fixture(scope="module")
def papers(bare: tuple[Document, Design]) -> dict[str, bytes]:
    return {name: paper.make(bare[1]) for name, paper in PAPERS.items()}


@pytest.fixture(scope="module")
def pdf_text(papers: dict[str, bytes]) -> str:
    reader = pypdf.PdfReader(io.BytesIO(papers["set"]))
    return _marks(" ".join(page.extract_text() for page in reader.pages))


ALL = [*PLANTED, *WITHOUT_RULES]


@pytest.mark.parametrize(("path", "row", "_way", "_value"), ALL, ids=[item[0] for item in ALL])
def test_it_is_found_in_the_design_and_in_every_paper(
    path: str, row: str, _way: Any, _value: Any,
    bare: tuple[Document, Design], papers: dict[str, bytes], pdf_text: str,
) -> None:  # fmt: skip
    assumption = tables.assumption(row)
    found = {item.path: item for item in bare[1].assumed}
    assert path in found
    assert found[path].text == assumption.text
    assert found[path].how_to_measure == assumption.how_to_measure
    assert found[path].source == assumption.source
    listed = {item["path"]: item for item in json.loads(papers["results"])["assumed"]}
    assert listed[path]["text"] == assumption.text
    assert _marks(assumption.what) in pdf_text
    assert _marks(assumption.text) in pdf_text


@pytest.mark.parametrize(("path", "_row", "way", "value"), ALL, ids=[item[0] for item in ALL])
def test_it_is_gone_once_it_is_given(
    path: str, _row: str, way: tuple[str, ...], value: Any, house: Document,
    read_job: Callable[..., Any], data_folder: Path,
) -> None:  # fmt: skip
    house.pop("place")
    *tables_on_the_way, last = way
    at = house
    for name in tables_on_the_way:
        at = at.setdefault(name, {})
    at[last] = value
    job = read_job(house)
    survey = make_survey(job, folder=data_folder)
    scheme = assemble(job, survey, Choice({"W1": well_options(job, survey, "W1")[0]}))
    everything = {item.path for item in (*survey.assumed, *scheme.assumed)}
    assert path not in everything


def test_a_planted_value_reaches_every_paper(
    monkeypatch: pytest.MonkeyPatch, house: Document, read_job: Callable[..., Any], data_folder: Path
) -> None:
    """Another value in the table of assumptions comes out at the other end, word for word."""
    real = tables.assumption

    def planted(key: str, style: Style = "us") -> tables.Assumption:
        row = real(key, style)
        return replace(row, text="37.31 %", value_si=0.3731) if key == "voids" else row

    monkeypatch.setattr(tables, "assumption", planted)
    made = design(read_job(house), folder=data_folder, document=house)
    assert made.scheme.wells[0].voids == 0.3731
    assert '"37.31 %"' in results_json(made).decode()
    text = " ".join(
        page.extract_text() for page in pypdf.PdfReader(io.BytesIO(PAPERS["set"].make(made))).pages
    )
    assert "37.31" in text


def test_every_measurement_that_is_missing_is_on_the_paper(_house_text: str, design_of: Designer) -> None:
    document = tomllib.loads(_house_text)
    for section in ("place", "soil", "site", "utilities"):
        document.pop(section)
    made = design_of(document)
    missing = {m.leaf: m for answer in made.answers for f in answer.findings for m in f.missing}
    assert {"soil.rate", "place.rules", "utilities", "features.septic"} <= set(missing)
    reader = pypdf.PdfReader(io.BytesIO(PAPERS["set"].make(made)))
    text = _marks(" ".join(page.extract_text() for page in reader.pages))
    assert _marks("NOT FOR DIGGING") in text
    for measurement in missing.values():
        assert _marks(measurement.what) in text, measurement.leaf
        assert _marks(without_keys(measurement.how)) in text, measurement.leaf
