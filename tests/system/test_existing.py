"""What stands already is never designed: a size or level that was not measured is missing, and asked for."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from importlib import resources
from typing import Any

import pytest

from roofwell import job
from roofwell.design import adopt, design
from roofwell.design.judging import Judged

Document = dict[str, Any]
FOLDER = resources.files("roofwell.examples")


@pytest.fixture
def old() -> Document:
    """The example whose whole system stands already and is given in full."""
    return tomllib.loads((FOLDER / "old-system.toml").read_text(encoding="utf-8"))


def _designed(document: Document) -> Any:
    reading = job.read(document, folder=FOLDER)
    assert reading.problems == ()
    return design(reading.job, folder=FOLDER)


def _take_out(document: Document, *paths: str) -> None:
    for path in paths:
        table, id, key = path.split(".")
        del document[table][id][key]


CASES = [
    (["runs.P6.nominal"], "P6.nominal_m", "runs.size", {"pipe-capacity"}),
    (["runs.P6.pipe"], "P6.pipe", "runs.size", {"pipe-capacity"}),
    (["runs.P1.upstream_invert"], "P1.upstream_invert_m", "runs.invert", {"pipe-slope", "pipe-cover"}),
    (["basins.B1.width"], "B1.width_m", "basins.size", {"basin-capture"}),
    (["basins.B1.grate"], "B1.grate_m", "basins.levels", {"order-of-heights", "basin-sump"}),
    (["wells.W1.pit_diameter"], "W1.pit_width_m", "wells.size", {"well-drain-down"}),
    (["wells.W1.body_height"], "W1.body_height_m", "wells.size", {"well-drain-down"}),
    (["wells.W1.bottom"], "W1.bottom_m", "wells.size", {"separation", "deepest-pit"}),
    (["wells.W1.stone"], "W1.stone", "wells.size", {"stone-over-hole"}),
    (["overflows.O1.diameter"], "O1.diameter_m", "overflow.size", {"overflow-capacity"}),
    (["overflows.O1.lip"], "O1.lip_m", "overflow.lip", {"overflow-below-opening"}),
    (["downspouts.D1.width"], "D1.width_m", "downspouts.size", {"downspout-capacity"}),
    (["gutters.G1.top_width"], "G1.top_width_m", "downspouts.size", {"gutter-capacity"}),
]


@pytest.mark.parametrize(("paths", "origin", "leaf", "codes"), CASES, ids=[case[1] for case in CASES])
def test_a_size_that_was_not_measured_is_missing(
    paths: list[str], origin: str, leaf: str, codes: set[str], old: Document
) -> None:
    _take_out(old, *paths)
    made = _designed(old)
    assert made.scheme.origin[origin] == "missing"
    findings = [f for answer in made.answers for f in answer.findings if f.code in codes]
    assert {f.code for f in findings} == codes
    for finding in findings:
        assert finding.verdict == "unknown", finding.code
        assert leaf in {item.leaf for item in finding.missing}
    assert len(made.candidates) <= 1 or origin.startswith("W1")


def test_the_stand_in_is_not_adopted(old: Document) -> None:
    _take_out(old, "runs.P6.nominal", "basins.B1.width", "overflows.O1.diameter", "wells.W1.bottom")
    made = _designed(old)
    again = adopt(copy.deepcopy(old), made)
    for table, id, key in (
        ("runs", "P6", "nominal"),
        ("basins", "B1", "width"),
        ("basins", "B1", "diameter"),
        ("overflows", "O1", "diameter"),
        ("wells", "W1", "bottom"),
    ):
        assert key not in again[table][id], (table, id, key)
    twice = _designed(again)
    verdicts = [[(f.code, f.subject, f.verdict) for f in answer.findings] for answer in made.answers]
    assert [[(f.code, f.subject, f.verdict) for f in a.findings] for a in twice.answers] == verdicts


@pytest.mark.parametrize("given", ["upstream_invert", "downstream_invert"])
def test_an_end_that_its_neighbors_show_needs_no_measuring(given: str, old: Document) -> None:
    """P5 runs from a wye, whose level P3 and P4 show, to a basin that was measured inside."""
    del old["runs"]["P5"][given]
    made = _designed(old)
    assert made.scheme.origin[f"P5.{given}_m"] != "missing"
    assert "runs.invert" not in made.scheme.missing


def test_a_slope_and_one_end_show_the_other(old: Document) -> None:
    del old["runs"]["P1"]["upstream_invert"]
    old["runs"]["P1"]["slope"] = "2 %"
    assert "runs.invert" not in _designed(old).scheme.missing


def test_a_proposed_part_is_designed(old: Document) -> None:
    _take_out(old, "runs.P6.nominal", "runs.P6.state", "basins.B1.width", "basins.B1.state")
    made = _designed(old)
    assert made.scheme.origin["P6.nominal_m"] == "designed"
    assert made.scheme.origin["B1.width_m"] == "designed"
    assert made.scheme.missing.isdisjoint({"runs.size", "basins.size"})


def test_a_pipe_of_unknown_size_cannot_save_a_well_that_is_too_small(old: Document) -> None:
    """A narrower pipe only adds to what the storm wants: the whole range fails, so it fails."""
    _take_out(old, "runs.P6.nominal")
    held = next(f for f in _designed(old).answer(5).findings if f.code == "storm-held")
    assert held.verdict == "fails"


def test_a_pipe_of_unknown_size_may_spoil_a_well_that_is_large_enough(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    house["runs"] = {"P1": {"from": "D3", "to": "W1", "state": "existing", "pipe": "sdr-35",
                            "upstream_invert": "97 ft", "downstream_invert": "95.5 ft"}}  # fmt: skip
    held = next(f for f in judged_of(house).findings if f.code == "storm-held")
    assert held.value <= 1
    assert held.verdict == "unknown"
    assert "runs.size" in {item.leaf for item in held.missing}
