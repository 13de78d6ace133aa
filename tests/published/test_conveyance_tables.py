"""Sums of the published tables of conveyance and settling: a slipped digit cannot pass."""

import pytest

from roofwell import tables

SUMS = [
    # table, column, filter, sum of the printed figures typed a second time from the source, rows
    ("leader_capacity", "value", ("table", "seven-twenty-fourths"), 11059, 9),
    ("leader_capacity", "value", ("table", "nspc-2006-area"), 176223, 6),
    ("leader_capacity", "value", ("table", "upc-2000-area"), 176376, 6),
    ("leader_capacity", "value", ("table", "ipc-2015"), 2499, 7),
    ("leader_capacity", "value", ("table", "ipc-2003-area"), 234680, 6),
    ("leader_capacity", "value", ("table", "chicago-area"), 59070, 7),
    ("horizontal_drain_capacity", "value", ("table", "upc-area"), 404224, 15),
    ("horizontal_drain_capacity", "value", ("table", "ipc-2015"), 42853, 36),
    ("gutter_capacity", "value", ("table", "ipc-2012-semicircular"), 69540, 13),
    ("minimum_slope", "slope", ("source", "storm-sewer-figure-6-3"), 0.0201, 8),
    ("entrance_loss", "k", ("source", "hds-5"), 2.5, 5),
]


@pytest.mark.parametrize(("name", "column", "only", "total", "count"), SUMS, ids=lambda v: str(v))
def test_sum_of_a_printed_column(
    name: str, column: str, only: tuple[str, str], total: float, count: int
) -> None:
    """Each table is whole and as printed."""
    rows = [row for row in tables.rows(name) if row[only[0]] == only[1]]
    assert len(rows) == count
    assert sum(float(row[column]) for row in rows) == pytest.approx(total, rel=1e-12)


@pytest.mark.parametrize(
    "name",
    [
        "leader_capacity",
        "horizontal_drain_capacity",
        "gutter_capacity",
        "manning_n",
        "entrance_loss",
        "bend_loss",
        "settling_velocity",
        "settling_fraction",
        "minimum_slope",
        "roof_runoff_coefficient",
    ],
)
def test_every_row_names_a_known_source(name: str) -> None:
    """A figure without its publication is no figure."""
    for row in tables.rows(name):
        assert row["source"] in tables.sources(), row
