"""The page beyond the design storm: stresses, chance, every rule at once, the days it flooded. Finished strings only."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from roofwell import tables
from roofwell.checks import beyond_words as words
from roofwell.checks import rain_words
from roofwell.design.result import Design
from roofwell.system.beyond_facts import Beyond
from roofwell.system.survey import measurement
from roofwell.units import Style


def beyond(design: Design) -> dict[str, Any] | None:
    """Return the page as the template takes it; None where nothing lies beyond (no part of a system)."""
    found, style = design.behaviour.beyond, design.survey.style
    if found is None or not (design.scheme.wells or design.scheme.runs):
        return None
    how = {
        stress.missing: measurement(stress.missing) for stress in found.stress if stress.missing is not None
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
        "chance": chance(design),
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
        "record": _record(found, style),
        "rates": {
            "basis": rain_words.rates_basis(found.rates),
            "lines": rain_words.rates_lines(found.rates, style),
        }
        if found.rates is not None
        else None,
        "floods": words.flood_lines(found.floods, style),
    }


def chance(design: Design) -> dict[str, Any] | None:
    """Return how often it spills, as a chance; None where there is no record or no well.

    ``together``: with all unknowns drawn together, empty while they were not; ``tested``: whether they can be.
    """
    found, style = design.behaviour.beyond, design.survey.style
    if found is None or found.chance is None:
        return None
    return {
        "sentence": words.chance_sentence(found),
        "lines": words.chance_lines(replace(found.chance, joint=None), style),
        "together": words.together_lines(found.chance, style),
        "tested": found.chance.log_spread is not None,
    }


def _record(found: Beyond, style: Style) -> dict[str, Any] | None:
    """Return the gauge record's own depths beside the rain table's."""
    if found.statistics is None:
        return None
    return {
        "sentence": rain_words.statistics_sentence(found.statistics, style),
        "basis": rain_words.statistics_basis(found.statistics),
        "rows": [
            {
                "what": row.what,
                "record": row.record,
                "within": row.within,
                "table": row.table,
                "said": row.said,
            }
            for row in rain_words.statistics_rows(found.statistics, style)
        ],
    }
