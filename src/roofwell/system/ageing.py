"""The wells as years of sediment leave them: new, at ten, at twenty years; basins emptied on time, and never.

What gets past the basins (``debris``) lies down in the stone: fine sediment on the floor, in series with the soil; all of it
takes room. Every age is the kernel with other curves. A share a year that the person types (``soil.silting_a_year``) takes
the place of all that.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from roofwell.physics import network
from roofwell.system.aged_stores import BEST, HARD, MILD, ByAge, Stores, aged_stores, sediments, typed_stores
from roofwell.system.ageing_facts import Ageing, AgeMend, AtAge, Care, Ends, WellAge
from roofwell.system.behaviour import Behaviour
from roofwell.system.debris_facts import NOTHING, BasinDebris, BasinVariant, Debris, DebrisAmount, Span
from roofwell.system.facts import Survey
from roofwell.system.held import overfills
from roofwell.system.pausing import Pause, go_on
from roofwell.system.rainfall import stores_of
from roofwell.system.scheme import Scheme
from roofwell.system.soakage_tries import (
    Water,
    rains_at_wells,
    record_at_wells,
    spills_at_wells,
    store_groups,
    storms_kept,
)
from roofwell.system.storm_run import Inflow
from roofwell.system.well_record import RecordBasis, inflow_of, linked_stores
from roofwell.tables.trials import trial

FIND_TO_YEARS = 0.5
"""Halving stops here: the year of a loss is told to whole years, and known to far less."""
LEAST_MOVE = 0.01
"""A part that changes silt and room by less than this share is not followed through the years again."""
TRIED_YEARS = (2.0, 5.0, 10.0, 20.0, 35.0, 50.0, 75.0)
"""Ages at which the time to empty is looked at: it may shorten again as room goes, so halving alone could miss a year."""


@dataclass(frozen=True, slots=True)
class _Trial:
    """What every age is put through."""

    survey: Survey
    inflow: Inflow
    record: RecordBasis
    rains: Sequence[Water]
    water: Water | None
    pause: Pause

    def figures(self, stores: Stores, draining: Stores) -> list[tuple[float, float, float | None]]:
        """Of each well: share held of the design storm that loses most, time to empty, spills a year."""
        self.pause()
        drains = network.drain_times_s(draining)
        storm = storms_kept(stores, self.rains, self.survey.settings["starting_level"])
        spills = spills_at_wells(stores, self.survey, self.record, self.water)
        groups = store_groups(stores)
        return [
            (storm[j][0], max(drains[k] for k in groups[j]), spills[j] if spills is not None else None)
            for j in range(len(stores))
        ]


def ageing(
    scheme: Scheme,
    survey: Survey,
    behaviour: Behaviour,
    *,
    rate_m_s: float,
    record: RecordBasis,
    pause: Pause = go_on,
) -> Ageing | None:
    """Return every well new and old; None without wells, or without debris and a typed share.

    ``rate_m_s``: what the design counts with, over the safety factor; ``record`` from ``record_basis``. The wells are
    followed with the rate as measured: the factor stands for silting and luck, and silting is counted here. The mound on
    the groundwater holds none of them back. ``pause`` is called between pieces of a few hundredths of a second.
    """
    typed, debris = survey.soil.silting_year, behaviour.debris
    if not scheme.wells or (debris is None and typed <= 0.0):
        return None
    inflow = inflow_of(scheme, behaviour.downspouts)
    measured = rate_m_s * survey.soil.safety_factor
    stores = linked_stores(scheme, stores_of(scheme, survey, behaviour.downspouts, measured, record[0]))
    run = _Trial(
        survey,
        inflow,
        record,
        rains_at_wells(survey, inflow),
        record_at_wells(survey, inflow, record),
        pause,
    )
    years = (0.0, trial("age-middle"), trial("life"))
    wells: list[WellAge] = []
    mends: tuple[AgeMend, ...] = ()
    if typed > 0.0:
        at = typed_stores(stores, typed)
        wells += _typed(scheme, run, at, years)
    elif debris is not None:
        for never in (False, True):
            if never and all(well.full_after_years is None for well in debris.wells):
                continue
            ends = [
                aged_stores(scheme, stores, sediments(scheme, debris, never=never, end=end))
                for end in (MILD, BEST, HARD)
            ]
            wells += _aged(scheme, run, debris, ends, years, never=never)
        mends = _mends(scheme, run, debris, stores, wells, years[-1])
    order = {well.id: k for k, well in enumerate(scheme.wells)}
    return Ageing(
        wells=tuple(sorted(wells, key=lambda one: order[one.well])),
        mends=mends,
        years=years,
        most_years=trial("age-most"),
        trees_known=debris is None or debris.trees_known or typed > 0.0,
        shallow_m=trial("age-shallow"),
        fabric=tuple(well.id for well in scheme.wells if "bottom" in well.geotextile),
    )


def _aged(
    scheme: Scheme,
    run: _Trial,
    debris: Debris,
    ends: Sequence[ByAge],
    years: Sequence[float],
    *,
    never: bool,
) -> list[WellAge]:
    table = {
        age: [run.figures(end.stores(age), end.draining(age)) for end in (ends[:1] if age == 0.0 else ends)]
        for age in years
    }
    new, shallow = ends[0].curves(0.0), trial("age-shallow")
    out = []
    for j, well in enumerate(scheme.wells):
        gets = debris.well(well.id)
        if never and gets.full_after_years is None:
            continue
        care: Care = "never" if never else "on time" if gets.full_after_years is not None else "no basin"
        ages = []
        for age in years:
            found = table[age] if len(table[age]) == 3 else table[age] * 3
            curves = [end.curves(age)[j] for end in ends]
            rows = [figures[j] for figures in found]
            at = [max(shallow, float(curve.depth_m[0])) for curve in curves]  # no lower than the bed's top
            was = [new[j].floor_at_m3_s(depth) for depth in at]
            now = [curve.floor_at_m3_s(depth) for curve, depth in zip(curves, at, strict=True)]
            whole = float(new[j].below_m3_s[-1])
            room = float(new[j].volume_m3[-1])
            spills = [row[2] for row in rows if row[2] is not None]
            ages.append(
                AtAge(
                    years=age,
                    silt_m=Ends(*(curve.sealed_m for curve in curves)),
                    room_share=Ends(*(float(curve.volume_m3[-1]) / room for curve in curves)),
                    floor_share=Ends(*(a / b for a, b in zip(now, was, strict=True)))
                    if min(was) > 0.0
                    else None,
                    soakage_share=Ends(*(_share(float(curve.below_m3_s[-1]), whole) for curve in curves)),
                    held_share=Ends(*(row[0] for row in rows)),
                    drain_s=Ends(*(row[1] for row in rows)),
                    spills_year=Ends(*spills) if len(spills) == 3 else None,
                )
            )
        out.append(_with_lost(well.id, care, tuple(ages), run, ends, j))
    return out


def _share(part: float, whole: float) -> float:
    return part / whole if whole > 0.0 else 1.0


def _typed(scheme: Scheme, run: _Trial, at: ByAge, years: Sequence[float]) -> list[WellAge]:
    """The wells by a share a year that the person typed: no sediment, no range."""
    left = {age: run.figures(at.stores(age), at.draining(age)) for age in years}
    out = []
    for j, well in enumerate(scheme.wells):
        ages = []
        whole = float(at.stores(0.0)[j].soakage_m3_s[-1])
        for age in years:
            held, drain, spills = left[age][j]
            share = _share(float(at.stores(age)[j].soakage_m3_s[-1]), whole)
            same = [Ends(value, value, value) for value in (0.0, 1.0, share, held, drain)]
            often = None if spills is None else Ends(spills, spills, spills)
            ages.append(AtAge(age, same[0], same[1], None, same[2], same[3], same[4], often))
        out.append(_with_lost(well.id, "typed", tuple(ages), run, [at], j))
    return out


def _with_lost(
    well: str,
    care: Care,
    ages: tuple[AtAge, ...],
    run: _Trial,
    ends: Sequence[ByAge],
    j: int,
) -> WellAge:
    storm, empty, spills = [], [], []
    for at in ends:
        lost = _lost(run, at, j)
        storm.append(lost[0])
        empty.append(lost[1])
        spills.append(lost[2])
    if len(ends) == 1:
        storm, empty, spills = storm * 3, empty * 3, spills * 3
    often = [year for year in spills if year is not None]
    return WellAge(well, care, ages, Ends(*storm), Ends(*empty), Ends(*often) if len(often) == 3 else None)


def _lost(run: _Trial, at: ByAge, j: int) -> tuple[float, float, float | None]:
    """The year in which a well no longer holds the storm, empties in time, spills as seldom as asked."""
    survey, most = run.survey, trial("age-most")

    def holds(years: float) -> bool:
        run.pause()
        over = overfills(survey, run.inflow, at.stores(years), survey.storm_shape)
        return not over(survey.targets.storm_years, j)

    def empties(years: float) -> bool:
        run.pause()
        draining = at.draining(years)
        drains = network.drain_times_s(draining)
        return max(drains[k] for k in store_groups(draining)[j]) <= survey.targets.empty_s

    target = survey.targets.spills_year
    spills = None
    if target is not None and run.water is not None:

        def seldom(years: float) -> bool:
            run.pause()
            found = spills_at_wells(at.stores(years), survey, run.record, run.water)
            return found is not None and found[j] <= target

        spills = year_lost(seldom, most)
    return year_lost(holds, most), year_lost(empties, most, TRIED_YEARS), spills


def year_lost(kept: Callable[[float], bool], most: float, tried: Sequence[float] = ()) -> float:
    """Return the age at which a target is first not kept, years, by halving; 0 at once, infinite up to ``most`` years.

    ``tried``: ages to look at in between, where a target may be lost and kept again.
    """
    if not kept(0.0):
        return 0.0
    good = 0.0
    bad = next((age for age in (*tried, most) if age <= most and not kept(age)), None)
    if bad is None:
        return math.inf
    good = max((age for age in tried if age < bad), default=0.0)
    while bad - good > FIND_TO_YEARS:
        middle = 0.5 * (good + bad)
        if kept(middle):
            good = middle
        else:
            bad = middle
    return good


def _mends(
    scheme: Scheme,
    run: _Trial,
    debris: Debris,
    stores: Stores,
    wells: Sequence[WellAge],
    life: float,
) -> tuple[AgeMend, ...]:
    """What each cheap part of a last basin before a well would make of its years."""
    out = []
    for j, well in enumerate(scheme.wells):
        own = next(one for one in wells if one.well == well.id and one.care != "never")
        for basin in _last_basins(scheme, debris, well.id):
            for variant in basin.others:
                gets = debris.well(well.id)
                amounts = _with_variant(gets.on_time, basin.as_is, variant)
                changed = replace(
                    debris,
                    wells=tuple(
                        replace(one, on_time=amounts) if one.well == well.id else one for one in debris.wells
                    ),
                )
                at = aged_stores(scheme, stores, sediments(scheme, changed, never=False, end=BEST))
                curve, new = at.curves(life)[j], at.curves(0.0)[j]
                room = float(curve.volume_m3[-1] / new.volume_m3[-1])
                lost, life_room = own.lost.best, own.ages[-1].room_share.best
                moves = abs(curve.sealed_m / own.ages[-1].silt_m.best - 1.0) if curve.sealed_m > 0.0 else 0.0
                if 0.0 < lost < math.inf and max(moves, abs(room - life_room)) > LEAST_MOVE:
                    storm, empty, spills = _lost(run, at, j)
                    lost = min(storm, empty, math.inf if spills is None else spills)
                out.append(
                    AgeMend(well.id, basin.basin, variant.key, variant.sump_m, lost, room, curve.sealed_m)
                )
    return tuple(out)


def _last_basins(scheme: Scheme, debris: Debris, well: str) -> list[BasinDebris]:
    """The basins after which no other stands before a well."""
    known = {basin.basin: basin for basin in debris.basins}
    last = {}
    for spout in scheme.upstream_downspouts(well):
        on_way = [run.to_id for run in scheme.way(spout.id) if run.to_id in known]
        if on_way:
            last[on_way[-1]] = known[on_way[-1]]
    return list(last.values())


def _with_variant(
    amounts: Sequence[DebrisAmount], as_is: BasinVariant, variant: BasinVariant
) -> tuple[DebrisAmount, ...]:
    """What reaches a well with another basin before it: as much less or more as gets past that one."""
    before = {a.kind: a.volume_m3_year for a in as_is.past}
    after = {a.kind: a.volume_m3_year for a in variant.past}

    def changed(amount: DebrisAmount) -> DebrisAmount:
        own, was, now = (
            amount.volume_m3_year,
            before.get(amount.kind, NOTHING),
            after.get(amount.kind, NOTHING),
        )
        return replace(
            amount,
            volume_m3_year=Span(
                max(0.0, own.low + now.low - was.low),
                max(0.0, own.best + now.best - was.best),
                max(0.0, own.high + now.high - was.high),
            ),
        )

    return tuple(changed(amount) for amount in amounts)
