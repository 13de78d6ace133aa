"""TOML files as text: opened, parsed, and told about when they are not what they should be."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from roofwell.job.lines import Lines, lines_of
from roofwell.job.problems import Problem

_HINT = 'a line is KEY = VALUE; a value with a unit stands in quotes, such as depth = "18 in"'


def file_text(path: Path) -> tuple[str, Problem | None]:
    """Return the text of a file, or the problem that it cannot be read."""
    try:
        return path.read_text(encoding="utf-8-sig"), None
    except UnicodeDecodeError:
        message = "the file is not a text in UTF-8; save it as plain text in UTF-8"
        return "", Problem(path.name, None, "bytes that are no text", message, "not-text")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        return "", Problem(
            path.name, None, str(path), f"the file cannot be opened: {reason}", "file-unreadable"
        )


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
    rows = text.split("\n")
    match = re.search(r"line (\d+), column (\d+)", said)
    line = int(match[1]) if match else len(rows) if "end of document" in said else None
    row = rows[line - 1].strip() if line is not None and line <= len(rows) else ""
    row = row.encode("utf-8", "backslashreplace").decode()
    reason = re.sub(r"\s*\(at [^()]*\)$", "", said).encode("utf-8", "backslashreplace").decode()
    reason = reason[:1].lower() + reason[1:120]
    read = row if len(row) <= 60 else row[:59] + "…"
    return Problem("(whole document)", line, read, f"this is not TOML: {reason}. {_HINT}", "not-toml")
