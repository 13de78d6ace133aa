"""The ladder of one way: what the rod must find on the bottom of the trench, and where hands dig.

Elevations in metres, unrounded; stations run along the way from its upper end. The bottom of the trench is
the take-off's (``trench_bottom_m``), so that what is dug is what was counted and priced.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import shapely

from roofwell import tables
from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.drawing.model import known
from roofwell.papers.drawing.way import Way, joins, unroll
from roofwell.papers.texts import Say
from roofwell.physics.trench import route
from roofwell.system import side_pipes
from roofwell.system.facts import FeatureFact
from roofwell.system.pipe_ends import ENDS, pipe_end
from roofwell.system.scheme import PipeFitting, Run, Scheme
from roofwell.takeoff.digging import trench_bottom_m

APART_M = 0.3
"""A whole station nearer than this to a fitting, crossing or end is left out: one shot does for both."""


@dataclass(frozen=True, slots=True)
class Rung:
    """One place to shoot: ``level_m`` is the bottom of the trench, ``ground_m`` the ground over it."""

    station_m: float
    run: str
    what: str
    level_m: float
    ground_m: float


@dataclass(frozen=True, slots=True)
class Bar:
    """Where hands dig, from station to station; ``level_m`` is the nearest face of what lies there.

    ``under_m`` is how far that lies under the bottom of the trench, negative over it; both None where its
    depth is not known. ``crosses`` is the station of a crossing, None for a line that runs beside.
    """

    first_m: float
    last_m: float
    label: str
    crosses_m: float | None
    level_m: float | None
    under_m: float | None


@dataclass(frozen=True, slots=True)
class Trench:
    """The dug part of a run: stations on its way between the walls of the holes at its ends."""

    run: Run
    start_m: float
    first_m: float
    last_m: float


@dataclass(frozen=True, slots=True)
class Ladder:
    """One way of digging: its trenches from the upper end down, rungs and bars in the order of stations.

    ``until`` is the part where a branch meets a way that is dug with another ladder.
    """

    way: Way
    until: str | None
    trenches: tuple[Trench, ...]
    steps: tuple[Rung | Bar, ...]

    @property
    def key(self) -> str:
        """What tells it from every other ladder: the part at its upper end, or the pipe of an overflow or link."""
        return self.way.part

    @property
    def start(self) -> str:
        """The part at the upper end."""
        return self.way.runs[0].from_id

    @property
    def end(self) -> str:
        """The part at the lower end."""
        return self.way.runs[-1].to_id

    @property
    def rungs(self) -> tuple[Rung, ...]:
        """The places to shoot."""
        return tuple(step for step in self.steps if isinstance(step, Rung))

    @property
    def bars(self) -> tuple[Bar, ...]:
        """The stretches that hands dig."""
        return tuple(step for step in self.steps if isinstance(step, Bar))


def standing(design: Design) -> frozenset[str]:
    """Return the labels of runs, basins and wells that stand already: nobody digs for them."""
    return side_pipes.standing(design.job)


def ways(scheme: Scheme) -> tuple[tuple[Way, str | None], ...]:
    """Return every way of digging: each pipe stands on exactly one; the longest to each end comes whole.

    The second value is the part where a branch meets the way that is dug before it; a link meets its second well. Pipes of
    overflows and links come last, each by itself.
    """
    out = []
    for spout, met in joins(scheme).items():
        way = unroll(scheme, spout, until=met[0] if met else None)
        out.append((way, met[0] if met else None))
    seen = {run.id for way, _ in out for run in way.runs}
    rest = [run for run in scheme.runs if run.id not in seen]
    for run in rest:
        if run.id in seen or any(other.to_id == run.from_id and other.id not in seen for other in rest):
            continue
        own: list[Run] = []
        for one in scheme.way(run.from_id):
            if one.id in seen:
                break
            own.append(one)
            seen.add(one.id)
        meets = scheme.run_from(own[-1].to_id)
        until = own[-1].to_id if meets is not None else None
        out.append((unroll(scheme, run.from_id, until=own[-1].to_id), until))
    links = {link.id for link in scheme.links}
    for pipe in scheme.side_pipes:
        out.append((Way(pipe.id, (pipe,), (0.0,)), pipe.to_id if pipe.id in links else None))
    return tuple((way, until) for way, until in out if way.runs)


def ladders(design: Design) -> tuple[Ladder, ...]:
    """Return a ladder for each way on which something is dug and whose levels are known."""
    there = standing(design)
    out = []
    for way, until in ways(design.scheme):
        trenches = tuple(
            trench
            for run, start in zip(way.runs, way.starts_m, strict=True)
            if run.id not in there
            and run.length_m > 0
            and known(run.upstream_invert_m, run.downstream_invert_m, run.wall_m)
            and (trench := _trench(design, run, start)).last_m > trench.first_m
        )
        if trenches:
            out.append(Ladder(way, until, trenches, _steps(design, way, trenches)))
    return tuple(out)


def bottom_at(design: Design, trench: Trench, station_m: float) -> float:
    """Return the bottom of a trench at a station of its way, m."""
    return trench_bottom_m(trench.run, station_m - trench.start_m, design.survey.settings)


def _trench(design: Design, run: Run, start: float) -> Trench:
    """Cut the run off where it lies in the hole of a well or inside a basin."""
    upper, lower = (pipe_end(design.scheme, run, end) for end in ENDS)
    first = upper.station_m if upper.wall == "basin" else 0.0
    last = lower.station_m if lower.wall == "basin" else run.length_m
    for well in design.scheme.wells:
        if well.id in (run.from_id, run.to_id) and len(run.path) > 1:
            inside = route.crossings(run.path, shapely.Polygon(well.pit_corners))
            if well.id == run.from_id and inside and inside[0][0] < APART_M:
                first = inside[0][1]
            if well.id == run.to_id and inside and inside[-1][1] > run.length_m - APART_M:
                last = inside[-1][0]
    return Trench(run, start, start + first, start + last)


def _steps(design: Design, way: Way, trenches: tuple[Trench, ...]) -> tuple[Rung | Bar, ...]:
    rungs: list[Rung] = []
    bars: list[Bar] = []
    for index, trench in enumerate(trenches):
        before = trenches[index - 1] if index else None
        bars += _bars(design, trench)
        places = _places(design, trench, before)
        bores = bored(design, trench)
        for station in _whole(design, trench):
            in_bore = any(first < station < last for first, last, _ in bores)
            if not in_bore and all(abs(station - other) > APART_M for other in places):
                places[station] = ""
        for station, what in sorted(places.items()):
            ground = way.ground_at(station) if design.survey.ground_known else math.nan
            rungs.append(Rung(station, trench.run.id, what, bottom_at(design, trench, station), ground))
    steps: list[Rung | Bar] = [*_merged(rungs)]
    for bar in sorted(bars, key=lambda one: one.first_m):
        at = next(
            (n for n, step in enumerate(steps) if isinstance(step, Rung) and step.station_m >= bar.first_m),
            len(steps),
        )
        steps.insert(at, bar)
    return tuple(steps)


def _merged(rungs: list[Rung]) -> list[Rung]:
    """Make one rung of the end of a run and the start of the next where the bottom goes straight through."""
    out: list[Rung] = []
    for rung in rungs:
        last = out[-1] if out else None
        if last is not None and math.isclose(last.station_m, rung.station_m, abs_tol=1e-6):
            if math.isclose(last.level_m, rung.level_m, abs_tol=1e-6):
                words = list(dict.fromkeys(text for text in (last.what, rung.what) if text))
                out[-1] = replace(last, what=", ".join(words))
                continue
            out[-1] = replace(last, what=_joined(last.what, "in"))
            rung = replace(rung, what=_joined(rung.what, "out"))
        out.append(rung)
    return out


def _joined(what: str, word: str) -> str:
    head, comma, tail = what.partition(", ")
    return f"{head} {word}{comma}{tail}".strip()


def _whole(design: Design, trench: Trench) -> Iterator[float]:
    """Stations every 10 ft or 3 m along the way."""
    step = 10 * 0.3048 if design.survey.style == "us" else 3.0
    count = math.floor(trench.first_m / step) + 1
    while count * step < trench.last_m:
        yield count * step
        count += 1


def _places(design: Design, trench: Trench, before: Trench | None) -> dict[float, str]:
    """Return the stations that must be shot whatever the whole ones are: ends, fittings, crossings."""
    say, scheme, run = Say(design.survey.style), design.scheme, trench.run
    holes = {well.id for well in scheme.wells}
    basins = {basin.id for basin in scheme.basins}

    def name(part: str, word: str) -> str:
        if part in holes:
            return f"wall of hole {part}"
        return f"{part} {word}" if part in basins else part

    size = say.size(run.nominal_m)
    changed = before is None or not math.isclose(before.run.nominal_m, run.nominal_m)
    start, end = name(run.from_id, "out"), name(run.to_id, "in")
    places = {
        trench.first_m: f"{start}, {size}" if changed else start,
        trench.last_m: end if run.to_id in holes | basins or _goes_on(scheme, run) else f"{end}, end",
    }
    for station, fittings in itertools.groupby(run.fittings, key=lambda one: one.station_m):
        at = trench.start_m + station
        words = " + ".join(_fitting(fitting) for fitting in fittings)
        if trench.first_m - 1e-9 <= at <= trench.last_m + 1e-9:
            near = next((place for place in places if abs(place - at) < 1e-3), None)
            if near is None:
                places[at] = words
            else:
                places[near] += f", {words}"
    for first, last, id in bored(design, trench):
        for at, words in ((first, f"bore under {id} from here"), (last, f"bored under {id} to here")):
            if not trench.first_m < at < trench.last_m:
                continue
            near = next((place for place in places if abs(place - at) <= APART_M), None)
            if near is None:
                places[at] = words
            else:
                places[near] += f", {words}" if places[near] else words
    for crossing in run.crossings:
        at = trench.start_m + crossing.station_m
        if not trench.first_m < at < trench.last_m:
            continue
        near = next((place for place in places if abs(place - at) <= APART_M), None)
        if near is None:
            places[at] = f"at the {crossing.label}"
        else:
            places[near] += f", at the {crossing.label}"
    return places


def bored(design: Design, trench: Trench) -> list[tuple[float, float, str]]:
    """Return where the trench stops for a bore, from station to station of its way, and under what."""
    return [(first, last, id) for first, last, id, way in _passed(design, trench) if way == "bored"]


def paved_over(ladder: Ladder, design: Design, way: str, say: Say) -> str:
    """Return the walks and drives that are ``bored`` under or ``cut``, and from where to where; empty if none is."""
    return several(
        [
            f"{id} from {say.station(first)} to {say.station(last)}"
            for trench in ladder.trenches
            for first, last, id, how in _passed(design, trench)
            if how == way
        ]
    )


def _passed(design: Design, trench: Trench) -> Iterator[tuple[float, float, str, str]]:
    for crossing in design.scheme.paved:
        if crossing.run == trench.run.id:
            first = trench.start_m + crossing.station_m
            yield first, first + crossing.length_m, f"{crossing.kind} {crossing.id}", crossing.way


def _goes_on(scheme: Scheme, run: Run) -> bool:
    return scheme.run_from(run.to_id) is not None


def _fitting(fitting: PipeFitting) -> str:
    plain = fitting.label.replace(".", "", 1).isdigit()
    return f"{fitting.label}° {fitting.kind}" if plain else fitting.label or fitting.kind


def _bars(design: Design, trench: Trench) -> Iterator[Bar]:
    """Yield a bar where the trench comes into the tolerance zone of a buried line, crossing it or beside it."""
    run = trench.run
    if len(run.path) < 2:
        return
    zone = tables.limit("tolerance-zone", design.survey.style).value_si
    for feature in design.survey.of_kind("utility", "existing drain"):
        shape = _shape(feature)
        if shape is None:
            continue
        reach = zone + 0.5 * (feature.diameter_m or 0.0)
        crossings = [thing for thing in run.crossings if thing.id == feature.id]
        for first, last in route.crossings(run.path, shape.buffer(reach)):
            start = max(trench.first_m, trench.start_m + first)
            end = min(trench.last_m, trench.start_m + last)
            if end <= start:
                continue
            met = [thing for thing in crossings if first <= thing.station_m <= last]
            crosses = trench.start_m + met[0].station_m if met else None
            middle = min(max(crosses if crosses is not None else 0.5 * (start + end), start), end)
            level, under = _face(feature, bottom_at(design, trench, middle))
            yield Bar(start, end, _label(feature), crosses, level, under)


def _shape(feature: FeatureFact) -> shapely.Geometry | None:
    if not feature.points:
        return None
    return shapely.LineString(feature.points) if len(feature.points) > 1 else shapely.Point(feature.points[0])


def _face(feature: FeatureFact, bottom_m: float) -> tuple[float | None, float | None]:
    """Return the top of a line under the trench, or of one in its way, and how far under the bottom it is."""
    if feature.top_m is None or not known(feature.top_m, bottom_m):
        return None, None
    return feature.top_m, bottom_m - feature.top_m


def _label(feature: FeatureFact) -> str:
    if feature.kind == "existing drain":
        return "existing drain"
    kinds = {"unknown": "buried line of unknown kind", "water": "drinking water"}
    kind = feature.utility or "unknown"
    return kinds.get(kind, kind)


def hand_dug(ladder: Ladder, say: Say) -> str:
    """Return what is uncovered by hand and where, in words; empty where nothing is."""
    return several(
        [
            f"{bar.label} at {say.station(bar.crosses_m if bar.crosses_m is not None else bar.first_m)}"
            for bar in ladder.bars
        ]
    )
