"""What comes off the roof and what the basin keeps, as tables of the set. Finished strings only."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from roofwell import tables
from roofwell.checks import debris_words as words
from roofwell.design.result import Design


def debris_table(design: Design) -> dict[str, Any] | None:
    """Return the tables of debris; None where no roof leads to a basin or well."""
    debris, style = design.behaviour.debris, design.survey.style
    if debris is None or not (debris.basins or any(well.roof_area_m2 > 0 for well in debris.wells)):
        return None
    return {
        "variants": [asdict(row) for row in words.variant_rows(debris, style)],
        "rains": [asdict(row) for row in words.rain_rows(debris, style)],
        "kinds": [asdict(row) for row in words.kind_rows(debris, style)],
        "wells": [line for line in (words.well_sentence(well, style) for well in debris.wells) if line],
        "basis": words.basis(debris, style),
        "rules": [
            {**asdict(rule), "source": _source(rule.source)}
            for rule in words.sump_rules(design.scheme, style)
        ],
    }


def _source(key: str) -> str:
    source = tables.source(key)
    return f"{source.publisher or source.title}, {source.year} ({source.seen})"
