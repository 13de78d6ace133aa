"""The log of the test hole: what lay in the ground from the top down, how deep each test went, where the water stands."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell.checks.soakage_words import tested_depth_words
from roofwell.design.result import Design
from roofwell.job.model import SoilLayer
from roofwell.papers.drawing.model import (
    Circle,
    Drawing,
    Hatch,
    Item,
    Label,
    LevelMarks,
    Polygon,
    Polyline,
    WaterSurface,
    known,
    rectangle,
)
from roofwell.papers.texts import Say
from roofwell.system.soil_facts import high_water_depth_m

_WIDE_M = 2.2  # the column of the log
_SIGNS_M = 0.2  # at its left edge the rings of mottling, at its right the strokes of roots
_HOLE_M, _APART_M = 0.1, 0.34
_UNDER_M = 0.25  # drawn below the deepest thing
_REACH_M = 1.6  # high water farther below the log than this is told in words
_LEAST_M = 0.6
_BESIDE_M = 1.6  # room for the depths beside the column


def pit_log(design: Design) -> Drawing | None:
    """Return the log with its tests and the designed pits' bottoms; None where nobody wrote a log."""
    soil, say = design.job.soil, Say(design.survey.style)
    refusal = soil.refusal_depth.value_si if soil.refusal_depth is not None else None
    if not soil.layers and refusal is None and soil.water_seen_depth is None:
        return None
    holes = [(test.id, test.depth_m) for test in design.survey.soil.tests if test.depth_m is not None]
    pits = [
        (well.id, well.ground_m - well.bottom_m)
        for well in design.scheme.wells
        if known(well.ground_m, well.bottom_m) and design.survey.ground_known
    ]
    water = _high_water_depth(design)
    seen = soil.water_seen_depth.value_si if soil.water_seen_depth is not None else None
    depths = [layer.bottom.value_si for layer in soil.layers] + [depth for _, depth in (*holes, *pits)]
    depths += [depth for depth in (refusal, seen) if depth is not None]
    deepest = max([*depths, _LEAST_M])
    reached = water is not None and water < deepest + _REACH_M
    deep = (max(deepest, water) if reached and water is not None else deepest) + _UNDER_M
    left = -_WIDE_M / 2 - _APART_M * (len(holes) + 1)
    right = _WIDE_M / 2 + _BESIDE_M
    end = _WIDE_M / 2 + 0.12
    items: list[Item] = [
        Polyline(((left, 0.0), (end, 0.0)), "ground"),
        Hatch(((left, 0.0), (-_WIDE_M / 2, 0.0)), "earth"),
    ]
    for layer in soil.layers:
        items += _layer(layer)
    marks = {0.0: "ground", **{d: say.length(d) for d in _ends(design, refusal)}}
    for n, (id, depth) in enumerate(holes):
        items += _hole(id, depth, -_WIDE_M / 2 - _APART_M * (n + 0.8))
    for id, depth in pits:
        items.append(Polyline(((-_WIDE_M / 2, -depth), (end, -depth)), "trench bottom", part=id))
        marks[depth] = f"bottom of {id}'s pit {say.length(depth)}"
    if refusal is not None:
        on = "" if soil.refusal_on in (None, "not known") else f" on {soil.refusal_on}"
        edge = ((-_WIDE_M / 2, -refusal), (_WIDE_M / 2, -refusal))
        items += [Polyline(edge, "wall"), Hatch(edge, "earth")]
        items.append(Label(f"refusal{on}", (0.0, -refusal), strong=True, side="under", rank=1))
    if seen is not None:
        items.append(WaterSurface((-_WIDE_M / 2, -seen), (_WIDE_M / 2, -seen)))
        day = f", {soil.water_seen_date.isoformat()}" if soil.water_seen_date is not None else ""
        items.append(Label(f"water seen{day}", (0.3 * _WIDE_M, -seen), "small", side="under", rank=3))
    if reached and water is not None:
        how = design.survey.soil.high_water_basis
        items.append(WaterSurface((left, -water), (end, -water)))
        marks[water] = f"seasonal high water {say.length(water)}{f' ({how})' if how else ''}"
    items.append(LevelMarks(end, tuple((words, -depth) for depth, words in sorted(marks.items()))))
    return Drawing(
        name="pit-log",
        title=f"Soil: log of the {_logged_in(design)}",
        items=tuple(items),
        bounds=(left, -deep, right, 0.1),
        says=f"Log of the {_logged_in(design)}: layers, mottling, roots, water and refusal; depth of each test and pit.",
        notes=_notes(design, say, water, reached=reached),
    )


def _logged_in(design: Design) -> str:
    """What was dug or bored to see the layers, by the tests that the job tells of; "test hole" where that is open."""
    kinds = {test.kind for test in design.survey.soil.tests}
    if "test pit" in kinds or "fill" in kinds:
        return "test pit"
    return "auger hole" if "auger hole" in kinds else "test hole"


def _high_water_depth(design: Design) -> float | None:
    """Depth of the seasonal high water below the ground, as the job says it or at the lowest well, m."""
    depth = high_water_depth_m(design.job.soil)
    level = design.survey.soil.high_water_m
    if depth is not None or level is None:
        return depth
    grounds = [well.ground_m for well in design.scheme.wells if known(well.ground_m)]
    below = min(grounds) - level if grounds and design.survey.ground_known else None
    return below if below is not None and below >= 0 else None


def _layer(layer: SoilLayer) -> Iterator[Item]:
    top, bottom, half = -layer.top.value_si, -layer.bottom.value_si, _WIDE_M / 2
    yield Polygon(rectangle(-half, bottom, half, top), "ink", "sheet")
    texture = layer.texture or "texture not said"
    roots = {"many": ", many roots", "few": ", few roots"}.get(layer.roots or "", "")
    wet = ", water" if layer.water else ""
    mottled = ", mottled" if layer.mottled else ""
    yield Label(f"{texture}{mottled}{roots}{wet}", (0.0, (top + bottom) / 2), side="on", rank=0)
    rows = max(1, int((top - bottom) / 0.12))
    for row in range(rows):
        y = top - (row + 0.5) * (top - bottom) / rows
        if layer.mottled:
            yield Circle((-half + 0.25 * _SIGNS_M * (1 + 2 * (row % 2)), y), 0.025, "fine")
        if layer.roots in ("few", "many") and (layer.roots == "many" or row % 3 == 0):
            x = half - _SIGNS_M
            yield Polyline(((x, y + 0.03), (x + 0.06, y - 0.02), (x + 0.13, y + 0.01)), "fine")
    if layer.water:
        yield WaterSurface((-half, top), (half, top))


def _ends(design: Design, refusal: float | None) -> list[float]:
    """Depths that are written beside the column: the ends of the layers and the refusal."""
    ends = {q.value_si for layer in design.job.soil.layers for q in (layer.top, layer.bottom)}
    if refusal is not None:
        ends.add(refusal)
    return sorted(depth for depth in ends if depth > 0)


def _hole(id: str, depth: float, x: float) -> Iterator[Item]:
    half = _HOLE_M / 2
    yield Polyline(((x - half, 0.0), (x - half, -depth), (x + half, -depth), (x + half, 0.0)), "pit", part=id)
    yield Label(id, (x, -depth), "small", strong=True, side="under", rank=1, part=id)


def _notes(design: Design, say: Say, water: float | None, *, reached: bool) -> tuple[str, ...]:
    soil = design.job.soil
    parts = ["Depths are below the ground at the well."]
    if any(layer.mottled for layer in soil.layers):
        parts.append("Rings: mottling, the sign of water that stands in the wet season.")
    if any(layer.roots in ("few", "many") for layer in soil.layers):
        parts.append("Short strokes: roots.")
    if any(test.depth_m is not None for test in design.survey.soil.tests):
        parts.append("At the left the test holes, as deep as they went.")
    if water is None:
        parts.append("The seasonal high water is not known.")
    elif not reached:
        parts.append(f"Seasonal high water {say.distance(water)} down, below what is drawn.")
    reached_not = [tested_depth_words(design.survey, well) for well in design.scheme.wells]
    said = [f"{note[:1].upper()}{note[1:].rstrip('.')}." for note in design.survey.soil.notes]
    return (" ".join(parts), *filter(None, reached_not), *said)
