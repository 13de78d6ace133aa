"""The trench that a route counts with before its own levels are known."""

from __future__ import annotations

from roofwell import tables
from roofwell.job import model
from roofwell.system import pipe_slopes, trench_parts
from roofwell.system.dug_by import trench_width_m
from roofwell.system.facts import Survey
from roofwell.system.route_ground import Trench


def usual_trench(job: model.Job, survey: Survey) -> Trench:
    """Return the trench of the smallest pipe that is designed, at the job's covers."""
    sizes = trench_parts.pipe_sizes(job.settings.pipe or trench_parts.default_part("pipe", survey))
    sizes = sizes or trench_parts.pipe_sizes(trench_parts.default_part("pipe", survey))
    smallest = tables.assumption(
        "smallest-pipe-us" if survey.style == "us" else "smallest-pipe-metric"
    ).value_si
    size = next((s for s in sizes if s.nominal_m >= smallest - 1e-9), sizes[-1])
    least = pipe_slopes.least_slope(size.nominal_m, survey)[0]
    settings = survey.settings
    return Trench(
        inside_m=size.inside_m,
        outside_m=size.outside_m,
        width_m=trench_width_m(size.outside_m, settings),
        least_slope=least,
        greatest_slope=max(least, tables.limit("pipe-slope-greatest").value_si),
        cover_lawn_m=settings["cover_lawn"],
        cover_walk_m=settings["cover_walk"],
        cover_drive_m=settings["cover_drive"],
        wall_offset_m=tables.assumption("trench-offset", survey.style).value_si,
    )
