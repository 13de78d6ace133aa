"""What is wrong and what is built, for whoever lives there: words of the job, figures of the Scheme, nothing judged."""

from __future__ import annotations

import math

from roofwell.checks.words import several
from roofwell.design.result import Design
from roofwell.papers.texts import Say
from roofwell.system.scheme import Basin, Outlet, Overflow, Well


def in_short(design: Design) -> str:
    """Return where the roof's water goes: in, into the ground, and out when it is full; empty without a pipe."""
    scheme, say = design.scheme, Say(design.survey.style)
    wells = several([_well(well, say) for well in scheme.wells])
    outlets = [_outlet(outlet) for outlet in scheme.outlets if scheme.runs_to(outlet.id)]
    end = f"{wells}, where it soaks into the ground" if wells else several(outlets)
    if not scheme.runs or not scheme.downspouts or not end:
        return ""
    area = say.area(math.fsum(spout.roof_area_m2 for spout in scheme.downspouts))
    count = len(scheme.downspouts)
    spouts = "one downspout" if count == 1 else f"{count} downspouts"
    basins = [_basin(basin) for basin in scheme.basins]
    through = several(["buried pipe", *basins])
    sentences = [
        _complaint(design),
        f"Rain from {area} of roof comes down {spouts} and runs through {through} to {end}.",
    ]
    if wells and outlets:
        sentences.append(f"Part of it leaves by {several(outlets)}.")
    sentences += [_full(overflow) for overflow in scheme.overflows]
    if design.open_sizes:
        sentences.append(f"The size is still open: {design.open_sizes}.")
    return " ".join(filter(None, sentences))


_STANDS = {
    "during rain": "while it rains",
    "hours": "for hours after rain",
    "days": "for days after rain",
    "in spring": "in spring, whatever the rain",
    "in dry weather": "in dry weather too",
}


def _complaint(design: Design) -> str:
    """Say what the family calls about, first: they look for it; empty where nobody wrote it down."""
    told = design.job.complaint
    when = f" {_STANDS[told.water_stands]}" if told.water_stands else ""
    where = f", {told.where.strip().rstrip('.')}" if told.where and told.where.strip() else ""
    return f"What is wrong: water stands{when}{where}.".replace("stands,", "stands") if when or where else ""


def _basin(basin: Basin) -> str:
    return f"the catch basin {basin.id}{', whose hood keeps leaves back,' if basin.hood else ''}"


def _well(well: Well, say: Say) -> str:
    bodies = "one well body" if well.bodies == 1 else f"{well.bodies} well bodies"
    filled = f"{bodies} in stone" if well.bodies else "a pit of stone"
    depth = well.ground_m - well.bottom_m
    deep = f", its pit {say.distance(depth)} deep" if math.isfinite(depth) else ""
    return f"the dry well {well.id} ({filled}{deep})"


def _outlet(outlet: Outlet) -> str:
    return f"the outlet {outlet.id} ({outlet.kind}){f': {outlet.destination}' if outlet.destination else ''}"


def _full(overflow: Overflow) -> str:
    out = f"When {overflow.of} is full, its water comes out at {overflow.id}"
    if overflow.to is not None:
        return f"When {overflow.of} is full, its water goes on by {overflow.id} to {overflow.to}."
    return (
        f"{out}: {overflow.destination}."
        if overflow.destination
        else f"{out}; where it goes from there is not known yet."
    )
