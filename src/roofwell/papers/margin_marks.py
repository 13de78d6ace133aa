"""What stands beside a drawing: its scale bar and its north arrow, as SVG."""

from __future__ import annotations

import math

from roofwell.papers.drawing.scale import Scale
from roofwell.units import Style

_HEAD = '<svg xmlns="http://www.w3.org/2000/svg" font-family="Roofwell Park"'
_LENGTHS = (0.5, 1, 2, 4, 10, 20, 40, 100, 200, 400)


def scale_bar(scale: Scale, style: Style) -> tuple[str, float]:
    """Return the SVG of a scale bar 24 points high, and its width in points."""
    unit_m, word = (0.3048, "ft") if style == "us" else (1.0, "m")
    length = next((n for n in _LENGTHS if n * unit_m * scale.points_m >= 50), _LENGTHS[-1])
    wide = length * unit_m * scale.points_m
    half, left, total = wide / 2, 8.0, wide + 44
    texts = "".join(
        f'<text x="{left + share * wide:.2f}" y="9" font-size="8.25" text-anchor="middle">{text}</text>'
        for share, text in ((0, "0"), (0.5, f"{length / 2:g}"), (1, f"{length:g} {word}"))
    )
    bars = "".join(
        f'<rect x="{x:.2f}" y="13" width="{half:.2f}" height="4.5" fill="{fill}" stroke="#000"'
        ' stroke-width=".8"/>'
        for x, fill in ((left, "#000"), (left + half, "#fff"))
    )
    size = f'width="{total:.2f}" height="24" viewBox="0 0 {total:.2f} 24"'
    return f"{_HEAD} {size}>{texts}{bars}</svg>", round(total, 2)


def north_arrow(turn_rad: float) -> str:
    """Return the SVG of a north arrow, 34 by 34 points, turned counterclockwise from the top of the plan."""
    x, y = 17 - 11.5 * math.sin(turn_rad), 17 - 11.5 * math.cos(turn_rad) + 3.4
    return (
        f'{_HEAD} width="34" height="34" viewBox="0 0 34 34">'
        f'<g transform="rotate({-math.degrees(turn_rad):.1f} 17 17)">'
        '<path d="M17 32V12M17 12L13 20M17 12L21 20" fill="none" stroke="#000" stroke-width="1.4"/></g>'
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="9.5" font-weight="600" text-anchor="middle">N</text></svg>'
    )
