"""The small marks of fixed size on paper, as SVG elements around a point on the sheet."""

from __future__ import annotations

import math
from typing import assert_never

from roofwell.papers.drawing.model import SignKind

XY = tuple[float, float]


def sign(kind: SignKind, at: XY, direction_rad: float) -> list[str]:
    """Return the SVG of one mark, turned counterclockwise from east; the sheet's y runs down."""
    x, y = at
    turn = f'transform="translate({x:.2f} {y:.2f}) rotate({-math.degrees(direction_rad):.1f})"'
    match kind:
        case "flow":
            return [
                f'<path class="flow" {turn} d="M-6 0H1" stroke="#000" stroke-width="1.2"/>'
                f'<path class="flow" {turn} d="M6 0L-1 -3.1V3.1Z" fill="#000"/>'
            ]
        case "spill":
            return [
                f'<path class="spill" {turn} d="M0 0H13" stroke="#000" stroke-width="1.2"'
                f' stroke-dasharray="2.4 2"/>'
                f'<path class="spill" {turn} d="M19 0L12 -3.2V3.2Z" fill="#000"/>'
            ]
        case "shot":
            return [f'<path class="shot" {turn} d="M-2 -2L2 2M-2 2L2 -2" stroke="#000" stroke-width=".7"/>']
        case "tree":
            leaves = "".join(
                f"A2.6 2.6 0 0 1 {6 * math.cos(math.tau * n / 9):.2f} {6 * math.sin(math.tau * n / 9):.2f}"
                for n in range(1, 10)
            )
            return [
                f'<path class="tree" {turn} d="M6 0{leaves}Z" fill="#fff" stroke="#000" stroke-width=".8"/>'
                f'<circle {turn} r="1" fill="#000"/>'
            ]
        case "water mark":
            return [
                f'<path class="water" {turn} d="M0 0L-3.4 -5.4H3.4Z" fill="#fff" stroke="#000"'
                f' stroke-width=".8"/><path class="water" {turn} d="M-3 2.2H3M-1.6 4.2H1.6" stroke="#000"'
                f' stroke-width=".7"/>'
            ]
        case "unknown":
            return [
                f'<circle class="unknown" {turn} r="4.8" fill="#fff" stroke="#000" stroke-width="1"'
                f' stroke-dasharray="1.8 1.6"/><text x="{x:.2f}" y="{y + 3:.2f}" font-size="8.5"'
                f' font-weight="600" text-anchor="middle" fill="#000">?</text>'
            ]
        case "cleanout":
            return [
                f'<circle class="cleanout" {turn} r="2.8" fill="#fff" stroke="#000" stroke-width="1"/>'
                f'<path {turn} d="M-2.8 0H2.8" stroke="#000" stroke-width=".8"/>'
            ]
        case "buried":
            return [f'<circle class="buried" {turn} r="2.6" fill="#000" stroke="#fff" stroke-width=".8"/>']
        case _:
            assert_never(kind)
