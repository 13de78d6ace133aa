"""Pipes of overflows and between linked wells: their cover, crossings, wheels and course, as those of the runs.

Figures by hand on the invented small house, in feet. SDR 35 of 4 in: outside 4.215 in, inside 3.975 in (ASTM D3034 as in
``pipe_sizes.csv``), so its wall is 0.12 in = 0.01 ft.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell import job as job_room
from roofwell.checks import Context, allowed
from roofwell.design.judging import Judged
from roofwell.system.survey import survey
from roofwell.takeoff import take_off
from roofwell.takeoff.digging import holes

Document = dict[str, Any]
FOOT = 0.3048
DATA = Path(__file__).parents[1] / "data"
GAS = {
    "kind": "utility", "utility": "gas", "diameter": "1 in",
    "path": [["30 ft", "104 ft"], ["46 ft", "104 ft"]],
}  # fmt: skip


@pytest.fixture
def led(house: Document) -> Document:
    """The well's overflow goes on by a pipe of 24 ft, from 97.0 to 95.4 ft, to daylight behind it."""
    house["overflows"]["O1"] = {"of": "W1", "to": "E1", "lip": "97.0 ft", "diameter": "4 in"}
    house["outlets"] = {
        "E1": {"kind": "daylight", "at": ["38 ft", "116 ft"], "invert": "95.4 ft", "destination": "a swale"}
    }
    return house


def _of(judged: Judged, code: str, subject: str) -> Any:
    return next(f for f in judged.findings if f.code == code and f.subject.startswith(subject))


def test_cover_of_an_overflows_pipe(led: Document, judged_of: Callable[..., Judged]) -> None:
    """The ground falls from 98.8 ft at y = 67 to 97.0 at 120, so 97.951 over the well; the pipe's top there is
    97.0 + 0.3333 + 0.01. It is thinnest there: the pipe falls 1 in 15, the ground 1 in 29."""
    found = _of(judged_of(led), "pipe-cover", "O1")
    assert found.value / FOOT == pytest.approx(97.951 - 97.3433, abs=0.002)
    assert found.verdict == "fails"  # 12 in are asked
    led["overflows"]["O1"]["lip"] = "96.4 ft"
    lower = _of(judged_of(led), "pipe-cover", "O1")
    assert lower.value / FOOT == pytest.approx(97.951 - 96.7433, abs=0.002)
    assert lower.verdict == "good"


@pytest.mark.parametrize(("top_ft", "clear_ft", "verdict"), [(95.0, 1.19, "good"), (96.0, 0.19, "fails")])
def test_what_an_overflows_pipe_crosses(
    led: Document,
    judged_of: Callable[..., Judged],
    top_ft: float,
    clear_ft: float,
    verdict: str,
) -> None:
    """12 ft on the pipe's inside bottom is at 97.0 - 12 x 1.6 / 24 = 96.2, its outside 0.01 lower. 6 in are asked."""
    led["features"]["G9"] = GAS | {"top": f"{top_ft} ft"}
    found = _of(judged_of(led), "crossing-clearance", "O1 at G9")
    assert found.value / FOOT == pytest.approx(clear_ft, abs=1e-6)
    assert found.verdict == verdict


def test_a_line_of_unknown_depth_under_an_overflows_pipe_is_to_be_dug_up(
    led: Document, judged_of: Callable[..., Judged]
) -> None:
    led["features"]["G9"] = GAS
    found = _of(judged_of(led), "crossing-clearance", "O1 at G9")
    assert found.verdict == "unknown" and "features.utility_depth" in {m.leaf for m in found.missing}


def test_wheels_over_an_overflows_pipe(led: Document, judged_of: Callable[..., Judged]) -> None:
    led["features"]["V1"] = {
        "kind": "drive",
        "outline": [["30 ft", "98 ft"], ["46 ft", "98 ft"], ["46 ft", "106 ft"], ["30 ft", "106 ft"]],
    }
    judged = judged_of(led)
    assert _of(judged, "pipe-under-wheels", "O1 under V1").value > 0
    assert _of(judged, "pipe-cover", "O1").limit == pytest.approx(
        judged.scheme.side_pipes[0].cover_least_m[judged.scheme.side_pipes[0].cover_by.index("drive:V1")]
    )
    assert [(item.run, item.id) for item in judged.scheme.paved] == [("O1", "V1")]


def test_an_overflows_pipe_through_a_shed(led: Document, judged_of: Callable[..., Judged]) -> None:
    led["buildings"]["H2"] = {
        "outline": [["30 ft", "100 ft"], ["46 ft", "100 ft"], ["46 ft", "108 ft"], ["30 ft", "108 ft"]],
    }
    found = _of(judged_of(led), "path-clear", "O1 in H2")
    assert found.verdict == "fails"
    assert found.value / FOOT == pytest.approx(
        8.0 - 2 * 0.98, abs=0.05
    )  # 0.3 m of wall on each side are no house


def test_a_pipe_that_crosses_a_run_is_told_by_the_one_above(
    led: Document, judged_of: Callable[..., Judged]
) -> None:
    """P1 comes from (55.5, 66.5) to (38, 86); the pipe goes 10 ft east and then 22 ft south along x = 48. They meet at
    y = 66.5 + 7.5 / 17.5 x 19.5 = 74.857, 27.143 ft on, where the pipe's inside bottom is at 97 - 1.6 x 27.143 / 32 = 95.643
    and its outside top 0.3433 higher."""
    led["overflows"]["O1"]["path"] = [["38 ft", "92 ft"], ["48 ft", "92 ft"], ["48 ft", "70 ft"]]
    led["outlets"]["E1"]["at"] = ["48 ft", "70 ft"]
    judged = judged_of(led)
    pipe = judged.scheme.side_pipes[0]
    (met,) = [thing for thing in pipe.crossings if thing.label.startswith("run ")]
    assert met.id == "P1" and met.over is False
    assert met.station_m / FOOT == pytest.approx(27.143, abs=1e-3)
    run = next(run for run in judged.scheme.runs if run.id == "P1")
    above = run.invert_at(7.5 / 17.5 * run.length_m) / FOOT - 0.01
    (back,) = [thing for thing in run.crossings if thing.id == "O1"]
    assert back.over is True
    for thing in (met, back):
        assert thing.clearance_m is not None
        assert thing.clearance_m / FOOT == pytest.approx(above - 95.643 - 0.3433, abs=1e-3)
    told = [f for f in judged.findings if f.code == "crossing-clearance"]
    assert [f.subject for f in told] == ["P1 at O1"]
    assert "P1 passes over the pipe of O1" in told[0].sentence


def test_the_course_that_the_job_draws(led: Document, judged_of: Callable[..., Judged]) -> None:
    """Over a corner 12 ft aside: twice 16.971 ft, one square turn, whose elbow is bought and whose loss is counted."""
    straight = judged_of(led).scheme.overflows[0].pipe
    led["overflows"]["O1"]["path"] = [["38 ft", "92 ft"], ["50 ft", "104 ft"], ["38 ft", "116 ft"]]
    judged = judged_of(led)
    overflow = judged.scheme.overflows[0]
    assert overflow.pipe is not None and straight is not None
    assert overflow.pipe.length_m / FOOT == pytest.approx(33.941, abs=1e-3)
    assert overflow.pipe.slope_m_m == pytest.approx(1.6 / 33.941, rel=1e-4)
    assert straight.bends_k == 0.0 < overflow.pipe.bends_k
    assert overflow.path == ()  # it is no way over the ground
    chain = next(one for one in take_off(judged.scheme, _survey(led), None).chains if one.id == "O1")
    elbows = [link for link in chain.links if link.kind.startswith("elbow")]
    assert [link.kind for link in elbows] == ["elbow-90"]
    assert elbows[0].station_m / FOOT == pytest.approx(16.971, abs=1e-3)


def _survey(document: Document) -> Any:
    """A survey of the same document, for its settings."""
    return survey(_job(document), folder=DATA)


def _job(document: Document) -> Any:
    job = job_room.read(document, folder=DATA).job
    assert job is not None
    return job


@pytest.mark.parametrize(
    ("points", "code"),
    [
        ([["38 ft", "92 ft"], ["38 ft", "100 ft"]], "contradiction"),  # ends away from the outlet
        ([["38 ft", "92 ft"], ["50 ft", "92 ft"], ["44 ft", "100 ft"], ["44 ft", "86 ft"], ["38 ft", "116 ft"]], "crossed"),
    ],
)  # fmt: skip
def test_a_course_that_is_none(led: Document, points: Any, code: str) -> None:
    led["overflows"]["O1"]["path"] = points
    problems = job_room.read(led, folder=None).problems
    assert ("overflows.O1.path", code) in [(p.path, p.code) for p in problems]


def test_a_designed_lip_keeps_the_cover_all_the_way(led: Document, judged_of: Callable[..., Judged]) -> None:
    """The lawn has a hollow at 96.9 ft half way: the lip goes down with it, not only by the ground at the well."""
    del led["overflows"]["O1"]["lip"], led["overflows"]["O1"]["diameter"]
    led["outlets"]["E1"]["invert"] = "94.0 ft"
    flat = judged_of(led)
    led["survey"]["points"] += [
        {"id": f"hollow {x}", "at": [f"{x} ft", "102 ft"], "elevation": "96.9 ft", "ground": True}
        for x in (34, 42)
    ]
    hollow = judged_of(led)
    assert hollow.scheme.overflows[0].lip_m < flat.scheme.overflows[0].lip_m - 0.1 * FOOT
    for judged in (flat, hollow):
        found = _of(judged, "pipe-cover", "O1")
        assert found.verdict in ("good", "close")
        assert found.spare < 0.25 * FOOT  # and no lower than that asks


@pytest.fixture
def pair(house: Document) -> Document:
    """Two wells, joined at 93 ft by 4 in pipe; the lawn over them lies between 97.5 and 98 ft."""
    bodies = {"bodies": 2, "body_diameter": "24 in", "body_height": "48 in"}
    house["wells"]["W1"].update(bottom="92 ft", **bodies)
    house["wells"]["W2"] = {
        "at": ["28 ft", "110 ft"], "linked_to": "W1", "link_invert": "93 ft", "link_nominal": "4 in",
        "bottom": "92.5 ft", **bodies,
    }  # fmt: skip
    house["overflows"]["O2"] = {"of": "W2", "lip": "97.9 ft", "destination": "over the back lawn"}
    return house


def test_cover_and_crossings_of_a_link(pair: Document, judged_of: Callable[..., Judged]) -> None:
    """Its top lies at 93 + (3.975 + 0.12) / 12 = 93.3413; the line's bottom at 95.5 - 1 / 12 = 95.4167."""
    pair["features"]["G9"] = GAS | {"top": "95.5 ft", "path": [["10 ft", "103 ft"], ["60 ft", "103 ft"]]}
    judged = judged_of(pair)
    (link,) = judged.scheme.side_pipes
    assert link.id == "W2-W1" and link.slope_m_m == 0.0
    found = _of(judged, "crossing-clearance", "W2-W1 at G9")
    assert found.value / FOOT == pytest.approx(95.4167 - 93.3413, abs=1e-3)
    assert "The link W2-W1 passes under the gas line" in found.sentence
    cover = _of(judged, "pipe-cover", "W2-W1")
    grounds = sorted(well.ground_m for well in judged.scheme.wells)
    top = 93.3413 * FOOT
    assert grounds[0] - top - 0.01 < cover.value < grounds[1] - top


def test_a_deep_trench_between_wells_is_said(pair: Document, judged_of: Callable[..., Judged]) -> None:
    """OSHA 29 CFR 1926.652: from 5 ft on a trench wants protection. With the lawn at 97.4 to 98 ft a link at 93 ft needs
    none at its shallow end; at 92.2 ft it does."""

    def said(judged: Judged) -> bool:
        job = _job(pair)
        context = Context(
            job, survey(job, folder=DATA), judged.scheme, judged.behaviour, None, None, judged.takeoff
        )
        words = [note for note in allowed.notes(context) if note.startswith("Trench deeper")]
        return any("the link W2-W1" in note for note in words)

    pair["wells"]["W2"]["link_invert"] = "93.5 ft"
    assert not said(judged_of(pair))
    pair["wells"]["W1"]["bottom"] = pair["wells"]["W2"]["bottom"] = "92 ft"
    pair["wells"]["W2"]["link_invert"] = "92.2 ft"
    assert said(judged_of(pair))


def test_the_trench_of_a_link_is_dug_to_its_own_depth(
    pair: Document, judged_of: Callable[..., Judged]
) -> None:
    """Width by the settings, depth from the lawn to the bedding under the pipe at 93 ft, all the way between the pits."""
    judged = judged_of(pair)
    settings = _survey(pair).settings
    (hole,) = [
        hole
        for hole in holes(judged.scheme, settings, bought=frozenset(w.id for w in judged.scheme.wells))
        if hole.part == "W2-W1"
    ]
    grounds = [well.ground_m for well in judged.scheme.wells]
    bottom = 92.99 * FOOT - settings["pipe_bedding"]  # wall 0.01 ft
    assert min(grounds) - bottom < hole.depth_m < max(grounds) - bottom
    assert hole.length_m == pytest.approx(math.dist(*judged.scheme.links[0].path))
