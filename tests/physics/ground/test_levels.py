"""Level books: joined set-ups, closure, and books that cannot be reduced."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roofwell.errors import InputError
from roofwell.physics.ground.levels import Entry, reduce_levels

ROD = st.floats(0.05, 4.5)


def test_two_setups_joined_by_a_turning_point():
    """Hand figures: 100 + 1.2 - 2.0 = 99.2; 99.2 + 0.5 - 1.1 = 98.6."""
    book = reduce_levels(
        entries=[
            Entry("I", "backsight", "BM", 1.2),
            Entry("I", "turning point", "TP", 2.0),
            Entry("II", "backsight", "TP", 0.5),
            Entry("II", "shot", "W1", 1.1),
        ],
        benchmark_elevations={"BM": 100.0},
    )
    assert book.elevation_m == pytest.approx({"BM": 100.0, "TP": 99.2, "W1": 98.6})
    assert book.height_of_instrument_m == pytest.approx({"I": 101.2, "II": 99.7})
    assert book.closure_m is None
    assert not book.adjusted
    assert book.arithmetic_check_m is None  # the second set-up has no foresight
    assert book.words()[0] == "I: BM at 100.000 m + 1.200 m = height of instrument 101.200 m"
    assert book.words()[1] == "TP: 101.200 m - 2.000 m = 99.200 m (turning point)"


def test_closing_on_the_first_benchmark():
    """Found 100.02 where 100.00 is known, two set-ups: half of it is taken from each."""
    entries = [
        Entry("I", "backsight", "BM", 1.20),
        Entry("I", "shot", "D1", 1.50),
        Entry("I", "turning point", "TP", 2.00),
        Entry("II", "backsight", "TP", 1.50),
        Entry("II", "shot", "W1", 2.50),
        Entry("II", "foresight", "BM", 0.68),
    ]
    raw = reduce_levels(entries=entries, benchmark_elevations={"BM": 100.0})
    spread = reduce_levels(entries=entries, benchmark_elevations={"BM": 100.0}, spread_closure=True)
    assert raw.closure_m == spread.closure_m == pytest.approx(0.02)
    assert raw.elevation_m["W1"] == pytest.approx(98.20)
    assert spread.elevation_m["D1"] == pytest.approx(99.70 - 0.01)
    assert spread.elevation_m["W1"] == pytest.approx(98.20 - 0.02)
    assert spread.elevation_m["BM"] == 100.0
    assert spread.height_of_instrument_m["II"] - 2.50 == pytest.approx(spread.elevation_m["W1"])
    assert spread.words()[-1] == "closure 0.020 m, spread over the set-ups"


def test_a_second_chain_from_another_benchmark_keeps_its_levels():
    """The closure of one chain is not spread over set-ups that hang from another benchmark."""
    entries = [
        Entry("I", "backsight", "A", 1.0),
        Entry("I", "shot", "P", 1.5),
        Entry("II", "backsight", "B", 1.0),
        Entry("II", "shot", "Q", 1.0),
        Entry("II", "foresight", "A", 1.98),
    ]
    book = reduce_levels(entries=entries, benchmark_elevations={"A": 10.0, "B": 11.0}, spread_closure=True)
    assert book.closure_m == pytest.approx(0.02)
    assert book.elevation_m["P"] == pytest.approx(9.5)
    assert book.elevation_m["Q"] == pytest.approx(11.0 - 0.02)


def test_a_point_shot_twice_keeps_its_first_elevation_and_tells_the_difference():
    """The second sight is listed as a repeat."""
    book = reduce_levels(
        entries=[
            Entry("I", "backsight", "BM", 1.0),
            Entry("I", "shot", "P", 2.0),
            Entry("I", "shot", "P", 2.01),
        ],
        benchmark_elevations={"BM": 0.0},
    )
    assert book.elevation_m["P"] == pytest.approx(-1.0)
    assert (book.repeats[0].index, book.repeats[0].point) == (2, "P")
    assert book.repeats[0].difference_m == pytest.approx(-0.01)


@pytest.mark.parametrize(
    ("entries", "code", "index"),
    [
        ([Entry("I", "shot", "P", 1.0)], "level-no-backsight", 0),
        ([Entry("I", "backsight", "X", 1.0)], "level-unknown-backsight", 0),
        ([Entry("I", "backsight", "BM", 1.0), Entry("I", "backsight", "BM", 1.0)], "level-two-backsights", 1),
        ([Entry("I", "backsight", "BM", 1.0), Entry("II", "foresight", "P", 1.0)], "level-no-backsight", 1),
        ([Entry("I", "backsight", "BM", float("nan"))], "level-rod", 0),
        ([Entry("I", "sideways", "BM", 1.0)], "level-kind", 0),  # type: ignore[arg-type]
    ],
)
def test_bad_books_say_which_entry(entries, code, index):
    """Code, and the entry's number in the message."""
    with pytest.raises(InputError, match=f"entry {index} ") as caught:
        reduce_levels(entries=entries, benchmark_elevations={"BM": 100.0})
    assert caught.value.code == code


def test_a_benchmark_must_be_a_number():
    """Refused by name."""
    with pytest.raises(InputError, match="BM") as caught:
        reduce_levels(entries=[], benchmark_elevations={"BM": float("nan")})
    assert caught.value.code == "level-elevation"


@given(st.lists(st.tuples(ROD, ROD), min_size=1, max_size=8), st.floats(-50, 500))
def test_sums_of_sights_give_the_last_elevation(turns, start):
    """Sum of backsights less sum of foresights is last less first, for any line of set-ups."""
    entries, point = [], "BM"
    for i, (back, fore) in enumerate(turns):
        entries += [Entry(str(i), "backsight", point, back), Entry(str(i), "turning point", f"T{i}", fore)]
        point = f"T{i}"
    book = reduce_levels(entries=entries, benchmark_elevations={"BM": start})
    assert book.arithmetic_check_m == pytest.approx(0.0, abs=1e-9)
    assert book.elevation_m[point] == pytest.approx(start + sum(b - f for b, f in turns), abs=1e-9)
