"""How long it takes to ask what lies beyond the design storm: each part on the demo, and one sample of all unknowns."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np

from roofwell import examples, job
from roofwell.design import design
from roofwell.system import beyond
from roofwell.system.chance import years_of
from roofwell.system.rainfall import record_basis
from roofwell.system.well_record import inflow_of

PARTS = ("stresses", "held_storms", "chance", "at_wells", "floods")
SAMPLES, RUNS = 60, 5


def main() -> None:
    """Print milliseconds, the best of some runs."""
    reading = job.read_file(examples.path("bungalow"))
    assert reading.job is not None
    made = design(reading.job, folder=reading.folder, document=reading.document)
    survey, scheme, behaviour = made.survey, made.scheme, made.behaviour
    record, rate = record_basis(survey), survey.soil.best_m_s / survey.soil.safety_factor
    spent: dict[str, list[float]] = {part: [] for part in PARTS}

    def timed(part: str, step: Callable[..., Any]) -> Callable[..., Any]:
        def run(*given: Any, **named: Any) -> Any:
            begin = time.perf_counter()
            result = step(*given, **named)
            spent[part].append(time.perf_counter() - begin)
            return result

        return run

    for part in PARTS:
        setattr(beyond, part, timed(part, getattr(beyond, part)))
    for _ in range(RUNS):
        beyond.beyond(scheme, survey, behaviour, rate_m_s=rate, record=record)
    for part, times in spent.items():
        print(f"{part}: {1000 * min(times):.1f} ms")
    print(f"together: {1000 * sum(min(times) for times in spent.values()):.1f} ms")

    factors = np.geomspace(0.2, 5.0, SAMPLES)
    years = years_of(
        scheme, survey, behaviour, inflow_of(scheme, behaviour.downspouts), slowest=float(factors[0])
    )
    assert years is not None
    begin = time.perf_counter()
    for factor in factors:
        years.run(float(factor), None, None)
    each = (time.perf_counter() - begin) / SAMPLES
    print(
        f"one sample through {years.years:.0f} years ({years.steps} steps): {1000 * each:.2f} ms; 500: {500 * each:.2f} s"
    )


if __name__ == "__main__":
    main()
