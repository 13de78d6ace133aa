"""The longest return period whose storm something still holds, found within the range of a table."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from roofwell.errors import InputError

Reach = Literal["below", "within", "beyond"]


@dataclass(frozen=True, slots=True)
class HeldPeriod:
    """``years``: the longest return period that was seen to be held; the table's least or most where the answer lies
    ``"below"`` (not even the least is held) or ``"beyond"`` it (the most is held)."""

    years: float
    reach: Reach


def chance_of_greater(*, annual_years: float, span_years: float) -> float:
    """Return the chance that a storm greater than one of an annual return period comes within a span of years.

    1 − (1 − 1/T)^n, years being independent. ``annual_years`` at least 1, ``span_years`` 0 or more; raises
    ``InputError`` (``rain-return-period``). Source: derived (reference sheet, infiltration P3).

    >>> round(chance_of_greater(annual_years=10.0, span_years=20.0), 4)
    0.8784
    """
    if not (annual_years >= 1 and span_years >= 0):
        raise InputError(
            f"an annual return period of {annual_years:g} years in a span of {span_years:g} years; give at least 1, and"
            " 0 or more",
            code="rain-return-period",
        )
    return 1.0 - math.pow(1.0 - 1.0 / annual_years, span_years)


def longest_held(
    holds: Callable[[float], bool], *, least_years: float, most_years: float, within: float = 0.005
) -> HeldPeriod:
    """Return the longest return period that is held, by bisection of its logarithm.

    Parameters
    ----------
    holds
        Whether the storm of a return period (years) is held; true up to some period and false above it.
    least_years, most_years
        Range of the table, years, above 0; never left.
    within
        Relative width at which the search ends, above 0. What is returned was seen to hold; ``within`` above it
        something does not.

    Raises
    ------
    InputError
        ``rain-return-period`` for a range or a width that cannot be.

    >>> longest_held(lambda years: years <= 14.0, least_years=1.0, most_years=100.0).reach
    'within'
    """
    if not (0 < least_years <= most_years < math.inf and within > 0):
        raise InputError(
            f"return periods from {least_years:g} to {most_years:g} years to within {within:g}; give a range"
            " above 0 and a width above 0",
            code="rain-return-period",
        )
    if holds(most_years):
        return HeldPeriod(most_years, "beyond")
    if most_years == least_years or not holds(least_years):
        return HeldPeriod(least_years, "below")
    low, high = math.log(least_years), math.log(most_years)
    while high - low > math.log1p(within):
        middle = 0.5 * (low + high)
        if holds(math.exp(middle)):
            low = middle
        else:
            high = middle
    return HeldPeriod(math.exp(low), "within")
