"""What is dug and what goes back: trenches, pits, spoil, haul-off. Volumes in the bank unless "loose"."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from roofwell.physics.trench.excavation import (
    box_pit_volume_m3,
    haul,
    round_pit_volume_m3,
    trench_volume_m3,
)
from roofwell.system.dug_by import trench_width_m
from roofwell.system.scheme import Basin, Overflow, Run, Scheme, Well
from roofwell.takeoff.chains import reach_m
from roofwell.takeoff.stone import pit_part_m3


@dataclass(frozen=True, slots=True)
class Hole:
    """One trench or pit: ``bank_m3`` is dug; ``bedding_m3`` of pea gravel and other things fill part of it.

    ``filled_m3`` is everything that takes soil's place: bedding, stone, pipe, bodies, basin.
    """

    part: str
    kind: str  # "trench" or "pit"
    bank_m3: float
    filled_m3: float
    bedding_m3: float
    length_m: float
    width_m: float
    depth_m: float
    paved_m2: float = 0.0  # of its top in walks and drives, or bare stone

    @property
    def top_m2(self) -> float:
        """Area of the opening; sides are upright."""
        return self.bank_m3 / self.depth_m if self.depth_m > 0 else 0.0

    @property
    def lawn_m2(self) -> float:
        """Area of the opening in the lawn."""
        return max(0.0, self.top_m2 - self.paved_m2)

    @property
    def backfill_m3(self) -> float:
        """Bank volume of the soil that goes back."""
        return self.bank_m3 - self.filled_m3


@dataclass(frozen=True, slots=True)
class Soil:
    """The soil of the job: bank volume dug, put back and hauled; loose volume in the pile and hauled."""

    bank_m3: float
    backfill_m3: float
    hauled_m3: float
    loose_m3: float
    hauled_loose_m3: float


def trench_bottom_m(run: Run, station_m: float, settings: Mapping[str, float]) -> float:
    """Return the elevation to which the trench of a run is dug at a station: under pipe wall and bedding, m."""
    return run.invert_at(station_m) - run.wall_m - settings["pipe_bedding"]


def basin_hole_bottom_m(basin: Basin, settings: Mapping[str, float]) -> float:
    """Return the elevation to which the hole of a basin is dug: under its floor and bedding, m."""
    return basin.floor_m - basin_bedding_m(basin, settings)


def basin_bedding_m(basin: Basin, settings: Mapping[str, float]) -> float:
    """Return the depth of stone under a basin, m: its pea stone where weep holes drain into it, else the usual bedding."""
    return basin.pea_stone_depth_m or settings["basin_bedding"]


def holes(scheme: Scheme, settings: Mapping[str, float], *, bought: frozenset[str]) -> tuple[Hole, ...]:
    """Return every trench and pit of the new parts (ids in ``bought``); sides upright, nothing dug where it is bored."""
    out = [_trench(scheme, run, settings) for run in scheme.runs if run.id in bought]
    out += [_basin_pit(basin, settings) for basin in scheme.basins if basin.id in bought]
    out += [_well_pit(well) for well in scheme.wells if well.id in bought]
    linked = {link.id for link in scheme.links if link.of in bought or link.to in bought}
    beside = [pipe for pipe in scheme.side_pipes if pipe.id in bought | linked]
    out += [_trench(scheme, pipe, settings) for pipe in beside]
    known = {pipe.id for pipe in beside}
    for overflow in scheme.overflows:
        if overflow.id in bought - known and reach_m(scheme, overflow) > 0:
            out.append(_overflow_trench(scheme, overflow, settings))
    return tuple(out)


def _filled_trench(
    part: str, *, width_m: float, depth_m: float, length_m: float, bedding_m: float, pipe_m: float
) -> Hole:
    bank = trench_volume_m3(width_m=width_m, mean_depth_m=depth_m, length_m=length_m)
    bedding = trench_volume_m3(width_m=width_m, mean_depth_m=min(bedding_m, depth_m), length_m=length_m)
    pipe = round_pit_volume_m3(diameter_m=pipe_m, depth_m=length_m)
    return Hole(part, "trench", bank, min(bank, bedding + pipe), bedding, length_m, width_m, depth_m)


def _inside(scheme: Scheme, run: Run, part: str, settings: Mapping[str, float]) -> float:
    """How much of a pipe lies in the pit of the part at its end (at least), m; a link goes from wall to wall."""
    if any(link.id == run.id for link in scheme.links):
        return 0.0
    well = next((w for w in scheme.wells if w.id == part), None)
    if well is not None:
        return 0.5 * min(well.pit_length_m, well.pit_width_m)
    basin = next((b for b in scheme.basins if b.id == part), None)
    return 0.5 * _basin_pit_width_m(basin, settings) if basin is not None else 0.0


def _trench(scheme: Scheme, run: Run, settings: Mapping[str, float]) -> Hole:
    bedding = settings["pipe_bedding"]
    first = _inside(scheme, run, run.from_id, settings)
    last = max(first, run.length_m - _inside(scheme, run, run.to_id, settings))
    width = trench_width_m(run.outside_diameter_m, settings)
    passed = [
        (max(first, c.station_m), min(last, c.station_m + c.length_m), c.way)
        for c in scheme.paved
        if c.run == run.id
    ]
    bored = [(a, b) for a, b, way in passed if way == "bored" and a < b]
    face, length = _side_m2(run, first, last, settings), last - first
    for a, b in bored:
        face, length = face - _side_m2(run, a, b, settings), length - (b - a)
    trench = _filled_trench(
        run.id,
        width_m=width,
        depth_m=face / length if length > 0 else 0.0,
        length_m=length,
        bedding_m=bedding,
        pipe_m=run.outside_diameter_m,
    )
    cut = math.fsum(b - a for a, b, way in passed if way == "cut" and a < b)
    return replace(trench, paved_m2=width * cut) if cut else trench


def _side_m2(run: Run, first_m: float, last_m: float, settings: Mapping[str, float]) -> float:
    """Area of one side of a run's trench between two stations."""
    inner = [s for s in run.stations_m if first_m < s < last_m]
    stations = np.array([first_m, *inner, last_m])
    ground = np.interp(stations, run.stations_m, run.ground_m)
    bottom = np.array([trench_bottom_m(run, float(s), settings) for s in stations])
    return float(np.trapezoid(np.maximum(ground - bottom, 0.0), stations))


def _overflow_trench(scheme: Scheme, overflow: Overflow, settings: Mapping[str, float]) -> Hole:
    """The pipe that leads an overflow's water into a second well: it leaves the pit at the top of the stone."""
    well = next(w for w in scheme.wells if w.id == overflow.of)
    bedding = settings["pipe_bedding"]
    inside = 0.5 * min(well.pit_length_m, well.pit_width_m)
    deep = max(0.0, well.ground_m - well.stone_top_m) + overflow.diameter_m + bedding
    return _filled_trench(
        overflow.id,
        width_m=trench_width_m(overflow.diameter_m, settings),
        depth_m=deep,
        length_m=max(0.0, reach_m(scheme, overflow) - inside),
        bedding_m=bedding,
        pipe_m=overflow.diameter_m,
    )


def _basin_pit_width_m(basin: Basin, settings: Mapping[str, float]) -> float:
    return basin.width_m + 2 * max(basin.pea_stone_around_m, settings["basin_working_space"])


def _basin_pit(basin: Basin, settings: Mapping[str, float]) -> Hole:
    width, bedding = _basin_pit_width_m(basin, settings), basin_bedding_m(basin, settings)
    buried = max(0.0, basin.ground_m - basin.floor_m)

    def prism(size_m: float, height_m: float) -> float:
        if basin.shape == "round":
            return round_pit_volume_m3(diameter_m=size_m, depth_m=height_m)
        longer = basin.along_m - basin.width_m
        return box_pit_volume_m3(length_m=size_m + longer, width_m=size_m, depth_m=height_m)

    bed = prism(width, bedding)
    filled = bed + prism(basin.width_m, buried)
    long = width + basin.along_m - basin.width_m
    return Hole(basin.id, "pit", prism(width, buried + bedding), filled, bed, long, width, buried + bedding)


def _well_pit(well: Well) -> Hole:
    depth = max(0.0, well.ground_m - well.bottom_m)
    bank = pit_part_m3(well, depth)
    stone = min(bank, pit_part_m3(well, max(0.0, well.stone_top_m - well.bottom_m)))
    # no lawn grows over stone that comes up to it
    bare = pit_part_m3(well, 1.0) if well.stone_reaches != "buried" else 0.0
    return Hole(well.id, "pit", bank, stone, 0.0, well.pit_length_m, well.pit_width_m, depth, bare)


def soil_of(dug: tuple[Hole, ...], swell: float) -> Soil:
    """Return the soil balance: what is dug either goes back (packed as it lay) or leaves."""
    bank = math.fsum(hole.bank_m3 for hole in dug)
    back = math.fsum(hole.backfill_m3 for hole in dug)
    moved = haul(bank_m3=bank, swell=swell, backfilled_bank_m3=back)
    return Soil(bank, back, moved.leaves_m3 / (1 + swell), moved.loose_m3, moved.leaves_m3)
