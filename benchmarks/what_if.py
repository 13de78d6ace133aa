"""How long it takes to ask what if, on the demo: all cases together, the best of some runs."""

from __future__ import annotations

import time

from roofwell import examples, job
from roofwell.design import design
from roofwell.system.rainfall import record_basis
from roofwell.system.what_if import what_ifs

RUNS = 7


def main() -> None:
    """Print milliseconds for each example, the demo first."""
    for name in ("bungalow", "old-system", "terrace"):
        reading = job.read_file(examples.path(name))
        assert reading.job is not None
        made = design(reading.job, folder=reading.folder, document=reading.document)
        survey, record = made.survey, record_basis(made.survey)
        rate, spent = survey.soil.best_m_s / survey.soil.safety_factor, []
        for _ in range(RUNS):
            begin = time.perf_counter()
            found = what_ifs(made.scheme, survey, made.behaviour, rate_m_s=rate, record=record)
            spent.append(time.perf_counter() - begin)
        print(f"{name}: {len(found.cases)} cases {1000 * min(spent):.0f} ms")


if __name__ == "__main__":
    main()
