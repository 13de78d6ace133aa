"""The drawings of the set, each placed on paper at a scale of the ruler, with scale bar and north arrow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from roofwell.design.result import Design
from roofwell.papers.drawing.model import Drawing
from roofwell.papers.drawing.placing import Placed, place
from roofwell.papers.drawing.plan import plan
from roofwell.papers.drawing.profile import profile
from roofwell.papers.drawing.scale import Scale, fit, ladder
from roofwell.papers.drawing.way import joins
from roofwell.papers.drawing.well_section import basin_section, well_section
from roofwell.papers.render_svg import render
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
    top_pt: float = 0.98 * INCH_PT
    foot_pt: float = 0.72 * INCH_PT

    def room(self, *, flipped: bool = False) -> tuple[float, float]:
        """Return width and height inside the margins, points."""
        width, height = (self.height_pt, self.width_pt) if flipped else (self.width_pt, self.height_pt)
        return width - self.binding_pt - self.side_pt, height - self.top_pt - self.foot_pt


PAPERS: dict[Style, Paper] = {"us": Paper("us-letter", 612.0, 792.0), "metric": Paper("a4", 595.276, 841.89)}

_CAPTION_PT = 74.0
_BESIDE_PT = 84.0


def views(design: Design) -> dict[str, Any]:
    """Return every drawing as the template takes it: plan, sections, details."""
    style = design.survey.style
    paper = PAPERS[style]
    plan_view, flipped = _plan(design, paper, style)
    return {
        "plan": plan_view,
        "plan_flipped": flipped,
        "profiles": [_profile(design, spout, met, paper, style) for spout, met in joins(design.scheme).items()],
        "details": [_detail(drawing, paper, style) for drawing in _details(design)],
    }


def placed_drawings(design: Design) -> tuple[Placed, ...]:
    """Return every drawing of the set as it is placed, for the tests of its labels."""
    style = design.survey.style
    paper = PAPERS[style]
    drawing = plan(design)
    scale, flipped = _plan_scale(drawing, paper, style)
    width, height = paper.room(flipped=flipped)
    out = [place(drawing, scale=scale, width_pt=width, height_pt=height - _CAPTION_PT)]
    for spout, met in joins(design.scheme).items():
        out.append(_placed_profile(design, spout, met, paper, style))
    out += [_placed_detail(drawing, paper, style) for drawing in _details(design)]
    return tuple(out)


def _details(design: Design) -> list[Drawing]:
    scheme = design.scheme
    wells = [well_section(design, well, scheme) for well in scheme.wells]
    return wells + [basin_section(design, basin, scheme) for basin in scheme.basins]


def _plan_scale(drawing: Drawing, paper: Paper, style: Style) -> tuple[Scale, bool]:
    """Turn the sheet if that gains a larger scale."""
    best: dict[bool, Scale] = {}
    for flipped in (False, True):
        width, height = paper.room(flipped=flipped)
        best[flipped] = fit(
            width_m=drawing.width_m,
            height_m=drawing.height_m,
            width_pt=width - 8,
            height_pt=height - _CAPTION_PT - 8,
            scales=ladder("plan", style),
        )
    flipped = best[True].times_smaller < best[False].times_smaller
    return best[flipped], flipped


def _plan(design: Design, paper: Paper, style: Style) -> tuple[dict[str, Any], bool]:
    drawing = plan(design)
    scale, flipped = _plan_scale(drawing, paper, style)
    width, height = paper.room(flipped=flipped)
    needed = drawing.height_m * scale.points_m + 60
    placed = place(drawing, scale=scale, width_pt=width, height_pt=min(height - _CAPTION_PT, needed))
    view = _view(placed, style)
    north = design.job.frame.north
    view["north"] = north_arrow(north.value_si) if north is not None else None
    if north is None:
        view["notes"].append("Which way north lies was not given.")
    return view, flipped


def _placed_profile(
    design: Design, spout: str, met: tuple[str, str] | None, paper: Paper, style: Style
) -> Placed:
    drawing = profile(design, spout, until=met[0] if met else None, see=met[1] if met else None)
    width, height = paper.room()
    scale = fit(
        width_m=drawing.width_m,
        height_m=drawing.height_m * drawing.up,
        width_pt=width - _BESIDE_PT,
        height_pt=0.32 * height if drawing.up > 1 else 0.2 * height,
        scales=ladder("plan", style),
    )
    tall = drawing.height_m * drawing.up * scale.points_m + 78
    return place(drawing, scale=scale, width_pt=width, height_pt=tall)


def _profile(
    design: Design, spout: str, met: tuple[str, str] | None, paper: Paper, style: Style
) -> dict[str, Any]:
    return _view(_placed_profile(design, spout, met, paper, style), style)


def _placed_detail(drawing: Drawing, paper: Paper, style: Style) -> Placed:
    width, height = paper.room()
    scale = fit(
        width_m=drawing.width_m,
        height_m=drawing.height_m,
        width_pt=width - 1.6 * _BESIDE_PT,
        height_pt=0.36 * height,
        scales=ladder("detail", style),
    )
    return place(drawing, scale=scale, width_pt=width, height_pt=drawing.height_m * scale.points_m + 46)


def _detail(drawing: Drawing, paper: Paper, style: Style) -> dict[str, Any]:
    return _view(_placed_detail(drawing, paper, style), style)


def _view(placed: Placed, style: Style) -> dict[str, Any]:
    drawing = placed.drawing
    words = placed.scale.text
    if drawing.up != 1.0:
        words += f" along; up and down {drawing.up:g} times larger"
    notes = list(drawing.notes)
    if placed.unplaced:
        notes.append("No room on the drawing for: " + "; ".join(label.text.replace("\n", ", ") for label in placed.unplaced))
    bar, bar_width = scale_bar(placed.scale, style)
    return {
        "title": drawing.title,
        "says": drawing.says or drawing.title,
        "scale": words,
        "svg": render(placed),
        "width": round(placed.width_pt, 3),
        "height": round(placed.height_pt, 3),
        "bar": bar,
        "bar_width": bar_width,
        "notes": notes,
        "north": None,
    }


def scale_bar(scale: Scale, style: Style) -> tuple[str, float]:
    """Return the SVG of a scale bar 24 points high, and its width in points."""
    unit_m, word = (0.3048, "ft") if style == "us" else (1.0, "m")
    lengths = (0.5, 1, 2, 4, 10, 20, 40, 100, 200, 400)
    length = next((n for n in lengths if n * unit_m * scale.points_m >= 70), lengths[-1])
    wide = length * unit_m * scale.points_m
    half, left = wide / 2, 8.0
    texts = "".join(
        f'<text x="{left + share * wide:.2f}" y="9" font-size="8.25" text-anchor="middle">{text}</text>'
        for share, text in ((0, "0"), (0.5, f"{length / 2:g}"), (1, f"{length:g} {word}"))
    )
    total = wide + 44
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{total:.2f}" height="24" viewBox="0 0 {total:.2f} 24"'
        f' font-family="Roofwell Park">{texts}<rect x="{left}" y="13" width="{half:.2f}" height="4.5" fill="#000"'
        f' stroke="#000" stroke-width=".8"/><rect x="{left + half:.2f}" y="13" width="{half:.2f}" height="4.5"'
        f' fill="#fff" stroke="#000" stroke-width=".8"/></svg>',
        round(total, 2),
    )


def north_arrow(turn_rad: float) -> str:
    """Return the SVG of a north arrow, 34 by 34 points, turned counterclockwise from the top of the plan."""
    degrees = -math.degrees(turn_rad)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="34" height="34" viewBox="0 0 34 34" font-family="Roofwell Park">'
        f'<g transform="rotate({degrees:.1f} 17 17)"><path d="M17 32V12M17 12L13 20M17 12L21 20" fill="none"'
        ' stroke="#000" stroke-width="1.4"/></g>'
        f'<text x="{17 - 11.5 * math.sin(turn_rad):.1f}" y="{17 - 11.5 * math.cos(turn_rad) + 3.4:.1f}" font-size="9.5"'
        ' font-weight="640" text-anchor="middle">N</text></svg>'
    )

