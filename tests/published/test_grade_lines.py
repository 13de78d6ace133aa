"""Entrance control, kinds of flow and grade lines against the highway-drainage manuals and the worked job.

HDS-5, 2nd edition, 2001, appendix A (read); HEC-22, 3rd edition, 2009, Example 7-3 in SI (read); its figures are
printed to the centimeter or to three digits, and depths are read off charts.
"""

import math

import pytest

from roofwell import tables
from roofwell.physics.basin.standing import standing_water
from roofwell.physics.pipe.classes import classify
from roofwell.physics.pipe.entrance import EntranceEdge, entrance_head_m
from roofwell.physics.pipe.flow import critical_depth_m, friction_slope, normal_depth_m
from roofwell.physics.pipe.losses import curved_bend_k, velocity_head_m
from roofwell.physics.pipe.profile import grade_line

FOOT, INCH = 0.3048, 0.0254
GPM = 231 * INCH**3 / 60

# HDS-5 Table 9, circular pipes, typed a second time: K, M, c, Y.
TABLE_9 = {
    "square edge with headwall": (0.0098, 2.0, 0.0398, 0.67),
    "groove end with headwall": (0.0018, 2.0, 0.0292, 0.74),
    "groove end projecting": (0.0045, 2.0, 0.0317, 0.69),
    "thin wall with headwall": (0.0078, 2.0, 0.0379, 0.69),
    "mitered to slope": (0.0210, 1.33, 0.0463, 0.75),
    "thin wall projecting": (0.0340, 1.50, 0.0553, 0.54),
    "beveled ring 45 degrees": (0.0018, 2.50, 0.0300, 0.74),
    "beveled ring 33.7 degrees": (0.0018, 2.50, 0.0243, 0.83),
}


def edge(name: str) -> EntranceEdge:
    k, m, c, y = TABLE_9[name]
    return EntranceEdge(k, m, c, y, 0.7 if name == "mitered to slope" else -0.5)


def test_the_table_of_entrances_is_table_9() -> None:
    """HDS-5 Table 9, p. 193, charts 1 to 3."""
    rows = {
        row["entrance"]: tuple(float(row[c]) for c in ("k", "m", "c", "y"))
        for row in tables.rows("entrance_control")
    }
    assert rows == TABLE_9


@pytest.mark.parametrize(("intensity", "ratio"), [(4.0, 1.31), (6.0, 2.31), (8.0, 3.69)])
def test_a_drowned_entrance(intensity: float, ratio: float) -> None:
    """HDS-5 p. 196, equation 28 with c 0.0496, Y 0.53, S 0.02: HW/D at Q/AD^0.5 of 4, 6, 8 in feet."""
    flow = intensity * math.pi / 4 * FOOT**3  # a pipe of one foot
    head = entrance_head_m(
        flow_m3_s=flow, inside_diameter_m=FOOT, slope=0.02, edge=EntranceEdge(0.0340, 1.5, 0.0496, 0.53)
    )
    assert head / FOOT == pytest.approx(ratio, abs=0.01)


@pytest.mark.parametrize(
    ("name", "diameter_in", "flow_ft3_s", "ratio"),
    [
        ("square edge with headwall", 42, 120, 2.5),
        ("groove end with headwall", 42, 120, 2.1),
        ("groove end projecting", 42, 120, 2.2),
        ("thin wall with headwall", 36, 66, 1.8),
        ("mitered to slope", 36, 66, 2.1),
        ("thin wall projecting", 36, 66, 2.2),
    ],
)
def test_examples_on_the_charts(name: str, diameter_in: float, flow_ft3_s: float, ratio: float) -> None:
    """HDS-5 Charts 1 and 2, the examples drawn on them (from memory): HW/D read off to a tenth, within 6 %."""
    bore = diameter_in * INCH
    head = entrance_head_m(
        flow_m3_s=flow_ft3_s * FOOT**3, inside_diameter_m=bore, slope=0.02, edge=edge(name)
    )
    assert head / bore == pytest.approx(ratio, rel=0.06)


@pytest.mark.parametrize(
    ("flow", "bore", "head"), [(0.19, 0.61, 0.402), (0.15, 0.46, 0.415), (0.10, 0.46, 0.316)]
)
def test_the_entrance_to_a_pipe_from_an_access_hole(flow: float, bore: float, head: float) -> None:
    """HEC-22 Example 7-3, structures 43, 41, 40: E = 1.6 (Q / A sqrt(g D))^0.67 D. Another fit: within 10 %."""
    slope = 0.01 if bore == 0.61 else 0.03
    found = entrance_head_m(
        flow_m3_s=flow, inside_diameter_m=bore, slope=slope, edge=edge("square edge with headwall")
    )
    assert found == pytest.approx(head, rel=0.10)


def test_grade_line_of_the_drowned_outfall() -> None:
    """HEC-22 Example 7-3, structure 43, pp. 7-54 to 7-56: from 101.65 m, 17 m of 0.61 m pipe, 0.19 m³/s, n 0.013.

    Friction slope 0.00088, level at the upper end 101.665, velocity head 0.022; with 0.2 of it lost at the
    entrance the access hole has an energy of 0.721 m over the invert at 100.97.
    """
    pipe = {
        "downstream_invert_m": [100.80],
        "upstream_invert_m": [100.97],
        "length_m": [17.0],
        "inside_diameter_m": [0.61],
        "manning_n": [0.013],
        "flow_m3_s": [0.19],
        "bend_loss_k": [0.0],
        "tailwater_m": 101.65,
    }
    assert friction_slope(flow_m3_s=0.19, inside_diameter_m=0.61, manning_n=0.013) == pytest.approx(
        0.00088, abs=1e-5
    )
    line = grade_line(**pipe, entrance_loss_k=[0.0], velocity_head_k=0.0)
    assert line.upstream_level_m[0] == pytest.approx(101.665, abs=0.001)
    assert line.downstream_level_m[0] == 101.65
    assert velocity_head_m(velocity_m_s=float(line.velocity_m_s[0])) == pytest.approx(0.022, abs=0.0005)
    pool = grade_line(**pipe, entrance_loss_k=[0.2])
    assert pool.upstream_level_m[0] == pytest.approx(100.97 + 0.721, abs=0.001)


def test_friction_of_the_longest_pipe() -> None:
    """HEC-22 Example 7-3, structure 41, p. 7-60: 0.15 m³/s in 100 m of 0.46 m pipe, 0.247 m."""
    slope = friction_slope(flow_m3_s=0.15, inside_diameter_m=0.46, manning_n=0.013)
    assert slope == pytest.approx(0.00247, abs=2e-5)
    assert slope * 100 == pytest.approx(0.247, abs=0.002)


@pytest.mark.parametrize(
    ("flow", "bore", "slope", "normal", "critical"),
    [
        pytest.param(0.10, 0.46, 0.03, 0.14, 0.21, id="40 to 41"),
        pytest.param(0.15, 0.46, 0.03, 0.17, 0.26, id="41 to 42"),
        pytest.param(0.19, 0.61, 0.001, 0.48, 0.28, id="42 to 43"),
    ],
)
def test_depths_and_kind_of_flow(
    flow: float, bore: float, slope: float, normal: float, critical: float
) -> None:
    """HEC-22 Example 7-3, pp. 7-57 to 7-65: normal and critical depth off the charts; the first two "supercritical".

    The last normal depth was read at the rounded ratio 0.95 of the full flow, where it is 0.94: 12 mm too deep.
    Its critical depth is printed as 0.29 on p. 7-57 and as 0.28 on p. 7-58.
    """
    pipe = {"flow_m3_s": flow, "inside_diameter_m": bore, "slope": slope, "manning_n": 0.013}
    assert normal_depth_m(**pipe) == pytest.approx(normal, abs=0.013)
    assert critical_depth_m(flow_m3_s=flow, inside_diameter_m=bore) == pytest.approx(critical, abs=0.01)
    kind = classify(**pipe, length_m=100.0, downstream_depth_m=-math.inf)
    assert kind.slope == ("steep" if normal < critical else "mild")
    assert kind.supercritical is (normal < critical)


@pytest.mark.parametrize(
    ("flow", "length", "depth"), [(0.15, 100.0, 105.42 - 104.93), (0.10, 110.0, 108.46 - 108.11)]
)
def test_a_jump_somewhere_within_the_barrel(flow: float, length: float, depth: float) -> None:
    """HEC-22 Example 7-3, pp. 7-62 and 7-65: the structure below nearly drowns the pipe; "there would likely be a
    hydraulic jump somewhere within the barrel", and the losses are not carried upstream."""
    kind = classify(
        flow_m3_s=flow,
        inside_diameter_m=0.46,
        slope=0.03,
        manning_n=0.013,
        length_m=length,
        downstream_depth_m=depth,
    )
    assert kind.curve == "S1"
    assert kind.jump_m is not None
    assert 0 < kind.jump_m < length


@pytest.mark.parametrize(("angle", "k"), [(22.5, 0.0743), (45, 0.1485), (90, 0.297)])
def test_bends_in_a_run(angle: float, k: float) -> None:
    """M12, HEC-22 equation 7-5, p. 7-11: 0.0033 of a velocity head per degree."""
    assert curved_bend_k(deflection_deg=angle) == pytest.approx(k, abs=0.0005)


def test_a_four_inch_pipe_at_one_percent_is_steep() -> None:
    """Smooth 4 in at 1 %, 50 gpm: normal depth 0.4704, critical 0.5606 of the bore (P19, P21): supercritical."""
    kind = classify(
        flow_m3_s=50 * GPM,
        inside_diameter_m=4 * INCH,
        slope=0.01,
        manning_n=0.010,
        length_m=10.0,
        downstream_depth_m=-math.inf,
    )
    assert (kind.slope, kind.curve) == ("steep", "S2")
    assert kind.normal_depth_m is not None
    assert kind.normal_depth_m / (4 * INCH) == pytest.approx(0.4704, abs=0.0005)
    assert kind.critical_depth_m / (4 * INCH) == pytest.approx(0.5606, abs=0.0005)


def test_the_worked_job_full_well_and_cloudburst() -> None:
    """The worked job: lip 97.35, 0.15 ft of head, 72 gpm: the water stands at 97.79 in the basin, a hand estimate.

    The estimate takes 0.5 % over the 58 ft from basin to overflow; the pipe itself is 38 ft long, and losses at its
    ends were not counted. Both ways come within 0.06 ft, and well under the grate at 98.60.
    """
    line = grade_line(
        downstream_invert_m=[96.72 * FOOT],
        upstream_invert_m=[97.10 * FOOT],
        length_m=[38 * FOOT],
        inside_diameter_m=[4 * INCH],
        manning_n=[0.011],
        flow_m3_s=[72 * GPM],
        entrance_loss_k=[0.5],
        bend_loss_k=[0.0],
        tailwater_m=97.50 * FOOT,
    )
    slope = friction_slope(flow_m3_s=72 * GPM, inside_diameter_m=4 * INCH, manning_n=0.011)
    assert slope == pytest.approx(0.005, abs=0.0002)
    assert line.upstream_level_m[0] / FOOT == pytest.approx(97.79, abs=0.06)
    assert (98.60 * FOOT - line.upstream_level_m[0]) / INCH == pytest.approx(9.7, abs=0.75)


def test_the_worked_job_static_water() -> None:
    """The worked job: 32 ft at 1.25 % to a basin; static water of the well, at 97.35, stops at station 0+20."""
    water = standing_water(
        inlet_invert_m=97.20 * FOOT,
        outlet_invert_m=97.35 * FOOT,
        pipe_slope=0.0125,
        pipe_diameter_m=4 * INCH,
        pipe_length_m=32 * FOOT,
        basin_area_m2=0.1,
        floor_m=95.60 * FOOT,
    )
    assert water.wet_length_m / FOOT == pytest.approx(32 - 20, abs=0.01)
    assert water.brim_full_length_m == 0.0
