"""What a record's report needs of a well, gathered while the record runs: by rain event, largest, totals."""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from roofwell.system.behaviour import FloatArray

IntArray = NDArray[np.int64]


@dataclass(slots=True)
class Tally:
    """Spills and losses of one well, or of all as one, piece by piece of a record.

    ``event_of_step`` as in ``physics.rain.events``; a step in which no more than ``least_m3`` leaves is no spill.
    What is kept grows with the events that spill, not with the steps. ``gone`` is spilled and lost together.
    """

    event_of_step: IntArray
    least_m3: float
    came_m3: float = 0.0
    spilled_m3: float = 0.0
    lost_m3: float = 0.0
    greatest_m3: float = 0.0
    longest_wet_s: float = 0.0
    event: array[int] = field(default_factory=lambda: array("q"))
    first_step: array[int] = field(default_factory=lambda: array("q"))
    spilled_by_event_m3: array[float] = field(default_factory=lambda: array("d"))
    gone_by_event_m3: array[float] = field(default_factory=lambda: array("d"))

    def add(
        self,
        first: int,
        came_m3: float,
        spilled_m3: FloatArray,
        lost_m3: FloatArray,
        longest_wet_s: float,
    ) -> None:
        """Add the steps from ``first`` on: what came in all, what spilled and was lost in each; ``longest_wet_s`` so far."""
        self.came_m3 += came_m3
        self.spilled_m3 += float(np.sum(spilled_m3))
        self.lost_m3 += float(np.sum(lost_m3))
        self.greatest_m3 = max(self.greatest_m3, float(np.max(spilled_m3, initial=0.0)))
        self.longest_wet_s = longest_wet_s
        gone = spilled_m3 + lost_m3
        at = np.flatnonzero(gone > self.least_m3)
        # step by step, so that an event that runs over a cut adds up as it would without it
        for step, event, spilled, left in zip(
            (at + first).tolist(),
            self.event_of_step[at + first].tolist(),
            spilled_m3[at].tolist(),
            gone[at].tolist(),
            strict=True,
        ):
            if not self.event or self.event[-1] != event:
                self.event.append(event)
                self.first_step.append(step)
                self.spilled_by_event_m3.append(0.0)
                self.gone_by_event_m3.append(0.0)
            self.spilled_by_event_m3[-1] += spilled
            self.gone_by_event_m3[-1] += left
