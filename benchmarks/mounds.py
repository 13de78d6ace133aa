"""Wells over their mounds through 31 years of hours: each by itself, one that spills into another, linked.

    python benchmarks/mounds.py

The rain is the bungalow's record, the ground made up so that the mound holds the wells back through thousands of hours.
Followed as the long record is: some thousand steps at a time, the step halved until the spill changes no more. Processor
time, and the memory beside the rain.
"""

from __future__ import annotations

import sys
import time
import tracemalloc
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from roofwell import examples, job
from roofwell.design import design
from roofwell.physics import mounded, network
from roofwell.physics.well.exponentials import Exponentials
from roofwell.system.well_record import STEPS_AT_ONCE

ROOF_M2 = 90.0
TERMS = Exponentials(np.array([8e3, 2.5e4, 5e4, 7e4]), np.array([4e3, 6e4, 1.2e6, 1.2e7]), 0.0)
WELL = network.Store(np.array([0.0, 1.0, 4.0]), np.array([2.5e-5, 5e-5, 1.2e-4]), empty_m3=0.004)
HIGH = network.Stage(WELL.volume_m3, np.array([0.0, 0.5, 2.0]))
DEEP = network.Stage(WELL.volume_m3, np.array([-0.4, 0.3, 2.0]))
KINDS = {
    "1 well": [WELL],
    "2, one spilling into the other": [replace(WELL, overflow_to=1), WELL],
    "3 in series": [replace(WELL, overflow_to=1), replace(WELL, overflow_to=2), WELL],
    "2 linked": [replace(WELL, stage=HIGH), replace(WELL, stage=DEEP, link=network.Link(0, 0.3))],
}


def followed(
    stores: list[network.Store], grounds: list[mounded.Ground], depth: NDArray[np.float64], step_s: float
) -> mounded.MoundedRun:
    """Follow stores through the record, the roof shared out among them."""
    shares = np.full(len(stores), ROOF_M2 / step_s / len(stores))

    def once(following: mounded.Following) -> None:
        for first in range(0, depth.size, STEPS_AT_ONCE):
            following.on(depth[first : first + STEPS_AT_ONCE, None] * shares)

    return mounded.in_pieces(stores, grounds, once, step_s=step_s, steps=depth.size)


def main() -> None:
    """Print seconds, held hours, spill and memory."""
    reading = job.read_file(examples.path("bungalow"))
    assert reading.job is not None
    record = design(reading.job, folder=reading.folder, document=reading.document).survey.rain.record
    assert record is not None
    depth = np.where(record.missing, 0.0, record.depth_m)
    step = float(record.step_s)
    for room in [float(given) for given in sys.argv[1:]] or [1.2, 0.6]:
        for name, stores in KINDS.items():
            grounds = [mounded.Ground(2.5, room, TERMS) for _ in stores]
            run = partial(followed, stores, grounds, depth, step)
            run()
            begin = time.process_time()
            found = run()
            took = time.process_time() - begin
            tracemalloc.start()
            run()
            peak = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
            print(
                f"room {room} m, {name:32s} {took:6.2f} s, held {found.capped_steps * found.step_s / 3600:7.0f} h, "
                f"steps of {found.step_s:6.0f} s, last halving {found.spill_change:.1e}, {peak / 1e6:5.1f} MB"
            )


if __name__ == "__main__":
    main()
