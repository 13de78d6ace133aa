"""One arm of a gutter: the march up its slow water and down its fast water, station by station."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from roofwell.errors import InputError
from roofwell.physics.roof.gutter_section import GutterSection

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


def geometry(section: GutterSection) -> Callable[[float], Point]:
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


def critical_depth(at: Callable[[float], Point], flow: float, start: float) -> float:
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


def with_critical_section(
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
        depth = critical_depth(at, flow, float(water.depth_m[i]))
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


def arm_water(
    at: Callable[[float], Point], section: GutterSection, arm: GutterArm, head: float, manning_n: float
) -> ArmWater:
    """Return the water surface along one arm whose outlet's hole needs ``head``; ``at`` is the section's ``geometry``."""
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

    critical = [-1.0] * (last + 1)  # worked out where it is asked for: most stations never need it

    def critical_at_station(i: int) -> float:
        if critical[i] < 0:
            next_door = critical[i + 1] if i < last else 0.0
            start = next_door if next_door > 0 else 0.4 * section.depth_m
            critical[i] = critical_depth(at, q[i], start)
        return critical[i]

    def slow_depth(flow: float, want: float, half: float, start: float) -> float | None:
        """Newton from the depth next door; None where it comes near critical and must be held in a bracket."""
        depth: float = start
        for _ in range(12):
            point = at(depth)
            area, width, perimeter, moment = point
            square = flow * flow
            inertia = square / (GRAVITY_M_S2 * area)
            drag = float(roughness * square * perimeter ** (4 / 3) / area ** (7 / 3))
            slope = area - inertia * width / area + half * width * (fall + 7 / 3 * drag / area)
            if slope <= 0.05 * area:
                return None
            step = (moment + inertia + half * (area * fall - drag) - want) / slope
            depth -= step
            if depth <= 0:
                return None
            if abs(step) <= 1e-12 * section.depth_m:
                return depth
        return None

    # Up the slow branch, held at critical depth where it cannot exist.
    depth = [0.0] * (last + 1)
    held = [False] * (last + 1)
    depth[last] = max(critical_at_station(last), head)
    held[last] = depth[last] <= critical[last] * (1 + 1e-12)
    for i in range(last - 1, -1, -1):
        half = 0.5 * (x[i + 1] - x[i])
        below = at(depth[i + 1])
        want = force(q[i + 1], below) - half * push(q[i + 1], below)
        if not held[i + 1] and depth[i + 1] > 0:
            found = slow_depth(q[i], want, half, depth[i + 1])
            if found is not None:
                depth[i] = found
                continue
        edge = critical_at_station(i)
        least = 0.0
        if edge > 0:
            point = at(edge)
            least = force(q[i], point) + half * push(q[i], point)
        if want <= least:
            depth[i], held[i] = edge, edge > 0
        else:
            depth[i] = depth_with(q[i], want, half, edge, slow=True)

    # Down the fast branch from each place where the slow one begins to be held.
    critical_at: float | None = None
    jump_at: float | None = None
    fast: float | None = None
    for i in range(last):
        if fast is None:
            if held[i] and held[i + 1] and x[i + 1] > x[i]:
                fast = critical_at_station(i)
                if critical_at is None:
                    critical_at = x[i]
            else:
                continue
        above = at(fast)
        half = 0.5 * (x[i + 1] - x[i])
        want = force(q[i], above) + half * push(q[i], above)
        at_edge = at(critical_at_station(i + 1))
        if want <= force(q[i + 1], at_edge) - half * push(q[i + 1], at_edge):
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
