"""Debris through the whole main job: leaves of the document in, findings, papers and results out."""

from __future__ import annotations

import copy
import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell import job as job_room
from roofwell.design import Design, design
from roofwell.papers.drawing.basin_section import basin_section
from roofwell.papers.drawing.model import Circle, Label, Polyline
from roofwell.papers.results import results
from roofwell.papers.set import set_data
from roofwell.system.debris_facts import Span, total_kg_year, total_m3_year

DATA = Path(__file__).parents[1] / "data"
HOUSE = tomllib.loads((DATA / "small-house.toml").read_text(encoding="utf-8"))
Document = dict[str, Any]

OLD_BASIN = {
    "at": ["38 ft", "80 ft"], "shape": "square", "width": "12 in", "inlet_height": "18 in", "outlet_height": "12 in",
    "hood": False, "screen": False,
}  # fmt: skip


def _made(change: Callable[[Document], None]) -> Design:
    document = copy.deepcopy(HOUSE)
    change(document)
    reading = job_room.read(document, folder=DATA)
    assert reading.job is not None, reading.problems
    assert not reading.problems, reading.problems
    return design(reading.job, folder=DATA, document=document)


def _old(**changes: Any) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        document["basins"] = {"B1": OLD_BASIN | changes}

    return change


def _finding(made: Design, code: str):  # type: ignore[no-untyped-def]
    return next(f for answer in made.answers for f in answer.findings if f.code == code)


@pytest.fixture(scope="module")
def plain() -> Design:
    """A basin with a plain outlet under a few broadleaf trees."""
    return _made(_old())


@pytest.fixture(scope="module")
def hooded() -> Design:
    """The same basin with a turned-down elbow, its air hole and a screen."""
    return _made(_old(hood=True, hood_air_hole=True, hood_depth="5 in", screen=True, emptied="2 a year"))


def test_masses_close(plain: Design) -> None:
    """What comes to a basin is kept or gets past, by kind, at best; all ends in order."""
    assert plain.behaviour.debris is not None
    basin = plain.behaviour.debris.basins[0]
    for variant in (basin.as_is, *basin.others):
        for comes, keeps, past in zip(basin.comes, variant.keeps, variant.past, strict=True):
            both = keeps.mass_kg_year.best + past.mass_kg_year.best
            assert both == pytest.approx(comes.mass_kg_year.best, rel=1e-9)
            for amount in (comes, keeps, past):
                span = amount.mass_kg_year
                assert 0 <= span.low <= span.best <= span.high
                room = amount.volume_m3_year
                assert 0 <= room.low <= room.best <= room.high


def test_well_gets_what_the_basin_lets_past(plain: Design) -> None:
    """One basin before one well: what is past the one reaches the other; never emptied, all of it does."""
    assert plain.behaviour.debris is not None
    basin, well = plain.behaviour.debris.basins[0], plain.behaviour.debris.well("W1")
    for past, reaches in zip(basin.as_is.past, well.on_time, strict=True):
        assert reaches.mass_kg_year.best == pytest.approx(past.mass_kg_year.best, rel=1e-9)
    assert well.never == well.from_roof
    assert well.beside_m2 == 0
    assert well.full_after_years is not None and 0 < well.full_after_years.low <= well.full_after_years.best
    for mineral in (True, False):
        on_time, never = (
            total_m3_year(a for a in amounts if a.mineral is mineral)
            for amounts in (well.on_time, well.never)
        )
        assert 0 < on_time.best < never.best


def test_a_hood_and_a_screen_keep_what_floats(plain: Design, hooded: Design) -> None:
    """The plain outlet stands at the surface and lets it past; the variants told that, and by how much."""
    was, now = _finding(plain, "floating-kept"), _finding(hooded, "floating-kept")
    assert was.verdict == "fails" and now.verdict == "good"
    assert "elbow turned down" in was.sentence and "%" in was.sentence
    assert plain.behaviour.debris is not None and hooded.behaviour.debris is not None
    told = next(v for v in plain.behaviour.debris.basins[0].others if v.key == "elbow and screen")
    got = hooded.behaviour.debris.basins[0].as_is
    assert got.floating_kept.best == pytest.approx(told.floating_kept.best, rel=1e-9)
    assert got.mineral_kept.best == pytest.approx(told.mineral_kept.best, rel=1e-9)


def test_a_hood_that_nobody_looked_at(hooded: Design) -> None:
    """Whether it has an air hole decides: unknown, with how to look."""
    made = _made(_old(hood=True))
    found = _finding(made, "floating-kept")
    assert found.verdict == "unknown"
    assert "hood_air_hole" in found.missing[0].how
    without = _made(_old(hood=True, hood_air_hole=False))
    assert without.behaviour.debris is not None and hooded.behaviour.debris is not None
    assert any(v.key == "air hole" for v in without.behaviour.debris.basins[0].others)
    assert (
        without.behaviour.debris.basins[0].as_is.floating_kept.best
        < hooded.behaviour.debris.basins[0].as_is.floating_kept.best
    )


def test_trees_that_nobody_spoke_of_give_a_range() -> None:
    """Absence is a range and a measurement to take, no refusal; more trees, more leaves."""

    def trees(kind: str | None) -> Callable[[Document], None]:
        def change(document: Document) -> None:
            document["basins"] = {"B1": OLD_BASIN}
            for roof in document["roofs"].values():
                roof.pop("trees", None)
                if kind is not None:
                    roof["trees"] = kind

        return change

    unsaid = _made(trees(None))
    found = _finding(unsaid, "basin-emptying")
    assert found.verdict == "unknown" and " to " in found.value_text
    assert any(item.leaf == "roofs.trees" for item in found.missing)
    none, few, many = (_made(trees(kind)) for kind in ("none", "few", "many"))
    litter = [_litter(made) for made in (none, few, many)]
    assert litter[0].best == 0 < litter[1].best < litter[2].best
    both = _litter(unsaid)
    assert both.low <= litter[0].low and both.high >= litter[2].high
    assert all(f.code != "floating-kept" for answer in none.answers for f in answer.findings)


def _litter(made: Design) -> Span:
    """Leaves, needles and seeds that reach the stone with no basin emptied, dry kg a year."""
    assert made.behaviour.debris is not None
    return total_kg_year(a for a in made.behaviour.debris.well("W1").never if not a.mineral)


def test_two_basins_in_line_keep_more_than_one() -> None:
    """Each in turn; the second is brought only what the first lets past."""

    def change(document: Document) -> None:
        document["basins"] = {
            "B1": OLD_BASIN | {"at": ["38 ft", "74 ft"]},
            "B2": OLD_BASIN | {"at": ["38 ft", "82 ft"]},
        }
        document["runs"] = {"P1": {"from": "B1", "to": "B2"}, "P2": {"from": "B2", "to": "W1"}}

    made, one = _made(change), _made(_old())
    first, second = made.behaviour.debris.basins
    assert second.below_another == "B1"
    for past, comes in zip(first.as_is.past, second.comes, strict=True):
        assert comes.mass_kg_year.best == pytest.approx(past.mass_kg_year.best, rel=1e-6)
    reaches = made.behaviour.debris.well("W1").mineral_m3_year().best
    assert reaches < one.behaviour.debris.well("W1").mineral_m3_year().best


def test_a_gutter_guard_keeps_leaves_off() -> None:
    """With guards fewer leaves come to the basin; silt comes as before."""

    def guarded(document: Document) -> None:
        _old()(document)
        for gutter in document["gutters"].values():
            gutter["guard"] = True

    made, bare = _made(guarded), _made(_old())
    by_kind = [
        {amount.kind: amount.mass_kg_year.best for amount in one.behaviour.debris.basins[0].comes}
        for one in (made, bare)
    ]
    assert by_kind[0]["leaves"] == pytest.approx(0.1 * by_kind[1]["leaves"])
    assert by_kind[0]["silt"] == pytest.approx(by_kind[1]["silt"])


def test_any_outline() -> None:
    """A rectangle by its sides and by its corners: the same plan area, the same capture."""
    by_sides = _made(_old(shape="rectangular", width="12 in", length="24 in"))
    corners = [["37 ft", "79.5 ft"], ["39 ft", "79.5 ft"], ["39 ft", "80.5 ft"], ["37 ft", "80.5 ft"]]

    def change(document: Document) -> None:
        basin = {key: value for key, value in OLD_BASIN.items() if key not in ("shape", "width")}
        document["basins"] = {"B1": basin | {"outline": corners}}

    by_corners = _made(change)
    areas = [made.scheme.basins[0].plan_area_m2 for made in (by_sides, by_corners)]
    assert areas == pytest.approx([2 * 0.3048**2] * 2)
    assert by_sides.scheme.basins[0].along_m == pytest.approx(0.6096)
    kept = [made.behaviour.debris.basins[0].as_is.mineral_kept.best for made in (by_sides, by_corners)]
    assert kept[0] == pytest.approx(kept[1], rel=0.02)
    half = by_sides.behaviour.debris.basins[0].half_sump_m3
    assert half == pytest.approx(0.5 * 0.3048 * 2 * 0.3048**2, rel=1e-6)


def test_what_is_read_of_it(plain: Design, hooded: Design) -> None:
    """Paper, drawing and results.json hold the same figures; no infinity anywhere."""
    data = set_data(plain)["debris"]
    assert data["variants"][0]["what"] == "as it is"
    assert any("elbow" in row["what"] for row in data["variants"])
    assert any("leaves" in row["what"] for row in data["kinds"])
    assert data["wells"] and "never rots" in data["wells"][0]
    assert any("record of" in line for line in data["basis"])
    written = results(plain)["behaviour"]["debris"]
    assert written["wells"][0]["on_time"][0]["kind"] == "granules"
    drawn = basin_section(hooded, hooded.scheme.basins[0], hooded.scheme)
    words = " ".join(item.text for item in drawn.items if isinstance(item, Label))
    assert "air hole" in words and "screen" in words and "empty it here" in words
    basin = hooded.scheme.basins[0]
    mouth = basin.outlet_invert_m - basin.hood_depth_m
    assert any(
        isinstance(item, Polyline)
        and item.role == "wall"
        and min(y for _, y in item.points) == pytest.approx(mouth)
        for item in drawn.items
    )
    assert any(isinstance(item, Circle) for item in drawn.items)
    assert "of what floats" in " ".join(drawn.notes)


@pytest.mark.parametrize(
    ("changes", "path", "word"),
    [
        (
            {"floor": "94 ft", "grate": "97 ft", "outlet_height": "40 in"},
            "basins.B1.outlet_height",
            "below the grate",
        ),
        (
            {"floor": "94 ft", "grate": "97 ft", "inlet_height": "40 in"},
            "basins.B1.inlet_height",
            "below the grate",
        ),
        ({"hood_depth": "12 in"}, "basins.B1.hood_depth", "under the floor"),
        ({"length": "24 in", "shape": "round"}, "basins.B1.length", "no length"),
        ({"outline": [["0 ft", "0 ft"], ["1 ft", "0 ft"]]}, "basins.B1.outline", "3 corners"),
    ],
)
def test_basins_that_cannot_be(changes: Document, path: str, word: str) -> None:
    """Ports over the rim, a hood's mouth under the floor, two plans at once: each a problem at its own leaf."""
    document = copy.deepcopy(HOUSE)
    document["basins"] = {"B1": OLD_BASIN | changes}
    problems = job_room.read(document, folder=DATA).problems
    assert any(problem.path == path and word in problem.message for problem in problems), problems


@pytest.mark.parametrize(
    ("key", "invert", "word"),
    [
        ("upstream_invert", "93 ft", "under the floor"),
        ("upstream_invert", "99 ft", "over the grate"),
    ],
)
def test_an_outlet_below_the_floor(key: str, invert: str, word: str) -> None:
    """The invert of a run that meets the basin, as an elevation; with the line on which it stands."""
    text = (DATA / "small-house.toml").read_text(encoding="utf-8") + (
        '\n[basins.B1]\nat = ["38 ft", "80 ft"]\nwidth = "12 in"\nfloor = "94 ft"\ngrate = "97.5 ft"\n'
        f'\n[runs.P9]\nfrom = "B1"\nto = "W1"\n{key} = "{invert}"\n'
    )
    problems = job_room.read_text(text, folder=DATA).problems
    found = next(problem for problem in problems if problem.path == f"runs.P9.{key}")
    assert word in found.message
    assert found.line == text.splitlines().index(f'{key} = "{invert}"') + 1


def test_grit_and_months_are_numbers(plain: Design) -> None:
    """Nothing is NaN. A basin of 12 in square with its outlet 12 in up is half full with half a cubic foot, 14.16 L: months
    are what the kept room of a year takes to that, the longest at the least that comes."""
    own = plain.behaviour.debris.basins[0].as_is
    kept = total_m3_year(own.keeps)
    half = 0.5 * 0.3048**3
    assert own.months_to_half.best == pytest.approx(12 * half / kept.best, rel=1e-9)
    assert own.months_to_half.low == pytest.approx(12 * half / kept.high, rel=1e-9)
    assert own.months_to_half.high == pytest.approx(12 * half / kept.low, rel=1e-9)
    assert not math.isnan(own.mineral_kept.low)
    rains = plain.behaviour.debris.basins[0].rains
    assert [rain.grain_m for rain in rains] == sorted(rain.grain_m for rain in rains)
    assert [rain.jet_m_s for rain in rains] == sorted(rain.jet_m_s for rain in rains)
