"""How long route, inverts and water levels take: a job of two downspouts and one of twelve with three wells.

Code is warm; the wells move by an inch for every pass, so that nothing kept from the pass before is used.
Beside them stands a bare loop in Python, so that another machine can be compared.
"""

from __future__ import annotations

import cProfile
import os
import pstats
import statistics
import sys
import time
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does, before numpy is loaded

from roofwell import job as job_room
from roofwell.design.judging import Inputs, design_rate_m_s
from roofwell.job.prices import shipped_prices
from roofwell.system import assembly, rainfall
from roofwell.system.choice import BodyChoice, Choice, WellChoice
from roofwell.system.survey import survey as make_survey

PASSES = 7
FOOT, INCH = 0.3048, 0.0254
STEPS = {
    "route": ("layout.py", ("lay_out",)),
    "inverts": ("trench_levels.py", ("solve",)),
    "water levels": ("levels.py", ("cloudburst", "every_storm")),
    "the wells' storms": ("well_rain.py", ("_storms",)),
}


def house(downspouts: int, wells: int, *, moved_in: int = 0) -> dict[str, Any]:
    """Return the document of an invented long house: downspouts along both long walls, wells behind it."""
    long = 20.0 * max(2, downspouts / 2)
    side = [downspouts - downspouts // 2, downspouts // 2]
    document: dict[str, Any] = {
        "document": 1,
        "job": {"name": "Long house (invented)", "units": "us", "invented": True},
        "rain": {
            "depths": [
                {"duration": d, "return_period": "10 yr", "depth": p}
                for d, p in (("5 min", "0.52 in"), ("15 min", "1.02 in"), ("1 h", "1.86 in"), ("24 h", "4 in"))
            ]
        },
        "buildings": {"H1": {"outline": _box(0, 0, long, 40), "basement": False, "lowest_opening": "100.4 ft"}},
        "soil": {"rate": "2 in/h"},
        "survey": {
            "benchmark": "BM",
            "benchmark_elevation": "100 ft",
            "points": [
                {"id": "BM", "elevation": "100 ft"},
                *(
                    {"id": f"G{i}{j}", "at": [f"{x} ft", f"{y} ft"], "elevation": f"{z} ft", "ground": True}
                    for i, x in enumerate((-30, long / 2, long + 30))
                    for j, (y, z) in enumerate(((-30, 99.4), (-1, 99.6), (41, 99.5), (80, 98.4), (120, 97.2)))
                ),
            ],
        },
        "features": {
            "L1": {"kind": "lot line", "outline": _box(-30, -30, long + 30, 120)},
            "K1": {"kind": "walk", "outline": _box(-30, 60, long / 3, 64)},
            "T1": {"kind": "tree", "at": [f"{long / 2} ft", "62 ft"], "diameter": "12 in"},
            "U1": {
                "kind": "utility", "utility": "electric", "path": [[f"{long} ft", "40 ft"], [f"{long} ft", "118 ft"]],
                "top": "95.5 ft", "diameter": "1 in", "marked_by": "invented",
            },
        },
        "site": {"none": ["septic tank", "leach field", "drinking-water well", "slope crest", "neighbor's building"]},
        "downspouts": {},
        "gutters": {},
        "roofs": {},
        "wells": {},
    }  # fmt: skip
    number = 0
    for count, y in zip(side, (-0.5, 40.5), strict=True):
        for i in range(count):
            number += 1
            x = 1 + (long - 2) * (i / max(1, count - 1))
            document["downspouts"][f"D{number}"] = {"gutter": f"G{number}", "at": [f"{x:.2f} ft", f"{y} ft"]}
            document["gutters"][f"G{number}"] = {"shape": "ogee", "top_width": "5 in", "length": "30 ft"}
            document["roofs"][f"R{number}"] = {"plan_area": "350 sq ft", "gutter": f"G{number}"}
    for i in range(wells):
        x = long * (i + 0.5) / wells
        document["wells"][f"W{i + 1}"] = {"at": [f"{x:.2f} ft", f"{82 + moved_in / 12:.4f} ft"]}
    return document


def _box(x0: float, y0: float, x1: float, y1: float) -> list[list[str]]:
    return [[f"{x:g} ft", f"{y:g} ft"] for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]


def prepare(downspouts: int, wells: int, moved_in: int) -> Inputs:
    """Read and survey one job: what the search holds when it begins."""
    reading = job_room.read(house(downspouts, wells, moved_in=moved_in), folder=None)
    if reading.problems or reading.job is None:
        sys.exit("\n".join(f"{p.path}: {p.message}" for p in reading.problems))
    return Inputs(reading.job, make_survey(reading.job, folder=None), shipped_prices(), (None, None), ())


def once(inputs: Inputs, wells: int) -> int:
    """Route, inverts and water levels of one Scheme; return how many storms were routed."""
    body = BodyChoice("bench", 36 * INCH, 60 * INCH, INCH, 0.5 * INCH)
    choice = Choice({f"W{i + 1}": WellChoice(body, 2, 12 * INCH) for i in range(wells)})
    scheme = assembly.assemble(inputs.job, inputs.survey, choice)
    rate = design_rate_m_s(inputs.survey, inputs.survey.soil.best_m_s)
    behaviour = rainfall.behave(scheme, inputs.survey, rate_m_s=rate, record=inputs.record, with_record=False)
    return max(len(well.storms) for well in behaviour.wells)


def bare_loop_s() -> float:
    """Return the time of a million additions in Python, s."""
    start = time.perf_counter()
    total = 0.0
    for i in range(1_000_000):
        total += i * 0.5
    return time.perf_counter() - start


def main() -> None:
    """Print the figures."""
    bare = statistics.median(bare_loop_s() for _ in range(5))
    print(f"a million additions in Python: {bare * 1000:.0f} ms")
    for downspouts, wells in ((2, 1), (12, 3)):
        jobs = [prepare(downspouts, wells, moved) for moved in range(PASSES + 2)]
        once(jobs.pop(), wells)
        took = []
        for inputs in jobs[:-1]:
            start = time.perf_counter()
            storms = once(inputs, wells)
            took.append(time.perf_counter() - start)
        middle = statistics.median(took)
        print(
            f"{downspouts} downspouts, {wells} wells, {storms} storms: {middle * 1000:.0f} ms, "
            f"{middle / bare:.2f} of the million additions"
        )
        profile = cProfile.Profile()
        profile.enable()
        once(jobs[-1], wells)
        profile.disable()
        _split(pstats.Stats(profile))


def _split(stats: pstats.Stats) -> None:
    """Print the share of each step, by the profiler (which slows all of them)."""
    table: Any = stats.stats  # type: ignore[attr-defined]
    total = sum(row[2] for row in table.values())
    for name, (file, functions) in STEPS.items():
        spent = sum(
            row[3]
            for (path, _, called), row in table.items()
            if path.endswith(f"system/{file}") and called in functions
        )
        print(f"    {name:20s} {spent / total:4.0%}")


if __name__ == "__main__":
    main()
