"""What the choice of inverts is told and what it answers: runs, crossings, node rules, the solution."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from roofwell.errors import InputError

NodeKind = Literal["start", "wye", "basin", "end"]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Crossing:
    """Another buried thing that a run crosses; elevations of its outside top and bottom, m."""

    station_m: float
    top_m: float
    bottom_m: float
    clearance_m: float
    label: str


@dataclass(frozen=True, slots=True)
class OwnCrossing:
    """Two runs of the network that cross in plan; one passes over the other with ``clearance_m`` between them."""

    first: str
    first_station_m: float
    second: str
    second_station_m: float
    clearance_m: float


@dataclass(frozen=True, slots=True)
class RunLine:
    """A straight-graded run of buried pipe between two nodes.

    ``stations_m``, ``ground_m``, ``cover_m`` have one shape (k,), k at least 2; stations run from 0 to
    ``length_m`` and do not decrease (a station may stand twice where the wanted cover jumps). Cover is from
    the ground to the outside top of the pipe, which is invert + inside diameter + wall. Slopes are m/m.
    ``fixed_*`` are given values that are kept whatever they break. ``best_slope`` is what the run is laid at
    where that costs little; ``greatest_depth_m`` is from the ground to the outside bottom of the pipe.
    ``cover_names`` says, station by station, what wants the cover (a lawn, a walk, a drive, frost).
    """

    id: str
    from_node: str
    to_node: str
    length_m: float
    stations_m: ArrayLike
    ground_m: ArrayLike
    cover_m: ArrayLike
    outside_diameter_m: float
    inside_diameter_m: float
    wall_m: float
    least_slope: float
    greatest_slope: float
    trench_width_m: float
    crossings: tuple[Crossing, ...] = ()
    fixed_upstream_invert_m: float | None = None
    fixed_downstream_invert_m: float | None = None
    fixed_slope: float | None = None
    best_slope: float = 0.0
    greatest_depth_m: float = math.inf
    cover_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NodeRule:
    """How the inverts meet at a node.

    ``drop_m``: the outlet invert stands this much below the lowest inlet invert; negative where the outlet is
    the higher one (a low inlet and a high outlet cost fall). All inlets of a wye stand at one invert; a basin
    may take some of them higher. ``fixed_invert_m``, ``least_invert_m`` and
    ``greatest_invert_m`` speak of the outlet end; at a node of kind ``end`` of every pipe that ends there.
    ``fixed_inlet_invert_m`` speaks of every inlet.
    """

    id: str
    kind: NodeKind
    drop_m: float = 0.0
    fixed_invert_m: float | None = None
    fixed_inlet_invert_m: float | None = None
    least_invert_m: float | None = None
    greatest_invert_m: float | None = None


class Broken(NamedTuple):
    """A constraint that the nearest solution breaks.

    ``constraint`` is one of ``cover``, ``depth``, ``least-slope``, ``greatest-slope``, ``crossing:<label>``
    (for a run of the network its id), ``node-drop:<node>``, ``node-least-invert:<node>``,
    ``node-greatest-invert:<node>``, ``given-slope``.
    ``shortfall_m`` is a length: missing cover, clearance or elevation, or for slopes the missing (or
    excess) fall over the whole run. ``station_m`` is the worst place on the run.
    """

    constraint: str
    run_id: str
    station_m: float
    shortfall_m: float


@dataclass(frozen=True, slots=True)
class InvertSolution:
    """Inverts of every run, on the grid, verified after rounding.

    ``binding`` names for each run the constraints that hold its inverts where they are (as in ``Broken``,
    and ``given-invert``). ``excavation_m3`` is the trench to the outside bottom of the pipe, bedding not
    included. ``over_or_under`` is keyed by (run id, crossing label or id of the other run). ``exact`` is false
    where the search over crossings and lowest inlets was cut short, so that a shallower answer may exist.
    """

    feasible: bool
    upstream_invert_m: dict[str, float]
    downstream_invert_m: dict[str, float]
    excavation_m3: float
    binding: dict[str, tuple[str, ...]]
    broken: tuple[Broken, ...]
    over_or_under: dict[tuple[str, str], str]
    lowest_inlet: dict[str, str] = field(default_factory=dict)
    least_cover_m: dict[str, float] = field(default_factory=dict)
    least_cover_station_m: dict[str, float] = field(default_factory=dict)
    exact: bool = True


def stations(run: RunLine) -> tuple[Floats, Floats, Floats]:
    """Return stations, ground and wanted cover as arrays of shape (k,)."""
    return (
        np.asarray(run.stations_m, dtype=float),
        np.asarray(run.ground_m, dtype=float),
        np.asarray(run.cover_m, dtype=float),
    )


def check_run(run: RunLine) -> None:
    """Refuse a run that cannot be graded (``run-length``, ``run-stations``, ``run-size``, ``run-slopes``)."""
    x, ground, cover = stations(run)
    if not (math.isfinite(run.length_m) and run.length_m > 0):
        raise InputError(f"run {run.id}: length {run.length_m} m; it must be above 0", code="run-length")
    if not (x.ndim == 1 and x.size >= 2 and x.shape == ground.shape == cover.shape):
        raise InputError(
            f"run {run.id}: stations, ground and cover have shapes {x.shape}, {ground.shape}, {cover.shape}; "
            "they must be equal and of at least two stations",
            code="run-stations",
        )
    if not (np.isfinite(x).all() and np.isfinite(ground).all() and np.isfinite(cover).all()):
        raise InputError(f"run {run.id}: a station, ground or cover is not a number", code="run-stations")
    slack = 1e-6 * max(1.0, run.length_m)
    if (np.diff(x) < 0).any() or abs(x[0]) > slack or abs(x[-1] - run.length_m) > slack:
        raise InputError(
            f"run {run.id}: stations go from {x[0]} to {x[-1]} m; they must run from 0 to {run.length_m} m "
            "and never go back",
            code="run-stations",
        )
    sizes = (run.inside_diameter_m, run.outside_diameter_m, run.trench_width_m)
    if not (all(math.isfinite(s) and s > 0 for s in sizes) and run.wall_m >= 0):
        raise InputError(
            f"run {run.id}: diameters and trench width {sizes} m must be above 0, wall at least 0",
            code="run-size",
        )
    if not 0 <= run.least_slope <= run.greatest_slope:
        raise InputError(
            f"run {run.id}: slopes from {run.least_slope} to {run.greatest_slope}; "
            "the least must be at least 0 and at most the greatest",
            code="run-slopes",
        )
    if run.cover_names and len(run.cover_names) != x.size:
        raise InputError(
            f"run {run.id}: {len(run.cover_names)} names of cover for {x.size} stations; give one for each",
            code="run-stations",
        )
    if not run.greatest_depth_m > 0:
        raise InputError(
            f"run {run.id}: greatest depth {run.greatest_depth_m} m; it must be above 0", code="run-size"
        )
    for crossing in run.crossings:
        if not 0 <= crossing.station_m <= run.length_m + slack or crossing.top_m < crossing.bottom_m:
            raise InputError(
                f"run {run.id}: crossing {crossing.label} at station {crossing.station_m} m, "
                f"top {crossing.top_m}, bottom {crossing.bottom_m} m; "
                "the station must be on the run and the top above the bottom",
                code="run-crossing",
            )


def check_meetings(runs: Sequence[RunLine], meetings: Sequence[OwnCrossing]) -> None:
    """Refuse a crossing of runs that are not there or not so long (``own-crossing``)."""
    lengths = {run.id: run.length_m for run in runs}
    for item in meetings:
        for id, station in ((item.first, item.first_station_m), (item.second, item.second_station_m)):
            if id not in lengths or not 0 <= station <= lengths[id] * (1 + 1e-6):
                raise InputError(
                    f"runs {item.first} and {item.second} cross at station {station} m of {id}; "
                    "both must be runs of the network and the stations on them",
                    code="own-crossing",
                )
        if item.first == item.second:
            raise InputError(f"run {item.first} is said to cross itself; give two runs", code="own-crossing")


def complete_rules(runs: Sequence[RunLine], nodes: Sequence[NodeRule]) -> dict[str, NodeRule]:
    """Return a rule for every node; one without a rule is a start, an end or a joint without drop.

    Raises
    ------
    InputError
        ``run-twice``, ``node-twice``, ``node-ends`` (a start with an inlet, an end with an outlet, a joint
        without one), ``node-two-outlets``, ``runs-in-a-circle``.
    """
    ids = [run.id for run in runs]
    if len(set(ids)) < len(ids):
        raise InputError(f"run ids {ids} are not all different", code="run-twice")
    rules: dict[str, NodeRule] = {}
    for node in nodes:
        if node.id in rules:
            raise InputError(f"node {node.id} has two rules; give one", code="node-twice")
        rules[node.id] = node
    inlets = {run.to_node for run in runs}
    outlets = {run.from_node for run in runs}
    for name in sorted(inlets | outlets):
        kind: NodeKind = "start" if name not in inlets else "end" if name not in outlets else "wye"
        rule = rules.setdefault(name, NodeRule(id=name, kind=kind))
        if (rule.kind == "start" and name in inlets) or (rule.kind == "end" and name in outlets):
            word = "comes in" if rule.kind == "start" else "goes out"
            raise InputError(
                f"node {name} is a {rule.kind}, yet a run {word}; a node with both is a wye or a basin",
                code="node-ends",
            )
        if rule.kind in ("wye", "basin") and name not in outlets:
            raise InputError(
                f"node {name} is a {rule.kind} with no run going out; make it an end", code="node-ends"
            )
        if sum(run.from_node == name for run in runs) > 1 and name in inlets:
            raise InputError(
                f"node {name} has two outlets; give each outlet its own node", code="node-two-outlets"
            )
    onward = {run.from_node: run.to_node for run in runs if run.from_node in inlets}
    for first in onward:
        node_id, steps = first, 0
        while node_id in onward:
            node_id, steps = onward[node_id], steps + 1
            if steps > len(onward):
                raise InputError(f"the runs through node {first} lead in a circle", code="runs-in-a-circle")
    return rules
