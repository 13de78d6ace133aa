"""The published storm table D7 run as a job: document, survey, wells and storms, not the formulas alone.

Reference: infiltration 4.3 (D7), after BRE Digest 365: 690 m² of roof, 10-year rain (M5-60 20 mm, r 0.40), soil
8.5e-6 m/s, a bed of stone 23 m by 5 m by 0.8 m, half the sides and no bottom counted. Inflows as printed in a UK planning
calculation of 2017 (seen); storage and time to half derived by the Digest's rule. The place is invented.
"""

from __future__ import annotations

import tomllib

import pytest

from roofwell.design import Design

# minutes, M10 depth in mm, what is stored when it ends, m³
TABLE = [
    (10, 12.69, 8.64),
    (15, 15.50, 10.52),
    (30, 19.84, 13.35),
    (60, 24.80, 16.43),
    (120, 30.01, 19.34),
    (240, 35.38, 21.67),
    (360, 38.72, 22.60),
    (600, 42.96, 22.79),
    (1440, 52.86, 20.02),
    (2880, 61.31, 9.40),
]

DOCUMENT = """
document = 1
[job]
name = "Bed of stone by a published table (invented place)"
date = 2026-05-01
units = "metric"
invented = true
[place]
name = "nowhere (invented)"
[buildings.H1]
outline = [["0 m", "0 m"], ["46 m", "0 m"], ["46 m", "15 m"], ["0 m", "15 m"]]
lowest_opening = "101.5 m"
basement = false
[survey]
benchmark = "BM"
benchmark_elevation = "100 m"
points = [
  { id = "BM", elevation = "100 m" },
  { id = "wall", at = ["23 m", "15 m"], elevation = "101 m", ground = true },
  { id = "wall west", at = ["0 m", "15 m"], elevation = "101 m", ground = true },
  { id = "wall east", at = ["46 m", "15 m"], elevation = "101 m", ground = true },
  { id = "back west", at = ["0 m", "60 m"], elevation = "100.2 m", ground = true },
  { id = "back east", at = ["46 m", "60 m"], elevation = "100.2 m", ground = true },
]
[soil]
rate = "8.5e-6 m/s"
rate_from = "as in the published table"
safety_factor = 1.0
safety_factor_reason = "the table divides by none"
[wells.W1]
at = ["23 m", "30 m"]
body = "none"
pit_shape = "rectangular"
pit_length = "23 m"
pit_width = "5 m"
stone_depth = "0.8 m"
stone = "4"
voids = "30 %"
bottom = "98.5 m"
soakage = "sides half, no bottom"
[overflows.O1]
of = "W1"
lip = "99.3 m"
destination = "over the field"
[targets]
storm = "10 yr"
[settings]
storm_shape = "uniform"
storm_duration = "48 h"
initial_loss = "0 mm"
runoff_coefficient = "100 %"
starting_level = "0 %"
"""


@pytest.fixture(scope="module")
def table_as_a_job() -> Design:
    from roofwell.design import design
    from roofwell.job import read

    document = tomllib.loads(DOCUMENT)
    document["rain"] = {
        "depths": [
            {"duration": f"{minutes} min", "return_period": "10 yr", "depth": f"{depth} mm"}
            for minutes, depth, _ in TABLE
        ]
    }
    # four downspouts of a size that takes all of the table's rain: the table knows no gutters
    for n in range(1, 5):
        document.setdefault("roofs", {})[f"R{n}"] = {"plan_area": "172.5 m2", "gutter": f"G{n}"}
        document.setdefault("downspouts", {})[f"D{n}"] = {
            "gutter": f"G{n}",
            "at": [f"{10 * n} m", "15.2 m"],
            "shape": "round",
            "diameter": "200 mm",
            "state": "existing",
        }
    reading = read(document)
    assert reading.problems == ()
    assert reading.job is not None
    return design(reading.job, folder=reading.folder, document=document, beyond=False)


@pytest.mark.parametrize(
    ("minutes", "depth_mm", "stored_m3"), [row for row in TABLE if row[0] not in (240, 600)]
)
def test_a_row_of_the_table(table_as_a_job: Design, minutes: int, depth_mm: float, stored_m3: float) -> None:
    # the storms that a job runs through are of fixed durations; 240 and 600 min are not among them
    found = next(s for s in table_as_a_job.behaviour.wells[0].storms if s.duration_s == 60 * minutes)
    assert found.rain_m * 1000 == pytest.approx(depth_mm, abs=0.01)
    assert found.inflow_m3 == pytest.approx(690 * depth_mm / 1000, abs=0.01)
    assert found.peak_m3 == pytest.approx(stored_m3, abs=0.02)
    assert found.spilled_m3 == 0


def test_the_job_names_a_storm_next_to_the_table_s_own(table_as_a_job: Design) -> None:
    # 600 min asks 22.79 m³; of the job's durations its neighbor of 12 h asks most of the rows around it, and hardly less
    critical = table_as_a_job.behaviour.wells[0].critical
    assert critical is not None
    assert critical.duration_s / 60 in (360, 720)
    assert 22.60 - 0.02 <= critical.peak_m3 <= 22.79 + 0.02
