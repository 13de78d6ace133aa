"""The free sizes of a Scheme: what a search may vary. Everything else follows from the job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from roofwell.physics.well.shapes import BodyKind
from roofwell.system.held_ways import LaidTree
from roofwell.system.route_weights import RouteWeights


@dataclass(frozen=True, slots=True)
class BodyChoice:
    """A well body of the trade: size and holes, m; the diameter is also an arch's span and a box's width.

    ``piece_m``: length of one piece of pipe or chamber. Stone alone has no size.
    """

    key: str
    diameter_m: float
    height_m: float
    hole_diameter_m: float
    wall_m: float = 0.0
    kind: BodyKind = "cylinder"
    piece_m: float = 0.0


@dataclass(frozen=True, slots=True)
class WellChoice:
    """How many bodies of which size stand in the pit of one well, with how much stone round them, m.

    Of lying bodies: rows, each ``length_m`` long, over ``stone_below_m`` of stone. Of stone alone: a bed twice
    ``stone_around_m`` wide, ``length_m`` long and ``stone_below_m`` high.
    """

    body: BodyChoice
    bodies: int
    stone_around_m: float
    length_m: float = 0.0
    stone_below_m: float | None = None  # None: the usual


@dataclass(frozen=True, slots=True)
class Choice:
    """Free sizes by part; ``pipe_steps``: trade sizes above the smallest, by run.

    ``route`` is what a route counts by the user's own prices, None for the table's lengths of trench. ``ways``: trees
    that were found a moment ago and are kept where they still fit.
    """

    wells: Mapping[str, WellChoice]
    pipe_steps: Mapping[str, int] = field(default_factory=dict)
    route: RouteWeights | None = None
    ways: tuple[LaidTree, ...] = ()
