"""5. Does it hold and soak away?"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from roofwell import tables, units
from roofwell.checks.finding import Op
from roofwell.checks.record_words import spills
from roofwell.checks.register import Context, Measured, check, office_limit
from roofwell.checks.soakage_words import MODEL_WORDS, tested_depth_words
from roofwell.system.behaviour import OfficeCount, StormResult, WellBehaviour
from roofwell.system.leaks import leaking_parts
from roofwell.system.soil_layers import JUST_UNDER_M, rate_at_m_s

BY_OFFICE = "by the office's count"
NEEDS = (
    "wells.size",
    "soil.rate",
    "wells.soakage",
    "wells.at",
    "site.outlet",
    "roofs",
    "downspouts",
    "runs.size",
    "rain.storm",
)


@dataclass(frozen=True, slots=True)
class _Count:
    """One way of counting a well's soakage, and how a target is judged by it.

    ``of`` picks what a well does by it; ``beside``: the permit office prescribes another way, and is judged too.
    """

    subject: str
    model: str
    of: Callable[[WellBehaviour], WellBehaviour | OfficeCount]
    is_office: bool
    beside: bool

    def source(self, come_from: str, otherwise: str) -> str:
        """Return the source of a target: the office's own where its way of counting, or nobody's, is prescribed."""
        return "rule-file" if come_from == "rule file" and not self.beside else otherwise


def _counts(context: Context, well: WellBehaviour) -> Iterator[_Count]:
    """The design's own way of counting a well's soakage and, where it prescribes another one, the office's."""
    model = next(part.soakage for part in context.scheme.wells if part.id == well.id)
    office = well.by_office
    yield _Count(well.label, model, lambda w: w, False, office is not None)
    if office is not None:
        yield _Count(f"{well.label} {BY_OFFICE}", office.model, lambda w: w.by_office or w, True, False)


def _ends(
    context: Context, id: str, value: Callable[[WellBehaviour], float]
) -> tuple[float | None, float | None]:
    """The value with the slowest and with the fastest soil, while the soil is not known."""
    if context.low is None or context.high is None:
        return None, None
    return value(context.low.well(id)), value(context.high.well(id))


def _time(value_s: float) -> str:
    return units.show_time(value_s) if math.isfinite(value_s) else "never"


def _storm_sentence(context: Context, well: WellBehaviour, storm: StormResult, needs: str, by: _Count) -> str:
    style = context.survey.style
    if not math.isfinite(well.holds_rain_m):
        return f"No roof leads to {well.label} yet."
    if by.is_office:
        return (
            f"Counted as the office asks, {MODEL_WORDS[by.model]}, the hardest {storm.return_period_years:g}-year storm "
            f"needs {needs} of the room of {well.label}."
        )
    rain = units.show_rain(well.holds_rain_m, style)
    at = units.show_rate(context.behaviour.intensity_m_s, style)
    fill = well.cloudburst_fill_s
    filled = f" (at {at} it is full in {units.show_time(fill)})" if fill is not None else ""
    return (
        f"{well.label} holds {rain} of rain on its roof{filled}; the hardest {storm.return_period_years:g}-year storm "
        f"needs {needs} of its room."
    )


def _stated(context: Context, storm: StormResult) -> str:
    """How the storm is spread over its time, and how full the well is when it begins."""
    start = context.survey.settings["starting_level"]
    return (
        storm.shape if start <= 0 else f"{storm.shape}, the well {units.show_percent(start)} full before it"
    )


def _needed(well: WellBehaviour, *, by: _Count, hands_on: bool) -> float:
    """Storage that the worst design storm asks for, as a share of what the well has.

    Water that its pipes could not bring in counts too: it comes out at the house. Where the overflow leads to
    another well, what is handed on is judged there.
    """
    storm = by.of(well).critical
    if storm is None:
        return 0.0
    over = 0.0 if hands_on else storm.spilled_m3
    return (storm.peak_m3 + over + storm.refused_m3) / well.storage_m3


def _least_pipe(
    context: Context, need: float, low: float | None, high: float | None
) -> tuple[float | None, float | None]:
    """Widen the range for an existing pipe of unknown size: a narrower one than the stand-in only adds to the need.

    What a pipe does not bring in comes out at the house, and counts, so the need with the stand-in is the least.
    """
    lacking = context.missing & set(NEEDS)
    if "runs.size" not in lacking or lacking - {"runs.size", "soil.rate"}:
        return low, high
    return min(end for end in (low, high, need) if end is not None), math.inf


def _needs_words(context: Context, need: float, low: float | None, high: float | None) -> str:
    """The share that the storm needs; its range while a measurement leaves one."""
    ends = [] if low is None or high is None else sorted((low, high))
    if not ends or not math.isfinite(ends[1]) or not context.missing & set(NEEDS):
        return units.show_percent(need)
    least, most = (units.show_percent(end) for end in ends)
    return least if least == most else f"{least} to {most}"


def _hands_on(context: Context, id: str) -> bool:
    overflow = context.scheme.overflow_of(context.scheme.spills_at(id))
    return overflow is not None and overflow.to in {well.id for well in context.scheme.wells}


@check(
    "storm-held",
    question=5,
    needs=NEEDS,
    value="what the hardest storm asks of {}",
    about=(
        "Storage that the design storm asks for, of whatever duration is worst, as a share of what the well has: "
        "above 100 % it spills. Where the permit office prescribes another way of counting soakage than the design's "
        "own, the well is judged by both."
    ),
)
def storm_held(context: Context) -> Iterator[Measured]:
    """The store is followed exactly; see the method."""
    for well in context.behaviour.stores:
        for by in _counts(context, well):
            storm = by.of(well).critical
            if storm is not None:
                yield _storm_held(context, well, storm, by)


def _storm_held(context: Context, well: WellBehaviour, storm: StormResult, by: _Count) -> Measured:
    style = context.survey.style
    needed = partial(_needed, by=by, hands_on=_hands_on(context, well.id))
    need = needed(well)
    low, high = _least_pipe(context, need, *_ends(context, well.id, needed))
    spill = f"; it spills {units.show_volume(storm.spilled_m3, style)}" if storm.spilled_m3 > 0 else ""
    if storm.refused_m3 > 0:
        spill += f"; {units.show_volume(storm.refused_m3, style)} never get in and come out further up"
    counted = f" Soakage counted: {MODEL_WORDS[by.model]}." if not by.is_office else ""
    return Measured(
        subject=by.subject,
        value=need,
        op="at most",
        limit=1.0,
        scale=1.0,
        low=low,
        high=high,
        show=units.show_percent,
        value_text=f"{units.show_percent(need)} of the storage{spill}",
        limit_text=f"at most 100 % in the {storm.return_period_years:g}-year storm",
        sentence=_storm_sentence(context, well, storm, _needs_words(context, need, low, high), by),
        detail=f"That storm lasts {units.show_time(storm.duration_s)} ({_stated(context, storm)}).{counted}",
        source=by.source(context.survey.targets.storm_from, "own-choice"),
    )


def _not_reached(context: Context, id: str) -> str:
    well = next(well for well in context.scheme.wells if well.id == id)
    words = tested_depth_words(context.survey, well)
    return f" {words}" if words else ""


@check(
    "well-drain-down",
    question=5,
    needs=tuple(leaf for leaf in NEEDS if leaf != "runs.size"),
    value="time to empty {}",
    about=(
        "Time from full to empty with the soil's design rate. Empty: 1 mm of water or 0.1 % of the volume left. By "
        "both ways of counting soakage where the permit office prescribes another one."
    ),
)
def well_drain_down(context: Context) -> Iterator[Measured]:
    """Closed form, segment by segment."""
    limit = context.survey.targets.empty_s
    for well in context.behaviour.stores:
        for by in _counts(context, well):
            low, high = _ends(context, well.id, partial(_drains, by=by))
            drain = _drains(well, by=by)
            yield Measured(
                subject=by.subject,
                value=drain,
                op="at most",
                limit=limit,
                scale=limit,
                low=low,
                high=high,
                show=_time,
                sentence=(
                    f"{_as_office(by)}ull, {well.label} is empty again after {units.show_time(drain)}."
                    if math.isfinite(drain)
                    else f"{well.label} never empties."
                )
                + ("" if by.is_office else _not_reached(context, well.id)),
                source=by.source(context.survey.targets.empty_from, "infiltration-drawdown"),
            )


def _drains(well: WellBehaviour, *, by: _Count) -> float:
    return by.of(well).drain_time_s


def _as_office(by: _Count) -> str:
    return f"Counted as the office asks, {MODEL_WORDS[by.model]}, f" if by.is_office else "F"


@check(
    "spills-a-year",
    question=5,
    needs=(*NEEDS, "rain.record"),
    value="spills of {}",
    about="Rain events of the long record in which the well spills, per year. Judged where a target is set.",
)
def spills_a_year(context: Context) -> Iterator[Measured]:
    """Counted per rain event, not per gap between spills."""
    target = context.survey.targets.spills_year
    if target is None:
        return
    for well in context.behaviour.stores:
        if well.record is None:
            continue
        low, high = _ends(context, well.id, lambda w: w.record.spills_year if w.record else math.nan)
        scale = tables.limit("spills-scale").value_si
        slow, fast = well.record_low, well.record_high
        # with a tested soil, what its slowest test would add is the stated uncertainty of the number
        more = slow.spills_year - well.record.spills_year if slow is not None else 0.0
        off = context.behaviour.donor_range  # of a record scaled from another place
        if off is not None:
            more = max(more, off.of(well.id)[1] - well.record.spills_year)
        scaled = (
            f" ({off.of(well.id)[0]:.1f} to {off.of(well.id)[1]:.1f} by its range)" if off is not None else ""
        )
        text = spills(well.record, slow, fast, known=True)
        yield Measured(
            subject=well.label,
            value=well.record.spills_year,
            op="at most",
            limit=target,
            scale=scale,
            uncertainty=max(0.1 * scale, more),
            low=low,
            high=high,
            show=lambda v: f"{v:.1f} a year",
            value_text=f"{text} a year",
            sentence=(
                f"Over {well.record.years:.0f} years of rain at {well.record.name} {well.label} spills {text} times a "
                f"year{scaled}."
            ),
            source="kernel",
        )


@check(
    "soil-fast-enough",
    question=5,
    needs=("soil.rate",),
    value="what the {} takes in",
    about="The soil's tested rate against the least rate that the office allows for a dry well.",
)
def soil_fast_enough(context: Context) -> Iterator[Measured]:
    """Only where the office names a least rate."""
    rules = context.survey.rules
    yield from _soil_rate(context, rules.well.least_rate if rules is not None else None, "at least")


@check(
    "soil-slow-enough",
    question=5,
    needs=("soil.rate",),
    value="what the {} takes in",
    about="The soil's tested rate against the greatest rate that the office allows: faster soil cleans too little.",
)
def soil_slow_enough(context: Context) -> Iterator[Measured]:
    """Only where the office names a greatest rate."""
    rules = context.survey.rules
    yield from _soil_rate(context, rules.well.most_rate if rules is not None else None, "at most")


def _soil_rate(context: Context, rule: units.Quantity | str | None, op: Op) -> Iterator[Measured]:
    leaks = leaking_parts(context.scheme)
    if rule is None or not leaks:
        return
    limit = office_limit(rule)
    style = context.survey.style
    soil = context.survey.soil
    rates: list[tuple[str, float, float, float]]
    if soil.layers:  # each pit ends in a soil of its own
        depths = [(leak.id, leak.ground_m - leak.bottom_m + JUST_UNDER_M) for leak in leaks]
        rates = [
            (
                f"soil under {id}",
                rate_at_m_s(soil, depth, soil.low_m_s),
                rate_at_m_s(soil, depth, soil.best_m_s),
                rate_at_m_s(soil, depth, soil.high_m_s),
            )
            for id, depth in depths
        ]
    else:
        rates = [("soil", soil.low_m_s, soil.best_m_s, soil.high_m_s)]
    for subject, low, best, high in rates:
        yield Measured(
            subject=subject,
            value=best,
            op=op,
            limit=limit.value,
            scale=limit.scale,
            low=None if soil.known else low,
            high=None if soil.known else high,
            show=lambda v: units.show_rate(v, style),
            limit_text=limit.text,
            sentence=f"The {subject} takes {units.show_rate(best, style)} ({soil.basis}).",
            source="rule-file",
            also_missing=limit.missing,
        )


def _clears(well: WellBehaviour) -> float:
    """Time after the rain until the well has stopped spilling and could have taken in all that it spilled, s."""
    storm = well.critical
    if storm is None or storm.spilled_m3 <= 0:
        return 0.0
    if well.soakage_full_m3_s <= 0:
        return math.inf
    full = [i for i, v in enumerate(well.trace_volume_m3) if v >= well.storage_m3 * (1 - 1e-9)]
    last = float(well.trace_time_s[full[-1]]) if full else 0.0
    return max(0.0, last - storm.duration_s) + storm.spilled_m3 / well.soakage_full_m3_s


@check(
    "lawn-clear",
    question=5,
    needs=NEEDS,
    value="time until the lawn at {} is clear",
    about=(
        "Hours after the end of the design storm until the lawn is clear of what the well spilled. Judged where a "
        "target is set. Counted as the time in which the full well soaks away as much as it spilled; what the lawn "
        "takes in by itself is not counted."
    ),
)
def lawn_clear(context: Context) -> Iterator[Measured]:
    """Zero where the storm is held."""
    target = context.survey.targets.lawn_clear_s
    if target is None:
        return
    for well in context.behaviour.stores:
        if well.critical is None:
            continue
        low, high = _ends(context, well.id, _clears)
        after = _clears(well)
        text = _time(after)
        yield Measured(
            subject=well.label,
            value=after,
            op="at most",
            limit=target,
            scale=target,
            low=low,
            high=high,
            show=_time,
            sentence=(
                f"After the design storm the lawn at {well.label} is clear in {text}, counted as if all that spilled "
                "had to soak away through the well: what the lawn takes in by itself is not counted."
                if after > 0
                else f"{well.label} holds the design storm: nothing comes out on the lawn."
            ),
            source="kernel",
        )
