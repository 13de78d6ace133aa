"""What if a part does not work, as a table of the set. Finished strings only."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from roofwell.checks import what_if_words as words
from roofwell.design.result import Design


def what_if_table(design: Design) -> dict[str, Any] | None:
    """Return the cases as the template takes them; None where nothing can fail."""
    found, style = design.behaviour.what_if, design.survey.style
    if found is None or not found.cases:
        return None
    missing = design.survey.missing | design.scheme.missing
    return {
        "rows": [asdict(row) for row in words.rows(found, design.scheme, style)],
        "warnings": words.warnings(found, design.scheme, missing, style),
        "basis": words.basis(found, missing, style),
    }
