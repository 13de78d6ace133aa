"""How long the way of the water over the ground takes: on the demo, part by part, and on a lot with many shots.

Code is warm. Beside it stand a million additions in plain Python, which tell one machine from another.
"""

from __future__ import annotations

import os
import platform
import statistics
import time
from collections.abc import Callable

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from roofwell import examples
from roofwell import job as job_room
from roofwell.design import design
from roofwell.physics.ground.descent import Ground, way_down
from roofwell.physics.ground.surface import make_surface
from roofwell.system.bowls import bowls
from roofwell.system.lawn import Lawn, lawn_of, way_from
from roofwell.system.overland import overland

PASSES, SHOTS, SIDE_M = 15, 400, 40.0


def milliseconds(work: Callable[[], object]) -> float:
    """Return the median processor time of some passes, ms; one before them warms up."""
    work()
    times = []
    for _ in range(PASSES):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return 1000 * statistics.median(times)


def _additions() -> int:
    total = 0
    for i in range(1_000_000):
        total += i
    return total


def main() -> None:
    """Print the figures."""
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}")
    print(f"a million additions                     {milliseconds(_additions):6.2f} ms")
    reading = job_room.read_file(examples.path("bungalow"))
    assert reading.job is not None
    made = design(reading.job, folder=reading.folder, document=reading.document)
    scheme, survey, behaviour = made.scheme, made.survey, made.behaviour
    lawn = lawn_of(survey)
    assert isinstance(lawn, Lawn)
    starts = [o.at for o in scheme.overflows] + [s.at for s in scheme.downspouts]
    print(f"demo: {len(lawn.ground.corners)} triangles, {len(starts)} ways")
    print(f"ground, house cut out                   {milliseconds(lambda: lawn_of(survey)):6.2f} ms")
    print(
        f"all ways                                {milliseconds(lambda: [way_from(lawn, a) for a in starts]):6.2f} ms"
    )
    print(
        f"bowls at wells and basins               {milliseconds(lambda: bowls(scheme, survey, lawn.ground)):6.2f} ms"
    )
    print(
        f"whole step                              {milliseconds(lambda: overland(scheme, survey, behaviour)):6.2f} ms"
    )
    rng = np.random.default_rng(1)
    places = rng.uniform(0, SIDE_M, (SHOTS, 2))
    heights = rng.uniform(0, 0.3, SHOTS) + 0.03 * places[:, 0]
    surface = make_surface(points=places, elevations=heights)
    assert surface.mesh is not None
    mesh = surface.mesh
    ground = Ground(mesh, surface.elevations)
    print(f"uneven lot of {SHOTS} shots, {len(ground.corners)} triangles")
    print(
        f"ground                                  {milliseconds(lambda: Ground(mesh, surface.elevations)):6.2f} ms"
    )
    print(
        f"one way with all its bowls              {milliseconds(lambda: way_down(ground, (30.0, 20.0))):6.2f} ms"
    )


if __name__ == "__main__":
    main()
