"""Rod readings in their order: from which of them an elevation follows.

Works on the document as entered, as ``references`` does; ``loose_readings`` looks once more at what stood.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from roofwell.job.lines import KeyPath
from roofwell.job.model import Job
from roofwell.job.problems import Fault
from roofwell.job.references import text


def listed(document: dict[str, Any], *path: str) -> list[tuple[int, dict[str, Any]]]:
    """Return the entries of a list of tables, with their places in the list."""
    found: Any = document
    for key in path:
        found = found.get(key) if isinstance(found, dict) else None
    if not isinstance(found, list):
        return []
    return [(index, entry) for index, entry in enumerate(found) if isinstance(entry, dict)]


def loose_readings(job: Job) -> list[KeyPath]:
    """Return the readings from which no elevation follows, and of which the problem is told already."""
    survey = job.survey
    known = {point.id for point in survey.points if point.elevation is not None}
    taken = [(place, reading) for place, reading in enumerate(survey.readings) if reading.rod is not None]
    benchmark = survey.benchmark or (taken[0][1].point if taken else None)
    known |= {benchmark} if benchmark is not None else set()
    stands: set[str] = set()
    loose: list[KeyPath] = []
    for place, reading in taken:
        opens = reading.kind == "backsight"
        if opens == (reading.setup in stands) or (opens and reading.point not in known):
            loose.append(("survey", "readings", place))
        elif opens:
            stands.add(reading.setup)
        else:
            known.add(reading.point)
    return loose


def sight_faults(document: dict[str, Any]) -> Iterator[Fault]:
    """Find sights that give no elevation.

    A set-up begins with one backsight, with its rod read, to a point whose elevation is known by then.
    """
    survey = document.get("survey")
    benchmark = text(survey, "benchmark") if isinstance(survey, dict) else None
    known: set[str] = {benchmark} if benchmark else set()
    named: set[str] = set()
    for index, point in listed(document, "survey", "points"):
        name = text(point, "id")
        if name is not None and name in named:
            path: KeyPath = ("survey", "points", index)
            yield Fault((*path, "id"), f"{name} is given twice", "label-twice", (path,))
        elif name is not None:
            named.add(name)
            known |= {name} if "elevation" in point else set()
    anything_given = bool(known)
    backsighted: set[str] = set()
    told: set[str] = set()
    for index, reading in listed(document, "survey", "readings"):
        setup, point_name, kind = text(reading, "setup"), text(reading, "point"), text(reading, "kind")
        if setup is None or point_name is None or kind is None:
            continue
        here: KeyPath = ("survey", "readings", index)
        if kind == "backsight":
            if setup in backsighted:
                message = (
                    f"set-up {setup} has its backsight already; give a second one as a foresight, to check"
                )
                yield Fault((*here, "kind"), message, "two-backsights", (here,))
                continue
            if point_name not in known and (anything_given or backsighted):
                told.add(setup)
                message = (
                    f"no elevation is known for {point_name} yet; look back at the benchmark, "
                    "at a given point or at a turning point of an earlier set-up"
                )
                yield Fault((*here, "point"), message, "no-such-point", (here,))
                continue
            if "rod" not in reading:
                told.add(setup)
                message = f'"rod" is needed: without it the height of instrument of {setup} is not known'
                yield Fault(here, message, "no-backsight", (here,))
                continue
            backsighted.add(setup)
        elif setup not in backsighted:
            if setup not in told:
                told.add(setup)
                message = (
                    f"set-up {setup} has no backsight before this; its height of instrument is not known"
                )
                yield Fault((*here, "setup"), message, "no-backsight")
            continue
        if "rod" in reading:
            known.add(point_name)
