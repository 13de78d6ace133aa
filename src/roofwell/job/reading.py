"""Reading a job document: everything good becomes a ``Job``, everything else a ``Problem``, all at once.

Nothing here raises for the content of a document. What ``Reading.job`` holds can be relied on: every label
that a part names is there and of the right kind, no part in use has two ways out or two overflows, no water
runs in a circle, outlines are simple polygons, and every rod reading gives an elevation. A leaf that broke
one of these is missing from the job.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from roofwell.job.datum import datum_faults
from roofwell.job.files import file_faults, shipped_rules
from roofwell.job.geometry import geometry_faults
from roofwell.job.left_out import with_left_out_sections
from roofwell.job.lines import Lines
from roofwell.job.model import Job
from roofwell.job.places import place_faults
from roofwell.job.prices import load_prices
from roofwell.job.problems import Problem, Sieve, plain, problem
from roofwell.job.references import loose_links, reference_faults
from roofwell.job.rules import load_rules
from roofwell.job.sights import loose_readings, sight_faults
from roofwell.job.toml_text import file_text, parse_toml
from roofwell.job.values import value_faults
from roofwell.job.well_links import well_link_faults, well_link_level_faults

VERSION = 1


@dataclass(frozen=True, slots=True)
class Reading:
    """What came of reading a document.

    ``job`` holds everything good; it is ``None`` only if the text is no TOML or another version of the
    document. ``problems`` are sorted by line. ``document`` is as entered. ``folder`` is where the files
    that the job names are looked for. Problems of the rule file and
    the price book come after those of the job; their paths begin with the file's name.
    """

    job: Job | None
    problems: tuple[Problem, ...]
    document: dict[str, Any]
    folder: Path | None


def read(document: Mapping[str, Any], *, lines: Lines | None = None, folder: Path | None = None) -> Reading:
    """Read a document that was parsed already; never raises for its content."""
    entered = dict(document)
    lines = lines or Lines()
    data = plain(document)
    refused = _version(data, lines)
    if refused is not None:
        return Reading(None, (refused,), entered, folder)
    complete = with_left_out_sections(data)
    sieve = Sieve(Job, complete, lines=lines)
    sieve.refuse([*reference_faults(complete, data), *well_link_faults(complete), *sight_faults(complete)])
    for find in (
        place_faults,
        geometry_faults,
        value_faults,
        well_link_level_faults,
        datum_faults,
        lambda job: file_faults(job, folder),
    ):
        if sieve.value is not None:
            sieve.refuse(list(find(sieve.value)))
    if sieve.value is not None:
        sieve.leave_out([*loose_links(sieve.value), *loose_readings(sieve.value)])
    beside = _beside(sieve.value, folder) if sieve.value is not None else ()
    return Reading(sieve.value, (*sieve.problems, *beside), entered, folder)


def read_text(text: str, *, folder: Path | None = None) -> Reading:
    """Read the text of a job file; never raises for its content."""
    document, lines, broken = parse_toml(text)
    if broken is not None:
        return Reading(None, (broken,), {}, folder)
    return read(document, lines=lines, folder=folder)


def read_file(path: Path) -> Reading:
    """Read a job file; files that it names are looked for beside it. Never raises for its content."""
    text, broken = file_text(path)
    if broken is not None:
        return Reading(None, (broken,), {}, path.parent)
    return read_text(text, folder=path.parent)


def _beside(job: Job, folder: Path | None) -> tuple[Problem, ...]:
    """Return what is wrong inside the rule file and the price book that the job names."""
    found: tuple[Problem, ...] = ()
    if job.place.rules is not None and (folder is not None or shipped_rules(job.place.rules)):
        found += load_rules(job.place.rules, folder)[1]
    if job.prices.file is not None and folder is not None:
        found += load_prices(job.prices.file, folder)[1]
    return found


def _version(data: dict[str, Any], lines: Lines) -> Problem | None:
    version = data.get("document")
    if isinstance(version, int) and not isinstance(version, bool) and version == VERSION:
        return None
    if version is None:
        message = f'the first line of a job is "document = {VERSION}"; it says how to read the rest'
        return problem(data, lines, ("document",), message, "document-missing")
    if isinstance(version, int) and not isinstance(version, bool) and version > VERSION:
        message = f"a newer Roofwell wrote this; this one reads version {VERSION}. Update Roofwell to open it"
        return problem(data, lines, ("document",), message, "document-newer")
    message = f"the version of the document is a whole number without quotes: document = {VERSION}"
    return problem(data, lines, ("document",), message, "document-wrong")
