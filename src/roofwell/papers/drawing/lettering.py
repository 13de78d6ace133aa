"""How wide and high words are in Roofwell Park, so that a placer can keep them apart.

``fonts/advances.json`` holds the advance widths of the shipped fonts in thousandths of the type size; a test
compares them with what the typesetter measures.
"""

from __future__ import annotations

import json
from functools import cache
from importlib import resources

SIZES_PT = {"small": 8.25, "normal": 9.0, "large": 11.0, "huge": 18.0}
"""Type sizes of labels on drawings (own choice: a copy of a copy can still be read)."""

ASCENT = 0.74
DESCENT = 0.20
LEADING = 1.16
_UNKNOWN = 700  # a sign that the font lacks: wider than nearly all it has


@cache
def _advances(weight: str) -> dict[str, int]:
    text = (resources.files("roofwell.papers") / "fonts" / "advances.json").read_text(encoding="utf-8")
    found: dict[str, dict[str, int]] = json.loads(text)
    return found[weight]


def width_pt(text: str, *, size_pt: float, strong: bool = False) -> float:
    """Return the width of one line, points."""
    advances = _advances("SemiBold" if strong else "Regular")
    return sum(advances.get(sign, _UNKNOWN) for sign in text) * size_pt / 1000


def block_pt(text: str, *, size_pt: float, strong: bool = False) -> tuple[float, float]:
    """Return width and height of a block of lines, points, from the top of its capitals to its tails."""
    lines = text.split("\n")
    width = max(width_pt(line, size_pt=size_pt, strong=strong) for line in lines)
    return width, size_pt * (ASCENT + DESCENT + LEADING * (len(lines) - 1))
