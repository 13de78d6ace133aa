"""Words that findings and papers share."""

from __future__ import annotations

from collections.abc import Sequence


def several(words: Sequence[str]) -> str:
    """Join words as a sentence does: ``a, b and c``; empty without any."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
