"""Which shipped rain stands in where the job gives no coordinates: by the state it names, else by the depth of its rain.

It is marked as not of this place whatever the choice; a choice with a reason is only less wrong than the first of a list.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

from roofwell import tables
from roofwell.physics.rain import extremes, frequency
from roofwell.physics.rain.frequency import FrequencyTable
from roofwell.physics.rain.record import record_from_series
from roofwell.tables import rain_library
from roofwell.tables.rain_library import Entry, Kind

HOUR_S = 3600.0
COMPARED_YEARS, COMPARED_S = 10.0, 24 * HOUR_S


def stand_in(kind: Kind, *, place: str | None, table: FrequencyTable | None) -> tuple[Entry, str]:
    """Return the shipped entry that stands in for the rain of a place without coordinates, and why that one.

    Parameters
    ----------
    place
        Name of the place; a state in it ("Salem, OR", "Oregon") leads to the entry nearest to the state's middle.
    table
        Rain table of the job: without a state, the record whose own rain of a day, once in ten years, comes nearest
        to the table's. None where there is none yet.
    """
    state = named_state(place)
    if state is not None:
        middle = {key: float(state[key]) for key in ("latitude_deg", "longitude_deg")}
        found = rain_library.nearest(kind=kind, style="us", **middle)[0].entry  # only which is nearest
        return found, f"of those shipped the nearest to the middle of {state['name']}"
    if kind == "record" and table is not None:
        compared = _compared(table)
        if compared is not None:
            duration_s, years = compared
            annual = _annual(table, years)
            depth = frequency.depth_m(table, duration_s=duration_s, return_period_years=years)
            hours = f"{duration_s / HOUR_S:g} h"
            best = min(
                rain_library.entries("record"),
                key=lambda entry: abs(math.log(record_depth_m(entry.id, duration_s, annual) / depth)),
            )
            return (
                best,
                f"of those shipped the one whose {years:g}-year rain in {hours} comes nearest to the table's",
            )
    return rain_library.entries(kind)[
        0
    ], "the first of those shipped, since nothing says where the house stands"


def named_state(place: str | None) -> dict[str, str] | None:
    """Return the row of the US state that a place's name holds: its two letters after a comma, or its name."""
    if place is None:
        return None
    rows = tables.rows("us_states")
    letters = re.search(r",\s*([A-Z]{2})\b", place)
    if letters is not None:
        by_code = next((row for row in rows if row["code"] == letters.group(1)), None)
        if by_code is not None:
            return by_code
    held = [row for row in rows if re.search(rf"\b{row['name']}\b", place, re.IGNORECASE)]
    return max(held, key=lambda row: len(row["name"]), default=None)


def _compared(table: FrequencyTable) -> tuple[float, float] | None:
    """Duration and return period at which a table is compared: a day, ten years, or the nearest that it holds."""
    duration = min(COMPARED_S, float(table.duration_s[-1]) // HOUR_S * HOUR_S)
    if duration < max(HOUR_S, float(table.duration_s[0])):
        return None
    held = table.return_period_years
    years = min(max(COMPARED_YEARS, float(held[0])), float(held[-1]))
    return (duration, years) if _annual(table, years) > 1 else None


def _annual(table: FrequencyTable, years: float) -> float:
    if table.series == "annual maximum":
        return years
    return frequency.annual_from_partial_years(return_period_years=years)


@lru_cache(maxsize=64)
def record_depth_m(entry_id: str, duration_s: float, annual_years: float) -> float:
    """Return the depth of an annual return period in a shipped record, m: extreme values fitted by L-moments."""
    record = record_from_series(rain_library.load_record(entry_id))
    least = tables.limit("rain-year-coverage").value_si
    years = extremes.annual_maxima(record, window_s=duration_s, least_coverage=least)
    known = [year.depth_m for year in years if year.depth_m is not None]
    return extremes.fit_gev(known).quantile(return_period_years=annual_years)
