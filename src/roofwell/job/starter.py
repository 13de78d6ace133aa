"""Starters: commented job documents, complete enough to design at once, that a person overwrites.

In a starter a line that begins with ``# `` explains; a line whose ``#`` touches a word is an optional line.
"""

from __future__ import annotations

import re
from importlib import resources

from roofwell.errors import InputError

_OPTIONAL = re.compile(r"^(\s*)#(?=[\w\[\"}\]])", re.MULTILINE)


def kinds() -> tuple[str, ...]:
    """Return the kinds of starters that there are."""
    folder = resources.files(__package__) / "starters"
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir() if f.name.endswith(".toml")))


def starter(kind: str = "house") -> str:
    """Return the text of a starter: ``house`` (feet and inches) or ``metric-house``.

    Raises
    ------
    InputError
        ``no-such-starter`` if there is no starter of that kind.
    """
    if kind not in kinds():
        raise InputError(f'no starter "{kind}"; there are {", ".join(kinds())}', code="no-such-starter")
    return (resources.files(__package__) / "starters" / f"{kind}.toml").read_text(encoding="utf-8")


def with_optional_lines(text: str) -> str:
    """Return a starter's text with every optional line in use."""
    return _OPTIONAL.sub(r"\1", text)
