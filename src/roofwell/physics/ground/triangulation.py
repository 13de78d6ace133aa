"""Triangles between points, with lines that must be edges, and walls that water does not pass.

Without lines: ``scipy.spatial.Delaunay`` (Qhull). With lines: constrained Delaunay triangulation by ``pythoncdt``;
why that library, and what it is asked for, stands in docs/decisions. This is its only importer.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import pythoncdt
import shapely
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import ConvexHull, Delaunay

from roofwell.errors import InputError

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]

_ON_M = 1e-6  # what lies this near to a line or a point lies on it
_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Triangles over points (n, 2): ``triangles`` (t, 3), ``neighbors`` (t, 3) opposite to each corner, -1 for none.

    ``walls``: pairs of points, the lower number first, that make the walls of obstacles.
    """

    points: Floats
    triangles: Whole
    neighbors: Whole
    walls: frozenset[tuple[int, int]] = frozenset()
    _delaunay: Delaunay | None = field(default=None, repr=False)
    _inverse: Floats = field(init=False, repr=False)
    _tree: shapely.STRtree | None = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        a, b, c = (self.points[self.triangles[:, i]] for i in range(3))
        sides = np.stack([a - c, b - c], axis=2)
        flat = np.abs(np.linalg.det(sides)) <= _ON_M * _ON_M  # no triangle, only three points on a line
        sides[flat] = np.eye(2)
        inverse = np.linalg.inv(sides)
        inverse[flat] = np.nan
        object.__setattr__(self, "_inverse", inverse)
        if self._delaunay is None:
            object.__setattr__(self, "_tree", shapely.STRtree(shapely.polygons(self.points[self.triangles])))

    def find(self, at: ArrayLike) -> Whole:
        """Return the triangle of each place (m, 2), shape (m,); -1 where there is none."""
        places = np.atleast_2d(np.asarray(at, dtype=float))
        if self._delaunay is not None:
            origin = self.points.mean(axis=0)
            return np.asarray(self._delaunay.find_simplex(places - origin, tol=_TOLERANCE), dtype=np.intp)
        out = np.full(places.shape[0], -1, dtype=np.intp)
        assert self._tree is not None
        size = float(np.ptp(self.points, axis=0).max())
        which, hit = self._tree.query(shapely.points(places), "dwithin", distance=_TOLERANCE * size)
        out[which[::-1]] = hit[::-1]
        return out

    def weights(self, triangle: Whole, at: Floats) -> Floats:
        """Return the share of each corner of a triangle at a place, shape (m, 3)."""
        two = np.einsum("ijk,ik->ij", self._inverse[triangle], at - self.points[self.triangles[triangle, 2]])
        return np.column_stack([two, 1 - two.sum(axis=1)])

    def changes(self, triangle: int) -> Floats:
        """Return how each corner's share changes per metre east and north, shape (3, 2)."""
        two = self._inverse[triangle]
        return np.vstack([two, -two.sum(axis=0)])

    @property
    def outer_edges(self) -> Whole:
        """Edges with a triangle on one side only, shape (e, 2): the rim of the shots, and walls."""
        where, side = np.nonzero(self.neighbors < 0)
        return np.column_stack([self.triangles[where, (side + 1) % 3], self.triangles[where, (side + 2) % 3]])


def triangulate(points: Floats, lines: Sequence[tuple[int, int]] = ()) -> Mesh:
    """Return the triangulation of points (n, 2), n at least 3 and not on one line.

    Parameters
    ----------
    lines
        Pairs of points that must be edges. They may touch and pass through points, but not cross.

    Raises
    ------
    InputError
        ``triangulation-crossing`` if two lines cross between their points.
    """
    if not lines:
        delaunay = Delaunay(points - points.mean(axis=0))
        return Mesh(
            points,
            np.asarray(delaunay.simplices, dtype=np.intp),
            np.asarray(delaunay.neighbors, dtype=np.intp),
            _delaunay=delaunay,
        )
    hull = ConvexHull(points - points.mean(axis=0)).vertices
    rim = [(int(a), int(b)) for a, b in zip(hull, np.roll(hull, -1), strict=True)]
    return _constrained(points, [*rim, *lines])


def _constrained(points: Floats, lines: Sequence[tuple[int, int]]) -> Mesh:
    cdt = pythoncdt.Triangulation(
        pythoncdt.VertexInsertionOrder.AUTO, pythoncdt.IntersectingConstraintEdges.NOT_ALLOWED, _ON_M
    )
    cdt.insert_vertices(memoryview((points - points.mean(axis=0)).ravel()))
    try:
        edges = np.array(lines, dtype=np.uintc).ravel()
        cdt.insert_edges(memoryview(edges))  # type: ignore[arg-type]
    except Exception:  # the library raises its own kinds, all of them about crossing lines
        raise InputError(
            "lines that must be edges cross between their points", code="triangulation-crossing"
        ) from None
    cdt.erase_outer_triangles()
    triangles = np.array(cdt.triangles_array()["vertices"], dtype=np.intp).reshape(-1, 3)
    corners = points[triangles]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    return make_mesh(points, triangles[area > _ON_M * _ON_M])


def make_mesh(points: Floats, triangles: Whole, walls: frozenset[tuple[int, int]] = frozenset()) -> Mesh:
    """Return a Mesh of triangles (t, 3), their neighbors found."""
    neighbors = np.full(triangles.shape, -1, dtype=np.intp)
    seen: dict[tuple[int, int], tuple[int, int]] = {}
    for t, corners in enumerate(triangles.tolist()):
        for side in range(3):
            a, b = corners[(side + 1) % 3], corners[(side + 2) % 3]
            key = (a, b) if a < b else (b, a)
            if key in seen:
                other, its = seen[key]
                neighbors[t, side], neighbors[other, its] = other, t
            else:
                seen[key] = (t, side)
    return Mesh(points, triangles, neighbors, walls)


def sound(mesh: Mesh) -> Mesh:
    """Return the mesh without triangles whose corners lie on one line; the same one if it has none."""
    good = np.isfinite(mesh._inverse[:, 0, 0])
    return mesh if good.all() else make_mesh(mesh.points, mesh.triangles[good], mesh.walls)


def edges_of(mesh: Mesh) -> Whole:
    """Return every edge once, the lower point first, shape (e, 2)."""
    pairs = np.sort(np.concatenate([mesh.triangles[:, [i, (i + 1) % 3]] for i in range(3)]), axis=1)
    return np.asarray(np.unique(pairs, axis=0), dtype=np.intp)


def around(mesh: Mesh, elevations: Floats, outlines: Sequence[ArrayLike]) -> tuple[Mesh, Floats]:
    """Return the same ground with closed outlines cut out of it, and the elevations (n,) of its points.

    The surface itself does not change: every edge of the old triangles stays, parted where a wall crosses it. What
    of an outline lies beyond the triangles is left away.

    Parameters
    ----------
    elevations
        Of the mesh's points, shape (n,), m.
    outlines
        Corners (k, 2) of each obstacle, k at least 3, that do not cross themselves.
    """
    mesh = sound(mesh)
    rings = tuple(tuple(map(tuple, np.asarray(outline, dtype=float).tolist())) for outline in outlines)
    if not rings:
        return mesh, elevations
    cut = _cut_out(_Same(mesh), rings)
    new = np.einsum("ij,ij->i", cut.shares, elevations[cut.parents])
    return cut.mesh, np.concatenate([elevations, new])


@dataclass(frozen=True, slots=True)
class _Same:
    """A mesh that is the same as another over the same points."""

    mesh: Mesh

    def __hash__(self) -> int:
        return hash(self.mesh.points.tobytes())

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, _Same)
            and np.array_equal(self.mesh.points, other.mesh.points)
            and np.array_equal(self.mesh.triangles, other.mesh.triangles)
        )


@dataclass(frozen=True, slots=True)
class _Cut:
    """A mesh with outlines cut out: each point that it adds lies at ``shares`` (m, 3) of three points of before."""

    mesh: Mesh
    parents: Whole
    shares: Floats


@lru_cache(maxsize=16)  # it knows no elevation: a shot that is read anew changes nothing of it
def _cut_out(same: _Same, outlines: tuple[tuple[tuple[float, ...], ...], ...]) -> _Cut:
    mesh, rings = same.mesh, [np.array(outline) for outline in outlines]
    points = list(mesh.points)
    parents: list[list[int]] = []
    shares: list[list[float]] = []
    edges = edges_of(mesh)
    on_edge: dict[int, list[tuple[float, int]]] = {}
    walls: list[tuple[int, int]] = []

    def number(place: Floats, of: list[int], share: list[float]) -> int:
        gap = np.hypot(*(np.asarray(points) - place).T)
        nearest = int(np.argmin(gap))
        if gap[nearest] <= _ON_M:
            return nearest
        points.append(place)
        parents.append(of)
        shares.append(share)
        return len(points) - 1

    for ring in rings:
        found = mesh.find(ring)
        for i, start in enumerate(ring):
            j = (i + 1) % len(ring)
            end = ring[j]
            stops: list[tuple[float, int]] = []
            for share, corner in ((0.0, i), (1.0, j)):
                if found[corner] >= 0:
                    weight = mesh.weights(found[[corner]], ring[[corner]])[0].tolist()
                    stops.append(
                        (share, number(ring[corner], mesh.triangles[found[corner]].tolist(), weight))
                    )
            for edge, along, share in _crossings(mesh.points[edges], start, end):
                a, b = edges[edge].tolist()
                place = mesh.points[a] + along * (mesh.points[b] - mesh.points[a])
                new = number(place, [a, b, a], [1 - along, along, 0.0])
                stops.append((share, new))
                if new not in (a, b):
                    on_edge.setdefault(edge, []).append((along, new))
            stops.sort()
            numbers = list(dict.fromkeys(stop for _, stop in stops))
            walls += [(min(pair), max(pair)) for pair in itertools.pairwise(numbers)]
    lines = []
    for e, (a, b) in enumerate(edges.tolist()):
        way = list(dict.fromkeys([a, *(new for _, new in sorted(on_edge.get(e, []))), b]))
        lines += list(itertools.pairwise(way))
    everything = np.array(points)
    fine = _constrained(everything, list(dict.fromkeys([*lines, *walls])))
    middle = shapely.points(everything[fine.triangles].mean(axis=1))
    solid = shapely.union_all([shapely.make_valid(shapely.Polygon(ring)) for ring in rings])
    shapely.prepare(solid)
    kept = fine.triangles[~shapely.contains(solid, middle)]
    return _Cut(
        make_mesh(everything, kept, frozenset(walls)),
        np.array(parents, dtype=np.intp).reshape(-1, 3),
        np.array(shares, dtype=float).reshape(-1, 3),
    )


def _crossings(edges: Floats, start: Floats, end: Floats) -> list[tuple[int, float, float]]:
    """Return (edge, share along the edge, share along the segment) of every edge that a segment meets."""
    a, step = edges[:, 0], edges[:, 1] - edges[:, 0]
    way = end - start
    cross = step[:, 0] * way[1] - step[:, 1] * way[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = start - a
        along = (gap[:, 0] * way[1] - gap[:, 1] * way[0]) / cross
        share = (gap[:, 0] * step[:, 1] - gap[:, 1] * step[:, 0]) / cross
    near = _ON_M / np.hypot(*step.T)
    far = _ON_M / max(float(np.hypot(*way)), _ON_M)
    straight = np.abs(cross) > 1e-12 * np.hypot(*step.T) * np.hypot(*way)
    hit = straight & (along >= -near) & (along <= 1 + near) & (share >= -far) & (share <= 1 + far)
    out = [
        (int(e), float(np.clip(along[e], 0, 1)), float(np.clip(share[e], 0, 1))) for e in np.flatnonzero(hit)
    ]
    # A point of the mesh that lies on a segment along its own edge is met there, though no edge crosses.
    for e in np.flatnonzero(~straight):
        for corner, place in ((0.0, edges[e, 0]), (1.0, edges[e, 1])):
            share_of = float((place - start) @ way / (way @ way))
            if 0 <= share_of <= 1 and np.hypot(*(start + share_of * way - place)) <= _ON_M:
                out.append((int(e), corner, share_of))
    return out
