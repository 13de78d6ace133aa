"""Water over the ground of the small house: plane back lawn, so that way and depth follow by hand."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest

from roofwell import examples, job
from roofwell.design import design
from roofwell.design.judging import Judged
from roofwell.papers.drawing.model import Polyline
from roofwell.papers.drawing.plan import plan
from roofwell.papers.results import results

FT = 0.3048


def test_on_the_plane_back_lawn_the_water_runs_straight_to_the_line(
    house: dict[str, Any], judged_of: Callable[..., Judged]
) -> None:
    """The shots behind the house lie on a plane that falls north: from y = 92 ft straight to the line at y = 120 ft."""
    judged = judged_of(house)
    over = judged.behaviour.overland
    assert over is not None
    way = over.way("O1")
    assert way is not None and way.leaves_at is not None
    assert way.leaves_at == pytest.approx((38 * FT, 120 * FT), abs=0.01)
    assert way.length_m == pytest.approx(28 * FT, abs=0.01)
    assert way.houses[0].distance_m == pytest.approx((92 - 66) * FT, abs=0.01)  # back wall at y = 66 ft
    # without the system all 0.52 in in 5 min on 780 sq ft crosses the line, 0.1127 cfs; with it what the full well does not
    # soak away, less what comes out at joints and grates and then leaves the lot too
    assert over.line.before_m3_s / FT**3 == pytest.approx(0.1127, rel=1e-3)
    soaks = judged.behaviour.wells[0].soakage_full_m3_s
    assert over.line.after_m3_s == pytest.approx(over.line.before_m3_s - soaks, rel=1e-6)
    assert 0 < soaks < over.line.before_m3_s


def test_a_break_line_with_two_shots_turns_the_water(
    house: dict[str, Any], judged_of: Callable[..., Judged]
) -> None:
    """A ditch across the lawn at y = 110 ft that falls east takes the water along to the east line at x = 80 ft."""
    document = copy.deepcopy(house)
    document["survey"]["points"] += [
        {"id": "ditch west", "at": ["0 ft", "110 ft"], "elevation": "96.6 ft", "ground": True},
        {"id": "ditch east", "at": ["80 ft", "110 ft"], "elevation": "95.8 ft", "ground": True},
    ]
    document["features"]["S1"] = {"kind": "break line", "path": [["0 ft", "110 ft"], ["80 ft", "110 ft"]]}
    way = judged_of(document).behaviour.overland.way("O1")  # type: ignore[union-attr]
    assert way is not None
    assert way.leaves_at == pytest.approx((80 * FT, 110 * FT), abs=0.01)
    assert way.water[-1].in_hollow


def test_too_few_shots_are_said_with_the_one_that_helps(
    house: dict[str, Any], judged_of: Callable[..., Judged]
) -> None:
    document = copy.deepcopy(house)
    document["survey"]["points"] = document["survey"]["points"][:3]
    judged = judged_of(document)
    finding = next(f for f in judged.findings if f.code == "overflow-path")
    assert finding.verdict == "unknown"
    assert "only 2 shots on the ground" in finding.sentence
    assert "Shoot the ground at [38.0 ft, 120.0 ft]" in finding.sentence


def test_a_person_sees_the_way_on_plan_and_in_the_results() -> None:
    """Through the whole design of an example: finding, results and plan tell the same way."""
    reading = job.read_file(examples.path("sloping-lot"))
    done = design(reading.job, folder=examples.path("sloping-lot").parent)
    finding = next(f for f in done.answer(6).findings if f.code == "overflow-path")
    assert finding.verdict == "good"
    told = results(done)["behaviour"]["overland"]["ways"][0]
    assert told["part"] == finding.subject
    assert told["leaves_by"] == "the lot line"
    drawn = [item for item in plan(done).items if isinstance(item, Polyline) and item.role == "spill"]
    assert drawn
