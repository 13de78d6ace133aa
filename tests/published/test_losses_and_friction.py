"""Friction and fittings of full pipes: Manning, Darcy, loss coefficients, against print."""

import pytest

from roofwell import tables
from roofwell.physics.pipe.darcy import (
    colebrook_friction_factor,
    darcy_friction_slope,
    friction_factor_of_manning_n,
    manning_n_of_friction_factor,
)
from roofwell.physics.pipe.flow import friction_slope
from roofwell.physics.pipe.losses import (
    curved_bend_k,
    friction_k_per_m,
    full_pipe_loss_m,
    minor_loss_m,
    velocity_head_m,
)
from roofwell.physics.pipe.profile import grade_line

FOOT = 0.3048
INCH = 0.0254
GPM = 231 * INCH**3 / 60
FLOW = 100 * GPM
BORE = 4 * INCH
VELOCITY = 2.5531 * FOOT


def test_friction_slope_of_a_full_pipe() -> None:
    """M1: 100 gpm in 4.000 in, n = 0.010: V 2.5531 ft/s, S 0.0081098, V²/2g 0.10130 ft."""
    slope = friction_slope(flow_m3_s=FLOW, inside_diameter_m=BORE, manning_n=0.010)
    assert slope == pytest.approx(0.0081098, rel=2e-4)
    assert velocity_head_m(velocity_m_s=VELOCITY) / FOOT == pytest.approx(0.10130, abs=1e-5)


def test_grade_line_of_a_drowned_pipe() -> None:
    """M2: 60 ft, K 0.5 + 0.3 + 0.3 + 1.0, from 96.50 ft: 0.4866 + 0.2127, 97.199 ft."""
    line = grade_line(
        downstream_invert_m=[90.0 * FOOT],
        upstream_invert_m=[90.6 * FOOT],
        length_m=[60 * FOOT],
        inside_diameter_m=[BORE],
        manning_n=[0.010],
        flow_m3_s=[FLOW],
        entrance_loss_k=[0.5],
        bend_loss_k=[0.6],
        tailwater_m=96.50 * FOOT,
    )
    assert line.upstream_level_m[0] / FOOT == pytest.approx(97.199, abs=0.001)
    assert line.velocity_m_s[0] == pytest.approx(VELOCITY, abs=1e-4)
    assert line.surcharged[0]
    assert minor_loss_m(k=2.1, velocity_m_s=VELOCITY) / FOOT == pytest.approx(0.2127, abs=0.0001)
    whole = full_pipe_loss_m(
        flow_m3_s=FLOW, length_m=60 * FOOT, inside_diameter_m=BORE, manning_n=0.010, ends_k=2.1
    )
    assert whole / FOOT == pytest.approx(0.4866 + 0.2127, abs=0.001)


@pytest.mark.parametrize(
    ("roughness_ft", "factor", "loss_ft"),
    [(5e-6, 0.019474, 0.3551), (5e-4, 0.024456, 0.4459), (1e-3, 0.027981, 0.5102)],
)
def test_darcy_and_colebrook(roughness_ft: float, factor: float, loss_ft: float) -> None:
    """M3: the same pipe at 60 °F (Re 69 929), two solvers agreed."""
    found = colebrook_friction_factor(reynolds=69_929, relative_roughness=roughness_ft * FOOT / BORE)
    assert found == pytest.approx(factor, rel=0.005)
    slope = darcy_friction_slope(
        flow_m3_s=FLOW,
        inside_diameter_m=BORE,
        roughness_m=roughness_ft * FOOT,
        viscosity_m2_s=1.217e-5 * FOOT**2,
    )
    assert slope * 60 == pytest.approx(loss_ft, rel=0.005)


def test_manning_takes_more_head_than_a_clean_wall() -> None:
    """Conveyance section 6: n = 0.010 in a 4 in line is about 37 % above Darcy with a clean smooth wall."""
    clean = darcy_friction_slope(
        flow_m3_s=FLOW, inside_diameter_m=BORE, roughness_m=5e-6 * FOOT, viscosity_m2_s=1.217e-5 * FOOT**2
    )
    assert friction_slope(flow_m3_s=FLOW, inside_diameter_m=BORE, manning_n=0.010) / clean == pytest.approx(
        1.37, abs=0.005
    )


def test_friction_factor_of_a_roughness() -> None:
    """M5, head-loss notes: f = 124.5 n²/D^(1/3); n = 0.010 and D = 0.1 m give 0.02682."""
    found = friction_factor_of_manning_n(manning_n=0.010, inside_diameter_m=0.1)
    assert found == pytest.approx(0.02682, rel=0.001)


@pytest.mark.parametrize(
    ("factor", "manning_n"), [(0.019474, 0.00854), (0.024456, 0.00957), (0.027981, 0.01024)]
)
def test_roughness_of_a_friction_factor(factor: float, manning_n: float) -> None:
    """M6: the n that the friction factors of M3 mean."""
    found = manning_n_of_friction_factor(friction_factor=factor, inside_diameter_m=BORE)
    assert found == pytest.approx(manning_n, abs=1e-5)


def test_soil_conservation_form_of_friction() -> None:
    """M7, SCS pipe formula: n = 0.025, 18 in gives Kc = 0.0674 per foot."""
    per_foot = friction_k_per_m(inside_diameter_m=18 * INCH, manning_n=0.025) * FOOT
    assert per_foot == pytest.approx(0.0674, abs=1e-4)


@pytest.mark.parametrize(
    ("entrance", "k"),
    [
        ("square-edge headwall", 0.5),
        ("socket end", 0.2),
        ("thin wall projecting", 0.9),
        ("mitered to slope", 0.7),
        ("rounded or beveled", 0.2),
    ],
)
def test_entrance_losses_are_as_printed(entrance: str, k: float) -> None:
    """M8, FHWA HDS-5 Table 12: the table says what was read."""
    (row,) = (r for r in tables.rows("entrance_loss") if r["source"] == "hds-5" and r["entrance"] == entrance)
    assert float(row["k"]) == k


@pytest.mark.parametrize(("angle_deg", "k"), [(22.5, 0.0743), (45, 0.1485), (90, 0.297)])
def test_bend_in_a_curved_drain(angle_deg: float, k: float) -> None:
    """M12, HEC-22 third edition (from memory): 0.0033 per degree, below every short fitting of the table."""
    assert curved_bend_k(deflection_deg=angle_deg) == pytest.approx(k, abs=0.0005)
    (short,) = (
        float(r["low"])
        for r in tables.rows("bend_loss")
        if r["fitting"] == "short elbow" and float(r["angle_deg"]) == angle_deg
    )
    assert k < short
