"""Four pictures of what rain does to the system: the worst storm, the years, the drawdown, the mound."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Any

from roofwell.design.result import Design
from roofwell.papers.drawing.chart import WIDE_PT, scale_of
from roofwell.papers.drawing.drawdown_chart import drawdown_chart
from roofwell.papers.drawing.model import Drawing
from roofwell.papers.drawing.mound_drawing import mound_drawing
from roofwell.papers.drawing.placing import Placed, place
from roofwell.papers.drawing.scale import fit, ladder
from roofwell.papers.drawing.spill_chart import spill_chart
from roofwell.papers.drawing.storm_chart import stone_depth_m, storm_chart
from roofwell.papers.margin_marks import scale_bar
from roofwell.papers.render_svg import key_picture, render
from roofwell.papers.texts import Say, without_keys
from roofwell.papers.traced import traces_of
from roofwell.system.scheme import Well
from roofwell.system.survey import measurement
from roofwell.units import Style

_MOUND_BESIDE_PT = 134.0  # words right of the section
_MOUND_HIGH_PT = 186.0
_STRETCHES = (4.0, 3.0, 2.0, 1.5, 1.0)


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture: placed, or only words where a measurement is missing."""

    drawing: Drawing
    placed: Placed | None


def pictures(design: Design) -> tuple[Picture, ...]:
    """Return the pictures of every well and of all of them through the years; nothing where there is no well."""
    found, say = traces_of(design), Say(design.survey.style)
    if not found.storms and not found.drawdowns:
        return ()
    mounds = {section.well: section for section in found.mounds}
    out: list[Drawing] = []
    for well in design.scheme.wells:
        storm = next((one for one in found.storms if one.well == well.id), None)
        drawdown = next(one for one in found.drawdowns if one.well == well.id)
        told = design.behaviour.well(well.id).mound
        held = told is not None and told.held is not None
        if storm is not None:
            out.append(storm_chart(storm, say, stone_m=stone_depth_m(well)))
        out.append(drawdown_chart(drawdown, say, held=held, stone_m=stone_depth_m(well)))
    if found.spills is not None:
        out.append(spill_chart(found.spills, say, limit_year=design.survey.targets.spills_year))
    else:
        out.append(
            _only_words(
                "spills", "The spills through the years are not told: there is no rain record", "rain.record"
            )
        )
    for well in design.scheme.wells:
        section = mounds.get(well.id)
        out.append(mound_drawing(design, section, well) if section is not None else _no_mound(design, well))
    return tuple(Picture(one, _placed(one, design.survey.style)) for one in out)


def _no_mound(design: Design, well: Well) -> Drawing:
    """Say why no mound is drawn, and what to measure."""
    if design.survey.soil.high_water_m is None:
        title = f"The mound under {well.id} is not drawn: how high the groundwater stands in the wet season is not known"
        told = design.behaviour.well(well.id).mound
        rise = ""
        if told is not None:
            rise = (
                f" Soaked water would raise it by {Say(design.survey.style).distance(told.rise_m)} at most."
            )
        return _only_words(f"mound-{well.id}", title, "soil.seasonal_high_water", rise)
    return _only_words(
        f"mound-{well.id}",
        f"The mound under {well.id} is not drawn: what its ground conducts is not known",
        "soil.rate",
    )


def _only_words(name: str, title: str, leaf: str, more: str = "") -> Drawing:
    what, how = measurement(leaf)
    how = without_keys(how)
    words = f"To measure: {what}. {how[:1].upper()}{how[1:]}.{more}" if how else f"To measure: {what}.{more}"
    return Drawing(name, title, (), (0.0, 0.0, 1.0, 1.0), says=title, notes=(words,))


def _placed(drawing: Drawing, style: Style) -> Placed | None:
    if not drawing.items:
        return None
    if drawing.name.startswith("mound"):
        return _placed_mound(drawing, style)
    scale = scale_of(drawing)
    tall = drawing.height_m * scale.points_m * drawing.up
    return place(drawing, scale=scale, width_pt=WIDE_PT, height_pt=tall)


def _placed_mound(drawing: Drawing, style: Style) -> Placed:
    """Place the section at a scale of the ruler, stretched up as far as it may and fits."""
    scale = fit(
        width_m=drawing.width_m,
        height_m=drawing.height_m,
        width_pt=WIDE_PT - _MOUND_BESIDE_PT,
        height_pt=_MOUND_HIGH_PT,
        scales=ladder("detail", style),
    )
    up = next((up for up in _STRETCHES if drawing.height_m * up * scale.points_m <= _MOUND_HIGH_PT), 1.0)
    drawn = replace(drawing, up=up)
    return place(drawn, scale=scale, width_pt=WIDE_PT, height_pt=drawn.height_m * up * scale.points_m + 22.0)


def picture_views(design: Design) -> list[dict[str, Any]]:
    """Return every picture as the template takes it."""
    return [_view(one, design.survey.style) for one in pictures(design)]


def _whole_figures(words: str) -> str:
    """Keep each figure on one line with its unit."""
    return re.sub(r"(?<=\d) (?=[A-Za-z%])|(?<= in) (?=\d)", "\u00a0", words)


def _view(picture: Picture, style: Style) -> dict[str, Any]:
    drawing, placed = picture.drawing, picture.placed
    view: dict[str, Any] = {
        "title": _whole_figures(drawing.title),
        "says": drawing.says or drawing.title,
        "notes": [_whole_figures(note) for note in drawing.notes],
        "svg": "",
        "width": 0.0,
        "height": 0.0,
        "key": "",
        "key_height": 0.0,
        "scale": "",
        "bar": "",
        "bar_width": 0.0,
    }
    if placed is None:
        return view
    if placed.unplaced:
        said = "; ".join(label.text.replace("\n", " ") for label in placed.unplaced)
        view["notes"].append(f"No room on the drawing for: {said}")
    view |= {"svg": render(placed), "width": round(placed.width_pt, 3), "height": round(placed.height_pt, 3)}
    if drawing.key:
        key, height = key_picture(drawing, placed.width_pt)
        view |= {"key": key, "key_height": round(height, 3)}
    if placed.scale.text:
        words = placed.scale.text
        if placed.drawing.up != 1.0:
            words += f" along; up and down {placed.drawing.up:g} times larger"
        bar, wide = scale_bar(placed.scale, style)
        view |= {"scale": words, "bar": bar, "bar_width": wide}
    return view
