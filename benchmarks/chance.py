"""How long all unknowns take through the record: wells by themselves, with the mound tracked, and one that hands on.

Beside each the least loop that anyone could write: one forward step for every hour of the record, compiled, for as many
samples, on one core.
"""

from __future__ import annotations

import os
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import numba
import numpy as np

from roofwell import examples, job
from roofwell.design import design
from roofwell.system import sampled_years as room
from roofwell.system.sampled_years import Sample, SampledYears, sampled_years

SAMPLES, RUNS = 500, 2


@numba.njit(nogil=True)  # type: ignore[untyped-decorator]
def bare(depth: Any, full: float, low: float, high: float, area: float) -> float:
    """One forward step an hour: no breakpoints, no balance, no events."""
    volume, spilled = 0.0, 0.0
    for n in range(depth.shape[0]):
        volume += depth[n] * area - (low + (high - low) * volume / full) * 3600.0
        if volume < 0.0:
            volume = 0.0
        elif volume > full:
            spilled += volume - full
            volume = full
    return spilled


def drawn(water: float | None) -> list[Sample]:
    """Samples over the range that a soil with one test has."""
    rng = np.random.default_rng(1967)
    factors = np.exp(1.18 * rng.standard_normal(SAMPLES))
    voids, losses = rng.uniform(0.30, 0.40, SAMPLES), rng.uniform(0.0, 0.00254, SAMPLES)
    return [
        Sample(float(f), float(v), float(loss), water)
        for f, v, loss in zip(factors, voids, losses, strict=True)
    ]


def timed(ready: SampledYears, samples: list[Sample]) -> tuple[float, float]:
    """Return seconds for all samples as ``--chance`` runs them, the best of some runs: passed, and computed on all cores."""
    best = float("inf"), float("inf")
    for _ in range(RUNS):
        begin, busy = time.perf_counter(), time.process_time()
        if ready.threads:
            parts = [samples[k : k + 20] for k in range(0, SAMPLES, 20)]
            with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
                list(pool.map(lambda part: [ready.run(sample) for sample in part], parts))
        else:
            for sample in samples:
                ready.run(sample)
        best = min(best, (time.perf_counter() - begin, time.process_time() - busy))
    return best


def main() -> None:
    """Print seconds and their ratio to the bare loop."""
    reading = job.read_file(examples.path("bungalow"))
    assert reading.job is not None
    made = design(reading.job, folder=reading.folder, document=reading.document)
    survey, scheme, behaviour = made.survey, made.scheme, made.behaviour
    record = survey.rain.record
    assert record is not None
    depth = np.where(record.missing, 0.0, record.depth_m)
    bare(depth, 12.0, 8e-5, 2.5e-4, 128.0)
    begin = time.process_time()
    for _ in range(SAMPLES):
        bare(depth, 12.0, 8e-5, 2.5e-4, 128.0)
    loop = time.process_time() - begin
    print(f"{SAMPLES} samples x {record.years:.0f} years, {os.cpu_count()} cores")
    print(f"the bare loop, every hour: {loop:.2f} s")

    def told(what: str, ready: SampledYears | None, samples: list[Sample]) -> None:
        assert ready is not None
        factors = [sample.factor for sample in samples]
        assert min(factors) > 0
        seconds, busy = timed(ready, samples)
        print(f"{what}: {seconds:.2f} s passed, {busy:.2f} s computed, {busy / loop:.2f} of the bare loop")

    ends = {"slowest": 0.01, "fastest": 100.0}
    dry = drawn(None)
    told("wells by themselves", sampled_years(scheme, survey, behaviour, highest_water_m=None, **ends), dry)
    high = scheme.wells[0].bottom_m - 1.0
    mound = sampled_years(scheme, survey, behaviour, highest_water_m=high, **ends)
    assert mound is not None
    assert mound.how == "with the mound tracked"
    told("with the mound tracked, groundwater 1 m under the pit", mound, drawn(high))
    told("two wells, one spilling into the other", _coupled(scheme, survey, behaviour, ends), dry)


def _coupled(scheme: Any, survey: Any, behaviour: Any, ends: dict[str, float]) -> SampledYears | None:
    """The same well twice, the second fed by the first one's spill alone."""
    linked = room.linked_stores

    def two(scheme: Any, stores: Any) -> Any:
        first, second = linked(scheme, stores)
        return [replace(first, overflow_to=1), second]

    well = scheme.wells[0]
    scheme = replace(scheme, wells=(well, replace(well, id="another")))
    room.linked_stores = two
    try:
        return sampled_years(scheme, survey, behaviour, highest_water_m=None, **ends)
    finally:
        room.linked_stores = linked


if __name__ == "__main__":
    main()
