"""Water along a gutter: the surface from the far ends to the outlet, and the flow that reaches the brim.

A gutter takes water along its whole length, so flow grows towards the outlet. Along an arm (from a closed end or
a divide to the outlet) momentum changes by the weight of the water on its slope and by friction:

    d(Q²/gA + M)/dx = A (S₀ − S_f),   M the first moment of the water area, S_f by Manning

which holds through jumps and points where a valley pours in (water that falls in brings no momentum along the
gutter). Three things can govern: the free fall at the outlet (critical depth), the hole there (the head that it
needs for the water of both arms), or, where the gutter is steep, a critical section inside the arm with shooting
flow below it. All are found in one pass up the slow branch, held at critical depth where it cannot exist, and
one down the fast branch; where both could be, the one with the greater force is there, and a jump between.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError, InternalError
from roofwell.physics.roof.gutter_section import GutterSection
from roofwell.physics.roof.outlet import GutterOutlet, head_on_outlet_m, outlet_flow_m3_s

FloatArray = NDArray[np.float64]
Control = Literal["free fall", "hole", "inside"]
Point = tuple[float, float, float, float]  # area, surface width, wetted perimeter, first moment

GRAVITY_M_S2 = 9.80665
STEEPEST = 0.05
_STATIONS = 49


@dataclass(frozen=True, slots=True)
class GutterArm:
    """Water that comes to an outlet from one side.

    ``length_m``: from the far end to the outlet. ``spread_m3_s``: flow that falls in evenly along it.
    ``points``: (distance from the far end m, flow m³/s) where water pours in at one place, a valley for
    example. ``fall_m_m``: slope of the floor towards the outlet, −0.05 to 0.05 (negative: it falls away).

    Raises
    ------
    InputError
        ``gutter-number`` outside these ranges.
    """

    length_m: float
    spread_m3_s: float
    fall_m_m: float = 0.0
    points: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        fits = (
            0 < self.length_m < math.inf
            and 0 <= self.spread_m3_s < math.inf
            and abs(self.fall_m_m) <= STEEPEST
            and all(0 <= at <= self.length_m * (1 + 1e-9) and 0 <= q < math.inf for at, q in self.points)
        )
        if not fits:
            raise InputError(
                f"gutter arm {self.length_m:g} m long with {self.spread_m3_s:g} m³/s, fall {self.fall_m_m:g}, "
                f"water pouring in at {list(self.points)}: the length must be above 0, flows zero or more, the fall "
                f"at most {STEEPEST:g}, places within the arm",
                code="gutter-number",
            )

    @property
    def flow_m3_s(self) -> float:
        """All the water of the arm, m³/s."""
        return self.spread_m3_s + sum(flow for _, flow in self.points)

    def times(self, factor: float) -> GutterArm:
        """Return the same arm with ``factor`` times its water."""
        points = tuple((at, factor * flow) for at, flow in self.points)
        return GutterArm(self.length_m, factor * self.spread_m3_s, self.fall_m_m, points)


@dataclass(frozen=True, slots=True)
class ArmWater:
    """The water surface along one arm. Arrays run from the far end to the outlet; where water pours in at a
    point, its station stands twice, before and after it.

    ``control``: what sets the depths. ``critical_at_m``: a critical section inside, or None. ``jump_at_m``:
    where fast water turns slow above the outlet, or None.
    """

    station_m: FloatArray
    flow_m3_s: FloatArray
    depth_m: FloatArray
    velocity_m_s: FloatArray
    control: Control
    critical_at_m: float | None
    jump_at_m: float | None


@dataclass(frozen=True, slots=True)
class GutterWater:
    """Both arms of one outlet. ``brim_margin_m``: the least room between water and brim, negative where the
    water would stand over it (as if the walls went on upright); at ``brim_station_m`` of arm ``brim_arm``.
    ``hole_head_m``: depth that the hole needs, 0 for a free fall."""

    arms: tuple[ArmWater, ...]
    hole_head_m: float
    brim_margin_m: float
    brim_arm: int
    brim_station_m: float


@dataclass(frozen=True, slots=True)
class GutterCapacity:
    """Flow at which the water first reaches the brim less the freeboard, m³/s, and where."""

    flow_m3_s: float
    brim_arm: int
    brim_station_m: float
    control: Control


def gutter_water(
    section: GutterSection,
    arms: Sequence[GutterArm],
    *,
    manning_n: float,
    outlet: GutterOutlet | None = None,
) -> GutterWater:
    """Return the water surface along the arms that share one outlet.

    Parameters
    ----------
    section
        Inside of the gutter; above its brim the walls are taken to go on upright.
    arms
        One arm, or two that meet at the outlet.
    manning_n
        Roughness of the wall, s/m^(1/3); zero or more.
    outlet
        The hole in the floor; None for an outlet at which water falls freely.

    Raises
    ------
    InputError
        ``gutter-number`` for no arm, more than two, or a roughness below zero.

    Notes
    -----
    Steady flow, one direction, hydrostatic pressure, slopes up to 5 %. Each arm starts at its outlet with the
    greater of its critical depth and the head that the hole needs for the water of both. Implicit trapezoids in
    momentum on 49 stations that crowd at both ends. A gutter's closed end is where flow is zero.
    """
    _check(arms, manning_n)
    total = sum(arm.flow_m3_s for arm in arms)
    head = head_on_outlet_m(outlet, flow_m3_s=total) if outlet is not None else 0.0
    at = _geometry(section)
    waters = tuple(_arm_water(at, section, arm, head, manning_n) for arm in arms)
    waters = tuple(
        _with_critical_section(at, arm, water, manning_n) for arm, water in zip(arms, waters, strict=True)
    )
    margins = [section.depth_m - float(np.max(water.depth_m)) for water in waters]
    worst = int(np.argmin(margins))
    where = int(np.argmax(waters[worst].depth_m))
    return GutterWater(waters, head, margins[worst], worst, float(waters[worst].station_m[where]))


def gutter_capacity(
    section: GutterSection,
    arms: Sequence[GutterArm],
    *,
    manning_n: float,
    outlet: GutterOutlet | None = None,
    freeboard_m: float = 0.0,
) -> GutterCapacity:
    """Return the flow of all arms together at which the water first reaches the brim anywhere.

    The arms give the proportions of the water: all flows grow together until the deepest place stands
    ``freeboard_m`` under the brim. To 1e-7 of the flow.

    Raises
    ------
    InputError
        ``gutter-number`` as ``gutter_water``, for arms without water, or a freeboard that is not at least 0
        and less than the depth.
    InternalError
        ``gutter-not-solved`` if the search does not settle (none known).
    """
    _check(arms, manning_n)
    shares = sum(arm.flow_m3_s for arm in arms)
    if not (shares > 0 and 0 <= freeboard_m < section.depth_m):
        raise InputError(
            f"arms bring {shares:g} m³/s and the freeboard is {freeboard_m:g} m in a gutter {section.depth_m:g} m "
            "deep: some water must come, and the freeboard must be at least 0 and less than the depth",
            code="gutter-number",
        )
    target = section.depth_m - freeboard_m
    unit = [arm.times(1.0 / shares) for arm in arms]
    different = list(dict.fromkeys(unit))
    at = _geometry(section)

    def excess(log_flow: float) -> float:
        flow = math.exp(log_flow)
        head = head_on_outlet_m(outlet, flow_m3_s=flow) if outlet is not None else 0.0
        deepest = max(
            float(np.max(_arm_water(at, section, arm.times(flow), head, manning_n).depth_m))
            for arm in different
        )
        return math.log(deepest / target)

    area, width, _, _ = at(0.6 * target)
    guess = math.sqrt(GRAVITY_M_S2 * area**3 / width)
    if outlet is not None:
        guess = min(guess, outlet_flow_m3_s(outlet, head_m=target))
    flow = math.exp(_root(excess, math.log(guess)))
    water = gutter_water(section, [arm.times(flow) for arm in unit], manning_n=manning_n, outlet=outlet)
    control = water.arms[water.brim_arm].control
    if water.hole_head_m >= target * (1 - 1e-6):
        control = "hole"  # the brim is reached at the hole itself, whatever the arm does above it
    return GutterCapacity(flow, water.brim_arm, water.brim_station_m, control)


def _check(arms: Sequence[GutterArm], manning_n: float) -> None:
    if not (1 <= len(arms) <= 2 and 0 <= manning_n < math.inf):
        raise InputError(
            f"an outlet has one or two arms and a roughness of zero or more; got {len(arms)} and {manning_n:g}",
            code="gutter-number",
        )


def _root(excess: Callable[[float], float], guess: float) -> float:
    """Root of a growing function of the logarithm of flow: secant held in a bracket."""
    low, high = -math.inf, math.inf
    x, slope = guess, 0.6  # depth grows about as flow to the 0.6
    before: tuple[float, float] | None = None
    for _ in range(80):
        y = excess(x)
        if y < 0:
            low = max(low, x)
        else:
            high = min(high, x)
        if abs(y) <= 5e-8 or high - low <= 1e-8:
            return x
        if before is not None and x != before[0] and (y - before[1]) / (x - before[0]) > 0:
            slope = min(max((y - before[1]) / (x - before[0]), 0.1), 20.0)
        before = (x, y)
        step = max(-3.0, min(3.0, -y / slope))
        x += step
        if not low < x < high:
            x = 0.5 * (low + high)
    raise InternalError("the capacity of a gutter did not settle", code="gutter-not-solved")


def _geometry(section: GutterSection) -> Callable[[float], Point]:
    """Area, surface width, wetted perimeter and first moment at a depth; walls go on upright over the brim.

    Plain numbers: the search calls it some ten thousand times for each gutter.
    """
    brim = section.depth_m
    full = (
        section.area_m2(brim),
        section.top_width_m,
        section.wetted_perimeter_m(brim),
        section.first_moment_m3(brim),
    )

    def over(depth: float) -> Point:
        more = depth - brim
        area, width, perimeter, moment = full
        return (
            area + width * more,
            width,
            perimeter + 2.0 * more,
            moment + area * more + 0.5 * width * more * more,
        )

    if section.shape == "half-round":
        radius = section.top_width_m / 2.0

        def half_round(depth: float) -> Point:
            if depth >= brim:
                return over(depth)
            angle = 2.0 * math.acos(1.0 - depth / radius)
            width = 2.0 * math.sqrt(depth * (2.0 * radius - depth))
            area = 0.5 * radius * radius * (angle - math.sin(angle))
            return area, width, radius * angle, width**3 / 12.0 - area * (radius - depth)

        return half_round
    bottom = section.bottom_width_m
    spread = (section.top_width_m - bottom) / brim
    sides = 2.0 * math.hypot(1.0, spread / 2.0)

    def trapezoid(depth: float) -> Point:
        if depth >= brim:
            return over(depth)
        width = bottom + spread * depth
        area = 0.5 * depth * (bottom + width)
        return area, width, bottom + sides * depth, depth * depth * (2.0 * bottom + width) / 6.0

    return trapezoid


def _critical_depth(at: Callable[[float], Point], flow: float, start: float) -> float:
    """Depth at which Q² T = g A³: Newton on logarithms."""
    if flow <= 1e-12:
        return 0.0
    want = math.log(flow * flow / GRAVITY_M_S2)
    depth = start
    for _ in range(60):
        area, width, _, _ = at(depth)
        gap = 3.0 * math.log(area) - math.log(width) - want
        # The power of the depth with which A³/T grows: 3 to 5; its own slope less what the width adds, at most 2.
        step = gap / max(3.0, 3.0 * width * depth / area - 0.5)
        depth *= math.exp(-max(-1.5, min(1.5, step)))
        if abs(step) < 1e-12:
            break
    return depth


def _stations(arm: GutterArm) -> tuple[list[float], list[float]]:
    """Stations that crowd at both ends, and the flow at each; a point where water pours in stands twice."""
    s = np.linspace(0.0, 1.0, _STATIONS)
    even = (arm.length_m * s * s * (3.0 - 2.0 * s)).tolist()
    points = sorted((min(at, arm.length_m), flow) for at, flow in arm.points if flow > 0)
    rate = arm.spread_m3_s / arm.length_m
    if not points:
        return even, [rate * x for x in even]
    stations = sorted([x for x in even if all(abs(x - p) > 1e-9 for p, _ in points)])
    out: list[tuple[float, float]] = []
    poured = 0.0
    for p, flow in points:
        out += [(x, rate * x + poured) for x in stations if x < p]
        stations = [x for x in stations if x > p]
        out.append((p, rate * p + poured))
        poured += flow
        out.append((p, rate * p + poured))
    out += [(x, rate * x + poured) for x in stations]
    return [x for x, _ in out], [q for _, q in out]


def _with_critical_section(
    at: Callable[[float], Point], arm: GutterArm, water: ArmWater, manning_n: float
) -> ArmWater:
    """Place the critical section between stations: there slope, friction and the push of new water balance."""
    if water.critical_at_m is None:
        return water
    x, rate = water.station_m, arm.spread_m3_s / arm.length_m
    i = int(np.searchsorted(x, water.critical_at_m))
    low, high = float(x[max(i - 1, 0)]), float(x[i + 1])
    poured = float(water.flow_m3_s[i]) - rate * float(x[i])

    def spare(station: float) -> float:
        flow = rate * station + poured
        depth = _critical_depth(at, flow, float(water.depth_m[i]))
        if depth <= 0:
            return -1.0
        area, _, perimeter, _ = at(depth)
        drag = (manning_n * flow) ** 2 * perimeter ** (4 / 3) / area ** (10 / 3)
        return float(arm.fall_m_m - drag - 2.0 * rate * flow / (GRAVITY_M_S2 * area**2))

    if not spare(low) < 0 < spare(high):
        return water  # where water pours in at a point, the section stands at that point
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if spare(middle) < 0 else (low, middle)
    return replace(water, critical_at_m=0.5 * (low + high))


def _arm_water(
    at: Callable[[float], Point], section: GutterSection, arm: GutterArm, head: float, manning_n: float
) -> ArmWater:
    x, q = _stations(arm)
    last = len(x) - 1
    roughness = manning_n * manning_n
    fall = arm.fall_m_m

    def push(flow: float, point: Point) -> float:
        """Gain of momentum along the gutter: weight on the slope less friction, A (S₀ − S_f)."""
        area, _, perimeter, _ = point
        if area <= 0.0:
            return 0.0
        drag = roughness * flow * flow * perimeter ** (4 / 3) / area ** (7 / 3) if flow > 0 else 0.0
        return area * fall - drag

    def force(flow: float, point: Point) -> float:
        area, _, _, moment = point
        return moment + (flow * flow / (GRAVITY_M_S2 * area) if flow > 0 else 0.0)

    def depth_with(flow: float, want: float, half: float, critical: float, *, slow: bool) -> float:
        """Depth on one side of critical where force + half × push equals ``want``: Newton held in a bracket."""
        low, high = (critical, math.inf) if slow else (0.0, critical)
        depth = critical * (1.2 if slow else 0.8) if critical > 0 else 0.5 * section.depth_m
        for _ in range(80):
            point = at(depth)
            area, width, perimeter, _ = point
            gap = force(flow, point) + half * push(flow, point) - want
            if (gap > 0) == slow:
                high = depth
            else:
                low = depth
            drag = (
                roughness * flow * flow * perimeter ** (4 / 3) / area ** (10 / 3) * (7 / 3)
                if flow > 0
                else 0.0
            )
            slope = area - flow * flow * width / (GRAVITY_M_S2 * area * area) + half * width * (fall + drag)
            new = depth - gap / slope if slope != 0 else -1.0
            if not low < new < high:
                new = 0.5 * (low + high) if high < math.inf else 2.0 * depth
            if abs(new - depth) <= 1e-12 * section.depth_m:
                return new
            depth = new
        return depth

    critical = [0.0] * (last + 1)
    guess = 0.4 * section.depth_m
    for i in range(last, -1, -1):
        critical[i] = guess = _critical_depth(at, q[i], guess) or guess
        if q[i] <= 1e-12:
            critical[i] = 0.0

    # Up the slow branch, held at critical depth where it cannot exist.
    depth = [0.0] * (last + 1)
    held = [False] * (last + 1)
    depth[last] = max(critical[last], head)
    held[last] = depth[last] <= critical[last] * (1 + 1e-12)
    for i in range(last - 1, -1, -1):
        below = at(depth[i + 1])
        half = 0.5 * (x[i + 1] - x[i])
        want = force(q[i + 1], below) - half * push(q[i + 1], below)
        if critical[i] > 0:
            least_point = at(critical[i])
            least = force(q[i], least_point) + half * push(q[i], least_point)
        else:
            least = 0.0
        if want <= least:
            depth[i], held[i] = critical[i], critical[i] > 0
        else:
            depth[i] = depth_with(q[i], want, half, critical[i], slow=True)

    # Down the fast branch from each place where the slow one begins to be held.
    critical_at: float | None = None
    jump_at: float | None = None
    fast: float | None = None
    for i in range(last):
        if fast is None:
            if held[i] and held[i + 1] and critical[i] > 0 and x[i + 1] > x[i]:
                fast = critical[i]
                if critical_at is None:
                    critical_at = x[i]
            else:
                continue
        above = at(fast)
        half = 0.5 * (x[i + 1] - x[i])
        want = force(q[i], above) + half * push(q[i], above)
        edge = at(critical[i + 1])
        if want <= force(q[i + 1], edge) - half * push(q[i + 1], edge):
            fast = critical[i + 1]
        else:
            fast = depth_with(q[i + 1], want, -half, critical[i + 1], slow=False)
        if held[i + 1] or force(q[i + 1], at(fast)) > force(q[i + 1], at(depth[i + 1])):
            depth[i + 1] = fast
        else:
            fast, jump_at = None, x[i + 1]

    fell_freely = critical[last] >= head
    control: Control = "free fall" if fell_freely else "hole"
    if critical_at is not None:
        control = "inside"
    depth[last] = max(depth[last], head)
    area_m2 = np.array([at(d)[0] if d > 0 else 0.0 for d in depth])
    flow = np.array(q)
    velocity = np.divide(flow, area_m2, out=np.zeros_like(flow), where=area_m2 > 0)
    return ArmWater(np.array(x), flow, np.array(depth), velocity, control, critical_at, jump_at)
