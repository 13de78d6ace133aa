"""Rain events: the edge of the dry gap, who owns a step, and the loss taken from each event."""

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.rain import events

HOUR = 3600.0


def find(depth, *, gap_h=6, step_s=HOUR):
    return events.find_events(depth_m=np.array(depth, dtype=float), step_s=step_s, gap_s=gap_h * HOUR)


@pytest.mark.parametrize(("dry", "count"), [(5, 1), (6, 2), (7, 2)])
def test_exactly_the_gap_separates(dry, count):
    """Six dry hours separate at a gap of 6 h, five do not (rain 3.1)."""
    assert find([1, *[0] * dry, 1]).count == count


@pytest.mark.parametrize(("dry", "count"), [(71, 1), (72, 2)])
def test_the_gap_counts_time_not_steps(dry, count):
    """The same 6 h in 5-min steps."""
    assert find([1, *[0] * dry, 1], step_s=300.0).count == count


@pytest.mark.parametrize(("dry", "count"), [(1, 1), (2, 2)])
def test_a_gap_between_two_steps_rounds_up(dry, count):
    """90 min of dry time need two dry hours."""
    assert find([1, *[0] * dry, 1], gap_h=1.5).count == count


def test_an_event_owns_its_steps_until_the_next():
    """Dry steps after an event belong to it; those before the first belong to none."""
    found = find([0, 2, 0, 1, 0, 0, 0, 5, 0], gap_h=3)
    assert found.first_step.tolist() == [1, 7]
    assert found.last_step.tolist() == [3, 7]
    assert found.event_of_step.tolist() == [-1, 0, 0, 0, 0, 0, 0, 1, 1]
    assert found.depth_m.tolist() == [3, 5]
    assert found.duration_s.tolist() == [3 * HOUR, HOUR]
    assert found.dry_gap_s.tolist() == [3 * HOUR]


@pytest.mark.parametrize("depth", [[], [0, 0, 0]])
def test_no_rain_no_event(depth):
    """A dry series has no event, and every step belongs to none."""
    found = find(depth)
    assert found.count == 0
    assert found.event_of_step.tolist() == [-1] * len(depth)
    assert found.dry_gap_s.size == 0


@pytest.mark.parametrize(
    ("loss", "net"),
    [
        (0, [0, 1, 2, 0, 4, 0, 0, 0, 1, 0]),
        (1, [0, 0, 2, 0, 4, 0, 0, 0, 0, 0]),
        (2, [0, 0, 1, 0, 4, 0, 0, 0, 0, 0]),
        (3.5, [0, 0, 0, 0, 3.5, 0, 0, 0, 0, 0]),
        (100, [0] * 10),
    ],
)
def test_loss_comes_from_the_earliest_rain(loss, net):
    """Each event loses the same, from its first wet steps on, never more than it holds."""
    depth = np.array([0, 1, 2, 0, 4, 0, 0, 0, 1, 0], dtype=float)
    found = find(depth, gap_h=3)
    left = events.net_of_initial_loss(depth_m=depth, events=found, loss_m=loss)
    assert left.tolist() == net


@given(
    depth=st.lists(st.integers(0, 4), min_size=1, max_size=60),
    gap=st.integers(1, 8),
    loss=st.integers(0, 6),
)
def test_loss_balances_event_by_event(depth, gap, loss):
    """Rain less net rain is the smaller of the loss and the event, for every event; events hold all rain."""
    series = np.array(depth, dtype=float)
    found = find(series, gap_h=gap)
    left = events.net_of_initial_loss(depth_m=series, events=found, loss_m=loss)
    assert (left >= 0).all()
    assert (left <= series).all()
    taken = np.bincount(found.event_of_step + 1, weights=series - left, minlength=found.count + 1)
    assert taken[0] == 0
    assert taken[1:].tolist() == np.minimum(found.depth_m, loss).tolist()
    assert found.depth_m.sum() == series.sum()
    assert (found.dry_gap_s >= gap * HOUR).all()


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: find([1], gap_h=0), "rain-event-number"),
        (lambda: find([1], step_s=0.0), "rain-event-number"),
        (lambda: find([-1]), "rain-event-number"),
        (lambda: find([np.nan]), "rain-event-number"),
        (lambda: events.net_of_initial_loss(depth_m=np.ones(1), events=find([1]), loss_m=-1), "rain-loss"),
        (
            lambda: events.net_of_initial_loss(depth_m=np.ones(2), events=find([1]), loss_m=0),
            "rain-event-number",
        ),
        (lambda: events.event_statistics(find([1]), years=0), "rain-event-number"),
        (lambda: events.event_statistics(find([1]), years=1, least_depth_m=2), "rain-event-number"),
    ],
)
def test_what_is_refused(call, code):
    """Each wrong argument has its code."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == code


def test_statistics_of_one_event_have_no_variation():
    """A single event has means; what needs two is not a number."""
    found = events.event_statistics(find([2, 2]), years=2)
    assert (found.per_year, found.depth_m, found.duration_s) == (0.5, 4, 2 * HOUR)
    assert np.isnan([found.depth_cv, found.spacing_s, found.spacing_cv]).all()
    assert np.isnan(events.gap_variation(find([1])))


def test_sixty_six_years_take_no_time():
    """Events and net rain of a 66-year hourly series in under 0.1 s (invented rain)."""
    random = np.random.default_rng(66)
    depth = np.where(random.random(66 * 8766) < 0.03, 0.000254, 0.0)
    best = min(once(depth) for _ in range(3))
    assert best < 0.1


def once(depth) -> float:
    begins = time.perf_counter()
    found = events.find_events(depth_m=depth, step_s=HOUR, gap_s=6 * HOUR)
    events.net_of_initial_loss(depth_m=depth, events=found, loss_m=0.00127)
    return time.perf_counter() - begins
