"""Runs under wheels: how far each drive and its traffic flatten the pipe that passes under it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from roofwell import tables
from roofwell.job import model
from roofwell.physics.trench import load, route
from roofwell.system.facts import Survey
from roofwell.system.ledger import Ledger
from roofwell.system.roof_parts import length_of
from roofwell.system.scheme import Run, WheelLoad
from roofwell.units import Dimension, parse

GRAVITY_M_S2 = 9.80665
FIRM_WORDS = ("stone", "gravel", "aggregate")
APART_M = 0.15  # stations under a drive


def wheel_loads(job: model.Job, survey: Survey, runs: Sequence[Run], ledger: Ledger) -> tuple[WheelLoad, ...]:
    """Return the worst place of each run under each drive.

    Cover thinner or thicker than the published pressures reach takes the nearest of them: thinner is worse
    than stated, and fails by its cover; thicker is better.
    """
    drives = [drive for drive in survey.of_kind("drive") if len(drive.points) >= 3]
    out = []
    for run in runs:
        for drive in drives:
            stations, _ = route.station_points(run.path, APART_M)
            points = route.place_at(run.path, stations)
            under = shapely.contains_xy(shapely.Polygon(drive.points), points[:, 0], points[:, 1])
            if not under.any():
                continue
            ground = survey.ground.elevation_m(points[under])
            crown = np.array([run.invert_at(float(s)) for s in stations[under]])
            cover = ground - crown - run.inside_diameter_m - run.wall_m
            worst = int(np.argmin(cover))
            out.append(
                _at(
                    job.runs.get(run.id, model.Run()),
                    run,
                    drive.id,
                    float(stations[under][worst]),
                    float(cover[worst]),
                    ledger,
                )
            )
    return tuple(out)


def _at(
    given: model.Run, run: Run, drive: str, station_m: float, cover_m: float, ledger: Ledger
) -> WheelLoad:
    weight = ledger.assume("trench.soil_unit_weight", "soil-unit-weight") * GRAVITY_M_S2
    firm = given.bedding is not None and any(word in given.bedding.lower() for word in FIRM_WORDS)
    in_stone = tables.assumption("soil-modulus-stone", ledger.style).value_si
    if firm:
        modulus = ledger.assume(f"{run.id}.soil_modulus", "soil-modulus-stone")
    else:
        modulus = ledger.assume(f"{run.id}.soil_modulus", "soil-modulus")
    stiffness = _stiffness_pa(run, ledger)
    rows = tables.rows("wheel_pressure")
    covers = [length_of(row["cover"]) for row in rows]
    wheel = float(
        np.interp(cover_m, covers, [parse(row["pressure"], Dimension.PRESSURE).value_si for row in rows])
    )

    def flattened(soil_modulus_pa: float) -> float:
        if stiffness is None:
            return math.nan
        return load.deflection(
            soil_pressure_pa=weight * max(cover_m, 0.0),
            live_pressure_pa=wheel,
            stiffness_pa=stiffness,
            soil_modulus_pa=soil_modulus_pa,
        )

    wants_depth = any(
        row["key"] == run.pipe and row["under_wheels"] == "deep" for row in tables.rows("pipe_sizes")
    )
    return WheelLoad(
        run.id, drive, station_m, cover_m, flattened(modulus), flattened(in_stone), firm, wants_depth
    )


def _stiffness_pa(run: Run, ledger: Ledger) -> float | None:
    """The stiffness that the pipe's standard states, else that of a plain wall; None where no wall is known."""
    for row in tables.rows("pipe_sizes"):
        if row["key"] == run.pipe and abs(length_of(row["nominal"]) - run.nominal_m) < 1e-6:
            if row["stiffness"]:
                stated = parse(row["stiffness"], Dimension.PRESSURE).value_si
                return load.stiffness_of_ring_pa(stated) if row["units"] == "metric" else stated
            return load.pipe_stiffness_pa(
                outside_diameter_m=length_of(row["outside_diameter"]),
                wall_m=length_of(row["wall"]),
                modulus_pa=ledger.assume(f"{run.id}.pvc_modulus", "pvc-modulus"),
            )
    return None
