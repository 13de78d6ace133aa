"""The gauge record's own partial-duration statistics beside the rain table."""

from __future__ import annotations

from roofwell.errors import InputError
from roofwell.physics.rain import frequency, partial
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import Record
from roofwell.system.beyond_facts import RecordDepth, RecordStatistics
from roofwell.tables.trials import trial

WINDOWS_H = (1, 2, 3, 6, 12, 24)
YEARS = (2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
HOUR_S = 3600.0


def record_statistics(
    record: Record, *, name: str, here: bool, table: FrequencyTable | None, gap_s: float
) -> RecordStatistics:
    """Return depths of the record for durations and return periods, each with its sampling range, beside the table's.

    Parameters
    ----------
    record
        As measured, not raised for a wetter climate.
    here
        Whether it is of this place (a scaled one is not).
    table
        As published; None without one.
    gap_s
        Dry time that parts one rain event from the next, s: rains of the series lie at least this, and 24 h, apart.
    """
    years = record.years * (1.0 - record.share_missing)
    apart = max(gap_s, trial("partial-apart"))
    within, samples, seed = (
        trial("partial-within"),
        round(trial("partial-samples")),
        round(trial("partial-seed")),
    )
    windows = [
        h * HOUR_S for h in WINDOWS_H if h * HOUR_S >= record.step_s and (h * HOUR_S) % record.step_s == 0
    ]
    asked = [period for period in YEARS if period <= trial("partial-reach") * years]
    depths: list[RecordDepth] = []
    why_not = "" if windows else "its steps are longer than a day, or do not make up hours"
    for window in windows:
        try:
            series = partial.partial_duration(
                record,
                window_s=window,
                return_period_years=asked,
                apart_s=apart,
                within=within,
                samples=samples,
                seed=seed,
            )
        except InputError as error:
            why_not = error.message
            continue
        for q in series.quantiles:
            held = _held(table, window, q.return_period_years)
            depths.append(RecordDepth(window, q.return_period_years, q.depth_m, q.low_m, q.high_m, *held))
    return RecordStatistics(
        name,
        here,
        years,
        apart,
        within,
        samples,
        seed,
        tuple(depths),
        "" if depths else why_not or "too short",
    )


def _held(
    table: FrequencyTable | None, duration_s: float, years: float
) -> tuple[float | None, float | None, float | None]:
    """Return the table's depth and its bounds, in partial-duration return periods."""
    if table is None:
        return None, None, None
    partial_table = frequency.as_series(table, series="partial duration")
    found: list[float | None] = []
    for grid in (partial_table.depth_m, partial_table.lower_m, partial_table.upper_m):
        if grid is None:
            found.append(None)
            continue
        of = frequency.FrequencyTable(
            partial_table.duration_s, partial_table.return_period_years, grid, "partial duration"
        )
        try:
            found.append(frequency.depth_m(of, duration_s=duration_s, return_period_years=years))
        except InputError:
            found.append(None)
    return found[0], found[1], found[2]
