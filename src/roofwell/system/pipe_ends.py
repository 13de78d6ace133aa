"""Where a pipe ends for a rod: at the wall of the basin or well body that it enters, not at the part's middle.

A run is reckoned from the middle of a part to the middle of the next, and its ``upstream_invert_m`` and
``downstream_invert_m`` are there. Nobody can shoot those inside a basin or a well: what papers print is here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

from roofwell.system.scheme import Run, Scheme, Well

End = Literal["upstream", "downstream"]
ENDS: tuple[End, ...] = get_args(End)
Wall = Literal["basin", "well"]


@dataclass(frozen=True, slots=True)
class PipeEnd:
    """One end of a run: ``station_m`` from the run's upstream end, ``invert_m`` as an elevation.

    ``wall`` says whose wall that is: inside wall of a basin, outside of a well's body; None at every other part and
    where the size of the basin or body is not known, and then it is the run's own end.
    """

    run: str
    end: End
    part: str
    wall: Wall | None
    station_m: float
    invert_m: float


def pipe_end(scheme: Scheme, run: Run, end: End) -> PipeEnd:
    """Return where a run ends, on the straight line between its inverts.

    The wall lies half a basin's inside width, or half a body's outside diameter, from the middle; a run that is shorter
    than this ends at its other end. ``invert_m`` is NaN where the run's inverts are.
    """
    part = run.from_id if end == "upstream" else run.to_id
    wall, reach = _wall(scheme, part)
    back = min(reach, run.length_m)
    if run.length_m <= 0 or back <= 0:
        at = 0.0 if end == "upstream" else run.length_m
        level = run.upstream_invert_m if end == "upstream" else run.downstream_invert_m
        return PipeEnd(run.id, end, part, None, at, level)
    at = back if end == "upstream" else run.length_m - back
    return PipeEnd(run.id, end, part, wall, at, run.invert_at(at))


def end_invert_m(scheme: Scheme, run: Run, end: End) -> float:
    """Return the invert that every paper prints for an end of a run, m; see ``pipe_end``."""
    return pipe_end(scheme, run, end).invert_m


def lowest_inlet(scheme: Scheme, part: str) -> PipeEnd | None:
    """Return the lowest end of the runs that reach a part; None where none does or none's level is known."""
    ends = (pipe_end(scheme, run, "downstream") for run in scheme.runs_to(part))
    return min(
        (end for end in ends if math.isfinite(end.invert_m)), key=lambda end: end.invert_m, default=None
    )


def body_reach_m(well: Well) -> float:
    """Return how far before ``at`` the body begins, m: half an upright one; of lying ones to the near end of the row."""
    if well.body == "none":
        return 0.0
    if well.body == "cylinder":
        return 0.5 * well.body_diameter_m
    return 0.5 * well.body_length_m - 0.5 * max(0.0, well.pit_length_m - well.pit_width_m)


def _wall(scheme: Scheme, part: str) -> tuple[Wall | None, float]:
    """Return whose wall a pipe meets at a part, and how far it stands from the part's middle, m."""
    for basin in scheme.basins:
        if basin.id == part and math.isfinite(basin.width_m):
            return "basin", 0.5 * basin.along_m
    for well in scheme.wells:
        if well.id == part and math.isfinite(well.body_diameter_m):
            reach = body_reach_m(well)
            return ("well", reach) if reach > 0 else (None, 0.0)
    return None, 0.0
