"""The drawings of the set, each placed on paper at a scale of the ruler, with scale bar and north arrow."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from roofwell.design.result import Design
from roofwell.papers.drawing.basin_section import basin_section
from roofwell.papers.drawing.full_well import full_well
from roofwell.papers.drawing.model import Drawing, Label
from roofwell.papers.drawing.pit_log import pit_log
from roofwell.papers.drawing.placing import Placed, place
from roofwell.papers.drawing.plan import plan
from roofwell.papers.drawing.profile import section, section_ways
from roofwell.papers.drawing.scale import Scale, fit, ladder
from roofwell.papers.drawing.section_frame import STRETCHES
from roofwell.papers.drawing.strip import strip_height_pt
from roofwell.papers.drawing.way import Way
from roofwell.papers.drawing.well_section import well_section
from roofwell.papers.margin_marks import north_arrow, scale_bar
from roofwell.papers.render_svg import key_picture, render
from roofwell.units import Style

INCH_PT = 72.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper and what its margins leave, points."""

    name: str
    width_pt: float
    height_pt: float
    binding_pt: float = 0.56 * INCH_PT
    side_pt: float = 0.5 * INCH_PT
    top_pt: float = 0.86 * INCH_PT
    foot_pt: float = 0.62 * INCH_PT

    def room(self, *, flipped: bool = False) -> tuple[float, float]:
        """Return width and height inside the margins, points."""
        width, height = (self.height_pt, self.width_pt) if flipped else (self.width_pt, self.height_pt)
        return width - self.binding_pt - self.side_pt, height - self.top_pt - self.foot_pt


PAPERS: dict[Style, Paper] = {"us": Paper("us-letter", 612.0, 792.0), "metric": Paper("a4", 595.276, 841.89)}

_CAPTION_PT = 38.0  # title and scale; and a line for each note
_NOTE_PT = 12.0
_BESIDE_PT = 84.0
_STRIP_BESIDE_PT = 150.0  # names of the strip's rows at the left, a label at the right
_HIGH_LYING_PT = 245.0  # one section on a sheet that lies
_HIGH_UPRIGHT_PT = 116.0  # two on one that stands
_OVER_PT = 40.0  # labels over a section
_OVER_FULL_WELL_PT = 96.0  # labels over and under one that is not stretched
_READABLE = 2.0  # times up that a section is stretched at least before its wall is drawn whole
_SHORT = 0.52  # sections shorter than this share of the longest stand two on a sheet


def views(design: Design) -> dict[str, Any]:
    """Return every drawing as the template takes it: plan, sections, details."""
    style = design.survey.style
    placed = placed_drawings(design)
    return {
        "plan": _plan_view(design, placed.plan),
        "plan_flipped": placed.plan_flipped,
        "profile_sheets": [
            {"flipped": sheet.flipped, "views": [_view(one, style) for one in sheet.placed]}
            for sheet in placed.profile_sheets
        ],
        "full_well": _view(placed.full_well, style) if placed.full_well is not None else None,
        "details": [_view(one, style) for one in placed.details],
    }


def short_views(design: Design) -> dict[str, Any]:
    """Return the drawings of the short set: the plan, and the section that shows where the water stands and goes."""
    style = design.survey.style
    placed, flipped = _placed_plan(design)
    section = _placed_full_well(design, PAPERS[style], style)
    return {
        "plan": _plan_view(design, placed),
        "plan_flipped": flipped,
        "profile_sheets": [],
        "full_well": _view(section, style) if section is not None else None,
        "details": [],
    }


def _plan_view(design: Design, placed: Placed) -> dict[str, Any]:
    view = _view(placed, design.survey.style)
    north = design.job.frame.north
    view["north"] = north_arrow(north.value_si) if north is not None else None
    if north is None:
        view["notes"].append("Which way north lies was not given.")
    return view


@dataclass(frozen=True, slots=True)
class ProfileSheet:
    """Long sections that stand on sheets of one kind: one on each that lies, two on each that stands."""

    flipped: bool
    placed: tuple[Placed, ...]


@dataclass(frozen=True, slots=True)
class PlacedSet:
    """Every drawing of the set on its sheet; ``flipped`` sheets lie on their long side."""

    plan: Placed
    plan_flipped: bool
    profile_sheets: tuple[ProfileSheet, ...]
    details: tuple[Placed, ...]
    full_well: Placed | None = None

    @property
    def profiles(self) -> tuple[Placed, ...]:
        """Every long section."""
        return tuple(one for sheet in self.profile_sheets for one in sheet.placed)


def placed_drawings(design: Design) -> PlacedSet:
    """Return every drawing of the set as it is placed."""
    style = design.survey.style
    paper = PAPERS[style]
    site, flipped = _placed_plan(design)
    sections = [_section(design, way, paper, style) for way in section_ways(design.scheme)]
    return PlacedSet(
        site,
        flipped,
        _profile_sheets(sections, paper, style),
        tuple(_placed_detail(drawing, paper, style) for drawing in _details(design)),
        _placed_full_well(design, paper, style),
    )


def _placed_plan(design: Design) -> tuple[Placed, bool]:
    """Place the site plan at the largest scale that fits; and say whether its sheet lies."""
    style = design.survey.style
    paper, site = PAPERS[style], plan(design)
    scale, flipped = _turned(lambda turn: _plan_scale(site, paper, style, turn))
    width, height = paper.room(flipped=flipped)
    tall = min(height - _caption_pt(site), site.height_m * scale.points_m + 60)
    return place(site, scale=scale, width_pt=width, height_pt=tall), flipped


def _placed_full_well(design: Design, paper: Paper, style: Style) -> Placed | None:
    """Place the full-well section on a lying sheet: nothing stretched, room over it for words."""
    drawing = full_well(design)
    if drawing is None:
        return None
    width = paper.room(flipped=True)[0]
    scale = fit(
        width_m=drawing.width_m,
        height_m=drawing.height_m,
        width_pt=width,
        height_pt=_HIGH_LYING_PT,
        scales=ladder("plan", style),
    )
    tall = drawing.height_m * scale.points_m + _OVER_FULL_WELL_PT
    return place(drawing, scale=scale, width_pt=width, height_pt=tall)


def _turned(scale_of: Callable[[bool], Scale]) -> tuple[Scale, bool]:
    """Turn the sheet on its long side if that gains a larger scale."""
    upright, lying = scale_of(False), scale_of(True)
    return (lying, True) if lying.times_smaller < upright.times_smaller else (upright, False)


def _details(design: Design) -> list[Drawing]:
    scheme = design.scheme
    wells = [well_section(design, well, scheme) for well in scheme.wells]
    if design.scheme_large is not None:
        large = design.scheme_large
        wells += [well_section(design, well, large) for well in large.wells]
    log = pit_log(design)
    basins = [basin_section(design, basin, scheme) for basin in scheme.basins]
    return [*wells, *([log] if log is not None else []), *basins]


def _caption_pt(drawing: Drawing) -> float:
    """Return the height of what stands over and under a drawing that fills a sheet, points."""
    return _CAPTION_PT + _NOTE_PT * len(drawing.notes)


def _plan_scale(drawing: Drawing, paper: Paper, style: Style, flipped: bool) -> Scale:
    width, height = paper.room(flipped=flipped)
    return fit(
        width_m=drawing.width_m,
        height_m=drawing.height_m,
        width_pt=width - 8,
        height_pt=height - _caption_pt(drawing),
        scales=ladder("plan", style),
    )


def _profile_sheets(sections: list[Drawing], paper: Paper, style: Style) -> tuple[ProfileSheet, ...]:
    """Lay the long sections on sheets of their own where that gains a scale, the others two on a sheet."""
    longest = max((drawing.width_m for drawing in sections), default=0.0)

    def lies(drawing: Drawing) -> bool:
        short = drawing.width_m < _SHORT * longest
        return not short and _turned(lambda turn: _profile_scale(drawing, paper, style, turn)[0])[1]

    out = []
    for flipped in (True, False):
        placed = tuple(
            _placed_profile(drawing, paper, style, flipped)
            for drawing in sections
            if lies(drawing) == flipped
        )
        if placed:
            out.append(ProfileSheet(flipped, placed))
    return tuple(out)


def _section(design: Design, way: Way, paper: Paper, style: Style) -> Drawing:
    """Draw a way whole, up to its gutter where the pipes stay readable below it; else with the wall cut short."""
    cut, whole = (section(design, way, whole=whole) for whole in (False, True))
    (scale, up), (other, least) = (_profile_scale(one, paper, style, True) for one in (cut, whole))
    return whole if scale == other and least >= min(up, _READABLE) else cut


def _profile_scale(drawing: Drawing, paper: Paper, style: Style, flipped: bool) -> tuple[Scale, float]:
    """Return the scale along, and how far up the section is stretched: as far as it may and fits."""
    high = _HIGH_LYING_PT if flipped else _HIGH_UPRIGHT_PT
    scale = fit(
        width_m=drawing.width_m,
        height_m=drawing.height_m * min(drawing.up, 2.0),
        width_pt=paper.room(flipped=flipped)[0] - _STRIP_BESIDE_PT,
        height_pt=high,
        scales=ladder("plan", style),
    )
    stretches = (up for up in STRETCHES if up <= drawing.up)
    return scale, next((up for up in stretches if drawing.height_m * up * scale.points_m <= high), 1.0)


def _placed_profile(drawing: Drawing, paper: Paper, style: Style, flipped: bool) -> Placed:
    scale, up = _profile_scale(drawing, paper, style, flipped)
    strip = strip_height_pt(drawing.strip) if drawing.strip is not None else 14.0
    tall = drawing.height_m * up * scale.points_m + _OVER_PT + strip
    return place(
        replace(drawing, up=up), scale=scale, width_pt=paper.room(flipped=flipped)[0], height_pt=tall
    )


def _placed_detail(drawing: Drawing, paper: Paper, style: Style) -> Placed:
    width, height = paper.room()
    scale = fit(
        width_m=drawing.width_m,
        height_m=drawing.height_m,
        width_pt=width - _BESIDE_PT,
        height_pt=(0.36 if drawing.name.startswith(("well", "pit-log")) else 0.24) * height,
        scales=ladder("detail", style),
    )
    return place(drawing, scale=scale, width_pt=width, height_pt=drawing.height_m * scale.points_m + 46)


def _view(placed: Placed, style: Style) -> dict[str, Any]:
    drawing = placed.drawing
    words = placed.scale.text
    if drawing.up != 1.0:
        words += f" along; up and down {drawing.up:g} times larger"
    notes = list(drawing.notes)
    if placed.unplaced:
        notes.append(
            "No room on the drawing for: "
            + "; ".join(label.text.replace("\n", ", ") for label in placed.unplaced)
        )
    drawn = any(not isinstance(item, Label) for item in drawing.items)
    bar, bar_width = scale_bar(placed.scale, style) if drawn else ("", 0.0)
    key, key_height = key_picture(drawing, placed.width_pt) if drawing.key else ("", 0.0)
    return {
        "title": drawing.title,
        "says": drawing.says or drawing.title,
        "scale": words if drawn else "",
        "svg": render(placed),
        "width": round(placed.width_pt, 3),
        "height": round(placed.height_pt, 3),
        "bar": bar,
        "bar_width": bar_width,
        "key": key,
        "key_height": round(key_height, 3),
        "notes": notes,
        "north": None,
    }
