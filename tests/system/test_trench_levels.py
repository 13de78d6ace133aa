"""The trench of a whole house: what wants its cover, frost, depth, own crossings, cleanouts, what does not fit."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofwell import tables
from roofwell.checks.finding import Finding
from roofwell.design.judging import Judged
from roofwell.system import cleanouts, pipe_slopes
from roofwell.system.cleanouts import Limits, Piped
from roofwell.system.scheme import Run
from roofwell.system.survey import survey

Document = dict[str, Any]
FT = 0.3048
WALK = {
    "kind": "walk", "outline": [["30 ft", "76 ft"], ["46 ft", "76 ft"], ["46 ft", "79 ft"], ["30 ft", "79 ft"]],
}  # fmt: skip


def run_of(judged: Judged, id: str) -> Run:
    return next(run for run in judged.scheme.runs if run.id == id)


def findings(judged: Judged, code: str) -> list[Finding]:
    return [finding for finding in judged.findings if finding.code == code]


def test_of_several_things_over_one_place_the_deepest_rules_and_is_named(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """A walk wants 18 in and a drive on the same ground 24 in, the lawn 12 in: 24 in there, by the drive."""
    house["settings"] = {"cover_lawn": "12 in", "cover_walk": "18 in", "cover_drive": "24 in"}
    house["features"] |= {"K1": WALK, "V1": WALK | {"kind": "drive"}}
    house["runs"] = {
        "P1": {
            "from": "D1",
            "to": "W1",
            "path": [["20.5 ft", "66.5 ft"], ["38 ft", "70 ft"], ["38 ft", "92 ft"]],
        }
    }
    run = run_of(judged_of(house), "P1")
    wanted = dict(zip(run.cover_by, run.cover_least_m, strict=True))
    assert wanted["lawn"] == pytest.approx(12 / 12 * FT)
    assert wanted["drive:V1"] == pytest.approx(24 / 12 * FT)
    under = [s for s, by in zip(run.stations_m, run.cover_by, strict=True) if by == "drive:V1"]
    reach = math.dist((20.5, 66.5), (38, 70)) * FT
    assert min(under) == pytest.approx(reach + 6 * FT - 0.3, abs=1e-6)  # 6 ft on, and 0.3 m beside it
    assert max(under) == pytest.approx(reach + 9 * FT + 0.3, abs=1e-6)


def test_pipes_lie_below_the_frost_where_the_job_asks(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """30 in of frost: every station of every run has that much over the pipe, and the check says why."""
    house["soil"]["frost_depth"] = "30 in"
    shallow = judged_of(house)
    assert min(run.cover_at(0) for run in shallow.scheme.runs) < 30 / 12 * FT
    house["settings"] = {"below_frost": True}
    judged = judged_of(house)
    for run in judged.scheme.runs:
        assert all(run.cover_at(i) >= 30 / 12 * FT - 1e-6 for i in range(len(run.stations_m)))
    assert all("below the frost" in f.sentence for f in findings(judged, "pipe-cover"))
    house["soil"].pop("frost_depth")
    assert "soil.frost_depth" in judged_of(house).scheme.missing


def test_a_trench_that_may_not_be_so_deep_is_told_with_what_is_missing(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """36 in of frost over 4 in pipe on 3 in of bedding cannot lie in a trench of 40 in.

    By hand: top of the bedding's dig = 36 in + 4.215 in of pipe + 3 in = 43.215 in: 3.2 in = 0.27 ft too deep
    where the run starts, 1 % of fall not counted.
    """
    house["soil"]["frost_depth"] = "36 in"
    house["settings"] = {"below_frost": True, "deepest_trench": "40 in"}
    judged = judged_of(house)
    assert judged.scheme.level_conflicts
    kinds = {wish.kind for conflict in judged.scheme.level_conflicts for wish in conflict.wishes}
    assert {"cover", "depth"} <= kinds
    told = findings(judged, "levels-fit")
    assert {f.verdict for f in told} == {"fails"}
    assert any("frost depth" in f.sentence and "greatest depth of the trench" in f.sentence for f in told)
    assert max(c.missing_m for c in judged.scheme.level_conflicts) >= 3.2 / 12 * FT - 0.002
    assert judged.scheme.wells  # nothing else of the design is lost
    assert len(judged.answers) == 9


def test_a_walk_and_a_drain_leave_too_little_fall_in_words(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """A drain close under the walk's pipe, and no trench deep enough to pass under the drain."""
    house["features"] |= {
        "K1": WALK,
        "E1": {
            "kind": "existing drain", "path": [["0 ft", "88 ft"], ["76 ft", "88 ft"]], "diameter": "4 in",
            "top": "96.1 ft", "condition": "sound",
        },
    }  # fmt: skip
    house["settings"] = {"cover_walk": "18 in", "deepest_trench": "32 in"}
    house["runs"] = {
        "P1": {
            "from": "D1",
            "to": "W1",
            "path": [["20.5 ft", "66.5 ft"], ["38 ft", "70 ft"], ["38 ft", "92 ft"]],
        }
    }
    judged = judged_of(house)
    sentences = [f.sentence for f in findings(judged, "levels-fit")]
    assert any("soil that the walk K1 wants over P1" in s and "existing drain E1" in s for s in sentences), (
        sentences
    )
    assert any("is wanted" in s or "is missing" in s for s in sentences)
    conflict = judged.scheme.level_conflicts[0]
    assert conflict.missing_m == pytest.approx(conflict.wanted_m - conflict.available_m, abs=1e-9)


def _crossing_house(house: Document) -> None:
    """Two wells side by side, each fed from the other side: their lines cross in the lawn."""
    house["wells"]["W1"] = {"at": ["28 ft", "100 ft"]}
    house["wells"]["W2"] = {"at": ["60 ft", "100 ft"]}
    house["overflows"]["O2"] = {"of": "W2", "destination": "over the back lawn", "lip": "97.4 ft"}
    house["runs"] = {
        "P1": {"from": "D1", "to": "W2", "path": [["20.5 ft", "66.5 ft"], ["60 ft", "100 ft"]]},
        "P2": {"from": "D2", "to": "W1", "path": [["55.5 ft", "66.5 ft"], ["28 ft", "100 ft"]]},
    }


def test_own_runs_that_cross_keep_clear_of_each_other_and_are_told(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    _crossing_house(house)
    judged = judged_of(house)
    one, two = run_of(judged, "P1"), run_of(judged, "P2")
    (a,), (b,) = ([t for t in run.crossings if t.id == other] for run, other in ((one, "P2"), (two, "P1")))
    assert (a.over, b.over) in ((True, False), (False, True))
    apart = abs(one.invert_at(a.station_m) - two.invert_at(b.station_m))
    clear = apart - one.outside_diameter_m
    assert clear >= 6 / 12 * FT - 1e-6  # settings.crossing_clearance, left out: 6 in
    assert a.clearance_m == pytest.approx(clear)
    assert b.clearance_m == pytest.approx(clear)
    told = [f for f in findings(judged, "crossing-clearance") if f.subject in ("P1 at P2", "P2 at P1")]
    assert [f.verdict for f in told] == ["good" if clear > 7.2 / 12 * FT else "close"]
    assert "passes over the run" in told[0].sentence


def test_own_runs_without_room_for_each_other_say_how_much_is_missing(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """By hand: both lie at one level where they cross: 4.215 in of pipe and 6 in of clearance are missing."""
    _crossing_house(house)
    for run in house["runs"].values():
        run |= {"upstream_invert": "97.2 ft", "downstream_invert": "95.2 ft"}
    judged = judged_of(house)
    one, two = run_of(judged, "P1"), run_of(judged, "P2")
    (thing,) = (t for t in one.crossings if t.id == "P2")
    (other,) = (t for t in two.crossings if t.id == "P1")
    apart = abs(one.invert_at(thing.station_m) - two.invert_at(other.station_m))
    (conflict,) = [
        c for c in judged.scheme.level_conflicts if any(w.kind == "own-crossing" for w in c.wishes)
    ]
    assert conflict.missing_m == pytest.approx((4.215 + 6) / 12 * FT - apart, abs=1e-6)
    assert any("crossing of P1 and P2" in f.sentence for f in findings(judged, "levels-fit"))


def test_a_run_through_a_pit_that_it_does_not_lead_to_is_told(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    _crossing_house(house)
    house["runs"]["P1"]["path"] = [["20.5 ft", "66.5 ft"], ["28 ft", "100 ft"], ["60 ft", "100 ft"]]
    found = [f for f in findings(judged_of(house), "path-clear") if f.verdict == "fails"]
    assert [f.subject for f in found] == ["P1 in the pit of W1"]
    assert found[0].value > 1.0


# ---- cleanouts ----


def test_the_limits_are_those_of_the_codes() -> None:
    """100 ft and 135 degrees: ordinance of 1995 to section 719.1, seen; 707.4 of the 2012 code, second-hand."""
    most = cleanouts.limits("us")
    assert most.length_m == pytest.approx(100 * FT)
    assert math.degrees(most.bends_rad) == pytest.approx(135)
    assert tables.limit("cleanout-spacing").source == "cleanouts-719"


MOST = Limits(30.0, math.radians(135))


def test_a_long_line_gets_one_each_spacing_and_three_square_bends_get_one_before_the_second() -> None:
    """By hand: 70 m straight: at 30 and 60. Two bends of 90 make 180: the second gets one half a metre before."""
    straight = Piped("P1", "D1", "W1", ((0.0, 0.0), (70.0, 0.0)), (), True)
    assert cleanouts.laid([straight], ways_in=frozenset({"D1"}), most=MOST) == {"P1": pytest.approx((30, 60))}
    bent = Piped("P1", "D1", "W1", ((0.0, 0.0), (5.0, 0.0), (5.0, 5.0), (10.0, 5.0)), (), True)
    assert cleanouts.laid([bent], ways_in=frozenset({"D1"}), most=MOST) == {"P1": pytest.approx((9.5,))}
    given_one = Piped("P1", "D1", "W1", bent.path, (7.0,), True)
    assert cleanouts.laid([given_one], ways_in=frozenset({"D1"}), most=MOST) == {}
    existing = Piped("P1", "D1", "W1", bent.path, (), False)
    assert cleanouts.laid([existing], ways_in=frozenset({"D1"}), most=MOST) == {}


@st.composite
def lines(draw: st.DrawFn) -> list[Piped]:
    """A few runs that lead to each other, with square and slanting corners."""
    count = draw(st.integers(1, 5))
    out = []
    for i in range(count):
        at, path = (0.0, 0.0), [(0.0, 0.0)]
        for _ in range(draw(st.integers(1, 4))):
            step, angle = draw(st.floats(2.0, 40.0)), draw(st.integers(0, 7)) * math.pi / 4
            at = (at[0] + step * math.cos(angle), at[1] + step * math.sin(angle))
            path.append(at)
        target = "W1" if i == count - 1 else f"Y{draw(st.integers(i + 1, count - 1))}"
        out.append(Piped(f"P{i}", f"Y{i}", target, tuple(path), (), True))
    return out


@settings(max_examples=150, deadline=None)
@given(lines())
def test_no_way_between_two_ways_in_is_too_long_or_too_bent(runs: list[Piped]) -> None:
    """Unless one bend alone is too much (a turn back on itself)."""
    ways_in = frozenset({run.from_id for run in runs} - {run.to_id for run in runs})
    added = cleanouts.laid(runs, ways_in=ways_in, most=MOST)
    whole = [Piped(r.id, r.from_id, r.to_id, r.path, tuple(sorted(added.get(r.id, ()))), True) for r in runs]
    for found, run in zip(cleanouts.reaches(whole, ways_in=ways_in), whole, strict=True):
        assert found.length_m <= MOST.length_m + 1e-6
        least = max((turn for _, turn in cleanouts._corners(run.path)), default=0.0)
        assert found.bends_rad <= max(MOST.bends_rad, least, found_start(run, whole)) + 1e-6
    assert cleanouts.laid(whole, ways_in=ways_in, most=MOST) == {}


def found_start(run: Piped, runs: list[Piped]) -> float:
    """The turn at the wye itself may be too much alone, as any bend may."""
    return math.pi if any(r.to_id == run.from_id for r in runs) else 0.0


def test_cleanouts_stand_in_the_design_and_in_the_order(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """A line around three corners: its cleanout is a fitting with a label, and its tee, adapter and plug are bought."""
    house["runs"] = {"P1": {"from": "D1", "to": "W1", "path": [
        ["20.5 ft", "66.5 ft"], ["20.5 ft", "80 ft"], ["30 ft", "80 ft"], ["30 ft", "92 ft"], ["38 ft", "92 ft"],
    ]}}  # fmt: skip
    judged = judged_of(house)
    made = [f for f in run_of(judged, "P1").fittings if f.kind == "cleanout"]
    assert made
    assert all(f.label.startswith("cleanout C") for f in made)
    bought = {item.key.split(":")[1] for item in judged.takeoff.items if item.group == "fittings"}
    assert {"cleanout-tee", "cleanout-adapter", "cleanout-plug"} <= bought
    for code in ("snake-reach", "snake-bends"):
        assert {f.verdict for f in findings(judged, code)} <= {"good", "close"}


@pytest.mark.parametrize(
    ("nominal_in", "least", "best"),
    [(2, 1 / 48, 1 / 24), (3, 1 / 96, 1 / 48), (4, 0.01, 1 / 48), (6, 0.01, 1 / 48), (8, 1 / 192, 1 / 96)],
)
def test_slopes_go_by_size(
    nominal_in: float, least: float, best: float, house: Document, read_job: Any
) -> None:
    """704.1 of the model code (1/4, 1/8, 1/16 in/ft), 1 % for 4 to 6 in to a dry well; 1/4 in/ft to a soakage trench.

    Best slopes under 3 in and from 8 in on: common practice, no source.
    """
    house.pop("place")
    found = survey(read_job(house), folder=None)
    assert pipe_slopes.least_slope(nominal_in * 0.0254, found)[0] == pytest.approx(least, rel=1e-9)
    assert pipe_slopes.best_slope(nominal_in * 0.0254) == pytest.approx(best, rel=1e-9)


@pytest.mark.parametrize(("size", "verdict"), [({"diameter": "1 in"}, "good"), ({}, "unknown")])
def test_under_a_line_whose_diameter_is_not_known_the_clearance_is_not_known(
    house: Document, judged_of: Callable[..., Judged], size: Document, verdict: str
) -> None:
    """Only its top was measured, and the pipe passes under: how far down it reaches somebody must find out."""
    house.setdefault("features", {})["U2"] = {
        "kind": "utility", "utility": "water", "path": [["0 ft", "75 ft"], ["76 ft", "75 ft"]],
        "top": "97.6 ft", "marked_by": "locating service", **size,
    }  # fmt: skip
    house["runs"] = {
        "P1": {"from": "D1", "to": "W1", "upstream_invert": "96.0 ft", "downstream_invert": "95.6 ft"}
    }
    judged = judged_of(house)
    told = {f.subject: f for f in findings(judged, "crossing-clearance")}
    assert told["P1 at U2"].verdict == verdict
    assert ("nobody has measured" in told["P1 at U2"].sentence) == (not size)
