"""Results kept by what they rest on: the same for the same content, worked out anew for any other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from roofwell.physics.kept import kept, mark


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    name: str
    rows: NDArray[np.float64]


def test_the_same_content_is_worked_out_once() -> None:
    asked = []

    @kept(4)
    def twice(curve: Curve, *, times: float = 2.0) -> NDArray[np.float64]:
        asked.append(times)
        return curve.rows * times

    first = twice(Curve("a", np.array([1.0, 2.0])))
    assert twice(Curve("a", np.array([1.0, 2.0]))) is first
    assert len(asked) == 1
    assert twice(Curve("b", np.array([1.0, 2.0]))) is not first
    assert twice(Curve("a", np.array([1.0, 2.5]))).tolist() == [2.0, 5.0]
    assert twice(Curve("a", np.array([1.0, 2.0])), times=3.0).tolist() == [3.0, 6.0]
    assert len(asked) == 4


def test_what_was_changed_in_place_is_not_taken_for_what_it_was() -> None:
    @kept(4)
    def total(rows: NDArray[np.float64]) -> float:
        return float(rows.sum())

    rows = np.ones(3)
    assert total(rows) == 3.0
    rows[0] = 5.0
    assert total(rows) == 7.0


def test_nobody_can_change_what_is_kept() -> None:
    @kept(4)
    def both(rows: NDArray[np.float64]) -> tuple[Curve, NDArray[np.float64]]:
        return Curve("a", rows + 1.0), rows + 2.0

    curve, other = both(np.ones(2))
    with pytest.raises(ValueError, match="read-only"):
        other[0] = 0.0
    with pytest.raises(ValueError, match="read-only"):
        curve.rows[0] = 0.0


def test_the_oldest_goes_first_and_one_asked_for_again_stays() -> None:
    asked = []

    @kept(2)
    def same(number: float) -> float:
        asked.append(number)
        return number

    for number in (1.0, 2.0, 1.0, 3.0, 1.0, 2.0):
        assert same(number) == number
    assert asked == [1.0, 2.0, 3.0, 2.0]


def test_an_error_is_told_every_time() -> None:
    @kept(2)
    def fails(number: float) -> float:
        raise ValueError(str(number))

    for _ in range(2):
        with pytest.raises(ValueError, match=r"1\.0"):
            fails(1.0)


def test_numbers_of_another_kind_sign_or_shape_are_another_thing() -> None:
    things = [
        0,
        0.0,
        -0.0,
        False,
        None,
        "0",
        (0.0,),
        [0.0],
        np.zeros(1),
        np.zeros((1, 1)),
        np.zeros(1, dtype=np.int64),
    ]
    assert len({mark(thing) for thing in things}) == len(things)
