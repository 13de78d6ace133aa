"""What a question says while there is nothing to look at because it was never measured: unknown, and what to measure.

A check yields one finding for each part that it looks at. Where a measurement is missing without which there is
no such part at all (no downspout, no place for a well), the check that the question is about says ``unknown``
once for the whole system, and names every measurement that the question waits for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from roofwell.checks.finding import Finding, in_order
from roofwell.checks.register import REGISTER, Context
from roofwell.checks.rests_on import rests_on
from roofwell.system.scheme import Scheme

FIRST = ("roofs", "downspouts", "wells.at", "site.outlet")


@dataclass(frozen=True, slots=True)
class _Waits:
    """A check that speaks for its question while the Scheme has none of the parts that it looks at.

    ``never_known``: what would be missing as well, but is written down as such only once the part is there.
    """

    code: str
    has_part: Callable[[Scheme], bool]
    sentence: str
    never_known: tuple[str, ...] = ()


def _ends(scheme: Scheme) -> bool:
    return bool(scheme.wells or scheme.outlets)


WAITS = (
    _Waits("levels-fit", lambda s: bool(s.runs), "No pipe can be laid yet."),
    _Waits("pipe-capacity", lambda s: bool(s.runs), "No pipe can be sized yet."),
    _Waits(
        "basin-before-well", lambda s: bool(s.downspouts), "Nothing that could be kept clean is known yet."
    ),
    _Waits("storm-held", _ends, "No well can be sized yet.", ("wells.at",)),
    _Waits(
        "overflow-destination",
        _ends,
        "Where the water would come out is not known yet.",
        ("overflow.destination", "buildings.lowest_opening"),
    ),
    _Waits("setback", _ends, "How far a well would be from anything is not known yet.", ("wells.at",)),
    _Waits("separation", _ends, "How deep a well would go is not known yet."),
)
OF_SITE = (
    "features.lot_line",
    "features.septic",
    "features.water_well",
    "features.slope_crest",
    "features.neighbor",
)


def absent(context: Context, found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return an unknown finding for each question whose parts are not there because nothing was measured."""
    missing = context.missing
    causes = [leaf for leaf in FIRST if leaf in missing]
    if not causes:
        return ()
    spoken = {finding.code for finding in found}
    return tuple(
        _finding(context, waits, missing | set(waits.never_known) & _not_given(context))
        for waits in WAITS
        if waits.code not in spoken and not waits.has_part(context.scheme)
    )


def _not_given(context: Context) -> set[str]:
    """Leaves that a part would need and that nothing in the job gives."""
    out = {"wells.at"} if not context.scheme.wells else set()
    ways = [*(o.destination or o.to for o in context.job.overflows.values())]
    ways += [o.destination for o in context.job.outlets.values()]
    if not any(ways):
        out.add("overflow.destination")
    if context.survey.lowest_opening_m is None:
        out.add("buildings.lowest_opening")
    return out


def _finding(context: Context, waits: _Waits, missing: frozenset[str] | set[str]) -> Finding:
    check = REGISTER[waits.code]
    of_question = {
        leaf for other in REGISTER.values() if other.question == check.question for leaf in other.needs
    }
    if waits.code == "setback":
        of_question = {*check.needs, *OF_SITE, "place.rules"}
    elif check.question == 7:
        of_question = {*check.needs, "place.rules"}
    if context.survey.targets.spills_year is None:
        of_question -= {"rain.record"}
    wanted = {leaf for leaf in {*FIRST[:2], *of_question, *waits.never_known} if leaf in missing}
    if "site.outlet" in wanted:
        wanted -= {"wells.at"}  # choosing a way out is choosing that place
    return Finding(
        code=waits.code,
        question=check.question,
        subject="system",
        verdict="unknown",
        value=math.nan,
        low=None,
        high=None,
        op="at least",
        limit=math.nan,
        spare=math.nan,
        value_text="not measured",
        limit_text="to be measured first",
        spare_text="",
        sentence=waits.sentence,
        source="own-choice",
        missing=in_order(wanted),
        assumed=rests_on(waits.code, context.assumed),
        digging=check.digging,
    )
