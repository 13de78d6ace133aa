"""Water over the ground, as frozen values; the step that finds it stands in ``overland``."""

from __future__ import annotations

from dataclasses import dataclass

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class WaterAt:
    """Running water at one place of a way: ``level_m`` is of its surface, an elevation; ``fall_m_m`` that of the way.

    ``in_hollow``: the ground itself holds the water together there; else a stated shallow shape stands in.
    """

    station_m: float
    at: XY
    ground_m: float
    fall_m_m: float
    flow_m3_s: float
    depth_m: float
    width_m: float
    velocity_m_s: float
    in_hollow: bool

    @property
    def level_m(self) -> float:
        """Elevation of the water's surface, m."""
        return self.ground_m + self.depth_m


@dataclass(frozen=True, slots=True)
class Ponded:
    """A bowl that a way runs through, full. ``at_rim``: it reaches the end of the shots, so its level is not sure."""

    level_m: float
    depth_m: float
    area_m2: float
    volume_m3: float
    outline: tuple[XY, ...]
    spills_at: XY | None
    at_rim: bool


@dataclass(frozen=True, slots=True)
class Near:
    """How near the water's edge comes to something, m (0: it reaches it); ``level_m``: of the highest water near a
    house, None where none comes near its walls."""

    id: str
    kind: str
    distance_m: float
    level_m: float | None = None


@dataclass(frozen=True, slots=True)
class DrawnWay:
    """A way as the job draws it. ``off_m``: how far it gets from the found one, at ``off_at``; None where none is found.

    ``houses``: those that it runs through. ``follows``: it keeps within the water of the found one, or as near as places
    are taped.
    """

    points: tuple[XY, ...]
    houses: tuple[str, ...]
    off_m: float | None
    off_at: XY | None
    follows: bool


@dataclass(frozen=True, slots=True)
class SpillWay:
    """The way of the water that leaves one overflow or daylight outlet in the cloudburst.

    ``of``: the well that is full; empty for an outlet. ``points``: place and ground elevation along the way; empty where
    no way is known. ``leaves_at``: where it crosses the lot line, or reaches a street or open water, named by
    ``leaves_by``; None where the shots end before, ``why_not`` and ``next_shot`` then say why and which shot would settle
    it. ``straight_m``: from the part to the nearest lot line. ``record_*``: the worst spill of the long record,
    None without one; ``record_stays``: its water all stays in the bowls on the way. ``drawn``: what the job draws instead.
    """

    part: str
    of: str
    at: XY
    flow_m3_s: float
    points: tuple[tuple[float, float, float], ...]
    length_m: float
    leaves_by: str | None
    leaves_at: XY | None
    straight_m: float | None
    why_not: str
    next_shot: XY | None
    water: tuple[WaterAt, ...]
    ponds: tuple[Ponded, ...]
    walks: tuple[str, ...]
    houses: tuple[Near, ...]
    septic: tuple[Near, ...]
    neighbors: tuple[Near, ...]
    record_flow_m3_s: float | None = None
    record_volume_m3: float | None = None
    record_depth_m: float | None = None
    record_stays: bool | None = None
    drawn: DrawnWay | None = None

    @property
    def deepest(self) -> WaterAt | None:
        """Where the running water is deepest; None where none runs or no way is known."""
        return max(self.water, key=lambda one: one.depth_m, default=None)

    @property
    def widest(self) -> WaterAt | None:
        """Where it is widest."""
        return max(self.water, key=lambda one: one.width_m, default=None)


@dataclass(frozen=True, slots=True)
class OverLine:
    """What runs over the lot line in the cloudburst, m³/s, by the part that it comes from.

    ``before``: every downspout let out on the ground at its foot. ``after``: full wells, daylight outlets and what comes
    out of the pipes. ``unknown``: parts whose way is not known, so that the sum is not either.
    """

    before: tuple[tuple[str, float], ...]
    after: tuple[tuple[str, float], ...]
    unknown_before: tuple[str, ...]
    unknown_after: tuple[str, ...]

    @property
    def before_m3_s(self) -> float:
        """Sum before, m³/s."""
        return sum(flow for _, flow in self.before)

    @property
    def after_m3_s(self) -> float:
        """Sum after, m³/s."""
        return sum(flow for _, flow in self.after)


@dataclass(frozen=True, slots=True)
class Bowl:
    """A bowl in which a well or basin lies: the puddle that was seen, or a hollow of the ground.

    ``level_m``: how high water stands in it; ``lip_m``: the overflow lip or grate (``lip_of``) by which it could run in.
    """

    part: str
    lip_of: str
    lip_m: float
    level_m: float
    seen: bool
    area_m2: float
    volume_m3: float


@dataclass(frozen=True, slots=True)
class Overland:
    """All water over the ground. ``why_not``: why nothing is known of the ground, empty where it is."""

    ways: tuple[SpillWay, ...]
    line: OverLine
    bowls: tuple[Bowl, ...]
    why_not: str = ""

    def way(self, part: str) -> SpillWay | None:
        """Return the way of one overflow or outlet; None where it has none."""
        return next((way for way in self.ways if way.part == part), None)
