"""Trench trees of whole jobs: what is given stays, what shuts a downspout in is said, the same job has the same tree."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
import shapely

from roofwell.checks import REGISTER
from roofwell.design.judging import Inputs, Judged, design_rate_m_s, judge
from roofwell.job.prices import shipped_prices
from roofwell.physics.trench.route_passage import widest_passage
from roofwell.physics.trench.route_zones import Obstacle
from roofwell.system import routing
from roofwell.system.choice import BodyChoice, Choice, WellChoice
from roofwell.system.route_weights import table_weights
from roofwell.system.scheme import Scheme
from roofwell.system.survey import survey as make_survey

Document = dict[str, Any]
FT = 0.3048
HOUSE = shapely.box(20 * FT, 40 * FT, 56 * FT, 66 * FT)


def _line(run: Any) -> shapely.LineString:
    return shapely.LineString(run.path)


def _ends(scheme: Scheme) -> dict[str, str]:
    return {spout.id: scheme.way(spout.id)[-1].to_id for spout in scheme.downspouts}


def test_every_downspout_of_the_small_house_gets_to_the_well(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Through the basin, round the house, each run from its part to its part."""
    scheme = judged_of(house).scheme
    assert _ends(scheme) == {"D1": "W1", "D2": "W1", "D3": "W1"}
    places = {
        part.id: part.at
        for part in (*scheme.downspouts, *scheme.wyes, *scheme.basins, *scheme.wells)
    }  # fmt: skip
    for run in scheme.runs:
        assert run.path[0] == places[run.from_id]
        assert run.path[-1] == places[run.to_id]
        assert not _line(run).intersects(HOUSE.buffer(-0.01))
    (route,) = scheme.routes
    assert route.exact
    assert route.sources == ("D1", "D2", "D3")
    assert 0 < route.expected_m3 <= route.solved_m3 * 1.02
    assert route.gap_share == pytest.approx(route.solved_m3 / route.expected_m3 - 1)
    assert 1 <= route.rounds <= routing.MOST_ROUNDS


def test_a_root_zone_is_gone_round(house: Document, judged_of: Callable[..., Judged]) -> None:
    """A tree of 6 in in the way from D3 to the well: no run comes nearer than 6 ft (1 ft for an inch)."""
    before = judged_of(house).scheme
    far = max(before.runs, key=lambda run: run.length_m)
    at = _line(far).interpolate(far.length_m - 2.5)
    house["features"]["T2"] = {
        "kind": "tree", "at": [f"{at.x / FT:.2f} ft", f"{at.y / FT:.2f} ft"], "diameter": "4 in",
    }  # fmt: skip
    scheme = judged_of(house).scheme
    for run in scheme.runs:
        assert _line(run).distance(at) >= 4 * FT - 0.02 or run.to_id == "W1"
    assert _ends(scheme) == _ends(before)


def test_given_paths_are_kept_and_the_rest_is_laid(house: Document, judged_of: Callable[..., Judged]) -> None:
    path = [["20.5 ft", "66.5 ft"], ["5 ft", "80 ft"], ["38 ft", "92 ft"]]
    house["runs"] = {"P9": {"from": "D1", "to": "W1", "path": path}}
    scheme = judged_of(house).scheme
    kept = next(run for run in scheme.runs if run.id == "P9")
    assert [(round(x / FT, 6), round(y / FT, 6)) for x, y in kept.path] == [(20.5, 66.5), (5, 80), (38, 92)]
    assert scheme.origin["P9.path"] == "given"
    assert {route.sources for route in scheme.routes} == {("D2", "D3")}


def test_a_given_wye_is_used(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Between D1 and the well: what lies behind it joins there, and it leads on."""
    house["wyes"] = {"Y7": {"at": ["26 ft", "74 ft"]}}
    scheme = judged_of(house).scheme
    assert {run.from_id for run in scheme.runs_to("Y7")} == {"D1", "D3"}
    leaving = scheme.run_from("Y7")
    assert leaving is not None
    assert leaving.path[0] == pytest.approx((26 * FT, 74 * FT))
    assert _ends(scheme) == {"D1": "W1", "D2": "W1", "D3": "W1"}


def test_a_downspout_shut_in_is_drawn_straight_and_the_number_is_said(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """A court with gaps of 0.8 ft to the house; the trench is some 1.7 ft; all else is designed as before."""
    house["downspouts"]["D3"]["at"] = ["26 ft", "39.5 ft"]
    house["buildings"]["H2"] = {"outline": [
        ["21 ft", "28 ft"], ["37 ft", "28 ft"], ["37 ft", "39.2 ft"], ["30 ft", "39.2 ft"], ["30 ft", "34 ft"],
        ["23 ft", "34 ft"], ["23 ft", "39.2 ft"], ["21 ft", "39.2 ft"],
    ]}  # fmt: skip
    judged = judged_of(house)
    (blocked,) = judged.scheme.blocked
    run = next(run for run in judged.scheme.runs if run.id == blocked.run)
    assert run.from_id == "D3"
    assert len(run.path) == 2
    assert blocked.width_m == pytest.approx(0.8 * FT, abs=0.01)
    assert set(blocked.between) == {"H1", "H2"}
    assert {route.sources for route in judged.scheme.routes} == {("D1", "D2")}
    said = [f for f in judged.findings if f.code == "trench-passes"]
    assert [f.verdict for f in said] == ["fails"]
    assert "H1 and H2" in said[0].sentence
    assert {f.code for f in judged.findings} > {"pipe-slope", "pipe-cover", "storm-held"}
    assert "trench-passes" in REGISTER


def test_a_narrow_side_yard_brings_the_trench_nearer_to_the_wall(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """Lot lines 3 ft from the walls: the usual 2 ft and half a trench do not fit on both sides, half a trench does."""
    house["features"]["L1"]["outline"] = [[17.5, 36], [58.5, 36], [58.5, 120], [17.5, 120]]
    house["features"]["L1"]["unit"] = "ft"
    scheme = judged_of(house).scheme
    assert scheme.blocked == ()
    lot = shapely.box(17.5 * FT, 36 * FT, 58.5 * FT, 120 * FT).buffer(0.01)
    assert all(lot.contains(_line(run)) for run in scheme.runs)


def test_the_tree_does_not_depend_on_what_was_asked_before(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """With every answer forgotten the same runs come out."""
    first = [(run.id, run.path) for run in judged_of(house).scheme.runs]
    routing.forget()
    assert [(run.id, run.path) for run in judged_of(house).scheme.runs] == first


def test_fittings_fall_out_of_the_turns(house: Document, judged_of: Callable[..., Judged]) -> None:
    """At each corner the elbows and what they leave over make the turn."""
    scheme = judged_of(house).scheme
    seen = 0
    for run in scheme.runs:
        station = 0.0
        for a, b, c in zip(run.path, run.path[1:], run.path[2:], strict=False):
            station += math.dist(a, b)
            turn = math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
            turn = abs((turn + math.pi) % (2 * math.pi) - math.pi)
            here = [f for f in run.fittings if f.kind == "elbow" and abs(f.station_m - station) < 0.01]
            if here:
                left = math.copysign(1, 1) * sum(abs(f.left_over_rad) for f in here)
                made = sum(f.angle_rad for f in here)
                assert abs(turn - made) == pytest.approx(left, abs=1e-6)
                assert left <= math.radians(11.25) + 1e-9
                seen += 1
            else:
                assert turn <= math.radians(11.25) + 1e-9
    assert seen


def test_the_widest_passage_is_the_gap() -> None:
    """Two blocks 0.7 apart between source and goal, open ground far round them shut by the lot."""
    lot = shapely.box(0, 0, 10, 10)
    blocks = [
        Obstacle(id, shape, shape)
        for id, shape in (("A", shapely.box(0, 4, 5, 6)), ("B", shapely.box(5.7, 4, 10, 6)))
    ]
    asked = {"source": (1, 1), "goal": (1, 9), "obstacles": blocks, "within": lot}
    found = widest_passage(**asked, most_m=1.5)
    assert found.width_m == pytest.approx(0.7, abs=1e-3)
    assert set(found.between) == {"A", "B"}
    assert widest_passage(**asked, most_m=0.5).width_m == 0.5
    shut = Obstacle("C", shapely.box(-1, 4, 11, 6), shapely.box(-1, 4, 11, 6))
    assert widest_passage(source=(1, 1), goal=(1, 9), obstacles=[shut], within=lot, most_m=1.0).width_m == 0


def test_runs_of_one_tree_do_not_cross(house: Document, judged_of: Callable[..., Judged]) -> None:
    runs = judged_of(house).scheme.runs
    for i, one in enumerate(runs):
        for other in runs[i + 1 :]:
            assert not _line(one).crosses(_line(other)) or {one.from_id, one.to_id} & {
                other.from_id,
                other.to_id,
            }
    assert all(math.dist(a, b) > 0.1 for run in runs for a, b in pairwise(run.path))


def test_a_given_run_of_the_system_costs_something_to_cross(
    house: Document, read_job: Callable[..., Any], data_folder: Any
) -> None:
    """D1 leads west to daylight. D3 may go round the house either way: west is shorter, and crosses D1's run."""
    del house["downspouts"]["D2"]
    house["downspouts"]["D3"]["at"] = ["36 ft", "39.5 ft"]
    house["outlets"] = {"E1": {"kind": "daylight", "at": ["0.5 ft", "66.5 ft"], "invert": "96.2 ft"}}
    house["runs"] = {
        "P9": {"from": "D1", "to": "E1", "path": [["20.5 ft", "66.5 ft"], ["0.5 ft", "66.5 ft"]]}
    }
    house["basins"] = {"B5": {"at": ["38 ft", "86 ft"]}}
    job = read_job(house, data_folder)
    survey = make_survey(job, folder=data_folder)
    body = BodyChoice("test", 24 * FT / 12, 60 * FT / 12, FT / 24)

    def judged(own_run_m: float) -> Judged:
        weights = replace(table_weights(), own_run=own_run_m)
        choice = Choice({"W1": WellChoice(body, 4, 1.5 * FT)}, route=weights)
        inputs = Inputs(job, survey, shipped_prices(), (None, None), ())
        return judge(inputs, choice, rate_m_s=design_rate_m_s(survey, survey.soil.best_m_s), whole=False)

    def crossed(found: Judged) -> bool:
        given = next(run for run in found.scheme.runs if run.id == "P9")
        return any(_line(run).crosses(_line(given)) for run in found.scheme.runs)

    free = judged(0.0)
    assert crossed(free)
    told = [f for f in free.findings if f.code == "crossing-clearance" and "P9" in f.subject]
    assert len(told) == 1 and told[0].verdict in ("good", "close")  # the inverts keep them apart
    assert not crossed(judged(30 * FT))


def test_a_run_of_two_given_ends_goes_round_the_house(
    house: dict[str, Any], judged_of: Callable[..., Judged]
) -> None:
    """By plane geometry: D1 stands behind the house, W1 before it; no point of the way lies inside the walls."""
    house["downspouts"]["D1"]["at"] = ["38 ft", "39.5 ft"]
    house["runs"] = {"P1": {"from": "D1", "to": "W1"}}
    scheme = judged_of(house).scheme
    run = next(run for run in scheme.runs if run.id == "P1")
    walls = shapely.box(20 * 0.3048, 40 * 0.3048, 56 * 0.3048, 66 * 0.3048)
    assert shapely.LineString([run.path[0], run.path[-1]]).intersects(walls)
    assert not shapely.LineString(run.path).intersects(walls)
    assert scheme.origin["P1.path"] == "designed"
