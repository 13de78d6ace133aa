"""Groundwater under the wells: what carries the water away, the mound that it heaps up, what floats on it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.ops

from roofwell import tables
from roofwell.job import model
from roofwell.physics import mounded, network
from roofwell.physics.kept import kept, read_only
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
_STEPS_AT_ONCE = 1 << 15  # of a record, so that what is kept does not grow with it


@dataclass(frozen=True, slots=True)
class Run:
    """What the wells soaked in one storm or through the record: step, s, and one trace for each well.

    Of the record ``soaked`` alone is kept, of each well in each step, m³, and no trace.
    """

    step_s: float
    traces: tuple[network.Trace, ...]
    duration_s: float = 0.0
    soaked: tuple[FloatArray, ...] = ()

    @property
    def soaked_m3(self) -> tuple[FloatArray, ...]:
        """What each well soaked away in each step, m³."""
        return self.soaked or tuple(trace.soaked_m3 for trace in self.traces)


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
    for run in (*storms, record) if record is not None else storms:
        read_only(run.soaked_m3)
    found = [_mound(survey, j, grounds, storms, record) for j in range(len(wells))]
    out = tuple(
        replace(behaviour, mound=mound) for behaviour, (mound, _, _) in zip(wells, found, strict=True)
    )
    rooms = _rooms_m(scheme, survey)
    if not holds_back(scheme, survey, out):
        return out, None
    return out, Held(
        tuple(_under(g, m, t, r) for g, (m, t, _), r in zip(grounds, found, rooms, strict=True)),
        tuple(_under(g, m, t, r) for g, (m, _, t), r in zip(grounds, found, rooms, strict=True)),
    )


def holds_back(scheme: Scheme, survey: Survey, wells: Sequence[WellBehaviour]) -> bool:
    """Say whether a mound, free to rise, reaches its well, so that it holds the soakage of all wells back."""
    risen = [well.mound.rise_m for well in wells if well.mound is not None]
    rooms = _rooms_m(scheme, survey)
    if not risen or len(risen) < len(rooms) or min(rooms) <= 0.0:
        return False
    return not all(rise <= room for rise, room in zip(risen, rooms, strict=True))


def _rooms_m(scheme: Scheme, survey: Survey) -> list[float]:
    """Height of each well's bottom over the high water, m; without end where that is not known."""
    high = survey.soil.high_water_m
    return [well.bottom_m - high if high is not None else math.inf for well in scheme.wells]


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
        return mounded.simulate(stores, inflow, self.of_storms, step_s=step_s, start_m3=start).traces

    def record(
        self,
        stores: Sequence[network.Store],
        through: Callable[[Callable[[FloatArray], tuple[network.Trace, ...]]], None],
        step_s: float,
        steps: int,
    ) -> mounded.MoundedRun:
        """Run the record with the soakage held by the mounds; ``through`` goes through it once with a way to follow them."""
        return mounded.in_pieces(
            stores, self.of_record, lambda following: through(following.on), step_s=step_s, steps=steps
        )


def _under(ground: _Ground, mound: Mound, terms: Exponentials, room_m: float) -> mounded.Ground:
    if mound.solution == "level flow":  # linear in the square of the water's height
        room_m = footprint.level_flow_of_rise_m(room_m, thickness_m=ground.aquifer.thickness_m)
    return mounded.Ground(ground.foot.area_m2, room_m, terms)


def with_held(
    wells: Sequence[WellBehaviour], held: Sequence[WellBehaviour], run: mounded.MoundedRun | None
) -> tuple[WellBehaviour, ...]:
    """Return the wells as held by their mounds, each with its own mound and what it was like without."""
    out = []
    for before, after in zip(wells, held, strict=True):
        told = None
        if before.record is not None and run is not None:
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
    horizontal = fact.horizontal_m_s or deep * fact.times_vertical
    return _Ground(
        well,
        Aquifer(fact.thickness_m, fact.specific_yield, horizontal, deep),
        footprint_of(well, area_m2=soaks_m3_s / under),
    )


def footprint_of(well: Well, *, area_m2: float) -> Footprint:
    """Return the ground under a pit that takes what it soaks away, widened to an area where the pit is smaller."""
    sides = sorted((well.pit_length_m, well.pit_width_m))
    return footprint.footprint(
        length_m=sides[1], width_m=sides[0], round_pit=well.pit_shape == "round", least_area_m2=area_m2
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
        longest = max(min(YEAR_S, step_s * steps), 20 * step_s)
        terms = _fitted(ground.foot, ground.aquifer, deep, step_s, longest)
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


@dataclass(frozen=True, slots=True)
class _Soaking:
    """A well as its mound knows it: its ground, how a pit lies, and what it soaks away in each step, m³."""

    aquifer: Aquifer
    foot: Footprint
    middle: XY
    direction_rad: float
    across: bool  # the pit's length lies across its direction
    soaked_m3: FloatArray


def _soaking(grounds: Sequence[_Ground], run: Run) -> tuple[_Soaking, ...]:
    return tuple(
        _Soaking(
            ground.aquifer,
            ground.foot,
            ground.well.pit_center,
            ground.well.direction_rad,
            ground.well.pit_width_m > ground.well.pit_length_m,
            soaked,
        )
        for ground, soaked in zip(grounds, run.soaked_m3, strict=True)
    )


def _rises(
    wells: Sequence[_Soaking],
    step_s: float,
    at: XY,
    longest_s: float,
    own: tuple[int, Exponentials, bool] | None = None,
) -> Iterator[tuple[int, FloatArray]]:
    """What the wells raise the water by at a point at the end of each step, m; some steps at a time, with the first one.

    ``own``: the well whose middle it is, its answer, and whether that is three-dimensional; others add to it.
    """
    size = wells[0].soaked_m3.size
    times = np.geomspace(step_s, max(longest_s, 2 * step_s), 48)
    count = min(size, max(1, round(longest_s / step_s)))
    others = []
    for k, one in enumerate(wells):
        if own is None or k != own[0]:
            along, across = beside(one.middle, one.direction_rad, at, turned=one.across)
            response = _response_beside(one.foot, one.aquifer, times, along, across)
            others.append((one, footprint.by_step(times, response, count, step_s=step_s)))
    at_once = max(_STEPS_AT_ONCE, 4 * count if others else 0)
    state = None
    for first in range(0, size, at_once):
        rise = np.zeros(min(at_once, size - first))
        end = first + rise.size
        if own is not None:
            j, terms, deep = own
            rate = wells[j].soaked_m3[first:end] / (step_s * wells[j].foot.area_m2)
            rise, state = exponentials.track(terms, rate=rate, step_s=step_s, start=state)
            if not deep:
                rise = footprint.rise_of_level_flow_m(rise, thickness_m=wells[j].aquifer.thickness_m)
        since = max(0, first - count + 1)
        for one, grows in others:
            rate = one.soaked_m3[since:end] / (step_s * one.foot.area_m2)
            rise = rise + footprint.convolved(rate, grows)[first - since :]
        yield first, rise


@kept(256)
def _response_beside(
    foot: Footprint, aquifer: Aquifer, times: FloatArray, along_m: float, across_m: float
) -> FloatArray:
    return footprint.three_dimensional_s(foot, aquifer, times, along_m=along_m, across_m=across_m)


def beside(middle: XY, direction_rad: float, at: XY, *, turned: bool) -> XY:
    """Return how far a place lies from the middle of a pit along and across its longer side, m.

    ``direction_rad``: of the pit's length; ``turned``: its width is the longer side.
    """
    x, y = at[0] - middle[0], at[1] - middle[1]
    east, north = math.cos(direction_rad), math.sin(direction_rad)
    along, across = x * east + y * north, y * east - x * north
    return (across, along) if turned else (along, across)


def _longest(run: Run) -> float:
    return max(min(YEAR_S, run.step_s * run.soaked_m3[0].size), 20 * run.step_s)


@kept(64)
def _fitted(
    foot: Footprint, aquifer: Aquifer, deep: bool, shortest_s: float, longest_s: float
) -> Exponentials:
    """Answer of three-dimensional or level flow, over the times that a run needs."""
    answer = footprint.three_dimensional_s if deep else footprint.level_flow_s
    return exponentials.fit(lambda t: answer(foot, aquifer, t), shortest_s=shortest_s, longest_s=longest_s)


def _terms(ground: _Ground, run: Run) -> tuple[Exponentials, Exponentials]:
    """Answers of level flow and of three-dimensional flow, over the times that a run needs."""
    level, deep = (
        _fitted(ground.foot, ground.aquifer, deep, run.step_s, _longest(run)) for deep in (False, True)
    )
    return level, deep


@kept(128)
def _tops(
    wells: tuple[_Soaking, ...],
    j: int,
    step_s: float,
    longest_s: float,
    terms: Exponentials,
    deep: bool,
    month: bool,
) -> tuple[float, float]:
    """Highest rise under the middle of a well by three-dimensional or level flow, other wells added, m: of all the time,
    and of the wettest month where it is wanted."""
    one = wells[j]
    within = wettest_month(one.soaked_m3, step_s) if month else slice(0, 0)
    top = top_of_month = 0.0
    for first, rise in _rises(wells, step_s, one.middle, longest_s, (j, terms, deep)):
        top = max(top, float(np.max(rise)))
        part = rise[max(0, within.start - first) : max(0, within.stop - first)]
        top_of_month = max(top_of_month, float(np.max(part, initial=0.0)))
    return top, top_of_month if month else math.nan


def _mound(
    survey: Survey, j: int, grounds: Sequence[_Ground], storms: Sequence[Run], record: Run | None
) -> tuple[Mound, Exponentials, Exponentials]:
    """The mound of one well, with the answers of its governing solution for storms and for the record."""
    ground = grounds[j]
    narrow = min(ground.well.pit_length_m, ground.well.pit_width_m)
    deep_governs = narrow < ground.aquifer.thickness_m
    terms = _terms(ground, max(storms, key=_longest))

    def tops_of(run: Run, terms: Exponentials, deep: bool) -> tuple[float, float]:
        return _tops(_soaking(grounds, run), j, run.step_s, _longest(run), terms, deep, run is record)

    tops = [(tops_of(run, terms[0], False)[0], tops_of(run, terms[1], True)[0]) for run in storms]
    worst = max(range(len(storms)), key=lambda n: tops[n][deep_governs])
    storm = tops[worst][deep_governs]
    month = whole = None
    of_record = terms[deep_governs]
    if record is not None:
        of_record = _fitted(ground.foot, ground.aquifer, deep_governs, record.step_s, _longest(record))
        whole, month = tops_of(record, of_record, deep_governs)
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


def wettest_month(soaked_m3: FloatArray, step_s: float) -> slice:
    """The 30 days in which most soaks away."""
    count = min(soaked_m3.size, max(1, round(MONTH_S / step_s)))
    total, most, start = np.zeros(1), -math.inf, 0
    for first in range(0, soaked_m3.size, _STEPS_AT_ONCE):
        piece = soaked_m3[first : first + _STEPS_AT_ONCE]
        sums = np.cumsum(np.concatenate([total[-1:], piece]))
        total = np.concatenate([total[-count:], sums[1:]])  # the last one is that of all steps so far
        months = total[count:] - total[:-count]
        if months.size and float(np.max(months)) > most:
            most = float(np.max(months))
            start = first + piece.size - total.size + 1 + int(np.argmax(months))
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
            _highest_at(_soaking(grounds, run), run.step_s, at, _longest(run))
            for run in (storm, record)
            if run is not None
        )
        out.append(MoundAtWall(id, neighbor, float(nearest.distance(middle)), rise, floor, basement))
    return tuple(out)


@kept(128)
def _highest_at(wells: tuple[_Soaking, ...], step_s: float, at: XY, longest_s: float) -> float:
    """The highest rise that all wells together make at a point, m."""
    return max(
        (max(0.0, float(np.max(rise))) for _, rise in _rises(wells, step_s, at, longest_s)), default=0.0
    )


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
