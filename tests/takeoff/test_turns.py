"""Turns in plan: the elbows that make them and the angle left over, by hand."""

from __future__ import annotations

import math

import pytest

from roofwell.takeoff import take_off


def test_turns_of_a_path_with_what_is_left_over(hand) -> None:
    """East, then 50 degrees to the left, then 8 degrees back: a 45 with 5 left over; nothing with 8 left over."""
    a, b = math.radians(50), math.radians(42)
    points = [(0.0, 0.0), (20.0, 0.0)]
    points.append((20 + 10 * math.cos(a), 10 * math.sin(a)))
    points.append((points[-1][0] + 10 * math.cos(b), points[-1][1] + 10 * math.sin(b)))
    scheme = hand.scheme(
        downspouts=[hand.spout("D1", points[0])],
        outlets=[hand.outlet("E1", points[-1])],
        runs=[hand.run("P1", "D1", "E1", points)],
    )
    first, second = take_off(scheme, hand.survey(), None).turns
    assert (first.run, first.where, first.elbows) == ("P1", "corner", ("elbow-45",))
    assert math.degrees(first.left_over_rad) == pytest.approx(5)
    assert second.elbows == ()
    assert math.degrees(second.left_over_rad) == pytest.approx(8)


def test_a_turn_of_sixty_takes_one_elbow(hand) -> None:
    """North after 60 degrees of turn: the table has it as one piece."""
    end = (20 + 10 * math.cos(math.radians(60)), 10 * math.sin(math.radians(60)))
    scheme = hand.scheme(
        downspouts=[hand.spout("D1", (0, 0))],
        outlets=[hand.outlet("E1", end)],
        runs=[hand.run("P1", "D1", "E1", [(0, 0), (20, 0), end])],
    )
    out = take_off(scheme, hand.survey(), None)
    assert [turn.elbows for turn in out.turns] == [("elbow-60",)]
    assert next(i for i in out.items if i.key == "fitting:elbow-60:4in").quantity == 1


def test_a_branch_is_turned_into_the_wye(hand) -> None:
    """The house's P2 meets the trunk at a right angle: 45 by the wye, 45 by an elbow, nothing left over."""
    turns = [turn for turn in take_off(hand.house(), hand.survey(), None).turns if turn.where != "corner"]
    assert [(turn.run, turn.elbows) for turn in turns] == [("P2", ("elbow-45",))]
    assert turns[0].left_over_rad == pytest.approx(0)
