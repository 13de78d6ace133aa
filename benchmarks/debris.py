"""How long the debris of a whole house takes over 50 years of hours: classes of rain, every basin, every cheap part.

The record is that of the bungalow, laid end to end. Code is warm. Beside it stands what the classes replace: the capture of
one basin worked out hour by hour.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from dataclasses import replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from roofwell import examples
from roofwell import job as job_room
from roofwell.design import design
from roofwell.physics.basin.capture import FloatArray, kept_share, rain_classes, shares_of_load
from roofwell.physics.rain.record import Record
from roofwell.system.debris import COMES, debris
from roofwell.system.rainfall import record_basis

YEARS, PASSES = 50, 15


def milliseconds(work: Callable[[], object]) -> float:
    """Return the median time of some passes, ms; one before them warms up."""
    work()
    times = []
    for _ in range(PASSES):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1000 * statistics.median(times)


def _one_basin(net: FloatArray) -> list[FloatArray]:
    """Return the capture of one basin over the record: as many grains as all kinds have, each way they may come."""
    classes = rain_classes(net, step_s=3600.0, years=float(YEARS))
    grains, flow = np.geomspace(1e-6, 0.2, 42), 100.0 * classes.rate_m_s
    return [
        kept_share(velocity_m_s=grains, flow_m3_s=flow, plan_area_m2=0.2, tanks=1.0)
        @ shares_of_load(classes, comes)
        for comes in COMES
    ]


def main() -> None:
    """Print the figures."""
    reading = job_room.read_file(examples.path("bungalow"))
    assert reading.job is not None
    made = design(reading.job, folder=reading.folder, document=reading.document)
    record = made.survey.rain.record
    assert record is not None
    hours = round(YEARS * 365.2425 * 24)
    long = Record(
        record.start, record.step_s, np.resize(record.depth_m, hours), np.resize(record.missing, hours)
    )
    survey = replace(made.survey, rain=replace(made.survey.rain, record=long))
    basis = record_basis(survey)
    assert basis[0] is not None
    net, spouts = basis[0], made.behaviour.downspouts
    basins = len(made.scheme.basins)
    print(f"{YEARS} years of hours, {basins} basin(s), {len(spouts)} downspouts")
    sorting = milliseconds(lambda: rain_classes(net, step_s=3600.0, years=50.0))
    print(f"sorting the record into classes         {sorting:6.2f} ms")
    print(f"one basin: classes, 42 grains, 3 ends   {milliseconds(lambda: _one_basin(net)):6.2f} ms")
    whole = milliseconds(lambda: debris(made.scheme, survey, spouts, basis))
    print(f"debris of the whole house, all variants {whole:6.2f} ms")
    wet, grains = net[net > 0] / 3600.0, np.geomspace(1e-5, 0.2, 21)
    one = milliseconds(
        lambda: kept_share(velocity_m_s=grains, flow_m3_s=100.0 * wet, plan_area_m2=0.2, tanks=1.0) @ wet
    )
    print(f"one basin, one end, hour by hour       {one:7.2f} ms ({len(wet):,} wet hours)")


if __name__ == "__main__":
    main()
