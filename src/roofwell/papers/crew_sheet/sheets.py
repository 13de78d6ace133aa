"""What stands on each side of paper, as finished strings and pictures."""

from __future__ import annotations

import math
from dataclasses import replace
from importlib import resources
from typing import Any

from roofwell import tables
from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.crew_sheet.instrument import CrewOptions, set_up
from roofwell.papers.crew_sheet.ladder import Bar, Ladder, Rung, ladders, standing
from roofwell.papers.crew_sheet.levels import Mark, basins_on, marks, wells_on
from roofwell.papers.crew_sheet.readings import (
    exact,
    other,
    unit_sentence,
    unit_word,
    usual,
    write,
)
from roofwell.papers.crew_sheet.section import section
from roofwell.papers.crew_sheet.sides import (
    BRANCH_PICTURE_PT,
    PICTURE_PT,
    WORDS_PT,
    Block,
    Overleaf,
    band_pt,
    pictured,
    sides_of,
)
from roofwell.papers.crew_sheet.work import Pencil, Work, work
from roofwell.papers.drawing.model import Label
from roofwell.papers.drawing.placing import Placed, place
from roofwell.papers.drawing.scale import POINTS_PER_METER, Scale
from roofwell.papers.render_svg import render
from roofwell.papers.set import contents
from roofwell.papers.set.cautions import in_short
from roofwell.papers.set.sheets import PAPERS
from roofwell.papers.texts import Say
from roofwell.papers.typesetting import measure
from roofwell.units import Style

_TRIES = 40
"""Sides made before what is still over may flow on by itself; a paragraph longer than a side comes to that."""

_LARGEST: dict[Style, float] = {"us": 48.0, "metric": 50.0}
"""No picture is drawn larger than 1/4 in = 1 ft or 1:50: a short branch stays short."""


def sheet_data(design: Design, options: CrewOptions) -> dict[str, Any]:
    """Return everything that the template prints."""
    style = design.survey.style
    found = tuple(sorted(ladders(design), key=lambda one: one.until is not None))
    levels = tuple(
        level
        for one in found
        for level in (
            *(rung.level_m for rung in one.rungs),
            *(mark.level_m for mark in marks(design, one) if mark.level_m is not None),
        )
    )
    readings = options.readings or usual(style)
    pencil = Pencil(readings, set_up(design, options, levels), Say(style))
    band = contents.band(design)
    works, hold = {}, 1
    for one in found:
        works[one.key] = work(design, one, pencil, first_hold=hold)
        hold += sum(line.kind == "hold" for line in works[one.key].lines)
    overleaf, tries = Overleaf(), 0
    while True:
        sides = sides_of(design, found, works, band_pt(band), overleaf)
        data = _data(design, pencil, found, works, sides)
        over_pt = measure(resources.files(__package__) / "crew_sheet.typ", data, "over")
        more, tries = overleaf.after(design, sides, works, over_pt), tries + 1
        if more == overleaf or tries > _TRIES:
            return data
        overleaf = more


def _data(
    design: Design,
    pencil: Pencil,
    found: tuple[Ladder, ...],
    works: dict[str, Work],
    sides: list[list[Block]],
) -> dict[str, Any]:
    style, readings = design.survey.style, pencil.style
    # where all stands already nobody digs, and there is nothing to stamp
    band = contents.band(design) if found or not _all_stands(design) else None
    titles = [_title(side) for side in sides]
    paper = PAPERS[style]
    return {
        "paper": paper.name,
        "margin": {"binding": paper.binding_pt, "side": paper.side_pt},
        "head": contents.head(design),
        "band": band,
        "units": unit_sentence(readings),
        "sum": _sum(design, pencil, found),
        "known": pencil.set_up.height_m is not None,
        "columns": _columns(pencil),
        "sides": [
            {
                "title": titles[n],
                "others": _others(titles, n),
                "blocks": [_block(design, block, pencil, works[block.ladder.key]) for block in side],
                "stops": _gathered([works[block.ladder.key].stops for block in side]),
                "rain": _gathered([works[block.ladder.key].rain for block in side]),
            }
            for n, side in enumerate(sides)
        ],
        "cautions": in_short(style),
        "nothing": _nothing(design),
    }


def _gathered(lists: list[tuple[str, ...]]) -> list[str]:
    return list(dict.fromkeys(words for one in lists for words in one))


def _title(side: list[Block]) -> str:
    return f"Run from {several([_name(block) for block in side])}"


def _name(block: Block) -> str:
    return f"{block.ladder.start} to {block.ladder.end}" + _part(block)


def _part(block: Block) -> str:
    if block.first:
        return ""
    return " (continued)" if block.steps else " (order of work)"


def _others(titles: list[str], own: int) -> str:
    rest = [
        f"side {n}: {title.removeprefix('Run from ')}" for n, title in enumerate(titles, 1) if n != own + 1
    ]
    return f"Crew sheet, side {own + 1} of {len(titles)}" + (f" ({'; '.join(rest)})" if rest else "")


def _sum(design: Design, pencil: Pencil, found: tuple[Ladder, ...]) -> dict[str, Any]:
    """Return the height of the instrument as a sum, and what is said beside it."""
    made, say = pencil.set_up, pencil.say
    mark, tolerance = made.benchmark, tables.limit("level-closure", say.style).text
    name = mark.name if mark is not None else "benchmark"
    again = f"Shoot {name} again before digging, at noon, after any knock."
    if mark is None:
        again = "Shoot a point that cannot move before digging, at noon, after any knock."
    again += f" Off by more than {tolerance}: stop, set up again."
    height, rod = made.height_m, made.rod_m
    unit = say.level_unit
    if height is None:
        return {
            "point": exact(mark.elevation_m, say.style) if mark is not None else "",
            "name": name,
            "rod": "",
            "rod_name": f"rod on {name}",
            "height": "",
            "rule": f"Rod must read = instrument − level, in {unit}. Bigger is lower.",
            "again": again,
            "origin": made.origin
            + " The big figures are levels until then; take each from the sum and write it in, or ask the office"
            " for the sheet with readings once the rod on the benchmark is read.",
        }
    words = {
        "point": exact(mark.elevation_m, say.style) if mark is not None else "",
        "name": name,
        "rod": exact(rod, say.style) if rod is not None else "",
        "rod_name": f"rod on {name}",
        "height": exact(height, say.style),
        "rule": f"Rod must read = {exact(height, say.style)} − level. Bigger is lower.",
        "again": again,
        "origin": f"Instrument: {made.origin}.",
    }
    if rod is not None:
        words["rod_name"] += "" if pencil.style != "feet-and-eighths" else f", {write(rod, pencil.style)}"
        words["origin"] += (
            f" New set-up: rod on {name} now _____ − {write(rod, pencil.style)} = _____ ; add it to every reading."
        )
    else:
        words["origin"] += " No benchmark is named: nothing to check the set-up on."
    return words


def _columns(pencil: Pencil) -> dict[str, Any]:
    second = other(pencil.style) if pencil.set_up.height_m is not None else None
    wide = pencil.style == "feet-and-eighths" and pencil.set_up.height_m is not None
    return {
        "wide": wide,
        "reading": "rod must\nread" if pencil.set_up.height_m is not None else "level\nof bottom",
        "at": "rod must\nread" if pencil.set_up.height_m is not None else "level",
        "unit": unit_word(pencil.style) if pencil.set_up.height_m is not None else pencil.say.level_unit,
        "second": f"same in\n{unit_word(second)}" if second is not None and not wide else "",
        "station": pencil.say.level_unit,
        "cut": unit_word(pencil.style),
        "small": f"small: same in {unit_word(second)}" if second is not None else "",
    }


def _block(design: Design, block: Block, pencil: Pencil, own: Work) -> dict[str, Any]:
    one = block.ladder
    return {
        "title": _name(block),
        "main": one.until is None,
        "picture": _picture(placed_section(design, one)) if block.first and pictured(one) else None,
        "goes_on": _goes_on(block),
        "rows": [_row(step, pencil) for step in block.steps],
        "marks-title": _marks_title(design, one),
        "marks": [_mark(mark, pencil) for mark in marks(design, one)] if block.first else [],
        "work": [
            {"kind": line.kind, "mark": line.mark, "words": line.words}
            for line in (own.lines if block.words else ())
        ],
    }


def _goes_on(block: Block) -> str:
    if block.last:
        return ""
    return "order of work overleaf" if block.steps[-1] is block.ladder.steps[-1] else "goes on overleaf"


def _marks_title(design: Design, one: Ladder) -> str:
    names = [
        name for name, parts in (("well", wells_on(design, one)), ("basin", basins_on(design, one))) if parts
    ]
    if names:
        return f"Rod at {' and '.join(names)}"
    return "Rod where it joins" if one.until is not None else "Rod where it ends"


def _row(step: Rung | Bar, pencil: Pencil) -> dict[str, Any]:
    say = pencil.say
    if isinstance(step, Bar):
        first, last = say.station(step.first_m), say.station(step.last_m)
        head, tail = _bar_words(step, pencil)
        return {"bar": True, "stations": f"{first} to {last}", "words": head, "more": tail}
    second = other(pencil.style)
    height = pencil.set_up.height_m
    cut = step.ground_m - step.level_m
    return {
        "bar": False,
        "station": say.station(step.station_m),
        "what": step.what,
        "reading": pencil.reading(step.level_m),
        "second": write(height - step.level_m, second) if height is not None and second is not None else "",
        "cut": write(cut, pencil.style) if math.isfinite(cut) else "?",
    }


def _bar_words(bar: Bar, pencil: Pencil) -> tuple[str, str]:
    """Return what lies there, in bold, and what to do."""
    name = f"{bar.label[:1].upper()}{bar.label[1:]}"
    if bar.level_m is None or bar.under_m is None:
        where = f" at {pencil.say.station(bar.crosses_m)}" if bar.crosses_m is not None else " beside you"
        return f"{name}{where}, depth not known.", "Uncover it by hand first."
    if bar.crosses_m is None:
        return f"{name} beside you, top at {pencil.named(bar.level_m)}.", "Dig by hand."
    far = pencil.say.length(abs(bar.under_m))
    side = "under the bottom" if bar.under_m >= 0 else "above the bottom"
    return f"{name} at {pencil.named(bar.level_m)}, {far} {side}.", "Dig by hand."


def _mark(mark: Mark, pencil: Pencil) -> dict[str, Any]:
    if mark.level_m is None:
        return {"bar": True, "what": mark.what}
    second, height = other(pencil.style), pencil.set_up.height_m
    return {
        "bar": False,
        "what": mark.what,
        "note": mark.note,
        "reading": pencil.reading(mark.level_m),
        "second": write(height - mark.level_m, second) if height is not None and second is not None else "",
    }


def _all_stands(design: Design) -> bool:
    scheme = design.scheme
    parts = {
        part.id for table in (scheme.runs, scheme.basins, scheme.wells, scheme.overflows) for part in table
    }
    return bool(parts) and parts <= standing(design)


def _nothing(design: Design) -> dict[str, str]:
    """Return the title and words of a sheet without a trench: all stands already, or its levels are not known."""
    if _all_stands(design):
        return {
            "title": "Nothing to dig",
            "words": "Every run, basin and well of this job stands already, so there is no trench and no reading."
            " What they do well, what they let past and what mends it stands in the set of papers.",
        }
    return {
        "title": "Nothing can be dug yet",
        "words": "No trench of this job has levels to dig to. What is missing stands in the set of papers.",
    }


def placed_section(design: Design, one: Ladder) -> Placed:
    """Return the section, as large along as the side is wide, and stretched up as far as it has room."""
    style = design.survey.style
    drawing = section(design, one)
    wide = PAPERS[style].room()[0]
    high = PICTURE_PT if one.until is None else BRANCH_PICTURE_PT
    smaller = max(
        _LARGEST[style],
        drawing.width_m * POINTS_PER_METER / (wide - 8.0),
        drawing.height_m * POINTS_PER_METER / (high - WORDS_PT),
    )
    scale = Scale("", smaller)
    tenths = math.floor(10 * (high - WORDS_PT) / (drawing.height_m * scale.points_m))
    up = min(tenths, 80) / 10 if tenths > 12 else 1.0
    words = f"up and down {up:g} times along" if up != 1.0 else ""
    caption = Label(words, (drawing.bounds[2], drawing.bounds[1]), "small", side="under left", leader=False)
    items = (*drawing.items, caption) if words else drawing.items
    return place(replace(drawing, items=items, up=up), scale=scale, width_pt=wide, height_pt=high)


def _picture(placed: Placed) -> dict[str, Any]:
    return {
        "svg": render(placed),
        "width": round(placed.width_pt, 3),
        "height": round(placed.height_pt, 3),
        "says": placed.drawing.says,
    }
