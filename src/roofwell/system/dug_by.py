"""What trenches and holes are dug by: one rule of widths and beds for levels, routes, take-off and checks."""

from __future__ import annotations

from collections.abc import Mapping

from roofwell import tables
from roofwell.physics.trench.excavation import least_trench_width_m
from roofwell.units import Style

DUG_BY = (
    "pipe-bedding",
    "basin-bedding",
    "basin-working-space",
    "trench-width-beside-pipe",
    "trench-width-ratio",
    "trench-width-extra",
)


def usual(style: Style) -> dict[str, float]:
    """Return the assumptions that holes are dug by, as settings, in the figures of a style."""
    return {key.replace("-", "_"): tables.assumption(key, style).value_si for key in DUG_BY}


def least_width_m(outside_diameter_m: float, settings: Mapping[str, float]) -> float:
    """Return the published least width of the trench of a pipe, m."""
    return least_trench_width_m(
        outside_diameter_m=outside_diameter_m,
        beside_m=settings["trench_width_beside_pipe"],
        ratio=settings["trench_width_ratio"],
        extra_m=settings["trench_width_extra"],
    )


def trench_width_m(outside_diameter_m: float, settings: Mapping[str, float]) -> float:
    """Return the width of the trench of a pipe, m: the job's own (``trench_width``), else the least one."""
    if "trench_width" in settings:
        return settings["trench_width"]
    return least_width_m(outside_diameter_m, settings)
