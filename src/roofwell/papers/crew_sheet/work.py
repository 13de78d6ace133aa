"""Order of work with its hold points, stop rules and what to do if it rains: rows of ``crew_work.csv``.

A row is used where everything that it ``needs`` is there; its figures are put in here, in the job's units.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from roofwell import tables
from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.crew_sheet.instrument import SetUp
from roofwell.papers.crew_sheet.ladder import Ladder, bored, hand_dug, paved_over
from roofwell.papers.crew_sheet.levels import basins_on, on_the_pipe_m, overflows_on, wells_on
from roofwell.papers.crew_sheet.readings import ReadingStyle, unit_word, write
from roofwell.papers.drawing.model import known
from roofwell.papers.fill_words import brought, fill_of, fill_words
from roofwell.papers.texts import Say
from roofwell.system.lids import observation_pipes
from roofwell.system.scheme import Well
from roofwell.system.well_words import cloth_faces, laid_words

_OF_A_WELL = frozenset(f"{no}{fact}" for no in ("", "no-") for fact in ("fabric", "fill", "deep"))
"""What one well has and another may not: judged for each, not for the whole ladder."""


@dataclass(frozen=True, slots=True)
class Line:
    """A step or a hold in the order of work; ``mark`` is its number, ``3`` or ``H2``."""

    kind: Literal["step", "hold"]
    mark: str
    words: str


@dataclass(frozen=True, slots=True)
class Work:
    """Everything that one ladder's crew does, stops for, and does if it rains."""

    lines: tuple[Line, ...]
    stops: tuple[str, ...]
    rain: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pencil:
    """How figures are written on one paper: readings from a set-up, levels without one."""

    style: ReadingStyle
    set_up: SetUp
    say: Say

    def reading(self, level_m: float) -> str:
        """Return what the rod must read at a level, or the level itself while the instrument is not set up."""
        if self.set_up.height_m is None:
            return self.say.level(level_m)
        return write(self.set_up.height_m - level_m, self.style)

    def named(self, level_m: float) -> str:
        """Return a reading as a sentence says it."""
        return self.reading(level_m) if self.set_up.height_m is not None else f"level {self.reading(level_m)}"

    def length(self, value_m: float) -> str:
        """Return a short length as the rod is divided, with its unit."""
        if self.style == "feet-and-eighths":
            return self.say.length(value_m)
        return f"{write(value_m, self.style)} {unit_word(self.style)}"


def work(design: Design, ladder: Ladder, pencil: Pencil, *, first_hold: int) -> Work:
    """Return the work of one ladder; its holds are numbered from ``first_hold`` on, through all sides."""
    common = _figures(design, ladder, pencil)
    lines: list[Line] = []
    steps, holds = itertools.count(1), itertools.count(first_hold)
    facts, soil_holds = _facts(design, ladder), []
    for row, words in _written(design, ladder, pencil, common, facts, ("step", "hold")):
        kind: Literal["step", "hold"] = "step" if row["kind"] == "step" else "hold"
        mark = f"{next(steps)}" if kind == "step" else f"H{next(holds)}"
        if kind == "hold" and "{soil}" in row["words"]:
            soil_holds.append(mark)
        lines.append(Line(kind, mark, words))
    common = {**common, "soil_hold": several(soil_holds)}
    stops = [words for _, words in _written(design, ladder, pencil, common, facts, ("stop",))]
    rain = [words for _, words in _written(design, ladder, pencil, common, facts, ("rain",))]
    return Work(tuple(lines), tuple(dict.fromkeys(stops)), tuple(dict.fromkeys(rain)))


def _facts(design: Design, ladder: Ladder) -> frozenset[str]:
    there = {
        "benchmark": _benchmark(design),
        "crossing": bool(ladder.bars),
        "well": bool(wells_on(design, ladder)),
        "trench": True,
        "bored": any(bored(design, trench) for trench in ladder.trenches),
        "cut": bool(paved_over(ladder, design, "cut", Say(design.survey.style))),
        "basin": bool(basins_on(design, ladder)),
        "overflow": bool(overflows_on(design, ladder)),
        "pour": _pour_m3(design, ladder) is not None,
    }
    return frozenset(name if held else f"no-{name}" for name, held in there.items())


def _benchmark(design: Design) -> bool:
    survey = design.job.survey
    return bool(survey.benchmark or survey.readings)


def _written(
    design: Design,
    ladder: Ladder,
    pencil: Pencil,
    common: Mapping[str, str],
    facts: frozenset[str],
    kinds: tuple[str, ...],
) -> Iterator[tuple[Mapping[str, str], str]]:
    """Yield the rows of some kinds with their words, in their order; one about a well or basin comes once for each."""
    for row in tables.rows("crew_work"):
        needs = frozenset(row["needs"].split())
        if row["kind"] not in kinds or not needs - _OF_A_WELL <= facts:
            continue
        for own in _each(design, ladder, pencil, needs):
            yield row, row["words"].format_map({**common, **own})


def _each(
    design: Design, ladder: Ladder, pencil: Pencil, needs: frozenset[str]
) -> Iterator[Mapping[str, str]]:
    if "basin" in needs:
        for basin in basins_on(design, ladder):
            parts = [name for name, there in (("hood", basin.hood), ("screen", basin.screen)) if there]
            inside = f", {several(parts)} in" if parts else ""
            yield {"basin": basin.id, "inside": inside, "grate": pencil.named(basin.grate_m)}
    elif "overflow" in needs:
        for overflow in overflows_on(design, ladder):
            yield {"overflow": overflow.id, "lip": pencil.named(overflow.lip_m)}
    elif "well" in needs:
        for well in wells_on(design, ladder):
            if needs & _OF_A_WELL <= _well_facts(design, well):
                yield _well_figures(design, well, pencil)
    else:
        yield {}


def _well_facts(design: Design, well: Well) -> frozenset[str]:
    deep = well.ground_m - well.bottom_m >= tables.limit("deep-pit", design.survey.style).value_si
    there = {
        "fabric": bool(well.geotextile),
        "deep": deep,
        "fill": fill_of(design, well) is not None,
    }
    return frozenset(name if held else f"no-{name}" for name, held in there.items())


def _well_figures(design: Design, well: Well, pencil: Pencil) -> Mapping[str, str]:
    say, target = pencil.say, fill_of(design, well)
    behaves = next((one for one in design.behaviour.wells if one.id == well.id), None)
    full = behaves.own_storage_m3 if behaves is not None else math.nan
    # the soil as it was measured, not slowed by the safety factor, is what the water runs away into
    soaks = behaves.soakage_full_m3_s * design.survey.soil.safety_factor if behaves is not None else math.nan
    figures = {
        "well": well.id,
        "hole": pencil.named(well.bottom_m),
        "dug": say.length(well.ground_m - well.bottom_m),
        "stone_below": say.length(well.stone_below_m),
        "cloth": _cloth(well),
        "laid": laid_words(well),
        "observation": _observation(design, well),
        "cover": _cover(well, say),
        "full": say.volume(full),
        "full_brought": brought(full, soaks, say),
    }
    if target is not None:
        soaked = target.volume_m3 * (1 - target.end_m / target.start_m) / target.within_s
        words = brought(target.volume_m3, soaked, say)
        figures |= {
            "fill": fill_words(target, say),
            "fill_brought": f"Each fill: {words}",
            "fill_end": say.length(target.end_m),
            "fill_within": say.time(target.within_s),
        }
    return figures


def _cloth(well: Well) -> str:
    """Where the geotextile lies, as the beginning of the step that lines the pit before the stone."""
    if not {"sides", "bottom"} & {*well.geotextile}:
        return ""
    return f"Geotextile with laps on {cloth_faces(well)}; "


def _cover(well: Well, say: Say) -> str:
    """What lies over the stone, as the end of a step."""
    if well.top_stone_m > 0:
        return f", geotextile under the last {say.length(well.top_stone_m)} of loose stone"
    return ", geotextile over its top" if "top" in well.geotextile else ""


def _observation(design: Design, well: Well) -> str:
    there = any(one.there for one in observation_pipes(design.job, design.scheme) if one.well == well.id)
    return ", observation pipe upright from the floor, its cap locked" if there else ""


def _figures(design: Design, ladder: Ladder, pencil: Pencil) -> dict[str, str]:
    say, style = pencil.say, design.survey.style
    offsets = list(dict.fromkeys(pencil.length(on_the_pipe_m(design, t.run)) for t in ladder.trenches))
    lowest = ladder.trenches[-1]
    pour = _pour_m3(design, ladder)
    texture = (design.job.soil.texture or "").strip()
    mark = pencil.set_up.benchmark
    untested = "Soil as at the test" if design.survey.soil.known else "Soil told to the office"
    return {
        "benchmark": mark.name if mark is not None else (design.job.survey.benchmark or ""),
        "crossings": hand_dug(ladder, say),
        "bored": paved_over(ladder, design, "bored", say),
        "cut": paved_over(ladder, design, "cut", say),
        "soil": f"{texture[:1].upper()}{texture[1:]}" if texture else untested,
        "bedding": say.length(design.survey.settings["pipe_bedding"]),
        "start": ladder.start,
        "end": ladder.end,
        "on_pipe": offsets[0] if len(offsets) == 1 else f"{offsets[0]} to {offsets[-1]}",
        "tolerance": tables.limit("level-closure", style).text,
        "deep": tables.limit("deep-pit", style).text,
        "pour": say.volume(pour) if pour is not None else "",
        "plug": say.station(lowest.last_m),
        "soil_hold": "",
    }


def _pour_m3(design: Design, ladder: Ladder) -> float | None:
    """Return the water of a minute that the design cloudburst brings to the upper end of the way, m³."""
    flow = next((one for one in design.behaviour.downspouts if one.id == ladder.start), None)
    if flow is None or not known(flow.peak_m3_s) or flow.peak_m3_s <= 0:
        return None
    return 60.0 * flow.peak_m3_s
