"""Level books that teaching pages reduce in full, against ours."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from roofwell.physics.ground.levels import Entry, LevelBook, reduce_levels

BOOKS = Path(__file__).parents[1] / "data" / "level_books.json"


def _book(rows: list[tuple[str, str, float]], known: dict[str, float], *, spread: bool = False) -> LevelBook:
    """Rows as (letter of the sight, point, reading); each B opens a set-up."""
    kinds = {"B": "backsight", "I": "shot", "F": "foresight", "T": "turning point"}
    entries, setup = [], 0
    for sight, point, rod in rows:
        setup += sight == "B"
        entries.append(Entry(f"S{setup}", kinds[sight], point, rod))  # type: ignore[arg-type]
    return reduce_levels(entries=entries, benchmark_elevations=known, spread_closure=spread)


@pytest.fixture(scope="module")
def papua() -> LevelBook:
    """Lecture 2, level books and arithmetic checks: Papua New Guinea University of Technology (seen)."""
    return _book(
        [
            ("B", "BM1", 6.482),
            ("T", "CP1", 2.159),
            ("B", "CP1", 5.844),
            ("I", "C", 3.141),
            ("I", "D", -2.956),
            ("I", "E", 5.600),
            ("T", "CP2", 7.318),
            ("B", "CP2", 4.298),
            ("I", "F", 3.015),
            ("F", "BM2", 4.264),
        ],
        {"BM1": 40.000},
    )


@pytest.mark.parametrize(
    ("point", "elevation"),
    [
        ("CP1", 44.323),
        ("C", 47.026),
        ("D", 53.123),
        ("E", 44.567),
        ("CP2", 42.849),
        ("F", 44.132),
        ("BM2", 42.883),
    ],
)
def test_book_of_papua_new_guinea(papua, point, elevation):
    """Every reduced level of the page; D is the underside of a bridge, rod upside down."""
    assert papua.elevation_m[point] == pytest.approx(elevation, abs=1e-9)


def test_heights_of_instrument_and_sum_check_of_papua_new_guinea(papua):
    """46.482, 50.167, 47.147; backsights 16.624 less foresights 13.741 are 2.883."""
    assert list(papua.height_of_instrument_m.values()) == pytest.approx([46.482, 50.167, 47.147], abs=1e-9)
    assert papua.elevation_m["BM2"] - 40.000 == pytest.approx(16.624 - 13.741, abs=1e-9)
    assert papua.arithmetic_check_m == pytest.approx(0.0, abs=1e-9)
    assert papua.closure_m is None


MALAYSIA = [
    ("B", "OBM1", 1.717),
    ("I", "A", 1.432),
    ("T", "B", 1.716),
    ("B", "B", 2.918),
    ("I", "C", 2.272),
    ("T", "D", 0.953),
    ("B", "D", 0.816),
    ("T", "E", 3.005),
    ("B", "E", 1.436),
    ("T", "CP", 1.391),
    ("B", "CP", 1.246),
    ("I", "F", 1.353),
    ("I", "G", 1.462),
    ("F", "OBM2", 0.628),
]


@pytest.mark.parametrize(
    ("point", "initial", "correction_mm", "adjusted"),
    [
        ("A", 29.515, -2, 29.51),
        ("B", 29.231, -2, 29.23),
        ("C", 29.877, -4, 29.87),
        ("D", 31.196, -4, 31.19),
        ("E", 29.007, -6, 29.00),
        ("CP", 29.052, -8, 29.04),
        ("F", 28.945, -10, 28.93),
        ("G", 28.836, -10, 28.83),
    ],
)
def test_book_of_a_malaysian_university(point, initial, correction_mm, adjusted):
    """Universiti Sains Malaysia, leveling page (seen): initial levels and the closure spread by set-ups."""
    known = {"OBM1": 29.23, "OBM2": 29.66}
    raw, spread = _book(MALAYSIA, known), _book(MALAYSIA, known, spread=True)
    assert raw.elevation_m[point] == pytest.approx(initial, abs=1e-9)
    assert (spread.elevation_m[point] - raw.elevation_m[point]) * 1000 == pytest.approx(
        correction_mm, abs=1e-6
    )
    assert spread.elevation_m[point] == pytest.approx(adjusted, abs=0.0055)  # printed to 0.01, some cut off


def test_closure_of_the_malaysian_book():
    """29.670 is found where 29.66 is known; foresights 7.693 less backsights 8.133 are -0.440."""
    book = _book(MALAYSIA, {"OBM1": 29.23, "OBM2": 29.66}, spread=True)
    assert book.closure_m == pytest.approx(0.010, abs=1e-9)
    assert book.adjusted
    assert book.steps[-1].elevation_m == pytest.approx(29.670, abs=1e-9)
    assert book.arithmetic_check_m == pytest.approx(0.0, abs=1e-9)


def test_book_in_feet_with_a_misclosure():
    """A leveling section on a question page (seen): BM B found 94.95, known 94.91, misclosure 0.04 ft."""
    rows = [
        ("B", "A", 3.10),
        ("T", "TP1", 9.82),
        ("B", "TP1", 6.44),
        ("T", "TP2", 6.96),
        ("B", "TP2", 8.76),
        ("T", "TP3", 3.27),
        ("B", "TP3", 7.12),
        ("F", "B", 10.42),
    ]
    book = _book(rows, {"A": 100.00, "B": 94.91})
    assert list(book.height_of_instrument_m.values()) == pytest.approx([103.10, 99.72, 101.52, 105.37])
    assert [book.elevation_m[p] for p in ("TP1", "TP2", "TP3")] == pytest.approx([93.28, 92.76, 98.25])
    assert book.steps[-1].elevation_m == pytest.approx(94.95)
    assert book.closure_m == pytest.approx(0.04)


def test_book_of_twelve_readings():
    """Example of a civil-engineering page (seen): the instrument is moved after the 5th and 11th reading."""
    rows = [
        ("B", "1", 0.585),
        *[("I", str(i), r) for i, r in zip((2, 3, 4), (1.010, 1.735, 3.295), strict=True)],
    ]
    rows += [("T", "5", 3.775), ("B", "5", 0.350)]
    rows += [("I", str(i), r) for i, r in zip((6, 7, 8, 9), (1.300, 1.795, 2.575, 3.375), strict=True)]
    rows += [("T", "10", 3.895), ("B", "10", 1.735), ("I", "11", 0.635), ("F", "12", 1.605)]
    book = _book(rows, {"1": 136.440})
    printed = [
        136.015,
        135.290,
        133.730,
        133.250,
        132.300,
        131.805,
        131.025,
        130.225,
        129.705,
        130.805,
        129.835,
    ]
    assert [book.elevation_m[str(i)] for i in range(2, 13)] == pytest.approx(printed, abs=1e-9)
    assert list(book.height_of_instrument_m.values()) == pytest.approx([137.025, 133.600, 131.440], abs=1e-9)


def test_one_setup_of_a_textbook():
    """Surveying textbook excerpt (seen): BM Rock 820.00 ft and 8.42 give HI 828.42; then a sight of 1.20."""
    book = _book([("B", "Rock", 8.42), ("F", "X", 1.20)], {"Rock": 820.00})
    assert book.height_of_instrument_m["S1"] == pytest.approx(828.42)
    assert book.elevation_m["X"] == pytest.approx(827.22)


@pytest.mark.parametrize(
    "book", json.loads(BOOKS.read_text(encoding="utf-8")), ids=lambda book: book["source"][:30]
)
def test_books_that_the_page_reduces_too(book):
    """The page works these out with no signal (page/src/visit/foreman.test.ts); each entry says where it was seen."""
    entries = [Entry(r["setup"], r["kind"], r["point"], r["rod"]) for r in book["readings"]]
    found = reduce_levels(entries=entries, benchmark_elevations=book["known"])
    for point, elevation in book["elevations"].items():
        assert found.elevation_m[point] == pytest.approx(elevation, abs=1e-9)
    assert list(found.height_of_instrument_m.values()) == pytest.approx(book["heights"], abs=1e-9)
