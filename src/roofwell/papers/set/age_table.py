"""The wells in years, as a table of the set. Finished strings only."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from roofwell.checks import age_words as words
from roofwell.design.result import Design


def age_table(design: Design) -> dict[str, Any] | None:
    """Return the table of the years; None where nothing can be said of them."""
    ageing, style = design.behaviour.ageing, design.survey.style
    if ageing is None or words.unknown(design.survey.missing | design.scheme.missing):
        return None
    rows = words.age_rows(ageing, style)
    return {
        "sentences": words.well_sentences(ageing, design.survey),
        "care": words.care_sentences(ageing, style),
        "rows": [asdict(row) for row in rows],
        "sediment": any(row.silt for row in rows),
        "basis": words.basis(ageing, design.survey),
    }
