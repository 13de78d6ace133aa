"""A section through the mound on the groundwater under a well: how high it stands at each distance from the pit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.ops
from scipy.interpolate import PchipInterpolator

from roofwell.physics.well import footprint
from roofwell.physics.well.footprint import Footprint
from roofwell.physics.well.mound import Aquifer
from roofwell.system.behaviour import Behaviour, FloatArray, Mound, MoundAtWall
from roofwell.system.facts import Survey
from roofwell.system.groundwater import YEAR_S, Run, beside, footprint_of, wettest_month
from roofwell.system.scheme import XY, Scheme, Well

_TIMES = 48  # at which an answer to steady recharge is worked out, evenly in their logarithm
_UNDER_PIT, _ASIDE = 5, 12  # points worked out on half the pit, and from there to the end
_BETWEEN = 4  # drawn for each, on a curve that rises and falls only where they do
_LEAST_REACH_M = 3.0  # from the edge of the pit
_MOST_REACH_M = 15.0  # a wall farther from the middle of the pit is told in words


@dataclass(frozen=True, slots=True)
class MoundSection:
    """The groundwater across the middle of a pit, towards the nearest building.

    ``distance_m``: from the middle, positive towards the building, shape (n,). ``storm_m``: water over the seasonal
    high water when it stands highest under the middle in the design storm that raises it most; ``month_m``: in the
    wettest 30 days of the record, None without one. Both are of soakage that no mound holds back.
    ``half_pit_m``: half of the pit along the section. ``wall``: the building that is met, None where none is known
    or it is farther than ``distance_m`` goes. ``high_water_m`` and ``bottom_m`` are elevations.
    """

    well: str
    high_water_m: float
    bottom_m: float
    half_pit_m: float
    distance_m: FloatArray
    storm_m: FloatArray
    storm_duration_s: float
    month_m: FloatArray | None
    wall: MoundAtWall | None


def mound_section(
    scheme: Scheme, survey: Survey, behaviour: Behaviour, j: int, storm: Run, record: Run | None
) -> MoundSection:
    """Return the section through the mound of well number ``j``; its seasonal high water and its mound are known.

    Parameters
    ----------
    storm
        The storm that raises the mound most, and what the wells soaked in it.
    record
        What they soaked through the record, None without one.

    Notes
    -----
    Every step's soakage is a recharge that begins and one that ends; the answers are the governing solution's own, not
    the exponentials by which the mound is carried from step to step. Other wells' mounds are added, by
    three-dimensional flow, as where the mound is judged.
    """
    well, found = scheme.wells[j], behaviour.wells[j]
    mound, high = found.mound, survey.soil.high_water_m
    assert mound is not None and high is not None
    toward, wall = _direction(survey, well, mound)
    half = _half_along(well, toward)
    reach = half + _LEAST_REACH_M
    if wall is not None and wall.distance_m <= _MOST_REACH_M:
        reach = max(reach, wall.distance_m + 0.8)
    else:
        wall = None
    back = min(reach, half + _LEAST_REACH_M)
    points = _points(half, back, reach)
    places = [(well.pit_center[0] + s * toward[0], well.pit_center[1] + s * toward[1]) for s in points]
    longest = max(run.step_s * run.soaked_m3[0].size for run in (storm, record) if run is not None)
    times = np.geomspace(storm.step_s, max(min(longest, YEAR_S), 20 * storm.step_s), _TIMES)
    grounds = [_ground(one, of.mound) for one, of in zip(scheme.wells, behaviour.wells, strict=True)]
    kept: dict[tuple[int, float, float], FloatArray] = {}
    answers = []
    for at in places:
        one = []
        for k, ground in enumerate(grounds):
            key = (k, *_beside(scheme.wells[k], at))  # a footprint answers alike on all four sides
            if key not in kept:
                kept[key] = _answer(ground, k == j, key[1], key[2], times)
            one.append(kept[key])
        answers.append(one)
    middle = int(np.argmin(np.abs(points)))

    def profile(run: Run, within: slice | None) -> FloatArray:
        rates = [_rate(grounds[k], run, k) for k in range(len(grounds))]
        longest_s = min(float(times[-1]), run.step_s * rates[0].size)
        rise = _rises(grounds, j, times, answers[middle], rates, run.step_s, longest_s)
        first = within.start if within is not None else 0
        at = first + int(np.argmax(rise[within] if within is not None else rise))
        rises = _profile(grounds, j, times, answers, rates, run.step_s, at, middle)
        return np.asarray(PchipInterpolator(points, rises)(drawn), dtype=np.float64)

    steps = np.arange((points.size - 1) * _BETWEEN + 1) / _BETWEEN
    drawn = np.interp(steps, np.arange(points.size), points)
    return MoundSection(
        well=well.id,
        high_water_m=high,
        bottom_m=well.bottom_m,
        half_pit_m=half,
        distance_m=drawn,
        storm_m=profile(storm, None),
        storm_duration_s=storm.duration_s,
        month_m=profile(record, wettest_month(record.soaked_m3[j], record.step_s))
        if record is not None
        else None,
        wall=wall,
    )


@dataclass(frozen=True, slots=True)
class _Ground:
    foot: Footprint
    aquifer: Aquifer
    deep: bool


def _ground(well: Well, mound: Mound | None) -> _Ground:
    """The ground of a well as it was judged: the footprint is widened to the area that was found."""
    assert mound is not None  # all wells have a mound, or none
    return _Ground(
        footprint_of(well, area_m2=mound.footprint_m2),
        Aquifer(mound.thickness_m, mound.specific_yield, mound.horizontal_m_s, mound.vertical_m_s),
        mound.solution == "three-dimensional",
    )


def _rate(ground: _Ground, run: Run, k: int) -> FloatArray:
    return run.soaked_m3[k] / (run.step_s * ground.foot.area_m2)


def _beside(well: Well, at: XY) -> tuple[float, float]:
    """How far a place lies from the middle of a pit along and across its longer side, m, without sign."""
    turned = well.pit_width_m > well.pit_length_m
    along, across = beside(well.pit_center, well.direction_rad, at, turned=turned)
    return round(abs(along), 9), round(abs(across), 9)


def _answer(ground: _Ground, own: bool, along_m: float, across_m: float, times_s: FloatArray) -> FloatArray:
    """What a well raises the water by at a place for each m/s, at some times; by its own level flow (h² − hᵢ²)/2hᵢ."""
    answer = footprint.level_flow_s if own and not ground.deep else footprint.three_dimensional_s
    return answer(ground.foot, ground.aquifer, times_s, along_m=along_m, across_m=across_m)


def _risen(ground: _Ground, own: FloatArray) -> FloatArray:
    if ground.deep:
        return own
    return footprint.rise_of_level_flow_m(own, thickness_m=ground.aquifer.thickness_m)


def _rises(
    grounds: Sequence[_Ground],
    own: int,
    times_s: FloatArray,
    answers: Sequence[FloatArray],
    rates: Sequence[FloatArray],
    step_s: float,
    longest_s: float,
) -> FloatArray:
    """The rise at one place at the end of every step."""
    parts = [
        footprint.superposed(times_s, answer, rate, step_s=step_s, longest_s=longest_s)
        for answer, rate in zip(answers, rates, strict=True)
    ]
    parts[own] = _risen(grounds[own], np.maximum(parts[own], 0.0))
    return np.asarray(np.sum(parts, axis=0), dtype=np.float64)


def _profile(
    grounds: Sequence[_Ground],
    own: int,
    times_s: FloatArray,
    answers: Sequence[Sequence[FloatArray]],
    rates: Sequence[FloatArray],
    step_s: float,
    at: int,
    middle: int,
) -> FloatArray:
    """The rise at every place at the end of step ``at``.

    Where the disks that stand for a long footprint overlap they heap up more than its middle, which no footprint with
    the same recharge all over does: a well's own rise is drawn falling from the middle outwards.
    """
    count = min(at + 1, max(1, round(float(times_s[-1]) / step_s)))
    logs = np.log(step_s * np.arange(1, count + 1))
    recent = [rate[at + 1 - count : at + 1][::-1] for rate in rates]

    def rise(answer: FloatArray, rate: FloatArray) -> float:
        return float(np.diff(np.interp(logs, np.log(times_s), answer), prepend=0.0) @ rate)

    parts = np.array([[rise(a, r) for a, r in zip(one, recent, strict=True)] for one in answers])
    mine = _risen(grounds[own], np.maximum(parts[:, own], 0.0))
    mine[middle:] = np.minimum.accumulate(mine[middle:])
    mine[: middle + 1] = np.minimum.accumulate(mine[middle::-1])[::-1]
    parts[:, own] = mine
    return np.asarray(parts.sum(axis=1), dtype=np.float64)


def _direction(survey: Survey, well: Well, mound: Mound) -> tuple[XY, MoundAtWall | None]:
    """Towards the nearest building that is known; along the pit where none is."""
    outlines = {b.id: b.outline for b in survey.buildings} | {f.id: f.points for f in survey.neighbors}
    wall = min(
        (one for one in mound.walls if len(outlines.get(one.id, ())) >= 2),
        key=lambda one: one.distance_m,
        default=None,
    )
    along = (math.cos(well.direction_rad), math.sin(well.direction_rad))
    if wall is None or wall.distance_m <= 0.0:
        return along, None
    points = outlines[wall.id]
    shape = shapely.Polygon(points) if len(points) >= 3 else shapely.LineString(points)
    middle = shapely.Point(well.pit_center)
    nearest = shapely.ops.nearest_points(shape, middle)[0]
    x, y = nearest.x - middle.x, nearest.y - middle.y
    return (float(x / wall.distance_m), float(y / wall.distance_m)), wall


def _half_along(well: Well, toward: XY) -> float:
    """Half of the pit along a line through its middle, m."""
    if well.pit_shape == "round":
        return well.pit_width_m / 2.0
    east, north = math.cos(well.direction_rad), math.sin(well.direction_rad)
    along = abs(toward[0] * east + toward[1] * north)
    across = abs(toward[1] * east - toward[0] * north)
    ends = [
        side / 2.0 / share
        for side, share in ((well.pit_length_m, along), (well.pit_width_m, across))
        if share > 1e-9
    ]
    return min(ends)


def _points(half_m: float, back_m: float, reach_m: float) -> FloatArray:
    """Places along the section, close together under the pit and near its edge."""
    under = np.linspace(0.0, half_m, _UNDER_PIT)

    def aside(end: float) -> FloatArray:
        grown = half_m + (end - half_m) * np.linspace(0.0, 1.0, _ASIDE)[1:] ** 1.5
        return np.concatenate([under, grown])

    return np.concatenate([-aside(back_m)[:0:-1], aside(reach_m)])
