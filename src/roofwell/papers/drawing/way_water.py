"""How high water stands along a way: what is left standing, the well full and still, the cloudburst."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from roofwell.design.result import Design
from roofwell.papers.drawing.model import known
from roofwell.papers.drawing.way import Way
from roofwell.system.scheme import Run

_SEEN_M = 0.0005


@dataclass(frozen=True, slots=True)
class WayWater:
    """Water levels along a way, m.

    ``lip_m`` is the lip of the full well, minus infinity without one. ``left`` and ``still`` are level in
    each run and hold for the part at its lower end too; ``peak`` are the levels at both ends of each run.
    """

    lip_m: float
    left: Mapping[str, float]
    still: Mapping[str, float]
    peak: Mapping[str, tuple[float, float]]
    years: float

    def left_at(self, run: Run, station_m: float) -> float | None:
        """Return the level of water that stands for good at a station of a run; None where it is dry."""
        return _over(self.left.get(run.id, -math.inf), run.invert_at(station_m))

    def still_at(self, run: Run, station_m: float) -> float | None:
        """Return the level with the well full and still; None where the pipe is dry."""
        return _over(self.still.get(run.id, -math.inf), run.invert_at(station_m))

    def peak_at(self, run: Run, station_m: float) -> float | None:
        """Return the level in the cloudburst, straight between the ends of the run; None if not known."""
        ends = self.peak.get(run.id)
        if ends is None or not known(*ends) or run.length_m <= 0:
            return None
        return ends[0] + (ends[1] - ends[0]) * station_m / run.length_m


def _over(level_m: float, invert_m: float) -> float | None:
    return level_m if known(level_m, invert_m) and level_m > invert_m + _SEEN_M else None


def way_water(design: Design, way: Way) -> WayWater:
    """Return the water levels along a way: from its end upwards, each sill keeps back what stands above it."""
    lip = _lip(design, way)
    left: dict[str, float] = {}
    still: dict[str, float] = {}
    sill = -math.inf
    for run in reversed(way.runs):
        basin = next((b for b in design.scheme.basins if b.id == run.to_id), None)
        if basin is not None and known(basin.outlet_invert_m):
            sill = max(sill, basin.outlet_invert_m) if basin.weep_holes == 0 else sill
        left[run.id] = sill
        still[run.id] = max(sill, lip)
        if known(run.upstream_invert_m, run.downstream_invert_m):
            sill = max(sill, run.downstream_invert_m if run.fall_m < 0 else sill)
    flows = {flow.id: flow for flow in design.behaviour.runs}
    peak = {
        run.id: (flows[run.id].level_up_m, flows[run.id].level_down_m) for run in way.runs if run.id in flows
    }
    return WayWater(lip, left, still, peak, design.behaviour.return_period_years)


def _lip(design: Design, way: Way) -> float:
    last = way.runs[-1].to_id if way.runs else ""
    well = next((w for w in design.scheme.wells if w.id == last), None)
    if well is None:
        further = design.scheme.way(way.part)
        end = further[-1].to_id if further else ""
        well = next((w for w in design.scheme.wells if w.id == end), None)
    return well.lip_m if well is not None and known(well.lip_m) else -math.inf
