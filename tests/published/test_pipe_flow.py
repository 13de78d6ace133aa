"""Round pipes: geometry, Manning full and part full, critical depth, code tables, against print."""

import math
from collections.abc import Iterator

import pytest

from roofwell import tables, units
from roofwell.physics.pipe.flow import (
    ANGLE_OF_MOST_FLOW,
    critical_depth_m,
    full_flow_m3_s,
    normal_depth_m,
    part_full_flow,
    section,
    slope_for_full_velocity,
)

FOOT = 0.3048
INCH = 0.0254
GPM = 231 * INCH**3 / 60


def full_gpm(diameter_in: float, slope: float, manning_n: float) -> float:
    flow = full_flow_m3_s(inside_diameter_m=diameter_in * INCH, slope=slope, manning_n=manning_n)
    return flow / GPM


@pytest.mark.parametrize(("diameter_in", "gpm"), [(3, 52.6), (4, 113.3), (6, 334.1), (8, 719.6)])
def test_full_pipe_at_an_eighth_of_an_inch(diameter_in: int, gpm: float) -> None:
    """P1: n = 0.010 on the nominal bore."""
    assert full_gpm(diameter_in, 1 / 96, 0.010) == pytest.approx(gpm, rel=2e-4, abs=0.1)


ROUGHNESS = (0.009, 0.010, 0.011, 0.012, 0.013, 0.015, 0.020, 0.024)


@pytest.mark.parametrize(
    ("diameter_in", "manning_n", "gpm"),
    [
        *(
            (4, n, q)
            for n, q in zip(ROUGHNESS, (123.4, 111.0, 100.9, 92.5, 85.4, 74.0, 55.5, 46.3), strict=True)
        ),
        *(
            (6, n, q)
            for n, q in zip(ROUGHNESS, (363.8, 327.4, 297.6, 272.8, 251.8, 218.3, 163.7, 136.4), strict=True)
        ),
    ],
)
def test_full_pipe_at_one_percent(diameter_in: int, manning_n: float, gpm: float) -> None:
    """P2, P3."""
    assert full_gpm(diameter_in, 0.01, manning_n) == pytest.approx(gpm, rel=2e-4, abs=0.1)


UPC = [row for row in tables.rows("horizontal_drain_capacity") if row["table"] == "upc-area"]
IMPLIED_N = {"3 in": 0.0155, "4 in": 0.0145, "5 in": 0.0148, "6 in": 0.0150, "8 in": 0.0150}


@pytest.mark.parametrize("row", UPC, ids=lambda row: f"{row['diameter']} at {row['slope']}")
def test_older_code_table_is_manning_at_its_implied_roughness(row: dict[str, str]) -> None:
    """P4, P6, P7: areas at 1 in/h; n 0.0145 to 0.0155 on the nominal bore gives every row within 1 %."""
    diameter = units.parse(row["diameter"], units.Dimension.LENGTH).value_si
    slope = units.parse(row["slope"], units.Dimension.SLOPE).value_si
    flow = full_flow_m3_s(inside_diameter_m=diameter, slope=slope, manning_n=IMPLIED_N[row["diameter"]])
    assert flow / GPM * 96.25 == pytest.approx(float(row["value"]), rel=0.01)


@pytest.mark.parametrize(
    ("diameter", "gpm"), [("3 in", 34), ("4 in", 78), ("5 in", 139), ("6 in", 222), ("8 in", 478)]
)
def test_older_code_table_in_gallons(diameter: str, gpm: int) -> None:
    """P5: the areas at 1/8 in/ft over 96.25, and the roughness of P7 to 0.0001."""
    (area,) = (float(r["value"]) for r in UPC if (r["diameter"], r["slope"]) == (diameter, "1/8 in/ft"))
    assert area / 96.25 == pytest.approx(gpm, abs=0.5)
    implied = 0.01 * full_gpm(float(diameter.split()[0]), 1 / 96, 0.01) / (area / 96.25)
    assert implied == pytest.approx(IMPLIED_N[diameter], abs=0.0001)


def test_worked_example_of_the_older_code() -> None:
    """P8, UPC appendix D: a 6 in drain at 1/8 in/ft takes 6688 square feet at 3.2 in/h (21400 / 3.2)."""
    flow = full_gpm(6, 1 / 96, IMPLIED_N["6 in"])
    assert flow * 96.25 / 3.2 == pytest.approx(6688, rel=0.005)


def _later_rows() -> Iterator[object]:
    for row in tables.rows("horizontal_drain_capacity"):
        if row["table"] != "ipc-2015":
            continue
        marks = []
        if row["status"] == "wrong":
            marks = [pytest.mark.xfail(strict=True, reason=f"P11: {row['note']}")]
        yield pytest.param(row, marks=marks, id=f"{row['diameter']} at {row['slope']}")


@pytest.mark.parametrize("row", list(_later_rows()))
def test_later_code_table_is_smooth_pipe(row: dict[str, str]) -> None:
    """P10, IPC 2015 to 2021 Table 1106.2: n = 0.010 on Schedule 40 bores, every row within 1.6 %.

    The rows for 2, 5 and 15 in (P11) do not follow one roughness; they stay in the table, marked.
    """
    bore = units.parse(row["bore"] or row["diameter"], units.Dimension.LENGTH).value_si
    slope = units.parse(row["slope"], units.Dimension.SLOPE).value_si
    flow = full_flow_m3_s(inside_diameter_m=bore, slope=slope, manning_n=0.010)
    assert flow / GPM == pytest.approx(float(row["value"]), rel=0.016)


@pytest.mark.parametrize(
    ("bore_in", "gpm"),
    [
        (3.068, (39.5, 55.9, 79.0, 111.7)),
        (4.026, (81.5, 115.3, 163.1, 230.6)),
        (6.065, (243.2, 343.9, 486.3, 687.8)),
        (7.981, (505.6, 715.1, 1011.3, 1430.2)),
    ],
)
def test_smooth_pipe_on_schedule_40_bores(bore_in: float, gpm: tuple[float, ...]) -> None:
    """P10: what n = 0.010 gives at 1/16, 1/8, 1/4, 1/2 in/ft, recomputed independently."""
    for slope, expected in zip((1 / 192, 1 / 96, 1 / 48, 1 / 24), gpm, strict=True):
        assert full_gpm(bore_in, slope, 0.010) == pytest.approx(expected, rel=2e-4, abs=0.1)


DEPTHS = (0.1, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.75, 0.8, 0.9, 0.95)
FLOWS = (0.0209, 0.0876, 0.1370, 0.1958, 0.3370, 0.5000, 0.6718, 0.8372, 0.9119, 0.9775, 1.0658, 1.0745)
VELOCITIES = (0.4012, 0.6151, 0.7007, 0.7761, 0.9022, 1.0000, 1.0724, 1.1198, 1.1335, 1.1397, 1.1243, 1.0950)


@pytest.mark.parametrize(
    ("depth", "flow", "velocity"), list(zip(DEPTHS, FLOWS, VELOCITIES, strict=True)), ids=str
)
def test_part_full_flow(depth: float, flow: float, velocity: float) -> None:
    """P13, P14, Chow 1959 appendix A: flow and velocity over those of the full pipe, constant n."""
    part = part_full_flow(inside_diameter_m=1.0, depth_m=depth, slope=0.01, manning_n=0.01)
    full = part_full_flow(inside_diameter_m=1.0, depth_m=1.0, slope=0.01, manning_n=0.01)
    assert part.flow_m3_s / full.flow_m3_s == pytest.approx(flow, abs=1e-4)
    assert part.velocity_m_s / full.velocity_m_s == pytest.approx(velocity, abs=1e-4)


def test_where_a_pipe_carries_most() -> None:
    """P15, Chow (0.938, 1.076; 0.81, 1.14): most flow 1.07571 at 0.93818, velocity 1.14003 at 0.81280."""
    depth = 0.5 * (1 - math.cos(ANGLE_OF_MOST_FLOW / 2))
    assert depth == pytest.approx(0.93818, abs=1e-5)
    full = part_full_flow(inside_diameter_m=1, depth_m=1, slope=0.01, manning_n=0.01)
    most = part_full_flow(inside_diameter_m=1, depth_m=depth, slope=0.01, manning_n=0.01)
    assert most.flow_m3_s / full.flow_m3_s == pytest.approx(1.07571, abs=1e-5)
    fastest = part_full_flow(inside_diameter_m=1, depth_m=0.81280, slope=0.01, manning_n=0.01)
    assert fastest.velocity_m_s / full.velocity_m_s == pytest.approx(1.14003, abs=1e-5)


def test_full_flow_is_reached_first_at_082() -> None:
    """P15: full flow is also carried at 0.81963 of the diameter; that lower depth is the answer."""
    full = full_flow_m3_s(inside_diameter_m=1, slope=0.01, manning_n=0.01)
    depth = normal_depth_m(flow_m3_s=full, inside_diameter_m=1, slope=0.01, manning_n=0.01)
    assert depth == pytest.approx(0.81963, abs=1e-5)


@pytest.mark.parametrize(
    ("depth", "area", "perimeter", "radius", "width", "tolerance"),
    [
        pytest.param(0.10, 0.040875, 0.643501, 0.063520, 0.600000, 1e-6, id="P16"),
        pytest.param(0.50, 0.392699, 1.570796, 0.25, 1.0, 1e-5, id="P17-half"),
        pytest.param(0.75, 0.631852, 2.094395, 0.301687, 0.866025, 1e-5, id="P17-three-quarters"),
        pytest.param(0.938, 0.7652, 2.6383, 0.2900, 0.4823, 1e-4, id="P17-0.938"),
    ],
)
def test_geometry(
    depth: float, area: float, perimeter: float, radius: float, width: float, tolerance: float
) -> None:
    """P16, P17, after Chow 1959 Table 2-2: area, wetted perimeter, hydraulic radius, top width at D = 1."""
    water = section(inside_diameter_m=1.0, depth_m=depth)
    assert water.area_m2 == pytest.approx(area, abs=tolerance)
    assert water.wetted_perimeter_m == pytest.approx(perimeter, abs=tolerance)
    assert water.hydraulic_radius_m == pytest.approx(radius, abs=tolerance)
    assert water.top_width_m == pytest.approx(width, abs=tolerance)


@pytest.mark.parametrize(("depth", "factor"), [(0.5, 0.1558), (0.938, 0.3353), (1.0, 0.3117)])
def test_section_factor(depth: float, factor: float) -> None:
    """P18, Chow 1959 appendix A: A R^(2/3) / D^(8/3)."""
    water = section(inside_diameter_m=1.0, depth_m=depth)
    assert water.area_m2 * water.hydraulic_radius_m ** (2 / 3) == pytest.approx(factor, abs=1e-4)


def test_normal_depth() -> None:
    """P19: 50 gpm in a 4 in pipe, n = 0.010, at 1 %: y/D 0.4704, 2.761 ft/s."""
    pipe = {"inside_diameter_m": 4 * INCH, "slope": 0.01, "manning_n": 0.010}
    depth = normal_depth_m(flow_m3_s=50 * GPM, **pipe)
    assert depth is not None
    assert depth / (4 * INCH) == pytest.approx(0.4704, abs=0.0005)
    assert part_full_flow(depth_m=depth, **pipe).velocity_m_s / FOOT == pytest.approx(2.761, abs=0.002)


@pytest.mark.parametrize(
    ("diameter_in", "gpm", "ratio"), [(4, 50, 0.5606), (4, 100, 0.7966), (6, 100, 0.4740)]
)
def test_critical_depth(diameter_in: int, gpm: float, ratio: float) -> None:
    """P21."""
    depth = critical_depth_m(flow_m3_s=gpm * GPM, inside_diameter_m=diameter_in * INCH)
    assert depth / (diameter_in * INCH) == pytest.approx(ratio, abs=0.0005)


LEAST_SLOPES = [
    *((0.013, 2, d, s) for d, s in ((4, 0.00841), (6, 0.00490), (8, 0.00334))),
    *((0.013, 3, d, s) for d, s in ((4, 0.01892), (6, 0.01102), (8, 0.00751))),
    *((0.010, 2, d, s) for d, s in ((3, 0.00730), (4, 0.00498), (6, 0.00290), (8, 0.00197))),
    *((0.010, 3, d, s) for d, s in ((3, 0.01643), (4, 0.01120), (6, 0.00652), (8, 0.00444))),
]


@pytest.mark.parametrize(("manning_n", "velocity_ft_s", "diameter_in", "slope"), LEAST_SLOPES)
def test_slope_for_a_full_pipe_velocity(
    manning_n: float, velocity_ft_s: float, diameter_in: float, slope: float
) -> None:
    """P22, P23."""
    found = slope_for_full_velocity(
        velocity_m_s=velocity_ft_s * FOOT, inside_diameter_m=diameter_in * INCH, manning_n=manning_n
    )
    assert found == pytest.approx(slope, abs=1e-5)


@pytest.mark.parametrize(
    "row",
    [row for row in tables.rows("minimum_slope") if row["source"] == "storm-sewer-figure-6-3"],
    ids=lambda row: f"{row['diameter']} at {row['full_velocity']}",
)
def test_published_minimum_slopes(row: dict[str, str]) -> None:
    """P24, storm-sewer design table, Figure 6-3: all eight rows."""
    found = slope_for_full_velocity(
        velocity_m_s=units.parse(row["full_velocity"], units.Dimension.SPEED).value_si,
        inside_diameter_m=units.parse(row["diameter"], units.Dimension.LENGTH).value_si,
        manning_n=float(row["manning_n"]),
    )
    assert found == pytest.approx(float(row["slope"]), abs=1e-4)


def test_sewer_rule_is_steeper_than_its_formula() -> None:
    """P25, Great Lakes standards (from memory): 0.0040 for 8 in, where 2 ft/s at n = 0.013 needs 0.00334."""
    (row,) = (row for row in tables.rows("minimum_slope") if row["source"] == "great-lakes-standards")
    found = slope_for_full_velocity(velocity_m_s=2 * FOOT, inside_diameter_m=8 * INCH, manning_n=0.013)
    assert found == pytest.approx(0.00334, abs=1e-5)
    assert found < float(row["slope"])


@pytest.mark.parametrize(("manning_n", "velocity_ft_s"), [(0.010, 2.84), (0.015, 1.89)])
def test_velocity_of_a_four_inch_line_at_one_percent(manning_n: float, velocity_ft_s: float) -> None:
    """Conveyance section 6: 4 in at 1 % runs 2.84 ft/s full with n = 0.010, 1.89 with 0.015.

    (2.8349 here, 2.8352 with the rounded 1.486 of feet, which is what was printed as 2.84.)
    """
    full = part_full_flow(inside_diameter_m=4 * INCH, depth_m=4 * INCH, slope=0.01, manning_n=manning_n)
    assert full.velocity_m_s / FOOT == pytest.approx(velocity_ft_s, abs=0.0055)
