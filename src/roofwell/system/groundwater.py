"""Groundwater under the wells: what carries the water away, the mound that it heaps up, what floats on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.ops

from roofwell import tables
from roofwell.errors import InputError
from roofwell.job import model
from roofwell.physics import mounded, network
from roofwell.physics.well import exponentials, footprint
from roofwell.physics.well.exponentials import Exponentials
from roofwell.physics.well.footprint import Footprint
from roofwell.physics.well.mound import Aquifer
from roofwell.physics.well.uplift import uplift
from roofwell.system.behaviour import (
    FloatArray,
    HeldByMound,
    Lift,
    Mound,
    MoundAtWall,
    MoundTerms,
    WellBehaviour,
)
from roofwell.system.facts import AquiferFact, AssumedValue, Survey
from roofwell.system.ledger import Ledger
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import XY, Scheme, Well
from roofwell.system.soil_layers import JUST_UNDER_M, rate_at_m_s
from roofwell.units import Dimension, parse

MONTH_S = 30 * 86400.0
YEAR_S = 365 * 86400.0


@dataclass(frozen=True, slots=True)
class Run:
    """What the wells soaked in one storm or through the record: step, s, and one trace for each well."""

    step_s: float
    traces: tuple[network.Trace, ...]
    duration_s: float = 0.0


def aquifer_fact(job: model.Job, ledger: Ledger) -> AquiferFact:
    """Return what carries soaked water away, each figure as given, else assumed."""
    soil = job.soil
    return AquiferFact(
        thickness_m=ledger.value(soil.saturated_thickness, "soil.saturated_thickness", "saturated-thickness"),
        specific_yield=_specific_yield(soil, ledger),
        horizontal_m_s=ledger.given("soil.horizontal_conductivity", soil.horizontal_conductivity.value_si)
        if soil.horizontal_conductivity is not None
        else None,
        times_vertical=1.0
        if soil.horizontal_conductivity is not None
        else ledger.assume("soil.horizontal_conductivity", "horizontal-over-vertical"),
    )


def _specific_yield(soil: model.Soil, ledger: Ledger) -> float:
    """As given, else by the texture of the lowest layer that has one, else of the soil at large."""
    path = "soil.specific_yield"
    textures = [layer.texture for layer in soil.layers if layer.texture is not None]
    texture = (textures[-1] if textures else soil.texture or "").strip().lower()
    row = next((row for row in tables.rows("specific_yield") if row["texture"] == texture), None)
    if soil.specific_yield is not None or row is None:
        return ledger.value(soil.specific_yield, path, "specific-yield")
    general = tables.assumption("specific-yield", ledger.style)
    what = f"share of the ground that fills as the water in it rises: {texture}, published {row['low']} to {row['high']}"
    said = AssumedValue(path, row["best"], what, general.how_to_measure, row["source"])
    return ledger.assume_row(said, parse(row["best"], Dimension.RATIO).value_si)


def mounds(
    scheme: Scheme,
    survey: Survey,
    wells: Sequence[WellBehaviour],
    *,
    measured_m_s: float,
    storms: Sequence[Run],
    record: Run | None,
) -> tuple[tuple[WellBehaviour, ...], Held | None]:
    """Return the wells with their mounds, and how these hold the soakage back where one reaches its well.

    Unchanged where nothing conducts or nothing soaks.

    Parameters
    ----------
    measured_m_s
        Rate of the soil at large before the safety factor, m/s: what the ground conducts.
    storms, record
        What the wells soaked; the record is None where there is none.
    """
    pairs = zip(scheme.wells, wells, strict=True)
    made = [_ground_of(survey, well, behaviour.soakage_full_m3_s, measured_m_s) for well, behaviour in pairs]
    grounds = [one for one in made if one is not None]
    if not storms or len(grounds) < len(made):
        return tuple(wells), None
    found = [_mound(survey, j, grounds, storms, record) for j in range(len(wells))]
    out = tuple(
        replace(behaviour, mound=mound) for behaviour, (mound, _, _) in zip(wells, found, strict=True)
    )
    high = survey.soil.high_water_m
    rooms = [well.bottom_m - high if high is not None else math.inf for well in scheme.wells]
    if min(rooms) <= 0.0 or all(
        mound.rise_m <= room for (mound, _, _), room in zip(found, rooms, strict=True)
    ):
        return out, None
    return out, Held(
        tuple(_under(g, m, t, r) for g, (m, t, _), r in zip(grounds, found, rooms, strict=True)),
        tuple(_under(g, m, t, r) for g, (m, _, t), r in zip(grounds, found, rooms, strict=True)),
    )


@dataclass(frozen=True, slots=True)
class Held:
    """The grounds under the wells, as routed storms and as the record take them."""

    of_storms: tuple[mounded.Ground, ...]
    of_record: tuple[mounded.Ground, ...]

    def storm(
        self,
        stores: Sequence[network.Store],
        inflow: FloatArray,
        step_s: float,
        start: Sequence[float] | None,
    ) -> tuple[network.Trace, ...]:
        """Route a storm with the soakage held by the mounds."""
        run = _followed(stores, inflow, self.of_storms, step_s, start)
        return (
            run.traces if run is not None else network.simulate(stores, inflow, step_s=step_s, start_m3=start)
        )

    def record(
        self, stores: Sequence[network.Store], inflow: FloatArray, step_s: float
    ) -> mounded.MoundedRun | None:
        """Run the record with the soakage held by the mounds; None where it is held too often to be followed."""
        return _followed(stores, inflow, self.of_record, step_s, None)


def _followed(
    stores: Sequence[network.Store],
    inflow: FloatArray,
    grounds: Sequence[mounded.Ground],
    step_s: float,
    start: Sequence[float] | None,
) -> mounded.MoundedRun | None:
    try:
        return mounded.simulate(stores, inflow, grounds, step_s=step_s, start_m3=start)
    except InputError as error:
        if error.code != "mounded-too-often":
            raise
        return None


def _under(ground: _Ground, mound: Mound, terms: Exponentials, room_m: float) -> mounded.Ground:
    if mound.solution == "level flow":  # linear in the square of the water's height
        room_m += room_m * room_m / (2.0 * ground.aquifer.thickness_m)
    return mounded.Ground(ground.foot.area_m2, room_m, terms)


def with_held(
    wells: Sequence[WellBehaviour], held: Sequence[WellBehaviour], run: mounded.MoundedRun | None
) -> tuple[WellBehaviour, ...]:
    """Return the wells as held by their mounds, each with its own mound and what it was like without."""
    out = []
    for before, after in zip(wells, held, strict=True):
        told = None
        if before.record is not None and run is None:
            told = HeldByMound(before.record.spills_year, math.inf, 0.0, math.nan, followed=False)
        elif before.record is not None and run is not None:
            told = HeldByMound(
                before.record.spills_year, run.capped_steps * run.step_s, run.step_s, run.spill_change
            )
        mound = replace(before.mound, held=told) if before.mound is not None else None
        out.append(replace(after, mound=mound))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class _Ground:
    """The ground of one well."""

    well: Well
    aquifer: Aquifer
    foot: Footprint


def _ground_of(survey: Survey, well: Well, soaks_m3_s: float, measured_m_s: float) -> _Ground | None:
    fact, soil = survey.aquifer, survey.soil
    if fact is None:
        return None
    share = soil.conductivity_m_s / soil.best_m_s if soil.conductivity_m_s and soil.best_m_s > 0 else 1.0
    pit = well.ground_m - well.bottom_m
    water = well.ground_m - soil.high_water_m if soil.high_water_m is not None else pit
    under = share * rate_at_m_s(soil, pit + JUST_UNDER_M, measured_m_s)
    deep = share * rate_at_m_s(soil, max(pit, water) + JUST_UNDER_M, measured_m_s)
    if min(under, deep) <= 0.0:
        return None
    sides = sorted((well.pit_length_m, well.pit_width_m))
    return _Ground(
        well,
        Aquifer(
            fact.thickness_m, fact.specific_yield, fact.horizontal_m_s or deep * fact.times_vertical, deep
        ),
        footprint.footprint(
            length_m=sides[1],
            width_m=sides[0],
            round_pit=well.pit_shape == "round",
            soakage_m3_s=soaks_m3_s,
            conductivity_m_s=under,
        ),
    )


def record_terms(
    scheme: Scheme,
    survey: Survey,
    wells: Sequence[WellBehaviour],
    *,
    measured_m_s: float,
    step_s: float,
    steps: int,
) -> list[tuple[Well, Aquifer, float, bool, Exponentials]] | None:
    """Return each well with its ground, the footprint, m², whether level flow governs, and the answer of its mound over a
    record; None where some well's ground does not conduct."""
    out = []
    for well, behaviour in zip(scheme.wells, wells, strict=True):
        ground = _ground_of(survey, well, behaviour.soakage_full_m3_s, measured_m_s)
        if ground is None:
            return None
        deep = min(well.pit_length_m, well.pit_width_m) < ground.aquifer.thickness_m
        answer = footprint.three_dimensional_s if deep else footprint.level_flow_s
        longest = max(min(YEAR_S, step_s * steps), 20 * step_s)
        terms = exponentials.fit(
            lambda t, g=ground, f=answer: f(g.foot, g.aquifer, t),  # type: ignore[misc]
            shortest_s=step_s,
            longest_s=longest,
        )
        out.append((well, ground.aquifer, ground.foot.area_m2, not deep, terms))
    return out


def rise_beside(
    survey: Survey,
    wells: tuple[Well, Well],
    soakage_full_m3_s: Sequence[float],
    *,
    measured_m_s: float,
    mound: Mound,
) -> float:
    """Return the mound under the second of two wells as a share of that under the first, both soaking the same away.

    By the solution that governs the given mound, at the storm's duration; 1 where nothing conducts.
    """
    rises = []
    for well, soaks in zip(wells, soakage_full_m3_s, strict=True):
        ground = _ground_of(survey, well, soaks, measured_m_s)
        if ground is None:
            return 1.0
        times = np.array([max(mound.storm_duration_s, 3600.0)])
        flow = (
            footprint.three_dimensional_s if mound.solution == "three-dimensional" else footprint.level_flow_s
        )
        rises.append(float(flow(ground.foot, ground.aquifer, times)[0]) / ground.foot.area_m2)
    return rises[1] / rises[0] if rises[0] > 0 else 1.0


def _recharge(ground: _Ground, run: Run, j: int) -> FloatArray:
    return run.traces[j].soaked_m3 / (run.step_s * ground.foot.area_m2)


def _from_others(
    grounds: Sequence[_Ground], run: Run, skip: int | None, at: XY, longest_s: float
) -> list[FloatArray]:
    """What all wells but one raise the water by at a point, m, at the end of every step."""
    out = []
    times = np.geomspace(run.step_s, max(longest_s, 2 * run.step_s), 48)
    for k, ground in enumerate(grounds):
        if k == skip:
            continue
        well = ground.well
        x, y = at[0] - well.pit_center[0], at[1] - well.pit_center[1]
        east, north = math.cos(well.direction_rad), math.sin(well.direction_rad)
        along, across = x * east + y * north, y * east - x * north
        if well.pit_width_m > well.pit_length_m:
            along, across = across, along
        response = footprint.three_dimensional_s(
            ground.foot, ground.aquifer, times, along_m=along, across_m=across
        )
        out.append(
            footprint.superposed(
                times, response, _recharge(ground, run, k), step_s=run.step_s, longest_s=longest_s
            )
        )
    return out


def _longest(run: Run) -> float:
    return max(min(YEAR_S, run.step_s * run.traces[0].soaked_m3.size), 20 * run.step_s)


def _terms(ground: _Ground, run: Run) -> tuple[Exponentials, Exponentials]:
    """Answers of level flow and of three-dimensional flow, over the times that a run needs."""
    span = {"shortest_s": run.step_s, "longest_s": _longest(run)}
    return (
        exponentials.fit(lambda t: footprint.level_flow_s(ground.foot, ground.aquifer, t), **span),
        exponentials.fit(lambda t: footprint.three_dimensional_s(ground.foot, ground.aquifer, t), **span),
    )


def _rise(grounds: Sequence[_Ground], run: Run, j: int, terms: Exponentials, deep: bool) -> FloatArray:
    """Rise under the middle of a well by three-dimensional or level flow, other wells added, m."""
    ground = grounds[j]
    rate, hi = _recharge(ground, run, j), ground.aquifer.thickness_m
    rise = exponentials.track(terms, rate=rate, step_s=run.step_s)[0]
    if not deep:
        rise = np.sqrt(hi * hi + 2.0 * hi * rise) - hi
    for other in _from_others(grounds, run, j, ground.well.pit_center, _longest(run)):
        rise = rise + other
    return rise


def _mound(
    survey: Survey, j: int, grounds: Sequence[_Ground], storms: Sequence[Run], record: Run | None
) -> tuple[Mound, Exponentials, Exponentials]:
    """The mound of one well, with the answers of its governing solution for storms and for the record."""
    ground = grounds[j]
    narrow = min(ground.well.pit_length_m, ground.well.pit_width_m)
    deep_governs = narrow < ground.aquifer.thickness_m
    terms = _terms(ground, max(storms, key=_longest))
    by_storm = [
        (_rise(grounds, run, j, terms[0], False), _rise(grounds, run, j, terms[1], True)) for run in storms
    ]
    tops = [(_top(level), _top(deep)) for level, deep in by_storm]
    worst = max(range(len(storms)), key=lambda n: tops[n][deep_governs])
    storm = tops[worst][deep_governs]
    month = whole = None
    of_record = terms[deep_governs]
    if record is not None:
        of_record = _terms(ground, record)[deep_governs]
        rise = _rise(grounds, record, j, of_record, deep_governs)
        whole = _top(rise)
        month = _top(rise[wettest_month(record.traces[j].soaked_m3, record.step_s)])
    mound = Mound(
        solution="three-dimensional" if deep_governs else "level flow",
        thickness_m=ground.aquifer.thickness_m,
        specific_yield=ground.aquifer.specific_yield,
        horizontal_m_s=ground.aquifer.horizontal_m_s,
        vertical_m_s=ground.aquifer.vertical_m_s,
        footprint_m2=ground.foot.area_m2,
        storm_m=storm,
        storm_duration_s=storms[worst].duration_s,
        storm_level_flow_m=tops[worst][0],
        storm_three_dimensional_m=tops[worst][1],
        month_m=month,
        record_m=whole,
        in_range=max(storm, whole or 0.0) <= ground.aquifer.thickness_m / 2.0,
        level_flow=_told(terms[0]),
        three_dimensional=_told(terms[1]),
        walls=_walls(survey, ground.well, grounds, storms[worst], record),
    )
    return mound, terms[deep_governs], of_record


def _told(terms: Exponentials) -> MoundTerms:
    return MoundTerms(
        tuple(float(a) for a in terms.amount), tuple(float(t) for t in terms.tau_s), terms.fit_error
    )


def _top(rise: FloatArray) -> float:
    return max(0.0, float(np.max(rise))) if rise.size else 0.0


def wettest_month(soaked_m3: FloatArray, step_s: float) -> slice:
    """The 30 days in which most soaks away."""
    count = min(soaked_m3.size, max(1, round(MONTH_S / step_s)))
    total = np.concatenate([[0.0], np.cumsum(soaked_m3)])
    start = int(np.argmax(total[count:] - total[:-count]))
    return slice(start, start + count)


def _walls(
    survey: Survey, well: Well, grounds: Sequence[_Ground], storm: Run, record: Run | None
) -> tuple[MoundAtWall, ...]:
    """The rise that all wells together make at the nearest point of every building."""
    middle = shapely.Point(well.pit_center)
    things = [(b.id, False, b.outline, b.lowest_floor_m, b.basement) for b in survey.buildings]
    things += [(f.id, True, f.points, f.bottom_m, None) for f in survey.neighbors]
    out = []
    for id, neighbor, points, floor, basement in things:
        if not points:
            continue
        shape = (
            shapely.Polygon(points)
            if len(points) >= 3
            else shapely.LineString(points)
            if len(points) == 2
            else shapely.Point(points[0])
        )
        nearest = shapely.ops.nearest_points(shape, middle)[0]
        at = (float(nearest.x), float(nearest.y))
        rise = max(
            footprint.highest(_from_others(grounds, run, None, at, _longest(run)))
            for run in (storm, record)
            if run is not None
        )
        out.append(MoundAtWall(id, neighbor, float(nearest.distance(middle)), rise, floor, basement))
    return tuple(out)


def lifts(scheme: Scheme, survey: Survey, wells: Sequence[WellBehaviour]) -> tuple[Lift, ...]:
    """Return every basin as an empty box under the seasonal high water with the highest mound added.

    The mound is taken as high as it stands under the well, which is safe, and no higher than the well's bottom, where
    it holds the soakage back. Nothing where the high water is unknown.
    """
    high = survey.soil.high_water_m
    if high is None:
        return ()
    rises = [
        min(behaviour.mound.rise_m, well.bottom_m - high) if well.bottom_m > high else behaviour.mound.rise_m
        for well, behaviour in zip(scheme.wells, wells, strict=True)
        if behaviour.mound is not None
    ]
    rise = max(rises, default=0.0)
    out = []
    for basin in scheme.basins:
        wall = _wall_m(basin.width_m, basin.shape, survey.style)
        outside = basin.width_m + 2.0 * wall
        long = basin.along_m + 2.0 * wall
        area = math.pi * outside**2 / 4 if basin.shape == "round" else outside * long
        base, water = basin.floor_m - wall, high + rise
        found = uplift(
            plan_area_m2=area,
            height_m=basin.grate_m - base,
            water_over_base_m=min(water, basin.grate_m) - base,
            own_mass_kg=basin.weight_kg,
            fills=basin.weep_holes > 0,
        )
        out.append(Lift(basin.id, water, base, found.uplift_kg, found.resisting_kg, basin.weep_holes > 0))
    return tuple(out)


def _wall_m(width_m: float, shape: str, style: str) -> float:
    """Wall of the trade size nearest to a basin's width, m."""
    rows = [r for r in tables.rows("basin_sizes") if r["units"] == style and r["shape"] == shape]
    nearest = min(rows, key=lambda row: abs(length_of(row["width"]) - width_m), default=None)
    return length_of(nearest["wall"]) if nearest is not None else 0.0
