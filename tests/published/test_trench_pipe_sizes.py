"""The table of pipes, slopes and setbacks against published stiffness, diameters and rules."""

from __future__ import annotations

import math

import pytest

from roofwell import tables, units
from roofwell.physics.trench.excavation import least_trench_width_m
from roofwell.physics.trench.load import deflection, pipe_stiffness_pa

INCH = 0.0254
PSI = 6894.757
PVC_PA = 400_000 * PSI


def _pipe(kind: str, nominal: str) -> dict[str, float]:
    row = next(r for r in tables.rows("pipe_sizes") if (r["key"], r["nominal"]) == (kind, nominal))
    names = ("inside_diameter", "outside_diameter", "wall")
    return {name: units.parse(row[name], units.Dimension.LENGTH).value_si for name in names}


@pytest.mark.parametrize(
    ("kind", "nominal", "psi", "within"),
    [
        ("thin-wall", "4 in", 11, 0.05),
        ("thin-wall", "3 in", 19, 0.05),
        ("thin-wall", "6 in", 8, 0.06),
        ("sdr-35", "4 in", 46, 0.03),
        ("sdr-35", "6 in", 46, 0.03),
    ],
)
def test_stiffness_reproduces_the_published_one(kind, nominal, psi, within):
    """P01 to P03: ASTM D2729 table 5 (stiffness seen) and D3034, E 400,000 psi; 7.6 is printed as 8."""
    pipe = _pipe(kind, nominal)
    stiffness = pipe_stiffness_pa(
        outside_diameter_m=pipe["outside_diameter"], wall_m=pipe["wall"], modulus_pa=PVC_PA
    )
    assert stiffness / PSI == pytest.approx(psi, rel=within)


@pytest.mark.parametrize(("nominal", "ratio"), [("4 in", 35.1), ("6 in", 34.9)])
def test_sdr_35_is_thirty_five(nominal, ratio):
    """P03: outside diameter over wall."""
    pipe = _pipe("sdr-35", nominal)
    assert pipe["outside_diameter"] / pipe["wall"] == pytest.approx(ratio, abs=0.05)


@pytest.mark.parametrize(("nominal", "inside"), [("3 in", 3.042), ("4 in", 3.998), ("6 in", 6.031)])
def test_schedule_40_average_inside_diameter(nominal, inside):
    """P04: D1785-type table: outside diameter less 2 x 1.06 walls, to 0.001 in."""
    pipe = _pipe("schedule-40", nominal)
    assert pipe["inside_diameter"] / INCH == pytest.approx(inside, abs=1e-6)
    assert (pipe["outside_diameter"] - 2.12 * pipe["wall"]) / INCH == pytest.approx(inside, abs=0.001)


@pytest.mark.parametrize(
    ("kind", "nominal", "inside"),
    [
        ("thin-wall", "3 in", 3.11),
        ("thin-wall", "4 in", 4.065),
        ("thin-wall", "6 in", 6.075),
        ("sdr-35", "4 in", 3.975),
        ("sdr-35", "6 in", 5.915),
    ],
)
def test_inside_diameters(kind, nominal, inside):
    """Reference sheet 3.1."""
    assert _pipe(kind, nominal)["inside_diameter"] / INCH == pytest.approx(inside, abs=1e-6)


def test_thin_wall_and_sdr_35_share_their_outside_and_schedule_40_does_not():
    """P05: sockets of D2729 (seen) read 4.235 / 4.210 in for 4.215 in pipe."""
    four = {kind: _pipe(kind, "4 in")["outside_diameter"] for kind in ("thin-wall", "sdr-35", "schedule-40")}
    assert four["thin-wall"] == four["sdr-35"] == pytest.approx(4.215 * INCH)
    assert four["schedule-40"] == pytest.approx(4.500 * INCH)


@pytest.mark.parametrize(("outside_in", "width_in"), [(4.215, 20.2), (6.275, 22.3)])
def test_least_trench_width(outside_in, width_in):
    """P06: ASTM D2321 (second-hand)."""
    assert least_trench_width_m(outside_diameter_m=outside_in * INCH) / INCH == pytest.approx(
        width_in, abs=0.1
    )


@pytest.mark.parametrize(("nominal_from", "slope"), [("0 in", 1 / 48), ("3 in", 1 / 96), ("8 in", 1 / 192)])
def test_plumbing_code_slopes(nominal_from, slope):
    """P08: model plumbing code table 704.1 as adopted by a large city (seen): 1/4, 1/8, 1/16 in per ft."""
    row = next(
        r for r in tables.rows("least_slope") if (r["source"], r["nominal_from"]) == ("ipc-704", nominal_from)
    )
    assert units.parse(row["slope"], units.Dimension.SLOPE).value_si == pytest.approx(slope)


@pytest.mark.parametrize(
    ("stiffness", "cover_ft", "live_psi", "soft", "firm"),
    [
        (46, 1, 0, 0.66, 0.18),
        (46, 1, 12.5, 7.22, 2.03),
        (46, 1.5, 8, 5.18, 1.46),
        (46, 2, 5.56, 4.23, 1.19),
        (11, 1, 0, 0.90, 0.20),
        (11, 1, 12.5, 9.94, 2.20),
        (11, 1.5, 8, 7.14, 1.58),
        (11, 2, 5.56, 5.82, 1.29),
    ],
)
def test_deflections(stiffness, cover_ft, live_psi, soft, firm):
    """Sheet 3.3 (constants from memory): SDR 35 and thin wall, soil modulus 200 and 1,000 psi."""
    for modulus, percent in ((200, soft), (1000, firm)):
        share = deflection(
            soil_pressure_pa=120 * cover_ft / 144 * PSI,
            live_pressure_pa=live_psi * PSI,
            stiffness_pa=stiffness * PSI,
            soil_modulus_pa=modulus * PSI,
        )
        assert share * 100 == pytest.approx(percent, rel=0.01, abs=0.006)


RATES = {
    "rawls-1982": (8.27, 2.41, 1.02, 0.52, 0.27, 0.17, 0.09, 0.06, 0.05, 0.04, 0.02),
    "wisconsin-1002": (3.60, 1.63, 0.50, 0.24, 0.13, 0.11, 0.03, 0.04, 0.04, 0.07, 0.07),
    "minnesota-2014": (0.8, 0.8, 0.8, 0.3, 0.3, 0.2, 0.06, 0.06, 0.06, 0.06, 0.06),
}


@pytest.mark.parametrize("source", RATES)
def test_design_rates_by_texture(source):
    """Reference sheet 2.2, eleven textures from sand to clay, in/h; the range spans all three columns."""
    rows = tables.rows("soil_texture")
    read = [units.parse(row[source], units.Dimension.RATE).value_si for row in rows]
    assert [rate / INCH * 3600 for rate in read] == pytest.approx(RATES[source])
    for row, rate in zip(rows, read, strict=True):
        low, best, high = (
            units.parse(row[k], units.Dimension.RATE).value_si for k in ("low", "best", "high")
        )
        assert low <= best <= high
        assert low - 1e-12 <= rate <= high + 1e-12


@pytest.mark.parametrize(
    ("table", "subject", "values"),
    [
        ("setback_published", "building", ["10 ft", "10 ft", "10 ft", "10 ft", "5 m"]),
        ("setback_published", "water well", ["50 ft", "100 ft", "50 ft", "25 ft", "500 ft"]),
        ("setback_published", "septic", ["35 ft", "50 ft", "25 ft", "25 ft", "20 ft"]),
        ("setback_published", "boundary", ["10 ft", "5 ft", "2.5 m", "5 m"]),
        (
            "separation_published",
            "seasonal high water",
            ["1 ft", "2 ft", "2 ft", "3 ft", "4 ft", "1 m", "1 m", "10 ft", "10 ft"],
        ),
    ],
)
def test_published_distances(table, subject, values):
    """Reference sheet 6.3 and 7.1: the disagreement is kept, one row for each authority and condition."""
    assert [row["value"] for row in tables.rows(table) if row["subject"] == subject] == values


@pytest.mark.parametrize(
    "table",
    [
        "soil_texture",
        "setback_published",
        "separation_published",
        "pipe_sizes",
        "least_slope",
        "swell",
        "digging_rate",
    ],
)
def test_every_row_names_a_source(table):
    """Each row's source stands in the list of publications."""
    assert all(row["source"] in tables.sources() for row in tables.rows(table))


def test_eighth_of_an_inch_per_foot():
    """P08: 1/8 in per ft is 1.04 %."""
    assert math.isclose(units.parse("1/8 in/ft", units.Dimension.SLOPE).value_si, 0.0104, abs_tol=5e-5)
