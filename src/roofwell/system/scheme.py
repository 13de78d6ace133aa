"""The Scheme: what carries or holds our water, complete; given or designed, every size and level set.

All values are SI: metres, m², m³, m³/s, radians; elevations are over the job's own datum. Parts carry the
labels that the crew sees. ``origin["P3.inside_diameter_m"]`` says where a value comes from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from roofwell.physics.ground import shallow
from roofwell.physics.well.shapes import ArchCurve, Bodies, BodyKind
from roofwell.physics.well.soakage import Credit
from roofwell.physics.well.storage import Layer
from roofwell.system.facts import AssumedValue
from roofwell.system.held_ways import LaidTree
from roofwell.system.origin import Origin
from roofwell.tables.stones import StoneShape

XY = tuple[float, float]


StoneTop = Literal["buried", "surface", "lawn inlet"]
"""Whether soil lies over a well's stone, or the stone comes up to the lawn, and whether lawn water is meant to enter."""

ByConductivity = Literal["unit gradient", "three-dimensional"]
SoakageModel = Credit | ByConductivity
"""How a well's soakage is counted: the tested rate over the faces that a rule credits, or by the conductivity.

``unit gradient``      the soil's saturated conductivity over all that the water wets
``three-dimensional``  the conductivity, spreading to all sides (Elrick-Reynolds)
"""


@dataclass(frozen=True, slots=True)
class Valley:
    """A valley that pours ``area_m2`` of roof into a gutter ``at_m`` from the far end of its arm.

    ``pitch_m_m`` is None where no roof's pitch is known; ``splash_guard_m`` is its height over the brim.
    """

    at_m: float
    area_m2: float
    pitch_m_m: float | None = None
    splash_guard_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Arm:
    """One side of an outlet, from the gutter's end or a divide to the outlet; ``area_m2`` falls in along it."""

    length_m: float
    area_m2: float
    valleys: tuple[Valley, ...] = ()


@dataclass(frozen=True, slots=True)
class Gutter:
    """The reach of a gutter that drains to one downspout. Lengths in m; ``fall`` in m/m, towards the outlet.

    ``arms``: one where the outlet stands at the end of its reach, else two. ``length_m`` is 0 where not known.
    ``edge_over_m``: how far the roof's edge stands over it; ``below_edge_m``: from there down to the brim.
    """

    id: str
    shape: Literal["half-round", "box", "ogee"]
    top_width_m: float
    bottom_width_m: float
    depth_m: float
    length_m: float
    fall_m_m: float
    guard: bool
    guard_passes: float
    arms: tuple[Arm, ...] = ()
    freeboard_m: float = 0.0
    below_edge_m: float = 0.0
    edge_over_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Downspout:
    """A downspout and the roof that it drains.

    ``joint_m`` is the elevation of the joint with the buried pipe: above it water comes out at the house.
    The outlet is the hole in the gutter's floor, round where its breadth is 0; ``outlet_rim`` is the share of its
    rim that water reaches. ``elbows`` (None: not counted), ``offset_m`` and ``offset_drop_m`` lie between it and the
    wall. ``brim_m``: elevation of the gutter's brim, None where nobody measured how high it hangs.
    """

    id: str
    at: XY
    ground_m: float
    joint_m: float
    roof_area_m2: float
    roofs: tuple[str, ...]
    gutter: Gutter | None
    shape: Literal["round", "rectangular"]
    width_m: float
    breadth_m: float
    outlet_width_m: float = 0.0
    outlet_breadth_m: float = 0.0
    outlet_rim: float = 0.0
    inside_area_m2: float = 0.0
    inside_perimeter_m: float = 0.0
    elbows: int | None = None
    offset_m: float = 0.0
    offset_drop_m: float = 0.0
    brim_m: float | None = None


@dataclass(frozen=True, slots=True)
class Wye:
    """Where two runs become one."""

    id: str
    at: XY
    ground_m: float
    invert_m: float


@dataclass(frozen=True, slots=True)
class Basin:
    """A catch basin. ``width_m`` is the inside diameter, side or width; inverts and floor are elevations.

    ``length_m`` is its inside length along the water's way (0: as wide), ``outline`` its corners where it has an outline
    of its own. ``hood_depth_m``: from the outlet's invert down to the hood's mouth; ``hood_air_hole`` None where nobody
    looked. ``emptied_year``: how often a year the owner will empty it, None where nobody said. ``pea_stone``: the bed
    under it into which weep holes drain, and how far it reaches beyond the walls; 0 without weep holes.
    ``lid_held`` (locked, screwed, bolted), its weight, ``mosquito_screen`` (fine mesh or a tight lid) and the widest
    opening of the grate: None where nobody said; of a new basin designed.
    """

    id: str
    at: XY
    ground_m: float
    shape: Literal["round", "square", "rectangular", "outline"]
    width_m: float
    plan_area_m2: float
    floor_m: float
    grate_m: float
    inlet_invert_m: float
    outlet_invert_m: float
    hood: bool
    screen: bool
    weep_holes: int
    weep_hole_diameter_m: float
    weight_kg: float = 0.0
    length_m: float = 0.0
    outline: tuple[XY, ...] = ()
    hood_depth_m: float = 0.0
    hood_air_hole: bool | None = True
    emptied_year: float | None = None
    pea_stone_depth_m: float = 0.0
    pea_stone_around_m: float = 0.0
    pea_stone_voids: float = 0.0
    lid_held: bool | None = True
    lid_weight_kg: float | None = None
    grate_opening_m: float | None = None
    mosquito_screen: bool | None = True

    @property
    def along_m(self) -> float:
        """Inside length along the water's way, m."""
        return self.length_m or self.width_m

    @property
    def sump_m(self) -> float:
        """Depth below the outlet, m."""
        return self.outlet_invert_m - self.floor_m


@dataclass(frozen=True, slots=True)
class Fabric:
    """A geotextile by its properties: strength class 1 (strongest) to 3, apparent opening size, m, permittivity, 1/s."""

    strength_class: int
    opening_m: float
    permittivity_per_s: float


@dataclass(frozen=True, slots=True)
class Well:
    """Well bodies in a stone surround in one pit, or stone alone; joined at the bottom they are one store.

    ``bodies`` stand upright in a row along ``direction_rad``, or are rows that lie along it, ``body_length_m`` long;
    ``body_diameter_m`` is also an arch's span and a box's width, ``hole_area_m2`` that of all holes of one body. Stone
    alone has 0 bodies, and all its height is ``stone_below_m``. A lying row's pit begins half its width before ``at``.

    ``pit_length_m`` equals ``pit_width_m`` equals the diameter for a round pit. ``bottom_m`` is the pit's
    bottom, ``stone_top_m`` the top of the stone, ``lip_m`` the level at which the store is full. ``office_soakage`` is how
    the permit office counts soakage, where it prescribes another way than the design's own. ``slot_width_m`` is above 0
    where the body has slots and no holes; ``fabric`` is None where no cloth lies; ``top_stone_m`` of stone at the lawn lie
    loose over a sheet of it.
    """

    id: str
    at: XY
    ground_m: float
    bodies: int
    body_diameter_m: float
    body_height_m: float
    body_spacing_m: float
    hole_diameter_m: float
    direction_rad: float
    pit_shape: Literal["round", "rectangular"]
    pit_length_m: float
    pit_width_m: float
    bottom_m: float
    stone_below_m: float
    stone_above_m: float
    stone_top_m: float
    inlet_invert_m: float
    lip_m: float
    stone: str
    voids: float
    geotextile: tuple[str, ...]
    soakage: SoakageModel
    layers: tuple[Layer, ...]
    body_wall_m: float = 0.0
    office_soakage: SoakageModel | None = None
    body: BodyKind = "cylinder"
    body_length_m: float = 0.0
    body_voids: float = 1.0
    arch: ArchCurve = "parabola"
    end_caps: bool = True
    piece_length_m: float = 0.0
    hole_area_m2: float = 0.0
    stone_reaches: StoneTop = "buried"
    observation_pipe: bool = True
    stone_shape: StoneShape = "crushed"
    slot_width_m: float = 0.0
    fabric: Fabric | None = None
    top_stone_m: float = 0.0

    @property
    def in_stone(self) -> Bodies:
        """What lies in the stone, as physics takes it."""
        return Bodies(
            kind=self.body,
            count=self.bodies,
            width_m=self.body_diameter_m,
            height_m=self.body_height_m,
            length_m=self.body_length_m,
            wall_m=self.body_wall_m,
            own_voids=self.body_voids,
            curve=self.arch,
        )

    @property
    def pieces(self) -> int:
        """How many bodies, sticks of pipe or chambers are set in the pit."""
        if self.body in ("cylinder", "none") or self.piece_length_m <= 0:
            return self.bodies
        return self.bodies * math.ceil(self.body_length_m / self.piece_length_m - 1e-6)

    @property
    def body_centers(self) -> tuple[XY, ...]:
        """Centers of the bodies; of upright ones the first, where the pipe enters, is ``at``."""
        east, north = math.cos(self.direction_rad), math.sin(self.direction_rad)
        if self.body != "cylinder":
            x, y = self.pit_center
            offsets = [self.body_spacing_m * (i - (self.bodies - 1) / 2) for i in range(self.bodies)]
            return tuple((x - off * north, y + off * east) for off in offsets)
        return tuple(
            (self.at[0] + i * self.body_spacing_m * east, self.at[1] + i * self.body_spacing_m * north)
            for i in range(self.bodies)
        )

    @property
    def body_outlines(self) -> tuple[tuple[XY, ...], ...]:
        """Corners of each lying row on plan; nothing for upright bodies and stone alone."""
        if self.body in ("cylinder", "none"):
            return ()
        half, side = self.body_length_m / 2, self.body_diameter_m / 2
        return tuple(_box(center, self.direction_rad, half, side) for center in self.body_centers)

    @property
    def pit_center(self) -> XY:
        """Center of the pit: halfway between the first and the last body, or of the trench or bed."""
        if self.body != "cylinder":
            on = max(0.0, self.pit_length_m - self.pit_width_m) / 2
            return self.at[0] + on * math.cos(self.direction_rad), self.at[1] + on * math.sin(
                self.direction_rad
            )
        first, last = self.body_centers[0], self.body_centers[-1]
        return (first[0] + last[0]) / 2, (first[1] + last[1]) / 2

    @property
    def pit_corners(self) -> tuple[XY, ...]:
        """Corners of a rectangular pit, its length along ``direction_rad``; of a round pit 24 points."""
        x, y = self.pit_center
        if self.pit_shape == "round":
            radius = self.pit_width_m / 2
            return tuple(
                (x + radius * math.cos(math.tau * i / 24), y + radius * math.sin(math.tau * i / 24))
                for i in range(24)
            )
        return _box((x, y), self.direction_rad, self.pit_length_m / 2, self.pit_width_m / 2)


def _box(center: XY, direction: float, half: float, side: float) -> tuple[XY, ...]:
    """Corners of a rectangle, ``half`` its length along the direction and ``side`` half its width."""
    (x, y), east, north = center, math.cos(direction), math.sin(direction)
    return tuple(
        (x + a * half * east - b * side * north, y + a * half * north + b * side * east)
        for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    )


@dataclass(frozen=True, slots=True)
class WellLink:
    """A level pipe between two wells: over its invert they are one store.

    ``path``: from pit wall to pit wall; ``length_m``: from the middle of one well to that of the other.
    """

    of: str
    to: str
    invert_m: float
    pipe: str
    nominal_m: float
    inside_diameter_m: float
    outside_diameter_m: float
    manning_n: float
    path: tuple[XY, XY]
    length_m: float

    @property
    def id(self) -> str:
        """How findings and papers call it."""
        return f"{self.of}-{self.to}"


@dataclass(frozen=True, slots=True)
class OverflowPipe:
    """The pipe from a well's pit to an overflow that stands beside it, or to the outlet that takes the overflow.

    ``path``: its course on plan from the well on, as the job gives it, else straight. ``downstream_invert_m`` is the inside
    bottom of its elbow or free end. ``bends_k``: loss of its elbows, in velocity heads. ``weep_hole``: whether the low
    elbow drains into the ground.
    """

    upstream_invert_m: float
    downstream_invert_m: float
    length_m: float
    inside_diameter_m: float
    manning_n: float
    bends_k: float
    weep_hole: bool
    path: tuple[XY, ...] = ()

    @property
    def slope_m_m(self) -> float:
        """Fall per length away from the well, m/m; negative where it rises."""
        return (
            (self.upstream_invert_m - self.downstream_invert_m) / self.length_m if self.length_m > 0 else 0.0
        )


@dataclass(frozen=True, slots=True)
class LawnWater:
    """Water over the lawn at a way out: ``depth_m`` over ``ground_m`` while ``at_m3_s`` leaves, its most in the cloudburst.

    In a bowl ``ground_m`` is the level at which it is full, with no depth over it.
    """

    ground_m: float
    depth_m: float
    at_m3_s: float

    def level_m(self, flow_m3_s: float) -> float:
        """Return the elevation of the water while this much leaves, m; ``-inf`` without flow."""
        if not flow_m3_s > 0:
            return -math.inf
        deep = shallow.depth_with_less_m(depth_m=self.depth_m, at_m3_s=self.at_m3_s, flow_m3_s=flow_m3_s)
        return self.ground_m + deep


@dataclass(frozen=True, slots=True)
class Overflow:
    """Where a full well lets its water out. ``to``: another well, an outlet, or None: over the ground.

    ``path``: its way over the ground as the job draws it; empty where it does not, or leads on by a pipe of its own.
    ``ground_m``: lawn where it stands. ``length_m``: of a level spreader's lip. ``lid_head_m``, ``lid_travel_m``: water over
    the lip that lifts the lid of a pop-up emitter, and how far it rises. ``lawn``: the water that then stands over it,
    None where nobody can tell.
    """

    id: str
    of: str
    kind: str
    at: XY
    lip_m: float
    diameter_m: float
    open_share: float
    to: str | None
    destination: str | None
    distance_to_lot_line_m: float | None
    ground_m: float = math.nan
    length_m: float = 0.0
    lid_head_m: float = 0.0
    lid_travel_m: float = 0.0
    pipe: OverflowPipe | None = None
    path: tuple[XY, ...] = ()
    lawn: LawnWater | None = None

    @property
    def called(self) -> str:
        """What papers call it: its kind, or the pipe that leads on from its lip."""
        return f"pipe to {self.to}" if self.pipe is not None and self.to is not None else self.kind


@dataclass(frozen=True, slots=True)
class Outlet:
    """Another way out: daylight, a curb, a storm sewer, a swale, a rain garden, a pump.

    ``opening_*``: of a curb, clear; 0 where the pipe's own end is the opening. ``guard``: none, bars or a flap.
    ``tailwater_m``: highest water that stands before it, None where nobody says that any does. ``power`` and
    ``freeze_protection``: of a pump, in words, None where nobody said; what it lifts is not reckoned. ``lawn``: the water
    that stands over the end while it runs out on the lawn, None where nobody can tell.
    """

    id: str
    kind: str
    at: XY
    ground_m: float
    invert_m: float
    destination: str | None
    opening_width_m: float = 0.0
    opening_height_m: float = 0.0
    opening_diameter_m: float = 0.0
    guard: str = "none"
    tailwater_m: float | None = None
    allowed_by: str | None = None
    pad: bool = True
    power: str | None = None
    freeze_protection: str | None = None
    lawn: LawnWater | None = None

    @property
    def in_the_open(self) -> bool:
        """Whether the pipe ends in the open, where its water falls on the ground."""
        return self.kind in ("daylight", "swale", "rain garden")

    @property
    def onto_lawn(self) -> bool:
        """Whether the water then finds its own way over the lawn.

        A swale leads it in a bed of its own and a rain garden holds it back: neither is the lawn that the shots show, so
        no way is followed from them.
        """
        return self.kind == "daylight"


@dataclass(frozen=True, slots=True)
class PipeFitting:
    """A fitting on a run, ``station_m`` from its upstream end.

    ``left_over_rad``: part of the turn that this elbow and those beside it do not make, taken up in the joints;
    negative where they turn more than is wanted.
    """

    kind: str
    station_m: float
    angle_rad: float
    label: str
    left_over_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class CrossedThing:
    """Another buried thing that a run crosses; ``over`` says how our pipe passes it."""

    id: str
    label: str
    station_m: float
    top_m: float | None
    bottom_m: float | None
    clearance_m: float | None
    over: bool | None


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of buried pipe between two parts, of one slope.

    ``stations_m`` with ``ground_m`` and ``cover_least_m`` describe the ground over it; stations are from
    the run's upstream end.
    """

    id: str
    from_id: str
    to_id: str
    path: tuple[XY, ...]
    length_m: float
    pipe: str
    nominal_m: float
    inside_diameter_m: float
    outside_diameter_m: float
    manning_n: float
    upstream_invert_m: float
    downstream_invert_m: float
    fittings: tuple[PipeFitting, ...]
    stations_m: tuple[float, ...]
    ground_m: tuple[float, ...]
    cover_least_m: tuple[float, ...]
    crossings: tuple[CrossedThing, ...]
    upstream_inlet_m: float  # bottom of the pipe where it leaves its upstream part
    cover_by: tuple[str, ...] = ()  # what wants the cover: "lawn", "walk:K1", "drive:V1", "frost", "daylight"
    obstruction_k: float = 0.0  # loss of what lies in its start, in velocity heads: 0 but in a what-if
    perforated: bool = False  # leaks along its way

    @property
    def fall_m(self) -> float:
        """Drop of the invert from end to end, m; negative where it runs uphill."""
        return self.upstream_invert_m - self.downstream_invert_m

    @property
    def slope_m_m(self) -> float:
        """Fall per length of pipe, m/m."""
        return self.fall_m / self.length_m

    @property
    def wall_m(self) -> float:
        """Wall thickness, m."""
        return 0.5 * (self.outside_diameter_m - self.inside_diameter_m)

    def invert_at(self, station_m: float) -> float:
        """Elevation of the invert at a station, m."""
        return self.upstream_invert_m - self.slope_m_m * station_m

    def cover_at(self, index: int) -> float:
        """Cover over the pipe's outside top at ``stations_m[index]``, m."""
        crown = self.invert_at(self.stations_m[index]) + self.inside_diameter_m + self.wall_m
        return self.ground_m[index] - crown


@dataclass(frozen=True, slots=True)
class WheelLoad:
    """A run under a drive, where its cover is thinnest.

    ``flattening`` is the share of its diameter that soil and wheels take from the pipe (NaN where its
    stiffness is not known), ``flattening_in_stone`` the same in compacted stone; ``wants_depth`` says that
    the kind of pipe is one that its standard wants deep under wheels.
    """

    run: str
    drive: str
    station_m: float
    cover_m: float
    flattening: float
    flattening_in_stone: float
    in_stone: bool
    wants_depth: bool


@dataclass(frozen=True, slots=True)
class Broken:
    """A constraint of levels that no solution keeps: what, where, and by how much it is short."""

    kind: str
    run: str
    station_m: float
    short_m: float


@dataclass(frozen=True, slots=True)
class LevelWish:
    """One constraint of levels by its kind (as in ``physics.trench.conflict``), run, name and station on the run."""

    kind: str
    run: str
    name: str
    station_m: float


@dataclass(frozen=True, slots=True)
class LevelConflict:
    """Wishes of level that cannot be kept together; without any one of them the rest can.

    They leave ``available_m`` of fall over ``length_m`` of run where ``wanted_m`` is wanted (or, with a
    greatest slope among them, more than the wanted that it allows). Where ``length_m`` is 0 they speak of a
    height at one place, of which ``missing_m`` is missing. ``sides``: run, what it crosses, over or under,
    where the numbers are those of one way of several.
    """

    wishes: tuple[LevelWish, ...]
    available_m: float
    wanted_m: float
    length_m: float
    missing_m: float
    sides: tuple[tuple[str, str, str], ...] = ()

    @property
    def runs(self) -> tuple[str, ...]:
        """The runs that the wishes speak of, in their order."""
        return tuple(dict.fromkeys(wish.run for wish in self.wishes if wish.run))


@dataclass(frozen=True, slots=True)
class PavedCrossing:
    """A walk or drive that a run passes: from which station of the run, over which length, by which way.

    ``way`` is ``bored`` or ``cut``, the one that costs less. ``origin``: designed with the path; assumed where the
    path is given, for nobody said by which way.
    """

    id: str
    kind: str  # "walk" or "drive"
    run: str
    station_m: float
    length_m: float
    way: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class Route:
    """How the trench tree to one goal was found.

    ``exact``: no tree on its graph of corners costs less at the depths that the search counted with; else it is a
    heuristic. ``expected_m3`` is the least that the first search counted on, ``solved_m3`` what the tree comes to
    at its solved depths, both in m³ of trench, with elbows, wyes, inlets, crossings and hand digging counted in;
    ``rounds`` of searching and solving; ``weighed_by`` says what turns and crossings were weighed by.
    """

    goal: str
    sources: tuple[str, ...]
    exact: bool
    expected_m3: float
    solved_m3: float
    gap_share: float  # what came out over what was counted on, less 1
    rounds: int
    weighed_by: str = "lengths of trench"


@dataclass(frozen=True, slots=True)
class Blocked:
    """A run that no trench can follow, drawn straight.

    ``width_m`` is the widest way that there is, 0 for none, ``wanted_m`` the trench; ``between`` names what the
    way lies between.
    """

    run: str
    between: tuple[str, ...]
    width_m: float
    wanted_m: float


@dataclass(frozen=True, slots=True)
class Scheme:
    """The whole system. Parts are in the order of the water, from the roof down."""

    downspouts: tuple[Downspout, ...]
    wyes: tuple[Wye, ...]
    basins: tuple[Basin, ...]
    wells: tuple[Well, ...]
    overflows: tuple[Overflow, ...]
    outlets: tuple[Outlet, ...]
    runs: tuple[Run, ...]
    undrained_area_m2: float
    broken: tuple[Broken, ...]
    origin: Mapping[str, Origin] = field(default_factory=dict)
    assumed: tuple[AssumedValue, ...] = ()
    missing: frozenset[str] = frozenset()
    wheel_loads: tuple[WheelLoad, ...] = ()
    level_conflicts: tuple[LevelConflict, ...] = ()
    routes: tuple[Route, ...] = ()
    trees: tuple[LaidTree, ...] = ()
    blocked: tuple[Blocked, ...] = ()
    paved: tuple[PavedCrossing, ...] = ()
    links: tuple[WellLink, ...] = ()
    side_pipes: tuple[Run, ...] = ()
    """Pipes of overflows and between linked wells as they lie in the ground, by their labels: cover, crossings, trench.

    No roof water goes by them to a well; what passes them is reckoned by ``overflows`` and ``links``.
    """

    @property
    def buried(self) -> tuple[Run, ...]:
        """Every pipe in a trench: the runs, then the pipes of overflows and links."""
        return (*self.runs, *self.side_pipes)

    def called(self, pipe: Run) -> str:
        """Return how one speaks of a buried pipe: a run by its label, else the pipe of an overflow, or the link."""
        if any(overflow.id == pipe.id for overflow in self.overflows):
            return f"the pipe of {pipe.id}"
        return f"the link {pipe.id}" if any(link.id == pipe.id for link in self.links) else pipe.id

    def linked_with(self, well: str) -> tuple[str, ...]:
        """Return the wells that a well is one store with, itself among them, in the order of the Scheme."""
        found = {well}
        for _ in self.links:
            for link in self.links:
                if link.of in found or link.to in found:
                    found |= {link.of, link.to}
        return tuple(item.id for item in self.wells if item.id in found)

    def spills_at(self, well: str) -> str:
        """Return the well at whose overflow a well's water leaves: that with the lowest lip of all it is linked with."""
        group = self.linked_with(well)
        if len(group) < 2:
            return well
        lips = {overflow.of: overflow.lip_m for overflow in self.overflows}
        return min(group, key=lambda id: (lips.get(id, math.inf), group.index(id)))

    def run_from(self, part: str) -> Run | None:
        """Return the run that leaves a part, or None."""
        return next((run for run in self.runs if run.from_id == part), None)

    def runs_to(self, part: str) -> tuple[Run, ...]:
        """Return the runs that reach a part."""
        return tuple(run for run in self.runs if run.to_id == part)

    def overflow_of(self, well: str) -> Overflow | None:
        """Return the overflow of a well, or None."""
        return next((overflow for overflow in self.overflows if overflow.of == well), None)

    def way(self, part: str) -> tuple[Run, ...]:
        """Return the runs from a part down to where its water ends, in order."""
        out: list[Run] = []
        run = self.run_from(part)
        while run is not None and len(out) <= len(self.runs):
            out.append(run)
            run = self.run_from(run.to_id)
        return tuple(out)

    def upstream_downspouts(self, part: str) -> tuple[Downspout, ...]:
        """Return every downspout whose water passes a part or run."""
        return tuple(
            spout
            for spout in self.downspouts
            if spout.id == part or any(part in (run.id, run.to_id) for run in self.way(spout.id))
        )
