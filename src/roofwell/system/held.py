"""Which storm each well just holds: the return period, by shape of the storm, within the rain table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

from roofwell.physics import linked, network
from roofwell.physics.rain.frequency import annual_from_partial_years
from roofwell.physics.rain.held import HeldPeriod, chance_of_greater, longest_held
from roofwell.system.beyond_facts import HeldStorm
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme
from roofwell.system.storm_run import Inflow, Routed, net_rate_m_s, route, storm_durations_s, storm_of
from roofwell.system.well_record import SPILL_SHARE
from roofwell.tables.trials import trial

SHAPES = ("alternating blocks", "uniform")


def held_storms(
    scheme: Scheme,
    survey: Survey,
    inflow: Inflow,
    stores: Sequence[network.Store],
    *,
    slow: Sequence[network.Store] | None = None,
    fast: Sequence[network.Store] | None = None,
) -> tuple[HeldStorm, ...]:
    """Return the longest return period that each well holds, for each shape of the storm.

    Held, as ``storm-held`` counts: what stands in the well, what spills and what never got in are together no more than
    it has, in any duration up to the design storm's. ``slow`` and ``fast``: the stores with the slowest and the fastest
    soil, where the soil has a range.
    """
    out = []
    for shape in SHAPES:
        middle = _search(survey, inflow, stores, shape)
        ends = [
            _search(survey, inflow, other, shape) if other is not None else None for other in (slow, fast)
        ]
        for j, well in enumerate(scheme.wells):
            found = middle(j)
            held = HeldStorm(well.id, shape, found.years, found.reach, _greater(survey, found))
            if ends[0] is not None and ends[1] is not None:
                low, high = ends[0](j), ends[1](j)
                held = replace(
                    held,
                    slow_years=low.years,
                    slow_reach=low.reach,
                    fast_years=high.years,
                    fast_reach=high.reach,
                )
            out.append(held)
    return tuple(out)


def _greater(survey: Survey, held: HeldPeriod) -> float | None:
    """Chance that a greater storm comes within the life counted, the table's series turned into yearly maxima."""
    if held.reach != "within":
        return None
    years = held.years
    if survey.rain.table.series == "partial duration":
        years = annual_from_partial_years(return_period_years=years)
    return chance_of_greater(annual_years=max(years, 1.0), span_years=trial("life"))


def _search(
    survey: Survey, inflow: Inflow, stores: Sequence[network.Store], shape: str
) -> Callable[[int], HeldPeriod]:
    overfilled = overfills(survey, inflow, stores, shape)
    periods = survey.rain.table.return_period_years

    def of_well(j: int) -> HeldPeriod:
        return longest_held(
            lambda years: not overfilled(years, j),
            least_years=float(periods[0]),
            most_years=float(periods[-1]),
        )

    return of_well


def overfills(
    survey: Survey, inflow: Inflow, stores: Sequence[network.Store], shape: str
) -> Callable[[float, int], bool]:
    """Return the function that says whether a storm of a return period asks for more than a well has, in any duration.

    The longest storm is tried first. Where its blocks hold every shorter storm in one piece, at the same steps, it
    brings at least as much water at every instant, and the shorter ones need no trial.
    """
    start = [survey.settings["starting_level"] * float(store.volume_m3[-1]) for store in stores]
    longest_first = storm_durations_s(survey)[::-1]
    joined = linked.groups([store.link for store in stores])
    groups = [next((g for g in joined if j in g), [j]) for j in range(len(stores))]

    @cache
    def tried(years: float, duration_s: float) -> tuple[tuple[bool, ...], bool]:
        storm = storm_of(survey, duration_s, years=years, shape=shape)
        rate = net_rate_m_s(survey, storm.depth_m, storm.step_s)
        run = route(stores, inflow, rate, duration_s=duration_s, step_s=storm.step_s, start_m3=start)
        out = tuple(_over(run, stores, group) for group in groups)
        return out, shape != "uniform" and storm.nested and _one_grid(longest_first, storm.step_s)

    def any_duration(years: float, j: int) -> bool:
        for duration in longest_first:
            out, holds_all = tried(years, duration)
            if out[j]:
                return True
            if holds_all:
                return False
        return False

    return any_duration


def _over(run: Routed, stores: Sequence[network.Store], group: Sequence[int]) -> bool:
    """Whether a rain asks for more than a well has; of linked wells, than they have together."""
    trace = network.summed([run.traces[k] for k in group])
    asked = float(trace.volume_peak_m3.max() + trace.spilled_m3.sum()) + float(run.refused_m3[group].sum())
    return asked > (1 + SPILL_SHARE) * sum(float(stores[k].volume_m3[-1]) for k in group)


def _one_grid(durations_s: Sequence[float], step_s: float) -> bool:
    """Whether all storms have the same step, so that the longest holds each shorter one block by block."""
    return all(abs(duration / step_s - round(duration / step_s)) < 1e-9 for duration in durations_s)
