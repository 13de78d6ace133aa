"""How high water stands along a way: what is left standing, the well full and still, the cloudburst."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass

from roofwell.design.result import Design
from roofwell.papers.drawing.model import XY, known
from roofwell.papers.drawing.way import Way
from roofwell.system import side_water
from roofwell.system.behaviour import RunFlow
from roofwell.system.scheme import Run

_SEEN_M = 0.0005


@dataclass(frozen=True, slots=True)
class WayWater:
    """Water levels along a way, m.

    ``lip_m`` is the lip of the full well, minus infinity without one. ``left`` and ``still`` are level in
    each run and hold for the part at its lower end too; ``peak`` are points (station in the run, level) of
    the water in the cloudburst, with the jump of rapid flow as an upright step.
    """

    lip_m: float
    left: Mapping[str, float]
    still: Mapping[str, float]
    peak: Mapping[str, tuple[XY, ...]]
    years: float

    @property
    def levels(self) -> tuple[float, ...]:
        """Every level along the way, m."""
        tops = (level for points in self.peak.values() for _, level in points)
        return (*tops, *self.still.values(), *self.left.values())

    def left_at(self, run: Run, station_m: float) -> float | None:
        """Return the level of water that stands for good at a station of a run; None where it is dry."""
        return _over(self.left.get(run.id, -math.inf), run.invert_at(station_m))

    def still_at(self, run: Run, station_m: float) -> float | None:
        """Return the level with the well full and still; None where the pipe is dry."""
        return _over(self.still.get(run.id, -math.inf), run.invert_at(station_m))

    def peak_at(self, run: Run, station_m: float) -> float | None:
        """Return the level in the cloudburst at a station of a run; None if it is not known."""
        points = self.peak.get(run.id, ())
        for a, b in itertools.pairwise(points):
            if a[0] <= station_m <= b[0] + _SEEN_M and b[0] > a[0]:
                return a[1] + (b[1] - a[1]) * min(1.0, (station_m - a[0]) / (b[0] - a[0]))
        return None


def _over(level_m: float, invert_m: float) -> float | None:
    return level_m if known(level_m, invert_m) and level_m > invert_m + _SEEN_M else None


def way_water(design: Design, way: Way) -> WayWater:
    """Return the water levels along a way: from its end upwards, each sill keeps back what stands above it."""
    own = {pipe.id for pipe in design.scheme.side_pipes}
    if way.runs and way.runs[0].id in own:
        return _side_water(design, way.runs[0])
    lip = _lip(design, way)
    left: dict[str, float] = {}
    still: dict[str, float] = {}
    sill = -math.inf
    for run in reversed(way.runs):
        basin = next((b for b in design.scheme.basins if b.id == run.to_id), None)
        if basin is not None and known(basin.outlet_invert_m):
            sill = max(sill, basin.outlet_invert_m) if basin.weep_holes == 0 else sill
        if known(run.upstream_invert_m, run.downstream_invert_m) and run.fall_m < 0:
            sill = max(sill, run.downstream_invert_m)
        left[run.id] = sill
        still[run.id] = max(sill, lip)
    flows = {flow.id: flow for flow in design.behaviour.runs}
    peak = {run.id: surface_points(run, flows[run.id]) for run in way.runs if run.id in flows}
    return WayWater(lip, left, still, peak, design.behaviour.return_period_years)


def _side_water(design: Design, pipe: Run) -> WayWater:
    """The water in the pipe of an overflow or link: full and still, it stands at the level of its well."""
    scheme = design.scheme
    lips = [well.lip_m for well in scheme.wells if well.id in (pipe.from_id, pipe.to_id)]
    overflow = next((one for one in scheme.overflows if one.id == pipe.id), None)
    led_on = (
        overflow is not None and overflow.to is not None
    )  # it begins at the lip: a well that is full and still is under it
    lip = -math.inf if led_on else max((z for z in lips if known(z)), default=-math.inf)
    left = side_water.left_m(scheme, pipe)
    flow = side_water.cloudburst_flows(scheme, design.behaviour).get(pipe.id)
    years = design.behaviour.return_period_years
    peak = {pipe.id: surface_points(pipe, flow)} if flow is not None else {}
    return WayWater(lip, {pipe.id: left}, {pipe.id: max(left, lip)}, peak, years)


def surface_points(run: Run, flow: RunFlow) -> tuple[XY, ...]:
    """Return the water surface over a run (station in it, level), from what its kind of flow says of it.

    Rapid flow runs at its normal depth down to the jump, still water lies level from there on; where the
    lower part runs full, the surface leaves the crown. Transitions at the ends are drawn short.
    """
    length, bore = run.length_m, run.inside_diameter_m
    ends = (0.0, flow.level_up_m), (length, flow.level_down_m)
    if length <= 0 or not known(flow.level_up_m, flow.level_down_m, run.fall_m):
        return ()
    full = min(flow.full_length_m, length)
    brim = (length - full, run.invert_at(length - full) + bore)
    drowned = (brim,) if 0.02 * length < full < 0.98 * length else ()
    if flow.slope_class != "steep" or flow.depth_ratio is None or full >= 0.98 * length:
        return (ends[0], *drowned, ends[1])
    normal = flow.depth_ratio * bore
    if flow.jump_m is not None and flow.jump_m < length:
        jump = length - flow.jump_m
        settled = min(5.0 * bore, 0.5 * jump)
        after = brim[1] if drowned and brim[0] > jump else flow.level_down_m
        return (
            ends[0],
            (settled, run.invert_at(settled) + normal),
            (jump, run.invert_at(jump) + normal),
            (jump, max(after, run.invert_at(jump) + normal)),
            *(drowned if brim[0] > jump else ()),
            ends[1],
        )
    if drowned or flow.control == "backwater":
        return (ends[0], *drowned, ends[1])
    settled = min(5.0 * bore, 0.4 * length)
    return (ends[0], (settled, run.invert_at(settled) + normal), ends[1])


def _lip(design: Design, way: Way) -> float:
    last = way.runs[-1].to_id if way.runs else ""
    well = next((w for w in design.scheme.wells if w.id == last), None)
    if well is None:
        further = design.scheme.way(way.part)
        end = further[-1].to_id if further else ""
        well = next((w for w in design.scheme.wells if w.id == end), None)
    return well.lip_m if well is not None and known(well.lip_m) else -math.inf
