"""What if a part does not work, in words: finished strings for findings, terminal and papers alike."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

from roofwell import units
from roofwell.checks.carries import LEVELS
from roofwell.system.scheme import Scheme
from roofwell.system.survey import measurement
from roofwell.system.what_if_facts import ComesOut, WhatIf, WhatIfs
from roofwell.units import Style


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One case as it is read. ``judged``: whether an answer takes it."""

    letter: str
    what: str
    house: str
    below: str
    grates: str
    comes_out: str
    storm: str
    judged: bool


def what(case: WhatIf, scheme: Scheme) -> str:
    """Return what does not work: "the inlet of W1 (P7) plugged"."""
    match case.kind:
        case "screen blocked":
            return f"the screen of {case.part} blocked"
        case "never emptied":
            return f"{case.part} never emptied, half its outlet covered"
        case "weeps plugged":
            return f"the weep holes of {case.part} plugged"
        case "inlet plugged":
            return f"the inlet of {case.of} ({case.part}) plugged"
        case "overflow blocked":
            kind = next(overflow.kind for overflow in scheme.overflows if overflow.id == case.part)
            return f"the {kind} {case.part} of {case.of} blocked, or frozen shut"
        case "outlet shut":
            kind = next(outlet.kind for outlet in scheme.outlets if outlet.id == case.part)
            name = "daylight outlet" if kind == "daylight" else kind
            return f"the {name} {case.part} frozen shut, or blocked"
        case "pump without power":
            return f"the pump {case.part} without power: no way out"


def rows(found: WhatIfs, scheme: Scheme, style: Style) -> list[CaseRow]:
    """Return every case, in the order of the water."""
    return [
        CaseRow(
            letter=case.letter,
            what=what(case, scheme),
            house=f"{units.show_elevation(case.house_m, style)} at {case.house_at}",
            below=opening_words(case, style),
            grates=", ".join(f"{units.show_elevation(level, style)} at {id}" for id, level in case.grates),
            comes_out=_out_words(case, style),
            storm=_storm_words(case, found, style),
            judged=case.way_out_works,
        )
        for case in found.cases
    ]


def opening_words(case: WhatIf, style: Style) -> str:
    """Return how the water stands to the lowest opening of the house."""
    if case.over_opening_m is None:
        return "lowest opening not known"
    side = "below" if case.over_opening_m < 0 else "above"
    return f"{units.show_depth(abs(case.over_opening_m), style)} {side} the lowest opening"


def _out_words(case: WhatIf, style: Style) -> str:
    if case.kind == "weeps plugged":
        kept = units.show_volume(case.stays_m3, style)
        return (
            f"nothing comes out; {kept} stay between rains"
            if not case.out
            else f"{_places(case, style)}; {kept} stay"
        )
    if not case.out:
        return "nothing comes out"
    return _places(case, style)


def _places(case: WhatIf, style: Style) -> str:
    first, *rest = (_place(one, style) for one in case.out)
    return f"first at {first}" + (f", then at {', '.join(rest)}" if rest else "")


def _place(one: ComesOut, style: Style) -> str:
    where = {"basin grate": f"the grate of {one.part}", "downspout joint": f"the joint of {one.part}"}
    return (
        f"{where.get(one.what, one.part)}, {units.show_volume(one.volume_m3, style)} "
        f"({units.show_flow(one.flow_m3_s, style)}, {units.show_depth(one.head_m, style)} over it)"
    )


def _storm_words(case: WhatIf, found: WhatIfs, style: Style) -> str:
    """Return what comes out in a design storm, and after how long."""
    name = f"{found.storm_years:g}-year {units.show_time(case.storm_s)} storm"
    if not math.isfinite(case.storm_out_m3):
        return f"{name}: comes out at its peak"
    if case.storm_out_m3 <= 0 or case.out_after_s is None:
        return f"{name}: nothing"
    return (
        f"{name}: {units.show_volume(case.storm_out_m3, style)}, from {units.show_time(case.out_after_s)} on"
    )


def stand_ins(missing: Collection[str]) -> str:
    """Return which measurements the levels took a stand-in for; empty where none."""
    names = [measurement(leaf)[0] for leaf in dict.fromkeys((*LEVELS, "overflow.lip")) if leaf in missing]
    return f"on stand-ins until these are measured: {', '.join(names)}" if names else ""


def basis(found: WhatIfs, missing: Collection[str], style: Style) -> str:
    """Return what the rows say, leave out and rest on."""
    guessed = stand_ins(missing)
    storm = f"{found.storm_years:g}-year cloudburst of {found.cloudburst_s / 60:g} min"
    usual = units.show_elevation(found.normal_m, style)
    return (
        f"One thing at a time fails, wells full, in the {storm}; and in the design storms. Water leaves over the lowest "
        "grate or joint, half of its edge blocked, a grate's openings half open; what soaks in on its way and what the "
        f"pipes hold is left out, and no level is taken lower than with everything working ({usual}). Where the last way "
        "out itself is shut, nothing is judged." + (f" All figures {guessed}." if guessed else "")
    )


def sentence(case: WhatIf, scheme: Scheme, style: Style) -> str:
    """Return the worst judged case as the sentence of its finding."""
    out = f" It comes out {_places(case, style)}." if case.out else " Nothing comes out."
    return (
        f"Of all parts that may fail while the overflow works, the worst is {what(case, scheme)}: water reaches "
        f"{units.show_elevation(max(case.house_m, case.storm_m), style)} at {case.house_at}, "
        f"{opening_words(case, style)} of the house.{out}"
    )


def warnings(found: WhatIfs | None, scheme: Scheme, missing: Collection[str], style: Style) -> list[str]:
    """Return each case in which water reaches an opening of the house: this is always said, judged or not."""
    guessed = stand_ins(missing)
    end = f" ({guessed})" if guessed else ""
    return [
        f"with {what(case, scheme)}, water stands {opening_words(case, style)} of the house{end}"
        for case in (found.cases if found is not None else ())
        if case.over_opening_m is not None and case.over_opening_m >= 0
    ]
