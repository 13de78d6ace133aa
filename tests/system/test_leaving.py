"""What leaves at each way out, and what lies on a lot as geometry: one reading of each, by hand on the small house."""

from __future__ import annotations

import copy
import math
from collections.abc import Callable
from typing import Any

import pytest
import shapely

from roofwell.design.judging import Judged
from roofwell.system.facts import FeatureFact
from roofwell.system.leaving import come_out_m3_s, comes_m3_s, comes_to_m3_s, leaves_m3_s, left_m3_s
from roofwell.system.scheme import Outlet
from roofwell.system.shapes_of import is_area, shape_of

Document = dict[str, Any]


@pytest.fixture
def led(house: Document, judged_of: Callable[..., Judged]) -> Judged:
    """The well's overflow goes on to E1; all runs end in W1."""
    house["overflows"]["O1"] = {"of": "W1", "to": "E1"}
    house["outlets"] = {
        "E1": {"kind": "daylight", "at": ["38 ft", "116 ft"], "invert": "95.4 ft", "destination": "a swale"}
    }
    return judged_of(house)


def test_what_comes_out_on_the_way_does_not_leave_at_the_end(led: Judged) -> None:
    """5 L/s over the lip of W1, of which 2 came out at the grate of B1 on the way there: 3 are left. Water that comes out at
    a part from which nothing leads on, or above another end, takes nothing away; more than comes leaves nothing."""
    runs = {run.id: 0.004 for run in led.scheme.runs}

    def left(out: dict[str, float]) -> float:
        return comes_to_m3_s(led.scheme, "E1", runs, {"W1": 0.005}, out)

    assert left({}) == pytest.approx(0.005)
    assert left({"B1": 0.002}) == pytest.approx(0.003)
    assert left({"B1": 0.002, "D1": 0.001}) == pytest.approx(0.002)
    assert left({"X9": 0.002}) == pytest.approx(0.005)
    assert left({"B1": 0.9}) == 0.0


def test_pipes_and_wells_add_up_at_an_outlet(house: Document, judged_of: Callable[..., Judged]) -> None:
    """Without a well all runs end at E1: what its last run brings comes there, less what came out above it."""
    house.pop("wells")
    house.pop("overflows")
    house["outlets"] = {
        "E1": {"kind": "daylight", "at": ["38 ft", "116 ft"], "invert": "95.4 ft", "destination": "a swale"}
    }
    judged = judged_of(house)
    (last,) = judged.scheme.runs_to("E1")
    flows = {run.id: 0.001 for run in judged.scheme.runs} | {last.id: 0.003}
    assert comes_to_m3_s(judged.scheme, "E1", flows, {}, {}) == pytest.approx(0.003)
    assert comes_to_m3_s(judged.scheme, "E1", flows, {}, {"D1": 0.0005}) == pytest.approx(0.0025)
    outlet = judged.scheme.outlets[0]
    peak = judged.behaviour.run(last.id).peak_m3_s
    lost = sum(come_out_m3_s(judged.behaviour).values())
    assert comes_m3_s(judged.scheme, judged.behaviour, outlet) == pytest.approx(peak - lost)


def test_what_came_out_above_a_linked_well_or_one_before_does_not_leave_either(
    house: Document, judged_of: Callable[..., Judged]
) -> None:
    """All runs end in W1; W2 is linked with it, then takes its overflow. 5 L/s over W2's lip, of which 2 came out at B1."""
    for link, overflow in (({"linked_to": "W1"}, {}), ({}, {"to": "W2"})):
        document = copy.deepcopy(house)
        document["wells"]["W2"] = {"at": ["28 ft", "104 ft"], **link}
        document["overflows"]["O2"] = {"of": "W2", "lip": "97.5 ft", "destination": "over the lawn"}
        if overflow:
            document["overflows"]["O1"] = {"of": "W1", **overflow}
        scheme = judged_of(document).scheme
        spills = {"W1": 0.004 if overflow else 0.0, "W2": 0.005}
        assert left_m3_s(scheme, "W2", spills, {}) == pytest.approx(0.005)
        assert left_m3_s(scheme, "W2", spills, {"B1": 0.002}) == pytest.approx(0.003)
        most = 0.001 if overflow else 0.0  # W1 cannot hand on less than nothing: 5 less 4
        assert left_m3_s(scheme, "W2", spills, {"B1": 0.009}) == pytest.approx(most)


def test_an_overflow_lets_go_what_its_well_spills(led: Judged) -> None:
    overflow, well = led.scheme.overflows[0], led.behaviour.well("W1")
    lost = sum(come_out_m3_s(led.behaviour).values())
    expected = well.overflow_peak_m3_s - lost
    assert leaves_m3_s(led.scheme, led.behaviour, overflow) == pytest.approx(expected)
    assert comes_m3_s(led.scheme, led.behaviour, led.scheme.outlets[0]) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("kind", "in_the_open", "onto_lawn"),
    [
        ("daylight", True, True),
        ("swale", True, False),  # its bed is not the lawn that the shots show
        ("rain garden", True, False),  # holds the water back
        ("curb", False, False),
        ("storm sewer", False, False),
        ("pump", False, False),
    ],
)
def test_where_an_outlet_lets_water_go(kind: str, in_the_open: bool, onto_lawn: bool) -> None:
    outlet = Outlet("E1", kind, (0.0, 0.0), 30.0, 29.0, None)
    assert (outlet.in_the_open, outlet.onto_lawn) == (in_the_open, onto_lawn)


def _feature(
    kind: str, shape: str, points: tuple[tuple[float, float], ...], diameter: float | None = None
) -> FeatureFact:
    return FeatureFact("F1", kind, None, shape, points, None, None, None, diameter, None, None)  # type: ignore[arg-type]


SQUARE = ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0))


def test_an_outline_covers_ground_but_a_lot_line_is_a_line() -> None:
    """A drive of 4 by 3 m covers 12 m²; as a lot line the same corners are a closed line of 14 m, which encloses nothing."""
    drive, lot = _feature("drive", "outline", SQUARE), _feature("lot line", "outline", SQUARE)
    assert is_area(drive) and shape_of(drive).area == pytest.approx(12.0)
    assert not is_area(lot) and shape_of(lot).area == 0.0 and shape_of(lot).length == pytest.approx(14.0)
    inside = shapely.Point(2.0, 1.5)
    assert shape_of(drive).distance(inside) == 0.0
    assert shape_of(lot).distance(inside) == pytest.approx(1.5)
    crest = _feature("break line", "outline", SQUARE)
    assert not is_area(crest) and shape_of(crest).length == pytest.approx(14.0)


def test_a_walk_drawn_as_a_line_is_as_wide_as_it_is() -> None:
    """10 m long and 1 m wide, with round ends: 10 + pi / 4 m²; a utility keeps to its line."""
    path = ((0.0, 0.0), (10.0, 0.0))
    walk = shape_of(_feature("walk", "path", path, 1.0))
    assert walk.area == pytest.approx(10.0 + math.pi / 4, rel=0.01)
    assert shape_of(_feature("walk", "path", path)).area == 0.0
    assert shape_of(_feature("utility", "path", path, 1.0)).area == 0.0


def test_what_has_one_point_or_none() -> None:
    assert shape_of(_feature("tree", "point", ((3.0, 4.0),))).distance(shapely.Point(0, 0)) == pytest.approx(
        5.0
    )
    assert shape_of(_feature("tree", "point", ())).is_empty


def test_an_outline_that_crosses_itself_is_mended() -> None:
    """A bow tie of two triangles with base 4 and height 1.5 m: 6 m² together."""
    bow = _feature("leach field", "outline", ((0.0, 0.0), (4.0, 0.0), (0.0, 3.0), (4.0, 3.0)))
    found = shape_of(bow)
    assert found.is_valid and found.area == pytest.approx(6.0)
