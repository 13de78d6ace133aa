"""What comes off a roof, what a basin keeps, what its jet lifts: against print, and against the same thing done another way.

Expected figures are typed from the materials sheet (sections 0 and 1), whose sources stand beside each.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, optimize

from roofwell import tables
from roofwell.checks.debris_words import sump_rules
from roofwell.errors import InputError
from roofwell.physics.basin import jet
from roofwell.physics.basin.capture import (
    RainClasses,
    kept_share,
    litter_kg_year,
    months_to_fill,
    rain_classes,
    shares_of_load,
    sizes_between,
    washed_off_kg_year,
)
from roofwell.physics.basin.settling import scour_velocity_m_s, tank_removal
from roofwell.system.scheme import Basin, Run, Scheme
from roofwell.tables import debris as debris_tables

FOOT, INCH = 0.3048, 0.0254
GALLON_M3 = 0.003785411784
ROOF_M2 = 1000 * FOOT**2
TWO_FOOT_ROUND_M2 = math.pi * (24 * INCH) ** 2 / 4


@pytest.mark.parametrize(
    ("milligrams_a_liter", "kg_year", "kg_ha_year"),
    [(5, 0.441, 47.5), (10, 0.883, 95), (20, 1.765, 190), (50, 4.413, 475)],
)
def test_washed_off(milligrams_a_liter: float, kg_year: float, kg_ha_year: float) -> None:
    """S26 and materials sheet 1.4: 1000 square feet, 1 m of rain of which 95 % runs off."""
    found = washed_off_kg_year(
        roof_area_m2=ROOF_M2, runoff_m_year=0.95, concentration_kg_m3=milligrams_a_liter / 1000
    )
    assert found == pytest.approx(kg_year, rel=0.002)
    assert found / ROOF_M2 * 1e4 == pytest.approx(kg_ha_year, rel=0.003)


def test_a_year_of_fines_in_a_round_basin() -> None:
    """S26 and materials sheet 1.4: 1.47 L at 1.2 kg/L, 0.20 in over a 24 in round basin."""
    liters = washed_off_kg_year(roof_area_m2=ROOF_M2, runoff_m_year=0.95, concentration_kg_m3=0.020) / 1.2
    assert liters == pytest.approx(1.47, rel=0.002)
    assert liters / 1000 / TWO_FOOT_ROUND_M2 / INCH == pytest.approx(0.20, abs=0.005)


def test_a_year_of_leaves_in_a_round_basin() -> None:
    """Materials sheet 1.4: 20 m² of canopy, 300 g/m², half in the pipe: 3 kg dry, 33 L, 4.5 in; our table."""
    dry = litter_kg_year(canopy_m2=20.0, fall_kg_m2_year=0.300, reaches=0.5)
    assert dry == pytest.approx(3.0)
    leaves = next(kind for kind in debris_tables.kinds() if kind.key == "leaves")
    room = dry / leaves.density_kg_m3[1]
    assert room * 1000 == pytest.approx(33, abs=0.5)
    assert room / TWO_FOOT_ROUND_M2 / INCH == pytest.approx(4.5, abs=0.05)


def test_litterfall_and_roof_water_hold_the_published_figures() -> None:
    """Litterfall 3 to 11 t/ha a year (review of 2014); roof solids below 20 mg/L (Minnesota), mostly below 63 μm."""
    low, _, high = debris_tables.figure("fall")
    assert (low, high) == (0.3, 1.1)  # 1 t/ha is 0.1 kg/m²
    in_water = [load for load in debris_tables.loads() if load.in_water]
    assert sum(load.amount[1] for load in in_water) == pytest.approx(0.020)
    silt = next(load for load in in_water if load.kind == "silt")
    assert silt.amount[1] / 0.020 > 0.5
    sizes = {kind.key: (kind.size_low_m, kind.size_high_m) for kind in debris_tables.kinds()}
    assert sizes["silt"][1] == pytest.approx(63e-6)
    assert sizes["granules"] == pytest.approx((0.425e-3, 1.7e-3))  # Canadian bulletin 26


# NURP velocities, ft/h, five equal shares; 24 in round basin, 1000 square feet.
NURP = np.array([0.03, 0.30, 1.5, 7.0, 65.0]) * FOOT / 3600


@pytest.mark.parametrize(
    ("diameter_in", "one", "three"), [(12, 5.5, 5.9), (18, 9.9, 11.0), (24, 14.0, 15.9), (36, 20.7, 23.6)]
)
def test_capture_of_round_basins(diameter_in: float, one: float, three: float) -> None:
    """Materials sheet 1.5 at 2 in/h: one and three stirred tanks, in percent."""
    area = math.pi * (diameter_in * INCH) ** 2 / 4
    flow = np.array([0.04630 * FOOT**3])
    for tanks, percent in ((1.0, one), (3.0, three)):
        kept = kept_share(velocity_m_s=NURP, flow_m3_s=flow, plan_area_m2=area, tanks=tanks)
        assert 100 * kept.mean() == pytest.approx(percent, abs=0.06)


def test_capture_at_many_rains_at_once() -> None:
    """Materials sheet 1.5: the same 24 in basin at 0.1, 0.5, 1 and 4 in/h, one tank: 43.2, 26.0, 19.7, 9.2 %."""
    flow = 0.04630 * FOOT**3 / 2.0 * np.array([0.1, 0.5, 1.0, 4.0])
    kept = kept_share(velocity_m_s=NURP, flow_m3_s=flow, plan_area_m2=TWO_FOOT_ROUND_M2, tanks=1.0)
    assert 100 * kept.mean(axis=0) == pytest.approx([43.2, 26.0, 19.7, 9.2], abs=0.06)


@pytest.mark.parametrize(
    ("tanks", "share"), [(1, 0.5), (2, 0.5556), (3, 0.5781), (5, 0.5981), (math.inf, 0.6321)]
)
def test_stirred_tanks(tanks: float, share: float) -> None:
    """S15: fall velocity equal to the overflow rate."""
    kept = kept_share(
        velocity_m_s=np.array([0.01]), flow_m3_s=np.array([0.01]), plan_area_m2=1.0, tanks=tanks
    )
    assert kept[0, 0] == pytest.approx(share, abs=1e-4)


@pytest.mark.parametrize("comes", ["with the first water", "with the water", "with the heaviest water"])
def test_classes_of_rain_against_every_step(comes: str) -> None:
    """30 years of invented hourly rain: the classes against a plain loop over every hour, one grain after another."""
    rng = np.random.default_rng(7)
    depth = np.where(rng.random(30 * 8766) < 0.06, rng.gamma(0.5, 0.003, 30 * 8766), 0.0)
    area, roof = 0.2, 120.0
    grains = np.array([1e-4, 3e-3, 2e-2, 0.1])
    found = rain_classes(depth, step_s=3600.0, years=30.0)
    kept = kept_share(velocity_m_s=grains, flow_m3_s=found.rate_m_s * roof, plan_area_m2=area, tanks=1.0)
    by_classes = kept @ shares_of_load(found, comes)  # type: ignore[arg-type]
    power = {"with the first water": 0, "with the water": 1, "with the heaviest water": 2}[comes]
    total, by_hours = 0.0, np.zeros(len(grains))
    for fallen in depth[depth > 0]:
        rate = fallen / 3600.0
        weight = rate**power
        total += weight
        for j, grain in enumerate(grains):
            by_hours[j] += weight * tank_removal(grain * area / (rate * roof), 1.0)
    assert by_classes == pytest.approx(by_hours / total, rel=1e-3)
    assert float(np.sum(found.depth_m)) == pytest.approx(float(depth.sum()), rel=1e-12)
    assert found.depth_m_year == pytest.approx(float(depth.sum()) / 30.0)
    hardest = np.sort(depth)[-30] / 3600.0
    assert found.yearly_m_s == pytest.approx(hardest)


def test_a_jet_keeps_its_momentum() -> None:
    """Albertson and others (1950): with 6.2 and 0.081 the bell profile carries the mouth's momentum, to 1 %, anywhere."""
    velocity, diameter = 0.8, 0.1
    for distance in (0.7, 1.0, 3.0):
        center = jet.round_jet_m_s(velocity_m_s=velocity, diameter_m=diameter, distance_m=distance)

        def ring(r: float, center: float = center, distance: float = distance) -> float:
            return (center * math.exp(-(r**2) / (2 * (0.081 * distance) ** 2))) ** 2 * 2 * math.pi * r

        carried, _ = integrate.quad(ring, 0.0, 2.0 * distance)
        assert carried == pytest.approx(velocity**2 * math.pi * diameter**2 / 4, rel=0.01)


@pytest.mark.parametrize(("diameters", "share"), [(3.0, 1.0), (6.2, 1.0), (12.4, 0.5), (62.0, 0.1)])
def test_round_jet(diameters: float, share: float) -> None:
    """Albertson and others (1950, from memory): a core of 6.2 diameters, then as the inverse of the distance."""
    found = jet.round_jet_m_s(velocity_m_s=1.0, diameter_m=0.05, distance_m=0.05 * diameters)
    assert found == pytest.approx(share)


def _deposit(**changes: float) -> float:
    given = {"fall_m": -0.3, "depth_m": 0.25, "across_m": 0.6, "pipe_diameter_m": 4 * INCH} | changes
    flow = 20.8 * GALLON_M3 / 60
    return float(jet.at_deposit_m_s(flow_m3_s=np.array([flow]), velocity_m_s=np.array([0.0]), **given)[0])


def test_jet_of_a_drowned_inlet_at_the_deposit() -> None:
    """Materials sheet 1.6: 20.8 gpm through a full 4 in pipe is 0.16 m/s; it lifts organics and 0.1 mm sand, not 0.2 mm."""
    found = _deposit()
    assert found == pytest.approx(0.16, abs=0.005)
    organics = scour_velocity_m_s(
        grain_m=1e-4, submerged_specific_gravity=0.25, cohesion_k=0.05, friction_factor=0.025
    )
    sand = scour_velocity_m_s(
        grain_m=1e-4, submerged_specific_gravity=1.65, cohesion_k=0.05, friction_factor=0.025
    )
    coarser = scour_velocity_m_s(
        grain_m=2e-4, submerged_specific_gravity=1.65, cohesion_k=0.06, friction_factor=0.02
    )
    assert organics < found and sand == pytest.approx(found, rel=0.03) and found < coarser


@pytest.mark.xfail(strict=True, reason="the sheet prints 0.54; 0.04630 cfs over the area of 4.00 in is 0.531")
def test_velocity_of_the_jet_as_printed_in_feet() -> None:
    """Materials sheet 1.6 gives 0.54 ft/s beside 0.16 m/s; the two agree only for a pipe a little under 4 in."""
    assert _deposit() / FOOT == pytest.approx(0.54, abs=0.005)


def test_side_of_a_level_jet_against_a_search() -> None:
    """Fastest place over a deposit under a level jet: the formula against a search along the whole basin."""
    flow, diameter, axis, across = 0.003, 0.1, 0.06, 1.5
    entry = flow / (math.pi * diameter**2 / 4)

    def slower(x: float) -> float:
        center = entry * min(1.0, 6.2 * diameter / x)
        return -center * math.exp(-(axis**2) / (2 * (0.081 * x) ** 2))

    best = optimize.minimize_scalar(slower, bounds=(0.2, across), method="bounded", options={"xatol": 1e-9})
    depth = axis + 0.4 - 0.5 * diameter
    found = jet.at_deposit_m_s(
        flow_m3_s=np.array([flow]),
        velocity_m_s=np.array([0.0]),
        pipe_diameter_m=diameter,
        fall_m=-0.4,
        depth_m=depth,
        across_m=across,
    )
    assert found[0] == pytest.approx(-best.fun, rel=1e-6)


def test_falling_water_dives_with_the_speed_of_its_fall() -> None:
    """A fall of 0.1 m adds 1.40 m/s (sqrt(2 g h)); near the surface the jet still has all of it."""
    found = _deposit(fall_m=0.1, depth_m=0.001)
    level = 20.8 * GALLON_M3 / 60 / (math.pi * (4 * INCH) ** 2 / 4)
    assert found == pytest.approx(math.hypot(1.400, level), rel=0.001)
    assert _deposit(fall_m=0.1, depth_m=0.6) < 0.5 * found  # a deeper sump is calmer
    assert _deposit(fall_m=0.0, depth_m=0.6) < _deposit(fall_m=0.1, depth_m=0.6)


def test_nothing_settles_where_the_jet_is_faster() -> None:
    """Grains that the jet lifts are not kept, the others as without a jet."""
    kept = kept_share(
        velocity_m_s=np.array([0.01, 0.1]),
        flow_m3_s=np.array([0.001]),
        plan_area_m2=0.2,
        tanks=1.0,
        jet_m_s=np.array([0.3]),
        lifts_m_s=np.array([0.2, 0.4]),
    )
    assert kept[:, 0] == pytest.approx([0.0, tank_removal(20.0, 1.0)])


def _basin(**changes: float) -> Basin:
    given = {"inlet_invert_m": 10.3, "outlet_invert_m": 10.0, "floor_m": 9.6, "width_m": 0.45} | changes
    return Basin(
        id="B1", at=(0, 0), ground_m=10.8, shape="round", plan_area_m2=0.16, grate_m=10.8, hood=False, screen=False,
        weep_holes=0, weep_hole_diameter_m=0.0, **given,
    )  # fmt: skip


def test_sump_rules_of_a_four_inch_outlet() -> None:
    """S24: basin 16 in, sump 16 in, inlet 6 in over the top of the outlet, 26 in in all; S25: 48 in for a street basin."""
    run = Run(
        "P1",
        "B1",
        "W1",
        (),
        3.0,
        "pvc",
        4 * INCH,
        4 * INCH,
        4.2 * INCH,
        0.01,
        10.0,
        9.9,
        (),
        (),
        (),
        (),
        (),
        10.0,
    )
    scheme = Scheme((), (), (_basin(),), (), (), (), (run,), 0.0, ())
    wants = [rule.wants for rule in sump_rules(scheme, "us")]
    assert wants == ["16 in", "16 in", "6 in", "4' 0\""]
    four, over = tables.limit("sump-diameters").value_si, tables.limit("inlet-over-outlet-top").value_si
    assert (four + 1 + over) * 4 == 26


def test_clean_out_rules() -> None:
    """M01 and Rhode Island: within 6 in of the outlet (Washington); at half the sump (Rhode Island)."""
    assert tables.limit("clean-out-share").value_si == 0.5
    assert tables.limit("outlet-over-deposit").value_si == pytest.approx(6 * INCH)


def test_months() -> None:
    """Half a sump of 24 L at 33 L a year: nine months, give or take; nothing coming: never."""
    assert months_to_fill(volume_m3=0.024, rate_m3_year=0.032) == pytest.approx(9.0)
    assert months_to_fill(volume_m3=0.024, rate_m3_year=0.0) == math.inf


def test_sizes_stand_for_equal_shares() -> None:
    """Middle of each equal part of the logarithm: a decade in two parts has its middles at the 1st and 3rd quarter."""
    assert sizes_between(1e-4, 1e-3, 2) == pytest.approx([10**-3.75, 10**-3.25])


@pytest.mark.parametrize(
    "call",
    [
        lambda: rain_classes(np.zeros(5), step_s=3600, years=1),
        lambda: rain_classes(np.ones(5), step_s=0, years=1),
        lambda: kept_share(velocity_m_s=np.ones(1), flow_m3_s=np.ones(1), plan_area_m2=0, tanks=1),
        lambda: kept_share(velocity_m_s=np.ones(1), flow_m3_s=-np.ones(1), plan_area_m2=1, tanks=1),
        lambda: sizes_between(2, 1, 3),
        lambda: washed_off_kg_year(roof_area_m2=-1, runoff_m_year=1, concentration_kg_m3=1),
        lambda: litter_kg_year(canopy_m2=1, fall_kg_m2_year=1, reaches=1.1),
        lambda: months_to_fill(volume_m3=-1, rate_m3_year=1),
        lambda: jet.round_jet_m_s(velocity_m_s=1, diameter_m=0, distance_m=1),
        lambda: _deposit(depth_m=-0.1),
        lambda: _deposit(across_m=0.0),
    ],
)
def test_numbers_that_cannot_be_are_refused(call) -> None:  # type: ignore[no-untyped-def]
    """Every refusal carries the room's code."""
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.code == "basin-number"


def test_no_flow_keeps_all() -> None:
    """Still water lets nothing past."""
    kept = kept_share(velocity_m_s=np.array([0.001]), flow_m3_s=np.array([0.0]), plan_area_m2=0.2, tanks=1.0)
    assert kept[0, 0] == 1.0
    still = RainClasses(np.array([1e-6]), np.array([3600.0]), np.array([0.0036]), 1.0, 1e-6)
    assert shares_of_load(still, "with the water") == pytest.approx([1.0])
