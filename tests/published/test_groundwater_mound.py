"""The mound on the groundwater against tables, a state manual's runs, direct quadrature and a numerical solution.

S* table, run figures and the classroom basin: M1 to M4 of our reference sheet. The manual's inputs were seen in the
Minnesota Stormwater Manual, which uses the method of USGS SIR 2010-5102; of its answers only the beginning of one
("about 1.") was seen, the figures were worked out for the sheet, twice, and not by this code. The three-dimensional
mound has no printed table: a finite-volume solution stands against it, made here with SciPy.
"""

from __future__ import annotations

import functools
import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate, linalg, special

from roofwell.physics.well.exponentials import fit, track
from roofwell.physics.well.footprint import footprint, level_flow_s, superposed, three_dimensional_s
from roofwell.physics.well.mound import (
    Aquifer,
    disk_response_s,
    hantush_rise_m,
    hantush_squares_m2,
    s_star,
)

FT, DAY = 0.3048, 86400.0
FloatArray = NDArray[np.float64]

ARGUMENTS = (0.02, 0.1, 0.2, 0.5, 1.0, 2.0)
S_STAR = (  # reference sheet, section 6.1, four digits
    (0.0041, 0.0146, 0.0229, 0.0360, 0.0428, 0.0443),
    (0.0146, 0.0607, 0.1007, 0.1650, 0.1989, 0.2063),
    (0.0229, 0.1007, 0.1734, 0.2962, 0.3625, 0.3772),
    (0.0360, 0.1650, 0.2962, 0.5420, 0.6865, 0.7197),
    (0.0428, 0.1989, 0.3625, 0.6865, 0.8923, 0.9425),
    (0.0443, 0.2063, 0.3772, 0.7197, 0.9425, 0.9985),
)


@pytest.mark.parametrize("i", range(6))
@pytest.mark.parametrize("j", range(6))
def test_s_star_table(i: int, j: int) -> None:
    assert float(s_star(ARGUMENTS[i], ARGUMENTS[j])) == pytest.approx(S_STAR[i][j], abs=0.6e-4)


@pytest.mark.parametrize("pair", [(1e-4, 1e-4), (0.003, 0.7), (0.3, 0.05), (1.5, 0.9), (6.0, 4.0)])
def test_s_star_against_direct_quadrature(pair: tuple[float, float]) -> None:
    a, b = pair

    def inner(u: float) -> float:
        return float(special.erf(a / math.sqrt(u)) * special.erf(b / math.sqrt(u)))

    cuts = sorted({min(1.0, c) for c in (a * a, b * b, 100 * a * a, 1e-6)} | {0.0, 1.0})
    parts = [integrate.quad(inner, low, high, epsabs=1e-13, limit=400)[0] for low, high in pairwise(cuts)]
    assert float(s_star(a, b)) == pytest.approx(sum(parts), abs=1e-9)


RUNS = (  # recharge ft/d, half length, half width, thickness at rest, ft; rise iterated and with b = hi, ft
    (1.0, 30.0, 30.0, 10.0, 1.547, 1.515),
    (1.0, 15.0, 15.0, 10.0, 0.572, 0.568),
    (1.5, 30.0, 30.0, 10.0, 2.268, 2.202),
    (1.0, 18.15, 50.0, 10.0, 1.435, 1.405),
    (1.0, 30.0, 30.0, 5.0, 2.260, 2.122),
)


@pytest.mark.parametrize("run", RUNS)
def test_state_manual_runs(run: tuple[float, ...]) -> None:
    """K 55 ft/d, specific yield 0.26, two days."""
    w, length, width, hi, iterated, first = run
    sand = Aquifer(hi * FT, 0.26, 55 * FT / DAY, 55 * FT / DAY)
    basin = {"recharge_m_s": w * FT / DAY, "half_length_m": length * FT, "half_width_m": width * FT}
    rise = hantush_rise_m(**basin, aquifer=sand, time_s=2 * DAY)[0]
    assert rise / FT == pytest.approx(iterated, rel=0.005)
    squares = hantush_squares_m2(**basin, aquifer=sand, time_s=2 * DAY)[0]
    assert (math.sqrt((hi * FT) ** 2 + squares) - hi * FT) / FT == pytest.approx(first, rel=0.005)


def test_classroom_basin() -> None:
    """50 x 100 m, w 0.17 m/d, T 0.034 m²/min, Sy 0.12, hi 10 m: M4, problem seen, answer worked out for the sheet."""
    ground = Aquifer(10.0, 0.12, 0.034 / 60 / 10.0, 0.034 / 60 / 10.0)
    basin = {"recharge_m_s": 0.17 / DAY, "half_length_m": 50.0, "half_width_m": 25.0, "aquifer": ground}
    assert hantush_rise_m(**basin, time_s=15 * DAY)[0] == pytest.approx(3.733, rel=0.005)
    z = hantush_squares_m2(**basin, time_s=np.array([15, 21, 6]) * DAY)
    assert z[0] == pytest.approx(84.06, rel=0.005)
    assert math.sqrt(100 + z[0]) - 10 == pytest.approx(3.567, rel=0.005)
    assert z[0] / 20 == pytest.approx(4.203, rel=0.005)
    after = z[1] - z[2]  # six days after it stopped
    assert math.sqrt(100 + after) - 10 == pytest.approx(1.516, rel=0.005)
    assert after / 20 == pytest.approx(1.631, rel=0.005)


def test_off_center_holds_all_the_water() -> None:
    """What went in stands in the mound: the integral of (h² − hᵢ²)/2hᵢ times the specific yield is w times area times t."""
    ground = Aquifer(10.0, 0.2, 1e-4, 1e-4)
    x = np.arange(2.0, 61.0, 4.0)  # middles of squares of 4 m, one quarter of the plan
    total = 0.0
    for a in x:
        for b in x:
            total += (
                hantush_squares_m2(
                    recharge_m_s=1e-6,
                    half_length_m=6.0,
                    half_width_m=3.0,
                    aquifer=ground,
                    time_s=DAY / 4,
                    x_m=a,
                    y_m=b,
                )[0]
                / 20.0
            )
    assert 4 * total * 16.0 * 0.2 == pytest.approx(1e-6 * 72.0 * DAY / 4, rel=0.002)


# --- three-dimensional -------------------------------------------------------------------------------------


TIMES = np.array([1 / 24, 0.25, 1.0, 5.0, 30.0]) * DAY


@functools.cache
def numerical(ground: Aquifer, radius_m: float) -> tuple[FloatArray, FloatArray]:
    """Finite volumes on rings and layers; the water table carries the storage, the rest follows at once.

    Everything but the water table is eliminated, and the linear equations left for it are solved by their
    eigenvectors, so that no error of time stepping is in it.
    """
    fine = np.linspace(0.0, 2.0 * radius_m, 41)
    edges = np.concatenate([fine, fine[-1] + np.cumsum(radius_m / 20 * 1.12 ** np.arange(1, 60))])
    middle = (edges[1:] + edges[:-1]) / 2
    area = math.pi * np.diff(edges**2)
    depth = ground.thickness_m * (1.0 - np.cos(np.linspace(0, math.pi / 2, 31)))  # thin at the water table
    thick = np.diff(depth)
    rings, layers = middle.size, thick.size
    size = rings * (layers + 1)  # the first layer of unknowns is the water table itself
    a = np.zeros((size, size))

    def join(p: int, q: int, conductance: float) -> None:
        a[p, p] += conductance
        a[q, q] += conductance
        a[p, q] -= conductance
        a[q, p] -= conductance

    for i in range(rings):
        join(i, rings + i, ground.vertical_m_s * area[i] / (thick[0] / 2))
        for k in range(1, layers):
            gap = (thick[k] + thick[k - 1]) / 2
            join(k * rings + i, (k + 1) * rings + i, ground.vertical_m_s * area[i] / gap)
        if i + 1 < rings:
            for k in range(layers):
                side = 2 * math.pi * edges[i + 1] * thick[k]
                conductance = ground.horizontal_m_s * side / (middle[i + 1] - middle[i])
                join((k + 1) * rings + i, (k + 1) * rings + i + 1, conductance)
    inside = slice(rings, size)
    top = slice(0, rings)
    schur = a[top, top] - a[top, inside] @ np.linalg.solve(a[inside, inside], a[inside, top])
    root = np.sqrt(area * ground.specific_yield)
    values, vectors = linalg.eigh(schur / root[:, None] / root[None, :])
    values = np.maximum(values, 1e-300)
    source = np.where(middle < radius_m, area, 0.0) / root
    weights = vectors.T @ source
    growth = -np.expm1(-values[None, :] * TIMES[:, None]) / values[None, :]
    heads = (growth * weights) @ vectors.T / root
    return middle, heads


CASES = [
    (Aquifer(1.0, 0.2, 1e-5, 1e-5), 1.2),
    (Aquifer(3.0, 0.15, 1e-5, 1e-5), 0.9),
    (Aquifer(8.0, 0.1, 3e-5, 1e-5), 1.2),
]


@pytest.mark.parametrize(("ground", "radius"), CASES)
@pytest.mark.parametrize("at", [0.0, 0.5, 3.0])
def test_three_dimensional_mound_against_finite_volumes(ground: Aquifer, radius: float, at: float) -> None:
    """Within 1.5 % of the rise under the middle from an hour to a month, under the well and beside it."""
    ours = disk_response_s(radius_m=radius, aquifer=ground, time_s=TIMES, distance_m=at * radius)
    under = disk_response_s(radius_m=radius, aquifer=ground, time_s=TIMES)
    places, heads = numerical(ground, radius)
    theirs = np.array([np.interp(max(at * radius, radius / 40), places, row) for row in heads])
    assert np.max(np.abs(ours - theirs) / under) < 0.015


def test_over_ground_without_a_floor_it_is_a_closed_form() -> None:
    """With no floor near, the rise under the middle is (w R/K)(1 + τ − √(1 + τ²)), τ = K t/(S R): derived."""
    times = np.array([600.0, 3600.0, 6 * 3600.0, 3 * DAY])
    tau = 1e-5 * times / (0.1 * 1.2)
    deep = disk_response_s(radius_m=1.2, aquifer=Aquifer(1e4, 0.1, 1e-5, 1e-5), time_s=times)
    assert deep == pytest.approx(1.2 / 1e-5 * (1 + tau - np.sqrt(1 + tau**2)), rel=2e-4)


def test_over_a_shallow_floor_it_is_level_flow() -> None:
    """A well far wider than the ground is thick: ∫ (1 − exp(−R²/4νt)) dt / S, the round form of level flow (derived)."""
    ground = Aquifer(0.02, 0.1, 1e-3, 1e-3)
    for time in (1e4, 1e6):
        flat = integrate.quad(
            lambda s: -math.expm1(-(1.2**2) / (4 * ground.diffusivity_m2_s * s)), 0, time, limit=500
        )[0]
        made = disk_response_s(radius_m=1.2, aquifer=ground, time_s=np.array([time]))[0]
        assert made == pytest.approx(flat / 0.1, rel=1e-3)


def test_under_a_narrow_well_it_stands_higher_than_level_flow() -> None:
    """Radius 1.2 m on 1 m of saturated ground: 1.1 to 1.3 times as high (own computation of the sheet)."""
    well = footprint(length_m=2.4, width_m=2.4, round_pit=True, least_area_m2=0.0)
    for k in (1e-5, 1e-4):
        ground = Aquifer(1.0, 0.2, k, k)
        times = np.array([0.25, 2.0]) * DAY
        ratio = three_dimensional_s(well, ground, times) / level_flow_s(well, ground, times)
        assert bool(((ratio > 1.1) & (ratio < 1.3)).all())


# --- exponentials ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("ground", "radius"), CASES)
def test_exponentials_follow_both_solutions(ground: Aquifer, radius: float) -> None:
    """Four to six, none negative, and the error that they state is the true one at other times too."""
    well = footprint(length_m=2 * radius, width_m=2 * radius, round_pit=True, least_area_m2=0.0)
    for response in (three_dimensional_s, level_flow_s):
        terms = fit(lambda t, r=response: r(well, ground, t), shortest_s=300.0, longest_s=32 * DAY)
        assert 4 <= terms.amount.size <= 6
        assert (terms.amount >= 0).all()
        assert terms.fit_error < 0.01
        other = np.geomspace(300, 32 * DAY, 23)
        true = response(well, ground, other)
        assert np.max(np.abs(terms.step(other) - true)) < 1.05 * terms.fit_error * true[-1]


def test_recharge_that_stops_is_a_difference_of_two() -> None:
    """A day of recharge and four days of rest, tracked, against U(t) − U(t − 1 d) of the solution itself."""
    ground = Aquifer(3.0, 0.15, 1e-5, 1e-5)
    well = footprint(length_m=3.0, width_m=1.8, round_pit=False, least_area_m2=0.0)

    def response(times: FloatArray) -> FloatArray:
        return three_dimensional_s(well, ground, times)

    terms = fit(response, shortest_s=3600.0, longest_s=10 * DAY)
    rate = np.where(np.arange(120) < 24, 2e-6, 0.0)
    made, _ = track(terms, rate=rate, step_s=3600.0)
    at = 3600.0 * np.arange(1, 121)
    true = 2e-6 * (response(at) - np.where(at > DAY, response(np.maximum(at - DAY, 1.0)), 0.0))
    assert np.max(np.abs(made - true)) < 0.02 * np.max(true)
    beside = superposed(at, response(at), rate, step_s=3600.0, longest_s=10 * DAY)
    assert beside == pytest.approx(true, rel=1e-6, abs=1e-9)
