"""What holds water in winter: every part that does not drain by itself, how deep its water lies, what ice closes.

Ice is taken to reach from the water's surface down to the frost depth of the place, as far as the ground over the part
freezes; under it the water stays open. It closes a pipe from its top down, and the mouth of a hood where it gets there.
"""

from __future__ import annotations

from collections.abc import Sequence

from roofwell.system.behaviour import HeldWater, StandingWater
from roofwell.system.facts import Survey
from roofwell.system.scheme import Basin, Run, Scheme

LEVEL_M = 1e-6


def held_water(scheme: Scheme, survey: Survey, standing: Sequence[StandingWater]) -> tuple[HeldWater, ...]:
    """Return the parts that hold water between rains, in the order of the water.

    ``above_frost``: whether the water's surface lies above the frost depth of the place; None where that was
    not given. A well empties by soaking, so it is none of them; a basin with weep holes empties too.
    """
    frost = survey.soil.frost_depth_m
    pipes = []
    for run in scheme.runs:
        drowned = next((item for item in standing if item.run == run.id), None)
        if drowned is not None and not drowned.weep_holes:
            pipes.append(_pipe(run, drowned, frost))
    basins = [
        _basin(basin, frost)
        for basin in scheme.basins
        if basin.outlet_invert_m - basin.floor_m > LEVEL_M and basin.weep_holes == 0
    ]
    return (*pipes, *basins)


def _pipe(run: Run, drowned: StandingWater, frost_m: float | None) -> HeldWater:
    """Water in a pipe: ice grows down from its surface, or from the crown where it is full."""
    lower = -1 if run.slope_m_m >= 0 else 0
    invert = min(run.upstream_invert_m, run.downstream_invert_m)
    what = f"pipe drowned by {drowned.basin or drowned.rising_run}"
    if drowned.rising_run == run.id:
        what = "pipe that falls the wrong way"
    ground, bore = run.ground_m[lower], run.inside_diameter_m
    wet = min(drowned.level_m - invert, bore)
    top_under = ground - invert - wet
    return HeldWater(
        run.id,
        what,
        drowned.level_m - invert,
        ground - drowned.level_m,
        None if frost_m is None else ground - drowned.level_m < frost_m,
        "bore",
        None if frost_m is None else min(max(0.0, frost_m - top_under), wet) / bore,
        wet / bore,
        top_under,
    )


def _basin(basin: Basin, frost_m: float | None) -> HeldWater:
    """Water in a sump: a plain outlet stays open over the ice, the mouth of a hood lies in the water."""
    under = basin.ground_m - basin.outlet_invert_m
    above = None if frost_m is None else under < frost_m
    depth = basin.outlet_invert_m - basin.floor_m
    if not basin.hood or basin.hood_depth_m <= 0:
        return HeldWater(basin.id, "sump of the basin", depth, under, above, "", 0.0, 0.0)
    mouth = under + basin.hood_depth_m
    closes = None if frost_m is None else float(frost_m > mouth)
    return HeldWater(basin.id, "sump of the basin", depth, under, above, "mouth", closes, 1.0, mouth)
