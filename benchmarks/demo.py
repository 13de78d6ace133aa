"""How long the commands take, as whole programs: help, the demo's first run, its next runs.

Beside them stands the least that such a program could take: Python started with the libraries loaded.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LIBRARIES = "import numpy, scipy.optimize, scipy.spatial, shapely, pydantic, rich, typst, numba"
RUNS = 5


def seconds(*arguments: str) -> float:
    """Return the wall-clock time of one program, s."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    """Print the figures."""
    package = Path(__file__).resolve().parents[1] / "src" / "roofwell"
    for cache in package.rglob("__pycache__"):
        shutil.rmtree(cache)
    with tempfile.TemporaryDirectory() as folder:
        demo = ("-m", "roofwell", "design", "bungalow", "--out", folder)
        print(f"demo, first run (no compiled code kept)   {seconds(*demo):6.2f} s")
        rows = {
            "demo, next runs": demo,
            "libraries alone": ("-c", LIBRARIES),
            "roofwell --help": ("-m", "roofwell", "--help"),
            "Python alone": ("-c", "pass"),
        }
        for name, arguments in rows.items():
            times = sorted(seconds(*arguments) for _ in range(RUNS))
            print(f"{name:40}  {times[RUNS // 2]:6.2f} s  (least {times[0]:.2f})")


if __name__ == "__main__":
    main()
