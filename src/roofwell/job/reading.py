"""Reading a job document: everything good becomes a ``Job``, everything else a ``Problem``, all at once.

Nothing here raises for the content of a document. What ``Reading.job`` holds can be relied on: every label
that a part names is there and of the right kind, no part has two ways out or two overflows, no water runs
in a circle, and outlines are simple polygons. A leaf that broke one of these is missing from the job.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from roofwell.job.files import file_faults
from roofwell.job.geometry import geometry_faults
from roofwell.job.lines import Lines, lines_of
from roofwell.job.model import Job
from roofwell.job.problems import Problem, Sieve, in_order, plain, problem
from roofwell.job.references import reference_faults
from roofwell.job.values import value_faults

VERSION = 1


@dataclass(frozen=True, slots=True)
class Reading:
    """What came of reading a document.

    ``job`` holds everything good; it is ``None`` only if the text is no TOML or another version of the
    document. ``problems`` are sorted by line. ``document`` is as entered. ``folder`` is where the files
    that the job names are looked for.
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
    sieve = Sieve(Job, data, lines=lines)
    sieve.refuse(reference_faults(data))
    for find in (geometry_faults, value_faults, lambda job: file_faults(job, folder)):
        if sieve.value is not None:
            sieve.refuse(list(find(sieve.value)))
    return Reading(sieve.value, sieve.problems, entered, folder)


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


def file_text(path: Path) -> tuple[str, Problem | None]:
    """Return the text of a file, or the problem that it cannot be read."""
    try:
        return path.read_text(encoding="utf-8-sig"), None
    except UnicodeDecodeError:
        message = "the file is not a text in UTF-8; save it as plain text in UTF-8"
        return "", Problem(path.name, None, "bytes that are no text", message, "not-text")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        return "", Problem(path.name, None, str(path), f"the file cannot be opened: {reason}", "file-unreadable")


def parse_toml(text: str) -> tuple[dict[str, Any], Lines, Problem | None]:
    """Parse TOML and find the line of every key; a syntax error becomes one problem with its line."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    try:
        document = tomllib.loads(text)
    except RecursionError:
        message = "lists or tables are nested deeper than any document needs"
        return {}, Lines(), Problem("(whole document)", None, "nested lists", message, "not-toml")
    except ValueError as error:
        return {}, Lines(), _syntax(text, str(error))
    return document, lines_of(text), None


def _syntax(text: str, said: str) -> Problem:
    """Turn a TOML error into a problem that shows the line as it stands in the file."""
    rows = text.splitlines() or [""]
    match = re.search(r"line (\d+), column (\d+)", said)
    line = int(match[1]) if match else len(rows) if "end of document" in said else None
    row = rows[line - 1].strip() if line is not None and line <= len(rows) else ""
    reason = re.sub(r"\s*\(at [^()]*\)$", "", said)
    reason = reason[:1].lower() + reason[1:]
    hint = 'a line is KEY = VALUE; a value with a unit stands in quotes, such as depth = "18 in"'
    read = row if len(row) <= 60 else row[:59] + "…"
    return Problem("(whole document)", line, read, f"this is not TOML: {reason}. {hint}", "not-toml")


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


__all__ = ["Lines", "Problem", "Reading", "in_order", "read", "read_file", "read_text"]
