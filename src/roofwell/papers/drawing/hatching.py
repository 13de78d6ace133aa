"""Hatches of the look: stone as a jittered lattice, earth as slanted triple strokes, a grate as bars.

All work in points on the sheet and return SVG path data; the jitter comes from the cell's own number, so
the same drawing is the same picture.
"""

from __future__ import annotations

import itertools
import math

from shapely import Point, Polygon, prepare

XY = tuple[float, float]


def _noise(i: int, j: int, k: int) -> float:
    """Return a fixed number in [0, 1) for a lattice corner."""
    value = (i * 374_761_393 + j * 668_265_263 + k * 2_147_483_647) & 0xFFFFFFFF
    value = ((value ^ (value >> 13)) * 1_274_126_177) & 0xFFFFFFFF
    return ((value ^ (value >> 16)) & 0xFFFF) / 65536.0


def stones(outline: list[XY]) -> str:
    """Return stones inside an outline: a lattice of jittered cells, each shrunk to 0.8, some corners cut.

    In a four-cornered outline the lattice follows its sides; in any other it fills the rectangle around it
    and stones that would stick out are left away.
    """
    if len(outline) == 4:
        quad = outline
    else:
        left, right = min(x for x, _ in outline), max(x for x, _ in outline)
        top, bottom = min(y for _, y in outline), max(y for _, y in outline)
        quad = [(left, top), (right, top), (right, bottom), (left, bottom)]
    width, height = math.dist(quad[0], quad[1]), math.dist(quad[1], quad[2])
    if width < 3 or height < 3:
        return "M0 0"
    cell = min(13.0, max(5.0, math.sqrt(width * height / 420.0)))
    columns, rows = max(1, round(width / cell)), max(1, round(height / cell))
    field = Polygon(outline)
    prepare(field)

    def corner(i: int, j: int) -> XY:
        u = (i + (0 if i in (0, columns) else 0.55 * (_noise(i, j, 1) - 0.5))) / columns
        v = (j + (0 if j in (0, rows) else 0.55 * (_noise(i, j, 2) - 0.5))) / rows
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = quad
        upper = (ax + u * (bx - ax), ay + u * (by - ay))
        lower = (dx + u * (cx - dx), dy + u * (cy - dy))
        return upper[0] + v * (lower[0] - upper[0]), upper[1] + v * (lower[1] - upper[1])

    out = []
    for j in range(rows):
        for i in range(columns):
            corners = [corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1)]
            x, y = (sum(p[0] for p in corners) / 4, sum(p[1] for p in corners) / 4)
            stone = [(x + 0.8 * (px - x), y + 0.8 * (py - y)) for px, py in corners]
            cut = int(_noise(i, j, 3) * 7)
            if cut < 4:
                a, b, c = stone[cut - 1], stone[cut], stone[(cut + 1) % 4]
                near = [(b[0] + 0.35 * (p[0] - b[0]), b[1] + 0.35 * (p[1] - b[1])) for p in (a, c)]
                stone[cut : cut + 1] = near
            if len(outline) != 4 and not all(field.contains(Point(p)) for p in stone):
                continue
            out.append("M" + "L".join(f"{px:.1f} {py:.1f}" for px, py in stone) + "Z")
    return "".join(out) or "M0 0"


def earth(line: list[XY]) -> str:
    """Return slanted triple strokes under a ground line."""
    out: list[str] = []
    walked, next_at = 0.0, 9.0
    for a, b in itertools.pairwise(line):
        length = math.dist(a, b)
        while length > 0 and next_at <= walked + length:
            t = (next_at - walked) / length
            x, y = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]) + 1.2
            out += [f"M{x + 3 * n:.1f} {y:.1f}l-3.6 4.4" for n in range(3)]
            next_at += 19.0
        walked += length
    return "".join(out) or "M0 0"


def grate(outline: list[XY]) -> str:
    """Return bars across an outline, about 2.4 points apart."""
    left, right = min(x for x, _ in outline), max(x for x, _ in outline)
    top, bottom = min(y for _, y in outline), max(y for _, y in outline)
    field = Polygon(outline)
    out = []
    count = max(2, round((bottom - top) / 2.4))
    for n in range(1, count):
        y = top + (bottom - top) * n / count
        cut = field.intersection(
            Polygon([(left, y - 0.01), (right, y - 0.01), (right, y + 0.01), (left, y + 0.01)])
        )
        if not cut.is_empty:
            x0, _, x1, _ = cut.bounds
            out.append(f"M{x0 + 0.6:.1f} {y:.1f}H{x1 - 0.6:.1f}")
    return "".join(out) or "M0 0"
