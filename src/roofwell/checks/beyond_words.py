"""What lies beyond the design storm, in words: stresses, the storm just held, chances, other rules, flood days.

Nothing here is a verdict. Finished strings, for the terminal and for papers alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

from roofwell import units
from roofwell.checks.register import Context
from roofwell.physics.rain.held import Reach
from roofwell.physics.soil.predictive import TestWorth
from roofwell.system.beyond_facts import Beyond, Chance, Flood, HeldStorm, Joint, StandardAtWell, Stress
from roofwell.system.facts import Survey
from roofwell.tables.trials import trial
from roofwell.units import Style

LEAST_SHARE = 0.05  # a smaller one is not told from none by the samples that are drawn
_SHAPE = {"alternating blocks": "with its peak in the middle", "uniform": "falling evenly"}


@dataclass(frozen=True, slots=True)
class StressRow:
    """One stress on one well, as it is read."""

    what: str
    well: str
    level: str
    spills: str
    goes: str
    house: str


@dataclass(frozen=True, slots=True)
class RuleRow:
    """One rule with what it wants of each well and what the well has."""

    what: str
    well: str
    wanted: str
    had: str
    share: str
    governs: bool
    seen: str
    source: str


STAND_INS = (
    "soil.rate", "roofs", "downspouts", "wells.size", "runs.size", "wells.at", "site.outlet", "rain.place", "rain.record",
)  # fmt: skip


def basis_note(beyond: Beyond, missing: Collection[str], how: Callable[[str], tuple[str, str]]) -> str:
    """Return what these figures leave out and which measurements they took a stand-in for; empty where nothing.

    ``missing``: leaves of survey and Scheme; ``how`` gives what a measurement is called and how to take it.
    """
    names = [how(leaf)[0] for leaf in STAND_INS if leaf in missing]
    said = [f"Figures on stand-ins until these are measured: {', '.join(names)}."] if names else []
    if beyond.without_mound:
        said.append(
            "The mound on the groundwater, which holds the soakage back, is counted in its own row alone."
        )
    return " ".join(said)


# ------------------------------------------------------------------ the storm just held


def years_words(years: float, reach: Reach) -> str:
    """Return a return period that was seen to be held, never rounded up: "14-year", "3.2-year"."""
    if reach != "within":
        return f"{years:g}-year"
    down = math.floor(years) if years >= 10 else math.floor(10 * years) / 10
    return f"{down:g}-year"


def held_words(held: HeldStorm, *, known: bool) -> str:
    """Return which storms a well holds: "W1 holds every storm up to the 14-year one"."""
    if not known and held.slow_years is not None and held.fast_years is not None:
        low = _one(held.slow_years, held.slow_reach or "within")
        high = _one(held.fast_years, held.fast_reach or "within")
        if low == high:
            return f"{held.well} holds {low}, whatever the soil of its range"
        return f"In the slowest soil of its range {held.well} holds {low}; in the fastest, {high}"
    return f"{held.well} holds {_one(held.years, held.reach)}"


def _one(years: float, reach: Reach) -> str:
    storm = years_words(years, reach)
    if reach == "below":
        return f"not even the {storm} storm, which is the least of the rain table"
    if reach == "beyond":
        return f"every storm of the rain table, up to the {storm} one"
    return f"every storm up to the {storm} one"


def held_sentence(context: Context) -> str:
    """Return the storms that the wells just hold, in the job's own shape of storm; empty where nothing is known."""
    beyond = context.behaviour.beyond
    if (
        beyond is None
        or not beyond.held
        or context.missing & {"wells.size", "runs.size", "roofs", "downspouts"}
    ):
        return ""
    if beyond.without_mound:  # the judged run holds less: the sentence would say more than the answer
        return ""
    own = [held for held in beyond.held if held.shape == context.survey.storm_shape]
    return "; ".join(held_words(held, known=context.survey.soil.known) for held in own) + "."


def other_shape(beyond: Beyond, survey: Survey) -> str:
    """Return the same for the other shape of storm."""
    rest = [held for held in beyond.held if held.shape != survey.storm_shape]
    if not rest:
        return ""
    words = "; ".join(held_words(held, known=survey.soil.known) for held in rest)
    return f"Were the storm one {_SHAPE[rest[0].shape]}: {words}."


def greater_words(beyond: Beyond, survey: Survey) -> str:
    """Return the chance that a storm comes that the wells do not hold, over the life that is counted."""
    known = [
        f"{held.well} {units.show_percent(held.greater_in_life)}"
        for held in beyond.held
        if held.shape == survey.storm_shape and held.greater_in_life is not None
    ]
    if not known or not survey.soil.known:
        return ""
    return f"Chance of a greater storm than it just holds within {trial('life'):g} years: {', '.join(known)}."


# ------------------------------------------------------------------ stress


def stress_rows(beyond: Beyond, style: Style) -> list[StressRow]:
    """Return the stresses as rows, the normal run first."""
    rows = []
    for stress in beyond.stress:
        if stress.missing is not None:
            rows.append(StressRow(stress.what, "", "unknown", "", "", ""))
            continue
        house = _house(stress, style)
        for well in stress.wells:
            lost = [units.show_volume(well.spilled_m3, style)] if _some(well.spilled_m3) else []
            if _some(well.refused_m3):
                lost.append(f"{units.show_volume(well.refused_m3, style)} never gets in")
            goes = (well.goes_to or "nobody has said where") if _some(well.spilled_m3) else ""
            rows.append(
                StressRow(
                    stress.what,
                    well.well,
                    f"{units.show_elevation(well.level_m, style)}, {units.show_percent(well.full_share)} full",
                    "; ".join(lost) or "none",
                    goes,
                    house,
                )
            )
        if not stress.wells:
            rows.append(StressRow(stress.what, "", "", "", "", house))
    return rows


def _some(volume_m3: float) -> bool:
    return volume_m3 > 1e-6


def _house(stress: Stress, style: Style) -> str:
    words = []
    if stress.part is not None and stress.part_level_m is not None:
        words.append(f"{units.show_elevation(stress.part_level_m, style)} at {stress.part}")
    if stress.comes_out:
        words.append(f"comes out at {', '.join(stress.comes_out)}")
    if stress.over_opening_m is not None:
        apart = units.show_depth(abs(stress.over_opening_m), style)
        words.append(
            f"{apart} ABOVE the lowest opening of the house"
            if stress.reaches_opening
            else f"{apart} below the lowest opening"
        )
    else:
        words.append("lowest opening not known")
    return "; ".join(words)


def opening_warnings(beyond: Beyond, style: Style) -> list[str]:
    """Return each stress in which water reaches an opening of the house: this is always said."""
    return [
        f"with {stress.what}, water stands {units.show_depth(stress.over_opening_m, style)} above the lowest opening of"
        " the house"
        for stress in beyond.stress
        if stress.reaches_opening and stress.over_opening_m is not None
    ]


def stress_notes(beyond: Beyond, how: Mapping[str, tuple[str, str]]) -> list[str]:
    """Return the notes under the rows; ``how`` gives what a missing measurement is called and how to take it."""
    out = []
    for stress in beyond.stress:
        if stress.missing is not None:
            what, take = how[stress.missing]
            out.append(f"{stress.what}: the {what} is not known; {take}")
        elif stress.note:
            out.append(f"{stress.what}: {stress.note}")
    return out


# ------------------------------------------------------------------ chance


def _a_year(spills: float, years: float) -> str:
    if spills == 0:
        return f"not once in {years:.0f} years"
    return f"{spills:.1f} times a year" if spills >= 0.1 else f"once in {1 / spills:.0f} years"


def chance_sentence(beyond: Beyond) -> str:
    """Return the chance in one sentence; empty where the soil is not tested or there is no record."""
    found = beyond.chance
    if found is None or found.log_spread is None:
        return ""
    nine, even = found.spills_at(0.9), found.spills_at(0.5)
    if nine is None or even is None:
        return ""
    if nine == 0:
        return f"Nine chances in ten that it spills {_a_year(nine, found.years)}."
    return (
        f"Nine chances in ten that it spills no more than {_a_year(nine, found.years)}, an even chance of"
        f" {'no more than ' if even else ''}{_a_year(even, found.years)}."
    )


def chance_detail(context: Context) -> str:
    """Return the chance for the detail of an answer; empty while a place or size of a well is missing."""
    beyond = context.behaviour.beyond
    if beyond is None or context.missing & {"wells.size", "runs.size", "roofs", "downspouts"}:
        return ""
    return chance_sentence(beyond)


def chance_lines(found: Chance, style: Style) -> list[str]:
    """Return what stands under the chance: limit, what matters most, one more test, all unknowns at once."""
    lines = []
    if found.log_spread is None:
        lines.append("No chance can be given: nobody has tested the soil.")
    else:
        tests = "one soil test" if found.tests == 1 else f"{found.tests} soil tests"
        lines.append(
            f"Counted with the rain of {found.record} and the soil as measured ({tests}), without the safety factor:"
            " the soil's scatter takes its place."
        )
        if found.chance_limit is not None:
            lines.append(
                f"Chance that it spills no more than {_limit(found.limit_year)}: {_chance_words(found)}."
            )
    lines.append(f"What moves the spills a year most: {_swings(found, style)}.")
    nine = found.spills_at(0.9)
    if found.one_more_test is not None and found.saved_share is not None and nine is not None:
        then, now = _a_year(found.one_more_test, found.years), _a_year(nine, found.years)
        means = f"still mean {now}" if then == now else f"then mean {then} instead of {now}"
        lines.append(
            f"One more soil test, if it agrees, takes {units.show_percent(found.saved_share)} off the spread: nine chances"
            f" in ten would {means}."
        )
    if found.worth is not None:
        lines.append(_worth(found, found.worth))
    return [*lines, *together_lines(found, style)]


def together_lines(found: Chance, style: Style) -> list[str]:
    """Return the chance with all unknowns drawn together; empty where they were not."""
    joint = found.joint
    if joint is None:
        return []
    by = ", ".join(
        f"{units.show_percent(kept)} {_a_year(spills, found.years)}" for kept, spills in joint.quantiles
    )
    return [
        f"All unknowns at once ({joint.samples} samples, seed {joint.seed}): no more than, with a chance of"
        f" {by}; {units.show_percent(joint.chance_held)} that it spills no more than {_limit(found.limit_year)}.",
        *_joint_lines(joint, style),
    ]


def _worth(found: Chance, worth: TestWorth) -> str:
    """Say what one more test is likely to do to the chance of keeping the limit, before anybody makes it."""
    sure, doubt, rest = worth.sure, worth.doubt, max(0.0, 1.0 - worth.sure - worth.doubt)
    return (
        f"What one more soil test would be worth: that it spills no more than {_limit(found.limit_year)} has a chance of"
        f" {units.show_percent(worth.now)} today. After one more test it would read nine in ten or more with a chance of"
        f" {units.show_percent(sure)}, less than one half with {units.show_percent(doubt)}, and between with"
        f" {units.show_percent(rest)}."
    )


_HOW = {
    "alone": "Each well by itself; no mound on the groundwater can reach one at any level drawn.",
    "with the mound tracked": "The mound on the groundwater is followed in every sample and holds soakage back where it"
    " reaches a well.",
    "coupled": "Wells that hand water on to each other are followed together; groundwater is counted where a well stands"
    " in it, the mound on it is left out.",
}


def _joint_lines(joint: Joint, style: Style) -> list[str]:
    """Return what matters most, what a measurement of it would be, and what was not drawn."""
    lines = []
    if any(row.share > 0 for row in joint.shares):
        each = ", ".join(f"{row.what} {units.show_percent(row.share)}" for row in joint.shares)
        lines.append(
            f"What decides which sample spills more, as shares of the variance of their ranks: {each}; only together, or not"
            f" told apart, {units.show_percent(joint.together)}."
        )
        worth = [row for row in joint.shares if row.measure and row.share >= LEAST_SHARE]
        if worth:
            lines.append(
                "Worth measuring, the most first: "
                + "; ".join(f"{row.what}: {row.measure}" for row in worth)
                + "."
            )
    if joint.water_spread_m is None:
        lines.append(
            "The groundwater is not among them: its seasonal high is not known, and could turn all of this."
        )
    else:
        off = units.show_depth(joint.water_spread_m, style)
        lines.append(
            f"Groundwater drawn about its seasonal high, give or take {off}, all year. {_HOW[joint.how]}"
        )
    return lines


def _limit(spills: float) -> str:
    return "once a year" if spills == 1 else f"{spills:g} times a year"


def _chance_words(found: Chance) -> str:
    share = found.chance_limit or 0.0
    if share >= 1 - found.edge:
        return f"more than {units.show_percent(1 - found.edge)}"
    if share <= found.edge:
        return f"less than {units.show_percent(found.edge)}"
    return f"about {units.show_percent(share)}"


def _swings(found: Chance, style: Style) -> str:
    out = []
    for swing in found.swings:
        if swing.what == "soil":
            ends = " to ".join(units.show_rate(rate, style) for rate in (swing.low, swing.high))
        elif swing.what == "voids":
            ends = " to ".join(units.show_percent(share) for share in (swing.low, swing.high))
        else:
            ends = " to ".join(units.show_rain(depth, style) for depth in (swing.low, swing.high))
        low, high = f"{swing.spills_low:.2f}", f"{swing.spills_high:.2f}"
        out.append(f"{swing.what}, {ends}: {f'{low} either way' if low == high else f'{low} to {high}'}")
    return "; ".join(out)


# ------------------------------------------------------------------ other rules


def rule_rows(beyond: Beyond, style: Style) -> list[RuleRow]:
    """Return every published rule beside what each well has; the one that wants most storage is marked."""
    governs = set(beyond.governing)
    return [_rule(row, style, governs=(row.well, row.key) in governs) for row in beyond.standards]


def rule_words(row: StandardAtWell, style: Style) -> str:
    """Return what a rule is called, its figure in the job's own units."""
    return row.what.format(depth=units.show_rain(row.depth_m or 0.0, style))


def _rule(row: StandardAtWell, style: Style, *, governs: bool) -> RuleRow:
    def show(value: float | None) -> str:
        if value is None:
            return row.note or "?"
        return units.show_volume(value, style) if row.kind in ("depth", "storm") else units.show_time(value)

    had = show(row.had) if row.had is not None or row.kind in ("half-empty", "empty") else "?"
    share = units.show_percent(row.share) if row.share is not None else ""
    return RuleRow(
        rule_words(row, style), row.well, show(row.wanted), had, share, governs, row.seen, row.source
    )


def governing_sentence(beyond: Beyond, style: Style) -> str:
    """Return which rule wants most storage of each well, and whether the well has it."""
    out = []
    for well, key in beyond.governing:
        row = next(row for row in beyond.standards if row.well == well and row.key == key)
        if row.share is None:
            continue
        asks, share = f"{rule_words(row, style)} asks most", units.show_percent(row.share)
        if row.share <= 1:
            out.append(f"{well} has room for every rule listed; {asks} ({share})")
        else:
            shares = [r.share for r in beyond.standards if r.well == well and r.share is not None]
            kept = sum(one <= 1 for one in shares)
            out.append(f"{well} keeps {kept} of {len(shares)} rules; {asks}, {share} of its storage")
    return "; ".join(out) + "." if out else ""


# ------------------------------------------------------------------ look-back


def flood_lines(floods: Sequence[Flood], style: Style) -> list[str]:
    """Return what fell on each day on which it flooded."""
    return [_flood(flood, style) for flood in floods]


def _flood(flood: Flood, style: Style) -> str:
    day = flood.day.isoformat()
    if flood.depth_m is None:
        return f"{day}: unknown; {flood.note}."
    where = f"at {flood.record}" + ("" if flood.of_this_place else ", which is not this place")
    words = [f"{day}: {units.show_rain(flood.depth_m, style)} fell {where}"]
    if flood.peak_hour_m and flood.peak_start is not None:
        words.append(
            f"its wettest hour, from {flood.peak_start:%H:%M}, brought {units.show_rain(flood.peak_hour_m, style)}"
            f"{_rare(flood.hour_years, flood.hour_reach)}"
        )
    if flood.wettest_day_m:
        rare = _rare(flood.day_years, flood.day_reach)
        words.append(f"the wettest 24 h about it {units.show_rain(flood.wettest_day_m, style)}{rare}")
    if flood.spilled_m3 is not None:
        words.append(
            f"this system would have let out {units.show_volume(flood.spilled_m3, style)}"
            if _some(flood.spilled_m3)
            else "this system would have held it"
        )
    if flood.snow:
        words.append("a month that may bring snow: it may not have fallen as rain")
    if flood.note:
        words.append(flood.note)
    return "; ".join(words) + "."


def _rare(years: float | None, reach: Reach | None) -> str:
    if years is None or reach is None:
        return ""
    if reach == "below":
        return f" (less than a {years:g}-year rain)"
    if reach == "beyond":
        return f" (more than the {years:g}-year rain)"
    return f" (a {years:.2g}-year rain)" if years < 100 else f" (a {years:.0f}-year rain)"
