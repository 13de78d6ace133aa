"""Sediment in a well: Darcy in series, falling heads, what gathers and rots, and what an older well never does."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from roofwell.errors import InputError
from roofwell.physics import network
from roofwell.physics.soil.around_well import equivalent_radius_m, flow_around_well_m2
from roofwell.physics.well.ageing import (
    MOST_FILLED,
    Bed,
    aged_curve,
    layer_m2_s,
    settled_m3,
    through_layer_m_s,
)
from roofwell.physics.well.soakage import CREDITS, Credit, soakage_curve
from roofwell.physics.well.storage import Layer, full_volume_m3

AREA, AROUND = 4.0, 8.0
STONE = Layer(0.0, 0.5, AREA, AROUND, 0.0, 0.4)
BODY = Layer(0.5, 1.6, AREA, AROUND, 1.0, 0.4)
LAYERS = (STONE, BODY)
RATE = 5e-6


def _curve(credit: Credit, layers: tuple[Layer, ...] = LAYERS, rate: float = RATE):
    return soakage_curve(layers, rate, credit, full_depth_m=layers[-1].top_m)


def _mode(credit: Credit):
    return "none, walls by height" if credit == "sides half, no bottom" else "its own"


def test_two_layers_in_series_drain_as_a_long_saturated_column() -> None:
    """Darcy through layers in series (Freeze and Cherry 1979, equation 2.32, from memory): q = dH / sum(L/K).

    A column of soil L long under a layer, its end at no pressure: dH = h + L. The longer the soil, the nearer its flow
    comes to its own conductivity while the pressure under the layer stays positive.
    """
    head, thick, tight, soil = 1.0, 0.01, 1e-7, 5e-6
    length = 1e5
    series = (head + length) / (thick / tight + length / soil)
    found = through_layer_m_s(head_m=head, thickness_m=thick, conductivity_m_s=tight, soil_takes_m_s=soil)
    assert found == pytest.approx(series, rel=1e-4)


def test_a_tight_layer_passes_its_head_over_its_resistance() -> None:
    """By hand: 10 mm at 1e-7 m/s resists 1e5 s; 0.5 m of head drives 5e-6 m/s; at the layer's own top 1e-7 m/s."""
    given = {"thickness_m": 0.01, "conductivity_m_s": 1e-7, "soil_takes_m_s": 1.0}
    assert through_layer_m_s(head_m=0.5, **given) == pytest.approx(5e-6)
    assert through_layer_m_s(head_m=0.01, **given) == pytest.approx(1e-7)
    assert through_layer_m_s(
        head_m=0.5, thickness_m=0.0, conductivity_m_s=1e-7, soil_takes_m_s=3e-6
    ) == pytest.approx(3e-6)


def test_a_bed_over_two_kinds_of_stone_and_a_fabric_resists_by_their_sum() -> None:
    """By hand: 0.8 m³ fills 0.5 m of stone (4 m² x 0.4), 1 m² of body and 1.2 m² of voids take nothing of it.

    0.5 m / (1e-7 x 1.6 m²) = 3.125e6 s/m²; another 0.11 m³ lies 0.05 m deep on 2.2 m²: 2.2727e5; a fabric of 1e4 s on
    4 m²: 2.5e3.
    """
    assert 1 / layer_m2_s(LAYERS, 0.8, 1e-7, 0.0) == pytest.approx(3.125e6)
    assert 1 / layer_m2_s(LAYERS, 0.91, 1e-7, 1e4) == pytest.approx(3.125e6 + 2.2727e5 + 2.5e3, rel=1e-5)
    assert layer_m2_s(LAYERS, 0.0, 1e-7, 1e4) == math.inf


def test_a_well_over_a_tight_bed_falls_as_in_a_falling_head_permeameter() -> None:
    """t = L/K ln(h1/h2) for a standpipe as wide as the sample (falling-head test of the soil textbooks, ASTM D5856 form)."""
    layer = (Layer(0.0, 1.0, AREA, AROUND, 0.0, 0.4),)
    silt, k = 0.032, 1e-7  # 0.032 m³ in 1.6 m² of voids: 20 mm
    aged = aged_curve(
        _curve("bottom", layer, rate=1.0),
        layers=layer,
        bed=Bed(silt, silt),
        conductivity_m_s=k,
        through_floor="its own",
    )
    store = network.Store(
        aged.volume_m3, aged.above_m3_s, aged.below_m3_s, empty_m3=0.4 * AREA * (0.1 - 0.02)
    )
    assert aged.sealed_m == pytest.approx(0.02)
    # through the open share of the stone, onto the same open share of the store: area over area is one
    expected = 0.02 / k * math.log(1.0 / 0.1)
    assert network.drain_time_s(store, float(aged.volume_m3[-1])) == pytest.approx(expected, rel=1e-9)


def test_what_gathers_and_rots_is_the_solution_of_its_equation() -> None:
    """Olson 1963 (from memory): dX/dt = L - k X, the litter changing when the basin is full; solved by scipy."""
    first, later, change, decay, years = 0.02, 0.15, 3.2, 0.5, 11.0

    def rate(t: float, x):
        return (first if t < change else later) - decay * x

    solved = solve_ivp(rate, (0.0, change), [0.0], rtol=1e-10, atol=1e-14)
    solved = solve_ivp(rate, (change, years), solved.y[:, -1], rtol=1e-10, atol=1e-14)
    found = settled_m3(
        yearly_m3=first, later_m3=later, changes_after_years=change, years=years, decay_a_year=decay
    )
    assert found == pytest.approx(float(solved.y[0, -1]), rel=1e-8)
    forever = settled_m3(
        yearly_m3=first, later_m3=first, changes_after_years=math.inf, years=500.0, decay_a_year=decay
    )
    assert forever == pytest.approx(first / decay)
    grains = settled_m3(yearly_m3=0.002, later_m3=0.01, changes_after_years=4.0, years=10.0)
    assert grains == pytest.approx(4 * 0.002 + 6 * 0.01)  # nothing is lost: what came lies there


@pytest.mark.parametrize("credit", CREDITS)
def test_room_and_bed_are_the_whole_well(credit: Credit) -> None:
    full = full_volume_m3(LAYERS)
    for room, silt in ((0.2, 0.05), (0.9, 0.9), (100.0, 100.0)):
        aged = aged_curve(
            _curve(credit),
            layers=LAYERS,
            bed=Bed(room, silt),
            conductivity_m_s=1e-7,
            through_floor=_mode(credit),
        )
        assert aged.lost_m3 + float(aged.volume_m3[-1]) == pytest.approx(full, rel=1e-12)
        assert aged.lost_m3 == pytest.approx(min(room, MOST_FILLED * full))
        assert float(aged.depth_m[-1]) == pytest.approx(1.6)


@pytest.mark.parametrize("credit", CREDITS)
def test_without_a_bed_it_is_the_new_well(credit: Credit) -> None:
    volume, above, below = _curve(credit)
    aged = aged_curve(
        (volume, above, below),
        layers=LAYERS,
        bed=Bed(0.0, 0.0),
        conductivity_m_s=1e-7,
        through_floor=_mode(credit),
    )
    assert np.array_equal(aged.volume_m3, volume)
    assert aged.above_m3_s == pytest.approx(above) and aged.below_m3_s == pytest.approx(below)


def test_by_the_bottom_alone_a_sealed_floor_soaks_what_the_bed_passes() -> None:
    """By hand: 0.016 m³ lies 10 mm deep on 1.6 m² of voids; G = 1e-7 x 1.6 / 0.01 = 1.6e-5 m²/s; the new floor takes
    4 m² x 5e-6 = 2e-5 m³/s, which the bed passes from 1.25 m of water on."""
    aged = aged_curve(
        _curve("bottom"),
        layers=LAYERS,
        bed=Bed(0.016, 0.016),
        conductivity_m_s=1e-7,
        through_floor="its own",
    )
    at = np.interp([0.5, 1.0, 1.25, 1.6], aged.depth_m, aged.below_m3_s)
    assert at == pytest.approx([0.8e-5, 1.6e-5, 2.0e-5, 2.0e-5])
    assert float(np.min(np.abs(aged.depth_m - 1.25))) < 1e-9  # the bend is a node


def test_a_huge_load_seals_the_floor_and_leaves_the_walls_above_it() -> None:
    """By hand: with 0.91 m³ the bed ends 0.55 m up; of the walls 1.05 m are left, 8 m round, at 5e-6 m/s: 4.2e-5 m³/s."""
    aged = aged_curve(
        _curve("bottom and sides"),
        layers=LAYERS,
        bed=Bed(0.91, 0.91),
        conductivity_m_s=1e-12,
        through_floor="its own",
    )
    assert aged.sealed_m == pytest.approx(0.55)
    assert float(aged.below_m3_s[-1]) == pytest.approx(4.2e-5, rel=1e-6)
    assert float(aged.above_m3_s[0]) == pytest.approx(0.0, abs=1e-11)


def test_grit_and_leaves_take_room_and_pass_water() -> None:
    """The walls beside them stay open: at the same level the well soaks what it did."""
    new = _curve("bottom and sides")
    aged = aged_curve(new, layers=LAYERS, bed=Bed(0.5, 0.0), conductivity_m_s=1e-7, through_floor="its own")
    assert float(aged.below_m3_s[-1]) == pytest.approx(float(new[2][-1]))
    assert aged.sealed_m == 0.0


def _to_all_sides():
    radius = equivalent_radius_m(floor_m2=AREA)

    def area(depths):
        return flow_around_well_m2(depths_m=depths, radius_m=radius, alpha_star_per_m=12.0)

    return soakage_curve(LAYERS, RATE, area, full_depth_m=1.6, tolerance=1e-3)


@pytest.mark.parametrize("credit", [*CREDITS, "to all sides"])
def test_an_older_well_never_soaks_more_at_any_level(credit) -> None:
    new = _to_all_sides() if credit == "to all sides" else _curve(credit)
    mode = "its share" if credit == "to all sides" else _mode(credit)
    beds = [Bed(0.0, 0.0), Bed(0.01, 0.004), Bed(0.1, 0.02), Bed(0.3, 0.1), Bed(1.2, 0.9)]
    curves = [
        aged_curve(new, layers=LAYERS, bed=bed, conductivity_m_s=1e-7, through_floor=mode, fabric_s=100.0)
        for bed in beds
    ]
    for young, old in pairwise(curves):
        levels = np.linspace(float(old.depth_m[0]), 1.6, 200)
        before = np.interp(levels, young.depth_m, young.below_m3_s)
        after = np.interp(levels, old.depth_m, old.below_m3_s)
        # a curve to all sides follows the formula to a thousandth of the full well's soakage
        assert (after <= before + 1e-3 * float(new[2][-1])).all()
        assert (np.diff(old.volume_m3) > 0).all() and (old.above_m3_s >= 0).all()


def test_a_well_over_a_bed_keeps_its_balance() -> None:
    aged = aged_curve(
        _curve("bottom and sides"),
        layers=LAYERS,
        bed=Bed(0.3, 0.02),
        conductivity_m_s=1e-7,
        through_floor="its own",
    )
    store = network.Store(aged.volume_m3, aged.above_m3_s, aged.below_m3_s, empty_m3=0.001)
    generator = np.random.default_rng(3)
    inflow = np.where(generator.random((5000, 1)) < 0.05, generator.random((5000, 1)) * 1e-3, 0.0)
    (trace,) = network.simulate([store], inflow, step_s=3600.0)
    assert trace.spilled_m3.sum() > 0
    assert network.balance_error(trace) < 1e-9


@pytest.mark.parametrize(
    "bed, conductivity",
    [(Bed(0.1, 0.2), 1e-7), (Bed(math.inf, 0.0), 1e-7), (Bed(0.1, -0.1), 1e-7), (Bed(0.1, 0.1), 0.0)],
)
def test_beds_that_cannot_be(bed: Bed, conductivity: float) -> None:
    with pytest.raises(InputError) as caught:
        aged_curve(
            _curve("bottom"), layers=LAYERS, bed=bed, conductivity_m_s=conductivity, through_floor="its own"
        )
    assert caught.value.code == "ageing-number"


def test_years_that_cannot_be() -> None:
    with pytest.raises(InputError) as caught:
        settled_m3(yearly_m3=-1.0, later_m3=0.0, changes_after_years=1.0, years=1.0)
    assert caught.value.code == "ageing-number"
