"""A text that is no TOML, read as far as it can be: what is wrong becomes a remark, what is right stands.

The smallest stretch that cannot be read is set aside: a key with its value; with a table's own header the whole table, for
its keys would fall to the table before. Nothing is deleted: what was entered stands in the remark.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, replace

from roofwell.job.problems import Problem
from roofwell.job.toml_text import parse_toml, syntax_problem

REMARK = "# not read: "
MOST = 50  # things wrong; a text with more of them is no job document with mistakes but another text
LONGEST = 400  # lines that a value may run over while its end is looked for

_HEADER = re.compile(r"\s*\[\[?[^\[\],=]*(\]\]?\s*(#.*)?)?$")
_KEY = re.compile(r"""\s*[A-Za-z0-9_"'.-][^=]*=""")


@dataclass(frozen=True, slots=True)
class Recovered:
    """A text that is TOML, and what was set aside in it; nothing where the text was TOML already."""

    text: str
    problems: tuple[Problem, ...]


def recover(text: str) -> Recovered | None:
    """Return the text with what cannot be read as remarks; None where too little of it is a job document."""
    document, _, broken = parse_toml(text)
    if broken is None:
        return Recovered(text, ())
    rows = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    found = _blocks(rows)
    for _ in range(MOST):
        whole = "\n".join(rows)
        try:
            document = tomllib.loads(whole)
        except RecursionError:
            return None
        except ValueError as error:
            problem = syntax_problem(whole, str(error))
            found.append(replace(problem, path=f"line {problem.line}"))
            if len(found) > MOST or problem.line is None or not _aside_at(rows, problem.line - 1):
                return None
        else:
            return Recovered(whole, tuple(sorted(found, key=lambda p: p.line or 0))) if document else None
    return None


def _blocks(rows: list[str]) -> list[Problem]:
    """Set aside every stretch that is no TOML by itself; return what is wrong with each."""
    found: list[Problem] = []
    at = 0
    while at < len(rows) and len(found) <= MOST:
        if not rows[at].strip() or rows[at].lstrip().startswith("#"):
            at += 1
            continue
        end, problem = _stretch(rows, at)
        if problem is not None:
            found.append(problem)
            if rows[at].lstrip().startswith("["):
                end = _next_header(rows, at + 1)
            _aside(rows, at, end)
        at = end
    return found


def _stretch(rows: list[str], at: int) -> tuple[int, Problem | None]:
    """Return where the key or header that begins in a row ends, and what is wrong where it never does."""
    first: Problem | None = None
    end = _next_start(rows, at + 1)
    shortest = end
    while True:
        block = "\n".join(rows[at:end])
        try:
            tomllib.loads(block)
            return end, None
        except (ValueError, RecursionError) as error:
            if first is None:
                said = syntax_problem(block, str(error))
                never_ends = "end of document" in str(error)  # then the key says more than the row it ran to
                line = at + (1 if never_ends else said.line or 1)
                read = rows[at].strip()[:60] if never_ends else said.read
                first = replace(said, path=f"line {line}", line=line, read=read)
        if end >= len(rows) or end - at > LONGEST or _HEADER.match(rows[end]):
            return shortest, first
        end = _next_start(rows, end + 1)


def _next_start(rows: list[str], at: int) -> int:
    return next((i for i in range(at, len(rows)) if _KEY.match(rows[i]) or _HEADER.match(rows[i])), len(rows))


def _next_header(rows: list[str], at: int) -> int:
    return next((i for i in range(at, len(rows)) if _HEADER.match(rows[i])), len(rows))


def _aside_at(rows: list[str], at: int) -> bool:
    """Set aside what a row belongs to (a key that stands twice, a table that stands twice); False where it is none."""
    start = next(
        (i for i in range(min(at, len(rows) - 1), -1, -1) if _KEY.match(rows[i]) or _HEADER.match(rows[i])),
        None,
    )
    if start is None or rows[start].startswith(REMARK):
        return False
    header = _HEADER.match(rows[start]) is not None
    _aside(rows, start, _next_header(rows, start + 1) if header else _stretch(rows, start)[0])
    return True


def _aside(rows: list[str], start: int, end: int) -> None:
    for i in range(start, end):
        if rows[i].strip() and not rows[i].lstrip().startswith("#"):
            rows[i] = REMARK + "".join(c if c.isprintable() or c == "\t" else "?" for c in rows[i])
