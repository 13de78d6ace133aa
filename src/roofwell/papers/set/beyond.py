"""The page beyond the design storm: stresses, chance, every rule at once, the days it flooded. Finished strings only."""

from __future__ import annotations

from typing import Any

from roofwell import tables
from roofwell.checks import beyond_words as words
from roofwell.design.result import Design
from roofwell.system.survey import measurement


def beyond(design: Design) -> dict[str, Any] | None:
    """Return the page as the template takes it; None where nothing lies beyond (no part of a system)."""
    found, style = design.behaviour.beyond, design.survey.style
    if found is None or not (design.scheme.wells or design.scheme.runs):
        return None
    how = {
        stress.missing: measurement(stress.missing) for stress in found.stress if stress.missing is not None
    }
    chance = None
    if found.chance is not None:
        chance = {
            "sentence": words.chance_sentence(found),
            "lines": words.chance_lines(found.chance, style),
        }
    return {
        "basis": words.basis_note(found, design.survey.missing | design.scheme.missing, measurement),
        "warnings": words.opening_warnings(found, style),
        "stress": [
            {
                "what": row.what[:1].upper() + row.what[1:],
                "well": row.well,
                "level": row.level,
                "spills": row.spills,
                "goes": row.goes,
                "house": row.house,
            }
            for row in words.stress_rows(found, style)
        ],
        "notes": words.stress_notes(found, how),
        "held": [
            line
            for line in (words.other_shape(found, design.survey), words.greater_words(found, design.survey))
            if line
        ],
        "chance": chance,
        "governing": words.governing_sentence(found, style),
        "rules": [
            {
                "what": row.what,
                "well": row.well,
                "wanted": row.wanted,
                "had": row.had,
                "share": row.share,
                "governs": row.governs,
                "source": f"{tables.source(row.source).publisher or tables.source(row.source).title} ({row.seen})",
            }
            for row in words.rule_rows(found, style)
        ],
        "floods": words.flood_lines(found.floods, style),
    }
