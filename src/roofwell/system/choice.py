"""The free sizes of a Scheme: what a search may vary. Everything else follows from the job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from roofwell.system.route_weights import RouteWeights


@dataclass(frozen=True, slots=True)
class BodyChoice:
    """A well body of the trade: size and holes, m."""

    key: str
    diameter_m: float
    height_m: float
    hole_diameter_m: float
    wall_m: float = 0.0


@dataclass(frozen=True, slots=True)
class WellChoice:
    """How many bodies of which size stand in the pit of one well, with how much stone round them, m."""

    body: BodyChoice
    bodies: int
    stone_around_m: float


@dataclass(frozen=True, slots=True)
class Choice:
    """Free sizes by part; ``pipe_steps``: trade sizes above the smallest, by run.

    ``route`` is what a route counts by the user's own prices, None for the table's lengths of trench.
    """

    wells: Mapping[str, WellChoice]
    pipe_steps: Mapping[str, int] = field(default_factory=dict)
    route: RouteWeights | None = None
