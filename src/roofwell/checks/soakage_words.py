"""The models of soakage side by side, in words, for the terminal and for papers alike; none of it is a verdict."""

from __future__ import annotations

import calendar
import math
from collections.abc import Collection
from dataclasses import dataclass

from roofwell import tables, units
from roofwell.system.beyond_facts import Beyond, SoakageTry
from roofwell.system.facts import Survey
from roofwell.system.safety_factor import CONSEQUENCES, by_consequence
from roofwell.system.scheme import Scheme, Well
from roofwell.system.soakage_models import by_conductivity
from roofwell.system.soil_layers import JUST_UNDER_M
from roofwell.units import Style

MODEL_WORDS: dict[str, str] = {
    "bottom": "the rate over the bottom only",
    "bottom and half sides": "the rate over the bottom and half of the wetted sides",
    "bottom and sides": "the rate over the bottom and the wetted sides",
    "sides": "the rate over the wetted sides",
    "sides half, no bottom": "the rate over half of the sides, no bottom",
    "unit gradient": "the conductivity over all that is wetted (a gradient of one)",
    "three-dimensional": "the conductivity, spreading to all sides (Elrick-Reynolds)",
}


def tested_depth_words(survey: Survey, well: Well) -> str:
    """Say where the tests were made at another depth than a pit's: all ended above its bottom, or all well below it.

    Empty where a test reached the bottom, where nobody said how deep the holes went, and where the pit's depth is open.
    """
    depths = [test.depth_m for test in survey.soil.tests]
    pit, style = well.ground_m - well.bottom_m, survey.style
    known = [depth for depth in depths if depth is not None]
    if len(known) < len(depths) or not known or not math.isfinite(pit):
        return ""
    if min(known) > pit + tables.limit("test-below-pit", style).value_si:
        return (
            f"The test holes tell of deeper soil: the shallowest ended {units.show_distance(min(known), style)} down, "
            f"the pit of {well.id} at {units.show_distance(pit, style)}."
        )
    deepest = max(known)
    if deepest >= pit - JUST_UNDER_M:
        return ""
    return (
        f"No test hole reached the bottom of the pit of {well.id}: the deepest went "
        f"{units.show_distance(deepest, style)} down, the pit goes {units.show_distance(pit, style)}."
    )


@dataclass(frozen=True, slots=True)
class SoakageRow:
    """One well under one model, as it is read. ``own``: the design counts by it."""

    well: str
    model: str
    own: bool
    held: str
    empties: str
    spills: str


def soakage_rows(beyond: Beyond) -> list[SoakageRow]:
    """Return every well under every model; one that does not hold says why."""
    rows = []
    for one in beyond.soakage:
        if one.held_share is None or one.full_share is None or one.drain_s is None:
            rows.append(
                SoakageRow(one.well, MODEL_WORDS[one.model], one.own, f"unknown: {one.why_not}", "", "")
            )
            continue
        spills = f"{one.spills_year:.1f}" if one.spills_year is not None else ""
        rows.append(
            SoakageRow(one.well, MODEL_WORDS[one.model], one.own, _held(one), _time(one.drain_s), spills)
        )
    return rows


def _held(one: SoakageTry) -> str:
    assert one.held_share is not None and one.full_share is not None
    if _whole(one):
        return f"all, {units.show_percent(min(one.full_share, 1.0))} full"
    return units.show_percent(min(one.held_share, 0.999), 1 if one.held_share > 0.99 else 0)


def _whole(one: SoakageTry) -> bool:
    return one.held_share is not None and one.held_share > 1 - 1e-6


def _time(drain_s: float) -> str:
    return units.show_time(drain_s) if math.isfinite(drain_s) else "never"


def soakage_basis(survey: Survey, style: Style) -> str:
    """Return what the two kinds of model count with, safety factor included."""
    soil = survey.soil
    words = f"{'Tested rate' if soil.known else 'Rate, not tested,'} {units.show_rate(soil.best_m_s, style)}"
    if soil.conductivity_used_m_s is not None:
        words += f", conductivity {units.show_rate(soil.conductivity_used_m_s, style)}"
    return f"{words}, each divided by {soil.safety_factor:g} for safety; the mound on the groundwater is left out."


def counted_words(survey: Survey, scheme: Scheme) -> str:
    """Return what the wells' soakage is counted with: the soil's conductivity, the tested rate, or each where both count.

    "0.65 in/h that the soil conducts (its holes took in 2.98 in/h, one test), divided by 2 for safety".
    """
    soil, style = survey.soil, survey.style
    rate, over = units.show_rate(soil.best_m_s, style), f"divided by {soil.safety_factor:g} for safety"
    conducts = soil.conductivity_used_m_s
    if conducts is None or not any(by_conductivity(well.soakage) for well in scheme.wells):
        return f"{rate} ({soil.basis}), {over}"
    words = f"{units.show_rate(conducts, style)} that the soil conducts (its holes took in {rate}, {soil.basis}), {over}"
    if any(
        well.office_soakage is not None and not by_conductivity(well.office_soakage) for well in scheme.wells
    ):
        words += f"; by the office's count the {rate} of the holes, {over}"
    return words


def consequence_words(survey: Survey) -> str:
    """Return the published safety factors for the job's roof by what water does that the well does not take."""
    area = sum(roof.plan_area_m2 for roof in survey.roofs)
    if area <= 0:
        return ""
    factors = by_consequence(area)
    listed = ", ".join(f"{factors[name][0]:g} for {what}" for name, what in CONSEQUENCES.items())
    return (
        f"Published safety factors for {units.show_area(area, survey.style)} of roof, by what water does that the well does "
        f"not take: {listed} (soil.consequence); counted here: {survey.soil.safety_factor:g}."
    )


def in_time_lines(beyond: Beyond, style: Style) -> list[str]:
    """Return what dry soil and cold water do to each well, a line for each."""
    out = [
        f"{one.well}, dry soil: were the soil under the pit only {units.show_percent(one.wet_share)} wet when the "
        f"{units.show_time(one.duration_s)} storm comes, its floor would take in "
        f"{units.show_volume(one.gain_m3, style)} more (Green-Ampt); not counted, for rain comes after rain."
        for one in beyond.early_gain
    ]
    for one in beyond.soakage_in_time:
        if one.note:
            out.append(f"{one.well}: {one.note}.")
        words = []
        if one.cold_month is not None and one.cold_share is not None and one.cold_drain_s is not None:
            when = f"in {calendar.month_name[one.cold_month]}, with water of {_warmth(one.cold_c, style)}"
            words.append(
                f"{when}, it soaks {units.show_percent(one.cold_share)} of what the design counts and empties in "
                f"{_time(one.cold_drain_s)}"
            )
        if one.spills_year is not None:
            words.append(
                "through the record, month by month and a year older each year, it spills "
                f"{one.spills_year:.1f} times a year"
            )
        if words:
            out.append(f"{one.well} as months and years change its soakage: {'; '.join(words)}.")
    return out


def _warmth(celsius: float | None, style: Style) -> str:
    assert celsius is not None
    return f"{celsius * 9 / 5 + 32:.0f} F" if style == "us" else f"{celsius:.0f} C"


_NEEDED = frozenset(
    {"soil.rate", "roofs", "downspouts", "wells.size", "wells.at", "site.outlet", "rain.storm"}
)


def shows(missing: Collection[str]) -> bool:
    """Say whether the figures rest on a well, a roof and a soil that are known; ``missing`` of survey and Scheme."""
    return not _NEEDED & set(missing)


def slower_warnings(beyond: Beyond, survey: Survey, missing: Collection[str]) -> list[str]:
    """Say where a well that the job itself counts by faces keeps its storm or its time, and by its soil would not.

    What the job does not say is counted by the soil's conductivity. Only where all that it takes is known (`shows`):
    what is not known reads so already.
    """
    soil, style = survey.soil, survey.style
    if not shows(missing) or not soil.known or soil.conductivity_used_m_s is None:
        return []
    out = []
    for well in dict.fromkeys(one.well for one in beyond.soakage):
        tries = {one.model: one for one in beyond.soakage if one.well == well}
        own = next((one for one in tries.values() if one.own), None)
        other = tries.get("three-dimensional")
        if own is None or other is None or by_conductivity(own.model):
            continue
        words = _worse(own, other, survey.targets.empty_s)
        if words:
            rate, conducts = (
                units.show_rate(value, style) for value in (soil.best_m_s, soil.conductivity_used_m_s)
            )
            out.append(
                f"by three-dimensional flow {well} would {' and '.join(words).rstrip(',')}. The job counts "
                f"{MODEL_WORDS[own.model]}, {rate}: that is what a test hole's own walls took in, and this soil "
                f"conducts {conducts}. Leave out wells.{well}.soakage to design by what it conducts"
            )
    return out


def _worse(own: SoakageTry, other: SoakageTry, allowed_s: float) -> list[str]:
    words = []
    if _whole(own) and other.held_share is not None and not _whole(other):
        words.append(f"hold {_held(other)} of the design storm, not all of it,")
    if own.drain_s is None or other.drain_s is None:
        return words
    if own.drain_s <= allowed_s < other.drain_s:
        words.append(f"empty in {_time(other.drain_s)}, not in {units.show_time(allowed_s)}")
    return words
