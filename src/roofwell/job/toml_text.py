"""TOML files as text: opened, parsed, and told about when they are not what they should be."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from roofwell.job.lines import Lines, lines_of
from roofwell.job.problems import Problem, shown

_HINT = 'A line is KEY = VALUE; a value with a unit stands in quotes, such as depth = "18 in"'
_LARGEST_BYTES = 8_000_000  # no job comes near it; whatever does was meant for another program

# What a person most likely did, by what the line looks like or by what the parser said; the first that fits.
_LIKELY = (
    (r"[\u201c\u201d\u201e\u2018\u2019]", "", "the quotes are curly ones; write straight ones"),
    (r"\d *\"\"", "", "an inch mark inside quotes is written \\\", such as \"4' 6\\\"\""),
    (r"= *\d{4}-\d\d?-\d\d?(?!\d)", "", "there is no such day; write it as 2026-05-01"),
    ("", r"illegal character '\\n'", "a text is not closed; it ends with a quote on its own line"),
    ("", "overwrite a value", "this key stands twice in its table; keep one of the two"),
    ("", r"twice|namespace", "this table stands twice in the file; put its lines together"),
    (r"^[^=]*= *(#.*)?$", "", "a value is needed after the equals sign, or the line has to go"),
    ("", "digits", "a number has more digits than can be read"),
    (r"^[^=\"]*: ", "", "write an equals sign after the key, not a colon"),
    (r"^[^=]*= *(?i:yes|no|true|false|y|n) *(#.*)?$", "", "write true or false, in small letters"),
    (r"^[^=]*= *[^\W\d]", "", "a text stands in quotes"),
    (r"^[^=]*= *[-+]?[\d.,/]+ *[^\s\d#]", "", "a value with a unit stands in quotes"),
)  # fmt: skip


def file_text(path: Path) -> tuple[str, Problem | None]:
    """Return the text of a file, or the problem that it cannot be read."""
    try:
        size = path.stat().st_size
        if size > _LARGEST_BYTES:
            read = f"{size / 1e6:,.0f} MB"
            message = "no job document is that large; was another file meant?"
            return "", Problem(path.name, None, read, message, "file-too-large")
        content = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        return "", Problem(
            path.name, None, str(path), f"the file cannot be opened: {reason}", "file-unreadable"
        )
    return _decoded(content, path.name)


def _decoded(content: bytes, name: str) -> tuple[str, Problem | None]:
    if b"\0" in content[:1000] or content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        message = 'the file is a text in UTF-16 ("Unicode" in some editors) or no text; save it as UTF-8'
        return "", Problem(name, 1, "bytes that are no text in UTF-8", message, "not-text")
    try:
        return content.decode("utf-8-sig"), None
    except UnicodeDecodeError as error:
        before = content[: error.start]
        row = content[before.rfind(b"\n") + 1 :].split(b"\n", 1)[0].strip()
        read = shown(row.decode("utf-8", "replace")).strip('"')
        message = "this line is not a text in UTF-8; save the file as plain text in UTF-8"
        return "", Problem(name, before.count(b"\n") + 1, read, message, "not-text")


def parse_toml(text: str) -> tuple[dict[str, Any], Lines, Problem | None]:
    """Parse TOML and find the line of every key; a syntax error becomes one problem with its line."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    try:
        document = tomllib.loads(text)
    except RecursionError:
        message = "lists or tables are nested deeper than any document needs"
        return {}, Lines(), Problem("(whole document)", None, "nested lists", message, "not-toml")
    except ValueError as error:
        return {}, Lines(), syntax_problem(text, str(error))
    return document, lines_of(text), None


def syntax_problem(text: str, said: str) -> Problem:
    """Turn a TOML error into a problem that shows the line as it stands in the file."""
    rows = text.split("\n")
    match = re.search(r"line (\d+), column (\d+)", said)
    line = int(match[1]) if match else len(rows) if "end of document" in said else None
    row = rows[line - 1].strip() if line is not None and line <= len(rows) else ""
    row = row.encode("utf-8", "backslashreplace").decode()
    read = row if len(row) <= 60 else row[:59] + "…"
    reason = next((ours for looks, says, ours in _LIKELY if _fits(looks, row) and _fits(says, said)), None)
    if reason is None:
        theirs = re.sub(r"\s*\(at [^()]*\)$", "", said).encode("utf-8", "backslashreplace").decode()
        reason = f"{theirs[:1].lower()}{theirs[1:120]}. {_HINT}"
    return Problem("(whole document)", line, read, f"this is not TOML: {reason}", "not-toml")


def _fits(pattern: str, text: str) -> bool:
    return not pattern or re.search(pattern, text, re.IGNORECASE) is not None
