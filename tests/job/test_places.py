"""Places and sizes that no hand measured: told with their path, and never followed for hours."""

from __future__ import annotations

from typing import Any

import pytest

from roofwell import examples
from roofwell.job import Reading, read_text
from roofwell.job.write import set_leaf


def _with(path: str, value: Any) -> Reading:
    file = examples.path("bungalow")
    return read_text(set_leaf(file.read_text(encoding="utf-8"), path, value), folder=file.parent)


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        ("wells.W1.at", ["1e9 ft", "-1e9 ft"], "too-far"),
        ("survey.readings[3].at", [1e308, 1e308], "too-far"),
        ("features.U1.path", [[50, 74], [50, 1e7]], "too-far"),
        ("downspouts.D2.at", ["60 ft", "2 mi"], "too-far"),
        ("gutters.G1.depth", "1e-300 in", "too-small"),
        ("gutters.G1.top_width", "0.001 in", "too-small"),
        ("roofs.R1.plan_area", "1e-200 sq ft", "too-small"),
        ("wells.W1.body_height", "1e12 ft", "too-large"),
    ],
)
def test_what_no_lot_holds_is_told_and_counts_as_missing(path: str, value: Any, code: str) -> None:
    found = _with(path, value)
    assert found.job is not None
    assert [p.code for p in found.problems if p.path.startswith(path)][:1] in ([code], ["quantity"])


def test_a_large_lot_is_believed() -> None:
    """A tree 1,000 ft from the house, on eight acres, is nothing strange."""
    assert _with("features.T1.at", ["66 ft", "1100 ft"]).problems == ()


def test_places_count_from_each_other_and_not_from_an_origin() -> None:
    """Coordinates of a state grid are millions of feet from their origin and lie as near together as ever."""
    text = (
        'document = 1\n[survey]\nunit = "ft"\npoints = [\n'
        '{ id = "a", at = [2100000, 700000], elevation = 100, ground = true },\n'
        '{ id = "b", at = [2100080, 700060], elevation = 99, ground = true },\n]\n'
        '[wells.W1]\nat = ["2100040 ft", "700090 ft"]\n'
    )
    assert [p for p in read_text(text).problems if p.code == "too-far"] == []
