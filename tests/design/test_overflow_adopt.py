"""Designed ways out that become given change nothing: spreader, emitter on its pipe, pipe to daylight."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roofwell import job as job_room
from roofwell.design import Design, design
from roofwell.design.adopt import adopt

Document = dict[str, Any]
AWAY = {"at": ["38 ft", "106 ft"]}
KINDS: dict[str, Document] = {
    "spreader": {"kind": "level spreader", "lip": "97.5 ft", **AWAY},
    "emitter": {"kind": "pop-up emitter", "lip": "97.4 ft", **AWAY},
    "pipe": {"to": "E1"},
}


@pytest.mark.parametrize("name", KINDS)
def test_adopting_a_way_out_changes_nothing(
    name: str, house: Document, design_of: Callable[..., Design]
) -> None:
    house["overflows"]["O1"] = {"of": "W1", "destination": "the lawn"} | KINDS[name]
    if name == "pipe":
        house["outlets"] = {
            "E1": {
                "kind": "daylight",
                "at": ["38 ft", "109 ft"],
                "invert": "95.4 ft",
                "destination": "a swale",
            }
        }
    made = design_of(house)
    again = design_of(adopt(house, made))
    for one, other in zip(made.scheme.overflows, again.scheme.overflows, strict=True):
        assert (one.kind, one.to, one.called) == (other.kind, other.to, other.called)
        assert one.lip_m == pytest.approx(other.lip_m, abs=1e-9)
        assert one.diameter_m == pytest.approx(other.diameter_m, abs=1e-9)
        assert one.length_m == pytest.approx(other.length_m, abs=1e-9)
        assert (one.pipe is None) is (other.pipe is None)
    heads = [design.behaviour.well("W1").head_over_lip_m for design in (made, again)]
    assert heads[0] == pytest.approx(heads[1], rel=1e-9, abs=1e-9)


def test_what_is_no_table_of_parts_is_left_out_of_what_could_be_adopted(
    house: Document, data_folder: Path
) -> None:
    """A page may send ``wells = "none"``: it is told as a problem, and the rest is designed and adopted."""
    house["wells"], house["overflows"] = "none", [1, 2]
    reading = job_room.read(house, folder=data_folder)
    assert {"wells", "overflows"} <= {problem.path for problem in reading.problems}
    assert reading.job is not None
    found = adopt(house, design(reading.job, folder=data_folder, document=house, beyond=False))
    assert isinstance(found.get("wells", {}), dict) and isinstance(found.get("overflows", {}), dict)
