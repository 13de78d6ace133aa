"""A section across a pit: its bottom, the seasonal high water, and the mound that soaked water heaps up on it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from roofwell.design.result import Design
from roofwell.papers.drawing.chart import length_ticks
from roofwell.papers.drawing.model import (
    XY,
    Dimension,
    Drawing,
    Hatch,
    Item,
    KeyMark,
    Label,
    LevelMarks,
    Polygon,
    Polyline,
    WaterSurface,
    known,
    rectangle,
)
from roofwell.papers.texts import Say
from roofwell.system.mound_section import MoundSection
from roofwell.system.scheme import Well

_UNDER_M = 0.35  # drawn below the high water
_DISTANCES_M = 0.5  # the row of distances under it
_HOUSE_M = 0.85  # of a house drawn over the ground, and of its footing under it where it has no basement
_FOOTING_M = 0.35
_RECORD = "in the rain record"
_ALIKE = 0.02  # a drawn surface is followed in coarser steps than the one that is judged


def mound_drawing(design: Design, section: MoundSection, well: Well) -> Drawing:
    """Return the section in true metres: x from the middle of the pit, y elevations."""
    say = Say(design.survey.style)
    high, bottom, half = section.high_water_m, section.bottom_m, section.half_pit_m
    left, right = float(section.distance_m[0]), float(section.distance_m[-1])
    ground = well.ground_m if known(well.ground_m) else well.lip_m
    measured = known(well.ground_m) and design.survey.ground_known
    base = high - _UNDER_M
    items: list[Item] = [*_water(section, base)]
    items += _pit(section, well, ground)
    items += [
        Polyline(((left, ground), (-half, ground)), "ground" if measured else "ground guessed"),
        Polyline(((half, ground), (right, ground)), "ground" if measured else "ground guessed"),
    ]
    if measured:
        items += [
            Hatch(((left, ground), (-half, ground)), "earth"),
            Hatch(((half, ground), (right, ground)), "earth"),
        ]
    items += _wall(section, ground, base, say)
    highest, when = _highest(design, section)
    items += _room(section, highest, say)
    items += _distances(design, left, right, base)
    storm, month = _tops(section)
    marks = {ground: f"ground {say.level(ground)}", bottom: f"bottom of the pit {say.level(bottom)}"}
    marks[high] = f"seasonal high water {say.level(high)}"
    if when == _RECORD and highest < bottom - high:
        marks.setdefault(high + highest, f"highest under the pit {say.level(high + highest)}")
    if section.wall is not None and section.wall.floor_m is not None and section.wall.floor_m < ground:
        marks.setdefault(section.wall.floor_m, f"lowest floor {say.level(section.wall.floor_m)}")
    items.append(LevelMarks(right, tuple((text, level) for level, text in sorted(marks.items()))))
    key = [
        KeyMark(
            f"after {_storm_words(design)} of {say.time(section.storm_duration_s)}: up {say.distance(storm)}",
            "curve",
            "water",
        )
    ]
    if month is not None:
        key.append(KeyMark(f"in the wettest 30 days of the record: up {say.distance(month)}", "water level"))
    title = mound_title(design, section, say)
    return Drawing(
        name=f"mound-{section.well}",
        title=title,
        items=tuple(items),
        bounds=(left, base - _DISTANCES_M, right, ground + _HOUSE_M),
        says=f"Section across the pit of {section.well}. {title}",
        notes=_notes(design, section, say),
        key=tuple(key),
    )


def mound_title(design: Design, section: MoundSection, say: Say) -> str:
    """Say in one sentence how high the mound rises, as it is judged, and what is left to the pit's bottom."""
    room = section.bottom_m - section.high_water_m
    if room <= 0:
        return f"The pit of {section.well} stands {say.distance(-room)} in the seasonal high water"
    rise, when = _highest(design, section)
    words = f"Soaked water raises the groundwater under {section.well} by {say.distance(rise)} {when}"
    if rise <= room:
        return f"{words}; that leaves {say.distance(room - rise)} under the pit"
    return f"{words}, {say.distance(rise - room)} over the pit's bottom: it holds the well back"


def _storm_words(design: Design) -> str:
    return f"the {design.behaviour.return_period_years:g}-year storm"


def _highest(design: Design, section: MoundSection) -> tuple[float, str]:
    """Return the highest rise under the pit, m, the one that is judged, and when it comes."""
    storm, month = _tops(section)
    mound = design.behaviour.well(section.well).mound
    judged = mound.rise_m if mound is not None else 0.0
    drawn = max(storm, month or 0.0)
    if judged > drawn * (1 + _ALIKE):
        return judged, _RECORD
    return drawn, f"in {_storm_words(design)}" if drawn == storm else "in the wettest 30 days"


def _tops(section: MoundSection) -> tuple[float, float | None]:
    month = float(np.max(section.month_m)) if section.month_m is not None else None
    return float(np.max(section.storm_m)), month


def drawn_surface(
    section: MoundSection, rise_m: np.ndarray[tuple[int], np.dtype[np.float64]]
) -> tuple[XY, ...]:
    """Return the water as it is drawn: no higher than the pit's bottom, where it holds the soakage back."""
    most = max(section.bottom_m, section.high_water_m)
    return tuple(
        (float(x), min(section.high_water_m + float(rise), most))
        for x, rise in zip(section.distance_m, rise_m, strict=True)
    )


def _water(section: MoundSection, base: float) -> Iterator[Item]:
    high = section.high_water_m
    left, right = float(section.distance_m[0]), float(section.distance_m[-1])
    storm = drawn_surface(section, section.storm_m)
    yield Polygon((*storm, (right, base), (left, base)), "water", "water", edge=False, part=section.well)
    yield WaterSurface((left, high), (right, high))
    yield Polyline(storm, "curve", part=section.well)
    if section.month_m is not None:
        yield Polyline(drawn_surface(section, section.month_m), "water level", part=section.well)


def _pit(section: MoundSection, well: Well, ground: float) -> Iterator[Item]:
    half, bottom = section.half_pit_m, section.bottom_m
    top = well.stone_top_m if known(well.stone_top_m) else ground
    yield Polygon(rectangle(-half, bottom, half, top), "pit", "sheet", part=section.well)
    yield Hatch(rectangle(-half, bottom, half, top), "stone")
    yield Polyline(
        ((-half, ground), (-half, bottom), (half, bottom), (half, ground)), "wall", part=section.well
    )
    yield Label(section.well, (0.0, (top + bottom) / 2), strong=True, side="on", boxed=True, fixed=True)


def _wall(section: MoundSection, ground: float, base: float, say: Say) -> Iterator[Item]:
    wall = section.wall
    if wall is None:
        return
    x, end = wall.distance_m, float(section.distance_m[-1])
    whose = "the neighbor's" if wall.neighbor else "house"
    floor = wall.floor_m
    foot = ground - _FOOTING_M if floor is None or floor >= ground else max(floor, base)
    top = ground + _HOUSE_M
    yield Polygon(rectangle(x, foot, end, top), "house", "sheet", part=wall.id, edge=False)
    yield Polyline(((x, top), (x, foot), (end, foot)), "house", part=wall.id)
    if floor is not None and floor < ground:
        what = "basement" if wall.basement else "lowest floor under the ground"
    else:
        what = "no basement" if wall.basement is False else "basement? not known"
    yield Label(f"{whose} {wall.id},\n{what}", (x, ground + 0.5 * _HOUSE_M), "small", side="left", rank=1)
    yield Label(
        f"at its wall the water\nrises {say.depth(wall.rise_m)} at most",
        (x, section.high_water_m),
        "small",
        side="over left",
        rank=3,
    )


def _room(section: MoundSection, most: float, say: Say) -> Iterator[Item]:
    """The separation at rest beside the pit, and what the highest mound leaves of it under the pit."""
    high, bottom, half = section.high_water_m, section.bottom_m, section.half_pit_m
    if bottom <= high:
        return
    drawn = max(top for top in _tops(section) if top is not None)
    if most > drawn and bottom - high > most:
        yield Polyline(((-half, high + most), (half, high + most)), "opening", part=section.well)
    left = float(section.distance_m[0])
    at = max(-half - 0.62 * (-left - half), left + 0.3)
    yield Polyline(((at - 0.25, bottom), (-half, bottom)), "axis")
    yield Dimension((at, high), (at, bottom), say.distance(bottom - high))
    if bottom - high - most > 0.05:
        yield Dimension((0.0, high + most), (0.0, bottom), say.distance(bottom - high - most))


def _distances(design: Design, left: float, right: float, base: float) -> Iterator[Item]:
    y = base - 0.12
    yield Polyline(((left, y), (right, y)), "axis")
    for text, x in length_ticks(left, right, design.survey.style, count=8, unit_words=True):
        if x < left or x > right:
            continue
        yield Polyline(((x, y), (x, y - 0.08)), "axis")
        yield Label(text.lstrip("−"), (x, y - 0.08), "small", side="under", fixed=True, leader=False)


def _notes(design: Design, section: MoundSection, say: Say) -> tuple[str, ...]:
    found = next(
        (
            f
            for a in design.answers
            for f in a.findings
            if f.code == "separation" and f.subject == section.well
        ),
        None,
    )
    mound = design.behaviour.well(section.well).mound
    first = "Distances from the middle of the pit"
    first += (
        f", to the right towards {'the neighbor' if section.wall.neighbor else 'the house'} {section.wall.id}."
        if section.wall is not None
        else ", along the pit."
    )
    how = design.survey.soil.high_water_basis
    if how:
        first += f" High water by: {how}."
    if found is not None:
        first += f" Bottom over the seasonal high water: {found.limit_text}."
    out = [first]
    if mound is not None:
        out.append(
            f"Each surface at its highest, {mound.solution} flow: saturated ground {say.distance(mound.thickness_m)} "
            f"thick, {say.percent(mound.specific_yield)} of it fills, conductivity {say.rate(mound.horizontal_m_s)}."
        )
        if not mound.in_range:
            out.append("More than half of the depth of ground that is full of water: drawn too high.")
    top = max(one for one in _tops(section) if one is not None)
    if 0 < section.bottom_m - section.high_water_m < top:
        out.append("Drawn up to the pit's bottom only: there it holds the soakage back.")
    return tuple(out)
