"""The pieces of every run in their order, so that no end is left without its mate.

A chain goes with the water; risers (downspout, cleanout, overflow) go from the top down. Pipe is one piece
between two fittings here; ``cutting`` divides it into sticks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import assert_never

import numpy as np

from roofwell import tables
from roofwell.system.scheme import Downspout, Overflow, Run, Scheme, Well, WellLink
from roofwell.takeoff.bends import SAME_PLACE_M, bends, standard_elbows, wye_bend
from roofwell.takeoff.catalog import pipe_size, size_of, stick_of
from roofwell.takeoff.ends import End, Link, PipeSize, between, fitting
from roofwell.takeoff.pipes import SAME_SIZE_M, pipe_rows
from roofwell.units import Style

_STEEP_RAD = math.radians(60)


@dataclass(frozen=True, slots=True)
class Chain:
    """Pieces joined end to end; ``id`` is the run or the part that they belong to.

    ``stationed`` is False for pieces that stand upright in the part itself.
    """

    id: str
    links: tuple[Link, ...]
    stationed: bool = True


class _Builder:
    """Adds fittings with pipe between them, and whatever else the ends need."""

    def __init__(self, run: str, first: Link, size: PipeSize, style: Style) -> None:
        self.run, self.size, self.style = run, size, style
        self.links = [first]
        self._stub_m = tables.assumption("pipe-stub", style).value_si

    def pipe_to(self, link: Link | None, length_m: float) -> None:
        """Add pipe of ``length_m`` from the last piece to ``link``; None: the pipe ends open."""
        upper, start = self.links[-1].lower, self.links[-1].station_m
        bell = (
            upper.kind == "spigot" and upper.size.same_as(self.size) and stick_of(self.size, self.style).bell
        )
        first = End("hub" if bell else "spigot", self.size)
        length = max(length_m, self._stub_m)
        pipe = Link("pipe", first, End("spigot", self.size), self.run, start, length)
        self.links += between(upper, pipe.upper, run=self.run, station_m=start, style=self.style)
        self.links.append(pipe)
        if link is not None:
            self.links += between(
                pipe.lower, link.upper, run=self.run, station_m=link.station_m, style=self.style
            )
            self.links.append(link)

    def chain(self, *, stationed: bool = True) -> Chain:
        return Chain(self.run, tuple(self.links), stationed)


def chains_of(scheme: Scheme, *, bought: frozenset[str], style: Style) -> tuple[Chain, ...]:
    """Return every chain of the Scheme's new runs and wells (ids in ``bought``)."""
    out: list[Chain] = []
    for run in scheme.runs:
        if run.id in bought:
            out.append(_run_chain(scheme, run, style))
            out += _cleanouts(run, style)
    for well in scheme.wells:
        if well.id in bought and well.observation_pipe:
            out.append(_observation(well, _pipe_at(scheme, well), style))
    for link in scheme.links:
        if link.of in bought or link.to in bought:
            out.append(_between_wells(link, style))
    for overflow in scheme.overflows:
        if overflow.id in bought:
            out += _overflow(scheme, overflow, style)
    return tuple(out)


def _between_wells(link: WellLink, style: Style) -> Chain:
    """The pipe between two wells, from body to body."""
    size = pipe_size(link.pipe, link.nominal_m)
    line = _Builder(link.id, fitting("well-boot", size, run=link.id, station_m=0.0), size, style)
    line.pipe_to(fitting("well-boot", size, run=link.id, station_m=link.length_m), link.length_m)
    return line.chain()


def _pipe_at(scheme: Scheme, well: Well) -> str:
    runs = scheme.runs_to(well.id) or scheme.runs
    return runs[0].pipe if runs else ""


def _run_chain(scheme: Scheme, run: Run, style: Style) -> Chain:
    size = size_of(run)
    stops = _stops(scheme, run, size)
    spout = next((d for d in scheme.downspouts if d.id == run.from_id), None)
    if spout is not None:
        kind = f"downspout-adapter-{spout.shape}"
        line = _Builder(run.id, fitting(kind, size, run=run.id, station_m=0.0), size, style)
        riser_m = _riser_m(spout, run)
        if not any(f.kind == "elbow" and _is_base(f.station_m, f.angle_rad) for f in run.fittings):
            stops.insert(0, fitting("elbow-90", size, run=run.id, station_m=0.0))
        line.pipe_to(stops.pop(0), riser_m)
    else:
        line = _Builder(run.id, _upper_end(scheme, run, size), size, style)
        # a wye joins two; a third pipe at one place needs a second wye
        more = len(scheme.runs_to(run.from_id)) - 2 if line.links[0].kind == "wye" else 0
        stops[:0] = [fitting("wye", size, run=run.id, station_m=0.0)] * max(0, more)
    slant = math.hypot(run.length_m, run.fall_m) / run.length_m if run.length_m > 0 else 1.0
    for stop in stops:
        line.pipe_to(stop, (stop.station_m - line.links[-1].station_m) * slant)
    return line.chain()


def _is_base(station_m: float, angle_rad: float) -> bool:
    """Whether an elbow is the one under a downspout: at the start, and nearly square."""
    return station_m < SAME_PLACE_M and angle_rad > _STEEP_RAD


def _riser_m(spout: Downspout, run: Run) -> float:
    return max(0.0, spout.joint_m - run.upstream_inlet_m)


def _stops(scheme: Scheme, run: Run, size: PipeSize) -> list[Link]:
    """Every fitting of a run by its station, and what it ends in."""
    inner: list[tuple[float, Link]] = []
    for station, angle in bends(run):
        for kind in standard_elbows(angle):
            inner.append((station, fitting(kind, size, run=run.id, station_m=station)))
    for given in run.fittings:
        if given.kind == "cleanout":
            tee = fitting("cleanout-tee", size, run=run.id, station_m=given.station_m)
            inner.append((given.station_m, tee))
        elif given.kind == "coupling":
            joint = fitting("coupling", size, run=run.id, station_m=given.station_m)
            inner.append((given.station_m, joint))
    for kind in standard_elbows(wye_bend(scheme, run)):
        inner.append((run.length_m, fitting(kind, size, run=run.id, station_m=run.length_m)))
    inner.sort(key=lambda item: item[0])
    return [*(link for _, link in inner), _lower_end(scheme, run, size)]


def _upper_end(scheme: Scheme, run: Run, size: PipeSize) -> Link:
    if run.from_id in {part.id for part in scheme.wyes}:
        return fitting("wye", size, run=run.id, station_m=0.0)
    if run.from_id in {part.id for part in scheme.basins}:
        return fitting("basin-boot", size, run=run.id, station_m=0.0)
    return fitting("well-boot", size, run=run.id, station_m=0.0)


def _lower_end(scheme: Scheme, run: Run, size: PipeSize) -> Link:
    """What a run flows into; a wye is bought by the run that leaves it."""
    if run.to_id in {part.id for part in scheme.wyes}:
        below = scheme.run_from(run.to_id)
        wye = size_of(below) if below is not None else size
        return fitting("wye", wye, run=run.id, station_m=run.length_m, counted=False)
    outlet = next((o for o in scheme.outlets if o.id == run.to_id), None)
    if run.to_id in {part.id for part in scheme.basins}:
        kind = "basin-boot"
    elif run.to_id in {part.id for part in scheme.wells}:
        kind = _into_well(next(w for w in scheme.wells if w.id == run.to_id), run.outside_diameter_m)
    elif run.to_id in {part.id for part in scheme.overflows}:
        kind = "pop-up-elbow"
    else:
        kind = "sewer-saddle" if outlet is not None and outlet.kind == "storm sewer" else "end-grate"
    return fitting(kind, size, run=run.id, station_m=run.length_m)


def _into_well(well: Well, outside_m: float) -> str:
    """What joins a pipe to what lies in a well's stone."""
    match well.body:
        case "cylinder" | "arch chamber" | "box chamber":
            return "well-boot"
        case "perforated pipe":
            same = abs(well.body_diameter_m - outside_m) < SAME_SIZE_M
            return "coupling" if same else "reducing-adapter"
        case "none":
            return "stone-end"
        case _ as unknown:
            assert_never(unknown)


def _riser_foot(well: Well) -> str:
    """What an overflow's riser stands on."""
    if well.body == "perforated pipe":
        return "riser-tee"
    return "stone-end" if well.body == "none" else "well-boot"


def _cleanouts(run: Run, style: Style) -> list[Chain]:
    """The risers of a run's cleanouts, from the plug down to the tee (which the run's own chain buys)."""
    out, size = [], size_of(run)
    for given in run.fittings:
        if given.kind != "cleanout":
            continue
        at = given.station_m
        ground = (
            float(np.interp(at, run.stations_m, run.ground_m)) if run.stations_m else run.upstream_invert_m
        )
        rise = max(0.0, ground - run.invert_at(at) - run.inside_diameter_m)
        line = _Builder(run.id, fitting("cleanout-plug", size, run=run.id, station_m=at), size, style)
        line.links.append(fitting("cleanout-adapter", size, run=run.id, station_m=at))
        tee = Link("cleanout-tee", End("hub", size), End("hub", size), run.id, at, counted=False)
        line.pipe_to(tee, rise)
        out.append(line.chain())
    return out


def _observation(well: Well, pipe: str, style: Style) -> Chain:
    """A capped pipe from the pit's bottom to the ground, to see the water and time its fall."""
    size = pipe_size(pipe, tables.assumption("observation-pipe", style).value_si)
    line = _Builder(well.id, fitting("cap", size, run=well.id, station_m=0.0), size, style)
    line.pipe_to(None, well.ground_m - well.bottom_m)
    return line.chain(stationed=False)


def reach_m(scheme: Scheme, overflow: Overflow) -> float:
    """Length of overflow pipe between the well and an overflow that stands beside its pit, m; else 0.

    0 too where a run of the Scheme leads there, or where the overflow stands over the pit.
    """
    well = next((w for w in scheme.wells if w.id == overflow.of), None)
    if well is None or scheme.runs_to(overflow.id):
        return 0.0
    if overflow.pipe is not None:
        return overflow.pipe.length_m
    target = next((w for w in scheme.wells if w.id == overflow.to), None)
    if target is not None and any(run.to_id == target.id for run in scheme.runs if run.from_id == well.id):
        return 0.0
    away = math.dist(well.at, target.at if target is not None else overflow.at)
    return away if away > 0.5 * max(well.pit_length_m, well.pit_width_m) else 0.0


def _corners(scheme: Scheme, overflow: Overflow) -> list[tuple[float, float]]:
    """Where the pipe of an overflow turns on plan, and by how much."""
    pipe = next((pipe for pipe in scheme.side_pipes if pipe.id == overflow.id), None)
    return bends(pipe) if pipe is not None else []


def _overflow_end(scheme: Scheme, overflow: Overflow) -> str:
    """What the pipe of an overflow that stands beside its pit ends in."""
    if overflow.to is None:
        return "pop-up-elbow"
    outlet = next((one for one in scheme.outlets if one.id == overflow.to), None)
    if outlet is None:
        return "well-boot"
    return "sewer-saddle" if outlet.kind == "storm sewer" else "end-grate"


def _overflow(scheme: Scheme, overflow: Overflow, style: Style) -> list[Chain]:
    well = next((w for w in scheme.wells if w.id == overflow.of), None)
    if well is None or overflow.kind == "stone surface":
        return []
    size = pipe_size(_pipe_at(scheme, well), overflow.diameter_m)
    # no pipe of this kind is so wide: the grate stands on a riser made for it
    known = [row.nominal_m for row in pipe_rows(size.pipe)]
    wide = bool(known) and size.nominal_m > max(known) + SAME_SIZE_M
    out: list[Chain] = []
    away = reach_m(scheme, overflow)
    kind = "pop-up-emitter" if overflow.kind == "pop-up emitter" else "overflow-grate"
    top = fitting(kind, size, run=overflow.id, station_m=away)
    crown = well.bottom_m + well.stone_below_m + well.body_height_m
    if away > 0:
        line = _Builder(
            overflow.id, fitting(_riser_foot(well), size, run=overflow.id, station_m=0.0), size, style
        )
        end = _overflow_end(scheme, overflow)
        for station, angle in _corners(scheme, overflow):
            for elbow in standard_elbows(angle):
                line.pipe_to(
                    fitting(elbow, size, run=overflow.id, station_m=station),
                    station - line.links[-1].station_m,
                )
        line.pipe_to(fitting(end, size, run=overflow.id, station_m=away), away - line.links[-1].station_m)
        out.append(line.chain())
    elif overflow.to is not None:
        return out
    if overflow.to is None:
        beside = away > 0 or bool(scheme.runs_to(overflow.id))
        below = "pop-up-elbow" if beside else _riser_foot(well)
        foot = fitting(below, size, run=overflow.id, station_m=away, counted=not beside)
        riser = _Builder(overflow.id, top, size, style)
        if wide and not beside:
            riser.links += [fitting("overflow-riser", size, run=overflow.id, station_m=away), foot]
        else:
            riser.pipe_to(foot, overflow.lip_m - min(crown, overflow.lip_m))
        out.append(riser.chain(stationed=away > 0))
    return out
