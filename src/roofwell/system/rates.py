"""How often gutters, downspouts and runs are overrun over the years of the record, in rates of 5 minutes.

Hours are split by fragments of another climate; the split record serves these counts alone, never a volume.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from roofwell import tables
from roofwell.errors import InputError
from roofwell.physics.rain import extremes, fragments, frequency
from roofwell.physics.rain.events import Events
from roofwell.physics.rain.held import Reach
from roofwell.physics.rain.look_back import rarity
from roofwell.physics.rain.record import Record
from roofwell.system.behaviour import Behaviour, DownspoutFlow, FloatArray
from roofwell.system.beyond_facts import Overrun, Rates
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme
from roofwell.system.well_record import RecordBasis
from roofwell.tables.rain_fragments import fragment_source, load_fragments
from roofwell.tables.trials import trial

RATE_S, HOUR_S = 300.0, 3600.0
PARTS = 12
NARROW = 1e-9


def rates(scheme: Scheme, survey: Survey, behaviour: Behaviour, record: RecordBasis) -> Rates | None:
    """Return how often each part is overrun; None without a record or a part with a known size.

    A downspout with its gutter is overrun where it rains harder than it carries; a run where what its downspouts let
    through is more than it carries running full at its own slope.
    """
    rain, found = survey.rain.record, record[1]
    parts = _parts(scheme, survey, behaviour)
    if rain is None or found is None or not parts:
        return None
    least_m = min(rate for _, _, _, rate in parts) * RATE_S
    split = rain.step_s == HOUR_S
    counts: list[float | None] = [None] * len(parts)
    ratio, note = None, ""
    if split:
        peak, ratio = _split_peaks(rain, least_m)
        counts = [_events_year(peak, rate * RATE_S, found, rain) for *_, rate in parts]
    elif rain.step_s <= HOUR_S:
        counts = [_events_year(rain.depth_m, rate * rain.step_s, found, rain) for *_, rate in parts]
        if rain.step_s > RATE_S:
            note = f"the record has steps of {rain.step_s / 60:g} min: bursts within them are not seen"
    else:
        note = "the record has steps longer than an hour, which cannot be split"
    return Rates(
        step_s=RATE_S if split else float(rain.step_s),
        split=split,
        place=fragment_source().place if split else "",
        seed=round(trial("fragments-seed")) if split else 0,
        ratio=ratio,
        table_ratio=_table_ratio(survey) if split else None,
        allowed=tables.limit("fragments-ratio").value_si,
        parts=tuple(
            Overrun(id, kind, carries, rate, *_rarity(survey, rate), count)
            for (id, kind, carries, rate), count in zip(parts, counts, strict=True)
        ),
        note=note,
    )


def _parts(scheme: Scheme, survey: Survey, behaviour: Behaviour) -> list[tuple[str, str, float, float]]:
    """Return id, kind, what it carries (m³/s) and the rain (m/s) that it just carries, of each part that can be overrun."""
    runoff = survey.settings["runoff_coefficient"]
    area = {spout.id: spout.roof_area_m2 * runoff for spout in scheme.downspouts}
    flows = {flow.id: flow for flow in behaviour.downspouts}
    out = [
        (flow.id, "downspout", flow.limit_m3_s, flow.limit_m3_s / area[flow.id])
        for flow in behaviour.downspouts
        if np.isfinite(flow.limit_m3_s) and area[flow.id] > 0 and flow.limit_m3_s > 0
    ]
    for run in behaviour.runs:
        spouts = [flows[spout.id] for spout in scheme.upstream_downspouts(run.id)]
        rate = _full_rate(run.full_m3_s, spouts, area)
        if rate is not None:
            out.append((run.id, "run", run.full_m3_s, rate))
    return out


def _full_rate(full_m3_s: float, spouts: Sequence[DownspoutFlow], area: dict[str, float]) -> float | None:
    """Return the rain (m/s) at which the downspouts bring as much as a run carries full; None if they never do."""
    wet = sum(area[spout.id] for spout in spouts)
    if (
        full_m3_s <= 0
        or wet <= 0
        or sum(spout.limit_m3_s for spout in spouts if area[spout.id] > 0) <= full_m3_s
    ):
        return None

    def brings(rate: float) -> float:
        return sum(min(rate * area[spout.id], spout.limit_m3_s) for spout in spouts)

    low = full_m3_s / wet  # no rain below this brings so much
    high = low
    while brings(high) < full_m3_s:
        high *= 2.0
    while high - low > NARROW * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if brings(middle) < full_m3_s else (low, middle)
    return high


def _split_peaks(record: Record, least_m: float) -> tuple[FloatArray, float | None]:
    """Return the wettest 5 minutes of each hour, m (0 where it cannot matter), and the ratio of the yearly wettest 5
    minutes to the yearly wettest hour: both begin on the clock, and lose as much by it.

    Hours that cannot bring the least rate, nor the wettest 5 minutes of their year, are left whole.
    """
    hour = record.depth_m
    maxima = extremes.annual_maxima(
        record, window_s=HOUR_S, least_coverage=1.0 - tables.limit("rain-record-missing").value_si
    )
    yearly = {year.year: year.depth_m for year in maxima if year.depth_m}
    enough = min([least_m, *(depth / PARTS for depth in yearly.values())])
    at = np.flatnonzero(hour >= enough)
    shipped = load_fragments()
    library = fragments.FragmentLibrary(shipped.parts_m, shipped.kind)
    kinds = fragments.kinds_of(hour)
    parts = fragments.split(
        depth_m=hour[at], library=library, seed=round(trial("fragments-seed")), kind=kinds[at]
    )
    peak = np.zeros(hour.size)
    peak[at] = parts.max(axis=1)
    if not yearly:
        return peak, None
    of_step = record.step_years()
    short = [float(peak[of_step == year].max()) for year in yearly]
    return peak, float(np.mean(short) / (np.mean(list(yearly.values()))))


def _events_year(depth_m: FloatArray, most_m: float, found: Events, record: Record) -> float:
    steps = np.flatnonzero(depth_m > most_m)
    return len(np.unique(found.event_of_step[steps])) / record.years


def _table_ratio(survey: Survey) -> float | None:
    """Return the table's 2-year depth of 5 minutes over that of an hour; None where it does not hold both."""
    table = frequency.as_series(survey.rain.measured_table, series="partial duration")
    try:
        short, hour = frequency.depths_m(
            table, duration_s=np.array([RATE_S, HOUR_S]), return_period_years=2.0
        )
    except InputError:
        return None
    return float(short / hour)


def _rarity(survey: Survey, rate_m_s: float) -> tuple[float | None, Reach | None]:
    table = survey.rain.table
    if not table.duration_s[0] <= RATE_S <= table.duration_s[-1]:
        return None, None
    rare = rarity(table, duration_s=RATE_S, depth_m=rate_m_s * RATE_S)
    return rare.years, rare.reach
