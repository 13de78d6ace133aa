"""What holds water in winter: every part that does not drain by itself, with how deep its water lies."""

from __future__ import annotations

from collections.abc import Sequence

from roofwell.system.behaviour import HeldWater, StandingWater
from roofwell.system.facts import Survey
from roofwell.system.scheme import Scheme

LEVEL_M = 1e-6


def held_water(scheme: Scheme, survey: Survey, standing: Sequence[StandingWater]) -> tuple[HeldWater, ...]:
    """Return the parts that hold water between rains, in the order of the water.

    ``above_frost``: whether the water's surface lies above the frost depth of the place; None where that was
    not given. A well empties by soaking, so it is none of them; a basin with weep holes empties too.
    """
    frost = survey.soil.frost_depth_m
    out = []

    def add(id: str, what: str, depth_m: float, under_m: float) -> None:
        out.append(HeldWater(id, what, depth_m, under_m, None if frost is None else under_m < frost))

    for run in scheme.runs:
        drowned = next((item for item in standing if item.run == run.id), None)
        if drowned is None or drowned.weep_holes:
            continue
        lower = -1 if run.slope_m_m >= 0 else 0
        depth = drowned.level_m - min(run.upstream_invert_m, run.downstream_invert_m)
        what = f"pipe drowned by {drowned.basin or drowned.rising_run}"
        if drowned.rising_run == run.id:
            what = "pipe that falls the wrong way"
        add(run.id, what, depth, run.ground_m[lower] - drowned.level_m)
    for basin in scheme.basins:
        depth = basin.outlet_invert_m - basin.floor_m
        if depth > LEVEL_M and basin.weep_holes == 0:
            add(basin.id, "sump of the basin", depth, basin.ground_m - basin.outlet_invert_m)
    return tuple(out)
