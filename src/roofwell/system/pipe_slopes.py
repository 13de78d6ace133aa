"""How steep a buried pipe is laid: least and best slope by its size."""

from __future__ import annotations

from roofwell import tables, units
from roofwell.system.facts import Survey
from roofwell.system.roof_parts import length_of
from roofwell.units import Dimension, parse

LIKE_OURS = ("downspout pipe to a dry well", "storm drain in a building or to it")
SAME_SIZE_M = 0.002


def least_slope(nominal_m: float, survey: Survey) -> tuple[float, str]:
    """Return the least slope for a size, m/m, and its source: the rule file's, else the published one."""
    rule = survey.rules.pipe.least_slope if survey.rules is not None else None
    if isinstance(rule, units.Quantity):
        return rule.value_si, "rule-file"
    rows = [row for row in tables.rows("least_slope") if row["condition"] in LIKE_OURS]
    row = _of_size(nominal_m, rows)
    return parse(row["slope"], Dimension.SLOPE).value_si, row["source"]


def best_slope(nominal_m: float) -> float:
    """Return the slope that a size is laid at where it costs little more digging, m/m."""
    row = _of_size(nominal_m, list(tables.rows("best_slope")))
    return parse(row["slope"], Dimension.SLOPE).value_si


def _of_size(nominal_m: float, rows: list[dict[str, str]]) -> dict[str, str]:
    """The row of the largest size that is not above this one."""
    fit = [row for row in rows if length_of(row["nominal_from"]) <= nominal_m + SAME_SIZE_M]
    return max(fit, key=lambda row: length_of(row["nominal_from"]))
