"""The crew sheets: one side for each way that is dug, a ladder of rod readings for the person at the hole."""

from __future__ import annotations

from importlib import resources

from roofwell.design.result import Design
from roofwell.papers.crew_sheet.instrument import CrewOptions, read_height
from roofwell.papers.crew_sheet.readings import READING_STYLES, ReadingStyle
from roofwell.papers.crew_sheet.sheets import sheet_data
from roofwell.papers.typesetting import typeset

__all__ = ["READING_STYLES", "CrewOptions", "ReadingStyle", "make_crew_sheets", "read_height"]


def make_crew_sheets(design: Design, options: CrewOptions | None = None) -> bytes:
    """Return the crew sheets as PDF: Letter where units are US customary, A4 where metric.

    Raises
    ------
    InputError
        ``crew-no-benchmark``, ``crew-instrument-low``, ``crew-instrument-high`` for a height of instrument
        that cannot be used.
    """
    return typeset(
        resources.files(__package__) / "crew_sheet.typ", sheet_data(design, options or CrewOptions())
    )
