"""The spills through the years for the screen: a tick for each, with its rain and its water in finished words."""

from __future__ import annotations

from dataclasses import dataclass

from roofwell.design.result import Design
from roofwell.papers.drawing.spill_chart import day_of_year, spill_about, spill_title
from roofwell.papers.texts import Say, day, without_keys
from roofwell.system.spill_events import SpillEvent, spill_events
from roofwell.system.survey import measurement


@dataclass(frozen=True, slots=True)
class SpillShown:
    """One tick: its year, the days since that began (in a year with a 29 February), its share of the largest spill, 0 to 1.

    ``at``: date and hour; ``rain``: what fell, in ``rain_time``; ``left``: what spilled, in ``left_time``; ``stood``: how
    long water stood in the wells around it.
    """

    year: int
    day: float
    share: float
    at: str
    rain: str
    rain_time: str
    left: str
    left_time: str
    stood: str


@dataclass(frozen=True, slots=True)
class YearsOnScreen:
    """The record's spills. ``notes``: what they rest on. ``snow``: months that may bring snow, 0 for January.

    ``first``, ``years``: the first year and how many; 0 without a record: ``title`` and ``notes`` then say what is missing.
    """

    title: str
    notes: tuple[str, ...]
    first: int
    years: int
    snow: tuple[int, ...]
    spills: tuple[SpillShown, ...]


def screen_years(design: Design) -> YearsOnScreen | None:
    """Return the spills through the years; None where there is no well to spill."""
    if not design.scheme.wells or not all(well.layers for well in design.scheme.wells):
        return None
    say = Say(design.survey.style)
    found = spill_events(design.scheme, design.survey, design.behaviour)
    if found is None:
        what, how = measurement("rain.record")
        words = (f"To measure: {what}.", without_keys(how))
        title = "The spills through the years are not told: there is no rain record"
        return YearsOnScreen(title, tuple(word for word in words if word), 0, 0, (), ())
    trace = found.trace
    first = trace.first.year
    last = max([first + round(trace.years) - 1, *(one.at.year for one in found.events)])
    most = max((one.volume_m3 for one in found.events), default=0.0)
    finest = f"Times are in whole steps of the record, {say.time(found.step_s)}."
    return YearsOnScreen(
        title=spill_title(trace, say, limit_year=design.survey.targets.spills_year),
        notes=(spill_about(trace, say), *((finest,) if found.events else ())),
        first=first,
        years=last - first + 1,
        snow=trace.snow_months or (),
        spills=tuple(_shown(one, most, say) for one in found.events),
    )


def _shown(one: SpillEvent, most_m3: float, say: Say) -> SpillShown:
    return SpillShown(
        year=one.at.year,
        day=round(day_of_year(one.at), 3),
        share=round(one.volume_m3 / most_m3, 4) if most_m3 > 0 else 0.0,
        at=f"{day(one.at.date())}, {one.at:%H:%M}",
        rain=say.depth(one.rain_m),
        rain_time=say.time(one.rain_s),
        left=say.volume(one.volume_m3),
        left_time=say.time(one.spilled_s),
        stood=say.time(one.stood_s) if one.stood_s is not None else "still at the record's end",
    )
