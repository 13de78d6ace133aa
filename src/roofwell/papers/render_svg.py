"""A placed drawing as SVG: black and white for paper, weights in points; the page restyles it by its classes.

One SVG unit is one point on paper, so a picture that is ``width_pt`` wide on the sheet is true to its scale.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from xml.sax.saxutils import escape

from roofwell.papers.drawing.hatching import earth, grate, stones
from roofwell.papers.drawing.lettering import ASCENT, LEADING, SIZES_PT, block_pt, width_pt
from roofwell.papers.drawing.model import (
    XY,
    Arc,
    Circle,
    Dimension,
    Drawing,
    Fill,
    Hatch,
    Pipe,
    Polygon,
    Polyline,
    Ring,
    Role,
    Sign,
    Utility,
    WaterSurface,
)
from roofwell.papers.drawing.placing import RING_PT, Box, Placed, PlacedLabel
from roofwell.papers.drawing.signs import sign
from roofwell.papers.drawing.strip import ROW_PT, TIE_PT, PlacedStrip
from roofwell.system.origin import Origin

FONT = "Roofwell Park"


@dataclass(frozen=True, slots=True)
class Pen:
    """Weight in points and dashes."""

    weight: float
    dashes: str = ""
    grey: str = "#000"


PENS: dict[Role, Pen] = {
    "ink": Pen(0.9),
    "fine": Pen(0.6),
    "wall": Pen(1.3),
    "pipe": Pen(1.1),
    "house": Pen(1.5),
    "roof": Pen(0.6, "1.5 3"),
    "ground": Pen(1.5),
    "ground guessed": Pen(1.2, "7 4"),
    "lot line": Pen(1.1, "14 3 2.5 3 2.5 3"),
    "utility": Pen(1.5, "0.1 3.6"),
    "opening": Pen(0.8, "5 2.6"),
    "geotextile": Pen(1.2, "5 2.4"),
    "water": Pen(1.0),
    "water level": Pen(1.8, "9 2.2"),
    "water full": Pen(0.9, "2.2 1.8"),
    "water left": Pen(1.0),
    "what if": Pen(0.9, "4 2 1 2"),
    "hand dig": Pen(4.6),
    "largest": Pen(1.2, "7 2.6 1.6 2.6"),
    "pit": Pen(0.9),
    "axis": Pen(0.7),
    "neighbor": Pen(0.8, "3 2"),
    "crest": Pen(0.8, "8 3 1.5 3"),
    "spill": Pen(1.0, "2.4 2.4"),
    "drawn way": Pen(0.6, "8 4"),
    "cut short": Pen(0.8),
    "soil": Pen(0.5),
    "lawn": Pen(0.5),
    "trench bottom": Pen(2.4),
    "curve": Pen(1.7),
    "limit": Pen(1.2, "9 2.4"),
    "tick": Pen(1.4),
    "year": Pen(0.4, grey="#777"),
}
FILLS: dict[Fill, str] = {
    "none": "none",
    "sheet": "#fff",
    "water": "#d9d9d9",
    "water left": "#8c8c8c",
    "black": "#000",
    "paved": "#f1f1f1",
    "haze": "#f6f6f6",
}
_STATE_WEIGHT: dict[Origin, float] = {"given": 1.5, "designed": 1.0, "assumed": 1.0, "missing": 1.0}
_STATE_DASHES: dict[Origin, str] = {"given": "", "designed": "", "assumed": "7 3", "missing": "0.1 3.4"}
_OWN_STATE: frozenset[Role] = frozenset({"wall", "pipe", "pit"})


def render(placed: Placed) -> str:
    """Return the SVG text of a placed drawing, the same for the same drawing."""
    out = [
        '<svg xmlns="http://www.w3.org/2000/svg"'
        f' width="{_n(placed.width_pt)}" height="{_n(placed.height_pt)}"'
        f' viewBox="0 0 {_n(placed.width_pt)} {_n(placed.height_pt)}" font-family="{FONT}"'
        f' stroke-linejoin="round" fill="none">'
    ]
    for item in placed.drawing.items:
        out += _item(item, placed)
    for dimension in (item for item in placed.drawing.items if isinstance(item, Dimension)):
        out += _dimension(dimension, placed)
    for label in placed.labels:
        out += _leader(label)
    for label in placed.labels:
        out += _words(label)
    if placed.strip is not None:
        out += _strip(placed.strip, placed.width_pt)
    out.append("</svg>")
    return "\n".join(out)


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def path(points: list[XY], *, closed: bool = False) -> str:
    """Return SVG path data through points on the sheet."""
    text = "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)
    return text + "Z" if closed else text


def _stroke(role: Role, state: Origin, part: str | None) -> str:
    pen = PENS[role]
    weight, dashes = pen.weight, pen.dashes
    if role in _OWN_STATE:
        weight *= _STATE_WEIGHT[state]
        dashes = dashes or _STATE_DASHES[state]
    text = f'class="{role.replace(" ", "-")}" stroke="{pen.grey}" stroke-width="{_n(weight)}"'
    if dashes:
        round_ends = ' stroke-linecap="round"' if dashes.startswith("0.1") else ""
        text += f' stroke-dasharray="{dashes}"{round_ends}'
    return text + (f' data-part="{escape(part, {chr(34): "&quot;"})}"' if part else "")


def _item(item: object, placed: Placed) -> list[str]:
    match item:
        case Polyline(points, role, state, part):
            on_sheet = [placed.point(p) for p in points]
            return [f'<path d="{path(on_sheet)}" {_stroke(role, state, part)}/>'] if on_sheet else []
        case Polygon(points, role, fill, state, part, edge):
            d = path([placed.point(p) for p in points], closed=True)
            stroke = _stroke(role, state, part) if edge else f'class="{role.replace(" ", "-")}"'
            return [f'<path d="{d}" fill="{FILLS[fill]}" {stroke}/>']
        case Circle(at, radius_m, role, fill, state, part):
            (x, y), k = placed.point(at), placed.scale.points_m
            size = f'rx="{_n(radius_m * k)}" ry="{_n(radius_m * k * placed.drawing.up)}"'
            return [
                f'<ellipse cx="{_n(x)}" cy="{_n(y)}" {size} fill="{FILLS[fill]}"'
                f" {_stroke(role, state, part)}/>"
            ]
        case Arc(at, radius_m, start, end, role, part):
            steps = [start + (end - start) * i / 24 for i in range(25)]
            points_m = [(at[0] + radius_m * math.cos(t), at[1] + radius_m * math.sin(t)) for t in steps]
            return [
                f'<path d="{path([placed.point(p) for p in points_m])}" {_stroke(role, "designed", part)}/>'
            ]
        case Pipe():
            return _pipe(item, placed)
        case Utility():
            return _utility(item, placed)
        case Hatch(points, kind, _):
            on_sheet = [placed.point(p) for p in points]
            match kind:
                case "stone":
                    return [f'<path class="stone" d="{stones(on_sheet)}" stroke="#555" stroke-width=".5"/>']
                case "earth":
                    return [f'<path class="earth" d="{earth(on_sheet)}" stroke="#000" stroke-width=".7"/>']
                case "grate":
                    return [f'<path class="grate" d="{grate(on_sheet)}" stroke="#000" stroke-width=".6"/>']
        case WaterSurface(start, end, part):
            a, b = placed.point(start), placed.point(end)
            x = a[0] + 0.72 * (b[0] - a[0])
            return [
                f'<path d="{path([a, b])}" {_stroke("water", "designed", part)}/>',
                *sign("water mark", (x, a[1]), 0.0),
            ]
        case Sign(at, kind, direction, _):
            return sign(kind, placed.point(at), direction)
        case _:
            pass
    return []


def _pipe(item: Pipe, placed: Placed) -> list[str]:
    d = path([placed.point(p) for p in item.points])
    outer = max(item.outside_diameter_m * placed.scale.points_m, 3.6) + (
        1.2 if item.state == "given" else 0.0
    )
    inner = max(outer - 2 * (1.5 if item.state == "given" else 1.0), 1.2)
    dashes = ' stroke-dasharray="7 2.4"' if item.state in ("assumed", "missing") else ""
    part = f' data-part="{escape(item.part)}"' if item.part else ""
    return [
        f'<path class="pipe" d="{d}" stroke="#fff" stroke-width="{_n(outer + 2.4)}"/>',
        f'<path class="pipe" d="{d}" stroke="#000" stroke-width="{_n(outer)}"{dashes}{part}/>',
        f'<path class="bore" d="{d}" stroke="#fff" stroke-width="{_n(inner)}"/>',
    ]


def _utility(item: Utility, placed: Placed) -> list[str]:
    points = [placed.point(p) for p in item.points]
    out = (
        [f'<path d="{path(points)}" {_stroke("utility", "designed", item.part)}/>'] if len(points) > 1 else []
    )
    walked, next_at = 0.0, 26.0
    for a, b in itertools.pairwise(points):
        length = math.dist(a, b)
        while length > 0 and next_at <= walked + length:
            t = (next_at - walked) / length
            x, y = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
            out.append(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="5.2" fill="#fff"/>')
            out.append(_text(item.letter, x, y + 3.1, 8.6, strong=True, anchor="middle", halo=False))
            next_at += 110.0
        walked += length
    return out


def _dimension(item: Dimension, placed: Placed) -> list[str]:
    a, b = placed.point(item.start), placed.point(item.end)
    tick = 2.6
    ticks = "".join(f"M{_n(x - tick)} {_n(y + tick)}L{_n(x + tick)} {_n(y - tick)}" for x, y in (a, b))
    return [
        f'<path class="dimension" d="{path([a, b])}" stroke="#000" stroke-width=".65"/>',
        f'<path class="tick" d="{ticks}" stroke="#000" stroke-width="1.1"/>',
    ]


def _ring(item: Ring, box: Box) -> list[str]:
    x, y = 0.5 * (box.left + box.right), 0.5 * (box.top + box.bottom)
    fill, ink = ("#000", "#fff") if item.failing else ("#fff", "#000")
    half = 0.5 * (box.right - box.left) - RING_PT + 6.2
    shape = (
        f'<rect x="{_n(x - half)}" y="{_n(y - 6.2)}" width="{_n(2 * half)}" height="12.4" rx="6.2"'
        if item.others
        else f'<circle cx="{_n(x)}" cy="{_n(y)}" r="6.2"'
    )
    return [
        f'{shape} fill="{fill}" stroke="#000" stroke-width="1"/>',
        f'<text x="{_n(x)}" y="{_n(y + 3.1)}" font-size="8.8" font-weight="600" fill="{ink}"'
        f' text-anchor="middle">{item.words}</text>',
    ]


def _leader(placed: PlacedLabel) -> list[str]:
    if placed.leader is None:
        return []
    return [f'<path class="leader" d="{path(list(placed.leader))}" stroke="#000" stroke-width=".6"/>']


def _words(placed: PlacedLabel) -> list[str]:
    label, box = placed.label, placed.box
    if placed.ring is not None:
        return _ring(placed.ring, box)
    size = SIZES_PT[label.size]
    pad = 2.4 if label.boxed else 0.6
    out = []
    if label.boxed:
        out.append(
            f'<rect x="{_n(box.left)}" y="{_n(box.top)}" width="{_n(box.right - box.left)}"'
            f' height="{_n(box.bottom - box.top)}" fill="#fff" stroke="#000" stroke-width="1"/>'
        )
    away = placed.leader is not None
    beside = box.left if away and placed.leader and placed.leader[0][0] <= box.left else None
    before = box.right if away and placed.leader and placed.leader[0][0] >= box.right else None
    for index, line in enumerate(label.text.split("\n")):
        y = box.top + pad + size * (ASCENT + LEADING * index)
        if beside is not None:
            out.append(
                _text(line, beside + pad, y, size, strong=label.strong, anchor="start", halo=not label.boxed)
            )
        elif before is not None:
            out.append(
                _text(line, before - pad, y, size, strong=label.strong, anchor="end", halo=not label.boxed)
            )
        else:
            x = 0.5 * (box.left + box.right)
            out.append(_text(line, x, y, size, strong=label.strong, anchor="middle", halo=not label.boxed))
    return out


def _text(text: str, x: float, y: float, size: float, *, strong: bool, anchor: str, halo: bool) -> str:
    weight = ' font-weight="600"' if strong else ""  # the typesetter's SVG knows whole hundreds only
    words = f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}"{weight} text-anchor="{anchor}" fill="#000"'
    halo_box = ""
    if halo:  # a box, not a stroked text: strokes are painted sign by sign, over the sign before
        wide = 1.02 * width_pt(text, size_pt=size, strong=strong)
        left = {"start": x, "middle": x - 0.5 * wide, "end": x - wide}[anchor]
        halo_box = (
            f'<rect class="halo" x="{_n(left - 0.8)}" y="{_n(y - 0.76 * size)}" width="{_n(wide + 1.6)}"'
            f' height="{_n(0.98 * size)}" rx="1.5" fill="#fff" fill-opacity=".82"/>'
        )
    return f"{halo_box}{words}>{escape(text)}</text>"


def _strip(strip: PlacedStrip, wide_pt: float) -> list[str]:
    """A table under a long section: its names at the left, every column tied to its station."""
    size, first = SIZES_PT["small"], strip.top_pt + TIE_PT
    out = []
    for column in strip.columns:
        points = [(column.station_pt, strip.top_pt), (column.x_pt, first)]
        out.append(f'<path class="tie" d="{path(points)}" stroke="#000" stroke-width=".6"/>')
    for n in range(len(strip.strip.rows) + 1):
        y = first + n * ROW_PT
        weight = 0.9 if n in (0, len(strip.strip.rows)) else 0.3
        rule = path([(0.0, y), (wide_pt, y)])
        out.append(f'<path class="rule" d="{rule}" stroke="#000" stroke-width="{weight}"/>')
    for n, name in enumerate(strip.strip.rows):
        y = first + n * ROW_PT + 0.5 * (ROW_PT + 0.7 * size)
        out.append(_text(name, 0.0, y, size, strong=False, anchor="start", halo=False))
        for column in strip.columns:
            words, strong = column.column.cells[n], column.column.strong
            out.append(_text(words, column.x_pt, y, size, strong=strong, anchor="middle", halo=False))
    return out


def key_picture(drawing: Drawing, wide_pt: float) -> tuple[str, float]:
    """Return the SVG of what the lines and fills of a drawing mean, ``wide_pt`` wide, and its height."""
    size, swatch, row = SIZES_PT["small"], 24.0, 13.0
    x, y, out = 0.0, 0.0, []
    for mark in drawing.key:
        wide = swatch + 5 + 1.03 * block_pt(mark.words, size_pt=size)[0] + 16
        if x > 0 and x + wide > wide_pt:
            x, y = 0.0, y + row
        middle = y + 0.5 * row
        if mark.fill != "none":
            out.append(
                f'<rect x="{_n(x)}" y="{_n(y + 2.5)}" width="{swatch}" height="8" fill="{FILLS[mark.fill]}"/>'
            )
        at = y + 2.5 if mark.fill != "none" else middle
        out.append(f'<path d="{path([(x, at), (x + swatch, at)])}" {_stroke(mark.role, "designed", None)}/>')
        out.append(
            _text(
                mark.words,
                x + swatch + 5,
                middle + 0.36 * size,
                size,
                strong=False,
                anchor="start",
                halo=False,
            )
        )
        x += wide
    height = y + row
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(wide_pt)}" height="{_n(height)}"'
        f' viewBox="0 0 {_n(wide_pt)} {_n(height)}" font-family="{FONT}" fill="none">'
    )
    return "\n".join([head, *out, "</svg>"]), height
