"""What a turn costs: the fittings that make it, and the angle left over, for many turns at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError

Floats = NDArray[np.float64]

WYE_RAD = math.pi / 4
"""A branch enters a wye at 45 degrees (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class TurnPrices:
    """Angles on sale, rad, and what a turn costs.

    ``left_over`` is the cost of a rest of half the smallest elbow; smaller rests in proportion. A turn up to
    ``free_rad`` is taken up in the joints and costs nothing.
    """

    elbows_rad: tuple[float, ...]
    elbow: float
    wye: float
    inlet: float
    left_over: float
    free_rad: float

    def __post_init__(self) -> None:
        """Refuse prices below zero and angles that are none."""
        if not self.elbows_rad or not all(0 < a <= math.pi for a in self.elbows_rad):
            raise InputError(f"elbows {self.elbows_rad}; each angle must be above 0", code="elbow-angle")
        prices = (self.elbow, self.wye, self.inlet, self.left_over, self.free_rad)
        if not all(math.isfinite(p) and p >= 0 for p in prices):
            raise InputError(f"prices {prices}; none may be below 0", code="route-price")


@lru_cache(maxsize=16)
def _sums(elbows_rad: tuple[float, ...], count: int) -> Floats:
    return np.unique([math.fsum(have) for have in combinations_with_replacement(elbows_rad, count)])


def pieces_and_rest(turn_rad: Floats, elbows_rad: Sequence[float]) -> tuple[NDArray[np.int64], Floats]:
    """Return how many elbows make each turn (n,), and the angle left over, rad, not signed.

    As ``route.elbows`` for one turn: fewest pieces whose rest is at most half the smallest elbow.
    """
    size = np.abs(turn_rad)
    small = min(elbows_rad)
    count = np.zeros(len(size), dtype=np.int64)
    rest = size.copy()
    number = 0
    while True:
        number += 1
        open_ = np.flatnonzero(rest > small / 2 + 1e-9)
        if open_.size == 0:
            return count, rest
        sums = _sums(tuple(elbows_rad), number)
        left = np.abs(size[open_, None] - sums[None, :]).min(axis=1)
        better = left < rest[open_] - 1e-9
        count[open_[better]] = number
        rest[open_[better]] = left[better]


def turn_cost(turn_rad: Floats, prices: TurnPrices) -> Floats:
    """Return the cost of each turn (n,)."""
    count, rest = pieces_and_rest(turn_rad, prices.elbows_rad)
    half = min(prices.elbows_rad) / 2
    cost = prices.elbow * count + prices.left_over * rest / half
    return np.where(np.abs(turn_rad) <= prices.free_rad, 0.0, cost)


def branch_cost(turn_rad: Floats, prices: TurnPrices) -> Floats:
    """Return the cost of bringing a branch that turns by so much (n,) into a wye's 45 degrees."""
    return turn_cost(np.abs(np.abs(turn_rad) - WYE_RAD), prices)
