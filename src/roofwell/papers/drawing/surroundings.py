"""What is there already, as a plan shows it: lot line, walks, buried lines, septic, trees."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from roofwell.papers.drawing.model import (
    XY,
    Circle,
    Fill,
    Item,
    Label,
    Polygon,
    Polyline,
    Role,
    Sign,
    Utility,
    along,
)
from roofwell.papers.texts import LETTERS, Say
from roofwell.system.facts import FeatureFact
from roofwell.system.shapes_of import is_area

_ROLES: dict[str, Role] = {
    "lot line": "lot line",
    "slope crest": "crest",
    "break line": "fine",
    "neighbor's building": "neighbor",
}
_FILLS: dict[str, Fill] = {"walk": "paved", "drive": "paved", "leach field": "haze"}
_WORDS = {
    "lot line": "lot line",
    "slope crest": "crest of the slope",
    "neighbor's building": "neighbor's house",
    "existing drain": "existing drain",
    "leach field": "leach field",
    "septic tank": "septic tank",
    "drinking-water well": "drinking-water well",
}


def feature_items(feature: FeatureFact, say: Say) -> Iterator[Item]:
    """Yield what draws one feature."""
    if not feature.points:
        return
    if feature.kind == "utility":
        yield from _utility(feature, say)
        return
    if feature.kind == "break line":
        return
    at, words = feature.points[0], _words(feature, say)
    if feature.shape == "point" or len(feature.points) == 1:
        if feature.kind == "tree":
            yield Sign(at, "tree", 0.0, feature.id)
        else:
            yield Circle(at, 0.35, "ink", "sheet", part=feature.id)
        yield Label(words, at, "small", side="right", rank=6, part=feature.id)
        return
    role = _ROLES.get(feature.kind, "ink")
    if is_area(feature):
        fill = _FILLS.get(feature.kind, "none")
        yield Polygon(feature.points, role, fill, part=feature.id)
        yield Label(words, middle_of(feature.points), "small", side="on", rank=7, part=feature.id)
        return
    if feature.shape == "outline" and len(feature.points) > 2:  # a lot line, closed
        yield Polyline((*feature.points, feature.points[0]), role, part=feature.id)
        yield Label(words, _on_longest_side(feature.points), "small", side="under", rank=6, part=feature.id)
        return
    yield Polyline(feature.points, role, part=feature.id)
    yield Label(words, along(feature.points, 0.5)[0], "small", rank=6, part=feature.id)


def _utility(feature: FeatureFact, say: Say) -> Iterator[Item]:
    letter = LETTERS.get(feature.utility or "unknown", "?")
    if len(feature.points) > 1:
        yield Utility(feature.points, letter, feature.id)
        at = along(feature.points, 0.82)[0]
    else:
        at = feature.points[0]
        yield Sign(at, "unknown", 0.0, feature.id)
    yield Label(_words(feature, say), at, "small", side="right", rank=5, part=feature.id)


def _words(feature: FeatureFact, say: Say) -> str:
    if feature.kind == "utility":
        kind = feature.utility or "unknown"
        name = {"unknown": "buried line of unknown kind", "water": "drinking water"}.get(kind, kind)
        return (
            f"{name}, top {say.level(feature.top_m)}" if feature.top_m is not None else f"{name}: how deep?"
        )
    if feature.kind == "existing drain":
        return f"existing drain ({feature.condition or 'condition not known'})"
    return _WORDS.get(feature.kind, feature.kind)


def middle_of(outline: tuple[XY, ...]) -> XY:
    """Return a point well inside an outline; its first corner where the outline crosses itself."""
    shape = shapely.Polygon(outline)
    if not shape.is_valid or shape.is_empty:
        return outline[0]
    point = shape.representative_point()
    return (point.x, point.y)


def _on_longest_side(points: tuple[XY, ...]) -> XY:
    sides = list(zip(points, (*points[1:], points[0]), strict=True))
    a, b = max(sides, key=lambda side: math.dist(*side))
    return (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]))
