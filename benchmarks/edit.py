"""How long an edit of the page takes, from the request to the whole answer: jobs of 2, 6 and 12 downspouts.

The service is warm, as it is while somebody works on a job. Every edit changes one leaf to a value that it never had
before: a downspout, the well or a corner of the ground moves, the soil, a roof or a gutter changes. The same job answers
all of them, each on top of the one before. Processor time on all threads; beside it a million additions in plain Python.
"""

from __future__ import annotations

import gc
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does, before numpy is loaded

from fastapi.testclient import TestClient
from hydraulics import house

from roofwell.job.write import document_text
from roofwell.store import open_store
from roofwell.web import Gate, make_app

HOST = "127.0.0.1:8437"
WARM, ROUNDS = 2, 5
JOBS = {2: 1, 6: 1, 12: 3}
"""Downspouts, and wells."""


def document(downspouts: int, wells: int) -> dict[str, Any]:
    """Return an invented long house with a published rain table and a long record, its wells' sizes left out."""
    made = house(downspouts, wells)
    made["rain"] = {"shipped_table": "nashville-tn-table", "shipped_record": "north-little-rock-ar"}
    made["place"] = {"name": "an invented lot", "latitude": 36.16, "longitude": -86.78}
    made["soil"] = {
        "rate": "2 in/h",
        "texture": "sandy loam",
        "seasonal_high_water_depth": "14 ft",
        "high_water_known_by": "well record",
        "saturated_thickness": "26 ft",
        "frost_depth": "18 in",
    }
    for roof in made["roofs"].values():
        roof |= {"covering": "asphalt shingle", "trees": "few", "tree_kind": "broadleaf"}
    made["overflows"] = {
        f"O{i + 1}": {"of": well, "kind": "grate", "destination": "over the lawn"}
        for i, well in enumerate(made["wells"])
    }
    return made


def edits(first: int) -> Iterator[tuple[str, str, Any]]:
    """Return one edit of each kind: its name, leaf and value; ``first`` makes the values new."""
    off = 0.01 * (first + 1)
    yield "a downspout moves", "downspouts.D1.at", [f"{1 + off:.2f} ft", "-0.5 ft"]
    yield "the well moves", "wells.W1.at", [f"{12 + off:.2f} ft", "82 ft"]
    yield "a shot of the ground", "survey.points[1].elevation", f"{99.4 + off:.2f} ft"
    yield "the soil", "soil.rate", f"{2 + off:.2f} in/h"
    yield "a roof", "roofs.R2.plan_area", f"{350 + first + 1} sq ft"
    yield "a gutter", "gutters.G1.length", f"{30 + off:.2f} ft"
    yield "a name", "job.customer", f"An invented owner {first}"


def spent() -> float:
    """Return the processor time of all threads so far, s."""
    return time.process_time()


def additions() -> float:
    """Return the processor time of a million additions in plain Python, s."""
    start = spent()
    total = 0.0
    for i in range(1_000_000):
        total += i * 0.5
    return spent() - start


def ask(page: TestClient, id: str, base: int, changes: list[tuple[str, Any]]) -> dict[str, Any]:
    """Ask as the page does."""
    body = {
        "base": base,
        "page": "bench",
        "edits": [{"path": path, "value": value} for path, value in changes],
    }
    response = page.post(f"/api/jobs/{id}/answers", json=body)
    if response.status_code != 200:
        sys.exit(response.text)
    answered: dict[str, Any] = response.json()
    if not answered["designed"] or answered["problems"]:
        sys.exit(json.dumps(answered["problems"], indent=1))
    return answered


def run(page: TestClient, text: str | None, rounds: int = ROUNDS) -> dict[str, list[float]]:
    """Return the times of the edits of one job by their kind, s; None: the shipped bungalow, moved about."""
    new = {"document": text} if text is not None else {"example": "bungalow"}
    saved = page.post("/api/jobs", json=new).json()
    id, base = saved["job"], saved["number"]
    ask(page, id, base, [])
    took: dict[str, list[float]] = {}
    now: dict[str, Any] = {}
    for number in range(WARM + rounds):
        for name, path, value in edits(number):
            now[path] = value
            start = spent()
            ask(page, id, base, list(now.items()))
            if number >= WARM:
                took.setdefault(name, []).append(spent() - start)
    return took


def percentile(values: list[float], share: float) -> float:
    """Return the value that a share of all stay under or at."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def main() -> None:
    """Print the figures."""
    bare = statistics.median(additions() for _ in range(5))
    print(f"a million additions in plain Python: {bare * 1000:.0f} ms")
    with tempfile.TemporaryDirectory() as folder:
        app = make_app(open_store(str(Path(folder) / "jobs.sqlite")), Gate(frozenset({HOST})))
        with TestClient(app, base_url=f"http://{HOST}", headers={"X-Roofwell": "page"}) as page:
            gc.collect()
            for downspouts, wells in JOBS.items():
                took = run(page, document_text(document(downspouts, wells)))
                each = [seconds for times in took.values() for seconds in times]
                print(
                    f"{downspouts} downspouts, {wells} wells: p50 {1000 * percentile(each, 0.5):.0f} ms, "
                    f"p95 {1000 * percentile(each, 0.95):.0f} ms "
                    f"({percentile(each, 0.5) / bare:.1f} and {percentile(each, 0.95) / bare:.1f} of the additions)"
                )
                for name, times in took.items():
                    print(f"    {name:24s} {1000 * statistics.median(times):5.0f} ms")


if __name__ == "__main__":
    main()
