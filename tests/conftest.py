"""What the tests of several rooms share: an invented small house, designed once, and quick judgements of changes."""

from __future__ import annotations

import copy
import json
import os
import re
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does, before numpy is loaded

import pytest

from roofwell import job as job_room
from roofwell.design import Design, design
from roofwell.design.judging import Inputs, Judged, design_rate_m_s, judge
from roofwell.job.prices import shipped_prices
from roofwell.system.choice import BodyChoice, Choice, WellChoice
from roofwell.system.rainfall import record_basis
from roofwell.system.survey import survey as make_survey
from roofwell.units import Dimension, parse

DATA = Path(__file__).parent / "data"
Document = dict[str, Any]


@pytest.fixture(scope="session")
def data_folder() -> Path:
    return DATA


@pytest.fixture(scope="session")
def _house_text() -> str:
    return (DATA / "small-house.toml").read_text(encoding="utf-8")


@pytest.fixture
def house(_house_text: str) -> Document:
    """A fresh copy of the small house's document, to be changed."""
    return tomllib.loads(_house_text)


@pytest.fixture(scope="session")
def linked_house(_house_text: str) -> Callable[[], Document]:
    """Make the small house with two linked wells and an overflow by a pipe to daylight; a fresh one each time."""

    def make() -> Document:
        house = tomllib.loads(_house_text)
        bodies = {"bodies": 2, "body_diameter": "24 in", "body_height": "48 in"}
        house["wells"]["W1"].update(bottom="92 ft", **bodies)
        house["wells"]["W2"] = {
            "at": ["20 ft", "108 ft"], "linked_to": "W1", "link_invert": "93 ft", "link_nominal": "4 in",
            "bottom": "92.5 ft", **bodies,
        }  # fmt: skip
        house["overflows"]["O1"] = {"of": "W1", "to": "E1", "lip": "97.0 ft", "diameter": "4 in"}
        house["outlets"] = {
            "E1": {
                "kind": "daylight",
                "at": ["38 ft", "116 ft"],
                "invert": "95.4 ft",
                "destination": "a swale",
            }
        }
        return house

    return make


@pytest.fixture(scope="session")
def rules_text() -> str:
    return (DATA / "small-house-rules.toml").read_text(encoding="utf-8")


@pytest.fixture
def rules_with(tmp_path: Path, rules_text: str) -> Callable[..., Path]:
    """Write the small house's rule file with some lines changed (None: left out); return its own folder."""

    def write(**changes: str | None) -> Path:
        text = rules_text
        for name, value in changes.items():
            line = "" if value is None else f'{name} = "{value}"'
            text, count = re.subn(rf'(?m)^{name} = "[^"]*"$', line, text)
            assert count == 1, name
        folder = tmp_path / f"rules{len(list(tmp_path.iterdir()))}"
        folder.mkdir()
        (folder / "small-house-rules.toml").write_text(text, encoding="utf-8")
        return folder

    return write


@pytest.fixture(scope="session")
def read_job() -> Callable[..., Any]:
    """Read a document that must be free of problems."""

    def read(document: Mapping[str, Any], folder: Path = DATA) -> Any:
        reading = job_room.read(document, folder=folder)
        assert reading.problems == ()
        assert reading.job is not None
        return reading.job

    return read


@pytest.fixture(scope="session")
def design_of(read_job: Callable[..., Any]) -> Callable[..., Design]:
    """Design a document; the same document in the same folder is designed once."""
    made: dict[str, Design] = {}

    def run(document: Document, folder: Path = DATA) -> Design:
        key = json.dumps([document, str(folder)], sort_keys=True, default=str)
        if key not in made:
            made[key] = design(read_job(document, folder), folder=folder, document=copy.deepcopy(document))
        return made[key]

    return run


@pytest.fixture(scope="session")
def small_house(_house_text: str, design_of: Callable[..., Design]) -> Design:
    """The small house as designed."""
    return design_of(tomllib.loads(_house_text))


def _well(bodies: int, diameter: str, height: str, around: str) -> WellChoice:
    size = [parse(text, Dimension.LENGTH).value_si for text in (diameter, height, "1/2 in", around)]
    return WellChoice(BodyChoice("test", size[0], size[1], size[2]), bodies, size[3])


@pytest.fixture(scope="session")
def judged_of(read_job: Callable[..., Any]) -> Callable[..., Judged]:
    """Judge one fixed choice for a document, without a search and without the long record."""

    def run(
        document: Document,
        folder: Path = DATA,
        *,
        bodies: int = 4,
        diameter: str = "24 in",
        height: str = "60 in",
        around: str = "18 in",
        rate_m_s: float | None = None,
        whole: bool = True,
        record: bool = False,
    ) -> Judged:
        job = read_job(document, folder)
        survey = make_survey(job, folder=folder)
        basis = record_basis(survey) if record else (None, None)
        inputs = Inputs(job, survey, shipped_prices(), basis, ())
        wells = [id for id, well in job.wells.items() if well.state != "abandoned"]
        if not wells and not job.outlets:
            wells = ["W1"]
        choice = Choice(dict.fromkeys(wells, _well(bodies, diameter, height, around)))
        rate = design_rate_m_s(survey, survey.soil.best_m_s) if rate_m_s is None else rate_m_s
        return judge(inputs, choice, rate_m_s=rate, whole=whole)

    return run
