"""Flows that come in some steps only, constant by stretches: how a spill is handed on exactly from store to store.

Steps in which nothing is handed on are not in them, so that a dry step costs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roofwell.physics import compiled

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Stretches:
    """A flow in the steps ``step``, rising; in the k-th of them its stretches are ``first[k]`` to ``first[k + 1]``."""

    step: IntArray
    first: IntArray
    duration_s: FloatArray
    rate_m3_s: FloatArray

    @classmethod
    def room(cls, steps: int, count: int) -> Stretches:
        """Return room for ``count`` stretches in so many steps."""
        return cls(
            np.empty(steps, dtype=np.int64),
            np.zeros(steps + 1, dtype=np.int64),
            np.empty(count),
            np.empty(count),
        )

    def room_for_spill(self, spilling: int) -> Stretches:
        """Return room for the spill of a store that this flow reaches, and that may spill in so many steps besides.

        A stretch is cut at most once, where the store becomes full; the rest of the step may follow.
        """
        steps = self.step.size + spilling
        return Stretches.room(steps, 2 * (self.duration_s.size + spilling) + steps)

    def used(self, counts: IntArray) -> Stretches:
        """Return what was written: so many steps and stretches."""
        steps, count = int(counts[0]), int(counts[1])
        return Stretches(
            self.step[:steps], self.first[: steps + 1], self.duration_s[:count], self.rate_m3_s[:count]
        )

    def by_step_m3(self, steps: int) -> FloatArray:
        """Return the volume of each of so many steps, m³."""
        out = np.zeros(steps)
        if self.step.size:
            out[self.step] = np.add.reduceat(self.duration_s * self.rate_m3_s, self.first[:-1])
        return out

    def plus(self, other: Stretches) -> Stretches:
        """Return the sum of two flows, cut where either one changes."""
        out = Stretches.room(
            self.step.size + other.step.size, self.rate_m3_s.shape[0] + other.rate_m3_s.shape[0]
        )
        counts = np.zeros(2, dtype=np.int64)
        compiled.kernel().merge()(
            self.step, self.first, self.duration_s, self.rate_m3_s,
            other.step, other.first, other.duration_s, other.rate_m3_s,
            out.step, out.first, out.duration_s, out.rate_m3_s, counts,
        )  # fmt: skip
        return out.used(counts)


def total(flows: Sequence[Stretches]) -> Stretches:
    """Return the sum of flows; of none, a flow that never comes."""
    out = flows[0] if flows else Stretches.room(0, 0)
    for flow in flows[1:]:
        out = out.plus(flow)
    return out


def aligned(
    feeders: Sequence[tuple[int, Stretches]], places: int
) -> tuple[Stretches, FloatArray, list[Stretches]]:
    """Return what is fed to several places on the same stretches: these, and the rates, shape (stretches, places).

    The cuts depend on the lengths alone, so adding every feeder to every place, at rate 0 where it is not
    its own, gives the same ones for all. The last are the sums of each place.
    """
    sums = [
        total(
            [
                feeder if to == place else replace(feeder, rate_m3_s=np.zeros_like(feeder.rate_m3_s))
                for to, feeder in feeders
            ]
        )
        for place in range(places)
    ]
    rates = np.ascontiguousarray(np.stack([one.rate_m3_s for one in sums], axis=1))
    return sums[0], rates, sums
