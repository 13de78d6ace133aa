"""The wells in years, in words: for the finding, the terminal and papers alike. Nothing is judged here."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass

from roofwell import tables, units
from roofwell.checks.debris_words import MENDS
from roofwell.checks.soakage_words import shows
from roofwell.system.ageing_facts import Ageing, AgeMend, AtAge, Care, Ends, WellAge
from roofwell.system.facts import Survey
from roofwell.tables.ageing import figure
from roofwell.units import Style

CARES: dict[Care, str] = {
    "on time": "basin emptied on time",
    "never": "basin never emptied",
    "no basin": "no basin before it",
    "typed": "by the share a year that is typed",
}


@dataclass(frozen=True, slots=True)
class AgeRow:
    """One well at one age with one kind of care, as it is read."""

    well: str
    care: str
    age: str
    silt: str
    floor: str
    room: str
    held: str
    empties: str
    spills: str


def age_rows(ageing: Ageing, style: Style) -> list[AgeRow]:
    """Return every well at every age; what is new stands once."""
    out = []
    for well in dict.fromkeys(one.well for one in ageing.wells):
        for k, one in enumerate(ageing.of(well)):
            out += [_row(one, age, style) for age in one.ages if age.years > 0.0 or k == 0]
    return out


def _row(one: WellAge, age: AtAge, style: Style) -> AgeRow:
    new = age.years <= 0.0
    typed = one.care == "typed"
    return AgeRow(
        well=one.well,
        care="" if new else CARES[one.care],
        age="new" if new else f"{age.years:g} years",
        silt="" if new or typed else _range(age.silt_m, lambda m: _thick(m, style)),
        floor="" if new or age.floor_share is None else _range(age.floor_share, units.show_percent),
        room="" if new or typed else _range(age.room_share, units.show_percent),
        held=_range(age.held_share, _held),
        empties=_range(age.drain_s, _time),
        spills=_range(age.spills_year, lambda n: f"{n:.1f}") if age.spills_year is not None else "",
    )


def _range(ends: Ends, show: Callable[[float], str]) -> str:
    best, mild, hard = show(ends.best), show(ends.mild), show(ends.hard)
    return best if mild == hard else f"{best} ({mild} to {hard})"


def _held(share: float) -> str:
    if share > 1.0 - 1e-6:
        return "all"
    return units.show_percent(min(share, 0.999), 1 if share > 0.99 else 0)


def _time(seconds: float) -> str:
    return units.show_time(seconds) if math.isfinite(seconds) else "never"


def _thick(value_m: float, style: Style) -> str:
    if style == "us":
        return f"{value_m / 0.0254:.2f} in"
    return f"{value_m * 1000:.{1 if value_m < 0.01 else 0}f} mm"


def _until(years: float, most: float) -> str:
    if math.isinf(years):
        return f"for more than {most:g} years"
    if years <= 0.0:
        return "not even while new"
    return (
        "for less than a year"
        if years < 1.0
        else f"for about {years:.0f} year{'' if round(years) == 1 else 's'}"
    )


def _years(ends: Ends, most: float) -> str:
    best, mild, hard = (_until(y, most) for y in (ends.best, ends.mild, ends.hard))
    if best == mild == hard:
        return best
    return f"{best} ({hard} at the worst, {mild} at the best)"


def well_sentences(ageing: Ageing, survey: Survey) -> list[str]:
    """Return, for each well, what it does well with age, what it loses, and when each target is lost.

    The first kind of care is told whole, each other one by what it changes.
    """
    out = []
    for one in ageing.wells:
        first = ageing.of(one.well)[0]
        if one is first:
            out.append(_sentence(one, ageing, survey))
        else:
            out.append(f"{one.well}, {CARES[one.care]}: {_changed(first, one, ageing, survey)}.")
    return out


def _changed(first: WellAge, other: WellAge, ageing: Ageing, survey: Survey) -> str:
    """What another kind of care makes of a well, where it can be told from the first."""
    told = [
        (one, then)
        for one, then in zip(_fate(first, ageing, survey), _fate(other, ageing, survey), strict=True)
        if one != then
    ]
    if not told:
        return f"the same, over these {other.ages[-1].years:g} years"
    return "; ".join(then for _, then in told)


def _fate(one: WellAge, ageing: Ageing, survey: Survey) -> list[str]:
    """What becomes of a well with age, one thing after the other."""
    new, old, targets = one.ages[0], one.ages[-1], survey.targets
    years = f"{old.years:g} years"
    out = [
        f"takes in {_held(old.held_share.best)} of the {targets.storm_years:g}-year storm after {years}",
        f"empties in {_time(old.drain_s.best)} after {years}",
    ]
    if new.spills_year is not None and old.spills_year is not None:
        out.append(f"spills {old.spills_year.best:.1f} times a year after {years}")
    out.append(f"keeps the storm {_years(one.storm_lost, ageing.most_years)}")
    out.append(
        f"empties within {units.show_time(targets.empty_s)} {_years(one.empty_lost, ageing.most_years)}"
    )
    if one.spills_lost is not None:
        out.append(f"spills no more often than asked {_years(one.spills_lost, ageing.most_years)}")
    return out


def _sentence(one: WellAge, ageing: Ageing, survey: Survey) -> str:
    new, old = one.ages[0], one.ages[-1]
    targets = survey.targets
    spills = ""
    if new.spills_year is not None and old.spills_year is not None:
        spills = f" and spills {new.spills_year.best:.1f}, then {old.spills_year.best:.1f} times a year"
    words = (
        f"{one.well}, {CARES[one.care]}: takes in {_held(new.held_share.best)} of the {targets.storm_years:g}-year storm "
        f"new, {_held(old.held_share.best)} after {old.years:g} years; full, it empties in {_time(new.drain_s.best)} new, "
        f"{_time(old.drain_s.best)} then{spills}. It keeps the storm {_years(one.storm_lost, ageing.most_years)} and "
        f"empties within {units.show_time(targets.empty_s)} {_years(one.empty_lost, ageing.most_years)}"
    )
    if one.spills_lost is not None:
        words += f"; it spills no more often than asked {_years(one.spills_lost, ageing.most_years)}"
    return words + "."


def care_sentences(ageing: Ageing, style: Style) -> list[str]:
    """Return, for each well with a basin, what emptying it on time is worth, and the cheap part that moves most."""
    out = []
    for well in dict.fromkeys(one.well for one in ageing.wells):
        cared = {one.care: one for one in ageing.of(well)}
        kept, never = cared.get("on time"), cared.get("never")
        if kept is None or never is None:
            continue
        life = kept.ages[-1]
        room = life.room_share.best - never.ages[-1].room_share.best
        with_care, without = (_until(one.lost.best, ageing.most_years) for one in (kept, never))
        if kept.lost.best <= 0.0:
            first = "its first target is missed even while new"
        elif with_care == without:
            first = f"its first target is kept {with_care} with it and without it"
        else:
            first = f"its first target is kept {with_care} with it, {without} without"
        worth = (
            f"{units.show_percent(room, 1)} of the well's room"
            if room >= 0.0005
            else "next to none of the well's room"
        )
        out.append(
            f"{well}, what emptying the basin on time is worth: {worth} after {life.years:g} years, and {first}. "
            f"{_mend(well, kept, ageing, style)}"
        )
    return out


def _mend(well: str, kept: WellAge, ageing: Ageing, style: Style) -> str:
    best = max(
        (m for m in ageing.mends if m.well == well), key=lambda m: (m.lost, m.room_share), default=None
    )
    own = kept.ages[-1]
    silt = (
        "What closes the floor is silt, finer than any basin holds back: emptying and screens keep leaves and grit out, "
        "more floor or a faster soil keeps the well."
    )
    if best is None:
        return silt
    what = MENDS[best.key].format(sump=units.show_length(best.sump_m, style))
    gains = best.lost - kept.lost.best if math.isfinite(kept.lost.best) else 0.0
    room = best.room_share - own.room_share.best
    if gains < _worth_years() and room < _worth_room():
        return f"No cheap part of {best.basin} moves that by much. {silt}"
    return f"What moves it most is {best.basin} {what}: {_gain(best, gains, room, ageing)}. {silt}"


def _worth_years() -> float:
    return tables.limit("age-worth-years").value_si


def _worth_room() -> float:
    return tables.limit("age-worth-room").value_si


def _gain(best: AgeMend, gains: float, room: float, ageing: Ageing) -> str:
    words = []
    if gains >= _worth_years():
        words.append(f"the first target is kept {_until(best.lost, ageing.most_years)}")
    if room >= _worth_room():
        words.append(f"{units.show_percent(room)} more of the room is left after {ageing.years[-1]:g} years")
    return " and ".join(words)


def basis(ageing: Ageing, survey: Survey) -> list[str]:
    """Return what the figures rest on, and where they end."""
    if any(one.care == "typed" for one in ageing.wells):
        share = units.show_percent(survey.soil.silting_year, 1)
        return [
            f"Soakage falls by {share} a year, as typed (soil.silting_a_year); what reaches the stone is then not counted. "
            "From the soil as measured, without the safety factor; the mound on the groundwater is left out."
        ]
    low, best, high = (units.show_rate(value, survey.style) for value in figure("silt-conductivity"))
    out = [
        "Counted with the soil as measured, without the safety factor: that stands for silting and luck; silting is counted "
        "here, luck under Chance. The mound on the groundwater is left out.",
        "Silt that passes the basins lies on the floor and closes the wall beside it; water goes through it by Darcy's law, "
        f"at {best} ({low} to {high}), and into the soil under it. Grit and rotting leaves only take room. "
        f"What the floor passes is told under {units.show_length(ageing.shallow_m, survey.style)} of water. In brackets the "
        "mildest and the hardest of what is known.",
    ]
    if ageing.fabric:
        out.append(
            f"{', '.join(ageing.fabric)}: the fabric on the floor is counted as blinded; beside the silt that is little."
        )
    if not ageing.trees_known:
        out.append(
            "Nobody said what trees stand over the roof (roofs.ID.trees): the range goes from none to many."
        )
    return out


def unknown(missing: Collection[str]) -> str:
    """Return why nothing is said of the years, empty where something can be: a well, a roof and a soil must be known."""
    if shows(missing):
        return ""
    return "not known while a measurement of soil, roof, rain or well is missing."
