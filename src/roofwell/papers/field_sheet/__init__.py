"""The blank field sheet: what is asked, measured and shot on a first visit, to be written in by hand.

It rests on no job: whoever has no signal, or no phone, takes it along and types it in at the table.
"""

from __future__ import annotations

from importlib import resources
from typing import Any

from roofwell.papers.typesetting import typeset
from roofwell.units import Style

SHEETS: dict[Style, str] = {"us": "us-letter", "metric": "a4"}
ROOFS, SHOTS, READINGS, LAYERS = 7, 23, 9, 5
"""Lines to write in: as many as fit their side with room for a pencil."""

_WHEN = ("during rain", "for hours after", "for days after", "in spring", "in dry weather")
_NEAR = (
    "lot line and pins",
    "septic tank, leach field",
    "drinking-water well",
    "neighbor's building",
    "top of a steep slope",
    "trees",
    "walks and drives",
    "buried lines, ticket no.",
    "old drains",
)
_WORDS: dict[Style, dict[str, str]] = {
    "us": {
        "levels": "decimal feet",
        "inch": "length × width × 0.62 = gallons in an inch of rain",
        "square": "one square = 5 ft, or ____",
        "fall": "in",
        "gutter": "gutter, width × depth, in",
        "spout": "downspout, in",
        "size": "length × width, ft",
    },
    "metric": {
        "levels": "meters",
        "inch": "length × width = liters in a millimeter of rain",
        "square": "one square = 1 m, or ____",
        "fall": "mm",
        "gutter": "gutter, width × depth, mm",
        "spout": "downspout, mm",
        "size": "length × width, m",
    },
}


def make_field_sheet(style: Style) -> bytes:
    """Return the sheet as a PDF of two sides, for feet and inches or for meters."""
    return typeset(resources.files(__package__) / "field_sheet.typ", field_sheet_data(style))


def field_sheet_data(style: Style) -> dict[str, Any]:
    """Return what the sheet prints."""
    return {
        "paper": SHEETS[style],
        "words": _WORDS[style],
        "when": list(_WHEN),
        "near": list(_NEAR),
        "rows": {"roofs": ROOFS, "shots": SHOTS, "readings": READINGS, "layers": LAYERS},
    }
