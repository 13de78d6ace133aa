"""How long an edit of the page takes: to the nine answers at once, and to the whole answer; the demo, 2, 6, 12 downspouts.

`roofwell serve` runs as a program of its own and is warm, as it is while somebody works on a job; what is asked goes through
a socket. Every edit changes one leaf to a value that it never had before: a downspout, the well or a corner of the ground
moves, the soil, a roof or a gutter changes. The same job answers all of them, each on top of the one before. Time by the
clock, and processor time of the service; beside it a million additions in plain Python.
"""

from __future__ import annotations

import http.client
import json
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does, before numpy is loaded

from hydraulics import house

from roofwell.job.write import document_text

HOST = "127.0.0.1"
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


def demo_edits(first: int) -> Iterator[tuple[str, str, Any]]:
    """The same kinds for the shipped demo."""
    off = 0.01 * (first + 1)
    yield "a downspout moves", "downspouts.D3.at", [f"{59.5 + off:.2f} ft", "74.4 ft"]
    yield "the well moves", "wells.W1.at", [f"{36 + off:.2f} ft", "98 ft"]
    yield "a shot of the ground", "survey.readings[15].rod", 5.35 + off
    yield "the soil", "soil.auger_tests[0].readings[3].water_end", f"{58.3 + off:.2f} in"
    yield "a roof", "roofs.R1.pitch", f"{5 + off:.2f} in 12"
    yield "a gutter", "gutters.G1.length", f"{46 + off:.2f} ft"
    yield "a name", "job.customer", f"An invented owner {first}"


@dataclass
class Took:
    """One edit: seconds to the nine answers and to the whole answer; the service's processor time to each."""

    at_once: float
    whole: float
    computed_at_once: float
    computed: float


class Service:
    """`roofwell serve` as a program of its own."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind((HOST, 0))
            self.port = int(free.getsockname()[1])
        command = [sys.executable, "-m", "roofwell", "serve", "--no-browser", "--port", str(self.port)]
        command += ["--store", str(folder / "jobs.sqlite")]
        self.program = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        while True:
            try:
                with socket.create_connection((HOST, self.port)):
                    return
            except OSError:
                time.sleep(0.05)

    def computed(self) -> float:
        """Return the processor time of the service so far, s."""
        threads = Path(f"/proc/{self.program.pid}/task").glob("*/schedstat")
        return sum(int(thread.read_text().split()[0]) for thread in threads) / 1e9

    def post(self, path: str, body: dict[str, Any]) -> http.client.HTTPResponse:
        """Ask as the page does."""
        line = http.client.HTTPConnection(HOST, self.port)
        line.request(
            "POST", path, json.dumps(body), {"Content-Type": "application/json", "X-Roofwell": "page"}
        )
        response = line.getresponse()
        if response.status not in (200, 201):
            sys.exit(response.read().decode())
        return response

    def ask(self, id: str, base: int, changes: list[tuple[str, Any]]) -> Took:
        """Ask for the answers to edits."""
        body = {
            "base": base,
            "page": "bench",
            "edits": [{"path": path, "value": value} for path, value in changes],
        }
        computed, start, at_once, first = self.computed(), time.perf_counter(), 0.0, 0.0
        name = ""
        for line in self.post(f"/api/jobs/{id}/live", body):
            if line.startswith(b"event: "):
                name = line[7:].strip().decode()
            elif line.startswith(b"data: ") and name in ("at_once", "answers"):
                told = json.loads(line[6:])
                if not told["designed"] or told["problems"]:
                    sys.exit(json.dumps(told["problems"], indent=1))
                at_once = at_once or time.perf_counter() - start
                first = first or self.computed() - computed
            elif name in ("failed", "outdated"):
                sys.exit(line.decode())
        return Took(at_once, time.perf_counter() - start, first, self.computed() - computed)


def additions() -> float:
    """Return the processor time of a million additions in plain Python, s."""
    start = time.process_time()
    total = 0.0
    for i in range(1_000_000):
        total += i * 0.5
    return time.process_time() - start


def run(service: Service, text: str | None) -> dict[str, list[Took]]:
    """Return what the edits of one job took by their kind; None: the shipped demo."""
    new = {"document": text} if text is not None else {"example": "bungalow"}
    saved = json.load(service.post("/api/jobs", new))
    id, base = saved["job"], saved["number"]
    service.ask(id, base, [])
    took: dict[str, list[Took]] = {}
    now: dict[str, Any] = {}
    for number in range(WARM + ROUNDS):
        for name, path, value in (edits if text is not None else demo_edits)(number):
            now[path] = value
            one = service.ask(id, base, list(now.items()))
            if number >= WARM:
                took.setdefault(name, []).append(one)
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
        service = Service(Path(folder))
        try:
            for downspouts, wells in {0: 0, **JOBS}.items():
                took = run(service, document_text(document(downspouts, wells)) if downspouts else None)
                title = (
                    f"{downspouts} downspouts, {wells} wells"
                    if downspouts
                    else "the demo, an invented bungalow"
                )
                print(title)
                for what in ("at_once", "computed_at_once", "whole", "computed"):
                    each = [getattr(one, what) for ones in took.values() for one in ones]
                    half, most = percentile(each, 0.5), percentile(each, 0.95)
                    print(
                        f"    {what:16s} p50 {1000 * half:5.0f} ms, p95 {1000 * most:5.0f} ms "
                        f"({half / bare:.1f} and {most / bare:.1f} of the additions)"
                    )
                for name, ones in took.items():
                    first, whole = (
                        statistics.median(getattr(one, what) for one in ones) for what in ("at_once", "whole")
                    )
                    print(f"        {name:24s} {1000 * first:5.0f} ms, {1000 * whole:5.0f} ms")
        finally:
            service.program.terminate()
            service.program.wait()


if __name__ == "__main__":
    main()
