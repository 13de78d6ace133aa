"""Basins with weep holes as small dry wells: how long they and the pipes behind them take to empty."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from roofwell import tables
from roofwell.physics.basin.standing import still_water_m3
from roofwell.physics.basin.weeps import WeepDrain, weep_drain
from roofwell.system.behaviour import StandingWater, WeepTime
from roofwell.system.debris_facts import Span
from roofwell.system.facts import Survey
from roofwell.system.leaks import bed_area_m2, bed_bottom_m
from roofwell.system.scheme import Basin, Run, Scheme
from roofwell.system.soil_layers import JUST_UNDER_M, rate_at_m_s

STEPS = 240  # slices of depth; with twice as many the time changes by less than 1e-4 of it
NEAR_ZERO = 1e-9


def weep_times(scheme: Scheme, survey: Survey, standing: Sequence[StandingWater]) -> tuple[WeepTime, ...]:
    """Return how long each basin with weep holes takes to empty, in the order of the Scheme.

    ``standing``: from ``pipes.standing``; the runs in which a basin keeps water until its weep holes have drained it
    empty with it. The soil's rate is the tested one where the stone's bottom lies, over the safety factor, and soaks
    through that bottom alone.
    """
    return tuple(
        _weep_time(scheme, survey, basin, [w for w in standing if w.basin == basin.id and w.weep_holes])
        for basin in scheme.basins
        if basin.weep_holes > 0 and math.isfinite(basin.sump_m) and basin.sump_m > NEAR_ZERO
    )


def _weep_time(scheme: Scheme, survey: Survey, basin: Basin, standing: Sequence[StandingWater]) -> WeepTime:
    runs = {run.id: run for run in scheme.runs}
    behind = [runs[water.run] for water in standing]
    depth = basin.sump_m
    depths = (
        depth * np.linspace(0.0, 1.0, STEPS + 1) ** 2
    )  # holes run as the root of the depth: finer near the floor
    pipes = np.array([sum(_water_m3(run, basin.floor_m + float(d)) for run in behind) for d in depths])
    volumes = np.maximum.accumulate(basin.plan_area_m2 * depths + pipes)
    area = bed_area_m2(basin)
    bed = area * basin.pea_stone_depth_m * basin.pea_stone_voids
    holes = basin.weep_holes * math.pi * basin.weep_hole_diameter_m**2 / 4
    coefficient = tables.assumption("weep-orifice-coefficient", survey.style).value_si

    def drained(rate_m_s: float, open_share: float = 1.0) -> WeepDrain:
        return weep_drain(
            depths_m=depths,
            volumes_m3=volumes,
            hole_area_m2=holes * open_share,
            coefficient=coefficient,
            soil_m3_s=rate_m_s * area,
            bed_m3=bed,
        )

    high = survey.soil.high_water_m
    stands = max(0.0, high - basin.floor_m) if high is not None else 0.0
    rates = _rates_m_s(survey, basin)
    best = drained(rates[1])

    def span(open_share: float) -> Span:
        if stands > NEAR_ZERO:
            return Span(math.inf, math.inf, math.inf)
        return Span(*(drained(rate, open_share).empty_s for rate in reversed(rates)))

    return WeepTime(
        basin=basin.id,
        basin_m3=basin.plan_area_m2 * depth,
        pipe_m3=float(pipes[-1]),
        depth_m=depth,
        runs=tuple(run.id for run in behind),
        soil_area_m2=area,
        bed_m3=bed,
        holes_m3_s=best.holes_m3_s,
        soil_m3_s=best.soil_m3_s,
        empty_s=span(1.0),
        half_s=span(0.5),
        soil_s=best.soil_s,
        bed_s=best.bed_s,
        stands_m=min(stands, depth),
    )


def _water_m3(run: Run, level_m: float) -> float:
    lowest = min(run.upstream_invert_m, run.downstream_invert_m)
    return still_water_m3(
        depth_m=level_m - lowest,
        slope=abs(run.slope_m_m),
        diameter_m=run.inside_diameter_m,
        length_m=run.length_m,
    )


def _rates_m_s(survey: Survey, basin: Basin) -> tuple[float, float, float]:
    """Slowest, design and fastest rate of the soil under the stone, over the safety factor, m/s."""
    soil = survey.soil
    depth = basin.ground_m - bed_bottom_m(basin) + JUST_UNDER_M
    slow, best, fast = (
        rate_at_m_s(soil, depth, rate) / soil.safety_factor
        for rate in (soil.low_m_s, soil.best_m_s, soil.high_m_s)
    )
    return slow, best, fast
