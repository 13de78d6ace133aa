"""Ways of water on random ground, looked at in two other ways that know nothing of triangles.

The ground itself is ``scipy``'s linear interpolation over the shots. (1) Of all directions round a place on the way, the
way takes the lowest: that alone settles it, up to rounding. (2) A raster of the same ground: bowls filled from its edge
by a flood that takes the lowest cell first (priority flood, Barnes, Lehman and Mulla 2014, from memory), and descent by
central differences. What a raster of cell c can say is stated with each test, from c alone.
"""

from __future__ import annotations

import heapq
import math
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.interpolate import LinearNDInterpolator

from roofwell.physics.ground.descent import Ground, WaterWay, way_down
from roofwell.physics.ground.surface import make_surface
from roofwell.physics.ground.triangulation import around

Floats = NDArray[np.float64]
SIDE = 20.0
STARTS = 12


class Lot:
    """A square of uneven ground: shots about 3 m apart, ups and downs of up to 0.6 m on a fall of 4 %."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        x, y = np.meshgrid(np.linspace(0, SIDE, 8), np.linspace(0, SIDE, 8))
        places = np.column_stack([x.ravel(), y.ravel()])
        within = (places > 0) & (places < SIDE)
        places = places + np.where(within, rng.uniform(-0.7, 0.7, places.shape), 0.0)
        heights = rng.uniform(0, 0.6, len(places)) + 0.04 * places[:, 0]
        surface = make_surface(points=places, elevations=heights)
        assert surface.mesh is not None
        self.ground = Ground(*around(surface.mesh, surface.elevations, []))
        self.height: Any = LinearNDInterpolator(places - SIDE / 2, heights)
        self.starts = rng.uniform(2, SIDE - 2, (STARTS, 2))

    def at(self, places: Floats) -> Floats:
        return np.asarray(self.height(np.asarray(places) - SIDE / 2))

    def way(self, start: Floats) -> WaterWay:
        return way_down(self.ground, (float(start[0]), float(start[1])))


@pytest.fixture(scope="module", params=range(6))
def lot(request: pytest.FixtureRequest) -> Lot:
    return Lot(request.param)


ROUND = np.arange(0, math.tau, math.tau / 3600)
ROUND_XY = np.column_stack([np.cos(ROUND), np.sin(ROUND)])


def test_of_all_directions_the_way_takes_the_lowest(lot: Lot) -> None:
    """On a circle of 1 µm round the start and the middle of each stretch no place lies lower than the way's own.

    3600 directions; with the way's continuity this fixes the whole way and its exit. 1e-4: the rounding of heights
    (1e-16 of 1 m) over the fall on the circle (some 1e-8 m), with room.
    """
    radius, looked_at = 1e-6, 0
    for start in lot.starts:
        way = lot.way(start)
        assert way.points[0] == pytest.approx(start, abs=1e-12)
        passes = [pond.spill_at for pond in way.ponds if pond.spill_at is not None]
        assert way.end == "shots end"
        assert min(*way.points[-1], *(SIDE - way.points[-1])) == pytest.approx(0.0, abs=1e-9)
        for i, what in enumerate(way.stretches):
            one, two = way.points[i], way.points[i + 1]
            if what == "pond":
                assert way.elevations[i] == pytest.approx(way.elevations[i + 1], abs=1e-9)
                continue
            length = float(np.hypot(*(two - one)))
            if length < 10 * radius:
                continue
            assert lot.at([one, two]) == pytest.approx(way.elevations[i : i + 2], abs=1e-9)
            on = (two - one) / length
            # From the rim of a full bowl the lowest direction leads back into it.
            leaves_bowl = any(np.hypot(*(one - rim)) < 1e-9 for rim in passes)
            for place in ((one + two) / 2, *(() if leaves_bowl else (one,))):
                circle = lot.at(place + radius * ROUND_XY)
                fall = float(lot.at([place])[0] - np.nanmin(circle))
                own = float(lot.at([place])[0] - lot.at([place + radius * on])[0])
                assert fall > 0
                assert own >= (1 - 1e-4) * fall, (start, place)
                looked_at += 1
    assert looked_at > 50


class Raster:
    """Heights at the middles of square cells, row by row from the south, and the same with every bowl filled."""

    def __init__(self, lot: Lot, cell: float) -> None:
        self.cell, self.n = cell, round(SIDE / cell)
        middle = (np.arange(self.n) + 0.5) * cell
        east, north = np.meshgrid(middle, middle)
        self.raw = lot.at(np.column_stack([east.ravel(), north.ravel()])).reshape(self.n, self.n)
        self.filled, self.out = flood(self.raw)

    def index(self, place: Floats) -> tuple[int, int]:
        column, row = np.clip((np.asarray(place) / self.cell).astype(int), 0, self.n - 1)
        return int(row), int(column)

    def middle(self, row: int, column: int) -> Floats:
        return (np.array([column, row]) + 0.5) * self.cell

    def run(self, start: Floats) -> Floats:
        """Steps of half a cell down the central differences of the raster; out of a bowl by the way that it was flooded."""
        place = np.array(start, dtype=float)
        for _ in range(100 * self.n):
            row, column = self.index(place)
            if not (0 < row < self.n - 1 and 0 < column < self.n - 1):
                break
            if self.filled[row, column] > self.raw[row, column]:
                place = self.middle(*self.out[row, column])
                continue
            rise = np.array(
                [
                    self.raw[row, column + 1] - self.raw[row, column - 1],
                    self.raw[row + 1, column] - self.raw[row - 1, column],
                ]
            )
            size = float(np.hypot(*rise))
            step = -rise / size if size > 0 else np.zeros(2)
            to = place + 0.5 * self.cell * step
            there = self.index(to)
            if size == 0 or (there != (row, column) and self.filled[there] >= self.filled[row, column]):
                to = self.middle(*self.out[row, column])
            place = to
        return place


def flood(raw: Floats) -> tuple[Floats, NDArray[np.intp]]:
    """Fill all bowls from the edge, lowest cell first, over sides and corners; and the cell that each was reached from."""
    n, m = raw.shape
    filled = np.full(raw.shape, np.inf)
    out = np.zeros((n, m, 2), dtype=np.intp)
    heap = []
    for row in range(n):
        for column in range(m) if row in (0, n - 1) else (0, m - 1):
            filled[row, column] = raw[row, column]
            out[row, column] = (row, column)
            heap.append((float(raw[row, column]), row, column))
    heapq.heapify(heap)
    while heap:
        level, row, column = heapq.heappop(heap)
        for r in range(max(0, row - 1), min(n, row + 2)):
            for c in range(max(0, column - 1), min(m, column + 2)):
                if math.isinf(filled[r, c]):
                    filled[r, c] = max(level, float(raw[r, c]))
                    out[r, c] = (row, column)
                    heapq.heappush(heap, (float(filled[r, c]), r, c))
    return filled, out


@pytest.fixture(scope="module")
def raster(lot: Lot) -> Raster:
    return Raster(lot, 0.125)


def test_bowls_fill_as_high_as_on_the_raster(lot: Lot, raster: Raster) -> None:
    """Level within c/√2 times the steepest fall, volume within twice that over every cell that the bowl touches.

    Any way over the ground passes cells whose middles lie within c/√2 of it, and any step from middle to middle stays
    within c/√2 of one of the two: so the lowest rim found on either is within c/√2 of fall of the other's. The middle
    of a cell stands for the depth in it with an error of as much again.
    """
    steepest = max(lot.ground.steep(t) for t in range(len(lot.ground.corners)))
    off = raster.cell / math.sqrt(2) * steepest
    middle = (np.arange(raster.n) + 0.5) * raster.cell
    east, north = np.meshgrid(middle, middle)
    seen = 0
    for pond in (pond for start in lot.starts for pond in lot.way(start).ponds):
        bottom = lot.ground.mesh.points[min(pond.members, key=lambda m: lot.ground.z[m])]
        level = raster.filled[raster.index(bottom)]
        assert level == pytest.approx(pond.level_m, abs=off)
        within = shapely.contains_xy(pond.outline, east, north)
        volume = float((raster.filled - raster.raw)[within].sum()) * raster.cell**2
        touched = pond.area_m2 + pond.outline.length * math.sqrt(2) * raster.cell
        assert volume == pytest.approx(pond.volume_m3, abs=2 * off * touched)
        seen += 1
    assert seen > 0


def test_ways_leave_where_the_raster_lets_them_out(lot: Lot, raster: Raster) -> None:
    """Within c√2 for each crease that the way crosses: there the central differences mix two slopes, for one cell.

    Where the exits differ by more, a divide runs past the way: then the raster, let go within c√2 of some place on the
    way, leaves where the way does. Three starts of twelve at most may need that.
    """
    apart = 0
    for start in lot.starts:
        way = lot.way(start)
        bound = math.sqrt(2) * raster.cell * (len(way.stretches) + 1)
        if np.hypot(*(raster.run(start) - way.points[-1])) <= bound:
            continue
        apart += 1
        beside = (
            place + share * math.sqrt(2) * raster.cell * on
            for place in way.points[:-1]
            for share in (0.5, 1.0)
            for on in ROUND_XY[::450]
        )
        assert any(np.hypot(*(raster.run(at) - way.points[-1])) <= bound for at in beside), start
    assert apart <= STARTS // 4


def test_eight_directions_cannot_tell_an_exit() -> None:
    """Why the raster is not followed from cell to cell: on a plane its eight directions are off by an angle, not by a cell.

    Fall (0.03, 0.04) from (8, 5): the true exit is (19.25, 20). Of the eight, the corner's fall 0.07/√2 is the greatest, so
    from cell to cell the water runs at 45° and leaves at (20, 17), 3.1 m off, however small the cell.
    """
    for cell in (0.25, 0.125):
        n = round(SIDE / cell)
        row, column = int(5 / cell), int(8 / cell)
        while 0 < row < n - 1 and 0 < column < n - 1:
            steps = [(r, c) for r in (-1, 0, 1) for c in (-1, 0, 1) if r or c]
            r, c = max(steps, key=lambda s: (0.04 * s[0] + 0.03 * s[1]) / math.hypot(*s))
            row, column = row + r, column + c
        gap = np.hypot((column + 0.5) * cell - 19.25, (row + 0.5) * cell - 20)
        assert gap == pytest.approx(math.hypot(0.75, 3.0), abs=2 * cell)
