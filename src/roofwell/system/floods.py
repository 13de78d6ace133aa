"""Look-back: what fell on the day it flooded, how rare that is, and what the present Scheme would have done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

import numpy as np

from roofwell.physics import network
from roofwell.physics.rain.look_back import DAY_S, HOUR_S, Rarity, rain_of_day, rarity
from roofwell.physics.rain.record import Record
from roofwell.system.beyond_facts import Flood
from roofwell.system.facts import Survey
from roofwell.system.storm_run import Inflow
from roofwell.system.well_record import RecordBasis

RUN_UP_S = 30 * 86400.0
HOW = (
    "ask the nearest public gauge for its hourly rain of that day and the days around it (the weather service's climate"
    " archive keeps them) and name the file as rain.record"
)


def floods(
    survey: Survey, inflow: Inflow | None, stores: Sequence[network.Store], record: RecordBasis
) -> tuple[Flood, ...]:
    """Return one row for each flood date of the complaint, in their order."""
    return tuple(_flood(survey, day, inflow, stores, record[0]) for day in survey.flood_dates)


def _flood(
    survey: Survey,
    day: date,
    inflow: Inflow | None,
    stores: Sequence[network.Store],
    net_m: np.ndarray | None,
) -> Flood:
    rain, record = survey.rain, survey.rain.record
    if record is None:
        return _unknown(survey, day, None, f"there is no long record: {HOW}")
    found = rain_of_day(record, day=np.datetime64(day.isoformat(), "D"))
    if found is None:
        begins, ends = (str(moment.astype("datetime64[D]")) for moment in (record.start, record.end - 1))
        return _unknown(survey, day, None, f"the record runs from {begins} to {ends}: {HOW}")
    if found.missing_share >= 1.0:
        return _unknown(survey, day, found.missing_share, f"the record has a gap on that day: {HOW}")
    note = "" if found.missing_share == 0 else "part of the day is missing: at least this much fell"
    hour = _rare(survey, HOUR_S, found.peak_hour_m)
    whole = _rare(survey, DAY_S, found.wettest_day_m)
    return Flood(
        day=day,
        record=rain.record_name,
        of_this_place=rain.record_of_this_place,
        depth_m=found.depth_m,
        missing_share=found.missing_share,
        peak_hour_m=found.peak_hour_m,
        peak_start=_moment(found.peak_start),
        hour_years=hour.years if hour is not None else None,
        hour_reach=hour.reach if hour is not None else None,
        wettest_day_m=found.wettest_day_m,
        day_years=whole.years if whole is not None else None,
        day_reach=whole.reach if whole is not None else None,
        spilled_m3=_spilled(survey, record, day, inflow, stores, net_m),
        note=note,
        snow=None if rain.snow_months is None else day.month - 1 in rain.snow_months,
    )


def _unknown(survey: Survey, day: date, missing: float | None, note: str) -> Flood:
    nothing = dict.fromkeys(
        (
            "depth_m", "peak_hour_m", "peak_start", "hour_years", "hour_reach", "wettest_day_m", "day_years",
            "day_reach", "spilled_m3",
        )
    )  # fmt: skip
    return Flood(
        day=day,
        record=survey.rain.record_name,
        of_this_place=survey.rain.record_of_this_place,
        missing_share=missing,
        note=note,
        **nothing,
    )


def _moment(when: np.datetime64 | None) -> datetime | None:
    return None if when is None else datetime.fromisoformat(str(when.astype("datetime64[s]")))


def _rare(survey: Survey, duration_s: float, depth_m: float | None) -> Rarity | None:
    table = survey.rain.table
    if depth_m is None or not table.duration_s[0] <= duration_s <= table.duration_s[-1]:
        return None
    return rarity(table, duration_s=duration_s, depth_m=depth_m)


def _spilled(
    survey: Survey,
    record: Record,
    day: date,
    inflow: Inflow | None,
    stores: Sequence[network.Store],
    net_m: np.ndarray | None,
) -> float | None:
    """What the wells would have let out on the day and the next; the month before it fills them."""
    if net_m is None or inflow is None or not stores or not survey.soil.known:
        return None
    step = float(record.step_s)
    begin = np.datetime64(day.isoformat(), "s")
    at = int((begin - record.start) // np.timedelta64(record.step_s, "s"))
    first, last = max(at - int(RUN_UP_S / step), 0), min(at + int(2 * DAY_S / step), record.steps)
    arriving, turned_away = inflow(net_m[first:last] * survey.settings["runoff_coefficient"] / step)
    traces = network.simulate(list(stores), arriving, step_s=step)
    since = at - first
    out = float(turned_away[since:].sum()) * step
    for store, trace in zip(stores, traces, strict=True):
        out += float(trace.refused_m3[since:].sum())
        if store.overflow_to is None:
            out += float(trace.spilled_m3[since:].sum())
    return out
