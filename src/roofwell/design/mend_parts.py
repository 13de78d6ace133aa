"""Which parts of a Scheme a finding is about: those it names, else those that the water joins to them."""

from __future__ import annotations

import re

from roofwell.system.scheme import Scheme


def concerned(scheme: Scheme, table: str, subject: str) -> tuple[str, ...]:
    """Return the ids of the parts of one table of the document that a finding's subject concerns.

    Those that the subject names; else those above or below the parts that it names; where it names none of the system's
    (the house, a neighbor), all of the table.
    """
    every = _every(scheme, table)
    named = re.findall(r"[A-Za-z0-9_-]+", subject)
    own = tuple(id for id in every if id in named)
    if own:
        return own
    known = [id for id in named if any(id in _every(scheme, one) for one in _TABLES)]
    if not known:
        return every
    joined = {other for id in known for other in _joined(scheme, id)}
    return tuple(id for id in every if id in joined)


_TABLES = ("gutters", "downspouts", "wyes", "runs", "basins", "wells", "overflows", "outlets")


def _every(scheme: Scheme, table: str) -> tuple[str, ...]:
    match table:
        case "runs":
            return tuple(run.id for run in scheme.runs)
        case "basins":
            return tuple(basin.id for basin in scheme.basins)
        case "wells":
            return tuple(well.id for well in scheme.wells)
        case "overflows":
            return tuple(overflow.id for overflow in scheme.overflows)
        case "outlets":
            return tuple(outlet.id for outlet in scheme.outlets)
        case "downspouts":
            return tuple(spout.id for spout in scheme.downspouts)
        case "wyes":
            return tuple(wye.id for wye in scheme.wyes)
        case "gutters":
            return tuple(
                dict.fromkeys(spout.gutter.id for spout in scheme.downspouts if spout.gutter is not None)
            )
    return ()


def _joined(scheme: Scheme, id: str) -> set[str]:
    """Every part that a part's water comes through, goes through, or leaves by."""
    of = {overflow.id: overflow.of for overflow in scheme.overflows}
    start = of.get(id, id)
    run = next((run for run in scheme.runs if run.id == start), None)
    at = run.from_id if run is not None else start
    found = {start, at}
    for below in scheme.way(at):
        found |= {below.id, below.to_id}
    gutters = {spout.id: spout.gutter.id for spout in scheme.downspouts if spout.gutter is not None}
    above = {spout.id for spout in scheme.upstream_downspouts(at)}
    above |= {spout for spout, gutter in gutters.items() if gutter == id}
    for spout in above:
        found |= {spout, *([gutters[spout]] if spout in gutters else [])}
        for passed in scheme.way(spout):
            if passed.from_id == at:
                break
            found |= {passed.id, passed.from_id, passed.to_id}
            if passed.to_id == at:
                break
    found |= {overflow.id for overflow in scheme.overflows if overflow.of in found}
    found |= {
        overflow.to for overflow in scheme.overflows if overflow.of in found and overflow.to is not None
    }
    return found
