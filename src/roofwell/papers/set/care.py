"""The sheet for the homeowner: looking after it. Finished strings only."""

from __future__ import annotations

from typing import Any

from roofwell import tables
from roofwell.checks.care_words import care
from roofwell.design.result import Design


def care_sheet(design: Design) -> dict[str, Any] | None:
    """Return the sheet as the template takes it; None where nothing is to be looked after."""
    found = care(design.job, design.survey, design.scheme, design.behaviour)
    if found is None:
        return None
    return {
        "rows": [
            {
                "part": row.part,
                "what": row.what,
                "when": row.when,
                "who": row.who,
                "source": _source(row.source),
            }
            for row in found.rows
        ],
        "call": list(found.call),
        "cautions": list(found.cautions),
    }


def _source(key: str) -> str:
    if key == "common-practice":
        return "common practice"
    source = tables.source(key)
    return " ".join(filter(None, [source.publisher or source.title, source.year]))
