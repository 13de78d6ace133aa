"""The table of soil tests: what each measures, its rate, the other published reduction, its conductivity, what to know."""

from __future__ import annotations

import math
from typing import Any

from roofwell.checks import soakage_words
from roofwell.design.result import Design
from roofwell.papers.texts import Say
from roofwell.system.facts import SoilTest


def soil_tests(design: Design) -> dict[str, Any]:
    """Return a row for each test, and what they come to together; no rows where nothing was tested or told."""
    soil, say = design.survey.soil, Say(design.survey.style)
    return {
        "rows": [_row(test, say) for test in soil.tests],
        "together": together(design, say) if soil.tests else "",
        "notes": [
            *filter(None, [soakage_words.tested_depth_words(design.survey, w) for w in design.scheme.wells]),
            *(f"{note[:1].upper()}{note[1:]}." for note in soil.notes),
        ],
        **_models(design),
    }


def _models(design: Design) -> dict[str, Any]:
    """Return the ways to count soakage side by side; no rows while something that they rest on is not known."""
    beyond, missing = design.behaviour.beyond, design.survey.missing | design.scheme.missing
    if beyond is None or not beyond.soakage or not soakage_words.shows(missing):
        return {"models": [], "basis": "", "slower": [], "deep": []}
    slower = soakage_words.slower_warnings(beyond, design.survey, missing)
    return {
        "models": [
            {
                "well": row.well,
                "model": f"{row.model[:1].upper()}{row.model[1:]}",
                "own": row.own,
                "held": row.held,
                "empties": row.empties,
                "spills": row.spills,
            }
            for row in soakage_words.soakage_rows(beyond)
        ],
        "basis": soakage_words.soakage_basis(design.survey, design.survey.style),
        "slower": [f"{line[:1].upper()}{line[1:]}." for line in slower],
        "deep": [
            *(f"{note}." for note in beyond.soakage_notes),
            *soakage_words.in_time_lines(beyond, design.survey.style),
            *filter(None, [soakage_words.consequence_words(design.survey)]),
        ],
    }


def _row(test: SoilTest, say: Say) -> dict[str, str]:
    other = f"{say.rate(test.other_m_s)}, {test.other_method}" if test.other_m_s is not None else ""
    return {
        "id": test.id,
        "method": f"{test.method[:1].upper()}{test.method[1:]}",
        "measures": test.measures,
        "depth": say.distance(test.depth_m) if test.depth_m is not None else "",
        "rate": say.rate(test.rate_m_s),
        "other": other,
        "conductivity": conductivity_words(test, say),
        "remarks": "".join(f"{remark[:1].upper()}{remark[1:]}. " for remark in test.remarks).strip(),
    }


def conductivity_words(test: SoilTest, say: Say) -> str:
    """Return a test's saturated conductivity with its range."""
    low, best, high = test.conductivity_low_m_s, test.conductivity_m_s, test.conductivity_high_m_s
    if best is None:
        return f"at most {say.rate(high)}" if high is not None else ""
    if low is None or high is None or say.rate(low) == say.rate(high):
        return say.rate(best)
    texts = [say.rate(value) for value in (best, low, high)]
    (number, unit), *rest = (text.rsplit(" ", 1) for text in texts)
    if any(other != unit for _, other in rest):
        return f"{texts[0]} ({texts[1]} to {texts[2]})"
    return f"{number} ({rest[0][0]} to {rest[1][0]}) {unit}"


def together(design: Design, say: Say) -> str:
    """Return what the tests say together: what is counted with, their spread, the conductivity."""
    soil = design.survey.soil
    words = f"Counted: {soakage_words.counted_words(design.survey, design.scheme)}."
    if soil.log_spread is not None and soil.best_m_s > 0:
        by = "by these tests" if soil.log_spread_measured else "as published, for one test cannot show it"
        times = math.exp(soil.log_spread)
        words += f" Some steps away the soil may well take in {times:.1f} times as much, or {times:.1f} times less ({by})."
    if soil.conductivity_m_s is not None:
        words += f" Saturated conductivity {say.rate(soil.conductivity_m_s)}"
        if soil.conductivity_low_m_s != soil.conductivity_high_m_s:
            words += (
                f", between {say.rate(soil.conductivity_low_m_s)} and {say.rate(soil.conductivity_high_m_s)}"
            )
        words += (
            "; the wall of a small hole takes in more than that, because water spreads from it to all sides."
        )
    return words
