"""Ways of trench that were found a moment ago, drawn to where their ends are now: while something is being dragged, and for
the answer at once. The whole answer looks for ways anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from roofwell.system.facts import BuildingFact
from roofwell.system.place import XY
from roofwell.system.route_ground import outline
from roofwell.system.routing import Piece, Routed

INSIDE_M = 0.01  # length inside a house from which on a way goes through it


@dataclass(frozen=True, slots=True)
class LaidTree:
    """A tree of trenches as it was found: the parts that it leads to ``goal``, where they and the goal stood."""

    users: tuple[str, ...]
    goal: str
    sources: tuple[XY, ...]
    at: XY
    found: Routed


def redrawn(
    trees: Sequence[LaidTree],
    users: Sequence[str],
    goal: str,
    *,
    sources: Sequence[XY],
    at: XY,
    buildings: Sequence[BuildingFact],
) -> Routed | None:
    """Return the tree of the same parts with its ends moved; None where there is none, or where it would go through a house.

    The first corner after a part moves along with it, so that a trench leaves the wall as it did.
    """
    tree = next((one for one in trees if one.users == tuple(users) and one.goal == goal), None)
    if tree is None or tree.found.no_way:
        return None
    pieces = tuple(_moved(piece, tree, sources, at) for piece in tree.found.pieces)
    houses = [outline(building.outline) for building in buildings]
    for piece in pieces:
        line = shapely.LineString(piece.path)
        if any(line.intersection(house).length > INSIDE_M for house in houses):
            return None
    return replace(tree.found, pieces=pieces)


def _moved(piece: Piece, tree: LaidTree, sources: Sequence[XY], at: XY) -> Piece:
    path = list(piece.path)
    if piece.start >= 0:
        was, now = tree.sources[piece.start], sources[piece.start]
        off = (now[0] - was[0], now[1] - was[1])
        path[0] = now
        if len(path) > 2 and off != (0.0, 0.0):
            path[1] = (path[1][0] + off[0], path[1][1] + off[1])
    if piece.end is None:
        path[-1] = at
    return replace(piece, path=tuple(path))
