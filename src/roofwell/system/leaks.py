"""The parts that let water into the ground: wells, basins with weep holes, perforated runs.

Whatever keeps a distance or a height because water leaves it, or stands in a soil that has to take that water, is one
of these: checks go over them and not over the wells alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import shapely

from roofwell.system.scheme import XY, Basin, Run, Scheme
from roofwell.system.shapes_of import basin_outline

LeakKind = Literal["well", "basin", "run"]


@dataclass(frozen=True, slots=True)
class Leak:
    """A part that leaks: its outline on plan, the ground over it and its lowest soaking face, m.

    ``edge`` and ``under``: how its edge and its bottom are called in a sentence.
    """

    id: str
    kind: LeakKind
    outline: tuple[XY, ...]
    ground_m: float
    bottom_m: float
    edge: str
    under: str


def leaking_parts(scheme: Scheme) -> tuple[Leak, ...]:
    """Return every part that leaks: wells first, then basins with weep holes, then perforated runs."""
    wells = (
        Leak(
            well.id,
            "well",
            well.pit_corners,
            well.ground_m,
            well.bottom_m,
            f"The edge of {well.id}",
            "The pit's bottom",
        )
        for well in scheme.wells
    )
    basins = (_basin(basin) for basin in scheme.basins if basin.weep_holes > 0)
    runs = (_run(run) for run in scheme.runs if run.perforated)
    return (*wells, *basins, *runs)


def bed_area_m2(basin: Basin) -> float:
    """Return the floor of the stone under a basin, through which it soaks away, m²; without stone its own floor."""
    if basin.pea_stone_depth_m <= 0 or basin.pea_stone_around_m <= 0:
        return basin.plan_area_m2
    if basin.shape == "round" and not basin.outline:
        return math.pi * (basin.width_m + 2 * basin.pea_stone_around_m) ** 2 / 4
    if basin.shape == "rectangular":
        return (basin.width_m + 2 * basin.pea_stone_around_m) * (basin.along_m + 2 * basin.pea_stone_around_m)
    return float(shapely.Polygon(_outline(basin)).area)


def bed_bottom_m(basin: Basin) -> float:
    """Return the elevation of the bottom of the stone under a basin, m."""
    return basin.floor_m - basin.pea_stone_depth_m


def _basin(basin: Basin) -> Leak:
    stone = basin.pea_stone_depth_m > 0
    name = f"the stone under {basin.id}" if stone else basin.id
    return Leak(
        basin.id,
        "basin",
        _outline(basin),
        basin.ground_m,
        bed_bottom_m(basin),
        f"The edge of {name}, which leaks by its weep holes,",
        f"The bottom of {name}",
    )


def _outline(basin: Basin) -> tuple[XY, ...]:
    """Outline of the stone under a basin."""
    return basin_outline(basin, around_m=basin.pea_stone_around_m if basin.pea_stone_depth_m > 0 else 0.0)


def _run(run: Run) -> Leak:
    band = shapely.LineString(run.path).buffer(run.outside_diameter_m / 2, cap_style="flat")
    return Leak(
        run.id,
        "run",
        tuple((float(x), float(y)) for x, y in band.exterior.coords[:-1]),
        min(run.ground_m, default=math.nan),
        min(run.upstream_invert_m, run.downstream_invert_m) - run.wall_m,
        f"The edge of {run.id}, which leaks along its way,",
        f"The bottom of {run.id}",
    )
