"""Looking after it: who does what and when, with this system's own figures; for the homeowner. Nothing is judged here."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from roofwell import tables, units
from roofwell.checks import debris_words
from roofwell.job import model
from roofwell.system.behaviour import Behaviour, WellBehaviour
from roofwell.system.facts import Survey
from roofwell.system.gutter_care import GutterCare, gutter_care
from roofwell.system.lids import observation_pipes
from roofwell.system.scheme import Basin, Scheme

WHEN = {
    1: "once a year, after leaf fall",
    2: "late spring and after leaf fall",
    3: "late spring, mid fall and after leaf fall",
    4: "every season",
}


@dataclass(frozen=True, slots=True)
class CareRow:
    """One thing to do: on which part, what, when, who, and the source of the interval."""

    part: str
    what: str
    when: str
    who: str
    source: str


@dataclass(frozen=True, slots=True)
class Care:
    """The whole list; ``call``: signs that want somebody who knows; ``cautions``: how nobody gets hurt by it."""

    rows: tuple[CareRow, ...]
    call: tuple[str, ...]
    cautions: tuple[str, ...]


def care(job: model.Job, survey: Survey, scheme: Scheme, behaviour: Behaviour) -> Care | None:
    """Return what looking after a system takes; None where there is none of it to look after."""
    if not (scheme.wells or scheme.basins or scheme.runs):
        return None
    gutters = gutter_care(job, survey, scheme)
    rows = (
        *_alike([_gutter(one) for one in gutters]),
        *(row for basin in scheme.basins for row in _basin(basin, survey, behaviour)),
        *(row for well in behaviour.stores for row in _well(well, job, survey, scheme)),
        *_ways_out(scheme),
        *_winter(behaviour, survey),
        CareRow(
            "lids",
            "Every grate, lid and cap seated and screwed down; none is ever left off.",
            "whenever one was opened, and spring and fall",
            "owner",
            "common-practice",
        ),
        CareRow(
            "ground",
            "Fill with soil what has settled over the trenches and round the well. Keep wheels off, plant no tree there.",
            "in the first year after each wet season, then yearly",
            "owner",
            "common-practice",
        ),
    )
    return Care(rows, tuple(_call(survey, scheme, behaviour)), tuple(_cautions(survey, scheme, gutters)))


def _shown(show: Callable[[float, units.Style], str], value: float, style: units.Style) -> str:
    return show(value, style) if math.isfinite(value) else "?"


def _gutter(one: GutterCare) -> CareRow:
    what = "Clean it out, run a hose into each downspout and see it run off."
    if one.guard:
        what = "Brush off the guard, look under it, run a hose into each downspout."
    if one.trees is None:
        when = f"{debris_words.two(one.low_year)} to {debris_words.two(one.high_year)} times a year, by the trees"
    else:
        when = WHEN[max(1, min(4, math.ceil(one.times_year)))]
    return CareRow(one.gutter, what, when, "owner or gutter cleaner", one.source)


def _alike(rows: list[CareRow]) -> list[CareRow]:
    """Bring parts that want the same at the same times into one row."""
    parts: dict[CareRow, list[str]] = {}
    for row in rows:
        parts.setdefault(replace(row, part=""), []).append(row.part)
    return [replace(row, part=", ".join(ids)) for row, ids in parts.items()]


def _basin(basin: Basin, survey: Survey, behaviour: Behaviour) -> Iterator[CareRow]:
    style = survey.style
    found = behaviour.debris.basin(basin.id) if behaviour.debris is not None else None
    half = _shown(units.show_length, tables.limit("clean-out-share").value_si * basin.sump_m, style)
    when = "within two weeks after leaf fall, and when half the sump is full"
    if found is not None:
        when += f": in {debris_words.months(found.as_is.months_to_half)}"
    hose = [name for there, name in ((basin.screen, "screen"), (basin.hood, "hood")) if there]
    rinse = f" Rinse the {' and the '.join(hose)}." if hose else ""
    if basin.hood and basin.hood_air_hole is not False:
        rinse += " See that its air hole is open."
    yield CareRow(
        basin.id,
        f"Lift the grate, dip out leaves and grit; half full is {half} on a stick.{rinse}",
        when,
        "owner",
        "rhode-island-8-30",
    )
    weeps = next((one for one in behaviour.weeps if one.basin == basin.id), None)
    if weeps is not None and math.isfinite(weeps.empty_s.best):
        yield CareRow(
            basin.id,
            f"Push a rod through each of the {basin.weep_holes} weep holes. Open, they drain it in "
            f"{units.show_time(weeps.empty_s.best)} after rain; water that still stands after that says they are plugged.",
            "whenever it is emptied, and look after rain",
            "owner",
            "uc-mosquito-2004",
        )
    elif basin.sump_m > 0:
        how = (
            "See that the mesh under the grate is whole and lies close all round"
            if basin.mosquito_screen
            else "Look for mosquito larvae; dip the water out, or close the grate with fine mesh"
        )
        yield CareRow(
            basin.id,
            f"{how}: {units.show_depth(basin.sump_m, style)} of water stand in it.",
            "monthly in the warm season",
            "owner",
            "uc-mosquito-2004",
        )


def _well(well: WellBehaviour, job: model.Job, survey: Survey, scheme: Scheme) -> Iterator[CareRow]:
    style = survey.style
    ids = {well.id, *well.linked_with}
    if not any(pipe.there for pipe in observation_pipes(job, scheme) if pipe.well in ids):
        return
    early, late = tables.limit("storm-look-early", style), tables.limit("storm-look", style)
    part = next(one for one in scheme.wells if one.id == well.id)
    drain = ""
    if math.isfinite(well.drain_time_s):
        drain = f"; full, it should be empty after {units.show_time(well.drain_time_s)}"
        slower = tables.limit("drain-slower").value_si * well.drain_time_s
        if slower < survey.targets.empty_s:
            drain += f"; from {units.show_time(slower)} on it is growing slower: tell whoever built it"
    full = _shown(units.show_distance, part.lip_m - part.bottom_m, style)
    yield CareRow(
        well.label,
        f"Lift the cap of the observation pipe, let down a stick and write down depth and hour, the next day again. Full is "
        f"{full}{drain}.",
        f"four times a year, and after rain over {early.text} ({late.text} by another authority)",
        "owner",
        early.source,
    )


def _ways_out(scheme: Scheme) -> Iterator[CareRow]:
    for overflow in scheme.overflows:
        if overflow.to is None:
            goes = f", {overflow.destination}" if overflow.destination else ""
            yield CareRow(
                overflow.id,
                f"Keep its opening free of leaves and the grass round it short; keep the water's way clear{goes}.",
                "when mowing, and after leaf fall",
                "owner",
                "common-practice",
            )
    for outlet in scheme.outlets:
        yield CareRow(
            outlet.id,
            f"See that the {outlet.kind} end is open and nothing washes out below it.",
            "spring and fall, and after a storm",
            "owner",
            "common-practice",
        )


def _winter(behaviour: Behaviour, survey: Survey) -> Iterator[CareRow]:
    limit = tables.limit("ice-closes").value_si
    for item in behaviour.held_water:
        unknown = item.closes is None and survey.rain.snow_months != () and item.closes_most > limit
        if not unknown and (item.closes is None or item.closes <= limit):
            continue
        where = " Where frost goes deep:" if unknown else ""
        what = (
            "Lift the hood out before the first hard frost, once the leaves are down; put it back in spring."
            if item.way == "mouth"
            else "Ice may close this pipe: in a thaw see that the downspouts above it run, else lead them over the ground."
        )
        yield CareRow(
            item.id, f"{where} {what}".strip(), "late fall, and in a thaw", "owner", "common-practice"
        )


def _call(survey: Survey, scheme: Scheme, behaviour: Behaviour) -> Iterator[str]:
    allowed = min(survey.targets.empty_s, tables.limit("mosquito-standing").value_si)
    for well in behaviour.stores:
        if math.isfinite(well.drain_time_s):
            yield (
                f"{well.label} still has water {units.show_time(allowed)} after it was full: longer than it may."
            )
    yield "Water stands at a downspout or comes out of a basin's grate in ordinary rain."
    yield "A hole or a soft place opens in the ground over well or trench: keep everybody away."
    if scheme.wells:
        yield "Water or damp shows inside the house that was not there before."


def _cautions(survey: Survey, scheme: Scheme, gutters: tuple[GutterCare, ...]) -> Iterator[str]:
    yield "Nobody climbs or reaches head first into a basin or well; no opening is left without its lid, not for a minute."
    if gutters:
        yield (
            "A ladder stands one part out for four up, on firm ground, not leaning on the gutter, with a second person; on "
            "a high house leave it to a gutter cleaner."
        )
    yield "Wear gloves: what lies in a basin may hold glass, droppings and needles. Larvicide only where the law allows it."
    yield "No paint, oil, soap or salt into gutter, basin or grate: all of it goes into the ground. Local rules decide."
